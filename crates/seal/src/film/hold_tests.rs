//! A film that follows its boiling point over a stretch.

use super::compressible_tests::{Setup, boiling, slopes_agree};
use super::*;
use crate::model::{Slip, Switches};
use crate::outcome::PhaseChangeKind;

const LATENT_OVER_GAS_CONSTANT_K: f64 = 2.1e6 / 461.5;
const SATURATION_AT_423_K_PA: f64 = 0.476e6;

/// Faces that cool along the flow so that the saturation pressure at their temperature falls, from 0.4 of the way on, faster than that of the liquid.
/// Beyond 0.8 of the way they cool less, or go on as before.
fn cooling(gap: f64, inner_pa: f64, to_the_end: bool) -> Setup {
    let switches = Switches { heat: true, convective_inertia: true, spin: true, slip: Slip::None, ..Switches::default() };
    let fluid = boiling(SATURATION_AT_423_K_PA, 0.68);
    let mut setup = Setup::new([24.45e-3, 30.80e-3], gap, fluid, 430.0, [inner_pa, 1.0e6], switches);
    setup.speed = 100.0;
    let n = setup.face.len();
    for (k, face) in setup.face.iter_mut().enumerate() {
        let way = 1.0 - k as f64 / (n - 1) as f64;
        let (steep, flat) = if to_the_end { (0.95e6, 0.95e6) } else { (1.3e6, 0.3e6) };
        let saturation = 0.72e6 - 0.5e6 * (way - 0.4).min(0.0) - steep * (way - 0.4).clamp(0.0, 0.4) - flat * (way - 0.8).max(0.0);
        *face = 1.0 / (1.0 / 423.15 - (saturation / SATURATION_AT_423_K_PA).ln() / LATENT_OVER_GAS_CONSTANT_K);
    }
    setup
}

fn follows(start: &FilmStart) -> bool {
    start.march.as_ref().is_some_and(|march| march.hold.is_some())
}

#[test]
fn a_film_follows_its_boiling_point_where_neither_phase_can_go_on() {
    let setup = cooling(1e-6, 0.1e6, false);
    let (result, start) = film(&setup.input(), None).unwrap();
    assert!(follows(&start));
    assert!(result.mass_balance < 1e-9, "{:e}", result.mass_balance);
    let kinds: Vec<PhaseChangeKind> = result.phase_changes.iter().map(|change| change.kind).collect();
    let expected = [PhaseChangeKind::BeginsToBoil, PhaseChangeKind::LeavesBoilingPoint, PhaseChangeKind::AllLiquid];
    assert_eq!(kinds[..3], expected, "{kinds:?}");
    let march = start.march.unwrap();
    let held = march.marks.iter().filter(|mark| matches!(mark.closure, super::march::Closure::Hold));
    let temperatures: Vec<(f64, f64)> =
        held.map(|mark| (mark.state.temperature_k, setup.face[setup.face.len() - 2 - mark.interval])).collect();
    assert!(temperatures.len() >= 2);
    for (film, face) in temperatures {
        assert!((film - face).abs() < 0.1, "{film} {face}");
    }
}

#[test]
fn flow_and_force_vary_smoothly_while_the_film_leaves_ever_further_on() {
    let mut start = None;
    let mut forces = Vec::new();
    for k in 0..60 {
        let setup = cooling(1e-6, 0.05e6 + 6e3 * f64::from(k), false);
        let (result, next) = film(&setup.input(), start.as_ref()).unwrap();
        let (alone, _) = film(&setup.input(), None).unwrap();
        assert!((result.force_n(&setup.nodes, 0.0) / alone.force_n(&setup.nodes, 0.0) - 1.0).abs() < 1e-7, "{k}");
        forces.push(result.force_n(&setup.nodes, 0.0));
        start = Some(next);
    }
    let slopes: Vec<f64> = forces.windows(2).map(|w| w[1] - w[0]).collect();
    assert!(slopes.iter().all(|slope| *slope > 0.0), "{slopes:?}");
    // The slope changes once, where the film begins to leave as liquid; a jump of the force would stand out from both its neighbours.
    assert!(slopes.windows(3).all(|three| three[1] < 1.2 * three[0].max(three[2])), "{slopes:?}");
}

#[test]
fn slopes_of_a_film_that_follows_its_boiling_point_are_difference_quotients() {
    for (gap, inner, to_the_end) in [
        (1e-6, 0.1e6, false),
        (2e-6, 0.1e6, false),
        (1e-6, 0.05e6, true),
        (1e-6, 0.10e6, true),
        (0.5e-6, 0.1e6, true),
        (3e-6, 0.1e6, true),
        (4e-6, 0.01e6, true),
    ] {
        let mut setup = cooling(gap, inner, to_the_end);
        assert!(follows(&film(&setup.input(), None).unwrap().1), "{gap} {inner}");
        slopes_agree(&mut setup, 5e-3);
    }
}
