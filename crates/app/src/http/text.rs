//! Form and text as two views of one file: the table of keys, the values of a text, and single edits of it.

use std::collections::BTreeMap;

use axum::Json;
use axum::extract::State;
use halfmicron::case::keys::{Key, Kind, ROOT};
use halfmicron::case::{self, CaseErrors, Edit};
use halfmicron::units::Dimension;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::App;
use super::problem::{CaseErrorLine, Problem, case_errors};
use super::request::{Body, CaseText, objects};

/// One key of the case file.
#[derive(Debug, Serialize, ToSchema)]
pub struct KeyLine {
    /// Name as written in the file.
    pub name: String,
    /// Path with `*` for the name or number of an entry, e.g. `duty.*.pressure`.
    pub path: String,
    /// What a form offers for it.
    pub kind: FieldKind,
    /// Whether the table is incomplete without it.
    pub required: bool,
    /// What it means, in one sentence.
    pub meaning: String,
    /// What belongs here, in words, with the allowed range.
    pub words: String,
    /// What is taken when it is not given; empty when nothing is.
    pub default: String,
    /// Words to choose from.
    pub choices: Vec<String>,
    /// Units in which it is usually written.
    pub units: String,
    /// An example of a value.
    pub example: String,
    /// Keys below a table or an entry of a list.
    #[schema(no_recursion)]
    pub keys: Vec<KeyLine>,
}

/// What a form offers for a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FieldKind {
    /// Free text.
    Text,
    /// One of some words.
    Choice,
    /// `true` or `false`.
    Flag,
    /// A number.
    Number,
    /// A quantity with its unit, as text.
    Quantity,
    /// A value with a shape of its own, such as two quantities or four corners, as the file writes it.
    Written,
    /// A table.
    Table,
    /// A list of tables, counted from 0.
    List,
    /// A list of tables, each found by its name.
    Named,
    /// Kept for later computations.
    Later,
}

/// The keys of the case file
///
/// The one table from which reading, messages and the schema of the case file come.
#[utoipa::path(get, path = "/api/keys", tag = "text", responses((status = 200, description = "Keys in the order of the table", body = Vec<KeyLine>)))]
pub async fn keys() -> Json<Vec<KeyLine>> {
    Json(lines(ROOT, ""))
}

fn lines(keys: &'static [Key], above: &str) -> Vec<KeyLine> {
    keys.iter().filter(|key| !matches!(key.kind, Kind::Elsewhere(..))).map(|key| line(key, above)).collect()
}

fn line(key: &'static Key, above: &str) -> KeyLine {
    let path = if above.is_empty() { key.name.to_owned() } else { format!("{above}.{}", key.name) };
    let below = match key.kind {
        Kind::Table(keys) => lines(keys, &path),
        Kind::List(keys) | Kind::Named(keys) => lines(keys, &format!("{path}.*")),
        _ => Vec::new(),
    };
    let (kind, choices) = field(&key.kind);
    KeyLine {
        name: key.name.to_owned(),
        path,
        kind,
        required: key.required,
        meaning: key.meaning.to_owned(),
        words: key.kind.words(),
        default: key.default.to_owned(),
        choices,
        units: dimension(&key.kind).map_or(String::new(), |of| of.units().to_owned()),
        example: example(&key.kind),
        keys: below,
    }
}

fn field(kind: &Kind) -> (FieldKind, Vec<String>) {
    let plain = match kind {
        Kind::Version | Kind::Number(..) | Kind::Count(..) => FieldKind::Number,
        Kind::Text => FieldKind::Text,
        Kind::Word(words) => return (FieldKind::Choice, words.iter().map(|word| (*word).to_owned()).collect()),
        Kind::Flag => FieldKind::Flag,
        Kind::Share(..) | Kind::Quantity(..) | Kind::Either(_) | Kind::Roughness(..) | Kind::Flatness(..) | Kind::LappedForm(..) => {
            FieldKind::Quantity
        }
        Kind::Span(..) | Kind::OneOrSpan(..) | Kind::Corners(..) => FieldKind::Written,
        Kind::AutoOr(inner) => return (field(inner).0, vec!["auto".to_owned()]),
        Kind::HandOr(inner) => return field(inner),
        Kind::Table(_) => FieldKind::Table,
        Kind::List(_) => FieldKind::List,
        Kind::Named(_) => FieldKind::Named,
        Kind::Later(_) | Kind::Elsewhere(..) => FieldKind::Later,
    };
    (plain, Vec::new())
}

fn dimension(kind: &Kind) -> Option<Dimension> {
    match kind {
        Kind::Quantity(of, ..) | Kind::Span(of, ..) | Kind::OneOrSpan(of, ..) => Some(*of),
        Kind::Either(kinds) => kinds.first().map(|(of, ..)| *of),
        Kind::AutoOr(inner) | Kind::HandOr(inner) => dimension(inner),
        Kind::Roughness(..) | Kind::Flatness(..) | Kind::LappedForm(..) | Kind::Corners(..) => Some(Dimension::Length),
        _ => None,
    }
}

