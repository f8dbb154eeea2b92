//! Why a number is what it is: its equation, the numbers that entered, the models behind it, and the rules that judge it.
//!
//! Everything is said in the reader's units. Nothing is computed here that the outcome does not hold, but for sums of two of its numbers.

mod conditions;
mod facts;
mod film;
mod hand;
mod headers;
mod heat;
mod leakage;
mod load;
mod margins;
mod models;
mod verdicts;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::model::Model;
use crate::outcome::{DutyOutcome, Outcome, Verdict, Word};
use crate::sheet::UnitSet;
use crate::sheet::rounding::MISSING;
use facts::Facts;

/// Why a result is what it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Why {
    /// Key of the row of the sheet, or id of the rule.
    pub key: String,
    /// Label of the row, or group of the rule.
    pub label: String,
    /// Duty.
    pub duty: String,
    /// The result as the sheet shows it, with its range.
    pub value: String,
    /// Unit of the result; empty where there is none.
    pub unit: String,
    /// The equation in symbols; empty where words alone say it.
    pub equation: String,
    /// What the equation says, in words.
    pub equation_words: String,
    /// What the outcome adds in words: a reason, a remark; empty where there is nothing to add.
    pub remark: String,
    /// Numbers that entered, in the order of the equation.
    pub inputs: Vec<WhyInput>,
    /// Models behind the result.
    pub models: Vec<WhyModel>,
    /// Rules that judge the result, with their verdicts.
    pub rules: Vec<WhyRule>,
}

/// A number that entered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WhyInput {
    /// Symbol in the equation; empty where the equation does not name it.
    pub symbol: String,
    /// Path in the case, where it is stated or could be.
    pub path: Option<String>,
    /// Key of the row that shows it, where it is a result of its own.
    pub result: Option<String>,
    /// What it is.
    pub label: String,
    /// Value in the reader's units.
    pub value: String,
    /// Unit; empty where there is none.
    pub unit: String,
    /// Where it comes from.
    pub from: Origin,
    /// More on where it comes from: the reason of a default, the source of a property; empty where there is no more.
    pub note: String,
}

/// Where a number comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Origin {
    /// The case states it.
    Case,
    /// The case does not state it and a default was taken.
    Default,
    /// The library of fluids and materials.
    Library,
    /// It follows from others.
    Solved,
    /// A constant of the calculation.
    Constant,
}

/// A model with the five headings of its file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WhyModel {
    /// Id, as in the models of the outcome; the name of its file where it has none.
    pub id: String,
    /// Title.
    pub title: String,
    /// What it computes.
    pub what: String,
    /// Equation.
    pub equation: String,
    /// Where it holds.
    pub valid_when: String,
    /// Where it comes from.
    pub source: String,
    /// What checks it, in words.
    pub checks: String,
    /// Ids of the published checks that prove it.
    pub checked_by: Vec<String>,
    /// Whether any does.
    pub proven: bool,
    /// Whether it was used inside its range in this result; none where no single answer can be given.
    pub within_range: Option<bool>,
    /// The same in words, with the numbers.
    pub range: String,
}

/// A rule that judges a result, with its verdict at this duty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WhyRule {
    /// Id.
    pub id: String,
    /// What it asks.
    pub statement: String,
    /// The limit in words.
    pub limit: String,
    /// Where the limit comes from, in words.
    pub source: String,
    /// Word of the verdict.
    pub word: Word,
    /// Reason in the reader's units.
    pub reason: String,
    /// What to do about it; empty where the rule holds.
    pub hint: String,
}

/// What is known of a row beyond its number.
struct Explanation {
    /// Keys of the sheet's rows.
    keys: &'static [&'static str],
    /// Label where this duty's own sheet does not show the row.
    label: &'static str,
    /// The equation in symbols.
    equation: fn(&Facts) -> &'static str,
    /// What it says.
    words: fn(&Facts) -> &'static str,
    /// Numbers that entered.
    inputs: fn(&Facts, &str) -> Vec<WhyInput>,
    /// Beginnings of the ids of models behind it; those used at the duty are shown.
    models: &'static [&'static str],
    /// Rules that judge it.
    rules: &'static [&'static str],
}

/// Every explanation, in the order of the sheet.
fn explanations() -> impl Iterator<Item = &'static Explanation> {
    [conditions::ALL, film::ALL, leakage::ALL, heat::ALL, load::ALL, margins::ALL, hand::ALL].into_iter().flatten()
}

fn explanation(key: &str) -> Option<&'static Explanation> {
    explanations().find(|explanation| explanation.keys.contains(&key))
}

/// Why a row of the sheet, or the verdict of a rule at this duty, is what it is; none for a key that names neither, or a duty that the
/// model does not have.
pub fn why(model: &Model, outcome: &DutyOutcome, key: &str, units: UnitSet) -> Option<Why> {
    answer(&Facts::new(model, outcome, &[], units)?, key)
}

/// The same of a duty of a whole outcome, whose rules over all duties are told too.
pub fn why_in(model: &Model, outcome: &Outcome, duty: &str, key: &str, units: UnitSet) -> Option<Why> {
    let of_duty = outcome.duties.iter().find(|known| known.name == duty)?;
    answer(&Facts::new(model, of_duty, &outcome.verdicts, units)?, key)
}

/// Keys of which the reason can be asked at a duty: the rows of its sheet, then the rules that gave a verdict, each once.
pub fn keys(model: &Model, outcome: &DutyOutcome, case_verdicts: &[Verdict]) -> Vec<String> {
    let Some(facts) = Facts::new(model, outcome, case_verdicts, UnitSet::Si) else { return Vec::new() };
    let rows = facts.rows().into_iter().map(|row| row.key);
    let rules = facts.verdicts().map(|verdict| verdict.rule.clone());
    let mut keys: Vec<String> = Vec::new();
    for key in rows.chain(rules) {
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    keys
}

fn answer(facts: &Facts, key: &str) -> Option<Why> {
    let Some(explanation) = explanation(key) else { return verdicts::why(facts, key) };
    let row = facts.rows().into_iter().find(|row| row.key == key);
    let (label, value, unit) = match row {
        Some(row) => (row.label.trim().to_owned(), row.cells.into_iter().next().map_or(String::new(), |cell| cell.text), row.unit),
        None => {
            let (label, value) = margins::unseen(facts.outcome, key).unwrap_or((explanation.label, MISSING));
            (label.to_owned(), value.to_owned(), String::new())
        }
    };
    Some(Why {
        key: key.to_owned(),
        label,
        duty: facts.outcome.name.clone(),
        value,
        unit,
        equation: (explanation.equation)(facts).to_owned(),
        equation_words: (explanation.words)(facts).to_owned(),
        remark: facts.remark(key),
        inputs: (explanation.inputs)(facts, key),
        models: models::behind(facts, explanation.models),
        rules: verdicts::rules(facts, explanation.rules),
    })
}

#[cfg(test)]
mod tests;
