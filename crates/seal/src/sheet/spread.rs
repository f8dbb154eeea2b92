//! What other laws than those of the case would give, beside what the inputs leave open.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::choices::{AlternativeRun, HeadlineSpread, ModelSpread, Taken, choice};
use crate::outcome::{DutyOutcome, Ranged};
use crate::rules::view::status_in_words;

use super::rounding::ranged;
use super::text::in_units;
use super::units::{Kind, UnitSet, unit};

/// One duty with every headline number over inputs and over laws.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DutySpread {
    /// Name of the duty.
    pub duty: String,
    /// Headline numbers; empty where the duty has no operating point.
    pub rows: Vec<SpreadRow>,
    /// What was solved, what was left alone and why, in words.
    pub remarks: Vec<String>,
}

/// One headline number.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SpreadRow {
    /// Key of the outcome that it shows.
    pub key: String,
    /// Label.
    pub label: String,
    /// Unit.
    pub unit: String,
    /// With the laws of the case: nominal, and low to high by the inputs.
    pub inputs: String,
    /// With the inputs of the case: lowest to highest over the laws; `same` where no law changes a shown digit.
    pub laws: String,
    /// Which alternatives give the lowest and the highest.
    pub made_by: String,
}

const ROWS: &[(&str, &str, Kind)] = &[
    ("minimum_film_m", "least film", Kind::SmallLength),
    ("mean_film_m", "mean film", Kind::SmallLength),
    ("contact_share", "contact share", Kind::Share),
    ("leakage_m3_per_s", "leakage at chamber density", Kind::VolumeLeakage),
    ("leakage_kg_per_s", "leakage by mass", Kind::MassLeakage),
    ("power_w", "power", Kind::Power),
    ("torque_n_m", "torque", Kind::Torque),
    ("face_temperature_max_k", "hottest face", Kind::Temperature),
    ("film_temperature_max_k", "hottest film", Kind::Temperature),
    ("boiling_margin_k", "film below boiling", Kind::TemperatureDifference),
];

/// The spread of a duty, where it was asked for.
pub(super) fn of_duty(duty: &DutyOutcome, units: UnitSet) -> Option<DutySpread> {
    let spread = duty.model_spread.as_ref()?;
    let rows = ROWS.iter().filter_map(|(key, label, kind)| {
        let headline = spread.headlines.iter().find(|headline| headline.key == *key)?;
        Some(row(headline, label, *kind, units))
    });
    Some(DutySpread { duty: duty.name.clone(), rows: rows.collect(), remarks: remarks(spread, units) })
}

fn row(headline: &HeadlineSpread, label: &str, kind: Kind, units: UnitSet) -> SpreadRow {
    let unit = unit(kind, units);
    let shown = |range: Ranged| {
        ranged(Ranged { low: unit.convert(range.low), nominal: unit.convert(range.nominal), high: unit.convert(range.high) })
    };
    let laws = shown(headline.laws);
    let laws = laws.split_once(" (").map(|(_, range)| range.trim_end_matches(')').to_owned());
    let made_by = if laws.is_some() { made_by(headline) } else { String::new() };
    SpreadRow {
        key: headline.key.clone(),
        label: label.to_owned(),
        unit: unit.label.to_owned(),
        inputs: shown(headline.inputs),
        laws: laws.unwrap_or_else(|| "same".to_owned()),
        made_by,
    }
}

fn made_by(headline: &HeadlineSpread) -> String {
    let end = |word: &str, taken: &Option<Taken>| taken.as_ref().map(|taken| format!("{word}: {}", as_in_the_case(taken)));
    let ends = [end("lowest", &headline.lowest_by), end("highest", &headline.highest_by)];
    ends.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

/// `shear_factor = false`, as `[switches]` of a case takes it.
fn as_in_the_case(taken: &Taken) -> String {
    let key = choice(&taken.choice).map_or(taken.choice.as_str(), |choice| choice.short_key());
    format!("{key} = {}", taken.alternative)
}

fn remarks(spread: &ModelSpread, units: UnitSet) -> Vec<String> {
    let solved = spread.runs.iter().map(|run| in_units(&of_run(run), units));
    // Choices left alone for one reason are one sentence.
    let mut left: Vec<(String, Vec<&str>)> = Vec::new();
    for not_run in &spread.not_run {
        let label = choice(&not_run.choice).map_or(not_run.choice.as_str(), |choice| choice.label);
        match left.iter_mut().find(|(reason, _)| *reason == not_run.reason) {
            Some((_, labels)) => labels.push(label),
            None => left.push((not_run.reason.clone(), vec![label])),
        }
    }
    let left = left.into_iter().map(|(reason, labels)| in_units(&format!("left as it is, {}: {reason}", labels.join(", ")), units));
    solved.chain(left).collect()
}

fn of_run(run: &AlternativeRun) -> String {
    let known = choice(&run.taken.choice);
    let words = known.and_then(|choice| choice.alternatives.iter().find(|known| known.id == run.taken.alternative));
    let label = known.map_or(run.taken.choice.as_str(), |choice| choice.label);
    let what = format!("{}: {label}, {}", as_in_the_case(&run.taken), words.map_or("", |alternative| alternative.words));
    match (run.values.is_empty(), run.searched) {
        (true, _) => format!("{what}: {}: {}", status_in_words(run.status), run.reason),
        (false, true) => format!("{what} (the operating point could not be followed there and was found by a search of the whole curve)"),
        (false, false) => what,
    }
}
