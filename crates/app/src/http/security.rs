//! Who may ask: pages of this server on this machine, and whoever holds the token where it listens further.

use std::net::IpAddr;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, Uri, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};

use super::App;
use super::problem::Problem;

/// What a page of this server may load and do. Styles may stand in the page, as its editor and drawings need; nothing else may.
const CONTENT_POLICY: &str = "default-src 'self'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; \
                              connect-src 'self'; frame-src 'self' blob:; object-src 'none'; base-uri 'none'; form-action 'self'; \
                              frame-ancestors 'none'";
/// Name of the cookie that holds the token.
const COOKIE: &str = "halfmicron-token";

/// Who is let in.
#[derive(Debug, Clone)]
pub struct Security {
    /// Names and addresses under which this server is spoken to, without port; a loopback name is always one.
    pub hosts: Vec<String>,
    /// What a request must carry; none on loopback.
    pub token: Option<String>,
}

impl Security {
    /// For this machine alone.
    pub fn loopback() -> Self {
        Self { hosts: Vec::new(), token: None }
    }

    fn is_host(&self, host: &str) -> bool {
        let name = without_port(host).to_ascii_lowercase();
        is_loopback(&name) || self.hosts.iter().any(|known| known.eq_ignore_ascii_case(&name))
    }

    /// Whether a text is the token; takes the same time wherever they differ.
    fn is_token(&self, given: &str) -> bool {
        self.token.as_ref().is_none_or(|token| blake3::hash(given.as_bytes()) == blake3::hash(token.as_bytes()))
    }
}

fn without_port(host: &str) -> &str {
    match host.strip_prefix('[') {
        Some(rest) => rest.split(']').next().unwrap_or_default(),
        None => host.rsplit_once(':').map_or(host, |(name, _)| name),
    }
}

fn is_loopback(name: &str) -> bool {
    name == "localhost" || name.parse::<IpAddr>().is_ok_and(|address| address.is_loopback())
}

/// Lets a request in or refuses it, and dresses the answer.
pub async fn guard(State(app): State<App>, request: Request, next: Next) -> Response {
    let is_api = request.uri().path().starts_with("/api");
    let response = match refusal(&app.security, request.method(), request.uri(), request.headers()) {
        Some(refused) => refused,
        None => next.run(request).await,
    };
    dressed(response, is_api)
}

fn refusal(security: &Security, method: &Method, uri: &Uri, headers: &HeaderMap) -> Option<Response> {
    let text = |name: header::HeaderName| headers.get(name).map(|value| value.to_str().unwrap_or_default());
    // The authority stands in the address of a request only where there is no Host field.
    let host = text(header::HOST).or_else(|| uri.authority().map(|authority| authority.as_str()));
    if !host.is_some_and(|host| security.is_host(host)) {
        let hint = "Open the address that `halfmicron serve` prints, or start it with --host and this name.";
        return Some(forbidden("request.host", "this server is not known by that name", hint));
    }
    if let Some(origin) = text(header::ORIGIN)
        && !is_same_origin(origin, host.unwrap_or_default())
    {
        return Some(forbidden("request.origin", "the request comes from a page of another origin", "Use the page of this server itself."));
    }
    let site = headers.get("sec-fetch-site").and_then(|value| value.to_str().ok());
    let foreign = site.is_some_and(|site| !matches!(site, "same-origin" | "none"));
    if foreign && (uri.path().starts_with("/api") || !matches!(*method, Method::GET | Method::HEAD)) {
        return Some(forbidden(
            "request.cross-site",
            "the request comes from a page of another site",
            "Use the page of this server itself.",
        ));
    }
    unless_token(security, uri, headers)
}

fn forbidden(code: &str, message: &str, hint: &str) -> Response {
    Problem::new(StatusCode::FORBIDDEN, code, message, hint).into_response()
}

/// Whether an origin names the host and port that the request is sent to.
fn is_same_origin(origin: &str, host: &str) -> bool {
    let named = origin.strip_prefix("http://").or_else(|| origin.strip_prefix("https://"));
    named.is_some_and(|named| named.eq_ignore_ascii_case(host))
}

/// The refusal of a request without the token; a page opened with `?token=` gets it as a cookie.
fn unless_token(security: &Security, uri: &Uri, headers: &HeaderMap) -> Option<Response> {
    security.token.as_ref()?;
    let bearer = headers.get(header::AUTHORIZATION).and_then(|value| value.to_str().ok()).and_then(|value| value.strip_prefix("Bearer "));
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    let cookie = cookies.flat_map(|line| line.split(';')).find_map(|pair| pair.trim().strip_prefix(COOKIE)?.strip_prefix('='));
    if bearer.or(cookie).is_some_and(|given| security.is_token(given.trim())) {
        return None;
    }
    let query = uri.query().unwrap_or_default();
    let in_address = query.split('&').find_map(|pair| pair.strip_prefix("token="));
    if let Some(given) = in_address.filter(|given| uri.path() == "/" && security.is_token(given)) {
        let cookie = format!("{COOKIE}={given}; HttpOnly; SameSite=Strict; Path=/");
        // The address with the token does not stay in the history.
        return HeaderValue::from_str(&cookie).ok().map(|cookie| ([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response());
    }
    let problem = Problem::new(
        StatusCode::UNAUTHORIZED,
        "request.token",
        "this server asks for its token",
        "Open the address with ?token= that `halfmicron serve` printed, or send Authorization: Bearer TOKEN.",
    );
    Some(([(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer"))], problem).into_response())
}

fn dressed(mut response: Response, is_api: bool) -> Response {
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, CONTENT_POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "no-referrer"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.insert("cross-origin-resource-policy", HeaderValue::from_static("same-origin"));
    headers.insert("cross-origin-opener-policy", HeaderValue::from_static("same-origin"));
    if is_api {
        headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    }
    response
}

/// A token that nobody guesses.
///
/// # Errors
/// The system has no random numbers to give.
pub fn new_token() -> Result<String, getrandom::Error> {
    let mut bytes = [0; 18];
    getrandom::fill(&mut bytes)?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hosts_are_loopback_or_stated() {
        let security = Security { hosts: vec!["pumps.saltmere.example".to_owned()], token: None };
        for good in ["127.0.0.1:4096", "localhost", "LOCALHOST:1", "[::1]:4096", "127.8.0.1", "pumps.saltmere.example:80"] {
            assert!(security.is_host(good), "{good}");
        }
        for bad in ["", "example.org", "localhost.example.org", "127.0.0.1.example.org:4096", "[::2]:1", "0.0.0.0:4096", "user@localhost"] {
            assert!(!security.is_host(bad), "{bad}");
        }
    }

    #[test]
    fn origins_must_be_the_host_itself() {
        assert!(is_same_origin("http://127.0.0.1:4096", "127.0.0.1:4096"));
        for foreign in
            ["http://127.0.0.1:4097", "http://localhost:4096", "null", "http://127.0.0.1:4096.example.org", "file://127.0.0.1:4096"]
        {
            assert!(!is_same_origin(foreign, "127.0.0.1:4096"), "{foreign}");
        }
    }

    #[test]
    fn tokens_differ() {
        let [a, b] = [(); 2].map(|()| new_token().expect("random numbers"));
        assert_ne!(a, b);
        assert_eq!(a.len(), 36);
    }
}
