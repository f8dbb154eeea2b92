//! What can be wrong with a case file, each with its place, the allowed range and the fix.

use std::fmt;
use std::ops::Range;

use crate::units::UnitCause;

/// Errors found in one file, in the order in which they stand there.
#[derive(Debug, Clone, PartialEq)]
pub struct CaseErrors {
    errors: Vec<CaseError>,
}

/// One error.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{}{cause}", prefix(path))]
pub struct CaseError {
    /// Byte range in the file; none for an error in a setting given beside the file.
    pub span: Option<Range<usize>>,
    /// Key path such as `duty.normal.pressure`; empty for the whole file.
    pub path: String,
    /// What is wrong.
    pub cause: Cause,
    /// What to write instead.
    pub help: String,
}

impl CaseError {
    /// Table and key that a misspelt key was meant to be: that key is not missing as well.
    fn meant(&self) -> Option<(String, String)> {
        match &self.cause {
            Cause::UnknownKey { nearest: Some(nearest), .. } => Some((self.path.clone(), nearest.clone())),
            _ => None,
        }
    }
}

fn prefix(path: &str) -> String {
    if path.is_empty() { String::new() } else { format!("`{path}`: ") }
}

/// Causes, each one that the author of the file can act on.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Cause {
    /// Not a text file.
    #[error("the file is not text in UTF-8: byte {at} cannot be read")]
    NotText {
        /// Offset of the first bad byte.
        at: usize,
    },
    /// Larger than any case.
    #[error("the file has {bytes} bytes; a case file has at most {limit}")]
    TooLarge {
        /// Size.
        bytes: usize,
        /// Allowed size.
        limit: usize,
    },
    /// Nothing in it.
    #[error("the file is empty")]
    Empty,
    /// Not TOML.
    #[error("not readable as TOML: {0}")]
    Syntax(String),
    /// A key that does not exist here.
    #[error("unknown key `{key}`")]
    UnknownKey {
        /// Key as written.
        key: String,
        /// Nearest key that exists here.
        nearest: Option<String>,
    },
    /// A key that must be there.
    #[error("required key `{key}` is missing: {meaning}")]
    MissingKey {
        /// Key.
        key: String,
        /// What it holds.
        meaning: String,
    },
    /// Another type of value belongs here.
    #[error("{found} stands where {expected} belongs")]
    WrongType {
        /// Type found.
        found: String,
        /// What belongs here.
        expected: String,
    },
    /// A quantity that cannot be read.
    #[error(transparent)]
    Quantity(#[from] UnitCause),
    /// A value outside the range that the key allows.
    #[error("{value} is outside the allowed range {low} to {high}")]
    OutOfRange {
        /// Value as written.
        value: String,
        /// Least allowed.
        low: String,
        /// Greatest allowed.
        high: String,
    },
    /// A word that is not one of the choices.
    #[error("`{value}` is not one of the choices: {choices}")]
    NotAChoice {
        /// Word as written.
        value: String,
        /// Choices, joined by commas.
        choices: String,
    },
    /// Two values that contradict each other or are given twice.
    #[error("{0}")]
    Contradiction(String),
    /// Geometry that cannot be.
    #[error("{0}")]
    Geometry(String),
    /// A fluid or material that is not known, or used outside its range.
    #[error("{0}")]
    Property(String),
    /// A key that would change the answer but cannot be computed yet.
    #[error("{0}")]
    NotComputed(String),
    /// A setting (`path=value`) that does not fit the file.
    #[error("cannot set `{path}`: {reason}")]
    Setting {
        /// Path as given.
        path: String,
        /// Why.
        reason: String,
    },
}

impl Cause {
    /// Stable word for the kind of cause.
    pub fn code(&self) -> &'static str {
        match self {
            Self::NotText { .. } => "case.not-text",
            Self::TooLarge { .. } => "case.too-large",
            Self::Empty => "case.empty",
            Self::Syntax(_) => "case.syntax",
            Self::UnknownKey { .. } => "case.unknown-key",
            Self::MissingKey { .. } => "case.missing-key",
            Self::WrongType { .. } => "case.wrong-type",
            Self::Quantity(_) => "case.quantity",
            Self::OutOfRange { .. } => "case.out-of-range",
            Self::NotAChoice { .. } => "case.not-a-choice",
            Self::Contradiction(_) => "case.contradiction",
            Self::Geometry(_) => "case.geometry",
            Self::Property(_) => "case.property",
            Self::NotComputed(_) => "case.not-computed",
            Self::Setting { .. } => "case.setting",
        }
    }

    fn label(&self) -> &'static str {
        match self {
            Self::UnknownKey { .. } => "not known here",
            Self::MissingKey { .. } => "missing in this table",
            Self::WrongType { .. } => "wrong type of value",
            Self::Quantity(_) => "cannot be read",
            Self::OutOfRange { .. } => "outside the allowed range",
            Self::NotAChoice { .. } => "not a choice",
            Self::NotComputed(_) => "not computed yet",
            _ => "here",
        }
    }
}

