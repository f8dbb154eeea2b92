//! Closed forms of axisymmetric films, manufactured solutions, journal bearings.

use std::f64::consts::{PI, TAU};

use halfmicron_numerics::reynolds::{
    Edge, Edges, Film, FilmError, Fluid, Grid, GridStudy, Motion, Problem, Solution, equal_sectors, graded_lines, solve,
};

fn assert_near(got: f64, expected: f64, relative: f64) {
    assert!((got - expected).abs() <= relative * expected.abs(), "{got:.10e} instead of {expected:.10e}");
}

fn uniform(from: f64, to: f64, cells: usize) -> Vec<f64> {
    (0..=cells).map(|k| from + (to - from) * k as f64 / cells as f64).collect()
}

fn ring(radii: &[f64], columns: usize) -> Grid {
    Grid::polar(radii, &uniform(0.0, TAU / 12.0, columns), &[], 12, true).unwrap()
}

const INNER: f64 = 24.45e-3;
const OUTER: f64 = 30.80e-3;

fn liquid(grid: &Grid, film: &Film, motion: Motion, edges: Edges, density: f64, cavity_pa: f64) -> Solution {
    let density = vec![density; grid.cells()];
    let fluid = Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: cavity_pa };
    solve(&Problem { grid, film, motion, edges, fluid }, None).unwrap()
}

#[test]
fn parallel_and_coned_liquid_faces_agree_with_the_exact_radial_solution() {
    for (inner_gap, outer_gap, flow_ml_per_h, force, torque) in [
        (1e-6, 1e-6, 16.328_128, 1_186.714_648, 0.267_737_70),
        (1e-6, 2e-6, 41.896_743, 1_543.036_682, 0.178_400_41),
        (1.5e-6, 1e-6, 30.075_921, 963.116_031, 0.222_139_99),
    ] {
        let radii = uniform(INNER, OUTER, 400);
        let grid = ring(&radii, 4);
        let gap = |r: f64| inner_gap + (outer_gap - inner_gap) * (r - INNER) / (OUTER - INNER);
        let mut film = Film::laminar(grid.cell_values(|r, _| gap(r)), 1e-3);
        // The series mean of each layer, by Simpson's rule in ln r.
        for i in 0..400 {
            let (a, b) = (radii[i], radii[i + 1]);
            let resistance = (gap(a).powi(-3) + 4.0 * gap((a * b).sqrt()).powi(-3) + gap(b).powi(-3)) / 6.0;
            (0..4).for_each(|j| film.conductance_m3_per_pa_s[i * 4 + j] = 1.0 / (12e-3 * resistance));
        }
        let speed = Motion::of_faces(314.159_265, 0.0).without_spin();
        let totals = liquid(&grid, &film, speed, Edges::ring(0.0, 2e6), 1000.0, -1e6).totals;
        assert_near(totals.inner_flow_kg_per_s / 1000.0 * 3.6e9, flow_ml_per_h, 1e-7);
        assert_near(totals.force_n, force, 5e-6);
        assert_near(totals.smooth_torque_n_m, torque, 2e-6);
        let pressure_heat = totals.inner_flow_kg_per_s / 1000.0 * 2e6;
        assert_near(totals.viscous_heat_w, torque * 314.159_265 + pressure_heat, 1e-6);
    }
}

#[test]
fn spin_pumps_outwards_and_draws_the_pressure_down() {
    let grid = ring(&uniform(INNER, OUTER, 200), 4);
    let film = Film::laminar(vec![2e-6; grid.cells()], 1e-3);
    let spin = Motion::of_faces(1000.0, 0.0);
    let pressed = liquid(&grid, &film, spin, Edges::ring(0.0, 2e6), 1000.0, -1e6).totals;
    assert_near(pressed.inner_flow_kg_per_s / 1000.0 * 3.6e9, 127.187_910, 1e-7);
    assert_near(pressed.force_n, 1_184.490_528, 1e-5);
    let free = liquid(&grid, &film, spin, Edges::ring(0.0, 0.0), 1000.0, -1e6).totals;
    assert_near(-free.inner_flow_kg_per_s / 1000.0 * 3.6e9, 3.437_111_7, 1e-7);
    assert_near(free.force_n, -2.224_120_4, 1e-4);
}

