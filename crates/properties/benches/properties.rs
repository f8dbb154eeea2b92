//! Time of one state each way, and of filling one cell of the property surface.

use divan::{Bencher, black_box};
use halfmicron_properties::Fluid;

fn main() {
    divan::main();
}

/// Cold liquid, hot liquid with critical enhancement, superheated liquid.
const STATES: [(f64, f64); 3] = [(1.1e6, 160e3), (8e6, 1.085e6), (2e5, 600e3)];

fn each(bencher: Bencher, state: usize, f: impl Fn(&Fluid, f64, f64) -> f64 + Sync) {
    let water = Fluid::named("water").unwrap();
    let (p, h) = STATES[state];
    f(&water, p, h);
    bencher.bench(|| f(&water, black_box(p), black_box(h)));
}

#[divan::bench(args = [0, 1, 2])]
fn kernel_pressure_enthalpy(bencher: Bencher, state: usize) {
    each(bencher, state, |f, p, h| f.liquid_at_pressure_enthalpy(p, h).unwrap().density_kg_per_m3);
}

#[divan::bench(args = [0, 1, 2])]
fn equilibrium_pressure_enthalpy(bencher: Bencher, state: usize) {
    each(bencher, state, |f, p, h| f.at_pressure_enthalpy(p, h).unwrap().density_kg_per_m3);
}

#[divan::bench(args = [0, 1, 2])]
fn film_state(bencher: Bencher, state: usize) {
    each(bencher, state, |f, p, h| f.superheated_film_state(p, h).unwrap().density_kg_per_m3);
}

#[divan::bench(args = [0, 1, 2])]
fn surface_cell(bencher: Bencher, state: usize) {
    each(bencher, state, |f, p, h| f64::from(u8::from(f.build_surface_cell(p, h))));
}

#[divan::bench]
fn saturation_temperature(bencher: Bencher) {
    let water = Fluid::named("water").unwrap();
    bencher.bench(|| water.saturation_temperature(black_box(4.3e5)));
}

#[divan::bench(args = ["water", "ammonia", "methane", "propane"])]
fn fluid_from_its_file(name: &str) -> usize {
    halfmicron_properties::parse_for_bench(name)
}

#[divan::bench(args = ["sea water, salinity 70 g/kg", "sodium hydroxide solution, 50 % by mass", "mineral oil ISO VG 32", "hydrogenated terphenyl heat-transfer oil"])]
fn liquid_film_state(bencher: Bencher, name: &str) {
    let fluid = Fluid::named(name).unwrap();
    let h = fluid.at_pressure_temperature(1e6, 333.15).unwrap().enthalpy_j_per_kg;
    bencher.bench(|| fluid.superheated_film_state(black_box(1e6), black_box(h)).unwrap());
}

#[divan::bench(args = ["sea water, salinity 70 g/kg", "ethylene glycol solution, 50 % by mass"])]
fn liquid_by_name(name: &str) -> Fluid {
    Fluid::named(name).unwrap()
}
