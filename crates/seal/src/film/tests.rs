//! Closed forms, balances and derivatives of the axisymmetric film.

use halfmicron_properties::{ConstantFluid, Fluid};
use std::f64::consts::PI;

use super::*;
use crate::model::Switches;

/// Face "A" of the published checks.
pub(crate) fn face_a(elements: usize) -> BandNodes {
    BandNodes::uniform(24.45e-3, 30.80e-3, elements)
}

fn constants() -> ConstantFluid {
    ConstantFluid { name: "water-like".to_owned(), density: 1000.0, viscosity: 1e-3, heat_capacity: 4180.0, conductivity: 0.6 }
}

fn water_like() -> Fluid {
    Fluid::constant(constants()).unwrap()
}

fn plain() -> Switches {
    Switches::viscous_alone()
}

struct Setup {
    nodes: BandNodes,
    gap: Vec<f64>,
    face: Vec<f64>,
    fluid: Fluid,
    switches: Switches,
}

impl Setup {
    fn linear(inner: f64, outer: f64, switches: Switches) -> Self {
        let nodes = face_a(16);
        let (ri, ro) = (nodes.radius_m[0], *nodes.radius_m.last().unwrap());
        let gap = nodes.radius_m.iter().map(|r| inner + (outer - inner) * (r - ri) / (ro - ri)).collect();
        let face = vec![293.15; nodes.radius_m.len()];
        Self { nodes, gap, face, fluid: water_like(), switches }
    }

    fn input(&self, outer_pressure: f64, inner_pressure: f64, speed: f64) -> FilmInput<'_> {
        FilmInput {
            nodes: &self.nodes,
            gap: Gap { profile_m: &self.gap, rate_m_per_s: None, field: None },
            fluid: &self.fluid,
            inner_pressure_pa: inner_pressure,
            outer_pressure_pa: outer_pressure,
            entry_temperature_k: 293.15,
            face_temperature_k: &self.face,
            speeds_rad_per_s: [speed, 0.0],
            roughness_m: 1e-9,
            switches: &self.switches,
        }
    }
}

fn close(value: f64, expected: f64, relative: f64) {
    assert!((value / expected - 1.0).abs() < relative, "{value:e} instead of {expected:e}");
}

#[test]
fn parallel_film_has_its_closed_form() {
    // published.md F1 (any text on face seals): 1 um, 2 MPa outside.
    let setup = Setup::linear(1e-6, 1e-6, plain());
    let (result, _) = film(&setup.input(2.1e6, 0.1e6, 314.159), None).unwrap();
    close(-result.mass_flow_kg_per_s / 1000.0 * 3.6e9, 16.32813, 1e-6);
    close(result.force_n(&setup.nodes, 0.1e6), 1186.71465, 1e-6);
    close(result.shear_power_w(&setup.nodes), 84.11228, 1e-5);
}

#[test]
fn coned_film_has_its_closed_form() {
    // published.md F2, quadrature of the exact radial solution.
    for (hi, ho, leakage, force, power) in [(1e-6, 2e-6, 41.896743, 1543.036682, 56.04614), (1.5e-6, 1e-6, 30.075921, 963.116031, 69.78734)]
    {
        let setup = Setup::linear(hi, ho, plain());
        let (result, _) = film(&setup.input(2e6, 0.0 + 1.0, 314.159), None).unwrap();
        close(-result.mass_flow_kg_per_s / 1000.0 * 3.6e9, leakage, 1e-5);
        close(result.force_n(&setup.nodes, 1.0), force, 1e-5);
        close(result.shear_power_w(&setup.nodes), power, 1e-5);
    }
}

/// Faces that all but touch at one edge: the gap grows more than tenfold over the first interval of the band. Flow by the integral of Reynolds'
/// equation in a hundred thousand pieces.
#[test]
fn coned_film_that_closes_at_an_edge_leaks_as_the_integral_says() {
    for (inner, outer) in [(0.02e-6, 8e-6), (8e-6, 0.02e-6)] {
        let setup = Setup::linear(inner, outer, plain());
        let (result, _) = film(&setup.input(2.1e6, 0.1e6, 0.0), None).unwrap();
        let (ri, ro, pieces) = (24.45e-3, 30.80e-3, 100_000);
        let piece = |k: usize| {
            let share = (k as f64 + 0.5) / pieces as f64;
            (ro - ri) / pieces as f64 / ((ri + share * (ro - ri)) * (inner + share * (outer - inner)).powi(3))
        };
        let resistance = 12.0 * 1e-3 / (2.0 * PI) * (0..pieces).map(piece).sum::<f64>();
        // The roughness of a nanometre that the set-up has adds some thousandths at 20 nm.
        close(-result.mass_flow_kg_per_s, 1000.0 * 2e6 / resistance, 1e-2);
        // The first flow tried has the friction of the steps: where spin and heat are off it is the answer.
        assert!(result.iterations <= 2, "{}", result.iterations);
    }
}

