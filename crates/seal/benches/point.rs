//! The operating point: search, warm tracking, a whole duty, a whole case.

use divan::{Bencher, black_box};
use halfmicron::model::Model;
use halfmicron::point::{Options, Prepared};
use halfmicron::{case, solve};

const BRINE: &str = include_str!("../../../cases/brine-booster.toml");

fn main() {
    divan::main();
}

fn model() -> Model {
    case::parse(BRINE).and_then(|case| case.model()).expect("a shipped case")
}

/// Complete search for every equilibrium, nothing else (target 5 ms).
#[divan::bench]
fn search(bencher: Bencher) {
    let model = model();
    let prepared = Prepared::new(&model).expect("a shipped case");
    let duty = &model.duties[2];
    let options = Options { search: true, ranges: false, fields: false, margins: false };
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
    let options = Options { search: false, ranges: false, fields: false, margins: false };
    bencher.bench_local(|| black_box(prepared.solve_with(&duty, start.as_ref(), options)));
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
