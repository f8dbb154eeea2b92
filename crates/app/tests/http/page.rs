//! The page itself and what is said about the server.

use axum::body::Body;
use axum::http::Method;

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
