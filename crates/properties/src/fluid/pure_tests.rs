//! The Helmholtz kernel and the transport of water against the papers' check tables.

use super::jets::Dual;
use super::pure::PureFluid;
use super::{MixtureViscosity, Phase, equilibrium, pure_names, water_transport};

fn water() -> PureFluid {
    let name = pure_names::PURE.iter().find(|p| p.name == "water").unwrap();
    pure_names::build(name).unwrap()
}

fn close(got: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((got - expected).abs() <= tolerance * expected.abs(), "{what}: {got} against {expected}, {:.2e}", got / expected - 1.0);
}

/// IAPWS R6-95(2018), table 7, to half a unit of the last printed digit (5e-9): single-phase values (T, rho, p in MPa, cv, speed of sound, s in kJ and m/s).
#[test]
fn iapws_r6_95_table_7() {
    let w = water();
    for (t, rho, p, cv, sound, s) in [
        (300.0, 0.996_556_0e3, 0.992_418_352e-1, 4.130_181_12, 1_501.519_14, 0.393_062_643),
        (300.0, 0.100_530_8e4, 0.200_022_515e2, 4.067_983_47, 1_534.925_01, 0.387_405_401),
        (300.0, 0.118_820_2e4, 0.700_004_704e3, 3.461_355_80, 2_443.579_92, 0.132_609_616),
        (500.0, 0.435_000_0, 0.999_679_423e-1, 1.508_175_41, 548.314_253, 7.944_882_71),
        (500.0, 0.453_200_0e1, 0.999_938_125, 1.669_910_25, 535.739_001, 6.825_027_25),
        (500.0, 0.838_025_0e3, 0.100_003_858e2, 3.221_062_19, 1_271.284_41, 2.566_909_19),
        (500.0, 0.108_456_4e4, 0.700_000_405e3, 3.074_376_93, 2_412.008_77, 2.032_375_09),
        (647.0, 0.358_000_0e3, 0.220_384_756e2, 6.183_157_28, 252.145_078, 4.320_923_07),
        (900.0, 0.241_000_0, 0.100_062_559, 1.758_906_57, 724.027_147, 9.166_531_94),
        (900.0, 0.526_150_0e2, 0.200_000_690e2, 1.935_105_26, 698.445_674, 6.590_702_25),
        (900.0, 0.870_769_0e3, 0.700_000_006e3, 2.664_223_50, 2_019.336_08, 4.172_238_02),
    ] {
        let b = w.basic(rho, t);
        close(b.p, p * 1e6, 5e-9, "pressure");
        close(w.isochoric_heat_capacity(rho, t), cv * 1e3, 5e-9, "cv");
        close(w.entropy(rho, t), s * 1e3, 5e-9, "entropy");
        let state = w.state(rho, t, Phase::Liquid);
        // c^-2 = drho/dp at constant entropy = rho_p + rho_h / rho
        let d = state.derivatives;
        close((d.density_by_pressure + d.density_by_enthalpy / rho).recip().sqrt(), sound, 5e-9, "speed of sound");
    }
}

/// IAPWS R6-95(2018), table 8: saturation at 275, 450 and 625 K; and Gibbs energies of both phases agree.
#[test]
fn iapws_r6_95_table_8() {
    let w = water();
    for (t, p, liquid, vapour, hl, hv, sl, sv) in [
        (275.0, 0.698_451_167e-3, 0.999_887_406e3, 0.550_664_919e-2, 0.775_972_202e1, 0.250_428_995e4, 0.028_309_467_0, 9.106_601_21),
        (450.0, 0.932_203_564, 0.890_341_250e3, 0.481_200_360e1, 0.749_161_585e3, 0.277_441_078e4, 2.108_658_45, 6.609_212_21),
        (625.0, 0.169_082_693e2, 0.567_090_385e3, 0.118_290_280e3, 0.168_626_976e4, 0.255_071_625e4, 3.801_946_83, 5.185_061_21),
    ] {
        close(w.saturation().pressure(t), p * 1e6, 5e-9, "pressure");
        let (rl, rv) = w.saturation().densities(t);
        close(rl, liquid, 5e-9, "liquid");
        close(rv, vapour, 5e-9, "vapour");
        close(w.basic(rl, t).h, hl * 1e3, 5e-9, "h liquid");
        close(w.basic(rv, t).h, hv * 1e3, 5e-9, "h vapour");
        close(w.entropy(rl, t), sl * 1e3, 5e-9, "s liquid");
        close(w.entropy(rv, t), sv * 1e3, 5e-9, "s vapour");
    }
}

/// Own check, exact: pressure and Gibbs energy of both phases are equal along the whole line.
#[test]
fn saturation_is_an_equilibrium() {
    let w = water();
    for i in 0..200 {
        let t = 273.16 + (647.09 - 273.16) * f64::from(i) / 199.0;
        let p = w.saturation().pressure(t);
        let (rl, rv) = w.saturation().densities(t);
        let gibbs = |rho: f64| w.basic(rho, t).h - t * w.entropy(rho, t);
        assert!((gibbs(rl) - gibbs(rv)).abs() < 1e-6 * 461.5 * t, "{t}: {}", gibbs(rl) - gibbs(rv));
        assert!((w.basic(rv, t).p - p).abs() < 1e-9 * p, "{t}");
        assert!((w.basic(rl, t).p - p).abs() < 1e-9 * p + 1e-2, "{t}: {}", w.basic(rl, t).p - p);
        close(w.saturation().temperature(p), t, 1e-10, "inverse");
    }
}

