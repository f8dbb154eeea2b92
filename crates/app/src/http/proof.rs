//! The published checks, rerun on this machine.

use axum::Json;
use axum::extract::State;
use halfmicron_checks::{Check, CheckResult, CheckVerdict, Kind};
use serde::Serialize;
use utoipa::ToSchema;

use super::App;
use crate::figures::{difference, figure};

/// The checks, and what a rerun gave.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Proof {
    /// Every check.
    pub checks: Vec<CheckLine>,
    /// Whether the checks were rerun since this server was started; a study of kind `proof` reruns them.
    pub rerun: bool,
}

/// One published check.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CheckLine {
    /// Stable id.
    pub id: String,
    /// What it is.
    pub title: String,
    /// Citation with figure or table.
    pub source: String,
    /// What it can say about a model.
    pub kind: CheckKind,
    /// Whether the expected values were recalled, not read in their source.
    pub from_memory: bool,
    /// Ids of the models that it concerns.
    pub models: Vec<String>,
    /// Compared quantities; empty before a rerun.
    pub quantities: Vec<QuantityLine>,
}

/// What a check can say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CheckKind {
    /// The shipped model against an exact solution or a published number.
    Proof,
    /// A formula against its own numbers: it proves no model.
    Arithmetic,
    /// The shipped model against a coarser theory or a measurement.
    Comparison,
}

/// One compared quantity; numbers as texts in SI units.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct QuantityLine {
    /// What is compared.
    pub quantity: String,
    /// SI unit; empty for pure numbers.
    pub unit: String,
    /// Value of the source.
    pub expected: String,
    /// Value of this program; `none` where nothing could be computed.
    pub computed: String,
    /// Computed less expected.
    pub difference: String,
    /// Greatest difference that still agrees.
    pub tolerance: String,
    /// Why this tolerance.
    pub tolerance_reason: String,
    /// Whether the two agree.
    pub agrees: bool,
    /// Whether the line says that the program is wrong: a comparison may differ, a proof may not.
    pub contradicts: bool,
    /// Why the two disagree, or what must be known to read the line; often empty.
    pub note: String,
}

/// The published checks with their last rerun
#[utoipa::path(get, path = "/api/proof", tag = "proof", responses((status = 200, description = "Checks", body = Proof)))]
pub async fn proof(State(app): State<App>) -> Json<Proof> {
    Json(app.proof().unwrap_or_else(|| Proof { checks: all().iter().map(|check| line(check, &[])).collect(), rerun: false }))
}

/// The checks to run.
pub fn all() -> Vec<Check> {
    halfmicron_checks::all()
}

/// A check with its results.
pub fn line(check: &Check, results: &[CheckResult]) -> CheckLine {
    CheckLine {
        id: check.id.to_owned(),
        title: check.title.to_owned(),
        source: check.source.to_owned(),
        kind: match check.kind {
            Kind::Proof => CheckKind::Proof,
            Kind::Arithmetic => CheckKind::Arithmetic,
            Kind::Comparison => CheckKind::Comparison,
        },
        from_memory: check.from_memory,
        models: check.models.iter().map(|id| (*id).to_owned()).collect(),
        quantities: results.iter().map(quantity).collect(),
    }
}

fn quantity(result: &CheckResult) -> QuantityLine {
    QuantityLine {
        quantity: result.quantity.clone(),
        unit: result.unit.to_owned(),
        expected: figure(result.expected),
        computed: figure(result.computed),
        difference: difference(result.difference),
        tolerance: difference(result.tolerance),
        tolerance_reason: result.tolerance_reason.to_owned(),
        agrees: result.verdict == CheckVerdict::Agrees,
        contradicts: result.contradicts(),
        note: result.note.clone(),
    }
}
