use pulp::{Arch, Simd, WithSimd};

use super::{BLOCK, Triangle, block_width, divide, divide_by_transpose, load, load_whole, product, store, subtract, tiles};

/// Forward substitution through one front for many right-hand sides at once.
///
/// Right-hand sides are stored with one column of `count` values per unknown. `own` are the columns
/// of the pivots, `boundary` the positions of the unknowns that get their share.
pub(in crate::sparse) struct Forward<'a> {
    pub(in crate::sparse) panel: &'a [f64],
    pub(in crate::sparse) rows: usize,
    pub(in crate::sparse) pivots: usize,
    pub(in crate::sparse) own: &'a mut [f64],
    /// All later unknowns, `first` being the position of the first of them.
    pub(in crate::sparse) later: &'a mut [f64],
    pub(in crate::sparse) first: usize,
    pub(in crate::sparse) boundary: &'a [u32],
    pub(in crate::sparse) count: usize,
}

impl Forward<'_> {
    pub(in crate::sparse) fn run(self, arch: Arch) {
        arch.dispatch(self);
    }
}

impl WithSimd for Forward<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Forward { panel, rows, pivots, own, later, first, boundary, count } = self;
        let mut start = 0;
        while start < pivots {
            let width = block_width(start, pivots);
            match width {
                1 => forward_block::<S, 1>(simd, panel, rows, own, start, count),
                2 => forward_block::<S, 2>(simd, panel, rows, own, start, count),
                3 => forward_block::<S, 3>(simd, panel, rows, own, start, count),
                _ => forward_block::<S, BLOCK>(simd, panel, rows, own, start, count),
            }
            start += width;
        }
        for (block, targets) in boundary.chunks(BLOCK).enumerate() {
            let weights = &panel[pivots + block * BLOCK..];
            tiles!(S, 0..count, |row, length, V| {
                forward_boundary::<S, V>(simd, own, count, weights, rows, pivots, later, first, targets, row, length);
            });
        }
    }
}

#[inline(always)]
fn forward_block<S: Simd, const N: usize>(simd: S, panel: &[f64], rows: usize, own: &mut [f64], start: usize, count: usize) {
    let triangle = read_triangle::<N>(panel, rows, start);
    let (done, columns) = own.split_at_mut(start * count);
    let weights = &panel[start..];
    tiles!(S, 0..count, |row, length, V| {
        forward_rows::<S, V, N>(simd, done, columns, weights, rows, start, count, row, length, &triangle);
    });
}

#[inline(always)]
fn forward_rows<S: Simd, const M: usize, const N: usize>(
    simd: S,
    done: &[f64],
    columns: &mut [f64],
    weights: &[f64],
    rows: usize,
    depth: usize,
    count: usize,
    row: usize,
    length: usize,
    triangle: &Triangle<N>,
) {
    let sum = product::<S, M, N>(simd, &done[row.min(done.len())..], count, weights, rows, depth, length);
    let mut x = [[simd.splat_f64s(0.0); M]; N];
    for c in 0..N {
        x[c] = load::<S, M>(simd, &columns[c * count + row..][..length]);
        for r in 0..M {
            x[c][r] = simd.sub_f64s(x[c][r], sum[c][r]);
        }
    }
    divide_by_transpose::<S, M, N>(simd, &mut x, triangle);
    for c in 0..N {
        store::<S, M>(simd, &mut columns[c * count + row..][..length], x[c]);
    }
}

#[inline(always)]
fn forward_boundary<S: Simd, const M: usize>(
    simd: S,
    own: &[f64],
    count: usize,
    weights: &[f64],
    rows: usize,
    pivots: usize,
    later: &mut [f64],
    first: usize,
    targets: &[u32],
    row: usize,
    length: usize,
) {
    let sum = product::<S, M, BLOCK>(simd, &own[row..], count, weights, rows, pivots, length);
    for (c, &target) in targets.iter().enumerate() {
        let target = &mut later[(target as usize - first) * count + row..][..length];
        subtract::<S, M>(simd, target, sum[c]);
    }
}

/// Back substitution through one front for many right-hand sides; `boundary` are the gathered columns
/// of the boundary values (`rows - pivots` of them, zero where padded).
pub(in crate::sparse) struct Backward<'a> {
    pub(in crate::sparse) panel: &'a [f64],
    pub(in crate::sparse) rows: usize,
    pub(in crate::sparse) pivots: usize,
    pub(in crate::sparse) own: &'a mut [f64],
    pub(in crate::sparse) boundary: &'a [f64],
    pub(in crate::sparse) count: usize,
}

