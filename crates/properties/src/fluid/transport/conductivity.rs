//! The forms of thermal conductivity that several fluids share.
//!
//! **What.** Dilute gas as ratio of polynomials, from the dilute viscosity, or by a modified Eucken relation; dense part as sum
//! of terms; critical enhancement by the simplified crossover of Olchowy and Sengers.
//!
//! **Equation.** `k_c = rho cp R0 kB T / (6 pi mu xi) (O - O0)`, `O = 2/pi ((1 - 1/kappa) atan y + y/kappa)`,
//! `O0 = 2/pi (1 - exp(-1/(1/y + y^2/(3 delta^2))))`, `y = qD xi`, `xi = xi0 (dchi/Gamma)^(nu/gamma)`, with the susceptibility
//! `dchi = p_c rho/rho_c^2 (drho/dp(T) - drho/dp(T_ref) T_ref/T)` of the equation of state.
//!
//! **Valid when.** As the data file says.
//!
//! **Source.** Olchowy and Sengers, Int. J. Thermophys. 10 (1989) 417; Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004) 21;
//! Friend, Ingham and Ely, J. Phys. Chem. Ref. Data 20 (1991) 275 for the internal form; and the paper of each fluid.
//!
//! **Checked by.** `transport_agrees_with_the_outside_library`.

use serde::Deserialize;

use super::super::jets::Dual;
use super::{Local, helium, methane, polynomial, powers, terms};

const BOLTZMANN: f64 = 1.380_648_8e-23;

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Conductivity {
    pub source: String,
    whole: Option<Whole>,
    dilute: Option<Dilute>,
    dense: Option<Dense>,
    pub critical: Option<Enhancement>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(tag = "form", rename_all = "snake_case", deny_unknown_fields)]
enum Whole {
    Methane,
    Helium,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(tag = "form", rename_all = "snake_case", deny_unknown_fields)]
enum Dilute {
    Ratio { reducing_k: f64, numerator: Vec<[f64; 2]>, denominator: Vec<[f64; 2]> },
    ViscosityAndPowers { reducing_k: f64, by_viscosity: f64, terms: Vec<[f64; 2]> },
    Internal { scale: f64, internal: [f64; 2], curvature: f64 },
    Eucken { translation: f64, internal: [f64; 2] },
}

#[derive(Debug, Clone, Deserialize)]
#[serde(tag = "form", rename_all = "snake_case", deny_unknown_fields)]
enum Dense {
    Terms { reducing_temperature_k: f64, reducing_density_kg_per_m3: f64, terms: Vec<[f64; 5]> },
    CorrespondingStates { reference: String, reducing_density_kg_per_m3: f64, shape: Vec<f64> },
}

/// Simplified crossover enhancement of one fluid.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Enhancement {
    amplitude: f64,
    susceptibility: f64,
    correlation_length_m: f64,
    cut_off_per_m: f64,
    exponent: f64,
    pub reference_temperature_k: f64,
    reducing_pressure_pa: f64,
    reducing_density_kg_per_m3: f64,
}

impl Conductivity {
    pub fn asks_for_saturated_vapour(&self) -> bool {
        matches!(self.whole, Some(Whole::Methane))
    }

    pub fn reference(&self) -> Option<&str> {
        match &self.dense {
            Some(Dense::CorrespondingStates { reference, .. }) => Some(reference),
            _ => None,
        }
    }

    /// Dense part for a fluid that refers to this one; zero where it is not a sum of terms.
    pub fn dense(&self, rho: Dual, t: Dual) -> Dual {
        self.dense.as_ref().and_then(|d| d.at(rho, t)).unwrap_or(Dual::constant(0.0))
    }

    /// All but the enhancement, W/(m K).
    pub fn background(&self, local: &Local, dilute_viscosity: Dual) -> Dual {
        match self.whole {
            Some(Whole::Methane) => return methane::conductivity(local),
            Some(Whole::Helium) => return helium::conductivity(local),
            None => {}
        }
        let zero = Dual::constant(0.0);
        let dilute = self.dilute.as_ref().map_or(zero, |d| d.evaluate(local, dilute_viscosity));
        dilute + self.dense.as_ref().map_or(zero, |d| d.evaluate(local))
    }
}

impl Dilute {
    fn evaluate(&self, local: &Local, viscosity: Dual) -> Dual {
        let t = local.temperature;
        match self {
            Self::Ratio { reducing_k, numerator, denominator } => {
                let r = t * (1.0 / reducing_k);
                powers(numerator, r) / powers(denominator, r)
            }
            Self::ViscosityAndPowers { reducing_k, by_viscosity, terms } => {
                viscosity * *by_viscosity + powers(terms, t.recip() * *reducing_k)
            }
            Self::Internal { scale, internal, curvature } => {
                let f = t.recip() * internal[1] + internal[0];
                viscosity * (-(f * (local.ideal_curvature * *curvature + 1.5)) + 3.75) * *scale
            }
            Self::Eucken { translation, internal } => {
                let capacity = (local.ideal_curvature + 1.5) * -local.gas_constant;
                viscosity * ((t * internal[1] + internal[0]) * capacity + translation * local.gas_constant)
            }
        }
    }
}

impl Dense {
    fn evaluate(&self, local: &Local) -> Dual {
        let Self::CorrespondingStates { reducing_density_kg_per_m3, shape, .. } = self else {
            return self.at(local.density, local.temperature).unwrap_or(Dual::constant(0.0));
        };
        let Some(c) = &local.conformal else { return Dual::constant(0.0) };
        let psi = polynomial(shape, local.density * (1.0 / reducing_density_kg_per_m3));
        let there = c.reference.correlations().map_or(Dual::constant(0.0), |r| r.dense_conductivity(c.density * psi, c.temperature));
        there * c.scale(local.density, local.temperature) * (1.0 / c.mass_ratio).sqrt()
    }

    fn at(&self, rho: Dual, t: Dual) -> Option<Dual> {
        match self {
            Self::Terms { reducing_temperature_k, reducing_density_kg_per_m3, terms: rows } => {
                Some(terms(rows, t.recip() * *reducing_temperature_k, rho * (1.0 / reducing_density_kg_per_m3)))
            }
            Self::CorrespondingStates { .. } => None,
        }
    }
}

impl Enhancement {
    /// Factor that makes `rho (drho/dp)` of the equation dimensionless.
    pub fn susceptibility_scale(&self) -> f64 {
        self.reducing_pressure_pa / (self.reducing_density_kg_per_m3 * self.reducing_density_kg_per_m3)
    }

    /// Enhancement, W/(m K), zero where the susceptibility is not positive.
    pub fn evaluate(&self, rho: Dual, t: Dual, cp: Dual, kappa: Dual, viscosity: Dual, dchi: Dual) -> Dual {
        if dchi.v < 10.0 * f64::EPSILON {
            return Dual::constant(0.0);
        }
        let xi = (dchi * (1.0 / self.susceptibility)).powf(self.exponent) * self.correlation_length_m;
        let y = xi * self.cut_off_per_m;
        let delta = rho * (1.0 / self.reducing_density_kg_per_m3);
        let inverse_kappa = kappa.recip();
        let damping = -(y.recip() + y * y / (delta * delta * 3.0)).recip();
        let difference = (-inverse_kappa + 1.0) * y.atan() + inverse_kappa * y - (-damping.exp() + 1.0);
        let pi = std::f64::consts::PI;
        rho * cp * t * difference / (viscosity * xi) * (self.amplitude * BOLTZMANN / (6.0 * pi) * 2.0 / pi)
    }
}
