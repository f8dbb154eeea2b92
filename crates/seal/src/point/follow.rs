//! Following the equilibrium curve, step by step, and over the places where it jumps.
//!
//! The curve is smooth but for places where the film changes its kind: a front meets a node or an edge, a flow chokes. There it has a kink,
//! or it ends and goes on a little beside. Before such a jump no step is short enough to converge, for the corrections go to and fro between
//! both kinds of film; a longer one that ends beyond it converges.

use super::branch::{
    BranchEnd, BranchPoint, Corrected, Film, SHARPEST, SearchError, TOUCHING_ROUGHNESSES, Trace, WIDE_OPEN_M, corrected, least,
};
use super::coupled::Coupled;
use super::starts::Narrowed;
use crate::film::FilmError;
use crate::outcome::Work;

/// Points of a curve; a good one has some tens. Finer steps than usual may take more.
const MOST_POINTS: usize = 300;
const MOST_FINE_POINTS: usize = 2000;
/// Films tried along one curve: where it needs more, the film there has no clear answer.
const MOST_FILMS: u64 = 500;
const FIRST_STEP: f64 = 0.6;
pub(super) const LONGEST_STEP: f64 = 1.2;
const SHORTEST_STEP: f64 = 1e-3;
/// Share of a step that failed with which it is tried again: what fails costs many times what goes on.
const SHORTENED: f64 = 0.25;
/// Points in a row, and the arc length in longest steps that they must gain: where a curve only creeps, its films have no clear answer further on.
const CREEPING_POINTS: usize = 10;
const CREEPING: f64 = 0.01;
/// Films that are not modelled, those out of the range of the fluid, which cost next to nothing, and the arc length in longest steps within which
/// so many of them end a curve.
const MOST_REFUSED: usize = 4;
const MOST_OUT_OF_RANGE: usize = 8;
const REFUSED_WITHIN: f64 = 0.1;
/// Steps tried over a jump with a film found anew, up to which of them a film that is not modelled tells what follows the last point, and
/// the step after a jump.
const LEAPS: [f64; 3] = [3e-3, 3e-2, 0.3];
const NEAR: f64 = 3e-2;
const AFTER_LEAP: f64 = 0.1;

/// Roughnesses of least gap within which a step may begin that ends where the faces touch, or below this share of the gap it began at, once a
/// curve has so many points, and the step in longest ones that may begin anywhere: soft or coned faces would otherwise close from tens of
/// micrometres unseen.
const LANDING: f64 = 10.0;
const PLUNGE: f64 = 0.1;
const SEEN: usize = 3;
const LANDING_STEP: f64 = 0.05;

/// Way from point to point over the step between them from which the curve is said to jump.
const JUMP: f64 = 3.0;

/// Follow the curve from a solved point towards closing.
pub(super) fn follow(
    coupled: &Coupled,
    first: BranchPoint,
    narrowed: Option<Narrowed>,
    enough_n: f64,
    longest: f64,
    work: &mut Work,
) -> Trace {
    let mut points = vec![first];
    let mut step = FIRST_STEP.min(longest);
    let mut failure = BranchEnd::TooManyPoints;
    let mut since_point = false;
    // The nearest point known that a step reached over a bend too sharp for its length, and the first point since the last jump.
    let (mut beyond, mut landed) = (None, 0);
    let (mut jumps, mut refused) = (Vec::new(), Vec::new());
    let (most, films) = if longest < LONGEST_STEP { (MOST_FINE_POINTS, u64::MAX) } else { (MOST_POINTS, MOST_FILMS) };
    let spent = work.film_solves;
    while points.len() < most && work.film_solves - spent < films {
        let last = &points[points.len() - 1];
        let known_jumps = jumps.len();
        let (mut next, stuck) = match corrected(coupled, last, step, Film::Followed, work) {
            Ok(Corrected { point, corrections, bent: None }) => {
                step = if corrections <= 2 {
                    (1.5 * step).min(longest)
                } else if corrections > 5 {
                    0.7 * step
                } else {
                    step
                };
                since_point = false;
                if last.way_to(coupled, &point).0 > JUMP * (point.arc - last.arc) {
                    jumps.push([least(&last.state.gap_m), least(&point.state.gap_m)]);
                }
                let past = (points.len() - landed).checked_sub(CREEPING_POINTS).map(|index| points[landed + index].arc);
                let creeps = past.is_some_and(|past| point.arc - past < CREEPING * longest);
                (Some(point), creeps)
            }
            failed => {
                let error = match failed {
                    Err(error) => error,
                    Ok(Corrected { point, bent, .. }) => {
                        beyond = Some(point);
                        SearchError::NotConverged(bent.unwrap_or_default())
                    }
                };
                step *= SHORTENED;
                failure = told(error, failure, since_point);
                since_point = true;
                if matches!(failure, BranchEnd::NotModelled(_) | BranchEnd::FluidRange(_)) {
                    refused.push(last.arc);
                }
                let most = if matches!(failure, BranchEnd::FluidRange(_)) { MOST_OUT_OF_RANGE } else { MOST_REFUSED };
                let from = refused.len().checked_sub(most).map(|index| refused[index]);
                (None, step < SHORTEST_STEP || from.is_some_and(|from| last.arc - from < REFUSED_WITHIN * longest))
            }
        };
        if stuck {
            let from = next.as_ref().unwrap_or(last);
            match leap(coupled, from, beyond.take(), &failure, work) {
                Ok(point) => {
                    jumps.push([least(&from.state.gap_m), least(&point.state.gap_m)]);
                    work.branch_points += u64::from(next.is_some());
                    points.extend(next.replace(point));
                    landed = points.len();
                    step = AFTER_LEAP * longest;
                    since_point = false;
                }
                Err(told) => {
                    work.branch_points += u64::from(next.is_some());
                    points.extend(next);
                    return Trace { points, end: told.unwrap_or(failure), narrowed, jumps };
                }
            }
        }
        if let Some(point) = next {
            work.branch_points += 1;
            let end = end_reached(coupled, &point, enough_n);
            let last = &points[points.len() - 1];
            let taken = point.arc - last.arc;
            let lands = end == Some(BranchEnd::Touching) || least(&point.state.gap_m) < PLUNGE * least(&last.state.gap_m);
            let unseen = is_high(coupled, last) || points.len() < SEEN;
            if lands && !stuck && taken > LANDING_STEP * longest && unseen {
                step = 0.4 * taken;
                jumps.truncate(known_jumps);
                continue;
            }
            points.push(point);
            if let Some(end) = end {
                return Trace { points, end, narrowed, jumps };
            }
        }
    }
    Trace { points, end: failure, narrowed, jumps }
}

