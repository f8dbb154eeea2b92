//! Faces that are not flat round the circumference: the wavy brine booster, and the large slow agitator whose seat leans.

use std::fmt::Write;

use halfmicron::case;
use halfmicron::outcome::{DutyOutcome, Equilibrium, Status};
use halfmicron::point::{Options, Prepared};

const PLAIN_BOOSTER: &str = include_str!("../../../../cases/brine-booster.toml");
const WAVY_BOOSTER: &str = include_str!("../../../../cases/brine-booster-waves.toml");
const SQUARE_AGITATOR: &str = include_str!("../../../../cases/chlorine-agitator.toml");
const LEANING_AGITATOR: &str = include_str!("../../../../cases/chlorine-agitator-tilted.toml");

fn solved<const N: usize>(text: &str, duties: [&str; N]) -> [DutyOutcome; N] {
    let model = case::parse(text).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"));
    let prepared = Prepared::new(&model).unwrap_or_else(|error| panic!("{error}"));
    let options = Options { margins: false, ranges: false, at_rest: false, waves: false, ..Options::default() };
    duties.map(|name| prepared.solve_with(model.duties.iter().find(|duty| duty.name == name).unwrap(), None, options).0)
}

fn chosen(outcome: &DutyOutcome) -> &Equilibrium {
    let index = outcome.chosen.unwrap_or_else(|| panic!("{:?}: {}", outcome.status, outcome.reason));
    let point = &outcome.equilibria[index];
    assert_eq!(outcome.status, Status::Solved);
    assert!(
        point.stable && point.balances.mass < 1e-9 && point.balances.force < 1e-8 && point.balances.heat < 1e-7,
        "{:?}",
        point.balances
    );
    point
}

fn summary(outcomes: &[DutyOutcome]) -> String {
    let mut text = String::new();
    for outcome in outcomes {
        let point = chosen(outcome);
        let numbers = [
            ("least film m", point.minimum_film_m.nominal),
            ("mean film m", point.mean_film_m.nominal),
            ("leakage kg/s", point.leakage_kg_per_s.nominal),
            ("power W", point.power_w.nominal),
            ("contact share", point.contact_share.nominal),
            ("hottest face K", point.face_temperature_max_k.nominal),
        ];
        let _ = writeln!(text, "{}: {:?}, {} equilibria", outcome.name, outcome.status, outcome.equilibria.len());
        for (name, value) in numbers {
            let _ = writeln!(
                text,
                "  {name:18} {}",
                if value.abs() < 1e-6 * f64::from(name == "contact share") { "0".to_owned() } else { format!("{value:.1e}") }
            );
        }
    }
    text
}

#[test]
fn waves_lift_the_brine_booster_off_its_contact_and_let_more_through() {
    let duties = ["normal", "suction lost", "standstill"];
    let wavy = solved(WAVY_BOOSTER, duties);
    insta::assert_snapshot!("brine_booster_waves", summary(&wavy));
    let plain = solved(PLAIN_BOOSTER, ["normal", "suction lost"]);
    for (wavy, plain) in wavy.iter().zip(&plain) {
        let (wavy, plain) = (chosen(wavy), chosen(plain));
        assert!(wavy.contact_share.nominal < 1e-2 * plain.contact_share.nominal, "{:?}", wavy.contact_share);
        assert!(wavy.power_w.nominal < 0.5 * plain.power_w.nominal, "{:?}", wavy.power_w);
        assert!(wavy.leakage_kg_per_s.nominal > 5.0 * plain.leakage_kg_per_s.nominal && !wavy.leakage_is_lower_bound);
    }
    // At rest nothing is dragged in: crests bear, as they do where the face is plain.
    assert!((0.3..0.8).contains(&chosen(&wavy[2]).contact_share.nominal));
}

#[test]
fn a_leaning_seat_opens_one_half_of_the_agitator_and_leaks() {
    let leaning = solved(LEANING_AGITATOR, ["normal", "standstill"]);
    insta::assert_snapshot!("chlorine_agitator_tilted", summary(&leaning));
    let square = solved(SQUARE_AGITATOR, ["normal", "standstill"]);
    for (leaning, square) in leaning.iter().zip(&square) {
        let (leaning, square) = (chosen(leaning), chosen(square));
        assert!(leaning.leakage_kg_per_s.nominal > 5.0 * square.leakage_kg_per_s.nominal);
        assert!(leaning.mean_film_m.nominal > leaning.minimum_film_m.nominal + 0.25e-6, "3 urad over a radius of 108 mm");
    }
    let ([running, still], square) = ([&leaning[0], &leaning[1]].map(chosen), chosen(&square[0]));
    assert!(running.contact_share.nominal < 0.2 * square.contact_share.nominal, "the lean drags liquid in");
    assert!(still.contact_share.nominal > 0.3, "and at rest it does not");
}
