//! One ring by itself under stated loads: what `halfmicron ring` shows.

use serde::{Deserialize, Serialize};

use super::loads::hydraulic_closing;
use super::{MeshOptions, RingConditions, RingError, RingReduction, RingState};
use crate::convection::{self, Bulk};
use crate::model::{ChamberTemperature, Duty, Model, PressureSide, Ring, RingRole};
use crate::notice::Notice;
use crate::outcome::{Coning, FitResult, Stress};

/// Change of the mean temperature at which material values are no longer renewed, K.
const SETTLED_K: f64 = 1.0;

/// Temperature of the air on the low side, K.
const AMBIENT_K: f64 = 293.15;

/// One ring under stated loads, SI units.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RingAlone {
    /// `rotating` or `stationary`.
    pub ring: String,
    /// Name of the duty.
    pub duty: String,
    /// Radii of the face nodes, m.
    pub radius_m: Vec<f64>,
    /// Face pressure above the low pressure, Pa.
    pub face_pressure_pa: Vec<f64>,
    /// Face temperature, K.
    pub face_temperature_k: Vec<f64>,
    /// Axial deflection of the face into the body, the mean of the support at rest, m.
    pub deflection_m: Vec<f64>,
    /// Part of it by pressure, spin, spring and fits, from the inner edge of the band, m.
    pub elastic_deflection_m: Vec<f64>,
    /// Part of it by heat, from the inner edge of the band, m.
    pub thermal_deflection_m: Vec<f64>,
    /// End-to-end coning, positive opening toward the high-pressure side, m.
    pub coning_m: Coning,
    /// Best-fit slope times the width of the band, same sign, m.
    pub coning_fit_m: f64,
    /// Heat entering over the face, W.
    pub heat_w: f64,
    /// Heat leaving by convection, W.
    pub convected_heat_w: f64,
    /// Their difference over the greater of the heat and 1 W.
    pub heat_balance: f64,
    /// Greatest face temperature, K.
    pub face_temperature_max_k: f64,
    /// Mean temperature of the ring, at which material values are taken, K.
    pub mean_temperature_k: f64,
    /// Temperature at the secondary seal, K.
    pub secondary_seal_temperature_k: f64,
    /// Stresses.
    pub stress_pa: Stress,
    /// Speed at which tension by spin alone reaches the strength, over the speed.
    pub burst_speed_ratio: Option<f64>,
    /// Force of the support towards the face, N; of a floating ring the surplus at the spring circle.
    pub reaction_n: f64,
    /// Sum of the applied axial forces, N into the body.
    pub applied_force_n: f64,
    /// Their difference over the sum of the magnitudes that make it up.
    pub force_balance: f64,
    /// Interference fits.
    pub fits: Vec<FitResult>,
    /// Nodes of the mesh.
    pub mesh_nodes: usize,
    /// What the reader must know.
    pub notices: Vec<Notice>,
}

/// Why a ring alone has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RingAloneError {
    /// The ring itself.
    #[error(transparent)]
    Ring(#[from] RingError),
    /// The fluid has no properties at the duty.
    #[error("the fluid of duty `{duty}` at {pressure_pa} Pa, {temperature_k} K: {reason}")]
    Fluid {
        /// Name of the duty.
        duty: String,
        /// Pressure, Pa.
        pressure_pa: f64,
        /// Temperature, K.
        temperature_k: f64,
        /// What the fluid says.
        reason: String,
    },
}

/// Solve one ring under the duty's pressures, its stated face load and convection by correlation or as stated.
///
/// Without a stated face pressure the film falls linearly over the band from the sealed to the low pressure; without stated
/// heat none enters.
///
/// # Errors
/// [`RingAloneError`] names the ring's or the fluid's cause.
pub fn ring_alone(model: &Model, role: RingRole, duty: &Duty) -> Result<RingAlone, RingAloneError> {
    let ring = match role {
        RingRole::Rotating => &model.rotating_ring,
        RingRole::Stationary => &model.stationary_ring,
    };
    let mut notices = Vec::new();
    let conditions = conditions(model, ring, duty, &mut notices)?;
    let (reduction, state, pressure) = settled(model, ring, &conditions, &mut notices)?;
    Ok(report(model, ring, duty, &conditions, &reduction, state, pressure, notices))
}

