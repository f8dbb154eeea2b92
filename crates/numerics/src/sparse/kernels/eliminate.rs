use pulp::{Arch, Simd, WithSimd};

use super::{BLOCK, Triangle, block_width, divide_by_transpose, load, product, store, subtract, tiles};

/// A pivot that is not positive beyond rounding: its index in the front and its value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::sparse) struct BadPivot {
    pub(in crate::sparse) index: usize,
    pub(in crate::sparse) value: f64,
}

/// Pivots below this fraction of the assembled diagonal entry are lost in the rounding of the
/// elimination that formed them.
const PIVOT_TOLERANCE: f64 = 1e-13;

/// Partial Cholesky factorisation of one front.
///
/// `panel` holds the `pivots` eliminated columns (`rows` entries each), `update` the square rest
/// (`rows - pivots` on a side, lower triangle significant). On return `panel` holds the columns of the
/// factor and `update` the Schur complement.
pub(in crate::sparse) struct Eliminate<'a> {
    pub(in crate::sparse) panel: &'a mut [f64],
    pub(in crate::sparse) update: &'a mut [f64],
    pub(in crate::sparse) rows: usize,
    pub(in crate::sparse) pivots: usize,
    pub(in crate::sparse) diagonal: &'a [f64],
}

impl Eliminate<'_> {
    pub(in crate::sparse) fn run(self, arch: Arch) -> Result<(), BadPivot> {
        arch.dispatch(self)
    }
}

impl WithSimd for Eliminate<'_> {
    type Output = Result<(), BadPivot>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
        let Eliminate { panel, update, rows, pivots, diagonal } = self;
        let mut start = 0;
        while start < pivots {
            let width = block_width(start, pivots);
            let (done, rest) = panel.split_at_mut(start * rows);
            let result = match width {
                1 => eliminate_block::<S, 1>(simd, done, rest, rows, start, diagonal),
                2 => eliminate_block::<S, 2>(simd, done, rest, rows, start, diagonal),
                3 => eliminate_block::<S, 3>(simd, done, rest, rows, start, diagonal),
                _ => eliminate_block::<S, BLOCK>(simd, done, rest, rows, start, diagonal),
            };
            result?;
            start += width;
        }
        subtract_square(simd, panel, update, rows, pivots);
        Ok(())
    }
}

/// Brings the columns `start..start + N` up to date with the columns `done` before them, factors
/// their diagonal block and divides the rows below by it.
#[inline(always)]
fn eliminate_block<S: Simd, const N: usize>(
    simd: S,
    done: &[f64],
    columns: &mut [f64],
    rows: usize,
    start: usize,
    diagonal: &[f64],
) -> Result<(), BadPivot> {
    let weights = &done[start.min(done.len())..];
    let head = S::F64_LANES.min(N);
    if start > 0 {
        let sum = product::<S, 1, N>(simd, &done[start..], rows, weights, rows, start, head);
        for c in 0..N {
            let target = &mut columns[c * rows + start..][..head];
            subtract::<S, 1>(simd, target, sum[c]);
        }
        // A narrow vector leaves part of the diagonal block for the scalar loop.
        for r in head..N {
            for c in 0..N {
                let mut sum = 0.0;
                for k in 0..start {
                    sum += done[k * rows + start + r] * done[k * rows + start + c];
                }
                columns[c * rows + start + r] -= sum;
            }
        }
    }
    let triangle = factor_triangle::<N>(columns, rows, start, diagonal)?;
    tiles!(S, start + N..rows, |row, length, V| {
        eliminate_rows::<S, V, N>(simd, done, columns, rows, start, row, length, &triangle);
    });
    Ok(())
}

#[inline(always)]
fn factor_triangle<const N: usize>(columns: &mut [f64], rows: usize, start: usize, diagonal: &[f64]) -> Result<Triangle<N>, BadPivot> {
    let mut lower = [[0.0; N]; N];
    let mut reciprocal = [0.0; N];
    for c in 0..N {
        let column = &columns[c * rows + start..][..N];
        for r in c..N {
            lower[r][c] = column[r];
        }
    }
    for c in 0..N {
        let pivot = lower[c][c];
        // Written so that a pivot that is not a number fails too.
        if !(pivot > PIVOT_TOLERANCE * diagonal[start + c] && pivot < f64::INFINITY) {
            return Err(BadPivot { index: start + c, value: pivot });
        }
        let root = pivot.sqrt();
        lower[c][c] = root;
        reciprocal[c] = 1.0 / root;
        for r in c + 1..N {
            lower[r][c] *= reciprocal[c];
        }
        for d in c + 1..N {
            for r in d..N {
                lower[r][d] -= lower[r][c] * lower[d][c];
            }
        }
    }
    for c in 0..N {
        let column = &mut columns[c * rows + start..][..N];
        for r in 0..N {
            column[r] = lower[r][c];
        }
    }
    Ok(Triangle { lower, reciprocal })
}

