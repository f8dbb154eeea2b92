//! The two sides of the vapour-liquid line at one pressure, with their derivatives along it.

use super::pure::PureFluid;
use super::{FluidState, Phase};

/// One saturated phase at a pressure; derivatives are those along the line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaturatedPhase {
    /// Specific enthalpy, J/kg.
    pub enthalpy_j_per_kg: f64,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity_pa_s: f64,
    /// Thermal conductivity, W/(m K).
    pub conductivity_w_per_m_k: f64,
    /// J/(kg Pa)
    pub enthalpy_by_pressure: f64,
    /// kg/(m3 Pa)
    pub density_by_pressure: f64,
    /// s
    pub viscosity_by_pressure: f64,
    /// W/(m K Pa)
    pub conductivity_by_pressure: f64,
}

/// The vapour-liquid line at one absolute pressure below the critical one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PhaseLine {
    /// Absolute pressure, Pa.
    pub pressure_pa: f64,
    /// Saturation temperature, K.
    pub temperature_k: f64,
    /// Its slope, K/Pa.
    pub temperature_by_pressure: f64,
    /// Saturated liquid.
    pub liquid: SaturatedPhase,
    /// Saturated vapour.
    pub vapour: SaturatedPhase,
}

impl PhaseLine {
    /// Latent heat of evaporation, J/kg.
    pub fn latent_heat_j_per_kg(&self) -> f64 {
        self.vapour.enthalpy_j_per_kg - self.liquid.enthalpy_j_per_kg
    }

    /// With the viscosity of both phases times a factor.
    pub(super) fn thickened(mut self, factor: f64) -> Self {
        for phase in [&mut self.liquid, &mut self.vapour] {
            phase.viscosity_pa_s *= factor;
            phase.viscosity_by_pressure *= factor;
        }
        self
    }

    /// The line at a pressure from the equation of state itself; nothing outside the line.
    pub(super) fn of_equation(fluid: &PureFluid, p: f64) -> Option<Self> {
        let curves = fluid.saturation();
        if !(p >= curves.lowest_pressure() && p < fluid.line_end()) {
            return None;
        }
        let t = curves.temperature(p);
        let (rho_l, rho_v) = curves.densities(t);
        let (l, v) = (fluid.state(rho_l, t, Phase::Liquid), fluid.state(rho_v, t, Phase::Vapour));
        // Clapeyron
        let slope = t * (1.0 / rho_v - 1.0 / rho_l) / (v.enthalpy_j_per_kg - l.enthalpy_j_per_kg);
        Some(Self {
            pressure_pa: p,
            temperature_k: t,
            temperature_by_pressure: slope,
            liquid: SaturatedPhase::along(&l, slope),
            vapour: SaturatedPhase::along(&v, slope),
        })
    }
}

impl SaturatedPhase {
    /// A saturated state with its derivatives along the line, where the temperature rises by `slope` (K/Pa).
    fn along(s: &FluidState, slope: f64) -> Self {
        let d = &s.derivatives;
        let h_p = (slope - d.temperature_by_pressure) / d.temperature_by_enthalpy;
        Self {
            enthalpy_j_per_kg: s.enthalpy_j_per_kg,
            density_kg_per_m3: s.density_kg_per_m3,
            viscosity_pa_s: s.viscosity_pa_s,
            conductivity_w_per_m_k: s.conductivity_w_per_m_k,
            enthalpy_by_pressure: h_p,
            density_by_pressure: d.density_by_pressure + d.density_by_enthalpy * h_p,
            viscosity_by_pressure: d.viscosity_by_pressure + d.viscosity_by_enthalpy * h_p,
            conductivity_by_pressure: d.conductivity_by_pressure + d.conductivity_by_enthalpy * h_p,
        }
    }
}
