//! Elimination of patches, one in each lane.

use pulp::{Arch, Simd, WithSimd};

use super::super::NOWHERE;
use super::super::number::Number;
use super::super::patches::{LANES, Shape, SmallFront};
use super::Step;
use super::eliminate::PIVOT_TOLERANCE;

/// A pivot lost in rounding: place and lane of its node, and its value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::sparse::lu) struct LostPatchPivot {
    pub(in crate::sparse::lu) place: usize,
    pub(in crate::sparse::lu) lane: usize,
    pub(in crate::sparse::lu) value: f64,
}

/// Assembles and factors a group of patches. `values` are those of the matrix, `stencil` for each node; `scales` the greatest entry of each
/// node's row. On return `updates` holds the update of the last front. All blocks hold [`LANES`] values side by side.
pub(in crate::sparse::lu) struct EliminatePatches<'a, K> {
    pub(in crate::sparse::lu) shape: &'a Shape,
    pub(in crate::sparse::lu) nodes: &'a [[u32; LANES]],
    pub(in crate::sparse::lu) whole: bool,
    pub(in crate::sparse::lu) values: &'a [K],
    pub(in crate::sparse::lu) stencil: usize,
    pub(in crate::sparse::lu) scales: &'a [f64],
    pub(in crate::sparse::lu) panel: &'a mut [K],
    pub(in crate::sparse::lu) updates: &'a mut [K],
}

impl<K: Number> EliminatePatches<'_, K> {
    pub(in crate::sparse::lu) fn run(self, arch: Arch) -> Result<(), LostPatchPivot> {
        arch.dispatch(self)
    }

    fn assemble(&mut self, front: &SmallFront) {
        let panel = &mut self.panel[front.panel * LANES..][..front.panel_entries() * LANES];
        panel.fill(K::ZERO);
        let (panel, _) = panel.as_chunks_mut::<LANES>();
        for entry in &self.shape.entries[front.entries.clone()] {
            let rows = self.nodes[entry.row as usize];
            let target = &mut panel[entry.target as usize];
            if self.whole {
                for lane in 0..LANES {
                    target[lane] = self.values[rows[lane] as usize * self.stencil + entry.value as usize];
                }
                continue;
            }
            let columns = self.nodes[entry.column as usize];
            for lane in 0..LANES {
                if rows[lane] != NOWHERE && columns[lane] != NOWHERE {
                    target[lane] = self.values[rows[lane] as usize * self.stencil + entry.value as usize];
                } else if entry.row == entry.column {
                    // No patch in this lane: it shall not disturb the others.
                    target[lane] = K::ONE;
                }
            }
        }
    }

    fn scales(&self, place: usize) -> [f64; LANES] {
        self.nodes[place].map(|node| if node == NOWHERE { 1.0 } else { self.scales[node as usize] })
    }
}

/// Calls a function for each vector that the lanes make up.
macro_rules! each_vector {
    ($number:ty, $simd:ty, |$part:ident, $parts:ident| $body:expr) => {
        let $parts = LANES / <$number>::lanes::<$simd>();
        for $part in 0..$parts {
            $body
        }
    };
}

impl<K: Number> WithSimd for EliminatePatches<'_, K> {
    type Output = Result<(), LostPatchPivot>;

    #[inline(always)]
    fn with_simd<S: Simd>(mut self, simd: S) -> Self::Output {
        if K::lanes::<S>() > LANES {
            return self.with_simd(pulp::Scalar::new());
        }
        let shape = self.shape;
        for front in &shape.fronts {
            self.assemble(front);
            let (rows, pivots) = (front.rows(), front.pivots);
            let later = rows - pivots;
            let panel = &mut self.panel[front.panel * LANES..][..front.panel_entries() * LANES];
            each_vector!(K, S, |part, parts| {
                let updates = K::vectors::<S>(self.updates);
                let (left, right) = K::vectors_mut::<S>(panel).split_at_mut(rows * pivots * parts);
                for child in &front.children {
                    let rows_of = &shape.rows[child.rows.clone()];
                    let update = &updates[child.update * parts..];
                    take_pivots::<K, S>(simd, update, rows_of, child.eliminated, left, right, rows, pivots, part, parts);
                }
            });
            for pivot in 0..pivots {
                let place = (pivot * rows + pivot) * LANES;
                let scales = self.scales(front.first + pivot);
                let panel = &mut self.panel[front.panel * LANES..][..front.panel_entries() * LANES];
                for lane in 0..LANES {
                    let value = panel[place + lane];
                    // Written so that a pivot that is not a number fails too.
                    if !(value.magnitude() > PIVOT_TOLERANCE * scales[lane] && value.magnitude() < f64::INFINITY) {
                        return Err(LostPatchPivot { place: front.first + pivot, lane, value: value.shown() });
                    }
                    panel[place + lane] = value.reciprocal();
                }
                each_vector!(K, S, |part, parts| {
                    let (left, right) = K::vectors_mut::<S>(panel).split_at_mut(rows * pivots * parts);
                    eliminate_pivot::<K, S>(simd, left, right, rows, pivots, pivot, part, parts);
                });
            }
            let panel = &self.panel[front.panel * LANES..][..front.panel_entries() * LANES];
            each_vector!(K, S, |part, parts| {
                let (left, right) = K::vectors::<S>(panel).split_at(rows * pivots * parts);
                let updates = K::vectors_mut::<S>(self.updates);
                negative_products::<K, S>(simd, left, right, &mut updates[front.update * parts..], rows, pivots, part, parts);
                for child in &front.children {
                    let rows_of = &shape.rows[child.rows.clone()];
                    take_rest::<K, S>(simd, updates, child.update, front.update, rows_of, child.eliminated, later, pivots, part, parts);
                }
            });
        }
        Ok(())
    }
}

