use faer::{Mat, MatRef};

use super::bundle::Bundle;
use super::kernels::{Backward, Eliminate, Forward};
use super::symbolic::FIXED;
use super::{Factor, SparseError};

/// Numbers in a cache line.
const LINE: usize = 8;

impl Factor {
    /// Solves `K x = b` for every column of `rhs`, in place; rows are the unknowns in the mesh's
    /// numbering. Rows of fixed unknowns are set to zero.
    ///
    /// # Errors
    /// A wrong number of rows; a trailing block that is not positive definite.
    pub fn solve(&self, rhs: &mut Mat<f64>) -> Result<(), SparseError> {
        self.check_rows(rhs.nrows(), self.symbolic.unknowns)?;
        let mut columns = self.gather(rhs.as_ref());
        self.forward_columns(&mut columns);
        if self.symbolic.trailing > 0 {
            self.solve_trailing(&mut columns)?;
        }
        self.backward_columns(&mut columns);
        self.scatter(&columns, rhs);
        Ok(())
    }

    /// Solves `K_II x_I = b_I` for every column of `rhs`, in place, trailing unknowns held at zero.
    ///
    /// # Errors
    /// A wrong number of rows.
    pub fn solve_interior(&self, rhs: &mut Mat<f64>) -> Result<(), SparseError> {
        self.check_rows(rhs.nrows(), self.symbolic.unknowns)?;
        let mut columns = self.gather(rhs.as_ref());
        columns.trailing_mut(self.symbolic.interior).fill(0.0);
        self.forward_columns(&mut columns);
        columns.trailing_mut(self.symbolic.interior).fill(0.0);
        self.backward_columns(&mut columns);
        self.scatter(&columns, rhs);
        Ok(())
    }

    /// Solves `K_II x_I = b_I - K_IB x_B` for every column of `rhs`, in place, with the trailing unknowns held at `trailing` (one row
    /// each, one column a right-hand side).
    ///
    /// # Errors
    /// A wrong number of rows or columns.
    pub fn solve_held(&self, rhs: &mut Mat<f64>, trailing: MatRef<'_, f64>) -> Result<(), SparseError> {
        self.check_rows(rhs.nrows(), self.symbolic.unknowns)?;
        self.check_rows(trailing.nrows(), self.symbolic.trailing)?;
        self.check_rows(trailing.ncols(), rhs.ncols())?;
        let mut columns = self.gather(rhs.as_ref());
        self.forward_columns(&mut columns);
        let stride = columns.stride;
        let target = columns.trailing_mut(self.symbolic.interior);
        for row in 0..trailing.nrows() {
            for column in 0..trailing.ncols() {
                target[row * stride + column] = trailing[(row, column)];
            }
        }
        self.backward_columns(&mut columns);
        self.scatter(&columns, rhs);
        Ok(())
    }

    /// Static extension of trailing values into the interior, `x_I = -K_II^-1 K_IB x_B`: one row per
    /// trailing unknown in, one row per unknown of the mesh out (trailing rows hold the values given,
    /// fixed rows zero).
    ///
    /// # Errors
    /// A wrong number of rows.
    pub fn extend(&self, trailing: MatRef<'_, f64>) -> Result<Mat<f64>, SparseError> {
        self.check_rows(trailing.nrows(), self.symbolic.trailing)?;
        let mut columns = Bundle::zeros(self, trailing.ncols());
        let stride = columns.stride;
        let target = columns.trailing_mut(self.symbolic.interior);
        for column in 0..trailing.ncols() {
            for row in 0..trailing.nrows() {
                target[row * stride + column] = trailing[(row, column)];
            }
        }
        self.backward_columns(&mut columns);
        let mut out = Mat::zeros(self.symbolic.unknowns, trailing.ncols());
        self.scatter(&columns, &mut out);
        Ok(out)
    }

    /// Loads carried over to the trailing unknowns, `f_B - K_BI K_II^-1 f_I`, the transpose of
    /// [`Factor::extend`]: one row per unknown of the mesh in, one row per trailing unknown out.
    ///
    /// # Errors
    /// A wrong number of rows.
    pub fn restrict(&self, loads: MatRef<'_, f64>) -> Result<Mat<f64>, SparseError> {
        self.check_rows(loads.nrows(), self.symbolic.unknowns)?;
        Ok(self.carried(self.gather(loads)).transpose().to_owned())
    }

    /// Forward half of a solve: `L_II^-1 f_I`, with one *column* per interior unknown in the order of
    /// elimination and one row per load, and the loads carried to the trailing unknowns as
    /// [`Factor::restrict`] gives them. The product of the first with its own transpose is
    /// `f_I^T K_II^-1 f_I`.
    ///
    /// # Errors
    /// A wrong number of rows.
    pub fn forward(&self, loads: MatRef<'_, f64>) -> Result<(Mat<f64>, Mat<f64>), SparseError> {
        self.check_rows(loads.nrows(), self.symbolic.unknowns)?;
        let mut columns = self.gather(loads);
        self.forward_columns(&mut columns);
        let stride = columns.stride;
        let half = Mat::from_fn(columns.count, self.symbolic.interior, |row, column| columns.values[column * stride + row]);
        let rest = &columns.values[self.symbolic.interior * stride..];
        let trailing = Mat::from_fn(self.symbolic.trailing, columns.count, |row, column| rest[row * stride + column]);
        Ok((half, trailing))
    }

