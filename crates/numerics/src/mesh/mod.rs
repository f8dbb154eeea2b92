//! Meshes of 8-node quadrilaterals over a meridian section.
//!
//! [`Plan::mesh`] turns quadrilateral pieces that share edges, whole or in part, into one conforming mesh: pieces are split
//! until every edge is shared whole, opposite edges are given equal divisions, and each quadrilateral is filled by its
//! bilinear map. [`Mesh::from_blocks`] fills mapped blocks (curved ones too) for checks.

mod boundary;
mod fill;
mod split;

pub use boundary::{Edge, EdgePoint, EdgeSpan};
pub use fill::Block;

use split::Complex;

/// A quadrilateral piece of a section.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Corners `[r, z]` in order around the piece, either sense, m. The quadrilateral must be convex.
    pub corners: [[f64; 2]; 4],
    /// Index of its material.
    pub material: usize,
    /// Radius at which this piece sits with interference on its inner neighbour, m.
    pub fit_radius: Option<f64>,
}

/// Nodes prescribed on the line `z = 0`.
#[derive(Debug, Clone, PartialEq)]
pub struct PrescribedLine {
    /// Radii of the nodes, rising: corner, mid-side, corner ... (odd count), m.
    pub radii: Vec<f64>,
}

/// A segment around which elements are small; a point when both ends agree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeSource {
    /// Ends `[r, z]`, m.
    pub ends: [[f64; 2]; 2],
    /// Element size at the segment, m.
    pub size: f64,
    /// Growth of the size with distance.
    pub growth: f64,
}

/// Wanted element size.
#[derive(Debug, Clone, PartialEq)]
pub struct SizeField {
    /// Size far from every source, m.
    pub coarse: f64,
    /// Where elements are smaller.
    pub sources: Vec<SizeSource>,
}

impl SizeField {
    /// Same size everywhere.
    pub fn uniform(size: f64) -> Self {
        Self { coarse: size, sources: Vec::new() }
    }

    /// Wanted size at a point, m.
    pub fn at(&self, point: [f64; 2]) -> f64 {
        self.sources
            .iter()
            .fold(self.coarse, |size, source| size.min(source.size + source.growth * distance_to_segment(point, source.ends)))
    }
}

/// Everything a mesh is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Pieces; they share edges.
    pub pieces: Vec<Piece>,
    /// Nodes prescribed on `z = 0`.
    pub line: Option<PrescribedLine>,
    /// Points on edges where a mesh line must end, `[r, z]`, m.
    pub points: Vec<[f64; 2]>,
    /// Element sizes.
    pub sizes: SizeField,
}

/// Why no mesh can be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MeshError {
    /// No piece at all.
    #[error("the section has no piece")]
    Empty,
    /// A piece without area, not convex, or with a corner that is no number.
    #[error("piece {} is degenerate: {reason}", piece + 1)]
    Degenerate {
        /// Index of the piece.
        piece: usize,
        /// What is wrong.
        reason: &'static str,
    },
    /// A piece reaches the axis or beyond.
    #[error("piece {} reaches a radius of {radius} m; a ring must stay clear of the axis", piece + 1)]
    AcrossAxis {
        /// Index of the piece.
        piece: usize,
        /// Least radius, m.
        radius: f64,
    },
    /// Two pieces cover the same area.
    #[error("pieces {} and {} overlap by {area:.3e} m2", first + 1, second + 1)]
    Overlap {
        /// Index of the first piece.
        first: usize,
        /// Index of the second piece.
        second: usize,
        /// Common area, m2.
        area: f64,
    },
    /// A piece that shares no edge with the rest.
    #[error("piece {} shares no edge with the pieces before it (nearest gap {gap:.3e} m)", piece + 1)]
    Detached {
        /// Index of the piece.
        piece: usize,
        /// Least distance to another piece, m.
        gap: f64,
    },
    /// The prescribed line is not covered by edges of the section.
    #[error("the section has no edge on z = 0 from {from} m to {to} m")]
    LineNotCovered {
        /// Inner radius, m.
        from: f64,
        /// Outer radius, m.
        to: f64,
    },
    /// No edge of the piece lies on its fit radius against another piece.
    #[error("piece {} touches no other piece at its fit radius of {radius} m", piece + 1)]
    FitNotFound {
        /// Index of the piece.
        piece: usize,
        /// Fit radius, m.
        radius: f64,
    },
    /// The two sides of a fit are also joined without fit.
    #[error("the fit of piece {} at {radius} m cannot act: its two sides are also joined by a piece that could belong to either; give that piece the material of the side it is made with", piece + 1)]
    FitBridged {
        /// Index of the piece.
        piece: usize,
        /// Fit radius, m.
        radius: f64,
    },
    /// Steps of the section do not allow matching mesh lines.
    #[error("the steps of the section lead to more than {limit} matching parts; align corners that lie close to each other")]
    TooComplex {
        /// Greatest number of parts tried.
        limit: usize,
    },
}

