//! The coupled point on made-up rings: slopes, roots, limits.

use faer::Mat;
use halfmicron_properties::{ConstantFluid, Fluid};

use super::branch::{crossings, equilibrium, trace};
use super::coupled::Coupled;
use super::pair::{Following, Pair};
use crate::contact::ContactLaw;
use crate::model::Switches;
use crate::outcome::Work;
use crate::ring::{BandNodes, RingResponse};

/// A ring that heats by `kelvin_per_flux` evenly plus a local part, and cones by pressure and heat.
fn made_up_ring(nodes: &BandNodes, ambient_k: f64, kelvin_per_flux: f64, thermal_coning: f64, elastic_coning: f64) -> RingResponse {
    let n = nodes.len();
    let area: f64 = nodes.weight_m2.iter().sum();
    let (ri, ro) = (nodes.radius_m[0], nodes.radius_m[n - 1]);
    let lever = |k: usize| (nodes.radius_m[k] - ri) / (ro - ri);
    let share = |k: usize| nodes.weight_m2[k] / area;
    let near = |i: usize, j: usize| (-((nodes.radius_m[i] - nodes.radius_m[j]) / 1e-3).powi(2)).exp();
    RingResponse {
        temperature_k: vec![ambient_k; n],
        temperature_per_flux: Mat::from_fn(n, n, |i, j| kelvin_per_flux * share(j) * (1.0 + near(i, j))),
        elastic_deflection_m: vec![0.0; n],
        thermal_deflection_m: vec![0.0; n],
        deflection_per_pressure: Mat::from_fn(n, n, |i, j| share(j) * (elastic_coning * lever(i) + 2e-14 * near(i, j))),
        edge_travel_per_pressure: (0..n).map(|j| share(j) * 3e-13).collect(),
        deflection_per_flux: Mat::from_fn(n, n, |i, j| share(j) * thermal_coning * lever(i)),
    }
}

fn made_up_pair(thermal: f64, elastic: f64) -> Pair {
    made_up_pair_of(thermal, elastic, 1.0)
}

/// The same with all heat resistances scaled.
pub(super) fn made_up_pair_of(thermal: f64, elastic: f64, resistance: f64) -> Pair {
    let nodes = BandNodes::uniform(24.45e-3, 30.80e-3, 16);
    let rings = [
        made_up_ring(&nodes, 311.15, resistance * 3.0e-4, thermal, elastic),
        made_up_ring(&nodes, 311.15, resistance * 0.8e-4, 0.4 * thermal, 0.1 * elastic),
    ];
    let lapped = vec![0.0; nodes.len()];
    Pair::new(nodes, rings, lapped, Following { heat: true, distortion: true })
}

pub(super) fn fluid() -> Fluid {
    let constants =
        ConstantFluid { name: "water-like".to_owned(), density: 1000.0, viscosity: 1e-3, heat_capacity: 4180.0, conductivity: 0.6 };
    Fluid::thinning(constants, 0.02, 293.15).unwrap()
}

fn coupled<'a>(pair: &'a Pair, fluid: &'a Fluid, switches: &'a Switches) -> Coupled<'a> {
    Coupled {
        pair,
        contact: ContactLaw { roughness_m: 1.3e-7, elastic_scale_pa: 6.0e6, plastic_pressure_pa: 3.0e8 },
        fluid,
        inner_pressure_pa: 1.013e5,
        outer_pressure_pa: 12.013e5,
        base_pressure_pa: 1.013e5,
        entry_temperature_k: 311.15,
        speeds_rad_per_s: [310.0, 0.0],
        boundary_friction: 0.1,
        switches,
        field: None,
    }
}

