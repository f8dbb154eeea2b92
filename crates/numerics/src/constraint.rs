//! A small dense stiffness with pins, ties and jumps.
//!
//! After a body is reduced to a few unknowns, what holds it is applied here: pins (`u = 0`), ties (`u_b = u_a`) and jumps
//! (`u_b = u_a + d`) that can be released when they would pull.

use faer::linalg::solvers::{Llt, Solve};
use faer::{Mat, MatRef, Side};

/// Constraints between the unknowns of a reduced body, by their numbers.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Constraints {
    /// Unknowns held at zero.
    pub pins: Vec<usize>,
    /// Pairs `[a, b]` with `u_b = u_a`.
    pub ties: Vec<[usize; 2]>,
    /// Pairs `[a, b]` with `u_b = u_a + d` while closed.
    pub jumps: Vec<[usize; 2]>,
}

/// Why the constrained body has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ConstraintError {
    /// The constraints leave a motion without stiffness.
    #[error("the reduced stiffness of {size} unknowns is singular: part of the body can move freely")]
    Singular {
        /// Free unknowns.
        size: usize,
    },
    /// The one-sided contacts open and close without end.
    #[error("{jumps} one-sided contacts did not settle in {rounds} rounds")]
    Unsettled {
        /// Number of contacts.
        jumps: usize,
        /// Rounds tried.
        rounds: usize,
    },
}

/// Response of the constrained body: `u = matrix f + jump d`.
#[derive(Debug, Clone, PartialEq)]
pub struct Compliance {
    /// Displacement per load, all unknowns, symmetric.
    pub matrix: Mat<f64>,
    /// Displacement per unit jump; columns of released jumps are zero.
    pub jump: Mat<f64>,
}

/// Flexibility of the jumps of a body, by which contact opens and closes.
///
/// With gap `g = g0 + A f`, contact without friction asks `g >= 0`, `f >= 0`, `g f = 0`: a linear complementarity problem with a
/// positive definite matrix, which has one solution.
#[derive(Debug, Clone, PartialEq)]
pub struct OneSided {
    /// Opening of each jump per force in each, all others open.
    flexibility: Mat<f64>,
}

impl OneSided {
    /// Flexibility from the compliance with every jump released.
    pub fn new(constraints: &Constraints, released: &Compliance) -> Self {
        let c = &released.matrix;
        let jumps = &constraints.jumps;
        let flexibility = Mat::from_fn(jumps.len(), jumps.len(), |i, j| {
            let ([a, b], [p, q]) = (jumps[i], jumps[j]);
            c[(b, q)] - c[(b, p)] - c[(a, q)] + c[(a, p)]
        });
        Self { flexibility }
    }

    /// Which jumps close when their gaps would be `gap` with all of them open; those not in `may_close` stay open.
    ///
    /// Every violated contact is changed at once (the primal-dual active set: Hintermueller, Ito and Kunisch, SIAM J. Optim. 13
    /// (2002) 865); should that circle, only the last violated one (Murty's least-index rule, which ends for this matrix).
    ///
    /// # Errors
    /// [`ConstraintError`] when two contacts act on the same motion or rounding keeps them from settling.
    pub fn closed(&self, gap: &[f64], may_close: &[bool], start: &[bool]) -> Result<Vec<bool>, ConstraintError> {
        const TOGETHER: usize = 15;
        const LIMIT: usize = 400;
        let jumps = gap.len();
        let slack = 1e-10 * gap.iter().fold(0.0_f64, |most, g| most.max(g.abs()));
        let mut flags: Vec<bool> = (0..jumps).map(|k| start[k] && may_close[k]).collect();
        for round in 0..LIMIT {
            let force = self.forces(gap, &flags)?;
            let violated: Vec<usize> = (0..jumps)
                .filter(|k| {
                    let opening = gap[*k] + (0..jumps).map(|j| self.flexibility[(*k, j)] * force[j]).sum::<f64>();
                    if flags[*k] { force[*k] * self.flexibility[(*k, *k)] < -slack } else { may_close[*k] && opening < -slack }
                })
                .collect();
            let change = if round < TOGETHER { &violated[..] } else { &violated[violated.len().saturating_sub(1)..] };
            if change.is_empty() {
                return Ok(flags);
            }
            change.iter().for_each(|k| flags[*k] = !flags[*k]);
        }
        Err(ConstraintError::Unsettled { jumps, rounds: LIMIT })
    }

