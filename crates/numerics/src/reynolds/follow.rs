//! How a solved film follows changes of its arrays: linear, with the factors at hand.
//!
//! A change of anything makes a net outflow of the field as it stands ([`Solution::outflow`] of the changed film less that of
//! the solved one); the field that undoes it ([`Solution::undo`]) is the change of the film.

use super::film::{Fluid, Problem};
use super::level::Level;
use super::solution::Solution;
use super::{FilmError, gas, liquid};

/// Change of a film: of a field and of the flows at the first and last line across.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Change of pressure at each node, Pa.
    pub pressure_pa: Vec<f64>,
    /// Change of fill at each node.
    pub fill: Vec<f64>,
    /// Change of what leaves through the inner line, whole ring, kg/s.
    pub inner_flow_kg_per_s: f64,
    /// Change of what enters through the outer line, whole ring, kg/s.
    pub outer_flow_kg_per_s: f64,
}

impl Solution {
    /// Net outflow of every node (kg/s, one sector) with the field of this solution under a film, motion or fluid that may differ from
    /// those solved, on the same grid; at given nodes the supply.
    ///
    /// # Errors
    /// [`FilmError`]: arrays that do not fit.
    pub fn outflow(&self, problem: &Problem) -> Result<Vec<f64>, FilmError> {
        problem.film.check(problem.grid)?;
        let level = Level::new(problem, matches!(problem.fluid, Fluid::Gas { .. }));
        let tails = vec![0.0; self.field.pressure_pa.len()];
        match problem.fluid {
            Fluid::Gas { .. } => {
                let laws = gas::Laws::of(problem).ok_or(FilmError::WrongFluid)?;
                Ok(gas::assemble(&level, laws, &self.field.pressure_pa, &tails, false).residual)
            }
            Fluid::Liquid { .. } => {
                let laws = liquid::Laws::of(problem).ok_or(FilmError::WrongFluid)?;
                Ok(liquid::net_outflow(&level, laws, &self.field))
            }
        }
    }

    /// What undoes changes of the net outflow, each given at every node (kg/s, one sector), all solved in one pass.
    ///
    /// # Errors
    /// [`FilmError::Factor`].
    pub fn undo(&self, outflows: &[Vec<f64>]) -> Result<Vec<Change>, FilmError> {
        let mut steps: Vec<Vec<f64>> = outflows.iter().map(|outflow| outflow.iter().map(|r| -r).collect()).collect();
        self.own_factors()?.solve_all(&mut steps)?;
        Ok(steps.iter().zip(outflows).map(|(step, outflow)| self.change(step, outflow)).collect())
    }

    fn change(&self, step: &[f64], outflow: &[f64]) -> Change {
        let grid = &self.level.grid;
        let (wide, lines) = (grid.nodes_along(), grid.across().len());
        let line = |i: usize| {
            grid.sectors() as f64 * (i * wide..(i + 1) * wide).map(|node| self.jacobian.row_times(node, step) + outflow[node]).sum::<f64>()
        };
        let of = |pressure: bool| -> Vec<f64> {
            let scale = if pressure { self.scale } else { 1.0 };
            step.iter().zip(&self.full).map(|(x, full)| if *full == pressure { scale * x } else { 0.0 }).collect()
        };
        Change { pressure_pa: of(true), fill: of(false), inner_flow_kg_per_s: -line(0), outer_flow_kg_per_s: line(lines - 1) }
    }
}
