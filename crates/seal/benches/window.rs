//! Points of an operating window, each followed from its neighbour.

use divan::{Bencher, black_box};
use halfmicron::case;
use halfmicron::study::{Axis, window};

const BRINE: &str = include_str!("../../../cases/brine-booster.toml");
const HOT_WATER: &str = include_str!("../../../cases/feed-pump.toml");
const THREADS: usize = 2;

fn main() {
    divan::main();
}

fn axis(path: &str, side: usize, from: f64, to: f64) -> Axis {
    Axis { path: path.to_owned(), values: (0..side).map(|k| from + (to - from) * k as f64 / (side - 1) as f64).collect() }
}

fn solve(bencher: Bencher, text: &str, duty: &str, side: usize, pressures: [f64; 2], temperatures: [f64; 2]) {
    let model = case::parse(text).and_then(|case| case.model()).expect("a shipped case");
    let across = axis(&format!("duty.{duty}.pressure"), side, pressures[0], pressures[1]);
    let down = axis(&format!("duty.{duty}.temperature"), side, temperatures[0], temperatures[1]);
    let found = window(&model, duty, &across, &down, THREADS).expect("a window");
    let solved = found.iter().flatten().filter(|point| point.point.is_some()).count();
    eprintln!("{duty}: {solved} of {} points have a film", side * side);
    bencher
        .counter(divan::counter::ItemsCount::new(side * side))
        .bench_local(|| black_box(window(&model, duty, &across, &down, THREADS).expect("a window")));
}

/// Brine from 3 to 20 bar and 10 to 60 degC: liquid all over.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn brine(bencher: Bencher) {
    solve(bencher, BRINE, "normal", 100, [3e5, 20e5], [283.15, 333.15]);
}

/// Water from 20 to 34 bar and 60 to 170 degC: from liquid to boiling films. A thousandth of a millisecond in the rate is a hundredth of a second
/// of the ten thousand points that are wanted in 20 s.
#[divan::bench(sample_count = 2, sample_size = 1, args = [20, 100])]
fn hot_water(bencher: Bencher, side: usize) {
    solve(bencher, HOT_WATER, "normal", side, [20e5, 34e5], [333.15, 443.15]);
}
