use super::super::SparseError;
use super::factor::Lu;
use super::kernels::{Step, Substitute};
use super::symbolic::Front;

impl Lu {
    /// Solves `A x = b` in place. `rhs` holds any number of right-hand sides one after the other; several at once
    /// cost less than one by one.
    ///
    /// # Errors
    /// A length that is no multiple of the number of unknowns; a factorisation that failed before.
    pub fn solve(&self, rhs: &mut [f64]) -> Result<(), SparseError> {
        self.substitute(rhs, [Step::Forward, Step::Backward])
    }

    /// Solves `A^T x = b` in place, otherwise as [`Lu::solve`].
    ///
    /// # Errors
    /// As [`Lu::solve`].
    pub fn solve_transposed(&self, rhs: &mut [f64]) -> Result<(), SparseError> {
        self.substitute(rhs, [Step::ForwardTransposed, Step::BackwardTransposed])
    }

    fn substitute(&self, rhs: &mut [f64], [up, down]: [Step; 2]) -> Result<(), SparseError> {
        self.check(rhs)?;
        let unknowns = self.symbolic.unknowns();
        let mut x = vec![0.0; rhs.len()];
        for (x, rhs) in x.chunks_exact_mut(unknowns).zip(rhs.chunks_exact(unknowns)) {
            for (x, &unknown) in x.iter_mut().zip(&self.symbolic.original) {
                *x = rhs[unknown as usize];
            }
        }
        let mut space = Vec::with_capacity(self.symbolic.work().largest_front * (rhs.len() / unknowns));
        for front in &self.symbolic.fronts {
            self.up(front, up, &mut x, &mut space);
        }
        for front in self.symbolic.fronts.iter().rev() {
            self.down(front, down, &mut x, &mut space);
        }
        for (x, rhs) in x.chunks_exact(unknowns).zip(rhs.chunks_exact_mut(unknowns)) {
            for (x, &unknown) in x.iter().zip(&self.symbolic.original) {
                rhs[unknown as usize] = *x;
            }
        }
        Ok(())
    }

    /// From the pivots of a front to its boundary.
    fn up(&self, front: &Front, step: Step, x: &mut [f64], space: &mut Vec<f64>) {
        let own = front.first..front.first + front.pivots;
        space.clear();
        for x in x.chunks_exact(self.symbolic.unknowns()) {
            space.extend_from_slice(&x[own.clone()]);
            space.resize(space.len() + front.stride(), 0.0);
        }
        self.step(front, step, space);
        for (x, values) in x.chunks_exact_mut(self.symbolic.unknowns()).zip(space.chunks_exact(front.rows())) {
            let (pivots, rest) = values.split_at(front.pivots);
            x[own.clone()].copy_from_slice(pivots);
            for (&position, value) in self.symbolic.boundary(front).iter().zip(rest) {
                x[position as usize] += value;
            }
        }
    }

    /// From the boundary of a front to its pivots.
    fn down(&self, front: &Front, step: Step, x: &mut [f64], space: &mut Vec<f64>) {
        let own = front.first..front.first + front.pivots;
        let padding = front.stride() - front.boundary.len();
        space.clear();
        for x in x.chunks_exact(self.symbolic.unknowns()) {
            space.extend_from_slice(&x[own.clone()]);
            space.extend(self.symbolic.boundary(front).iter().map(|&position| x[position as usize]));
            space.resize(space.len() + padding, 0.0);
        }
        self.step(front, step, space);
        for (x, values) in x.chunks_exact_mut(self.symbolic.unknowns()).zip(space.chunks_exact(front.rows())) {
            x[own.clone()].copy_from_slice(&values[..front.pivots]);
        }
    }

    fn step(&self, front: &Front, step: Step, values: &mut [f64]) {
        let (rows, pivots) = (front.rows(), front.pivots);
        let (left, right) = self.panels[front.panel..][..front.panel_entries()].split_at(rows * pivots);
        Substitute { step, left, right, rows, pivots, values }.run(self.arch);
    }
}
