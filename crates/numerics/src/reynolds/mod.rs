//! Two-dimensional films: Reynolds' equation on structured grids.
//!
//! Pressure lives on nodes, gap and conductance on the cells between them, so that a groove edge on a grid line is a
//! true step. Lines may be sheared (log spirals), graded, periodic. Gases are solved by Newton's method on the
//! compressible equation, liquids with mass-conserving cavitation by an active set; both start on nested coarse
//! grids. Every scheme is a sum of flows from node to node: what enters, leaves, to rounding.
//!
//! `div( K (rho grad p - theta rho^2 r W e_r) - rho theta (hT V + sigma phi_s (V1 - V2) / 2) ) = d(rho theta hT)/dt`

mod film;
mod follow;
mod gas;
mod grid;
mod level;
mod linear;
mod liquid;
mod prolong;
mod response;
mod solution;
mod stencil;
mod study;
mod tracked;

pub use film::{DensityLaw, Edge, Edges, Film, FlowFactor, Fluid, Motion, Problem};
pub use follow::Change;
pub use grid::{Grid, Shape, Stretch, graded_lines};
pub use response::Coefficients;
pub use solution::{Field, LevelWork, Profiles, Solution, Totals, Work};
pub use study::{GridStudy, equal_sectors};
pub use tracked::Tracked;

use std::sync::OnceLock;

use crate::sparse::SparseError;
use film::check_array;
use level::Level;

