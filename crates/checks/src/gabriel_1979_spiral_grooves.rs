//! G1: gas film between faces with twelve spiral grooves.

use std::f64::consts::PI;

use halfmicron::film::{FilmAlone, Fineness};

use crate::section::read;
use crate::textured::film_of;
use crate::{Check, Kind, Quantity};

/// Force, flow and stiffness of a spiral-groove gas face, turning, at rest and backwards.
pub const CHECK: Check = Check {
    id: "G1",
    title: "Gas face with twelve spiral grooves: opening force, leakage, axial stiffness; at rest and backwards",
    source: "geometry: Gabriel, Lubr. Eng. 35 (1979) 367, from memory; digits: quadratic finite elements in (ln r, spiral-aligned angle), three \
             nested grids, an independent program (converged to about 3 N and 1e-5 g/s)",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.field"],
    run,
};

/// Speed, rpm, gap over the lands, um, and force (absolute), N, leakage, kg/s, stiffness, N/m, where stored.
const ROWS: [(f64, f64, f64, f64, Option<f64>); 5] = [
    (10_380.0, 2.0, 35_835.0, 0.232_19e-3, Some(6.656e9)),
    (10_380.0, 3.0, 31_755.0, 0.559_24e-3, Some(2.355e9)),
    (10_380.0, 5.0, 29_446.0, 2.083_27e-3, Some(5.331e8)),
    (0.0, 3.0, 29_506.0, 0.452_43e-3, None),
    (-10_380.0, 3.0, 27_327.0, 0.363_03e-3, None),
];

/// Pressure inside, Pa.
pub const LOW_PA: f64 = 101_325.0;
/// Radii of the band, m.
pub const RADII_M: [f64; 2] = [58.42e-3, 77.78e-3];

fn run(distortion: f64) -> Vec<Quantity> {
    let mut lines = Vec::new();
    for (speed_rpm, gap_um, force_n, flow, stiffness) in ROWS {
        let film = film_of(&distorted(speed_rpm, gap_um, distortion).case(), Fineness::Fine);
        let name = |what: &str| format!("{what}, {gap_um} um, {speed_rpm} rpm");
        let area = PI * (RADII_M[1].powi(2) - RADII_M[0].powi(2));
        let force = read(&film, |film: &FilmAlone| film.force_n + LOW_PA * area);
        let leakage = read(&film, |film: &FilmAlone| film.leakage_kg_per_s);
        lines.push(Quantity::relative(name("opening force"), "N", force_n, force, 3e-3, "grids of both programs"));
        lines.push(Quantity::relative(name("leakage"), "kg/s", flow, leakage, 5e-3, "grids of both programs"));
        if let Some(expected) = stiffness {
            let computed = read(&film, |film: &FilmAlone| film.stiffness_n_per_m);
            lines.push(Quantity::relative(
                name("axial stiffness"),
                "N/m",
                expected,
                computed,
                2e-2,
                "differences of the stored forces, and the fine grid",
            ));
        }
    }
    lines
}

fn distorted(speed_rpm: f64, gap_um: f64, distortion: f64) -> Face {
    Face { speed_rpm, gap_um: gap_um * (1.0 + 0.1 * distortion), pressure_mpa: 4.5852 * (1.0 + 0.05 * distortion), ..Face::GABRIEL }
}

/// What varies between the cases of this geometry.
#[derive(Clone, Copy)]
pub struct Face {
    /// Grooves round the circumference.
    pub grooves: usize,
    /// Speed, rpm.
    pub speed_rpm: f64,
    /// Gap over the lands, um.
    pub gap_um: f64,
    /// Pressure outside, MPa absolute.
    pub pressure_mpa: f64,
}

impl Face {
    /// Gabriel's.
    pub const GABRIEL: Self = Self { grooves: 12, speed_rpm: 10_380.0, gap_um: 3.0, pressure_mpa: 4.5852 };

    /// The text of its case.
    pub fn case(self) -> String {
        let Self { grooves, speed_rpm, gap_um, pressure_mpa } = self;
        format!(
            r#"
halfmicron = 1
title = "spiral grooves"
[gas]
gas_constant = "287.05 J/(kg K)"
viscosity = "18 uPa s"
[[duty]]
name = "turning"
speed = "{speed_rpm} rpm"
pressure = "{pressure_mpa} MPa(a)"
low_pressure = "{LOW_PA} Pa(a)"
temperature = "26.85 degC"
[seal]
pressure_side = "outside"
[gap]
face = {{ inner = "116.84 mm", outer = "155.56 mm" }}
thickness = "{gap_um} um"
[[texture]]
on = "rotating"
kind = "spiral grooves"
count = {grooves}
angle = "15 deg"
depth = "5 um"
inner = "138 mm"
outer = "155.56 mm"
width_ratio = 0.5
sense = "inward"
[switches]
convective_inertia = false
spin = false
heat = false
slip = "none"
turbulence = false
"#
        )
    }
}
