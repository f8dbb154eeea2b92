//! Stiffness and damping against closed forms, finite differences and other grids.

use std::f64::consts::{PI, TAU};

use faer::c64;
use halfmicron_numerics::reynolds::{Coefficients, Edge, Edges, Film, Fluid, Grid, Motion, Problem, Solution, solve, step};

fn assert_near(got: f64, expected: f64, relative: f64) {
    assert!((got - expected).abs() <= relative * expected.abs(), "{got:.10e} instead of {expected:.10e}");
}

fn uniform(from: f64, to: f64, cells: usize) -> Vec<f64> {
    (0..=cells).map(|k| from + (to - from) * k as f64 / cells as f64).collect()
}

fn gas(_: usize, p: f64) -> (f64, f64) {
    (p / 86_115.0, 1.0 / 86_115.0)
}

struct Case {
    grid: Grid,
    film: Film,
    motion: Motion,
    edges: Edges,
    liquid: Option<Vec<f64>>,
}

impl Case {
    fn problem(&self) -> Problem<'_> {
        let fluid = match &self.liquid {
            Some(density) => Fluid::Liquid { density_kg_per_m3: density, cavitation_pressure_pa: 0.0 },
            None => Fluid::Gas { density: &gas, flow_factor: None },
        };
        Problem { grid: &self.grid, film: &self.film, motion: self.motion, edges: self.edges, fluid }
    }

    fn solve(&self) -> Solution {
        solve(&self.problem(), None).unwrap()
    }

    fn coefficients(&self, frequency: f64) -> Coefficients {
        self.solve().coefficients(&self.problem(), frequency).unwrap()
    }

    /// The same with gaps and conductances of another distance of the faces.
    fn moved(&self, viscosity: f64, by: impl Fn(f64, f64) -> f64) -> Case {
        let change = self.grid.cell_values(by);
        let gap: Vec<f64> = self.film.gap_m.iter().zip(&change).map(|(h, d)| h + d).collect();
        Case { film: Film::laminar(gap, viscosity), grid: self.grid.clone(), liquid: self.liquid.clone(), ..*self }
    }
}

const MU: f64 = 1e-3;

/// Coned face that opens outwards, liquid outside at 2 MPa.
fn coned(inner: f64, outer: f64, cells: [usize; 2], sectors: usize, cone: f64) -> Case {
    let grid = Grid::polar(&uniform(inner, outer, cells[0]), &uniform(0.0, TAU / sectors as f64, cells[1]), &[], sectors, true).unwrap();
    let film = Film::laminar(grid.cell_values(|r, _| 1e-6 + cone * (r - inner)), MU);
    let liquid = Some(vec![1000.0; grid.cells()]);
    Case { grid, film, motion: Motion::of_faces(314.159, 0.0).without_spin(), edges: Edges::ring(1e5, 2.1e6), liquid }
}

#[test]
fn coned_faces_answer_as_the_narrow_closed_form_says() {
    for (inner, outer, tolerance) in [(24.45e-3, 30.80e-3, 0.08), (30.0e-3, 30.3e-3, 6e-3)] {
        let (width, mean) = (outer - inner, 0.5 * (inner + outer));
        for slope in [0.635, 1.27] {
            let cone = slope * 1e-6 / width;
            let case = coned(inner, outer, [100, 24], 3, cone);
            let got = case.coefficients(0.0);
            let shape = ((1.0 + slope).ln() - 2.0 * slope / (2.0 + slope)) / slope.powi(3);
            let bottom = (2e-6 + slope * 1e-6_f64).powi(2);
            let axial = TAU * mean * width * 2e6 * slope * 1e-6 / bottom;
            let tilt = PI * mean * mean * width * width * 2e6 * (cone * inner - 1e-6) / bottom;
            let axial_damping = 24.0 * PI * mean * MU * width.powi(3) * shape / 1e-18;
            let tilt_damping = 12.0 * PI * mean.powi(3) * MU * width.powi(3) * shape / 1e-18;
            assert_near(got.stiffness[0][0], axial, tolerance);
            if tolerance > 0.01 {
                assert_near(got.stiffness[1][1], tilt, 0.12);
            }
            assert_near(got.damping[0][0], axial_damping, tolerance);
            assert_near(got.damping[1][1], tilt_damping, tolerance);
            // Shear drives the tilted gap round: half the speed times the damping.
            assert_near(got.stiffness[1][2].abs(), 0.5 * 314.159 * got.damping[1][1], 1e-3);
            assert_eq!(got.stiffness[1][2], -got.stiffness[2][1]);
        }
    }
}

