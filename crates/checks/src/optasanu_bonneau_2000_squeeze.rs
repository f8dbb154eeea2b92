//! C4: a squeezed film in which a cavity opens and closes.

use std::f64::consts::PI;

use halfmicron_numerics::reynolds::{Edge, Edges, Field, Film, Fluid, Grid, Motion, Problem, step};

use crate::plane_film::lines;
use crate::section::read;
use crate::{Check, Kind, Quantity};

/// Where the full film ends, over time, and how full the middle is.
pub const CHECK: Check = Check {
    id: "C4",
    title: "Cavity that opens and closes while plates are moved (kernel of the film, in time): end of the full film, fill of the middle",
    source: "problem after Optasanu and Bonneau, J. Tribol. 122 (2000) 114, and Ausas, Jai and Buscaglia, J. Tribol. 131 (2009) 031702, from \
             memory; digits: exact while the cavity grows (sqrt(P H^3/H')), an ordinary differential equation while it fills again",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.field"],
    run,
};

const CELLS: usize = 400;
const START: f64 = 0.245;
const STEP: f64 = 1e-3;
const EDGE: f64 = 0.025;

/// Time and length of the full film beside the edge.
const FRONTS: [(f64, f64); 8] = [
    (0.26, 0.044_807),
    (0.28, 0.027_372),
    (0.30, 0.023_584),
    (0.36, 0.024_111),
    (0.40, 0.026_781),
    (0.50, 0.039_087),
    (0.60, 0.062_777),
    (0.70, 0.176_938),
];
/// Time and fill of the middle.
const FILLS: [(f64, f64); 3] = [(0.40, 0.6044), (0.50, 0.5000), (0.65, 0.7432)];

fn run(distortion: f64) -> Vec<Quantity> {
    let found = squeeze(EDGE * (1.0 + 0.6 * distortion), distortion);
    let at = |time: f64| ((time - START) / STEP).round() as usize;
    let mut quantities = Vec::new();
    for (time, front) in FRONTS {
        let cell = 0.5 / CELLS as f64;
        quantities.push(Quantity::absolute(
            format!("length of the full film at {time}"),
            "",
            front,
            read(&found, |past| past[at(time)][0]),
            0.01 * front + 1.5 * cell,
            "steps of 0.001 in time, and one cell and a half",
        ));
    }
    for (time, fill) in FILLS {
        quantities.push(Quantity::relative(
            format!("fill of the middle at {time}"),
            "",
            fill,
            read(&found, |past| past[at(time)][1]),
            5e-3,
            "steps of 0.001 in time: the film breaks within one",
        ));
    }
    quantities
}

/// Length of the full film and fill of the middle after every step.
fn squeeze(edge: f64, distortion: f64) -> Result<Vec<[f64; 2]>, String> {
    let words = |error: &dyn std::fmt::Display| error.to_string();
    let across = lines(0.0, 0.5, CELLS);
    let grid = Grid::plane(&across, &[0.0, 1.0], false).map_err(|error| words(&error))?;
    let height = |t: f64| 0.125 * (1.0 + 0.1 * distortion) * (4.0 * PI * t).cos() + 0.375;
    // (H^3 P_X)_X = 2 d(theta H)/dt: conductance H^3, and twice the gap is stored.
    let film = |t: f64| {
        let mut film = Film::laminar(vec![2.0 * height(t); grid.cells()], 1.0);
        film.conductance_m3_per_pa_s.fill(height(t).powi(3));
        film
    };
    let density = vec![1.0; grid.cells()];
    let edges = Edges { inner: Edge::Pressure(edge), outer: Edge::Closed, ends: [Edge::Closed; 2] };
    let mut before = film(START);
    let mut field = Field { pressure_pa: vec![edge; grid.nodes()], fill: vec![1.0; grid.nodes()] };
    let mut past = vec![[0.5, 1.0]];
    let last = FRONTS.iter().map(|(time, _)| ((time - START) / STEP).round() as usize).max().unwrap_or_default();
    for k in 1..=last {
        let now = film(START + k as f64 * STEP);
        let fluid = Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: 0.0 };
        let problem = Problem { grid: &grid, film: &now, motion: Motion::default(), edges, fluid };
        field = step(&problem, &field, &before, STEP).map_err(|error| words(&error))?.field;
        before = now;
        let full = (0..=CELLS).position(|i| field.fill[grid.node(i, 0)] < 1.0).map_or(0.5, |line| across[line]);
        past.push([full, field.fill[grid.node(CELLS, 0)]]);
    }
    Ok(past)
}
