//! The report that is signed, as a file.

use std::collections::BTreeMap;

use axum::extract::State;
use axum::response::Response;
use halfmicron::sheet::{UnitSet, sheet};
use halfmicron_report::report::{Kind, Paper, ReportError, Subject, TitleBlock, report as written};
use serde::Deserialize;
use utoipa::ToSchema;

use super::App;
use super::files::{attachment, file_name};
use super::pool::Wanted;
use super::problem::Problem;
use super::request::{Body, CaseText, object_or_none};
use super::solve::read;
use crate::cli::report::{Words, command};

/// Longest text of a field of the title block, characters.
const LONGEST_FIELD: usize = 200;

/// A report to be made.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReportRequest {
    /// Text of the case.
    #[schema(value_type = CaseText)]
    pub text: String,
    /// Kind of file.
    pub kind: ReportKind,
    /// Paper to print on.
    #[serde(default)]
    pub paper: PaperSize,
    /// Names of the duties; all of them when none is named.
    #[serde(default)]
    pub duties: Vec<String>,
    /// Units of every number.
    #[serde(default)]
    pub units: UnitSet,
    /// Values put in place of those of the text, by path.
    #[serde(default)]
    pub set: BTreeMap<String, String>,
    /// Name of the case file, for the title block.
    #[serde(default)]
    pub file: String,
    /// What the author states.
    #[serde(default, deserialize_with = "object_or_none")]
    pub title_block: Option<Title>,
}

/// Kind of a report's file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ReportKind {
    /// Tagged, with its typefaces within.
    Pdf,
    /// One file without script.
    Html,
}

/// Paper.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PaperSize {
    /// 210 mm by 297 mm.
    #[default]
    A4,
    /// 8.5 in by 11 in.
    Letter,
}

/// What the author states; what is left empty is a line to write on.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Title {
    /// Project.
    #[serde(default)]
    #[schema(max_length = 200)]
    pub project: String,
    /// Revision of the report.
    #[serde(default)]
    #[schema(max_length = 200)]
    pub revision: String,
    /// Who answers for it.
    #[serde(default)]
    #[schema(max_length = 200)]
    pub author: String,
}

/// Report a case
#[utoipa::path(post, path = "/api/report", tag = "report", request_body = ReportRequest, responses(
    (status = 200, description = "The report as a file", content((String = "application/pdf"), (String = "text/html"))),
    (status = 422, description = "The case has errors, or the PDF has no sign for a letter", body = Problem),
))]
pub async fn report(State(app): State<App>, Body(request): Body<ReportRequest>) -> Result<Response, Problem> {
    let inner = app.clone();
    app.solver.run(move |wanted| made(&inner, request, wanted)).await?
}

fn made(app: &App, request: ReportRequest, wanted: &Wanted) -> Result<Response, Problem> {
    let title = request.title_block.unwrap_or_default();
    let fields = [("project", &title.project), ("revision", &title.revision), ("author", &title.author), ("file", &request.file)];
    if let Some((name, text)) = fields.into_iter().find(|(_, text)| text.chars().count() > LONGEST_FIELD || text.contains(char::is_control))
    {
        let message = format!("`{name}` has {} characters, or line breaks among them", text.chars().count());
        let hint = format!("Write it on one line of at most {LONGEST_FIELD} characters.");
        return Err(Problem::impossible("report.field", message, hint));
    }
    let ready = read(&request.text, &request.set)?;
    let outcome = app.warm.complete(&ready, &request.duties, wanted)?;
    let sheet = sheet(&ready.model, &outcome, request.units);
    let (kind, ending, mime) = match request.kind {
        ReportKind::Pdf => (Kind::Pdf, "pdf", "application/pdf"),
        ReportKind::Html => (Kind::Html, "html", "text/html; charset=utf-8"),
    };
    let paper = match request.paper {
        PaperSize::A4 => Paper::A4,
        PaperSize::Letter => Paper::Letter,
    };
    let stem = if request.file.is_empty() { file_name(&ready.model.title) } else { request.file.trim_end_matches(".toml").to_owned() };
    let file = format!("{stem}.toml");
    let settings: Vec<(String, String)> = request.set.into_iter().collect();
    let words = Words {
        file: &file,
        kind,
        title: [("project", &title.project), ("revision", &title.revision), ("author", &title.author)],
        paper,
        units: request.units,
        duties: &request.duties,
        settings: &settings,
    };
    let title = TitleBlock { command: command(&words), project: title.project, revision: title.revision, author: title.author, file };
    let subject = Subject { model: &ready.model, outcome: &outcome, sheet: &sheet, case_text: &ready.text };
    let bytes = written(&subject, &title, kind, paper).map_err(|error| match error {
        ReportError::Letters(_) => Problem::impossible("report.letters", error.to_string(), "Write HTML instead, or change the text."),
        ReportError::Typesetting(_) => Problem::internal(error.to_string()),
    })?;
    Ok(attachment(&ready.model.title, ending, mime, bytes))
}
