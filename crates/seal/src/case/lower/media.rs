//! Fluids and materials by name, from the properties crate.

use std::sync::Arc;

use halfmicron_properties::Fluid;
use halfmicron_properties::material::Material;

use super::super::tree::Table;
use super::Lowering;
use crate::model::{Duty, Ring};

/// Numbers of a face pair.
pub(super) struct Pair {
    pub mixed_friction: [f64; 2],
    pub pv_limit_pa_m_per_s: f64,
    pub wear_per_pa: [f64; 2],
    pub source: String,
}

pub(super) fn face_pair(_one: &str, _other: &str) -> Option<Pair> {
    None
}

pub(super) fn plastic_pressure_pa(_material: &Material) -> Option<f64> {
    None
}

impl Lowering<'_> {
    pub(super) fn material(&mut self, table: &Table, name: &str) -> Option<Material> {
        if !table.has(name) {
            self.missing(table, name, "");
        }
        Some(Material { name: table.text(name)?.to_owned(), youngs_modulus_pa: 1e11, poisson: 0.2 })
    }

    pub(super) fn fluid(&mut self) -> Option<Arc<Fluid>> {
        Fluid::constant(halfmicron_properties::ConstantFluid {
            density_kg_per_m3: 1000.0,
            viscosity_pa_s: 1e-3,
            conductivity_w_per_m_k: 0.6,
            isobaric_heat_capacity_j_per_kg_k: 4184.0,
        })
        .ok()
        .map(Arc::new)
    }

    pub(super) fn named_fluid(&mut self, _table: &Table, _key: &str, _name: &str) -> Option<Arc<Fluid>> {
        Fluid::constant(halfmicron_properties::ConstantFluid {
            density_kg_per_m3: 1000.0,
            viscosity_pa_s: 1e-3,
            conductivity_w_per_m_k: 0.6,
            isobaric_heat_capacity_j_per_kg_k: 4184.0,
        })
        .ok()
        .map(Arc::new)
    }

    pub(super) fn check_temperature(&mut self, _table: &Table, _duty: &Duty, _fluid: Option<&Arc<Fluid>>, _rings: [&Option<Ring>; 2]) {}
}
