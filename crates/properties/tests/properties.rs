//! Fluids through the public interface against stored values of an outside library (CoolProp 8.0.0) and published
//! check values, and the property surface against the equation that it stands for.

use halfmicron_properties::{ConstantFluid, CustomFluid, Fluid, Phase, PropertyError, Saturation, ViscosityLaw, WaltherLine, walther_line};
use proptest::prelude::*;
use serde::Deserialize;

fn close(got: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((got - expected).abs() <= tolerance * expected.abs(), "{what}: {got} against {expected} ({:.2e})", got / expected - 1.0);
}

#[derive(Deserialize)]
struct WaterChecks {
    single: Vec<Vec<f64>>,
    saturated: Vec<Vec<f64>>,
}

#[test]
fn water_agrees_with_the_outside_library() {
    let checks: WaterChecks = toml::from_str(include_str!("data/water.toml")).unwrap();
    let water = Fluid::named("water").unwrap();
    assert!(checks.single.len() > 120 && checks.saturated.len() > 30);
    for row in checks.single {
        let [t, p, rho, h, cp, _, t_p, t_h, r_p, r_h, mu, k] = row[..] else { panic!() };
        let s = water.at_pressure_temperature(p, t).unwrap();
        let at = format!("{t} K {p} Pa");
        close(s.density_kg_per_m3, rho, 1e-8, &at);
        assert!((s.enthalpy_j_per_kg - h).abs() < 1e-8 * h.abs() + 1e-4, "{at} h {} {h}", s.enthalpy_j_per_kg);
        close(s.isobaric_heat_capacity_j_per_kg_k, cp, 1e-8, &at);
        close(s.viscosity_pa_s, mu, 1e-6, &at);
        close(s.conductivity_w_per_m_k, k, 1e-6, &at);
        let d = s.derivatives;
        close(d.temperature_by_enthalpy, t_h, 1e-8, &at);
        close(d.temperature_by_pressure, t_p, 1e-6, &at);
        close(d.density_by_pressure, r_p, 1e-7, &at);
        close(d.density_by_enthalpy, r_h, 1e-7, &at);
        let again = water.at_pressure_enthalpy(p, s.enthalpy_j_per_kg).unwrap();
        close(again.temperature_k, t, 1e-9, &at);
        close(again.density_kg_per_m3, rho, 2e-8, &at);
        assert_eq!(again.phase, s.phase, "{at}");
    }
    for row in checks.saturated {
        let t = row[0];
        let Saturation::At(p) = water.saturation_pressure(t) else { panic!() };
        close(p, row[1], 1e-8, "saturation pressure");
        let Saturation::At(ts) = water.saturation_temperature(row[1]) else { panic!() };
        close(ts, t, 1e-9, "saturation temperature");
        // just inside each phase; at 647 K, 0.1 K below the critical point, a little pressure moves much
        let (nudge, loose) = if t > 640.0 { (1e-11, 1e3) } else { (1e-9, 1.0) };
        let liquid = water.at_pressure_temperature(p * (1.0 + nudge), t).unwrap();
        let vapour = water.at_pressure_temperature(p * (1.0 - nudge), t).unwrap();
        assert_eq!((liquid.phase, vapour.phase), (Phase::Liquid, Phase::Vapour));
        close(liquid.density_kg_per_m3, row[2], 1e-8 * loose, "liquid");
        close(vapour.density_kg_per_m3, row[7], 1e-8 * loose, "vapour");
        close(liquid.viscosity_pa_s, row[4], 1e-6 * loose, "liquid viscosity");
        close(liquid.conductivity_w_per_m_k, row[5], 1e-6 * loose, "liquid conductivity");
        close(vapour.viscosity_pa_s, row[9], 1e-6 * loose, "vapour viscosity");
        close(vapour.conductivity_w_per_m_k, row[10], 1e-6 * loose, "vapour conductivity");
    }
}

