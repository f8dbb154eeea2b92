//! Nodes of the running band.

use std::f64::consts::PI;

use faer::Mat;
use halfmicron_numerics::quadrature::THREE_POINTS;
use halfmicron_numerics::serendipity::edge_shape;

use super::{BandNodes, RingError};
use crate::model::BandLimits;

/// Share by which elements shrink towards both edges of the band.
const EDGE_GRADING: f64 = 0.35;

impl BandNodes {
    /// Nodes of `elements` quadratic elements over the band, slightly finer towards both edges.
    ///
    /// Corners at `x - g sin(2 pi x)/(2 pi)` of the width: elements at the edges are `1 - g` of the mean.
    ///
    /// # Errors
    /// [`RingError::EmptyBand`] or [`RingError::CoarseBand`].
    pub fn new(band: &BandLimits, elements: usize) -> Result<Self, RingError> {
        let (inner, outer) = (band.inner_radius_m, band.outer_radius_m);
        if !(inner.is_finite() && outer.is_finite() && inner > 0.0 && outer > inner) {
            return Err(RingError::EmptyBand { inner_m: inner, outer_m: outer });
        }
        if elements < 4 {
            return Err(RingError::CoarseBand { elements });
        }
        let corner = |k: usize| {
            let x = k as f64 / elements as f64;
            if k == 0 {
                inner
            } else if k == elements {
                outer
            } else {
                inner + (outer - inner) * (x - EDGE_GRADING * (2.0 * PI * x).sin() / (2.0 * PI))
            }
        };
        let mut radius_m = Vec::with_capacity(2 * elements + 1);
        for k in 0..elements {
            radius_m.push(corner(k));
            radius_m.push(0.5 * (corner(k) + corner(k + 1)));
        }
        radius_m.push(outer);
        let mut nodes = Self { radius_m, weight_m2: Vec::new() };
        let mass = nodes.mass();
        nodes.weight_m2 = (0..nodes.radius_m.len()).map(|i| (0..nodes.radius_m.len()).map(|j| mass[(i, j)]).sum()).collect();
        Ok(nodes)
    }

    /// Consistent mass `integral of N_i N_j dA` over the band, m2: loads and fluxes by node become nodal forces and heats.
    pub fn mass(&self) -> Mat<f64> {
        let count = self.radius_m.len();
        let mut mass = Mat::zeros(count, count);
        for start in (0..count.saturating_sub(2)).step_by(2) {
            let (a, b) = (self.radius_m[start], self.radius_m[start + 2]);
            for (x, w) in THREE_POINTS {
                let n = edge_shape(x);
                let radius = 0.5 * (a + b) + 0.5 * (b - a) * x;
                for i in 0..3 {
                    for j in 0..3 {
                        mass[(start + i, start + j)] += w * 0.5 * (b - a) * 2.0 * PI * radius * n[i] * n[j];
                    }
                }
            }
        }
        mass
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_integrate_over_the_band() {
        let band = BandLimits { inner_radius_m: 0.02445, outer_radius_m: 0.0308 };
        let nodes = BandNodes::new(&band, 16).unwrap();
        assert_eq!(nodes.radius_m.len(), 33);
        let area: f64 = nodes.weight_m2.iter().sum();
        assert!((area / band.area_m2() - 1.0).abs() < 1e-14);
        let moment: f64 = nodes.weight_m2.iter().zip(&nodes.radius_m).map(|(w, r)| w * r).sum();
        let exact = 2.0 * PI / 3.0 * (band.outer_radius_m.powi(3) - band.inner_radius_m.powi(3));
        assert!((moment / exact - 1.0).abs() < 1e-12);
        assert!(nodes.radius_m.windows(2).all(|pair| pair[1] > pair[0]));
        assert!(BandNodes::new(&BandLimits { inner_radius_m: 0.03, outer_radius_m: 0.02 }, 16).is_err());
    }
}
