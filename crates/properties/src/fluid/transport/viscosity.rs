//! The forms of viscosity that several fluids share.
//!
//! **What.** Dilute gas from collision integrals or powers of temperature, initial density dependence, and dense parts: free
//! volume (modified Batschinski-Hildebrand), friction theory, ratio of polynomials.
//!
//! **Equation.** Collision integral: `mu0 = factor sqrt(T) / exp(sum a ln(T/epsilon)^k)`. Free volume:
//! `sum n tau^t delta^d exp(-c delta^l) + F (1/(close - delta) - 1/close)`. Friction theory: `sum k_i p_i + sum k_ii p_i^2`
//! over ideal, repulsive and attractive pressure `rho R T`, `T dp/dT - rho R T`, `p - T dp/dT`.
//!
//! **Valid when.** As the data file says; the free volume form ends at the close-packed density, which no fluid here reaches
//! below its melting pressure.
//!
//! **Source.** Neufeld, Janzen and Aziz, J. Chem. Phys. 57 (1972) 1100; Rainwater and Friend, Phys. Rev. A 36 (1987) 4062;
//! Vogel et al., J. Phys. Chem. Ref. Data 27 (1998) 947; Quinones-Cisneros and Deiters, J. Phys. Chem. B 110 (2006) 12820.
//!
//! **Checked by.** `transport_agrees_with_the_outside_library`.

use serde::Deserialize;

use super::super::jets::Dual;
use super::{Local, carbon_dioxide, helium, hydrogen, liquid_hydrocarbons, methanol, polynomial, powers, products, terms};

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Viscosity {
    pub source: String,
    whole: Option<Whole>,
    dilute: Option<Dilute>,
    initial: Option<Initial>,
    dense: Option<Dense>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(tag = "form", rename_all = "snake_case", deny_unknown_fields)]
enum Whole {
    Methanol,
    Helium,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(tag = "form", rename_all = "snake_case", deny_unknown_fields)]
enum Dilute {
    CollisionIntegral { factor: f64, epsilon_k: f64, terms: Vec<[f64; 2]> },
    Powers { reducing_k: f64, terms: Vec<[f64; 2]> },
    KineticTheory { factor: f64, epsilon_k: f64 },
    CarbonDioxide,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Initial {
    epsilon_k: f64,
    terms: Vec<[f64; 2]>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(tag = "form", rename_all = "snake_case", deny_unknown_fields)]
enum Dense {
    BatschinskiHildebrand {
        reducing_temperature_k: f64,
        reducing_density_kg_per_m3: f64,
        terms: Vec<[f64; 5]>,
        free_volume: Vec<[f64; 3]>,
        close_numerator: Vec<[f64; 2]>,
        close_denominator: Vec<[f64; 2]>,
    },
    FrictionTheory {
        reducing_temperature_k: f64,
        linear: [[f64; 4]; 3],
        quadratic: [[f64; 4]; 3],
    },
    Ratio {
        reducing_temperature_k: f64,
        reducing_density_kg_per_m3: f64,
        numerator: Vec<[f64; 3]>,
        denominator: Vec<[f64; 3]>,
    },
    CorrespondingStates {
        reference: String,
        reducing_density_kg_per_m3: f64,
        shape: Vec<f64>,
    },
    CarbonDioxide,
    Hydrogen,
    Hexane,
    Heptane,
    Benzene,
    Toluene,
}

impl Viscosity {
    pub fn reference(&self) -> Option<&str> {
        match &self.dense {
            Some(Dense::CorrespondingStates { reference, .. }) => Some(reference),
            _ => None,
        }
    }

    /// Dilute gas, Pa s; zero for a fluid whose correlation does not name it apart.
    pub fn dilute(&self, t: Dual) -> Dual {
        match &self.dilute {
            None => Dual::constant(0.0),
            Some(Dilute::CollisionIntegral { factor, epsilon_k, terms }) => {
                let star = t * (1.0 / epsilon_k);
                let ln = star.chain(star.v.ln(), 1.0 / star.v);
                let mut c = [0.0; 8];
                for &[a, k] in terms {
                    c[(k as usize).min(7)] += a;
                }
                t.sqrt() * (-polynomial(&c, ln)).exp() * *factor
            }
            Some(Dilute::Powers { reducing_k, terms }) => powers(terms, t * (1.0 / reducing_k)),
            Some(Dilute::KineticTheory { factor, epsilon_k }) => {
                let star = t * (1.0 / epsilon_k);
                let integral = star.powf(-0.148_74) * 1.161_45 + (star * -0.773_20).exp() * 0.524_87 + (star * -2.437_87).exp() * 2.161_78;
                t.sqrt() / integral * *factor
            }
            Some(Dilute::CarbonDioxide) => carbon_dioxide::dilute_viscosity(t),
        }
    }

