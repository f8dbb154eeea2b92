//! The models that a result may use: what each is, where it comes from and which checks prove it.
//!
//! A model without a check is `unproven`; the result and the report say so.

/// One physical model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ModelEntry {
    /// Stable id as the outcome carries it.
    pub id: &'static str,
    /// Name in words.
    pub title: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// Ids of the published checks that prove it; arithmetic checks never count.
    pub checks: &'static [&'static str],
}

/// Every model, by id.
pub const MODELS: &[ModelEntry] = &[];

/// The model of that id.
pub fn model(id: &str) -> Option<&'static ModelEntry> {
    MODELS.iter().find(|model| model.id == id)
}

/// Proof state of a model in words.
pub fn proof_state(id: &str) -> String {
    match model(id) {
        Some(model) if !model.checks.is_empty() => format!("checked by {}", model.checks.join(", ")),
        _ => "unproven".to_owned(),
    }
}