/// Adds the rows and columns of a child's update that belong to the pivots.
#[inline(always)]
fn take_pivots<K: Number, S: Simd>(
    simd: S,
    update: &[K::Vector<S>],
    rows_of: &[u16],
    eliminated: usize,
    left: &mut [K::Vector<S>],
    right: &mut [K::Vector<S>],
    rows: usize,
    pivots: usize,
    part: usize,
    parts: usize,
) {
    let size = rows_of.len();
    for (j, &column) in rows_of.iter().enumerate() {
        let source = &update[j * size * parts..][..size * parts];
        if j < eliminated {
            let target = &mut left[column as usize * rows * parts..][..rows * parts];
            for (i, &row) in rows_of.iter().enumerate() {
                let at = row as usize * parts + part;
                target[at] = K::plus(simd, target[at], source[i * parts + part]);
            }
        } else {
            let target = &mut right[(column as usize - pivots) * pivots * parts..][..pivots * parts];
            for (i, &row) in rows_of[..eliminated].iter().enumerate() {
                let at = row as usize * parts + part;
                target[at] = K::plus(simd, target[at], source[i * parts + part]);
            }
        }
    }
}

/// Adds the rest of a child's update, the vectors from `child` on, to a front's own, those from `own` on.
#[inline(always)]
fn take_rest<K: Number, S: Simd>(
    simd: S,
    updates: &mut [K::Vector<S>],
    child: usize,
    own: usize,
    rows_of: &[u16],
    eliminated: usize,
    later: usize,
    pivots: usize,
    part: usize,
    parts: usize,
) {
    let size = rows_of.len();
    for (j, &column) in rows_of.iter().enumerate().skip(eliminated) {
        let from = child + j * size;
        let to = own + (column as usize - pivots) * later;
        for (i, &row) in rows_of.iter().enumerate().skip(eliminated) {
            let at = (to + row as usize - pivots) * parts + part;
            updates[at] = K::plus(simd, updates[at], updates[(from + i) * parts + part]);
        }
    }
}

/// Divides the column of a pivot, which is its reciprocal already, and subtracts it from the later ones.
#[inline(always)]
fn eliminate_pivot<K: Number, S: Simd>(
    simd: S,
    left: &mut [K::Vector<S>],
    right: &mut [K::Vector<S>],
    rows: usize,
    pivots: usize,
    pivot: usize,
    part: usize,
    parts: usize,
) {
    let (done, later) = left.split_at_mut((pivot + 1) * rows * parts);
    let column = &mut done[pivot * rows * parts..];
    let reciprocal = column[pivot * parts + part];
    for row in pivot + 1..rows {
        column[row * parts + part] = K::times(simd, column[row * parts + part], reciprocal);
    }
    for target in later.chunks_exact_mut(rows * parts) {
        let factor = K::negated(simd, target[pivot * parts + part]);
        for row in pivot + 1..rows {
            let at = row * parts + part;
            target[at] = K::times_plus(simd, column[at], factor, target[at]);
        }
    }
    for target in right.chunks_exact_mut(pivots * parts) {
        let factor = K::negated(simd, target[pivot * parts + part]);
        for row in pivot + 1..pivots {
            let at = row * parts + part;
            target[at] = K::times_plus(simd, column[at], factor, target[at]);
        }
    }
}