    fn check_rows(&self, got: usize, expected: usize) -> Result<(), SparseError> {
        if got == expected { Ok(()) } else { Err(SparseError::Shape { expected, got }) }
    }

    /// Right-hand sides into the order of elimination. Goes through the mesh's unknowns a cache line at a time.
    fn gather(&self, from: MatRef<'_, f64>) -> Bundle<'_> {
        let mut columns = Bundle::zeros(self, from.ncols());
        let stride = columns.stride;
        for (chunk, positions) in self.symbolic.position.chunks(LINE).enumerate() {
            for column in 0..from.ncols() {
                for (i, &position) in positions.iter().enumerate() {
                    if position != FIXED {
                        columns.values[position as usize * stride + column] = from[(chunk * LINE + i, column)];
                    }
                }
            }
        }
        columns
    }

    /// Writes every row of `to`, zero where fixed.
    fn scatter(&self, columns: &Bundle, to: &mut Mat<f64>) {
        let zeros = vec![0.0; columns.count];
        for (chunk, positions) in self.symbolic.position.chunks(LINE).enumerate() {
            let mut sources = [zeros.as_slice(); LINE];
            for (source, &position) in sources.iter_mut().zip(positions) {
                if position != FIXED {
                    *source = &columns.values[position as usize * columns.stride..][..columns.count];
                }
            }
            for column in 0..columns.count {
                let target = &mut to.col_as_slice_mut(column)[chunk * LINE..][..positions.len()];
                for (value, source) in target.iter_mut().zip(sources) {
                    *value = source[column];
                }
            }
        }
    }

    pub(super) fn forward_columns(&self, columns: &mut Bundle) {
        let stride = columns.stride;
        for front in &self.symbolic.fronts {
            if front.pivots == 0 {
                continue;
            }
            let after = front.first + front.pivots;
            let (own, later) = columns.values.split_at_mut(after * stride);
            let own = &mut own[front.first * stride..];
            if own.iter().all(|&value| value == 0.0) {
                continue;
            }
            Forward {
                panel: &self.panels[front.panel..][..front.rows() * front.pivots],
                rows: front.rows(),
                pivots: front.pivots,
                own,
                later,
                first: after,
                boundary: self.symbolic.boundary(front),
                count: stride,
            }
            .run(self.arch);
        }
    }

    pub(super) fn backward_columns(&self, columns: &mut Bundle) {
        let stride = columns.stride;
        let mut boundary = Vec::new();
        for front in self.symbolic.fronts.iter().rev() {
            if front.pivots == 0 {
                continue;
            }
            let after = front.first + front.pivots;
            let (own, later) = columns.values.split_at_mut(after * stride);
            boundary.clear();
            for &position in self.symbolic.boundary(front) {
                boundary.extend_from_slice(&later[(position as usize - after) * stride..][..stride]);
            }
            boundary.resize(front.update_size() * stride, 0.0);
            Backward {
                panel: &self.panels[front.panel..][..front.rows() * front.pivots],
                rows: front.rows(),
                pivots: front.pivots,
                own: &mut own[front.first * stride..],
                boundary: &boundary,
                count: stride,
            }
            .run(self.arch);
        }
    }

    fn solve_trailing(&self, columns: &mut Bundle) -> Result<(), SparseError> {
        let panel = self.trailing_factor()?;
        let count = columns.stride;
        let pivots = self.symbolic.trailing;
        let rows = self.schur_stride;
        let own = columns.trailing_mut(self.symbolic.interior);
        Forward { panel, rows, pivots, own: &mut *own, later: &mut [], first: 0, boundary: &[], count }.run(self.arch);
        Backward { panel, rows, pivots, own, boundary: &vec![0.0; (rows - pivots) * count], count }.run(self.arch);
        Ok(())
    }

    /// Cholesky factor of the Schur complement, made when it is first needed.
    fn trailing_factor(&self) -> Result<&[f64], SparseError> {
        let factored = self.trailing.get_or_init(|| {
            let pivots = self.symbolic.trailing;
            let rows = self.schur_stride;
            let mut panel = self.schur[..rows * pivots].to_vec();
            let mut rest = vec![0.0; (rows - pivots) * (rows - pivots)];
            let eliminated =
                Eliminate { panel: &mut panel, update: &mut rest, rows, pivots, diagonal: &self.trailing_diagonal }.run(self.arch);
            match eliminated {
                Ok(()) => Ok(panel),
                Err(bad) => Err(self.symbolic.refuse(self.symbolic.interior + bad.index, bad.value)),
            }
        });
        factored.as_deref().map_err(Clone::clone)
    }
}