/// One error as a terminal or page draws it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// Stable code of the cause.
    pub code: &'static str,
    /// Byte range to underline; none for an error beside the file.
    pub span: Option<Range<usize>>,
    /// Key path; empty for the whole file.
    pub path: String,
    /// What is wrong, with field and numbers.
    pub message: String,
    /// Short words under the underlined place.
    pub label: &'static str,
    /// What to write instead.
    pub help: String,
}

impl CaseError {
    pub(super) fn at(span: Range<usize>, path: impl Into<String>, cause: Cause, help: impl Into<String>) -> Self {
        Self { span: Some(span), path: path.into(), cause, help: help.into() }
    }

    pub(super) fn setting(path: &str, reason: impl Into<String>, help: impl Into<String>) -> Self {
        Self { span: None, path: String::new(), cause: Cause::Setting { path: path.to_owned(), reason: reason.into() }, help: help.into() }
    }

    /// The same, ready to be drawn.
    pub fn diagnostic(&self) -> Diagnostic {
        Diagnostic {
            code: self.cause.code(),
            span: self.span.clone(),
            path: self.path.clone(),
            message: self.to_string(),
            label: self.cause.label(),
            help: self.help.clone(),
        }
    }
}

impl CaseErrors {
    /// Sort by place and drop repetitions. Callers pass at least one error.
    pub(super) fn new(mut errors: Vec<CaseError>) -> Self {
        errors.sort_by_key(|error| error.span.as_ref().map_or((usize::MAX, 0), |span| (span.start, span.end)));
        errors.dedup();
        let misspelt: Vec<(String, String)> = errors.iter().filter_map(CaseError::meant).collect();
        errors.retain(|error| match &error.cause {
            Cause::MissingKey { key, .. } => !misspelt.iter().any(|(path, meant)| *path == error.path && meant == key),
            _ => true,
        });
        Self { errors }
    }

    /// The errors, in file order.
    pub fn errors(&self) -> &[CaseError] {
        &self.errors
    }

    /// The errors, ready to be drawn.
    pub fn diagnostics(&self) -> Vec<Diagnostic> {
        self.errors.iter().map(CaseError::diagnostic).collect()
    }

    /// Plain text with line and column, the line itself underlined, and the fix: for pipes and logs.
    pub fn plain_text(&self, file_name: &str, text: &str) -> String {
        let mut out = String::new();
        for diagnostic in self.diagnostics() {
            out.push_str(&format!("error[{}]: {}\n", diagnostic.code, diagnostic.message));
            if let Some(span) = &diagnostic.span {
                underline(&mut out, file_name, text, span, diagnostic.label);
            }
            if !diagnostic.help.is_empty() {
                out.push_str(&format!("  fix: {}\n", diagnostic.help));
            }
            out.push('\n');
        }
        out
    }
}

fn underline(out: &mut String, file_name: &str, text: &str, span: &Range<usize>, label: &str) {
    let start = floor_boundary(text, span.start);
    let line_start = text[..start].rfind('\n').map_or(0, |at| at + 1);
    let line_end = text[start..].find('\n').map_or(text.len(), |at| start + at);
    let line_number = text[..start].matches('\n').count() + 1;
    let column = text[line_start..start].chars().count() + 1;
    out.push_str(&format!("  at {file_name}:{line_number}:{column}\n"));
    let line = text[line_start..line_end].trim_end_matches('\r');
    if line.chars().count() > 400 || line.contains(|c: char| c.is_control() && c != '\t') {
        return;
    }
    let end = floor_boundary(text, span.end).clamp(start, line_start + line.len());
    let marks = text[start..end.max(start)].chars().count().max(1);
    let indent: String = text[line_start..start].chars().map(|c| if c == '\t' { '\t' } else { ' ' }).collect();
    out.push_str(&format!("  | {line}\n  | {indent}{} {label}\n", "^".repeat(marks)));
}

fn floor_boundary(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

impl fmt::Display for CaseErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, error) in self.errors.iter().enumerate() {
            let end = if index + 1 < self.errors.len() { "\n" } else { "" };
            write!(f, "{error} ({}){end}", error.help)?;
        }
        Ok(())
    }
}

impl std::error::Error for CaseErrors {}