/// The mixture at equal pressure: quality by the lever rule, derivatives by differences.
#[test]
fn two_phase_states_follow_the_lever_rule() {
    let water = Fluid::named("water").unwrap();
    for (p, x) in [(1e5, 0.001), (1e5, 0.3), (1e6, 0.05), (1e6, 0.9), (10e6, 0.5)] {
        let Saturation::At(t) = water.saturation_temperature(p) else { panic!() };
        let hl = water.at_pressure_temperature(p * (1.0 + 1e-10), t).unwrap().enthalpy_j_per_kg;
        let hv = water.at_pressure_temperature(p * (1.0 - 1e-10), t).unwrap().enthalpy_j_per_kg;
        let h = hl + x * (hv - hl);
        let s = water.at_pressure_enthalpy(p, h).unwrap();
        assert_eq!(s.phase, Phase::TwoPhase);
        close(s.vapour_mass_fraction, x, 1e-6, "quality");
        close(s.temperature_k, t, 1e-9, "temperature");
        let (ep, eh) = (1e-6 * p, 10.0);
        let at = |p: f64, h: f64| water.at_pressure_enthalpy(p, h).unwrap();
        let d = s.derivatives;
        let by = |f: fn(&halfmicron_properties::FluidState) -> f64| {
            ((f(&at(p + ep, h)) - f(&at(p - ep, h))) / (2.0 * ep), (f(&at(p, h + eh)) - f(&at(p, h - eh))) / (2.0 * eh))
        };
        let (dp, dh) = by(|s| s.density_kg_per_m3);
        close(d.density_by_pressure, dp, 1e-4, "density by p");
        close(d.density_by_enthalpy, dh, 1e-4, "density by h");
        let (mp, mh) = by(|s| s.viscosity_pa_s);
        close(d.viscosity_by_pressure, mp, 1e-4, "viscosity by p");
        close(d.viscosity_by_enthalpy, mh, 1e-4, "viscosity by h");
        let (kp, kh) = by(|s| s.conductivity_w_per_m_k);
        close(d.conductivity_by_pressure, kp, 1e-4, "conductivity by p");
        close(d.conductivity_by_enthalpy, kh, 1e-4, "conductivity by h");
        close(
            d.temperature_by_pressure,
            (at(p + ep, h).temperature_k - at(p - ep, h).temperature_k) / (2.0 * ep),
            1e-5,
            "temperature by p",
        );
    }
}

