//! The page's server: one folder of cases over HTTP, with a description that is generated from the code.
//!
//! Every handler answers with plain data of one module; long work runs on a pool off the threads that serve (`pool`), files are
//! touched in `folder` alone, and who may ask is decided in `security` alone.

mod about;
mod cases;
mod draw;
mod files;
mod film;
mod folder;
mod overview;
mod page;
mod pictures;
mod pool;
mod problem;
mod proof;
mod report;
mod request;
pub mod security;
mod solve;
mod starters;
mod studies;
mod study_runs;
mod text;
mod warm;
mod watch;
mod why;

use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use axum::Router;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use tokio::sync::broadcast;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::timeout::TimeoutLayer;
use utoipa::OpenApi;
use utoipa::openapi::content::ContentBuilder;
use utoipa::openapi::schema::AdditionalProperties;
use utoipa::openapi::{Ref, RefOr, ResponseBuilder, Schema};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use folder::Folder;
use pool::Pool;
use problem::Problem;
use proof::Proof;
use request::MOST_BODY_BYTES;
use security::Security;
use studies::Studies;
use warm::Warm;

/// Longest time for a computation that a page waits for.
const SOLVE_LIMIT: Duration = Duration::from_secs(60);
/// Longest time for what touches files and texts alone.
const DESK_LIMIT: Duration = Duration::from_secs(20);
/// Longest time for the summary of a case; those of a whole folder wait for each other.
const SUMMARY_LIMIT: Duration = Duration::from_secs(240);
/// Longest time until an answer begins, the reading of a slow request included.
const REQUEST_LIMIT: Duration = Duration::from_secs(300);
/// Changes of the folder that a slow listener may lag behind.
const CHANGES_KEPT: usize = 64;

/// What the handlers share.
#[derive(Debug, Clone)]
pub struct App(Arc<Shared>);

/// See [`App`].
#[derive(Debug)]
pub struct Shared {
    folder: Folder,
    security: Security,
    /// Reads files and texts.
    desk: Pool,
    /// Solves while a page waits.
    solver: Pool,
    /// Solves for the lines of a folder, one case after the other: a sheet that is being edited does not wait for them.
    reviewer: Pool,
    /// Makes studies, one after the other.
    studier: Pool,
    /// Solves for maps of a film, which neither wait for a long study nor keep a sheet waiting.
    filmer: Pool,
    warm: Warm,
    studies: Studies,
    proof: Mutex<Option<Proof>>,
    changes: broadcast::Sender<watch::Change>,
}

impl std::ops::Deref for App {
    type Target = Shared;
    fn deref(&self) -> &Shared {
        &self.0
    }
}

impl App {
    /// A server of the folder, not yet listening.
    ///
    /// # Errors
    /// No such folder, or no threads or random numbers to be had.
    pub fn new(folder: &Path, security: Security) -> std::io::Result<Self> {
        let run = security::new_token().map_err(std::io::Error::other)?;
        Ok(Self(Arc::new(Shared {
            folder: Folder::open(folder)?,
            security,
            desk: Pool::new("desk", 2, 32, DESK_LIMIT)?,
            solver: Pool::new("solve", 2, 16, SOLVE_LIMIT)?,
            reviewer: Pool::new("summary", 1, 64, SUMMARY_LIMIT)?,
            studier: Pool::new("study", 1, 8, SOLVE_LIMIT)?,
            filmer: Pool::new("film", 1, 8, SOLVE_LIMIT)?,
            warm: Warm::default(),
            studies: Studies::new(run.chars().take(8).collect()),
            proof: Mutex::new(None),
            changes: broadcast::channel(CHANGES_KEPT).0,
        })))
    }

    /// Looks at the folder for changes until it is dropped.
    pub async fn look(self) {
        watch::look(self.folder.clone(), self.changes.clone()).await;
    }

    fn proof(&self) -> Option<Proof> {
        self.proof.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    fn keep_proof(&self, proof: Proof) {
        *self.proof.lock().unwrap_or_else(PoisonError::into_inner) = Some(proof);
    }
}

/// What the description says of itself.
#[derive(OpenApi)]
#[openapi(
    info(
        title = "halfmicron",
        description = "Mechanical face seals, computed: a folder of case files, solved as they are edited. Every number is already in the \
                       reader's units and rounded. Where the server asks for a token, it is sent as `Authorization: Bearer TOKEN` or as \
                       the cookie that opening `/?token=TOKEN` sets. Refusals all have the form of `Problem`.",
    ),
    components(schemas(Problem, watch::Change, studies::Progress))
)]
struct Description;

