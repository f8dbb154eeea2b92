//! Factorisation of the unknown part of a stencil, refinement, and solution of neighbouring complex systems.

use std::sync::Arc;

use faer::c64;

use super::FilmError;
use super::level::Level;
use super::stencil::{Stencil, Turn};
use crate::sparse::lu::{Lu, LuSymbolic};

/// Which nodes are unknown and in which order they are eliminated.
#[derive(Clone, Debug)]
pub(super) struct Ordering {
    symbolic: Arc<LuSymbolic>,
    rows: [usize; 2],
    columns: [usize; 2],
    wide: usize,
    nine: bool,
}

/// Factors of one matrix.
#[derive(Clone, Debug)]
pub(super) struct Factors {
    ordering: Ordering,
    lu: Lu,
}

impl Ordering {
    pub fn new(level: &Level) -> Result<Ordering, FilmError> {
        let (rows, columns) = (level.rows, level.columns);
        let nine = level.far.iter().any(|&far| far != 0.0) || level.grid.layers().iter().any(|layer| layer.shear != 0.0);
        if rows[1] <= rows[0] || columns[1] <= columns[0] {
            return Err(FilmError::Grid {
                what: "no node is left between the boundaries; lines across",
                value: level.grid.across().len() as f64,
            });
        }
        let symbolic = level.grid.order([rows[1] - rows[0], columns[1] - columns[0]], nine)?;
        Ok(Ordering { symbolic, rows, columns, wide: level.grid.nodes_along(), nine })
    }

    pub fn unknowns(&self) -> usize {
        (self.rows[1] - self.rows[0]) * (self.columns[1] - self.columns[0])
    }

    /// Nodes in the order of the factorisation.
    fn nodes(&self) -> impl Iterator<Item = usize> + '_ {
        (self.columns[0]..self.columns[1]).flat_map(move |j| (self.rows[0]..self.rows[1]).map(move |i| i * self.wide + j))
    }

    /// Places in a row of a stencil, `(di + 1) * 3 + dj + 1`, in the order of the factorisation.
    fn places(&self) -> &'static [usize] {
        if self.nine { &[0, 3, 6, 1, 4, 7, 2, 5, 8] } else { &[3, 1, 4, 7, 5] }
    }

    fn values(&self, matrix: &Stencil) -> Vec<f64> {
        let places = self.places();
        let mut values = Vec::with_capacity(self.unknowns() * places.len());
        for node in self.nodes() {
            let row = &matrix.rows[node];
            values.extend(places.iter().map(|&k| row[k]));
        }
        values
    }

    pub fn factor(&self, matrix: &Stencil) -> Result<Factors, FilmError> {
        let lu = Lu::factor(&self.symbolic, &self.values(matrix))?;
        Ok(Factors { ordering: self.clone(), lu })
    }
}

/// Factors of a neighbouring complex matrix.
pub(super) struct ComplexFactors {
    ordering: Ordering,
    lu: Lu<c64>,
}

impl ComplexFactors {
    /// Replaces a right-hand side over all nodes by the solution, zero at given nodes.
    pub fn solve(&self, x: &mut [c64]) -> Result<(), FilmError> {
        let mut packed: Vec<c64> = self.ordering.nodes().map(|node| x[node]).collect();
        self.lu.solve(&mut packed)?;
        x.fill(c64::new(0.0, 0.0));
        self.ordering.nodes().zip(&packed).for_each(|(node, &value)| x[node] = value);
        Ok(())
    }
}

impl Factors {
    /// Factors of a neighbouring complex matrix: worth their price, some five real ones, where several right-hand sides follow.
    pub fn complex(&self, system: &Neighbouring) -> Result<ComplexFactors, FilmError> {
        let ordering = &self.ordering;
        let mut values = Vec::with_capacity(ordering.unknowns() * if ordering.nine { 9 } else { 5 });
        for node in ordering.nodes() {
            let mut row = system.matrix.turned_row(node, system.turn);
            row[4] += system.rate * system.storage[node];
            values.extend(ordering.places().iter().map(|&k| row[k]));
        }
        Ok(ComplexFactors { ordering: ordering.clone(), lu: Lu::factor(&ordering.symbolic, &values)? })
    }

    /// Factors of another matrix, in the same memory where nobody else holds it.
    pub fn renewed(self: Arc<Self>, matrix: &Stencil) -> Result<Arc<Self>, FilmError> {
        match Arc::try_unwrap(self) {
            Ok(mut own) => own.refactor(matrix).map(|()| Arc::new(own)),
            Err(shared) => shared.ordering.factor(matrix).map(Arc::new),
        }
    }

    /// Factors of another matrix on the same nodes.
    pub fn again(&self, matrix: &Stencil) -> Result<Arc<Self>, FilmError> {
        self.ordering.factor(matrix).map(Arc::new)
    }

