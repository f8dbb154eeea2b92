//! The operating point: search, warm tracking, a whole duty, a whole case; of liquid, boiling film and gas.

use std::ops::ControlFlow;

use divan::{Bencher, black_box};
use halfmicron::model::{Duty, Model};
use halfmicron::point::{Options, Prepared};
use halfmicron::study::influences_at;
use halfmicron::{case, solve};

const BRINE: &str = include_str!("../../../cases/brine-booster.toml");

const HOT_WATER: &str = include_str!("../../../cases/feed-pump.toml");
const NITROGEN: &str = include_str!("../../../cases/nitrogen-blower.toml");

const TRACKED: Options = Options { search: false, ranges: false, fields: false, margins: false, at_rest: false, waves: false };

fn main() {
    divan::main();
}

fn model() -> Model {
    model_of(BRINE)
}

fn model_of(text: &str) -> Model {
    case::parse(text).and_then(|case| case.model()).expect("a shipped case")
}

fn duty<'a>(model: &'a Model, name: &str) -> &'a Duty {
    model.duties.iter().find(|duty| duty.name == name).expect("a duty of the case")
}

/// A point followed from its neighbour at 1 % less pressure; `is_meant` tells by its greatest share of vapour whether the film is the one meant.
fn tracked(bencher: Bencher, text: &str, name: &str, is_meant: fn(f64) -> bool) {
    let model = model_of(text);
    let prepared = Prepared::new(&model).expect("a shipped case");
    let mut duty = duty(&model, name).clone();
    let search = Options { search: true, ..TRACKED };
    let (outcome, start) = prepared.solve_with(&duty, None, search);
    let chosen = &outcome.equilibria[outcome.chosen.expect("a solved duty")];
    assert!(is_meant(chosen.vapour_fraction_max), "vapour up to {}", chosen.vapour_fraction_max);
    duty.pressure_pa *= 1.01;
    let (outcome, _) = prepared.solve_with(&duty, start.as_ref(), TRACKED);
    assert!(outcome.chosen.is_some(), "{}", outcome.reason);
    eprintln!("{name}: {:?}", outcome.work);
    bencher.bench_local(|| black_box(prepared.solve_with(&duty, start.as_ref(), TRACKED)));
}

/// Water that boils on its way through the film (target 4 ms).
#[divan::bench]
fn warm_boiling_point(bencher: Bencher) {
    tracked(bencher, HOT_WATER, "cooler lost", |vapour| vapour > 0.01);
}

/// Hot water below boiling (target 1 ms).
#[divan::bench]
fn warm_hot_water_point(bencher: Bencher) {
    tracked(bencher, HOT_WATER, "normal", |vapour| vapour == 0.0);
}

/// Nitrogen gas (target 4 ms).
#[divan::bench]
fn warm_gas_point(bencher: Bencher) {
    tracked(bencher, NITROGEN, "normal", |vapour| vapour == 1.0);
}

/// A duty of the hot-water case from its text, properties filled before (target 400 ms for the whole process, which fills them).
#[divan::bench(sample_count = 10, sample_size = 1, args = ["normal", "maximum", "cooler lost", "hot restart, low suction"])]
fn hot_water_duty(bencher: Bencher, name: &str) {
    bencher.bench_local(|| black_box(solve(&model_of(HOT_WATER), &[name.to_owned()])));
}

/// Complete search for every equilibrium, nothing else (target 5 ms).
#[divan::bench]
fn search(bencher: Bencher) {
    let model = model();
    let prepared = Prepared::new(&model).expect("a shipped case");
    let duty = &model.duties[2];
    let options = Options { search: true, ranges: false, fields: false, margins: false, at_rest: false, waves: false };
    bencher.bench_local(|| black_box(prepared.solve_with(duty, None, options)));
}

/// A warm point on a tracked branch: 1 % more pressure than the start (target 1 ms, stretch 0.5 ms).
#[divan::bench]
fn warm_point(bencher: Bencher) {
    let model = model();
    let prepared = Prepared::new(&model).expect("a shipped case");
    let mut duty = model.duties[2].clone();
    let (_, start) = prepared.solve(&duty, None);
    duty.pressure_pa *= 1.01;
    bencher.bench_local(|| black_box(prepared.solve_with(&duty, start.as_ref(), TRACKED)));
}

/// A further duty of a prepared seal with ranges, fields and balances (target 6 ms).
#[divan::bench]
fn whole_duty(bencher: Bencher) {
    let model = model();
    let prepared = Prepared::new(&model).expect("a shipped case");
    let duty = &model.duties[2];
    bencher.bench_local(|| black_box(prepared.solve(duty, None)));
}

/// Case text to judged outcome of one duty, rings included (target 120 ms for the whole process).
#[divan::bench]
fn one_duty_case(bencher: Bencher) {
    bencher.bench_local(|| {
        let model = model();
        black_box(solve(&model, &["normal".to_owned()]))
    });
}

/// Influences of every input on one duty of the plain case from its operating point: some forty inputs, two sides each, rings included.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn influences_of_a_duty(bencher: Bencher) {
    let model = model();
    let prepared = Prepared::new(&model).expect("a shipped case");
    let duty = &model.duties[2];
    let (outcome, state) = prepared.solve(duty, None);
    let point = (&outcome, state.as_ref());
    let found = influences_at(&prepared, duty, point, &[], &mut |_, _| ControlFlow::Continue(())).expect("a solved duty");
    eprintln!("{} inputs: {:?}", found.rows.len(), found.work);
    bencher.bench_local(|| black_box(influences_at(&prepared, duty, point, &[], &mut |_, _| ControlFlow::Continue(()))));
}
