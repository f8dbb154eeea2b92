//! Folds of random seals, against the sign of the determinant and against solving again on both sides.

use super::branch::{Root, TOUCHING_ROUGHNESSES, crossings, least, trace, trace_in_steps};
use super::coupled::Coupled;
use super::folds::{arc_of, folds, rise_of};
use super::random_tests::{Draw, RandomSeal};
use super::tests::fluid;
use crate::model::Switches;
use crate::outcome::Work;

const CASES: u64 = 6;
/// Step of the fine scan along the curve, in local scales.
const DENSE_STEP: f64 = 0.1;

/// Run something on every seal that has a curve.
fn for_each_seal(cases: u64, mut run: impl FnMut(&str, &Coupled, f64)) {
    // Turbulence sets in over a narrow range of gaps and can make a fold narrower than the steps of the search.
    let (fluid, switches) = (fluid(), Switches { turbulence: false, ..Switches::default() });
    let mut draw = Draw(2);
    for case in 0..cases {
        let seal = RandomSeal::draw(&mut draw);
        run(&format!("case {case}"), &seal.coupled(&fluid, &switches), seal.closing_force_n);
    }
}

#[test]
fn folds_are_the_sign_changes_of_the_determinant() {
    let mut seen = 0;
    for_each_seal(CASES, |case, coupled, closing| {
        let mut work = Work::default();
        let traced = trace(coupled, 1.02 * closing, &mut work).unwrap_or_else(|e| panic!("{case}: {e:?}"));
        let found = folds(coupled, &traced, &mut work);
        let dense = trace_in_steps(coupled, 1.02 * closing, DENSE_STEP, &mut work).unwrap_or_else(|e| panic!("{case}: {e:?}"));
        // Sign of the determinant of everything coupled with the balance of forces, from the matrix of each point itself.
        let signs: Vec<bool> = dense
            .points
            .iter()
            .filter(|point| least(&point.state.gap_m) > TOUCHING_ROUGHNESSES * coupled.contact.roughness_m)
            .map(|point| {
                let mut state = point.state.clone();
                let evaluation = coupled.evaluate(&mut state, &mut work).expect("a point of the curve");
                coupled.slopes(&state, &evaluation, &mut work).expect("slopes").rises_as_it_closes()
            })
            .collect();
        let changes = signs.windows(2).filter(|w| w[0] != w[1]).count();
        assert_eq!(found.len(), changes, "{case}: {found:?}");
        assert!(found.windows(2).all(|w| w[0].arc < w[1].arc && w[0].greatest != w[1].greatest), "{case}: {found:?}");
        for fold in &found {
            // No point of the fine scan near the fold passes its force.
            let near = dense.points.windows(3).filter(|w| {
                let turns = if fold.greatest {
                    w[1].opening_force_n > w[0].opening_force_n && w[1].opening_force_n > w[2].opening_force_n
                } else {
                    w[1].opening_force_n < w[0].opening_force_n && w[1].opening_force_n < w[2].opening_force_n
                };
                turns && (w[1].opening_force_n / fold.opening_force_n - 1.0).abs() < 0.01
            });
            assert_eq!(near.count(), 1, "{case}: {fold:?}");
        }
        seen += found.len();
    });
    assert!(seen >= 3, "only {seen} folds: the draw shows nothing");
}

#[test]
fn force_margins_hold_when_solved_again() {
    let mut tried = 0;
    for_each_seal(2 * CASES, |case, coupled, closing| {
        let mut work = Work::default();
        let traced = trace(coupled, 1.02 * closing, &mut work).unwrap_or_else(|e| panic!("{case}: {e:?}"));
        let (roots, _) = crossings(coupled, &traced, closing, &mut work);
        let found = folds(coupled, &traced, &mut work);
        for root in roots.iter().filter(|root| root.is_stable()) {
            let rise = rise_of(coupled, &traced, &found, root, closing).unwrap_or_else(|| panic!("{case}: a stable film on no rise"));
            // With a fold missing nothing may be claimed in the wrong sense.
            for missing in 0..found.len() {
                let fewer: Vec<_> = found.iter().enumerate().filter(|(k, _)| *k != missing).map(|(_, fold)| fold.clone()).collect();
                if let Some(rise) = rise_of(coupled, &traced, &fewer, root, closing) {
                    assert!(rise.open.is_none_or(|fold| !fold.greatest) && rise.closed.is_none_or(|fold| fold.greatest), "{case}");
                }
            }
            let inside = |again: &Root| {
                let arc = arc_of(coupled, &traced, &again.state).expect("a traced curve");
                let after = rise.open.as_ref().is_none_or(|fold| arc > fold.arc);
                again.slopes.rises_as_it_closes() && after && rise.closed.as_ref().is_none_or(|fold| arc < fold.arc)
            };
            for fold in rise.open.iter().chain(&rise.closed) {
                let margin = fold.opening_force_n - closing;
                if margin.abs() < 1e-3 * closing || fold.opening_force_n <= 0.0 {
                    continue;
                }
                let stands = |share: f64| {
                    let (again, _) = crossings(coupled, &traced, closing + share * margin, &mut Work::default());
                    again.iter().filter(|again| inside(again)).count()
                };
                assert_eq!([stands(0.99), stands(1.01)], [1, 0], "{case}: margin {margin:.2} N, {rise:?}");
                tried += 1;
            }
        }
    });
    assert!(tried >= 4, "only {tried} margins: the draw shows nothing");
}
