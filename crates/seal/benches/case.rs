//! Reading a case: text to checked tree, tree to model.

use halfmicron::case;

const CASE: &str = include_str!("../../../cases/thermal-oil.toml");

fn main() {
    divan::main();
}

#[divan::bench]
fn parse() -> case::Case {
    case::parse(divan::black_box(CASE)).unwrap()
}

#[divan::bench]
fn parse_and_model() -> halfmicron::model::Model {
    case::parse(divan::black_box(CASE)).unwrap().model().unwrap()
}

#[divan::bench]
fn set_one_value() -> String {
    case::with_settings(divan::black_box(CASE), &[("duty.normal.pressure", "7 bar(g)")]).unwrap()
}
