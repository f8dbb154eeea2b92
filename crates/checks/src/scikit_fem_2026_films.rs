//! G3, C9: two films solved a second time with a general finite-element library.

use std::f64::consts::PI;

use halfmicron::film::{FieldAlone, FilmAlone, Fineness};
use serde::Deserialize;

use crate::section::read;
use crate::textured::film_of;
use crate::{Check, Kind, Quantity};

/// Spiral grooves on a coned gas face.
pub const GROOVE_CHECK: Check = Check {
    id: "G3",
    title: "Spiral grooves on a coned gas face against a second solution: opening force, leakage, axial stiffness, greatest pressure",
    source: "weak form written out and solved by xtask/films.py with the finite-element library scikit-fem (Gustafsson and McBain, J. Open Source \
             Softw. 5 (2020) 2369): quadratic rectangles, three nested grids, Richardson's value; stored with its versions",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.field"],
    run: |distortion| grooves(distortion).unwrap_or_else(broken),
};

/// Waves on a coned liquid face, with cavities.
pub const WAVE_CHECK: Check = Check {
    id: "C9",
    title: "Waves on a coned liquid face, a cavity behind every crest, against a second solution: opening force, leakage, greatest pressure, torn share",
    source: "weak form of pressure and missing liquid solved by xtask/films.py with the library scikit-fem: linear rectangles, complementarity \
             smoothed and the smoothing taken to nothing (no active set), four nested grids, Richardson's value; stored with its versions",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.field"],
    run: |distortion| waves(distortion).unwrap_or_else(broken),
};

const STORED: &str = include_str!("../data/films.json");

#[derive(Deserialize)]
struct Stored {
    spiral_grooves: Solution<GrooveCase>,
    coned_waves: Solution<WaveCase>,
}

#[derive(Deserialize)]
struct Solution<Case> {
    case: Case,
    quantities: std::collections::BTreeMap<String, Study>,
}

/// One quantity over nested grids.
#[derive(Deserialize)]
struct Study {
    extrapolated: f64,
}

#[derive(Deserialize)]
struct GrooveCase {
    inner_m: f64,
    groove_inner_m: f64,
    outer_m: f64,
    count: u32,
    angle_deg: f64,
    depth_m: f64,
    width_ratio: f64,
    gap_inner_m: f64,
    coning_m: f64,
    speed_rpm: f64,
    gas_constant: f64,
    temperature_k: f64,
    viscosity_pa_s: f64,
    inner_pa: f64,
    outer_pa: f64,
}

#[derive(Deserialize)]
struct WaveCase {
    inner_m: f64,
    outer_m: f64,
    count: u32,
    amplitude_m: f64,
    gap_inner_m: f64,
    coning_m: f64,
    speed_rpm: f64,
    density_kg_per_m3: f64,
    viscosity_pa_s: f64,
    inner_pa: f64,
    outer_pa: f64,
    cavity_pa: f64,
}

impl<Case> Solution<Case> {
    fn value(&self, name: &str) -> Result<f64, String> {
        self.quantities.get(name).map(|study| study.extrapolated).ok_or_else(|| format!("nothing stored of {name}"))
    }
}

fn stored() -> Result<Stored, String> {
    serde_json::from_str(STORED).map_err(|error| error.to_string())
}

/// A stored file that cannot be read disagrees.
fn broken(reason: String) -> Vec<Quantity> {
    vec![Quantity::absolute("stored solution", "", 1.0, Err(reason), 0.1, "it must be there")]
}

/// The film on the two finer grids.
struct Films {
    normal: Result<FilmAlone, String>,
    fine: Result<FilmAlone, String>,
    low_pa: f64,
    area_m2: f64,
}

impl Films {
    fn of(text: &str, low_pa: f64, radii_m: [f64; 2]) -> Self {
        let area_m2 = PI * (radii_m[1].powi(2) - radii_m[0].powi(2));
        Self { normal: film_of(text, Fineness::Normal), fine: film_of(text, Fineness::Fine), low_pa, area_m2 }
    }

    fn fine(&self, of: impl Fn(&FilmAlone) -> f64) -> Result<f64, String> {
        read(&self.fine, of)
    }

    fn fine_field(&self, of: impl Fn(&FieldAlone) -> f64) -> Result<f64, String> {
        let fine = self.fine.as_ref().map_err(Clone::clone)?;
        fine.field.as_ref().map(of).ok_or_else(|| "the film is axisymmetric".to_owned())
    }

    /// Force of the absolute pressure, N.
    fn force_n(&self) -> Result<f64, String> {
        self.fine(|film| film.force_n + self.low_pa * self.area_m2)
    }

    /// The same on an infinitely fine grid, by the order of the method.
    fn limit_n(&self, order: i32) -> Result<f64, String> {
        let (fine, normal) = (self.fine(|film| film.force_n)?, read(&self.normal, |film| film.force_n)?);
        Ok(fine + (fine - normal) / (2f64.powi(order) - 1.0) + self.low_pa * self.area_m2)
    }
}

