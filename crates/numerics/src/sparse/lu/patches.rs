//! Rectangular patches of a grid, eliminated several at a time.
//!
//! The lowest levels of a dissection hold most of the fronts, too small to fill vectors. Patches of one shape are
//! eliminated by the same operations, so that each lane of a vector can hold another patch. A patch is dissected in itself; its
//! fronts are the smallest that do the work, and what it leaves is one update on the nodes around it.

use std::collections::HashMap;
use std::ops::Range;

use super::super::kernels::padded;
use super::NOWHERE;
use super::cylinder::{Cuts, Stencil};
use super::space::Plan;

/// Patches eliminated at a time.
pub(super) const LANES: usize = 4;
/// Nodes of a patch that are eliminated together at its lowest level; by measurement.
const LEAF_NODES: usize = 4;

/// Where a patch lies: its first node and its size, `[radial, circumferential]`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Patch {
    pub(super) first: [usize; 2],
    pub(super) size: [usize; 2],
}

/// How all patches of one size are eliminated.
///
/// Nodes have places: those inside in the order of elimination, then those around.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    /// Steps `[radial, circumferential]` to all places, from the node before the first one in both directions.
    pub(super) steps: Vec<[usize; 2]>,
    /// Number of places inside.
    pub(super) inside: usize,
    /// In postorder; the boundary of the last are all places around.
    pub(super) fronts: Vec<SmallFront>,
    pub(super) boundaries: Vec<u16>,
    /// Rows of a front that take the rows of a child's update.
    pub(super) rows: Vec<u16>,
    pub(super) entries: Vec<SmallEntry>,
    pub(super) panel_entries: usize,
    pub(super) update_entries: usize,
}

/// A front as in [`super::symbolic::Front`], without padding.
#[derive(Clone, Debug)]
pub(super) struct SmallFront {
    pub(super) first: usize,
    pub(super) pivots: usize,
    pub(super) boundary: Range<usize>,
    pub(super) children: Vec<SmallChild>,
    pub(super) entries: Range<usize>,
    /// Place of the panels and of the update, counted in vectors.
    pub(super) panel: usize,
    pub(super) update: usize,
}

#[derive(Clone, Debug)]
pub(super) struct SmallChild {
    pub(super) update: usize,
    pub(super) rows: Range<usize>,
    /// Number of its rows that go to pivots, the first ones.
    pub(super) eliminated: usize,
}

/// An entry of the matrix: the places of its row and column, its place among the values of the row's node, and in the panels.
#[derive(Clone, Copy, Debug)]
pub(super) struct SmallEntry {
    pub(super) row: u16,
    pub(super) column: u16,
    pub(super) value: u16,
    pub(super) target: u16,
}

/// Patches eliminated together.
#[derive(Clone, Debug)]
pub(super) struct Group {
    pub(super) shape: usize,
    /// Nodes at all places, [`NOWHERE`] beyond the edge of the grid and in lanes without a patch.
    pub(super) nodes: Vec<[u32; LANES]>,
    /// Whether no node is missing.
    pub(super) whole: bool,
    /// Positions of the nodes around in the order of elimination of the rest.
    pub(super) around: Vec<[u32; LANES]>,
    /// Place of the panels and of the values inside, counted in vectors.
    pub(super) panel: usize,
    pub(super) values: usize,
    /// Places of the updates.
    pub(super) updates: [usize; LANES],
    pub(super) count: usize,
}

impl SmallFront {
    pub(super) fn rows(&self) -> usize {
        self.pivots + self.boundary.len()
    }

    pub(super) fn panel_entries(&self) -> usize {
        (self.rows() + self.boundary.len()) * self.pivots
    }

    pub(super) fn update_entries(&self) -> usize {
        self.boundary.len() * self.boundary.len()
    }
}

impl Shape {
    pub(super) fn around(&self) -> usize {
        self.steps.len() - self.inside
    }

