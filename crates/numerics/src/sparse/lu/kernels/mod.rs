//! Dense kernels on the panels of one front, vectorised by run-time dispatch.
//!
//! All blocks are column-major slices. Columns are taken in blocks of [`BLOCK`], rows in tiles of up to three vectors;
//! a front's update is padded so that no tile is cut, but every kernel is right for any size.

mod eliminate;
mod lanes;
mod substitute;

use pulp::Simd;

use super::super::kernels::BLOCK;
use super::number::Number;

pub(super) use eliminate::{Eliminate, TakeUpdate};
pub(super) use lanes::{EliminatePatches, SubstitutePatches};
pub(super) use substitute::{Step, Substitute};

/// Runs the body for tiles of rows, as many vectors high as fit the registers while they last, then two, then one (the last perhaps cut).
macro_rules! high_tiles {
    ($number:ty, $simd:ty, $range:expr, |$row:ident, $length:ident, $vectors:ident| $body:block) => {{
        let range: core::ops::Range<usize> = $range;
        let lanes = <$number>::lanes::<$simd>();
        let mut $row = range.start;
        while <$number>::HIGH == 3 && $row + 3 * lanes <= range.end {
            const $vectors: usize = 3;
            let $length = 3 * lanes;
            $body
            $row += $length;
        }
        while $row + 2 * lanes <= range.end {
            const $vectors: usize = 2;
            let $length = 2 * lanes;
            $body
            $row += $length;
        }
        while $row < range.end {
            const $vectors: usize = 1;
            let $length = lanes.min(range.end - $row);
            $body
            $row += $length;
        }
    }};
}

use high_tiles;

/// Sum over `k` of (column `k` of `left`, `count` rows) times `weights[c][k]`, for all `c`.
#[inline(always)]
fn product<K: Number, S: Simd, const M: usize, const N: usize>(
    simd: S,
    left: &[K],
    stride: usize,
    weights: [&[K]; N],
    depth: usize,
    count: usize,
) -> [[K::Vector<S>; M]; N] {
    let mut sum = [[K::splat(simd, K::ZERO); M]; N];
    let weights = weights.map(|weights| &weights[..depth]);
    if count == M * K::lanes::<S>() {
        for k in 0..depth {
            let a = load_whole::<K, S, M>(simd, &left[k * stride..][..M * K::lanes::<S>()]);
            for c in 0..N {
                let weight = K::splat(simd, weights[c][k]);
                for r in 0..M {
                    sum[c][r] = K::times_plus(simd, a[r], weight, sum[c][r]);
                }
            }
        }
    } else {
        for k in 0..depth {
            let a = load::<K, S, M>(simd, &left[k * stride..][..count]);
            for c in 0..N {
                let weight = K::splat(simd, weights[c][k]);
                for r in 0..M {
                    sum[c][r] = K::times_plus(simd, a[r], weight, sum[c][r]);
                }
            }
        }
    }
    sum
}

/// `N` columns of a block from `first` on.
#[inline(always)]
fn columns<K: Number, const N: usize>(block: &[K], stride: usize, first: usize) -> [&[K]; N] {
    let mut out: [&[K]; N] = [&[]; N];
    for c in 0..N {
        out[c] = &block[(first + c) * stride..];
    }
    out
}

#[inline(always)]
fn load_whole<K: Number, S: Simd, const M: usize>(simd: S, from: &[K]) -> [K::Vector<S>; M] {
    let mut out = [K::splat(simd, K::ZERO); M];
    // Vector by vector: a copy of the whole array would go through memory.
    for (out, vector) in out.iter_mut().zip(K::vectors::<S>(from)) {
        *out = *vector;
    }
    out
}

#[inline(always)]
fn load<K: Number, S: Simd, const M: usize>(simd: S, from: &[K]) -> [K::Vector<S>; M] {
    if from.len() == M * K::lanes::<S>() {
        return load_whole::<K, S, M>(simd, from);
    }
    let mut out = [K::splat(simd, K::ZERO); M];
    for (r, part) in from.chunks(K::lanes::<S>()).enumerate() {
        out[r] = K::load_part(simd, part);
    }
    out
}

#[inline(always)]
fn store<K: Number, S: Simd, const M: usize>(simd: S, to: &mut [K], values: [K::Vector<S>; M]) {
    if to.len() == M * K::lanes::<S>() {
        for (vector, value) in K::vectors_mut::<S>(to).iter_mut().zip(values) {
            *vector = value;
        }
        return;
    }
    for (r, part) in to.chunks_mut(K::lanes::<S>()).enumerate() {
        K::store_part(simd, part, values[r]);
    }
}

#[inline(always)]
fn subtract<K: Number, S: Simd, const M: usize>(simd: S, target: &mut [K], sum: [K::Vector<S>; M]) {
    let mut values = load::<K, S, M>(simd, target);
    for r in 0..M {
        values[r] = K::minus(simd, values[r], sum[r]);
    }
    store::<K, S, M>(simd, target, values);
}

/// The later columns of an upper triangle with the reciprocals of its diagonal: `transposed[c][d]` stands in row `d` of column `c`.
struct Upper<K, const N: usize> {
    transposed: [[K; N]; N],
    reciprocal: [K; N],
}

/// `x <- x U^-1`
#[inline(always)]
fn divide<K: Number, S: Simd, const M: usize, const N: usize>(simd: S, x: &mut [[K::Vector<S>; M]; N], upper: &Upper<K, N>) {
    for c in 0..N {
        for d in 0..c {
            let weight = K::splat(simd, upper.transposed[c][d].negative());
            for r in 0..M {
                x[c][r] = K::times_plus(simd, x[d][r], weight, x[c][r]);
            }
        }
        let scale = K::splat(simd, upper.reciprocal[c]);
        for r in 0..M {
            x[c][r] = K::times(simd, x[c][r], scale);
        }
    }
}
