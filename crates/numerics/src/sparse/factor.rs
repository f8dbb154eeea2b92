use std::sync::OnceLock;

use faer::Mat;
use pulp::Arch;

use super::SparseError;
use super::kernels::{Eliminate, ExtendAdd, padded};
use super::symbolic::{ElementRow, FIXED, Front, Symbolic};

/// Cholesky factor of the interior block and Schur complement on the trailing unknowns.
#[derive(Clone, Debug)]
pub struct Factor {
    pub(super) symbolic: Symbolic,
    pub(super) panels: Vec<f64>,
    /// Side `padded(trailing)`, lower triangle significant.
    pub(super) schur: Vec<f64>,
    pub(super) schur_stride: usize,
    /// Assembled diagonal of the trailing unknowns.
    pub(super) trailing_diagonal: Vec<f64>,
    pub(super) trailing: OnceLock<Result<Vec<f64>, SparseError>>,
    pub(super) arch: Arch,
}

/// Size of a factorisation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Work {
    /// Floating-point operations of the elimination of the interior (a product and a sum count two).
    pub flops: f64,
    /// Entries of the factor's columns, the diagonal included.
    pub nonzeros: usize,
    /// Number of fronts.
    pub fronts: usize,
    /// Rows of the greatest front.
    pub largest_front: usize,
}

impl Symbolic {
    /// Work of one factorisation with this ordering.
    pub fn work(&self) -> Work {
        let mut work = Work { flops: 0.0, nonzeros: 0, fronts: self.fronts.len() - 1, largest_front: 0 };
        for front in &self.fronts {
            let rows = front.pivots + front.boundary.len();
            work.largest_front = work.largest_front.max(rows);
            for pivot in 0..front.pivots {
                let below = (rows - pivot - 1) as f64;
                work.flops += below * (below + 2.0) + 1.0;
                work.nonzeros += rows - pivot;
            }
        }
        work
    }
}

/// One added entry, at its place in a front.
struct Added {
    front: u32,
    row: u32,
    column: u32,
    value: f64,
}

impl Factor {
    /// Assembles and factors the matrix that is the sum of the element matrices and of `extra`.
    ///
    /// `element_matrices(element, block)` fills the element's full symmetric matrix, column-major,
    /// unknown `j` of the element's node `i` at `i * unknowns_per_node + j`. `block` holds what the last
    /// call left in it. Of each entry `(row, column, value)` of `extra` the value is added at
    /// `(row, column)` and, off the diagonal, at `(column, row)` too; both unknowns must share an
    /// element. Entries at fixed unknowns are passed over.
    ///
    /// # Errors
    /// [`SparseError::NotPositiveDefinite`] if a pivot is not greater than `1e-13` of its assembled
    /// diagonal entry; [`SparseError::MatrixNotFinite`]; numbers out of range or outside the pattern in `extra`.
    pub fn new(
        symbolic: &Symbolic,
        mut element_matrices: impl FnMut(usize, &mut [f64]),
        extra: &[(usize, usize, f64)],
    ) -> Result<Factor, SparseError> {
        let arch = Arch::new();
        let added = symbolic.place_extra(extra)?;
        let mut added = added.as_slice();
        let mut panels = vec![0.0; symbolic.panel_entries];
        let mut stacks = symbolic.stack_entries.map(|entries| vec![0.0; entries]);
        let mut height = [0usize; 2];
        let mut diagonal = Vec::new();
        let mut diagonals = vec![0.0; symbolic.original.len()];
        let size = symbolic.element_unknowns;
        let mut block = vec![0.0; size * size];
        for (index, front) in symbolic.fronts.iter().enumerate() {
            let rows = front.rows();
            let update_size = front.update_size();
            let panel = &mut panels[front.panel..][..rows * front.pivots];
            let [even, odd] = &mut stacks;
            let (own, others) = match front.stack {
                0 => (even, &*odd),
                _ => (odd, &*even),
            };
            let update = &mut own[height[front.stack]..][..update_size * update_size];
            update.fill(0.0);
            height[front.stack] += update.len();
            let mut top = height[1 - front.stack];
            for &child in front.children.iter().rev() {
                let child = &symbolic.fronts[child as usize];
                let child_size = child.update_size();
                top -= child_size * child_size;
                ExtendAdd {
                    child: &others[top..][..child_size * child_size],
                    size: child_size,
                    runs: &symbolic.runs[child.runs.clone()],
                    panel,
                    update,
                    rows,
                    pivots: front.pivots,
                }
                .run(arch);
            }
            height[1 - front.stack] = top;
            for position in front.elements.clone() {
                element_matrices(symbolic.element_order[position] as usize, &mut block);
                let places = &symbolic.element_rows[position * size..][..size];
                add_element(&block, places, panel, update, rows, front.pivots);
                add_diagonal(symbolic, front, &block, places, &mut diagonals);
            }
            let here = added.partition_point(|entry| entry.front as usize <= index);
            for entry in &added[..here] {
                let (row, column) = (entry.row as usize, entry.column as usize);
                if column < front.pivots {
                    panel[column * rows + row] += entry.value;
                } else {
                    update[(column - front.pivots) * update_size + row - front.pivots] += entry.value;
                }
                if row == column {
                    diagonals[symbolic.position_in(front, row)] += entry.value;
                }
            }
            added = &added[here..];
            diagonal.clear();
            diagonal.extend_from_slice(&diagonals[front.first..][..front.pivots]);
            Eliminate { panel, update, rows, pivots: front.pivots, diagonal: &diagonal }
                .run(arch)
                .map_err(|bad| symbolic.refuse(front.first + bad.index, bad.value))?;
        }
        let schur_stride = padded(symbolic.trailing);
        let [mut schur, _] = stacks;
        schur.truncate(schur_stride * schur_stride);
        symbolic.check_schur(&schur, schur_stride)?;
        Ok(Factor {
            symbolic: symbolic.clone(),
            panels,
            schur,
            schur_stride,
            trailing_diagonal: diagonals.split_off(symbolic.interior),
            trailing: OnceLock::new(),
            arch,
        })
    }

