use pulp::{Arch, Simd, WithSimd};

use super::super::super::kernels::block_width;
use super::super::number::Number;
use super::{BLOCK, Upper, columns, divide, high_tiles, load, product, store, subtract};

/// A pivot lost in rounding: its index in the front and its value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::sparse::lu) struct LostPivot {
    pub(in crate::sparse::lu) index: usize,
    pub(in crate::sparse::lu) value: f64,
}

/// Pivots below this fraction of the greatest entry of their row are lost in the rounding of the elimination that formed them.
pub(super) const PIVOT_TOLERANCE: f64 = 1e-13;

/// Partial LU factorisation of one front.
///
/// `left` holds the columns of the pivots (`rows` entries each), `right` the rows of the pivots in the later columns (`pivots`
/// entries a column), `update` the rest (`rows - pivots` entries a column). On return `left` and `right` hold the factors, `L` with a unit
/// diagonal, `U` with the reciprocals of its diagonal, and `update` the Schur complement. `scales` are the greatest entries of the pivots' rows.
pub(in crate::sparse::lu) struct Eliminate<'a, K> {
    pub(in crate::sparse::lu) left: &'a mut [K],
    pub(in crate::sparse::lu) right: &'a mut [K],
    pub(in crate::sparse::lu) update: &'a mut [K],
    pub(in crate::sparse::lu) rows: usize,
    pub(in crate::sparse::lu) pivots: usize,
    pub(in crate::sparse::lu) scales: &'a [f64],
}

impl<K: Number> Eliminate<'_, K> {
    pub(in crate::sparse::lu) fn run(self, arch: Arch) -> Result<(), LostPivot> {
        arch.dispatch(self)
    }
}

impl<K: Number> WithSimd for Eliminate<'_, K> {
    type Output = Result<(), LostPivot>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
        let Eliminate { left, right, update, rows, pivots, scales } = self;
        if pivots == 0 {
            return Ok(());
        }
        let mut start = 0;
        while start < pivots {
            let width = block_width(start, pivots);
            let (done, rest) = left.split_at_mut(start * rows);
            let scales = &scales[start..];
            match width {
                1 => eliminate_block::<K, S, 1>(simd, done, rest, rows, start, scales)?,
                2 => eliminate_block::<K, S, 2>(simd, done, rest, rows, start, scales)?,
                3 => eliminate_block::<K, S, 3>(simd, done, rest, rows, start, scales)?,
                _ => eliminate_block::<K, S, BLOCK>(simd, done, rest, rows, start, scales)?,
            }
            start += width;
        }
        let later = right.len() / pivots;
        let mut column = 0;
        while column + BLOCK <= later {
            divide_top::<K, S, BLOCK>(simd, left, rows, &mut right[column * pivots..], pivots, pivots);
            column += BLOCK;
        }
        for column in column..later {
            divide_top::<K, S, 1>(simd, left, rows, &mut right[column * pivots..], pivots, pivots);
        }
        subtract_product(simd, left, right, update, rows, pivots);
        Ok(())
    }
}

/// Brings the columns `start..start + N` up to date with the columns `done` before them, factors
/// their diagonal block and divides the rows below by it.
#[inline(always)]
fn eliminate_block<K: Number, S: Simd, const N: usize>(
    simd: S,
    done: &[K],
    block: &mut [K],
    rows: usize,
    start: usize,
    scales: &[f64],
) -> Result<(), LostPivot> {
    divide_top::<K, S, N>(simd, done, rows, block, rows, start);
    // The top of the columns is known and weighs the products; the rest of them is changed.
    let mut parts: [(&[K], &mut [K]); N] = core::array::from_fn(|_| Default::default());
    for (part, column) in parts.iter_mut().zip(block.chunks_exact_mut(rows)) {
        let (top, rest) = column.split_at_mut(start);
        *part = (top, rest);
    }
    let mut top: [&[K]; N] = [&[]; N];
    for c in 0..N {
        top[c] = parts[c].0;
    }
    let below = &done[start.min(done.len())..];
    if start > 0 {
        // The first block took the odd columns, so that here all vectors are whole.
        high_tiles!(K, S, 0..N, |row, length, V| {
            let sum = product::<K, S, V, N>(simd, &below[row..], rows, top, start, length);
            for c in 0..N {
                subtract::<K, S, V>(simd, &mut parts[c].1[row..][..length], sum[c]);
            }
        });
    }
    let mut square = [[K::ZERO; N]; N];
    for c in 0..N {
        for r in 0..N {
            square[r][c] = parts[c].1[r];
        }
    }
    let triangle = factor_square::<K, N>(&mut square, scales).map_err(|(index, value)| LostPivot { index: start + index, value })?;
    for c in 0..N {
        square[c][c] = triangle.reciprocal[c];
        for r in 0..N {
            parts[c].1[r] = square[r][c];
        }
    }
    high_tiles!(K, S, N..rows - start, |row, length, V| {
        let sum = product::<K, S, V, N>(simd, &below[row.min(below.len())..], rows, top, start, length);
        let mut x = [[K::splat(simd, K::ZERO); V]; N];
        for c in 0..N {
            x[c] = load::<K, S, V>(simd, &parts[c].1[row..][..length]);
            for r in 0..V {
                x[c][r] = K::minus(simd, x[c][r], sum[c][r]);
            }
        }
        divide::<K, S, V, N>(simd, &mut x, &triangle);
        for c in 0..N {
            store::<K, S, V>(simd, &mut parts[c].1[row..][..length], x[c]);
        }
    });
    Ok(())
}