fn conditions(model: &Model, ring: &Ring, duty: &Duty, notices: &mut Vec<Notice>) -> Result<RingConditions, RingAloneError> {
    let temperature_k = match duty.temperature {
        ChamberTemperature::Stated(temperature) => temperature,
        ChamberTemperature::FromFlush(temperature) => {
            notices.push(Notice::note(
                "ring.chamber-temperature",
                "duty.flush_temperature",
                "the ring alone stands in fluid at the flush temperature",
            ));
            temperature
        }
    };
    let fluid = duty.fluid.as_ref().unwrap_or(&model.fluid);
    let state = fluid.at_pressure_temperature(duty.pressure_pa, temperature_k).map_err(|error| RingAloneError::Fluid {
        duty: duty.name.clone(),
        pressure_pa: duty.pressure_pa,
        temperature_k,
        reason: error.to_string(),
    })?;
    let sealed = Bulk {
        density_kg_per_m3: state.density_kg_per_m3,
        viscosity_pa_s: state.viscosity_pa_s,
        conductivity_w_per_m_k: state.conductivity_w_per_m_k,
        specific_heat_j_per_kg_k: state.isobaric_heat_capacity_j_per_kg_k,
        expansion_per_k: -state.derivatives.density_by_enthalpy * state.isobaric_heat_capacity_j_per_kg_k / state.density_kg_per_m3,
    };
    let side = model.seal.pressure_side;
    let convection = convection::for_ring(ring, side, duty.speed_rad_per_s, &sealed, &Bulk::air(duty.low_pressure_pa, AMBIENT_K));
    notices.push(convection::low_side_notice(AMBIENT_K, "ambient temperature", &[(ring.role, &convection)]));
    notices.extend(convection.notices);
    let reverse = duty.pressure_pa < duty.low_pressure_pa;
    Ok(RingConditions {
        sealed_pressure_pa: duty.pressure_pa,
        low_pressure_pa: duty.low_pressure_pa,
        balance_radius_m: if reverse { model.seal.reverse_balance_radius_m } else { model.seal.balance_radius_m },
        speed_rad_per_s: duty.speed_rad_per_s,
        spring_force_n: model.seal.spring_force_n,
        friction_force_n: 0.0,
        sealed_temperature_k: temperature_k,
        low_side_temperature_k: AMBIENT_K,
        sealed_coefficient_w_per_m2_k: convection.sealed[1],
        low_side_coefficient_w_per_m2_k: convection.low_side[1],
    })
}

/// Reduction at the ring's own mean temperature, with its state.
fn settled(
    model: &Model,
    ring: &Ring,
    conditions: &RingConditions,
    notices: &mut Vec<Notice>,
) -> Result<(RingReduction, RingState, Vec<f64>), RingError> {
    let side = model.seal.pressure_side;
    let mut reduction = RingReduction::at_temperature(ring, &model.band, side, &MeshOptions::default(), conditions.sealed_temperature_k)?;
    let (pressure, flux) = face_load(ring, side, conditions, &reduction, notices);
    let mut state = reduction.state(conditions, &pressure, &flux)?;
    let mut taken_at = conditions.sealed_temperature_k;
    for _ in 0..6 {
        if !RingReduction::changes_with_temperature(ring) || (state.mean_temperature_k - taken_at).abs() < SETTLED_K {
            break;
        }
        taken_at = state.mean_temperature_k;
        reduction = reduction.renewed_at(taken_at)?;
        state = reduction.state(conditions, &pressure, &flux)?;
    }
    Ok((reduction, state, pressure))
}

