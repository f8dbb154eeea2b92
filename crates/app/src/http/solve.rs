//! A case solved: its sheet, and on request its pictures and its outcome.

use std::collections::BTreeMap;
use std::time::Instant;

use axum::Json;
use axum::extract::State;
use halfmicron::case::{parse, with_settings};
use halfmicron::model::Model;
use halfmicron::outcome::Outcome;
use halfmicron::sheet::{Sheet, UnitSet, changes, sheet};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::ToSchema;

use super::App;
use super::folder::tag_of;
use super::pictures::{Pictures, PicturesWanted, pictures};
use super::pool::Wanted;
use super::problem::Problem;
use super::request::{Body, CaseText, object_or_none};
use super::warm::{Found, Ready};

/// A case to be solved.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SolveRequest {
    /// Text of the case.
    #[schema(value_type = CaseText)]
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
    #[schema(value_type = CaseText)]
    pub text: String,
}

/// A solved case.
#[derive(Debug, Serialize, ToSchema)]
pub struct Solved {
    /// BLAKE3 hash of the text that was sent.
    pub tag: String,
    /// The sheet of the duties asked for.
    pub sheet: Sheet,
    /// Change of every number against the held case, by the key of its row, one text a column; where a case is held.
    pub changes: Option<BTreeMap<String, Vec<String>>>,
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

/// Solve a case
#[utoipa::path(post, path = "/api/solve", tag = "sheet", request_body = SolveRequest, responses(
    (status = 200, description = "Solved: what went wrong within a duty is that duty's status and reason", body = Solved),
    (status = 422, description = "The case has errors, or a duty or path that it does not have was named", body = Problem),
))]
pub async fn solve(State(app): State<App>, Body(request): Body<SolveRequest>) -> Result<Json<Solved>, Problem> {
    let inner = app.clone();
    app.solver.run(move |wanted| solved(&inner, &request, wanted)).await?.map(Json)
}

/// A text with settings, read.
pub fn read(text: &str, set: &BTreeMap<String, String>) -> Result<Ready, Problem> {
    let settings: Vec<(&str, &str)> = set.iter().map(|(path, value)| (path.as_str(), value.as_str())).collect();
    let text = &with_settings(text, &settings).map_err(|errors| Problem::case(text, &errors))?;
    parse(text).and_then(|case| case.model()).map(|model| Ready::new(text, model)).map_err(|errors| Problem::case(text, &errors))
}

fn solved(app: &App, request: &SolveRequest, wanted: &Wanted) -> Result<Solved, Problem> {
    let start = Instant::now();
    let ready = read(&request.text, &request.set)?;
    let found = match request.depth {
        Depth::Complete => Found { outcome: app.warm.complete(&ready, &request.duties, wanted)?, left_out: Vec::new() },
        Depth::Quick => app.warm.quick(&ready, &request.duties, wanted)?,
    };
    let present = sheet_of(&ready.model, &found, request.units);
    let held = request.held.as_ref().map(|held| held_sheet(app, held, &request.duties, request.units, wanted)).transpose()?;
    let pictures = request.pictures.as_ref().map(|asked| pictures(asked, &ready.model, &found.outcome, &present, held.as_ref()));
    let outcome = if request.outcome {
        let written = serde_json::to_value(&found.outcome);
        Some(written.map_err(|error| Problem::internal(format!("the outcome cannot be written: {error}")))?)
    } else {
        None
    };
    Ok(Solved {
        tag: tag_of(request.text.as_bytes()),
        changes: held.as_ref().map(|held| changes(&present, held)),
        sheet: present,
        complete: found.left_out.is_empty(),
        left_out: found.left_out,
        outcome,
        pictures: pictures.transpose()?.flatten(),
        elapsed_ms: (start.elapsed().as_secs_f64() * 1e4).round() / 10.0,
    })
}

/// The sheet; of an incomplete outcome without verdicts, for a rule may need what was left out.
fn sheet_of(model: &Model, found: &Found, units: UnitSet) -> Sheet {
    let mut sheet = sheet(model, &found.outcome, units);
    if !found.left_out.is_empty() {
        sheet.verdicts.clear();
        sheet.columns.iter_mut().for_each(|column| column.worst = None);
    }
    sheet
}

/// The sheet of a held case, at those duties that it has.
fn held_sheet(app: &App, held: &HeldCase, duties: &[String], units: UnitSet, wanted: &Wanted) -> Result<Sheet, Problem> {
    let ready = read(&held.text, &BTreeMap::new())?;
    let known = |name: &&String| ready.model.duties.iter().any(|duty| duty.name == **name);
    let asked: Vec<String> = duties.iter().filter(known).cloned().collect();
    if asked.is_empty() && !duties.is_empty() {
        let nothing = Outcome { duties: Vec::new(), ..app.warm.complete(&ready, &ready.first_duty(), wanted)? };
        return Ok(sheet(&ready.model, &nothing, units));
    }
    Ok(sheet(&ready.model, &app.warm.complete(&ready, &asked, wanted)?, units))
}
