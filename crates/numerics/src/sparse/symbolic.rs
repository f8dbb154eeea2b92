use std::ops::Range;

use super::SparseError;
use super::dissection::{Dissection, dissect};
use super::kernels::padded;

/// Marks a fixed unknown, which has no place in the matrix.
pub(super) const FIXED: u32 = u32::MAX;
/// Elements in a leaf of the dissection, for one and for more unknowns per node; by measurement.
const LEAF_ELEMENTS: [usize; 2] = [8, 6];

/// Ordering and front structure of the matrices of one mesh.
///
/// Holds no values: any number of matrices on the same mesh with the same trailing and fixed unknowns
/// share it.
#[derive(Clone, Debug)]
pub struct Symbolic {
    pub(super) unknowns: usize,
    pub(super) element_unknowns: usize,
    /// Unknown -> place in the order of elimination (interior first, then trailing), or [`FIXED`].
    pub(super) position: Vec<u32>,
    /// Place in the order of elimination -> unknown.
    pub(super) original: Vec<u32>,
    pub(super) interior: usize,
    pub(super) trailing: usize,
    /// In postorder; the last has no pivots and gathers the trailing block.
    pub(super) fronts: Vec<Front>,
    /// Front in which a position is eliminated.
    pub(super) front_of: Vec<u32>,
    pub(super) boundaries: Vec<u32>,
    pub(super) runs: Vec<[u32; 3]>,
    /// Elements in the order of their fronts.
    pub(super) element_order: Vec<u32>,
    /// For each element, in `element_order`: its unknowns in ascending order of their rows in the front,
    /// fixed ones last.
    pub(super) element_rows: Vec<ElementRow>,
    pub(super) panel_entries: usize,
    /// Greatest size of the two stacks of updates.
    pub(super) stack_entries: [usize; 2],
}

/// Where an unknown of an element goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct ElementRow {
    /// Row of the front, or [`FIXED`].
    pub(super) row: u32,
    /// Row of the element matrix.
    pub(super) own: u32,
}

/// A dense block of the elimination: `pivots` unknowns eliminated together, and the `boundary` of
/// later unknowns they are coupled to.
#[derive(Clone, Debug)]
pub(super) struct Front {
    pub(super) first: usize,
    pub(super) pivots: usize,
    pub(super) boundary: Range<usize>,
    /// Runs that carry this front's update into its parent.
    pub(super) runs: Range<usize>,
    pub(super) children: Vec<u32>,
    pub(super) elements: Range<usize>,
    pub(super) panel: usize,
    /// Updates of fronts at even and odd depth are kept on two stacks, so that a front's update can
    /// be built while those of its children are read.
    pub(super) stack: usize,
}

impl Front {
    pub(super) fn rows(&self) -> usize {
        self.pivots + self.update_size()
    }

    /// Side of the update, padded.
    pub(super) fn update_size(&self) -> usize {
        padded(self.boundary.len())
    }
}

impl Symbolic {
    /// Orders the unknowns of a mesh of 8-node elements.
    ///
    /// `coordinates` are the nodes in the plane, in any unit; they only guide the cuts. Each row of `elements`
    /// lists the nodes of one element, corners counter-clockwise and then the middles of the sides; any other
    /// order and repeated nodes are allowed but may cost work. Unknown `j` of node `n`
    /// has the number `n * unknowns_per_node + j`. `trailing` unknowns form the trailing block, in this
    /// order; `fixed` unknowns are removed.
    ///
    /// # Errors
    /// Numbers out of range, coordinates that are not finite, unknowns named twice, and unknowns
    /// that are neither fixed nor in any element.
    pub fn new(
        coordinates: &[[f64; 2]],
        elements: &[[usize; 8]],
        unknowns_per_node: usize,
        trailing: &[usize],
        fixed: &[usize],
    ) -> Result<Symbolic, SparseError> {
        let leaf = LEAF_ELEMENTS[usize::from(unknowns_per_node > 1)];
        Symbolic::with_leaf(coordinates, elements, unknowns_per_node, trailing, fixed, leaf)
    }

