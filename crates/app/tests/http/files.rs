//! Case files: listed, read, made, replaced, and nothing outside the folder.

use axum::http::Method;
use serde_json::json;

use crate::asking::{BRINE, Server};

#[tokio::test]
async fn the_folder_is_listed_with_what_cannot_be_served() {
    let server = Server::new();
    std::fs::write(server.path().join("broken.toml"), "halfmicron = 1\n[[duty]]\n").expect("a file");
    std::fs::write(server.path().join("two words.toml"), BRINE).expect("a file");
    std::fs::write(server.path().join("latin.toml"), b"title = \"\xe4\"").expect("a file");
    std::fs::write(server.path().join(".hidden.toml"), BRINE).expect("a file");
    std::fs::write(server.path().join("notes.txt"), "a").expect("a file");
    std::fs::create_dir(server.path().join("folder.toml")).expect("a folder");
    let list = server.get("/api/cases?units=us").await.is(200).json();
    let cases = list["cases"].as_array().expect("cases");
    let names: Vec<&str> = cases.iter().filter_map(|case| case["name"].as_str()).collect();
    assert_eq!(names, ["brine.toml", "broken.toml"]);
    assert!(cases[0]["duty_range"].as_str().is_some_and(|range| range.contains("psi(a)") && range.contains("degF")), "{}", cases[0]);
    assert_eq!(cases[0]["duties"].as_array().map(Vec::len), Some(6));
    assert_eq!(cases[0]["tag"].as_str().map(str::len), Some(64));
    assert!(cases[1]["errors"].as_u64() > Some(1));
    let left_out = list["left_out"].as_array().expect("left out");
    let left: Vec<&str> = left_out.iter().filter_map(|file| file["name"].as_str()).collect();
    assert_eq!(left, ["folder.toml", "two words.toml", "latin.toml"], "{left_out:?}");
}

#[tokio::test]
async fn a_file_is_read_with_its_tag() {
    let server = Server::new();
    let answer = server.get("/api/cases/brine.toml").await.is(200);
    let file = answer.json();
    assert_eq!(file["text"], BRINE);
    assert_eq!(answer.header("etag"), format!("\"{}\"", file["tag"].as_str().expect("a tag")));
    assert_eq!(server.get("/api/cases/none.toml").await.is(404).code(), "file.none");
}

#[tokio::test]
async fn nothing_outside_the_folder_is_named() {
    let server = Server::new();
    let outside = server.path().parent().expect("a parent").join("halfmicron-outside.toml");
    for name in [
        "..%2Fhalfmicron-outside.toml",
        "%2e%2e%2fhalfmicron-outside.toml",
        "..",
        ".hidden.toml",
        "%2Fetc%2Fpasswd",
        "brine.toml%00",
        "brine.toml%2F..%2Fbrine.toml",
        "a%5C..%5Cb.toml",
        "C:brine.toml",
        "con.toml",
        "brine",
        ".toml",
        "br%C3%AFne.toml",
        &format!("{}.toml", "a".repeat(100)),
    ] {
        let read = server.get(&format!("/api/cases/{name}")).await;
        assert!(matches!(read.status.as_u16(), 400 | 404), "{name}: {} {}", read.status, read.text());
        let headers = [("if-none-match", "*")];
        let written = server.json(Method::PUT, &format!("/api/cases/{name}"), &headers, &json!({ "text": "a" })).await;
        assert!(matches!(written.status.as_u16(), 400 | 404), "{name}: {} {}", written.status, written.text());
    }
    assert!(!outside.exists());
    let files: Vec<_> = std::fs::read_dir(server.path()).expect("the folder").flatten().map(|file| file.file_name()).collect();
    assert_eq!(files, ["brine.toml"], "nothing was written");
    assert_eq!(server.post("/api/cases", &json!({ "name": "../x.toml", "from": "starter" })).await.is(400).code(), "file.name");
    assert_eq!(server.post("/api/cases", &json!({ "name": "x.toml", "from": "../x.toml" })).await.is(404).code(), "starter.none");
}

#[cfg(unix)]
#[tokio::test]
async fn links_out_of_the_folder_are_not_followed() {
    let server = Server::new();
    let outside = tempfile::TempDir::new().expect("a folder");
    let secret = outside.path().join("secret.toml");
    std::fs::write(&secret, "secret = 1\n").expect("a file");
    std::os::unix::fs::symlink(&secret, server.path().join("link.toml")).expect("a link");
    std::os::unix::fs::symlink(outside.path(), server.path().join("away")).expect("a link");
    std::os::unix::fs::symlink(server.path().join("brine.toml"), server.path().join("inner.toml")).expect("a link");
    assert_eq!(server.get("/api/cases/link.toml").await.is(403).code(), "file.outside");
    let list = server.get("/api/cases").await.is(200).json();
    assert_eq!(list["left_out"][0]["name"], "link.toml");
    let tag = blake3::hash(b"secret = 1\n").to_hex();
    let headers = [("if-match", format!("\"{tag}\""))];
    let headers = [(headers[0].0, headers[0].1.as_str())];
    server.json(Method::PUT, "/api/cases/link.toml", &headers, &json!({ "text": "a" })).await.is(403);
    server.json(Method::PUT, "/api/cases/link.toml", &[("if-none-match", "*")], &json!({ "text": "a" })).await.is(409);
    assert_eq!(std::fs::read_to_string(&secret).expect("still there"), "secret = 1\n");
    server.get("/api/cases/inner.toml").await.is(200);
}

