//! Liquids without an equation of state: correlations in temperature, made consistent in pressure.
//!
//! **What.** Density, heat capacity, viscosity, conductivity and, where known, vapour pressure of a liquid from
//! correlations at atmospheric pressure.
//!
//! **Equation.** `v(p, T) = v0(T) exp(-(p - p0)/K)` with a constant bulk modulus `K` (or none: incompressible), and from
//! `dH = cp dT + v (1 - beta T) dp`: `H = H0(T) + (v0 - T v0') phi(p)`, `phi = K (1 - exp(-(p - p0)/K))` or `p - p0`;
//! hence `cp = cp0 - T v0'' phi`: enthalpy, density and heat capacity belong to one potential.
//! Viscosity `mu0(T) exp(alpha (p - p0))` (Barus) where a coefficient is given.
//!
//! **Valid when.** Liquid, pressures far below the bulk modulus, temperatures in the range of the correlations.
//!
//! **Source.** Thermodynamics; each correlation names its own. Barus (1893) for the pressure coefficient.
//!
//! **Checked by.** Tests of consistency here, stored values in `tests/`.

use super::correlation::{Correlation, Integral, chebyshev};
use super::liquid_table::{LiquidTable, Sample};
use super::saturation::clenshaw;
use super::{FluidState, PhDerivatives, Phase};
use crate::error::PropertyError;

/// Pressure at which the correlations hold, Pa.
pub(crate) const REFERENCE_PRESSURE: f64 = 101_325.0;

/// What describes such a liquid.
#[derive(Debug, Clone)]
pub(crate) struct LiquidParts {
    pub name: String,
    pub density: Correlation,
    pub heat_capacity: Correlation,
    pub viscosity: Correlation,
    /// The viscosity correlation is kinematic (m2/s).
    pub kinematic: bool,
    pub conductivity: Correlation,
    pub vapour_pressure: Option<VapourPressure>,
    /// Pa; none: incompressible.
    pub bulk_modulus: Option<f64>,
    /// Barus coefficient, 1/Pa.
    pub pressure_viscosity: f64,
    /// Temperatures between which a value is given at all, K.
    pub limits: (f64, f64),
    pub limit_reasons: (String, String),
}

/// A vapour-pressure correlation with its own range.
#[derive(Debug, Clone)]
pub(crate) struct VapourPressure {
    pub correlation: Correlation,
    pub low: f64,
    pub high: f64,
}

/// A liquid ready for use.
#[derive(Debug)]
pub(crate) struct Liquid {
    pub parts: LiquidParts,
    enthalpy: Integral,
    /// `v0 - T v0'` at mid range, m3/kg, for the first guess of the inverse.
    middle_share: f64,
    /// Chebyshev coefficients of temperature over enthalpy at the reference pressure: first guess of the inverse.
    temperature_guess: Vec<f64>,
    enthalpy_limits: (f64, f64),
    table: LiquidTable,
}

/// Volume, enthalpy and their derivatives at one (pressure, temperature).
struct Thermal {
    v: f64,
    v_t: f64,
    v_p: f64,
    h: f64,
    cp: f64,
    h_p: f64,
}

/// Viscosity and conductivity with their slopes by temperature.
struct Transport {
    viscosity: [f64; 2],
    conductivity: [f64; 2],
}

impl Liquid {
    pub fn new(parts: LiquidParts) -> Result<Self, PropertyError> {
        let (low, high) = parts.limits;
        let enthalpy = Integral::of(&parts.heat_capacity, low, high, 273.15_f64.clamp(low, high));
        let ends = (enthalpy.at(low).0, enthalpy.at(high).0);
        if !(low < high && ends.0 < ends.1) {
            return Err(PropertyError::InvalidInput {
                field: "heat capacity".to_owned(),
                value: parts.heat_capacity.value(0.5 * (low + high)),
                requirement: "it must be positive over the whole temperature range, and the range must not be empty".to_owned(),
            });
        }
        for i in 0..=20 {
            let t = low + (high - low) * f64::from(i) / 20.0;
            for (field, c) in [
                ("density", &parts.density),
                ("heat capacity", &parts.heat_capacity),
                ("viscosity", &parts.viscosity),
                ("conductivity", &parts.conductivity),
            ] {
                let value = c.value(t);
                if !(value.is_finite() && value > 0.0) {
                    return Err(PropertyError::InvalidInput {
                        field: format!("{field} at {t:.2} K"),
                        value,
                        requirement: format!(
                            "it must be positive over {low:.2} to {high:.2} K; narrow the temperature range or correct the data"
                        ),
                    });
                }
            }
        }
        const N: usize = 9;
        let samples: Vec<f64> = (0..N)
            .map(|i| {
                let x = (std::f64::consts::PI * (i as f64 + 0.5) / N as f64).cos();
                let h = 0.5 * (ends.0 + ends.1) + 0.5 * (ends.1 - ends.0) * x;
                bisect(|t| enthalpy.at(t).0 - h, low, high)
            })
            .collect();
        let middle_share = {
            let t = 0.5 * (low + high);
            let v = parts.density.at(t).recip();
            v.v - t * v.d
        };
        let table = LiquidTable::new(parts.limits);
        Ok(Self { table, middle_share, temperature_guess: chebyshev(&samples), enthalpy_limits: ends, enthalpy, parts })
    }

