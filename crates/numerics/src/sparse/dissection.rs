//! Nested dissection of a mesh by coordinates and grid indices.
//!
//! A region is a set of elements. It is cut in two by the line of constant coordinate or grid index whose
//! shared nodes cost least; the nodes shared by both halves are the separator. On a structured mesh the
//! cuts are mesh lines.

use std::ops::Range;

use super::grid::grid_indices;

/// A region of elements: a leaf, or two halves joined by a separator.
pub(super) struct Region {
    /// Range of [`Dissection::element_order`]; empty unless a leaf.
    pub(super) elements: Range<usize>,
    /// Nodes eliminated once all children are, in an order along the separator.
    pub(super) nodes: Vec<u32>,
    /// Indices of earlier regions.
    pub(super) children: Vec<u32>,
}

/// Regions in postorder (children before parents).
pub(super) struct Dissection {
    pub(super) regions: Vec<Region>,
    pub(super) roots: Vec<u32>,
    pub(super) element_order: Vec<u32>,
}

/// Directions of cutting: two coordinates, two grid indices.
const DIRECTIONS: usize = 4;
/// Direction along the separator for each of them.
const ALONG: [usize; DIRECTIONS] = [1, 0, 3, 2];
/// No half may hold less than this share of the elements.
const LEAST_SHARE: f64 = 0.2;
/// Price of an uneven cut: relative growth of a separator's cost when one half is empty.
const IMBALANCE: f64 = 1.5;

struct Builder<'a> {
    elements: &'a [[usize; 8]],
    leaf: usize,
    node_keys: Vec<[f64; DIRECTIONS]>,
    sorted: [Vec<u32>; DIRECTIONS],
    marks: Vec<Mark>,
    stamp: u32,
    on_left: Vec<bool>,
    spare: Vec<u32>,
    crossing: Vec<i32>,
    out: Dissection,
}

/// What a sweep over elements knows of a node.
#[derive(Clone, Copy)]
struct Mark {
    /// Unknowns to be eliminated; zero once the node is taken.
    weight: i32,
    /// Sweep that met the node last, and its place in that sweep.
    stamp: u32,
    last: u32,
}

impl Mark {
    /// Whether the node was still to be taken.
    fn take(&mut self) -> bool {
        std::mem::take(&mut self.weight) != 0
    }
}

/// `weights[node]` is the number of unknowns to be eliminated there (0: node is no part of any
/// separator); regions of up to `leaf` elements are not cut.
pub(super) fn dissect(coordinates: &[[f64; 2]], elements: &[[usize; 8]], weights: &[i32], leaf: usize) -> Dissection {
    let grid = grid_indices(coordinates.len(), elements);
    let keys_of = |x: [f64; 2], [i, j]: [i32; 2]| [x[0], x[1], f64::from(i), f64::from(j)];
    let node_keys = coordinates.iter().zip(&grid.nodes).map(|(&x, &index)| keys_of(x, index)).collect();
    let keys: Vec<[f64; DIRECTIONS]> = elements
        .iter()
        .zip(&grid.elements)
        .map(|(nodes, &index)| {
            let sum = nodes.iter().fold([0.0; 2], |sum, &node| [sum[0] + coordinates[node][0], sum[1] + coordinates[node][1]]);
            keys_of(sum, index)
        })
        .collect();
    let sorted = std::array::from_fn(|d| {
        let mut order: Vec<u32> = (0..elements.len() as u32).collect();
        order.sort_unstable_by(|&a, &b| {
            let (a, b) = (&keys[a as usize], &keys[b as usize]);
            a[d].total_cmp(&b[d]).then(a[ALONG[d]].total_cmp(&b[ALONG[d]]))
        });
        order
    });
    let mut builder = Builder {
        elements,
        leaf: leaf.max(1),
        node_keys,
        sorted,
        marks: weights.iter().map(|&weight| Mark { weight, stamp: 0, last: 0 }).collect(),
        stamp: 0,
        on_left: vec![false; elements.len()],
        spare: Vec::with_capacity(elements.len()),
        crossing: Vec::with_capacity(elements.len() + 1),
        out: Dissection { regions: Vec::new(), roots: Vec::new(), element_order: Vec::new() },
    };
    builder.out.roots = builder.region(0..elements.len());
    builder.out.element_order = std::mem::take(&mut builder.sorted[0]);
    builder.out
}

