//! Convection on both rings at one duty.

use halfmicron_properties::FluidState;

use crate::convection::{Bulk, RingConvection, for_ring, low_side_notice};
use crate::model::{Duty, Model};
use crate::notice::Notice;

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

impl DutyConvection {
    /// With factors on the coefficients of the sealed and of the low side.
    pub fn scaled(mut self, [sealed, low_side]: [f64; 2]) -> Self {
        for ring in &mut self.rings {
            for (coefficients, factor) in [(&mut ring.sealed, sealed), (&mut ring.low_side, low_side)] {
                for coefficient in coefficients {
                    coefficient.cylinder *= factor;
                    coefficient.plane *= factor;
                }
            }
        }
        self
    }
}

/// Convection at a duty with the fluid of the chamber as it is.
pub(super) fn for_duty(model: &Model, duty: &Duty, chamber: &FluidState) -> DutyConvection {
    let sealed = Bulk {
        density_kg_per_m3: chamber.density_kg_per_m3,
        viscosity_pa_s: chamber.viscosity_pa_s,
        conductivity_w_per_m_k: chamber.conductivity_w_per_m_k,
        specific_heat_j_per_kg_k: chamber.isobaric_heat_capacity_j_per_kg_k,
        expansion_per_k: expansion_per_k(chamber),
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

/// Volumetric expansion at constant pressure, 1/K: from the derivatives of the equilibrium state itself, so that gases and fluids near
/// their critical point have it too.
fn expansion_per_k(chamber: &FluidState) -> f64 {
    let by = &chamber.derivatives;
    let expansion = -by.density_by_enthalpy / (by.temperature_by_enthalpy * chamber.density_kg_per_m3);
    // A fluid of constant properties has no derivatives to divide by.
    if expansion.is_finite() { expansion } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use halfmicron_properties::Fluid;

    fn by_difference(fluid: &Fluid, pressure_pa: f64, temperature_k: f64) -> f64 {
        let density = |t: f64| fluid.at_pressure_temperature(pressure_pa, t).unwrap().density_kg_per_m3;
        (density(temperature_k - 0.05) - density(temperature_k + 0.05)) / (0.1 * density(temperature_k))
    }

    /// Liquid, steam, supercritical water and an oil against a difference of densities; steam of low pressure is an ideal gas.
    #[test]
    fn expansion_of_liquid_gas_and_supercritical_fluid() {
        let water = Fluid::named("water").unwrap();
        let oil = Fluid::named("mineral oil ISO VG 46").unwrap();
        for (fluid, pressure, temperature) in
            [(&water, 1e6, 300.0), (&water, 1e6, 460.0), (&water, 25e6, 660.0), (&water, 1e5, 400.0), (&oil, 1e6, 330.0)]
        {
            let state = fluid.at_pressure_temperature(pressure, temperature).unwrap();
            let (found, expected) = (expansion_per_k(&state), by_difference(fluid, pressure, temperature));
            assert!((found / expected - 1.0).abs() < 2e-3, "{} at {pressure} Pa, {temperature} K: {found} {expected}", fluid.name());
        }
        let steam = water.at_pressure_temperature(1e4, 500.0).unwrap();
        assert!((expansion_per_k(&steam) * 500.0 - 1.0).abs() < 5e-3);
    }
}