impl Backward<'_> {
    pub(in crate::sparse) fn run(self, arch: Arch) {
        arch.dispatch(self);
    }
}

impl WithSimd for Backward<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Backward { panel, rows, pivots, own, boundary, count } = self;
        let mut end = pivots;
        while end > 0 {
            let width = BLOCK.min(end);
            let start = end - width;
            match width {
                1 => backward_block::<S, 1>(simd, panel, rows, pivots, own, boundary, start, count),
                2 => backward_block::<S, 2>(simd, panel, rows, pivots, own, boundary, start, count),
                3 => backward_block::<S, 3>(simd, panel, rows, pivots, own, boundary, start, count),
                _ => backward_block::<S, BLOCK>(simd, panel, rows, pivots, own, boundary, start, count),
            }
            end = start;
        }
    }
}

#[inline(always)]
fn backward_block<S: Simd, const N: usize>(
    simd: S,
    panel: &[f64],
    rows: usize,
    pivots: usize,
    own: &mut [f64],
    boundary: &[f64],
    start: usize,
    count: usize,
) {
    let triangle = read_triangle::<N>(panel, rows, start);
    let end = start + N;
    let (columns, known) = own.split_at_mut(end * count);
    let columns = &mut columns[start * count..];
    let panel = &panel[start * rows..];
    tiles!(S, 0..count, |row, length, V| {
        backward_rows::<S, V, N>(simd, panel, rows, end, pivots, columns, known, boundary, count, row, length, &triangle);
    });
}

#[inline(always)]
fn backward_rows<S: Simd, const M: usize, const N: usize>(
    simd: S,
    panel: &[f64],
    rows: usize,
    end: usize,
    pivots: usize,
    columns: &mut [f64],
    known: &[f64],
    boundary: &[f64],
    count: usize,
    row: usize,
    length: usize,
    triangle: &Triangle<N>,
) {
    // Sums first, the values they go to after: both together outgrow the registers.
    let mut sum = [[simd.splat_f64s(0.0); M]; N];
    add_transposed_product::<S, M, N>(simd, &mut sum, panel, rows, end..pivots, known, count, row, length);
    add_transposed_product::<S, M, N>(simd, &mut sum, panel, rows, pivots..rows, boundary, count, row, length);
    let mut x = [[simd.splat_f64s(0.0); M]; N];
    for c in 0..N {
        x[c] = load::<S, M>(simd, &columns[c * count + row..][..length]);
        for r in 0..M {
            x[c][r] = simd.sub_f64s(x[c][r], sum[c][r]);
        }
    }
    divide::<S, M, N>(simd, &mut x, triangle);
    for c in 0..N {
        store::<S, M>(simd, &mut columns[c * count + row..][..length], x[c]);
    }
}

/// Adds the columns of `left` weighted by the rows `range` of `N` panel columns.
#[inline(always)]
fn add_transposed_product<S: Simd, const M: usize, const N: usize>(
    simd: S,
    sum: &mut [[S::f64s; M]; N],
    panel: &[f64],
    rows: usize,
    range: core::ops::Range<usize>,
    left: &[f64],
    count: usize,
    row: usize,
    length: usize,
) {
    let depth = range.len();
    let mut weights: [&[f64]; N] = [&[]; N];
    for c in 0..N {
        weights[c] = &panel[c * rows + range.start..][..depth];
    }
    let mut total = *sum;
    if length == M * S::F64_LANES {
        for k in 0..depth {
            let a = load_whole::<S, M>(simd, &left[k * count + row..][..M * S::F64_LANES]);
            for c in 0..N {
                let weight = simd.splat_f64s(weights[c][k]);
                for r in 0..M {
                    total[c][r] = simd.mul_add_e_f64s(a[r], weight, total[c][r]);
                }
            }
        }
    } else {
        for k in 0..depth {
            let a = load::<S, M>(simd, &left[k * count + row..][..length]);
            for c in 0..N {
                let weight = simd.splat_f64s(weights[c][k]);
                for r in 0..M {
                    total[c][r] = simd.mul_add_e_f64s(a[r], weight, total[c][r]);
                }
            }
        }
    }
    *sum = total;
}

#[inline(always)]
fn read_triangle<const N: usize>(panel: &[f64], rows: usize, start: usize) -> Triangle<N> {
    let mut lower = [[0.0; N]; N];
    let mut reciprocal = [0.0; N];
    for c in 0..N {
        let column = &panel[(start + c) * rows + start..][..N];
        for r in c..N {
            lower[r][c] = column[r];
        }
        reciprocal[c] = 1.0 / lower[c][c];
    }
    Triangle { lower, reciprocal }
}
