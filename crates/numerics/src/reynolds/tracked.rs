//! A gas film tracked through many small changes of its numbers, one Newton step each, on factors as old as they may be.
//!
//! Whoever lets temperatures and pressures settle on each other needs no solved film in between: each change of the arrays is
//! followed by one step, and both settle together.

use std::sync::Arc;

use super::film::Problem;
use super::gas::{self, ENOUGH, FINE, NEAR, assemble, supplied_outside, take, worst};
use super::level::Level;
use super::linear::Factors;
use super::solution::{Solution, Work, column_weights, totals};
use super::{Field, FilmError};

/// Share of the residual before that a step must reach, or factors this many steps old are renewed.
const GAIN: f64 = 0.3;
const OLD: usize = 4;
/// Growth of the residual after which they are renewed whatever their age.
const GROWTH: f64 = 3.0;
/// Steps of [`Tracked::settle`].
const MOST: usize = 40;
/// Residual below which another step changes nothing.
const ROUNDING: f64 = 1e-15;

/// A gas film on its way.
#[derive(Clone, Debug)]
pub struct Tracked {
    level: Level,
    factors: Arc<Factors>,
    pressure: Vec<f64>,
    /// Rests of the pressures beyond their last digit.
    tails: Vec<f64>,
    /// Relative residual before the last step.
    relative: f64,
    /// Steps taken with the factors.
    age: usize,
    work: Work,
}

impl From<&Solution> for Tracked {
    fn from(solution: &Solution) -> Tracked {
        Tracked {
            level: solution.level.clone(),
            factors: solution.nearest_factors().clone(),
            pressure: solution.field.pressure_pa.clone(),
            tails: vec![0.0; solution.field.pressure_pa.len()],
            relative: f64::INFINITY,
            age: 1,
            work: Work::default(),
        }
    }
}

impl Tracked {
    /// One step towards the film of a problem on the same grid; gives the residual before it, over the greatest flow.
    ///
    /// # Errors
    /// [`FilmError::WrongFluid`] for a liquid, [`FilmError::Grid`] on another grid; [`FilmError::NotConverged`] if the pressures are no numbers; [`FilmError::Factor`].
    pub fn correct(&mut self, problem: &Problem) -> Result<f64, FilmError> {
        problem.film.check(problem.grid)?;
        let laws = gas::Laws::of(problem).ok_or(FilmError::WrongFluid)?;
        if problem.grid != &self.level.grid {
            return Err(FilmError::Grid {
                what: "a film is tracked on its own grid; lines across",
                value: problem.grid.across().len() as f64,
            });
        }
        self.level.renew(problem);
        for (p, given) in self.pressure.iter_mut().zip(&self.level.given) {
            if !given.is_nan() {
                *p = *given;
            }
        }
        let state = assemble(&self.level, laws, &self.pressure, &self.tails, false);
        let relative = worst(&self.level, &state.residual) / state.greatest.max(f64::MIN_POSITIVE);
        if !relative.is_finite() {
            return Err(self.lost(relative));
        }
        let before = std::mem::replace(&mut self.relative, relative);
        if relative <= ROUNDING {
            return Ok(relative);
        }
        let slow = self.age >= OLD && relative > GAIN * before && relative > FINE;
        let far = self.age > 0 && relative > NEAR || relative > GROWTH * before && relative > ENOUGH;
        if slow || far {
            if let Some(jacobian) = assemble(&self.level, laws, &self.pressure, &self.tails, true).jacobian {
                self.factors = self.factors.again(&jacobian)?;
            }
            self.work.factorisations += 1;
            self.age = 0;
        }
        let mut step: Vec<f64> = state.residual.iter().map(|r| -r).collect();
        self.factors.solve(&mut step)?;
        take(&step, &mut self.pressure, &mut self.tails);
        self.age += 1;
        self.work.steps += 1;
        Ok(relative)
    }

    /// Steps until the film of one problem is solved.
    ///
    /// # Errors
    /// As [`Tracked::correct`]; [`FilmError::NotConverged`] after too many steps.
    pub fn settle(&mut self, problem: &Problem) -> Result<(), FilmError> {
        let mut before = f64::INFINITY;
        for _ in 0..MOST {
            let relative = self.correct(problem)?;
            if relative <= FINE || relative <= ENOUGH && relative > 0.5 * before {
                return Ok(());
            }
            before = relative;
        }
        Err(self.lost(before))
    }

    fn lost(&self, relative: f64) -> FilmError {
        FilmError::NotConverged { history: vec![relative], best: Box::new(self.field()) }
    }

    /// Where the last step led.
    pub fn field(&self) -> Field {
        Field { pressure_pa: self.pressure.clone(), fill: vec![1.0; self.pressure.len()] }
    }

    /// Steps taken so far.
    pub fn steps(&self) -> usize {
        self.work.steps
    }

    /// Mean pressure of each line across, Pa.
    pub fn mean_pressure_pa(&self) -> Vec<f64> {
        let weights = column_weights(&self.level);
        let whole: f64 = weights.iter().sum();
        let mean = |line: &[f64]| line.iter().zip(&weights).map(|(p, w)| p * w).sum::<f64>() / whole;
        self.pressure.chunks(weights.len()).map(mean).collect()
    }

    /// Mean shear stress by the pressure gradient of each layer, on the smooth face against its motion, Pa.
    pub fn gradient_shear_pa(&self, problem: &Problem) -> Vec<f64> {
        let grid = &self.level.grid;
        let span = grid.along()[grid.columns()] - grid.along()[0];
        (0..grid.rows())
            .map(|i| {
                let layer = &grid.layers()[i];
                let cell = |j: usize| {
                    let p = self.level.corners(i, j).map(|node| self.pressure[node]);
                    0.5 * problem.film.gap_m[grid.cell(i, j)] * ((p[1] - p[0]) * layer.area[0] + (p[3] - p[2]) * layer.area[1])
                };
                (0..grid.columns()).map(cell).sum::<f64>() / (span * (layer.moment[0] + layer.moment[1]))
            })
            .collect()
    }

    /// Enters through the outer line, whole ring, kg/s.
    ///
    /// # Errors
    /// [`FilmError::WrongFluid`] for a liquid.
    pub fn outer_flow_kg_per_s(&self, problem: &Problem) -> Result<f64, FilmError> {
        let laws = gas::Laws::of(problem).ok_or(FilmError::WrongFluid)?;
        Ok(self.level.grid.sectors() as f64 * supplied_outside(&self.level, laws, &self.pressure, &self.tails))
    }

    /// The solution where the last step led.
    ///
    /// # Errors
    /// [`FilmError::NotConverged`] if it is none.
    pub fn finish(self, problem: &Problem) -> Result<Solution, FilmError> {
        let laws = gas::Laws::of(problem).ok_or(FilmError::WrongFluid)?;
        let state = assemble(&self.level, laws, &self.pressure, &self.tails, true);
        let relative = worst(&self.level, &state.residual) / state.greatest.max(f64::MIN_POSITIVE);
        let field = self.field();
        let jacobian = match state.jacobian {
            Some(jacobian) if relative <= ENOUGH => jacobian,
            _ => return Err(FilmError::NotConverged { history: vec![relative], best: Box::new(field) }),
        };
        let full = vec![true; self.pressure.len()];
        let totals = totals(problem, &self.level, &field, &state.residual, &full);
        let Tracked { level, factors, work, .. } = self;
        Ok(Solution { field, totals, work, level, factors, own: Default::default(), jacobian, full, scale: 1.0 })
    }
}
