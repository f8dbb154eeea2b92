//! Dense kernels on the panels of one front, vectorised by run-time dispatch.
//!
//! All blocks are column-major slices. Rows are processed in tiles of whole vectors, columns in blocks
//! of [`BLOCK`]; a front is padded so that no tile is cut, but every kernel is right for any size.

mod eliminate;
mod substitute;

use pulp::Simd;

pub(super) use eliminate::{Eliminate, ExtendAdd};
pub(super) use substitute::{Backward, Forward};

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

pub(super) use tiles;

/// The first block takes the odd columns, so that all later tiles are whole.
#[inline(always)]
pub(super) fn block_width(start: usize, total: usize) -> usize {
    match (total - start) % BLOCK {
        0 => BLOCK,
        odd => odd,
    }
}

/// Lower triangle with the reciprocals of its diagonal.
struct Triangle<const N: usize> {
    lower: [[f64; N]; N],
    reciprocal: [f64; N],
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

/// Sum over `depth` columns of (column of `left`, `count` rows) times (the first `N` entries of the
/// column of `right`).
#[inline(always)]
pub(super) fn product<S: Simd, const M: usize, const N: usize>(
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
pub(super) fn subtract<S: Simd, const M: usize>(simd: S, target: &mut [f64], sum: [S::f64s; M]) {
    let mut values = load::<S, M>(simd, target);
    for r in 0..M {
        values[r] = simd.sub_f64s(values[r], sum[r]);
    }
    store::<S, M>(simd, target, values);
}