    /// Whole viscosity from its dilute part, Pa s.
    pub fn evaluate(&self, local: &Local, dilute: Dual) -> Dual {
        match self.whole {
            Some(Whole::Methanol) => return methanol::viscosity(local.density, local.temperature),
            Some(Whole::Helium) => return helium::viscosity(local),
            None => {}
        }
        let dense = self.dense.as_ref().map_or(Dual::constant(0.0), |d| d.evaluate(local));
        self.with_initial(local.density, local.temperature, dilute) + dense
    }

    fn with_initial(&self, rho: Dual, t: Dual, dilute: Dual) -> Dual {
        match &self.initial {
            None => dilute,
            Some(i) => dilute * (powers(&i.terms, t * (1.0 / i.epsilon_k)) * rho + 1.0),
        }
    }

    /// What density adds to the dilute gas, of a form that asks for density and temperature alone; zero for others, which are
    /// not referred to.
    pub fn excess(&self, rho: Dual, t: Dual) -> Dual {
        let dilute = self.dilute(t);
        let dense = self.dense.as_ref().and_then(|d| d.at(rho, t)).unwrap_or(Dual::constant(0.0));
        self.with_initial(rho, t, dilute) - dilute + dense
    }
}

impl Dense {
    fn evaluate(&self, local: &Local) -> Dual {
        match self {
            Self::FrictionTheory { reducing_temperature_k, linear, quadratic } => {
                friction(local, *reducing_temperature_k, linear, quadratic)
            }
            Self::CorrespondingStates { reducing_density_kg_per_m3, shape, .. } => {
                let Some(c) = &local.conformal else { return Dual::constant(0.0) };
                let psi = polynomial(shape, local.density * (1.0 / reducing_density_kg_per_m3));
                let there = c.reference.correlations().map_or(Dual::constant(0.0), |r| r.excess_viscosity(c.density * psi, c.temperature));
                there * c.scale(local.density, local.temperature) * c.mass_ratio.sqrt()
            }
            _ => self.at(local.density, local.temperature).unwrap_or(Dual::constant(0.0)),
        }
    }

    /// The forms that ask for density and temperature alone.
    fn at(&self, rho: Dual, t: Dual) -> Option<Dual> {
        let reduced = |t_r: f64, rho_r: f64| (t.recip() * t_r, rho * (1.0 / rho_r));
        Some(match self {
            Self::BatschinskiHildebrand {
                reducing_temperature_k,
                reducing_density_kg_per_m3,
                terms: rows,
                free_volume,
                close_numerator,
                close_denominator,
            } => {
                let (tau, delta) = reduced(*reducing_temperature_k, *reducing_density_kg_per_m3);
                let sum = terms(rows, tau, delta);
                if free_volume.is_empty() {
                    return Some(sum);
                }
                let close = powers(close_numerator, tau) / powers(close_denominator, tau);
                sum + products(free_volume, tau, delta) * ((close - delta).recip() - close.recip())
            }
            Self::Ratio { reducing_temperature_k, reducing_density_kg_per_m3, numerator, denominator } => {
                let (tau, delta) = reduced(*reducing_temperature_k, *reducing_density_kg_per_m3);
                products(numerator, tau, delta) / (products(denominator, tau, delta) + 1.0)
            }
            Self::CarbonDioxide => carbon_dioxide::dense_viscosity(rho, t),
            Self::Hydrogen => hydrogen::dense_viscosity(rho, t),
            Self::Hexane => liquid_hydrocarbons::hexane(rho, t),
            Self::Heptane => liquid_hydrocarbons::heptane(rho, t),
            Self::Benzene => liquid_hydrocarbons::benzene(rho, t),
            Self::Toluene => liquid_hydrocarbons::toluene(rho, t),
            Self::FrictionTheory { .. } | Self::CorrespondingStates { .. } => return None,
        })
    }
}

fn friction(local: &Local, reducing: f64, linear: &[[f64; 4]; 3], quadratic: &[[f64; 4]; 3]) -> Dual {
    let tau = local.temperature.recip() * reducing;
    let (first, second) = (tau.exp() - 1.0, (tau * tau).exp() - 1.0);
    let coefficient = |&[c0, c1, c2, n]: &[f64; 4]| (first * c1 + second * c2 + c0) * tau.powf(n);
    let ideal = local.density * local.temperature * local.gas_constant;
    let thermal = local.temperature * local.p_t;
    let parts = [ideal, thermal - ideal, local.pressure - thermal];
    let mut sum = Dual::constant(0.0);
    for (i, part) in parts.into_iter().enumerate() {
        sum = sum + (coefficient(&linear[i]) + coefficient(&quadratic[i]) * part) * part;
    }
    sum
}