    /// [`Symbolic::new`] with a chosen number of elements in a leaf of the dissection (for tuning).
    ///
    /// # Errors
    /// As [`Symbolic::new`].
    pub fn with_leaf(
        coordinates: &[[f64; 2]],
        elements: &[[usize; 8]],
        unknowns_per_node: usize,
        trailing: &[usize],
        fixed: &[usize],
        leaf: usize,
    ) -> Result<Symbolic, SparseError> {
        check_mesh(coordinates, elements)?;
        let unknowns = coordinates.len() * unknowns_per_node;
        let roles = roles(unknowns, trailing, fixed)?;
        check_connected(elements, unknowns_per_node, &roles)?;
        let weights: Vec<i32> = (0..coordinates.len())
            .map(|node| {
                let own = node * unknowns_per_node..(node + 1) * unknowns_per_node;
                roles[own].iter().filter(|&&role| role == Role::Interior).count() as i32
            })
            .collect();
        let dissection = dissect(coordinates, elements, &weights, leaf);
        let interior = roles.iter().filter(|&&role| role == Role::Interior).count();
        let mut symbolic = Symbolic {
            unknowns,
            element_unknowns: 8 * unknowns_per_node,
            position: vec![FIXED; unknowns],
            original: Vec::with_capacity(interior + trailing.len()),
            interior,
            trailing: trailing.len(),
            fronts: Vec::with_capacity(dissection.regions.len() + 1),
            front_of: Vec::with_capacity(interior),
            boundaries: Vec::new(),
            runs: Vec::new(),
            element_order: Vec::new(),
            element_rows: Vec::new(),
            panel_entries: 0,
            stack_entries: [0; 2],
        };
        symbolic.number(&dissection, unknowns_per_node, &roles, trailing);
        symbolic.build_fronts(&dissection, elements, unknowns_per_node);
        symbolic.element_order = dissection.element_order;
        symbolic.place_elements(elements, unknowns_per_node);
        symbolic.find_runs();
        symbolic.plan_stacks();
        Ok(symbolic)
    }

    /// Number of unknowns of the mesh, fixed ones included.
    pub fn unknowns(&self) -> usize {
        self.unknowns
    }

    /// Number of unknowns eliminated.
    pub fn interior_unknowns(&self) -> usize {
        self.interior
    }

    /// Number of unknowns in the trailing block.
    pub fn trailing_unknowns(&self) -> usize {
        self.trailing
    }

    pub(super) fn boundary(&self, front: &Front) -> &[u32] {
        &self.boundaries[front.boundary.clone()]
    }

    fn number(&mut self, dissection: &Dissection, unknowns_per_node: usize, roles: &[Role], trailing: &[usize]) {
        for (index, region) in dissection.regions.iter().enumerate() {
            let first = self.original.len();
            for &node in &region.nodes {
                for unknown in node as usize * unknowns_per_node..(node as usize + 1) * unknowns_per_node {
                    if roles[unknown] == Role::Interior {
                        self.position[unknown] = self.original.len() as u32;
                        self.original.push(unknown as u32);
                        self.front_of.push(index as u32);
                    }
                }
            }
            let pivots = self.original.len() - first;
            self.fronts.push(Front {
                first,
                pivots,
                boundary: 0..0,
                runs: 0..0,
                children: region.children.clone(),
                elements: region.elements.clone(),
                panel: 0,
                stack: 0,
            });
        }
        for &unknown in trailing {
            self.position[unknown] = self.original.len() as u32;
            self.original.push(unknown as u32);
        }
        self.fronts.push(Front {
            first: self.interior,
            pivots: 0,
            boundary: 0..0,
            runs: 0..0,
            children: dissection.roots.clone(),
            elements: 0..0,
            panel: 0,
            stack: 0,
        });
    }

    /// The boundary of a front is what its children or elements hold beyond its own pivots.
    fn build_fronts(&mut self, dissection: &Dissection, elements: &[[usize; 8]], unknowns_per_node: usize) {
        let trailing_front = self.fronts.len() - 1;
        let mut seen = vec![u32::MAX; self.original.len()];
        let mut found = Vec::new();
        for index in 0..trailing_front {
            let after = self.fronts[index].first + self.fronts[index].pivots;
            found.clear();
            let mut meet = |position: u32| {
                if position != FIXED && position as usize >= after && seen[position as usize] != index as u32 {
                    seen[position as usize] = index as u32;
                    found.push(position);
                }
            };
            for &element in &dissection.element_order[self.fronts[index].elements.clone()] {
                for &node in &elements[element as usize] {
                    for unknown in node * unknowns_per_node..(node + 1) * unknowns_per_node {
                        meet(self.position[unknown]);
                    }
                }
            }
            for &child in &self.fronts[index].children {
                for &position in &self.boundaries[self.fronts[child as usize].boundary.clone()] {
                    meet(position);
                }
            }
            found.sort_unstable();
            let start = self.boundaries.len();
            self.boundaries.extend_from_slice(&found);
            let front = &mut self.fronts[index];
            front.boundary = start..start + found.len();
            front.panel = self.panel_entries;
            self.panel_entries += front.rows() * front.pivots;
        }
        let start = self.boundaries.len();
        self.boundaries.extend((self.interior..self.original.len()).map(|position| position as u32));
        self.fronts[trailing_front].boundary = start..self.boundaries.len();
    }

