use super::*;
use crate::case::{parse, with_settings};

const CASE: &str = include_str!("../../../../cases/brine-booster.toml");

fn quiet() -> Facts {
    Facts {
        turning: true,
        boils: false,
        superheated: false,
        gas: false,
        reynolds: 20.0,
        film_parameter: 3.0,
        inertia_share: 1e-9,
        convective_inertia: true,
    }
}

fn idle(id: &str, facts: &Facts) -> bool {
    choice(id).unwrap_or_else(|| panic!("no choice {id}")).idle(facts).is_some()
}

#[test]
fn ids_and_keys_are_unique_and_every_default_is_an_alternative() {
    for (index, one) in CHOICES.iter().enumerate() {
        assert!(CHOICES[..index].iter().all(|other| other.id != one.id && other.key != one.key && other.label != one.label), "{}", one.id);
        assert!(one.alternatives.len() > 1 && one.default().is_some(), "{}", one.id);
        for (place, alternative) in one.alternatives.iter().enumerate() {
            assert!(one.alternatives[..place].iter().all(|other| other.id != alternative.id && other.value != alternative.value));
            assert!(![alternative.words, alternative.source, one.what, one.why].contains(&""), "{}", one.id);
        }
    }
}

/// What the case file takes under the key of a choice is what the alternative sets.
#[test]
fn each_alternative_reaches_the_switches_by_its_key() {
    for choice in CHOICES {
        for alternative in choice.alternatives {
            let text = with_settings(CASE, &[(choice.key, alternative.id)]).unwrap_or_else(|errors| panic!("{errors}"));
            let model = parse(&text).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"));
            assert_eq!(choice.taken(&model.switches).map(|taken| taken.id), Some(alternative.id), "{}", choice.id);
            let usual = choice.default().is_some_and(|usual| usual.id == alternative.id);
            let said = model.notices.iter().any(|notice| notice.code.starts_with("law.") && notice.field == choice.key);
            assert_eq!(said, !usual, "another law than the usual is said with the result: {}", choice.key);
            let mut by_value = Switches::default();
            alternative.value.set(&mut by_value);
            assert!(by_value == model.switches, "{} = {} sets something else", choice.key, alternative.id);
        }
    }
}

#[test]
fn a_choice_that_cannot_matter_says_so() {
    let liquid = quiet();
    for id in ["film.mixture-viscosity", "film.flashing", "film.slip", "film.turbulence", "film.momentum-factor", "film.entry-loss"] {
        assert!(idle(id, &liquid), "{id}");
    }
    assert!(!idle("film.shear-factor", &liquid) && !idle("film.flow-factor", &liquid));
    let still = Facts { turning: false, ..liquid };
    assert!(idle("film.shear-factor", &still) && !idle("film.flow-factor", &still));
    let boiling = Facts { boils: true, ..liquid };
    for id in ["film.mixture-viscosity", "film.flashing", "film.slip", "film.momentum-factor", "film.entry-loss"] {
        assert!(!idle(id, &boiling), "{id}");
    }
    let superheated = Facts { superheated: true, ..liquid };
    assert!(!idle("film.flashing", &superheated) && idle("film.mixture-viscosity", &superheated));
    let gas = Facts { gas: true, inertia_share: 0.2, film_parameter: 40.0, ..liquid };
    assert!(
        !idle("film.slip", &gas) && !idle("film.entry-loss", &gas) && idle("film.shear-factor", &gas) && idle("film.flow-factor", &gas)
    );
    assert!(idle("film.entry-loss", &Facts { convective_inertia: false, ..gas }));
    assert!(!idle("film.turbulence", &Facts { reynolds: 1500.0, ..liquid }));
}
