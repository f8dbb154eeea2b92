//! Charts of a sweep: one a number, its film followed from value to value, folds as marks, other equilibria as single points.

use crate::outcome::Jump;
use crate::study::{Sweep, SweepRow};

use super::super::rounding::significant;
use super::super::sweep::Number;
use super::super::units::{Kind, UnitSet, unit};
use super::{Chart, ChartKind, Forbidden, LimitLine, Mark, On, Role, Series, axis, value, values};

/// Charts of every number that says something.
pub(in super::super) fn of_sweep(sweep: &Sweep, numbers: &[Number], of: Kind, units: UnitSet) -> Vec<Chart> {
    numbers.iter().map(|number| Swept { sweep, number, of, units }.chart()).collect()
}

/// One number over the values of a sweep.
struct Swept<'a> {
    sweep: &'a Sweep,
    number: &'a Number,
    of: Kind,
    units: UnitSet,
}

/// What a limit says: words, SI value, side that it forbids.
type Limit = (&'static str, f64, Forbidden);

impl Swept<'_> {
    fn chart(&self) -> Chart {
        let mut series = vec![self.followed()];
        series.extend(self.others(true));
        series.extend(self.others(false));
        let name = self.sweep.path.rsplit('.').next().unwrap_or(&self.sweep.path).replace('_', " ");
        let title = self.number.label;
        let mut up = axis(title, self.number.kind, self.units, series.iter().flat_map(|curve| &curve.up)).with_nothing_if_near();
        let (mut limits, mut beyond) = (Vec::new(), Vec::new());
        for (words, si, forbidden) in self.limits() {
            let Some(limit) = value(unit(self.number.kind, self.units), si) else { continue };
            if up.reaches(limit) {
                limits.push(LimitLine { label: self.with_value(words, si), on: On::Up, value: limit, forbidden });
            } else if si != 0.0 {
                beyond.push(format!("{} is off the chart", self.with_value(words, si)));
            }
        }
        // The axis grows only after every limit was measured against the curves.
        up = limits.iter().fold(up, |up, limit| up.with(limit.value));
        if let Some(changing) = self.changing_limit().filter(|curve| curve.up.iter().flatten().any(|limit| up.reaches(*limit))) {
            up = changing.up.iter().flatten().copied().filter(|limit| *limit <= up.high + up.span()).fold(up.clone(), super::Axis::with);
            series.push(changing);
        }
        Chart {
            key: format!("sweep.{}", self.number.key),
            title: title.to_owned(),
            duty: Some(self.sweep.duty.clone()),
            kind: ChartKind::Sweep,
            across: axis(&name, self.of, self.units, &self.places(&self.sweep.rows)),
            up,
            series,
            bars: Vec::new(),
            limits,
            marks: self.folds(),
            note: beyond.join("; "),
        }
    }

    fn places<'a>(&self, rows: impl IntoIterator<Item = &'a SweepRow>) -> Vec<Option<f64>> {
        values(unit(self.of, self.units), rows.into_iter().map(|row| Some(row.value)))
    }

    fn series(&self, label: &str, role: Role, across: Vec<Option<f64>>, up: impl IntoIterator<Item = Option<f64>>) -> Series {
        let up = values(unit(self.number.kind, self.units), up);
        Series { key: self.number.key.to_owned(), label: label.to_owned(), role, across, up }
    }

    /// The film that is followed; a fold breaks the line, since its row has no film.
    fn followed(&self) -> Series {
        let rows = &self.sweep.rows;
        self.series(self.number.label, Role::Film, self.places(rows), rows.iter().map(|row| row.point.as_ref().and_then(self.number.of)))
    }

    /// Other equilibria where all were looked for.
    fn others(&self, stable: bool) -> Option<Series> {
        let at = |row: &SweepRow| row.others.iter().filter(|other| other.stable == stable).count();
        let rows = || self.sweep.rows.iter().flat_map(|row| std::iter::repeat_n(row, at(row)));
        let points = self.sweep.rows.iter().flat_map(|row| &row.others).filter(|other| other.stable == stable);
        let (label, role) = if stable { ("also stable", Role::Other) } else { ("unstable", Role::Unstable) };
        let series = self.series(label, role, self.places(rows()), points.map(|other| (self.number.of)(&other.point)));
        series.up.iter().any(Option::is_some).then_some(series)
    }

    fn folds(&self) -> Vec<Mark> {
        let fold = |row: &SweepRow| {
            let label = in_words(row.fold?).to_owned();
            Some(Mark { label, on: On::Across, value: value(unit(self.of, self.units), row.value)? })
        };
        self.sweep.rows.iter().filter_map(fold).collect()
    }

    /// Limits on the number that are the same in every row.
    fn limits(&self) -> Vec<Limit> {
        let stated = &self.sweep.limits;
        let most = |limit: Option<f64>| limit.map(|limit| ("limit", limit, Forbidden::Above));
        let least = |limit: Option<f64>| limit.map(|limit| ("limit", limit, Forbidden::Below));
        match self.number.key {
            "minimum_film_m" => least(stated.minimum_film_m).into_iter().collect(),
            "leakage_m3_per_s" => {
                self.one_leakage_limit().map(|limit| (self.leakage_words(), limit, Forbidden::Above)).into_iter().collect()
            }
            "power_w" => most(stated.power_w).into_iter().collect(),
            "contact_share" => most(stated.contact_share).into_iter().collect(),
            "boiling_margin_k" => [Some(("boils", 0.0, Forbidden::Below)), least(stated.boiling_margin_k)].into_iter().flatten().collect(),
            _ => Vec::new(),
        }
    }

    fn leakage_words(&self) -> &'static str {
        if self.sweep.limits.leakage_m3_per_s.is_some() { "limit" } else { "usual limit" }
    }

    fn leakage_limits(&self) -> impl Iterator<Item = f64> {
        self.sweep.rows.iter().filter(|row| row.point.is_some()).filter_map(|row| row.leakage_limit_m3_per_s)
    }

    /// The limit of leakage where all rows have the same.
    fn one_leakage_limit(&self) -> Option<f64> {
        let first = self.leakage_limits().next()?;
        self.leakage_limits().all(|limit| limit == first).then_some(first)
    }

    /// The limit of leakage where it follows what is swept.
    fn changing_limit(&self) -> Option<Series> {
        let changes = self.number.key == "leakage_m3_per_s" && self.leakage_limits().next().is_some() && self.one_leakage_limit().is_none();
        let rows = || self.sweep.rows.iter().filter(|row| row.fold.is_none());
        let limits = rows().map(|row| row.leakage_limit_m3_per_s);
        changes.then(|| self.series(self.leakage_words(), Role::Limit, self.places(rows()), limits))
    }

    fn with_value(&self, words: &str, si: f64) -> String {
        let unit = unit(self.number.kind, self.units);
        if si == 0.0 { words.to_owned() } else { format!("{words} {} {}", significant(unit.convert(si), 3), unit.label) }
    }
}

fn in_words(then: Jump) -> &'static str {
    match then {
        Jump::Opens => "film pops open",
        Jump::Parts => "faces part",
        Jump::Closes => "faces close",
        Jump::Touches => "faces touch",
    }
}
