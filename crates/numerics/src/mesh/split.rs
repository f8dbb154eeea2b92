//! Pieces split until every shared edge is shared whole.

use std::collections::BTreeMap;

use super::{MeshError, Piece, Plan, distance_to_segment};

/// Most parts tried before the section is refused.
const PART_LIMIT: usize = 600;

/// One quadrilateral of the split section.
#[derive(Debug, Clone, Copy)]
pub(super) struct Quad {
    /// Vertices, counter-clockwise.
    pub vertices: [usize; 4],
    /// Piece it was cut from.
    pub piece: usize,
}

/// The split section.
#[derive(Debug)]
pub(super) struct Complex {
    pub vertices: Vec<[f64; 2]>,
    pub quads: Vec<Quad>,
    /// Vertices on the prescribed line with the index of their element corner on it.
    pub line_corner: BTreeMap<usize, usize>,
    tolerance: f64,
}

impl Complex {
    pub(super) fn new(plan: &Plan) -> Result<Self, MeshError> {
        if plan.pieces.is_empty() {
            return Err(MeshError::Empty);
        }
        let extent = check_pieces(&plan.pieces)?;
        let tolerance = 1e-6 * extent;
        let mut complex = Self { vertices: Vec::new(), quads: Vec::new(), line_corner: BTreeMap::new(), tolerance };
        let corners: Vec<f64> = plan.line.iter().flat_map(|line| line.radii.iter().step_by(2).copied()).collect();
        if let (Some(first), Some(last)) = (corners.first(), corners.last()) {
            for (radius, index) in [(*first, 0), (*last, corners.len() - 1)] {
                let vertex = complex.vertex([radius, 0.0]);
                complex.line_corner.insert(vertex, index);
            }
        }
        for (piece, Piece { corners, .. }) in plan.pieces.iter().enumerate() {
            let mut corners = *corners;
            if signed_area(&corners) < 0.0 {
                corners.reverse();
            }
            let vertices = corners.map(|corner| complex.vertex(corner));
            complex.quads.push(Quad { vertices, piece });
        }
        check_overlap(&plan.pieces, extent)?;
        for point in &plan.points {
            complex.vertex(*point);
        }
        complex.match_edges(plan, &corners)?;
        complex.check_line(&corners)?;
        Ok(complex)
    }

    /// Whether two radii agree within the tolerance of the section.
    pub(super) fn same_radius(&self, a: f64, b: f64) -> bool {
        (a - b).abs() < self.tolerance
    }

    /// The vertex at a point, made when there is none.
    fn vertex(&mut self, point: [f64; 2]) -> usize {
        let near = |v: &[f64; 2]| (v[0] - point[0]).hypot(v[1] - point[1]) < self.tolerance;
        match self.vertices.iter().position(near) {
            Some(found) => found,
            None => {
                self.vertices.push(point);
                self.vertices.len() - 1
            }
        }
    }

    /// Split quadrilaterals until no vertex lies inside an edge.
    fn match_edges(&mut self, plan: &Plan, corners: &[f64]) -> Result<(), MeshError> {
        let mut at = 0;
        let mut clean = 0;
        while clean < self.quads.len() {
            if at >= self.quads.len() {
                at = 0;
            }
            match self.hanging(at) {
                Some((side, vertex)) => {
                    self.split(at, side, vertex, plan, corners)?;
                    clean = 0;
                    if self.quads.len() > PART_LIMIT {
                        return Err(MeshError::TooComplex { limit: PART_LIMIT });
                    }
                }
                None => {
                    clean += 1;
                    at += 1;
                }
            }
        }
        Ok(())
    }

    /// A vertex inside an edge of a quadrilateral, with the side.
    fn hanging(&self, quad: usize) -> Option<(usize, usize)> {
        let vertices = self.quads[quad].vertices;
        (0..4).find_map(|side| {
            let (a, b) = (vertices[side], vertices[(side + 1) % 4]);
            (0..self.vertices.len()).find(|v| self.inside_edge(*v, a, b)).map(|v| (side, v))
        })
    }

