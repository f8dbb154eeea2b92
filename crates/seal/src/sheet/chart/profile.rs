//! Curves over the running band of one duty.

use crate::outcome::{DutyOutcome, PhaseChange, PhaseChangeKind, Profiles};

use super::super::chosen;
use super::super::rounding::significant;
use super::super::units::{Kind, UnitSet, unit};
use super::{Axis, Chart, ChartKind, Mark, On, Role, Series, axis, values};

/// Charts of the chosen equilibrium; none where there is none.
pub(in super::super) fn of_duty(duty: &DutyOutcome, units: UnitSet) -> Vec<Chart> {
    let Some(equilibrium) = chosen(duty).filter(|equilibrium| !equilibrium.profiles.radius_m.is_empty()) else { return Vec::new() };
    let band = Band { duty: &duty.name, profiles: &equilibrium.profiles, changes: &equilibrium.passage.phase_changes, units };
    vec![gap(&band), pressure(&band), temperature(&band)]
}

/// What the charts of a duty share.
struct Band<'a> {
    duty: &'a str,
    profiles: &'a Profiles,
    changes: &'a [PhaseChange],
    units: UnitSet,
}

impl Band<'_> {
    fn radius(&self) -> Vec<Option<f64>> {
        values(unit(Kind::Length, self.units), self.profiles.radius_m.iter().copied().map(Some))
    }

    /// A curve, where the outcome has a value at every radius.
    fn series(&self, key: &str, label: &str, role: Role, kind: Kind, si: impl IntoIterator<Item = Option<f64>>) -> Option<Series> {
        let across = values(unit(kind, self.units), si);
        let up = self.radius();
        let shown = across.len() == up.len() && across.iter().any(Option::is_some);
        shown.then(|| Series { key: format!("profiles.{key}"), label: label.to_owned(), role, across, up })
    }

    fn chart(&self, key: &str, title: &str, across: Axis, series: Vec<Series>) -> Chart {
        Chart {
            key: format!("profile.{key}"),
            title: title.to_owned(),
            duty: Some(self.duty.to_owned()),
            kind: ChartKind::Profile,
            across,
            up: axis("radius", Kind::Length, self.units, &self.radius()),
            series,
            bars: Vec::new(),
            limits: Vec::new(),
            marks: self.marks(),
            note: String::new(),
        }
    }

    /// Where the fluid changes its phase.
    fn marks(&self) -> Vec<Mark> {
        let length = unit(Kind::Length, self.units);
        let mark =
            |change: &PhaseChange| Mark { label: in_words(change.kind).to_owned(), on: On::Up, value: length.convert(change.radius_m) };
        self.changes.iter().filter(|change| change.radius_m.is_finite()).map(mark).collect()
    }
}

fn all(si: &[f64]) -> impl Iterator<Item = Option<f64>> {
    si.iter().copied().map(Some)
}

fn gap(band: &Band) -> Chart {
    let series: Vec<Series> = band.series("gap_m", "gap", Role::Film, Kind::SmallLength, all(&band.profiles.gap_m)).into_iter().collect();
    let across = axis("gap", Kind::SmallLength, band.units, series.iter().flat_map(|curve| &curve.across)).with(0.0);
    band.chart("gap", "gap", across, series)
}

fn pressure(band: &Band) -> Chart {
    let film = band.series("pressure_pa", "film, absolute", Role::Film, Kind::AbsolutePressure, all(&band.profiles.pressure_pa));
    let contact = band.series("contact_pressure_pa", "contact", Role::Contact, Kind::Pressure, all(&band.profiles.contact_pressure_pa));
    let series: Vec<Series> = film.into_iter().chain(contact).collect();
    // The unit alone: contact is a stress and neither gauge nor absolute.
    let across = axis("pressure", Kind::Pressure, band.units, series.iter().flat_map(|curve| &curve.across)).with(0.0);
    band.chart("pressure", "pressure", across, series)
}

/// Kelvin that temperatures over the band are taken to differ at least, when it is asked whether boiling is near.
const LEAST_SPAN_K: f64 = 10.0;

fn temperature(band: &Band) -> Chart {
    let of = |key, label, role, si: &[f64]| band.series(key, label, role, Kind::Temperature, all(si));
    let profiles = band.profiles;
    let hottest = of("film_hottest_k", "film, hottest", Role::Film, &profiles.film_hottest_k);
    let curves = [
        hottest.or_else(|| of("temperature_k", "film", Role::Film, &profiles.temperature_k)),
        of("rotating_face_temperature_k", "rotating face", Role::Rotating, &profiles.rotating_face_temperature_k),
        of("stationary_face_temperature_k", "stationary face", Role::Stationary, &profiles.stationary_face_temperature_k),
    ];
    let mut series: Vec<Series> = curves.into_iter().flatten().collect();
    let mut across = axis("temperature", Kind::Temperature, band.units, series.iter().flat_map(|curve| &curve.across));
    let boiling = profiles.boiling_temperature_k.iter().copied();
    let boiling = band.series("boiling_temperature_k", "boiling", Role::Saturation, Kind::Temperature, boiling);
    let mut note = String::new();
    if let Some((boiling, lowest)) = boiling.and_then(|curve| least(&curve.across).map(|lowest| (curve, lowest))) {
        let span = across.span().max(unit(Kind::TemperatureDifference, band.units).convert(LEAST_SPAN_K));
        if lowest <= across.high + 2.0 * span {
            // The curve climbs with the pressure: what is far from the film is cut off.
            let beyond = 0.15 * (lowest.max(across.high) - across.low).max(span);
            across = across.with(lowest + beyond);
            series.push(boiling);
        } else {
            note = format!("boils at {} {} or more", significant(lowest, 3), across.unit);
        }
    }
    Chart { note, ..band.chart("temperature", "temperature", across, series) }
}

fn least(values: &[Option<f64>]) -> Option<f64> {
    values.iter().flatten().copied().reduce(f64::min)
}

fn in_words(kind: PhaseChangeKind) -> &'static str {
    match kind {
        PhaseChangeKind::BeginsToBoil => "begins to boil",
        PhaseChangeKind::AllVapour => "all vapour",
        PhaseChangeKind::BeginsToCondense => "begins to condense",
        PhaseChangeKind::AllLiquid => "all liquid",
        PhaseChangeKind::LeavesBoilingPoint => "leaves its boiling point",
    }
}
