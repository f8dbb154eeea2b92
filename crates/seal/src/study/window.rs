//! Two numbers of a case varied over a grid, row by row, each point started from its neighbour.

use super::StudyError;
use super::sweep::SweepPoint;
use super::vary::Varied;
use crate::model::Model;
use crate::outcome::Status;
use crate::point::{Options, State};

/// Complete search where no neighbour has a film to start from.
const SEARCH: Options = Options { search: true, ranges: false, fields: false, margins: false };

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
        let mut start = above.take();
        for (index, value) in across.values.iter().enumerate() {
            varied.set(&[(down, *row), (&across.path, *value)])?;
            let (point, state) = solve_point(&varied, start.as_ref());
            points.push(point);
            if index == 0 {
                above.clone_from(&state);
            }
            start = state;
        }
        solved.push(points);
    }
    Ok(solved)
}

fn solve_point(varied: &Varied, start: Option<&State>) -> (WindowPoint, Option<State>) {
    if let Some(start) = start
        && let (outcome, Some(state)) = varied.prepared().follow(varied.duty(), start)
    {
        let point = outcome.chosen.and_then(|index| outcome.equilibria.get(index)).map(SweepPoint::of);
        return (WindowPoint { status: outcome.status, followed: true, point }, Some(state));
    }
    let (outcome, state) = varied.prepared().solve_with(varied.duty(), None, SEARCH);
    let point = outcome.chosen.and_then(|index| outcome.equilibria.get(index)).map(SweepPoint::of);
    (WindowPoint { status: outcome.status, followed: false, point }, state)
}
