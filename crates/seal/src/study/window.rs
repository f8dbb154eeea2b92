//! Two numbers of a case varied over a grid, row by row, each point started from its neighbour.

use super::StudyError;
use super::sweep::SweepPoint;
use super::vary::Varied;
use crate::model::Model;
use crate::outcome::Status;
use crate::point::vary::{SAME_BRANCH, alike, between};
use crate::point::{Options, State};

/// Step of a row over the one before up to which a start is laid straight through the last two points.
const LONGEST_SHARE: f64 = 1.5;
/// Complete search where no neighbour has a film to start from.
const SEARCH: Options = Options { search: true, ranges: false, fields: false, margins: false, at_rest: false, waves: false };

/// One side of the grid.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// Path of the number.
    pub path: String,
    /// Values, SI and absolute pressure.
    pub values: Vec<f64>,
}

/// One point of the grid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindowPoint {
    /// How it ended.
    pub status: Status,
    /// Whether its film was followed from a neighbour; otherwise it is the one nearest to closed faces.
    pub followed: bool,
    /// Its numbers, where there is a film.
    pub point: Option<SweepPoint>,
}

/// Solve the grid of two numbers at one duty: a row of `across` for each value of `down`, rows shared out among `threads`.
///
/// # Errors
/// [`StudyError`] as of a sweep.
pub fn window(model: &Model, duty: &str, across: &Axis, down: &Axis, threads: usize) -> Result<Vec<Vec<WindowPoint>>, StudyError> {
    for axis in [across, down] {
        if axis.values.len() < 2 {
            return Err(StudyError::Count { count: axis.values.len() });
        }
    }
    let varied = Varied::new(model, duty)?;
    let share = down.values.len().div_ceil(threads.max(1));
    let shares = std::thread::scope(|scope| {
        let running: Vec<_> = down
            .values
            .chunks(share)
            .map(|rows| {
                let varied = varied.clone();
                scope.spawn(move || solve_rows(varied, across, &down.path, rows))
            })
            .collect();
        running.into_iter().map(|thread| thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))).collect::<Vec<_>>()
    });
    shares.into_iter().collect::<Result<Vec<_>, _>>().map(|shares| shares.into_iter().flatten().collect())
}

fn solve_rows(mut varied: Varied, across: &Axis, down: &str, rows: &[f64]) -> Result<Vec<Vec<WindowPoint>>, StudyError> {
    let mut solved = Vec::with_capacity(rows.len());
    let mut above: Option<State> = None;
    for row in rows {
        let mut points = Vec::with_capacity(across.values.len());
        let mut neighbours: Vec<(f64, State)> = above.take().map(|state| (f64::NAN, state)).into_iter().collect();
        for (index, value) in across.values.iter().enumerate() {
            varied.set(&[(down, *row), (&across.path, *value)])?;
            let (point, state) = solve_point(&varied, *value, &neighbours);
            points.push(point);
            if index == 0 {
                above.clone_from(&state);
            }
            match state {
                // A film that was found anew has no direction yet.
                Some(state) if point.followed => {
                    neighbours.push((*value, state));
                    let old = neighbours.len().saturating_sub(2);
                    neighbours.drain(..old);
                }
                Some(state) => neighbours = vec![(*value, state)],
                None => neighbours.clear(),
            }
        }
        solved.push(points);
    }
    Ok(solved)
}

/// A start at a value, straight through the last two neighbours of a row; none where there are no two of one film.
fn extrapolated(neighbours: &[(f64, State)], value: f64, roughness_m: f64) -> Option<State> {
    let [.., (a, before), (b, last)] = neighbours else { return None };
    let share = (value - b) / (b - a);
    ((0.0..=LONGEST_SHARE).contains(&share) && alike(before, last, roughness_m, SAME_BRANCH)).then(|| between(before, last, share))
}

fn solve_point(varied: &Varied, value: f64, neighbours: &[(f64, State)]) -> (WindowPoint, Option<State>) {
    let last = neighbours.last().map(|(_, state)| state);
    for start in [extrapolated(neighbours, value, varied.roughness_m()).as_ref(), last].into_iter().flatten() {
        if let (outcome, Some(state)) = varied.prepared().follow(varied.duty(), start) {
            let point = outcome.chosen.and_then(|index| outcome.equilibria.get(index)).map(SweepPoint::of);
            return (WindowPoint { status: outcome.status, followed: true, point }, Some(state));
        }
    }
    let (outcome, state) = varied.prepared().solve_with(varied.duty(), None, SEARCH);
    let point = outcome.chosen.and_then(|index| outcome.equilibria.get(index)).map(SweepPoint::of);
    (WindowPoint { status: outcome.status, followed: false, point }, state)
}
