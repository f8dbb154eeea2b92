//! Gas, choked and boiling films against their closed forms; slopes against differences.

use halfmicron_properties::{ConstantBoiling, ConstantGas, Fluid};

use super::*;
use crate::model::{Slip, Switches};
use crate::outcome::PhaseChangeKind;

fn gas() -> Fluid {
    Fluid::constant_gas(ConstantGas {
        name: "air-like".to_owned(),
        gas_constant: 287.05,
        viscosity: 1.8e-5,
        conductivity: 0.026,
        heat_capacity: 1005.0,
        reference_temperature: 300.0,
    })
    .unwrap()
}

pub(super) fn boiling(saturation_pa: f64, conductivity: f64) -> Fluid {
    Fluid::constant_boiling(ConstantBoiling {
        name: "water-like".to_owned(),
        liquid_density: 917.0,
        liquid_viscosity: 1.82e-4,
        liquid_conductivity: conductivity,
        liquid_heat_capacity: 4300.0,
        vapour_gas_constant: 461.5,
        vapour_viscosity: 1.40e-5,
        vapour_conductivity: 0.03 * conductivity / 0.68,
        vapour_heat_capacity: 2300.0,
        saturation: (423.15, saturation_pa),
        latent_heat: 2.1e6,
    })
    .unwrap()
}

fn bare() -> Switches {
    Switches::viscous_alone()
}

pub(super) struct Setup {
    pub(super) nodes: BandNodes,
    pub(super) gap: Vec<f64>,
    pub(super) face: Vec<f64>,
    fluid: Fluid,
    switches: Switches,
    temperature: f64,
    pressures: [f64; 2],
    pub(super) speed: f64,
}

impl Setup {
    pub(super) fn new(radii: [f64; 2], gap: f64, fluid: Fluid, temperature: f64, pressures: [f64; 2], switches: Switches) -> Self {
        let nodes = BandNodes::uniform(radii[0], radii[1], 12);
        let n = nodes.len();
        Self { nodes, gap: vec![gap; n], face: vec![temperature; n], fluid, switches, temperature, pressures, speed: 0.0 }
    }

    pub(super) fn input(&self) -> FilmInput<'_> {
        FilmInput {
            nodes: &self.nodes,
            gap: Gap { profile_m: &self.gap, rate_m_per_s: None, field: None },
            fluid: &self.fluid,
            inner_pressure_pa: self.pressures[0],
            outer_pressure_pa: self.pressures[1],
            entry_temperature_k: self.temperature,
            face_temperature_k: &self.face,
            speeds_rad_per_s: [self.speed, 0.0],
            roughness_m: 1e-9,
            switches: &self.switches,
        }
    }

    fn solve(&self) -> FilmResult {
        film(&self.input(), None).unwrap().0
    }
}

fn close(value: f64, expected: f64, relative: f64) {
    assert!((value / expected - 1.0).abs() < relative, "{value:e} instead of {expected:e}");
}

#[test]
fn isothermal_gas_has_its_closed_form() {
    // published.md F3.
    for (outer, flow, force) in [(4.5852e6, 0.3347930e-3, 26754.7092), (1.1e6, 1.9114223e-5, 6455.98814), (0.2e6, 4.7371185e-7, 1330.40073)]
    {
        let setup = Setup::new([58.42e-3, 77.78e-3], 3e-6, gas(), 300.0, [101_325.0, outer], bare());
        let result = setup.solve();
        close(-result.mass_flow_kg_per_s, flow, 1e-6);
        close(result.force_n(&setup.nodes, 0.0), force, 1e-6);
    }
}

