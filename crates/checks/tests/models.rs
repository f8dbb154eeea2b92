//! The registry of models: ids are known, arithmetic proves nothing.

use halfmicron_checks::models::{MODELS, ProofState, checks_of, find, proof_state};
use halfmicron_checks::{Check, CheckResult, Kind, all};

fn results_of(wanted: impl Fn(&Check) -> bool) -> Vec<CheckResult> {
    all().iter().filter(|check| wanted(check)).flat_map(Check::results).collect()
}

#[test]
fn checks_name_known_models_only() {
    for check in all() {
        for id in check.models {
            assert!(find(id).is_some(), "{} concerns {id}, which is no model", check.id);
        }
    }
}

#[test]
fn unknown_ids_are_refused() {
    assert!(find("film.of-tomorrow").is_none());
    assert!(find("ring").is_none());
    assert!(find("").is_none());
}

#[test]
fn every_model_of_an_outcome_is_known() {
    for (path, text) in cases() {
        let model = halfmicron::case::parse(&text).and_then(|case| case.model()).unwrap_or_else(|error| panic!("{path}: {error}"));
        let outcome = halfmicron::solve(&model, &[]).unwrap_or_else(|error| panic!("{path}: {error}"));
        for duty in &outcome.duties {
            if !duty.equilibria.is_empty() {
                assert!(!duty.models.is_empty(), "{path}, {}: no model named", duty.name);
            }
            for id in &duty.models {
                assert!(find(id).is_some(), "{path}, {}: {id} is no known model", duty.name);
            }
        }
    }
}

/// The starter and one case of each kind of liquid.
fn cases() -> Vec<(&'static str, String)> {
    vec![
        ("starter", halfmicron::case::starter("models")),
        ("brine booster", include_str!("../../../cases/brine-booster.toml").to_owned()),
        ("caustic", include_str!("../../../cases/caustic-transfer.toml").to_owned()),
    ]
}

#[test]
fn every_model_says_where_it_holds_and_whence_it_comes() {
    for model in MODELS {
        assert!(!model.title.is_empty() && !model.valid_when.is_empty() && !model.source.is_empty(), "{}", model.id);
        assert_eq!(MODELS.iter().filter(|other| other.id == model.id).count(), 1);
    }
}

#[test]
fn arithmetic_never_counts_as_proof() {
    let arithmetic = results_of(|check| check.kind == Kind::Arithmetic && !check.models.is_empty());
    assert!(!arithmetic.is_empty());
    assert_eq!(proof_state("film.roughness.flow", &arithmetic), ProofState::Unproven);
    assert!(checks_of("film.roughness.flow").contains(&"R2"));
}

#[test]
fn a_disagreeing_proof_disputes_its_model() {
    let mut results = results_of(|check| check.id == "F1");
    assert_eq!(proof_state("film.axisymmetric", &results), ProofState::Proven);
    results[0].verdict = halfmicron_checks::CheckVerdict::Disagrees;
    assert_eq!(proof_state("film.axisymmetric", &results), ProofState::Disputed);
    assert_eq!(proof_state("point.coupled", &results), ProofState::Unproven);
}
