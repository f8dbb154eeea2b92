//! Any pattern whose unknowns have places in the plane, cut across their longer extent.

use super::super::SparseError;
use super::patches::Patches;
use super::symbolic::{LuSymbolic, Neighbours, Pattern, Region};

/// Regions of up to this many unknowns are not cut; by measurement.
const LEAF_UNKNOWNS: usize = 16;

impl LuSymbolic {
    /// Orders a matrix in compressed rows: the values of row `i` stand at `offsets[i]..offsets[i + 1]`, in the columns
    /// `columns[offsets[i]..offsets[i + 1]]`. An entry named twice is summed. `coordinates`, one pair per unknown and in any unit, only guide the cuts;
    /// unknowns of one node share theirs. A ring is best laid out as the annulus that it is, so that no
    /// seam is stretched across the plane.
    ///
    /// # Errors
    /// Offsets that do not ascend from zero to the number of columns, columns beyond the matrix, coordinates that are not finite.
    pub fn new(offsets: &[usize], columns: &[usize], coordinates: &[[f64; 2]]) -> Result<LuSymbolic, SparseError> {
        let unknowns = coordinates.len();
        if unknowns == 0 || offsets.len() != unknowns + 1 {
            return Err(SparseError::Shape { expected: unknowns + 1, got: offsets.len() });
        }
        let ascending = offsets[0] == 0 && offsets.windows(2).all(|pair| pair[0] <= pair[1]);
        if !ascending || offsets[unknowns] != columns.len() || columns.len() > u32::MAX as usize {
            return Err(SparseError::Offsets { entries: columns.len() });
        }
        if let Some(node) = coordinates.iter().position(|x| !(x[0].is_finite() && x[1].is_finite())) {
            return Err(SparseError::NotFinite { node });
        }
        if let Some(&index) = columns.iter().find(|&&column| column >= unknowns) {
            return Err(SparseError::OutOfRange { what: "unknown", index, count: unknowns });
        }
        let pattern = Pattern {
            offsets: offsets.iter().map(|&offset| offset as u32).collect(),
            columns: columns.iter().map(|&column| column as u32).collect(),
        };
        let mut cuts = Cuts { coordinates, neighbours: pattern.neighbours(), in_first: vec![false; unknowns], regions: Vec::new() };
        cuts.region((0..unknowns as u32).collect());
        let regions = cuts.regions;
        LuSymbolic::build(pattern, &regions, Patches::default(), &[])
    }
}

struct Cuts<'a> {
    coordinates: &'a [[f64; 2]],
    neighbours: Neighbours,
    in_first: Vec<bool>,
    regions: Vec<Region>,
}

impl Cuts<'_> {
    fn region(&mut self, mut unknowns: Vec<u32>) -> Vec<u32> {
        if unknowns.is_empty() {
            return Vec::new();
        }
        if unknowns.len() <= LEAF_UNKNOWNS {
            return vec![self.push(unknowns, Vec::new())];
        }
        let axis = usize::from(self.extent(&unknowns, 1) > self.extent(&unknowns, 0));
        self.sort(&mut unknowns, axis);
        let mut second = unknowns.split_off(unknowns.len() / 2);
        let mut separator = self.separate(&unknowns, &mut second);
        self.sort(&mut separator, 1 - axis);
        let mut children = self.region(unknowns);
        children.extend(self.region(second));
        if separator.is_empty() { children } else { vec![self.push(separator, children)] }
    }

    /// Takes out of `second` the unknowns that have neighbours in `first`.
    fn separate(&mut self, first: &[u32], second: &mut Vec<u32>) -> Vec<u32> {
        for &unknown in first {
            self.in_first[unknown as usize] = true;
        }
        let mut separator = Vec::new();
        second.retain(|&unknown| {
            let touches = self.neighbours.of(unknown).any(|other| self.in_first[other as usize]);
            if touches {
                separator.push(unknown);
            }
            !touches
        });
        for &unknown in first {
            self.in_first[unknown as usize] = false;
        }
        separator
    }

    fn sort(&self, unknowns: &mut [u32], axis: usize) {
        let key = |unknown: u32| self.coordinates[unknown as usize];
        unknowns.sort_unstable_by(|&a, &b| {
            let (x, y) = (key(a), key(b));
            x[axis].total_cmp(&y[axis]).then(x[1 - axis].total_cmp(&y[1 - axis])).then(a.cmp(&b))
        });
    }

    fn extent(&self, unknowns: &[u32], axis: usize) -> f64 {
        let along = unknowns.iter().map(|&unknown| self.coordinates[unknown as usize][axis]);
        let (least, greatest) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)));
        greatest - least
    }

    fn push(&mut self, nodes: Vec<u32>, children: Vec<u32>) -> u32 {
        self.regions.push(Region { nodes, children, patch: None });
        self.regions.len() as u32 - 1
    }
}