/// Returns the transposed upper triangle; `square` becomes both triangles.
#[inline(always)]
fn factor_square<K: Number, const N: usize>(square: &mut [[K; N]; N], scales: &[f64]) -> Result<Upper<K, N>, (usize, f64)> {
    let mut triangle = Upper { transposed: [[K::ZERO; N]; N], reciprocal: [K::ZERO; N] };
    for k in 0..N {
        let pivot = square[k][k];
        // Written so that a pivot that is not a number fails too.
        if !(pivot.magnitude() > PIVOT_TOLERANCE * scales[k] && pivot.magnitude() < f64::INFINITY) {
            return Err((k, pivot.shown()));
        }
        triangle.reciprocal[k] = pivot.reciprocal();
        for r in k + 1..N {
            square[r][k] *= triangle.reciprocal[k];
            for c in k + 1..N {
                let share = square[r][k] * square[k][c];
                square[r][c] -= share;
            }
        }
        for c in k + 1..N {
            triangle.transposed[c][k] = square[k][c];
        }
    }
    Ok(triangle)
}

/// Divides the first `depth` rows of `N` columns by the unit lower triangle of `done`.
#[inline(always)]
fn divide_top<K: Number, S: Simd, const N: usize>(simd: S, done: &[K], rows: usize, block: &mut [K], stride: usize, depth: usize) {
    let mut start = 0;
    while start < depth {
        let width = block_width(start, depth);
        match width {
            1 => divide_rows::<K, S, 1, N>(simd, done, rows, block, stride, start),
            2 => divide_rows::<K, S, 2, N>(simd, done, rows, block, stride, start),
            3 => divide_rows::<K, S, 3, N>(simd, done, rows, block, stride, start),
            _ => divide_rows::<K, S, BLOCK, N>(simd, done, rows, block, stride, start),
        }
        start += width;
    }
}

/// Rows `start..start + W` of [`divide_top`].
#[inline(always)]
fn divide_rows<K: Number, S: Simd, const W: usize, const N: usize>(
    simd: S,
    done: &[K],
    rows: usize,
    block: &mut [K],
    stride: usize,
    start: usize,
) {
    if start > 0 {
        let left = &done[start..];
        let weights = columns::<K, N>(block, stride, 0);
        if K::lanes::<S>() == W {
            let sum = product::<K, S, 1, N>(simd, left, rows, weights, start, W);
            for c in 0..N {
                subtract::<K, S, 1>(simd, &mut block[c * stride + start..][..W], sum[c]);
            }
        } else {
            for c in 0..N {
                for r in 0..W {
                    let sum: K = (0..start).map(|k| left[k * rows + r] * block[c * stride + k]).sum();
                    block[c * stride + start + r] -= sum;
                }
            }
        }
    }
    let mut lower = [[K::ZERO; W]; W];
    for k in 0..W {
        let column = &done[(start + k) * rows + start..][..W];
        for r in k + 1..W {
            lower[r][k] = column[r];
        }
    }
    for c in 0..N {
        let column = &mut block[c * stride + start..][..W];
        for r in 1..W {
            let mut value = column[r];
            for k in 0..r {
                value -= lower[r][k] * column[k];
            }
            column[r] = value;
        }
    }
}

/// Subtracts the product of the rows of `left` below the pivots and of `right` from `update`.
#[inline(always)]
fn subtract_product<K: Number, S: Simd>(simd: S, left: &[K], right: &[K], update: &mut [K], rows: usize, pivots: usize) {
    let size = rows - pivots;
    let later = right.len() / pivots;
    let below = &left[pivots..];
    high_tiles!(K, S, 0..size, |row, length, V| {
        let left = &below[row..];
        let mut column = 0;
        while column + BLOCK <= later {
            let sum = product::<K, S, V, BLOCK>(simd, left, rows, columns::<K, BLOCK>(right, pivots, column), pivots, length);
            for c in 0..BLOCK {
                subtract::<K, S, V>(simd, &mut update[(column + c) * size + row..][..length], sum[c]);
            }
            column += BLOCK;
        }
        for column in column..later {
            let sum = product::<K, S, V, 1>(simd, left, rows, columns::<K, 1>(right, pivots, column), pivots, length);
            subtract::<K, S, V>(simd, &mut update[column * size + row..][..length], sum[0]);
        }
    });
}

