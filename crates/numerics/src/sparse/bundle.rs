use faer::Mat;
use pulp::{Simd, WithSimd};

use super::Factor;
use super::kernels::{BLOCK, padded, product, subtract, tiles};
use super::symbolic::FIXED;

/// Values of many right-hand sides at once, kept in the order of elimination: those of one unknown lie together, so that passing from
/// one factor to another reads and writes each number once.
pub struct Bundle<'f> {
    position: &'f [u32],
    pub(super) values: Vec<f64>,
    pub(super) count: usize,
    pub(super) stride: usize,
}

/// Unknowns of an element on the side that gives and on the side that takes.
const GIVING: usize = 16;
const TAKING: usize = 8;

impl<'f> Bundle<'f> {
    pub(super) fn zeros(factor: &'f Factor, count: usize) -> Self {
        let stride = padded(count);
        let positions = factor.symbolic.original.len();
        Self { position: &factor.symbolic.position, values: vec![0.0; positions * stride], count, stride }
    }

    /// Number of right-hand sides.
    pub fn count(&self) -> usize {
        self.count
    }

    /// Values of one unknown; none of a fixed one or one beyond the mesh.
    pub fn row(&self, unknown: usize) -> Option<&[f64]> {
        self.place(unknown).map(|at| &self.values[at..][..self.count])
    }

    /// The same to be written.
    pub fn row_mut(&mut self, unknown: usize) -> Option<&mut [f64]> {
        self.place(unknown).map(|at| &mut self.values[at..][..self.count])
    }

    fn place(&self, unknown: usize) -> Option<usize> {
        self.position.get(unknown).filter(|&&position| position != FIXED).map(|&position| position as usize * self.stride)
    }

    pub(super) fn trailing_mut(&mut self, interior: usize) -> &mut [f64] {
        &mut self.values[interior * self.stride..]
    }

    /// Adds to each of eight `targets` the weighted sum of sixteen `sources` of another bundle of as many right-hand sides; row `k` of
    /// `weights` (eight numbers) belongs to source `k`. Fixed unknowns give and take nothing.
    pub fn add_products(&mut self, targets: [usize; TAKING], weights: &[f64; GIVING * TAKING], from: &Bundle, sources: [usize; GIVING]) {
        let own = targets.map(|target| self.place(target));
        let given = sources.map(|source| from.place(source).map(|at| &from.values[at..][..from.stride]));
        let stride = self.stride.min(from.stride);
        pulp::Arch::new().dispatch(AddProducts { sources: given, weights, values: &mut self.values, targets: own, stride });
    }
}

struct AddProducts<'a> {
    sources: [Option<&'a [f64]>; GIVING],
    weights: &'a [f64; GIVING * TAKING],
    values: &'a mut [f64],
    targets: [Option<usize>; TAKING],
    stride: usize,
}

/// Right-hand sides gathered at a time.
const GATHERED: usize = 64;

impl WithSimd for AddProducts<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Self { sources, weights, values, targets, stride } = self;
        let mut negative = [0.0; GIVING * TAKING];
        negative.iter_mut().zip(weights).for_each(|(to, from)| *to = -from);
        let mut gathered = [0.0; GIVING * GATHERED];
        for start in (0..stride).step_by(GATHERED) {
            let here = GATHERED.min(stride - start);
            for (source, to) in sources.iter().zip(gathered.chunks_exact_mut(GATHERED)) {
                match source {
                    Some(source) => to[..here].copy_from_slice(&source[start..][..here]),
                    None => to[..here].fill(0.0),
                }
            }
            tiles!(S, 0..here, |row, length, V| {
                for block in (0..TAKING).step_by(BLOCK) {
                    let sum = product::<S, V, BLOCK>(simd, &gathered[row..], GATHERED, &negative[block..], TAKING, GIVING, length);
                    for c in 0..BLOCK {
                        if let Some(at) = targets[block + c] {
                            subtract::<S, V>(simd, &mut values[at + start + row..][..length], sum[c]);
                        }
                    }
                }
            });
        }
    }
}

impl Factor {
    /// Right-hand sides that are all zero.
    pub fn bundle(&self, count: usize) -> Bundle<'_> {
        Bundle::zeros(self, count)
    }

    /// Static extension of a unit value of each trailing unknown in turn, as [`Factor::extend`] gives it for the identity.
    pub fn unit_extension(&self) -> Bundle<'_> {
        let mut bundle = Bundle::zeros(self, self.symbolic.trailing);
        let stride = bundle.stride;
        let trailing = bundle.trailing_mut(self.symbolic.interior);
        (0..self.symbolic.trailing).for_each(|k| trailing[k * stride + k] = 1.0);
        self.backward_columns(&mut bundle);
        bundle
    }

    /// Loads carried over to the trailing unknowns as by [`Factor::restrict`]: one row a load, one column a trailing unknown.
    pub fn carried(&self, mut loads: Bundle<'_>) -> Mat<f64> {
        self.forward_columns(&mut loads);
        let stride = loads.stride;
        let rest = &loads.values[self.symbolic.interior * stride..];
        Mat::from_fn(loads.count, self.symbolic.trailing, |row, column| rest[column * stride + row])
    }
}
