//! A narrow seal with rigid coned faces whose motion is asked of the program: what the closed forms of a coned seal are held against.

use std::f64::consts::PI;

use halfmicron::case;
use halfmicron::motion::{DutyMotion, Request, motion};

/// Faces so narrow that curvature is worth a hundredth.
const CASE: &str = include_str!("coned_motion.toml");
const BAND_M: [f64; 2] = [100e-3, 101e-3];
const CONE_M: f64 = 1e-6;
const PRESSURE_PA: f64 = 2e6;
const VISCOSITY_PA_S: f64 = 1e-3;

/// The seal solved with some values replaced.
pub(crate) fn solved(settings: &[(&str, &str)]) -> Result<DutyMotion, String> {
    let text = case::with_settings(CASE, settings).map_err(|errors| errors.to_string())?;
    let model = case::parse(&text).and_then(|case| case.model()).map_err(|errors| errors.to_string())?;
    let found = motion(&model, &[], Request { curve: false, in_time: false }).map_err(|error| error.to_string())?;
    found.duties.into_iter().next().ok_or_else(|| "the case has no duty".to_owned())
}

/// Closed forms of the narrow coned seal at a film at its inner edge: axial stiffness, tilt stiffness, axial damping, tilt damping.
pub(crate) fn closed_forms(film_m: f64) -> [f64; 4] {
    let [ri, ro] = BAND_M;
    let (width, mean) = (ro - ri, 0.5 * (ri + ro));
    let coning = CONE_M / width;
    let s = CONE_M / film_m;
    let shape = (s.ln_1p() - 2.0 * s / (2.0 + s)) / s.powi(3);
    let spread = (2.0 * film_m + CONE_M).powi(2);
    let axial_damping = 24.0 * PI * mean * VISCOSITY_PA_S * (width / film_m).powi(3) * shape;
    [
        2.0 * PI * mean * width.powi(2) * PRESSURE_PA * coning / spread,
        PI * (mean * width).powi(2) * PRESSURE_PA * (coning * ri - film_m) / spread,
        axial_damping,
        0.5 * axial_damping * mean * mean,
    ]
}