/// Wavy gas face in a strongly dragged film, on nine sectors or whole.
fn wavy_gas(sectors: usize, tilt: [f64; 2]) -> Case {
    let radii: Vec<f64> = uniform(f64::ln(58e-3), f64::ln(78e-3), 16).iter().map(|s| s.exp()).collect();
    let shift: Vec<f64> = radii.iter().map(|r| 0.7 * (r / 58e-3).ln()).collect();
    let grid = Grid::polar(&radii, &uniform(0.0, TAU / sectors as f64, 162 / sectors), &shift, sectors, true).unwrap();
    let gap = |r: f64, angle: f64| {
        let spiral = angle - 0.7 * (r / 58e-3).ln();
        3e-6 + 1e-6 * (9.0 * spiral).cos() + tilt[0] * r * angle.sin() - tilt[1] * r * angle.cos()
    };
    let film = Film::laminar(grid.cell_values(gap), 1.8e-5);
    Case { grid, film, motion: Motion { mean: 500.0, sliding: 1000.0, spin: 1e6 }, edges: Edges::ring(1e5, 5e5), liquid: None }
}

#[test]
fn one_sector_answers_tilts_like_the_whole_ring() {
    for frequency in [0.0, 2000.0] {
        let sector = wavy_gas(9, [0.0; 2]).coefficients(frequency);
        let ring = wavy_gas(1, [0.0; 2]).coefficients(frequency);
        let size = ring.stiffness[1][1].abs();
        for (row, column) in [(1, 1), (1, 2), (2, 1), (2, 2)] {
            assert!((sector.stiffness[row][column] - ring.stiffness[row][column]).abs() < 1e-7 * size);
            assert!((sector.damping[row][column] - ring.damping[row][column]).abs() < 1e-7 * ring.damping[1][1].abs());
        }
        assert_near(sector.stiffness[0][0], ring.stiffness[0][0], 1e-8);
        assert_near(sector.damping[0][0], ring.damping[0][0], 1e-8);
        assert!(ring.stiffness[0][1].abs() < 1e-6 * ring.stiffness[0][0].abs());
    }
}

#[test]
fn stiffness_of_a_tilted_gas_film_is_the_slope_of_its_forces() {
    let tilt = [8e-6, -5e-6];
    let case = wavy_gas(1, tilt);
    let got = case.coefficients(0.0);
    for (k, step) in [1e-10, 2e-9, 2e-9].into_iter().enumerate() {
        let at = |side: f64| {
            let moved = case.moved(1.8e-5, |r, angle| side * step * [1.0, r * angle.sin(), -r * angle.cos()][k]);
            let totals = moved.solve().totals;
            [totals.force_n, totals.moment_x_n_m, totals.moment_y_n_m]
        };
        let (up, down) = (at(1.0), at(-1.0));
        for row in 0..3 {
            let difference = -(up[row] - down[row]) / (2.0 * step);
            let size = (got.stiffness[row][row] * got.stiffness[k][k]).abs().sqrt();
            assert!((got.stiffness[row][k] - difference).abs() < 1e-6 * size, "{row} {k} {} {difference}", got.stiffness[row][k]);
        }
    }
}

#[test]
fn slow_motion_is_the_limit_of_frequency() {
    let case = wavy_gas(9, [0.0; 2]);
    let (limit, slow) = (case.coefficients(0.0), case.coefficients(0.5));
    for k in 0..3 {
        assert_near(slow.stiffness[k][k], limit.stiffness[k][k], 1e-5);
        assert_near(slow.damping[k][k], limit.damping[k][k], 1e-5);
    }
    assert_near(slow.stiffness[1][2], limit.stiffness[1][2], 1e-5);
    assert_near(slow.damping[1][2], limit.damping[1][2], 1e-4);
}

#[test]
fn a_steady_whirl_is_answered_as_stiffness_and_damping_say() {
    for sectors in [9, 1] {
        let case = wavy_gas(sectors, [0.0; 2]);
        let (solution, problem) = (case.solve(), case.problem());
        for frequency in [2000.0, -700.0, 0.0] {
            let known = solution.coefficients(&problem, f64::abs(frequency)).unwrap();
            let of = |m: &[[f64; 3]; 3]| c64::new(0.5 * (m[1][1] + m[2][2]), -0.5 * (m[1][2] - m[2][1]));
            let rate = c64::new(0.0, frequency);
            let expected = of(&known.stiffness) + rate * of(&known.damping);
            let got = solution.tilt_impedance(&problem, rate).unwrap();
            assert!((got - expected).norm() < 1e-7 * expected.norm(), "{sectors} {frequency}: {got} instead of {expected}");
        }
    }
}

/// Smooth parallel faces on a narrow film of gas.
fn narrow_gas(mean_rad_per_s: f64) -> Case {
    let grid = Grid::polar(&uniform(99.5e-3, 100.5e-3, 400), &uniform(0.0, TAU / 180.0, 4), &[], 180, true).unwrap();
    let film = Film::laminar(vec![3e-6; grid.cells()], 1.8e-5);
    let motion = Motion { mean: mean_rad_per_s, sliding: 2.0 * mean_rad_per_s, spin: 0.0 };
    Case { grid, film, motion, edges: Edges::ring(1e5, 1e5), liquid: None }
}

