//! Plane geometry of a ring section: quadrilaterals that share edges, and the perimeter of their union.

/// Lengths closer than this are the same, m.
pub(super) const SAME_M: f64 = 1e-7;

/// Four corners `[r, z]`, m.
pub(super) type Quad = [[f64; 2]; 4];

/// A straight piece of the perimeter; the material lies on its left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Edge {
    /// Start `[r, z]`, m.
    pub from: [f64; 2],
    /// End `[r, z]`, m.
    pub to: [f64; 2],
}

/// Corners of a rectangle, counter-clockwise in (r, z).
pub(super) fn rectangle(r: [f64; 2], z: [f64; 2]) -> Quad {
    [[r[0], z[0]], [r[1], z[0]], [r[1], z[1]], [r[0], z[1]]]
}

/// The same corners counter-clockwise, or none when they do not go around a convex piece.
pub(super) fn counter_clockwise(quad: Quad) -> Option<Quad> {
    let turn = |q: &Quad, i: usize| {
        let (a, b, c) = (q[i], q[(i + 1) % 4], q[(i + 2) % 4]);
        cross(sub(b, a), sub(c, b))
    };
    let turned =
        if (0..4).map(|i| cross(quad[i], quad[(i + 1) % 4])).sum::<f64>() < 0.0 { [quad[3], quad[2], quad[1], quad[0]] } else { quad };
    let sides_long = (0..4).all(|i| norm(sub(turned[(i + 1) % 4], turned[i])) > SAME_M);
    (sides_long && (0..4).all(|i| turn(&turned, i) > SAME_M * SAME_M)).then_some(turned)
}

/// Area common to two counter-clockwise convex pieces, m2 (clipping by half planes).
pub(super) fn common_area(one: &Quad, other: &Quad) -> f64 {
    let mut polygon: Vec<[f64; 2]> = one.to_vec();
    for i in 0..4 {
        let (a, b) = (other[i], other[(i + 1) % 4]);
        let side = |p: [f64; 2]| cross(sub(b, a), sub(p, a));
        let mut clipped = Vec::with_capacity(polygon.len() + 2);
        for j in 0..polygon.len() {
            let (p, q) = (polygon[j], polygon[(j + 1) % polygon.len()]);
            let (sp, sq) = (side(p), side(q));
            if sp >= 0.0 {
                clipped.push(p);
            }
            if sp * sq < 0.0 {
                let t = sp / (sp - sq);
                clipped.push([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]);
            }
        }
        polygon = clipped;
        if polygon.len() < 3 {
            return 0.0;
        }
    }
    let n = polygon.len();
    0.5 * (0..n).map(|i| cross(sub(polygon[i], polygon[0]), sub(polygon[(i + 1) % n], polygon[0]))).sum::<f64>()
}

/// Length of boundary that two pieces share, m.
pub(super) fn shared_length(one: &Quad, other: &Quad) -> f64 {
    edges(one).flat_map(|a| edges(other).map(move |b| common_interval(a, b).map_or(0.0, |[from, to]| to - from))).sum()
}

/// Sides of a piece.
pub(super) fn edges(quad: &Quad) -> impl Iterator<Item = Edge> + '_ {
    (0..4).map(|i| Edge { from: quad[i], to: quad[(i + 1) % 4] })
}

/// Boundary of the union of pieces that share edges.
pub(super) fn perimeter(quads: &[Quad]) -> Vec<Edge> {
    let mut out = Vec::new();
    for (index, quad) in quads.iter().enumerate() {
        for edge in edges(quad) {
            let mut free = vec![[0.0, edge.length()]];
            for other in quads.iter().enumerate().filter(|(i, _)| *i != index).flat_map(|(_, q)| edges(q)) {
                if let Some(taken) = common_interval(edge, other) {
                    free = free.into_iter().flat_map(|piece| without(piece, taken)).collect();
                }
            }
            out.extend(free.into_iter().map(|[from, to]| Edge { from: edge.at(from), to: edge.at(to) }));
        }
    }
    out
}

