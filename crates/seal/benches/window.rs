//! Ten thousand points of an operating window, each followed from its neighbour.

use divan::{Bencher, black_box};
use halfmicron::case;
use halfmicron::study::{Axis, window};

const BRINE: &str = include_str!("../../../cases/brine-booster.toml");
const SIDE: usize = 100;
const THREADS: usize = 2;

fn main() {
    divan::main();
}

fn axis(path: &str, from: f64, to: f64) -> Axis {
    Axis { path: path.to_owned(), values: (0..SIDE).map(|k| from + (to - from) * k as f64 / (SIDE - 1) as f64).collect() }
}

fn solve(bencher: Bencher, text: &str, duty: &str, pressures: [f64; 2], temperatures: [f64; 2]) {
    let model = case::parse(text).and_then(|case| case.model()).expect("a shipped case");
    let across = axis(&format!("duty.{duty}.pressure"), pressures[0], pressures[1]);
    let down = axis(&format!("duty.{duty}.temperature"), temperatures[0], temperatures[1]);
    bencher.bench_local(|| black_box(window(&model, duty, &across, &down, THREADS).expect("a window")));
}

/// Brine from 3 to 20 bar and 10 to 60 degC: liquid all over.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn brine(bencher: Bencher) {
    solve(bencher, BRINE, "normal", [3e5, 20e5], [283.15, 333.15]);
}
