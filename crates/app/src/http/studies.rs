//! Work that takes longer than a page waits: begun, watched, stopped, its result fetched.

use std::collections::{BTreeMap, VecDeque};
use std::convert::Infallible;
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::sse::{Event, KeepAlive, Sse};
use halfmicron::sheet::{FilmMaps, InfluenceSheet, SweepSheet, UnitSet};
use halfmicron_report::chart::{Placing, svg};
use serde::{Deserialize, Serialize};
use tokio::sync::{mpsc, watch};
use tokio_stream::Stream;
use tokio_stream::wrappers::ReceiverStream;
use utoipa::ToSchema;

use super::App;
use super::pool::Wanted;
use super::problem::Problem;
use super::proof::Proof;
use super::request::{Body, CaseText, Last, ServerEvent, whole};
use super::study_runs;

/// Studies kept, running ones included; the oldest finished ones are forgotten.
const MOST_KEPT: usize = 32;

/// A study to be made.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
pub enum StudyRequest {
    /// One number swept at one duty: its film is followed from value to value, with the folds on its way.
    Sweep {
        /// Text of the case.
        #[schema(value_type = CaseText)]
        text: String,
        /// Name of the duty.
        #[schema(example = "normal")]
        duty: String,
        /// Path of the number, e.g. `duty.normal.temperature`.
        #[schema(example = "duty.normal.temperature")]
        path: String,
        /// First value, as a case writes it.
        #[schema(example = "25 degC")]
        from: String,
        /// Last value, as a case writes it.
        #[schema(example = "35 degC")]
        to: String,
        /// Number of values, both ends among them.
        #[serde(deserialize_with = "whole")]
        #[schema(minimum = 2, maximum = 2000)]
        count: u32,
        /// Units of the result.
        #[serde(default)]
        units: UnitSet,
    },
    /// How far a step of every input moves results of one duty.
    Influences {
        /// Text of the case.
        #[schema(value_type = CaseText)]
        text: String,
        /// Name of the duty.
        #[schema(example = "normal")]
        duty: String,
        /// Keys of the results; the main ones without any.
        #[serde(default)]
        keys: Vec<String>,
        /// Key of the result by which the inputs are ranked; the first one without any.
        #[serde(default)]
        ranked_by: Option<String>,
        /// Units of the result.
        #[serde(default)]
        units: UnitSet,
    },
    /// The film of one duty over its face: maps of pressure, gap and cavities.
    Film {
        /// Text of the case.
        #[schema(value_type = CaseText)]
        text: String,
        /// Name of the duty.
        #[schema(example = "normal")]
        duty: String,
        /// Units of the result.
        #[serde(default)]
        units: UnitSet,
    },
    /// The published checks, rerun.
    Proof {},
}

/// A study as it stands.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Study {
    /// Id for asking after it.
    pub id: String,
    /// How far it is.
    pub progress: Progress,
    /// What came out, once it is done.
    pub result: Option<StudyResult>,
    /// Its charts as SVG by key, where it has any.
    pub pictures: BTreeMap<String, String>,
}

/// How far a study is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Progress {
    /// State.
    pub state: StudyState,
    /// Steps done.
    pub done: usize,
    /// Steps in all; 0 while that is not known.
    pub total: usize,
    /// Why it failed; empty otherwise.
    pub message: String,
}

/// State of a study.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum StudyState {
    /// In the queue.
    Waiting,
    /// Being computed.
    Running,
    /// Complete.
    Done,
    /// Not to be had; the message says why.
    Failed,
    /// Stopped on request.
    Cancelled,
}

impl StudyState {
    fn is_over(self) -> bool {
        matches!(self, Self::Done | Self::Failed | Self::Cancelled)
    }
}

/// Result of a study.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[serde(tag = "kind", content = "value", rename_all = "kebab-case")]
pub enum StudyResult {
    /// A sweep.
    Sweep(SweepSheet),
    /// Influences.
    Influences(InfluenceSheet),
    /// Maps of the film.
    Film(FilmMaps),
    /// The published checks.
    Proof(Proof),
}