#[test]
fn cold_water_seal_finds_its_equilibria() {
    let (fluid, switches) = (fluid(), Switches::default());
    for (thermal, elastic) in [(0.0, 0.0), (6e-12, -4e-13), (6e-12, 0.0), (0.0, -5e-13), (2e-11, -1e-12)] {
        let pair = made_up_pair(thermal, elastic);
        let coupled = coupled(&pair, &fluid, &switches);
        let mut work = Work::default();
        let trace = trace(&coupled, 1150.0, &mut work).unwrap();
        println!("--- thermal {thermal:e} elastic {elastic:e}: {} points, {:?}, {work:?}", trace.points.len(), trace.end);
        let (roots, failures) = crossings(&coupled, &trace, 1096.0, &mut work);
        for r in &roots {
            println!(
                "ROOT {:e} slope {:e} {:e} {:e} tmax {} m {:e} {work:?}",
                r.state.inner_gap_m,
                r.slopes.coupled_n_per_m,
                r.slopes.thermally_frozen_n_per_m,
                r.slopes.frozen_n_per_m,
                r.evaluation.faces.mean_k.iter().fold(0.0f64, |a, b| a.max(*b)),
                r.evaluation.film.mass_flow_kg_per_s
            );
        }
        assert!(failures.is_empty(), "{failures:?}");
        assert!(!roots.is_empty());
        let again = equilibrium(&coupled, roots[0].state.clone(), 1100.0, &mut work).unwrap();
        assert!((again.evaluation.opening_force_n - 1100.0).abs() < 1e-6);
    }
}

#[test]
fn coupled_slope_is_the_difference_quotient_of_equilibria() {
    let (fluid, switches) = (fluid(), Switches::default());
    let pair = made_up_pair(6e-12, -4e-13);
    let coupled = coupled(&pair, &fluid, &switches);
    let mut work = Work::default();
    let trace = trace(&coupled, 1150.0, &mut work).unwrap();
    let (roots, _) = crossings(&coupled, &trace, 1096.0, &mut work);
    let root = &roots[0];
    let up = equilibrium(&coupled, root.state.clone(), 1096.1, &mut work).unwrap();
    let down = equilibrium(&coupled, root.state.clone(), 1095.9, &mut work).unwrap();
    let quotient = 0.2 / (up.state.inner_gap_m - down.state.inner_gap_m);
    assert!((root.slopes.along_curve_n_per_m / quotient - 1.0).abs() < 1e-3, "{:e} {quotient:e}", root.slopes.along_curve_n_per_m);
}

#[test]
fn slopes_by_what_lies_between_the_faces_are_difference_quotients() {
    let pair = made_up_pair(6e-12, -4e-13);
    let n = pair.nodes.len();
    let flux: Vec<f64> = (0..n).map(|k| 2e5 + 1e4 * k as f64).collect();
    let mut resistance = vec![2e-5; n];
    let slopes = pair.flux_slopes(&resistance).into_owned();
    let still = pair.faces(&flux, &resistance);
    for node in [0, n / 2, n - 1] {
        let change = 1e-4 * resistance[node];
        let half = 0.5 * (still.flux_w_per_m2[0][node] - still.flux_w_per_m2[1][node]);
        let ends = [change, -2.0 * change].map(|by| {
            resistance[node] += by;
            let faces = pair.faces(&flux, &resistance);
            let shape = pair.shape(&vec![0.0; n], &faces.flux_w_per_m2);
            (faces.mean_k, shape)
        });
        resistance[node] += change;
        let [most_k, most_m] = [&slopes.mean_temperature_by_difference, &slopes.gap_by_difference]
            .map(|slope| (0..n).map(|row| (half * slope[(row, node)]).abs()).fold(0.0, f64::max));
        assert!(most_k > 0.0 && most_m > 0.0);
        for row in 0..n {
            let kelvin = (ends[0].0[row] - ends[1].0[row]) / (2.0 * change);
            let metre = (ends[0].1[row] - ends[1].1[row]) / (2.0 * change);
            assert!((half * slopes.mean_temperature_by_difference[(row, node)] - kelvin).abs() < 1e-4 * most_k, "{row} {node} {kelvin:e}");
            assert!((half * slopes.gap_by_difference[(row, node)] - metre).abs() < 1e-4 * most_m, "{row} {node} {metre:e}");
        }
    }
}