    fn inside_edge(&self, v: usize, a: usize, b: usize) -> bool {
        v != a && v != b && distance_to_segment(self.vertices[v], [self.vertices[a], self.vertices[b]]) < self.tolerance
    }

    /// Cut a quadrilateral from a vertex inside one side to the opposite side.
    fn split(&mut self, quad: usize, side: usize, hanging: usize, plan: &Plan, corners: &[f64]) -> Result<(), MeshError> {
        let Quad { vertices, piece } = self.quads[quad];
        let [v0, v1, v2, v3] = [0, 1, 2, 3].map(|k| vertices[(side + k) % 4]);
        let share = distance(self.vertices[v0], self.vertices[hanging]) / distance(self.vertices[v0], self.vertices[v1]);
        let opposite = self.opposite(v3, v2, share, plan, corners)?;
        self.quads[quad].vertices = [v0, hanging, opposite, v3];
        self.quads.push(Quad { vertices: [hanging, v1, v2, opposite], piece });
        Ok(())
    }

    /// Where a cut ends on the edge `a` to `b`: on a vertex that hangs there close by, on an element corner of the prescribed
    /// line, or at the same share of the edge.
    fn opposite(&mut self, a: usize, b: usize, share: f64, plan: &Plan, corners: &[f64]) -> Result<usize, MeshError> {
        let (pa, pb) = (self.vertices[a], self.vertices[b]);
        let target = [pa[0] + share * (pb[0] - pa[0]), pa[1] + share * (pb[1] - pa[1])];
        let near = (0..self.vertices.len())
            .filter(|v| self.inside_edge(*v, a, b))
            .min_by(|v, w| distance(self.vertices[*v], target).total_cmp(&distance(self.vertices[*w], target)));
        if let Some(found) = near
            && distance(self.vertices[found], target) < 0.5 * plan.sizes.at(target)
        {
            return Ok(found);
        }
        let (Some(ia), Some(ib)) = (self.line_corner.get(&a), self.line_corner.get(&b)) else {
            return Ok(self.vertex(target));
        };
        let (from, to) = (*ia.min(ib), *ia.max(ib));
        let free = (from + 1..to).min_by(|i, j| (corners[*i] - target[0]).abs().total_cmp(&(corners[*j] - target[0]).abs()));
        let index = free.ok_or(MeshError::TooComplex { limit: corners.len() })?;
        let vertex = self.vertex([corners[index], 0.0]);
        self.line_corner.insert(vertex, index);
        Ok(vertex)
    }

    /// The prescribed line must be covered by edges.
    fn check_line(&self, corners: &[f64]) -> Result<(), MeshError> {
        let (Some(from), Some(to)) = (corners.first(), corners.last()) else { return Ok(()) };
        let covered: f64 = self
            .quads
            .iter()
            .flat_map(|quad| (0..4).map(|k| (quad.vertices[k], quad.vertices[(k + 1) % 4])))
            .filter(|(a, b)| self.line_corner.contains_key(a) && self.line_corner.contains_key(b))
            .map(|(a, b)| self.vertices[b][0] - self.vertices[a][0])
            .sum();
        if (covered - (to - from)).abs() > 10.0 * self.tolerance { Err(MeshError::LineNotCovered { from: *from, to: *to }) } else { Ok(()) }
    }
}

/// Body of each piece: pieces joined without a fit between them. Bodies are numbered from zero.
///
/// Two pieces of one material that share an edge are one body unless the edge lies on a fit. Pieces of different materials are
/// joined too unless that would join the two sides of a fit: those only touch. A piece of a third material between the sides
/// could belong to either: refused.
pub(super) fn bodies(pieces: &[Piece], complex: &Complex) -> Result<Vec<usize>, MeshError> {
    let mut contacts = contacts(pieces, complex);
    check_attached(pieces, &contacts)?;
    let group = joined(pieces, &contacts);
    contacts.reverse();
    let other = joined(pieces, &contacts);
    for (piece, radius) in pieces.iter().enumerate().filter_map(|(i, p)| p.fit_radius.map(|r| (i, r))) {
        let mut on_fit = contacts.iter().filter(|c| c.fit == Some(piece)).peekable();
        if on_fit.peek().is_none() {
            return Err(MeshError::FitNotFound { piece, radius });
        }
        if group != other || on_fit.any(|c| group[c.first] == group[c.second]) {
            return Err(MeshError::FitBridged { piece, radius });
        }
    }
    let mut numbers = BTreeMap::new();
    Ok(group
        .iter()
        .map(|root| {
            let next = numbers.len();
            *numbers.entry(*root).or_insert(next)
        })
        .collect())
}

