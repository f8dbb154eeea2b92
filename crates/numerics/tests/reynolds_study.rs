//! How three films come nearer with the grid. `cargo test -p halfmicron-numerics --test reynolds_study -- --nocapture` prints the tables.

use std::f64::consts::TAU;

use halfmicron_numerics::reynolds::{Edge, Edges, Film, Fluid, Grid, GridStudy, Motion, Problem, Totals, solve};

fn uniform(from: f64, to: f64, cells: usize) -> Vec<f64> {
    (0..=cells).map(|k| from + (to - from) * k as f64 / cells as f64).collect()
}

/// Twelve spiral grooves, 3 um over the lands, on equal cells in the logarithm of the radius and in the angle.
fn spiral_grooves(n: usize) -> Totals {
    let [inner, groove, outer] = [58.42e-3, 69e-3, 77.78e-3];
    let (dam, grooved, wall) = (14 * n, 10 * n, 6 * n);
    let mut logs = uniform(f64::ln(inner), f64::ln(groove), dam);
    logs.extend(&uniform(f64::ln(groove), f64::ln(outer), grooved)[1..]);
    let radii: Vec<f64> = logs.iter().map(|s| s.exp()).collect();
    let shift: Vec<f64> = radii.iter().map(|r| (r / groove).max(1.0).ln() / f64::to_radians(15.0).tan()).collect();
    let grid = Grid::polar(&radii, &uniform(0.0, TAU / 12.0, 2 * wall), &shift, 12, true).unwrap();
    let in_groove = |cell: usize| cell / (2 * wall) >= dam && cell % (2 * wall) < wall;
    let gap = (0..grid.cells()).map(|cell| if in_groove(cell) { 8e-6 } else { 3e-6 }).collect();
    let film = Film::laminar(gap, 1.8e-5);
    let density = |_: usize, p: f64| (p / 86_115.0, 1.0 / 86_115.0);
    let motion = Motion { mean: -0.5 * 1_086.991, sliding: -1_086.991, spin: 0.0 };
    let fluid = Fluid::Gas { density: &density, flow_factor: None };
    solve(&Problem { grid: &grid, film: &film, motion, edges: Edges::ring(101_325.0, 4.5852e6), fluid }, None).unwrap().totals
}

fn torn(grid: &Grid, film: &Film, motion: Motion, edges: Edges) -> Totals {
    let density = vec![1.0; grid.cells()];
    let fluid = Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: 0.0 };
    solve(&Problem { grid, film, motion, edges, fluid }, None).unwrap().totals
}

/// One of nine waves round a face.
fn wavy_face(n: usize) -> Totals {
    let radii: Vec<f64> = uniform(f64::ln(24.45e-3), f64::ln(30.80e-3), 10 * n).iter().map(|s| s.exp()).collect();
    let grid = Grid::polar(&radii, &uniform(0.0, TAU / 9.0, 40 * n), &[], 9, true).unwrap();
    let film = Film::laminar(grid.cell_values(|_, angle| 1e-6 + 0.5e-6 * (9.0 * angle).cos()), 1e-3);
    torn(&grid, &film, Motion { mean: 0.5 * 314.159, sliding: 314.159, spin: 0.0 }, Edges::ring(0.1e6, 1.1e6))
}