/// Squeeze of a strip of width `w`: force over area and travel `p/h (1 - tanh(q)/q)`, `q = (w/2) sqrt(12 mu s/(p h2))`
/// (W. E. Langlois, Quarterly of Applied Mathematics 20 (1962) 131, from memory), here round a ring and leaning; what drags
/// the film round only takes the whirl with it, but for what the columns are wide.
#[test]
fn a_whirl_that_grows_or_dies_is_squeezed_as_a_strip_is() {
    let (radius, width, gap, pressure): (f64, f64, f64, f64) = (0.1, 1e-3, 3e-6, 1e5);
    let still = narrow_gas(0.0);
    let of = |case: &Case, rate: c64| case.solve().tilt_impedance(&case.problem(), rate).unwrap();
    for rate in [c64::new(3e4, 0.0), c64::new(-2e4, 5e4), c64::new(2e4, -8e4)] {
        let q = (rate * (12.0 * 1.8e-5 / (pressure * gap * gap))).sqrt() * (0.5 * width);
        let expected = (1.0 - q.tanh() / q) * (PI * radius.powi(3) * width * pressure / gap);
        let got = of(&still, rate);
        assert!((got - expected).norm() < 2e-3 * expected.norm(), "{rate}: {got} instead of {expected}");
        let dragged = of(&narrow_gas(6e3), rate + c64::new(0.0, 6e3));
        assert!((dragged - got).norm() < 5e-4 * got.norm(), "{rate}: {dragged} instead of {got}");
    }
}

/// Squeezed fast, a gas has no time to leave and answers as a spring `p/h` but for its edges.
#[test]
fn a_gas_squeezed_fast_is_a_spring() {
    let grid = Grid::plane(&uniform(0.0, 0.1, 800), &uniform(0.0, 1.0, 2), false).unwrap();
    let film = Film::laminar(vec![10e-6; grid.cells()], 1.8e-5);
    let edges = Edges { inner: Edge::Pressure(1e5), outer: Edge::Pressure(1e5), ends: [Edge::Closed; 2] };
    let case = Case { grid, film, motion: Motion::default(), edges, liquid: None };
    let (frequency, h, p) = (1e4, 10e-6, 1e5);
    let got = case.solve().axial_coefficients(&case.problem(), frequency).unwrap();
    // Linear squeeze of a strip: force p/h (1 - tanh(q)/q), q = (width/2) sqrt(i 12 mu frequency / (p h^2)).
    let q = 0.05 * (12.0 * 1.8e-5 * frequency / (p * h * h)).sqrt();
    let root = (0.5_f64).sqrt() * q;
    // tanh(q sqrt(i)) is one to rounding here, so 1 - 1/(q sqrt(i)).
    assert!(root > 15.0);
    assert_near(got.stiffness[0][0], p * 0.1 / h * (1.0 - 0.5 / root), 1e-4);
    assert_near(got.damping[0][0] * frequency, p * 0.1 / h * 0.5 / root, 2e-3);
}

#[test]
fn stiffness_beside_a_cavity_is_the_slope_of_the_force() {
    let radii: Vec<f64> = uniform(f64::ln(24.45e-3), f64::ln(30.80e-3), 20).iter().map(|s| s.exp()).collect();
    let grid = Grid::polar(&radii, &uniform(0.0, TAU / 9.0, 60), &[], 9, true).unwrap();
    let film = Film::laminar(grid.cell_values(|_, angle| 1e-6 + 0.5e-6 * (9.0 * angle).cos()), MU);
    let liquid = Some(vec![1000.0; grid.cells()]);
    let case = Case { grid, film, motion: Motion { mean: 157.0, sliding: 314.0, spin: 0.0 }, edges: Edges::ring(1e5, 1.1e6), liquid };
    let got = case.solve().axial_coefficients(&case.problem(), 0.0).unwrap();
    let at = |by: f64| case.moved(MU, |_, _| by).solve().totals.force_n;
    let step = 1e-12;
    assert_near(got.stiffness[0][0], -(at(step) - at(-step)) / (2.0 * step), 1e-3);
    assert!(got.damping[0][0] > 0.0);
}

#[test]
fn damping_of_a_full_film_is_its_answer_to_squeezing() {
    let mut case = coned(24.45e-3, 30.80e-3, [40, 12], 3, 1e-4);
    let got = case.coefficients(0.0);
    let still = case.solve().totals.force_n;
    let cells = case.grid.cells();
    case.film.gap_rate_m_per_s = Some(vec![-1e-9; cells]);
    assert_near(got.damping[0][0], (case.solve().totals.force_n - still) / 1e-9, 1e-7);
}

