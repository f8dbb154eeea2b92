//! A server over a folder of its own, and questions to it.

use std::path::Path;

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Method, Request, StatusCode};
use halfmicron_app::http::security::Security;
use halfmicron_app::http::{App, router};
use serde_json::Value;
use tempfile::TempDir;
use tower::ServiceExt;

pub const BRINE: &str = include_str!("../../../../cases/brine-booster.toml");

/// A server with its folder.
pub struct Server {
    pub folder: TempDir,
    pub router: Router,
}

/// An answer.
#[derive(Debug)]
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub bytes: Vec<u8>,
}

impl Answer {
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.bytes).unwrap_or_else(|error| panic!("{error}: {}", self.text()))
    }
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }
    pub fn header(&self, name: &str) -> &str {
        self.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default()
    }
    /// The code of a refusal.
    pub fn code(&self) -> String {
        self.json()["error"]["code"].as_str().unwrap_or_default().to_owned()
    }
    pub fn is(self, status: u16) -> Self {
        assert_eq!(self.status.as_u16(), status, "{}", self.text());
        self
    }
}

impl Server {
    /// Over a folder with one case.
    pub fn new() -> Self {
        Self::with(Security::loopback())
    }

    pub fn with(security: Security) -> Self {
        let folder = TempDir::new().expect("a folder");
        std::fs::write(folder.path().join("brine.toml"), BRINE).expect("a file");
        let app = App::new(folder.path(), security).expect("a server");
        Self { folder, router: router(app) }
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    pub async fn send(&self, request: Request<Body>) -> Answer {
        let response = self.router.clone().oneshot(request).await.expect("an answer");
        let (parts, body) = response.into_parts();
        let bytes = to_bytes(body, 64 << 20).await.expect("a body").to_vec();
        Answer { status: parts.status, headers: parts.headers, bytes }
    }

    pub async fn get(&self, path: &str) -> Answer {
        self.send(request(Method::GET, path, &[], Body::empty())).await
    }

    pub async fn post(&self, path: &str, body: &Value) -> Answer {
        self.json(Method::POST, path, &[], body).await
    }

    pub async fn json(&self, method: Method, path: &str, headers: &[(&str, &str)], body: &Value) -> Answer {
        let mut all = vec![("content-type", "application/json")];
        all.extend(headers);
        self.send(request(method, path, &all, Body::from(body.to_string()))).await
    }
}

/// A request to this machine.
pub fn request(method: Method, path: &str, headers: &[(&str, &str)], body: Body) -> Request<Body> {
    let mut request = Request::builder().method(method).uri(path);
    if !headers.iter().any(|(name, _)| *name == "host") {
        request = request.header("host", "127.0.0.1:4096");
    }
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    request.body(body).expect("a request")
}
