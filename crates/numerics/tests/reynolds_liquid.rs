//! Cavitating liquid films against exact solutions.

use std::f64::consts::{PI, TAU};

use halfmicron_numerics::reynolds::{Edge, Edges, Field, Film, Fluid, Grid, Motion, Problem, Solution, solve, solve_near, step};

fn assert_near(got: f64, expected: f64, relative: f64) {
    assert!((got - expected).abs() <= relative * expected.abs(), "{got:.10e} instead of {expected:.10e}");
}

fn uniform(from: f64, to: f64, cells: usize) -> Vec<f64> {
    (0..=cells).map(|k| from + (to - from) * k as f64 / cells as f64).collect()
}

/// A strip one metre deep without side flow, both ends at the same pressure.
struct Slider {
    grid: Grid,
    film: Film,
    motion: Motion,
    edges: Edges,
    density: Vec<f64>,
    cavity_pa: f64,
}

impl Slider {
    fn new(along: &[f64], viscosity: f64, speed: f64, ends_pa: f64, gap: impl Fn(f64) -> f64) -> Slider {
        let grid = Grid::plane(&[0.0, 0.5, 1.0], along, false).unwrap();
        let film = Film::laminar(grid.cell_values(|_, x| gap(x)), viscosity);
        Slider {
            density: vec![1.0; grid.cells()],
            film,
            motion: Motion { mean: 0.5 * speed, sliding: speed, spin: 0.0 },
            edges: Edges { inner: Edge::Closed, outer: Edge::Closed, ends: [Edge::Pressure(ends_pa); 2] },
            cavity_pa: 0.0,
            grid,
        }
    }

    fn problem(&self) -> Problem<'_> {
        Problem {
            grid: &self.grid,
            film: &self.film,
            motion: self.motion,
            edges: self.edges,
            fluid: Fluid::Liquid { density_kg_per_m3: &self.density, cavitation_pressure_pa: self.cavity_pa },
        }
    }

    fn solve(&self) -> Solution {
        solve(&self.problem(), None).unwrap()
    }

    /// First and last node of the cavities on the first line.
    fn cavities(&self, field: &Field) -> Vec<(usize, usize)> {
        let mut out = Vec::new();
        let mut from = None;
        for j in 0..self.grid.nodes_along() {
            match (field.fill[j] < 1.0, from) {
                (true, None) => from = Some(j),
                (false, Some(first)) => {
                    out.push((first, j - 1));
                    from = None;
                }
                _ => {}
            }
        }
        out
    }
}

#[test]
fn one_parabolic_slider_breaks_and_heals_where_it_must() {
    let length = 76.2e-3;
    for (ends, flow, rupture, reformation, fill, greatest, load) in [
        (101_325.0, 6.557_989_4e-5, 51.833_349e-3, 75.640_762e-3, 0.573_317_5, 3.666_656_4e6, 104_640.968),
        (1e6, 6.652_698_7e-5, 52.670_263e-3, 70.739_954e-3, 0.661_071_9, 4.341_704_5e6, 136_482.570),
    ] {
        let slider = Slider::new(&uniform(0.0, length, 800), 0.039, 4.57, ends, |x| 25.4e-6 * (1.0 + (2.0 * x / length - 1.0).powi(2)));
        let solution = slider.solve();
        let totals = &solution.totals;
        assert_near(totals.end_flows_kg_per_s[0], flow, 1e-4);
        assert!(totals.mass_balance <= 1e-12, "{:e}", totals.mass_balance);
        assert_near(totals.force_n, load, 1e-3);
        assert_near(totals.greatest_pressure_pa, greatest, 1e-3);
        let cell = length / 800.0;
        let cavities = slider.cavities(&solution.field);
        assert_eq!(cavities.len(), 1);
        assert!((cavities[0].0 as f64 * cell - rupture).abs() < 1.5 * cell);
        assert!((cavities[0].1 as f64 * cell - reformation).abs() < 1.5 * cell);
        assert_near(solution.field.fill[cavities[0].1 - 1], fill, 1e-2);
    }
}

