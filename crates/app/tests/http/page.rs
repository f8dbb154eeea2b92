//! The page itself and what is said about the server.

use std::ffi::OsString;

use axum::body::Body;
use axum::http::Method;
use halfmicron_app::http::security::Security;
use halfmicron_app::http::{App, router};
use halfmicron_app::{Terminal, run};
use tokio_stream::StreamExt;
use tower::ServiceExt;

use crate::asking::{Server, request};

#[tokio::test]
async fn the_page_is_served_with_a_tag() {
    let server = Server::new();
    let page = server.get("/").await.is(200);
    assert_eq!(page.header("content-type"), "text/html; charset=utf-8");
    assert!(page.text().contains("halfmicron"));
    let known = server.send(request(Method::GET, "/", &[("if-none-match", page.header("etag"))], Body::empty())).await.is(304);
    assert!(known.bytes.is_empty());
    assert_eq!(server.get("/index.html").await.is(200).bytes, page.bytes);
    for path in ["/../Cargo.toml", "/%2e%2e/Cargo.toml", "//etc/passwd", "/..%2fCargo.toml"] {
        server.get(path).await.is(404);
    }
}

#[tokio::test]
async fn the_description_is_the_committed_one_and_names_every_route() {
    let server = Server::new();
    let served = server.get("/api/openapi.json").await.is(200);
    assert_eq!(served.text(), halfmicron_app::http::document_text());
    let document = served.json();
    assert_eq!(document["openapi"], "3.1.0");
    let paths = document["paths"].as_object().expect("paths");
    assert!(paths.len() >= 17, "{}", paths.len());
    for (path, item) in paths {
        for (method, operation) in item.as_object().expect("operations") {
            let responses = operation["responses"].as_object().expect("responses");
            assert!(["400", "403", "429", "500"].iter().all(|status| responses.contains_key(*status)), "{method} {path}");
            assert!(operation["summary"].is_string(), "{method} {path}");
        }
    }
}

#[tokio::test]
async fn the_server_says_what_it_is() {
    let server = Server::new();
    let about = server.get("/api/about").await.is(200).json();
    assert_eq!((about["name"].as_str(), about["version"].as_str()), (Some("halfmicron"), Some(env!("CARGO_PKG_VERSION"))));
    let folder = server.path().canonicalize().expect("a folder");
    assert_eq!(about["folder"].as_str(), folder.to_str());
}

#[tokio::test]
async fn a_change_from_outside_is_told_within_seconds() {
    let folder = tempfile::TempDir::new().expect("a folder");
    let app = App::new(folder.path(), Security::loopback()).expect("a server");
    tokio::spawn(app.clone().look());
    let watching = router(app).oneshot(request(Method::GET, "/api/watch", &[], Body::empty())).await.expect("an answer");
    let mut stream = watching.into_body().into_data_stream();
    // The first look only learns what is there.
    tokio::time::sleep(std::time::Duration::from_millis(300)).await;
    std::fs::write(folder.path().join("new.toml"), "a = 1").expect("a file");
    let told = tokio::time::timeout(std::time::Duration::from_secs(20), stream.next()).await.expect("in time");
    let told = String::from_utf8(told.expect("an event").expect("bytes").to_vec()).expect("text");
    assert!(told.starts_with("event: change\ndata: "), "{told}");
    assert!(told.contains("\"name\":\"new.toml\"") && told.contains("\"what\":\"made\""), "{told}");
    assert!(told.contains(blake3::hash(b"a = 1").to_hex().as_str()), "{told}");
}

#[test]
fn what_cannot_be_served_is_told_with_the_fix() {
    let serve = |words: &[&str]| run(["halfmicron", "serve"].iter().chain(words).map(OsString::from), Terminal::pipe());
    let folder = tempfile::TempDir::new().expect("a folder");
    let file = folder.path().join("a.toml");
    std::fs::write(&file, "").expect("a file");
    for (words, said) in [
        (vec!["no-such-folder"], "make it first"),
        (vec![file.to_str().expect("a path")], "name the folder"),
        (vec!["--listen", "somewhere"], "write an address"),
        (vec!["--token", "short"], "at least 16"),
        (vec!["--listen", "192.0.2.1:4096"], "cannot be listened on"),
    ] {
        let answer = serve(&words);
        assert_eq!(answer.code, 2, "{words:?}");
        assert!(answer.err.contains(said), "{words:?}: {}", answer.err);
    }
}
