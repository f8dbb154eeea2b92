//! Dense kernels on the panels of one front, vectorised by run-time dispatch.
//!
//! All blocks are column-major slices. Rows are processed in tiles of whole vectors, columns in blocks
//! of [`BLOCK`]; a front is padded so that no tile is cut, but every kernel is right for any size.

use pulp::{Arch, Simd, WithSimd};

/// Columns handled together: each loaded vector of the left operand serves this many products.
pub(super) const BLOCK: usize = 4;

/// `size` rounded up to a multiple of [`BLOCK`].
pub(super) fn padded(size: usize) -> usize {
    size.next_multiple_of(BLOCK)
}

/// Runs the body for tiles of rows, two vectors high while they last, then one (the last perhaps cut).
/// A macro, since a closure would not be compiled for the vector instructions dispatched to.
macro_rules! tiles {
    ($simd:ty, $range:expr, |$row:ident, $length:ident, $vectors:ident| $body:block) => {{
        let range: core::ops::Range<usize> = $range;
        let mut $row = range.start;
        while $row + 2 * <$simd>::F64_LANES <= range.end {
            const $vectors: usize = 2;
            let $length = 2 * <$simd>::F64_LANES;
            $body
            $row += $length;
        }
        while $row < range.end {
            const $vectors: usize = 1;
            let $length = <$simd>::F64_LANES.min(range.end - $row);
            $body
            $row += $length;
        }
    }};
}

/// A pivot that is not positive beyond rounding: its index in the front and its value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct BadPivot {
    pub(super) index: usize,
    pub(super) value: f64,
}

/// Pivots below this fraction of the assembled diagonal entry are lost in the rounding of the
/// elimination that formed them.
const PIVOT_TOLERANCE: f64 = 1e-13;

/// Partial Cholesky factorisation of one front.
///
/// `panel` holds the `pivots` eliminated columns (`rows` entries each), `update` the square rest
/// (`rows - pivots` on a side, lower triangle significant). On return `panel` holds the columns of the
/// factor and `update` the Schur complement.
pub(super) struct Eliminate<'a> {
    pub(super) panel: &'a mut [f64],
    pub(super) update: &'a mut [f64],
    pub(super) rows: usize,
    pub(super) pivots: usize,
    pub(super) diagonal: &'a [f64],
}

