//! What the waviness left on plain faces can change: the same seal with a rigid wave beside the film solved flat.

use halfmicron::case;
use halfmicron::outcome::{DutyOutcome, Equilibrium, Word};
use halfmicron::point::{Options, Prepared};
use halfmicron::rules;

const BRINE: &str = include_str!("../../../../cases/brine-booster.toml");
const WAVES: &str = include_str!("../../../../cases/brine-booster-waves.toml");
const BLOWER: &str = include_str!("../../../../cases/nitrogen-blower.toml");
const FEED_PUMP: &str = include_str!("../../../../cases/feed-pump.toml");

fn solved(text: &str, duty: &str) -> DutyOutcome {
    let model = case::parse(text).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"));
    let prepared = Prepared::new(&model).unwrap_or_else(|error| panic!("{error}"));
    let duty = model.duties.iter().find(|known| known.name == duty).unwrap();
    let options = Options { ranges: false, fields: false, margins: false, at_rest: false, ..Options::default() };
    let (mut outcome, _) = prepared.solve_with(duty, None, options);
    outcome.verdicts = rules::judge(&model, duty, &outcome);
    outcome
}

fn chosen(outcome: &DutyOutcome) -> &Equilibrium {
    let index = outcome.chosen.unwrap_or_else(|| panic!("{:?}: {}", outcome.status, outcome.reason));
    &outcome.equilibria[index]
}

#[test]
fn a_wave_carries_load_opens_the_film_and_leaks() {
    let outcome = solved(BRINE, "normal");
    let flat = chosen(&outcome);
    let wavy = flat.with_wave.unwrap();
    // Two bands of 0.29 um: the wave is half of them.
    assert!((wavy.peak_to_valley_m - 0.29e-6).abs() < 0.01e-6 && wavy.count == 2, "{wavy:?}");
    assert!(wavy.leakage_kg_per_s > 3.0 * flat.leakage_kg_per_s.nominal, "{wavy:?}");
    assert!(wavy.contact_share < 0.1 * flat.contact_share.nominal && wavy.torque_n_m < flat.torque_n_m.nominal, "{wavy:?}");
    assert!(wavy.minimum_film_m > flat.minimum_film_m.nominal && wavy.mean_film_m < 3e-6, "{wavy:?}");
    assert!((0.05..0.9).contains(&wavy.cavitated_share), "{wavy:?}");
    let verdict = outcome.verdicts.iter().find(|verdict| verdict.rule == "film.waviness").unwrap();
    assert!(verdict.word == Word::Watch && verdict.reason.contains("with a rigid wave"), "{}", verdict.reason);
}

#[test]
fn at_rest_a_wave_lifts_nothing_and_its_valleys_leak() {
    let outcome = solved(BRINE, "standstill");
    let flat = chosen(&outcome);
    let wavy = flat.with_wave.unwrap();
    assert!(wavy.minimum_film_m < flat.minimum_film_m.nominal && wavy.leakage_kg_per_s > flat.leakage_kg_per_s.nominal, "{wavy:?}");
    assert!((wavy.contact_share / flat.contact_share.nominal - 1.0).abs() < 0.05 && wavy.cavitated_share == 0.0, "{wavy:?}");
}

/// Film and contact of two dimensions against the axisymmetric ones, through the whole equilibrium.
#[test]
fn a_wave_of_a_nanometre_is_the_flat_film() {
    let text = BRINE.replace("flatness = \"2 bands\"", "flatness = \"0.002 um\"");
    assert_ne!(text, BRINE);
    let outcome = solved(&text, "normal");
    let flat = chosen(&outcome);
    let wavy = flat.with_wave.unwrap();
    let near = |value: f64, other: f64| (value / other - 1.0).abs() < 0.03;
    assert!(near(wavy.minimum_film_m, flat.minimum_film_m.nominal) && near(wavy.mean_film_m, flat.mean_film_m.nominal), "{wavy:?}");
    assert!(near(wavy.leakage_kg_per_s, flat.leakage_kg_per_s.nominal), "{wavy:?} {}", flat.leakage_kg_per_s.nominal);
    assert!(near(wavy.torque_n_m, flat.torque_n_m.nominal), "{wavy:?} {}", flat.torque_n_m.nominal);
}

#[test]
fn a_gas_has_no_such_bound_and_a_boiling_film_says_why_it_has_none() {
    let gas = solved(BLOWER, "normal");
    assert!(chosen(&gas).with_wave.is_none() && gas.notices.iter().all(|notice| notice.code != "wave.unknown"));
    let boiling = solved(FEED_PUMP, "hot standby");
    assert!(chosen(&boiling).with_wave.is_none());
    assert!(boiling.notices.iter().any(|notice| notice.code == "wave.unknown" && notice.message.contains("boils")));
}

/// A liquid that may not boil has no vapour pressure to tear at; a stated one is taken, and no notice says otherwise.
#[test]
fn a_film_that_tears_at_nothing_says_so() {
    let with = |switches: &str| solved(&format!("{WAVES}\n[switches]\n{switches}\n"), "suction lost");
    let torn = |outcome: &DutyOutcome| outcome.notices.iter().find(|notice| notice.code == "film.tears-at-nothing").cloned();
    let frozen = with("flashing = \"frozen\"");
    let notice = torn(&frozen).unwrap_or_else(|| panic!("{:?}: {:?}", frozen.status, frozen.notices));
    assert!(
        notice.message.contains("0 Pa(a)") && notice.message.contains("frozen") && notice.hint.contains("cavitation_pressure"),
        "{notice:?}"
    );
    let film = chosen(&frozen).minimum_film_m.nominal;
    for stated in ["", "flashing = \"frozen\"\ncavitation_pressure = \"0.5 bar(a)\""] {
        let other = with(stated);
        assert!(torn(&other).is_none(), "{stated}: {:?}", other.notices);
        assert!((chosen(&other).minimum_film_m.nominal / film - 1.0).abs() < 0.5, "{stated}");
    }
}