    /// Forces that hold the closed jumps at zero gap.
    fn forces(&self, gap: &[f64], flags: &[bool]) -> Result<Vec<f64>, ConstraintError> {
        let closed: Vec<usize> = (0..gap.len()).filter(|k| flags[*k]).collect();
        let mut force = vec![0.0; gap.len()];
        if closed.is_empty() {
            return Ok(force);
        }
        let matrix = Mat::from_fn(closed.len(), closed.len(), |i, j| self.flexibility[(closed[i], closed[j])]);
        let factor = Llt::new(matrix.as_ref(), Side::Lower).map_err(|_| ConstraintError::Singular { size: closed.len() })?;
        let solved = factor.solve(Mat::from_fn(closed.len(), 1, |i, _| -gap[closed[i]]));
        closed.iter().enumerate().for_each(|(i, k)| force[*k] = solved[(i, 0)]);
        Ok(force)
    }
}

impl Constraints {
    /// Compliance with the jumps marked `closed` in force.
    ///
    /// # Errors
    /// [`ConstraintError::Singular`] when the body can still move.
    pub fn compliance(&self, stiffness: MatRef<'_, f64>, closed: &[bool]) -> Result<Compliance, ConstraintError> {
        let size = stiffness.nrows();
        let column = self.free_columns(size, closed);
        let free = column.iter().flatten().max().map_or(0, |c| c + 1);
        let mut reduced = Mat::<f64>::zeros(free, free);
        for j in 0..size {
            let Some(cj) = column[j] else { continue };
            for i in 0..size {
                if let Some(ci) = column[i] {
                    reduced[(ci, cj)] += stiffness[(i, j)];
                }
            }
        }
        let factor = Llt::new(reduced.as_ref(), Side::Lower).map_err(|_| ConstraintError::Singular { size: free })?;
        let inverse = factor.solve(Mat::<f64>::identity(free, free));
        let matrix = Mat::from_fn(size, size, |i, j| match (column[i], column[j]) {
            (Some(ci), Some(cj)) => 0.5 * (inverse[(ci, cj)] + inverse[(cj, ci)]),
            _ => 0.0,
        });
        let jump = self.jump_response(stiffness, matrix.as_ref(), closed);
        Ok(Compliance { matrix, jump })
    }

    /// Number of the free unknown that each unknown follows; none when pinned.
    fn free_columns(&self, size: usize, closed: &[bool]) -> Vec<Option<usize>> {
        let mut master: Vec<usize> = (0..size).collect();
        let root = |master: &[usize], mut k: usize| {
            while master[k] != k {
                k = master[k];
            }
            k
        };
        let closed_jumps = self.jumps.iter().zip(closed).filter(|(_, closed)| **closed).map(|(pair, _)| pair);
        for [a, b] in self.ties.iter().chain(closed_jumps) {
            let (ra, rb) = (root(&master, *a), root(&master, *b));
            master[ra.max(rb)] = ra.min(rb);
        }
        let pinned: Vec<usize> = self.pins.iter().map(|pin| root(&master, *pin)).collect();
        let mut numbers: Vec<Option<usize>> = vec![None; size];
        let mut next = 0;
        for k in 0..size {
            if root(&master, k) == k && !pinned.contains(&k) {
                numbers[k] = Some(next);
                next += 1;
            }
        }
        (0..size).map(|k| numbers[root(&master, k)]).collect()
    }

    /// Displacements of unit jumps: the far side moved by one, and the body's answer to the forces that this takes.
    fn jump_response(&self, stiffness: MatRef<'_, f64>, compliance: MatRef<'_, f64>, closed: &[bool]) -> Mat<f64> {
        let size = stiffness.nrows();
        let mut moved = Mat::<f64>::zeros(size, self.jumps.len());
        for (k, ([_, b], closed)) in self.jumps.iter().zip(closed).enumerate() {
            if *closed {
                moved[(*b, k)] = 1.0;
            }
        }
        let forces = stiffness * &moved;
        let answer = compliance * &forces;
        &moved - &answer
    }
}