#[test]
fn planar_gas_with_inertia_chokes_where_it_must() {
    // published.md K3: a ring so large that it is plane; no entry loss.
    let rows: [(f64, f64, f64, Option<f64>); 12] = [
        (3e-6, 0.3e6, 3.03764, None),
        (3e-6, 1e6, 37.6859, None),
        (3e-6, 4e6, 600.991, Some(176_363.0)),
        (5e-6, 0.3e6, 8.43666, None),
        (5e-6, 1e6, 104.288, None),
        (5e-6, 4e6, 1573.29, Some(461_687.0)),
        (10e-6, 0.3e6, 33.6626, None),
        (10e-6, 1e6, 393.322, Some(115_422.0)),
        (10e-6, 4e6, 4441.31, Some(1.30332e6)),
        (20e-6, 0.3e6, 129.685, None),
        (20e-6, 1e6, 1110.33, Some(325_829.0)),
        (20e-6, 4e6, 7946.76, Some(2.332e6)),
    ];
    let radius = 1000.0;
    for (gap, pressure, mass_flux, exit) in rows {
        // No kinetic drop at the entry: the published form starts inside the gap.
        let switches = Switches { convective_inertia: true, entry_loss: -1.0, ..bare() };
        let setup = Setup::new([radius, radius + 6.35e-3], gap, gas(), 300.0, [101_325.0, pressure], switches);
        let result = setup.solve();
        close(-result.mass_flow_kg_per_s / (2.0 * std::f64::consts::PI * radius * gap), mass_flux, 3e-5);
        assert_eq!(result.choked, exit.is_some(), "{gap} {pressure}");
        if let Some(exit) = exit {
            close(result.exit_pressure_pa, exit, 1e-4);
            close(result.greatest_mach * 1.4_f64.sqrt().min(2.0), 1.4_f64.sqrt() * 0.8452, 0.01);
        }
    }
}

#[test]
fn isothermal_boiling_has_its_closed_form() {
    // published.md P1.
    for (saturation, flow, force) in [
        (0.12e6, 10.056881e-6, 654.334288),
        (0.20e6, 9.153403e-6, 694.517720),
        (0.476e6, 6.077153e-6, 829.722074),
        (0.90e6, 1.474415e-6, 980.377503),
    ] {
        let setup = Setup::new([24.45e-3, 30.80e-3], 1e-6, boiling(saturation, 0.68), 423.15, [0.1e6, 1.0e6], bare());
        let result = setup.solve();
        close(-result.mass_flow_kg_per_s, flow, 2e-6);
        close(result.force_n(&setup.nodes, 0.0), force, 2e-5);
        assert_eq!(result.phase_changes.len(), 2);
    }
}

#[test]
fn heated_boiling_tends_to_the_sharp_interface() {
    // The faces feed the latent heat the better the film conducts: then P1 again, with a front of finite width.
    let exact = (6.077153e-6, 829.722074);
    let mut before = f64::INFINITY;
    for conductivity in [0.68, 68.0, 6800.0] {
        let switches = Switches { heat: true, ..bare() };
        let setup = Setup::new([24.45e-3, 30.80e-3], 1e-6, boiling(0.476e6, conductivity), 423.15, [0.1e6, 1.0e6], switches);
        let result = setup.solve();
        let error = (-result.mass_flow_kg_per_s / exact.0 - 1.0).abs() + (result.force_n(&setup.nodes, 0.0) / exact.1 - 1.0).abs();
        assert!(error < 0.3 * before, "{conductivity}: {error:e}, before {before:e}");
        before = error;
        let begins = result.phase_changes.iter().find(|c| c.kind == PhaseChangeKind::BeginsToBoil).unwrap();
        assert!((begins.radius_m / 24.533580e-3 - 1.0).abs() < 2e-3, "{}", begins.radius_m);
        let heat: f64 = setup.nodes.weight_m2.iter().zip(&result.flux_w_per_m2).map(|(w, q)| w * q).sum();
        // The last digit of the temperature of 423 K, times the conductance.
        let rounding = f64::EPSILON * 423.15 * 12.0 * conductivity / 1e-6 * setup.nodes.weight_m2.iter().sum::<f64>();
        close(heat, -result.leak_heat_w, 1e-8 + rounding / heat.abs());
        assert!(heat < 0.0, "boiling takes heat from the faces");
    }
    assert!(before < 2e-3, "{before:e}");
}

