//! Every pure fluid against stored values of the outside library, and its derivatives against differences.

use serde::Deserialize;

use super::pure::PureFluid;
use super::pure_names::{self, PURE};
use super::{Fluid, MixtureViscosity, Phase, equilibrium};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Stored {
    single: Vec<Vec<f64>>,
    saturated: Vec<Vec<f64>>,
}

macro_rules! stored {
    ($($name:literal, $file:literal;)*) => {
        const STORED: &[(&str, &str)] = &[$(($name, include_str!(concat!("../../tests/data/", $file, ".toml")))),*];
    };
}

stored! {
    "nitrogen", "nitrogen";
    "oxygen", "oxygen";
    "argon", "argon";
    "air", "air";
    "carbon dioxide", "carbon-dioxide";
    "ammonia", "ammonia";
    "methane", "methane";
    "ethane", "ethane";
    "propane", "propane";
    "butane", "butane";
    "isobutane", "isobutane";
    "pentane", "pentane";
    "hexane", "hexane";
    "heptane", "heptane";
    "octane", "octane";
    "nonane", "nonane";
    "decane", "decane";
    "dodecane", "dodecane";
    "propylene", "propylene";
    "hydrogen", "hydrogen";
    "helium", "helium";
    "methanol", "methanol";
    "ethanol", "ethanol";
    "benzene", "benzene";
    "toluene", "toluene";
    "R134a", "r134a";
}

fn fluid(name: &str) -> PureFluid {
    pure_names::build(PURE.iter().find(|p| p.name == name).unwrap()).unwrap()
}

fn each(test: impl Fn(&str, &PureFluid, &Stored)) {
    for (name, text) in STORED {
        test(name, &fluid(name), &toml::from_str(text).unwrap());
    }
}

#[test]
fn every_pure_fluid_has_stored_values() {
    for p in PURE.iter().filter(|p| p.name != "water") {
        assert!(STORED.iter().any(|(name, _)| *name == p.name), "{}", p.name);
    }
}

fn off(got: f64, expected: f64) -> f64 {
    (got / expected - 1.0).abs()
}

/// Density, enthalpy, heat capacities and derivatives by pressure and enthalpy.
#[test]
fn equations_agree_with_the_outside_library() {
    each(|name, fluid, stored| {
        assert!(stored.single.len() > 30, "{name}");
        for row in &stored.single {
            let [t, p, rho, h, cp, cv, t_p, t_h, r_p, r_h, ..] = row[..] else { panic!() };
            let at = format!("{name} {t} K {p} Pa");
            let (found, phase) = fluid.density(p, t).unwrap();
            let s = fluid.state(found, t, phase);
            // near the critical point a digit of pressure is several of density
            let steep = (rho * s.derivatives.density_by_pressure.abs() / rho * p / rho).max(1.0);
            assert!(off(found, rho) < 1e-8 * steep, "{at}: density {found} {rho}");
            assert!((s.enthalpy_j_per_kg - h).abs() < 1e-8 * steep * (h.abs() + 461.0 * t), "{at}: h {} {h}", s.enthalpy_j_per_kg);
            assert!(off(s.isobaric_heat_capacity_j_per_kg_k, cp) < 1e-7 * steep, "{at}: cp");
            assert!(off(fluid.isochoric_heat_capacity(found, t), cv) < 1e-8 * steep, "{at}: cv");
            let d = s.derivatives;
            assert!(off(d.temperature_by_enthalpy, t_h) < 1e-7 * steep, "{at}: dT/dh");
            assert!((d.temperature_by_pressure - t_p).abs() < 1e-7 * steep * t_p.abs() + 1e-13, "{at}: dT/dp");
            assert!(off(d.density_by_pressure, r_p) < 1e-7 * steep, "{at}: drho/dp");
            assert!(off(d.density_by_enthalpy, r_h) < 1e-7 * steep, "{at}: drho/dh");
            let again = equilibrium::state(fluid, p, s.enthalpy_j_per_kg, MixtureViscosity::default()).unwrap();
            assert!(off(again.temperature_k, t) < 1e-8, "{at}: T at (p, h)");
        }
    });
}

/// Greatest relative difference of viscosity and conductivity; above 1e-6 only where the form differs, and by how much.
fn tolerance(name: &str) -> (f64, f64) {
    match name {
        // the paper's saturated-vapour density comes from the equation here, from an auxiliary equation there
        "methane" => (1e-6, 3e-4),
        // another enhancement, see the data file
        "ammonia" => (1e-6, 0.25),
        // near its critical point the compressibility of the equation here, a scaled equation there
        "helium" => (1e-6, 0.10),
        // thin vapour by the ratios of the critical points
        "propylene" => (1e-3, 1e-3),
        _ => (1e-6, 1e-6),
    }
}