impl Eliminate<'_> {
    pub(super) fn run(self, arch: Arch) -> Result<(), BadPivot> {
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

/// The first block takes the odd columns, so that all later tiles are whole.
#[inline(always)]
fn block_width(start: usize, total: usize) -> usize {
    match (total - start) % BLOCK {
        0 => BLOCK,
        odd => odd,
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

/// Lower triangle with the reciprocals of its diagonal.
struct Triangle<const N: usize> {
    lower: [[f64; N]; N],
    reciprocal: [f64; N],
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

/// `x <- x L^-T`
#[inline(always)]
fn divide_by_transpose<S: Simd, const M: usize, const N: usize>(simd: S, x: &mut [[S::f64s; M]; N], triangle: &Triangle<N>) {
    for c in 0..N {
        for d in 0..c {
            let weight = simd.splat_f64s(-triangle.lower[c][d]);
            for r in 0..M {
                x[c][r] = simd.mul_add_e_f64s(x[d][r], weight, x[c][r]);
            }
        }
        let scale = simd.splat_f64s(triangle.reciprocal[c]);
        for r in 0..M {
            x[c][r] = simd.mul_f64s(x[c][r], scale);
        }
    }
}

/// `x <- x L^-1`
#[inline(always)]
fn divide<S: Simd, const M: usize, const N: usize>(simd: S, x: &mut [[S::f64s; M]; N], triangle: &Triangle<N>) {
    for c in (0..N).rev() {
        for d in c + 1..N {
            let weight = simd.splat_f64s(-triangle.lower[d][c]);
            for r in 0..M {
                x[c][r] = simd.mul_add_e_f64s(x[d][r], weight, x[c][r]);
            }
        }
        let scale = simd.splat_f64s(triangle.reciprocal[c]);
        for r in 0..M {
            x[c][r] = simd.mul_f64s(x[c][r], scale);
        }
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
        let mut row = column;
        while row < size {
            let count = (2 * S::F64_LANES).min(size - row);
            if count == 2 * S::F64_LANES && width == BLOCK {
                let sum = product::<S, 2, BLOCK>(simd, &below[row..], rows, weights, rows, pivots, count);
                for c in 0..BLOCK {
                    subtract::<S, 2>(simd, &mut update[(column + c) * size + row..][..count], sum[c]);
                }
                row += count;
            } else {
                let count = count.min(S::F64_LANES);
                for c in 0..width {
                    let sum = product::<S, 1, 1>(simd, &below[row..], rows, &weights[c..], rows, pivots, count);
                    subtract::<S, 1>(simd, &mut update[(column + c) * size + row..][..count], sum[0]);
                }
                row += count;
            }
        }
        column += width;
    }
}

/// Sum over `depth` columns of (column of `left`, `count` rows) times (the first `N` entries of the
/// column of `right`).
#[inline(always)]
fn product<S: Simd, const M: usize, const N: usize>(
    simd: S,
    left: &[f64],
    left_stride: usize,
    right: &[f64],
    right_stride: usize,
    depth: usize,
    count: usize,
) -> [[S::f64s; M]; N] {
    let mut sum = [[simd.splat_f64s(0.0); M]; N];
    if count == M * S::F64_LANES {
        for k in 0..depth {
            let a = load_whole::<S, M>(simd, &left[k * left_stride..][..M * S::F64_LANES]);
            let weights = &right[k * right_stride..][..N];
            for c in 0..N {
                let weight = simd.splat_f64s(weights[c]);
                for r in 0..M {
                    sum[c][r] = simd.mul_add_e_f64s(a[r], weight, sum[c][r]);
                }
            }
        }
    } else {
        for k in 0..depth {
            let a = load::<S, M>(simd, &left[k * left_stride..][..count]);
            let weights = &right[k * right_stride..][..N];
            for c in 0..N {
                let weight = simd.splat_f64s(weights[c]);
                for r in 0..M {
                    sum[c][r] = simd.mul_add_e_f64s(a[r], weight, sum[c][r]);
                }
            }
        }
    }
    sum
}

#[inline(always)]
fn load_whole<S: Simd, const M: usize>(simd: S, from: &[f64]) -> [S::f64s; M] {
    let mut out = [simd.splat_f64s(0.0); M];
    // Vector by vector: a copy of the whole array would go through memory.
    for (out, vector) in out.iter_mut().zip(S::as_simd_f64s(from).0) {
        *out = *vector;
    }
    out
}

#[inline(always)]
fn load<S: Simd, const M: usize>(simd: S, from: &[f64]) -> [S::f64s; M] {
    if from.len() == M * S::F64_LANES {
        return load_whole::<S, M>(simd, from);
    }
    let mut out = [simd.splat_f64s(0.0); M];
    for (r, part) in from.chunks(S::F64_LANES).enumerate() {
        out[r] = simd.partial_load_f64s(part);
    }
    out
}

#[inline(always)]
fn store<S: Simd, const M: usize>(simd: S, to: &mut [f64], values: [S::f64s; M]) {
    if to.len() == M * S::F64_LANES {
        for (vector, value) in S::as_mut_simd_f64s(to).0.iter_mut().zip(values) {
            *vector = value;
        }
        return;
    }
    for (r, part) in to.chunks_mut(S::F64_LANES).enumerate() {
        simd.partial_store_f64s(part, values[r]);
    }
}

#[inline(always)]
fn subtract<S: Simd, const M: usize>(simd: S, target: &mut [f64], sum: [S::f64s; M]) {
    let mut values = load::<S, M>(simd, target);
    for r in 0..M {
        values[r] = simd.sub_f64s(values[r], sum[r]);
    }
    store::<S, M>(simd, target, values);
}

/// Adds the lower triangle of a child's update into its parent's front. `runs` are stretches of
/// consecutive indices: (first in the child, first in the parent's front, length).
pub(super) struct ExtendAdd<'a> {
    pub(super) child: &'a [f64],
    pub(super) size: usize,
    pub(super) runs: &'a [[u32; 3]],
    pub(super) panel: &'a mut [f64],
    pub(super) update: &'a mut [f64],
    pub(super) rows: usize,
    pub(super) pivots: usize,
}

impl ExtendAdd<'_> {
    pub(super) fn run(self, arch: Arch) {
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

/// Forward substitution through one front for many right-hand sides at once.
///
/// Right-hand sides are stored with one column of `count` values per unknown. `own` are the columns
/// of the pivots; what the boundary gets is left in `boundary` (`padded` columns) to be subtracted.
pub(super) struct Forward<'a> {
    pub(super) panel: &'a [f64],
    pub(super) rows: usize,
    pub(super) pivots: usize,
    pub(super) own: &'a mut [f64],
    /// All later unknowns, `first` being the position of the first of them.
    pub(super) later: &'a mut [f64],
    pub(super) first: usize,
    pub(super) boundary: &'a [u32],
    pub(super) count: usize,
}

impl Forward<'_> {
    pub(super) fn run(self, arch: Arch) {
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
pub(super) struct Backward<'a> {
    pub(super) panel: &'a [f64],
    pub(super) rows: usize,
    pub(super) pivots: usize,
    pub(super) own: &'a mut [f64],
    pub(super) boundary: &'a [f64],
    pub(super) count: usize,
}

impl Backward<'_> {
    pub(super) fn run(self, arch: Arch) {
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