#[test]
fn adiabatic_flashing_is_followed_through_the_mixture() {
    // A wide gap: hardly any heat from the faces, the liquid flashes by its own heat and leaves wet.
    let switches = Switches { heat: true, convective_inertia: true, ..bare() };
    let mut setup = Setup::new([24.45e-3, 30.80e-3], 40e-6, boiling(0.476e6, 0.68), 423.15, [0.1e6, 1.0e6], switches);
    // Wider still it cannot even begin: the mixture's speed of sound is met where the first vapour would form.
    let choked = setup.solve();
    assert!(choked.choked && (choked.exit_pressure_pa / 0.476e6 - 1.0).abs() < 0.05, "{}", choked.exit_pressure_pa);
    setup.gap.iter_mut().for_each(|h| *h = 4e-6);
    let wide = setup.solve();
    assert!(wide.vapour_fraction_max > 0.005 && wide.vapour_fraction_max < 0.5, "{}", wide.vapour_fraction_max);
    setup.switches.convective_inertia = false;
    let slow = setup.solve();
    assert!(
        slow.mass_flow_kg_per_s < wide.mass_flow_kg_per_s,
        "inertia throttles: {} {}",
        slow.mass_flow_kg_per_s,
        wide.mass_flow_kg_per_s
    );
}

#[test]
fn force_varies_smoothly_while_the_front_passes_nodes() {
    let switches = Switches { heat: true, ..bare() };
    let force = |saturation: f64| {
        let setup = Setup::new([24.45e-3, 30.80e-3], 1e-6, boiling(saturation, 0.68), 423.15, [0.1e6, 1.0e6], switches);
        film(&setup.input(), None).unwrap_or_else(|e| panic!("{saturation}: {e}")).0.force_n(&setup.nodes, 0.0)
    };
    let values: Vec<f64> = (0..120).map(|k| force(0.5e6 + 3e3 * f64::from(k))).collect();
    let slopes: Vec<f64> = values.windows(2).map(|w| w[1] - w[0]).collect();
    for pair in slopes.windows(2) {
        assert!(pair[0] > 0.0 && (pair[1] / pair[0] - 1.0).abs() < 0.12, "{pair:?}");
    }
}

pub(super) fn slopes_agree(setup: &mut Setup, tolerance: f64) {
    let (_, start) = film(&setup.input(), None).unwrap();
    let slopes = sensitivity(&setup.input(), &start).unwrap();
    let n = setup.gap.len();
    let largest = |m: &faer::Mat<f64>, column: usize| (0..n).map(|i| m[(i, column)].abs()).fold(0.0, f64::max);
    for column in [0, 1, 11, 12, n - 2, n - 1] {
        for by_gap in [true, false] {
            let step = if by_gap { 1e-4 * setup.gap[column] } else { 0.03 };
            let mut ends = Vec::new();
            for sign in [1.0, -1.0] {
                let profile = if by_gap { &mut setup.gap } else { &mut setup.face };
                profile[column] += sign * step;
                ends.push(film(&setup.input(), Some(&start)).unwrap().0);
                let profile = if by_gap { &mut setup.gap } else { &mut setup.face };
                profile[column] -= sign * step;
            }
            let (pressure, flux, conductivity) = if by_gap {
                (&slopes.pressure_by_gap, &slopes.flux_by_gap, &slopes.conductivity_by_gap)
            } else {
                (&slopes.pressure_by_face_temperature, &slopes.flux_by_face_temperature, &slopes.conductivity_by_face_temperature)
            };
            for row in 0..n {
                let quotient = (ends[0].pressure_pa[row] - ends[1].pressure_pa[row]) / (2.0 * step);
                let found = pressure[(row, column)];
                assert!(
                    (found - quotient).abs() < tolerance * largest(pressure, column) + 0.2,
                    "p {row} {column} gap {by_gap}: {found:e} {quotient:e} of {:e}",
                    largest(pressure, column)
                );
                let quotient = (ends[0].flux_w_per_m2[row] - ends[1].flux_w_per_m2[row]) / (2.0 * step);
                let found = flux[(row, column)];
                assert!(
                    (found - quotient).abs() < tolerance * largest(flux, column) + 0.2,
                    "q {row} {column} gap {by_gap}: {found:e} {quotient:e} of {:e}",
                    largest(flux, column)
                );
                let quotient = (ends[0].conductivity_w_per_m_k[row] - ends[1].conductivity_w_per_m_k[row]) / (2.0 * step);
                let found = conductivity[(row, column)];
                assert!(
                    (found - quotient).abs() < tolerance * largest(conductivity, column) + 1e-9 / step,
                    "k {row} {column} gap {by_gap}: {found:e} {quotient:e} of {:e}",
                    largest(conductivity, column)
                );
            }
        }
    }
}