#[test]
fn transport_agrees_with_the_outside_library() {
    each(|name, fluid, stored| {
        let (viscosity, conductivity) = tolerance(name);
        let mut worst = (0.0_f64, 0.0_f64);
        for row in &stored.single {
            let [t, p, rho, .., mu, k] = row[..] else { panic!() };
            let s = fluid.state(rho, t, Phase::Liquid);
            let here = (off(s.viscosity_pa_s, mu), off(s.conductivity_w_per_m_k, k));
            if here.0 > viscosity || here.1 > conductivity {
                println!("{name} {t} K {p} Pa {rho}: viscosity {:.3e} of {mu:.4e}, conductivity {:.3e} of {k:.4e}", here.0, here.1);
            }
            worst = (worst.0.max(here.0), worst.1.max(here.1));
        }
        println!("{name}: worst viscosity {:.1e}, conductivity {:.1e}", worst.0, worst.1);
        assert!(worst.0 < viscosity && worst.1 < conductivity, "{name}: {worst:?}");
    });
}

/// The saturation line: equal pressure, equal Gibbs energy, and the stored values of both phases.
#[test]
fn saturated_phases_agree_with_the_outside_library() {
    each(|name, fluid, stored| {
        let (viscosity, conductivity) = tolerance(name);
        for row in &stored.saturated {
            let t = row[0];
            let (liquid, vapour) = fluid.saturation().densities(t);
            for (rho, values) in [(liquid, &row[1..6]), (vapour, &row[6..11])] {
                let [p, expected, h, mu, k] = values[..] else { panic!() };
                let at = format!("{name} saturated at {t} K, {rho} kg/m3");
                // the library's own expansions leave some 1e-7 at 1 Pa and more below; equilibrium itself is asserted apart
                let thin = 1e-6 * (1.0 + 1.0 / p);
                assert!(off(fluid.saturation().pressure(t), p) < thin, "{at}: pressure");
                assert!(off(rho, expected) < thin, "{at}: density {expected}");
                let s = fluid.state(rho, t, Phase::Liquid);
                assert!((s.enthalpy_j_per_kg - h).abs() < 1e-6 * (h.abs() + 461.0 * t), "{at}: h");
                assert!(off(s.viscosity_pa_s, mu) < viscosity, "{at}: viscosity {} {mu}", s.viscosity_pa_s);
                assert!(off(s.conductivity_w_per_m_k, k) < conductivity, "{at}: conductivity {} {k}", s.conductivity_w_per_m_k);
            }
        }
    });
}

/// Both phases have one pressure and one Gibbs energy along the whole line, and meet at the critical point.
#[test]
fn saturation_is_an_equilibrium() {
    for name in PURE {
        let fluid = pure_names::build(name).unwrap();
        let (low, high) = (fluid.saturation().lowest_temperature(), fluid.critical_temperature);
        for i in 0..120 {
            let t = low + (0.9999 * high - low) * f64::from(i) / 119.0;
            let at = format!("{} at {t} K", name.name);
            let p = fluid.saturation().pressure(t);
            let (liquid, vapour) = fluid.saturation().densities(t);
            let gas = fluid.gas_constant;
            let gibbs = |rho: f64| (fluid.basic(rho, t).h - t * fluid.entropy(rho, t)) / (gas * t);
            let (l, v) = (fluid.basic(liquid, t), fluid.basic(vapour, t));
            assert!((gibbs(liquid) - gibbs(vapour)).abs() < 3e-9, "{at}: Gibbs energy {:e}", gibbs(liquid) - gibbs(vapour));
            assert!(off(v.p, p) < 3e-9, "{at}: vapour pressure {} {p}", v.p);
            // the liquid is stiff: a rounding of its density is much pressure
            assert!((l.p - p).abs() < 3e-9 * p + 1e-11 * liquid * l.p_rho, "{at}: liquid pressure {} {p}", l.p);
            assert!(off(fluid.saturation().temperature(p), t) < 1e-9, "{at}: inverse");
        }
        assert!(off(fluid.critical_pressure, fluid.saturation().highest_pressure()) < 1e-8, "{}", name.name);
        let (liquid, vapour) = fluid.saturation().densities(high);
        assert!(off(liquid, fluid.critical_density()) < 1e-3 && off(vapour, fluid.critical_density()) < 1e-3, "{}", name.name);
        assert!(off(fluid.basic(fluid.critical_density(), high).p, fluid.critical_pressure) < 1e-8, "{}", name.name);
    }
}

