//! The stable property surface of every pure fluid against the equation of state that it stands for.

use halfmicron_properties::{Fluid, FluidKind, FluidState, MixtureViscosity, PhaseLine, PropertyError, fluid_names};

const RULE: MixtureViscosity = MixtureViscosity::ByMassFluidity;

fn pure_fluids() -> Vec<Fluid> {
    let names = fluid_names().into_iter().filter(|f| f.kind == FluidKind::EquationOfState);
    let fluids: Vec<Fluid> = names.map(|f| Fluid::named(&f.example).unwrap()).collect();
    assert!(fluids.len() > 5);
    fluids
}

/// Runs a check over all pure fluids on a few threads.
fn each(check: impl Fn(&Fluid) + Sync) {
    let fluids = pure_fluids();
    let next = std::sync::atomic::AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| {
                while let Some(fluid) = fluids.get(next.fetch_add(1, std::sync::atomic::Ordering::Relaxed)) {
                    check(fluid);
                }
            });
        }
    });
}

/// Numbers in 0..1 that are the same in every run (xorshift).
struct Dice(u64);

impl Dice {
    fn throw(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.throw()
    }
}

/// A pressure from 1 kPa to 60 MPa and an enthalpy of the fluid's range there: by temperature, or about the phase line.
fn somewhere(fluid: &Fluid, dice: &mut Dice) -> Option<(f64, f64)> {
    let p = 1e3 * 60e3_f64.powf(dice.throw());
    let range = fluid.range();
    if dice.throw() < 0.3 {
        let line = fluid.phase_line(p)?;
        return Some((p, line.liquid.enthalpy_j_per_kg + dice.within(-0.1, 1.1) * line.latent_heat_j_per_kg()));
    }
    let t = dice.within(range.temperature_low.value, range.temperature_high.value.min(900.0));
    fluid.at_pressure_temperature(p, t).ok().map(|s| (p, s.enthalpy_j_per_kg))
}

