//! The page, which the program carries within itself.

use axum::extract::Request;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::response::{IntoResponse, Response};
use rust_embed::{EmbeddedFile, RustEmbed};

use super::problem::Problem;

#[derive(RustEmbed)]
#[folder = "../../web/dist"]
struct Page;

/// Where files lie whose name holds a hash of their content: they never change.
const HASHED: &str = "assets/";
/// Ending of a file that was compressed when the page was built.
const COMPRESSED: &str = ".gz";

/// The page or a file of it; what the server does not know at all is refused.
pub async fn file(request: Request) -> Response {
    let path = request.uri().path();
    if path.starts_with("/api") {
        return Problem::not_found("request.no-route", "there is nothing at this address", "See /api/openapi.json for what there is.")
            .into_response();
    }
    if !matches!(*request.method(), Method::GET | Method::HEAD) {
        let problem = Problem::new(StatusCode::METHOD_NOT_ALLOWED, "request.method", "this is only to be read", "Use GET.");
        return ([(header::ALLOW, HeaderValue::from_static("GET, HEAD"))], problem).into_response();
    }
    let name = if path == "/" { "index.html" } else { path.trim_start_matches('/') };
    let compressed = accepts_gzip(request.headers()).then(|| Page::get(&format!("{name}{COMPRESSED}"))).flatten();
    let encoded = compressed.is_some();
    match compressed.or_else(|| Page::get(name)) {
        Some(file) => served(name, &file, encoded, request.headers()),
        None => {
            let hint = "The page is at /; what it asks for is described at /api/openapi.json.";
            Problem::not_found("request.no-file", "the page has no such file", hint).into_response()
        }
    }
}

fn accepts_gzip(headers: &HeaderMap) -> bool {
    let accepted = headers.get(header::ACCEPT_ENCODING).and_then(|value| value.to_str().ok()).unwrap_or_default();
    accepted.split(',').map(str::trim).any(|one| one == "gzip" || (one.starts_with("gzip;") && !one.ends_with("q=0")))
}

fn served(name: &str, file: &EmbeddedFile, encoded: bool, headers: &HeaderMap) -> Response {
    let hash: String = file.metadata.sha256_hash().iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    let tag = HeaderValue::from_str(&format!("\"{hash}\"")).unwrap_or(HeaderValue::from_static("\"\""));
    let keep = if name.starts_with(HASHED) { "public, max-age=31536000, immutable" } else { "no-cache" };
    let known = headers.get(header::IF_NONE_MATCH).is_some_and(|known| known == tag);
    let mut response = if known { StatusCode::NOT_MODIFIED.into_response() } else { file.data.clone().into_owned().into_response() };
    let fields = response.headers_mut();
    fields.insert(header::ETAG, tag);
    fields.insert(header::CACHE_CONTROL, HeaderValue::from_static(keep));
    fields.insert(header::VARY, HeaderValue::from_static("accept-encoding"));
    if !known {
        fields.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind_of(name)));
    }
    if encoded && !known {
        fields.insert(header::CONTENT_ENCODING, HeaderValue::from_static("gzip"));
    }
    response
}

fn kind_of(name: &str) -> &'static str {
    match name.rsplit('.').next().unwrap_or_default() {
        "html" => "text/html; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "json" | "map" => "application/json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "ico" => "image/x-icon",
        "woff2" => "font/woff2",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}