/// Size of a chart, px.
const CHART_PX: [f64; 2] = [640.0, 260.0];

fn pictures(result: &StudyResult) -> BTreeMap<String, String> {
    let StudyResult::Sweep(sweep) = result else { return BTreeMap::new() };
    let placing = Placing::page(CHART_PX[0], CHART_PX[1]);
    sweep.charts.iter().map(|chart| (chart.key.clone(), svg(chart, None, &placing))).collect()
}

/// What a running study tells.
pub struct Running {
    study: Arc<Kept>,
}

impl Running {
    /// Tells how far it is.
    pub fn step(&self, done: usize, total: usize) {
        self.study.tell(StudyState::Running, done, total, "");
    }
    /// Tells how far it is, and whether to go on.
    pub fn flow(&self, done: usize, total: usize) -> ControlFlow<()> {
        self.step(done, total);
        if self.stopped() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    }
    /// Whether it is to stop.
    pub fn stopped(&self) -> bool {
        self.study.wanted.given_up()
    }
    /// The same for work that asks by itself.
    pub fn wanted(&self) -> &Wanted {
        &self.study.wanted
    }
}

#[derive(Debug)]
struct Kept {
    id: String,
    wanted: Wanted,
    progress: watch::Sender<Progress>,
    result: Mutex<Option<StudyResult>>,
}

impl Kept {
    fn tell(&self, state: StudyState, done: usize, total: usize, message: &str) {
        let now = Progress { state, done, total, message: message.to_owned() };
        self.progress.send_if_modified(|progress| {
            // What was stopped stays stopped.
            let changes = !progress.state.is_over() && *progress != now;
            if changes {
                *progress = now;
            }
            changes
        });
    }
    fn shown(&self) -> Study {
        let result = self.result.lock().unwrap_or_else(PoisonError::into_inner).clone();
        let pictures = result.as_ref().map(pictures).unwrap_or_default();
        Study { id: self.id.clone(), progress: self.progress.borrow().clone(), result, pictures }
    }
}

/// Every study of this server.
#[derive(Debug)]
pub struct Studies {
    /// Word of this run of the server: ids of an earlier one are not mistaken for its own.
    run: String,
    next: AtomicU64,
    kept: Mutex<VecDeque<Arc<Kept>>>,
}

impl Studies {
    /// None yet.
    pub fn new(run: String) -> Self {
        Self { run, next: AtomicU64::new(1), kept: Mutex::default() }
    }

    fn begin(&self) -> Arc<Kept> {
        let number = self.next.fetch_add(1, Ordering::Relaxed);
        let waiting = Progress { state: StudyState::Waiting, done: 0, total: 0, message: String::new() };
        let study = Arc::new(Kept {
            id: format!("{}-{number}", self.run),
            wanted: Wanted::default(),
            progress: watch::Sender::new(waiting),
            result: Mutex::new(None),
        });
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.push_back(study.clone());
        while kept.len() > MOST_KEPT {
            let Some(oldest) = kept.iter().position(|study| study.progress.borrow().state.is_over()) else { break };
            kept.remove(oldest);
        }
        study
    }

    fn forget(&self, id: &str) {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner).retain(|study| study.id != id);
    }

    /// Maps of the film that a study came to.
    ///
    /// # Errors
    /// No such study, or one that has none.
    pub fn film(&self, id: &str) -> Result<FilmMaps, Problem> {
        let study = self.find(id)?;
        let result = study.result.lock().unwrap_or_else(PoisonError::into_inner);
        match result.as_ref() {
            Some(StudyResult::Film(maps)) => Ok(maps.clone()),
            _ => Err(Problem::not_found(
                "study.no-film",
                "the study has no film to be cut",
                "Begin one of kind `film` and wait until it is done.",
            )),
        }
    }

    fn find(&self, id: &str) -> Result<Arc<Kept>, Problem> {
        let kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.iter().find(|study| study.id == id).cloned().ok_or_else(|| {
            Problem::not_found(
                "study.none",
                "there is no such study: it is long over, or the server was started again since",
                "Begin it again; the case files hold everything that it needs.",
            )
        })
    }
}

