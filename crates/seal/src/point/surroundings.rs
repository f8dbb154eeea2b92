//! Convection on both rings at one duty.

use halfmicron_properties::{Fluid, FluidState};

use crate::convection::{Bulk, RingConvection, for_ring, low_side_notice};
use crate::model::{Duty, Model};
use crate::notice::Notice;

/// Step over which the expansion of the fluid is taken, K.
const EXPANSION_STEP_K: f64 = 0.5;

/// Film coefficients of both rings and the temperature of the low side.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct DutyConvection {
    /// Rotating and stationary ring.
    pub rings: [RingConvection; 2],
    /// Bulk temperature of the low side, K.
    pub low_side_temperature_k: f64,
    /// Ranges left, defaults taken.
    pub notices: Vec<Notice>,
}

/// Convection at a duty with the fluid of the chamber as it is.
pub(super) fn for_duty(model: &Model, duty: &Duty, fluid: &Fluid, chamber: &FluidState) -> DutyConvection {
    let sealed = Bulk {
        density_kg_per_m3: chamber.density_kg_per_m3,
        viscosity_pa_s: chamber.viscosity_pa_s,
        conductivity_w_per_m_k: chamber.conductivity_w_per_m_k,
        specific_heat_j_per_kg_k: chamber.isobaric_heat_capacity_j_per_kg_k,
        expansion_per_k: expansion_per_k(fluid, chamber),
    };
    // The air behind a seal follows the shaft and the housing, which follow the chamber: its own temperature is seldom known.
    let low_side_temperature_k = chamber.temperature_k;
    let air = Bulk::air(duty.low_pressure_pa, low_side_temperature_k);
    let rings = [&model.rotating_ring, &model.stationary_ring]
        .map(|ring| for_ring(ring, model.seal.pressure_side, duty.speed_rad_per_s, &sealed, &air));
    let behind = [(model.rotating_ring.role, &rings[0]), (model.stationary_ring.role, &rings[1])];
    let mut notices = vec![low_side_notice(low_side_temperature_k, "the chamber temperature", &behind)];
    notices.extend(rings.iter().flat_map(|ring| ring.notices.iter().cloned()));
    DutyConvection { rings, low_side_temperature_k, notices }
}

/// Volumetric expansion at constant pressure, 1/K.
fn expansion_per_k(fluid: &Fluid, chamber: &FluidState) -> f64 {
    let density = |t: f64| fluid.liquid_at_pressure_temperature(chamber.pressure_pa, t).map(|s| s.density_kg_per_m3);
    match (density(chamber.temperature_k - EXPANSION_STEP_K), density(chamber.temperature_k + EXPANSION_STEP_K)) {
        (Ok(cold), Ok(hot)) => (cold - hot) / (2.0 * EXPANSION_STEP_K * chamber.density_kg_per_m3),
        _ => 0.0,
    }
}