#[inline(always)]
fn eliminate_rows<S: Simd, const M: usize, const N: usize>(
    simd: S,
    done: &[f64],
    columns: &mut [f64],
    rows: usize,
    start: usize,
    row: usize,
    count: usize,
    triangle: &Triangle<N>,
) {
    // Sums first, the values they go to after: both together outgrow the registers.
    let sum = product::<S, M, N>(simd, &done[row.min(done.len())..], rows, &done[start.min(done.len())..], rows, start, count);
    let mut x = [[simd.splat_f64s(0.0); M]; N];
    for c in 0..N {
        x[c] = load::<S, M>(simd, &columns[c * rows + row..][..count]);
        for r in 0..M {
            x[c][r] = simd.sub_f64s(x[c][r], sum[c][r]);
        }
    }
    divide_by_transpose::<S, M, N>(simd, &mut x, triangle);
    for c in 0..N {
        store::<S, M>(simd, &mut columns[c * rows + row..][..count], x[c]);
    }
}

/// Subtracts the product of the sub-panel with its transpose from the lower triangle of `update`.
#[inline(always)]
fn subtract_square<S: Simd>(simd: S, panel: &[f64], update: &mut [f64], rows: usize, pivots: usize) {
    let size = rows - pivots;
    if pivots == 0 {
        return;
    }
    let below = &panel[pivots..];
    let mut column = 0;
    while column < size {
        let width = BLOCK.min(size - column);
        let weights = &below[column..];
        tiles!(S, column..size, |row, count, V| {
            if width == BLOCK {
                let sum = product::<S, V, BLOCK>(simd, &below[row..], rows, weights, rows, pivots, count);
                for c in 0..BLOCK {
                    subtract::<S, V>(simd, &mut update[(column + c) * size + row..][..count], sum[c]);
                }
            } else {
                for c in 0..width {
                    let sum = product::<S, V, 1>(simd, &below[row..], rows, &weights[c..], rows, pivots, count);
                    subtract::<S, V>(simd, &mut update[(column + c) * size + row..][..count], sum[0]);
                }
            }
        });
        column += width;
    }
}

/// Adds the lower triangle of a child's update into its parent's front. `runs` are stretches of
/// consecutive indices: (first in the child, first in the parent's front, length).
pub(in crate::sparse) struct ExtendAdd<'a> {
    pub(in crate::sparse) child: &'a [f64],
    pub(in crate::sparse) size: usize,
    pub(in crate::sparse) runs: &'a [[u32; 3]],
    pub(in crate::sparse) panel: &'a mut [f64],
    pub(in crate::sparse) update: &'a mut [f64],
    pub(in crate::sparse) rows: usize,
    pub(in crate::sparse) pivots: usize,
}

impl ExtendAdd<'_> {
    pub(in crate::sparse) fn run(self, arch: Arch) {
        arch.dispatch(self);
    }
}

impl WithSimd for ExtendAdd<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        for (k, &[first, target, length]) in self.runs.iter().enumerate() {
            for offset in 0..length as usize {
                let source = &self.child[(first as usize + offset) * self.size..][..self.size];
                let column = target as usize + offset;
                // `shift` turns a row of the front into a row of the destination.
                let (destination, shift) = if column < self.pivots {
                    (&mut self.panel[column * self.rows..][..self.rows], 0)
                } else {
                    let size = self.rows - self.pivots;
                    (&mut self.update[(column - self.pivots) * size..][..size], self.pivots)
                };
                add(&mut destination[column - shift..][..length as usize - offset], &source[first as usize + offset..]);
                for &[first, target, length] in &self.runs[k + 1..] {
                    add(&mut destination[target as usize - shift..][..length as usize], &source[first as usize..]);
                }
            }
        }
    }
}

#[inline(always)]
fn add(to: &mut [f64], from: &[f64]) {
    for (t, f) in to.iter_mut().zip(from) {
        *t += f;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every cut of tiles and blocks, with and without vector instructions, against plain loops.
    #[test]
    fn elimination_of_any_size_on_any_instructions() {
        for rows in 1..23 {
            for pivots in 0..=rows {
                let entry = |i: usize, j: usize| if i == j { 30.0 } else { ((i * j + i + j) % 11) as f64 / 11.0 - 0.4 };
                let mut expected: Vec<f64> = (0..rows * rows).map(|k| entry(k % rows, k / rows)).collect();
                for k in 0..pivots {
                    let root = expected[k * rows + k].sqrt();
                    for i in k..rows {
                        expected[k * rows + i] /= root;
                    }
                    for j in k + 1..rows {
                        for i in j..rows {
                            expected[j * rows + i] -= expected[k * rows + i] * expected[k * rows + j];
                        }
                    }
                }
                for scalar in [false, true] {
                    let size = rows - pivots;
                    let mut panel: Vec<f64> = (0..rows * pivots).map(|k| entry(k % rows, k / rows)).collect();
                    let mut update: Vec<f64> = (0..size * size).map(|k| entry(pivots + k % size, pivots + k / size)).collect();
                    let diagonal = vec![30.0; pivots];
                    let front = Eliminate { panel: &mut panel, update: &mut update, rows, pivots, diagonal: &diagonal };
                    if scalar { front.with_simd(pulp::Scalar::new()) } else { front.run(Arch::new()) }.unwrap();
                    for j in 0..rows {
                        for i in j..rows {
                            let value = match j.checked_sub(pivots) {
                                None => panel[j * rows + i],
                                Some(j) => update[j * size + i - pivots],
                            };
                            assert!((value - expected[j * rows + i]).abs() < 1e-13, "{rows} {pivots} {i} {j} {scalar}");
                        }
                    }
                }
            }
        }
    }
}
