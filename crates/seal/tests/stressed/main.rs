//! Cases drawn at random that once broke something, from `cargo xtask stress`. Each must end with a result or a reason whose numbers
//! bear it out, in every duty.

use halfmicron::case::parse;
use halfmicron::outcome::{DutyOutcome, Status};
use halfmicron::point::{Options, Prepared};

/// Case files with what they broke.
const CASES: [(&str, &str); 15] = [
    // Two points traced as evidence of touching faces.
    ("soft-rings-that-curl", include_str!("files/soft-rings-that-curl.toml")),
    // One step of the curve from an open film into contact at seventy times closing: the crossing between was not reached.
    ("contact-met-in-one-step", include_str!("files/contact-met-in-one-step.toml")),
    // A film that flashes in a gap of hundreds of micrometres: took minutes to say that it does not converge.
    ("soft-wide-face", include_str!("files/soft-wide-face.toml")),
    // The edge state stood on the mixture's side of the phase line by rounding, and the slopes were no numbers.
    ("liquid-that-boils-at-the-edge", include_str!("files/liquid-that-boils-at-the-edge.toml")),
    // A step of no length between two stations on the phase line: the loads were no numbers.
    ("liquid-that-touches-the-line", include_str!("files/liquid-that-touches-the-line.toml")),
    // Two flows next to each other, one of which turned liquid again at the edge: called a failure of the method.
    ("vapour-that-turns-liquid-at-the-edge", include_str!("files/vapour-that-turns-liquid-at-the-edge.toml")),
    // Crossings in contact that Newton did not reach: where the front moves, the film's conductivity follows.
    ("deep-contact-of-a-boiling-film", include_str!("files/deep-contact-of-a-boiling-film.toml")),
    // The curve ends where the film begins to choke, and goes on beside, farther than a step is long.
    ("flow-that-chokes-at-once", include_str!("files/flow-that-chokes-at-once.toml")),
    // Above the critical pressure no film could reach the speed of sound at the edge: nothing was solved, neither wide open nor narrow.
    ("dense-fluid-that-chokes-at-the-edge", include_str!("files/dense-fluid-that-chokes-at-the-edge.toml")),
    // The same, and above the critical temperature it became a gas without a phase line, where the march looked for one.
    ("dense-fluid-that-becomes-a-gas", include_str!("files/dense-fluid-that-becomes-a-gas.toml")),
    // Past its critical point a mixture chokes at the edge, one level before it; a gas becomes dense again above the critical pressure.
    ("dense-fluid-through-its-critical-point", include_str!("files/dense-fluid-through-its-critical-point.toml")),
    // Levels before a choked edge were not looked for where the gas would condense beyond the speed of sound: two marches disagreed.
    ("gas-that-would-condense-beyond-sound", include_str!("files/gas-that-would-condense-beyond-sound.toml")),
    // A dense gas arrives at the edge just saturated, too fast for a mixture: no greater flow could leave, and it was not taken for choked.
    ("gas-that-chokes-as-it-condenses", include_str!("files/gas-that-chokes-as-it-condenses.toml")),
    // The flow chokes at the lip of the entry: the search ran out of iterations and said that it does not converge.
    ("flow-that-chokes-at-the-entry", include_str!("files/flow-that-chokes-at-the-entry.toml")),
    // Two marches of all but one choked flow differed; the one that did not meet the exit was taken, and the balance of mass stayed open.
    ("choked-flow-met-by-one-march", include_str!("files/choked-flow-met-by-one-march.toml")),
];

/// Duties that do not converge yet. Whoever mends one is told here to take it off the list. The files in `open/`, each with a duty that does
/// not converge or a balance that stays open, wait outside the tests.
const OPEN: [(&str, &str); 0] = [];

fn outcomes(text: &str) -> Vec<DutyOutcome> {
    let model = parse(text).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"));
    let prepared = Prepared::new(&model).unwrap();
    let options = Options { ranges: false, margins: false, waves: false, ..Options::default() };
    model.duties.iter().map(|duty| prepared.solve_with(duty, None, options).0).collect()
}

#[test]
fn every_duty_has_a_result_or_a_reason() {
    for (name, text) in CASES {
        for outcome in outcomes(text) {
            let place = format!("{name}, {}: {:?}, {}", outcome.name, outcome.status, outcome.reason);
            let open = OPEN.contains(&(name, outcome.name.as_str()));
            assert_eq!(outcome.status == Status::NotConverged, open, "{place}");
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
                    // At rest no heat is made: the residual is rounding of the temperatures of a large ring, counted against one watt.
                    let heat_closed = if outcome.conditions.turning { 1e-8 } else { 1e-6 };
                    assert!(point.balances.heat <= heat_closed, "{place}: {:?}", point.balances);
                }
                _ => {}
            }
        }
    }
}