fn agree(p: f64, h: f64) -> Result<(), TestCaseError> {
    let water = Fluid::named("water").unwrap();
    match (water.superheated_film_state(p, h), water.liquid_at_pressure_enthalpy(p, h)) {
        (Ok(s), Ok(e)) => {
            for (name, a, b) in [
                ("temperature", s.temperature_k, e.temperature_k),
                ("density", s.density_kg_per_m3, e.density_kg_per_m3),
                ("viscosity", s.viscosity_pa_s, e.viscosity_pa_s),
                ("conductivity", s.conductivity_w_per_m_k, e.conductivity_w_per_m_k),
            ] {
                prop_assert!((a / b - 1.0).abs() < 1e-6, "{name} at {p} {h}: {a} {b} {:.2e}", a / b - 1.0);
            }
            let (d, f) = (s.derivatives, e.derivatives);
            for (name, a, b) in [
                ("T by h", d.temperature_by_enthalpy, f.temperature_by_enthalpy),
                ("rho by h", d.density_by_enthalpy, f.density_by_enthalpy),
                ("mu by h", d.viscosity_by_enthalpy, f.viscosity_by_enthalpy),
            ] {
                // at the density maximum and at a turning viscosity the derivative passes through zero
                let floor = match name {
                    "rho by h" => 1e-4 * s.density_kg_per_m3 / 1e6,
                    _ => 0.0,
                };
                prop_assert!((a - b).abs() < 1e-3 * b.abs() + floor, "{name} at {p} {h}: {a} {b}");
            }
            prop_assert_eq!(s.phase, e.phase);
        }
        (Err(PropertyError::BeyondLiquid { .. }), Err(PropertyError::BeyondLiquid { .. })) => {}
        (Err(PropertyError::TemperatureOutOfRange { .. }), Err(PropertyError::TemperatureOutOfRange { .. })) => {}
        (a, b) => prop_assert!(false, "{p} {h}: {a:?} {b:?}"),
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn surface_agrees_with_the_equation(p in 3.5_f64..8.0, h in 1e3_f64..1.75e6) {
        agree(10_f64.powf(p), h)?;
    }

    #[test]
    fn surface_agrees_where_conductivity_has_its_kink(p in 4.0_f64..8.0, h in 5.5e5_f64..9e5) {
        agree(10_f64.powf(p), h)?;
    }

    /// No input makes a panic or a silent NaN.
    #[test]
    fn every_number_gets_a_state_or_a_reason(p in -12.0_f64..12.0, h in -1e7_f64..1e7) {
        for name in ["water", "sea water, salinity 70 g/kg", "sodium hydroxide solution, 50 % by mass", "mineral oil ISO VG 32"] {
            let fluid = Fluid::named(name).unwrap();
            for state in [fluid.superheated_film_state(10_f64.powf(p), h), fluid.at_pressure_enthalpy(10_f64.powf(p), h), fluid.at_pressure_temperature(10_f64.powf(p), h * 1e-4)].into_iter().flatten() {
                prop_assert!(state.density_kg_per_m3 > 0.0 && state.viscosity_pa_s > 0.0 && state.conductivity_w_per_m_k > 0.0 && state.temperature_k > 0.0);
                prop_assert!(state.derivatives.temperature_by_pressure.is_finite() && state.derivatives.density_by_enthalpy.is_finite());
            }
        }
    }
}

#[test]
fn surface_near_the_critical_point_and_supercritical() {
    for p in [20e6, 21.9e6, 22.06e6, 22.2e6, 23e6, 30e6, 60e6] {
        for i in 0..60 {
            agree(p, 1.6e6 + 1.5e4 * f64::from(i)).unwrap();
        }
    }
}

/// Values do not depend on which state was asked first, nor on the thread.
#[test]
fn surface_does_not_depend_on_the_order_of_visits() {
    let states = |reverse: bool| {
        let mut points: Vec<(f64, f64)> = (0..200).map(|i| (1e5 + 4e4 * f64::from(i), 5e4 + 3e3 * f64::from(i))).collect();
        if reverse {
            points.reverse();
        }
        let water = Fluid::named("water").unwrap();
        let mut out: Vec<_> = points.iter().map(|&(p, h)| water.superheated_film_state(p, h).unwrap()).collect();
        if reverse {
            out.reverse();
        }
        out
    };
    let other = std::thread::spawn(move || states(true));
    assert_eq!(states(false), other.join().unwrap());
}

/// Superheated liquid continues the stable one without a step and ends with a reason.
#[test]
fn superheated_liquid_is_continuous() {
    let water = Fluid::named("water").unwrap();
    let p = 1.2e5;
    let Saturation::At(t) = water.saturation_temperature(p) else { panic!() };
    let h = water.at_pressure_temperature(p, t).unwrap().enthalpy_j_per_kg;
    let (below, above) = (water.superheated_film_state(p, h - 50.0).unwrap(), water.superheated_film_state(p, h + 50.0).unwrap());
    assert_eq!((below.phase, above.phase), (Phase::Liquid, Phase::LiquidMetastable));
    assert!((above.temperature_k - below.temperature_k - 100.0 / below.isobaric_heat_capacity_j_per_kg_k).abs() < 1e-5);
    let mut last = 0.0;
    let mut end = None;
    for i in 0..1000 {
        match water.superheated_film_state(p, h + 2e3 * f64::from(i)) {
            Ok(s) => {
                assert!(s.temperature_k > last && s.derivatives.temperature_by_enthalpy > 0.0);
                last = s.temperature_k;
            }
            Err(PropertyError::BeyondLiquid { limit_temperature_k, .. }) => {
                end = Some(limit_temperature_k);
                break;
            }
            Err(other) => panic!("{other}"),
        }
    }
    // the limit of superheat of water at atmospheric pressure is near 300 degC (Debenedetti 1996, from memory)
    let end = end.unwrap();
    assert!((540.0..600.0).contains(&end) && (end - last).abs() < 3.0, "{end} {last}");
    let s = water.liquid_at_pressure_temperature(1e5, 450.0).unwrap();
    assert_eq!(s.phase, Phase::LiquidMetastable);
    assert!(water.liquid_at_pressure_temperature(1e5, 620.0).is_err());
}

#[derive(Deserialize)]
struct States {
    states: Vec<Vec<f64>>,
}
#[derive(Deserialize)]
struct LiquidFile {
    checks: States,
}

/// Sharqawy et al. (2010) check values (computed outside, `20 degC, 35 g/kg` and so on), and the CoolProp entry, which is a
/// fit of the same data.
#[test]
fn sea_water() {
    for (t, s, rho, mu) in [(20.0, 35.0, 1_024.91, 1.0766e-3), (38.0, 70.0, 1_045.31, 0.8000e-3), (80.0, 100.0, 1_045.12, 0.4617e-3)] {
        let fluid = Fluid::named(&format!("sea water, salinity {s} g/kg")).unwrap();
        let state = fluid.at_pressure_temperature(101_325.0, t + 273.15).unwrap();
        close(state.density_kg_per_m3, rho, 1e-5, "density");
        close(state.viscosity_pa_s, mu, 1e-4, "viscosity");
    }
    let file: States = toml::from_str(include_str!("data/sea-water.toml")).unwrap();
    for row in file.states {
        let [s, t, rho, cp, mu, k, ps] = row[..] else { panic!() };
        let fluid = Fluid::named(&format!("sea water, salinity {:.0} g/kg", 1e3 * s)).unwrap();
        let state = fluid.at_pressure_temperature(101_325.0, t).unwrap();
        close(state.density_kg_per_m3, rho, 3e-4, "density");
        close(state.isobaric_heat_capacity_j_per_kg_k, cp, 2e-3, "heat capacity");
        close(state.viscosity_pa_s, mu, 1.5e-2, "viscosity");
        close(state.conductivity_w_per_m_k, k, 6e-3, "conductivity");
        close(fluid.saturation_pressure(t).value().unwrap(), ps, 1e-2, "vapour pressure");
    }
    assert_eq!(Fluid::named("sea water").unwrap().name(), "sea water, salinity 35 g/kg");
}

/// Expansions against the correlations that they were fitted to.
#[test]
fn fitted_liquids_agree_with_the_outside_library() {
    for (name, text) in [
        ("hydrogenated terphenyl heat-transfer oil", include_str!("../data/liquids/hydrogenated-terphenyl.toml")),
        ("diphenyl / diphenyl-oxide eutectic heat-transfer oil", include_str!("../data/liquids/diphenyl-oxide-eutectic.toml")),
    ] {
        let file: LiquidFile = toml::from_str(text).unwrap();
        let fluid = Fluid::named(name).unwrap();
        for row in file.checks.states {
            let [t, rho, cp, mu, k, ps] = row[..] else { panic!() };
            let s = fluid.at_pressure_temperature(101_325.0, t).unwrap();
            close(s.density_kg_per_m3, rho, 1e-8, name);
            close(s.isobaric_heat_capacity_j_per_kg_k, cp, 1e-8, name);
            close(s.viscosity_pa_s, mu, 1e-5, name);
            close(s.conductivity_w_per_m_k, k, 1e-8, name);
            if ps > 0.0 {
                close(fluid.saturation_pressure(t).value().unwrap(), ps, 1e-6, name);
                close(fluid.saturation_temperature(ps).value().unwrap(), t, 1e-6, name);
            }
        }
    }
    for (name, text) in [
        ("ethylene glycol solution", include_str!("../data/liquids/ethylene-glycol.toml")),
        ("propylene glycol solution", include_str!("../data/liquids/propylene-glycol.toml")),
    ] {
        let file: LiquidFile = toml::from_str(text).unwrap();
        for row in file.checks.states {
            let [x, t, rho, cp, mu, k] = row[..] else { panic!() };
            let s = Fluid::named(&format!("{name}, {:.0} % by mass", 100.0 * x)).unwrap().at_pressure_temperature(101_325.0, t).unwrap();
            close(s.density_kg_per_m3, rho, 1e-8, name);
            close(s.isobaric_heat_capacity_j_per_kg_k, cp, 1e-8, name);
            close(s.viscosity_pa_s, mu, 1e-8, name);
            close(s.conductivity_w_per_m_k, k, 1e-8, name);
        }
    }
}

/// Laliberte's equations evaluated outside (density kg/m3, viscosity mPa s), density of 50 % by a public table, and a public note: 78 mPa s for 50 % at 20 degC, boiling near
/// 145 degC, vapour pressure 0.20 kPa at 20 degC.
#[test]
fn caustic() {
    for (w, t, rho, mu) in [
        (10, 20.0, 1_109.0, 1.78),
        (10, 60.0, 1_090.0, 0.74),
        (20, 20.0, 1_219.0, 4.67),
        (20, 40.0, 1_211.0, 2.45),
        (20, 60.0, 1_199.0, 1.53),
        (20, 80.0, 1_185.0, 1.06),
        (30, 20.0, 1_326.0, 13.3),
        (30, 60.0, 1_307.0, 3.24),
        (50, 20.0, 1_525.0, 81.5),
        (50, 40.0, 1_511.0, 23.8),
        (50, 60.0, 1_497.0, 10.1),
        (50, 80.0, 1_483.0, 5.4),
    ] {
        let fluid = Fluid::named(&format!("sodium hydroxide solution, {w} % by mass")).unwrap();
        let s = fluid.at_pressure_temperature(101_325.0, t + 273.15).unwrap();
        assert!((s.density_kg_per_m3 - rho).abs() < 0.6, "{w} {t}: {}", s.density_kg_per_m3);
        close(s.viscosity_pa_s, mu * 1e-3, 7e-3, "viscosity");
    }
    let strong = Fluid::named("sodium hydroxide solution, 50 % by mass").unwrap();
    close(strong.saturation_temperature(101_325.0).value().unwrap(), 418.15, 1e-3, "boiling point");
    close(strong.saturation_pressure(293.15).value().unwrap(), 200.0, 1e-2, "vapour pressure");
    assert!(strong.notices_at(1e6, 353.15).iter().any(|n| n.code == "fluid.extrapolated"));
    assert!(strong.hazards().attacks("silicon carbide, reaction bonded").is_some());
}

/// Solutions against values computed outside with the same published equations (kg/m3, mPa s).
#[test]
fn electrolytes_and_glycols() {
    for (name, t, rho, mu) in [
        ("sodium chloride solution, 26 % by mass", 20.0, 1_197.0, 1.97),
        ("sodium chloride solution, 26 % by mass", 60.0, 1_174.0, 0.92),
        ("sulphuric acid solution, 70 % by mass", 60.0, 1_579.0, 3.97),
        ("ethylene glycol solution, 50 % by mass", 20.0, 1_065.0, 3.69),
        ("ethylene glycol solution, 50 % by mass", 60.0, 1_040.0, 1.38),
        ("propylene glycol solution, 50 % by mass", 20.0, 1_039.0, 6.39),
        ("propylene glycol solution, 50 % by mass", 60.0, 1_010.0, 1.66),
        ("hydrogenated terphenyl heat-transfer oil", 320.0, 792.0, 0.383),
        ("diphenyl / diphenyl-oxide eutectic heat-transfer oil", 320.0, 795.0, 0.202),
    ] {
        let s = Fluid::named(name).unwrap().at_pressure_temperature(101_325.0, t + 273.15).unwrap();
        assert!((s.density_kg_per_m3 - rho).abs() < 0.8, "{name}: {}", s.density_kg_per_m3);
        close(s.viscosity_pa_s, mu * 1e-3, 6e-3, name);
    }
    // ends of every composition are usable; dilute solutions are water within a few per cent (from memory: no check of the salt)
    for (name, low, high) in [
        ("sodium chloride solution", 0.0, 26.4),
        ("calcium chloride solution", 0.0, 41.0),
        ("sodium hydroxide solution", 0.0, 50.0),
        ("sulphuric acid solution", 0.0, 78.0),
        ("ethylene glycol solution", 10.0, 60.0),
        ("propylene glycol solution", 10.0, 60.0),
    ] {
        for w in [low, high] {
            let s = Fluid::named(&format!("{name}, {w} % by mass")).unwrap().at_pressure_temperature(1e6, 313.15).unwrap();
            assert!((950.0..1_800.0).contains(&s.density_kg_per_m3), "{name} {w}");
            assert!(
                (1_200.0..4_300.0).contains(&s.isobaric_heat_capacity_j_per_kg_k),
                "{name} {w}: {}",
                s.isobaric_heat_capacity_j_per_kg_k
            );
            assert!((0.25..0.70).contains(&s.conductivity_w_per_m_k), "{name} {w}: {}", s.conductivity_w_per_m_k);
            if w == 0.0 {
                close(s.density_kg_per_m3, 992.6, 2e-3, name);
                close(s.viscosity_pa_s, 0.653e-3, 1e-2, name);
                close(s.isobaric_heat_capacity_j_per_kg_k, 4_177.0, 5e-3, name);
            }
        }
    }
}

/// Enthalpy, density and heat capacity belong to one potential: dH = cp dT + v (1 - beta T) dp, by differences.
#[test]
fn liquids_are_thermodynamically_consistent() {
    for name in [
        "sea water, salinity 70 g/kg",
        "sodium hydroxide solution, 50 % by mass",
        "sodium chloride solution, 20 % by mass",
        "calcium chloride solution, 25 % by mass",
        "sulphuric acid solution, 70 % by mass",
        "ethylene glycol solution, 50 % by mass",
        "hydrogenated terphenyl heat-transfer oil",
        "mineral oil ISO VG 46",
    ] {
        let fluid = Fluid::named(name).unwrap();
        let (p, t) = (8e6, 325.0);
        let at = |p: f64, t: f64| fluid.at_pressure_temperature(p, t).unwrap();
        let s = at(p, t);
        let (ep, et) = (1e4, 0.05);
        let v = |p: f64, t: f64| 1.0 / at(p, t).density_kg_per_m3;
        let cp = (at(p, t + et).enthalpy_j_per_kg - at(p, t - et).enthalpy_j_per_kg) / (2.0 * et);
        close(s.isobaric_heat_capacity_j_per_kg_k, cp, 1e-6, name);
        let h_p = (at(p + ep, t).enthalpy_j_per_kg - at(p - ep, t).enthalpy_j_per_kg) / (2.0 * ep);
        let v_t = (v(p, t + et) - v(p, t - et)) / (2.0 * et);
        close(v(p, t) - t * v_t, h_p, 1e-5, name);
        // the inverse and its derivatives
        let h = s.enthalpy_j_per_kg;
        let f = fluid.superheated_film_state(p, h).unwrap();
        close(f.temperature_k, t, 1e-9, name);
        let on = |p: f64, h: f64| fluid.superheated_film_state(p, h).unwrap();
        let (ep, eh) = (2e4, 50.0);
        let d = f.derivatives;
        for (a, b) in [
            (d.temperature_by_pressure, (on(p + ep, h).temperature_k - on(p - ep, h).temperature_k) / (2.0 * ep)),
            (d.density_by_pressure, (on(p + ep, h).density_kg_per_m3 - on(p - ep, h).density_kg_per_m3) / (2.0 * ep)),
            (d.viscosity_by_pressure, (on(p + ep, h).viscosity_pa_s - on(p - ep, h).viscosity_pa_s) / (2.0 * ep)),
            (d.temperature_by_enthalpy, (on(p, h + eh).temperature_k - on(p, h - eh).temperature_k) / (2.0 * eh)),
            (d.density_by_enthalpy, (on(p, h + eh).density_kg_per_m3 - on(p, h - eh).density_kg_per_m3) / (2.0 * eh)),
            (d.viscosity_by_enthalpy, (on(p, h + eh).viscosity_pa_s - on(p, h - eh).viscosity_pa_s) / (2.0 * eh)),
        ] {
            close(a, b, 2e-4, name);
        }
    }
}

fn oil_like() -> CustomFluid {
    CustomFluid {
        name: "site oil".to_owned(),
        viscosity: [(313.15, 0.0278), (373.15, 0.0046)],
        viscosity_law: ViscosityLaw::Walther,
        density: (288.15, 870.0),
        expansion_per_k: Some(7.5e-4),
        vapour_pressure: None,
        heat_capacity: Some(2_000.0),
        conductivity: Some(0.13),
        pressure_viscosity: Some(20e-9),
        bulk_modulus: Some(1.6e9),
        temperature_range: (273.15, 423.15),
        freezing: None,
    }
}

#[test]
fn custom_fluid_returns_what_it_was_given() {
    let oil = Fluid::custom(oil_like()).unwrap();
    for (t, mu) in oil_like().viscosity {
        close(oil.at_pressure_temperature(101_325.0, t).unwrap().viscosity_pa_s, mu, 3e-4, "viscosity");
    }
    // Barus: 20 MPa at 20 per GPa is exp(0.398) at constant temperature
    let ratio = oil.at_pressure_temperature(20e6, 313.15).unwrap().viscosity_pa_s
        / oil.at_pressure_temperature(101_325.0, 313.15).unwrap().viscosity_pa_s;
    close(ratio, (20e-9_f64 * (20e6 - 101_325.0)).exp(), 1e-12, "Barus");
    assert_eq!(oil.saturation_temperature(1e5), Saturation::NoVapourData);
    assert!(oil.notices_at(1e5, 300.0).iter().any(|n| n.code == "fluid.no-vapour-data"));
    let light = Fluid::custom(CustomFluid {
        name: "solvent".to_owned(),
        viscosity: [(293.15, 4.1e-4), (333.15, 2.7e-4)],
        viscosity_law: ViscosityLaw::LogInverseTemperature,
        vapour_pressure: Some([(293.15, 5.0e3), (353.15, 70.0e3)]),
        heat_capacity: None,
        ..oil_like()
    })
    .unwrap();
    for (t, p) in [(293.15, 5.0e3), (353.15, 70.0e3)] {
        close(light.saturation_pressure(t).value().unwrap(), p, 1e-10, "vapour pressure");
        close(light.saturation_temperature(p).value().unwrap(), t, 1e-9, "boiling temperature");
    }
    assert!(light.notices_at(1e5, 300.0).iter().any(|n| n.code == "fluid.assumed"));
    assert_eq!(
        light.superheated_film_state(1e4, light.at_pressure_temperature(1e4, 350.0).unwrap().enthalpy_j_per_kg).unwrap().phase,
        Phase::LiquidMetastable
    );
}

#[test]
fn custom_fluid_refuses_what_can_not_be() {
    let wrong: Vec<CustomFluid> = vec![
        CustomFluid { viscosity: [(313.15, 0.0046), (373.15, 0.0278)], ..oil_like() },
        CustomFluid { viscosity: [(313.15, 0.0278), (313.15, 0.0046)], ..oil_like() },
        CustomFluid { viscosity: [(313.15, f64::NAN), (373.15, 0.0046)], ..oil_like() },
        CustomFluid { density: (288.15, -870.0), ..oil_like() },
        CustomFluid { expansion_per_k: Some(0.019), ..oil_like() },
        CustomFluid { temperature_range: (423.15, 273.15), ..oil_like() },
        CustomFluid { vapour_pressure: Some([(300.0, 5e4), (350.0, 4e4)]), ..oil_like() },
        CustomFluid { conductivity: Some(0.0), ..oil_like() },
    ];
    for d in wrong {
        assert!(matches!(Fluid::custom(d.clone()), Err(PropertyError::InvalidInput { .. })), "{d:?}");
    }
    let c = ConstantFluid { name: "x".to_owned(), density: 0.0, viscosity: 1e-3, heat_capacity: 4e3, conductivity: 0.6 };
    assert!(Fluid::constant(c).is_err());
}

#[test]
fn constant_fluid_is_constant() {
    let c = ConstantFluid { name: "hand".to_owned(), density: 1_000.0, viscosity: 1e-3, heat_capacity: 4_000.0, conductivity: 0.6 };
    let fluid = Fluid::constant(c).unwrap();
    for (p, h) in [(1e5, -1e5), (5e6, 1e5), (50e6, 1e6)] {
        let s = fluid.superheated_film_state(p, h).unwrap();
        close(s.density_kg_per_m3, 1_000.0, 1e-14, "density");
        close(s.viscosity_pa_s, 1e-3, 1e-14, "viscosity");
        // H = c (T - 273.15 K) + (p - p0)/rho
        close(s.temperature_k, 273.15 + (h - (p - 101_325.0) / 1_000.0) / 4_000.0, 1e-10, "temperature");
        assert_eq!(s.derivatives.density_by_enthalpy, 0.0);
    }
    assert!(fluid.notices_at(1e8, 300.0).is_empty());
}

#[test]
fn ranges_are_refused_with_numbers() {
    let water = Fluid::named("water").unwrap();
    assert!(matches!(water.at_pressure_temperature(1e5, 250.0), Err(PropertyError::TemperatureOutOfRange { .. })));
    assert!(matches!(water.at_pressure_temperature(-1.0, 300.0), Err(PropertyError::PressureOutOfRange { .. })));
    assert!(water.at_pressure_temperature(f64::NAN, 300.0).is_err());
    assert!(water.superheated_film_state(1e5, f64::INFINITY).is_err());
    assert!(water.at_pressure_temperature(101_325.0, 273.15).is_ok());
    let oil = Fluid::named("hydrogenated terphenyl heat-transfer oil").unwrap();
    let message = oil.at_pressure_temperature(1e6, 900.0).unwrap_err().to_string();
    assert!(message.contains("900.00 K") && message.contains("decomposes"), "{message}");
    assert!(matches!(oil.superheated_film_state(1e6, 1e9), Err(PropertyError::EnthalpyOutOfRange { .. })));
    assert_eq!(water.saturation_temperature(30e6), Saturation::Supercritical);
    assert!(matches!(water.saturation_temperature(100.0), Saturation::Beyond { .. }));
}

/// The public D341 worksheet pair: 32 mm2/s at 40 degC and 5.4 at 100 degC; between them the line gives about 10.2 at 73 degC.
#[test]
fn walther_line_is_monotone() {
    let line: WaltherLine = walther_line((313.15, 32e-6), (373.15, 5.4e-6));
    let mut last = f64::INFINITY;
    for i in 0..200 {
        let nu = line.kinematic_viscosity(260.0 + f64::from(i));
        assert!(nu > 0.0 && nu < last);
        last = nu;
    }
}

#[test]
fn every_source_key_is_in_the_bibliography() {
    let bibliography = include_str!("../../../references.bib");
    for s in halfmicron_properties::all_sources() {
        assert!(bibliography.contains(&format!("{{{},", s.key)), "{}", s.key);
    }
}

/// What people write instead of a name, and what they are told when a mixture is taken for its main part.
#[test]
fn fluids_answer_to_what_people_call_them() {
    for (called, name) in [
        ("steam", "water"),
        ("CO2", "carbon dioxide"),
        ("n-pentane", "pentane"),
        ("propene", "propylene"),
        ("N2", "nitrogen"),
        ("r134a", "R134a"),
        ("LNG", "methane"),
    ] {
        let fluid = Fluid::named(called).unwrap();
        assert_eq!(fluid.name(), name);
        let told = fluid.notices_at(1e6, 300.0).iter().any(|n| n.code == "fluid.taken-for" && n.message.contains("methane taken for"));
        assert_eq!(told, called == "LNG");
    }
    let (t, p) = Fluid::named("carbon dioxide").unwrap().critical_point().unwrap();
    let near = |t, p| Fluid::named("CO2").unwrap().notices_at(p, t).iter().any(|n| n.code == "fluid.near-critical");
    assert!(near(t, p) && near(1.001 * t, 1.01 * p) && !near(1.02 * t, p));
    assert!(Fluid::named("air").unwrap().notices_at(1e6, 300.0).iter().any(|n| n.message.contains("pseudo-pure")));
}

/// One way to ask a fluid for a state.
type Way<'a> = &'a dyn Fn(&Fluid) -> Result<halfmicron_properties::FluidState, halfmicron_properties::PropertyError>;

/// A thickened fluid has every viscosity times the factor, with its slopes, by every way of asking, and nothing else changes.
#[test]
fn a_thickened_fluid_is_thicker_and_nothing_else() {
    use halfmicron_properties::{ConstantFluid, MixtureViscosity};
    let constant = ConstantFluid { name: "c".to_owned(), density: 1000.0, viscosity: 1e-3, heat_capacity: 4200.0, conductivity: 0.6 };
    let named = |name: &str| Fluid::named(name).unwrap();
    let mixture = MixtureViscosity::ByVolume;
    for (fluid, pressure, temperature) in [
        (named("water"), 1e6, 320.0),
        (named("water"), 1e5, 420.0),
        (named("nitrogen"), 1e6, 300.0),
        (named("sea water, salinity 70 g/kg"), 1e6, 310.0),
        (named("mineral oil ISO VG 46"), 1e6, 330.0),
        (Fluid::constant(constant).unwrap(), 1e6, 300.0),
    ] {
        let thick = fluid.thickened(1.25).thickened(1.2);
        let h = fluid.at_pressure_temperature(pressure, temperature).unwrap().enthalpy_j_per_kg;
        let ways: [Way; 6] = [
            &|f| f.at_pressure_temperature(pressure, temperature),
            &|f| f.at_pressure_enthalpy(pressure, h),
            &|f| f.at_pressure_enthalpy_with(pressure, h, mixture),
            &|f| f.film_state(pressure, h, mixture),
            &|f| f.liquid_at_pressure_temperature(pressure, temperature),
            &|f| f.superheated_film_state(pressure, h),
        ];
        let mut asked = 0;
        for way in ways {
            let (Ok(plain), Ok(mut other)) = (way(&fluid), way(&thick)) else { continue };
            asked += 1;
            let near = |value: f64, wanted: f64| assert!((value - 1.5 * wanted).abs() <= 1e-14 * value.abs(), "{}", fluid.name());
            near(other.viscosity_pa_s, plain.viscosity_pa_s);
            near(other.derivatives.viscosity_by_pressure, plain.derivatives.viscosity_by_pressure);
            near(other.derivatives.viscosity_by_enthalpy, plain.derivatives.viscosity_by_enthalpy);
            other.viscosity_pa_s = plain.viscosity_pa_s;
            other.derivatives.viscosity_by_pressure = plain.derivatives.viscosity_by_pressure;
            other.derivatives.viscosity_by_enthalpy = plain.derivatives.viscosity_by_enthalpy;
            assert!(other == plain || other.isobaric_heat_capacity_j_per_kg_k.is_infinite(), "{}", fluid.name());
        }
        assert!(asked >= 4, "{}: {asked}", fluid.name());
    }
    let [plain, thick] = [named("water"), named("water").thickened(1.5)].map(|f| f.phase_line(1e5).unwrap());
    for (plain, thick) in [(plain.liquid, thick.liquid), (plain.vapour, thick.vapour)] {
        assert!((thick.viscosity_pa_s / plain.viscosity_pa_s - 1.5).abs() < 1e-14);
        assert_eq!(thick.density_kg_per_m3, plain.density_kg_per_m3);
    }
    let boiling = plain.liquid.enthalpy_j_per_kg + 1e5;
    let [plain, thick] = [named("water"), named("water").thickened(1.5)].map(|f| f.film_state(1e5, boiling, mixture).unwrap());
    assert!((thick.viscosity_pa_s / plain.viscosity_pa_s - 1.5).abs() < 1e-12, "of a mixture by volume too");
}
