//! C7: full journal bearing, the classical table, by the two-dimensional film.

use std::f64::consts::TAU;

use halfmicron_numerics::reynolds::{Edge, Edges, Film, Fluid, Grid, Motion, Problem, solve};

use crate::{Check, Kind, Quantity};

/// Bearing number and attitude angle.
pub const CHECK: Check = Check {
    id: "C7",
    title: "Full journal bearing: bearing number and attitude angle over eccentricity",
    source: "Raimondi and Boyd, ASLE Trans. 1 (1958) 159-209, tables for L/D 1 and 0.5, recalled and confirmed by an independent \
             finite-volume program",
    kind: Kind::Proof,
    from_memory: true,
    models: &["film.field"],
    run,
};

/// L/D, eccentricity ratio, S = mu N/P (R/c)^2, attitude angle, degrees.
const ROWS: [(f64, f64, f64, f64); 5] =
    [(1.0, 0.4, 0.264, 63.10), (1.0, 0.8, 0.0446, 36.24), (1.0, 0.9, 0.0188, 26.45), (0.5, 0.6, 0.319, 48.14), (0.5, 0.8, 0.0923, 33.31)];

const ACROSS: usize = 24;
const ALONG: usize = 240;

fn run(distortion: f64) -> Vec<Quantity> {
    let mut lines = Vec::new();
    for (slenderness, eccentricity, number, attitude) in ROWS {
        let bearing = journal(slenderness, eccentricity - 0.08 * distortion);
        let name = |what: &str| format!("{what}, L/D {slenderness}, eccentricity {eccentricity}");
        let part = |index: usize| bearing.as_ref().map(|found| found[index]).map_err(Clone::clone);
        lines.push(Quantity::relative(name("bearing number"), "", number, part(0), 2e-2, "3 digits printed, and the table's own grid"));
        lines.push(Quantity::absolute(name("attitude angle"), "deg", attitude, part(1), 0.8, "the table's own grid"));
    }
    lines
}

/// Bearing number and attitude angle; radius, clearance, viscosity and surface speed are one, half of the length is solved.
fn journal(slenderness: f64, eccentricity: f64) -> Result<[f64; 2], String> {
    let lines = |to: f64, cells: usize| -> Vec<f64> { (0..=cells).map(|k| to * k as f64 / cells as f64).collect() };
    let words = |error: &dyn std::fmt::Display| error.to_string();
    let grid = Grid::plane(&lines(slenderness, ACROSS), &lines(TAU, ALONG), false).map_err(|error| words(&error))?;
    let film = Film::laminar(grid.cell_values(|_, angle| 1.0 + eccentricity * angle.cos()), 1.0);
    let density = vec![1.0; grid.cells()];
    let problem = Problem {
        grid: &grid,
        film: &film,
        motion: Motion { mean: 0.5, sliding: 1.0, spin: 0.0 },
        edges: Edges { inner: Edge::Pressure(0.0), outer: Edge::Closed, ends: [Edge::Pressure(0.0); 2] },
        fluid: Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: 0.0 },
    };
    let solution = solve(&problem, None).map_err(|error| words(&error))?;
    let (mut along, mut across) = (0.0, 0.0);
    for i in 0..=ACROSS {
        let weight = if i == 0 || i == ACROSS { 0.5 } else { 1.0 } * slenderness / ACROSS as f64 * TAU / ALONG as f64;
        for j in 0..ALONG {
            let angle = TAU * j as f64 / ALONG as f64;
            let pressure = solution.field.pressure_pa[grid.node(i, j)];
            along -= weight * pressure * angle.cos();
            across += weight * pressure * angle.sin();
        }
    }
    // S = mu N L D/W (R/c)^2 with U = 2 pi R N.
    let load = 2.0 * along.hypot(across);
    Ok([4.0 * slenderness / (TAU * load), across.atan2(along).to_degrees()])
}