    fn new([radial, circumferential]: [usize; 2], stencil: Stencil) -> Shape {
        let mut cuts = Cuts::new(radial, LEAF_NODES);
        cuts.region(0..radial, 0..circumferential, false);
        let mut shape = Shape {
            steps: Vec::new(),
            inside: radial * circumferential,
            fronts: Vec::new(),
            boundaries: Vec::new(),
            rows: Vec::new(),
            entries: Vec::new(),
            panel_entries: 0,
            update_entries: 0,
        };
        for region in &cuts.regions {
            let place = |node: u32| [node as usize % radial + 1, node as usize / radial + 1];
            let children = region.children.iter().map(|&child| SmallChild { update: child as usize, rows: 0..0, eliminated: 0 });
            shape.fronts.push(SmallFront {
                first: shape.steps.len(),
                pivots: region.nodes.len(),
                boundary: 0..0,
                children: children.collect(),
                entries: 0..0,
                panel: 0,
                update: 0,
            });
            shape.steps.extend(region.nodes.iter().map(|&node| place(node)));
        }
        shape.add_around([radial, circumferential], stencil);
        shape.build_fronts(stencil);
        shape.plan_updates();
        shape
    }

    /// Circles before and after first, then the rest of the lines: runs as long as they can be.
    fn add_around(&mut self, [radial, circumferential]: [usize; 2], stencil: Stencil) {
        let corners = usize::from(stencil == Stencil::Five);
        for c in [0, circumferential + 1] {
            self.steps.extend((corners..radial + 2 - corners).map(|r| [r, c]));
        }
        for r in [0, radial + 1] {
            self.steps.extend((1..=circumferential).map(|c| [r, c]));
        }
    }

    fn build_fronts(&mut self, stencil: Stencil) {
        let place: HashMap<[usize; 2], usize> = self.steps.iter().enumerate().map(|(place, &step)| (step, place)).collect();
        let neighbour = |at: usize, step: [i32; 2]| {
            let [r, c] = self.steps[at];
            place.get(&[r.wrapping_add_signed(step[0] as isize), c.wrapping_add_signed(step[1] as isize)]).copied()
        };
        for index in 0..self.fronts.len() {
            let front = &self.fronts[index];
            let (first, pivots) = (front.first, front.pivots);
            let coupled =
                (first..first + pivots).flat_map(|at| stencil.steps().iter().filter_map(move |&step| Some((at, neighbour(at, step)?))));
            let mut boundary: Vec<u16> = coupled.map(|(_, other)| other as u16).collect();
            for child in &front.children {
                boundary.extend_from_slice(&self.boundaries[self.fronts[child.update].boundary.clone()]);
            }
            boundary.retain(|&place| place as usize >= first + pivots);
            boundary.sort_unstable();
            boundary.dedup();
            let row = |place: usize| match place.checked_sub(first)? {
                own if own < pivots => Some(own),
                _ => boundary.binary_search(&(place as u16)).ok().map(|at| pivots + at),
            };
            let rows = pivots + boundary.len();
            let start = self.entries.len();
            // Each pivot's own row, and the rows of later nodes that hold it.
            for at in first..first + pivots {
                for (value, &step) in stencil.steps().iter().enumerate() {
                    let back = stencil.size() - 1 - value;
                    let Some(other) = neighbour(at, step) else { continue };
                    let (Some(own), Some(far)) = (row(at), row(other)) else { continue };
                    let upper = if far < pivots { far * rows + own } else { rows * pivots + (far - pivots) * pivots + own };
                    self.entries.push(SmallEntry { row: at as u16, column: other as u16, value: value as u16, target: upper as u16 });
                    if far >= pivots {
                        let target = (own * rows + far) as u16;
                        self.entries.push(SmallEntry { row: other as u16, column: at as u16, value: back as u16, target });
                    }
                }
            }
            let mut children = self.fronts[index].children.clone();
            for child in &mut children {
                let rows = self.boundaries[self.fronts[child.update].boundary.clone()].iter().filter_map(|&place| row(place as usize));
                let start = self.rows.len();
                self.rows.extend(rows.map(|row| row as u16));
                child.rows = start..self.rows.len();
                child.eliminated = self.rows[start..].partition_point(|&row| (row as usize) < pivots);
            }
            let boundary_start = self.boundaries.len();
            self.boundaries.extend(boundary);
            let front = &mut self.fronts[index];
            front.children = children;
            front.entries = start..self.entries.len();
            front.boundary = boundary_start..self.boundaries.len();
            front.panel = self.panel_entries;
            self.panel_entries += front.panel_entries();
        }
    }