#[test]
fn slopes_of_gas_and_boiling_films_are_difference_quotients() {
    let hot = Switches { heat: true, convective_inertia: true, spin: true, shear_factor: true, flow_factor: true, ..Switches::default() };
    let mut warm_gas = Setup::new([58.42e-3, 77.78e-3], 3e-6, gas(), 300.0, [101_325.0, 1.1e6], hot);
    warm_gas.speed = 800.0;
    warm_gas.gap.iter_mut().enumerate().for_each(|(k, h)| *h += 3e-8 * k as f64);
    slopes_agree(&mut warm_gas, 1e-4);
    warm_gas.gap.iter_mut().for_each(|h| *h *= 8.0);
    assert!(warm_gas.solve().choked);
    slopes_agree(&mut warm_gas, 1e-3);
    // Isothermal and choked, as K3 and K4 have it.
    let cold = Switches { convective_inertia: true, ..bare() };
    // At 4 MPa a level of ln v would lie within 1e-5 of the interval before the exit, and the quotients step over its coming and going.
    let mut choked = Setup::new([100e-3, 110e-3], 10e-6, gas(), 300.0, [101_325.0, 4.2e6], cold);
    assert!(choked.solve().choked);
    slopes_agree(&mut choked, 1e-3);
    let mut film = Setup::new([24.45e-3, 30.80e-3], 1e-6, boiling(0.476e6, 0.68), 423.15, [0.1e6, 1.0e6], hot);
    film.speed = 300.0;
    film.face.iter_mut().enumerate().for_each(|(k, t)| *t += 2.0 + 0.05 * k as f64);
    film.switches.slip = Slip::None;
    slopes_agree(&mut film, 1e-3);
    film.gap.iter_mut().for_each(|h| *h *= 25.0);
    slopes_agree(&mut film, 1e-3);
}

#[test]
fn turbulence_resists_flow_and_adds_shear() {
    let mut setup = Setup::new(
        [90e-3, 110e-3],
        20e-6,
        Fluid::named("water").unwrap(),
        320.0,
        [1e5, 3e6],
        Switches { heat: false, ..Switches::default() },
    );
    setup.speed = 500.0;
    let turbulent = setup.solve();
    setup.switches.turbulence = false;
    let laminar = setup.solve();
    assert!(turbulent.mass_flow_kg_per_s.abs() < 0.9 * laminar.mass_flow_kg_per_s.abs());
    assert!(turbulent.shear_power_w(&setup.nodes) > 1.2 * laminar.shear_power_w(&setup.nodes));
}