/// Least piece of the body of each piece, joined in the order of the contacts.
fn joined(pieces: &[Piece], contacts: &[Contact]) -> Vec<usize> {
    let mut group: Vec<usize> = (0..pieces.len()).collect();
    let plain = || contacts.iter().filter(|c| c.fit.is_none());
    for contact in plain().filter(|c| pieces[c.first].material == pieces[c.second].material) {
        join(&mut group, contact.first, contact.second);
    }
    for contact in plain() {
        let (a, b) = (find(&group, contact.first), find(&group, contact.second));
        let across = |c: &Contact| {
            let (c, d) = (find(&group, c.first), find(&group, c.second));
            (a, b) == (c, d) || (a, b) == (d, c)
        };
        if !contacts.iter().any(|c| c.fit.is_some() && across(c)) {
            join(&mut group, a, b);
        }
    }
    (0..pieces.len()).map(|piece| find(&group, piece)).collect()
}

/// An edge common to two pieces; `fit` names the piece whose fit it lies on.
struct Contact {
    first: usize,
    second: usize,
    fit: Option<usize>,
}

fn contacts(pieces: &[Piece], complex: &Complex) -> Vec<Contact> {
    let mut seen: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    let mut contacts = Vec::new();
    for quad in &complex.quads {
        for k in 0..4 {
            let (a, b) = (quad.vertices[k], quad.vertices[(k + 1) % 4]);
            match seen.insert((a.min(b), a.max(b)), quad.piece) {
                Some(other) if other != quad.piece => {
                    let fit = fit_on_edge(pieces, complex, [other, quad.piece], [a, b]);
                    contacts.push(Contact { first: other, second: quad.piece, fit });
                }
                _ => {}
            }
        }
    }
    contacts
}

/// The piece of the two whose fit an edge lies on: the one outside the cylinder.
pub(super) fn fit_on_edge(pieces: &[Piece], complex: &Complex, candidates: [usize; 2], [a, b]: [usize; 2]) -> Option<usize> {
    candidates.into_iter().find(|piece| {
        pieces[*piece].fit_radius.is_some_and(|radius| {
            let mean: f64 = pieces[*piece].corners.iter().map(|c| c[0]).sum::<f64>() / 4.0;
            complex.same_radius(complex.vertices[a][0], radius) && complex.same_radius(complex.vertices[b][0], radius) && mean > radius
        })
    })
}

fn check_attached(pieces: &[Piece], contacts: &[Contact]) -> Result<(), MeshError> {
    let mut group: Vec<usize> = (0..pieces.len()).collect();
    for contact in contacts {
        join(&mut group, contact.first, contact.second);
    }
    let root = find(&group, 0);
    match (1..pieces.len()).find(|piece| find(&group, *piece) != root) {
        Some(piece) => Err(MeshError::Detached { piece, gap: gap_to_others(pieces, piece) }),
        None => Ok(()),
    }
}

fn gap_to_others(pieces: &[Piece], piece: usize) -> f64 {
    let mut gap = f64::INFINITY;
    for (other, candidate) in pieces.iter().enumerate().filter(|(other, _)| *other != piece) {
        debug_assert_ne!(other, piece);
        for k in 0..4 {
            let edge = [candidate.corners[k], candidate.corners[(k + 1) % 4]];
            let own = [pieces[piece].corners[k], pieces[piece].corners[(k + 1) % 4]];
            for j in 0..4 {
                gap = gap.min(distance_to_segment(pieces[piece].corners[j], edge)).min(distance_to_segment(candidate.corners[j], own));
            }
        }
    }
    gap
}

