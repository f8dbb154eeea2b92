//! Influences in the reader's units, ranked by one result.

use serde::{Deserialize, Serialize};

use crate::study::{Change, Influence, Influences, Input, Nominal, Source, Step, Told};

use super::UnitSet;
use super::rounding::{MISSING, significant};
use super::sweep::kind_of;
use super::text::{in_units, of_fitting_size};
use super::units::{Kind, unit};

/// What a reader sees of the influences on a duty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct InfluenceSheet {
    /// Title of the case, with the duty.
    pub title: String,
    /// Units in which it is written.
    pub units: UnitSet,
    /// Key of the result by which the rows are ranked.
    pub ranked_by: String,
    /// Results, one a column.
    pub columns: Vec<InfluenceColumn>,
    /// Inputs, what moves the result most first; first of all those whose film is lost to a side.
    pub rows: Vec<InfluenceLine>,
    /// How to read it, and what was left out.
    pub remarks: Vec<String>,
}

/// A result.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct InfluenceColumn {
    /// Key of the outcome.
    pub key: String,
    /// Label.
    pub label: String,
    /// Unit of its changes.
    pub unit: String,
    /// The result as it is, with its unit.
    pub nominal: String,
}

/// An input.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct InfluenceLine {
    /// Path, as `--set` takes it where the case can state it.
    pub path: String,
    /// What it is.
    pub label: String,
    /// Value with its unit.
    pub value: String,
    /// Step in words.
    pub step: String,
    /// Where the value comes from.
    pub from: Source,
    /// One cell a result.
    pub cells: Vec<InfluenceCell>,
    /// What must be said of it: a side that has no film, results that are bent; empty where nothing must.
    pub remark: String,
}

/// A change.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct InfluenceCell {
    /// With its sign, in the unit of the column; in words where it is too small to tell or unknown.
    pub text: String,
    /// Size over the greatest of the column, 0 to 1; none where there is no number.
    pub weight: Option<f64>,
    /// Whether it stands for a bent result.
    pub bent: bool,
}

const LABELS: &[(&str, &str, Kind)] = &[
    ("minimum_film_m", "least film", Kind::SmallLength),
    ("leakage_m3_per_s", "leakage", Kind::VolumeLeakage),
    ("power_w", "power", Kind::Power),
    ("face_temperature_max_k", "hottest face", Kind::Temperature),
    ("boiling_margin_k", "below boiling", Kind::TemperatureDifference),
    ("mean_film_m", "mean film", Kind::SmallLength),
    ("leakage_kg_per_s", "leakage by mass", Kind::MassLeakage),
    ("torque_n_m", "torque", Kind::Torque),
    ("contact_share", "contact share", Kind::Share),
    ("coning_m.total", "coning", Kind::SmallLength),
    ("film_temperature_max_k", "hottest film", Kind::Temperature),
    ("pressure_profile_factor", "K", Kind::Number),
];

/// Label and kind of a result.
pub fn label_of(key: &str) -> Option<(&'static str, Kind)> {
    LABELS.iter().find(|(known, ..)| *known == key).map(|(_, label, kind)| (*label, *kind))
}

/// Influences as a reader sees them, ranked by a result; by the first where that is none of them.
pub fn influence_sheet(found: &Influences, ranked_by: &str, units: UnitSet) -> InfluenceSheet {
    let place = found.results.iter().position(|result| result.key == ranked_by).unwrap_or(0);
    let greatest: Vec<f64> = (0..found.results.len()).map(|column| greatest(found, column)).collect();
    let mut rows: Vec<&Influence> = found.rows.iter().collect();
    rows.sort_by(|a, b| rank(b, place).total_cmp(&rank(a, place)));
    InfluenceSheet {
        title: format!("{}: {}, what moves the result", found.title, found.duty),
        units,
        ranked_by: found.results.get(place).map_or(String::new(), |result| result.key.clone()),
        columns: found.results.iter().map(|result| column(result, units)).collect(),
        rows: rows.into_iter().map(|row| line(row, found, &greatest, units)).collect(),
        remarks: remarks(found, units),
    }
}

/// What ranks a row: a side without a film before every number, then the size of the change, then what is still.
fn rank(row: &Influence, column: usize) -> f64 {
    match row.changes.get(column) {
        Some(_) if !row.reason.is_empty() => f64::INFINITY,
        Some(Change { change: Some(change), still: false, .. }) => change.abs(),
        Some(Change { change: Some(_), .. }) => 0.0,
        _ => -1.0,
    }
}

fn greatest(found: &Influences, column: usize) -> f64 {
    found.rows.iter().filter_map(|row| row.changes.get(column)?.change).map(f64::abs).fold(0.0, f64::max)
}

fn column(result: &Nominal, units: UnitSet) -> InfluenceColumn {
    let (label, kind) = label_of(&result.key).unwrap_or(("result", Kind::Number));
    let own = unit(kind, units);
    let nominal = result
        .value
        .map_or(MISSING.to_owned(), |value| format!("{} {}", significant(own.convert(value), 4), own.label).trim_end().to_owned());
    InfluenceColumn {
        key: result.key.clone(),
        label: label.to_owned(),
        unit: unit(of_change(result.told, kind), units).label.to_owned(),
        nominal,
    }
}

