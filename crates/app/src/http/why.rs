//! Why a number of the sheet is what it is.

use std::collections::BTreeMap;

use axum::Json;
use axum::extract::State;
use halfmicron::sheet::UnitSet;
use halfmicron::why::{self, Why};
use serde::Deserialize;
use utoipa::ToSchema;

use super::App;
use super::pool::Wanted;
use super::problem::Problem;
use super::request::{Body, CaseText};
use super::solve::read;

/// A number that is asked about.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WhyRequest {
    /// Text of the case.
    #[schema(value_type = CaseText)]
    pub text: String,
    /// Values put in place of those of the text, by path.
    #[serde(default)]
    pub set: BTreeMap<String, String>,
    /// Name of the duty.
    #[schema(example = "normal")]
    pub duty: String,
    /// Key of a row of the sheet, or id of a rule.
    #[schema(example = "minimum_film_m")]
    pub key: String,
    /// Units of the answer.
    #[serde(default)]
    pub units: UnitSet,
}

/// Why a number, or a verdict, is what it is
///
/// The numbers that entered, the models behind it with their range and proof, and the rules that judge it. How much each input matters is a
/// study of its own.
#[utoipa::path(post, path = "/api/why", tag = "sheet", request_body = WhyRequest, responses(
    (status = 200, description = "The reasons", body = Why),
    (status = 404, description = "The duty has no such row and no such rule", body = Problem),
    (status = 422, description = "The case has errors, or does not have the duty", body = Problem),
))]
pub async fn why(State(app): State<App>, Body(request): Body<WhyRequest>) -> Result<Json<Why>, Problem> {
    let inner = app.clone();
    app.solver.run(move |wanted| answer(&inner, &request, wanted)).await?.map(Json)
}

fn answer(app: &App, request: &WhyRequest, wanted: &Wanted) -> Result<Why, Problem> {
    let ready = read(&request.text, &request.set)?;
    let outcome = app.warm.complete(&ready, std::slice::from_ref(&request.duty), wanted)?;
    why::why_in(&ready.model, &outcome, &request.duty, &request.key, request.units).ok_or_else(|| {
        let shown: String = request.key.chars().take(80).collect();
        let hint = "Take the key of a row, or the rule of a verdict, from the sheet of this duty.";
        Problem::not_found("why.none", format!("nothing at this duty is named `{shown}`"), hint)
    })
}
