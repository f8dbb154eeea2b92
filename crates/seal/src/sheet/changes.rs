//! What changed between a held result and the present one, in the reader's units.

use std::collections::BTreeMap;

use super::rounding::significant;
use super::{Row, Sheet};

/// Smaller than this share of the greater number a change is what two ways to the same solution differ by.
const SAME: f64 = 1e-6;
/// Digits of a change.
const DIGITS: i32 = 2;

/// Change of every number by the key of its row: present nominal minus held one, signed, one text a column of the present sheet.
///
/// Empty where nothing changed, where either has no number, or where the held sheet has no such duty or row. It is the change of the
/// numbers before rounding: a change smaller than the digits shown is told all the same, since both results have the same uncertain
/// inputs. Of two sheets in different units nothing is told.
pub fn changes(present: &Sheet, held: &Sheet) -> BTreeMap<String, Vec<String>> {
    if present.units != held.units {
        return BTreeMap::new();
    }
    let held_rows: BTreeMap<&str, &Row> = rows(held).map(|row| (row.key.as_str(), row)).collect();
    let held_column = |name: &str| held.columns.iter().position(|column| column.name == name);
    let places: Vec<Option<usize>> = present.columns.iter().map(|column| held_column(&column.name)).collect();
    let mut told = BTreeMap::new();
    for row in rows(present) {
        let Some(before) = held_rows.get(row.key.as_str()).filter(|before| before.unit == row.unit) else { continue };
        let change = |(column, place): (usize, &Option<usize>)| {
            let now = row.cells.get(column)?.value?;
            let then = before.cells.get((*place)?)?.value?;
            signed(now, then)
        };
        let texts: Vec<String> = places.iter().enumerate().map(|pair| change(pair).unwrap_or_default()).collect();
        if texts.iter().any(|text| !text.is_empty()) {
            told.insert(row.key.clone(), texts);
        }
    }
    told
}

fn rows(sheet: &Sheet) -> impl Iterator<Item = &Row> {
    sheet.blocks.iter().chain([&sheet.hand]).flat_map(|block| &block.rows)
}

fn signed(now: f64, then: f64) -> Option<String> {
    let change = now - then;
    let counts = change.is_finite() && change.abs() > SAME * now.abs().max(then.abs());
    let sign = if change > 0.0 { "+" } else { "" };
    counts.then(|| format!("{sign}{}", significant(change, DIGITS)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::Bench;
    use crate::sheet::{UnitSet, sheet};

    fn of(turn: impl Fn(&mut Bench), units: UnitSet) -> Sheet {
        let mut bench = Bench::booster();
        turn(&mut bench);
        sheet(&bench.model, &bench.outcome, units)
    }

    #[test]
    fn a_change_below_the_shown_digits_is_told_with_its_sign() {
        let held = of(|_| (), UnitSet::Si);
        let factor = |by: f64| {
            of(
                move |bench| {
                    let film = &mut bench.equilibrium_mut().minimum_film_m;
                    film.nominal *= by;
                },
                UnitSet::Si,
            )
        };
        let before = rows(&held).find(|row| row.key == "minimum_film_m").and_then(|row| row.cells[0].value).expect("a film");
        for by in [1.001, 0.999] {
            let told = changes(&factor(by), &held);
            let text = &told["minimum_film_m"][0];
            let change: f64 = text.parse().expect("a number");
            assert!((change - (by - 1.0) * before).abs() < 0.06 * change.abs(), "{text} of {before}");
            assert_eq!(text.starts_with('+'), by > 1.0, "{text}");
            assert_eq!(told.len(), 1, "{told:?}");
        }
    }

    #[test]
    fn nothing_is_told_of_the_same_of_other_units_and_of_another_duty() {
        let held = of(|_| (), UnitSet::Si);
        assert!(changes(&held, &held).is_empty());
        let noise = of(|bench| bench.equilibrium_mut().power_w.nominal *= 1.0 + 1e-9, UnitSet::Si);
        assert!(changes(&noise, &held).is_empty());
        let turn = |bench: &mut Bench| bench.equilibrium_mut().power_w.nominal *= 1.5;
        assert!(changes(&of(turn, UnitSet::Us), &held).is_empty());
        let renamed = |bench: &mut Bench| {
            turn(bench);
            bench.outcome.duties[0].name = "another".to_owned();
        };
        assert!(changes(&of(renamed, UnitSet::Si), &held).is_empty());
        assert!(!changes(&of(turn, UnitSet::Si), &held).is_empty());
    }
}
