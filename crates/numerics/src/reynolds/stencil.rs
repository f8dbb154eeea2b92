//! Matrices with nine entries a row, one for each neighbour on the grid.

use faer::c64;

use super::level::Level;

/// Coefficients of each node's neighbours `(di, dj)` at `(di + 1) * 3 + dj + 1`.
#[derive(Clone, Debug)]
pub(super) struct Stencil {
    pub rows: Vec<[f64; 9]>,
    lines: usize,
    wide: usize,
    periodic: bool,
}

/// Place of the coupling between two corners of a cell (inner left, inner right, outer left, outer right).
pub(super) const COUPLING: [[usize; 4]; 4] = [[4, 5, 7, 8], [3, 4, 6, 7], [1, 2, 4, 5], [0, 1, 3, 4]];

/// Neighbour number `k` of node `(i, j)`, if there is one.
pub(super) fn neighbour(level: &Level, i: usize, j: usize, k: usize) -> Option<usize> {
    beside(level.grid.across().len(), level.grid.nodes_along(), level.grid.periodic(), i, j, k)
}

fn beside(lines: usize, wide: usize, periodic: bool, i: usize, j: usize, k: usize) -> Option<usize> {
    let row = (i + k / 3).checked_sub(1)?;
    if row >= lines {
        return None;
    }
    let column = match (j + k % 3, periodic) {
        (0, true) => wide - 1,
        (0, false) => return None,
        (c, true) if c > wide => 0,
        (c, false) if c > wide => return None,
        (c, _) => c - 1,
    };
    Some(row * wide + column)
}

impl Stencil {
    pub fn zero(level: &Level) -> Stencil {
        let grid = &level.grid;
        Stencil { rows: vec![[0.0; 9]; grid.nodes()], lines: grid.across().len(), wide: grid.nodes_along(), periodic: grid.periodic() }
    }

    /// `out = A x`, at all nodes.
    pub fn times(&self, x: &[f64], out: &mut [f64]) {
        self.each(|node, entries| {
            let mut sum = 0.0;
            for (neighbour, _, value) in entries {
                sum += value * x[neighbour];
            }
            out[node] = sum;
        });
    }

    /// `out = A (x + tail)` of a matrix whose rows sum to zero, from differences of neighbours.
    pub fn times_differences(&self, x: &[f64], tail: &[f64], out: &mut [f64]) {
        self.each(|node, entries| {
            let mut sum = 0.0;
            for (neighbour, _, value) in entries {
                sum += value * ((x[neighbour] - x[node]) + (tail[neighbour] - tail[node]));
            }
            out[node] = sum;
        });
    }

    /// `out = A x` for complex `x`, the coupling to a neighbour `(di, dj)` turned by `phase(i, j, di, dj)`.
    pub fn times_turned(&self, x: &[c64], turn: &Turn, out: &mut [c64]) {
        let wide = self.wide;
        self.each(|node, entries| {
            let mut sum = c64::new(0.0, 0.0);
            let (i, j) = (node / wide, node % wide);
            for (neighbour, k, value) in entries {
                sum += x[neighbour] * turn.factor(i, j, k) * value;
            }
            out[node] = sum;
        });
    }

    fn each(&self, mut row: impl FnMut(usize, Entries<'_>)) {
        for i in 0..self.lines {
            for j in 0..self.wide {
                let node = i * self.wide + j;
                row(node, Entries { stencil: self, i, j, k: 0 });
            }
        }
    }
}

/// Non-zero entries of one row: neighbour, its number 0..9, value.
struct Entries<'a> {
    stencil: &'a Stencil,
    i: usize,
    j: usize,
    k: usize,
}

impl Iterator for Entries<'_> {
    type Item = (usize, usize, f64);

    fn next(&mut self) -> Option<Self::Item> {
        let row = &self.stencil.rows[self.i * self.stencil.wide + self.j];
        while self.k < 9 {
            let k = self.k;
            self.k += 1;
            if row[k] != 0.0
                && let Some(neighbour) = beside(self.stencil.lines, self.stencil.wide, self.stencil.periodic, self.i, self.j, k)
            {
                return Some((neighbour, k, row[k]));
            }
        }
        None
    }
}

/// Phase factors of a response that is modulated as `exp(i angle)` from node to node.
#[derive(Clone, Debug)]
pub(super) struct Turn {
    /// For each line across, the factors `exp(i (shift[i +- 1] - shift[i]))`: inner, same, outer.
    across: Vec<[c64; 3]>,
    /// For each column, `exp(i (angle of neighbour - angle))`: before, same, after.
    along: Vec<[c64; 3]>,
}

impl Turn {
    pub fn new(level: &Level) -> Turn {
        let grid = &level.grid;
        let (shift, angle) = (grid.shift(), grid.along());
        let phase = |a: f64| c64::new(a.cos(), a.sin());
        let wide = grid.nodes_along();
        let last = angle.len() - 1;
        let across = (0..shift.len())
            .map(|i| {
                let to = |k: Option<usize>| k.filter(|&k| k < shift.len()).map_or(c64::new(1.0, 0.0), |k| phase(shift[k] - shift[i]));
                [to(i.checked_sub(1)), phase(0.0), to(Some(i + 1))]
            })
            .collect();
        let along = (0..wide)
            .map(|j| {
                let before = if j > 0 { angle[j - 1] - angle[j] } else { angle[last - 1] - angle[last] };
                let after = if j < last { angle[j + 1] - angle[j] } else { 0.0 };
                [phase(before), phase(0.0), phase(after)]
            })
            .collect();
        Turn { across, along }
    }

    /// No turning.
    pub fn none(level: &Level) -> Turn {
        let one = [c64::new(1.0, 0.0); 3];
        Turn { across: vec![one; level.grid.across().len()], along: vec![one; level.grid.nodes_along()] }
    }

    fn factor(&self, i: usize, j: usize, k: usize) -> c64 {
        self.across[i][k / 3] * self.along[j][k % 3]
    }
}
