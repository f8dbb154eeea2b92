//! The cross-section, or the face, as a file.

use std::collections::BTreeMap;

use axum::extract::State;
use axum::response::Response;
use halfmicron::sheet::UnitSet;
use halfmicron_report::drawing::{Drawing, DrawingError, Wanted as DrawingWanted, draw as drawn, draw_face};
use serde::Deserialize;
use utoipa::ToSchema;

use super::App;
use super::files::attachment;
use super::pictures::Deformed;
use super::pool::Wanted;
use super::problem::Problem;
use super::request::{Body, CaseText};
use super::solve::read;

/// A drawing to be made.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DrawRequest {
    /// Text of the case.
    #[schema(value_type = CaseText)]
    pub text: String,
    /// Kind of file.
    pub kind: DrawingKind,
    /// What is drawn; duty, temperature and deflections belong to the section alone.
    #[serde(default)]
    pub view: DrawingView,
    /// Duty whose results are stated; needed for temperature and deflections where the case has several.
    #[serde(default)]
    pub duty: Option<String>,
    /// Whether the rings show their temperatures.
    #[serde(default)]
    pub temperature: bool,
    /// How much larger than they are the deflections of the faces are drawn; none for faces as they were made.
    #[serde(default)]
    pub deformed: Option<Deformed>,
    /// Units of dimensions and results.
    #[serde(default)]
    pub units: UnitSet,
}

/// Kind of a drawing's file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DrawingKind {
    /// For a page or a text.
    Svg,
    /// For a drawing program, in millimetres.
    Dxf,
}

/// What a drawing shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DrawingView {
    /// Both rings cut along the shaft.
    #[default]
    Section,
    /// The face that carries the textures, seen along the shaft.
    Face,
}

/// Draw the cross-section or the face to scale
#[utoipa::path(post, path = "/api/draw", tag = "report", request_body = DrawRequest, responses(
    (status = 200, description = "The drawing on A4 as a file", content((String = "image/svg+xml"), (String = "image/vnd.dxf"))),
    (status = 422, description = "The case has errors, or cannot be drawn so", body = Problem),
))]
pub async fn draw(State(app): State<App>, Body(request): Body<DrawRequest>) -> Result<Response, Problem> {
    let inner = app.clone();
    app.solver.run(move |wanted| drawing(&inner, &request, wanted)).await?
}

fn drawing(app: &App, request: &DrawRequest, wanted: &Wanted) -> Result<Response, Problem> {
    let ready = read(&request.text, &BTreeMap::new())?;
    let model = &ready.model;
    let impossible = |error: DrawingError| Problem::impossible("draw.impossible", error.to_string(), "Correct the case, or draw less.");
    if request.view == DrawingView::Face {
        if request.duty.is_some() || request.temperature || request.deformed.is_some() {
            let message = "duty, temperature and deflections belong to the section; the face is drawn as it was made";
            return Err(Problem::impossible("draw.of-section", message, "Leave them out, or draw the section."));
        }
        return Ok(written(request.kind, &model.title, &draw_face(model, request.units).map_err(impossible)?));
    }
    let needs_duty = request.temperature || request.deformed.is_some();
    let asked = match (&request.duty, &model.duties[..]) {
        (Some(name), _) => Some(name.clone()),
        (None, [only]) if needs_duty => Some(only.name.clone()),
        (None, _) if needs_duty => {
            let message = "temperatures and deflections belong to a duty, and the case has several";
            return Err(Problem::impossible("draw.no-duty", message, "Name the duty."));
        }
        _ => None,
    };
    let outcome = asked.map(|name| app.warm.complete(&ready, &[name], wanted)).transpose()?;
    let duty = outcome.as_ref().and_then(|outcome| outcome.duties.first());
    if let Some(duty) = duty.filter(|duty| duty.chosen.is_none()) {
        let message = format!("duty \"{}\" has no equilibrium to show: {}", duty.name, duty.reason);
        return Err(Problem::impossible("draw.no-equilibrium", message, "Draw without a duty, or another duty."));
    }
    let wanted = DrawingWanted {
        units: request.units,
        temperature: request.temperature,
        deformed: request.deformed.map(Deformed::exaggeration).transpose()?,
    };
    Ok(written(request.kind, &model.title, &drawn(model, duty, &wanted).map_err(impossible)?))
}

fn written(kind: DrawingKind, title: &str, drawing: &Drawing) -> Response {
    let (kind, ending, text) = match kind {
        DrawingKind::Svg => ("image/svg+xml", "svg", drawing.svg()),
        DrawingKind::Dxf => ("image/vnd.dxf", "dxf", drawing.dxf()),
    };
    attachment(title, ending, kind, text.into_bytes())
}
