//! Stable equilibrium at pressure and enthalpy, the phase line, and the fluids in closed form.

use halfmicron_properties::{
    ConstantBoiling, ConstantGas, Fluid, FluidState, MixtureViscosity, Phase, PhaseLine, PropertyError, Saturation,
};

const RULES: [MixtureViscosity; 3] = [MixtureViscosity::ByMassFluidity, MixtureViscosity::ByMass, MixtureViscosity::ByVolume];

fn close(got: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((got - expected).abs() <= tolerance * expected.abs(), "{what}: {got} against {expected} ({:.2e})", got / expected - 1.0);
}

fn film(fluid: &Fluid, p: f64, h: f64) -> FluidState {
    fluid.film_state(p, h, MixtureViscosity::default()).unwrap()
}

/// Temperature, density, viscosity and conductivity with their names.
fn values(s: &FluidState) -> [(&'static str, f64); 4] {
    [
        ("temperature", s.temperature_k),
        ("density", s.density_kg_per_m3),
        ("viscosity", s.viscosity_pa_s),
        ("conductivity", s.conductivity_w_per_m_k),
    ]
}

#[test]
fn film_states_are_the_stable_equilibrium() {
    let water = Fluid::named("water").unwrap();
    for (p, h, phase) in [
        (1e6, 100e3, Phase::Liquid),
        (1e5, 500e3, Phase::TwoPhase),
        (1e5, 2.8e6, Phase::Vapour),
        (30e6, 2.5e6, Phase::Supercritical),
        (30e6, 1.0e6, Phase::Liquid),
        (2e3, 2.6e6, Phase::Vapour),
    ] {
        let s = film(&water, p, h);
        assert_eq!(s.phase, phase, "{p} {h}");
        let quality = if phase == Phase::TwoPhase { s.vapour_mass_fraction } else { f64::from(u8::from(phase == Phase::Vapour)) };
        assert_eq!(s.vapour_mass_fraction, quality);
        close(s.specific_volume() * s.density_kg_per_m3, 1.0, 1e-15, "volume");
    }
    // steam at 1 bar and liquid at 10 bar: about 470 and 1480 m/s; a mixture is far slower (homogeneous equilibrium)
    assert!((1_400.0..1_560.0).contains(&film(&water, 1e6, 100e3).sound_speed_m_per_s()));
    assert!((440.0..620.0).contains(&film(&water, 1e5, 2.8e6).sound_speed_m_per_s()));
    assert!(film(&water, 1e5, 500e3).sound_speed_m_per_s() < 100.0);
    close(water.gas_constant_j_per_kg_k().unwrap(), 461.518, 1e-5, "gas constant");
    close(water.critical_density().unwrap(), 322.0, 1e-5, "critical density");
}

#[test]
fn mixture_rules_are_what_they_say() {
    let water = Fluid::named("water").unwrap();
    let p = 4.76e5;
    let line = water.phase_line(p).unwrap();
    let (l, v) = (line.liquid, line.vapour);
    let x = 0.2;
    let h = l.enthalpy_j_per_kg + x * line.latent_heat_j_per_kg();
    let volume = (1.0 - x) / l.density_kg_per_m3 + x / v.density_kg_per_m3;
    let expected = [
        1.0 / (x / v.viscosity_pa_s + (1.0 - x) / l.viscosity_pa_s),
        x * v.viscosity_pa_s + (1.0 - x) * l.viscosity_pa_s,
        (x * v.viscosity_pa_s / v.density_kg_per_m3 + (1.0 - x) * l.viscosity_pa_s / l.density_kg_per_m3) / volume,
    ];
    for (rule, mu) in RULES.into_iter().zip(expected) {
        let s = water.film_state(p, h, rule).unwrap();
        close(s.viscosity_pa_s, mu, 1e-12, "viscosity");
        close(s.density_kg_per_m3, 1.0 / volume, 1e-12, "density");
        let (ep, eh) = (1e-5 * p, 20.0);
        let mu = |p: f64, h: f64| water.film_state(p, h, rule).unwrap().viscosity_pa_s;
        close(s.derivatives.viscosity_by_pressure, (mu(p + ep, h) - mu(p - ep, h)) / (2.0 * ep), 1e-6, "by p");
        close(s.derivatives.viscosity_by_enthalpy, (mu(p, h + eh) - mu(p, h - eh)) / (2.0 * eh), 1e-6, "by h");
    }
}

fn sides(line: &PhaseLine) -> [(f64, [f64; 4]); 2] {
    [line.liquid, line.vapour].map(|side| {
        (side.enthalpy_j_per_kg, [line.temperature_k, side.density_kg_per_m3, side.viscosity_pa_s, side.conductivity_w_per_m_k])
    })
}

#[test]
fn phase_line_derivatives_agree_with_differences() {
    let water = Fluid::named("water").unwrap();
    for p in [800.0, 1e4, 1.01325e5, 2.3e6, 1.1e7, 2.0e7] {
        let line = water.phase_line(p).unwrap();
        let e = 1e-4 * p;
        let (low, high) = (water.phase_line(p - e).unwrap(), water.phase_line(p + e).unwrap());
        let slope = |f: &dyn Fn(&PhaseLine) -> f64| (f(&high) - f(&low)) / (2.0 * e);
        close(line.temperature_by_pressure, slope(&|l| l.temperature_k), 1e-5, "temperature");
        for (side, pick) in [(line.liquid, 0), (line.vapour, 1)] {
            let of = |l: &PhaseLine| if pick == 0 { l.liquid } else { l.vapour };
            let scale = line.latent_heat_j_per_kg() / p;
            assert!((side.enthalpy_by_pressure - slope(&|l| of(l).enthalpy_j_per_kg)).abs() < 1e-6 * scale);
            close(side.density_by_pressure, slope(&|l| of(l).density_kg_per_m3), 1e-5, "density");
            close(side.viscosity_by_pressure, slope(&|l| of(l).viscosity_pa_s), 1e-5, "viscosity");
            let k = slope(&|l| of(l).conductivity_w_per_m_k);
            assert!((side.conductivity_by_pressure - k).abs() < 1e-4 * k.abs() + 1e-7 / p, "{p} {} {k}", side.conductivity_by_pressure);
        }
    }
}

#[test]
fn below_the_triple_point_gas_stays_and_the_rest_freezes() {
    let water = Fluid::named("water").unwrap();
    let gas = film(&water, 300.0, 2.55e6);
    assert_eq!(gas.phase, Phase::Vapour);
    close(gas.density_kg_per_m3, 300.0 / (461.518 * gas.temperature_k), 1e-3, "ideal");
    for h in [0.0, 1e6, 2.3e6] {
        let error = water.film_state(300.0, h, MixtureViscosity::default()).unwrap_err();
        assert!(matches!(error, PropertyError::WouldFreeze { .. }), "{error}");
        assert!(error.to_string().contains("would freeze: below the triple point of water"), "{error}");
    }
    // gas colder than the triple point is given, with a notice
    let cold = film(&water, 300.0, 2.49e6);
    assert!((260.0..273.0).contains(&cold.temperature_k), "{}", cold.temperature_k);
    assert!(water.notices_at(300.0, cold.temperature_k).iter().any(|n| n.code == "fluid.below-triple-point"));
}

fn hand_gas() -> Fluid {
    Fluid::constant_gas(ConstantGas {
        name: "hand gas".to_owned(),
        gas_constant: 287.0,
        viscosity: 1.8e-5,
        conductivity: 0.026,
        heat_capacity: 1_005.0,
        reference_temperature: 300.0,
    })
    .unwrap()
}

#[test]
fn constant_gas_is_ideal() {
    let gas = hand_gas();
    for (p, t) in [(1e5, 300.0), (4e6, 400.0), (1e3, 250.0)] {
        let s = gas.at_pressure_temperature(p, t).unwrap();
        close(s.density_kg_per_m3, p / (287.0 * t), 1e-14, "density");
        let again = film(&gas, p, s.enthalpy_j_per_kg);
        close(again.temperature_k, t, 1e-14, "temperature");
        assert_eq!((again.phase, again.vapour_mass_fraction), (Phase::Vapour, 1.0));
        // c^2 = gamma R T
        close(again.sound_speed_m_per_s(), (1_005.0 / (1_005.0 - 287.0) * 287.0 * t).sqrt(), 1e-12, "speed of sound");
    }
    assert!(gas.phase_line(1e5).is_none());
    assert_eq!(gas.saturation_temperature(1e5), Saturation::NoVapourData);
    assert!(gas.notices_at(1e5, 300.0).is_empty());
    assert!(gas.film_state(1e5, -400e3, MixtureViscosity::default()).is_err());
    let thin = ConstantGas {
        name: "x".to_owned(),
        gas_constant: 287.0,
        viscosity: 1.8e-5,
        conductivity: 0.026,
        heat_capacity: 200.0,
        reference_temperature: 300.0,
    };
    assert!(matches!(Fluid::constant_gas(thin), Err(PropertyError::InvalidInput { .. })));
}

fn hand_boiling() -> ConstantBoiling {
    ConstantBoiling {
        name: "hand water".to_owned(),
        liquid_density: 917.0,
        liquid_viscosity: 1.82e-4,
        liquid_conductivity: 0.68,
        liquid_heat_capacity: 4_300.0,
        vapour_gas_constant: 461.5,
        vapour_viscosity: 1.40e-5,
        vapour_conductivity: 0.031,
        vapour_heat_capacity: 2_300.0,
        saturation: (423.15, 4.76e5),
        latent_heat: 2.114e6,
    }
}

#[test]
fn constant_boiling_follows_its_line() {
    let fluid = Fluid::constant_boiling(hand_boiling()).unwrap();
    let line = fluid.phase_line(4.76e5).unwrap();
    close(line.temperature_k, 423.15, 1e-14, "temperature");
    close(line.latent_heat_j_per_kg(), 2.114e6, 1e-14, "latent heat");
    close(line.vapour.density_kg_per_m3, 4.76e5 / (461.5 * 423.15), 1e-14, "vapour");
    for p in [1e4, 1e5, 2e6] {
        let line = fluid.phase_line(p).unwrap();
        close(fluid.saturation_pressure(line.temperature_k).value().unwrap(), p, 1e-12, "inverse");
        for (h, expected) in sides(&line) {
            for side in [h.next_down(), h, h.next_up()] {
                for ((name, got), expected) in values(&film(&fluid, p, side)).into_iter().zip(expected) {
                    close(got, expected, 1e-9, name);
                }
            }
        }
        // derivatives in liquid, mixture and vapour
        for h in [-50e3, 0.4 * line.latent_heat_j_per_kg() + line.liquid.enthalpy_j_per_kg, line.vapour.enthalpy_j_per_kg + 2e5] {
            let (ep, eh) = (1e-4 * p, 10.0);
            let d = film(&fluid, p, h).derivatives;
            let at = |p: f64, h: f64| film(&fluid, p, h);
            for (slope, q) in [
                ((d.temperature_by_pressure, d.temperature_by_enthalpy), (|s| s.temperature_k) as fn(FluidState) -> f64),
                ((d.density_by_pressure, d.density_by_enthalpy), |s| s.density_kg_per_m3),
                ((d.viscosity_by_pressure, d.viscosity_by_enthalpy), |s| s.viscosity_pa_s),
                ((d.conductivity_by_pressure, d.conductivity_by_enthalpy), |s| s.conductivity_w_per_m_k),
            ] {
                let scale = q(at(p, h));
                let by = ((q(at(p + ep, h)) - q(at(p - ep, h))) / (2.0 * ep), (q(at(p, h + eh)) - q(at(p, h - eh))) / (2.0 * eh));
                assert!((slope.0 - by.0).abs() < 1e-6 * scale / p, "{p} {h}: {} {}", slope.0, by.0);
                assert!((slope.1 - by.1).abs() < 1e-12 * scale, "{p} {h}: {} {}", slope.1, by.1);
            }
        }
    }
    let superheated = fluid.superheated_film_state(1e5, 1e5).unwrap();
    assert_eq!(superheated.phase, Phase::LiquidMetastable);
    close(superheated.density_kg_per_m3, 917.0, 1e-15, "superheated");
    assert!(Fluid::constant_boiling(ConstantBoiling { latent_heat: -1.0, ..hand_boiling() }).is_err());
    assert!(fluid.phase_line(1e12).is_none());
}