/// Closed outlines of the union of convex pieces that share edges, each once around with the material on its left; corners on a
/// straight line are left out.
///
/// Pieces are four corners `[r, z]` in m, counter-clockwise, as in [`crate::model::Part`].
pub fn outlines(pieces: &[[[f64; 2]; 4]]) -> Vec<Vec<[f64; 2]>> {
    let mut left = perimeter(pieces);
    let mut loops = Vec::new();
    while let Some(first) = left.pop() {
        let mut corners = vec![first.from];
        let mut last = first;
        while norm(sub(last.to, first.from)) > SAME_M {
            let Some(next) = next_edge(&left, last) else { break };
            last = left.swap_remove(next);
            corners.push(last.from);
        }
        loops.push(without_straight(&corners));
    }
    loops
}

/// The edge that goes on from the end of another; where several do, the one that turns farthest to the left stays with its piece.
fn next_edge(edges: &[Edge], last: Edge) -> Option<usize> {
    let turn = |edge: &Edge| cross(last.direction(), edge.direction()).atan2(dot(last.direction(), edge.direction()));
    let follows = |(_, edge): &(usize, &Edge)| norm(sub(edge.from, last.to)) < SAME_M;
    edges.iter().enumerate().filter(follows).max_by(|(_, a), (_, b)| turn(a).total_cmp(&turn(b))).map(|(index, _)| index)
}

fn without_straight(corners: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let count = corners.len();
    let bends = |i: usize| {
        let (a, b, c) = (corners[(i + count - 1) % count], corners[i], corners[(i + 1) % count]);
        let (along, on) = (sub(b, a), sub(c, b));
        cross(along, on).abs() > SAME_M * norm(along).max(norm(on))
    };
    (0..count).filter(|i| bends(*i)).map(|i| corners[i]).collect()
}

fn without(piece: [f64; 2], taken: [f64; 2]) -> impl Iterator<Item = [f64; 2]> {
    [[piece[0], piece[1].min(taken[0])], [piece[0].max(taken[1]), piece[1]]].into_iter().filter(|[from, to]| to - from > SAME_M)
}

/// Part of `a`, as lengths from its start, on which `b` lies too.
fn common_interval(a: Edge, b: Edge) -> Option<[f64; 2]> {
    let direction = a.direction();
    let offset = |p: [f64; 2]| cross(direction, sub(p, a.from)).abs();
    if offset(b.from) > SAME_M || offset(b.to) > SAME_M {
        return None;
    }
    let along = |p: [f64; 2]| dot(direction, sub(p, a.from));
    let (s, t) = (along(b.from), along(b.to));
    let (from, to) = (s.min(t).max(0.0), s.max(t).min(a.length()));
    (to - from > SAME_M).then_some([from, to])
}

impl Edge {
    /// m.
    pub fn length(self) -> f64 {
        norm(sub(self.to, self.from))
    }

    fn direction(self) -> [f64; 2] {
        let length = self.length();
        let d = sub(self.to, self.from);
        [d[0] / length, d[1] / length]
    }

    fn at(self, s: f64) -> [f64; 2] {
        let d = self.direction();
        [self.from[0] + s * d[0], self.from[1] + s * d[1]]
    }

    /// Nearest point of the edge to `p`.
    pub fn nearest(self, p: [f64; 2]) -> [f64; 2] {
        self.at(dot(self.direction(), sub(p, self.from)).clamp(0.0, self.length()))
    }

    /// Whether the edge lies in the plane `z`, its outward normal pointing along `+z` (`up`) or `-z`.
    pub fn is_plane(self, up: bool) -> bool {
        let level = (self.to[1] - self.from[1]).abs() < SAME_M;
        level && (self.to[0] < self.from[0]) == up
    }

    /// Inner and outer radius, m.
    pub fn radii(self) -> [f64; 2] {
        [self.from[0].min(self.to[0]), self.from[0].max(self.to[0])]
    }
}

/// Distance from `p` to the nearest edge, m.
pub(super) fn distance(perimeter: &[Edge], p: [f64; 2]) -> f64 {
    perimeter.iter().map(|edge| norm(sub(edge.nearest(p), p))).fold(f64::INFINITY, f64::min)
}

