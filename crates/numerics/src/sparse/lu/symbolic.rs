use std::ops::Range;

use super::super::SparseError;
use super::super::kernels::padded;
use super::NOWHERE;
use super::patches::{LANES, Member, Patch, Patches};
use super::space::Plan;

/// Where the values of a matrix stand: compressed rows, with [`NOWHERE`] for values that are not read.
#[derive(Clone, Debug)]
pub(super) struct Pattern {
    pub(super) offsets: Vec<u32>,
    pub(super) columns: Vec<u32>,
}

/// Unknowns coupled to each other in either direction.
pub(super) struct Neighbours {
    offsets: Vec<u32>,
    list: Vec<u32>,
}

impl Pattern {
    pub(super) fn unknowns(&self) -> usize {
        self.offsets.len() - 1
    }

    pub(super) fn row(&self, row: usize) -> Range<usize> {
        self.offsets[row] as usize..self.offsets[row + 1] as usize
    }

    /// Pairs are listed as often as they are named.
    pub(super) fn neighbours(&self) -> Neighbours {
        let pairs = || {
            (0..self.unknowns()).flat_map(|row| {
                let others = self.columns[self.row(row)].iter();
                others.filter(move |&&column| column != NOWHERE && column as usize != row).map(move |&column| [row as u32, column])
            })
        };
        let mut offsets = vec![0; self.unknowns() + 1];
        for [a, b] in pairs() {
            offsets[a as usize + 1] += 1;
            offsets[b as usize + 1] += 1;
        }
        for row in 0..self.unknowns() {
            offsets[row + 1] += offsets[row];
        }
        let mut next = offsets.clone();
        let mut list = vec![0; offsets[self.unknowns()] as usize];
        for [a, b] in pairs() {
            for [from, to] in [[a, b], [b, a]] {
                list[next[from as usize] as usize] = to;
                next[from as usize] += 1;
            }
        }
        Neighbours { offsets, list }
    }
}

impl Neighbours {
    pub(super) fn of(&self, unknown: u32) -> impl Iterator<Item = u32> + '_ {
        self.list[self.offsets[unknown as usize] as usize..self.offsets[unknown as usize + 1] as usize].iter().copied()
    }
}

/// Unknowns eliminated together once those of all children are.
pub(super) struct Region {
    pub(super) nodes: Vec<u32>,
    /// Indices of earlier regions.
    pub(super) children: Vec<u32>,
    /// A patch instead of nodes and children.
    pub(super) patch: Option<Patch>,
}

/// Ordering and front structure of the matrices of one grid.
///
/// Holds no values: any number of matrices on the same grid share it.
#[derive(Clone, Debug)]
pub struct LuSymbolic {
    pub(super) pattern: Pattern,
    pub(super) patches: Patches,
    /// Place in the order of elimination -> unknown, for those that are in no patch.
    pub(super) original: Vec<u32>,
    /// In postorder.
    pub(super) fronts: Vec<Front>,
    pub(super) boundaries: Vec<u32>,
    /// Stretches of consecutive rows of a child's update: first in the child, first in the parent's front, length.
    pub(super) runs: Vec<[u32; 3]>,
    /// Entries of the matrix in the order of their fronts: place among the values, place in the front's panels.
    pub(super) entries: Vec<[u32; 2]>,
    pub(super) panel_entries: usize,
    /// Greatest size of the two stacks of updates.
    pub(super) stack_entries: [usize; 2],
}

/// A dense block of the elimination: `pivots` unknowns eliminated together, and the `boundary` of later unknowns they are coupled to.
///
/// Its panels are the columns of the pivots (`rows` entries each, the last ones padding), and after them the rows of the pivots in the columns of the
/// boundary (`pivots` entries a column). The rest of the front is its update, kept until the parent has taken it.
#[derive(Clone, Debug)]
pub(super) struct Front {
    pub(super) first: usize,
    pub(super) pivots: usize,
    pub(super) boundary: Range<usize>,
    /// Runs that carry this front's update into its parent.
    pub(super) runs: Range<usize>,
    pub(super) children: Vec<u32>,
    pub(super) entries: Range<usize>,
    pub(super) panel: usize,
    /// Updates of fronts at even and odd depth are kept on two stacks.
    pub(super) stack: usize,
    /// A patch, eliminated before: no pivots, only an update.
    pub(super) patch: Option<Member>,
}

impl Front {
    pub(super) fn rows(&self) -> usize {
        self.pivots + self.stride()
    }

    /// Distance between the columns of the update.
    pub(super) fn stride(&self) -> usize {
        padded(self.boundary.len())
    }

    pub(super) fn update_entries(&self) -> usize {
        self.stride() * self.boundary.len()
    }

    pub(super) fn panel_entries(&self) -> usize {
        (self.rows() + self.boundary.len()) * self.pivots
    }
}

