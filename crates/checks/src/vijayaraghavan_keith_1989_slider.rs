//! C1: parabolic slider, where the film breaks and forms again.

use halfmicron_numerics::reynolds::{Edge, Edges, Film, Fluid, Grid, Motion, Problem, Solution, solve};

use crate::{Check, Kind, Quantity};

/// Flow, load, greatest pressure and both ends of the cavity.
pub const CHECK: Check = Check {
    id: "C1",
    title: "Parabolic slider, cavity that conserves mass: flow, load, greatest pressure, rupture and reformation",
    source: "geometry: Vijayaraghavan and Keith, Tribol. Trans. 32 (1989) 225, from memory; digits: exact, flows before, in and behind the cavity \
             matched by quadrature",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.field"],
    run,
};

const LENGTH_M: f64 = 76.2e-3;
const CELLS: usize = 800;

/// Pressure at both ends, Pa, flow, m2/s, load, N/m, greatest pressure, Pa, rupture and reformation, m.
const ROWS: [(f64, f64, f64, f64, f64, f64); 2] = [
    (101_325.0, 6.557_989_4e-5, 104_640.968, 3.666_656_4e6, 51.833_349e-3, 75.640_762e-3),
    (1e6, 6.652_698_7e-5, 136_482.570, 4.341_704_5e6, 52.670_263e-3, 70.739_954e-3),
];

fn run(distortion: f64) -> Vec<Quantity> {
    let mut lines = Vec::new();
    for (ends_pa, flow, load, greatest, rupture, reformation) in ROWS {
        let found = slider(ends_pa, 25.4e-6 * (1.0 + 0.1 * distortion), 1.0 + distortion);
        let name = |what: &str| format!("{what}, {ends_pa} Pa at both ends");
        let total = |value: fn(&Solution) -> f64| found.as_ref().map(|(solution, _)| value(solution)).map_err(Clone::clone);
        let place = |index: usize| found.as_ref().map(|(_, cavity)| cavity[index]).map_err(Clone::clone);
        let cell = LENGTH_M / CELLS as f64;
        lines.extend([
            Quantity::relative(name("flow"), "m2/s", flow, total(|s| s.totals.end_flows_kg_per_s[0]), 1e-4, "800 cells"),
            Quantity::relative(name("load"), "N/m", load, total(|s| s.totals.force_n), 1e-3, "800 cells"),
            Quantity::relative(name("greatest pressure"), "Pa", greatest, total(|s| s.totals.greatest_pressure_pa), 1e-3, "800 cells"),
            Quantity::absolute(name("rupture"), "m", rupture, place(0), 1.5 * cell, "one cell and a half"),
            Quantity::absolute(name("reformation"), "m", reformation, place(1), 1.5 * cell, "one cell and a half"),
        ]);
    }
    lines
}

/// Solution of a strip one metre deep without side flow, and where its cavity begins and ends.
fn slider(ends_pa: f64, least_gap_m: f64, curve: f64) -> Result<(Solution, [f64; 2]), String> {
    let along: Vec<f64> = (0..=CELLS).map(|k| LENGTH_M * k as f64 / CELLS as f64).collect();
    let grid = Grid::plane(&[0.0, 0.5, 1.0], &along, false).map_err(|error| error.to_string())?;
    let film = Film::laminar(grid.cell_values(|_, x| least_gap_m * (1.0 + curve * (2.0 * x / LENGTH_M - 1.0).powi(2))), 0.039);
    let density = vec![1.0; grid.cells()];
    let problem = Problem {
        grid: &grid,
        film: &film,
        motion: Motion { mean: 0.5 * 4.57, sliding: 4.57, spin: 0.0 },
        edges: Edges { inner: Edge::Closed, outer: Edge::Closed, ends: [Edge::Pressure(ends_pa); 2] },
        fluid: Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: 0.0 },
    };
    let solution = solve(&problem, None).map_err(|error| error.to_string())?;
    let fill = &solution.field.fill[..along.len()];
    let first = fill.iter().position(|fill| *fill < 1.0).ok_or("no cavity")?;
    let last = fill.iter().rposition(|fill| *fill < 1.0).ok_or("no cavity")?;
    let cavity = [along[first], along[last]];
    Ok((solution, cavity))
}
