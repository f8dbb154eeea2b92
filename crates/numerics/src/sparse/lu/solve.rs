use super::super::SparseError;
use super::factor::Lu;
use super::symbolic::Front;

impl Lu {
    /// Solves `A x = b` in place. `rhs` holds any number of right-hand sides one after the other.
    ///
    /// # Errors
    /// A length that is no multiple of the number of unknowns; a factorisation that failed before.
    pub fn solve(&self, rhs: &mut [f64]) -> Result<(), SparseError> {
        self.check(rhs)?;
        let mut x = vec![0.0; self.symbolic.unknowns()];
        for rhs in rhs.chunks_exact_mut(self.symbolic.unknowns()) {
            self.gather(rhs, &mut x);
            for front in &self.symbolic.fronts {
                self.forward(front, &mut x);
            }
            for front in self.symbolic.fronts.iter().rev() {
                self.backward(front, &mut x);
            }
            self.scatter(&x, rhs);
        }
        Ok(())
    }

    /// Solves `A^T x = b` in place, otherwise as [`Lu::solve`].
    ///
    /// # Errors
    /// As [`Lu::solve`].
    pub fn solve_transposed(&self, rhs: &mut [f64]) -> Result<(), SparseError> {
        self.check(rhs)?;
        let mut x = vec![0.0; self.symbolic.unknowns()];
        for rhs in rhs.chunks_exact_mut(self.symbolic.unknowns()) {
            self.gather(rhs, &mut x);
            for front in &self.symbolic.fronts {
                self.forward_transposed(front, &mut x);
            }
            for front in self.symbolic.fronts.iter().rev() {
                self.backward_transposed(front, &mut x);
            }
            self.scatter(&x, rhs);
        }
        Ok(())
    }

    fn gather(&self, rhs: &[f64], x: &mut [f64]) {
        for (x, &unknown) in x.iter_mut().zip(&self.symbolic.original) {
            *x = rhs[unknown as usize];
        }
    }

    fn scatter(&self, x: &[f64], rhs: &mut [f64]) {
        for (x, &unknown) in x.iter().zip(&self.symbolic.original) {
            rhs[unknown as usize] = *x;
        }
    }

    fn panels_of(&self, front: &Front) -> (&[f64], &[f64]) {
        self.panels[front.panel..][..front.panel_entries()].split_at(front.rows() * front.pivots)
    }

    /// `x <- L^-1 x`
    fn forward(&self, front: &Front, x: &mut [f64]) {
        let (left, _) = self.panels_of(front);
        let boundary = self.symbolic.boundary(front);
        for (k, column) in left.chunks_exact(front.rows()).enumerate() {
            let value = x[front.first + k];
            for i in k + 1..front.pivots {
                x[front.first + i] -= column[i] * value;
            }
            for (&position, entry) in boundary.iter().zip(&column[front.pivots..]) {
                x[position as usize] -= entry * value;
            }
        }
    }

    /// `x <- U^-1 x`
    fn backward(&self, front: &Front, x: &mut [f64]) {
        let (left, right) = self.panels_of(front);
        for (column, &position) in right.chunks_exact(front.pivots).zip(self.symbolic.boundary(front)) {
            let value = x[position as usize];
            for (k, entry) in column.iter().enumerate() {
                x[front.first + k] -= entry * value;
            }
        }
        for (k, column) in left.chunks_exact(front.rows()).enumerate().rev() {
            let value = x[front.first + k] / column[k];
            x[front.first + k] = value;
            for i in 0..k {
                x[front.first + i] -= column[i] * value;
            }
        }
    }

    /// `x <- U^-T x`
    fn forward_transposed(&self, front: &Front, x: &mut [f64]) {
        let (left, right) = self.panels_of(front);
        for (k, column) in left.chunks_exact(front.rows()).enumerate() {
            let sum: f64 = (0..k).map(|i| column[i] * x[front.first + i]).sum();
            x[front.first + k] = (x[front.first + k] - sum) / column[k];
        }
        for (column, &position) in right.chunks_exact(front.pivots).zip(self.symbolic.boundary(front)) {
            let sum: f64 = column.iter().zip(&x[front.first..]).map(|(entry, x)| entry * x).sum();
            x[position as usize] -= sum;
        }
    }

    /// `x <- L^-T x`
    fn backward_transposed(&self, front: &Front, x: &mut [f64]) {
        let (left, _) = self.panels_of(front);
        let boundary = self.symbolic.boundary(front);
        for (k, column) in left.chunks_exact(front.rows()).enumerate().rev() {
            let own: f64 = (k + 1..front.pivots).map(|i| column[i] * x[front.first + i]).sum();
            let rest: f64 = boundary.iter().zip(&column[front.pivots..]).map(|(&position, entry)| entry * x[position as usize]).sum();
            x[front.first + k] -= own + rest;
        }
    }
}
