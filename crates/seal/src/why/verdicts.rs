//! Rules that judge a result, and why a verdict is what it is.

use super::facts::Facts;
use super::{Explanation, Origin, Why, WhyInput, WhyRule, explanations, models};
use crate::outcome::{Verdict, Word};
use crate::rules::{Source, rule};
use crate::sheet::{Row, word};

/// Verdicts of some rules at this duty, the worst first.
pub(super) fn rules(facts: &Facts, ids: &[&str]) -> Vec<WhyRule> {
    let mut told: Vec<WhyRule> =
        facts.verdicts().filter(|verdict| ids.contains(&verdict.rule.as_str())).filter_map(|verdict| told(facts, verdict)).collect();
    told.sort_by_key(|rule| std::cmp::Reverse(crate::rules::weight(rule.word)));
    told
}

fn told(facts: &Facts, verdict: &Verdict) -> Option<WhyRule> {
    let rule = rule(&verdict.rule)?;
    Some(WhyRule {
        id: rule.id.to_owned(),
        statement: rule.statement.to_owned(),
        limit: rule.limit.to_owned(),
        source: Source::meaning(&verdict.source).to_owned(),
        word: verdict.word,
        reason: facts.written(&verdict.reason),
        hint: if verdict.word == Word::Holds { String::new() } else { verdict.hint.clone() },
    })
}

/// Why a rule gave its verdict: what it asks, the results that it looks at, and its limit.
pub(super) fn why(facts: &Facts, id: &str) -> Option<Why> {
    let verdict = facts.verdicts().find(|verdict| verdict.rule == id)?;
    let rule = rule(id)?;
    let judged: Vec<&Explanation> = explanations().filter(|explanation| explanation.rules.contains(&id)).collect();
    let rows = facts.rows();
    let of_row = |key: &&str| rows.iter().find(|row| row.key == **key).map(|row| from_row(facts, row));
    let mut inputs: Vec<WhyInput> = judged.iter().flat_map(|explanation| explanation.keys.iter().filter_map(of_row)).collect();
    inputs.push(facts.words("limit", rule.limit, Origin::Constant, Source::meaning(&verdict.source)));
    let behind: Vec<&str> = judged.iter().flat_map(|explanation| explanation.models.iter().copied()).collect();
    Some(Why {
        key: id.to_owned(),
        label: rule.group.to_owned(),
        duty: facts.outcome.name.clone(),
        value: word(verdict.word).to_owned(),
        unit: String::new(),
        equation: String::new(),
        equation_words: rule.statement.to_owned(),
        remark: facts.written(&verdict.reason),
        inputs,
        models: models::behind(facts, &behind),
        rules: told(facts, verdict).into_iter().collect(),
    })
}

/// A result as the sheet shows it.
fn from_row(facts: &Facts, row: &Row) -> WhyInput {
    let value = row.cells.first().map_or_else(String::new, |cell| cell.text.clone());
    let input = facts.words(row.label.trim(), &value, Origin::Solved, "");
    WhyInput { result: Some(row.key.clone()), unit: row.unit.clone(), ..input }
}