/// One element.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Element {
    /// Nodes in the order of [`crate::serendipity`].
    pub nodes: [usize; 8],
    /// Index of its material.
    pub material: usize,
    /// Index of the body it belongs to; bodies that meet are the two sides of a fit.
    pub body: usize,
}

/// One of the two bodies of an interface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InterfaceSide {
    /// The body that sits in the fit.
    Inner,
    /// The body that carries the fit.
    Outer,
}

/// Two nodes at one place, on the two sides of an interface between bodies that a fit joins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Twin {
    /// Node of the inner body.
    pub inner: usize,
    /// Node of the outer body, which carries the fit.
    pub outer: usize,
    /// Index into [`Mesh::fits`] where the node lies on the fit cylinder.
    pub fit: Option<usize>,
    /// Where the bodies meet on a cylinder (the fit's or another): the body at the greater radius.
    pub cylinder: Option<InterfaceSide>,
    /// Where the bodies meet on a plane (or flatter than 45 degrees): the body at the greater `z`.
    pub plane: Option<InterfaceSide>,
}

impl Twin {
    /// Nodes before and beyond the interface, in the direction of a coordinate.
    pub fn ordered(&self, beyond: InterfaceSide) -> [usize; 2] {
        match beyond {
            InterfaceSide::Outer => [self.inner, self.outer],
            InterfaceSide::Inner => [self.outer, self.inner],
        }
    }
}

/// A fit cylinder between two bodies.
#[derive(Debug, Clone, PartialEq)]
pub struct FitLine {
    /// Radius, m.
    pub radius: f64,
    /// Piece that carries the fit.
    pub piece: usize,
    /// Edges of the inner body on the cylinder.
    pub edges: Vec<Edge>,
}

/// A mesh of 8-node elements.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mesh {
    /// Positions `[r, z]`, m.
    pub nodes: Vec<[f64; 2]>,
    /// Elements.
    pub elements: Vec<Element>,
    /// Place of each node: nodes of a twin share it. Temperatures are numbered by place.
    pub places: Vec<usize>,
    /// Number of places.
    pub place_count: usize,
    /// Boundary loops in order, body on the left; the loop that bounds the section outside comes first.
    pub loops: Vec<Vec<Edge>>,
    /// Interface nodes.
    pub twins: Vec<Twin>,
    /// Fit cylinders.
    pub fits: Vec<FitLine>,
    /// Nodes of the prescribed line, inner to outer.
    pub line: Vec<usize>,
}

impl Mesh {
    /// Positions of the nodes of an element.
    pub fn corners(&self, element: &Element) -> [[f64; 2]; 8] {
        element.nodes.map(|node| self.nodes[node])
    }

    /// Mesh mapped blocks; nodes that coincide within `tolerance` (m) are joined.
    pub fn from_blocks(blocks: &[Block<'_>], tolerance: f64) -> Self {
        fill::from_blocks(blocks, tolerance)
    }

    /// Node nearest to a point.
    pub fn nearest_node(&self, point: [f64; 2]) -> usize {
        let distance = |node: &[f64; 2]| (node[0] - point[0]).hypot(node[1] - point[1]);
        (0..self.nodes.len()).min_by(|a, b| distance(&self.nodes[*a]).total_cmp(&distance(&self.nodes[*b]))).unwrap_or(0)
    }

    /// Every boundary edge, loop by loop.
    pub fn boundary(&self) -> impl Iterator<Item = &Edge> {
        self.loops.iter().flatten()
    }
}

impl Plan {
    /// Make the mesh.
    ///
    /// # Errors
    /// [`MeshError`] names the piece that is degenerate, overlaps, is detached or cannot carry the prescribed line.
    pub fn mesh(&self) -> Result<Mesh, MeshError> {
        let complex = Complex::new(self)?;
        let bodies = split::bodies(&self.pieces, &complex)?;
        Ok(fill::fill(self, &complex, &bodies))
    }
}

/// Distance of a point from a segment, m.
fn distance_to_segment(p: [f64; 2], [a, b]: [[f64; 2]; 2]) -> f64 {
    let d = [b[0] - a[0], b[1] - a[1]];
    let length2 = d[0] * d[0] + d[1] * d[1];
    let t = if length2 > 0.0 { (((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / length2).clamp(0.0, 1.0) } else { 0.0 };
    (p[0] - a[0] - t * d[0]).hypot(p[1] - a[1] - t * d[1])
}
