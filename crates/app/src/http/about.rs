//! What serves here, and the description of it.

use axum::Json;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use utoipa::ToSchema;

use super::{App, document_text};

/// What serves here.
#[derive(Debug, Serialize, ToSchema)]
pub struct About {
    /// Name of the program.
    pub name: String,
    /// Its version.
    pub version: String,
    /// Folder that is served.
    pub folder: String,
    /// Number of published checks that can be rerun.
    pub checks: usize,
    /// Number of rules that judge a result.
    pub rules: usize,
    /// Who decides.
    pub authority: String,
}

/// What serves here
#[utoipa::path(get, path = "/api/about", tag = "about", responses((status = 200, description = "Versions and folder", body = About)))]
pub async fn about(State(app): State<App>) -> Json<About> {
    Json(About {
        name: "halfmicron".to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        folder: app.folder.path().display().to_string(),
        checks: halfmicron_checks::all().len(),
        rules: halfmicron::rules::registry().len(),
        authority: "Local codes and the licensed or competent person of the place come before every number of this program.".to_owned(),
    })
}

/// This description
#[utoipa::path(get, path = "/api/openapi.json", tag = "about", responses((status = 200, description = "OpenAPI document", content_type = "application/json", body = Object)))]
pub async fn openapi() -> Response {
    ([(header::CONTENT_TYPE, "application/json")], document_text()).into_response()
}