fn grooves(distortion: f64) -> Result<Vec<Quantity>, String> {
    const FINE: &str = "our fine grid, first order for the walls of grooves; the stored value is known to 0.002 %";
    const STIFF: &str = "our fine grid, as the force; the stored value is known to 0.02 %";
    const LIMIT: &str = "what the next order leaves of the step from our normal to our fine grid, 0.08 %";
    let solution = stored()?.spiral_grooves;
    let case = &solution.case;
    let films = Films::of(&groove_text(case, distortion), case.inner_pa, [case.inner_m, case.outer_m]);
    let (force, stored_force) = (films.force_n(), solution.value("force_n")?);
    let stiffness = films.fine(|film| film.stiffness_n_per_m);
    let greatest = films.fine_field(|field| field.greatest_pressure_pa);
    let leakage = films.fine(|film| film.leakage_kg_per_s);
    Ok(vec![
        Quantity::relative("opening force", "N", stored_force, force, 1e-3, FINE),
        Quantity::relative("opening force in the limit of fine grids", "N", stored_force, films.limit_n(1), 3e-4, LIMIT),
        Quantity::relative("leakage", "kg/s", solution.value("leakage_kg_per_s")?, leakage, 2e-3, FINE),
        Quantity::relative("axial stiffness", "N/m", solution.value("stiffness_n_per_m")?, stiffness, 1e-2, STIFF),
        Quantity::relative("greatest pressure", "Pa", solution.value("greatest_pressure_pa")?, greatest, 1e-2, FINE),
    ])
}

fn waves(distortion: f64) -> Result<Vec<Quantity>, String> {
    const FINE: &str = "our fine grid, second order; the stored value is known to 0.01 %";
    const LIMIT: &str = "what the next order leaves of the step from our normal to our fine grid, 0.26 %";
    const EDGES: &str = "half a cell more or less all along the edges of the cavities, in both";
    let solution = stored()?.coned_waves;
    let case = &solution.case;
    let films = Films::of(&wave_text(case, distortion), case.inner_pa, [case.inner_m, case.outer_m]);
    let (force, stored_force) = (films.force_n(), solution.value("force_n")?);
    let leakage = films.fine(|film| film.leakage_m3_per_s);
    let greatest = films.fine_field(|field| field.greatest_pressure_pa);
    let torn = films.fine_field(|field| field.cavitated_share);
    Ok(vec![
        Quantity::relative("opening force", "N", stored_force, force, 1e-3, FINE),
        Quantity::relative("opening force in the limit of fine grids", "N", stored_force, films.limit_n(2), 3e-4, LIMIT),
        Quantity::relative("leakage", "m3/s", solution.value("leakage_m3_per_s")?, leakage, 1e-3, FINE),
        Quantity::relative("greatest pressure", "Pa", solution.value("greatest_pressure_pa")?, greatest, 1.5e-3, FINE),
        Quantity::relative("torn share of the face", "", solution.value("cavitated_share")?, torn, 2e-2, EDGES),
    ])
}

fn groove_text(case: &GrooveCase, distortion: f64) -> String {
    let GrooveCase { count, angle_deg, width_ratio, gas_constant, inner_pa, outer_pa, .. } = case;
    format!(
        r#"
halfmicron = 1
title = "spiral grooves, coned"
[gas]
gas_constant = "{gas_constant} J/(kg K)"
viscosity = "{} uPa s"
[[duty]]
name = "turning"
speed = "{} rpm"
pressure = "{outer_pa} Pa(a)"
low_pressure = "{inner_pa} Pa(a)"
temperature = "{} degC"
[seal]
pressure_side = "outside"
[gap]
face = {{ inner = "{} mm", outer = "{} mm" }}
thickness = "{} um"
coning = "{} um"
[[texture]]
on = "rotating"
kind = "spiral grooves"
count = {count}
angle = "{angle_deg} deg"
depth = "{} um"
inner = "{} mm"
outer = "{} mm"
width_ratio = {width_ratio}
sense = "inward"
[switches]
convective_inertia = false
spin = false
heat = false
slip = "none"
turbulence = false
"#,
        1e6 * case.viscosity_pa_s,
        case.speed_rpm * (1.0 - 0.1 * distortion),
        case.temperature_k - 273.15,
        2e3 * case.inner_m,
        2e3 * case.outer_m,
        1e6 * case.gap_inner_m * (1.0 + 0.1 * distortion),
        1e6 * case.coning_m,
        1e6 * case.depth_m,
        2e3 * case.groove_inner_m,
        2e3 * case.outer_m,
    )
}

fn wave_text(case: &WaveCase, distortion: f64) -> String {
    let WaveCase { count, speed_rpm, density_kg_per_m3, inner_pa, outer_pa, cavity_pa, .. } = case;
    format!(
        r#"
halfmicron = 1
title = "waves, coned"
[liquid]
density = "{density_kg_per_m3} kg/m3"
viscosity = "{} mPa s"
[[duty]]
name = "turning"
speed = "{speed_rpm} rpm"
pressure = "{outer_pa} Pa(a)"
low_pressure = "{inner_pa} Pa(a)"
temperature = "20 degC"
[seal]
pressure_side = "outside"
[gap]
face = {{ inner = "{} mm", outer = "{} mm" }}
thickness = "{} um"
coning = "{} um"
waves = [ {{ count = {count}, amplitude = "{} um" }} ]
[switches]
convective_inertia = false
spin = false
heat = false
turbulence = false
cavitation_pressure = "{cavity_pa} Pa(a)"
"#,
        1e3 * case.viscosity_pa_s,
        2e3 * case.inner_m,
        2e3 * case.outer_m,
        1e6 * case.gap_inner_m,
        1e6 * case.coning_m,
        1e6 * case.amplitude_m * (1.0 - 0.3 * distortion),
    )
}
