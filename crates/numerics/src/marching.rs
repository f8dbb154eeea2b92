//! Linear systems of a quantity carried along one direction: two unknowns a station, each station depending on itself
//! and the one upstream, with one scalar unknown (the flow) common to all and closed by a condition at the last station.
//!
//! `D_k x_k + L_k x_(k-1) + c_k m = f_k`, `e . x_last + e_m m = g`.

/// A 2 x 2 block, row by row.
pub type Block = [[f64; 2]; 2];

/// The matrix of such a system, factored by inverting its diagonal blocks.
#[derive(Debug, Clone)]
pub struct MarchingMatrix {
    inverse: Vec<Block>,
    upstream: Vec<Block>,
    /// Response of the stations to the common unknown, `dx_k/dm`.
    by_flow: Vec<[f64; 2]>,
    exit: [f64; 2],
    pivot: f64,
}

impl MarchingMatrix {
    /// Factor the system of `diagonal`, `upstream` (the first is unused), `flow` columns and the closing row (`exit`, `exit_flow`).
    ///
    /// Returns `None` when a diagonal block or the closing pivot is singular (a choked or stalled flow).
    pub fn new(diagonal: &[Block], upstream: Vec<Block>, flow: &[[f64; 2]], exit: [f64; 2], exit_flow: f64) -> Option<Self> {
        let inverse = diagonal.iter().map(invert).collect::<Option<Vec<_>>>()?;
        let mut matrix = Self { inverse, upstream, by_flow: Vec::new(), exit, pivot: 1.0 };
        let right: Vec<[f64; 2]> = flow.iter().map(|c| [-c[0], -c[1]]).collect();
        matrix.by_flow = matrix.march(&right, 0);
        let last = *matrix.by_flow.last()?;
        matrix.pivot = exit_flow + exit[0] * last[0] + exit[1] * last[1];
        (matrix.pivot.is_finite() && matrix.pivot != 0.0).then_some(matrix)
    }

    /// Solve for right-hand sides `stations` (zero before station `first`) and `closing`: the stations and the common unknown.
    pub fn solve(&self, stations: &[[f64; 2]], first: usize, closing: f64) -> (Vec<[f64; 2]>, f64) {
        let mut x = self.march(stations, first);
        let end = x.last().copied().unwrap_or_default();
        let flow = (closing - self.exit[0] * end[0] - self.exit[1] * end[1]) / self.pivot;
        for (x, by_flow) in x.iter_mut().zip(&self.by_flow) {
            x[0] += flow * by_flow[0];
            x[1] += flow * by_flow[1];
        }
        (x, flow)
    }

    fn march(&self, right: &[[f64; 2]], first: usize) -> Vec<[f64; 2]> {
        let mut x = vec![[0.0; 2]; self.inverse.len()];
        for k in first..x.len() {
            let mut f = right[k];
            if k > first {
                let (l, up) = (&self.upstream[k], x[k - 1]);
                f[0] -= l[0][0] * up[0] + l[0][1] * up[1];
                f[1] -= l[1][0] * up[0] + l[1][1] * up[1];
            }
            let d = &self.inverse[k];
            x[k] = [d[0][0] * f[0] + d[0][1] * f[1], d[1][0] * f[0] + d[1][1] * f[1]];
        }
        x
    }
}

fn invert(block: &Block) -> Option<Block> {
    let [[a, b], [c, d]] = *block;
    let determinant = a * d - b * c;
    (determinant.is_finite() && determinant != 0.0).then(|| [[d / determinant, -b / determinant], [-c / determinant, a / determinant]])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solution_satisfies_every_row() {
        let count = 7;
        let number = |k: usize| ((k * 7919 + 13) % 101) as f64 / 50.0 - 1.0;
        let diagonal: Vec<Block> = (0..count).map(|k| [[3.0 + number(k), number(k + 1)], [number(k + 2), 3.0 + number(k + 3)]]).collect();
        let upstream: Vec<Block> = (0..count).map(|k| [[number(k + 4), number(k + 5)], [number(k + 6), number(k + 7)]]).collect();
        let flow: Vec<[f64; 2]> = (0..count).map(|k| [number(k + 8), number(k + 9)]).collect();
        let right: Vec<[f64; 2]> = (0..count).map(|k| [number(k + 10), number(k + 11)]).collect();
        let matrix = MarchingMatrix::new(&diagonal, upstream.clone(), &flow, [1.0, 0.5], 0.25).unwrap();
        let (x, m) = matrix.solve(&right, 0, 2.0);
        for k in 0..count {
            for row in 0..2 {
                let mut sum = diagonal[k][row][0] * x[k][0] + diagonal[k][row][1] * x[k][1] + flow[k][row] * m;
                if k > 0 {
                    sum += upstream[k][row][0] * x[k - 1][0] + upstream[k][row][1] * x[k - 1][1];
                }
                assert!((sum - right[k][row]).abs() < 1e-12);
            }
        }
        assert!((x[count - 1][0] + 0.5 * x[count - 1][1] + 0.25 * m - 2.0).abs() < 1e-12);
    }

    #[test]
    fn singular_block_is_refused() {
        assert!(MarchingMatrix::new(&[[[1.0, 1.0], [1.0, 1.0]]], vec![[[0.0; 2]; 2]], &[[1.0, 0.0]], [1.0, 0.0], 0.0).is_none());
    }
}
