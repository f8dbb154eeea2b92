//! Matrices with nine entries a row, one for each neighbour on the grid.

use faer::c64;

use super::level::Level;

/// Coefficients of each node's neighbours `(di, dj)` at `(di + 1) * 3 + dj + 1`.
#[derive(Clone, Debug)]
pub(super) struct Stencil {
    pub rows: Vec<[f64; 9]>,
    lines: usize,
    wide: usize,
}

/// Place of the coupling between two corners of a cell (inner left, inner right, outer left, outer right).
pub(super) const COUPLING: [[usize; 4]; 4] = [[4, 5, 7, 8], [3, 4, 6, 7], [1, 2, 4, 5], [0, 1, 3, 4]];

/// Neighbour number `k` of node `(i, j)`, if there is one.
pub(super) fn neighbour(level: &Level, i: usize, j: usize, k: usize) -> Option<usize> {
    let wide = level.grid.nodes_along();
    let row = (i + k / 3).checked_sub(1).filter(|&row| row < level.grid.across().len())?;
    let column = match (j + k % 3, level.grid.periodic()) {
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
        Stencil { rows: vec![[0.0; 9]; grid.nodes()], lines: grid.across().len(), wide: grid.nodes_along() }
    }

    /// Numbers of the nine neighbours of every node in turn. Beyond an edge some other node stands in: the coefficients
    /// there are zero.
    #[inline(always)]
    pub fn each(&self, mut visit: impl FnMut(usize, usize, [usize; 9])) {
        let wide = self.wide;
        for i in 0..self.lines {
            let here = i * wide;
            let before = if i > 0 { here - wide } else { here };
            let after = if i + 1 < self.lines { here + wide } else { here };
            for j in 0..wide {
                let left = if j > 0 { j - 1 } else { wide - 1 };
                let right = if j + 1 < wide { j + 1 } else { 0 };
                let numbers = [
                    before + left,
                    before + j,
                    before + right,
                    here + left,
                    here + j,
                    here + right,
                    after + left,
                    after + j,
                    after + right,
                ];
                visit(i, j, numbers);
            }
        }
    }

    /// One row of `A x`.
    pub fn row_times(&self, node: usize, x: &[f64]) -> f64 {
        let wide = self.wide;
        let (i, j) = (node / wide, node % wide);
        let line = [i.saturating_sub(1), i, (i + 1).min(self.lines - 1)];
        let column = [if j > 0 { j - 1 } else { wide - 1 }, j, if j + 1 < wide { j + 1 } else { 0 }];
        (0..9).map(|k| self.rows[node][k] * x[line[k / 3] * wide + column[k % 3]]).sum()
    }

    /// `out = A x`, at all nodes.
    pub fn times(&self, x: &[f64], out: &mut [f64]) {
        self.each(|_, _, numbers| {
            let row = &self.rows[numbers[4]];
            let mut sum = 0.0;
            for k in 0..9 {
                sum += row[k] * x[numbers[k]];
            }
            out[numbers[4]] = sum;
        });
    }

    /// `out = A (x + tail)` of a matrix whose rows sum to zero, from differences of neighbours.
    pub fn times_differences(&self, x: &[f64], tail: &[f64], out: &mut [f64]) {
        self.each(|_, _, numbers| {
            let node = numbers[4];
            let row = &self.rows[node];
            let mut sum = 0.0;
            for k in 0..9 {
                let neighbour = numbers[k];
                sum += row[k] * ((x[neighbour] - x[node]) + (tail[neighbour] - tail[node]));
            }
            out[node] = sum;
        });
    }

    /// One row with the coupling to each neighbour turned.
    pub fn turned_row(&self, node: usize, turn: &Turn) -> [c64; 9] {
        let (across, along) = (&turn.across[node / self.wide], &turn.along[node % self.wide]);
        std::array::from_fn(|k| across[k / 3] * along[k % 3] * self.rows[node][k])
    }

    /// `out = A x` for complex `x`, the coupling to each neighbour turned by the phase between the two.
    pub fn times_turned(&self, x: &[c64], turn: &Turn, out: &mut [c64]) {
        self.each(|i, j, numbers| {
            let row = &self.rows[numbers[4]];
            let (across, along) = (&turn.across[i], &turn.along[j]);
            let mut sum = c64::new(0.0, 0.0);
            for a in 0..3 {
                let mut part = c64::new(0.0, 0.0);
                for b in 0..3 {
                    part += along[b] * x[numbers[3 * a + b]] * row[3 * a + b];
                }
                sum += across[a] * part;
            }
            out[numbers[4]] = sum;
        });
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

    /// Whether nothing is turned.
    pub fn is_none(&self) -> bool {
        self.across.iter().chain(&self.along).flatten().all(|&factor| factor == c64::new(1.0, 0.0))
    }

    /// No turning.
    pub fn none(level: &Level) -> Turn {
        let one = [c64::new(1.0, 0.0); 3];
        Turn { across: vec![one; level.grid.across().len()], along: vec![one; level.grid.nodes_along()] }
    }
}
