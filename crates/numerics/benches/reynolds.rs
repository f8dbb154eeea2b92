//! Two-dimensional films: spiral grooves in gas, waves in a cavitating liquid, cold unless said.

use std::f64::consts::TAU;

use divan::{Bencher, black_box};
use faer::Par;
use halfmicron_numerics::reynolds::{Edges, Film, Fluid, Grid, Motion, Problem, Solution, Stretch, graded_lines, solve, solve_near};

fn main() {
    faer::set_global_parallelism(Par::Seq);
    divan::main();
}

fn ideal(_: usize, p: f64) -> (f64, f64) {
    (p / 86_115.0, 1.0 / 86_115.0)
}

struct Case {
    grid: Grid,
    film: Film,
    density: Option<Vec<f64>>,
}

impl Case {
    /// One of twelve spiral grooves, or all of them under a tilt (rad).
    fn spiral(rows: usize, columns: usize, whole: bool, tilt: f64) -> Case {
        let (inner, groove, outer) = (58.42e-3, 69e-3, 77.78e-3);
        let dam = rows * 2 / 5;
        let stretch = |end, cells, grade_start, grade_end| Stretch { end, cells, grade_start, grade_end };
        let radii: Vec<f64> =
            graded_lines(f64::ln(inner), &[stretch(f64::ln(groove), dam, 1.0, 2.0), stretch(f64::ln(outer), rows - dam, 2.0, 2.0)])
                .iter()
                .map(|s| s.exp())
                .collect();
        let pitch = TAU / 12.0;
        let sectors = if whole { 1 } else { 12 };
        let halves: Vec<Stretch> = (1..=24 / sectors).map(|k| stretch(0.5 * k as f64 * pitch, columns * sectors / 24, 1.5, 1.5)).collect();
        let mut angles = graded_lines(0.0, &halves);
        if let Some(last) = angles.last_mut() {
            *last = TAU / sectors as f64;
        }
        let tangent = f64::to_radians(15.0).tan();
        let shift: Vec<f64> = radii.iter().map(|r| (r / groove).max(1.0).ln() / tangent).collect();
        let grid = Grid::polar(&radii, &angles, &shift, sectors, true).expect("grid");
        let mut gap = grid.cell_values(|r, angle| 3e-6 + tilt * r * angle.sin());
        let half = columns * sectors / 24;
        for i in dam..rows {
            for j in 0..columns {
                if (j / half).is_multiple_of(2) {
                    gap[grid.cell(i, j)] += 5e-6;
                }
            }
        }
        Case { grid, film: Film::laminar(gap, 1.8e-5), density: None }
    }

    fn waves(rows: usize, columns: usize, gap: f64) -> Case {
        let lines = |from: f64, to: f64, n: usize| -> Vec<f64> { (0..=n).map(|k| from + (to - from) * k as f64 / n as f64).collect() };
        let radii: Vec<f64> = lines(f64::ln(24.45e-3), f64::ln(30.80e-3), rows).iter().map(|s| s.exp()).collect();
        let grid = Grid::polar(&radii, &lines(0.0, TAU, columns), &[], 1, true).expect("grid");
        let film = Film::laminar(grid.cell_values(|_, angle| gap + 0.5e-6 * (9.0 * angle).cos()), 1e-3);
        let density = Some(vec![1000.0; grid.cells()]);
        Case { grid, film, density }
    }

    fn problem(&self) -> Problem<'_> {
        match &self.density {
            None => Problem {
                grid: &self.grid,
                film: &self.film,
                motion: Motion { mean: -543.5, sliding: -1087.0, spin: 0.0 },
                edges: Edges::ring(101_325.0, 4.5852e6),
                fluid: Fluid::Gas { density: &ideal, flow_factor: None },
            },
            Some(density) => Problem {
                grid: &self.grid,
                film: &self.film,
                motion: Motion { mean: 157.08, sliding: 314.159, spin: 0.0 },
                edges: Edges::ring(0.1e6, 1.1e6),
                fluid: Fluid::Liquid { density_kg_per_m3: density, cavitation_pressure_pa: 0.0 },
            },
        }
    }

    fn solve(&self) -> Solution {
        solve(&self.problem(), None).expect("film")
    }
}

#[divan::bench(args = [(100, 60), (400, 200)])]
fn gas_sector_with_axial_stiffness(bencher: Bencher, (rows, columns): (usize, usize)) {
    let case = Case::spiral(rows, columns, false, 0.0);
    bencher.bench_local(|| {
        let solution = case.solve();
        black_box(solution.axial_coefficients(&case.problem(), 0.0).expect("stiffness"))
    });
}

#[divan::bench(args = [(100, 60), (400, 200)])]
fn gas_sector(bencher: Bencher, (rows, columns): (usize, usize)) {
    let case = Case::spiral(rows, columns, false, 0.0);
    bencher.bench_local(|| black_box(case.solve()));
}

#[divan::bench(args = [(100, 60), (400, 200)])]
fn gas_sector_all_coefficients_at_a_frequency(bencher: Bencher, (rows, columns): (usize, usize)) {
    let case = Case::spiral(rows, columns, false, 0.0);
    bencher
        .with_inputs(|| case.solve())
        .bench_local_refs(|solution| black_box(solution.coefficients(&case.problem(), 1087.0).expect("coefficients")));
}

#[divan::bench(args = [(100, 60), (400, 200)])]
fn gas_sector_all_coefficients(bencher: Bencher, (rows, columns): (usize, usize)) {
    let case = Case::spiral(rows, columns, false, 0.0);
    bencher
        .with_inputs(|| case.solve())
        .bench_local_refs(|solution| black_box(solution.coefficients(&case.problem(), 0.0).expect("coefficients")));
}

#[divan::bench]
fn gas_ring_tilted(bencher: Bencher) {
    let case = Case::spiral(100, 720, true, 8e-6);
    bencher.bench_local(|| black_box(case.solve()));
}

#[divan::bench(args = [(40, 360), (80, 720)])]
fn cavitation(bencher: Bencher, (rows, columns): (usize, usize)) {
    let case = Case::waves(rows, columns, 1e-6);
    bencher.bench_local(|| black_box(case.solve()));
}

#[divan::bench(args = [(40, 360), (80, 720)])]
fn cavitation_after_a_percent_more_gap(bencher: Bencher, (rows, columns): (usize, usize)) {
    let start = Case::waves(rows, columns, 1e-6).solve();
    let case = Case::waves(rows, columns, 1.01e-6);
    bencher.bench_local(|| black_box(solve_near(&case.problem(), &start).expect("film")));
}

#[divan::bench(args = [(40, 360), (80, 720)])]
fn cavitation_all_coefficients(bencher: Bencher, (rows, columns): (usize, usize)) {
    let case = Case::waves(rows, columns, 1e-6);
    bencher
        .with_inputs(|| case.solve())
        .bench_local_refs(|solution| black_box(solution.coefficients(&case.problem(), 0.0).expect("coefficients")));
}
