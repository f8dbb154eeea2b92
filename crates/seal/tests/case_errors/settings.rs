//! Values set by path, in the file and in the model.

use halfmicron::case;
use halfmicron::model::ChamberTemperature;

use crate::good::{CASES, model};

const BRINE: &str = CASES[0].1;

fn set(settings: &[(&str, &str)]) -> String {
    case::with_settings(BRINE, settings).unwrap_or_else(|errors| panic!("{errors}"))
}

#[test]
fn a_file_keeps_its_comments_and_all_but_the_value() {
    let text = set(&[("duty.normal.pressure", "12 bar(g)")]);
    assert_eq!(text.lines().count(), BRINE.lines().count());
    let changed: Vec<(&str, &str)> = BRINE.lines().zip(text.lines()).filter(|(a, b)| a != b).collect();
    assert_eq!(changed, [("pressure = \"11 bar(g)\"", "pressure = \"12 bar(g)\"")]);
    let text = set(&[("seal.spring_force", "200 N")]);
    assert!(text.contains("spring_force = \"200 N\"                # ten springs"), "{text}");
}

#[test]
fn settings_reach_the_model() {
    let text = set(&[
        ("duty.static test.temperature", "25 degC"),
        ("rotating_ring.roughness", "Rq 0.2 um"),
        ("rotating_ring.section.0.z", r#"["0 mm", "2.5 mm"]"#),
        ("seal.secondary_seal.squeeze", "0.1"),
        ("seal.heat_soak", "100 W"),
        ("contact.boundary_friction", "0.12"),
        ("switches.spin", "false"),
        ("limits.leakage", "\"3 g/h\""),
    ]);
    let model = model(&text).unwrap();
    assert_eq!(model.duties[0].temperature, ChamberTemperature::Stated(298.15));
    assert!((model.rotating_ring.roughness_rq_m - 0.2e-6).abs() < 1e-18);
    assert_eq!((model.seal.heat_soak_w, model.contact.boundary_friction, model.switches.spin), (100.0, [0.12; 3], false));
    assert!((model.limits.leakage_kg_per_s.unwrap() - 3e-3 / 3600.0).abs() < 1e-15 && model.limits.leakage_m3_per_s.is_none());
    assert_eq!(model.get("seal.secondary_seal.squeeze"), Ok(0.1));
}

#[test]
fn a_wrong_path_names_the_nearest() {
    let refused = |path: &str, value: &str| case::with_settings(BRINE, &[(path, value)]).unwrap_err().to_string();
    for (path, nearest) in [
        ("duty.nromal.pressure", "duty.normal"),
        ("duty.normal.presure", "pressure"),
        ("seal.spring_farce", "spring_force"),
        ("rotating_rings.roughness", "rotating_ring"),
        ("rotating_ring.section.9.r", "counted from 0"),
        ("title.text", "set `title` itself"),
        ("duty", "duty.NAME.key"),
    ] {
        assert!(refused(path, "1 mm").contains(nearest), "{path}: {}", refused(path, "1 mm"));
    }
    assert!(refused("switches.spin", "perhaps").contains("true or false"));
    assert!(refused("seal.flush", "").contains("no value"));
    let both = case::with_settings(BRINE, &[("a", "1"), ("b", "2")]).unwrap_err();
    assert_eq!(both.errors().len(), 2);
    assert!(both.diagnostics().iter().all(|diagnostic| diagnostic.span.is_none()));
}

#[test]
fn a_value_out_of_range_is_found_when_the_text_is_read() {
    let text = set(&[("duty.normal.pressure", "12 bar")]);
    let errors = case::parse(&text).unwrap_err();
    assert_eq!(errors.diagnostics()[0].path, "duty.normal.pressure");
}

#[test]
fn every_path_of_a_case_can_be_set_again() {
    for (name, text) in CASES {
        let case = case::parse(text).unwrap();
        let paths = case::paths(&case);
        assert!(paths.iter().any(|path| path == "duty.normal.pressure") && paths.len() > 60, "{name}: {paths:?}");
        for path in paths.iter().filter(|path| path.ends_with("pressure")) {
            case::with_settings(text, &[(path, "3 bar(a)")]).unwrap_or_else(|errors| panic!("{name} {path}: {errors}"));
        }
    }
}

#[test]
fn numbers_of_a_model_by_path() {
    let mut model = model(BRINE).unwrap();
    assert!((model.get("duty.normal.pressure").unwrap() - 1_201_325.0).abs() < 1e-6);
    assert!((model.get("seal.balance_diameter").unwrap() - 0.0524).abs() < 1e-15);
    for path in model.paths() {
        let value = model.get(&path).unwrap();
        model.set(&path, value * 1.01).unwrap_or_else(|error| panic!("{error}"));
        assert!((model.get(&path).unwrap() - value * 1.01).abs() <= 1e-12 * value.abs(), "{path}");
    }
    model.set("contact.boundary_friction", 0.2).unwrap();
    let [low, nominal, high] = model.contact.boundary_friction;
    assert!(low <= nominal && nominal == 0.2 && high >= nominal);
    let error = model.set("duty.normal.presure", 1e6).unwrap_err().to_string();
    assert!(error.contains("duty.normal.pressure"), "{error}");
    assert!(model.set("duty.normal.pressure", -1.0).is_err() && model.set("duty.normal.pressure", f64::NAN).is_err());
}
