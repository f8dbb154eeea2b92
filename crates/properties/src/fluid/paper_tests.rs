//! Pure fluids against check values printed in the papers, as other open programs quote them: the papers themselves were not
//! seen by us.

use super::Phase;
use super::pure::PureFluid;
use super::pure_names::{self, PURE};

fn fluid(name: &str) -> PureFluid {
    pure_names::build(PURE.iter().find(|p| p.name == name).unwrap()).unwrap()
}

/// Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004) 21, table V: temperature K, density mol/dm3, viscosity micropascal
/// seconds, conductivity mW/(m K), printed to six digits. The last row of each is near the critical point.
#[test]
fn lemmon_and_jacobsen_2004_table_v() {
    type Row = (f64, f64, f64, f64);
    let table: [(&str, &[Row]); 4] = [
        (
            "nitrogen",
            &[
                (100.0, 1e-9, 6.903_49, 9.277_49),
                (300.0, 1e-9, 17.877_1, 25.936_1),
                (100.0, 25.0, 79.741_8, 103.834),
                (200.0, 10.0, 21.081_0, 36.009_9),
                (300.0, 5.0, 20.743_0, 32.769_4),
                (126.195, 11.18, 18.297_8, 675.800),
            ],
        ),
        (
            "argon",
            &[
                (100.0, 1e-9, 8.189_40, 6.365_87),
                (300.0, 1e-9, 22.724_1, 17.804_2),
                (100.0, 33.0, 184.232, 111.266),
                (200.0, 10.0, 25.566_2, 26.137_7),
                (300.0, 5.0, 26.370_6, 23.230_2),
                (150.69, 13.4, 27.610_1, 856.793),
            ],
        ),
        (
            "oxygen",
            &[
                (100.0, 1e-9, 7.702_43, 8.943_34),
                (300.0, 1e-9, 20.630_7, 26.440_3),
                (100.0, 35.0, 172.136, 146.044),
                (200.0, 10.0, 22.444_5, 34.612_4),
                (300.0, 5.0, 23.757_7, 32.549_1),
                (154.6, 13.6, 24.789_8, 377.476),
            ],
        ),
        ("air", &[(100.0, 1e-9, 7.095_59, 9.359_02), (300.0, 1e-9, 18.523_0, 26.352_9), (100.0, 28.0, 107.923, 119.221)]),
    ];
    for (name, rows) in table {
        let fluid = fluid(name);
        for &(t, molar, viscosity, conductivity) in rows {
            let s = fluid.state(molar * 1e3 * fluid.molar_mass, t, Phase::Supercritical);
            // half a unit of the sixth digit; beside the critical point the printed digits of temperature and density limit
            let tolerance = if conductivity > 300.0 { 1e-4 } else { 6e-6 };
            let off = (s.viscosity_pa_s * 1e6 / viscosity - 1.0, s.conductivity_w_per_m_k * 1e3 / conductivity - 1.0);
            assert!(off.0.abs() < 6e-6 && off.1.abs() < tolerance, "{name} {t} K {molar} mol/dm3: {off:?}");
        }
    }
}

/// Fenghour et al., J. Phys. Chem. Ref. Data 24 (1995) 1649, viscosity of ammonia; Huber et al., 45 (2016) 013102, conductivity of
/// carbon dioxide. The printed states are of other equations of state and of four digits.
#[test]
fn fenghour_1995_and_huber_2016() {
    let ammonia = fluid("ammonia");
    for (t, molar, viscosity) in [(200.0, 3.9, 6.95), (200.0, 42_754.4, 507.28), (398.0, 7_044.7, 17.67), (398.0, 21_066.7, 43.95)] {
        let got = ammonia.state(molar * ammonia.molar_mass, t, Phase::Liquid).viscosity_pa_s * 1e6;
        assert!((got / viscosity - 1.0).abs() < 1e-3, "{t} {molar}: {got}");
    }
    let carbon_dioxide = fluid("carbon dioxide");
    for (t, rho, conductivity) in [(250.0, 1e-6, 12.99), (250.0, 2.0, 13.05), (250.0, 1_058.0, 140.00), (310.0, 400.0, 73.04)] {
        let got = carbon_dioxide.state(rho, t, Phase::Liquid).conductivity_w_per_m_k * 1e3;
        assert!((got / conductivity - 1.0).abs() < 5e-4, "{t} {rho}: {got}");
    }
}

/// IAPWS R7-97(2012), table 35: saturation pressure of water at 300, 500 and 600 K, MPa; from memory. The industrial formulation
/// differs from the scientific one, which is used here, by up to 1.2e-4.
#[test]
fn iapws_r7_97_table_35() {
    let water = fluid("water");
    for (t, p) in [(300.0, 0.353_658_941e-2), (500.0, 0.263_889_776e1), (600.0, 0.123_443_146e2)] {
        let got = water.saturation().pressure(t) / 1e6;
        assert!((got / p - 1.0).abs() < 1.5e-4, "{t}: {got} {p}");
    }
}

/// Span et al., J. Phys. Chem. Ref. Data 29 (2000) 1361, nitrogen: density at 280 K and 1 MPa, 0.43104 mol/dm3; normal boiling point
/// 77.355 K (the latter from memory).
#[test]
fn span_2000_nitrogen() {
    let nitrogen = fluid("nitrogen");
    let (rho, _) = nitrogen.density(1e6, 280.0).unwrap();
    assert!((rho / nitrogen.molar_mass / 1e3 - 0.431_04).abs() < 5e-6, "{rho}");
    assert!((nitrogen.saturation().temperature(101_325.0) - 77.355).abs() < 1e-3);
}