/// Size of an LU factorisation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LuWork {
    /// Floating-point operations (a product and a sum count two).
    pub flops: f64,
    /// Entries of both factors, the diagonal once.
    pub stored: usize,
    /// Number of fronts.
    pub fronts: usize,
    /// Rows of the greatest front.
    pub largest_front: usize,
}

impl LuSymbolic {
    pub(super) fn build(pattern: Pattern, regions: &[Region], patches: Patches, members: &[Member]) -> Result<LuSymbolic, SparseError> {
        let neighbours = pattern.neighbours();
        let unknowns = pattern.unknowns();
        let mut symbolic = LuSymbolic {
            pattern,
            patches,
            original: Vec::with_capacity(unknowns),
            fronts: Vec::with_capacity(regions.len()),
            boundaries: Vec::new(),
            runs: Vec::new(),
            entries: Vec::new(),
            panel_entries: 0,
            stack_entries: [0; 2],
        };
        let mut members = members.iter();
        for region in regions {
            symbolic.fronts.push(Front {
                first: symbolic.original.len(),
                pivots: region.nodes.len(),
                boundary: 0..0,
                runs: 0..0,
                children: region.children.clone(),
                entries: 0..0,
                panel: 0,
                stack: 0,
                patch: region.patch.and_then(|_| members.next().copied()),
            });
            symbolic.original.extend_from_slice(&region.nodes);
        }
        let mut position = vec![NOWHERE; unknowns];
        for (at, &unknown) in symbolic.original.iter().enumerate() {
            position[unknown as usize] = at as u32;
        }
        symbolic.place_patches(&position);
        symbolic.find_boundaries(&neighbours, &position);
        symbolic.find_runs();
        symbolic.place_entries(&position)?;
        symbolic.plan_stacks();
        symbolic.plan_patches();
        Ok(symbolic)
    }

    /// Number of unknowns.
    pub fn unknowns(&self) -> usize {
        self.pattern.unknowns()
    }

    /// Number of values that give a matrix.
    pub fn value_count(&self) -> usize {
        self.pattern.columns.len()
    }

    /// Work of one factorisation.
    pub fn work(&self) -> LuWork {
        let mut work = LuWork { flops: 0.0, stored: 0, fronts: 0, largest_front: 0 };
        let small = self.patches.groups.iter().flat_map(|group| {
            let fronts = &self.patches.shape(group).fronts;
            std::iter::repeat_n(fronts, group.count).flatten().map(|front| (front.pivots, front.boundary.len()))
        });
        let large = self.fronts.iter().filter(|front| front.patch.is_none()).map(|front| (front.pivots, front.boundary.len()));
        for (pivots, boundary) in small.chain(large) {
            let rows = pivots + boundary;
            work.fronts += 1;
            work.largest_front = work.largest_front.max(rows);
            for pivot in 0..pivots {
                let below = rows - pivot - 1;
                work.flops += below as f64 * (2.0 * below as f64 + 1.0);
                work.stored += 2 * below + 1;
            }
        }
        work
    }

    pub(super) fn boundary(&self, front: &Front) -> &[u32] {
        &self.boundaries[front.boundary.clone()]
    }

    /// Boundaries of patches: their nodes around that exist, as they come.
    fn place_patches(&mut self, position: &[u32]) {
        for group in &mut self.patches.groups {
            let inside = group.nodes.len() - group.around.len();
            for (around, nodes) in group.around.iter_mut().zip(&group.nodes[inside..]) {
                *around = nodes.map(|node| if node == NOWHERE { NOWHERE } else { position[node as usize] });
            }
        }
    }

    /// The boundary of a front is what its children hold or its pivots are coupled to beyond its own pivots.
    fn find_boundaries(&mut self, neighbours: &Neighbours, position: &[u32]) {
        let mut seen = vec![NOWHERE; self.original.len()];
        let mut found = Vec::new();
        for index in 0..self.fronts.len() {
            let front = &self.fronts[index];
            if let Some(member) = front.patch {
                let start = self.boundaries.len();
                let around = self.patches.groups[member.group].around.iter().map(|around| around[member.lane]);
                self.boundaries.extend(around.filter(|&position| position != NOWHERE));
                self.fronts[index].boundary = start..self.boundaries.len();
                continue;
            }
            let after = front.first + front.pivots;
            found.clear();
            let mut meet = |position: u32| {
                if position != NOWHERE && position as usize >= after && seen[position as usize] != index as u32 {
                    seen[position as usize] = index as u32;
                    found.push(position);
                }
            };
            for &unknown in &self.original[front.first..after] {
                neighbours.of(unknown).for_each(|other| meet(position[other as usize]));
            }
            for &child in &front.children {
                self.boundary(&self.fronts[child as usize]).iter().for_each(|&position| meet(position));
            }
            found.sort_unstable();
            let start = self.boundaries.len();
            self.boundaries.extend_from_slice(&found);
            let front = &mut self.fronts[index];
            front.boundary = start..start + found.len();
            front.panel = self.panel_entries;
            self.panel_entries += front.panel_entries();
        }
    }

