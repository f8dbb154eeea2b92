use super::super::SparseError;
use super::NOWHERE;
use super::number::Number;
use super::symbolic::LuSymbolic;

impl LuSymbolic {
    /// `y = A x` with the matrix given by `values`.
    ///
    /// # Errors
    /// Slices of the wrong length.
    pub fn multiply<K: Number>(&self, values: &[K], x: &[K], y: &mut [K]) -> Result<(), SparseError> {
        self.check_product(values, x, y)?;
        for (row, y) in y.iter_mut().enumerate() {
            *y = self.dot(values, row, x);
        }
        Ok(())
    }

    /// `r = b - A x` with the matrix given by `values`.
    ///
    /// # Errors
    /// Slices of the wrong length.
    pub fn residual<K: Number>(&self, values: &[K], x: &[K], b: &[K], r: &mut [K]) -> Result<(), SparseError> {
        self.check_product(values, x, r)?;
        self.check_length(b)?;
        for (row, r) in r.iter_mut().enumerate() {
            *r = b[row] - self.dot(values, row, x);
        }
        Ok(())
    }

    /// `y = A^T x` with the matrix given by `values`.
    ///
    /// # Errors
    /// Slices of the wrong length.
    pub fn multiply_transposed<K: Number>(&self, values: &[K], x: &[K], y: &mut [K]) -> Result<(), SparseError> {
        self.check_product(values, x, y)?;
        y.fill(K::ZERO);
        for (row, x) in x.iter().enumerate() {
            for value in self.pattern.row(row) {
                let column = self.pattern.columns[value];
                if column != NOWHERE {
                    y[column as usize] += values[value] * *x;
                }
            }
        }
        Ok(())
    }

    fn dot<K: Number>(&self, values: &[K], row: usize, x: &[K]) -> K {
        let range = self.pattern.row(row);
        let entries = values[range.clone()].iter().zip(&self.pattern.columns[range]);
        entries.filter(|entry| *entry.1 != NOWHERE).map(|(value, &column)| *value * x[column as usize]).sum()
    }

    fn check_product<K: Number>(&self, values: &[K], x: &[K], y: &[K]) -> Result<(), SparseError> {
        if values.len() != self.value_count() {
            return Err(SparseError::Values { expected: self.value_count(), got: values.len() });
        }
        self.check_length(x)?;
        self.check_length(y)
    }

    fn check_length<K: Number>(&self, x: &[K]) -> Result<(), SparseError> {
        let expected = self.unknowns();
        if x.len() == expected { Ok(()) } else { Err(SparseError::Shape { expected, got: x.len() }) }
    }
}