/// Fluid that enters 2.5 K warmer than faces at rest is nowhere warmer than it came; a turning film is hotter than its faces inside only.
#[test]
fn nothing_is_hotter_than_what_enters_a_film_without_heat() {
    let mut setup = Setup::linear(1e-6, 1e-6, plain());
    setup.switches.heat = true;
    setup.face.fill(290.65);
    let last = setup.face.len() - 1;
    let (still, _) = film(&setup.input(1.1e6, 1e5, 0.0), None).unwrap();
    close(still.hottest_k[last], 293.15, 1e-12);
    assert!(still.hottest_k.iter().all(|hottest| *hottest < 293.15 + 1e-9), "{:?}", still.hottest_k);
    setup.face.fill(295.65);
    let (turning, _) = film(&setup.input(1.1e6, 1e5, 314.0), None).unwrap();
    // At the lip it takes the faces' temperature, and what its own shear adds.
    assert!((295.65..295.75).contains(&turning.hottest_k[last]), "{:?}", turning.hottest_k);
    assert!(turning.hottest_k[last / 2] > turning.states[last / 2].temperature_k && turning.states[last / 2].temperature_k > 295.65);
}

/// Cold oil between warm faces is warm after some nanometres: the flow is that of oil which enters warm, whatever the length of the first interval.
#[test]
fn oil_that_enters_cold_flows_as_thin_as_its_faces_are_warm() {
    let mut setup = Setup::linear(0.3e-6, 0.3e-6, plain());
    setup.switches.heat = true;
    setup.fluid = Fluid::named("mineral oil ISO VG 100").unwrap();
    setup.face.fill(373.15);
    let flow = |entry_temperature_k| {
        let input = FilmInput { entry_temperature_k, ..setup.input(1.1e6, 1e5, 0.0) };
        film(&input, None).map(|(result, _)| result).unwrap()
    };
    let (cold, warm) = (flow(293.15), flow(373.15));
    close(cold.mass_flow_kg_per_s, warm.mass_flow_kg_per_s, 1e-3);
    // The faces give what the oil takes.
    let taken: f64 = setup.nodes.weight_m2.iter().zip(&cold.flux_w_per_m2).map(|(w, q)| w * q).sum();
    close(-taken, cold.leak_heat_w, 1e-6);
}

/// A band of many elements has more steps and more work granted; the words of a film that used its work up name them.
#[test]
fn two_hundred_elements_converge_and_give_the_same() {
    let mut setup = Setup::linear(1e-6, 2e-6, Switches { contact: false, ..Switches::default() });
    setup.fluid = Fluid::named("water").unwrap();
    let flow = |setup: &Setup| film(&setup.input(2.1e6, 1e5, 314.0), None).map(|(result, _)| result.mass_flow_kg_per_s).unwrap();
    let few = flow(&setup);
    setup.nodes = face_a(200);
    let (ri, ro) = (24.45e-3, 30.80e-3);
    setup.gap = setup.nodes.radius_m.iter().map(|r| 1e-6 + 1e-6 * (r - ri) / (ro - ri)).collect();
    setup.face = vec![293.15; setup.gap.len()];
    close(flow(&setup), few, 1e-4);
}

#[test]
fn work_that_runs_out_is_told_as_such() {
    let setup = Setup::linear(1e-6, 2e-6, plain());
    let input = setup.input(2.1e6, 1e5, 314.0);
    let marcher = axisymmetric::marcher(&input, false, None).unwrap();
    marcher.spent.set(marcher.granted() + 1);
    let stopped = flow::flow(&marcher, None, &mut Vec::new()).map(|_| ()).unwrap_err();
    assert!(matches!(stopped, FilmError::OutOfWork { nodes: 33, .. }), "{stopped}");
}

#[test]
fn errors_write_numbers_short() {
    let stopped = |correction| FilmError::NotConverged { iterations: 40, correction, history: Vec::new() }.to_string();
    assert!(stopped(1.048_210_412_162_698_7e-8).ends_with("(relative correction 1.0e-8)"));
    assert!(stopped(f64::INFINITY).ends_with("(the last flow tried does not pass)"));
    let out = FilmError::OutOfWork { evaluations: 40_000, nodes: 25, low: 1e-6, high: f64::INFINITY }.to_string();
    assert!(out.contains("40000 evaluations of a step over 25 nodes (it is more than 1.0e-6 kg/s)"), "{out}");
}

