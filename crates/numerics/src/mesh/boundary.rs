//! Boundary edges of a mesh, in order around it.

use std::collections::{BTreeMap, HashMap};

use super::Mesh;
use crate::serendipity::{SIDES, edge_shape, edge_shape_derivatives};

/// A boundary edge; the body lies to the left of start to end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Edge {
    /// Start, middle, end node.
    pub nodes: [usize; 3],
    /// Element it bounds.
    pub element: usize,
}

/// Part of an edge, in its local coordinate from -1 (start) to 1 (end).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeSpan {
    /// The edge.
    pub edge: Edge,
    /// Start of the part.
    pub from: f64,
    /// End of the part.
    pub to: f64,
}

/// A point of an edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgePoint {
    /// Position `[r, z]`, m.
    pub position: [f64; 2],
    /// Shape functions of start, middle, end.
    pub shape: [f64; 3],
    /// Outward normal times length per unit of the local coordinate, m.
    pub outward: [f64; 2],
}

impl Edge {
    /// Position, shape functions and outward normal at local coordinate `s`.
    pub fn at(&self, mesh: &Mesh, s: f64) -> EdgePoint {
        let (shape, slope) = (edge_shape(s), edge_shape_derivatives(s));
        let (mut position, mut tangent) = ([0.0; 2], [0.0; 2]);
        for (k, node) in self.nodes.iter().enumerate() {
            for c in 0..2 {
                position[c] += shape[k] * mesh.nodes[*node][c];
                tangent[c] += slope[k] * mesh.nodes[*node][c];
            }
        }
        EdgePoint { position, shape, outward: [tangent[1], -tangent[0]] }
    }

    /// The whole edge.
    pub fn whole(self) -> EdgeSpan {
        EdgeSpan { edge: self, from: -1.0, to: 1.0 }
    }

    /// Local coordinate of the point of the edge nearest to `point` (straight edges), and the distance, m.
    pub fn nearest(&self, mesh: &Mesh, point: [f64; 2]) -> (f64, f64) {
        let (a, b) = (mesh.nodes[self.nodes[0]], mesh.nodes[self.nodes[2]]);
        let d = [b[0] - a[0], b[1] - a[1]];
        let t = (((point[0] - a[0]) * d[0] + (point[1] - a[1]) * d[1]) / (d[0] * d[0] + d[1] * d[1])).clamp(0.0, 1.0);
        (2.0 * t - 1.0, (point[0] - a[0] - t * d[0]).hypot(point[1] - a[1] - t * d[1]))
    }
}

impl EdgeSpan {
    /// Quadrature points `(point, weight)` of the three-point rule over the part; the weight goes with `ds`.
    pub fn points(&self, mesh: &Mesh) -> [(EdgePoint, f64); 3] {
        let half = 0.5 * (self.to - self.from);
        crate::quadrature::THREE_POINTS.map(|(x, w)| (self.edge.at(mesh, 0.5 * (self.from + self.to) + half * x), w * half))
    }

    /// Positions of the two ends, m.
    pub fn ends(&self, mesh: &Mesh) -> [[f64; 2]; 2] {
        [self.edge.at(mesh, self.from).position, self.edge.at(mesh, self.to).position]
    }

    /// Middle of the part, m.
    pub fn middle(&self, mesh: &Mesh) -> [f64; 2] {
        self.edge.at(mesh, 0.5 * (self.from + self.to)).position
    }
}

/// Element sides that belong to one element only, chained into loops, the outside loop first.
pub(super) fn loops(mesh: &Mesh) -> Vec<Vec<Edge>> {
    let mut sides: HashMap<(usize, usize), Option<Edge>> = HashMap::with_capacity(3 * mesh.elements.len());
    for (element, e) in mesh.elements.iter().enumerate() {
        for side in SIDES {
            let nodes = side.map(|k| e.nodes[k]);
            let (a, b) = (mesh.places[nodes[0]], mesh.places[nodes[2]]);
            sides.entry((a.min(b), a.max(b))).and_modify(|edge| *edge = None).or_insert(Some(Edge { nodes, element }));
        }
    }
    let mut leaving: BTreeMap<usize, Vec<Edge>> = BTreeMap::new();
    for edge in sides.into_values().flatten() {
        leaving.entry(mesh.places[edge.nodes[0]]).or_default().push(edge);
    }
    for edges in leaving.values_mut() {
        edges.sort_by_key(|edge| edge.element);
    }
    let mut loops = Vec::new();
    while let Some(start) = leaving.iter().find_map(|(place, edges)| (!edges.is_empty()).then_some(*place)) {
        let mut chain: Vec<Edge> = Vec::new();
        let mut place = start;
        while let Some(edges) = leaving.get_mut(&place) {
            let Some(pick) =
                (0..edges.len()).min_by(|a, b| turn(mesh, chain.last(), &edges[*a]).total_cmp(&turn(mesh, chain.last(), &edges[*b])))
            else {
                break;
            };
            let edge = edges.swap_remove(pick);
            place = mesh.places[edge.nodes[2]];
            chain.push(edge);
        }
        loops.push(chain);
    }
    loops.sort_by(|a, b| enclosed(mesh, b).total_cmp(&enclosed(mesh, a)));
    loops
}

/// Angle turned to the left from one edge into the next: where pieces meet in a corner only, the walk turns right, outside.
fn turn(mesh: &Mesh, last: Option<&Edge>, next: &Edge) -> f64 {
    let Some(last) = last else { return 0.0 };
    let direction = |edge: &Edge| {
        let (a, b) = (mesh.nodes[edge.nodes[0]], mesh.nodes[edge.nodes[2]]);
        [b[0] - a[0], b[1] - a[1]]
    };
    let (a, b) = (direction(last), direction(next));
    (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1])
}

fn enclosed(mesh: &Mesh, chain: &[Edge]) -> f64 {
    chain
        .iter()
        .map(|edge| {
            let (a, b) = (mesh.nodes[edge.nodes[0]], mesh.nodes[edge.nodes[2]]);
            0.5 * (a[0] * b[1] - b[0] * a[1])
        })
        .sum()
}
