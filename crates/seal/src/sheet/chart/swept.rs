//! Charts of a sweep: one a number, folds as marks.

use crate::outcome::Jump;
use crate::study::Sweep;

use super::super::sweep::Number;
use super::super::units::{Kind, UnitSet, unit};
use super::{Chart, ChartKind, Mark, On, Role, Series, axis, values};

/// Charts of every number that says something.
pub(in super::super) fn of_sweep(sweep: &Sweep, numbers: &[Number], of: Kind, units: UnitSet) -> Vec<Chart> {
    numbers.iter().map(|number| chart(sweep, number, of, units)).collect()
}

fn chart(sweep: &Sweep, number: &Number, of: Kind, units: UnitSet) -> Chart {
    let swept = values(unit(of, units), sweep.rows.iter().map(|row| Some(row.value)));
    let name = sweep.path.rsplit('.').next().unwrap_or(&sweep.path).replace('_', " ");
    let up = values(unit(number.kind, units), sweep.rows.iter().map(|row| row.point.as_ref().and_then(number.of)));
    Chart {
        key: format!("sweep.{}", number.key),
        title: number.label.to_owned(),
        duty: Some(sweep.duty.clone()),
        kind: ChartKind::Sweep,
        across: axis(&name, of, units, &swept),
        up: axis(number.label, number.kind, units, &up),
        series: vec![Series { key: number.key.to_owned(), label: number.label.to_owned(), role: Role::Film, across: swept, up }],
        bars: Vec::new(),
        limits: Vec::new(),
        marks: folds(sweep, of, units),
        note: String::new(),
    }
}

fn folds(sweep: &Sweep, of: Kind, units: UnitSet) -> Vec<Mark> {
    let swept = unit(of, units);
    let fold = |(value, then): (f64, Jump)| Mark { label: in_words(then).to_owned(), on: On::Across, value: swept.convert(value) };
    sweep.rows.iter().filter_map(|row| row.fold.map(|then| (row.value, then))).map(fold).collect()
}

fn in_words(then: Jump) -> &'static str {
    match then {
        Jump::Opens => "film pops open",
        Jump::Parts => "faces part",
        Jump::Closes => "faces close",
        Jump::Touches => "faces touch",
    }
}