fn described() -> OpenApiRouter<App> {
    OpenApiRouter::with_openapi(Description::openapi())
        .routes(routes!(cases::list, cases::make))
        .routes(routes!(cases::get, cases::put))
        .routes(routes!(cases::summary))
        .routes(routes!(starters::list))
        .routes(routes!(watch::watch))
        .routes(routes!(text::keys))
        .routes(routes!(text::read))
        .routes(routes!(text::edit))
        .routes(routes!(solve::solve))
        .routes(routes!(why::why))
        .routes(routes!(studies::begin))
        .routes(routes!(studies::get, studies::cancel))
        .routes(routes!(studies::events))
        .routes(routes!(film::cut))
        .routes(routes!(draw::draw))
        .routes(routes!(report::report))
        .routes(routes!(proof::proof))
        .routes(routes!(about::about))
        .routes(routes!(about::openapi))
}

/// Refusals that every route may give, with their reason.
const COMMON: [(&str, &str); 8] = [
    ("400", "The request is not as described"),
    ("401", "The server asks for its token"),
    ("403", "The request comes from elsewhere, or asks for what is outside the folder"),
    ("413", "The body is too large"),
    ("415", "The body is not said to be JSON"),
    ("429", "The server has as much to do as it takes on; the field Retry-After says when to ask again"),
    ("500", "A fault of the program or the machine"),
    ("503", "It took too long and was stopped"),
];

/// The description as JSON, as it is served and committed.
pub fn document_text() -> String {
    let mut document = described().into_openapi();
    document.info.version = env!("CARGO_PKG_VERSION").to_owned();
    for item in document.paths.paths.values_mut() {
        let operations = [&mut item.get, &mut item.put, &mut item.post, &mut item.delete];
        for operation in operations.into_iter().flatten() {
            for (status, why) in COMMON {
                let refusal = || ContentBuilder::new().schema(Some(Ref::from_schema_name("Problem"))).build();
                let response = || RefOr::T(ResponseBuilder::new().description(why).content("application/json", refusal()).build());
                operation.responses.responses.entry(status.to_owned()).or_insert_with(response);
            }
        }
    }
    if let Some(components) = &mut document.components {
        components.schemas.iter_mut().for_each(|(name, schema)| completed(name, schema));
    }
    document.to_pretty_json().unwrap_or_default() + "\n"
}

/// What the derived schema of a type cannot say.
fn completed(name: &str, schema: &mut RefOr<Schema>) {
    match schema {
        RefOr::T(Schema::Object(text)) if name == "CaseText" => text.example = Some(halfmicron::case::starter("my pump").into()),
        // Unknown fields of a study are refused, whatever its kind.
        RefOr::T(Schema::OneOf(kinds)) if name == "StudyRequest" => {
            for kind in &mut kinds.items {
                if let RefOr::T(Schema::Object(object)) = kind {
                    object.additional_properties = Some(Box::new(AdditionalProperties::FreeForm(false)));
                }
            }
        }
        _ => {}
    }
}

/// The limit refuses a body by its stated length before any handler does; all refusals have one form.
async fn told_too_large(response: Response) -> Response {
    if response.status() == StatusCode::PAYLOAD_TOO_LARGE { request::too_large().into_response() } else { response }
}

/// The server as a function from request to answer.
pub fn router(app: App) -> Router {
    let (router, _) = described().split_for_parts();
    let guard = axum::middleware::from_fn_with_state(app.clone(), security::guard);
    router
        .fallback(page::file)
        .method_not_allowed_fallback(async || {
            let hint = "See /api/openapi.json for the methods of this address.";
            Problem::new(StatusCode::METHOD_NOT_ALLOWED, "request.method", "this address does not take that method", hint).into_response()
        })
        .with_state(app)
        .layer(RequestBodyLimitLayer::new(MOST_BODY_BYTES))
        .layer(axum::middleware::map_response(told_too_large))
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, REQUEST_LIMIT))
        .layer(guard)
}