/// Radial intervals covered by the plane edges at `z` that face `up` or down, merged and sorted.
pub(super) fn plane_intervals(perimeter: &[Edge], z: f64, up: bool) -> Vec<[f64; 2]> {
    let at_z = |edge: &&Edge| edge.is_plane(up) && (edge.from[1] - z).abs() < SAME_M;
    let mut intervals: Vec<[f64; 2]> = perimeter.iter().filter(at_z).map(|edge| edge.radii()).collect();
    intervals.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut merged: Vec<[f64; 2]> = Vec::new();
    for next in intervals {
        match merged.last_mut() {
            Some(last) if next[0] <= last[1] + SAME_M => last[1] = last[1].max(next[1]),
            _ => merged.push(next),
        }
    }
    merged
}

fn sub(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

fn norm(a: [f64; 2]) -> f64 {
    a[0].hypot(a[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn perimeter_of_a_stepped_ring() {
        let quads = [rectangle([1.0, 2.0], [0.0, 1.0]), rectangle([1.0, 3.0], [1.0, 2.0])];
        let around = perimeter(&quads);
        let length: f64 = around.iter().map(|edge| edge.length()).sum();
        assert!((length - 8.0).abs() < 1e-9, "{length}");
        assert_eq!(plane_intervals(&around, 0.0, false), vec![[1.0, 2.0]]);
        assert_eq!(plane_intervals(&around, 1.0, false), vec![[2.0, 3.0]]);
        assert_eq!(plane_intervals(&around, 2.0, true), vec![[1.0, 3.0]]);
        assert!(distance(&around, [2.5, 2.0]) < 1e-12 && (distance(&around, [1.5, 1.0]) - 0.5).abs() < 1e-12);
    }

    #[test]
    fn outlines_go_once_around_what_belongs_together() {
        let step = outlines(&[rectangle([1.0, 2.0], [0.0, 1.0]), rectangle([1.0, 3.0], [1.0, 2.0])]);
        assert_eq!(step.len(), 1);
        assert_eq!(step[0].len(), 6, "{step:?}: the corner on the straight bore is left out");
        let area =
            |corners: &[[f64; 2]]| 0.5 * (0..corners.len()).map(|i| cross(corners[i], corners[(i + 1) % corners.len()])).sum::<f64>();
        assert!((area(&step[0]) - 3.0).abs() < 1e-12, "counter-clockwise, and of the area of both");
        let apart = outlines(&[rectangle([1.0, 2.0], [0.0, 1.0]), rectangle([2.0, 3.0], [1.0, 2.0])]);
        assert_eq!(apart.iter().map(Vec::len).collect::<Vec<_>>(), [4, 4], "pieces that touch at a corner stay two");
    }

    #[test]
    fn overlap_and_touch() {
        let a = rectangle([1.0, 2.0], [0.0, 1.0]);
        let b = rectangle([1.5, 3.0], [0.5, 2.0]);
        let c = rectangle([1.0, 2.0], [1.0, 2.0]);
        assert!((common_area(&a, &b) - 0.25).abs() < 1e-12);
        assert_eq!(common_area(&a, &c), 0.0);
        assert!((shared_length(&a, &c) - 1.0).abs() < 1e-12);
        assert_eq!(shared_length(&a, &b), 0.0);
    }

    #[test]
    fn corners_in_any_sense_but_convex() {
        let quad = rectangle([1.0, 2.0], [0.0, 1.0]);
        let reversed = [quad[3], quad[2], quad[1], quad[0]];
        assert!(counter_clockwise(reversed).is_some_and(|q| cross(sub(q[1], q[0]), sub(q[2], q[1])) > 0.0));
        assert!(counter_clockwise([quad[0], quad[2], quad[1], quad[3]]).is_none());
        assert!(counter_clockwise([[1.0, 0.0], [2.0, 0.0], [1.1, 0.1], [1.0, 1.0]]).is_none());
    }
}