/// Face pressure above the low pressure, and flux.
fn face_load(
    ring: &Ring,
    side: PressureSide,
    conditions: &RingConditions,
    reduction: &RingReduction,
    notices: &mut Vec<Notice>,
) -> (Vec<f64>, Vec<f64>) {
    let band = reduction.band();
    let above = conditions.sealed_pressure_pa - conditions.low_pressure_pa;
    let (inner, outer) = (band.radius_m[0], band.radius_m[band.radius_m.len() - 1]);
    let pressure = match ring.face_load.pressure_pa {
        Some(pressure) => vec![pressure - conditions.low_pressure_pa; band.radius_m.len()],
        None => {
            notices.push(Notice::caution(
                "default.face-pressure",
                "face_pressure",
                "none is stated: taken on a straight line from the sealed to the low pressure, not the pressure of a solved film",
                "State face_pressure, or read the coning in the running seal from `solve`.",
            ));
            let share = |r: f64| match side {
                PressureSide::Outside => (r - inner) / (outer - inner),
                PressureSide::Inside => (outer - r) / (outer - inner),
            };
            band.radius_m.iter().map(|r| above * share(*r)).collect()
        }
    };
    let area: f64 = band.weight_m2.iter().sum();
    let heat = ring.face_load.heat_w.unwrap_or_else(|| {
        notices.push(Notice::caution(
            "default.face-heat",
            "face_heat",
            "none is stated: no heat enters over the face, so nearly all coning by heat is missing",
            "State face_heat, for example the heat into this ring from `solve`.",
        ));
        0.0
    });
    (pressure, vec![heat / area; band.radius_m.len()])
}

fn report(
    model: &Model,
    ring: &Ring,
    duty: &Duty,
    conditions: &RingConditions,
    reduction: &RingReduction,
    state: RingState,
    pressure: Vec<f64>,
    mut notices: Vec<Notice>,
) -> RingAlone {
    let band = reduction.band();
    let side = model.seal.pressure_side;
    let total: Vec<f64> = state.face_deflection_m.iter().map(|d| d - state.face_deflection_m[0]).collect();
    let thermal: Vec<f64> = state.thermal_deflection_m.iter().map(|d| d - state.thermal_deflection_m[0]).collect();
    let elastic: Vec<f64> = total.iter().zip(&thermal).map(|(d, t)| d - t).collect();
    let sign = if (side == PressureSide::Outside) == (conditions.sealed_pressure_pa >= conditions.low_pressure_pa) { 1.0 } else { -1.0 };
    let last = total.len() - 1;
    // As the deflections: positive where the gap opens outward.
    let lapped = if side == PressureSide::Outside { ring.lapped_coning_m } else { -ring.lapped_coning_m };
    notices.extend(reduction.notices().iter().cloned());
    let face_force: f64 = pressure.iter().zip(&band.weight_m2).map(|(p, w)| (p * w).abs()).sum();
    let scale = face_force + hydraulic_closing(band, side, conditions).abs() + conditions.spring_force_n.abs();
    RingAlone {
        ring: match ring.role {
            RingRole::Rotating => "rotating".to_owned(),
            RingRole::Stationary => "stationary".to_owned(),
        },
        duty: duty.name.clone(),
        coning_m: Coning {
            total: sign * (total[last] + lapped),
            elastic: sign * elastic[last],
            thermal: sign * thermal[last],
            lapped: sign * lapped,
            worn: 0.0,
        },
        coning_fit_m: sign * (super::best_fit_slope(band, &total) * (band.radius_m[last] - band.radius_m[0]) + lapped),
        radius_m: band.radius_m.clone(),
        face_pressure_pa: pressure,
        face_temperature_max_k: state.face_temperature_k.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        face_temperature_k: state.face_temperature_k,
        deflection_m: state.face_deflection_m,
        elastic_deflection_m: elastic,
        thermal_deflection_m: thermal,
        heat_w: state.face_heat_w,
        convected_heat_w: state.convected_heat_w,
        heat_balance: (state.convected_heat_w - state.face_heat_w).abs() / state.face_heat_w.abs().max(1.0),
        mean_temperature_k: state.mean_temperature_k,
        secondary_seal_temperature_k: state.secondary_seal_temperature_k,
        stress_pa: state.stress,
        burst_speed_ratio: state.burst_speed_ratio,
        reaction_n: state.reaction_n,
        applied_force_n: state.applied_force_n,
        force_balance: (state.reaction_n - state.applied_force_n).abs() / scale.max(1.0),
        fits: state.fits,
        mesh_nodes: reduction.mesh().nodes.len(),
        notices,
    }
}
