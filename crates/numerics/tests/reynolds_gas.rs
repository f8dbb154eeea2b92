//! Gas films against closed forms, an independent solution and themselves.

use std::f64::consts::TAU;

use halfmicron_numerics::reynolds::{
    Edges, Film, FilmError, Fluid, Grid, GridStudy, Motion, Problem, Solution, Stretch, Tracked, graded_lines, solve, solve_near,
};

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
        let half = |end| Stretch { end, cells: columns / 2, grade_start: 1.5, grade_end: 1.5 };
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

fn assert_near(got: f64, expected: f64, relative: f64) {
    assert!((got - expected).abs() <= relative * expected.abs(), "{got:.10e} instead of {expected:.10e}");
}

const SPEED: f64 = 1086.991;

/// The stored values come from an independent quadratic finite-element program.
#[test]
fn twelve_spiral_grooves_agree_with_an_independent_solution() {
    for (land, force, flow, greatest, stiffness) in [
        (2e-6, 35_835.0, 0.232_19, 6.147e6, 6.656e9),
        (3e-6, 31_755.0, 0.559_24, 4.832e6, 2.355e9),
        (5e-6, 29_446.0, 2.083_27, 4.585e6, 5.331e8),
    ] {
        let spiral = Spiral::new(land, 100, 60, 12);
        let solution = spiral.solve(-SPEED);
        let totals = &solution.totals;
        assert_near(totals.force_n, force, 1.5e-3);
        assert_near(totals.inner_flow_kg_per_s, flow * 1e-3, 2.5e-3);
        assert_near(totals.greatest_pressure_pa, greatest, 6e-3);
        let axial = solution.axial_coefficients(&spiral.problem(-SPEED), 0.0).unwrap();
        assert_near(axial.stiffness[0][0], stiffness, 2e-2);
        assert!(totals.mass_balance <= 1e-12, "{:e}", totals.mass_balance);
    }
}

#[test]
fn at_rest_and_backwards_too() {
    let spiral = Spiral::new(3e-6, 100, 60, 12);
    let rest = spiral.solve(0.0).totals;
    assert_near(rest.force_n, 29_506.0, 1e-3);
    assert_near(rest.inner_flow_kg_per_s, 0.452_43e-3, 2e-3);
    let back = spiral.solve(SPEED).totals;
    assert_near(back.force_n, 27_327.0, 2e-3);
    assert_near(back.inner_flow_kg_per_s, 0.363_03e-3, 5e-3);
}

/// Lines along the grooves are sheared by nearly four: with quadrature blended for orthogonal lines the error was twenty times this.
#[test]
fn force_on_a_hundred_by_sixty_cells_is_within_a_hundred_thousandth() {
    let force = [1, 2, 4].map(|n| Spiral::new(3e-6, 50 * n, 30 * n, 12).solve(-SPEED).totals.force_n);
    let study = GridStudy::new(force);
    assert!(force[..2].iter().all(|force| (force / study.extrapolated - 1.0).abs() < 1e-5), "{study:?}");
}

/// More grooves tend to the homogenised limit of infinitely many (31 883.738 N, 0.569 939 61 g/s).
#[test]
fn many_grooves_tend_to_the_narrow_groove_limit() {
    let [some, more] = [48, 192].map(|grooves| Spiral::new(3e-6, 120, 40, grooves).solve(-SPEED).totals);
    assert_near(some.force_n, 31_825.8, 5e-4);
    assert_near(some.inner_flow_kg_per_s, 0.566_32e-3, 1e-3);
    assert_near(more.force_n, 31_867.0, 5e-4);
    assert_near(more.inner_flow_kg_per_s, 0.569_02e-3, 1e-3);
    let (limit, flow) = (31_883.738, 0.569_939_61e-3);
    let ratio = (limit - some.force_n) / (limit - more.force_n);
    assert!((2.5..6.0).contains(&ratio), "{ratio}");
    assert!(more.inner_flow_kg_per_s < flow);
}

#[test]
fn nested_grids_leave_little_to_the_finest() {
    let solution = Spiral::new(3e-6, 100, 60, 12).solve(-SPEED);
    let finest = solution.work.levels.last().unwrap();
    assert_eq!(finest.unknowns, 99 * 60);
    assert!(finest.iterations <= 7, "{:?}", solution.work);
    assert!(solution.work.factorisations <= 7, "{:?}", solution.work);
    // From its own solution a film needs no iteration but the one that brings its factors.
    let spiral = Spiral::new(3e-6, 100, 60, 12);
    let again = halfmicron_numerics::reynolds::solve(&spiral.problem(-SPEED), Some(&solution.field)).unwrap();
    assert!(again.work.levels[0].iterations <= 2, "{:?}", again.work);
}

#[test]
fn a_tracked_film_is_the_solved_one() {
    let first = Spiral::new(3e-6, 20, 16, 12).solve(SPEED);
    let narrower = Spiral::new(2.9e-6, 20, 16, 12);
    let (problem, solved) = (narrower.problem(SPEED), narrower.solve(SPEED));
    let mut tracked = Tracked::from(&first);
    let before = tracked.correct(&problem).unwrap();
    tracked.settle(&problem).unwrap();
    assert!(before > 1e-4 && tracked.correct(&problem).unwrap() < 1e-12);
    assert!(tracked.steps() < 16, "{}", tracked.steps());
    let profiles = solved.profiles(&problem);
    for (found, expected) in tracked.mean_pressure_pa().iter().zip(&profiles.pressure_pa) {
        assert_near(*found, *expected, 1e-11);
    }
    for (i, found) in tracked.gradient_shear_pa(&problem).iter().enumerate() {
        let expected = 0.5 * (profiles.smooth_shear_pa[i] - profiles.features_shear_pa[i]);
        assert!((found - expected).abs() < 1e-8 * profiles.smooth_shear_pa[i].abs(), "{i}: {found} {expected}");
    }
    assert_near(tracked.outer_flow_kg_per_s(&problem).unwrap(), solved.totals.outer_flow_kg_per_s, 1e-10);
    let finished = tracked.finish(&problem).unwrap();
    assert_near(finished.totals.force_n, solved.totals.force_n, 1e-11);
    assert!(finished.totals.mass_balance < 1e-12, "{:e}", finished.totals.mass_balance);
    // Slopes come from factors of its own matrix, not from those it was tracked with.
    let stiffness = |solution: &Solution| solution.axial_coefficients(&problem, 0.0).unwrap().stiffness[0][0];
    assert_near(stiffness(&finished), stiffness(&solved), 1e-9);
    assert_near(solve_near(&problem, &first).unwrap().totals.force_n, solved.totals.force_n, 1e-11);
    let other = Spiral::new(2.9e-6, 16, 16, 12);
    assert!(matches!(Tracked::from(&first).correct(&other.problem(SPEED)), Err(FilmError::Grid { .. })));
    assert!(matches!(solve_near(&problem, &other.solve(SPEED)), Err(FilmError::Length { .. })));
}
