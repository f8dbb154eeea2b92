use proptest::prelude::*;

use super::*;

fn si(text: &str, dimension: Dimension) -> f64 {
    read(text, dimension, STANDARD_ATMOSPHERE_PA).unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn cause(text: &str, dimension: Dimension) -> UnitCause {
    read(text, dimension, STANDARD_ATMOSPHERE_PA).unwrap_err().cause
}

#[test]
fn factors_agree_with_the_guide_to_the_si() {
    // NIST SP 811 (2008), appendix B.8, printed to seven digits
    let table = [
        ("1 psi(a)", Dimension::Pressure, 6.894_757e3),
        ("1 inHg(a)", Dimension::Pressure, 3.386_389e3),
        ("1 lbf", Dimension::Force, 4.448_222),
        ("1 hp", Dimension::Power, 7.456_999e2),
        ("1 Btu/h", Dimension::Power, 2.930_711e-1),
        ("1 gpm", Dimension::VolumeFlow, 6.309_020e-5),
        ("1 lbf ft", Dimension::Torque, 1.355_818),
        ("1 lbf in", Dimension::Torque, 1.129_848e-1),
        ("1 Btu/(h ft2 degF)", Dimension::HeatTransfer, 5.678_263),
        ("1 Btu/(h ft degF)", Dimension::Conductivity, 1.730_735),
        ("1 Btu/(lb degF)", Dimension::SpecificHeat, 4.186_8e3),
        ("1 lb/ft3", Dimension::Density, 1.601_846e1),
        ("1 cP", Dimension::DynamicViscosity, 1e-3),
        ("1 cSt", Dimension::KinematicViscosity, 1e-6),
        ("1 rpm", Dimension::RotationalSpeed, 1.047_198e-1),
        ("1 uin", Dimension::Length, 2.54e-8),
    ];
    for (text, dimension, expected) in table {
        let value = si(text, dimension);
        assert!((value / expected - 1.0).abs() < 5e-7, "{text}: {value} against {expected}");
    }
}

#[test]
fn the_ways_a_unit_is_written() {
    for text in ["114 W/(m K)", "114 W/m K", "114 W/mK", "114 W/m*K", "114 W m-1 K-1", "114 W·m^-1·K^-1"] {
        assert!((si(text, Dimension::Conductivity) - 114.0).abs() < 1e-12, "{text}");
    }
    for text in ["5000 W/m2K", "5000 W/m2 K", "5000 W/(m^2 K)", "5000 W/(m² K)", "5 kW/m2K"] {
        assert!((si(text, Dimension::HeatTransfer) - 5000.0).abs() < 1e-9, "{text}");
    }
    for text in ["0.1 um", "0.1um", "0.1 µm", "0.1 μm", "1e-7 m", "100 nm"] {
        assert!((si(text, Dimension::Length) - 1e-7).abs() < 1e-20, "{text}");
    }
    for text in ["4.5e-6 1/K", "4.5e-6 /K", "4.5 um/(m K)", "4.5e-6 K-1"] {
        assert!((si(text, Dimension::Expansion) - 4.5e-6).abs() < 1e-18, "{text}");
    }
    for text in ["3000 rpm", "3000 1/min", "3000 min-1", "50 rev/s", "50 Hz", "3000 rev/min"] {
        assert!((si(text, Dimension::RotationalSpeed) - 100.0 * std::f64::consts::PI).abs() < 1e-9, "{text}");
    }
    assert!((si("1e-9 mm3/(N m)", Dimension::PerPressure) - 1e-18).abs() < 1e-30);
}

#[test]
fn gauge_absolute_and_ambient() {
    assert!((si("11 bar(g)", Dimension::Pressure) - 1_201_325.0).abs() < 1e-6);
    assert!((si("11 bar (a)", Dimension::Pressure) - 1_100_000.0).abs() < 1e-6);
    assert!((si("0 psig", Dimension::Pressure) - 101_325.0).abs() < 1e-6);
    assert!((si("14.695949 psia", Dimension::Pressure) - 101_325.0).abs() < 1e-2);
    assert!((read("1 bar(g)", Dimension::Pressure, 90e3).unwrap() - 190e3).abs() < 1e-6);
    assert!(matches!(cause("11 bar", Dimension::Pressure), UnitCause::ReferenceMissing(_)));
    assert!(matches!(cause("11 bar(g)", Dimension::Stress), UnitCause::ReferenceUnexpected(..)));
}

#[test]
fn temperatures_and_differences() {
    assert!((si("38 degC", Dimension::Temperature) - 311.15).abs() < 1e-12);
    assert!((si("100.4 degF", Dimension::Temperature) - 311.15).abs() < 1e-9);
    assert!((si("38 °C", Dimension::Temperature) - 311.15).abs() < 1e-12);
    assert!((si("36 degF", Dimension::TemperatureDifference) - 20.0).abs() < 1e-12);
    assert!(matches!(cause("-300 degC", Dimension::Temperature), UnitCause::BelowAbsoluteZero(_)));
    let error = read("38 C", Dimension::Temperature, 1e5).unwrap_err();
    assert!(error.help.contains("degC"), "{}", error.help);
}

#[test]
fn refusals_point_at_the_place() {
    let error = read("12 furlong", Dimension::Length, 1e5).unwrap_err();
    assert_eq!((error.span, matches!(error.cause, UnitCause::UnknownUnit(_))), (3..10, true));
    assert!(matches!(cause("12", Dimension::Length), UnitCause::UnitMissing(_)));
    assert!(matches!(cause("", Dimension::Length), UnitCause::Empty(_)));
    assert!(matches!(cause("nan mm", Dimension::Length), UnitCause::NoNumber(_)));
    assert!(matches!(cause("inf bar(g)", Dimension::Pressure), UnitCause::NoNumber(_)));
    assert!(matches!(cause("1e999 mm", Dimension::Length), UnitCause::BadNumber(_)));
    assert!(matches!(cause("1,5 mm", Dimension::Length), UnitCause::BadNumber(_)));
    assert!(matches!(cause("3 mm/", Dimension::Length), UnitCause::Malformed(_)));
    assert!(matches!(cause("3 kg", Dimension::Length), UnitCause::WrongDimension { .. }));
}

#[test]
fn faces() {
    assert!((read_roughness("Ra 0.1 um").unwrap() - 0.125_331_413_731_55e-6).abs() < 1e-18);
    assert!((read_roughness("Rq 0.1 um").unwrap() - 0.1e-6).abs() < 1e-20);
    assert!((read_roughness("Ra 4 uin").unwrap() - RQ_OVER_RA * 4.0 * 2.54e-8).abs() < 1e-18);
    assert!(matches!(read_roughness("0.1 um").unwrap_err().cause, UnitCause::ParameterMissing(_)));
    assert!((read_flatness("2 bands").unwrap() - 587.56e-9).abs() < 1e-18);
    assert!((read_flatness("0.6 um").unwrap() - 0.6e-6).abs() < 1e-18);
    assert!((read_lapped_form("0.3 um convex").unwrap().convex_m - 0.3e-6).abs() < 1e-18);
    assert!((read_lapped_form("1 band concave").unwrap().convex_m + LIGHT_BAND_M).abs() < 1e-18);
    assert!(read_lapped_form("0.3 um").is_err() && read_flatness("inf bands").is_err() && read_flatness("two bands").is_err());
}

proptest! {
    #[test]
    fn no_text_makes_a_reader_panic(text in "\\PC{0,40}") {
        for dimension in Dimension::ALL {
            if let Ok(value) = read(&text, dimension, STANDARD_ATMOSPHERE_PA) {
                prop_assert!(value.is_finite());
            }
        }
        let _ = (read_roughness(&text), read_flatness(&text), read_lapped_form(&text));
    }

    #[test]
    fn no_near_unit_makes_a_reader_panic(text in "[-+0-9.eE]{1,6} ?[a-zA-Zµ°%/()^*. 0-9-]{0,14}") {
        for dimension in Dimension::ALL {
            if let Err(error) = read(&text, dimension, STANDARD_ATMOSPHERE_PA) {
                prop_assert!(error.span.end <= text.len() && error.span.start <= error.span.end);
                prop_assert!(!error.help.is_empty());
            }
        }
    }

    #[test]
    fn what_is_written_reads_back(value in 1e-12f64..1e12) {
        for dimension in Dimension::ALL {
            let text = write(value, dimension);
            let back = read(&text, dimension, STANDARD_ATMOSPHERE_PA);
            prop_assert_eq!(back, Ok(value), "{}", text);
        }
    }
}
