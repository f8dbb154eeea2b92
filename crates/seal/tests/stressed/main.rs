//! Cases drawn at random that once broke something, from `cargo xtask stress`. Each must end with a result or a reason whose numbers
//! bear it out, in every duty.

use halfmicron::case::parse;
use halfmicron::film::{FilmAlone, FilmError, Fineness, film_alone_on};
use halfmicron::model::Duty;
use halfmicron::outcome::{DutyOutcome, Status};
use halfmicron::point::{Options, Prepared};

/// Case files with what they broke.
const CASES: [(&str, &str); 23] = [
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
    // Below where its curve was lost another was found that ended no closer, and so on without end.
    ("curve-looked-for-below-itself", include_str!("files/curve-looked-for-below-itself.toml")),
    // Coned faces landed from thirty micrometres in one step: two points traced, and the greatest opening force not among them.
    ("landing-in-one-step", include_str!("files/landing-in-one-step.toml")),
    // The only film found stands a few roughnesses above touching, and the faces landed from it unseen.
    ("landing-from-the-first-point", include_str!("files/landing-from-the-first-point.toml")),
    // Cold oil between hot faces: its viscosity at the lip counted for half of the first interval or not at all, and the film jumped.
    ("oil-warm-at-the-lip", include_str!("files/oil-warm-at-the-lip.toml")),
    // The gap grows a hundredfold over the first interval: its friction was integrated in two points too far from the edge that touches.
    ("gas-through-an-edge-that-touches", include_str!("files/gas-through-an-edge-that-touches.toml")),
    // The same at the exit, where the gas expands in the last hundredth of an interval: levels of its volume there were not found.
    ("gas-that-expands-at-the-edge", include_str!("files/gas-that-expands-at-the-edge.toml")),
    // One of two crossings was solved, not the stable one, and the faces were said to have none.
    ("crossing-near-closed-faces", include_str!("files/crossing-near-closed-faces.toml")),
    // Boiling argon into vacuum: a film that ended at the triple point, at twenty times the pressure behind its edge, was taken for solved.
    ("liquid-that-freezes-at-the-edge", include_str!("files/liquid-that-freezes-at-the-edge.toml")),
];

/// Films at a given gap between textured faces, with what they broke; each is solved now.
const FILMS: [(&str, &str); 7] = [
    // Across a groove of ten gaps the coarser grids have no solution without suction, and the search ended there.
    ("gas-in-deep-spirals", include_str!("files/gas-in-deep-spirals.toml")),
    ("gas-in-many-deep-spirals", include_str!("files/gas-in-many-deep-spirals.toml")),
    ("gas-in-spirals-and-waves", include_str!("files/gas-in-spirals-and-waves.toml")),
    // Newton's steps gained a ninth each and ran out.
    ("gas-led-through-slow-grooves", include_str!("files/gas-led-through-slow-grooves.toml")),
    // Temperature and viscosity answered each other round by round, as far apart as before.
    ("oil-between-tilted-faces", include_str!("files/oil-between-tilted-faces.toml")),
    ("oil-between-tilted-pads", include_str!("files/oil-between-tilted-pads.toml")),
    ("oil-over-one-wave", include_str!("files/oil-over-one-wave.toml")),
];
/// The same way, but its oil is pressed beyond what is known of it.
const PRESSED: &str = include_str!("files/oil-pressed-beyond-its-range.toml");

/// Duties that do not converge yet. Whoever mends one is told here to take it off the list. The files in `open/`, each with a duty that does
/// not converge or a balance that stays open, wait outside the tests.
const OPEN: [(&str, &str); 0] = [];

fn outcomes(text: &str) -> Vec<(Duty, DutyOutcome)> {
    let model = parse(text).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"));
    let prepared = Prepared::new(&model).unwrap();
    let options = Options { ranges: false, margins: false, waves: false, ..Options::default() };
    model.duties.iter().map(|duty| (duty.clone(), prepared.solve_with(duty, None, options).0)).collect()
}

fn film(text: &str) -> Result<FilmAlone, FilmError> {
    let model = parse(text).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"));
    film_alone_on(&model, &model.duties[0], Fineness::Coarse)
}

#[test]
fn every_film_is_solved_and_keeps_its_mass() {
    for (name, text) in FILMS {
        let film = film(text).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert!(film.mass_balance <= 1e-8, "{name}: {:e}", film.mass_balance);
        let numbers = [film.force_n, film.leakage_kg_per_s, film.torque_n_m, film.stiffness_n_per_m, film.film_temperature_max_k];
        assert!(numbers.iter().all(|number| number.is_finite()), "{name}: {numbers:?}");
        let map = &film.field.as_ref().unwrap().map;
        let floor = map.cavitation_pressure_pa.unwrap_or(0.0) * (1.0 - 1e-9);
        assert!(map.pressure_pa.iter().all(|pressure| *pressure >= floor), "{name}");
    }
    assert!(matches!(film(PRESSED), Err(FilmError::Property(_))));
}

#[test]
fn every_duty_has_a_result_or_a_reason() {
    for (name, text) in CASES {
        for (duty, outcome) in outcomes(text) {
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
                Status::NoneStable => {
                    let above: Vec<bool> = forces().map(|(opening, closing)| opening > closing).collect();
                    let crossings = above.windows(2).filter(|pair| pair[0] != pair[1]).count();
                    assert!(crossings <= outcome.equilibria.len(), "{place}");
                }
                Status::Solved => {
                    let point = &outcome.equilibria[outcome.chosen.unwrap_or_default()];
                    assert!(point.stable && point.balances.mass <= 1e-8 && point.balances.force <= 1e-8, "{place}: {:?}", point.balances);
                    let behind = [duty.pressure_pa, duty.low_pressure_pa];
                    let arrives = behind.iter().any(|behind| (point.passage.exit_pressure_pa / behind - 1.0).abs() < 1e-6);
                    assert!(point.passage.choked || arrives, "{place}: ends at {} Pa", point.passage.exit_pressure_pa);
                    // At rest no heat is made: the residual is rounding of the temperatures of a large ring, counted against one watt.
                    let heat_closed = if outcome.conditions.turning { 1e-8 } else { 1e-6 };
                    assert!(point.balances.heat <= heat_closed, "{place}: {:?}", point.balances);
                }
                _ => {}
            }
        }
    }
}