/// Derivatives of the transport properties by pressure and enthalpy against differences, liquid, vapour and dense.
#[test]
fn derivatives_agree_with_differences() {
    each(|name, fluid, stored| {
        for row in stored.single.iter().step_by(3) {
            let [t, p, rho, h, ..] = row[..] else { panic!() };
            let at = format!("{name} {t} K {p} Pa");
            let s = fluid.state(rho, t, Phase::Liquid);
            // by density and temperature, where the values themselves live; these determine those by pressure and enthalpy
            let slope = |f: &dyn Fn(f64) -> f64, e: f64| (f(-2.0 * e) - 8.0 * f(-e) + 8.0 * f(e) - f(2.0 * e)) / (12.0 * e);
            let d = s.derivatives;
            let near_critical = (t / fluid.critical_temperature - 1.0).abs() < 0.03 && (rho / fluid.critical_density() - 1.0).abs() < 0.5;
            let e = if near_critical { 1e-6 } else { 3e-5 };
            for (what, value, by_p, by_h) in [
                ("viscosity", (|s| s.viscosity_pa_s) as fn(super::FluidState) -> f64, d.viscosity_by_pressure, d.viscosity_by_enthalpy),
                ("conductivity", |s| s.conductivity_w_per_m_k, d.conductivity_by_pressure, d.conductivity_by_enthalpy),
            ] {
                let by_rho = slope(&|x| value(fluid.state(rho * (1.0 + x), t, Phase::Liquid)), e) / rho;
                let by_t = slope(&|x| value(fluid.state(rho, t * (1.0 + x), Phase::Liquid)), e) / t;
                let b = fluid.basic(rho, t);
                let analytic = (by_p * b.p_rho + by_h * b.h_rho, by_p * b.p_t + by_h * b.h_t);
                let scale = value(s);
                let size = (by_p.abs() * b.p_rho.abs() + by_h.abs() * b.h_rho.abs(), by_p.abs() * b.p_t.abs() + by_h.abs() * b.h_t.abs());
                assert!(
                    (analytic.0 - by_rho).abs() < 3e-6 * size.0 + 3e-7 * scale / rho,
                    "{at}: {what} by density {} {by_rho}",
                    analytic.0
                );
                assert!((analytic.1 - by_t).abs() < 3e-6 * size.1 + 3e-7 * scale / t, "{at}: {what} by temperature {} {by_t}", analytic.1);
            }
            assert!(h.is_finite());
        }
    });
}

/// No state of the stated range is without positive numbers: a coarse grid, and a fine one about the critical point.
#[test]
fn every_state_of_the_range_is_whole() {
    for name in PURE {
        let fluid = pure_names::build(name).unwrap();
        let range = Fluid::named(name.name).unwrap().range().clone();
        let (low, high) = (range.temperature_low.value, range.temperature_high.value);
        let (t_c, p_c) = (fluid.critical_temperature, fluid.critical_pressure);
        let mut points = Vec::new();
        for i in 0..=24 {
            let t = low + (high - low) * f64::from(i) / 24.0;
            for j in 0..=12 {
                points.push((t, 10.0_f64.powf(2.0 + 6.0 * f64::from(j) / 12.0)));
            }
        }
        for i in -6..=6_i32 {
            let t = t_c * (1.0 + f64::from(i.signum()) * 10.0_f64.powi(-i.abs() - 1));
            for j in -6..=6_i32 {
                points.push((t, p_c * (1.0 + f64::from(j.signum()) * 10.0_f64.powi(-j.abs() - 1))));
            }
        }
        points.push((t_c, p_c));
        for (t, p) in points {
            if p > range.pressure_high.value {
                continue;
            }
            let at = format!("{} {t} K {p} Pa", name.name);
            let (rho, phase) = match fluid.density(p, t) {
                Ok(found) => found,
                // solid, and refused
                Err(_) if name.name == "helium" && t < 20.0 && p > 10e6 => continue,
                Err(e) => panic!("{at}: {e}"),
            };
            let s = fluid.state(rho, t, phase);
            let d = s.derivatives;
            let slopes = [d.viscosity_by_pressure, d.viscosity_by_enthalpy, d.conductivity_by_pressure, d.conductivity_by_enthalpy];
            assert!(slopes.iter().all(|v| v.is_finite()), "{at}: {s:?}");
            assert!(s.viscosity_pa_s > 1e-7 && s.viscosity_pa_s < 1e3, "{at}: viscosity {}", s.viscosity_pa_s);
            assert!(s.conductivity_w_per_m_k > 1e-3 && s.conductivity_w_per_m_k < 100.0, "{at}: conductivity {}", s.conductivity_w_per_m_k);
        }
        // at the critical density and temperature the equation's own stiffness is nothing
        let s = fluid.state(fluid.critical_density(), t_c, Phase::Supercritical);
        assert!(s.conductivity_w_per_m_k.is_finite() && s.viscosity_pa_s.is_finite(), "{}", name.name);
    }
}
