//! STUB
#![allow(missing_docs)]
use std::sync::Arc;
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{0}")]
pub struct PropertyError(pub String);
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Phase {
    Liquid,
}
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PhDerivatives {
    pub temperature_by_pressure: f64,
    pub temperature_by_enthalpy: f64,
    pub density_by_pressure: f64,
    pub density_by_enthalpy: f64,
    pub viscosity_by_pressure: f64,
    pub viscosity_by_enthalpy: f64,
    pub conductivity_by_pressure: f64,
    pub conductivity_by_enthalpy: f64,
}
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FluidState {
    pub pressure_pa: f64,
    pub enthalpy_j_per_kg: f64,
    pub temperature_k: f64,
    pub density_kg_per_m3: f64,
    pub viscosity_pa_s: f64,
    pub conductivity_w_per_m_k: f64,
    pub isobaric_heat_capacity_j_per_kg_k: f64,
    pub vapour_mass_fraction: f64,
    pub phase: Phase,
    pub derivatives: PhDerivatives,
}
#[derive(Debug)]
pub struct Fluid {
    mu: f64,
    rho: f64,
    cp: f64,
    k: f64,
    decay: f64,
}
pub struct ConstantFluid {
    pub density_kg_per_m3: f64,
    pub viscosity_pa_s: f64,
    pub conductivity_w_per_m_k: f64,
    pub isobaric_heat_capacity_j_per_kg_k: f64,
}
pub enum Saturation {
    At(f64),
    NoVapourData,
}
impl Fluid {
    pub fn constant(c: ConstantFluid) -> Result<Self, PropertyError> {
        Ok(Self {
            mu: c.viscosity_pa_s,
            rho: c.density_kg_per_m3,
            cp: c.isobaric_heat_capacity_j_per_kg_k,
            k: c.conductivity_w_per_m_k,
            decay: 0.0,
        })
    }
    pub fn thinning(self, decay: f64) -> Self {
        Self { decay, ..self }
    }
    pub fn film_state(&self, p: f64, h: f64) -> Result<FluidState, PropertyError> {
        let t = 293.15 + (h - p / self.rho) / self.cp;
        let mu = self.mu * (-self.decay * (t - 293.15)).exp();
        Ok(FluidState {
            pressure_pa: p,
            enthalpy_j_per_kg: h,
            temperature_k: t,
            density_kg_per_m3: self.rho,
            viscosity_pa_s: mu,
            conductivity_w_per_m_k: self.k,
            isobaric_heat_capacity_j_per_kg_k: self.cp,
            vapour_mass_fraction: 0.0,
            phase: Phase::Liquid,
            derivatives: PhDerivatives {
                temperature_by_pressure: -1.0 / self.rho / self.cp,
                temperature_by_enthalpy: 1.0 / self.cp,
                viscosity_by_enthalpy: -self.decay * mu / self.cp,
                viscosity_by_pressure: self.decay * mu / self.rho / self.cp,
                ..Default::default()
            },
        })
    }
    pub fn at_pressure_enthalpy(&self, p: f64, h: f64) -> Result<FluidState, PropertyError> {
        self.film_state(p, h)
    }
    pub fn at_pressure_temperature(&self, p: f64, t: f64) -> Result<FluidState, PropertyError> {
        self.film_state(p, p / self.rho + self.cp * (t - 293.15))
    }
    pub fn saturation_temperature(&self, _p: f64) -> Saturation {
        Saturation::NoVapourData
    }
    pub fn saturation_pressure(&self, _t: f64) -> Saturation {
        Saturation::NoVapourData
    }
    pub fn name(&self) -> &str {
        "stub"
    }
}
pub fn shared(f: Fluid) -> Arc<Fluid> {
    Arc::new(f)
}
/// Materials.
pub mod material {
    /// A material.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Material {
        /// Name.
        pub name: String,
        /// E.
        pub youngs_modulus_pa: f64,
        /// nu.
        pub poisson: f64,
    }
}
