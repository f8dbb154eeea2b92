//! The folder: its cases with one line each, and their files.

use axum::Json;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use halfmicron::outcome::Word;
use halfmicron::sheet::UnitSet;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::App;
use super::folder::tag_of;
use super::overview::{self, duty_range};
use super::problem::Problem;
use super::request::{Body, CaseName, InUnits, Last, Query};
use super::starters;

/// The folder and its cases.
#[derive(Debug, Serialize, ToSchema)]
pub struct CaseList {
    /// Path of the folder on the machine that serves.
    pub folder: String,
    /// Cases by name.
    pub cases: Vec<CaseLine>,
    /// Files that look like cases and cannot be served.
    pub left_out: Vec<LeftOut>,
}

/// One case of the folder, before anything is solved.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CaseLine {
    /// Name of the file.
    pub name: String,
    /// Title; empty where the file has errors that hide it.
    pub title: String,
    /// Kind of machine in words.
    pub machine: String,
    /// Sealed fluid.
    pub fluid: String,
    /// Names of the duties.
    pub duties: Vec<String>,
    /// Range of pressure, temperature and speed over the duties, in words.
    pub duty_range: String,
    /// How many errors the file has; such a case cannot be solved yet.
    pub errors: usize,
    /// Last change of the file, RFC 3339.
    pub modified: String,
    /// Size, bytes.
    pub size: u64,
    /// BLAKE3 hash of the text.
    pub tag: String,
}

/// A file that looks like a case and cannot be served.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct LeftOut {
    /// Name as the system gives it.
    pub name: String,
    /// Why.
    pub reason: String,
}

/// A case file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CaseFile {
    /// Name of the file.
    pub name: String,
    /// Text of the file.
    pub text: String,
    /// BLAKE3 hash of the text; also the ETag.
    pub tag: String,
}

impl CaseFile {
    pub(super) fn of(name: &str, text: String) -> Self {
        Self { name: name.to_owned(), tag: tag_of(text.as_bytes()), text }
    }
}

/// A file that was written.
#[derive(Debug, Serialize, ToSchema)]
pub struct Saved {
    /// Name of the file.
    pub name: String,
    /// BLAKE3 hash of the text as it is on the disk now.
    pub tag: String,
}

/// A text to be saved.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SaveRequest {
    /// Text of the file. It is saved as it is, also where it is no complete case yet.
    pub text: String,
}

/// A case to be made.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewCase {
    /// Name of the new file.
    #[schema(value_type = CaseName)]
    pub name: String,
    /// What it begins as: `starter`, a shipped case such as `saltmere/brine-booster.toml`, or the name of a case of the folder.
    #[schema(example = "starter")]
    pub from: String,
}

/// What a case comes to, in one line.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct CaseSummary {
    /// Name of the file.
    pub name: String,
    /// BLAKE3 hash of the text that was solved.
    pub tag: String,
    /// Worst word over all duties and rules.
    pub worst: Option<Word>,
    /// Reason of the worst verdict, with the duties it is of.
    pub reason: String,
    /// Least film over all duties.
    pub least_film: Option<SummaryNumber>,
    /// Greatest leakage over all duties.
    pub leakage: Option<SummaryNumber>,
    /// Duties without an operating point, with the reason.
    pub unsolved: Vec<LeftOut>,
}

/// A number of one duty as the sheet shows it.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct SummaryNumber {
    /// Key of the row of the sheet.
    pub key: String,
    /// Label of the row.
    pub label: String,
    /// Rounded text with its range.
    pub text: String,
    /// Unit.
    pub unit: String,
    /// Duty it is of.
    pub duty: String,
}

/// The cases of the folder
///
/// Nothing is solved for this; see the summary of each case.
#[utoipa::path(get, path = "/api/cases", tag = "folder", params(InUnits), responses((status = 200, description = "The cases", body = CaseList)))]
pub async fn list(State(app): State<App>, Query(InUnits { units }): Query<InUnits>) -> Result<Json<CaseList>, Problem> {
    let inner = app.clone();
    app.desk.run(move |_| lines(&inner, units)).await?.map(Json)
}