#[test]
fn two_parabolic_sliders_share_their_liquid() {
    let length = 76.2e-3;
    for (ends, flow, rupture, reformation, greatest, load) in [
        (101_325.0, 6.568_750_4e-5, 25.965_495e-3, 37.542_210e-3, 1.870_894_5e6, 53_996.587),
        (0.3e6, 6.610_742_9e-5, 26.152_799e-3, 36.459_964e-3, 2.019_439_8e6, 60_861.139),
        (1e6, 6.756_326_5e-5, 26.767_040e-3, 32.449_911e-3, 2.556_859_7e6, 88_844.343),
    ] {
        let half = 0.5 * length;
        let gap = |x: f64| 25.4e-6 * (1.0 + (2.0 * x.rem_euclid(half) / half - 1.0).powi(2));
        let slider = Slider::new(&uniform(0.0, length, 1600), 0.039, 4.57, ends, gap);
        let solution = slider.solve();
        assert_near(solution.totals.end_flows_kg_per_s[0], flow, 1e-4);
        assert_near(solution.totals.force_n, load, 1e-3);
        assert_near(solution.totals.greatest_pressure_pa, greatest, 1e-3);
        let cell = length / 1600.0;
        let cavities = slider.cavities(&solution.field);
        assert_eq!(cavities.len(), 2);
        assert!((cavities[0].0 as f64 * cell - rupture).abs() < 1.5 * cell);
        assert!((cavities[0].1 as f64 * cell - reformation).abs() < 1.5 * cell);
    }
}

#[test]
fn a_pocket_draws_its_liquid_in() {
    for (depth, cavity, fill, load) in [
        (10e-6, 5.213_262_60e-3, 0.090_947_47, 595.465_793),
        (5e-6, 5.744_639_44e-3, 0.166_737_03, 501.242_716),
        (1e-6, 5.952_695_03e-3, 0.500_211_09, 464.350_558),
    ] {
        // A thousand cells a millimetre in the pocket, so that the end of the cavity is known to a micrometre.
        let mut along = uniform(0.0, 4e-3, 40);
        along.extend(&uniform(4e-3, 10e-3, 6000)[1..]);
        along.extend(&uniform(10e-3, 20e-3, 100)[1..]);
        let slider = Slider::new(&along, 0.01, 1.0, 101_325.0, |x| if x > 4e-3 && x < 10e-3 { 1e-6 + depth } else { 1e-6 });
        let solution = slider.solve();
        assert_near(solution.totals.end_flows_kg_per_s[0], 5.002_110_94e-7, 1e-8);
        assert_near(solution.field.fill[100], fill, 1e-6);
        let cavities = slider.cavities(&solution.field);
        assert!((along[cavities[0].1] - along[cavities[0].0] - cavity).abs() < 2e-6);
        assert_near(solution.field.pressure_pa[6040], 354_637.5, 1e-3);
        assert_near(solution.totals.force_n - 101_325.0 * 20e-3, load, 1e-3);
    }
}

/// Taper and step pads without cavitation, per width.
#[test]
fn fixed_pads_carry_what_they_must() {
    let cells = 400;
    for (ratio, load, drag) in [
        (1.5, 0.131_162_6, 0.843_720_9),
        (2.0, 0.158_883_1, 0.772_588_7),
        (2.188, 0.160_243_1, 0.754_265_1),
        (3.0, 0.147_918_4, 0.697_224_6),
    ] {
        let slider = Slider::new(&uniform(0.0, 1.0, cells), 1.0, 1.0, 1.0, |x| 1.0 + (ratio - 1.0) * (1.0 - x));
        let totals = slider.solve().totals;
        assert_near(totals.force_n - 1.0, load, 2e-5);
        assert_near(totals.smooth_torque_n_m, drag, 1e-5);
    }
    let mut along = uniform(0.0, 0.718, 10);
    along.extend(&uniform(0.718, 1.0, 10)[1..]);
    let slider = Slider::new(&along, 1.0, 1.0, 1.0, |x| if x < 0.718 { 1.866 } else { 1.0 });
    assert_near((slider.solve().totals.force_n - 1.0) / 6.0, 0.034_377_89, 1e-6);
}