    fn find_runs(&mut self) {
        let mut row_of = vec![0u32; self.original.len()];
        for parent in 0..self.fronts.len() {
            self.number_rows(parent, &mut row_of);
            for c in 0..self.fronts[parent].children.len() {
                let child = self.fronts[parent].children[c] as usize;
                let start = self.runs.len();
                let pivots = self.fronts[parent].pivots as u32;
                for (row, position) in self.update_rows(child) {
                    let target = row_of[position as usize];
                    match self.runs[start..].last_mut() {
                        Some([from, first, length]) if *from + *length == row && *first + *length == target && target != pivots => {
                            *length += 1;
                        }
                        _ => self.runs.push([row, target, 1]),
                    }
                }
                self.runs[start..].sort_unstable_by_key(|run| run[1]);
                self.fronts[child].runs = start..self.runs.len();
            }
        }
    }

    /// Rows of a front's update and their positions.
    fn update_rows(&self, index: usize) -> Vec<(u32, u32)> {
        let rows = |positions: &mut dyn Iterator<Item = u32>| (0..).zip(positions).filter(|row| row.1 != NOWHERE).collect();
        match self.fronts[index].patch {
            Some(member) => rows(&mut self.patches.groups[member.group].around.iter().map(|around| around[member.lane])),
            None => rows(&mut self.boundary(&self.fronts[index]).iter().copied()),
        }
    }

    /// Sets the rows of a front for the positions it holds.
    fn number_rows(&self, index: usize, row_of: &mut [u32]) {
        let front = &self.fronts[index];
        for row in 0..front.pivots {
            row_of[front.first + row] = row as u32;
        }
        for (row, &position) in self.boundary(front).iter().enumerate() {
            row_of[position as usize] = (front.pivots + row) as u32;
        }
    }

    /// Every entry of the matrix goes to the front that eliminates its row or its column, whichever comes first.
    fn place_entries(&mut self, position: &[u32]) -> Result<(), SparseError> {
        let mut front_of = vec![0u32; self.original.len()];
        for (index, front) in self.fronts.iter().enumerate() {
            front_of[front.first..front.first + front.pivots].fill(index as u32);
        }
        let mut placed = Vec::with_capacity(self.pattern.columns.len());
        for row in 0..self.pattern.unknowns() {
            for value in self.pattern.row(row) {
                let column = self.pattern.columns[value];
                let column = if column == NOWHERE { NOWHERE } else { position[column as usize] };
                let row = position[row];
                if row != NOWHERE && column != NOWHERE {
                    placed.push((front_of[row.min(column) as usize], value as u32, row, column));
                }
            }
        }
        placed.sort_unstable();
        let mut row_of = vec![0u32; self.original.len()];
        let mut rest = placed.as_slice();
        for index in 0..self.fronts.len() {
            self.number_rows(index, &mut row_of);
            let (own, later) = rest.split_at(rest.partition_point(|entry| entry.0 as usize <= index));
            rest = later;
            let start = self.entries.len();
            let front = &self.fronts[index];
            let (pivots, rows) = (front.pivots, front.rows());
            if front.panel_entries() > u32::MAX as usize {
                return Err(SparseError::Offsets { entries: self.pattern.columns.len() });
            }
            for &(_, value, row, column) in own {
                let (row, column) = (row_of[row as usize] as usize, row_of[column as usize] as usize);
                let target = if column < pivots { column * rows + row } else { rows * pivots + (column - pivots) * pivots + row };
                self.entries.push([value, target as u32]);
            }
            self.fronts[index].entries = start..self.entries.len();
        }
        Ok(())
    }

    fn plan_stacks(&mut self) {
        for index in (0..self.fronts.len()).rev() {
            for c in 0..self.fronts[index].children.len() {
                let child = self.fronts[index].children[c] as usize;
                self.fronts[child].stack = 1 - self.fronts[index].stack;
            }
        }
        let mut height = [0; 2];
        let on_stack = |front: &Front| if front.patch.is_some() { 0 } else { front.update_entries() };
        for front in &self.fronts {
            height[front.stack] += on_stack(front);
            self.stack_entries[front.stack] = self.stack_entries[front.stack].max(height[front.stack]);
            for &child in &front.children {
                let child = &self.fronts[child as usize];
                height[child.stack] -= on_stack(child);
            }
        }
    }

    /// Places the updates of patches: all of a group from when its first one is due.
    fn plan_patches(&mut self) {
        let mut plan = Plan::default();
        let mut met = 0;
        for front in &self.fronts {
            if let Some(member) = front.patch
                && member.group == met
            {
                let entries = self.patches.update_entries_of(member.group);
                self.patches.groups[met].updates = [0; LANES].map(|_| plan.take(entries));
                met += 1;
            }
            for &child in &front.children {
                if let Some(member) = self.fronts[child as usize].patch {
                    plan.give_back(self.patches.groups[member.group].updates[member.lane]);
                }
            }
        }
        self.patches.update_entries = plan.length;
    }
}