    fn compression(&self, p: f64) -> (f64, f64) {
        let excess = p - REFERENCE_PRESSURE;
        match self.parts.bulk_modulus {
            Some(k) => {
                let squeezed = (-excess / k).exp();
                (squeezed, k * (1.0 - squeezed))
            }
            None => (1.0, excess),
        }
    }

    fn thermal(&self, p: f64, t: f64) -> Thermal {
        let (squeezed, phi) = self.compression(p);
        let v0 = self.parts.density.at(t).recip();
        let (h0, cp0) = self.enthalpy.at(t);
        let reduced = v0.v - t * v0.d;
        Thermal {
            v: v0.v * squeezed,
            v_t: v0.d * squeezed,
            v_p: self.parts.bulk_modulus.map_or(0.0, |k| -v0.v * squeezed / k),
            h: h0 + reduced * phi,
            cp: cp0 - t * v0.dd * phi,
            h_p: reduced * squeezed,
        }
    }

    /// Whether the temperature is inside the limits (a rounding beyond the ends is let through).
    fn inside(&self, t: f64) -> bool {
        t >= self.parts.limits.0 - 1e-6 && t <= self.parts.limits.1 + 1e-6
    }

    pub fn at_temperature(&self, p: f64, t: f64) -> Result<FluidState, PropertyError> {
        let (low, high) = self.parts.limits;
        if !self.inside(t) {
            let (reason, hint) = if t < low {
                (&self.parts.limit_reasons.0, "Raise the temperature, or describe the fluid in [fluid.custom] with a wider range")
            } else {
                (&self.parts.limit_reasons.1, "Lower the temperature, or describe the fluid in [fluid.custom] with a wider range")
            };
            return Err(PropertyError::TemperatureOutOfRange {
                fluid: self.parts.name.clone(),
                value_k: t,
                low_k: low,
                high_k: high,
                reason: reason.clone(),
                hint: hint.to_owned(),
            });
        }
        Ok(self.state(p, t, None))
    }

    pub fn at_enthalpy(&self, p: f64, h: f64) -> Result<FluidState, PropertyError> {
        let (low, high) = self.parts.limits;
        let (_, phi) = self.compression(p);
        let mut t = self.guessed_temperature(h, phi);
        let mut step = f64::INFINITY;
        for _ in 0..30 {
            let s = self.thermal(p, t);
            step = (h - s.h) / s.cp;
            t += step.clamp(-0.2 * (high - low), 0.2 * (high - low));
            t = t.clamp(low - 1.0, high + 1.0);
            // Newton converges quadratically: after a step this small the error is below 1e-10 K.
            if step.abs() < 1e-4 {
                break;
            }
        }
        if !self.inside(t) || !step.is_finite() {
            let (a, b) = (self.thermal(p, low).h, self.thermal(p, high).h);
            let reason = if t < low { &self.parts.limit_reasons.0 } else { &self.parts.limit_reasons.1 };
            return Err(PropertyError::EnthalpyOutOfRange {
                fluid: self.parts.name.clone(),
                value_j_per_kg: h,
                pressure_pa: p,
                low_j_per_kg: a,
                high_j_per_kg: b,
                reason: format!("{:.1} to {:.1} degC are known; {reason}", low - 273.15, high - 273.15),
            });
        }
        Ok(self.state(p, t, Some(h)))
    }

    fn guessed_temperature(&self, h: f64, phi: f64) -> f64 {
        let share = self.middle_share * phi;
        let (low, high) = self.enthalpy_limits;
        let x = (2.0 * (h - share) - low - high) / (high - low);
        clenshaw(&self.temperature_guess, x.clamp(-1.0, 1.0)).0
    }

    /// What the table holds of one temperature, and the vapour pressure there.
    fn sample(&self, t: f64) -> (Sample, f64) {
        let density = self.parts.density.at(t);
        let v0 = density.recip();
        let mut viscosity = self.parts.viscosity.value(t);
        if self.parts.kinematic {
            viscosity *= density.v;
        }
        let vapour = self.parts.vapour_pressure.as_ref().map_or(0.0, |v| v.correlation.value(t.min(v.high)));
        ([self.enthalpy.at(t).0, v0.v - t * v0.d, v0.v, viscosity, self.parts.conductivity.value(t)], vapour)
    }