/// Minus the product of the rows of `left` below the pivots and of `right`.
#[inline(always)]
fn negative_products<K: Number, S: Simd>(
    simd: S,
    left: &[K::Vector<S>],
    right: &[K::Vector<S>],
    update: &mut [K::Vector<S>],
    rows: usize,
    pivots: usize,
    part: usize,
    parts: usize,
) {
    let later = rows - pivots;
    let mut column = 0;
    while column + 4 <= later {
        negative_columns::<K, S, 4>(simd, left, right, update, rows, pivots, column, part, parts);
        column += 4;
    }
    while column < later {
        negative_columns::<K, S, 1>(simd, left, right, update, rows, pivots, column, part, parts);
        column += 1;
    }
}

#[inline(always)]
fn negative_columns<K: Number, S: Simd, const N: usize>(
    simd: S,
    left: &[K::Vector<S>],
    right: &[K::Vector<S>],
    update: &mut [K::Vector<S>],
    rows: usize,
    pivots: usize,
    column: usize,
    part: usize,
    parts: usize,
) {
    let later = rows - pivots;
    let mut row = 0;
    while row + 3 <= later {
        negative_tile::<K, S, 3, N>(simd, left, right, update, rows, pivots, row, column, part, parts);
        row += 3;
    }
    while row < later {
        negative_tile::<K, S, 1, N>(simd, left, right, update, rows, pivots, row, column, part, parts);
        row += 1;
    }
}

#[inline(always)]
fn negative_tile<K: Number, S: Simd, const M: usize, const N: usize>(
    simd: S,
    left: &[K::Vector<S>],
    right: &[K::Vector<S>],
    update: &mut [K::Vector<S>],
    rows: usize,
    pivots: usize,
    row: usize,
    column: usize,
    part: usize,
    parts: usize,
) {
    let later = rows - pivots;
    let mut sum = [[K::splat(simd, K::ZERO); M]; N];
    let mut weights: [&[K::Vector<S>]; N] = [&[]; N];
    for c in 0..N {
        weights[c] = &right[(column + c) * pivots * parts..][..pivots * parts];
    }
    for k in 0..pivots {
        let rows = &left[(k * rows + pivots + row) * parts..][..M * parts];
        let mut a = [K::splat(simd, K::ZERO); M];
        for r in 0..M {
            a[r] = K::negated(simd, rows[r * parts + part]);
        }
        for c in 0..N {
            let weight = weights[c][k * parts + part];
            for r in 0..M {
                sum[c][r] = K::times_plus(simd, a[r], weight, sum[c][r]);
            }
        }
    }
    for c in 0..N {
        let target = &mut update[((column + c) * later + row) * parts..][..M * parts];
        for r in 0..M {
            target[r * parts + part] = sum[c][r];
        }
    }
}

/// Substitution through the fronts of a group of patches. `values` holds for each right-hand side the values at all places.
pub(in crate::sparse::lu) struct SubstitutePatches<'a, K> {
    pub(in crate::sparse::lu) step: Step,
    pub(in crate::sparse::lu) shape: &'a Shape,
    pub(in crate::sparse::lu) panel: &'a [K],
    pub(in crate::sparse::lu) values: &'a mut [K],
}

impl<K: Number> SubstitutePatches<'_, K> {
    pub(in crate::sparse::lu) fn run(self, arch: Arch) {
        arch.dispatch(self);
    }
}

impl<K: Number> WithSimd for SubstitutePatches<'_, K> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        if K::lanes::<S>() > LANES {
            return self.with_simd(pulp::Scalar::new());
        }
        let SubstitutePatches { step, shape, panel, values } = self;
        let length = shape.steps.len() * LANES;
        let fronts = shape.fronts.iter();
        match step {
            Step::Forward => substitute::<K, S>(simd, shape, panel, values, length, fronts, forward::<K, S>),
            Step::Backward => substitute::<K, S>(simd, shape, panel, values, length, fronts.rev(), backward::<K, S>),
            Step::ForwardTransposed => substitute::<K, S>(simd, shape, panel, values, length, fronts, forward_transposed::<K, S>),
            Step::BackwardTransposed => substitute::<K, S>(simd, shape, panel, values, length, fronts.rev(), backward_transposed::<K, S>),
        }
    }
}

/// One front of one right-hand side.
struct Triangle<'a, V> {
    left: &'a [V],
    right: &'a [V],
    boundary: &'a [u16],
    first: usize,
    pivots: usize,
    part: usize,
    parts: usize,
}