fn lines(app: &App, units: UnitSet) -> Result<CaseList, Problem> {
    let listing = app.folder.list()?;
    let mut left_out: Vec<LeftOut> = listing.left_out.into_iter().map(|(name, reason)| LeftOut { name, reason }).collect();
    let mut cases = Vec::new();
    for file in listing.files {
        match app.folder.read(&file.name) {
            Ok(text) => cases.push(line(&file, &text, units)),
            Err(problem) => left_out.push(LeftOut { name: file.name, reason: problem.error.message }),
        }
    }
    Ok(CaseList { folder: app.folder.path().display().to_string(), cases, left_out })
}

fn line(file: &super::folder::Listed, text: &str, units: UnitSet) -> CaseLine {
    let modified = jiff::Timestamp::try_from(file.modified).unwrap_or_default();
    let about = CaseLine {
        name: file.name.clone(),
        title: String::new(),
        machine: String::new(),
        fluid: String::new(),
        duties: Vec::new(),
        duty_range: String::new(),
        errors: 0,
        modified: modified.strftime("%Y-%m-%dT%H:%M:%SZ").to_string(),
        size: file.size,
        tag: tag_of(text.as_bytes()),
    };
    match halfmicron::case::parse(text).and_then(|case| case.model()) {
        Ok(model) => CaseLine {
            title: model.title.clone(),
            machine: model.machine.kind.clone(),
            fluid: model.fluid.name().to_owned(),
            duties: model.duties.iter().map(|duty| duty.name.clone()).collect(),
            duty_range: duty_range(&model, units),
            ..about
        },
        Err(errors) => CaseLine { errors: errors.errors().len(), ..about },
    }
}

/// One case file
#[utoipa::path(get, path = "/api/cases/{name}", tag = "folder", params(("name" = CaseName, Path, description = "Name of the file")), responses(
    (status = 200, description = "The file; its tag is also the ETag", body = CaseFile),
    (status = 404, description = "No such file", body = Problem),
    (status = 422, description = "The file is no text", body = Problem),
))]
pub async fn get(State(app): State<App>, Last(name): Last) -> Result<Response, Problem> {
    let folder = app.folder.clone();
    let file = app.desk.run(move |_| folder.read(&name).map(|text| CaseFile::of(&name, text))).await??;
    let tag = etag(&file.tag);
    Ok(([(header::ETAG, tag)], Json(file)).into_response())
}

fn etag(tag: &str) -> HeaderValue {
    HeaderValue::from_str(&format!("\"{tag}\"")).unwrap_or(HeaderValue::from_static("\"\""))
}

/// Save a case file
///
/// `If-Match` with the tag of the text that was read replaces a file that nobody changed since; `If-None-Match: *` makes a new file.
/// Where the file was changed meanwhile the answer is 412 with its present text, and nothing is written.
#[utoipa::path(put, path = "/api/cases/{name}", tag = "folder",
    params(
        ("name" = CaseName, Path, description = "Name of the file"),
        ("If-Match" = Option<String>, Header, description = "Tag of the text that is to be replaced, in quotes"),
        ("If-None-Match" = Option<String>, Header, description = "`*` for a file that must not be there yet"),
    ),
    request_body = SaveRequest,
    responses(
        (status = 200, description = "Replaced", body = Saved),
        (status = 201, description = "Made", body = Saved),
        (status = 404, description = "No such file to replace", body = Problem),
        (status = 409, description = "A file to be made is there already", body = Problem),
        (status = 412, description = "The file was changed meanwhile; `present` is what it is now", body = Problem),
        (status = 422, description = "The file to be replaced is no text", body = Problem),
        (status = 428, description = "It is not said by If-Match or If-None-Match what may be replaced", body = Problem),
    ))]