impl Builder<'_> {
    /// Dissects a range of elements and returns the regions its parent has to join.
    fn region(&mut self, range: Range<usize>) -> Vec<u32> {
        if range.is_empty() {
            return Vec::new();
        }
        if range.len() <= self.leaf {
            return vec![self.push_leaf(range)];
        }
        let (direction, cut) = self.best_cut(&range);
        let nodes = self.separate(&range, direction, cut);
        let middle = range.start + cut;
        let mut children = self.region(range.start..middle);
        children.extend(self.region(middle..range.end));
        if nodes.is_empty() {
            return children;
        }
        vec![self.push(Region { elements: 0..0, nodes, children })]
    }

    fn push(&mut self, region: Region) -> u32 {
        self.out.regions.push(region);
        self.out.regions.len() as u32 - 1
    }

    fn push_leaf(&mut self, range: Range<usize>) -> u32 {
        let mut nodes = Vec::new();
        for position in range.clone() {
            for &node in &self.elements[self.sorted[0][position] as usize] {
                if self.marks[node].take() {
                    nodes.push(node as u32);
                }
            }
        }
        self.push(Region { elements: range, nodes, children: Vec::new() })
    }

    /// Direction and number of elements in the first half.
    fn best_cut(&mut self, range: &Range<usize>) -> (usize, usize) {
        let total = range.len();
        let least = ((total as f64 * LEAST_SHARE) as usize).max(1);
        let mut best = (f64::INFINITY, 0, total / 2);
        for direction in 0..DIRECTIONS {
            self.count_crossings(range, direction);
            let mut weight = 0;
            for cut in 1..=total - least {
                weight += self.crossing[cut];
                if cut < least {
                    continue;
                }
                let uneven = (2.0 * cut as f64 - total as f64) / total as f64;
                let cost = (weight as f64 + 0.25) * (1.0 + IMBALANCE * uneven * uneven);
                if cost < best.0 {
                    best = (cost, direction, cut);
                }
            }
        }
        (best.1, best.2)
    }

    /// Fills `crossing` with the change of separator weight from one cut to the next.
    fn count_crossings(&mut self, range: &Range<usize>, direction: usize) {
        self.stamp += 1;
        self.crossing.clear();
        self.crossing.resize(range.len() + 1, 0);
        for (position, &element) in self.sorted[direction][range.clone()].iter().enumerate() {
            for &node in &self.elements[element as usize] {
                let mark = &mut self.marks[node];
                if mark.stamp == self.stamp {
                    // All cuts between the last element met and this one cross the node.
                    self.crossing[mark.last as usize + 1] += mark.weight;
                    self.crossing[position + 1] -= mark.weight;
                }
                mark.stamp = self.stamp;
                mark.last = position as u32;
            }
        }
    }

    /// Takes the separator's nodes and sorts the two halves apart in every direction.
    fn separate(&mut self, range: &Range<usize>, direction: usize, cut: usize) -> Vec<u32> {
        self.stamp += 1;
        let (left, right) = self.sorted[direction][range.clone()].split_at(cut);
        for &element in left {
            self.on_left[element as usize] = true;
            for &node in &self.elements[element as usize] {
                self.marks[node].stamp = self.stamp;
            }
        }
        let mut nodes = Vec::new();
        for &element in right {
            self.on_left[element as usize] = false;
            for &node in &self.elements[element as usize] {
                if self.marks[node].stamp == self.stamp && self.marks[node].take() {
                    nodes.push(node as u32);
                }
            }
        }
        let along = ALONG[direction];
        nodes.sort_unstable_by(|&a, &b| self.node_keys[a as usize][along].total_cmp(&self.node_keys[b as usize][along]));
        for sorted in &mut self.sorted {
            let part = &mut sorted[range.clone()];
            self.spare.clear();
            self.spare.extend(part.iter().filter(|&&e| self.on_left[e as usize]));
            self.spare.extend(part.iter().filter(|&&e| !self.on_left[e as usize]));
            part.copy_from_slice(&self.spare);
        }
        nodes
    }
}