/// Half of a square cell with a spherical cap in its middle; gap and its cube are means over each cell of the grid.
fn dimple(n: usize) -> Totals {
    let (cells, side) = (25 * n, 1e-3);
    let half = cells / 2;
    let grid = Grid::plane(&uniform(0.0, 0.5 * side, half), &uniform(0.0, side, cells), false).unwrap();
    let (mut gap, mut cube) = (Vec::new(), Vec::new());
    for i in 0..half {
        for j in 0..cells {
            let place = |k: usize, part: usize| (k as f64 + (part as f64 + 0.5) / 8.0) / cells as f64 * side - 0.5 * side;
            let (mut mean, mut third) = (0.0, 0.0);
            for sample in 0..64 {
                let square = (place(i, sample / 8).powi(2) + place(j, sample % 8).powi(2)) / 0.3e-3_f64.powi(2);
                let h = 1e-6 + 5e-6 * (1.0 - square).max(0.0);
                mean += h / 64.0;
                third += h.powi(3) / 64.0;
            }
            gap.push(mean);
            cube.push(third / 0.12);
        }
    }
    let film = Film { conductance_m3_per_pa_s: cube, ..Film::laminar(gap, 0.01) };
    let edges = Edges { inner: Edge::Closed, outer: Edge::Closed, ends: [Edge::Pressure(1e5); 2] };
    torn(&grid, &film, Motion { mean: 0.5, sliding: 1.0, spin: 0.0 }, edges)
}

type Quantity = (&'static str, fn(&Totals) -> f64);

/// Prints one row a quantity; returns their studies.
fn table<const Q: usize>(title: &str, grids: [&str; 3], films: [Totals; 3], quantities: [Quantity; Q]) -> [GridStudy; Q] {
    println!("{title}\n  {:24} {:>16} {:>16} {:>16} {:>7} {:>16}", "", grids[0], grids[1], grids[2], "order", "Richardson");
    quantities.map(|(name, of)| {
        let values = [0, 1, 2].map(|k| of(&films[k]));
        let study = GridStudy::new(values);
        let order = study.order.map_or("-".to_owned(), |order| format!("{order:.2}"));
        println!("  {name:24} {:16.8e} {:16.8e} {:16.8e} {order:>7} {:16.8e}", values[0], values[1], values[2], study.extrapolated);
        study
    })
}

#[test]
fn forces_tend_to_those_of_independent_programs_as_the_grid_is_refined() {
    let [force, flow, _] = table(
        "G1, spiral grooves, gas",
        ["48 x 24", "96 x 48", "192 x 96"],
        [2, 4, 8].map(spiral_grooves),
        [("force N", |t| t.force_n), ("leakage kg/s", |t| t.inner_flow_kg_per_s), ("greatest pressure Pa", |t| t.greatest_pressure_pa)],
    );
    assert!((force.extrapolated / 31_755.0 - 1.0).abs() < 3e-4, "{force:?}");
    assert!((flow.extrapolated / 0.559_24e-3 - 1.0).abs() < 5e-4, "{flow:?}");
    let [force, flow, torn] = table(
        "C5, nine waves, liquid with cavities",
        ["20 x 80", "40 x 160", "80 x 320"],
        [2, 4, 8].map(wavy_face),
        [("force N", |t| t.force_n), ("leakage kg/s", |t| t.inner_flow_kg_per_s), ("torn share", |t| t.cavitated_area_m2 / t.area_m2)],
    );
    assert!((force.extrapolated / 3_753.0 - 1.0).abs() < 3e-4, "{force:?}");
    assert!(force.order.is_some_and(|order| (1.5..2.6).contains(&order)), "{force:?}");
    assert!(flow.error < 1e-10 * flow.extrapolated, "the mean over a whole wave is exact: {flow:?}");
    assert!((torn.extrapolated - 0.635).abs() < 0.006, "{torn:?}");
    let [load, greatest, torn] = table(
        "C6, dimple, liquid with a cavity",
        ["25 x 50", "50 x 100", "100 x 200"],
        [2, 4, 8].map(dimple),
        [
            ("load N", |t| 2.0 * t.force_n - 0.1),
            ("greatest pressure Pa", |t| t.greatest_pressure_pa),
            ("torn share", |t| t.cavitated_area_m2 / t.area_m2),
        ],
    );
    assert!((load.extrapolated / -0.043_04 - 1.0).abs() < 5e-3, "{load:?}");
    assert!((greatest.extrapolated / 0.3875e6 - 1.0).abs() < 1e-2, "a peak at the rim, where the gap has a kink: {greatest:?}");
    assert!((torn.extrapolated / 0.262 - 1.0).abs() < 3e-2, "{torn:?}");
}
