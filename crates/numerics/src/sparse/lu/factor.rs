use std::sync::Arc;

use super::super::SparseError;
use super::symbolic::{Front, LuSymbolic};

/// Pivots below this fraction of the greatest entry of their row are lost in the rounding of the elimination that formed them.
const PIVOT_TOLERANCE: f64 = 1e-13;

/// Factors `L U` of a matrix on a grid, `L` with a unit diagonal.
#[derive(Clone, Debug)]
pub struct Lu {
    pub(super) symbolic: Arc<LuSymbolic>,
    pub(super) panels: Vec<f64>,
    stacks: [Vec<f64>; 2],
    /// Greatest entry of each row of the matrix, in the order of elimination.
    scales: Vec<f64>,
    whole: bool,
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
            let panel = &mut self.panels[front.panel..][..front.panel_entries()];
            panel.fill(0.0);
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
                take_update(front, child, &symbolic.runs[child.runs.clone()], &others[top..], panel, update);
            }
            height[1 - front.stack] = top;
            for &[value, target] in &symbolic.entries[front.entries.clone()] {
                panel[target as usize] += values[value as usize];
            }
            let scales = &self.scales[front.first..][..front.pivots];
            eliminate(front, panel, update, scales).map_err(|pivot| symbolic.refuse(front.first + pivot.0, pivot.1))?;
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

fn take_update(front: &Front, child: &Front, runs: &[[u32; 3]], from: &[f64], panel: &mut [f64], update: &mut [f64]) {
    let (pivots, rows, stride) = (front.pivots, front.rows(), front.stride());
    let (left, right) = panel.split_at_mut(pivots * rows);
    for &[first, target, length] in runs {
        for offset in 0..length as usize {
            let column = &from[(first as usize + offset) * child.stride()..][..child.stride()];
            let at = target as usize + offset;
            for &[first, target, length] in runs {
                let source = &column[first as usize..][..length as usize];
                for (offset, &value) in source.iter().enumerate() {
                    let row = target as usize + offset;
                    if at < pivots {
                        left[at * rows + row] += value;
                    } else if row < pivots {
                        right[(at - pivots) * pivots + row] += value;
                    } else {
                        update[(at - pivots) * stride + row - pivots] += value;
                    }
                }
            }
        }
    }
}

fn eliminate(front: &Front, panel: &mut [f64], update: &mut [f64], scales: &[f64]) -> Result<(), (usize, f64)> {
    let (pivots, rows, stride) = (front.pivots, front.rows(), front.stride());
    let (left, right) = panel.split_at_mut(pivots * rows);
    for k in 0..pivots {
        let (done, later) = left.split_at_mut((k + 1) * rows);
        let column = &mut done[k * rows..];
        let pivot = column[k];
        // Written so that a pivot that is not a number fails too.
        if !(pivot.abs() > PIVOT_TOLERANCE * scales[k] && pivot.abs() < f64::INFINITY) {
            return Err((k, pivot));
        }
        for value in &mut column[k + 1..] {
            *value /= pivot;
        }
        for other in later.chunks_exact_mut(rows) {
            let factor = other[k];
            for (target, value) in other[k + 1..].iter_mut().zip(&column[k + 1..]) {
                *target -= factor * value;
            }
        }
        for (top, rest) in right.chunks_exact_mut(pivots).zip(update.chunks_exact_mut(stride.max(1))) {
            let factor = top[k];
            for (target, value) in top[k + 1..].iter_mut().chain(rest).zip(&column[k + 1..]) {
                *target -= factor * value;
            }
        }
    }
    Ok(())
}
