//! Gas films against closed forms, an independent solution and themselves.

use std::f64::consts::{PI, TAU};

use halfmicron_numerics::reynolds::{Edges, Film, Fluid, Grid, Motion, Problem, Solution, Stretch, graded_lines, solve};

const GAS: f64 = 287.05 * 300.0;

fn ideal(_: usize, p: f64) -> (f64, f64) {
    (p / GAS, 1.0 / GAS)
}

/// Twelve spiral grooves, inner radius 58.42 mm, outer 77.78 mm, grooved outside 69 mm, 15 degrees, 5 um deep.
struct Spiral {
    grid: Grid,
    film: Film,
}

impl Spiral {
    fn new(land_m: f64, rows: usize, columns: usize, grooves: usize) -> Spiral {
        let (inner, groove, outer) = (58.42e-3, 69e-3, 77.78e-3);
        let dam = rows * 2 / 5;
        let stretches = [
            Stretch { end: f64::ln(groove), cells: dam, grade_start: 1.0, grade_end: 2.0 },
            Stretch { end: f64::ln(outer), cells: rows - dam, grade_start: 2.0, grade_end: 2.0 },
        ];
        let mut radii: Vec<f64> = graded_lines(f64::ln(inner), &stretches).iter().map(|s| s.exp()).collect();
        radii[dam] = groove;
        let pitch = TAU / grooves as f64;
        let half = |end| Stretch { end, cells: columns / 2, grade_start: 2.0, grade_end: 2.0 };
        let angles = graded_lines(0.0, &[half(0.5 * pitch), half(pitch)]);
        let tangent = f64::to_radians(15.0).tan();
        let shift: Vec<f64> = radii.iter().map(|r| (r / groove).max(1.0).ln() / tangent).collect();
        let grid = Grid::polar(&radii, &angles, &shift, grooves, true).unwrap();
        let mut gap = vec![land_m; grid.cells()];
        for i in dam..rows {
            for j in 0..columns / 2 {
                gap[grid.cell(i, j)] += 5e-6;
            }
        }
        Spiral { grid, film: Film::laminar(gap, 1.8e-5) }
    }

    fn problem(&self, speed: f64) -> Problem<'_> {
        Problem {
            grid: &self.grid,
            film: &self.film,
            motion: Motion { mean: 0.5 * speed, sliding: speed, spin: 0.0 },
            edges: Edges::ring(101_325.0, 4.5852e6),
            fluid: Fluid::Gas { density: &ideal, flow_factor: None },
        }
    }

    fn solve(&self, speed: f64) -> Solution {
        solve(&self.problem(speed), None).unwrap()
    }
}

#[test]
fn explore() {
    let w = 1086.991;
    for speed in [-w, w, 0.0] {
        for n in [1, 2, 4] {
            let spiral = Spiral::new(3e-6, 50 * n, 30 * n, 12);
            let solution = spiral.solve(speed);
            let t = &solution.totals;
            println!("{speed} {n} F {:.3} m {:.6} g/s pmax {:.4e} balance {:.1e} {:?} K {:.5e}", t.force_n, t.inner_flow_kg_per_s * 1e3, t.greatest_pressure_pa, t.mass_balance, solution.work, solution.coefficients(&spiral.problem(speed), 0.0).unwrap().stiffness[0][0]);
        }
    }
    let _ = PI;
}
