//! What other laws than those of the case would give.

use halfmicron::choices::{CHOICES, HeadlineSpread, ModelSpread};
use halfmicron::outcome::Outcome;
use halfmicron::{case, solve_with_spread};

const BRINE: &str = include_str!("../../../../cases/brine-booster.toml");

fn spread_of(text: &str, duty: &str) -> (Outcome, ModelSpread) {
    let model = case::parse(text).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"));
    let outcome = solve_with_spread(&model, &[duty.to_owned()]).unwrap_or_else(|error| panic!("{error}"));
    let spread = outcome.duties[0].model_spread.clone().expect("a spread was asked for");
    (outcome, spread)
}

fn of<'a>(spread: &'a ModelSpread, key: &str) -> &'a HeadlineSpread {
    spread.headlines.iter().find(|headline| headline.key == key).unwrap_or_else(|| panic!("no {key}"))
}

/// In a mixed film roughness raises shear: without its factor the seal takes less power, and no law is better known than that.
#[test]
fn a_mixed_film_hangs_on_the_shear_factor() {
    let (outcome, spread) = spread_of(BRINE, "normal");
    let power = of(&spread, "power_w");
    assert!(power.laws.low < 0.98 * power.laws.nominal, "{:?}", power.laws);
    assert_eq!(
        power.lowest_by.as_ref().map(|taken| (taken.choice.as_str(), taken.alternative.as_str())),
        Some(("film.shear-factor", "false"))
    );
    let index = outcome.duties[0].chosen.expect("a point");
    assert_eq!(power.inputs, outcome.duties[0].equilibria[index].power_w, "the range by inputs is that of the point");
    // Each end is the number of a run, and every run lies between the ends.
    let place = spread.headlines.iter().position(|headline| headline.key == "power_w").expect("power");
    let values: Vec<f64> = spread.runs.iter().filter_map(|run| run.values[place]).collect();
    assert!(values.contains(&power.laws.low) && values.iter().all(|value| (power.laws.low..=power.laws.high).contains(value)));
    // Every choice is either solved or said not to matter; what cannot matter is not solved.
    for choice in CHOICES {
        let solved = spread.runs.iter().filter(|run| run.taken.choice == choice.id).count();
        let left = spread.not_run.iter().filter(|not_run| not_run.choice == choice.id).count();
        assert!((solved == choice.alternatives.len() - 1 && left == 0) || (solved == 0 && left == 1), "{}", choice.id);
    }
    assert_eq!(spread.runs.len(), 2, "a slow laminar liquid leaves shear factor and flow factor: {:?}", spread.runs);
    // Followed from the nominal point, never searched.
    assert!(spread.runs.iter().all(|run| !run.searched) && spread.work.branch_points == 0, "{:?}", spread.work);
    assert!(spread.work.iterations < 40, "{:?}", spread.work);
}

/// The alternative that the case takes is not solved again, the usual one is.
#[test]
fn the_law_of_the_case_is_the_middle() {
    let text = case::with_settings(BRINE, &[("switches.shear_factor", "false")]).unwrap_or_else(|errors| panic!("{errors}"));
    let (_, spread) = spread_of(&text, "normal");
    let taken: Vec<&str> = spread.runs.iter().map(|run| run.taken.alternative.as_str()).collect();
    assert_eq!(taken, ["true", "false"], "shear factor on, flow factor off");
    let power = of(&spread, "power_w");
    assert!(power.laws.high > 1.02 * power.laws.nominal && power.laws.low >= 0.999 * power.laws.nominal, "{:?}", power.laws);
}

#[test]
fn a_spread_survives_json() {
    let (_, spread) = spread_of(BRINE, "static test");
    let text = serde_json::to_string(&spread).expect("serialises");
    let again: ModelSpread = serde_json::from_str(&text).expect("reads back");
    assert_eq!((&again.runs[0].taken, again.headlines.len()), (&spread.runs[0].taken, spread.headlines.len()));
    // JSON keeps all but the last digit of a number: numbers are compared to that, words exactly.
    assert_eq!(again.not_run, spread.not_run);
    for (read, written) in again.headlines.iter().zip(&spread.headlines) {
        assert!((read.laws.high - written.laws.high).abs() <= 1e-15 * written.laws.high.abs(), "{}", written.key);
        assert_eq!((&read.lowest_by, &read.highest_by), (&written.lowest_by, &written.highest_by));
    }
    assert!(text.contains("\"choice\":\"film.flow-factor\"") && !text.contains("film.shear-factor\",\"alternative"), "{text}");
}
