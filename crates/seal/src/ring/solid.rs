//! Solid properties of a ring's parts at one temperature.

use halfmicron_numerics::elasticity::Isotropic;

use halfmicron_properties::material::Material;

use super::RingError;
use crate::notice::Notice;
use crate::rules::text::temperature;

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
    /// Values of a material at a temperature, with its mean expansion from the stress-free temperature, K.
    ///
    /// A table that ends before either temperature is held at its end, with a notice.
    pub fn at(material: &Material, stress_free_temperature_k: f64, temperature_k: f64, notices: &mut Vec<Notice>) -> Self {
        let youngs = material.youngs_modulus_at(temperature_k);
        let conductivity = material.conductivity_at(temperature_k);
        let heat = material.specific_heat_at(temperature_k);
        let expansion = material.mean_expansion(stress_free_temperature_k, temperature_k);
        let held = [
            ("Young's modulus", youngs.clamped),
            ("conductivity", conductivity.clamped),
            ("specific heat", heat.clamped),
            ("expansion", expansion.clamped),
        ];
        let held: Vec<&str> = held.into_iter().filter_map(|(what, clamped)| clamped.then_some(what)).collect();
        if !held.is_empty() {
            notices.push(Notice::caution(
                "clamp.material",
                &material.name,
                format!("held at the end of its table, {} is beyond it: {}", temperature(temperature_k), held.join(", ")),
                "State the supplier's values for this temperature.",
            ));
        }
        if !material.serves_at(temperature_k) {
            let (low, high) = material.service_range_k;
            notices.push(Notice::caution(
                "range.material",
                &material.name,
                format!(
                    "`{}` at {} is outside its service range of {} to {}",
                    material.name,
                    temperature(temperature_k),
                    temperature(low),
                    temperature(high)
                ),
                "choose a material for this temperature",
            ));
        }
        Self {
            name: material.name.clone(),
            youngs_modulus_pa: youngs.value,
            poisson: material.poisson.value,
            expansion_per_k: expansion.value,
            density_kg_per_m3: material.density.value,
            conductivity_w_per_m_k: conductivity.value,
            specific_heat_j_per_kg_k: heat.value,
            tension_pa: material.tension_strength.as_ref().map(|strength| strength.value),
        }
    }

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
