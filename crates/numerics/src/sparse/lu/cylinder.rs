//! Grids of lines and circles, cut by whole lines and circles.

use std::ops::Range;

use super::super::SparseError;
use super::NOWHERE;
use super::patches::{Patch, Patches};
use super::symbolic::{LuSymbolic, Pattern, Region};

/// Neighbours of a node that its equation may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Stencil {
    /// The node itself and its four neighbours along the grid lines.
    Five,
    /// The four diagonal neighbours too.
    Nine,
}

const FIVE: [[i32; 2]; 5] = [[0, -1], [-1, 0], [0, 0], [1, 0], [0, 1]];
const NINE: [[i32; 2]; 9] = [[-1, -1], [0, -1], [1, -1], [-1, 0], [0, 0], [1, 0], [-1, 1], [0, 1], [1, 1]];
/// Regions of up to this many nodes are not cut; by measurement.
const LEAF_NODES: usize = 16;
/// Least number of lines and circles, and greatest number of nodes, of a patch; by measurement.
const LEAST_PATCH_SIDE: usize = 3;
const PATCH_NODES: usize = 144;
/// Share of a region on the side of the grid's edge when it is cut: nothing is left on the edge itself. By counting operations.
const EDGE_SHARE: f64 = 0.62;
/// An end that is at no edge.
const NO_EDGE: usize = usize::MAX;

impl Stencil {
    /// Steps `[radial, circumferential]` to the neighbours, in the order of a node's values. Ascending, first by the circumferential
    /// step and then by the radial one; the node itself is in the middle.
    pub fn steps(self) -> &'static [[i32; 2]] {
        match self {
            Stencil::Five => &FIVE,
            Stencil::Nine => &NINE,
        }
    }

    /// Values per node.
    pub fn size(self) -> usize {
        self.steps().len()
    }

    /// Place of the value of a step `[radial, circumferential]` among a node's values.
    pub fn place(self, step: [i32; 2]) -> Option<usize> {
        self.steps().iter().position(|&own| own == step)
    }
}

impl LuSymbolic {
    /// Orders a grid of `radial` by `circumferential` nodes; if `periodic`, the last line is a neighbour of the first.
    ///
    /// The node at `(r, c)` has the number `c * radial + r`. The matrix is given by [`Stencil::size`] values per node, the coefficients
    /// of its own equation in the order of [`Stencil::steps`]: value `s` of node `n` at `n * size + s`. Values of neighbours
    /// beyond the edge are not read. On a periodic grid of one or two lines, where neighbours coincide, their values add up.
    ///
    /// # Errors
    /// A grid without nodes, or of more than `2^32 / 9`.
    pub fn cylinder(radial: usize, circumferential: usize, stencil: Stencil, periodic: bool) -> Result<LuSymbolic, SparseError> {
        let nodes = radial.saturating_mul(circumferential);
        if nodes == 0 || nodes > u32::MAX as usize / 9 {
            return Err(SparseError::GridSize { radial, circumferential });
        }
        let pattern = pattern(radial, circumferential, stencil, periodic);
        let mut cuts = Cuts {
            patch: PATCH_NODES,
            edges: [[0, radial], if periodic { [NO_EDGE; 2] } else { [0, circumferential] }],
            ..Cuts::new(radial, LEAF_NODES)
        };
        cuts.region(0..radial, 0..circumferential, periodic);
        let node = |r: i64, c: i64| {
            let c = if periodic { c.rem_euclid(circumferential as i64) } else { c };
            let inside = (0..radial as i64).contains(&r) && (0..circumferential as i64).contains(&c);
            if inside { c as u32 * radial as u32 + r as u32 } else { NOWHERE }
        };
        let patches: Vec<Patch> = cuts.regions.iter().filter_map(|region| region.patch).collect();
        let (patches, members) = Patches::group(&patches, stencil, node);
        LuSymbolic::build(pattern, &cuts.regions, patches, &members)
    }
}

fn pattern(radial: usize, circumferential: usize, stencil: Stencil, periodic: bool) -> Pattern {
    let size = stencil.size();
    let mut columns = Vec::with_capacity(radial * circumferential * size);
    for c in 0..circumferential as i64 {
        for r in 0..radial as i64 {
            for &[across, along] in stencil.steps() {
                let r = r + i64::from(across);
                let mut c = c + i64::from(along);
                if periodic {
                    c = c.rem_euclid(circumferential as i64);
                }
                let inside = (0..radial as i64).contains(&r) && (0..circumferential as i64).contains(&c);
                columns.push(if inside { c as u32 * radial as u32 + r as u32 } else { NOWHERE });
            }
        }
    }
    Pattern { offsets: (0..=radial * circumferential).map(|node| (node * size) as u32).collect(), columns }
}

pub(super) struct Cuts {
    radial: usize,
    leaf: usize,
    patch: usize,
    /// Ends of the grid, radial and circumferential.
    edges: [[usize; 2]; 2],
    pub(super) regions: Vec<Region>,
}

impl Cuts {
    /// Cuts regions down to `leaf` nodes.
    pub(super) fn new(radial: usize, leaf: usize) -> Cuts {
        Cuts { radial, leaf, patch: 0, edges: [[NO_EDGE; 2]; 2], regions: Vec::new() }
    }

    /// Cuts a region, closed on itself if `round`, and returns the index of its last part.
    pub(super) fn region(&mut self, r: Range<usize>, c: Range<usize>, round: bool) -> Option<u32> {
        if r.is_empty() || c.is_empty() {
            return None;
        }
        if !round && r.len().min(c.len()) >= LEAST_PATCH_SIDE && r.len() * c.len() <= self.patch {
            let patch = Some(Patch { first: [r.start, c.start], size: [r.len(), c.len()] });
            return Some(self.push(Region { nodes: Vec::new(), children: Vec::new(), patch }));
        }
        if r.len() * c.len() <= self.leaf {
            return Some(self.join(r, c, []));
        }
        if round && c.len() > 2 * r.len() {
            // Two lines open a cylinder; one would leave it in one piece.
            let middle = c.start + c.len() / 2;
            let halves = [self.region(r.clone(), c.start + 1..middle, false), self.region(r.clone(), middle + 1..c.end, false)];
            return Some(self.join(r, [c.start, middle], halves));
        }
        if round || r.len() > c.len() {
            let middle = middle(&r, self.edges[0]);
            let halves = [self.region(r.start..middle, c.clone(), round), self.region(middle + 1..r.end, c.clone(), round)];
            return Some(self.join(middle..middle + 1, c, halves));
        }
        let middle = middle(&c, self.edges[1]);
        let halves = [self.region(r.clone(), c.start..middle, false), self.region(r.clone(), middle + 1..c.end, false)];
        Some(self.join(r, [middle], halves))
    }

    fn join<const N: usize>(&mut self, r: Range<usize>, lines: impl IntoIterator<Item = usize>, children: [Option<u32>; N]) -> u32 {
        let mut nodes = Vec::new();
        for c in lines {
            nodes.extend(r.clone().map(|r| (c * self.radial + r) as u32));
        }
        self.push(Region { nodes, children: children.into_iter().flatten().collect(), patch: None })
    }

    fn push(&mut self, region: Region) -> u32 {
        self.regions.push(region);
        self.regions.len() as u32 - 1
    }
}

fn middle(range: &Range<usize>, [low, high]: [usize; 2]) -> usize {
    let larger = (range.len() as f64 * EDGE_SHARE) as usize;
    match (range.start == low, range.end == high) {
        (true, false) => range.start + larger,
        (false, true) => range.end - 1 - larger,
        _ => range.start + range.len() / 2,
    }
}
