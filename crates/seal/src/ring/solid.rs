//! Solid properties of a ring's parts at one temperature.

use halfmicron_numerics::elasticity::Isotropic;

use super::RingError;

/// What the finite elements need of a material, at the temperature of the ring.
#[derive(Debug, Clone, PartialEq)]
pub struct Solid {
    /// Name of the material.
    pub name: String,
    /// Young's modulus, Pa.
    pub youngs_modulus_pa: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Mean expansion from the stress-free temperature, 1/K.
    pub expansion_per_k: f64,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Conductivity, W/(m K).
    pub conductivity_w_per_m_k: f64,
    /// Specific heat, J/(kg K).
    pub specific_heat_j_per_kg_k: f64,
    /// Strength in tension, Pa, when known.
    pub tension_pa: Option<f64>,
}

impl Solid {
    /// Elastic properties for the finite elements.
    pub(super) fn isotropic(&self) -> Isotropic {
        Isotropic {
            youngs_modulus: self.youngs_modulus_pa,
            poisson: self.poisson,
            expansion: self.expansion_per_k,
            density: self.density_kg_per_m3,
        }
    }

    /// Refuse values that no solid can have.
    pub(super) fn check(&self) -> Result<(), RingError> {
        let bad = |what, value| Err(RingError::BadMaterial { material: self.name.clone(), what, value });
        let positive = |value: f64| value > 0.0 && value.is_finite();
        if !positive(self.youngs_modulus_pa) {
            return bad("Young's modulus", self.youngs_modulus_pa);
        }
        if !(self.poisson > -1.0 && self.poisson < 0.499) {
            return bad("Poisson's ratio", self.poisson);
        }
        if !positive(self.conductivity_w_per_m_k) {
            return bad("conductivity", self.conductivity_w_per_m_k);
        }
        if !positive(self.density_kg_per_m3) {
            return bad("density", self.density_kg_per_m3);
        }
        if !self.expansion_per_k.is_finite() {
            return bad("expansion", self.expansion_per_k);
        }
        if !positive(self.specific_heat_j_per_kg_k) {
            return bad("specific heat", self.specific_heat_j_per_kg_k);
        }
        Ok(())
    }
}
