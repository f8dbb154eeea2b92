//! G2: the limit of infinitely many spiral grooves.

use std::f64::consts::PI;

use halfmicron::film::{FilmAlone, Fineness};

use crate::gabriel_1979_spiral_grooves::{Face, LOW_PA, RADII_M};
use crate::section::read;
use crate::textured::film_of;
use crate::{Check, Kind, Quantity};

/// Force and leakage, with more and more grooves, tend to those of the narrow-groove theory.
pub const CHECK: Check = Check {
    id: "G2",
    title: "Gas face with many spiral grooves: opening force and leakage tend to the limit of infinitely many",
    source: "narrow-groove theory: Muijderman, Spiral Groove Bearings, Philips 1966, and Malanoski and Pan, J. Basic Eng. 87 (1965) 547, from \
             memory; digits: homogenised equation of the geometry of G1, integrated to 1e-11",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.field"],
    run,
};

/// Gap over the lands, um, force (absolute), N, and leakage, kg/s, of infinitely many grooves.
const LIMITS: [(f64, f64, f64); 2] = [(2.0, 37_073.250, 0.256_508_12e-3), (3.0, 31_883.738, 0.569_939_61e-3)];
/// Numbers of grooves, each twice the one before, from which the limit is taken.
const MANY: [usize; 2] = [96, 192];
/// Gap, um, grooves, and force (absolute), N, of the independent program of G1 with so many.
const SOME: [(f64, usize, f64, f64); 3] = [(2.0, 12, 35_835.0, 0.02), (2.0, 48, 36_696.0, 0.1), (3.0, 48, 31_825.8, 0.12)];

fn run(distortion: f64) -> Vec<Quantity> {
    let mut lines = Vec::new();
    for (gap_um, force, flow) in LIMITS {
        let limit = narrow(gap_um, distortion);
        let name = |what: &str| format!("{what} of infinitely many grooves, from 96 and 192, {gap_um} um");
        let reason = "half the pitch halves the effect of the ends, half a cell halves their error; the next order is left out";
        lines.push(Quantity::relative(name("opening force"), "N", force, read(&limit, |found| found[0]), 1e-3, reason));
        lines.push(Quantity::relative(name("leakage"), "kg/s", flow, read(&limit, |found| found[1]), 3e-3, reason));
    }
    for (gap_um, grooves, force, tolerance) in SOME {
        let limit = LIMITS.iter().find(|row| row.0 == gap_um).map_or(f64::NAN, |row| row.1);
        let short = fine_limit(grooves, gap_um, distortion).map(|[found, _]| limit - found);
        let name = format!("force that {grooves} grooves fall short of infinitely many, {gap_um} um");
        let reason = "a small difference of forces that both programs know to about 0.05 %";
        lines.push(Quantity::relative(name, "N", limit - force, short, tolerance, reason));
    }
    lines
}

/// Force (absolute) and leakage of infinitely many grooves.
fn narrow(gap_um: f64, distortion: f64) -> Result<[f64; 2], String> {
    let [few, many] = MANY.map(|grooves| fine_limit(grooves, gap_um, distortion));
    Ok(beyond(few?, many?))
}

/// Force (absolute) and leakage on an infinitely fine grid, from two: of first order, for layers at the ends of narrow grooves are thinner than cells.
fn fine_limit(grooves: usize, gap_um: f64, distortion: f64) -> Result<[f64; 2], String> {
    let area = PI * (RADII_M[1].powi(2) - RADII_M[0].powi(2));
    let face = Face { grooves, gap_um: gap_um * (1.0 + 0.1 * distortion), ..Face::GABRIEL };
    let on = |fineness| film_of(&face.case(), fineness).map(|film: FilmAlone| [film.force_n + LOW_PA * area, film.leakage_kg_per_s]);
    Ok(beyond(on(Fineness::Normal)?, on(Fineness::Fine)?))
}

/// Value towards which two of first order tend, the second twice as near.
fn beyond(far: [f64; 2], near: [f64; 2]) -> [f64; 2] {
    [2.0 * near[0] - far[0], 2.0 * near[1] - far[1]]
}
