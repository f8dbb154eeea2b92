//! Why there is no equilibrium, with an inequality that the traced curve lets anybody check.

use super::branch::{BranchEnd, BranchPoint, SearchError, TOUCHING_ROUGHNESSES, Trace, least};
use super::setting::{Setting, Solved};
use crate::film::FilmError;
use crate::outcome::{Status, TracePoint};

/// The traced curve for the reader, as far as the statistics of the faces go.
pub(super) fn trace_points(trace: &Trace, setting: &Setting) -> Vec<TracePoint> {
    inside(trace, TOUCHING_ROUGHNESSES * setting.contact.roughness_m)
        .map(|p| TracePoint {
            inner_gap_m: p.state.inner_gap_m,
            minimum_gap_m: least(&p.state.gap_m),
            opening_force_n: p.opening_force_n + setting.reported_shift_n,
            closing_force_n: setting.closing_force_n + setting.reported_shift_n,
        })
        .collect()
}

/// Points of the trace within the statistics of the faces.
fn inside(trace: &Trace, end_m: f64) -> impl Iterator<Item = &BranchPoint> {
    trace.points.iter().filter(move |p| least(&p.state.gap_m) >= end_m)
}

/// A film that leaves the range of its fluid is out of range, one of a kind that is known is not modelled; anything else is the method's own
/// failure.
pub(super) fn status_of(error: &SearchError) -> Status {
    match error {
        SearchError::Film(FilmError::Property(_)) => Status::OutOfRange,
        SearchError::Film(error) if error.is_not_modelled() => Status::NotModelled,
        _ => Status::NotConverged,
    }
}

/// "None", with an inequality that the trace lets anybody check.
pub(super) fn no_equilibrium(solved: &Solved, trace: Option<&Trace>, failures: &[SearchError]) -> (Status, String) {
    let closing = solved.setting.closing_force_n + solved.setting.reported_shift_n;
    let Some(trace) = trace else {
        return (
            failures.first().map_or(Status::NotConverged, status_of),
            format!(
                "no film could be solved, neither wide open nor narrow: {}",
                failures.first().map_or_else(|| "no reason recorded".to_owned(), words)
            ),
        );
    };
    let end_m = TOUCHING_ROUGHNESSES * solved.setting.contact.roughness_m;
    let forces = || inside(trace, end_m).map(|p| p.opening_force_n + solved.setting.reported_shift_n);
    let (low, high) = (forces().fold(f64::INFINITY, f64::min), forces().fold(f64::NEG_INFINITY, f64::max));
    let gaps = || inside(trace, end_m).map(|p| 1e6 * least(&p.state.gap_m));
    let widest = gaps().next().unwrap_or(f64::NAN);
    let last_gap = match trace.end {
        BranchEnd::WideOpen => gaps().fold(f64::INFINITY, f64::min),
        _ => gaps().last().unwrap_or(f64::NAN),
    };
    match (&trace.end, &trace.narrowed) {
        (BranchEnd::Touching, None) if low > closing => (
            Status::NoneFacesPart,
            format!(
                "the faces part: over the whole scan, from {widest:.0} um to {last_gap:.2} um least gap, the opening force is at least {low:.1} N, above closing {closing:.1} N"
            ),
        ),
        (BranchEnd::Touching, Some(narrowed)) if low > closing => (
            narrowed.status,
            format!(
                "from {widest:.2} um to {last_gap:.2} um least gap the opening force is at least {low:.1} N, above closing {closing:.1} N, and no wider film could be computed: {}",
                narrowed.words
            ),
        ),
        (BranchEnd::Touching, _) if high < closing => (
            Status::NoneFacesTouch,
            format!(
                "the faces touch beyond the model: the greatest opening force of the scan down to {:.1} roughnesses ({:.2} um), {high:.1} N, stays below closing {closing:.1} N{}",
                TOUCHING_ROUGHNESSES,
                1e6 * end_m,
                trace.narrowed.as_ref().map_or_else(String::new, |narrowed| format!(
                    "; films wider than {widest:.2} um could not be computed: {}",
                    narrowed.words
                ))
            ),
        ),
        (BranchEnd::FluidRange(reason), _) => (
            Status::OutOfRange,
            format!(
                "no film was met before the film left the range of the fluid at {last_gap:.3} um least gap (opening force {high:.1} N, closing {closing:.1} N): {reason}"
            ),
        ),
        (BranchEnd::NotModelled(reason), _) => (
            Status::NotModelled,
            format!(
                "no film was met down to {last_gap:.3} um least gap (opening force {low:.1} to {high:.1} N, closing {closing:.1} N); narrower: {reason}"
            ),
        ),
        (end, _) => (
            // A crossing was seen, and why it could not be solved is known.
            match (end, failures.first()) {
                (BranchEnd::WideOpen | BranchEnd::Touching, Some(failure)) => status_of(failure),
                _ => Status::NotConverged,
            },
            format!(
                "the curve was lost at {last_gap:.3} um least gap ({}); opening force seen {low:.1} to {high:.1} N, closing {closing:.1} N{}",
                lost(end),
                failures.first().map_or_else(String::new, |f| format!("; {}", words(f)))
            ),
        ),
    }
}

/// Why the film in which the faces come to rest was not found, where the curve was lost while they still closed.
pub(super) fn closed_film_lost(solved: &Solved, trace: &Trace) -> (Status, String) {
    let shift = solved.setting.reported_shift_n;
    let last = trace.innermost();
    let status = match trace.end {
        BranchEnd::FluidRange(_) => Status::OutOfRange,
        BranchEnd::NotModelled(_) => Status::NotModelled,
        _ => Status::NotConverged,
    };
    let words = format!(
        "at {:.3} um least gap, where the search ended, the opening force is {:.1} N and closing {:.1} N: the faces go on closing to a film that \
         was not found ({})",
        last.map_or(f64::NAN, |point| 1e6 * least(&point.state.gap_m)),
        last.map_or(f64::NAN, |point| point.opening_force_n + shift),
        solved.setting.closing_force_n + shift,
        lost(&trace.end)
    );
    (status, words)
}

pub(super) fn lost(end: &BranchEnd) -> String {
    match end {
        BranchEnd::Film(reason) | BranchEnd::NotModelled(reason) => reason.clone(),
        BranchEnd::Lost { residual } => format!("no step of the curve converges, last residual {residual:.1e}"),
        BranchEnd::TooManyPoints => "the curve has more points than are followed".to_owned(),
        BranchEnd::WideOpen => "the curve opens again".to_owned(),
        BranchEnd::Touching => "a crossing seen could not be solved".to_owned(),
        BranchEnd::FluidRange(reason) => reason.clone(),
    }
}

/// A failed search in words.
pub(super) fn words(error: &SearchError) -> String {
    match error {
        SearchError::Film(error) => error.to_string(),
        SearchError::NotConverged(history) => {
            format!("{} iterations, last residual {:.1e}", history.len(), history.last().copied().unwrap_or(f64::NAN))
        }
    }
}
