//! What is answered when something cannot be answered: one body for all of it, with the fix.

use axum::Json;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use halfmicron::case::{CaseError, CaseErrors, Cause};
use serde::Serialize;
use utoipa::ToSchema;

use super::cases::CaseFile;

/// Seconds after which a full queue is worth another try.
const RETRY_AFTER_S: &str = "1";

/// Why a request was refused.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Problem {
    #[serde(skip)]
    status: StatusCode,
    /// What is wrong, in words.
    pub error: Box<ProblemWords>,
    /// Errors of the case, where the case is what is wrong.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub case_errors: Option<Vec<CaseErrorLine>>,
    /// The file as it stands now, where it is not the one that was to be replaced.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub present: Option<Box<CaseFile>>,
}

/// The words of a refusal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ProblemWords {
    /// Stable code, e.g. `file.changed`.
    pub code: String,
    /// What is wrong.
    pub message: String,
    /// What to do about it.
    pub hint: String,
}

/// One error of a case, as a form or an editor shows it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CaseErrorLine {
    /// Stable code of the cause, e.g. `case.out-of-range`.
    pub code: String,
    /// Path of the field that it belongs to, e.g. `duty.normal.pressure`; empty for the whole file.
    pub path: String,
    /// Line, counted from 1; none for an error beside the file.
    pub line: Option<usize>,
    /// Column in characters, counted from 1.
    pub column: Option<usize>,
    /// Characters to underline.
    pub length: Option<usize>,
    /// Where to begin underlining, as an offset into the text in UTF-16 units, which is how a browser counts.
    pub from: Option<usize>,
    /// Where to stop underlining, as `from`.
    pub to: Option<usize>,
    /// Value as written, where a value is what is wrong.
    pub value: Option<String>,
    /// What is wrong, with field and numbers.
    pub message: String,
    /// Range or choices allowed, where there is one.
    pub range: Option<String>,
    /// What to write instead.
    pub hint: String,
}

impl Problem {
    /// A refusal.
    pub fn new(status: StatusCode, code: &str, message: impl Into<String>, hint: impl Into<String>) -> Self {
        let error = Box::new(ProblemWords { code: code.to_owned(), message: message.into(), hint: hint.into() });
        Self { status, error, case_errors: None, present: None }
    }

    /// The request itself is wrong.
    pub fn bad_request(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::new(StatusCode::BAD_REQUEST, "request.wrong", message, hint)
    }

    /// The request is well formed and asks for what cannot be.
    pub fn impossible(code: &str, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, code, message, hint)
    }

    /// There is no such thing.
    pub fn not_found(code: &str, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::new(StatusCode::NOT_FOUND, code, message, hint)
    }

    /// A fault of this program or of the machine.
    pub fn internal(message: impl Into<String>) -> Self {
        let hint = "Try again; if it comes again, keep the case file and report it.";
        Self::new(StatusCode::INTERNAL_SERVER_ERROR, "program.fault", message, hint)
    }

    /// The case has errors.
    pub fn case(text: &str, errors: &CaseErrors) -> Self {
        let lines = case_errors(text, errors);
        let message = match &lines[..] {
            [only] => only.message.clone(),
            several => format!("{} errors in the case", several.len()),
        };
        let problem = Self::impossible("case.errors", message, "Correct the fields named in case_errors.");
        Self { case_errors: Some(lines), ..problem }
    }

    /// The same with the file as it stands now.
    pub fn with_present(self, present: CaseFile) -> Self {
        Self { present: Some(Box::new(present)), ..self }
    }

    /// Status of the answer.
    #[cfg(test)]
    pub fn status(&self) -> StatusCode {
        self.status
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let busy = self.status == StatusCode::TOO_MANY_REQUESTS;
        let mut response = (self.status, Json(&self)).into_response();
        if busy {
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static(RETRY_AFTER_S));
        }
        response
    }
}

/// The errors of a text, placed in it.
pub fn case_errors(text: &str, errors: &CaseErrors) -> Vec<CaseErrorLine> {
    errors.errors().iter().map(|error| line_of(text, error)).collect()
}

fn line_of(text: &str, error: &CaseError) -> CaseErrorLine {
    let shown = error.diagnostic();
    let place = shown.span.as_ref().map(|span| Place::of(text, span.start, span.end));
    CaseErrorLine {
        code: shown.code.to_owned(),
        path: field_of(error),
        line: place.as_ref().map(|place| place.line),
        column: place.as_ref().map(|place| place.column),
        length: place.as_ref().map(|place| place.length),
        from: place.as_ref().map(|place| place.from),
        to: place.as_ref().map(|place| place.to),
        value: value_of(&error.cause),
        message: shown.message,
        range: range_of(&error.cause),
        hint: shown.help,
    }
}

/// The field that an error belongs to: a missing key belongs to the place where it would stand.
fn field_of(error: &CaseError) -> String {
    match &error.cause {
        Cause::Setting { path, .. } => path.clone(),
        Cause::MissingKey { key, .. } | Cause::UnknownKey { key, .. } if error.path.is_empty() => key.clone(),
        Cause::MissingKey { key, .. } | Cause::UnknownKey { key, .. } => format!("{}.{key}", error.path),
        _ => error.path.clone(),
    }
}

fn value_of(cause: &Cause) -> Option<String> {
    match cause {
        Cause::OutOfRange { value, .. } | Cause::NotAChoice { value, .. } => Some(value.clone()),
        _ => None,
    }
}

fn range_of(cause: &Cause) -> Option<String> {
    match cause {
        Cause::OutOfRange { low, high, .. } => Some(format!("{low} to {high}")),
        Cause::NotAChoice { choices, .. } => Some(choices.clone()),
        _ => None,
    }
}

/// A place of a text as readers and browsers count.
struct Place {
    line: usize,
    column: usize,
    length: usize,
    from: usize,
    to: usize,
}

impl Place {
    fn of(text: &str, start: usize, end: usize) -> Self {
        let start = text.floor_char_boundary(start);
        let end = text.floor_char_boundary(end).max(start);
        let (before, inside) = (&text[..start], &text[start..end]);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        let from = before.encode_utf16().count();
        Self {
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            length: inside.chars().count(),
            from,
            to: from + inside.encode_utf16().count(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_counted_as_readers_and_browsers_do() {
        let place = Place::of("a\n\u{1f600}\u{e4} = 1", 2 + 4 + 2 + 3, 2 + 4 + 2 + 4);
        assert_eq!([place.line, place.column, place.length, place.from, place.to], [2, 6, 1, 8, 9]);
        let beyond = Place::of("ab", 7, 9);
        assert_eq!([beyond.line, beyond.column, beyond.length, beyond.to], [1, 3, 0, 2]);
    }

    #[test]
    fn a_missing_key_belongs_to_its_own_field() {
        let text = "halfmicron = 1\n[[duty]]\nname = \"normal\"\nspeed = \"9999999 rpm\"\n";
        let errors = halfmicron::case::parse(text).expect_err("much is missing");
        let lines = case_errors(text, &errors);
        assert!(lines.iter().any(|line| line.path == "duty.normal.pressure" && line.code == "case.missing-key"), "{lines:?}");
        let speed = lines.iter().find(|line| line.path == "duty.normal.speed").expect("the speed is out of range");
        assert_eq!((speed.line, speed.range.as_deref()), (Some(4), Some("-120000 rpm to 120000 rpm")));
        assert_eq!(speed.value.as_deref(), Some("9999999 rpm"));
    }
}
