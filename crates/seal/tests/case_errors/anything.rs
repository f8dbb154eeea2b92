//! Whatever stands in a file: a model of finite numbers or errors with their place, never a panic.

use halfmicron::case;
use halfmicron::model::{ChamberTemperature, Model, SecondaryFriction};
use proptest::prelude::*;

use crate::good::{CASES, model};

/// Every number of a model that physics reads.
fn numbers(model: &Model) -> Vec<f64> {
    let mut out = vec![model.band.inner_radius_m, model.band.outer_radius_m];
    let seal = &model.seal;
    out.extend([seal.balance_radius_m, seal.reverse_balance_radius_m, seal.spring_force_n, seal.heat_soak_w]);
    out.extend(seal.flush_m3_per_s);
    match seal.secondary_seal.friction {
        SecondaryFriction::Automatic { section_m, squeeze } => out.extend([section_m, squeeze]),
        SecondaryFriction::Given(force) => out.push(force),
    }
    for duty in &model.duties {
        let (ChamberTemperature::Stated(kelvin) | ChamberTemperature::FromFlush(kelvin)) = duty.temperature;
        out.extend([duty.speed_rad_per_s, duty.pressure_pa, duty.low_pressure_pa, kelvin]);
    }
    for ring in [&model.rotating_ring, &model.stationary_ring] {
        out.extend(ring.parts.iter().flat_map(|part| part.corners_m).flatten());
        out.extend(ring.secondary_seal_m);
        out.extend([ring.spring_radius_m, ring.roughness_rq_m, ring.flatness_m, ring.lapped_coning_m, ring.stress_free_temperature_k]);
    }
    out.extend(model.contact.boundary_friction);
    out.extend([model.contact.eta_beta_sigma, model.contact.sigma_over_beta, model.contact.plastic_pressure_pa]);
    out
}

/// A number of a text multiplied by a factor, the rest as it was.
fn perturbed(text: &str, which: usize, factor: f64) -> String {
    let mut spans = Vec::new();
    let bytes = text.as_bytes();
    let mut at = 0;
    while at < bytes.len() {
        let start = at;
        while at < bytes.len() && (bytes[at].is_ascii_digit() || (bytes[at] == b'.' && at > start)) {
            at += 1;
        }
        let alone = start == 0 || !(bytes[start - 1].is_ascii_alphanumeric() || bytes[start - 1] == b'-');
        if at > start && alone && text[start..at].parse::<f64>().is_ok() {
            spans.push(start..at);
        }
        at = at.max(start + 1);
    }
    let span = spans[which % spans.len()].clone();
    let value: f64 = text[span.clone()].parse().unwrap();
    format!("{}{}{}", &text[..span.start], value * factor, &text[span.end..])
}

fn check(text: &str) -> Result<(), TestCaseError> {
    match model(text) {
        Ok(model) => prop_assert!(numbers(&model).iter().all(|number| number.is_finite())),
        Err(errors) => {
            for diagnostic in errors.diagnostics() {
                let span = diagnostic.span.clone().unwrap_or(0..0);
                prop_assert!(span.start <= span.end && span.end <= text.len().max(1), "{diagnostic:?}");
                prop_assert!(!diagnostic.message.is_empty());
            }
            let _ = errors.plain_text("case.toml", text);
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = case::parse_bytes(&bytes).and_then(|case| case.model());
    }

    #[test]
    fn any_text(text in "[\\[\\]{}=\",.#a-z0-9 \n\u{e9}()_-]{0,300}") {
        check(&text)?;
    }

    #[test]
    fn a_good_case_with_one_number_changed(case in 0usize..5, which in 0usize..400, factor in -3.0f64..3.0) {
        check(&perturbed(CASES[case].1, which, factor.exp()))?;
    }

    #[test]
    fn a_good_case_with_some_bytes_changed(case in 0usize..5, places in prop::collection::vec((0usize..6000, " -~"), 1..4)) {
        let mut bytes = CASES[case].1.as_bytes().to_vec();
        for (place, character) in places {
            let place = place % bytes.len();
            bytes[place] = character.as_bytes()[0];
        }
        if let Ok(text) = String::from_utf8(bytes) {
            check(&text)?;
        }
    }

    #[test]
    fn a_good_case_cut_short(case in 0usize..5, length in 0usize..6000) {
        let text = CASES[case].1;
        check(&text[..length.min(text.len())])?;
    }

    #[test]
    fn any_setting(path in "[a-z_.0-9]{0,30}", value in "\\PC{0,20}") {
        if let Ok(text) = case::with_settings(CASES[0].1, &[(&path, &value)]) {
            check(&text)?;
        }
    }
}
