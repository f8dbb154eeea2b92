use std::sync::Arc;

use pulp::Arch;

use super::super::SparseError;
use super::kernels::{Eliminate, TakeUpdate};
use super::symbolic::LuSymbolic;

/// Factors `L U` of a matrix on a grid, `L` with a unit diagonal.
#[derive(Clone, Debug)]
pub struct Lu {
    pub(super) symbolic: Arc<LuSymbolic>,
    pub(super) panels: Vec<f64>,
    stacks: [Vec<f64>; 2],
    /// Greatest entry of each row of the matrix, in the order of elimination.
    scales: Vec<f64>,
    whole: bool,
    pub(super) arch: Arch,
}

impl Lu {
    /// Factors the matrix given by `values`, in the order that the constructor of `symbolic` states.
    ///
    /// # Errors
    /// A wrong number of values; [`SparseError::LostPivot`] if a pivot is not greater than `1e-13` of the greatest entry of its row;
    /// [`SparseError::MatrixNotFinite`].
    pub fn factor(symbolic: &Arc<LuSymbolic>, values: &[f64]) -> Result<Lu, SparseError> {
        let mut lu = Lu {
            symbolic: Arc::clone(symbolic),
            panels: vec![0.0; symbolic.panel_entries],
            stacks: symbolic.stack_entries.map(|entries| vec![0.0; entries]),
            scales: vec![0.0; symbolic.unknowns()],
            whole: false,
            arch: Arch::new(),
        };
        lu.refactor(values)?;
        Ok(lu)
    }

    /// Factors another matrix in the memory of this one. Gives the same factors as [`Lu::factor`], bit by bit.
    ///
    /// # Errors
    /// As [`Lu::factor`]; nothing can then be solved until a later call succeeds.
    pub fn refactor(&mut self, values: &[f64]) -> Result<(), SparseError> {
        self.whole = false;
        if values.len() != self.symbolic.value_count() {
            return Err(SparseError::Values { expected: self.symbolic.value_count(), got: values.len() });
        }
        self.find_scales(values);
        let symbolic = Arc::clone(&self.symbolic);
        let mut height = [0usize; 2];
        for front in &symbolic.fronts {
            let (pivots, rows) = (front.pivots, front.rows());
            let panel = &mut self.panels[front.panel..][..front.panel_entries()];
            panel.fill(0.0);
            for &[value, target] in &symbolic.entries[front.entries.clone()] {
                panel[target as usize] += values[value as usize];
            }
            let (left, right) = panel.split_at_mut(pivots * rows);
            let [even, odd] = &mut self.stacks;
            let (own, others) = match front.stack {
                0 => (even, &*odd),
                _ => (odd, &*even),
            };
            let update = &mut own[height[front.stack]..][..front.update_entries()];
            update.fill(0.0);
            height[front.stack] += update.len();
            let mut top = height[1 - front.stack];
            for &child in front.children.iter().rev() {
                let child = &symbolic.fronts[child as usize];
                top -= child.update_entries();
                TakeUpdate {
                    child: &others[top..][..child.update_entries()],
                    stride: child.stride(),
                    runs: &symbolic.runs[child.runs.clone()],
                    left,
                    right,
                    update,
                    rows,
                    pivots,
                }
                .run(self.arch);
            }
            height[1 - front.stack] = top;
            Eliminate { left, right, update, rows, pivots, scales: &self.scales[front.first..][..pivots] }
                .run(self.arch)
                .map_err(|lost| symbolic.refuse(front.first + lost.index, lost.value))?;
        }
        self.whole = true;
        Ok(())
    }

    /// The ordering this factor was built with.
    pub fn symbolic(&self) -> &Arc<LuSymbolic> {
        &self.symbolic
    }

    pub(super) fn check(&self, rhs: &[f64]) -> Result<(), SparseError> {
        let unknowns = self.symbolic.unknowns();
        if !self.whole {
            return Err(SparseError::NotFactored);
        }
        if !rhs.len().is_multiple_of(unknowns) {
            return Err(SparseError::Shape { expected: rhs.len().next_multiple_of(unknowns), got: rhs.len() });
        }
        Ok(())
    }

    fn find_scales(&mut self, values: &[f64]) {
        let pattern = &self.symbolic.pattern;
        for (scale, &unknown) in self.scales.iter_mut().zip(&self.symbolic.original) {
            let row = pattern.row(unknown as usize);
            let inside = values[row.clone()].iter().zip(&pattern.columns[row]).filter(|entry| *entry.1 != super::NOWHERE);
            *scale = inside.fold(0.0, |scale: f64, entry| scale.max(entry.0.abs()));
        }
    }
}

impl LuSymbolic {
    fn refuse(&self, position: usize, pivot: f64) -> SparseError {
        let unknown = self.original[position] as usize;
        if pivot.is_finite() { SparseError::LostPivot { unknown, pivot } } else { SparseError::MatrixNotFinite { unknown } }
    }
}