fn example(kind: &Kind) -> String {
    match kind {
        Kind::Quantity(of, low, high) => case::keys::example(*of, low, high).to_owned(),
        Kind::Either(kinds) => kinds.first().map_or("", |(of, ..)| of.example()).to_owned(),
        Kind::Share(..) => "12 %".to_owned(),
        Kind::Roughness(..) => "Ra 0.1 um".to_owned(),
        Kind::Flatness(..) => "2 bands".to_owned(),
        Kind::LappedForm(..) => "0.3 um convex".to_owned(),
        Kind::AutoOr(inner) | Kind::HandOr(inner) => example(inner),
        _ => String::new(),
    }
}

/// A text.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadRequest {
    /// Text of the case.
    #[schema(value_type = CaseText)]
    pub text: String,
}

/// A text as a form shows it.
#[derive(Debug, Serialize, ToSchema)]
pub struct TextView {
    /// The text, after the edits where there were any.
    pub text: String,
    /// BLAKE3 hash of the text.
    pub tag: String,
    /// Every value as it is written, by path; texts without their quotes. Empty where the text is not TOML.
    pub values: BTreeMap<String, String>,
    /// Names of the duties, in the order of the file.
    pub duties: Vec<String>,
    /// Everything that is wrong, in the order of the file.
    pub errors: Vec<CaseErrorLine>,
}

/// Changes of a text.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditRequest {
    /// Text of the case.
    #[schema(value_type = CaseText)]
    pub text: String,
    /// Changes, made in their order.
    #[serde(deserialize_with = "objects")]
    pub edits: Vec<EditLine>,
}

/// One change of a text.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditLine {
    /// Path of a value such as `duty.normal.pressure`; of an entry such as `duty.normal` to take it away; or with `copy` of the list, `duty`.
    pub path: String,
    /// New value, texts without quotes; none takes the value away. With `copy` the name of the new entry.
    #[serde(default)]
    pub value: Option<String>,
    /// Name of an entry of the list that is copied as a new one.
    #[serde(default)]
    pub copy: Option<String>,
}

/// The form's view of a text
#[utoipa::path(post, path = "/api/read", tag = "text", request_body = ReadRequest, responses((status = 200, description = "Values and errors", body = TextView)))]
pub async fn read(State(app): State<App>, Body(ReadRequest { text }): Body<ReadRequest>) -> Result<Json<TextView>, Problem> {
    app.desk.run(move |_| view(text)).await.map(Json)
}

/// Change single values of a text, comments kept
#[utoipa::path(post, path = "/api/edit", tag = "text", request_body = EditRequest, responses(
    (status = 200, description = "The text as it is then", body = TextView),
    (status = 422, description = "A change does not fit the text; nothing was changed", body = Problem),
))]
pub async fn edit(State(app): State<App>, Body(request): Body<EditRequest>) -> Result<Json<TextView>, Problem> {
    app.desk.run(move |_| edited(&request)).await?.map(Json)
}

fn edited(EditRequest { text, edits }: &EditRequest) -> Result<TextView, Problem> {
    let edits = edits.iter().map(change).collect::<Result<Vec<Edit>, Problem>>()?;
    case::edit(text, &edits).map(view).map_err(|errors| Problem::case(text, &errors))
}

fn change(line: &EditLine) -> Result<Edit, Problem> {
    let path = line.path.clone();
    match (&line.value, &line.copy) {
        (Some(name), Some(from)) => Ok(Edit::Copy { list: path, from: from.clone(), name: name.clone() }),
        (Some(value), None) => Ok(Edit::Set { path, value: value.clone() }),
        (None, None) => Ok(Edit::Remove { path }),
        (None, Some(_)) => Err(Problem::impossible("edit.no-name", "the copy has no name", "Give the name of the new entry as `value`.")),
    }
}

fn view(text: String) -> TextView {
    let errors = |errors: &CaseErrors| case_errors(&text, errors);
    let values = case::as_written(&text);
    let read = case::parse(&text).and_then(|case| case.model());
    let found = match (&values, &read) {
        (_, Err(wrong)) | (Err(wrong), _) => errors(wrong),
        _ => Vec::new(),
    };
    let duties = duties(&text);
    TextView { tag: super::folder::tag_of(text.as_bytes()), values: values.unwrap_or_default(), duties, errors: found, text }
}

/// Names of the duties, as far as they can be read.
fn duties(text: &str) -> Vec<String> {
    let Ok(document) = toml_edit::Document::parse(text) else { return Vec::new() };
    let Some(entries) = document.get("duty") else { return Vec::new() };
    (0..).map_while(|index| entries.get(index)).filter_map(|duty| Some(duty.get("name")?.as_str()?.trim().to_owned())).collect()
}