    pub fn refactor(&mut self, matrix: &Stencil) -> Result<(), FilmError> {
        let values = self.ordering.values(matrix);
        Ok(self.lu.refactor(&values)?)
    }

    /// Replaces a right-hand side over all nodes by the solution, zero at given nodes.
    pub fn solve(&self, x: &mut [f64]) -> Result<(), FilmError> {
        let mut packed: Vec<f64> = self.ordering.nodes().map(|node| x[node]).collect();
        self.lu.solve(&mut packed)?;
        x.fill(0.0);
        self.ordering.nodes().zip(&packed).for_each(|(node, &value)| x[node] = value);
        Ok(())
    }

    /// The same for many right-hand sides in one pass over the factors.
    pub fn solve_all(&self, right: &mut [Vec<f64>]) -> Result<(), FilmError> {
        let mut packed = Vec::with_capacity(right.len() * self.ordering.unknowns());
        for x in right.iter() {
            packed.extend(self.ordering.nodes().map(|node| x[node]));
        }
        self.lu.solve(&mut packed)?;
        for (x, values) in right.iter_mut().zip(packed.chunks(self.ordering.unknowns())) {
            x.fill(0.0);
            self.ordering.nodes().zip(values).for_each(|(node, &value)| x[node] = value);
        }
        Ok(())
    }

    fn solve_complex(&self, x: &mut [c64]) -> Result<(), FilmError> {
        let n = self.ordering.unknowns();
        let mut packed: Vec<f64> = self.ordering.nodes().map(|node| x[node].re).collect();
        packed.extend(self.ordering.nodes().map(|node| x[node].im));
        self.lu.solve(&mut packed)?;
        x.fill(c64::new(0.0, 0.0));
        self.ordering.nodes().enumerate().for_each(|(k, node)| x[node] = c64::new(packed[k], packed[n + k]));
        Ok(())
    }

    /// Solves a system with a matrix near the factored one in place, to `share` of the greatest solution met, whose length is `whole`: by
    /// preconditioned GMRES unless it is the factored one itself. The steps it took, none if too many.
    pub fn solve_refined(&self, system: &Refined, x: &mut [f64], share: f64, whole: &mut f64) -> Result<Option<usize>, FilmError> {
        const SPACE: usize = 12;
        self.solve(x)?;
        if system.exact {
            *whole = whole.max(length(x));
            return Ok(Some(0));
        }
        let beta = length(x);
        if !beta.is_finite() {
            return Ok(None);
        }
        *whole = whole.max(beta);
        let goal = share * *whole;
        if beta <= goal {
            return Ok(Some(0));
        }
        let mut basis = vec![x.iter().map(|v| v / beta).collect::<Vec<f64>>()];
        let mut columns: Vec<Vec<f64>> = Vec::new();
        let mut turns: Vec<[f64; 2]> = Vec::new();
        let mut right = vec![beta];
        loop {
            let k = columns.len();
            let mut next = vec![0.0; x.len()];
            system.matrix.times(&basis[k], &mut next);
            self.solve(&mut next)?;
            let mut column = Vec::with_capacity(k + 2);
            for vector in &basis {
                let h: f64 = vector.iter().zip(&next).map(|(v, w)| v * w).sum();
                next.iter_mut().zip(vector).for_each(|(w, v)| *w -= h * v);
                column.push(h);
            }
            let rest = length(&next);
            for (row, [c, s]) in turns.iter().enumerate() {
                (column[row], column[row + 1]) = (c * column[row] + s * column[row + 1], c * column[row + 1] - s * column[row]);
            }
            let radius = column[k].hypot(rest);
            if radius == 0.0 || !radius.is_finite() {
                return Ok(None);
            }
            let (c, s) = (column[k] / radius, rest / radius);
            column[k] = radius;
            turns.push([c, s]);
            right.push(-s * right[k]);
            right[k] *= c;
            columns.push(column);
            if right[k + 1].abs() <= goal || rest <= 1e-15 * radius {
                break;
            }
            if columns.len() == SPACE {
                return Ok(None);
            }
            next.iter_mut().for_each(|w| *w /= rest);
            basis.push(next);
        }
        let used = columns.len();
        for row in (0..used).rev() {
            let later: f64 = (row + 1..used).map(|k| columns[k][row] * right[k]).sum();
            right[row] = (right[row] - later) / columns[row][row];
        }
        x.fill(0.0);
        for (weight, vector) in right.iter().zip(&basis).take(used) {
            x.iter_mut().zip(vector).for_each(|(x, v)| *x += weight * v);
        }
        Ok(Some(used))
    }