#[test]
fn gas_between_parallel_faces_with_and_without_slip() {
    const RT: f64 = 287.05 * 300.0;
    let grid = ring(&uniform(58.42e-3, 77.78e-3, 100), 4);
    let film = Film::laminar(vec![3e-6; grid.cells()], 1.8e-5);
    let density = |_: usize, p: f64| (p / RT, 1.0 / RT);
    // First-order slip, free path 66 nm at the low pressure.
    let slip = |_: usize, gap: f64, p: f64| {
        let share = 6.0 * 66e-9 * 101_325.0 / (gap * p);
        (1.0 + share, -share / p)
    };
    for (outer, flow, force, ratio) in [
        (4.5852e6, 0.334_793_0e-3, 26_754.709_2, 1.005_708),
        (1.1e6, 1.911_422_3e-5, 6_455.988_14, f64::NAN),
        (0.2e6, 4.737_118_5e-7, 1_330.400_73, 1.088_774),
    ] {
        let problem = |flow_factor| Problem {
            grid: &grid,
            film: &film,
            motion: Motion::of_faces(1000.0, 0.0).without_spin(),
            edges: Edges::ring(101_325.0, outer),
            fluid: Fluid::Gas { density: &density, flow_factor },
        };
        let totals = solve(&problem(None), None).unwrap().totals;
        assert_near(totals.inner_flow_kg_per_s, flow, 1e-7);
        assert_near(totals.force_n, force, 1e-5);
        assert!(totals.mass_balance <= 1e-12);
        if ratio.is_finite() {
            let slipping = solve(&problem(Some(&slip)), None).unwrap().totals;
            assert_near(slipping.inner_flow_kg_per_s / totals.inner_flow_kg_per_s, ratio, 1e-6);
        }
    }
}

