//! Cases drawn at random that once broke something, from `cargo xtask stress`. Each must end with a result or a reason whose numbers
//! bear it out, in every duty.

use halfmicron::case::parse;
use halfmicron::outcome::{DutyOutcome, Status};
use halfmicron::point::{Options, Prepared};

/// Case files with what they broke.
const CASES: [(&str, &str); 3] = [
    // A polymer face whose coning is many times the widest gap of the scan: the scan ended where it began; and a crossing beyond the
    // statistics of the faces was called a lost curve.
    ("soft-wide-face", include_str!("files/soft-wide-face.toml")),
    // Two points traced as evidence of touching faces.
    ("soft-rings-that-curl", include_str!("files/soft-rings-that-curl.toml")),
    // One step of the curve from an open film into contact at seventy times closing: the crossing between was not reached.
    ("contact-met-in-one-step", include_str!("files/contact-met-in-one-step.toml")),
];

fn outcomes(text: &str) -> Vec<DutyOutcome> {
    let model = parse(text).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"));
    let prepared = Prepared::new(&model).unwrap();
    let options = Options { ranges: false, margins: false, ..Options::default() };
    model.duties.iter().map(|duty| prepared.solve_with(duty, None, options).0).collect()
}

#[test]
fn every_duty_has_a_result_or_a_reason() {
    for (name, text) in CASES {
        for outcome in outcomes(text) {
            let place = format!("{name}, {}: {:?}, {}", outcome.name, outcome.status, outcome.reason);
            assert_ne!(outcome.status, Status::NotConverged, "{place}");
            assert!(!outcome.reason.is_empty(), "{place}");
            let forces = || outcome.trace.iter().map(|p| (p.opening_force_n, p.closing_force_n));
            match outcome.status {
                Status::NoneFacesTouch => {
                    assert!(outcome.trace.len() > 3 && forces().all(|(opening, closing)| opening < closing), "{place}")
                }
                Status::NoneFacesPart => {
                    assert!(outcome.trace.len() > 3 && forces().all(|(opening, closing)| opening > closing), "{place}")
                }
                Status::Solved => {
                    let point = &outcome.equilibria[outcome.chosen.unwrap_or_default()];
                    assert!(point.stable && point.balances.mass <= 1e-8 && point.balances.force <= 1e-8, "{place}: {:?}", point.balances);
                    assert!(point.balances.heat <= 1e-8, "{place}: {:?}", point.balances);
                }
                _ => {}
            }
        }
    }
}