/// IAPWS R12-08, table 4: viscosity without critical enhancement, micropascal seconds.
#[test]
fn iapws_r12_08_table_4() {
    for (t, rho, mu) in [
        (298.15, 998.0, 889.735_100),
        (298.15, 1_200.0, 1_437.649_467),
        (373.15, 1_000.0, 307.883_622),
        (433.15, 1.0, 14.538_324),
        (433.15, 1_000.0, 217.685_358),
        (873.15, 1.0, 32.619_287),
        (873.15, 100.0, 35.802_262),
        (873.15, 600.0, 77.430_195),
        (1_173.15, 1.0, 44.217_245),
        (1_173.15, 100.0, 47.640_433),
        (1_173.15, 400.0, 64.154_608),
    ] {
        let got = water_transport::viscosity_background(Dual::constant(rho), Dual::constant(t)).v;
        assert!((got * 1e6 - mu).abs() < 1e-6, "{t} {rho}: {got}");
    }
}

/// IAPWS R12-08, table 5: viscosity near the critical point at 647.35 K, micropascal seconds.
#[test]
fn iapws_r12_08_table_5() {
    let w = water();
    for (rho, mu) in
        [(122.0, 25.520_677), (222.0, 31.337_589), (272.0, 36.228_143), (322.0, 42.961_579), (372.0, 45.688_204), (422.0, 49.436_256)]
    {
        let got = w.state(rho, 647.35, Phase::Supercritical).viscosity_pa_s;
        assert!((got * 1e6 - mu).abs() < 1.5e-6, "{rho}: {got}");
    }
}

/// IAPWS R15-11, tables 4 (no critical enhancement) and 5 (647.35 K), mW/(m K).
#[test]
fn iapws_r15_11_tables_4_and_5() {
    let w = water();
    for (t, rho, k) in
        [(298.15, 1e-9, 18.434_188_3), (298.15, 998.0, 607.712_868), (298.15, 1_200.0, 799.038_144), (873.15, 1e-9, 79.103_465_9)]
    {
        let got = water_transport::conductivity_background(Dual::constant(rho), Dual::constant(t)).v;
        close(got * 1e3, k, 1e-8, "background");
    }
    for (rho, k) in [
        (1.0, 51.929_892_4),
        (122.0, 130.922_885),
        (222.0, 367.787_459),
        (272.0, 757.959_776),
        (322.0, 1_443.755_56),
        (372.0, 650.319_402),
        (422.0, 448.883_487),
        (750.0, 600.961_346),
    ] {
        close(w.state(rho, 647.35, Phase::Supercritical).conductivity_w_per_m_k * 1e3, k, 1e-6, "near critical");
    }
}

/// Third-order derivatives enter the derivatives of the transport properties: all by differences.
#[test]
fn derivatives_by_pressure_and_enthalpy_agree_with_differences() {
    let w = water();
    for (p, h) in [(1e6, 85e3), (1e5, 400e3), (5e6, 1.0e6), (15e6, 1.55e6), (25e6, 1.8e6), (30e6, 2.4e6), (1e6, 3.0e6), (22.5e6, 2.1e6)] {
        let at = |p: f64, h: f64| equilibrium::state(&w, p, h, MixtureViscosity::default()).unwrap();
        let d = at(p, h).derivatives;
        let (ep, eh) = (1e-4 * p, 100.0);
        let slope =
            |f: &dyn Fn(f64) -> f64, x: f64, e: f64| (f(x - 2.0 * e) - 8.0 * f(x - e) + 8.0 * f(x + e) - f(x + 2.0 * e)) / (12.0 * e);
        for (name, q, by_p, by_h) in [
            ("temperature", (|s| s.temperature_k) as fn(super::FluidState) -> f64, d.temperature_by_pressure, d.temperature_by_enthalpy),
            ("density", |s| s.density_kg_per_m3, d.density_by_pressure, d.density_by_enthalpy),
            ("viscosity", |s| s.viscosity_pa_s, d.viscosity_by_pressure, d.viscosity_by_enthalpy),
            ("conductivity", |s| s.conductivity_w_per_m_k, d.conductivity_by_pressure, d.conductivity_by_enthalpy),
        ] {
            let scale = q(at(p, h));
            let (np, nh) = (slope(&|x| q(at(x, h)), p, ep), slope(&|x| q(at(p, x)), h, eh));
            assert!((np - by_p).abs() < 1e-5 * by_p.abs() + 1e-8 * scale / p, "{name} by p at {p} {h}: {by_p} {np}");
            assert!((nh - by_h).abs() < 1e-5 * by_h.abs() + 1e-11 * scale, "{name} by h at {p} {h}: {by_h} {nh}");
        }
    }
}