/// Pressure chosen, squeeze rate that makes it a solution computed from its derivatives.
#[test]
fn a_chosen_pressure_comes_back_at_second_order() {
    for is_gas in [true, false] {
        let mut errors = Vec::new();
        for n in [16, 32, 64] {
            let (a, b) = (1.0_f64, 1.5_f64);
            let shift = |s: f64| 1.3 * s + 0.8 * (s - 0.2).max(0.0);
            let mut logs =
                graded_lines(0.0, &[halfmicron_numerics::reynolds::Stretch { end: 0.2, cells: n / 2, grade_start: 1.0, grade_end: 1.0 }]);
            logs.extend(&uniform(0.2, (b / a).ln(), n / 2)[1..]);
            let radii: Vec<f64> = logs.iter().map(|s| s.exp()).collect();
            let shifts: Vec<f64> = logs.iter().map(|&s| shift(s)).collect();
            let grid = Grid::polar(&radii, &uniform(0.0, TAU / 6.0, n), &shifts, 6, true).unwrap();
            let top = (b / a).ln();
            // p = 2 + sin(pi s/top) cos(6 phi), h = 1 + 0.3 sin(6 phi + 2 s), mu = 1/12.
            let p = |s: f64, f: f64| 2.0 + (PI * s / top).sin() * (6.0 * f).cos();
            let h = |s: f64, f: f64| 1.0 + 0.3 * (6.0 * f + 2.0 * s).sin();
            let rho = |p: f64| if is_gas { 0.5 * p } else { 1.0 };
            let speed = 3.0;
            // rate = (div(h^3 rho grad p)/r^2 - speed d(rho h)/dphi) / rho, by central differences of the exact fields.
            let d = 1e-4;
            let across = |s: f64, f: f64| h(s, f).powi(3) * rho(p(s, f)) * (p(s + d, f) - p(s - d, f)) / (2.0 * d);
            let along = |s: f64, f: f64| h(s, f).powi(3) * rho(p(s, f)) * (p(s, f + d) - p(s, f - d)) / (2.0 * d);
            let mass = |s: f64, f: f64| rho(p(s, f)) * h(s, f);
            let rate = |r: f64, f: f64| {
                let s = r.ln();
                let flow = (across(s + d, f) - across(s - d, f) + along(s, f + d) - along(s, f - d)) / (2.0 * d);
                (flow / (r * r) - speed * (mass(s, f + d) - mass(s, f - d)) / (2.0 * d)) / rho(p(s, f))
            };
            let mut film = Film::laminar(grid.cell_values(|r, f| h(r.ln(), f)), 1.0 / 12.0);
            film.gap_rate_m_per_s = Some(grid.cell_values(rate));
            let density = vec![1.0; grid.cells()];
            let law = |_: usize, p: f64| (0.5 * p, 0.5);
            let fluid = if is_gas {
                Fluid::Gas { density: &law, flow_factor: None }
            } else {
                Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: 0.0 }
            };
            let motion = Motion { mean: speed, sliding: 2.0 * speed, spin: 0.0 };
            let solution = solve(&Problem { grid: &grid, film: &film, motion, edges: Edges::ring(2.0, 2.0), fluid }, None).unwrap();
            let (mut sum, mut count) = (0.0, 0.0);
            for i in 0..=n {
                for j in 0..n {
                    let (r, f) = grid.node_place(i, j);
                    sum += (solution.field.pressure_pa[grid.node(i, j)] - p(r.ln(), f)).powi(2);
                    count += 1.0;
                }
            }
            errors.push(f64::sqrt(sum / count));
        }
        let order = (errors[1] / errors[2]).log2();
        assert!((order - 2.0).abs() < 0.1, "gas {is_gas}: {errors:?} order {order}");
        assert!(errors[2] < 5e-3, "{errors:?}");
    }
}

/// Full journal bearing, length over diameter and eccentricity ratio; returns load, attitude (deg), friction.
fn journal(slenderness: f64, eccentricity: f64) -> [f64; 3] {
    // Radius, clearance, viscosity, surface speed all one; half the length, symmetric about the middle.
    let grid = Grid::plane(&uniform(0.0, slenderness, 24), &uniform(0.0, TAU, 240), false).unwrap();
    let film = Film::laminar(grid.cell_values(|_, angle| 1.0 + eccentricity * angle.cos()), 1.0);
    let motion = Motion { mean: 0.5, sliding: 1.0, spin: 0.0 };
    let edges = Edges { inner: Edge::Pressure(0.0), outer: Edge::Closed, ends: [Edge::Pressure(0.0); 2] };
    let solution = liquid(&grid, &film, motion, edges, 1.0, 0.0);
    let (mut along, mut across) = (0.0, 0.0);
    for i in 0..=24 {
        let weight = if i == 0 || i == 24 { 0.5 } else { 1.0 } * slenderness / 24.0 * TAU / 240.0;
        for j in 0..240 {
            let angle = TAU * j as f64 / 240.0;
            let p = solution.field.pressure_pa[grid.node(i, j)];
            along -= weight * p * angle.cos();
            across += weight * p * angle.sin();
        }
    }
    let load = 2.0 * along.hypot(across);
    // Sliding shear as if the gap were full all round, and the share of the pressure gradient.
    let sliding = 2.0 * slenderness * TAU / (1.0 - eccentricity * eccentricity).sqrt();
    let friction = sliding + 0.5 * eccentricity * across * 2.0;
    [load, across.atan2(along).to_degrees(), friction / load]
}

