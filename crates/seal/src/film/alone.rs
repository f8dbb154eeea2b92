//! The film alone, at a prescribed gap between rigid faces held at the chamber temperature: what `halfmicron film` shows.

use serde::Serialize;

use super::{FilmError, FilmInput, Gap, film, sensitivity};
use crate::model::{ChamberTemperature, Duty, Flashing, Model, PressureSide, Texture};
use crate::outcome::PhaseChange;
use crate::ring::BandNodes;

/// Elements across the band: fine, for one film is cheap.
const ELEMENTS: usize = 40;

/// Result of a film at a prescribed gap.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FilmAlone {
    /// Name of the duty.
    pub duty: String,
    /// Force of the film above the lower pressure, N.
    pub force_n: f64,
    /// Pressure-profile factor; none at equal pressures.
    pub pressure_profile_factor: Option<f64>,
    /// Mass leakage from the higher to the lower pressure, kg/s.
    pub leakage_kg_per_s: f64,
    /// The same as volume at the density at which the fluid enters, m3/s.
    pub leakage_m3_per_s: f64,
    /// The same as volume of gas at 0 degC and 101 325 Pa, m3/s; none where it leaves as liquid.
    pub leakage_normal_m3_per_s: Option<f64>,
    /// Viscous torque, N m.
    pub torque_n_m: f64,
    /// Viscous power, W.
    pub power_w: f64,
    /// Heat into both faces, W.
    pub heat_to_faces_w: f64,
    /// `-dF/dh` with the shape held, N/m; positive resists closing.
    pub stiffness_n_per_m: f64,
    /// Greatest film temperature, K.
    pub film_temperature_max_k: f64,
    /// Where the fluid begins or ceases to boil, along the flow.
    pub phase_changes: Vec<PhaseChange>,
    /// Greatest mass share of vapour; none where gas enters.
    pub vapour_fraction_max: Option<f64>,
    /// Absolute pressure at which a choked film ends, Pa; none where it is not choked.
    pub exit_pressure_pa: Option<f64>,
    /// Relative difference between inlet and outlet flow.
    pub mass_balance: f64,
    /// Radius of each node, m.
    pub radius_m: Vec<f64>,
    /// Gap at each node, m.
    pub gap_m: Vec<f64>,
    /// Pressure at each node, Pa absolute; behind the lip at the entry.
    pub pressure_pa: Vec<f64>,
    /// Mean film temperature at each node, K.
    pub temperature_k: Vec<f64>,
}

/// Solve the film of `model.gap` at one duty.
///
/// # Errors
/// [`FilmError`]: no gap in the case, a feature not modelled, a state outside the fluid's range, no convergence.
pub fn film_alone(model: &Model, duty: &Duty) -> Result<FilmAlone, FilmError> {
    let gap = model.gap.as_ref().ok_or(FilmError::Input(
        "the case prescribes no gap: add [gap] with thickness = \"0.7 um\" (and coning), which `film` needs and `solve` does not",
    ))?;
    let fluid = duty.fluid.as_deref().unwrap_or(&model.fluid);
    let temperature_k = match duty.temperature {
        ChamberTemperature::Stated(t) | ChamberTemperature::FromFlush(t) => t,
    };
    let nodes = BandNodes::uniform(model.band.inner_radius_m, model.band.outer_radius_m, ELEMENTS);
    let share = |r: f64| (r - model.band.inner_radius_m) / model.band.width_m();
    let features: Vec<Texture> = gap.features.iter().chain(&model.textures).copied().filter(|t| !t.form.is_axisymmetric()).collect();
    let taper = |r: f64| model.textures.iter().map(|texture| texture.form.taper_m(r)).sum::<f64>();
    let gap_m: Vec<f64> = nodes.radius_m.iter().map(|&r| gap.inner_m + (gap.outer_m - gap.inner_m) * share(r) + taper(r)).collect();
    let face_temperature_k = vec![temperature_k; nodes.len()];
    let (inner, outer) = match model.seal.pressure_side {
        PressureSide::Outside => (duty.low_pressure_pa, duty.pressure_pa),
        PressureSide::Inside => (duty.pressure_pa, duty.low_pressure_pa),
    };
    let input = FilmInput {
        nodes: &nodes,
        gap: Gap { profile_m: &gap_m, rate_m_per_s: None, features: &features },
        fluid,
        inner_pressure_pa: inner,
        outer_pressure_pa: outer,
        entry_temperature_k: temperature_k,
        face_temperature_k: &face_temperature_k,
        speeds_rad_per_s: [duty.speed_rad_per_s, 0.0],
        roughness_m: model.rotating_ring.roughness_rq_m.hypot(model.stationary_ring.roughness_rq_m),
        switches: &model.switches,
    };
    let (result, start) = film(&input, None)?;
    let slopes = sensitivity(&input, &start)?;
    let slope: f64 =
        (0..nodes.len()).map(|j| nodes.weight_m2.iter().zip(slopes.pressure_by_gap.col_as_slice(j)).map(|(w, p)| w * p).sum::<f64>()).sum();
    let force_n = result.force_n(&nodes, inner.min(outer));
    let area: f64 = nodes.weight_m2.iter().sum();
    let outward = if inner > outer { 1.0 } else { -1.0 };
    let leakage_kg_per_s = outward * result.mass_flow_kg_per_s;
    let entry_pa = if leakage_kg_per_s >= 0.0 { inner.max(outer) } else { inner.min(outer) };
    let entry = match model.switches.flashing {
        Flashing::Equilibrium => fluid.at_pressure_temperature(entry_pa, temperature_k)?,
        Flashing::Frozen => fluid.liquid_at_pressure_temperature(entry_pa, temperature_k)?,
    };
    Ok(FilmAlone {
        duty: duty.name.clone(),
        force_n,
        pressure_profile_factor: (inner != outer).then(|| force_n / (area * (inner - outer).abs())),
        leakage_kg_per_s,
        leakage_m3_per_s: leakage_kg_per_s / entry.density_kg_per_m3,
        leakage_normal_m3_per_s: result.normal_m3_per_s(fluid).map(|volume| volume.copysign(leakage_kg_per_s)),
        torque_n_m: result.shear_torque_n_m(&nodes, duty.speed_rad_per_s.abs()),
        power_w: result.shear_power_w(&nodes),
        heat_to_faces_w: nodes.weight_m2.iter().zip(&result.flux_w_per_m2).map(|(w, q)| w * q).sum(),
        stiffness_n_per_m: -slope,
        film_temperature_max_k: result.hottest_k.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        phase_changes: result.phase_changes,
        vapour_fraction_max: (entry.vapour_mass_fraction < 1.0).then_some(result.vapour_fraction_max),
        exit_pressure_pa: result.choked.then_some(result.exit_pressure_pa),
        mass_balance: result.mass_balance,
        pressure_pa: result.states.iter().map(|s| s.pressure_pa).collect(),
        temperature_k: result.states.iter().map(|s| s.temperature_k).collect(),
        radius_m: nodes.radius_m,
        gap_m,
    })
}