    /// Replaces the number of each child by the place of its update.
    fn plan_updates(&mut self) {
        let mut plan = Plan::default();
        for index in 0..self.fronts.len() {
            self.fronts[index].update = plan.take(self.fronts[index].update_entries());
            for c in 0..self.fronts[index].children.len() {
                let update = self.fronts[self.fronts[index].children[c].update].update;
                self.fronts[index].children[c].update = update;
                plan.give_back(update);
            }
        }
        self.update_entries = plan.length;
    }
}

/// Shapes and groups of the patches of a grid.
#[derive(Clone, Debug, Default)]
pub(super) struct Patches {
    pub(super) shapes: Vec<Shape>,
    pub(super) groups: Vec<Group>,
    pub(super) panel_entries: usize,
    pub(super) value_entries: usize,
    /// Length of the block of updates.
    pub(super) update_entries: usize,
}

/// A patch's place in its group.
#[derive(Clone, Copy, Debug)]
pub(super) struct Member {
    pub(super) group: usize,
    pub(super) lane: usize,
}

impl Patches {
    /// Sorts patches into groups, each of the next ones of one shape.
    pub(super) fn group(patches: &[Patch], stencil: Stencil, node: impl Fn(i64, i64) -> u32) -> (Patches, Vec<Member>) {
        let mut out = Patches::default();
        let mut open: HashMap<[usize; 2], (usize, Option<usize>)> = HashMap::new();
        let mut members = Vec::with_capacity(patches.len());
        for patch in patches {
            let shapes = &mut out.shapes;
            let (shape, filling) = open.entry(patch.size).or_insert_with(|| {
                shapes.push(Shape::new(patch.size, stencil));
                (shapes.len() - 1, None)
            });
            let group = match *filling {
                Some(group) if out.groups[group].count < LANES => group,
                _ => {
                    let shape_of = &out.shapes[*shape];
                    out.groups.push(Group {
                        shape: *shape,
                        nodes: vec![[NOWHERE; LANES]; shape_of.steps.len()],
                        whole: false,
                        around: vec![[NOWHERE; LANES]; shape_of.around()],
                        panel: out.panel_entries,
                        values: out.value_entries,
                        updates: [0; LANES],
                        count: 0,
                    });
                    out.panel_entries += shape_of.panel_entries;
                    out.value_entries += shape_of.inside;
                    out.groups.len() - 1
                }
            };
            *filling = Some(group);
            let group_of = &mut out.groups[group];
            for (nodes, step) in group_of.nodes.iter_mut().zip(&out.shapes[*shape].steps) {
                let [r, c] = [0, 1].map(|axis| patch.first[axis] as i64 + step[axis] as i64 - 1);
                nodes[group_of.count] = node(r, c);
            }
            members.push(Member { group, lane: group_of.count });
            group_of.count += 1;
        }
        for group in &mut out.groups {
            group.whole = group.nodes.as_flattened().iter().all(|&node| node != NOWHERE);
        }
        (out, members)
    }

    /// Entries of the update of one patch of a group.
    pub(super) fn update_entries_of(&self, group: usize) -> usize {
        let around = self.groups[group].around.len();
        around * padded(around)
    }

    pub(super) fn shape(&self, group: &Group) -> &Shape {
        &self.shapes[group.shape]
    }
}