impl<V: Copy> Triangle<'_, V> {
    #[inline(always)]
    fn left(&self, row: usize, column: usize) -> V {
        self.left[(column * (self.pivots + self.boundary.len()) + row) * self.parts + self.part]
    }

    #[inline(always)]
    fn right(&self, row: usize, column: usize) -> V {
        self.right[(column * self.pivots + row) * self.parts + self.part]
    }

    #[inline(always)]
    fn own(&self, pivot: usize) -> usize {
        (self.first + pivot) * self.parts + self.part
    }

    #[inline(always)]
    fn far(&self, row: usize) -> usize {
        self.boundary[row] as usize * self.parts + self.part
    }
}

#[inline(always)]
fn substitute<'a, K: Number, S: Simd>(
    simd: S,
    shape: &'a Shape,
    panel: &[K],
    values: &mut [K],
    length: usize,
    fronts: impl Iterator<Item = &'a SmallFront>,
    through: impl Fn(S, &Triangle<'_, K::Vector<S>>, &mut [K::Vector<S>]),
) {
    for front in fronts {
        let panel = K::vectors::<S>(&panel[front.panel * LANES..][..front.panel_entries() * LANES]);
        for values in values.chunks_exact_mut(length) {
            let values = K::vectors_mut::<S>(values);
            each_vector!(K, S, |part, parts| {
                let (left, right) = panel.split_at(front.rows() * front.pivots * parts);
                let boundary = &shape.boundaries[front.boundary.clone()];
                let triangle = Triangle { left, right, boundary, first: front.first, pivots: front.pivots, part, parts };
                through(simd, &triangle, values);
            });
        }
    }
}

#[inline(always)]
fn less<K: Number, S: Simd>(simd: S, value: K::Vector<S>, a: K::Vector<S>, b: K::Vector<S>) -> K::Vector<S> {
    K::times_plus(simd, K::negated(simd, a), b, value)
}

#[inline(always)]
fn forward<K: Number, S: Simd>(simd: S, front: &Triangle<'_, K::Vector<S>>, x: &mut [K::Vector<S>]) {
    for k in 0..front.pivots {
        let value = x[front.own(k)];
        for i in k + 1..front.pivots {
            x[front.own(i)] = less::<K, S>(simd, x[front.own(i)], front.left(i, k), value);
        }
    }
    for i in 0..front.boundary.len() {
        let mut value = x[front.far(i)];
        for k in 0..front.pivots {
            value = less::<K, S>(simd, value, front.left(front.pivots + i, k), x[front.own(k)]);
        }
        x[front.far(i)] = value;
    }
}

#[inline(always)]
fn backward<K: Number, S: Simd>(simd: S, front: &Triangle<'_, K::Vector<S>>, x: &mut [K::Vector<S>]) {
    for j in 0..front.boundary.len() {
        let value = x[front.far(j)];
        for k in 0..front.pivots {
            x[front.own(k)] = less::<K, S>(simd, x[front.own(k)], front.right(k, j), value);
        }
    }
    for k in (0..front.pivots).rev() {
        let value = K::times(simd, x[front.own(k)], front.left(k, k));
        x[front.own(k)] = value;
        for i in 0..k {
            x[front.own(i)] = less::<K, S>(simd, x[front.own(i)], front.left(i, k), value);
        }
    }
}

#[inline(always)]
fn forward_transposed<K: Number, S: Simd>(simd: S, front: &Triangle<'_, K::Vector<S>>, x: &mut [K::Vector<S>]) {
    for k in 0..front.pivots {
        let mut value = x[front.own(k)];
        for i in 0..k {
            value = less::<K, S>(simd, value, front.left(i, k), x[front.own(i)]);
        }
        x[front.own(k)] = K::times(simd, value, front.left(k, k));
    }
    for j in 0..front.boundary.len() {
        let mut value = x[front.far(j)];
        for k in 0..front.pivots {
            value = less::<K, S>(simd, value, front.right(k, j), x[front.own(k)]);
        }
        x[front.far(j)] = value;
    }
}

#[inline(always)]
fn backward_transposed<K: Number, S: Simd>(simd: S, front: &Triangle<'_, K::Vector<S>>, x: &mut [K::Vector<S>]) {
    for k in (0..front.pivots).rev() {
        let mut value = x[front.own(k)];
        for i in k + 1..front.pivots {
            value = less::<K, S>(simd, value, front.left(i, k), x[front.own(i)]);
        }
        for i in 0..front.boundary.len() {
            value = less::<K, S>(simd, value, front.left(front.pivots + i, k), x[front.far(i)]);
        }
        x[front.own(k)] = value;
    }
}
