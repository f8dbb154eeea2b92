//! Every pure fluid against stored values of the outside library, and its derivatives against differences.

use serde::Deserialize;

use super::pure::PureFluid;
use super::pure_names::{self, PURE};
use super::{MixtureViscosity, Phase, equilibrium};

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
                assert!(off(fluid.saturation().pressure(t), p) < 1e-9, "{at}: pressure");
                assert!(off(rho, expected) < 1e-8, "{at}: density {expected}");
                let s = fluid.state(rho, t, Phase::Liquid);
                assert!((s.enthalpy_j_per_kg - h).abs() < 1e-8 * (h.abs() + 461.0 * t), "{at}: h");
                assert!(off(s.viscosity_pa_s, mu) < viscosity, "{at}: viscosity {} {mu}", s.viscosity_pa_s);
                assert!(off(s.conductivity_w_per_m_k, k) < conductivity, "{at}: conductivity {} {k}", s.conductivity_w_per_m_k);
            }
        }
    });
}
