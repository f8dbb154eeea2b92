//! Viscosity and thermal conductivity of pure fluids by published correlations, their coefficients read from data.
//!
//! **What.** Viscosity is dilute gas, initial density dependence and dense part; conductivity is dilute gas, dense part and
//! a critical enhancement. Each part is one of a few published forms; which one and with which numbers, the data file says.
//!
//! **Equation.** `mu = mu0(T) (1 + B(T) rho) + mu_d(rho, T)`, `k = k0(T) + k_d(rho, T) + k_c`. The forms stand in
//! `viscosity.rs`, `conductivity.rs` and the files named after a fluid.
//!
//! **Valid when.** In the range that the data file gives; at the critical point itself the enhancement is held, see
//! `PureFluid::conductivity_enhancement`.
//!
//! **Source.** The paper that the data file names for each property of each fluid.
//!
//! **Checked by.** `transport_agrees_with_the_outside_library`, `iapws_tables` of water apart.

mod carbon_dioxide;
mod conductivity;
mod corresponding_states;
mod helium;
mod hydrogen;
mod liquid_hydrocarbons;
mod methane;
mod methanol;
mod viscosity;

use serde::Deserialize;

use super::jets::Dual;
pub(crate) use conductivity::Enhancement;
pub(crate) use corresponding_states::Conformal;

/// Transport section of a data file.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Correlations {
    viscosity: viscosity::Viscosity,
    conductivity: conductivity::Conductivity,
}

/// What the correlations may ask of a state; derivatives by density (`a`) and temperature (`b`).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Local<'a> {
    pub density: Dual,
    pub temperature: Dual,
    pub pressure: Dual,
    /// Derivative of pressure by temperature at constant density.
    pub p_t: Dual,
    /// Derivative of pressure by density at constant temperature, kept above zero.
    pub p_rho: Dual,
    /// `tau^2` times the second derivative of the ideal part by `tau`: minus the ideal isochoric heat capacity over the gas constant.
    pub ideal_curvature: Dual,
    pub gas_constant: f64,
    /// Density of saturated vapour where the state is a vapour below the critical temperature.
    pub saturated_vapour: Option<Dual>,
    /// Conformal state of the reference fluid, where the data file names one.
    pub conformal: Option<Conformal<'a>>,
}

impl Correlations {
    /// Keys of the papers of viscosity and conductivity.
    pub fn sources(&self) -> [&str; 2] {
        [&self.viscosity.source, &self.conductivity.source]
    }

    /// Name of the fluid at whose conformal state the dense parts are taken.
    pub fn reference(&self) -> Option<&str> {
        self.viscosity.reference().or(self.conductivity.reference())
    }

    /// Viscosity above that of the dilute gas, for a fluid that refers to this one.
    fn excess_viscosity(&self, rho: Dual, t: Dual) -> Dual {
        self.viscosity.excess(rho, t)
    }

    /// Dense part of the conductivity, for a fluid that refers to this one.
    fn dense_conductivity(&self, rho: Dual, t: Dual) -> Dual {
        self.conductivity.dense(rho, t)
    }

    /// Whether the dew line is among what the correlations ask for.
    pub fn asks_for_saturated_vapour(&self) -> bool {
        self.conductivity.asks_for_saturated_vapour()
    }

    /// The critical enhancement, where it is of the form that takes interpolated quantities.
    pub fn enhancement(&self) -> Option<&Enhancement> {
        self.conductivity.critical.as_ref()
    }

    /// Viscosity, Pa s, and conductivity without that enhancement, W/(m K).
    pub fn evaluate(&self, local: &Local) -> (Dual, Dual) {
        let dilute = self.viscosity.dilute(local.temperature);
        (self.viscosity.evaluate(local, dilute), self.conductivity.background(local, dilute))
    }
}

/// `sum n tau^t delta^d exp(-c delta^l)`, rows n, t, d, c, l.
fn terms(rows: &[[f64; 5]], tau: Dual, delta: Dual) -> Dual {
    let (x, y) = (delta.v.ln(), tau.v.ln());
    let (mut value, mut by_delta, mut by_tau) = (0.0, 0.0, 0.0);
    for &[n, t, d, c, l] in rows {
        let e = if c == 0.0 { 0.0 } else { c * (l * x).exp() };
        let f = n * (t * y + d * x - e).exp();
        value += f;
        by_delta += f * (d - l * e);
        by_tau += f * t;
    }
    two(value, tau, by_tau, delta, by_delta)
}

/// `sum n tau^t delta^d`, rows n, t, d.
fn products(rows: &[[f64; 3]], tau: Dual, delta: Dual) -> Dual {
    let (x, y) = (delta.v.ln(), tau.v.ln());
    let (mut value, mut by_delta, mut by_tau) = (0.0, 0.0, 0.0);
    for &[n, t, d] in rows {
        let f = n * (t * y + d * x).exp();
        value += f;
        by_delta += f * d;
        by_tau += f * t;
    }
    two(value, tau, by_tau, delta, by_delta)
}

/// A function of two variables from its value and its logarithmic derivatives.
fn two(value: f64, tau: Dual, by_ln_tau: f64, delta: Dual, by_ln_delta: f64) -> Dual {
    let (s, r) = (by_ln_tau / tau.v, by_ln_delta / delta.v);
    Dual::new(value, s * tau.a + r * delta.a, s * tau.b + r * delta.b)
}

/// `sum a x^t`, rows a, t.
fn powers(rows: &[[f64; 2]], x: Dual) -> Dual {
    let y = x.v.ln();
    let (mut value, mut slope) = (0.0, 0.0);
    for &[a, t] in rows {
        let f = a * (t * y).exp();
        value += f;
        slope += f * t;
    }
    x.chain(value, slope / x.v)
}

/// `c[0] + c[1] x + c[2] x^2 + ...`
fn polynomial(c: &[f64], x: Dual) -> Dual {
    c.iter().rev().fold(Dual::constant(0.0), |sum, &k| sum * x + k)
}
