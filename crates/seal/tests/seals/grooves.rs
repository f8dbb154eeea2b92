//! The ammonia compressor: a gas face lifted by spiral grooves.

use std::fmt::Write;

use halfmicron::case;
use halfmicron::outcome::{DutyOutcome, Equilibrium, Status};
use halfmicron::point::{Options, Prepared};

const AMMONIA: &str = include_str!("../../../../cases/ammonia-compressor.toml");

fn solved(duty: &str, changed: [&str; 2]) -> DutyOutcome {
    let text = AMMONIA.replacen(changed[0], changed[1], 1);
    let model = case::parse(&text).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"));
    let prepared = Prepared::new(&model).unwrap_or_else(|error| panic!("{error}"));
    let options = Options { margins: false, ranges: false, at_rest: false, waves: false, ..Options::default() };
    let duty = model.duties.iter().find(|known| known.name == duty).unwrap();
    prepared.solve_with(duty, None, options).0
}

fn chosen(outcome: &DutyOutcome) -> &Equilibrium {
    let index = outcome.chosen.unwrap_or_else(|| panic!("{:?}: {}", outcome.status, outcome.reason));
    &outcome.equilibria[index]
}

#[test]
fn the_ammonia_compressor_is_as_before() {
    let mut text = String::new();
    for duty in ["static test", "normal", "settle-out", "slow roll", "reverse pressure"] {
        let outcome = solved(duty, ["", ""]);
        let point = chosen(&outcome);
        let numbers = [
            ("least film m", point.minimum_film_m.nominal),
            ("leakage kg/s", point.leakage_kg_per_s.nominal),
            ("power W", point.power_w.nominal),
            ("contact share", point.contact_share.nominal),
            ("thermal coning m", point.coning_m.thermal),
            ("hottest face K", point.face_temperature_max_k.nominal),
        ];
        let _ = writeln!(text, "{duty}: {:?}, {} equilibria", outcome.status, outcome.equilibria.len());
        for (name, value) in numbers {
            let _ = writeln!(text, "  {name:18} {}", if value.abs() < 1e-10 { "0".to_owned() } else { format!("{value:.1e}") });
        }
    }
    insta::assert_snapshot!("ammonia_compressor", text);
}

#[test]
fn spiral_grooves_lift_the_normal_duty_off_and_turned_backwards_they_do_not() {
    let normal = solved("normal", ["", ""]);
    let forward = chosen(&normal);
    // Scenario: some micrometres without contact, leakage of the order of a tenth of a gram a second.
    assert!((2.5e-6..6e-6).contains(&forward.minimum_film_m.nominal), "{:e}", forward.minimum_film_m.nominal);
    assert!((3e-5..3e-4).contains(&forward.leakage_kg_per_s.nominal), "{:e}", forward.leakage_kg_per_s.nominal);
    assert!(forward.stable && forward.contact_share.nominal == 0.0 && !forward.leakage_is_lower_bound);
    assert!(forward.balances.mass < 1e-9 && forward.balances.force < 1e-8 && forward.balances.heat < 1e-7, "{:?}", forward.balances);
    assert!(normal.models.iter().any(|id| id == "film.field") && normal.models.iter().all(|id| id != "film.axisymmetric"));
    let turned = solved("normal", ["speed = \"10500 rpm\"", "speed = \"-10500 rpm\""]);
    match turned.chosen {
        Some(index) => {
            let backward = &turned.equilibria[index];
            assert!(backward.minimum_film_m.nominal < 0.3 * forward.minimum_film_m.nominal, "{:e}", backward.minimum_film_m.nominal);
        }
        None => assert!(turned.status != Status::Solved && !turned.reason.is_empty()),
    }
}