fn find(group: &[usize], mut item: usize) -> usize {
    while group[item] != item {
        item = group[item];
    }
    item
}

fn join(group: &mut [usize], a: usize, b: usize) {
    let (a, b) = (find(group, a), find(group, b));
    group[a.max(b)] = a.min(b);
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

fn signed_area(polygon: &[[f64; 2]]) -> f64 {
    (0..polygon.len())
        .map(|i| {
            let (a, b) = (polygon[i], polygon[(i + 1) % polygon.len()]);
            0.5 * (a[0] * b[1] - b[0] * a[1])
        })
        .sum()
}

/// Check each piece alone; returns the extent of the section.
fn check_pieces(pieces: &[Piece]) -> Result<f64, MeshError> {
    let mut extent = 0.0_f64;
    for (piece, Piece { corners, .. }) in pieces.iter().enumerate() {
        if corners.iter().flatten().any(|value| !value.is_finite()) {
            return Err(MeshError::Degenerate { piece, reason: "a corner is not a finite number" });
        }
        let radius = corners.iter().map(|c| c[0]).fold(f64::INFINITY, f64::min);
        if radius <= 0.0 {
            return Err(MeshError::AcrossAxis { piece, radius });
        }
        for a in corners {
            extent = corners.iter().fold(extent, |e, b| e.max(distance(*a, *b)));
        }
        let area = signed_area(corners);
        let longest = (0..4).map(|k| distance(corners[k], corners[(k + 1) % 4])).fold(0.0, f64::max);
        let shortest = (0..4).map(|k| distance(corners[k], corners[(k + 1) % 4])).fold(f64::INFINITY, f64::min);
        if shortest <= 1e-5 * longest || area.abs() <= 1e-6 * longest * longest {
            return Err(MeshError::Degenerate { piece, reason: "it has no area or a side without length" });
        }
        let convex = (0..4).all(|k| {
            let (a, b, c) = (corners[k], corners[(k + 1) % 4], corners[(k + 2) % 4]);
            let cross = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]);
            cross * area.signum() > 1e-3 * distance(a, b) * distance(b, c)
        });
        if !convex {
            return Err(MeshError::Degenerate {
                piece,
                reason: "its corners are crossed, re-entrant or in line; give them in order around a convex piece",
            });
        }
    }
    Ok(extent)
}

fn check_overlap(pieces: &[Piece], extent: f64) -> Result<(), MeshError> {
    for first in 0..pieces.len() {
        for second in first + 1..pieces.len() {
            let area = common_area(&pieces[first].corners, &pieces[second].corners);
            if area > 1e-6 * extent * extent {
                return Err(MeshError::Overlap { first, second, area });
            }
        }
    }
    Ok(())
}

/// Area common to two convex quadrilaterals (Sutherland and Hodgman's clipping).
fn common_area(subject: &[[f64; 2]; 4], clip: &[[f64; 2]; 4]) -> f64 {
    let mut polygon: Vec<[f64; 2]> = subject.to_vec();
    let mut clip = *clip;
    if signed_area(&clip) < 0.0 {
        clip.reverse();
    }
    for k in 0..4 {
        let (a, b) = (clip[k], clip[(k + 1) % 4]);
        let side = |p: [f64; 2]| (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
        let mut cut = Vec::with_capacity(polygon.len() + 1);
        for i in 0..polygon.len() {
            let (p, q) = (polygon[i], polygon[(i + 1) % polygon.len()]);
            let (sp, sq) = (side(p), side(q));
            if sp >= 0.0 {
                cut.push(p);
            }
            if sp * sq < 0.0 {
                let t = sp / (sp - sq);
                cut.push([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]);
            }
        }
        polygon = cut;
    }
    if polygon.len() < 3 { 0.0 } else { signed_area(&polygon).abs() }
}
