//! Correlation liquids at pressure and enthalpy, fast, for films.
//!
//! **What.** A film asks for thousands of states; correlations cost exponentials and powers each, and temperature is found by iteration.
//!
//! **Equation.** Volume, enthalpy, viscosity, conductivity and `v0 - T v0'` at the reference pressure are functions of temperature alone: cells
//! of it hold a Chebyshev expansion of eight nodes each, made when first visited from the cell alone. Pressure enters as in [`super::liquid`].
//! Derivatives are those of the expansion. A cell whose last coefficients are not small is answered by the correlations themselves.
//!
//! **Valid when.** As the correlations; within 1e-9 of them, derivatives within 1e-7.
//!
//! **Source.** Own; Trefethen, Approximation Theory and Approximation Practice (2013) for the error by the last coefficients.
//!
//! **Checked by.** `tables_agree_with_the_correlations`.

use std::sync::OnceLock;

use super::surface::{Basis, from_unit, lobatto, weights};

const NODES: usize = 8;
/// Length of a cell, K.
const LENGTH_K: f64 = 1.0;
/// Last two coefficients over the first, at which a cell has converged.
const TAIL: f64 = 1e-10;

/// Share of the first coefficient below which another is rounding.
const ROUNDING: f64 = 4.0 * f64::EPSILON;

/// What a cell holds of one temperature: enthalpy, `v0 - T v0'`, volume, viscosity, conductivity, each at the reference pressure.
pub(super) type Sample = [f64; 5];

#[derive(Debug)]
pub(super) struct LiquidTable {
    low_k: f64,
    length_k: f64,
    cells: Box<[OnceLock<Option<Box<Cell>>>]>,
}

#[derive(Debug)]
pub(super) struct Cell {
    range_k: (f64, f64),
    heat: [[f64; 2]; NODES],
    rest: [[f64; 3]; NODES],
    /// Pressure above which the liquid is stable all over the cell, Pa.
    pub stable_above_pa: f64,
}

/// Values with their slopes by temperature.
pub(super) struct Rest {
    pub volume: [f64; 2],
    pub viscosity: [f64; 2],
    pub conductivity: [f64; 2],
}

impl LiquidTable {
    /// An empty table between two temperatures.
    pub fn new((low_k, high_k): (f64, f64)) -> Self {
        let count = ((high_k - low_k) / LENGTH_K).ceil().clamp(1.0, 2000.0) as usize;
        Self { low_k, length_k: (high_k - low_k) / count as f64, cells: (0..count).map(|_| OnceLock::new()).collect() }
    }

    /// The cell at a temperature, the first and last ones a little beyond the ends too; none where the correlations must answer.
    pub fn cell(&self, temperature_k: f64, fill: impl Fn(f64) -> (Sample, f64)) -> Option<&Cell> {
        let index = (((temperature_k - self.low_k) / self.length_k).max(0.0) as usize).min(self.cells.len() - 1);
        let made = self.cells[index].get_or_init(|| {
            let from = |index: usize| self.low_k + index as f64 * self.length_k;
            Cell::new((from(index), from(index + 1)), fill).map(Box::new)
        });
        made.as_deref()
    }
}

impl Cell {
    fn new(range_k: (f64, f64), sample: impl Fn(f64) -> (Sample, f64)) -> Option<Self> {
        let weights = weights::<NODES>();
        let mut coefficients = [[0.0; 5]; NODES];
        let mut stable_above_pa = 0.0_f64;
        for i in 0..NODES {
            let (values, vapour_pressure) = sample(from_unit(range_k, lobatto(NODES, i)));
            stable_above_pa = stable_above_pa.max(vapour_pressure);
            for (row, weight) in coefficients.iter_mut().zip(weights.iter().map(|row| row[i])) {
                (0..5).for_each(|k| row[k] += weight * values[k]);
            }
        }
        // What is constant has no slopes: rounding is no change with temperature.
        for row in 1..NODES {
            for k in 1..5 {
                if coefficients[row][k].abs() < ROUNDING * coefficients[0][k].abs() {
                    coefficients[row][k] = 0.0;
                }
            }
        }
        // Enthalpy has no zero of its own: measured by its growth over a hundred cells.
        let scale =
            |k: usize| if k == 0 { coefficients[0][0].abs().max(100.0 * coefficients[1][0].abs()) } else { coefficients[0][k].abs() };
        let converged = |k: usize| coefficients[NODES - 1][k].abs() + coefficients[NODES - 2][k].abs() <= TAIL * scale(k);
        if !(0..5).all(converged) {
            return None;
        }
        Some(Self {
            range_k,
            heat: coefficients.map(|[h, r, ..]| [h, r]),
            rest: coefficients.map(|[_, _, v, m, k]| [v, m, k]),
            stable_above_pa,
        })
    }

