//! Notices: what a reader must know beside a number.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// How much a notice matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// For the record: a default taken, a model used.
    Note,
    /// The answer stands, the engineer must look.
    Caution,
    /// The answer must not be used as it stands.
    Serious,
}

/// One notice. It travels inside the outcome, beside the result that it touches.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Notice {
    /// Stable code, dotted: `default.friction`, `range.convection`, `clamp.roughness-factor`.
    pub code: String,
    /// How much it matters.
    pub severity: Severity,
    /// Case path or result key that it touches, e.g. `seal.secondary_seal.friction`; empty for the whole result.
    pub field: String,
    /// What happened, with the numbers.
    pub message: String,
    /// What to do about it; empty when nothing need be done.
    pub hint: String,
}

impl Notice {
    /// A note for the record.
    pub fn note(code: &str, field: &str, message: impl Into<String>) -> Self {
        Self::of(Severity::Note, code, field, message, "")
    }

    /// A caution with a hint.
    pub fn caution(code: &str, field: &str, message: impl Into<String>, hint: &str) -> Self {
        Self::of(Severity::Caution, code, field, message, hint)
    }

    /// A notice of any severity.
    pub fn of(severity: Severity, code: &str, field: &str, message: impl Into<String>, hint: &str) -> Self {
        Self { code: code.to_owned(), severity, field: field.to_owned(), message: message.into(), hint: hint.to_owned() }
    }
}
