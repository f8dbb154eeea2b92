//! The vapour's side of the phase line continued below the triple point, as a table of its enthalpy by `ln p`.
//!
//! Gas below the triple-point pressure is interpolated by its distance from this line, so that no node of a cell lies where nothing is
//! stable, and what lies beyond the line is known to freeze without the equation of state.

use std::sync::OnceLock;

use super::super::equilibrium::continued_vapour;
use super::super::jets::Dual;
use super::super::pure::PureFluid;
use super::patch::{Basis, from_unit, lobatto, weights};

const NODES: usize = 8;
/// Longest piece in ln p.
const PIECE: f64 = 0.5;

type Table = [[f64; 1]; NODES];

#[derive(Debug)]
pub(super) struct ContinuedLine {
    /// Triple-point pressure, Pa.
    lowest: f64,
    /// Length of a piece in ln p; pieces count from the triple point downwards.
    piece: f64,
    pieces: Box<[OnceLock<Option<Table>>]>,
}

impl ContinuedLine {
    /// The line down to `ln(p/lowest) = end`, which is negative.
    pub fn new(fluid: &PureFluid, end: f64) -> Self {
        let count = (-end / PIECE).ceil().clamp(1.0, 200.0);
        Self {
            lowest: fluid.saturation().lowest_pressure(),
            piece: -end / count,
            pieces: (0..count as usize).map(|_| OnceLock::new()).collect(),
        }
    }

    /// Enthalpy of the line at a pressure below that of the triple point, J/kg, with its slope by pressure (`a`); nothing below its end.
    pub fn enthalpy(&self, fluid: &PureFluid, p: f64) -> Option<Dual> {
        let x = (p / self.lowest).ln();
        let place = -x / self.piece;
        // The far end belongs to the last piece, with what rounding adds to it.
        if place > self.pieces.len() as f64 + 1e-9 {
            return None;
        }
        let i = (place as usize).min(self.pieces.len() - 1);
        let range = (-((i + 1) as f64) * self.piece, -(i as f64) * self.piece);
        let table = self.pieces[i].get_or_init(|| self.table(fluid, range)).as_ref()?;
        let [h] = Basis::new(range, x).sum(table);
        Some(Dual::new(h.v, h.a / p, 0.0))
    }

    fn table(&self, fluid: &PureFluid, range: (f64, f64)) -> Option<Table> {
        let w = weights::<NODES>();
        let mut table = [[0.0]; NODES];
        for i in 0..NODES {
            let h = continued_vapour(fluid, self.lowest * from_unit(range, lobatto(NODES, i)).exp()).ok()?.enthalpy;
            table.iter_mut().zip(&w).for_each(|(sum, row)| sum[0] += row[i] * h);
        }
        Some(table)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fluid::{Fluid, Model};

    #[test]
    fn the_table_is_the_line_it_stands_for_with_its_slope() {
        let water = Fluid::named("water").unwrap();
        let Model::Pure(entry) = &water.inner.model else { panic!("water has an equation of state") };
        let fluid = &entry.fluid;
        let lowest = fluid.saturation().lowest_pressure();
        let line = ContinuedLine::new(fluid, -3.0);
        for share in [0.999, 0.7, 0.61, 0.3, 0.06] {
            let p = share * lowest;
            let at = |p: f64| continued_vapour(fluid, p).unwrap().enthalpy;
            let found = line.enthalpy(fluid, p).unwrap();
            assert!((found.v / at(p) - 1.0).abs() < 1e-9, "{share}: {} for {}", found.v, at(p));
            let slope = (at(p * 1.0001) - at(p * 0.9999)) / (2e-4 * p);
            assert!((found.a / slope - 1.0).abs() < 1e-5, "{share}: {} for {slope}", found.a);
        }
        assert!(line.enthalpy(fluid, lowest * (-3.1_f64).exp()).is_none());
    }
}