#[tokio::test]
async fn a_file_is_replaced_only_as_it_was_read() {
    let server = Server::new();
    let file = server.get("/api/cases/brine.toml").await.is(200).json();
    let tag = format!("\"{}\"", file["tag"].as_str().expect("a tag"));
    let put = async |tag: &str, text: &str| {
        server.json(Method::PUT, "/api/cases/brine.toml", &[("if-match", tag)], &json!({ "text": text })).await
    };
    let crlf = BRINE.replace('\n', "\r\n");
    let saved = put(&tag, &crlf).await.is(200);
    assert_eq!(std::fs::read_to_string(server.path().join("brine.toml")).expect("the file"), crlf, "line ends stay");
    let next = saved.header("etag").to_owned();
    assert_eq!(next, format!("\"{}\"", blake3::hash(crlf.as_bytes()).to_hex()));
    let stale = put(&tag, "lost").await.is(412);
    assert_eq!(stale.code(), "file.changed");
    assert_eq!(stale.json()["present"]["text"], crlf);
    std::fs::write(server.path().join("brine.toml"), "edited outside").expect("a file");
    assert_eq!(put(&next, "lost").await.is(412).json()["present"]["text"], "edited outside");
    assert_eq!(std::fs::read_to_string(server.path().join("brine.toml")).expect("the file"), "edited outside");
    let files = std::fs::read_dir(server.path()).expect("the folder").count();
    assert_eq!(files, 1, "no temporary file is left");
}

#[tokio::test]
async fn what_may_be_replaced_must_be_said() {
    let server = Server::new();
    let body = json!({ "text": "a" });
    let put = async |headers: &[(&str, &str)]| server.json(Method::PUT, "/api/cases/brine.toml", headers, &body).await;
    assert_eq!(put(&[]).await.is(428).code(), "file.condition");
    assert_eq!(put(&[("if-none-match", "*")]).await.is(409).code(), "file.there");
    for headers in [
        vec![("if-match", "x")],
        vec![("if-match", "\"")],
        vec![("if-none-match", "\"x\"")],
        vec![("if-match", "\"x\""), ("if-none-match", "*")],
    ] {
        put(&headers).await.is(428);
    }
    put(&[("if-match", "\"x\"")]).await.is(412);
    assert_eq!(std::fs::read_to_string(server.path().join("brine.toml")).expect("the file"), BRINE);
    let new = server.json(Method::PUT, "/api/cases/new.toml", &[("if-none-match", "*")], &body).await.is(201);
    assert_eq!(new.json()["name"], "new.toml");
    server.json(Method::PUT, "/api/cases/none.toml", &[("if-match", "\"x\"")], &body).await.is(404);
}

#[tokio::test]
async fn a_case_begins_from_the_starter_a_shipped_case_or_another() {
    let server = Server::new();
    let starters = server.get("/api/starters").await.is(200).json();
    let starters = starters.as_array().expect("a list");
    assert!(starters.len() >= 10 && starters[0]["from"] == "starter", "{starters:?}");
    for (number, starter) in starters.iter().enumerate() {
        let name = format!("case-{number}.toml");
        let made = server.post("/api/cases", &json!({ "name": name, "from": starter["from"] })).await.is(201).json();
        let read = server.post("/api/read", &json!({ "text": made["text"] })).await.is(200).json();
        assert_eq!(read["errors"], json!([]), "{name}");
    }
    server.post("/api/cases", &json!({ "name": "copy.toml", "from": "brine.toml" })).await.is(201);
    assert_eq!(server.post("/api/cases", &json!({ "name": "copy.toml", "from": "starter" })).await.is(409).code(), "file.there");
    assert_eq!(server.post("/api/cases", &json!({ "name": "b.toml", "from": "saltmere/none.toml" })).await.is(404).code(), "starter.none");
}

#[tokio::test]
async fn a_summary_is_the_worst_of_the_case() {
    let server = Server::new();
    let text = BRINE.split("[[duty]]").take(3).collect::<Vec<_>>().join("[[duty]]") + &BRINE[BRINE.find("[seal]").expect("a seal")..];
    std::fs::write(server.path().join("short.toml"), &text).expect("a file");
    let summary = server.get("/api/cases/short.toml/summary").await.is(200).json();
    assert_eq!(summary["tag"], blake3::hash(text.as_bytes()).to_hex().as_str());
    assert!(["holds", "watch", "fails"].contains(&summary["worst"].as_str().expect("a word")), "{summary}");
    assert_eq!(summary["least_film"]["unit"], "um");
    let solved = server.post("/api/solve", &json!({ "text": text })).await.is(200).json();
    let rows: Vec<_> =
        solved["sheet"]["blocks"].as_array().expect("blocks").iter().flat_map(|block| block["rows"].as_array().expect("rows")).collect();
    let row = rows.iter().find(|row| row["key"] == "minimum_film_m").expect("the least film");
    assert!(row["cells"].as_array().expect("cells").iter().any(|cell| cell["text"] == summary["least_film"]["text"]), "{row} {summary}");
    std::fs::write(server.path().join("broken.toml"), "halfmicron = 1").expect("a file");
    assert_eq!(server.get("/api/cases/broken.toml/summary").await.is(422).code(), "case.errors");
    server.get("/api/cases/none.toml/summary").await.is(404);
}
