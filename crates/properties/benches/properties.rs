//! Time of one state each way, and of filling one cell of the property surface.

use divan::{Bencher, black_box};
use halfmicron_properties::{Fluid, MixtureViscosity};

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

/// Water's states for the stable surface: name, pressure, quality (below 0 liquid, above 1 vapour).
const STABLE: [(&str, f64, f64); 7] = [
    ("liquid", 1e6, -0.25),
    ("liquid with enhanced conductivity", 9e6, -0.15),
    ("liquid at the line", 1e6, -0.001),
    ("mixture", 1e6, 0.3),
    ("vapour at the line", 1e6, 1.001),
    ("vapour", 1e6, 1.3),
    ("near the critical point", 21.5e6, 1.3),
];

fn stable_state(name: &str) -> (Fluid, f64, f64) {
    let water = Fluid::named("water").unwrap();
    let &(_, p, x) = STABLE.iter().find(|s| s.0 == name).unwrap();
    let line = water.phase_line(p).unwrap();
    let h = line.liquid.enthalpy_j_per_kg + x * line.latent_heat_j_per_kg();
    (water, p, h)
}

#[divan::bench(args = STABLE.map(|s| s.0))]
fn stable_film_state(bencher: Bencher, name: &str) {
    let (water, p, h) = stable_state(name);
    let rule = MixtureViscosity::default();
    water.film_state(p, h, rule).unwrap();
    bencher.bench(|| water.film_state(black_box(p), black_box(h), rule).unwrap().density_kg_per_m3);
}

#[divan::bench]
fn supercritical_film_state(bencher: Bencher) {
    let water = Fluid::named("water").unwrap();
    bencher.bench(|| water.film_state(black_box(30e6), black_box(2.4e6), MixtureViscosity::default()).unwrap().density_kg_per_m3);
}

#[divan::bench(args = STABLE.map(|s| s.0))]
fn stable_surface_cell(bencher: Bencher, name: &str) {
    let (water, p, h) = stable_state(name);
    bencher.bench(|| water.build_stable_cell(black_box(p), black_box(h)));
}

#[divan::bench]
fn phase_line(bencher: Bencher) {
    let water = Fluid::named("water").unwrap();
    bencher.bench(|| water.phase_line(black_box(4.3e5)).unwrap());
}

/// First use of the stable surface by a hot-water film that flashes: 11 bar and 175 degC down to 1 bar, warmed by 40 kJ/kg.
#[divan::bench(sample_count = 5)]
fn first_hot_water_film(bencher: Bencher) {
    bencher.with_inputs(|| halfmicron_properties::fresh_for_bench("water").unwrap()).bench_values(|water| {
        let h = water.at_pressure_temperature(11e5, 448.15).unwrap().enthalpy_j_per_kg;
        (0..400)
            .map(|i| {
                let share = f64::from(i) / 399.0;
                let state = water.film_state(11e5 - 10e5 * share, h + 40e3 * share, MixtureViscosity::default()).unwrap();
                state.density_kg_per_m3
            })
            .sum::<f64>()
    });
}

/// First use of a fluid by a search: entry pressure (Pa) and temperature (K), and the pressure at the end of its films, which end with
/// enthalpies from 20 kJ/kg below that of the entry to 120 kJ/kg above it (target 200 ms).
const FIRST: [(&str, f64, f64, f64); 6] = [
    ("water", 11e5, 448.15, 1e5),
    ("carbon dioxide", 80e5, 310.0, 6e5),
    ("carbon dioxide", 60e5, 285.0, 10e5),
    ("nitrogen", 40e5, 310.0, 1.1e5),
    ("ammonia", 20e5, 315.0, 1.1e5),
    ("propane", 20e5, 310.0, 1.1e5),
];

#[divan::bench(args = 0..FIRST.len(), sample_count = 5)]
fn first_search(bencher: Bencher, which: usize) {
    let (name, entry, temperature, end) = FIRST[which];
    bencher.with_inputs(|| halfmicron_properties::fresh_for_bench(name).unwrap()).bench_values(|fluid| {
        let h = fluid.at_pressure_temperature(entry, temperature).unwrap().enthalpy_j_per_kg;
        let film = |rise: f64| {
            (0..200).map(move |i| {
                let share = f64::from(i) / 199.0;
                (entry + (end - entry) * share, h + rise * share)
            })
        };
        (-1..=6)
            .flat_map(|step| film(20e3 * f64::from(step)))
            .map(|(p, h)| fluid.film_state(p, h, MixtureViscosity::default()).unwrap().density_kg_per_m3)
            .sum::<f64>()
    });
}

#[divan::bench]
fn saturation_temperature(bencher: Bencher) {
    let water = Fluid::named("water").unwrap();
    bencher.bench(|| water.saturation_temperature(black_box(4.3e5)));
}

#[divan::bench(args = ["water", "ammonia", "propane", "methanol", "propylene"])]
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