pub async fn put(
    State(app): State<App>,
    Last(name): Last,
    headers: HeaderMap,
    Body(SaveRequest { text }): Body<SaveRequest>,
) -> Result<Response, Problem> {
    let condition = Condition::of(&headers)?;
    let folder = app.folder.clone();
    app.desk.run(move |_| saved(&folder, &name, &text, &condition)).await?
}

/// What may be replaced.
enum Condition {
    /// The file with this tag.
    Tag(String),
    /// Nothing: the file is new.
    New,
}

impl Condition {
    fn of(headers: &HeaderMap) -> Result<Self, Problem> {
        let text = |name| headers.get(name).map(|value: &HeaderValue| value.to_str().unwrap_or_default().trim());
        match (text(header::IF_MATCH), text(header::IF_NONE_MATCH)) {
            (Some(tag), None) if tag.len() > 2 && tag.starts_with('"') && tag.ends_with('"') => {
                Ok(Self::Tag(tag[1..tag.len() - 1].to_owned()))
            }
            (None, Some("*")) => Ok(Self::New),
            _ => Err(Problem::new(
                StatusCode::PRECONDITION_REQUIRED,
                "file.condition",
                "it is not said, or not to be understood, which text may be replaced",
                "Send either If-Match with the tag of the text that was read, in quotes, or If-None-Match: * for a new file.",
            )),
        }
    }
}

fn saved(folder: &super::folder::Folder, name: &str, text: &str, condition: &Condition) -> Result<Response, Problem> {
    let status = match condition {
        Condition::New => {
            folder.make(name, text)?;
            StatusCode::CREATED
        }
        Condition::Tag(tag) => match folder.replace(name, text, tag)? {
            Ok(()) => StatusCode::OK,
            Err(present) => {
                let problem = Problem::new(
                    StatusCode::PRECONDITION_FAILED,
                    "file.changed",
                    format!("{name} was changed meanwhile"),
                    "Compare with the present text, then save again with its tag.",
                );
                return Err(problem.with_present(CaseFile::of(name, present)));
            }
        },
    };
    let saved = Saved { name: name.to_owned(), tag: tag_of(text.as_bytes()) };
    Ok((status, [(header::ETAG, etag(&saved.tag))], Json(saved)).into_response())
}

/// Make a case from the starter, a shipped case or a case of the folder
#[utoipa::path(post, path = "/api/cases", tag = "folder", request_body = NewCase, responses(
    (status = 201, description = "Made", body = CaseFile),
    (status = 404, description = "There is nothing of the name in `from`", body = Problem),
    (status = 409, description = "A file of that name is there", body = Problem),
    (status = 422, description = "The case to begin from is no text", body = Problem),
))]
pub async fn make(State(app): State<App>, Body(NewCase { name, from }): Body<NewCase>) -> Result<Response, Problem> {
    let folder = app.folder.clone();
    let made = app
        .desk
        .run(move |_| {
            let text = starters::text(&folder, &name, &from)?;
            folder.make(&name, &text)?;
            Ok(CaseFile::of(&name, text))
        })
        .await?;
    made.map(|file| (StatusCode::CREATED, [(header::ETAG, etag(&file.tag))], Json(file)).into_response())
}

/// What a case comes to
///
/// Every duty is solved for this, once for each text.
#[utoipa::path(get, path = "/api/cases/{name}/summary", tag = "folder",
    params(("name" = CaseName, Path, description = "Name of the file"), InUnits), responses(
    (status = 200, description = "The summary", body = CaseSummary),
    (status = 404, description = "No such file", body = Problem),
    (status = 422, description = "The case has errors", body = Problem),
))]
pub async fn summary(
    State(app): State<App>,
    Last(name): Last,
    Query(InUnits { units }): Query<InUnits>,
) -> Result<Json<CaseSummary>, Problem> {
    let folder = app.folder.clone();
    let inner = app.clone();
    app.reviewer
        .run(move |wanted| {
            let text = folder.read(&name)?;
            overview::summary(&inner, &name, &text, units, wanted)
        })
        .await?
        .map(Json)
}