/// Supplied in full at the greatest gap, as the table has it; the table ends its film where the pressure falls away.
#[test]
fn journal_bearings_agree_with_the_classical_table() {
    for (slenderness, eccentricity, sommerfeld, attitude, friction) in [
        (1.0, 0.4, 0.264, 63.10, 5.79),
        (1.0, 0.8, 0.0446, 36.24, 1.70),
        (1.0, 0.9, 0.0188, 26.45, 1.05),
        (0.5, 0.6, 0.319, 48.14, 8.10),
        (0.5, 0.8, 0.0923, 33.31, 3.26),
    ] {
        let [load, angle, ratio] = journal(slenderness, eccentricity);
        // S = mu N L D / W (R/c)^2 with U = 2 pi R N.
        let number = 2.0 * 2.0 * slenderness / (TAU * load);
        assert_near(number, sommerfeld, 2e-2);
        assert!((angle - attitude).abs() < 0.6);
        assert_near(ratio, friction, 1e-2);
    }
}

#[test]
fn a_grid_study_extrapolates_and_finds_the_order() {
    let study = GridStudy::new([1.0 + 16.0e-3, 1.0 + 4.0e-3, 1.0 + 1.0e-3]);
    assert_near(study.extrapolated, 1.0, 1e-12);
    assert_near(study.order.unwrap(), 2.0, 1e-9);
    assert_near(study.error, 1e-3, 1e-9);
    let rough = GridStudy::new([1.0, 1.1, 0.9]);
    assert!(rough.order.is_none());
    assert!(rough.error >= 0.2);
}

#[test]
fn equal_features_are_counted() {
    let gap = |n: usize| -> Vec<f64> { (0..2 * 24).map(|k| ((k % 24) % (24 / n)) as f64 + (k / 24) as f64).collect() };
    for n in [1, 2, 3, 4, 6, 8, 12] {
        assert_eq!(equal_sectors(&gap(n), 2, 24, 1e-9), n);
    }
    assert_eq!(equal_sectors(&[1.0; 48], 2, 24, 1e-9), 24);
    let mut uneven = gap(6);
    uneven[30] += 0.1;
    assert_eq!(equal_sectors(&uneven, 2, 24, 1e-9), 1);
}

#[test]
fn wrong_input_is_named() {
    let grid = ring(&uniform(INNER, OUTER, 10), 4);
    let film = Film::laminar(vec![1e-6; grid.cells()], 1e-3);
    let density = vec![1000.0; grid.cells()];
    let problem = |edges, film, cavity| Problem {
        grid: &grid,
        film,
        motion: Motion::default(),
        edges,
        fluid: Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: cavity },
    };
    let error = solve(&problem(Edges::ring(1e3, 1e6), &film, 2e3), None).unwrap_err();
    assert_eq!(error, FilmError::EdgeBelowCavity { edge_pa: 1e3, cavity_pa: 2e3 });
    let closed = Edges { inner: Edge::Closed, outer: Edge::Closed, ends: [Edge::Closed; 2] };
    assert_eq!(solve(&problem(closed, &film, 2e3), None).unwrap_err(), FilmError::NoPressure);
    let mut broken = film.clone();
    broken.gap_m[3] = f64::NAN;
    assert!(matches!(solve(&problem(Edges::ring(1e5, 1e6), &broken, 2e3), None), Err(FilmError::Value { place: 3, .. })));
    let short = Film::laminar(vec![1e-6; 39], 1e-3);
    assert!(matches!(solve(&problem(Edges::ring(1e5, 1e6), &short, 2e3), None), Err(FilmError::Length { got: 39, .. })));
    assert!(matches!(Grid::polar(&[1.0, 0.9], &[0.0, 1.0], &[], 1, false), Err(FilmError::Grid { .. })));
    assert!(matches!(Grid::polar(&[1.0, 2.0], &[0.0, 0.5, 0.7, 0.9, 1.0], &[], 3, true), Err(FilmError::Grid { .. })));
}
