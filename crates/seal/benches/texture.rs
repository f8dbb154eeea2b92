//! Textured faces: the whole equilibrium of a gas seal with spiral grooves, from its film alone to a duty with everything beside it.

use divan::{Bencher, black_box};
use halfmicron::case;
use halfmicron::model::{Duty, Model};
use halfmicron::point::{Options, Prepared};

const COMPRESSOR: &str = include_str!("../../../cases/ammonia-compressor.toml");

fn main() {
    divan::main();
}

fn model() -> Model {
    case::parse(COMPRESSOR).and_then(|case| case.model()).expect("a shipped case")
}

fn duty<'a>(model: &'a Model, name: &str) -> &'a Duty {
    model.duties.iter().find(|duty| duty.name == name).expect("a duty of the case")
}

/// Complete search for every equilibrium with rings, settled on the grid of the answer, nothing beside it (target 300 ms).
#[divan::bench(sample_count = 5, sample_size = 1, args = ["normal", "static test", "start"])]
fn equilibrium(bencher: Bencher, name: &str) {
    let model = model();
    let prepared = Prepared::new(&model).expect("a shipped case");
    let duty = duty(&model, name);
    let options = Options { search: true, ranges: false, fields: false, margins: false, at_rest: false, waves: false };
    eprintln!("{name}: {:?}", prepared.solve_with(duty, None, options).0.work);
    bencher.bench_local(|| black_box(prepared.solve_with(duty, None, options)));
}

/// The same followed from a neighbour at 1 % less pressure.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn warm_equilibrium(bencher: Bencher) {
    let model = model();
    let prepared = Prepared::new(&model).expect("a shipped case");
    let mut duty = duty(&model, "normal").clone();
    let options = Options { search: true, ranges: false, fields: false, margins: false, at_rest: false, waves: false };
    let (_, start) = prepared.solve_with(&duty, None, options);
    duty.pressure_pa *= 1.01;
    eprintln!("warm: {:?}", prepared.solve_with(&duty, start.as_ref(), Options { search: false, ..options }).0.work);
    bencher.bench_local(|| black_box(prepared.solve_with(&duty, start.as_ref(), Options { search: false, ..options })));
}

/// A duty with ranges, margins and fields.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn whole_duty(bencher: Bencher) {
    let model = model();
    let prepared = Prepared::new(&model).expect("a shipped case");
    let duty = duty(&model, "normal");
    eprintln!("whole: {:?}", prepared.solve(duty, None).0.work);
    bencher.bench_local(|| black_box(prepared.solve(duty, None)));
}