    /// Solves `(A + s B) x = b`, couplings turned, by GMRES with these factors as preconditioner
    /// (Y. Saad and M. H. Schultz, SIAM J. Scientific and Statistical Computing 7 (1986) 856-869). The difference of the two
    /// matrices is of lower order, so a few steps do. `b` over all nodes; given nodes are zero.
    pub fn solve_near(&self, system: &Neighbouring, b: &[c64], tolerance: f64) -> Result<(Vec<c64>, usize), FilmError> {
        const RESTARTS: usize = 4;
        let zero = c64::new(0.0, 0.0);
        let mut right = b.to_vec();
        self.solve_complex(&mut right)?;
        let goal = tolerance * norm(&right);
        let mut x = vec![zero; b.len()];
        let mut steps = 0;
        for _ in 0..RESTARTS {
            let mut residual = right.clone();
            if steps > 0 {
                let mut image = system.times(&x);
                self.solve_complex(&mut image)?;
                residual.iter_mut().zip(&image).for_each(|(r, a)| *r -= a);
            }
            if norm(&residual) <= goal || goal == 0.0 {
                return Ok((x, steps));
            }
            steps += self.cycle(system, &residual, goal, &mut x)?;
        }
        let mut image = system.times(&x);
        self.solve_complex(&mut image)?;
        let left = norm(&right.iter().zip(&image).map(|(r, a)| r - a).collect::<Vec<_>>());
        if left <= 1e3 * goal { Ok((x, steps)) } else { Err(FilmError::Response { steps, residual: left / norm(&right) }) }
    }

    fn cycle(&self, system: &Neighbouring, residual: &[c64], goal: f64, x: &mut [c64]) -> Result<usize, FilmError> {
        const SPACE: usize = 40;
        let zero = c64::new(0.0, 0.0);
        let beta = norm(residual);
        let mut basis = vec![residual.iter().map(|r| r / beta).collect::<Vec<_>>()];
        let mut columns: Vec<Vec<c64>> = Vec::new();
        let mut turns: Vec<(f64, c64)> = Vec::new();
        let mut right = vec![c64::new(beta, 0.0)];
        while columns.len() < SPACE {
            let k = columns.len();
            let mut next = system.times(&basis[k]);
            self.solve_complex(&mut next)?;
            let mut column = Vec::with_capacity(k + 2);
            for vector in &basis {
                let h: c64 = vector.iter().zip(&next).map(|(v, w)| v.conj() * w).sum();
                next.iter_mut().zip(vector).for_each(|(w, v)| *w -= h * v);
                column.push(h);
            }
            let length = norm(&next);
            for (row, &(c, s)) in turns.iter().enumerate() {
                let (a, b) = (column[row], column[row + 1]);
                column[row] = a * c + s * b;
                column[row + 1] = b * c - s.conj() * a;
            }
            // A rotation with real cosine that takes (top, length) to (radius, 0).
            let top = column[k];
            let radius = top.norm().hypot(length);
            if radius == 0.0 || !radius.is_finite() {
                break;
            }
            let (c, s) =
                if top.norm() == 0.0 { (0.0, c64::new(1.0, 0.0)) } else { (top.norm() / radius, top / top.norm() * length / radius) };
            column[k] = top * c + s * length;
            turns.push((c, s));
            let old = right[k];
            right[k] = old * c;
            right.push(-(s.conj() * old));
            columns.push(column);
            if right[k + 1].norm() <= goal || length <= 1e-14 * radius {
                break;
            }
            basis.push(next.iter().map(|w| w / length).collect());
        }
        let used = columns.len();
        let mut weights = vec![zero; used];
        for row in (0..used).rev() {
            let mut sum = right[row];
            for later in row + 1..used {
                sum -= columns[later][row] * weights[later];
            }
            weights[row] = sum / columns[row][row];
        }
        for (weight, vector) in weights.iter().zip(&basis) {
            x.iter_mut().zip(vector).for_each(|(x, v)| *x += weight * v);
        }
        Ok(used.max(1))
    }
}

/// A matrix near a factored one, or the very one.
pub(super) struct Refined<'a> {
    pub matrix: &'a Stencil,
    pub exact: bool,
}

/// A matrix near a factored one: `A + s B` with turned couplings, `B` diagonal or a stencil.
pub(super) struct Neighbouring<'a> {
    pub matrix: &'a Stencil,
    pub storage: &'a [f64],
    /// Rate `s` of what goes as `exp(s t)`, 1/s.
    pub rate: c64,
    pub turn: &'a Turn,
    pub level: &'a Level,
}

impl Neighbouring<'_> {
    fn times(&self, x: &[c64]) -> Vec<c64> {
        let mut out = vec![c64::new(0.0, 0.0); x.len()];
        self.matrix.times_turned(x, self.turn, &mut out);
        for (node, value) in out.iter_mut().enumerate() {
            if self.level.is_unknown(node) {
                *value += self.rate * self.storage[node] * x[node];
            } else {
                *value = c64::new(0.0, 0.0);
            }
        }
        out
    }
}

fn norm(x: &[c64]) -> f64 {
    x.iter().map(|v| v.norm_sqr()).sum::<f64>().sqrt()
}

fn length(x: &[f64]) -> f64 {
    x.iter().map(|v| v * v).sum::<f64>().sqrt()
}
