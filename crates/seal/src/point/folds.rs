//! Folds of the traced curve: where its opening force turns.
//!
//! Along the curve the force changes as the determinant of everything coupled with the balance of forces. Where that is zero, two
//! equilibria of one closing force meet and vanish: a seal that stood there jumps.

use super::branch::{BranchPoint, Root, Trace, advance, least};
use super::coupled::{Coupled, State};
use crate::outcome::Work;

/// Steps that halve or better the bracket of a fold; a few place the force to its eighth digit.
const REFINEMENTS: usize = 14;
/// Change of force left in a bracket, relative, at which a fold is placed.
const PLACED: f64 = 1e-8;

/// A place where the force turns.
#[derive(Debug, Clone)]
pub(super) struct Fold {
    /// Arc length from the wide end.
    pub arc: f64,
    /// Opening force there, N.
    pub opening_force_n: f64,
    /// Whether the force is greatest there; otherwise least.
    pub greatest: bool,
}

/// A stretch of the curve on which the force rises as the faces close, with the fold at each end; none where the curve ends unfolded.
#[derive(Debug, Clone)]
pub(super) struct Rise {
    /// Fold on the open side: below its force the film pops open.
    pub open: Option<Fold>,
    /// Fold on the closed side: above its force the faces close.
    pub closed: Option<Fold>,
}

/// Every fold of the curve, wide end first.
pub(super) fn folds(coupled: &Coupled, trace: &Trace, work: &mut Work) -> Vec<Fold> {
    let mut found = Vec::new();
    for pair in trace.points.windows(2) {
        for bracket in brackets(coupled, &pair[0], &pair[1], work) {
            found.extend(refine(coupled, &pair[0], bracket, work));
        }
    }
    found
}

/// A stretch of arc from a point with the slope of the force at both ends.
#[derive(Debug, Clone, Copy)]
struct Bracket {
    reach: [f64; 2],
    slope: [f64; 2],
}

/// Stretches between two neighbours within which the slope changes sign.
fn brackets(coupled: &Coupled, a: &BranchPoint, b: &BranchPoint, work: &mut Work) -> Vec<Bracket> {
    let length = b.arc - a.arc;
    let slope = [a.force_per_arc, b.force_per_arc];
    if slope[0] * slope[1] < 0.0 {
        return vec![Bracket { reach: [0.0, length], slope }];
    }
    // The cubic through both forces and slopes may turn twice in between although both slopes agree in sign.
    let middle = 1.5 * (b.opening_force_n - a.opening_force_n) / length - 0.25 * (slope[0] + slope[1]);
    if middle * slope[0] >= 0.0 {
        return Vec::new();
    }
    let half = 0.5 * length;
    let Ok((point, _)) = advance(coupled, a, half, work) else { return Vec::new() };
    match point.exact_force(coupled, work) {
        Ok([_, there]) if there * slope[0] < 0.0 => {
            vec![Bracket { reach: [0.0, half], slope: [slope[0], there] }, Bracket { reach: [half, length], slope: [there, slope[1]] }]
        }
        _ => Vec::new(),
    }
}

/// The fold in a bracket, by false position with halved ends on exact slopes; none where the slopes at hand were wrong about it.
fn refine(coupled: &Coupled, from: &BranchPoint, bracket: Bracket, work: &mut Work) -> Option<Fold> {
    let Bracket { mut reach, mut slope } = bracket;
    let mut best: Option<Fold> = None;
    let mut side = 0;
    for _ in 0..REFINEMENTS {
        let at = (reach[0] * slope[1] - reach[1] * slope[0]) / (slope[1] - slope[0]);
        let Ok((point, _)) = advance(coupled, from, at, work) else { break };
        let Ok([force, there]) = point.exact_force(coupled, work) else { break };
        best = Some(Fold { arc: from.arc + at, opening_force_n: force, greatest: bracket.slope[0] > 0.0 });
        if there.abs() * (reach[1] - reach[0]) < PLACED * force.abs().max(1.0) {
            break;
        }
        let same = usize::from(there * slope[0] <= 0.0);
        (reach[same], slope[same]) = (at, there);
        // Halving the end that stays keeps false position from creeping up on one side.
        if side == same + 1 {
            slope[1 - same] *= 0.5;
        }
        side = same + 1;
    }
    best
}

/// The rising stretch on which a stable equilibrium with `closing_force_n` stands; none where it stands on no such stretch
/// or a fold of it is missing.
pub(super) fn rise_of(coupled: &Coupled, trace: &Trace, folds: &[Fold], root: &Root, closing_force_n: f64) -> Option<Rise> {
    let arc = arc_of(coupled, trace, &root.state)?;
    let (first, last) = (trace.points.first()?, trace.points.last()?);
    let mut ends: Vec<(f64, f64, Option<&Fold>)> = vec![(first.arc, first.opening_force_n, None)];
    ends.extend(folds.iter().map(|fold| (fold.arc, fold.opening_force_n, Some(fold))));
    ends.push((last.arc, last.opening_force_n, None));
    let holds = |pair: &&[(f64, f64, Option<&Fold>)]| pair[0].1 <= closing_force_n && closing_force_n <= pair[1].1;
    let away = |pair: &[(f64, f64, Option<&Fold>)]| (pair[0].0 - arc).max(arc - pair[1].0).max(0.0);
    let pair = ends.windows(2).filter(holds).min_by(|a, b| away(a).total_cmp(&away(b)))?;
    // A rise begins at a least force and ends at a greatest: otherwise a fold between was missed, and nothing is claimed.
    let [open, closed] = [pair[0].2, pair[1].2];
    let whole = open.is_none_or(|fold| !fold.greatest) && closed.is_none_or(|fold| fold.greatest);
    whole.then(|| Rise { open: open.cloned(), closed: closed.cloned() })
}

/// Arc length of a state on the curve, by its nearest point.
pub(super) fn arc_of(coupled: &Coupled, trace: &Trace, state: &State) -> Option<f64> {
    let away = |point: &&BranchPoint| {
        (point.arc_of(coupled, state) - point.arc).abs()
            + (least(&point.state.gap_m) - least(&state.gap_m)).abs() / coupled.contact.roughness_m
    };
    trace.points.iter().min_by(|a, b| away(a).total_cmp(&away(b))).map(|point| point.arc_of(coupled, state))
}

/// Least film of the next place at which a rising force passes `force_n`, from a fold toward the open or the closed side; none where
/// the curve ends before.
pub(super) fn next_film_m(trace: &Trace, fold: &Fold, force_n: f64, toward_open: bool) -> Option<f64> {
    let crosses = |pair: &&[BranchPoint]| {
        let beyond = if toward_open { pair[1].arc <= fold.arc } else { pair[0].arc >= fold.arc };
        beyond && pair[0].opening_force_n <= force_n && force_n <= pair[1].opening_force_n
    };
    let mut pairs = trace.points.windows(2).filter(crosses);
    let pair = if toward_open { pairs.next_back() } else { pairs.next() }?;
    let share = (force_n - pair[0].opening_force_n) / (pair[1].opening_force_n - pair[0].opening_force_n).max(f64::MIN_POSITIVE);
    let [wide, narrow] = [least(&pair[0].state.gap_m), least(&pair[1].state.gap_m)];
    Some(wide + share * (narrow - wide))
}
