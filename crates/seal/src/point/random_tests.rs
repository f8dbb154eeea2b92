//! The search against brute force on random seals.

use halfmicron_properties::Fluid;

use super::branch::{TOUCHING_ROUGHNESSES, crossings, fixed_gap, least, trace, trace_in_steps};
use super::coupled::{Coupled, State};
use super::pair::Pair;
use super::tests::{fluid, made_up_pair_of};
use crate::contact::ContactLaw;
use crate::model::Switches;
use crate::outcome::Work;

/// Cases drawn by the everyday test, and by the long one.
const FEW: u64 = 12;
const MANY: u64 = 200;
const SCAN_POINTS: usize = 400;
/// Step of the fine scan along the curve, in local scales: hundreds of points a case.
const DENSE_STEP: f64 = 0.06;

/// Deterministic numbers in [0, 1).
pub(super) struct Draw(pub(super) u64);

impl Draw {
    fn next(&mut self) -> f64 {
        // splitmix64 (Steele, Lea and Flood 2014)
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

/// A seal at a duty, drawn at random.
pub(super) struct RandomSeal {
    pair: Pair,
    contact: ContactLaw,
    pressure_pa: f64,
    speed_rad_per_s: f64,
    friction: f64,
    pub closing_force_n: f64,
}

impl RandomSeal {
    pub fn draw(draw: &mut Draw) -> Self {
        let thermal = draw.between(-1.5e-11, 2.5e-11);
        let elastic = draw.between(-1.2e-12, 6e-13);
        let pair = made_up_pair_of(thermal, elastic, draw.between(0.3, 3.0));
        let pressure_pa = draw.between(1e5, 3e6);
        let contact =
            ContactLaw { roughness_m: draw.between(0.05e-6, 0.3e-6), elastic_scale_pa: draw.between(2e6, 3e7), plastic_pressure_pa: 3e8 };
        let (speed_rad_per_s, friction) = (draw.between(0.0, 400.0), draw.between(0.05, 0.2));
        let closing_force_n = 1.1e-3 * (draw.between(0.55, 0.95) * pressure_pa + draw.between(0.05e6, 0.25e6));
        Self { pair, contact, pressure_pa, speed_rad_per_s, friction, closing_force_n }
    }

    pub fn coupled<'a>(&'a self, fluid: &'a Fluid, switches: &'a Switches) -> Coupled<'a> {
        Coupled {
            pair: &self.pair,
            contact: self.contact,
            fluid,
            inner_pressure_pa: 1.013e5,
            outer_pressure_pa: 1.013e5 + self.pressure_pa,
            base_pressure_pa: 1.013e5,
            entry_temperature_k: 311.15,
            speeds_rad_per_s: [self.speed_rad_per_s, 0.0],
            boundary_friction: self.friction,
            switches,
            field: None,
        }
    }
}

/// Crossings of the closing force counted by marching the inner gap itself, where the curve is single-valued in it.
///
/// Returns none where the march breaks off: there the force is many-valued in the gap and a scan of the gap proves nothing.
fn brute_force(coupled: &Coupled, closing_force_n: f64, narrowest_m: f64, widest_m: f64) -> Option<usize> {
    let mut work = Work::default();
    let mut state: Option<State> = None;
    let mut last: Option<f64> = None;
    let mut count = 0;
    let mut slopes = None;
    for k in 0..SCAN_POINTS {
        // Even steps in a variable that is linear at the roughness and logarithmic above.
        let sigma = coupled.contact.roughness_m;
        let (top, bottom) = ((widest_m / sigma).asinh(), (narrowest_m / sigma).asinh());
        let gap = sigma * (top + (bottom - top) * k as f64 / (SCAN_POINTS - 1) as f64).sinh();
        let start = match state.take() {
            None => coupled.cold_state(gap),
            Some(from) => {
                let shift = gap - from.inner_gap_m;
                State { inner_gap_m: gap, gap_m: from.gap_m.iter().map(|h| h + shift).collect(), ..from }
            }
        };
        let (found, evaluation, made) = fixed_gap(coupled, start, slopes.take(), &mut work).ok()?;
        slopes = Some(made);
        let excess = evaluation.opening_force_n - closing_force_n;
        if last.is_some_and(|before: f64| before * excess < 0.0) {
            count += 1;
        }
        last = Some(excess);
        state = Some(found);
    }
    Some(count)
}

#[test]
fn the_search_finds_as_many_equilibria_as_a_scan() {
    compare(FEW);
}

#[test]
#[ignore = "two hundred brute-force scans take a minute or two: `cargo xtask ci` runs it"]
fn the_search_finds_as_many_equilibria_as_two_hundred_scans() {
    compare(MANY);
}

fn compare(cases: u64) {
    let (fluid, switches) = (fluid(), Switches::default());
    let mut draw = Draw(1);
    let (mut compared, mut folded, mut several, mut unlike) = (0, 0, 0, 0);
    for case in 0..cases {
        let seal = RandomSeal::draw(&mut draw);
        let (coupled, closing) = (seal.coupled(&fluid, &switches), seal.closing_force_n);
        let mut work = Work::default();
        let traced = trace(&coupled, 1.02 * closing, &mut work).unwrap_or_else(|e| panic!("case {case}: {e:?}"));
        let (roots, failures) = crossings(&coupled, &traced, closing, &mut work);
        assert!(failures.is_empty(), "case {case}: {failures:?}");
        let gaps = || traced.points.iter().map(|p| p.state.inner_gap_m);
        let (narrowest, widest) = (gaps().fold(f64::MAX, f64::min), traced.points[0].state.inner_gap_m);
        let dense = trace_in_steps(&coupled, 1.02 * closing, DENSE_STEP, &mut work).unwrap_or_else(|e| panic!("case {case}: {e:?}"));
        // The fine curve tells: a fold can lie between two points of the coarse one.
        let monotone = dense.points.windows(2).all(|w| w[1].state.inner_gap_m < w[0].state.inner_gap_m);
        let signs = dense.points.windows(2).filter(|w| {
            let inside = least(&w[1].state.gap_m) > TOUCHING_ROUGHNESSES * coupled.contact.roughness_m;
            inside && (w[0].opening_force_n - closing) * (w[1].opening_force_n - closing) < 0.0
        });
        assert_eq!(roots.len(), signs.count(), "case {case}: a scan of {} points along the curve found another number", dense.points.len());
        // The curve starts below closing, so the force rises through it first and falls next: no two neighbours can both be stable.
        let rises: Vec<bool> = roots.iter().map(|root| root.slopes.rises_as_it_closes()).collect();
        let starts_below = traced.points[0].opening_force_n < closing;
        let expected: Vec<bool> = (0..roots.len()).map(|k| (k % 2 == 0) == starts_below).collect();
        assert_eq!(rises, expected, "case {case}");
        match brute_force(&coupled, closing, narrowest, widest) {
            Some(count) if monotone && count == roots.len() => compared += 1,
            Some(count) if monotone => {
                println!("case {case}: the scan of the gap found {count}, the curve and its fine scan {}", roots.len());
                unlike += 1;
            }
            _ => folded += 1,
        }
        several += usize::from(roots.len() > 1);
    }
    println!("{compared} compared, {folded} many-valued in the gap, {several} with several equilibria");
    // The scan of the gap solves each point cold and may miss a crossing next to touching faces, which both traces of the curve see.
    assert_eq!(unlike, 0, "scans of the gap found another number");
    assert!(2 * compared >= cases, "only {compared} cases could be compared");
}