    fn place_elements(&mut self, elements: &[[usize; 8]], unknowns_per_node: usize) {
        self.element_rows.reserve(elements.len() * self.element_unknowns);
        let mut row_of = vec![FIXED; self.original.len()];
        for front in &self.fronts {
            if front.elements.is_empty() {
                continue;
            }
            let boundary = &self.boundaries[front.boundary.clone()];
            for (row, &position) in boundary.iter().enumerate() {
                row_of[position as usize] = (front.pivots + row) as u32;
            }
            for row in 0..front.pivots {
                row_of[front.first + row] = row as u32;
            }
            for &element in &self.element_order[front.elements.clone()] {
                let start = self.element_rows.len();
                for &node in &elements[element as usize] {
                    for unknown in node * unknowns_per_node..(node + 1) * unknowns_per_node {
                        let row = match self.position[unknown] {
                            FIXED => FIXED,
                            position => row_of[position as usize],
                        };
                        let own = (self.element_rows.len() - start) as u32;
                        self.element_rows.push(ElementRow { row, own });
                    }
                }
                self.element_rows[start..].sort_unstable();
            }
        }
    }

    fn find_runs(&mut self) {
        let mut row_of = vec![0u32; self.original.len()];
        for parent in 0..self.fronts.len() {
            let front = &self.fronts[parent];
            for row in 0..front.pivots {
                row_of[front.first + row] = row as u32;
            }
            for (row, &position) in self.boundaries[front.boundary.clone()].iter().enumerate() {
                row_of[position as usize] = (front.pivots + row) as u32;
            }
            for c in 0..self.fronts[parent].children.len() {
                let child = self.fronts[parent].children[c] as usize;
                let start = self.runs.len();
                for (row, &position) in self.boundaries[self.fronts[child].boundary.clone()].iter().enumerate() {
                    let target = row_of[position as usize];
                    match self.runs[start..].last_mut() {
                        Some([_, first, length]) if *first + *length == target => *length += 1,
                        _ => self.runs.push([row as u32, target, 1]),
                    }
                }
                self.fronts[child].runs = start..self.runs.len();
            }
        }
    }

    fn plan_stacks(&mut self) {
        for index in (0..self.fronts.len()).rev() {
            for c in 0..self.fronts[index].children.len() {
                let child = self.fronts[index].children[c] as usize;
                self.fronts[child].stack = 1 - self.fronts[index].stack;
            }
        }
        let mut height = [0; 2];
        for index in 0..self.fronts.len() {
            let front = &self.fronts[index];
            height[front.stack] += front.update_size() * front.update_size();
            self.stack_entries[front.stack] = self.stack_entries[front.stack].max(height[front.stack]);
            for &child in &front.children {
                let child = &self.fronts[child as usize];
                height[child.stack] -= child.update_size() * child.update_size();
            }
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Role {
    Interior,
    Trailing,
    Fixed,
}

fn roles(unknowns: usize, trailing: &[usize], fixed: &[usize]) -> Result<Vec<Role>, SparseError> {
    let mut roles = vec![Role::Interior; unknowns];
    for (list, role) in [(fixed, Role::Fixed), (trailing, Role::Trailing)] {
        for &unknown in list {
            let entry = roles.get_mut(unknown).ok_or(SparseError::OutOfRange { what: "unknown", index: unknown, count: unknowns })?;
            // Fixing the same unknown twice says nothing new.
            if *entry != Role::Interior && !(role == Role::Fixed && *entry == Role::Fixed) {
                return Err(SparseError::NamedTwice { unknown });
            }
            *entry = role;
        }
    }
    Ok(roles)
}

fn check_mesh(coordinates: &[[f64; 2]], elements: &[[usize; 8]]) -> Result<(), SparseError> {
    if let Some(node) = coordinates.iter().position(|x| !(x[0].is_finite() && x[1].is_finite())) {
        return Err(SparseError::NotFinite { node });
    }
    match elements.iter().flatten().find(|&&node| node >= coordinates.len()) {
        Some(&node) => Err(SparseError::OutOfRange { what: "node", index: node, count: coordinates.len() }),
        None => Ok(()),
    }
}

fn check_connected(elements: &[[usize; 8]], unknowns_per_node: usize, roles: &[Role]) -> Result<(), SparseError> {
    let mut connected = vec![false; roles.len()];
    for &node in elements.iter().flatten() {
        connected[node * unknowns_per_node..(node + 1) * unknowns_per_node].fill(true);
    }
    match (0..roles.len()).find(|&unknown| !connected[unknown] && roles[unknown] != Role::Fixed) {
        Some(unknown) => Err(SparseError::Unconnected { unknown }),
        None => Ok(()),
    }
}