#[test]
fn spin_drives_outward() {
    // published.md F4 (Findlay 1968; Pinkus and Lund 1981): one face rotating at 1000 rad/s, 2 um.
    let mut setup = Setup::linear(2e-6, 2e-6, plain());
    setup.switches.spin = true;
    let (result, _) = film(&setup.input(2e6 + 1e5, 1e5, 1000.0), None).unwrap();
    close(-result.mass_flow_kg_per_s / 1000.0 * 3.6e9, 127.187910, 1e-6);
    close(result.force_n(&setup.nodes, 1e5), 1184.490528, 1e-6);
    let (pumping, _) = film(&setup.input(1e5, 1e5, 1000.0), None).unwrap();
    close(pumping.mass_flow_kg_per_s / 1000.0 * 3.6e9, 3.4371117, 1e-6);
    close(pumping.force_n(&setup.nodes, 1e5), -2.2241204, 1e-4);
    // A start along the wrong way turns round.
    let (_, inward) = film(&setup.input(2e6 + 1e5, 1e5, 1000.0), None).unwrap();
    let (turned, _) = film(&setup.input(1e5, 1e5, 1000.0), Some(&inward)).unwrap();
    close(turned.mass_flow_kg_per_s, pumping.mass_flow_kg_per_s, 1e-9);
}

#[test]
fn squeeze_of_a_parallel_film_has_the_narrow_damping() {
    // Green and Etsion 1983, C -> parallel: dz = 2 pi rm mu b^3 / C^3 (narrow seal; curvature adds less than 1 %).
    let setup = Setup::linear(1e-6, 1e-6, plain());
    let rate = vec![-1e-9; setup.gap.len()];
    let mut input = setup.input(1e6, 1e6, 0.0);
    let (steady, start) = film(&input, None).unwrap();
    input.gap.rate_m_per_s = Some(&rate);
    let (squeezed, _) = film(&input, Some(&start)).unwrap();
    let (ri, ro) = (24.45e-3, 30.80e-3);
    let damping: f64 = 2.0 * PI * 0.5 * (ri + ro) * 1e-3 * (ro - ri).powi(3) / 1e-18;
    close(squeezed.force_n(&setup.nodes, 0.0) - steady.force_n(&setup.nodes, 0.0), damping * 1e-9, 0.01);
}

fn heated() -> Setup {
    let mut setup = Setup::linear(0.6e-6, 0.9e-6, Switches::default());
    setup.fluid = Fluid::thinning(constants(), 0.02, 293.15).unwrap();
    for (k, t) in setup.face.iter_mut().enumerate() {
        *t += 10.0 + 0.3 * k as f64;
    }
    setup
}

#[test]
fn energy_closes_over_the_film() {
    let setup = heated();
    for gap_scale in [1.0, 30.0] {
        let gap: Vec<f64> = setup.gap.iter().map(|h| h * gap_scale).collect();
        let mut input = setup.input(1.1e6, 1e5, 310.0);
        input.gap.profile_m = &gap;
        let (result, _) = film(&input, None).unwrap();
        let to_faces: f64 = setup.nodes.weight_m2.iter().zip(&result.flux_w_per_m2).map(|(w, q)| w * q).sum();
        let power = result.shear_power_w(&setup.nodes);
        assert!(
            (power - to_faces - result.leak_heat_w).abs() < 1e-9 * power.max(to_faces.abs()),
            "{power} {to_faces} {}",
            result.leak_heat_w
        );
        assert!(result.mass_balance < 1e-12, "{:e}", result.mass_balance);
    }
}

#[test]
fn sensitivities_are_difference_quotients() {
    for (outer, inner, scale) in [(1.1e6, 1e5, 1.0), (1e5, 5e5, 1.0), (1.1e6, 1e5, 20.0)] {
        let mut setup = heated();
        setup.gap.iter_mut().for_each(|h| *h *= scale);
        let (_, start) = film(&setup.input(outer, inner, 310.0), None).unwrap();
        let slopes = sensitivity(&setup.input(outer, inner, 310.0), &start).unwrap();
        for column in [0, 1, 15, 31, 32] {
            let step = 1e-5 * setup.gap[column];
            let (mut wide, mut tight) = (setup.gap.clone(), setup.gap.clone());
            wide[column] += step;
            tight[column] -= step;
            let mut input = setup.input(outer, inner, 310.0);
            input.gap.profile_m = &wide;
            let (up, _) = film(&input, Some(&start)).unwrap();
            input.gap.profile_m = &tight;
            let (down, _) = film(&input, Some(&start)).unwrap();
            compare(&up, &down, step, &slopes.pressure_by_gap, &slopes.flux_by_gap, column);

            let kelvin = 1e-2;
            let (mut hot, mut cold) = (setup.face.clone(), setup.face.clone());
            hot[column] += kelvin;
            cold[column] -= kelvin;
            let mut input = setup.input(outer, inner, 310.0);
            input.face_temperature_k = &hot;
            let (up, _) = film(&input, Some(&start)).unwrap();
            input.face_temperature_k = &cold;
            let (down, _) = film(&input, Some(&start)).unwrap();
            compare(&up, &down, kelvin, &slopes.pressure_by_face_temperature, &slopes.flux_by_face_temperature, column);
        }
    }
}

