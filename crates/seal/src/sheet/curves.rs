//! Curves over the band in the reader's units.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::outcome::DutyOutcome;

use super::chosen;
use super::units::{Kind, UnitSet, unit};

/// Curves of one duty over one radius axis, inner to outer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DutyCurves {
    /// Duty.
    pub duty: String,
    /// Radius axis.
    pub radius: Curve,
    /// Curves, each as long as the axis.
    pub curves: Vec<Curve>,
}

/// One curve.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Curve {
    /// Key of the outcome.
    pub key: String,
    /// Label.
    pub label: String,
    /// Unit of the values.
    pub unit: String,
    /// Values; none where the outcome has no finite number.
    pub values: Vec<Option<f64>>,
}

/// Curves of the chosen equilibrium.
pub(super) fn of_duty(duty: &DutyOutcome, units: UnitSet) -> Option<DutyCurves> {
    let profiles = &chosen(duty)?.profiles;
    if profiles.radius_m.is_empty() {
        return None;
    }
    let of_profile = |key: &str, label: &str, kind, values: &[f64]| curve(&format!("profiles.{key}"), label, kind, values, units);
    let count = profiles.radius_m.len();
    let shown: [(&str, &str, Kind, &[f64]); 8] = [
        ("gap_m", "gap", Kind::SmallLength, &profiles.gap_m),
        ("pressure_pa", "film pressure", Kind::AbsolutePressure, &profiles.pressure_pa),
        ("contact_pressure_pa", "contact pressure", Kind::Pressure, &profiles.contact_pressure_pa),
        ("temperature_k", "film temperature", Kind::Temperature, &profiles.temperature_k),
        ("rotating_face_temperature_k", "rotating face", Kind::Temperature, &profiles.rotating_face_temperature_k),
        ("stationary_face_temperature_k", "stationary face", Kind::Temperature, &profiles.stationary_face_temperature_k),
        ("rotating_flux_w_per_m2", "heat flux into rotating ring", Kind::HeatFlux, &profiles.rotating_flux_w_per_m2),
        ("stationary_flux_w_per_m2", "heat flux into stationary ring", Kind::HeatFlux, &profiles.stationary_flux_w_per_m2),
    ];
    let complete = shown.into_iter().filter(|(.., values)| values.len() == count);
    let curves = complete.map(|(key, label, kind, values)| of_profile(key, label, kind, values));
    Some(DutyCurves {
        duty: duty.name.clone(),
        radius: of_profile("radius_m", "radius", Kind::Length, &profiles.radius_m),
        curves: curves.collect(),
    })
}

/// Values in the reader's units.
pub(super) fn curve(key: &str, label: &str, kind: Kind, values: &[f64], units: UnitSet) -> Curve {
    let unit = unit(kind, units);
    Curve {
        key: key.to_owned(),
        label: label.to_owned(),
        unit: unit.label.to_owned(),
        values: values.iter().map(|value| six_digits(unit.convert(*value))).collect(),
    }
}

/// A curve is drawn: six digits are more than its ink shows.
pub(super) fn six_digits(value: f64) -> Option<f64> {
    format!("{value:.5e}").parse().ok().filter(|rounded: &f64| rounded.is_finite())
}
