//! Margins to the jump, sweeps through folds and windows, on a Saltmere seal whose balance is taken to the edge.

use std::sync::LazyLock;

use halfmicron::case;
use halfmicron::model::Model;
use halfmicron::outcome::{DutyOutcome, Equilibrium, Jump, Status};
use halfmicron::point::{Options, Prepared};
use halfmicron::study::{Axis, Request, StudyError, Sweep, SweepRow, sweep, window};

const BRINE: &str = include_str!("../../../../cases/brine-booster.toml");
const FEED_PUMP: &str = include_str!("../../../../cases/feed-pump.toml");
const THICKENER: &str = include_str!("../../../../cases/thickener-underflow.toml");
const BALANCE: &str = "seal.balance_diameter";
/// Balance diameter at which the thickener's film is about to pop open, m.
const EDGE_M: f64 = 103.0e-3;

fn model(text: &str) -> Model {
    case::parse(text).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"))
}

fn solved(model: &Model, duty: &str, options: Options) -> DutyOutcome {
    let prepared = Prepared::new(model).unwrap();
    let duty = model.duties.iter().find(|known| known.name == duty).unwrap();
    prepared.solve_with(duty, None, options).0
}

fn at_edge() -> Model {
    let mut model = model(THICKENER);
    model.set(BALANCE, EDGE_M).unwrap();
    model
}

fn stable(outcome: &DutyOutcome) -> impl Iterator<Item = &Equilibrium> {
    outcome.equilibria.iter().filter(|equilibrium| equilibrium.stable)
}

const SEARCH: Options = Options { search: true, ranges: false, fields: false, margins: false, at_rest: false, waves: false };

#[test]
fn a_film_at_the_edge_says_by_what_it_jumps() {
    let mut model = at_edge();
    let outcome = solved(&model, "maximum", Options { margins: true, ..SEARCH });
    let margins = outcome.margins.as_ref().unwrap();
    let fall = margins.closing_force_fall_n.as_ref().unwrap();
    let (amount, film) = (fall.to_jump.unwrap(), outcome.equilibria[outcome.chosen.unwrap()].minimum_film_m.nominal);
    assert_eq!(fall.then, Some(Jump::Opens));
    assert!(fall.then_film_m.is_some_and(|to| to > 10.0 * film), "{fall:?}");
    assert!(margins.closing_force_rise_n.as_ref().is_some_and(|rise| rise.to_jump.is_none() && rise.followed > 0.0));
    assert!(outcome.notices.iter().any(|notice| notice.code == "margin.jump" && notice.message.contains("pops open")));
    assert!(outcome.chosen_reason.starts_with("three films carry this load"), "{}", outcome.chosen_reason);
    // The springs also bend the ring a little: a tenth on either side.
    let springs = model.seal.spring_force_n;
    for (share, stands) in [(0.9, true), (1.1, false)] {
        model.seal.spring_force_n = springs - share * amount;
        let again = solved(&model, "maximum", SEARCH);
        assert_eq!(stable(&again).any(|e| e.minimum_film_m.nominal < 2.0 * film), stands, "{share} of {amount} N");
    }
}

#[test]
fn far_from_boiling_and_folds_nothing_is_followed() {
    let model = model(BRINE);
    let with = solved(&model, "normal", Options { margins: true, ..SEARCH });
    let margins = with.margins.as_ref().unwrap();
    assert!(!margins.followed(), "{margins:?}");
    assert!(margins.closing_force_fall_n.as_ref().is_some_and(|fall| fall.to_jump.is_none()));
    assert_eq!(with.work, solved(&model, "normal", SEARCH).work, "a cold seal pays nothing");
}

#[test]
fn boiling_starts_where_it_is_said_to() {
    let mut model = model(BRINE);
    let outcome = solved(&model, "suction lost", Options { margins: true, ..SEARCH });
    let onset = outcome.margins.as_ref().and_then(|margins| margins.boiling_onset_k).unwrap();
    model.set("duty.suction lost.temperature", onset).unwrap();
    let there = solved(&model, "suction lost", SEARCH);
    let margin = stable(&there).next().unwrap().boiling_margin_k.unwrap().nominal;
    // Materials are taken at their duty while it is followed.
    assert!(margin.abs() < 0.5, "{margin} K at {onset} K");
}

fn swept(values: &[f64]) -> Sweep {
    let request = Request { duty: "maximum".to_owned(), path: BALANCE.to_owned(), values: values.to_vec() };
    sweep(&model(THICKENER), &request).unwrap()
}

/// Opening, shared by the tests that look at it: a sweep through a fold is the dearest thing here.
static UP: LazyLock<Sweep> = LazyLock::new(|| swept(&[102e-3, 103e-3, 104e-3]));

fn folds(sweep: &Sweep) -> Vec<&SweepRow> {
    sweep.rows.iter().filter(|row| row.fold.is_some()).collect()
}

