//! Dense kernels on the panels of one front, vectorised by run-time dispatch.
//!
//! All blocks are column-major slices. Columns are taken in blocks of [`BLOCK`](super::super::kernels::BLOCK), rows in tiles of up to three vectors;
//! a front's update is padded so that no tile is cut, but every kernel is right for any size.

mod eliminate;
mod lanes;
mod substitute;

use pulp::Simd;

use super::super::kernels::{load, load_whole};

pub(super) use eliminate::{Eliminate, TakeUpdate};
pub(super) use lanes::{EliminatePatches, SubstitutePatches};
pub(super) use substitute::{Step, Substitute};

/// Runs the body for tiles of rows, three vectors high while they last, then two, then one (the last perhaps cut).
macro_rules! high_tiles {
    ($simd:ty, $range:expr, |$row:ident, $length:ident, $vectors:ident| $body:block) => {{
        let range: core::ops::Range<usize> = $range;
        let mut $row = range.start;
        while $row + 3 * <$simd>::F64_LANES <= range.end {
            const $vectors: usize = 3;
            let $length = 3 * <$simd>::F64_LANES;
            $body
            $row += $length;
        }
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

use high_tiles;

/// Sum over `k` of (column `k` of `left`, `count` rows) times `weights[c][k]`, for all `c`.
#[inline(always)]
fn product<S: Simd, const M: usize, const N: usize>(
    simd: S,
    left: &[f64],
    stride: usize,
    weights: [&[f64]; N],
    depth: usize,
    count: usize,
) -> [[S::f64s; M]; N] {
    let mut sum = [[simd.splat_f64s(0.0); M]; N];
    let weights = weights.map(|weights| &weights[..depth]);
    if count == M * S::F64_LANES {
        for k in 0..depth {
            let a = load_whole::<S, M>(simd, &left[k * stride..][..M * S::F64_LANES]);
            for c in 0..N {
                let weight = simd.splat_f64s(weights[c][k]);
                for r in 0..M {
                    sum[c][r] = simd.mul_add_e_f64s(a[r], weight, sum[c][r]);
                }
            }
        }
    } else {
        for k in 0..depth {
            let a = load::<S, M>(simd, &left[k * stride..][..count]);
            for c in 0..N {
                let weight = simd.splat_f64s(weights[c][k]);
                for r in 0..M {
                    sum[c][r] = simd.mul_add_e_f64s(a[r], weight, sum[c][r]);
                }
            }
        }
    }
    sum
}

/// `N` columns of a block from `first` on.
#[inline(always)]
fn columns<const N: usize>(block: &[f64], stride: usize, first: usize) -> [&[f64]; N] {
    let mut out: [&[f64]; N] = [&[]; N];
    for c in 0..N {
        out[c] = &block[(first + c) * stride..];
    }
    out
}