#[test]
fn hot_water_flashes_with_the_real_equation_of_state() {
    let mut setup =
        Setup::new([24.45e-3, 30.80e-3], 0.8e-6, Fluid::named("water").unwrap(), 430.0, [1.01325e5, 1.0e6], Switches::default());
    setup.speed = 300.0;
    let result = setup.solve();
    assert!(result.vapour_fraction_max > 0.99);
    assert!(result.phase_changes[0].radius_m > 24.45e-3 && result.phase_changes[0].radius_m < 27e-3, "{:?}", result.phase_changes);
    // Flashing raises the force above that of the all-liquid film (K = 0.54).
    let share = result.force_n(&setup.nodes, 1.01325e5) / (setup.nodes.weight_m2.iter().sum::<f64>() * (1.0e6 - 1.01325e5));
    assert!(share > 0.60 && share < 0.95, "{share}");
}

/// Gas, choked gas, and water that boils on its way, each with a film near it.
fn films_with_neighbours() -> Vec<[Setup; 2]> {
    let hot = Switches { heat: true, convective_inertia: true, spin: true, ..Switches::default() };
    let make = |of: &dyn Fn() -> Setup| {
        let [mut setup, mut near] = [of(), of()];
        [&mut setup, &mut near].iter_mut().for_each(|setup| setup.speed = 300.0);
        near.gap.iter_mut().enumerate().for_each(|(k, h)| *h *= 1.1 + 0.002 * k as f64);
        near.face.iter_mut().for_each(|t| *t += 1.5);
        [setup, near]
    };
    vec![
        make(&|| Setup::new([58.42e-3, 77.78e-3], 3e-6, gas(), 300.0, [101_325.0, 1.1e6], hot)),
        make(&|| Setup::new([58.42e-3, 77.78e-3], 24e-6, gas(), 300.0, [101_325.0, 1.1e6], hot)),
        make(&|| Setup::new([24.45e-3, 30.80e-3], 1e-6, boiling(0.476e6, 0.68), 423.15, [0.1e6, 1.0e6], hot)),
        make(&|| Setup::new([24.45e-3, 30.80e-3], 0.8e-6, Fluid::named("water").unwrap(), 430.0, [1.01325e5, 1.0e6], hot)),
    ]
}

#[test]
fn a_film_does_not_depend_on_the_one_it_starts_from() {
    for [setup, near] in films_with_neighbours() {
        let (alone, _) = film(&setup.input(), None).unwrap();
        let (_, start) = film(&near.input(), None).unwrap();
        let (after, _) = film(&setup.input(), Some(&start)).unwrap();
        close(after.mass_flow_kg_per_s, alone.mass_flow_kg_per_s, 1e-9);
        close(after.force_n(&setup.nodes, 0.0), alone.force_n(&setup.nodes, 0.0), 1e-9);
        close(after.shear_power_w(&setup.nodes), alone.shear_power_w(&setup.nodes), 1e-9);
        assert_eq!(after.phase_changes.len(), alone.phase_changes.len());
    }
}

#[test]
fn a_march_that_follows_another_takes_less_work() {
    for [setup, _] in films_with_neighbours() {
        let input = setup.input();
        let (_, start) = film(&input, None).unwrap();
        let flow = start.mass_flow_kg_per_s;
        let spent = |start: Option<&FilmStart>| {
            let marcher = super::axisymmetric::marcher(&input, flow > 0.0, start).unwrap();
            assert!(marcher.march(0.999 * flow.abs()).is_ok());
            marcher.spent.get()
        };
        let (guided, alone) = (spent(Some(&start)), spent(None));
        assert!(5 * guided < 4 * alone, "{guided} of {alone}");
    }
}