    /// Enthalpy and `v0 - T v0'` with their slopes.
    pub fn heat(&self, temperature_k: f64) -> [[f64; 2]; 2] {
        Basis::<NODES>::new(self.range_k, temperature_k).sum(&self.heat).map(|q| [q.v, q.a])
    }

    pub fn rest(&self, temperature_k: f64) -> Rest {
        let [volume, viscosity, conductivity] = Basis::<NODES>::new(self.range_k, temperature_k).sum(&self.rest).map(|q| [q.v, q.a]);
        Rest { volume, viscosity, conductivity }
    }
}

#[cfg(test)]
mod tests {
    use crate::{Fluid, MixtureViscosity};

    const LIQUIDS: [&str; 6] = [
        "sea water, salinity 70 g/kg",
        "sodium hydroxide solution, 50 % by mass",
        "ethylene glycol solution, 50 % by mass",
        "mineral oil ISO VG 32",
        "mineral oil ISO VG 460",
        "hydrogenated terphenyl heat-transfer oil",
    ];

    #[test]
    fn tables_agree_with_the_correlations() {
        for name in LIQUIDS {
            let fluid = Fluid::named(name).unwrap();
            let (low, high) = (fluid.range().temperature_low.value, fluid.range().temperature_high.value);
            let mut answered = 0;
            for i in 0..=400 {
                let t = low + (high - low) * f64::from(i) / 400.0;
                for p in [2e5, 1.1e6, 9e6] {
                    let Ok(at) = fluid.at_pressure_temperature(p, t) else { continue };
                    let Ok(exact) = fluid.at_pressure_enthalpy(p, at.enthalpy_j_per_kg) else { continue };
                    let found = fluid.film_state(p, at.enthalpy_j_per_kg, MixtureViscosity::default()).unwrap();
                    answered += 1;
                    let near = |what: &str, a: f64, b: f64, tolerance: f64| {
                        assert!((a - b).abs() <= tolerance * b.abs(), "{name}, {what} at {t:.2} K, {p:.1e} Pa: {a:e} for {b:e}");
                    };
                    near("temperature", found.temperature_k, exact.temperature_k, 1e-11);
                    near("density", found.density_kg_per_m3, exact.density_kg_per_m3, 1e-10);
                    near("viscosity", found.viscosity_pa_s, exact.viscosity_pa_s, 1e-9);
                    near("conductivity", found.conductivity_w_per_m_k, exact.conductivity_w_per_m_k, 1e-9);
                    let (d, e) = (found.derivatives, exact.derivatives);
                    near("dT/dh", d.temperature_by_enthalpy, e.temperature_by_enthalpy, 1e-8);
                    near("drho/dp", d.density_by_pressure, e.density_by_pressure, 1e-6);
                    near("drho/dh", d.density_by_enthalpy, e.density_by_enthalpy, 1e-7);
                    near("dmu/dh", d.viscosity_by_enthalpy, e.viscosity_by_enthalpy, 1e-7);
                    assert_eq!(found.phase, exact.phase, "{name} at {t:.2} K, {p:.1e} Pa");
                }
            }
            assert!(answered > 600, "{name}: only {answered} states");
        }
    }

    #[test]
    fn tables_answer_inside_the_range_and_refuse_outside() {
        for name in LIQUIDS {
            let fluid = Fluid::named(name).unwrap();
            // A correlation may have a kink, where it answers itself.
            assert!(fluid.share_from_table_for_test() > 0.95, "{name}: {}", fluid.share_from_table_for_test());
            assert!(fluid.film_state(1e6, 1e9, MixtureViscosity::default()).is_err(), "{name}");
        }
    }
}