    /// The state at pressure and enthalpy from the table; none where the correlations themselves must answer.
    pub fn film_state(&self, p: f64, h: f64) -> Option<FluidState> {
        let (squeezed, phi) = self.compression(p);
        let mut t = self.guessed_temperature(h, phi);
        let mut settled = false;
        for _ in 0..6 {
            let [h0, reduced] = self.table.cell(t, |t| self.sample(t))?.heat(t);
            let step = (h - h0[0] - reduced[0] * phi) / (h0[1] + reduced[1] * phi);
            t += step;
            // Newton converges quadratically: after a step this small the error is below 1e-10 K.
            if step.abs() < 1e-4 {
                settled = true;
                break;
            }
        }
        let (low, high) = self.parts.limits;
        if !(settled && t >= low && t <= high) {
            return None;
        }
        let cell = self.table.cell(t, |t| self.sample(t))?;
        let ([h0, reduced], rest) = (cell.heat(t), cell.rest(t));
        let cp = h0[1] + reduced[1] * phi;
        let [v, v_t] = rest.volume.map(|q| q * squeezed);
        let v_p = self.parts.bulk_modulus.map_or(0.0, |k| -v / k);
        let phase = if p > cell.stable_above_pa * (1.0 + 1e-9) { Phase::Liquid } else { self.phase(p, t) };
        let thick = self.thickening(p);
        let fluid = Transport { viscosity: rest.viscosity.map(|q| q * thick), conductivity: rest.conductivity };
        Some(self.assembled(p, h, t, &Thermal { v, v_t, v_p, h, cp, h_p: reduced[0] * squeezed }, &fluid, phase))
    }

    /// Factor of pressure on the viscosity.
    fn thickening(&self, p: f64) -> f64 {
        let barus = self.parts.pressure_viscosity;
        if barus == 0.0 { 1.0 } else { (barus * (p - REFERENCE_PRESSURE)).exp() }
    }

    fn state(&self, p: f64, t: f64, h: Option<f64>) -> FluidState {
        let s = self.thermal(p, t);
        let mut mu0 = self.parts.viscosity.at(t);
        if self.parts.kinematic {
            mu0 = mu0 * self.parts.density.at(t);
        }
        let thick = self.thickening(p);
        let k = self.parts.conductivity.at(t);
        let fluid = Transport { viscosity: [mu0.v * thick, mu0.d * thick], conductivity: [k.v, k.d] };
        self.assembled(p, h.unwrap_or(s.h), t, &s, &fluid, self.phase(p, t))
    }

    fn assembled(&self, p: f64, h: f64, t: f64, s: &Thermal, fluid: &Transport, phase: Phase) -> FluidState {
        let rho = 1.0 / s.v;
        let (rho_p_t, rho_t_p) = (-rho * rho * s.v_p, -rho * rho * s.v_t);
        let (t_p, t_h) = (-s.h_p / s.cp, 1.0 / s.cp);
        let ([mu, mu_t], [k, k_t]) = (fluid.viscosity, fluid.conductivity);
        FluidState {
            pressure_pa: p,
            enthalpy_j_per_kg: h,
            temperature_k: t,
            density_kg_per_m3: rho,
            viscosity_pa_s: mu,
            conductivity_w_per_m_k: k,
            isobaric_heat_capacity_j_per_kg_k: s.cp,
            vapour_mass_fraction: 0.0,
            phase,
            derivatives: PhDerivatives {
                temperature_by_pressure: t_p,
                temperature_by_enthalpy: t_h,
                density_by_pressure: rho_p_t + rho_t_p * t_p,
                density_by_enthalpy: rho_t_p * t_h,
                viscosity_by_pressure: self.parts.pressure_viscosity * mu + mu_t * t_p,
                viscosity_by_enthalpy: mu_t * t_h,
                conductivity_by_pressure: k_t * t_p,
                conductivity_by_enthalpy: k_t * t_h,
            },
        }
    }

    fn phase(&self, p: f64, t: f64) -> Phase {
        match &self.parts.vapour_pressure {
            Some(v) if t >= v.low && p < v.correlation.value(t.min(v.high)) => Phase::LiquidMetastable,
            _ => Phase::Liquid,
        }
    }
}

impl VapourPressure {
    /// Boiling temperature at a pressure inside the range of the correlation; sought over `-1/T`, in which the logarithm is all but straight.
    pub fn temperature(&self, p: f64) -> f64 {
        -1.0 / bisect(|x| (self.correlation.value(-1.0 / x) / p).ln(), -1.0 / self.low, -1.0 / self.high)
    }
}

/// Root of a rising function between two ends, by the secant rule kept inside a shrinking bracket (Illinois).
pub(crate) fn bisect(f: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa >= 0.0 {
        return a;
    }
    if fb <= 0.0 {
        return b;
    }
    let mut last_side = 0;
    for _ in 0..100 {
        let x = (a * fb - b * fa) / (fb - fa);
        let fx = f(x);
        let side = if fx < 0.0 { -1 } else { 1 };
        if side < 0 {
            (a, fa) = (x, fx);
            if last_side == side {
                fb *= 0.5;
            }
        } else {
            (b, fb) = (x, fx);
            if last_side == side {
                fa *= 0.5;
            }
        }
        last_side = side;
        if fx == 0.0 || (b - a) < 1e-12 * b.abs() {
            return x;
        }
    }
    0.5 * (a + b)
}
