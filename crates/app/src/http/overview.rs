//! One line of a case: the range of its duties, and what it comes to.

use std::collections::BTreeMap;

use halfmicron::model::Model;
use halfmicron::outcome::Word;
use halfmicron::sheet::units::{Kind, unit};
use halfmicron::sheet::{Sheet, UnitSet, VerdictLine, rounding::significant, sheet};

use super::App;
use super::cases::{CaseSummary, LeftOut, SummaryNumber};
use super::folder::tag_of;
use super::pool::Wanted;
use super::problem::Problem;
use super::solve::read;

/// Digits of stated conditions.
const DIGITS: i32 = 3;

/// Range of pressure, temperature and speed over the duties: `1.1 to 1.5 MPa(a), 20 to 45 degC, 0 to 2960 rpm`.
pub fn duty_range(model: &Model, units: UnitSet) -> String {
    let over = |kind: Kind, of: fn(&halfmicron::model::Duty) -> f64| {
        let shown = unit(kind, units);
        let values = || model.duties.iter().map(of).map(|value| shown.convert(value));
        let [low, high] = [values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max)];
        let [low, high] = [low, high].map(|value| significant(value, DIGITS));
        if low == high { format!("{low} {}", shown.label) } else { format!("{low} to {high} {}", shown.label) }
    };
    [
        over(Kind::AbsolutePressure, |duty| duty.pressure_pa),
        over(Kind::Temperature, |duty| duty.temperature.stated_k()),
        over(Kind::ShaftSpeed, |duty| duty.speed_rad_per_s),
    ]
    .join(", ")
}

/// The summary of a text, every duty solved.
pub fn summary(app: &App, name: &str, text: &str, units: UnitSet, wanted: &Wanted) -> Result<CaseSummary, Problem> {
    let ready = read(text, &BTreeMap::new())?;
    let outcome = app.warm.complete(&ready, &[], wanted)?;
    let sheet = sheet(&ready.model, &outcome, units);
    let (worst, reason) = worst(&sheet);
    Ok(CaseSummary {
        name: name.to_owned(),
        tag: tag_of(text.as_bytes()),
        worst,
        reason,
        least_film: number(&sheet, "minimum_film_m"),
        leakage: number(&sheet, "leakage_m3_per_s"),
        unsolved: sheet
            .columns
            .iter()
            .filter(|column| !column.solved)
            .map(|column| LeftOut { name: column.name.clone(), reason: column.reason.clone() })
            .collect(),
    })
}

/// The worst word and its reason: of several the one that is said of fewest duties and in fewest words, as sheet and report have it.
fn worst(sheet: &Sheet) -> (Option<Word>, String) {
    let word = sheet.verdicts.first().map(|line| line.word);
    let peculiar = |line: &&VerdictLine| (line.duties.is_empty(), line.duties.len(), line.reason.len());
    let Some(first) = sheet.verdicts.iter().filter(|line| Some(line.word) == word).min_by_key(peculiar) else {
        return (None, String::new());
    };
    let duties = if first.duties.is_empty() { String::new() } else { format!("{}: ", first.duties.join(", ")) };
    (Some(first.word), format!("{duties}{}", first.reason))
}

/// The worst cell of a row; the only one where there is one duty.
fn number(sheet: &Sheet, key: &str) -> Option<SummaryNumber> {
    let row = sheet.blocks.iter().flat_map(|block| &block.rows).find(|row| row.key == key)?;
    let solved = |index: usize| sheet.columns.get(index).is_some_and(|column| column.solved);
    let of = |index: usize| SummaryNumber {
        key: row.key.clone(),
        label: row.label.clone(),
        text: row.cells[index].text.clone(),
        unit: row.unit.clone(),
        duty: sheet.columns[index].name.clone(),
    };
    let marked = row.cells.iter().position(|cell| cell.worst);
    let first = (0..row.cells.len()).find(|index| solved(*index));
    marked.or(first).map(of)
}
