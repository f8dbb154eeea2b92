//! Where the heat of every duty goes.

use crate::outcome::{HeatSplit, Outcome};

use super::super::chosen;
use super::super::rows::negligible;
use super::super::units::{Kind, UnitSet, unit};
use super::{Axis, Chart, ChartKind, Role, Series, axis, values};

/// A part of every bar: key of the outcome, label, role, value.
type Part = (&'static str, &'static str, Role, fn(&HeatSplit) -> f64);

/// Parts of every bar, from the shaft's side on.
const PARTS: [Part; 3] = [
    ("heat_split_w.rotating", "rotating ring", Role::Rotating, |heat| heat.rotating),
    ("heat_split_w.stationary", "stationary ring", Role::Stationary, |heat| heat.stationary),
    ("heat_split_w.leak", "leakage", Role::Leak, |heat| heat.leak),
];

/// Bars of the heat split over all duties; none where no duty has heat.
pub(in super::super) fn heat_split(outcome: &Outcome, units: UnitSet) -> Option<Chart> {
    let heats: Vec<Option<HeatSplit>> =
        outcome.duties.iter().map(|duty| chosen(duty).map(|equilibrium| equilibrium.heat_split_w)).collect();
    let power = unit(Kind::Power, units);
    let part = |(key, label, role, of): Part| Series {
        key: key.to_owned(),
        label: label.to_owned(),
        role,
        across: values(power, heats.iter().map(|heat| heat.as_ref().map(of).map(without_rounding))),
        up: (0..heats.len()).map(|bar| Some(bar as f64)).collect(),
    };
    let series: Vec<Series> = PARTS.into_iter().map(part).collect();
    // A negative part lies on the other side of nothing.
    let side = |bar: usize, negative: bool| {
        series.iter().filter_map(|part| part.across[bar]).filter(|value| (*value < 0.0) == negative).sum::<f64>()
    };
    let ends: Vec<Option<f64>> = (0..heats.len()).flat_map(|bar| [Some(side(bar, false)), Some(side(bar, true))]).collect();
    if ends.iter().flatten().all(|end| *end == 0.0) {
        return None;
    }
    Some(Chart {
        key: "heat.split".to_owned(),
        title: "where the heat goes".to_owned(),
        duty: None,
        kind: ChartKind::Bars,
        across: axis("heat", Kind::Power, units, &ends).with(0.0),
        up: Axis { label: "duty".to_owned(), unit: String::new(), low: -0.5, high: heats.len() as f64 - 0.5 },
        series,
        bars: outcome.duties.iter().map(|duty| duty.name.clone()).collect(),
        limits: Vec::new(),
        marks: Vec::new(),
        note: String::new(),
    })
}

/// Nothing where there is only the rounding of a balance: a shaft at rest makes no heat.
fn without_rounding(heat_w: f64) -> f64 {
    if heat_w.abs() < negligible(Kind::Power) { 0.0 } else { heat_w }
}
