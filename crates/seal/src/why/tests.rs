use super::*;
use crate::rules::models::PROOFS;
use crate::rules::testing::Bench;
use crate::rules::{registry, rule};

#[test]
fn every_key_is_explained_once_and_every_rule_and_model_named_exists() {
    let mut seen: Vec<&str> = Vec::new();
    for explanation in explanations() {
        assert!(!explanation.keys.is_empty() && !explanation.label.is_empty());
        for key in explanation.keys {
            assert!(!seen.contains(key), "{key} is explained twice");
            assert!(rule(key).is_none(), "{key} is a rule too");
            seen.push(key);
        }
        for id in explanation.rules {
            assert!(rule(id).is_some(), "{:?} names the unknown rule {id}", explanation.keys);
        }
    }
    assert!(seen.len() > 50, "{}", seen.len());
}

#[test]
fn every_model_has_the_headings_of_its_files() {
    let unnamed = ["point.chamber", "point.standing", "point.margins", "ring.reduction"];
    let others = ["film.along-saturation", "film.turbulence", "film.roughness.flow", "ring.convection", "point.secondary-seal-friction"];
    let fluids = ["fluid.solution", "fluid.oil", "fluid.custom"];
    for id in PROOFS.iter().map(|(id, _)| *id).chain(unnamed).chain(others).chain(fluids) {
        let (folder, names) = models::files(id, None);
        assert!(!names.is_empty(), "no file is named for {id}");
        for name in names {
            let file = format!("{folder}/{name}");
            assert!(headers::HEADERS.iter().any(|header| header.file == file), "{file} has no header");
        }
    }
}

/// Rules that look at inputs or words alone are judged by no result of the sheet; every other is named beside the result that it judges.
#[test]
fn rules_that_compare_a_result_stand_beside_it() {
    let named: Vec<&str> = explanations().flat_map(|explanation| explanation.rules.iter().copied()).collect();
    for group in ["film.", "boiling.", "leak.", "pv.", "heat.power", "heat.face", "heat.flush", "balance.liquid", "spring.", "closing."] {
        for rule in registry().iter().filter(|rule| rule.id.starts_with(group)) {
            assert!(named.contains(&rule.id), "{} stands beside no result", rule.id);
        }
    }
}

#[test]
fn a_default_says_why_it_was_taken_and_a_stated_number_does_not() {
    let mut bench = Bench::booster();
    let input = |bench: &Bench, key: &str, path: &str| {
        let why = why(&bench.model, &bench.outcome.duties[0], key, UnitSet::Si).expect("a why");
        why.inputs.into_iter().find(|input| input.path.as_deref() == Some(path)).expect("the input")
    };
    let spring = input(&bench, "hand.spring_pressure_pa", "seal.spring_force");
    assert_eq!((spring.from, spring.note.as_str()), (Origin::Case, ""));
    bench.model.notices.push(crate::notice::Notice::note(
        "default.spring_force",
        "seal.spring_force",
        "`spring_force` taken as 0 N: none needed",
    ));
    let spring = input(&bench, "hand.spring_pressure_pa", "seal.spring_force");
    assert_eq!(spring.from, Origin::Default);
    assert!(spring.note.contains("none needed"));
}

#[test]
fn an_unknown_key_has_no_why() {
    let bench = Bench::booster();
    assert_eq!(why(&bench.model, &bench.outcome.duties[0], "no.such.key", UnitSet::Si), None);
    assert_eq!(why_in(&bench.model, &bench.outcome, "no such duty", "power_w", UnitSet::Si), None);
}

#[test]
fn both_pressure_sides_have_their_own_balance_ratio() {
    let mut bench = Bench::booster();
    let equation = |bench: &Bench| why(&bench.model, &bench.outcome.duties[0], "hand.balance_ratio", UnitSet::Si).expect("a why").equation;
    assert!(equation(&bench).starts_with("B = (Do^2 - Db^2)"));
    bench.model.seal.pressure_side = crate::model::PressureSide::Inside;
    assert!(equation(&bench).starts_with("B = (Db^2 - Di^2)"));
}

#[test]
fn a_duty_without_an_answer_says_so() {
    let mut bench = Bench::booster();
    bench.lose_solution("the film boils away");
    let told = |key: &str| why(&bench.model, &bench.outcome.duties[0], key, UnitSet::Si).expect("a why");
    assert_eq!(told("power_w").value, "-");
    assert!(told("power_w").remark.contains("the film boils away"), "{}", told("power_w").remark);
    assert_eq!(told("hand.area_m2").remark, "", "known without a film");
}