fn compare(up: &FilmResult, down: &FilmResult, step: f64, pressure: &faer::Mat<f64>, flux: &faer::Mat<f64>, column: usize) {
    let largest = |m: &faer::Mat<f64>| (0..m.nrows()).map(|i| m[(i, column)].abs()).fold(0.0, f64::max);
    for row in 0..up.pressure_pa.len() {
        let quotient = (up.pressure_pa[row] - down.pressure_pa[row]) / (2.0 * step);
        assert!(
            (pressure[(row, column)] - quotient).abs() < 1e-4 * largest(pressure) + 1e-3,
            "p {row} {column}: {} {quotient}",
            pressure[(row, column)]
        );
        let quotient = (up.flux_w_per_m2[row] - down.flux_w_per_m2[row]) / (2.0 * step);
        assert!(
            (flux[(row, column)] - quotient).abs() < 1e-4 * largest(flux) + 1e-4,
            "q {row} {column}: {} {quotient}",
            flux[(row, column)]
        );
    }
}

#[test]
fn thick_oil_reaches_its_limiting_shear_stress() {
    let mut setup = Setup::linear(1e-6, 1e-6, Switches { heat: false, ..plain() });
    setup.fluid = Fluid::named("mineral oil ISO VG 680").unwrap();
    let input = setup.input(1e6, 1e5, 300.0);
    let (result, start) = film(&input, None).unwrap();
    let limit = limiting_shear_pa(&setup.fluid).unwrap();
    let (mut newtonian, mut found) = (0.0, 0.0);
    for (k, r) in setup.nodes.radius_m.iter().enumerate() {
        newtonian += result.states[k].viscosity_pa_s * 300.0 * r / 1e-6;
        found += result.shear_heat_w_per_m2[k] / (300.0 * r);
    }
    let count = setup.nodes.len() as f64;
    assert!(newtonian / count > 5.0 * limit, "the test must drive the film far beyond the limit");
    close(found / count, limit, 0.03);
    // The slopes know of it: a thinner film makes hardly more heat.
    let slopes = sensitivity(&input, &start).unwrap();
    let relative = slopes.flux_by_gap[(10, 10)] * 1e-6 / result.shear_heat_w_per_m2[10];
    assert!(relative < 0.0 && relative > -0.1, "{relative}");
    assert!(limiting_shear_pa(&water_like()).is_none());
}

#[test]
fn leakage_grows_as_the_cube_of_the_gap() {
    let thin = Setup::linear(1e-6, 1e-6, plain());
    let thick = Setup::linear(2e-6, 2e-6, plain());
    let flow = |s: &Setup| film(&s.input(1e6, 1e5, 0.0), None).unwrap().0.mass_flow_kg_per_s;
    close(flow(&thick) / flow(&thin), 8.0, 1e-6);
}

#[test]
fn force_and_leakage_converge_with_fourth_order() {
    // Exact values: published.md F2, gap 1 um inside to 2 um outside. Two Gauss points an interval, quadratic elements: order 4.
    let solved = |elements: usize| {
        let mut setup = Setup::linear(1e-6, 2e-6, plain());
        setup.nodes = face_a(elements);
        let (ri, ro) = (24.45e-3, 30.80e-3);
        setup.gap = setup.nodes.radius_m.iter().map(|r| 1e-6 + 1e-6 * (r - ri) / (ro - ri)).collect();
        setup.face = vec![293.15; setup.nodes.len()];
        let (result, _) = film(&setup.input(2e6 + 1.0, 1.0, 0.0), None).unwrap();
        (result.force_n(&setup.nodes, 1.0), -result.mass_flow_kg_per_s)
    };
    let fine = solved(64);
    let error = |elements: usize| {
        let (force, flow) = solved(elements);
        ((force - fine.0).abs(), (flow - fine.1).abs())
    };
    let (coarse, half) = (error(4), error(8));
    let order = |a: f64, b: f64| (a / b).log2();
    assert!((order(coarse.0, half.0) - 4.0).abs() < 0.15, "force: order {}", order(coarse.0, half.0));
    assert!((order(coarse.1, half.1) - 4.0).abs() < 0.15, "leakage: order {}", order(coarse.1, half.1));
    close(fine.0, 1543.036682, 1e-8);
}