fn wavy(rows: usize, columns: usize, waves: usize, sectors: usize) -> (Grid, Film) {
    let radii: Vec<f64> = uniform(f64::ln(24.45e-3), f64::ln(30.80e-3), rows).iter().map(|s| s.exp()).collect();
    let grid = Grid::polar(&radii, &uniform(0.0, TAU / sectors as f64, columns), &[], sectors, true).unwrap();
    let film = Film::laminar(grid.cell_values(|_, angle| 1e-6 + 0.5e-6 * (waves as f64 * angle).cos()), 1e-3);
    (grid, film)
}

#[test]
fn nine_waves_leak_what_the_identity_says() {
    let exact = PI * 1e-18 * (1.0 + 1.5 * 0.25) * 1e6 / (6e-3 * (30.80_f64 / 24.45).ln());
    for (rows, columns, sectors) in [(40, 80, 9), (40, 720, 1)] {
        let (grid, film) = wavy(rows, columns, 9, sectors);
        let density = vec![1.0; grid.cells()];
        let problem = Problem {
            grid: &grid,
            film: &film,
            motion: Motion { mean: 0.5 * 314.159, sliding: 314.159, spin: 0.0 },
            edges: Edges::ring(0.1e6, 1.1e6),
            fluid: Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: 0.0 },
        };
        let solution = solve(&problem, None).unwrap();
        let totals = &solution.totals;
        assert_near(totals.inner_flow_kg_per_s, exact, 1e-11);
        assert!(totals.mass_balance <= 1e-12, "{:e}", totals.mass_balance);
        assert_near(totals.force_n, 3753.0, 5e-3);
        assert_near(totals.cavitated_area_m2 / totals.area_m2, 0.645, 2e-2);
        assert_near(totals.viscous_heat_w, totals.smooth_torque_n_m * 314.159, 1e-2);
    }
}

#[test]
fn a_wavy_film_solved_near_another_is_the_one_solved_cold() {
    let (grid, film) = wavy(12, 24, 9, 9);
    let (_, mut wider) = wavy(12, 24, 9, 9);
    wider.gap_m.iter_mut().for_each(|h| *h *= 1.01);
    wider.conductance_m3_per_pa_s.iter_mut().for_each(|k| *k *= 1.01f64.powi(3));
    let density = vec![1000.0; grid.cells()];
    let problem = |film| Problem {
        grid: &grid,
        film,
        motion: Motion { mean: 157.08, sliding: 314.159, spin: 0.0 },
        edges: Edges::ring(0.1e6, 1.1e6),
        fluid: Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: 0.0 },
    };
    let before = solve(&problem(&film), None).unwrap();
    let cold = solve(&problem(&wider), None).unwrap();
    let near = solve_near(&problem(&wider), &before).unwrap();
    assert!(cold.totals.cavitated_area_m2 > 0.0);
    assert_near(near.totals.force_n, cold.totals.force_n, 1e-11);
    assert_near(near.totals.outer_flow_kg_per_s, cold.totals.outer_flow_kg_per_s, 1e-9);
    assert!(near.totals.mass_balance < 1e-11, "{:e}", near.totals.mass_balance);
    assert!(near.work.factorisations <= 1, "{:?}", near.work);
}