/// A gas film breathed at one frequency, step by step, answers with its stiffness and damping at that frequency.
#[test]
fn a_gas_film_in_time_answers_as_its_coefficients_say() {
    let case = wavy_gas(9, [0.0; 2]);
    let still = case.solve();
    let (frequency, amplitude) = (3000.0, 1e-10);
    let expected = still.coefficients(&case.problem(), frequency).unwrap();
    let in_time = |steps: usize| {
        let dt = TAU / frequency / steps as f64;
        let at = |k: usize| case.moved(1.8e-5, |_, _| amplitude * (TAU * k as f64 / steps as f64).sin());
        let (mut film, mut field) = (case.film.clone(), still.field.clone());
        let (mut sine, mut cosine) = (0.0, 0.0);
        // The first turns let the start die away.
        for k in 1..=4 * steps {
            let moved = at(k);
            let solution = step(&moved.problem(), &field, &film, dt).unwrap();
            if k > 3 * steps {
                let (s, c) = (TAU * k as f64 / steps as f64).sin_cos();
                let force = solution.totals.force_n - still.totals.force_n;
                sine += 2.0 * force * s / steps as f64;
                cosine += 2.0 * force * c / steps as f64;
            }
            (film, field) = (moved.film, solution.field);
        }
        [-sine / amplitude, -cosine / (amplitude * frequency)]
    };
    let (coarse, fine) = (in_time(32), in_time(64));
    let [stiffness, damping] = [expected.stiffness[0][0], expected.damping[0][0]];
    assert!(stiffness > 0.0 && damping > 0.0 && damping * frequency > 0.05 * stiffness, "both parts count: {stiffness} {damping}");
    let size = stiffness.hypot(damping * frequency);
    let error = |got: [f64; 2]| (got[0] - stiffness).hypot((got[1] - damping) * frequency) / size;
    // Of first order in time, and what Richardson leaves is small.
    let limit = [0, 1].map(|k| 2.0 * fine[k] - coarse[k]);
    assert!(error(fine) < 0.6 * error(coarse) && error(limit) < 4e-3, "{} {} {}", error(coarse), error(fine), error(limit));
}

/// Half of a wavy film is in the cavity and breathes there with a delay, which makes it many times as stiff at the speed of the shaft as
/// at rest. Followed in time its cavity moves; the coefficients hold it, and say the same.
#[test]
fn a_cavitated_film_in_time_answers_as_its_coefficients_say() {
    let grid = Grid::polar(&uniform(24.45e-3, 30.80e-3, 16), &uniform(0.0, TAU / 6.0, 48), &[], 6, true).unwrap();
    let film = Film::laminar(grid.cell_values(|_, angle| 0.8e-6 + 0.15e-6 * (6.0 * angle).cos()), MU);
    let liquid = Some(vec![1000.0; grid.cells()]);
    let case = Case { grid, film, motion: Motion { mean: 155.0, sliding: 310.0, spin: 0.0 }, edges: Edges::ring(1e5, 1.2e6), liquid };
    let still = case.solve();
    assert!(still.totals.cavitated_area_m2 > 0.3 * still.totals.area_m2);
    let slow = still.axial_coefficients(&case.problem(), 0.0).unwrap();
    let (frequency, amplitude, steps) = (310.0, 5e-9, 80);
    let expected = still.axial_coefficients(&case.problem(), frequency).unwrap();
    let [stiffness, damping] = [expected.stiffness[0][0], expected.damping[0][0]];
    assert!(stiffness > 5.0 * slow.stiffness[0][0], "{stiffness:e} {:e}", slow.stiffness[0][0]);
    let dt = TAU / frequency / steps as f64;
    let (mut film, mut field) = (case.film.clone(), still.field.clone());
    let (mut sine, mut cosine) = (0.0, 0.0);
    for k in 1..=2 * steps {
        let (s, c) = (TAU * k as f64 / steps as f64).sin_cos();
        let moved = case.moved(MU, |_, _| amplitude * s);
        let solution = step(&moved.problem(), &field, &film, dt).unwrap();
        if k > steps {
            let force = solution.totals.force_n - still.totals.force_n;
            sine += 2.0 * force * s / steps as f64;
            cosine += 2.0 * force * c / steps as f64;
        }
        (film, field) = (moved.film, solution.field);
    }
    let (got_stiffness, got_damping) = (-sine / amplitude, -cosine / (amplitude * frequency));
    let size = stiffness.hypot(damping * frequency);
    let error = (got_stiffness - stiffness).hypot((got_damping - damping) * frequency) / size;
    assert!(error < 0.06, "{got_stiffness:e} for {stiffness:e}, {got_damping:e} for {damping:e}");
}