/// Begin a study
#[utoipa::path(post, path = "/api/studies", tag = "studies", request_body = StudyRequest, responses(
    (status = 202, description = "Begun", body = Study),
    (status = 422, description = "The case has errors, or the study does not fit it", body = Problem),
))]
pub async fn begin(State(app): State<App>, Body(request): Body<StudyRequest>) -> Result<(StatusCode, Json<Study>), Problem> {
    let of_film = matches!(request, StudyRequest::Film { .. });
    // What is wrong with the request is told at once, not by a study that fails later.
    let run = app.desk.run(move |_| study_runs::planned(request)).await??;
    let study = app.studies.begin();
    let task = {
        let (app, study) = (app.clone(), study.clone());
        move || {
            if study.wanted.given_up() {
                return;
            }
            study.tell(StudyState::Running, 0, 0, "");
            let running = Running { study: study.clone() };
            let result = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| run(&app, &running)));
            let total = study.progress.borrow().total;
            match result {
                Ok(Ok(result)) => {
                    *study.result.lock().unwrap_or_else(PoisonError::into_inner) = Some(result);
                    study.tell(StudyState::Done, total, total, "");
                }
                Ok(Err(message)) => study.tell(StudyState::Failed, 0, total, &message),
                Err(_) => study.tell(StudyState::Failed, 0, total, "the computation broke down: keep the case file and report it"),
            }
        }
    };
    let pool = if of_film { &app.filmer } else { &app.studier };
    if let Err(full) = pool.submit(Box::new(task)) {
        app.studies.forget(&study.id);
        return Err(full);
    }
    Ok((StatusCode::ACCEPTED, Json(study.shown())))
}

/// A study as it stands
#[utoipa::path(get, path = "/api/studies/{id}", operation_id = "study", tag = "studies", params(("id" = String, Path, description = "Id of the study")), responses(
    (status = 200, description = "State and, once done, result", body = Study),
    (status = 404, description = "No such study", body = Problem),
))]
pub async fn get(State(app): State<App>, Last(id): Last) -> Result<Json<Study>, Problem> {
    app.studies.find(&id).map(|study| Json(study.shown()))
}

/// Stop a study and forget it
///
/// Whoever follows its progress is told that it was cancelled.
#[utoipa::path(delete, path = "/api/studies/{id}", tag = "studies", params(("id" = String, Path, description = "Id of the study")), responses(
    (status = 200, description = "The study as it was when it was forgotten", body = Study),
    (status = 404, description = "No such study", body = Problem),
))]
pub async fn cancel(State(app): State<App>, Last(id): Last) -> Result<Json<Study>, Problem> {
    let study = app.studies.find(&id)?;
    study.wanted.give_up();
    let Progress { done, total, .. } = study.progress.borrow().clone();
    study.tell(StudyState::Cancelled, done, total, "");
    app.studies.forget(&id);
    Ok(Json(study.shown()))
}

/// Progress of a study as it happens
///
/// Server-sent events named `progress`, each with the progress as JSON; the stream ends with the study.
#[utoipa::path(get, path = "/api/studies/{id}/events", tag = "studies", params(("id" = String, Path, description = "Id of the study")), responses(
    (status = 200, description = "Events; their data is a `Progress`", content_type = "text/event-stream", body = ServerEvent),
    (status = 404, description = "No such study", body = Problem),
))]
pub async fn events(State(app): State<App>, Last(id): Last) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Problem> {
    let study = app.studies.find(&id)?;
    let (send, receive) = mpsc::channel(8);
    let mut progress = study.progress.subscribe();
    tokio::spawn(async move {
        loop {
            let now = progress.borrow_and_update().clone();
            let event = Event::default().event("progress").json_data(&now).unwrap_or_default();
            if send.send(Ok(event)).await.is_err() || now.state.is_over() || progress.changed().await.is_err() {
                return;
            }
        }
    });
    Ok(Sse::new(ReceiverStream::new(receive)).keep_alive(KeepAlive::default()))
}