#[test]
fn a_dimple_in_a_square_cell() {
    let cells = 100;
    let side = 1e-3;
    let grid = Grid::plane(&uniform(0.0, side, cells), &uniform(0.0, side, cells), false).unwrap();
    // Mean over each cell of gap and of its cube, four by four points.
    let (mut gap, mut cube) = (Vec::new(), Vec::new());
    for i in 0..cells {
        for j in 0..cells {
            let (mut mean, mut third) = (0.0, 0.0);
            for a in 0..4 {
                for b in 0..4 {
                    let place = |k: usize, part: usize| (k as f64 + (part as f64 + 0.5) / 4.0) / cells as f64 * side - 0.5 * side;
                    let square = (place(i, a).powi(2) + place(j, b).powi(2)) / 0.3e-3_f64.powi(2);
                    let h = 1e-6 + 5e-6 * (1.0 - square).max(0.0);
                    mean += h / 16.0;
                    third += h.powi(3) / 16.0;
                }
            }
            gap.push(mean);
            cube.push(third);
        }
    }
    let mut film = Film::laminar(gap, 0.01);
    film.conductance_m3_per_pa_s = cube.iter().map(|c| c / 0.12).collect();
    let density = vec![1.0; grid.cells()];
    let problem = Problem {
        grid: &grid,
        film: &film,
        motion: Motion { mean: 0.5, sliding: 1.0, spin: 0.0 },
        edges: Edges { inner: Edge::Closed, outer: Edge::Closed, ends: [Edge::Pressure(1e5); 2] },
        fluid: Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: 0.0 },
    };
    let solution = solve(&problem, None).unwrap();
    let totals = &solution.totals;
    assert_near(totals.force_n - 1e5 * side * side, -0.043_04, 1e-2);
    assert_near(totals.greatest_pressure_pa, 0.3875e6, 2e-2);
    assert_near(totals.cavitated_area_m2 / totals.area_m2, 0.262, 3e-2);
    assert_near(totals.least_fill, 0.1682, 2e-2);
}

/// Squeezing a cavity open and shut; the edge of the full film follows a closed form while it opens.
#[test]
fn a_squeezed_cavity_opens_and_closes() {
    let cells = 400;
    // (H^3 P_X)_X = 2 d(theta H)/dt: conductance H^3, storage twice the gap. Half of the symmetric strip.
    let grid = Grid::plane(&uniform(0.0, 0.5, cells), &[0.0, 0.5, 1.0], false).unwrap();
    let height = |t: f64| 0.125 * (4.0 * PI * t).cos() + 0.375;
    let film = |t: f64| {
        let mut film = Film::laminar(vec![2.0 * height(t); grid.cells()], 1.0);
        film.conductance_m3_per_pa_s.fill(height(t).powi(3));
        film
    };
    let edges = Edges { inner: Edge::Pressure(0.025), outer: Edge::Closed, ends: [Edge::Closed; 2] };
    let density = vec![1.0; grid.cells()];
    let fluid = Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: 0.0 };
    let mut before = film(0.245);
    let mut field = Field { pressure_pa: vec![0.025; grid.nodes()], fill: vec![1.0; grid.nodes()] };
    let dt = 5e-4;
    let expected = [
        (0.26, 0.044_807),
        (0.28, 0.027_372),
        (0.30, 0.023_584),
        (0.36, 0.024_111),
        (0.40, 0.026_781),
        (0.50, 0.039_087),
        (0.60, 0.062_777),
        (0.70, 0.176_938),
    ];
    let mut next = expected.iter();
    let mut goal = next.next();
    let steps = (0.75_f64 - 0.245) / dt;
    for k in 1..=steps.round() as usize {
        let t = 0.245 + k as f64 * dt;
        let now = film(t);
        let problem = Problem { grid: &grid, film: &now, motion: Motion::default(), edges, fluid: fluid.clone() };
        field = step(&problem, &field, &before, dt).unwrap().field;
        before = now;
        if let Some(&(at, sigma)) = goal
            && (t - at).abs() < 0.1 * dt
        {
            // The node in which the front stands is filled in part; where it fills again its edge lies behind it.
            let first = (0..=cells).find(|&i| field.fill[i * 3] < 1.0).unwrap();
            let edge = 0.5 * first as f64 / cells as f64;
            assert!((edge - sigma).abs() < 0.02 * sigma + 1.5 * 0.5 / cells as f64, "t {t}: {edge} instead of {sigma}");
            if (t - 0.5).abs() < 0.1 * dt {
                assert_near(field.fill[cells * 3], 0.5, 2e-2);
            }
            goal = next.next();
        }
    }
    assert!(goal.is_none());
    assert!(field.fill.iter().all(|&fill| fill == 1.0));
}