/// Why a film could not be solved.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FilmError {
    /// Lines of a grid do not fit.
    #[error("{what} (given {value:.6e}): change the lines of the film's grid")]
    Grid {
        /// What is required.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// An array of the wrong length.
    #[error("the array of {what} has {got} values, the grid needs {expected}")]
    Length {
        /// Array.
        what: &'static str,
        /// Values needed.
        expected: usize,
        /// Values given.
        got: usize,
    },
    /// A value that no film can have.
    #[error("{what} is {value:.6e} at place {place}: it must be finite and of the right sign")]
    Value {
        /// Quantity.
        what: &'static str,
        /// Place in its array.
        place: usize,
        /// Value.
        value: f64,
    },
    /// A boundary below the cavitation pressure.
    #[error("a boundary at {edge_pa:.6e} Pa lies below the cavitation pressure {cavity_pa:.6e} Pa: there is no liquid to enter")]
    EdgeBelowCavity {
        /// Boundary pressure, Pa.
        edge_pa: f64,
        /// Cavitation pressure, Pa.
        cavity_pa: f64,
    },
    /// No boundary has a pressure.
    #[error("no boundary of the film has a pressure, so its level is undetermined: open one edge")]
    NoPressure,
    /// A linear system without solution.
    #[error("a linear system of the film has no solution: {0}")]
    Factor(#[from] SparseError),
    /// The iteration ended without a solution.
    #[error("the film did not converge in {} iterations: last measure {:.3e}", history.len(), history.last().copied().unwrap_or(f64::NAN))]
    NotConverged {
        /// Gas: greatest residual over greatest flow; liquid: nodes that changed sides. One value an iteration.
        history: Vec<f64>,
        /// Last iterate, on the grid that failed.
        best: Box<Field>,
    },
    /// The response to a small motion did not converge.
    #[error("the response to a small motion did not converge in {steps} steps: residual {residual:.3e}")]
    Response {
        /// Iterations.
        steps: usize,
        /// Relative residual.
        residual: f64,
    },
    /// Tilt on one of two sectors.
    #[error("a tilt cannot be answered on one of two equal sectors: give the full ring")]
    TwoSectors,
    /// A function for one kind of fluid got the other.
    #[error("this needs the other kind of fluid")]
    WrongFluid,
}

/// Relative change of what conducts and drags in a liquid film up to which old factors solve it in fewer steps than new ones are worth; by measurement.
const NEAR: f64 = 1e-3;

/// Solves a film at rest in time, from nested coarse grids or from a `start` on the same grid.
///
/// # Errors
/// Any [`FilmError`]; [`FilmError::NotConverged`] carries history and best iterate.
pub fn solve(problem: &Problem, start: Option<&Field>) -> Result<Solution, FilmError> {
    check(problem)?;
    if let Some(field) = start {
        check_array(&field.pressure_pa, problem.grid.nodes(), "starting pressure (Pa)", |_| true)?;
        check_array(&field.fill, problem.grid.nodes(), "starting fill", |_| true)?;
    }
    match problem.fluid {
        Fluid::Gas { .. } => {
            let level = Level::new(problem, true);
            let solved = gas::solve(problem, &level, start)?;
            Ok(gas_solution(problem, level, solved))
        }
        Fluid::Liquid { .. } => {
            let level = Level::new(problem, false);
            let solved = liquid::solve(problem, &level, start, None)?;
            Ok(liquid_solution(problem, level, solved))
        }
    }
}

/// The same from a solution near the one wanted, on the same grid, whose factors serve again as far as they do.
///
/// # Errors
/// As [`solve`].
pub fn solve_near(problem: &Problem, before: &Solution) -> Result<Solution, FilmError> {
    if before.level.grid != *problem.grid {
        return solve(problem, Some(&before.field));
    }
    check(problem)?;
    match problem.fluid {
        Fluid::Gas { .. } => {
            let mut tracked = Tracked::from(before);
            match tracked.settle(problem).and_then(|()| tracked.finish(problem)) {
                Err(FilmError::NotConverged { .. } | FilmError::Factor(_)) => solve(problem, Some(&before.field)),
                found => found,
            }
        }
        Fluid::Liquid { .. } => {
            let level = Level::new(problem, false);
            let kept = level.is_near(&before.level, NEAR).then(|| before.nearest_factors());
            let solved = liquid::solve(problem, &level, Some(&before.field), kept)?;
            Ok(liquid_solution(problem, level, solved))
        }
    }
}

/// One implicit time step (first order): `problem` is the film at its end, with no rate of the gap; `before` the field and `film_before` the
/// film at its start. The factors of the solution are those of the step: no small motions are answered with them.
///
/// # Errors
/// As [`solve`].
pub fn step(problem: &Problem, before: &Field, film_before: &Film, dt_s: f64) -> Result<Solution, FilmError> {
    check(problem)?;
    film_before.check(problem.grid)?;
    check_array(&before.fill, problem.grid.nodes(), "fill before", |_| true)?;
    check_array(&before.pressure_pa, problem.grid.nodes(), "pressure before (Pa)", |_| true)?;
    check_array(&[dt_s], 1, "time step (s)", |dt| dt > 0.0)?;
    if let Some(laws) = gas::Laws::of(problem) {
        let old_level = Level::new(&Problem { film: film_before, ..problem.clone() }, true);
        let old_mass = gas::mass(&old_level, laws, &before.pressure_pa);
        let (level, solved) = gas::step(problem, Level::new(problem, true), before, &old_mass, dt_s)?;
        return Ok(gas_solution(problem, level, solved));
    }
    let laws = liquid::Laws::of(problem).ok_or(FilmError::WrongFluid)?;
    let old_level = Level::new(&Problem { film: film_before, ..problem.clone() }, false);
    let old_mass = liquid::mass(&old_level, laws, before);
    let level = Level::new(problem, false);
    let solved = liquid::step(problem, &level, before, &old_mass, dt_s)?;
    Ok(liquid_solution(problem, level, solved))
}

fn gas_solution(problem: &Problem, level: Level, solved: gas::Solved) -> Solution {
    let nodes = solved.pressure.len();
    let field = Field { pressure_pa: solved.pressure, fill: vec![1.0; nodes] };
    let full = vec![true; nodes];
    let totals = solution::totals(problem, &level, &field, &solved.residual, &full);
    let (factors, jacobian) = (solved.factors, solved.jacobian);
    Solution { field, totals, work: solved.work, level, factors, own: OnceLock::new(), jacobian, full, scale: 1.0 }
}

fn liquid_solution(problem: &Problem, level: Level, solved: liquid::Solved) -> Solution {
    let totals = solution::totals(problem, &level, &solved.field, &solved.residual, &solved.full);
    let liquid::Solved { field, factors, jacobian, full, scale, work, .. } = solved;
    Solution { field, totals, work, level, factors, own: OnceLock::new(), jacobian, full, scale }
}

fn check(problem: &Problem) -> Result<(), FilmError> {
    problem.film.check(problem.grid)?;
    let Motion { mean, sliding, spin } = problem.motion;
    check_array(&[mean, sliding, spin], 3, "speed (mean, sliding, spin)", |_| true)?;
    let edges = &problem.edges;
    let ends = if problem.grid.periodic() { [Edge::Closed; 2] } else { edges.ends };
    let pressures: Vec<f64> = [edges.inner, edges.outer, ends[0], ends[1]]
        .into_iter()
        .filter_map(|edge| if let Edge::Pressure(pressure) = edge { Some(pressure) } else { None })
        .collect();
    if pressures.is_empty() {
        return Err(FilmError::NoPressure);
    }
    match problem.fluid {
        Fluid::Gas { .. } => check_array(&pressures, pressures.len(), "pressure at a boundary (Pa)", |p| p > 0.0),
        Fluid::Liquid { density_kg_per_m3, cavitation_pressure_pa: cavity_pa } => {
            check_array(density_kg_per_m3, problem.grid.cells(), "density (kg/m3)", |rho| rho > 0.0)?;
            check_array(&[cavity_pa], 1, "cavitation pressure (Pa)", |_| true)?;
            check_array(&pressures, pressures.len(), "pressure at a boundary (Pa)", |_| true)?;
            match pressures.into_iter().find(|&p| p < cavity_pa) {
                Some(edge_pa) => Err(FilmError::EdgeBelowCavity { edge_pa, cavity_pa }),
                None => Ok(()),
            }
        }
    }
}