#[test]
fn gradients_near_the_speed_of_sound_are_those_of_a_short_step() {
    let switches = Switches { heat: true, convective_inertia: true, spin: true, momentum_factor: 1.0, ..Switches::default() };
    // So wide that what the section does along the flow is nothing.
    let setup = Setup::new([5.0, 5.02], 24e-6, gas(), 300.0, [101_325.0, 1.1e6], switches);
    let input = setup.input();
    let marcher = super::axisymmetric::marcher(&input, false, None).unwrap();
    let here = super::march::Found { state: setup.fluid.at_pressure_temperature(5e5, 290.0).unwrap(), share: 0.5, by_flow: [0.0; 3] };
    let (interval, region, mach) = (20, super::march::Region::Light, 0.93);
    // Above the speed of sound at constant enthalpy, sqrt(1/1.4) of the true one.
    let flow = mach / marcher.mach_squared(interval, &here.state, 1.0).sqrt();
    let Ok((by_pressure, by_enthalpy)) = marcher.gradients(interval, &here, region, flow) else { panic!("no gradients at Mach {mach}") };
    let step = 1e-5;
    let end = |share: f64| match marcher.solve(interval, &here, super::march::Closure::Share(share), region, flow, here) {
        Ok(found) => [found.state.pressure_pa, found.state.enthalpy_j_per_kg],
        Err(_) => panic!("no step to {share}"),
    };
    let [down, up] = [end(0.5 - step), end(0.5 + step)];
    let span = 2.0 * step * (marcher.band.radius[interval + 1] - marcher.band.radius[interval]).abs();
    close(by_pressure, (up[0] - down[0]) / span, 1e-3);
    close(by_enthalpy, (up[1] - down[1]) / span, 1e-3);
}

#[test]
fn a_dense_gas_too_fast_for_a_mixture_leaves_just_saturated() {
    let switches = Switches { slip: Slip::None, ..Switches::default() };
    let methane = Fluid::named("methane").unwrap();
    let mut setup = Setup::new([3.6e-3, 4.721e-3], 4e-6, methane, 226.0, [101_325.0, 11.763971e6], switches);
    let (result, start) = film(&setup.input(), None).unwrap();
    assert!(result.choked && result.greatest_mach == 1.0, "{}", result.greatest_mach);
    let last = *start.march.as_ref().unwrap().marks.last().unwrap();
    assert_eq!((last.closure, last.mixed), (super::march::Closure::Short, false));
    let line = setup.fluid.phase_line(result.exit_pressure_pa).unwrap();
    close(last.state.enthalpy_j_per_kg, line.vapour.enthalpy_j_per_kg, 1e-5);
    slopes_agree(&mut setup, 1e-2);
}

#[test]
fn a_flow_that_chokes_at_the_lip_of_the_entry_is_named() {
    let octane = Fluid::named("octane").unwrap();
    let setup = Setup::new([4.151e-3, 4.751e-3], 60e-6, octane, 674.42, [8.432028e6, 101_325.0], Switches::default());
    let Err(FilmError::ChokesInside { radius_m }) = film(&setup.input(), None) else {
        panic!("{:?}", film(&setup.input(), None).map(|_| ()))
    };
    close(radius_m, 4.151e-3, 1e-12);
}

/// Boiling argon on its way to 1.8 kPa passes its triple point, 83.8058 K and 68.891 kPa (Tegeler, Span and Wagner, J. Phys. Chem. Ref. Data
/// 28 (1999) 779; from memory), where it freezes: no film ends there.
#[test]
fn a_film_that_would_freeze_on_its_way_to_the_exit_is_named() {
    let argon = Fluid::named("argon").unwrap();
    let mut setup = Setup::new([40e-3, 46e-3], 3e-6, argon, 95.0, [1807.0, 0.5e6], Switches::default());
    setup.speed = 50.0;
    let Err(error) = film(&setup.input(), None) else { panic!("{:?}", film(&setup.input(), None).map(|found| found.0)) };
    assert!(error.is_not_modelled());
    let FilmError::EndsBeforeExit { pressure_pa, temperature_k, .. } = error else { panic!("{error}") };
    close(pressure_pa, 68_891.0, 1e-3);
    close(temperature_k, 83.8058, 1e-4);
}
