//! Vapour-liquid equilibrium of a pure fluid from Chebyshev expansions in temperature.
//!
//! The expansions ("superancillary equations") represent the equality of pressure and Gibbs energy of the
//! equation of state itself to about twelve digits, up to the critical point, where a Newton iteration on
//! the equation would fail. Source: Bell and Alpert (2021). Checked in `tests/` against the equation.

use serde::Deserialize;

/// Saturation curves as the data file gives them.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SaturationData {
    #[allow(dead_code, reason = "the data file states it for its readers; unknown keys are refused, so it is read here")]
    source: String,
    edges_k: Vec<f64>,
    pressure_pa: Vec<Vec<f64>>,
    liquid_density_kg_per_m3: Vec<Vec<f64>>,
    vapour_density_kg_per_m3: Vec<Vec<f64>>,
}

/// Saturation curves ready for use.
#[derive(Debug, Clone)]
pub(crate) struct SaturationCurves {
    data: SaturationData,
    edge_pressures: Vec<f64>,
}

impl SaturationCurves {
    pub fn new(data: SaturationData) -> Result<Self, String> {
        let pieces = data.edges_k.len().saturating_sub(1);
        let ascending = data.edges_k.windows(2).all(|w| w[0] < w[1]);
        let complete = [&data.pressure_pa, &data.liquid_density_kg_per_m3, &data.vapour_density_kg_per_m3]
            .iter()
            .all(|c| c.len() == pieces && c.iter().all(|piece| !piece.is_empty()));
        if pieces == 0 || !ascending || !complete {
            return Err("saturation: one expansion per piece and ascending edges are needed".to_owned());
        }
        let mut edge_pressures: Vec<f64> = data.pressure_pa.iter().map(|c| clenshaw(c, -1.0).0).collect();
        edge_pressures.push(clenshaw(&data.pressure_pa[pieces - 1], 1.0).0);
        if !edge_pressures.windows(2).all(|w| w[0] < w[1]) {
            return Err("saturation: pressure must rise with temperature".to_owned());
        }
        Ok(Self { data, edge_pressures })
    }

    pub fn pieces(&self) -> usize {
        self.data.pressure_pa.len()
    }
    pub fn lowest_temperature(&self) -> f64 {
        self.data.edges_k[0]
    }
    /// Pressure of the lowest edge, less the rounding of its coefficients.
    pub fn lowest_pressure(&self) -> f64 {
        self.edge_pressures[0] * (1.0 - 1e-12)
    }
    pub fn highest_pressure(&self) -> f64 {
        self.edge_pressures[self.edge_pressures.len() - 1]
    }

    fn place(&self, t: f64) -> (usize, f64) {
        let edges = &self.data.edges_k;
        let i = edges.partition_point(|&e| e <= t).clamp(1, edges.len() - 1) - 1;
        (i, (2.0 * t - edges[i] - edges[i + 1]) / (edges[i + 1] - edges[i]))
    }

    /// Saturation pressure; beyond the lowest edge the first expansion is extrapolated.
    pub fn pressure(&self, t: f64) -> f64 {
        let (i, x) = self.place(t);
        clenshaw(&self.data.pressure_pa[i], x).0
    }

    /// Densities of saturated liquid and vapour.
    pub fn densities(&self, t: f64) -> (f64, f64) {
        let (i, x) = self.place(t);
        (clenshaw(&self.data.liquid_density_kg_per_m3[i], x).0, clenshaw(&self.data.vapour_density_kg_per_m3[i], x).0)
    }

    /// Density of saturated vapour and its derivative by temperature.
    pub fn vapour_density(&self, t: f64) -> (f64, f64) {
        let (i, x) = self.place(t);
        let (value, slope) = clenshaw(&self.data.vapour_density_kg_per_m3[i], x);
        (value, slope * 2.0 / (self.data.edges_k[i + 1] - self.data.edges_k[i]))
    }

    /// Saturation temperature for a pressure within the curve.
    pub fn temperature(&self, p: f64) -> f64 {
        let last = self.edge_pressures.len() - 1;
        let i = self.edge_pressures.partition_point(|&e| e <= p).clamp(1, last) - 1;
        let (t0, t1) = (self.data.edges_k[i], self.data.edges_k[i + 1]);
        let (p0, p1) = (self.edge_pressures[i], self.edge_pressures[i + 1]);
        let scale = 2.0 / (t1 - t0);
        let mut t = {
            let s = (p / p0).ln() / (p1 / p0).ln();
            1.0 / (1.0 / t0 + s * (1.0 / t1 - 1.0 / t0))
        };
        // ln p is nearly straight in 1/T: Newton on it converges quadratically from the chord
        for _ in 0..12 {
            let (value, slope) = clenshaw(&self.data.pressure_pa[i], (t - t0) * scale - 1.0);
            let step = (value / p).ln() * value / (slope * scale);
            t -= step;
            if step.abs() < 1e-13 * t {
                break;
            }
        }
        t
    }
}

/// Value and derivative of a Chebyshev series at `x` in -1..1.
pub(crate) fn clenshaw(c: &[f64], x: f64) -> (f64, f64) {
    let (mut b1, mut b2, mut d1, mut d2) = (0.0, 0.0, 0.0, 0.0);
    for &ck in c.iter().skip(1).rev() {
        let b = 2.0 * x * b1 - b2 + ck;
        let d = 2.0 * x * d1 - d2 + 2.0 * b1;
        (b2, b1, d2, d1) = (b1, b, d1, d);
    }
    // f = c0 + x b1 - b2, f' = b1 + x d1 - d2
    (c.first().copied().unwrap_or(0.0) + x * b1 - b2, b1 + x * d1 - d2)
}

#[cfg(test)]
mod tests {
    use super::clenshaw;

    #[test]
    fn clenshaw_agrees_with_the_polynomials() {
        let c = [0.3, -1.0, 0.5, 0.25];
        for x in [-1.0_f64, -0.3, 0.0, 0.8, 1.0] {
            let t = [1.0, x, 2.0 * x * x - 1.0, 4.0 * x.powi(3) - 3.0 * x];
            let d = [0.0, 1.0, 4.0 * x, 12.0 * x * x - 3.0];
            let value: f64 = c.iter().zip(t).map(|(a, b)| a * b).sum();
            let slope: f64 = c.iter().zip(d).map(|(a, b)| a * b).sum();
            let (v, s) = clenshaw(&c, x);
            assert!((v - value).abs() < 1e-14 && (s - slope).abs() < 1e-13);
        }
    }
}