    /// The Schur complement `K_BB - K_BI K_II^-1 K_IB` on the trailing unknowns, in their order.
    pub fn trailing_schur(&self) -> Mat<f64> {
        let size = self.symbolic.trailing;
        Mat::from_fn(size, size, |row, column| self.schur[row.min(column) * self.schur_stride + row.max(column)])
    }

    /// Work done.
    pub fn work(&self) -> Work {
        self.symbolic.work()
    }

    /// The ordering this factor was built with.
    pub fn symbolic(&self) -> &Symbolic {
        &self.symbolic
    }
}

/// Adds the lower triangle of an element matrix to a front.
fn add_element(block: &[f64], places: &[ElementRow], panel: &mut [f64], update: &mut [f64], rows: usize, pivots: usize) {
    let update_size = rows - pivots;
    let size = places.len();
    let free = places.partition_point(|place| place.row != FIXED);
    let places = &places[..free];
    for (index, column) in places.iter().enumerate() {
        let values = &block[column.own as usize * size..][..size];
        let at = column.row as usize;
        let (target, shift) = match at.checked_sub(pivots) {
            None => (&mut panel[at * rows..][..rows], 0),
            Some(at) => (&mut update[at * update_size..][..update_size], pivots),
        };
        for place in &places[index..] {
            target[place.row as usize - shift] += values[place.own as usize];
        }
        // A node listed twice meets itself above the diagonal too.
        for twin in places[..index].iter().rev().take_while(|twin| twin.row == column.row) {
            target[at - shift] += values[twin.own as usize];
        }
    }
}

/// Keeps the assembled diagonal, against which a pivot is judged.
fn add_diagonal(symbolic: &Symbolic, front: &Front, block: &[f64], places: &[ElementRow], diagonals: &mut [f64]) {
    for place in places.iter().take_while(|place| place.row != FIXED) {
        let own = place.own as usize;
        diagonals[symbolic.position_in(front, place.row as usize)] += block[own * (places.len() + 1)];
    }
}

impl Symbolic {
    /// Position in the order of elimination of a row of a front.
    fn position_in(&self, front: &Front, row: usize) -> usize {
        match row.checked_sub(front.pivots) {
            None => front.first + row,
            Some(row) => self.boundaries[front.boundary.start + row] as usize,
        }
    }

    /// The reason a pivot at a position in the order of elimination failed.
    pub(super) fn refuse(&self, position: usize, pivot: f64) -> SparseError {
        let unknown = self.original[position] as usize;
        if pivot.is_finite() { SparseError::NotPositiveDefinite { unknown, pivot } } else { SparseError::MatrixNotFinite { unknown } }
    }

    /// An entry that is not finite fails the next pivot it meets; in the trailing block there is none.
    fn check_schur(&self, schur: &[f64], stride: usize) -> Result<(), SparseError> {
        for column in 0..self.trailing {
            if !schur[column * stride..][column..self.trailing].iter().all(|value| value.is_finite()) {
                return Err(self.refuse(self.interior + column, f64::NAN));
            }
        }
        Ok(())
    }

    fn place_extra(&self, extra: &[(usize, usize, f64)]) -> Result<Vec<Added>, SparseError> {
        let mut added = Vec::with_capacity(extra.len());
        for &(row, column, value) in extra {
            for index in [row, column] {
                if index >= self.unknowns {
                    return Err(SparseError::OutOfRange { what: "unknown", index, count: self.unknowns });
                }
            }
            let (a, b) = (self.position[row], self.position[column]);
            if a == FIXED || b == FIXED {
                continue;
            }
            let (early, late) = (a.min(b), a.max(b));
            let index = match self.front_of.get(early as usize) {
                Some(&front) => front,
                None => self.fronts.len() as u32 - 1,
            };
            let front = &self.fronts[index as usize];
            let place = |position: u32| match position as usize - front.first {
                own if own < front.pivots => Some(own as u32),
                _ => self.boundary(front).binary_search(&position).ok().map(|at| (front.pivots + at) as u32),
            };
            match (place(early), place(late)) {
                (Some(column), Some(row)) => added.push(Added { front: index, row, column, value }),
                _ => return Err(SparseError::OutsidePattern { row, column }),
            }
        }
        added.sort_by_key(|entry| entry.front);
        Ok(added)
    }
}