/// Kind of the change of a result.
fn of_change(told: Told, kind: Kind) -> Kind {
    match (told, kind) {
        (Told::Relative, _) => Kind::Share,
        (Told::Absolute, Kind::Temperature) => Kind::TemperatureDifference,
        (Told::Absolute, kind) => kind,
    }
}

fn line(row: &Influence, found: &Influences, greatest: &[f64], units: UnitSet) -> InfluenceLine {
    let cells =
        row.changes.iter().zip(&found.results).zip(greatest).map(|((change, result), greatest)| cell(change, result, *greatest, units));
    let cells: Vec<InfluenceCell> = cells.collect();
    let bent: Vec<String> = found.results.iter().zip(&row.changes).filter_map(|(result, change)| bent(result, change, units)).collect();
    let bent = if bent.is_empty() { String::new() } else { format!("bent in {}", bent.join(", ")) };
    let reason = in_units(&row.reason, units);
    InfluenceLine {
        path: row.input.path.clone(),
        label: row.input.label.clone(),
        value: value(&row.input, units),
        step: step(&row.input, units),
        from: row.input.source,
        cells,
        remark: [reason, bent].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("; "),
    }
}

/// A result that is bent, with its change to each side.
fn bent(result: &Nominal, change: &Change, units: UnitSet) -> Option<String> {
    let (label, kind) = label_of(&result.key)?;
    let (up, down) = change.upward.zip(change.downward).filter(|_| change.bent)?;
    let own = unit(of_change(result.told, kind), units);
    let [up, down] = [up, down].map(|side| signed(&significant(own.convert(side), 2)));
    Some(format!("{label} (up {up}, down {down} {})", own.label).replace(" )", ")"))
}

fn cell(change: &Change, result: &Nominal, greatest: f64, units: UnitSet) -> InfluenceCell {
    let (_, kind) = label_of(&result.key).unwrap_or(("result", Kind::Number));
    let own = unit(of_change(result.told, kind), units);
    let text = match change.change {
        None => MISSING.to_owned(),
        Some(_) if change.still => format!("below {}", significant(own.convert(change.floor), 1)),
        Some(value) => signed(&significant(own.convert(value), 2)),
    };
    let weight = change.change.filter(|_| greatest > 0.0).map(|value| if change.still { 0.0 } else { value.abs() / greatest });
    InfluenceCell { text, weight, bent: change.bent }
}

fn signed(number: &str) -> String {
    if number.starts_with('-') || number == "0" { number.to_owned() } else { format!("+{number}") }
}

fn value(input: &Input, units: UnitSet) -> String {
    if input.source == Source::Correlation {
        return "by correlation".to_owned();
    }
    let own = unit(of_fitting_size(input.value, kind_of(&input.path)), units);
    format!("{} {}", trimmed(&significant(own.convert(input.value), 5)), own.label).trim_end().to_owned()
}

fn trimmed(number: &str) -> String {
    if number.contains('.') && !number.contains('e') {
        number.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        number.to_owned()
    }
}

fn step(input: &Input, units: UnitSet) -> String {
    match input.step {
        Step::Share(share) => format!("+{} %", significant(100.0 * share, 1)),
        Step::Kelvin(kelvin) => {
            let own = unit(Kind::TemperatureDifference, units);
            format!("+{} {}", significant(own.convert(kelvin), 2).trim_end_matches(".0"), own.label)
        }
        Step::Metre(metre) => {
            let own = unit(Kind::SmallLength, units);
            format!("+{} {}", significant(own.convert(metre), 1), own.label)
        }
    }
}

fn remarks(found: &Influences, units: UnitSet) -> Vec<String> {
    let kelvin =
        step(&Input { path: String::new(), label: String::new(), value: 0.0, step: Step::Kelvin(1.0), source: Source::Case }, units);
    let mut said = vec![
        format!(
            "Each input is moved alone, up and down, everything else held; shown is half the difference: the change for the step upward. Numbers move \
             by 1 %, pressures by 1 % of absolute, temperatures by {}.",
            kelvin.trim_start_matches('+')
        ),
        "The nominal film is followed; low and high of the results are not moved.".to_owned(),
    ];
    if found.rows.iter().any(|row| row.changes.iter().any(|change| change.bent)) {
        said.push(
            "~ marks a result that is bent there: its changes up and down differ by more than a fifth; both are told above and the number is half their difference."
                .to_owned(),
        );
    }
    // Inputs left alone for one reason are one sentence.
    let mut left: Vec<(&str, Vec<&str>)> = Vec::new();
    for out in &found.left_out {
        match left.iter_mut().find(|(reason, _)| *reason == out.reason) {
            Some((_, labels)) => labels.push(&out.label),
            None => left.push((&out.reason, vec![&out.label])),
        }
    }
    said.extend(left.into_iter().map(|(reason, labels)| format!("Left out, {}: {reason}.", labels.join(", "))));
    said
}
