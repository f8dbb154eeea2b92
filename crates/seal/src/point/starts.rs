//! Where the search for equilibria starts: wide open, or as wide as there is a film.

use super::branch::{BranchEnd, BranchPoint, SearchError, Trace, WIDE_OPEN_M, first_point, fixed_gap, least};
use super::coupled::{Coupled, State};
use super::follow::{LONGEST_STEP, follow};
use super::none::{lost, status_of, words};
use crate::outcome::{Status, Work};

/// Least gaps from which the scan starts where wider ones have no film, m.
const NARROWER_STARTS_M: [f64; 9] = [3e-5, 1.5e-5, 7e-6, 3e-6, 1.5e-6, 8e-7, 4e-7, 2e-7, 1e-7];
/// Share by which the least gap of the widest point may miss what was meant.
const START_TOLERANCE: f64 = 0.25;
/// Times that a soft or strongly coned pair is moved until its least gap is the one meant.
const START_MOVES: usize = 8;
/// Shares of the least gap reached at which a search that was lost starts again, and the share below which the usual starts follow.
const AGAIN: [f64; 2] = [0.65, 0.45];
const AGAIN_BELOW: f64 = 0.4;
/// Share of the least gap reached that a curve must come below to say more than the one before it.
const CLOSER: f64 = 0.9;

/// Why a traced curve does not start wide open.
#[derive(Debug, Clone, PartialEq)]
pub struct Narrowed {
    /// In words.
    pub words: String,
    /// What this makes of a duty without an equilibrium: out of range, not modelled, or not converged where the method failed.
    pub status: Status,
}

impl Narrowed {
    fn by(error: &SearchError) -> Self {
        Self { words: words(error), status: status_of(error) }
    }
}

/// The curve below where it was lost, from the widest narrower start that has a film; none where the curve was not lost or nothing is
/// found further in.
pub(super) fn trace_below(coupled: &Coupled, lost_trace: &Trace, enough_n: f64, work: &mut Work) -> Option<Trace> {
    let status = match lost_trace.end {
        BranchEnd::FluidRange(_) => Status::OutOfRange,
        BranchEnd::NotModelled(_) => Status::NotModelled,
        BranchEnd::Film(_) | BranchEnd::Lost { .. } | BranchEnd::TooManyPoints | BranchEnd::WideOpen => Status::NotConverged,
        BranchEnd::Touching => return None,
    };
    let reached_m = lost_trace.innermost().map_or(WIDE_OPEN_M, |p| least(&p.state.gap_m));
    let usual = NARROWER_STARTS_M.into_iter().filter(|start| *start < AGAIN_BELOW * reached_m);
    let closest = NARROWER_STARTS_M[NARROWER_STARTS_M.len() - 1];
    let beside = AGAIN.map(|share| share * reached_m).into_iter().filter(|start| *start > closest);
    for least_m in beside.chain(usual) {
        if let Ok(first) = opened_to(coupled, least_m, work) {
            let narrowed = Narrowed { words: lost(&lost_trace.end), status };
            let closer = follow(coupled, first, Some(narrowed), enough_n, LONGEST_STEP, work);
            // Each must come closer than the one before, so that the search ends.
            if closer.innermost().is_some_and(|p| least(&p.state.gap_m) < CLOSER * reached_m) {
                return Some(closer);
            }
        }
    }
    None
}

/// The widest point that has a film, and why no wider one has.
pub(super) fn wide_end(coupled: &Coupled, work: &mut Work) -> Result<(BranchPoint, Option<Narrowed>), SearchError> {
    let widest = match opened_to(coupled, WIDE_OPEN_M, work) {
        Ok(point) => return Ok((point, None)),
        Err(error) => error,
    };
    for least_m in NARROWER_STARTS_M {
        if let Ok(point) = opened_to(coupled, least_m, work) {
            return Ok((point, Some(Narrowed::by(&widest))));
        }
    }
    Err(widest)
}

/// The point whose least gap is near `least_m`, found from the unloaded shape.
fn opened_to(coupled: &Coupled, least_m: f64, work: &mut Work) -> Result<BranchPoint, SearchError> {
    let shape = coupled.cold_state(0.0);
    let mut state = coupled.cold_state(least_m - least(&shape.gap_m));
    let mut moves = 0;
    loop {
        let (solved, evaluation, slopes) = fixed_gap(coupled, state, None, work)?;
        let missing_m = least_m - least(&solved.gap_m);
        if missing_m.abs() < START_TOLERANCE * least_m || moves == START_MOVES {
            return Ok(first_point(coupled, solved, &evaluation, &slopes));
        }
        moves += 1;
        state =
            State { inner_gap_m: solved.inner_gap_m + missing_m, gap_m: solved.gap_m.iter().map(|h| h + missing_m).collect(), ..solved };
    }
}
