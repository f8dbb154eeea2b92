//! Influences in the reader's units, ranked by one result.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::study::{Change, Influence, Influences, Input, Nominal, Source, Step, Told};

use super::UnitSet;
use super::rounding::{MISSING, significant};
use super::sweep::kind_of;
use super::text::{in_units, of_fitting_size};
use super::units::{Kind, unit};

/// What a reader sees of the influences on a duty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
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
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
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
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
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
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::{Provenance, Work};
    use crate::study::LeftOut;

    fn change(value: f64) -> Change {
        Change { change: Some(value), upward: Some(value), downward: Some(-value), bent: false, still: value.abs() < 1e-4, floor: 1e-4 }
    }

    fn row(path: &str, value: f64, step: Step, changes: [Change; 2], reason: &str) -> Influence {
        let input = Input { path: path.to_owned(), label: path.to_owned(), value, step, source: Source::Case };
        Influence { input, changes: changes.to_vec(), reason: reason.to_owned() }
    }

    fn found() -> Influences {
        let lost = Change { change: None, upward: None, downward: Some(-0.2), bent: false, still: false, floor: 1e-4 };
        let bent = Change { change: Some(0.3), upward: Some(0.1), downward: Some(-0.5), bent: true, still: false, floor: 1e-4 };
        let share = Step::Share(0.01);
        Influences {
            title: "case".to_owned(),
            duty: "normal".to_owned(),
            results: vec![
                Nominal { key: "minimum_film_m".to_owned(), value: Some(0.5e-6), told: Told::Relative },
                Nominal { key: "face_temperature_max_k".to_owned(), value: Some(323.15), told: Told::Absolute },
            ],
            rows: vec![
                row("seal.spring_force", 190.0, share, [change(-0.0123), change(0.5)], ""),
                row("contact.plastic_pressure", 300e6, share, [change(1e-6), change(2e-5)], ""),
                row("duty.normal.temperature", 311.15, Step::Kelvin(1.0), [change(0.002), change(0.9)], ""),
                row("seal.balance_diameter", 0.0524, share, [lost, change(-2.0)], "only downward, upward: the film parts above 4e-6 m"),
                row("duty.normal.pressure", 1.2e6, share, [bent, change(0.1)], ""),
            ],
            left_out: vec![LeftOut { path: "a".to_owned(), label: "flatness".to_owned(), reason: "a tolerance".to_owned() }],
            work: Work::default(),
            provenance: Provenance { version: String::new(), case_hash: String::new(), data_version: String::new(), seed: None },
        }
    }

    #[test]
    fn rows_are_ranked_by_the_result_asked_for() {
        let order = |by: &str| influence_sheet(&found(), by, UnitSet::Si).rows.iter().map(|row| row.path.clone()).collect::<Vec<_>>();
        let by_film =
            ["seal.balance_diameter", "duty.normal.pressure", "seal.spring_force", "duty.normal.temperature", "contact.plastic_pressure"];
        assert_eq!(order("minimum_film_m"), by_film, "a lost film first, what is still last");
        assert_eq!(order("face_temperature_max_k")[..2], ["seal.balance_diameter", "duty.normal.temperature"]);
    }

    #[test]
    fn cells_say_size_stillness_and_loss() {
        let sheet = influence_sheet(&found(), "minimum_film_m", UnitSet::Si);
        let of = |path: &str| sheet.rows.iter().find(|row| row.path == path).expect("the row");
        assert_eq!((sheet.columns[0].unit.as_str(), sheet.columns[0].nominal.as_str()), ("%", "0.5000 um"));
        assert_eq!((sheet.columns[1].unit.as_str(), sheet.columns[1].nominal.as_str()), ("K", "50.00 degC"));
        let texts = |path: &str| of(path).cells.iter().map(|cell| cell.text.clone()).collect::<Vec<_>>();
        assert_eq!(texts("seal.spring_force"), ["-1.2", "+0.50"]);
        assert_eq!(texts("contact.plastic_pressure"), ["below 0.01", "below 0.0001"]);
        assert_eq!(texts("seal.balance_diameter"), ["-", "-2.0"]);
        assert!(of("seal.balance_diameter").remark.contains("4.00 um") || of("seal.balance_diameter").remark.contains("4.0 um"));
        assert_eq!(of("duty.normal.pressure").remark, "bent in least film (up +10, down -50 %)");
        assert_eq!((of("duty.normal.temperature").value.as_str(), of("duty.normal.temperature").step.as_str()), ("38 degC", "+1 K"));
        assert_eq!(of("duty.normal.pressure").cells[0].weight, Some(1.0));
        assert!(sheet.remarks.iter().any(|remark| remark == "Left out, flatness: a tolerance."));
    }

    #[test]
    fn customary_units_turn_steps_and_changes() {
        let sheet = influence_sheet(&found(), "minimum_film_m", UnitSet::Us);
        let row = sheet.rows.iter().find(|row| row.path == "duty.normal.temperature").expect("the row");
        assert_eq!((row.value.as_str(), row.step.as_str()), ("100.4 degF", "+1.8 degF diff"));
        assert_eq!((row.cells[0].text.as_str(), row.cells[1].text.as_str()), ("+0.20", "+1.6"));
        assert_eq!(sheet.columns[1].unit, "degF diff");
    }
}
