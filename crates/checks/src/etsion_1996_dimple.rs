//! C6: one dimple in a square cell of a plane film.

use halfmicron_numerics::reynolds::{Edge, Edges, Film, Fluid, Grid, Motion, Problem, Totals, solve};

use crate::plane_film::lines;
use crate::section::read;
use crate::{Check, Kind, Quantity};

/// Load, greatest pressure and cavity of a dimple.
pub const CHECK: Check = Check {
    id: "C6",
    title: "Spherical-cap dimple in a square cell, a cavity with a curved edge (kernel of the film): load, greatest pressure, torn share, least fill",
    source: "cell of a dimpled face in the manner of Etsion and Burstein, Tribol. Trans. 39 (1996) 677, from memory; digits: an independent \
             finite-volume program on three grids, load -0.04270, -0.04302, -0.04304 N",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.field"],
    run,
};

const SIDE_M: f64 = 1e-3;
const RADIUS_M: f64 = 0.3e-3;
const GAP_M: f64 = 1e-6;
const DEPTH_M: f64 = 5e-6;
const ENDS_PA: f64 = 1e5;
const VISCOSITY_PA_S: f64 = 0.01;
/// Cells along the motion; half as many across one half of the cell, which is symmetric.
const CELLS: usize = 100;
const SAMPLES: usize = 4;

fn run(distortion: f64) -> Vec<Quantity> {
    let cell = dimple(DEPTH_M * (1.0 + 0.4 * distortion), 1.0 + 0.6 * distortion);
    vec![
        Quantity::relative(
            "load above the surroundings",
            "N",
            -0.043_04,
            read(&cell, |t| 2.0 * t.force_n - ENDS_PA * SIDE_M * SIDE_M),
            1e-2,
            "grids of both programs",
        ),
        Quantity::relative("greatest pressure", "Pa", 0.3875e6, read(&cell, |t| t.greatest_pressure_pa), 1.5e-2, "grids of both programs")
            .noted("the peak stands on the kink at the rim of the dimple; finite elements solved apart from both fall to 0.3849 MPa on 200 cells"),
        Quantity::relative(
            "torn share of the cell",
            "",
            0.262,
            read(&cell, |t| t.cavitated_area_m2 / t.area_m2),
            4e-2,
            "half a cell more or less all along the edge of the cavity",
        ),
        Quantity::relative("least fill", "", 0.1682, read(&cell, |t| t.least_fill), 1e-2, "grids of both programs"),
    ]
}

/// Half of the cell; gap and its cube are means over each cell of the grid.
fn dimple(depth: f64, gap_factor: f64) -> Result<Totals, String> {
    let half = CELLS / 2;
    let grid = Grid::plane(&lines(0.0, 0.5 * SIDE_M, half), &lines(0.0, SIDE_M, CELLS), false).map_err(|error| error.to_string())?;
    let place = |cell: usize, sample: usize| (cell as f64 + (sample as f64 + 0.5) / SAMPLES as f64) / CELLS as f64 * SIDE_M;
    let gap = |x: f64, y: f64| {
        let square = ((x - 0.5 * SIDE_M).powi(2) + (y - 0.5 * SIDE_M).powi(2)) / RADIUS_M.powi(2);
        GAP_M * gap_factor + depth * (1.0 - square).max(0.0)
    };
    let mean = |i: usize, j: usize, power: i32| {
        let samples = (0..SAMPLES * SAMPLES).map(|s| gap(place(j, s % SAMPLES), place(i, s / SAMPLES)).powi(power));
        samples.sum::<f64>() / (SAMPLES * SAMPLES) as f64
    };
    let means = |power: i32| -> Vec<f64> { (0..grid.cells()).map(|k| mean(k / CELLS, k % CELLS, power)).collect() };
    let mut film = Film::laminar(means(1), VISCOSITY_PA_S);
    film.conductance_m3_per_pa_s = means(3).into_iter().map(|cube| cube / (12.0 * VISCOSITY_PA_S)).collect();
    let density = vec![1.0; grid.cells()];
    let problem = Problem {
        grid: &grid,
        film: &film,
        motion: Motion { mean: 0.5, sliding: 1.0, spin: 0.0 },
        edges: Edges { inner: Edge::Closed, outer: Edge::Closed, ends: [Edge::Pressure(ENDS_PA); 2] },
        fluid: Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: 0.0 },
    };
    solve(&problem, None).map(|solution| solution.totals).map_err(|error| error.to_string())
}
