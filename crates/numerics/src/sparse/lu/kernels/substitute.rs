//! Substitution through the panels of one front, for any number of right-hand sides.
//!
//! The right-hand sides of a front are columns of `rows` values: those of the pivots, then those of the boundary (zero where padded).

use pulp::{Arch, Simd, WithSimd};

use super::super::super::kernels::block_width;
use super::super::number::Number;
use super::{BLOCK, columns, high_tiles, load, store};

/// What to do with one front and its right-hand sides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::sparse::lu) enum Step {
    /// `L^-1`: divides the pivots' values, subtracts their share from the boundary's.
    Forward,
    /// `U^-1`: subtracts the boundary's share from the pivots' values and divides them.
    Backward,
    /// `U^-T`, otherwise as `Forward`.
    ForwardTransposed,
    /// `L^-T`, otherwise as `Backward`.
    BackwardTransposed,
}

/// `left` holds the pivots' columns, `right` their rows in the columns of the boundary, as [`super::Eliminate`] leaves them.
pub(in crate::sparse::lu) struct Substitute<'a, K> {
    pub(in crate::sparse::lu) step: Step,
    pub(in crate::sparse::lu) left: &'a [K],
    pub(in crate::sparse::lu) right: &'a [K],
    pub(in crate::sparse::lu) rows: usize,
    pub(in crate::sparse::lu) pivots: usize,
    pub(in crate::sparse::lu) values: &'a mut [K],
}

impl<K: Number> Substitute<'_, K> {
    pub(in crate::sparse::lu) fn run(self, arch: Arch) {
        arch.dispatch(self);
    }
}

/// Calls a function for a block of `$width` columns.
macro_rules! blocks {
    ($width:expr, |$columns:ident| $body:expr) => {
        match $width {
            1 => {
                const $columns: usize = 1;
                $body
            }
            2 => {
                const $columns: usize = 2;
                $body
            }
            3 => {
                const $columns: usize = 3;
                $body
            }
            _ => {
                const $columns: usize = BLOCK;
                $body
            }
        }
    };
}

impl<K: Number> WithSimd for Substitute<'_, K> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        match self.step {
            Step::Forward => self.forward(simd),
            Step::Backward => self.backward(simd),
            Step::ForwardTransposed => self.forward_transposed(simd),
            Step::BackwardTransposed => self.backward_transposed(simd),
        }
    }
}

impl<K: Number> Substitute<'_, K> {
    #[inline(always)]
    fn forward<S: Simd>(self, simd: S) {
        let Substitute { left, rows, pivots, values, .. } = self;
        let mut start = 0;
        while start < pivots {
            let width = block_width(start, pivots);
            blocks!(width, |N| forward_block::<K, S, N>(simd, &left[start * rows..], rows, start, values));
            start += width;
        }
    }

    #[inline(always)]
    fn backward<S: Simd>(self, simd: S) {
        let Substitute { left, right, rows, pivots, values, .. } = self;
        let later = right.len() / pivots;
        let mut column = 0;
        while column < later {
            let width = block_width(column, later);
            blocks!(width, |N| {
                let block = columns::<K, N>(right, pivots, column);
                for values in values.chunks_exact_mut(rows) {
                    let (own, rest) = values.split_at_mut(pivots);
                    let mut weights = [K::ZERO; N];
                    weights.copy_from_slice(&rest[column..][..N]);
                    subtract_columns::<K, S, N>(simd, own, block, weights);
                }
            });
            column += width;
        }
        let mut end = pivots;
        while end > 0 {
            let width = BLOCK.min(end);
            end -= width;
            blocks!(width, |N| backward_block::<K, S, N>(simd, &left[end * rows..], rows, end, values));
        }
    }

    #[inline(always)]
    fn forward_transposed<S: Simd>(self, simd: S) {
        let Substitute { left, right, rows, pivots, values, .. } = self;
        let mut start = 0;
        while start < pivots {
            let width = block_width(start, pivots);
            blocks!(width, |N| forward_transposed_block::<K, S, N>(simd, &left[start * rows..], rows, start, values));
            start += width;
        }
        let later = right.len() / pivots;
        let mut column = 0;
        while column < later {
            let width = block_width(column, later);
            blocks!(width, |N| {
                let block = columns::<K, N>(right, pivots, column);
                for values in values.chunks_exact_mut(rows) {
                    let (own, rest) = values.split_at_mut(pivots);
                    let sums = dot_columns::<K, S, N>(simd, block, own);
                    for c in 0..N {
                        rest[column + c] -= sums[c];
                    }
                }
            });
            column += width;
        }
    }

    #[inline(always)]
    fn backward_transposed<S: Simd>(self, simd: S) {
        let Substitute { left, rows, pivots, values, .. } = self;
        let mut end = pivots;
        while end > 0 {
            let width = BLOCK.min(end);
            end -= width;
            blocks!(width, |N| backward_transposed_block::<K, S, N>(simd, &left[end * rows..], rows, end, values));
        }
    }
}