/// Adds a child's update into its parent's front. `runs` are stretches of
/// consecutive indices: (first in the child, first in the parent's front, length).
pub(in crate::sparse::lu) struct TakeUpdate<'a, K> {
    pub(in crate::sparse::lu) child: &'a [K],
    pub(in crate::sparse::lu) stride: usize,
    pub(in crate::sparse::lu) runs: &'a [[u32; 3]],
    pub(in crate::sparse::lu) left: &'a mut [K],
    pub(in crate::sparse::lu) right: &'a mut [K],
    pub(in crate::sparse::lu) update: &'a mut [K],
    pub(in crate::sparse::lu) rows: usize,
    pub(in crate::sparse::lu) pivots: usize,
}

impl<K: Number> TakeUpdate<'_, K> {
    pub(in crate::sparse::lu) fn run(self, arch: Arch) {
        arch.dispatch(self);
    }
}

impl<K: Number> WithSimd for TakeUpdate<'_, K> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let TakeUpdate { child, stride, runs, left, right, update, rows, pivots } = self;
        // Runs do not cross from the pivots to the boundary.
        let (eliminated, kept) = runs.split_at(runs.partition_point(|run| (run[1] as usize) < pivots));
        let columns = |run: &[u32; 3]| {
            let [first, target, length] = run.map(|number| number as usize);
            (0..length).map(move |offset| (first + offset, target + offset))
        };
        for (from, to) in eliminated.iter().flat_map(columns) {
            add_runs(&mut left[to * rows..][..rows], 0, &child[from * stride..][..stride], runs);
        }
        for (from, to) in kept.iter().flat_map(columns) {
            let source = &child[from * stride..][..stride];
            add_runs(&mut right[(to - pivots) * pivots..][..pivots], 0, source, eliminated);
            add_runs(&mut update[(to - pivots) * (rows - pivots)..][..rows - pivots], pivots, source, kept);
        }
    }
}

#[inline(always)]
fn add_runs<K: Number>(target: &mut [K], shift: usize, source: &[K], runs: &[[u32; 3]]) {
    for &[first, to, length] in runs {
        let target = &mut target[to as usize - shift..][..length as usize];
        for (t, s) in target.iter_mut().zip(&source[first as usize..][..length as usize]) {
            *t += *s;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every cut of tiles and blocks, with and without vector instructions, against plain loops.
    #[test]
    fn elimination_of_any_size_on_any_instructions() {
        for rows in 1..23 {
            for pivots in 1..=rows {
                let entry = |i: usize, j: usize| if i == j { 30.0 } else { ((i * j + 2 * i + j) % 11) as f64 / 11.0 - 0.4 };
                let mut expected: Vec<f64> = (0..rows * rows).map(|k| entry(k % rows, k / rows)).collect();
                for k in 0..pivots {
                    for i in k + 1..rows {
                        expected[k * rows + i] /= expected[k * rows + k];
                    }
                    for j in k + 1..rows {
                        for i in k + 1..rows {
                            expected[j * rows + i] -= expected[k * rows + i] * expected[j * rows + k];
                        }
                    }
                }
                for scalar in [false, true] {
                    let size = rows - pivots;
                    let mut left: Vec<f64> = (0..rows * pivots).map(|k| entry(k % rows, k / rows)).collect();
                    let mut right: Vec<f64> = (0..pivots * size).map(|k| entry(k % pivots, pivots + k / pivots)).collect();
                    let mut update: Vec<f64> = (0..size * size).map(|k| entry(pivots + k % size, pivots + k / size)).collect();
                    let scales = vec![30.0; pivots];
                    let front = Eliminate { left: &mut left, right: &mut right, update: &mut update, rows, pivots, scales: &scales };
                    if scalar { front.with_simd(pulp::Scalar::new()) } else { front.run(Arch::new()) }.unwrap();
                    for j in 0..rows {
                        for i in 0..rows {
                            let value = match (i.checked_sub(pivots), j.checked_sub(pivots)) {
                                (_, None) if i == j => 1.0 / left[j * rows + i],
                                (_, None) => left[j * rows + i],
                                (None, Some(j)) => right[j * pivots + i],
                                (Some(i), Some(j)) => update[j * size + i],
                            };
                            assert!((value - expected[j * rows + i]).abs() < 1e-13, "{rows} {pivots} {i} {j} {scalar}");
                        }
                    }
                }
            }
        }
    }
}