fn values(s: &FluidState) -> [(&'static str, f64); 4] {
    [
        ("temperature", s.temperature_k),
        ("density", s.density_kg_per_m3),
        ("viscosity", s.viscosity_pa_s),
        ("conductivity", s.conductivity_w_per_m_k),
    ]
}

fn slopes(s: &FluidState) -> [(&'static str, f64, f64, f64); 4] {
    let d = &s.derivatives;
    [
        ("temperature", s.temperature_k, d.temperature_by_pressure, d.temperature_by_enthalpy),
        ("density", s.density_kg_per_m3, d.density_by_pressure, d.density_by_enthalpy),
        ("viscosity", s.viscosity_pa_s, d.viscosity_by_pressure, d.viscosity_by_enthalpy),
        ("conductivity", s.conductivity_w_per_m_k, d.conductivity_by_pressure, d.conductivity_by_enthalpy),
    ]
}

fn assert_whole(fluid: &Fluid, s: &FluidState) {
    let at = format!("{} at {} Pa, {} J/kg", fluid.name(), s.pressure_pa, s.enthalpy_j_per_kg);
    for (name, value, by_p, by_h) in slopes(s) {
        assert!(value.is_finite() && value > 0.0, "{at}: {name} {value}");
        assert!(by_p.is_finite() && by_h.is_finite(), "{at}: slopes of {name} {by_p} {by_h}");
    }
    assert!((0.0..=1.0).contains(&s.vapour_mass_fraction), "{at}: {}", s.vapour_mass_fraction);
}

/// The stated error, and how seldom the equation has to answer itself.
#[test]
fn stable_surfaces_agree_with_the_equation() {
    each(|fluid| {
        // its own surface, so that the cells counted are those of this test
        let fluid = &halfmicron_properties::fresh_for_bench(fluid.name()).unwrap();
        let mut dice = Dice(0x5EA1_2026);
        let mut compared = 0;
        for _ in 0..300 {
            let Some((p, h)) = somewhere(fluid, &mut dice) else { continue };
            let at = format!("{} at {p} Pa, {h} J/kg", fluid.name());
            match (fluid.film_state(p, h, RULE), fluid.at_pressure_enthalpy(p, h)) {
                (Ok(film), Ok(equation)) => {
                    compared += 1;
                    assert_eq!(film.phase, equation.phase, "{at}");
                    for ((name, got), (_, expected)) in values(&film).into_iter().zip(values(&equation)) {
                        let error = (got / expected - 1.0).abs();
                        assert!(error < 1e-5, "{at} ({}): {name} {got} against {expected}, {error:.1e}", film.phase);
                    }
                    assert_whole(fluid, &film);
                }
                // Far from all states the enthalpy refuses before the equation is asked for the temperature.
                (Err(PropertyError::EnthalpyOutOfRange { .. }), Err(PropertyError::TemperatureOutOfRange { .. })) => {}
                (Err(film), Err(equation)) => assert_eq!(film.to_string(), equation.to_string(), "{at}"),
                (film, equation) => panic!("{at}: {film:?} against {equation:?}"),
            }
        }
        assert!(compared > 150, "{}: {compared}", fluid.name());
        let (patches, left) = (fluid.filled_surface_cells(), fluid.unconverged_surface_cells());
        assert!(left * 50 <= patches, "{}: {left} cells left to the equation beside {patches} patches", fluid.name());
    });
}

/// Every derivative is that of the value returned: by differences far smaller than a patch.
#[test]
fn stable_derivatives_agree_with_differences() {
    each(|fluid| {
        let mut dice = Dice(0xD1FF_2026);
        let mut compared = 0;
        for _ in 0..150 {
            let Some((p, h)) = somewhere(fluid, &mut dice) else { continue };
            let Ok(s) = fluid.film_state(p, h, RULE) else { continue };
            let scale = fluid.gas_constant_j_per_kg_k().unwrap() * s.temperature_k;
            let (ep, eh) = (1e-6 * p, 1e-6 * scale);
            let around = [(p + ep, h), (p - ep, h), (p, h + eh), (p, h - eh)].map(|(p, h)| fluid.film_state(p, h, RULE));
            let [Ok(up), Ok(down), Ok(hot), Ok(cold)] = around else { continue };
            if [up, down, hot, cold].iter().any(|n| n.phase != s.phase) {
                continue;
            }
            compared += 1;
            let columns = slopes(&s).into_iter().zip(slopes(&up)).zip(slopes(&down)).zip(slopes(&hot).into_iter().zip(slopes(&cold)));
            for ((((name, value, by_p, by_h), up), down), (hot, cold)) in columns {
                let (dp, dh) = ((up.1 - down.1) / (2.0 * ep), (hot.1 - cold.1) / (2.0 * eh));
                let at = format!("{} {} at {p} Pa, {h} J/kg: {name}", fluid.name(), s.phase);
                assert!((by_p - dp).abs() < 1e-6 * by_p.abs() + 1e-6 * value / p, "{at} by p {by_p} {dp}");
                assert!((by_h - dh).abs() < 1e-6 * by_h.abs() + 1e-6 * value / scale, "{at} by h {by_h} {dh}");
            }
        }
        assert!(compared > 60, "{}: {compared}", fluid.name());
    });
}

fn sides(line: &PhaseLine) -> [(f64, [f64; 4]); 2] {
    [line.liquid, line.vapour].map(|side| {
        (side.enthalpy_j_per_kg, [line.temperature_k, side.density_kg_per_m3, side.viscosity_pa_s, side.conductivity_w_per_m_k])
    })
}

/// From both sides of both lines the state is the line's own to rounding, and the line is that of the equation.
#[test]
fn states_meet_the_phase_line() {
    each(|fluid| {
        let (_, critical) = fluid.critical_point().unwrap();
        let coldest = fluid.range().temperature_low.value + 0.1;
        let lowest = 1.01 * fluid.saturation_pressure(coldest).value().unwrap_or(700.0).max(100.0);
        for i in 0..40 {
            let p = lowest * (0.999 * critical / lowest).powf(f64::from(i) / 39.0);
            let line = fluid.phase_line(p).unwrap();
            let latent = line.latent_heat_j_per_kg();
            // one rounding of h makes so much of the volume vapour
            let rounding = 8.0 * f64::EPSILON * line.liquid.density_kg_per_m3 / line.vapour.density_kg_per_m3;
            for (h, expected) in sides(&line) {
                for side in [h.next_down(), h, h.next_up()] {
                    let Ok(s) = fluid.film_state(p, side, RULE) else { panic!("{} {p} {side}", fluid.name()) };
                    for ((name, got), expected) in values(&s).into_iter().zip(expected) {
                        let error = (got / expected - 1.0).abs();
                        assert!(error < 1e-11 + rounding, "{} {name} at {p} Pa, {h} J/kg: {got} {expected} {error:.1e}", fluid.name());
                    }
                }
            }
            let t = line.temperature_k;
            let again = fluid.saturation_pressure(t).value().unwrap();
            assert!((again / p - 1.0).abs() < 1e-8, "{} {p} {again}", fluid.name());
            for (h, expected) in sides(&line) {
                let inward = if h == line.liquid.enthalpy_j_per_kg { 1.0 } else { -1.0 };
                let exact = fluid.at_pressure_enthalpy(p, h - inward * 1e-9 * latent).unwrap();
                for ((name, got), expected) in values(&exact).into_iter().zip(expected) {
                    assert!((got / expected - 1.0).abs() < 1e-6, "{} {name} at {p} Pa: {got} {expected}", fluid.name());
                }
            }
        }
        assert!(fluid.phase_line(critical * 1.0001).is_none() && fluid.phase_line(f64::NAN).is_none());
    });
}

/// What films ask for short of a whole state is that of the whole state.
#[test]
fn parts_of_the_phase_line_and_mixtures_are_those_of_whole_states() {
    each(|fluid| {
        let (_, critical) = fluid.critical_point().unwrap();
        let lowest = fluid.triple_pressure_pa().unwrap().max(fluid.range().pressure_low.value);
        for i in 1..40 {
            let p = lowest * (0.999 * critical / lowest).powf(f64::from(i) / 39.0);
            let line = fluid.phase_line(p).unwrap();
            let [liquid, vapour] = [line.liquid, line.vapour].map(|side| [side.enthalpy_j_per_kg, side.enthalpy_by_pressure]);
            assert_eq!(fluid.phase_line_enthalpies(p), Some([liquid[0], vapour[0]]), "{} {p}", fluid.name());
            assert_eq!(fluid.phase_line_enthalpies_with_slopes(p), Some([liquid, vapour]), "{} {p}", fluid.name());
            let latent = line.latent_heat_j_per_kg();
            for fraction in [0.01, 0.4, 0.99] {
                let h = liquid[0] + fraction * latent;
                let whole = fluid.film_state(p, h, RULE);
                let found = fluid.film_mixture(p, h, RULE).transpose().unwrap();
                assert_eq!(found.as_ref().ok(), whole.as_ref().ok(), "{} {p}", fluid.name());
                // what is too cold for the fluid is refused alike
                assert_eq!(found.err().map(|e| e.to_string()), whole.err().map(|e| e.to_string()), "{} {p}", fluid.name());
            }
            for (beyond, fraction) in [(liquid[0] - latent, 1e-9), (vapour[0] + latent, 1.0 - 1e-9)] {
                let Ok(held) = fluid.film_mixture(p, beyond, RULE) else { continue };
                let held = held.unwrap();
                assert!((held.vapour_mass_fraction - fraction).abs() < 1e-13, "{} {p}: {held:?}", fluid.name());
            }
        }
        assert_eq!(fluid.film_mixture(1.0001 * critical, 0.0, RULE), Ok(None));
        assert!(fluid.film_mixture(0.5 * critical, f64::NAN, RULE).is_err() && fluid.film_mixture(f64::NAN, 0.0, RULE).is_err());
        assert!(fluid.phase_line_enthalpies_with_slopes(1.0001 * critical).is_none());
    });
}

/// About the critical point, where nothing can be interpolated: whole states, or a reason.
#[test]
fn states_about_the_critical_point_are_whole() {
    each(|fluid| {
        let (_, critical) = fluid.critical_point().unwrap();
        let at = fluid.phase_line(0.999 * critical).unwrap();
        let latent = fluid.phase_line(0.5 * critical).unwrap().latent_heat_j_per_kg();
        let middle = 0.5 * (at.liquid.enthalpy_j_per_kg + at.vapour.enthalpy_j_per_kg);
        let mut solved = 0;
        for share in [-1e-1, -1e-2, -1e-3, -1e-4, -1e-5, -1e-6, -1e-8, 0.0, 1e-8, 1e-6, 1e-4, 1e-2, 1e-1] {
            for step in -10..=10 {
                let h = middle + 0.1 * latent * (f64::from(step) / 10.0).powi(3);
                if let Ok(s) = fluid.film_state(critical * (1.0 + share), h, RULE) {
                    assert_whole(fluid, &s);
                    solved += 1;
                }
            }
        }
        assert!(solved > 260, "{}: {solved} of 273", fluid.name());
    });
}

/// No pressure and enthalpy make a panic, and a state is whole.
#[test]
fn every_state_is_whole_or_refused() {
    each(|fluid| {
        let mut dice = Dice(0xB0C5_2026);
        for _ in 0..120 {
            let (p, h) = (10_f64.powf(dice.within(-3.0, 10.0)), dice.within(-3e6, 6e6));
            if let Ok(s) = fluid.film_state(p, h, RULE) {
                assert_whole(fluid, &s);
            }
        }
        for (p, h) in [(f64::NAN, 1e5), (1e5, f64::NAN), (f64::INFINITY, 1e5), (1e5, f64::NEG_INFINITY), (-1e5, 1e5), (0.0, 0.0)] {
            assert!(fluid.film_state(p, h, RULE).is_err(), "{} {p} {h}", fluid.name());
        }
    });
}

/// Below the triple-point pressure gas goes on, and what is colder than its continued line would freeze.
#[test]
fn gas_goes_on_below_the_triple_point() {
    let carbon_dioxide = Fluid::named("carbon dioxide").unwrap();
    let gas = carbon_dioxide.at_pressure_temperature(101_325.0, 230.0).unwrap();
    let film = carbon_dioxide.film_state(101_325.0, gas.enthalpy_j_per_kg, RULE).unwrap();
    assert!((film.temperature_k - 230.0).abs() < 1e-3 && (film.density_kg_per_m3 / gas.density_kg_per_m3 - 1.0).abs() < 1e-5);
    // liquid let down to the atmosphere makes dry ice
    let liquid = carbon_dioxide.at_pressure_temperature(6e6, 280.0).unwrap();
    let error = carbon_dioxide.film_state(101_325.0, liquid.enthalpy_j_per_kg, RULE).unwrap_err();
    assert!(matches!(error, PropertyError::WouldFreeze { .. }), "{error}");
}

/// Values do not depend on which state was asked first, nor on the thread.
#[test]
fn stable_surfaces_do_not_depend_on_the_order_of_visits() {
    let ammonia = Fluid::named("ammonia").unwrap();
    let mut dice = Dice(0x0DE2_2026);
    let points: Vec<(f64, f64)> = (0..300).filter_map(|_| somewhere(&ammonia, &mut dice)).collect();
    let states = |reverse: bool| {
        let fluid = halfmicron_properties::fresh_for_bench("ammonia").unwrap();
        let ask = |&(p, h): &(f64, f64)| fluid.film_state(p, h, RULE).ok().map(|s| (values(&s), s.derivatives));
        if reverse {
            let mut found: Vec<_> = points.iter().rev().map(ask).collect();
            found.reverse();
            found
        } else {
            points.iter().map(ask).collect()
        }
    };
    let (forward, backward) = std::thread::scope(|scope| {
        let other = scope.spawn(|| states(true));
        (states(false), other.join().unwrap())
    });
    assert_eq!(forward, backward);
}

/// A film of hot water that flashes needs few patches: what the first use of a fluid costs.
#[test]
fn a_hot_water_film_fills_few_patches() {
    let water = halfmicron_properties::fresh_for_bench("water").unwrap();
    let h = water.at_pressure_temperature(11e5, 448.15).unwrap().enthalpy_j_per_kg;
    for i in 0..400 {
        let share = f64::from(i) / 399.0;
        water.film_state(11e5 - 10e5 * share, h + 40e3 * share, RULE).unwrap();
    }
    assert!((1..=12).contains(&water.filled_surface_cells()), "{}", water.filled_surface_cells());
    assert_eq!(water.unconverged_surface_cells(), 0);
}
