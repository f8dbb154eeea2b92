//! What comes in: bodies, queries and names, each refused in the one form that a reader understands.

use axum::body::{Body as RawBody, Bytes};
use axum::extract::{FromRequest, FromRequestParts, Path, Query as RawQuery, Request};
use axum::http::request::Parts;
use axum::http::{HeaderMap, StatusCode, header};
use halfmicron::sheet::UnitSet;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer};
use serde_json::{Map, Value};
use utoipa::{IntoParams, ToSchema};

use super::problem::Problem;

/// Greatest size of a request's body, bytes.
pub const MOST_BODY_BYTES: usize = 1 << 20;

/// A JSON object as the body.
pub struct Body<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Body<T> {
    type Rejection = Problem;

    async fn from_request(request: Request<RawBody>, state: &S) -> Result<Self, Problem> {
        if !is_json(request.headers()) {
            return Err(Problem::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "request.not-json",
                "the body is not said to be JSON",
                "Send it with content-type: application/json.",
            ));
        }
        let bytes = Bytes::from_request(request, state).await.map_err(|refusal| match refusal.status() {
            StatusCode::PAYLOAD_TOO_LARGE => too_large(),
            _ => Problem::bad_request("the body could not be read to its end", "Send it again."),
        })?;
        // An array would be taken for the fields in their order: only an object says which is which.
        let object: Map<String, Value> = serde_json::from_slice(&bytes).map_err(|error| not_as_described(&error))?;
        serde_json::from_value(Value::Object(object)).map(Self).map_err(|error| not_as_described(&error))
    }
}

fn is_json(headers: &HeaderMap) -> bool {
    let kind = headers.get(header::CONTENT_TYPE).and_then(|value| value.to_str().ok()).unwrap_or_default();
    kind.split(';').next().is_some_and(|kind| kind.trim().eq_ignore_ascii_case("application/json"))
}

/// The body is larger than any case.
pub fn too_large() -> Problem {
    Problem::new(
        StatusCode::PAYLOAD_TOO_LARGE,
        "request.too-large",
        format!("the body has more than {MOST_BODY_BYTES} bytes"),
        "A case is a few kilobytes of text: is this the right file?",
    )
}

fn not_as_described(error: &serde_json::Error) -> Problem {
    Problem::bad_request(format!("the body is not as described: {error}"), "See /api/openapi.json for the fields of this request.")
}

/// Deserialises a structure that may be left out; a list that would be taken for its fields in their order is refused.
pub fn object_or_none<'de, D: Deserializer<'de>, T: DeserializeOwned>(deserializer: D) -> Result<Option<T>, D::Error> {
    let object = Option::<Map<String, Value>>::deserialize(deserializer)?;
    object.map(|object| serde_json::from_value(Value::Object(object)).map_err(serde::de::Error::custom)).transpose()
}

/// The same for a list of structures.
pub fn objects<'de, D: Deserializer<'de>, T: DeserializeOwned>(deserializer: D) -> Result<Vec<T>, D::Error> {
    let objects = Vec::<Map<String, Value>>::deserialize(deserializer)?;
    objects.into_iter().map(|object| serde_json::from_value(Value::Object(object)).map_err(serde::de::Error::custom)).collect()
}

/// A whole number, also where it is written with a point, as JSON does not tell 5 from 5.0.
pub fn whole<'de, D: Deserializer<'de>>(deserializer: D) -> Result<u32, D::Error> {
    let number = f64::deserialize(deserializer)?;
    let whole = number.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&number);
    whole.then_some(number as u32).ok_or_else(|| serde::de::Error::custom(format!("{number} stands where a whole number belongs")))
}

/// A query.
pub struct Query<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for Query<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        match RawQuery::<T>::from_request_parts(parts, state).await {
            Ok(RawQuery(query)) => Ok(Self(query)),
            Err(refusal) => Err(Problem::bad_request(refusal.body_text(), "See /api/openapi.json for what may stand after the `?`.")),
        }
    }
}

/// Units of the answer.
#[derive(Debug, Clone, Copy, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct InUnits {
    /// Units in which numbers are written.
    #[serde(default)]
    #[param(inline)]
    pub units: UnitSet,
}

/// The last part of a path.
pub struct Last(pub String);

impl<S: Send + Sync> FromRequestParts<S> for Last {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        match Path::<String>::from_request_parts(parts, state).await {
            Ok(Path(name)) => Ok(Self(name)),
            Err(refusal) => Err(Problem::bad_request(refusal.body_text(), "Names are letters, digits, `.`, `_` and `-`.")),
        }
    }
}

/// Name of a case file, as a schema.
#[derive(Debug, ToSchema)]
#[schema(value_type = String, pattern = "^[A-Za-z0-9_-][A-Za-z0-9._-]{0,90}\\.toml$", example = "brine-booster.toml")]
pub struct CaseName(#[allow(dead_code, reason = "stands for its schema alone")] String);

/// Text of a case file (TOML), as a schema.
#[derive(Debug, ToSchema)]
#[schema(value_type = String)]
pub struct CaseText(#[allow(dead_code, reason = "stands for its schema alone")] String);

/// One event of a stream, as a schema.
#[derive(Debug, ToSchema)]
#[allow(dead_code, reason = "stands for its schema alone")]
pub struct ServerEvent {
    /// Kind of event.
    event: String,
    /// Its data, JSON in a text.
    data: String,
}
