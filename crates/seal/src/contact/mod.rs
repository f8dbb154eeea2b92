//! Contact of rough faces.
//!
//! **What.** Mean asperity pressure of two Gaussian rough faces against the distance of their mean planes.
//! **Equation.** `p_el = (16 sqrt(2)/15) pi (eta beta sigma)^2 E' sqrt(sigma/beta) F_5/2(h/sigma)`, capped smoothly by plastic
//! bearing `p_pl = H Q(h/sigma)`: `p_c = (p_el^-4 + p_pl^-4)^(-1/4)`. Between nodes of the band the gap runs straight ([`BandContact`]).
//! **Valid when.** Gaussian heights, elastic asperities far apart; below `h = -3 sigma` the statistics mean nothing.
//! **Source.** Greenwood and Tripp, Proc. IMechE 185 (1970-71) 625; bearing-area cap: Abbott and Firestone idea, common practice.
//! **Checked by.** R1.

mod band;
pub mod gaussian;

pub use band::BandContact;

use crate::model::{Contact, Model, Ring};

/// Distances whose height integrals are summed side by side.
const LANES: usize = 4;
/// Pressure that is none, Pa.
const NOTHING_PA: f64 = 1e-30;

/// Contact law of a pair of faces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ContactLaw {
    /// Composite rms roughness, m.
    pub roughness_m: f64,
    /// `(16 sqrt 2 / 15) pi (eta beta sigma)^2 E' sqrt(sigma/beta)`, Pa.
    pub elastic_scale_pa: f64,
    /// Plastic bearing pressure of the softer face, Pa.
    pub plastic_pressure_pa: f64,
}

/// Contact pressure and its slope with the gap.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct ContactState {
    /// Mean asperity pressure, Pa.
    pub pressure_pa: f64,
    /// `d p_c / d h`, Pa/m; never positive.
    pub slope_pa_per_m: f64,
}

impl ContactLaw {
    /// Law of two rings facing each other.
    pub fn new(contact: &Contact, rotating: &Ring, stationary: &Ring) -> Self {
        let reduced_modulus = 1.0 / (compliance(rotating) + compliance(stationary));
        Self {
            roughness_m: rotating.roughness_rq_m.hypot(stationary.roughness_rq_m),
            elastic_scale_pa: 16.0 * std::f64::consts::SQRT_2 / 15.0
                * std::f64::consts::PI
                * contact.eta_beta_sigma.powi(2)
                * reduced_modulus
                * contact.sigma_over_beta.sqrt(),
            plastic_pressure_pa: contact.plastic_pressure_pa,
        }
    }

    /// Law of the faces of a model, with contact switched off one that never touches.
    pub fn of(model: &Model) -> Self {
        let (rotating, stationary) = (&model.rotating_ring, &model.stationary_ring);
        if model.switches.contact {
            Self::new(&model.contact, rotating, stationary)
        } else {
            Self::none(rotating.roughness_rq_m.hypot(stationary.roughness_rq_m))
        }
    }

    /// A pair that never touches.
    pub fn none(roughness_m: f64) -> Self {
        Self { roughness_m, elastic_scale_pa: 0.0, plastic_pressure_pa: 0.0 }
    }

    /// Contact at distance `gap_m` of the mean planes.
    pub fn at(&self, gap_m: f64) -> ContactState {
        let d = gap_m / self.roughness_m;
        self.with(d, gaussian::half_orders([d])[0])
    }

    /// Contact at each of many distances.
    pub fn over(&self, gap_m: &[f64]) -> Vec<ContactState> {
        let mut states = Vec::with_capacity(gap_m.len());
        for some in gap_m.chunks(LANES) {
            let mut d = [gaussian::FAR; LANES];
            d.iter_mut().zip(some).for_each(|(d, gap)| *d = gap / self.roughness_m);
            let orders = gaussian::half_orders(d);
            states.extend((0..some.len()).map(|k| self.with(d[k], orders[k])));
        }
        states
    }

    /// Contact at a separation with its `F_3/2` and `F_5/2`.
    fn with(&self, d: f64, [three_halves, five_halves]: [f64; 2]) -> ContactState {
        let elastic = self.elastic_scale_pa * five_halves;
        if elastic <= NOTHING_PA {
            return ContactState::default();
        }
        let plastic = self.plastic_pressure_pa * gaussian::tail(d);
        if plastic <= NOTHING_PA {
            return ContactState::default();
        }
        let elastic_slope = -2.5 * self.elastic_scale_pa * three_halves;
        let plastic_slope = -self.plastic_pressure_pa * gaussian::density(d);
        let ratio = (elastic / plastic).powi(4);
        let pressure_pa = elastic / (1.0 + ratio).sqrt().sqrt();
        // d ln p = (d ln p_el + ratio d ln p_pl) / (1 + ratio)
        let log_slope = (elastic_slope / elastic + ratio * plastic_slope / plastic) / (1.0 + ratio);
        ContactState { pressure_pa, slope_pa_per_m: pressure_pa * log_slope / self.roughness_m }
    }
}

/// `(1 - nu^2)/E` of the material at the face.
fn compliance(ring: &Ring) -> f64 {
    ring.parts.first().map_or(0.0, |part| (1.0 - part.material.poisson.value.powi(2)) / part.material.youngs_modulus.value)
}

#[cfg(test)]
mod tests {
    use super::*;

    const LAW: ContactLaw = ContactLaw { roughness_m: 1.3e-7, elastic_scale_pa: 6.0e6, plastic_pressure_pa: 3.0e8 };

    #[test]
    fn pressure_falls_with_the_gap_and_its_slope_is_the_difference_quotient() {
        let mut last = f64::INFINITY;
        for k in -30..60 {
            let gap = 1.3e-8 * k as f64;
            let state = LAW.at(gap);
            assert!(state.pressure_pa < last && state.slope_pa_per_m < 0.0);
            last = state.pressure_pa;
            let step = 1e-12;
            let quotient = (LAW.at(gap + step).pressure_pa - LAW.at(gap - step).pressure_pa) / (2.0 * step);
            assert!((state.slope_pa_per_m / quotient - 1.0).abs() < 1e-5, "gap {gap}");
        }
    }

    #[test]
    fn plastic_bearing_caps_the_pressure() {
        let soft = ContactLaw { plastic_pressure_pa: 1e5, ..LAW };
        assert!(soft.at(-3.9e-7).pressure_pa <= 1e5);
        assert!(soft.at(-3.9e-7).pressure_pa > 0.9e5);
    }

    #[test]
    fn many_distances_are_each_as_alone() {
        let gap: Vec<f64> = (-12..23).map(|k| 7e-8 * k as f64).collect();
        let alone: Vec<ContactState> = gap.iter().map(|h| LAW.at(*h)).collect();
        assert!(alone[0].pressure_pa > 1e6 && alone[34].pressure_pa == 0.0, "from pressed hard to apart");
        assert_eq!(LAW.over(&gap), alone);
        assert!(LAW.over(&[]).is_empty());
    }

    #[test]
    fn no_contact_far_away_or_when_switched_off() {
        assert_eq!(LAW.at(2e-6).pressure_pa, 0.0);
        assert_eq!(ContactLaw::none(1e-7).at(-1e-7), ContactState::default());
    }
}
