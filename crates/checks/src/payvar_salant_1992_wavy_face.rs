//! C5: wavy face, cavitating liquid.

use std::f64::consts::PI;

use halfmicron::film::{FilmAlone, Fineness};

use crate::section::read;
use crate::textured::film_of;
use crate::{Check, Kind, Quantity};

/// Nine waves in a turn, with a cavity behind every crest.
pub const CHECK: Check = Check {
    id: "C5",
    title: "Wavy face with a cavity behind every crest: leakage by an exact identity, opening force",
    source: "in the manner of Payvar and Salant, J. Tribol. 114 (1992) 199, from memory; leakage: exact, for the shape of the film does not depend \
             on the radius: Q = pi hm^3 (1 + 1.5 (a/hm)^2) dp/(6 mu ln(ro/ri)); force: an independent finite-volume program on three grids",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.field"],
    run,
};

const RADII_M: [f64; 2] = [24.45e-3, 30.80e-3];
const LOW_PA: f64 = 0.1e6;

fn run(distortion: f64) -> Vec<Quantity> {
    let film = film_of(&case(0.5 + 0.05 * distortion), Fineness::Normal);
    let flow = PI * 1e-18 * (1.0 + 1.5 * 0.25) * 1e6 / (6.0 * 1e-3 * (RADII_M[1] / RADII_M[0]).ln());
    let area = PI * (RADII_M[1].powi(2) - RADII_M[0].powi(2));
    vec![
        Quantity::relative(
            "leakage",
            "m3/s",
            flow,
            read(&film, |film: &FilmAlone| film.leakage_m3_per_s),
            2e-3,
            "exact for a wave; cells take its mean over their width",
        ),
        Quantity::relative(
            "opening force",
            "N",
            3_753.0,
            read(&film, |film: &FilmAlone| film.force_n + LOW_PA * area),
            5e-3,
            "grids of both programs",
        ),
    ]
}

fn case(amplitude_um: f64) -> String {
    format!(
        r#"
halfmicron = 1
title = "wavy face"
[liquid]
density = "1000 kg/m3"
viscosity = "1 mPa s"
[[duty]]
name = "turning"
speed = "3000 rpm"
pressure = "1.1 MPa(a)"
low_pressure = "0.1 MPa(a)"
temperature = "20 degC"
[seal]
pressure_side = "outside"
[gap]
face = {{ inner = "48.9 mm", outer = "61.6 mm" }}
thickness = "1 um"
waves = [ {{ count = 9, amplitude = "{amplitude_um} um" }} ]
[switches]
convective_inertia = false
spin = false
heat = false
cavitation_pressure = "1 Pa(a)"
"#
    )
}
