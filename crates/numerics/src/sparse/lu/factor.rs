use std::sync::Arc;

use pulp::Arch;

use super::super::SparseError;
use super::super::kernels::padded;
use super::NOWHERE;
use super::kernels::{Eliminate, EliminatePatches, TakeUpdate};
use super::number::Number;
use super::patches::LANES;
use super::space::Aligned;
use super::symbolic::LuSymbolic;

/// Factors `L U` of a matrix on a grid, `L` with a unit diagonal.
#[derive(Clone, Debug)]
pub struct Lu<K: Number = f64> {
    pub(super) symbolic: Arc<LuSymbolic>,
    pub(super) panels: Vec<K>,
    /// Panels of the patches, [`LANES`] values side by side.
    pub(super) patch_panels: Aligned<K>,
    /// Updates within the patches of a group.
    lanes: Aligned<K>,
    /// Updates of patches.
    patch_updates: Vec<K>,
    stacks: [Vec<K>; 2],
    /// Greatest entry of the row of each unknown.
    scales: Vec<f64>,
    front_scales: Vec<f64>,
    whole: bool,
    pub(super) arch: Arch,
}

impl<K: Number> Lu<K> {
    /// Factors the matrix given by `values`, in the order that the constructor of `symbolic` states.
    ///
    /// # Errors
    /// A wrong number of values; [`SparseError::LostPivot`] if a pivot is not greater than `1e-13` of the greatest entry of its row;
    /// [`SparseError::MatrixNotFinite`].
    pub fn factor(symbolic: &Arc<LuSymbolic>, values: &[K]) -> Result<Lu<K>, SparseError> {
        let mut lu = Lu {
            symbolic: Arc::clone(symbolic),
            panels: vec![K::ZERO; symbolic.panel_entries],
            patch_panels: Aligned::zeros(symbolic.patches.panel_entries * LANES),
            lanes: Aligned::zeros(symbolic.patches.shapes.iter().map(|shape| shape.update_entries * LANES).max().unwrap_or(0)),
            patch_updates: vec![K::ZERO; symbolic.patches.update_entries],
            stacks: symbolic.stack_entries.map(|entries| vec![K::ZERO; entries]),
            scales: vec![0.0; symbolic.unknowns()],
            front_scales: Vec::new(),
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
    pub fn refactor(&mut self, values: &[K]) -> Result<(), SparseError> {
        self.whole = false;
        if values.len() != self.symbolic.value_count() {
            return Err(SparseError::Values { expected: self.symbolic.value_count(), got: values.len() });
        }
        self.find_scales(values);
        let symbolic = Arc::clone(&self.symbolic);
        let mut height = [0usize; 2];
        let mut groups = 0;
        for front in &symbolic.fronts {
            if let Some(member) = front.patch {
                // Groups are numbered in the order in which they are due.
                if member.group == groups {
                    self.eliminate_patches(&symbolic, groups, values)?;
                    groups += 1;
                }
                continue;
            }
            let (pivots, rows) = (front.pivots, front.rows());
            let panel = &mut self.panels[front.panel..][..front.panel_entries()];
            panel.fill(K::ZERO);
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
            update.fill(K::ZERO);
            height[front.stack] += update.len();
            let mut top = height[1 - front.stack];
            for &child in front.children.iter().rev() {
                let child = &symbolic.fronts[child as usize];
                let (from, stride) = match child.patch {
                    Some(member) => {
                        let group = &symbolic.patches.groups[member.group];
                        let entries = symbolic.patches.update_entries_of(member.group);
                        (&self.patch_updates[group.updates[member.lane]..][..entries], padded(group.around.len()))
                    }
                    None => {
                        top -= child.update_entries();
                        (&others[top..][..child.update_entries()], child.stride())
                    }
                };
                TakeUpdate { child: from, stride, runs: &symbolic.runs[child.runs.clone()], left, right, update, rows, pivots }
                    .run(self.arch);
            }
            height[1 - front.stack] = top;
            let own = &symbolic.original[front.first..][..pivots];
            self.front_scales.clear();
            self.front_scales.extend(own.iter().map(|&unknown| self.scales[unknown as usize]));
            Eliminate { left, right, update, rows, pivots, scales: &self.front_scales }
                .run(self.arch)
                .map_err(|lost| refuse(own[lost.index], lost.value))?;
        }
        self.whole = true;
        Ok(())
    }

    /// The ordering this factor was built with.
    pub fn symbolic(&self) -> &Arc<LuSymbolic> {
        &self.symbolic
    }

    pub(super) fn check(&self, rhs: &[K]) -> Result<(), SparseError> {
        let unknowns = self.symbolic.unknowns();
        if !self.whole {
            return Err(SparseError::NotFactored);
        }
        if !rhs.len().is_multiple_of(unknowns) {
            return Err(SparseError::Shape { expected: rhs.len().next_multiple_of(unknowns), got: rhs.len() });
        }
        Ok(())
    }

    fn eliminate_patches(&mut self, symbolic: &LuSymbolic, index: usize, values: &[K]) -> Result<(), SparseError> {
        let group = &symbolic.patches.groups[index];
        let shape = symbolic.patches.shape(group);
        EliminatePatches {
            shape,
            nodes: &group.nodes,
            whole: group.whole,
            values,
            stencil: symbolic.pattern.row(0).len(),
            scales: &self.scales,
            panel: &mut self.patch_panels.get_mut()[group.panel * LANES..][..shape.panel_entries * LANES],
            updates: self.lanes.get_mut(),
        }
        .run(self.arch)
        .map_err(|lost| refuse(group.nodes[lost.place][lost.lane], lost.value))?;
        // One lane after the other, padded as the updates of other fronts.
        let around = shape.around();
        let last = shape.fronts.last().map_or(0, |front| front.update);
        let (update, _) = self.lanes.get()[last * LANES..][..around * around * LANES].as_chunks::<LANES>();
        let stride = padded(around);
        for (lane, &start) in group.updates.iter().enumerate().take(group.count) {
            let target = &mut self.patch_updates[start..][..around * stride];
            for (target, source) in target.chunks_exact_mut(stride).zip(update.chunks_exact(around)) {
                for (target, source) in target.iter_mut().zip(source) {
                    *target = source[lane];
                }
            }
        }
        Ok(())
    }

    fn find_scales(&mut self, values: &[K]) {
        let pattern = &self.symbolic.pattern;
        for (row, scale) in self.scales.iter_mut().enumerate() {
            let row = pattern.row(row);
            let inside = values[row.clone()].iter().zip(&pattern.columns[row]).filter(|entry| *entry.1 != NOWHERE);
            *scale = inside.fold(0.0, |scale: f64, entry| scale.max(entry.0.magnitude()));
        }
    }
}

fn refuse(unknown: u32, pivot: f64) -> SparseError {
    let unknown = unknown as usize;
    if pivot.is_finite() { SparseError::LostPivot { unknown, pivot } } else { SparseError::MatrixNotFinite { unknown } }
}
