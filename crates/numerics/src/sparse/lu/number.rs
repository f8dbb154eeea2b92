//! Real and complex numbers, alone and in vectors.

use std::fmt::Debug;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, MulAssign, Sub, SubAssign};

use faer::c64;
use pulp::Simd;

/// Numbers that a matrix may hold: [`f64`] and [`c64`].
pub trait Number: Vectors {}

impl Number for f64 {}
impl Number for c64 {}

/// What the kernels need of a number; no other module can name it.
pub trait Vectors:
    Copy
    + Default
    + Debug
    + PartialEq
    + Send
    + Sync
    + 'static
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + AddAssign
    + SubAssign
    + MulAssign
    + Sum
{
    type Vector<S: Simd>: Copy;
    const ZERO: Self;
    const ONE: Self;
    /// Vectors of rows that fit the registers besides all else.
    const HIGH: usize;

    fn lanes<S: Simd>() -> usize;
    fn magnitude(self) -> f64;
    /// A real number that stands for this one in a message.
    fn shown(self) -> f64;
    fn reciprocal(self) -> Self;
    fn negative(self) -> Self;
    fn splat<S: Simd>(simd: S, value: Self) -> Self::Vector<S>;
    /// The whole vectors of a slice.
    fn vectors<S: Simd>(from: &[Self]) -> &[Self::Vector<S>];
    fn vectors_mut<S: Simd>(from: &mut [Self]) -> &mut [Self::Vector<S>];
    /// A vector from a slice that is shorter.
    fn load_part<S: Simd>(simd: S, from: &[Self]) -> Self::Vector<S>;
    fn store_part<S: Simd>(simd: S, to: &mut [Self], value: Self::Vector<S>);
    fn plus<S: Simd>(simd: S, a: Self::Vector<S>, b: Self::Vector<S>) -> Self::Vector<S>;
    fn minus<S: Simd>(simd: S, a: Self::Vector<S>, b: Self::Vector<S>) -> Self::Vector<S>;
    fn negated<S: Simd>(simd: S, a: Self::Vector<S>) -> Self::Vector<S>;
    fn times<S: Simd>(simd: S, a: Self::Vector<S>, b: Self::Vector<S>) -> Self::Vector<S>;
    /// `a b + c`
    fn times_plus<S: Simd>(simd: S, a: Self::Vector<S>, b: Self::Vector<S>, c: Self::Vector<S>) -> Self::Vector<S>;
    fn total<S: Simd>(simd: S, a: Self::Vector<S>) -> Self;
}

macro_rules! vectors {
    (
        $number:ty, $vector:ident, $lanes:ident, $high:literal, $zero:expr, $one:expr, |$value:ident| $magnitude:expr, $shown:expr,
        $splat:ident, $whole:ident, $whole_mut:ident, $load:ident, $store:ident, $add:ident, $sub:ident, $neg:ident, $mul:ident,
        $mul_add:ident, $sum:ident
    ) => {
        impl Vectors for $number {
            type Vector<S: Simd> = S::$vector;
            const ZERO: Self = $zero;
            const ONE: Self = $one;
            const HIGH: usize = $high;

            #[inline(always)]
            fn lanes<S: Simd>() -> usize {
                S::$lanes
            }
            #[inline(always)]
            fn magnitude(self) -> f64 {
                let $value = self;
                $magnitude
            }
            #[inline(always)]
            fn shown(self) -> f64 {
                let $value = self;
                $shown
            }
            #[inline(always)]
            fn reciprocal(self) -> Self {
                Self::ONE / self
            }
            #[inline(always)]
            fn negative(self) -> Self {
                -self
            }
            #[inline(always)]
            fn splat<S: Simd>(simd: S, value: Self) -> Self::Vector<S> {
                simd.$splat(value)
            }
            #[inline(always)]
            fn vectors<S: Simd>(from: &[Self]) -> &[Self::Vector<S>] {
                S::$whole(from).0
            }
            #[inline(always)]
            fn vectors_mut<S: Simd>(from: &mut [Self]) -> &mut [Self::Vector<S>] {
                S::$whole_mut(from).0
            }
            #[inline(always)]
            fn load_part<S: Simd>(simd: S, from: &[Self]) -> Self::Vector<S> {
                simd.$load(from)
            }
            #[inline(always)]
            fn store_part<S: Simd>(simd: S, to: &mut [Self], value: Self::Vector<S>) {
                simd.$store(to, value);
            }
            #[inline(always)]
            fn plus<S: Simd>(simd: S, a: Self::Vector<S>, b: Self::Vector<S>) -> Self::Vector<S> {
                simd.$add(a, b)
            }
            #[inline(always)]
            fn minus<S: Simd>(simd: S, a: Self::Vector<S>, b: Self::Vector<S>) -> Self::Vector<S> {
                simd.$sub(a, b)
            }
            #[inline(always)]
            fn negated<S: Simd>(simd: S, a: Self::Vector<S>) -> Self::Vector<S> {
                simd.$neg(a)
            }
            #[inline(always)]
            fn times<S: Simd>(simd: S, a: Self::Vector<S>, b: Self::Vector<S>) -> Self::Vector<S> {
                simd.$mul(a, b)
            }
            #[inline(always)]
            fn times_plus<S: Simd>(simd: S, a: Self::Vector<S>, b: Self::Vector<S>, c: Self::Vector<S>) -> Self::Vector<S> {
                simd.$mul_add(a, b, c)
            }
            #[inline(always)]
            fn total<S: Simd>(simd: S, a: Self::Vector<S>) -> Self {
                simd.$sum(a)
            }
        }
    };
}

vectors!(
    f64,
    f64s,
    F64_LANES,
    3,
    0.0,
    1.0,
    |value| value.abs(),
    value,
    splat_f64s,
    as_simd_f64s,
    as_mut_simd_f64s,
    partial_load_f64s,
    partial_store_f64s,
    add_f64s,
    sub_f64s,
    neg_f64s,
    mul_f64s,
    mul_add_e_f64s,
    reduce_sum_f64s
);
vectors!(
    c64,
    c64s,
    C64_LANES,
    2,
    c64::new(0.0, 0.0),
    c64::new(1.0, 0.0),
    |value| value.norm(),
    value.norm(),
    splat_c64s,
    as_simd_c64s,
    as_mut_simd_c64s,
    partial_load_c64s,
    partial_store_c64s,
    add_c64s,
    sub_c64s,
    neg_c64s,
    mul_e_c64s,
    mul_add_e_c64s,
    reduce_sum_c64s
);
