//! A case solved: its sheet, and on request its pictures and its outcome.

use std::collections::BTreeMap;
use std::time::Instant;

use axum::Json;
use axum::extract::State;
use halfmicron::case::{parse, with_settings};
use halfmicron::model::Model;
use halfmicron::sheet::{Sheet, UnitSet, sheet};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::ToSchema;

use super::App;
use super::folder::tag_of;
use super::pool::Wanted;
use super::problem::Problem;
use super::request::{Body, object_or_none};

/// A case to be solved.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SolveRequest {
    /// Text of the case.
    pub text: String,
    /// Names of the duties; all of them when none is named.
    #[serde(default)]
    pub duties: Vec<String>,
    /// Units in which the sheet is written.
    #[serde(default)]
    pub units: UnitSet,
    /// Values put in place of those of the text, by path, e.g. `{"duty.normal.pressure": "14 bar(g)"}`.
    #[serde(default)]
    pub set: BTreeMap<String, String>,
    /// How much is computed.
    #[serde(default)]
    pub depth: Depth,
    /// Whether the outcome itself, in SI units, comes beside the sheet.
    #[serde(default)]
    pub outcome: bool,
    /// Pictures of one duty.
    #[serde(default, deserialize_with = "object_or_none")]
    pub pictures: Option<PicturesWanted>,
    /// A case whose curves are drawn behind those of this one.
    #[serde(default, deserialize_with = "object_or_none")]
    pub held: Option<HeldCase>,
}

/// How much is computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Depth {
    /// Everything: every equilibrium, ranges, margins, verdicts.
    #[default]
    Complete,
    /// As much as comes at once; what was left out is said, and is to be asked for again as `complete`.
    Quick,
}

/// A case that is compared with.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HeldCase {
    /// Text of the case.
    pub text: String,
}

/// Pictures that are wanted.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PicturesWanted {
    /// Duty that is shown; the first of the solved ones when none is named.
    #[serde(default)]
    pub duty: Option<String>,
    /// Whether the rings show their temperatures.
    #[serde(default)]
    pub temperature: bool,
    /// How much larger than they are the deflections of the faces are drawn; none for faces as they were made.
    #[serde(default)]
    pub deformed: Option<Deformed>,
    /// Width of the section, px.
    #[serde(default = "view_width")]
    #[schema(minimum = 200, maximum = 4000)]
    pub width: u32,
    /// Height of the section and of the charts beside it, px.
    #[serde(default = "view_height")]
    #[schema(minimum = 200, maximum = 4000)]
    pub height: u32,
    /// Width of each chart, px.
    #[serde(default = "chart_width")]
    #[schema(minimum = 120, maximum = 4000)]
    pub chart_width: u32,
}

fn view_width() -> u32 {
    640
}
fn view_height() -> u32 {
    480
}
fn chart_width() -> u32 {
    260
}

/// How much larger than they are deflections are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, ToSchema)]
#[serde(untagged)]
pub enum Deformed {
    /// So that they are seen.
    Chosen(Automatic),
    /// By this factor.
    Factor(Factor),
}

/// A factor.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, ToSchema)]
#[schema(minimum = 0.001, maximum = 1_000_000)]
pub struct Factor(pub f64);

/// The word for a factor that the program chooses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Automatic {
    /// Chosen so that the deflections are seen.
    Auto,
}

/// A solved case.
#[derive(Debug, Serialize, ToSchema)]
pub struct Solved {
    /// BLAKE3 hash of the text that was sent.
    pub tag: String,
    /// The sheet of the duties asked for.
    pub sheet: Sheet,
    /// Whether everything was computed.
    pub complete: bool,
    /// What was left out of a quick answer, in words; empty for a complete one.
    pub left_out: Vec<String>,
    /// The outcome in SI units, as `halfmicron solve --format json` writes it; where it was asked for.
    #[schema(value_type = Option<Object>)]
    pub outcome: Option<Value>,
    /// Pictures, where they were asked for and the duty has an equilibrium to show.
    pub pictures: Option<Pictures>,
    /// Time the server took, ms.
    pub elapsed_ms: f64,
}

/// Pictures of one duty.
#[derive(Debug, Serialize, ToSchema)]
pub struct Pictures {
    /// Duty that is shown.
    pub duty: String,
    /// Section of both rings with the film between them.
    pub view: Option<ViewPicture>,
    /// Charts of the sheet by key, e.g. `profile.gap`; their radius stands at the height that it has in the section.
    pub charts: BTreeMap<String, String>,
    /// What the reader must know of the pictures.
    pub notes: Vec<String>,
}

/// The section as a picture.
#[derive(Debug, Serialize, ToSchema)]
pub struct ViewPicture {
    /// The picture, SVG.
    pub svg: String,
    /// Width, px.
    pub width_px: f64,
    /// Height, px.
    pub height_px: f64,
    /// Where radii stand in it.
    pub radius: RadiusPlace,
}

/// Where radii stand in a picture: linear between two heights, counted from the top.
#[derive(Debug, Serialize, ToSchema)]
pub struct RadiusPlace {
    /// Lower radius, mm.
    pub low_mm: f64,
    /// Upper radius, mm.
    pub high_mm: f64,
    /// Height of the upper radius, px.
    pub top_px: f64,
    /// Height of the lower radius, px.
    pub bottom_px: f64,
}

/// Solve a case
#[utoipa::path(post, path = "/api/solve", tag = "sheet", request_body = SolveRequest, responses(
    (status = 200, description = "Solved: what went wrong within a duty is that duty's status and reason", body = Solved),
    (status = 422, description = "The case has errors, or a duty or path that it does not have was named", body = Problem),
))]
pub async fn solve(State(app): State<App>, Body(request): Body<SolveRequest>) -> Result<Json<Solved>, Problem> {
    let inner = app.clone();
    app.solver.run(move |wanted| solved(&inner, &request, wanted)).await?.map(Json)
}

/// A text with settings, as a model.
pub fn model_of(text: &str, set: &BTreeMap<String, String>) -> Result<Model, Problem> {
    let settings: Vec<(&str, &str)> = set.iter().map(|(path, value)| (path.as_str(), value.as_str())).collect();
    let text = &with_settings(text, &settings).map_err(|errors| Problem::case(text, &errors))?;
    parse(text).and_then(|case| case.model()).map_err(|errors| Problem::case(text, &errors))
}

fn solved(app: &App, request: &SolveRequest, wanted: &Wanted) -> Result<Solved, Problem> {
    let start = Instant::now();
    let model = model_of(&request.text, &request.set)?;
    let outcome = app.warm.complete(&model, &request.duties, wanted)?;
    let sheet = sheet(&model, &outcome, request.units);
    let outcome = if request.outcome {
        Some(serde_json::to_value(&outcome).map_err(|error| Problem::internal(format!("the outcome cannot be written: {error}")))?)
    } else {
        None
    };
    Ok(Solved {
        tag: tag_of(request.text.as_bytes()),
        sheet,
        complete: true,
        left_out: Vec::new(),
        outcome,
        pictures: None,
        elapsed_ms: (start.elapsed().as_secs_f64() * 1e4).round() / 10.0,
    })
}
