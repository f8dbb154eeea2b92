//! Who is let in, and how much is taken on.

use axum::body::Body;
use axum::http::Method;
use halfmicron_app::http::security::Security;
use serde_json::json;

use crate::asking::{BRINE, Server, request};

const TOKEN: &str = "0123456789abcdef0123";

#[tokio::test]
async fn foreign_names_origins_and_sites_are_refused() {
    let server = Server::new();
    let ask = async |method: Method, path: &str, headers: &[(&str, &str)]| server.send(request(method, path, headers, Body::empty())).await;
    for host in ["saltmere.example", "127.0.0.1.saltmere.example", "192.0.2.1:4096", ""] {
        assert_eq!(ask(Method::GET, "/api/about", &[("host", host)]).await.is(403).code(), "request.host", "{host}");
        ask(Method::GET, "/", &[("host", host)]).await.is(403);
    }
    for origin in ["http://saltmere.example", "http://127.0.0.1:4097", "null"] {
        assert_eq!(ask(Method::GET, "/api/about", &[("origin", origin)]).await.is(403).code(), "request.origin", "{origin}");
    }
    ask(Method::GET, "/api/about", &[("origin", "http://127.0.0.1:4096")]).await.is(200);
    for site in ["cross-site", "same-site"] {
        assert_eq!(ask(Method::POST, "/api/cases", &[("sec-fetch-site", site)]).await.is(403).code(), "request.cross-site");
        ask(Method::GET, "/api/about", &[("sec-fetch-site", site)]).await.is(403);
        ask(Method::GET, "/", &[("sec-fetch-site", site)]).await.is(200);
    }
    ask(Method::GET, "/api/about", &[("sec-fetch-site", "same-origin")]).await.is(200);
}

#[tokio::test]
async fn a_token_is_asked_for_where_there_is_one() {
    let server = Server::with(Security { hosts: vec!["pumps.example".to_owned()], token: Some(TOKEN.to_owned()) });
    let ask = async |path: &str, headers: &[(&str, &str)]| server.send(request(Method::GET, path, headers, Body::empty())).await;
    for headers in
        [vec![], vec![("authorization", "Bearer wrong")], vec![("cookie", "halfmicron-token=wrong")], vec![("authorization", TOKEN)]]
    {
        let refused = ask("/api/about", &headers).await.is(401);
        assert_eq!((refused.code().as_str(), refused.header("www-authenticate")), ("request.token", "Bearer"));
        ask("/", &headers).await.is(401);
    }
    ask("/api/about", &[("authorization", &format!("Bearer {TOKEN}")), ("host", "pumps.example:80")]).await.is(200);
    ask("/?token=wrong", &[]).await.is(401);
    ask(&format!("/api/about?token={TOKEN}"), &[]).await.is(401);
    let opened = ask(&format!("/?token={TOKEN}"), &[]).await.is(303);
    let cookie = opened.header("set-cookie");
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
    let cookie = cookie.split(';').next().expect("a pair").to_owned();
    assert_eq!(opened.header("location"), "/");
    ask("/api/about", &[("cookie", &format!("other=1; {cookie}"))]).await.is(200);
}

#[tokio::test]
async fn every_answer_forbids_frames_foreign_content_and_guessing() {
    let server = Server::new();
    for path in ["/", "/api/about", "/api/none", "/none.js"] {
        let answer = server.get(path).await;
        assert!(answer.header("content-security-policy").starts_with("default-src 'self'; script-src 'self';"), "{path}");
        assert_eq!([answer.header("x-content-type-options"), answer.header("x-frame-options")], ["nosniff", "DENY"], "{path}");
    }
    assert_eq!(server.get("/api/about").await.header("cache-control"), "no-store");
}

#[tokio::test]
async fn bodies_are_json_objects_of_limited_size() {
    let server = Server::new();
    let send = async |kind: &str, body: Vec<u8>| {
        server.send(request(Method::POST, "/api/read", &[("content-type", kind)], Body::from(body))).await
    };
    let json = "application/json";
    send(json, json!({ "text": "a" }).to_string().into_bytes()).await.is(200);
    assert_eq!(send("text/plain", b"{\"text\":\"a\"}".to_vec()).await.is(415).code(), "request.not-json");
    let nested = "[".repeat(100_000);
    let deep = format!("{{\"text\":{nested}");
    for wrong in ["", "null", "[\"a\"]", "{", "{}", "{\"text\":1}", "{\"text\":\"a\",\"more\":1}", "{\"text\":\"a\",\"text\":\"b\"", &deep]
    {
        assert_eq!(send(json, wrong.as_bytes().to_vec()).await.is(400).code(), "request.wrong", "{:.40}", wrong);
    }
    send(json, b"{\"text\":\"\xff\"}".to_vec()).await.is(400);
    let large = json!({ "text": "a".repeat(1 << 20) }).to_string();
    assert_eq!(send(json, large.into_bytes()).await.is(413).code(), "request.too-large");
    let stated = [("content-type", json), ("content-length", "2000000")];
    let by_length = server.send(request(Method::POST, "/api/read", &stated, Body::from("{}"))).await;
    assert_eq!(by_length.is(413).code(), "request.too-large");
}

#[tokio::test]
async fn what_is_not_there_is_told_in_the_same_form() {
    let server = Server::new();
    assert_eq!(server.get("/api/none").await.is(404).code(), "request.no-route");
    assert_eq!(server.get("/none.js").await.is(404).code(), "request.no-file");
    let method = server.send(request(Method::DELETE, "/api/cases/brine.toml", &[], Body::empty())).await.is(405);
    assert_eq!(method.code(), "request.method");
    assert!(method.header("allow").contains("PUT"), "{:?}", method.headers);
    server.send(request(Method::POST, "/", &[], Body::empty())).await.is(405);
    assert_eq!(server.get("/api/cases?units=feet").await.is(400).code(), "request.wrong");
    assert_eq!(server.get("/api/cases?colour=red").await.is(400).code(), "request.wrong");
}

#[tokio::test(flavor = "multi_thread")]
async fn more_than_the_queue_holds_is_refused_and_told_when_to_come_again() {
    let server = Server::new();
    let asked: Vec<_> = (0..40)
        .map(|number| {
            let text = BRINE.replacen("11 bar(g)", &format!("11.{number:02} bar(g)"), 1);
            let body = json!({ "text": text, "duties": ["normal"] }).to_string();
            let router = server.router.clone();
            let ask = request(Method::POST, "/api/solve", &[("content-type", "application/json")], Body::from(body));
            tokio::spawn(async move { tower::ServiceExt::oneshot(router, ask).await.expect("an answer") })
        })
        .collect();
    let mut answers = [0; 2];
    for answer in asked {
        let answer = answer.await.expect("no panic");
        match answer.status().as_u16() {
            200 => answers[0] += 1,
            429 => {
                assert_eq!(answer.headers()["retry-after"], "1");
                answers[1] += 1;
            }
            other => panic!("{other}"),
        }
    }
    assert!(answers[0] >= 16 && answers[1] > 0, "{answers:?}: sixteen places at least");
    server.get("/api/about").await.is(200);
}