#[test]
fn a_sweep_shows_its_fold_where_solving_again_finds_it() {
    let sweep = &*UP;
    let found = folds(sweep);
    assert_eq!(found.iter().map(|row| row.fold).collect::<Vec<_>>(), [Some(Jump::Opens)]);
    let fold = found[0].value;
    let mut model = model(THICKENER);
    for (value, stands) in [(fold - 2e-5, true), (fold + 2e-5, false)] {
        model.set(BALANCE, value).unwrap();
        let thin = stable(&solved(&model, "maximum", SEARCH)).any(|e| e.minimum_film_m.nominal < 1e-6);
        assert_eq!(thin, stands, "{value}");
    }
    // What is followed is what a complete search finds.
    model.set(BALANCE, 102e-3).unwrap();
    let searched = stable(&solved(&model, "maximum", SEARCH)).next().unwrap().minimum_film_m.nominal;
    let followed = sweep.rows.iter().find(|row| row.value == 102e-3).and_then(|row| row.point).unwrap().minimum_film_m;
    assert!((followed / searched - 1.0).abs() < 1e-6, "{followed:e} {searched:e}");
    assert_eq!(sweep.rows.iter().filter(|row| row.fold.is_none()).count(), 3);
    assert_eq!(sweep.rows[0].equilibria, Some(1));
    assert!(sweep.rows.last().unwrap().equilibria.is_some());
}

#[test]
fn a_sweep_back_closes_elsewhere() {
    let down = swept(&[104e-3, 103e-3, 102e-3]);
    let [up, down] = [&*UP, &down].map(|sweep| folds(sweep)[0].clone());
    assert_eq!((up.fold, down.fold), (Some(Jump::Opens), Some(Jump::Closes)));
    assert!(up.value > down.value + 1e-4, "open at {} and closed at {}", up.value, down.value);
}

#[test]
fn following_costs_a_fraction_of_searching() {
    let request = |count: usize| Request {
        duty: "normal".to_owned(),
        path: "duty.normal.pressure".to_owned(),
        values: (0..count).map(|k| 1.0e6 + 2e5 * k as f64 / (count - 1) as f64).collect(),
    };
    let [few, many] = [2, 22].map(|count| sweep(&model(BRINE), &request(count)).unwrap());
    assert!(many.rows.iter().all(|row| row.status == Status::Solved));
    let each = (many.work.film_solves - few.work.film_solves) as f64 / 20.0;
    assert!(each < 8.0, "{each} films a followed value");
    assert_eq!(many.work.branch_points, few.work.branch_points, "only the ends are searched");
}

#[test]
fn a_sweep_refuses_what_it_cannot_vary() {
    let with = |duty: &str, path: &str, values: &[f64]| {
        sweep(&model(BRINE), &Request { duty: duty.to_owned(), path: path.to_owned(), values: values.to_vec() }).unwrap_err()
    };
    assert!(matches!(with("normal", "duty.normal.depth", &[1e6, 2e6]), StudyError::Path(_)));
    assert!(matches!(with("abnormal", "duty.normal.pressure", &[1e6, 2e6]), StudyError::Point(_)));
    assert!(matches!(with("normal", "duty.normal.pressure", &[1e6]), StudyError::Count { count: 1 }));
    assert!(with("normal", "seal.spring_force", &[1.0, -1.0]).to_string().contains("not below zero"));
}

#[test]
fn a_window_is_its_points_solved_alone() {
    let model = model(BRINE);
    let axis = |path: &str, values: [f64; 3]| Axis { path: path.to_owned(), values: values.to_vec() };
    let (across, down) = (axis("duty.normal.pressure", [8e5, 1.0e6, 1.2e6]), axis("duty.normal.temperature", [300.0, 311.0, 322.0]));
    let [one, two] = [1, 2].map(|threads| window(&model, "normal", &across, &down, threads).unwrap());
    assert!(one[1][1].followed && two[0][2].followed);
    for (k, row) in two.iter().enumerate() {
        for (j, point) in row.iter().enumerate() {
            let mut single = model.clone();
            single.set(&across.path, across.values[j]).unwrap();
            single.set(&down.path, down.values[k]).unwrap();
            let outcome = solved(&single, "normal", SEARCH);
            let alone = outcome.equilibria[outcome.chosen.unwrap()].minimum_film_m.nominal;
            for found in [point, &one[k][j]] {
                assert!((found.point.unwrap().minimum_film_m / alone - 1.0).abs() < 1e-6, "{k} {j}");
            }
        }
    }
}

/// The search from wide open is lost at 1.3 um, where the faces still close: the film in which they come to rest lies further in.
#[test]
fn a_blown_open_film_is_no_answer_while_the_faces_still_close() {
    for temperature in ["183 degC", "184 degC"] {
        let text = case::with_settings(FEED_PUMP, &[("duty.hot standby.temperature", temperature)]).unwrap();
        let outcome = solved(&model(&text), "hot standby", SEARCH);
        assert_eq!(outcome.status, Status::Solved, "{temperature}: {}", outcome.reason);
        let chosen = &outcome.equilibria[outcome.chosen.unwrap()];
        assert!((5e-8..2e-7).contains(&chosen.minimum_film_m.nominal), "{temperature}: {:e}", chosen.minimum_film_m.nominal);
        assert!(outcome.equilibria.iter().any(|other| other.minimum_film_m.nominal > 1e-5), "{temperature}: the wide film is told too");
    }
}