/// Why the last step failed, after a failure `before` it; what is known of a film that is not modelled says more than steps lost beside it.
fn told(error: SearchError, before: BranchEnd, since_point: bool) -> BranchEnd {
    let known = since_point && matches!(before, BranchEnd::NotModelled(_));
    match error {
        SearchError::Film(error) if known && !error.is_not_modelled() => before,
        SearchError::NotConverged(_) if known => before,
        SearchError::Film(FilmError::Property(reason)) => BranchEnd::FluidRange(reason.to_string()),
        SearchError::Film(error) if error.is_not_modelled() => BranchEnd::NotModelled(error.to_string()),
        SearchError::Film(error) => BranchEnd::Film(error.to_string()),
        SearchError::NotConverged(history) => BranchEnd::Lost { residual: history.last().copied().unwrap_or(f64::MAX) },
    }
}

/// The next point of the curve beyond a place where it jumps, or why there is none where that is known.
///
/// # Errors
/// What the film beyond is, where it is known and not modelled.
fn leap(
    coupled: &Coupled,
    last: &BranchPoint,
    beyond: Option<BranchPoint>,
    failure: &BranchEnd,
    work: &mut Work,
) -> Result<BranchPoint, Option<BranchEnd>> {
    // Into what is out of range or not modelled nothing leaps.
    if !matches!(failure, BranchEnd::Lost { .. } | BranchEnd::Film(_)) {
        return Err(None);
    }
    if let Some(point) = beyond.filter(|point| goes_on(coupled, last, point)) {
        return Ok(point);
    }
    let mut known = None;
    for step in LEAPS {
        match corrected(coupled, last, step, Film::Anew, work) {
            Ok(Corrected { point, .. }) if goes_on(coupled, last, &point) => return Ok(point),
            Err(SearchError::Film(error)) if error.is_not_modelled() && step <= NEAR => {
                known.get_or_insert(BranchEnd::NotModelled(error.to_string()));
            }
            // What lies out of the range of the fluid is not leaped into.
            Err(SearchError::Film(FilmError::Property(_))) => return Err(known),
            _ => {}
        }
    }
    Err(known)
}

/// Whether the curve goes on at a point: ahead and narrower, headed the same way, and no farther than one step may reach.
fn goes_on(coupled: &Coupled, last: &BranchPoint, point: &BranchPoint) -> bool {
    let (length, headed) = last.way_to(coupled, point);
    headed && point.arc > last.arc && length * SHARPEST < LONGEST_STEP && least(&point.state.gap_m) < least(&last.state.gap_m)
}

/// Whether asperities are so far off that no step should land from here.
fn is_high(coupled: &Coupled, point: &BranchPoint) -> bool {
    least(&point.state.gap_m) > LANDING * coupled.contact.roughness_m
}

/// Between textured faces the curve also ends where asperities are within reach, at this many roughnesses, and the faces are pressed apart by
/// so many times what they may ever have to carry: such a film need not be followed through the last tenth of a micrometre.
const WITHIN_REACH: f64 = 3.0;
const PRESSED: f64 = 1.5;

fn end_reached(coupled: &Coupled, point: &BranchPoint, enough_n: f64) -> Option<BranchEnd> {
    let least = least(&point.state.gap_m);
    let roughness_m = coupled.contact.roughness_m;
    let pressed = coupled.field.is_some() && least < WITHIN_REACH * roughness_m && point.opening_force_n > PRESSED * enough_n;
    if pressed || least < TOUCHING_ROUGHNESSES * roughness_m || point.contact_force_n > enough_n {
        return Some(BranchEnd::Touching);
    }
    (least > 1.5 * WIDE_OPEN_M).then_some(BranchEnd::WideOpen)
}