/// Rows `start..start + N` of a block of columns.
#[inline(always)]
fn square<K: Number, const N: usize>(block: &[K], rows: usize, start: usize) -> [[K; N]; N] {
    let mut out = [[K::ZERO; N]; N];
    for c in 0..N {
        out[c].copy_from_slice(&block[c * rows + start..][..N]);
    }
    out
}

#[inline(always)]
fn forward_block<K: Number, S: Simd, const N: usize>(simd: S, block: &[K], rows: usize, start: usize, values: &mut [K]) {
    let square = square::<K, N>(block, rows, start);
    let mut below = columns::<K, N>(block, rows, 0);
    for column in &mut below {
        *column = &column[start + N..rows];
    }
    for values in values.chunks_exact_mut(rows) {
        let (own, rest) = values[start..].split_at_mut(N);
        let mut x = [K::ZERO; N];
        for r in 0..N {
            x[r] = own[r];
            for c in 0..r {
                let share = square[c][r] * x[c];
                x[r] -= share;
            }
        }
        own.copy_from_slice(&x);
        subtract_columns::<K, S, N>(simd, rest, below, x);
    }
}

#[inline(always)]
fn backward_block<K: Number, S: Simd, const N: usize>(simd: S, block: &[K], rows: usize, start: usize, values: &mut [K]) {
    let square = square::<K, N>(block, rows, start);
    let above = columns::<K, N>(block, rows, 0);
    for values in values.chunks_exact_mut(rows) {
        let (rest, own) = values.split_at_mut(start);
        let mut x = [K::ZERO; N];
        for r in (0..N).rev() {
            x[r] = own[r];
            for c in r + 1..N {
                let share = square[c][r] * x[c];
                x[r] -= share;
            }
            x[r] *= square[r][r];
        }
        own[..N].copy_from_slice(&x);
        subtract_columns::<K, S, N>(simd, rest, above, x);
    }
}

#[inline(always)]
fn forward_transposed_block<K: Number, S: Simd, const N: usize>(simd: S, block: &[K], rows: usize, start: usize, values: &mut [K]) {
    let square = square::<K, N>(block, rows, start);
    let above = columns::<K, N>(block, rows, 0);
    for values in values.chunks_exact_mut(rows) {
        let (rest, own) = values.split_at_mut(start);
        let sums = dot_columns::<K, S, N>(simd, above, rest);
        for c in 0..N {
            let mut x = own[c] - sums[c];
            for r in 0..c {
                x -= square[c][r] * own[r];
            }
            own[c] = x * square[c][c];
        }
    }
}

#[inline(always)]
fn backward_transposed_block<K: Number, S: Simd, const N: usize>(simd: S, block: &[K], rows: usize, start: usize, values: &mut [K]) {
    let square = square::<K, N>(block, rows, start);
    let mut below = columns::<K, N>(block, rows, 0);
    for column in &mut below {
        *column = &column[start + N..rows];
    }
    for values in values.chunks_exact_mut(rows) {
        let (own, rest) = values[start..].split_at_mut(N);
        let sums = dot_columns::<K, S, N>(simd, below, rest);
        for c in (0..N).rev() {
            let mut x = own[c] - sums[c];
            for r in c + 1..N {
                x -= square[c][r] * own[r];
            }
            own[c] = x;
        }
    }
}

/// Subtracts weighted columns from `target`.
#[inline(always)]
fn subtract_columns<K: Number, S: Simd, const N: usize>(simd: S, target: &mut [K], columns: [&[K]; N], weights: [K; N]) {
    let columns = columns.map(|column| &column[..target.len()]);
    let mut negative = [K::splat(simd, K::ZERO); N];
    for c in 0..N {
        negative[c] = K::splat(simd, weights[c].negative());
    }
    high_tiles!(K, S, 0..target.len(), |row, length, V| {
        let mut x = load::<K, S, V>(simd, &target[row..][..length]);
        for c in 0..N {
            let a = load::<K, S, V>(simd, &columns[c][row..][..length]);
            for r in 0..V {
                x[r] = K::times_plus(simd, a[r], negative[c], x[r]);
            }
        }
        store::<K, S, V>(simd, &mut target[row..][..length], x);
    });
}

/// Products of columns with `values`.
#[inline(always)]
fn dot_columns<K: Number, S: Simd, const N: usize>(simd: S, columns: [&[K]; N], values: &[K]) -> [K; N] {
    let columns = columns.map(|column| &column[..values.len()]);
    let mut sums = [K::splat(simd, K::ZERO); N];
    let lanes = K::lanes::<S>();
    let whole = values.len() / lanes * lanes;
    let mut row = 0;
    while row < whole {
        let [x] = load::<K, S, 1>(simd, &values[row..][..lanes]);
        for c in 0..N {
            let [a] = load::<K, S, 1>(simd, &columns[c][row..][..lanes]);
            sums[c] = K::times_plus(simd, a, x, sums[c]);
        }
        row += lanes;
    }
    let mut out = [K::ZERO; N];
    for c in 0..N {
        out[c] = K::total(simd, sums[c]);
        for row in whole..values.len() {
            out[c] += columns[c][row] * values[row];
        }
    }
    out
}
