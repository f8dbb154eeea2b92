//! Stable equilibrium of a pure fluid at pressure and enthalpy, from its equation of state itself.
//!
//! **What.** Liquid, both phases, vapour or supercritical fluid; below the triple-point pressure gas alone.
//!
//! **Equation.** Between the enthalpies of the saturated phases the mixture; outside them Newton in (temperature, density).
//! Below the triple-point pressure the vapour's side of the line is continued by `d(1/T)/d ln p` constant (Clausius and
//! Clapeyron), and what lies colder would freeze.
//!
//! **Valid when.** Within the limits of the equation of state; the equation is extrapolated for gas colder than the triple
//! point, and a notice says so.
//!
//! **Source.** Own.
//!
//! **Checked by.** `film_states_are_the_stable_equilibrium`, `below_the_triple_point_gas_stays_and_the_rest_freezes`.

use super::mixture::{self, MixtureViscosity};
use super::phase_line::PhaseLine;
use super::pure::PureFluid;
use super::{FluidState, Phase};
use crate::error::PropertyError;

/// The state at pressure and enthalpy.
pub(super) fn state(fluid: &PureFluid, p: f64, h: f64, rule: MixtureViscosity) -> Result<FluidState, PropertyError> {
    if p < fluid.saturation().lowest_pressure() {
        return gas_below_triple(fluid, p, h, None);
    }
    match PhaseLine::of_equation(fluid, p) {
        Some(line) => below_critical(fluid, &line, h, rule),
        None => whole(fluid, fluid.with_exact(p, h, single_phase(fluid, p, h, Side::Above, None)?)),
    }
}

/// The state at a pressure with a phase line.
pub(super) fn below_critical(fluid: &PureFluid, line: &PhaseLine, h: f64, rule: MixtureViscosity) -> Result<FluidState, PropertyError> {
    let p = line.pressure_pa;
    let state = if h <= line.liquid.enthalpy_j_per_kg {
        single_phase(fluid, p, h, Side::Liquid(line), None)?
    } else if h < line.vapour.enthalpy_j_per_kg {
        mixture::state(line, h, rule)
    } else {
        single_phase(fluid, p, h, Side::Vapour(line), None)?
    };
    whole(fluid, fluid.with_exact(p, h, state))
}

/// At the critical point itself derivatives are infinite: no state then.
fn whole(fluid: &PureFluid, state: FluidState) -> Result<FluidState, PropertyError> {
    let d = &state.derivatives;
    let slopes = [
        d.temperature_by_pressure,
        d.temperature_by_enthalpy,
        d.density_by_pressure,
        d.density_by_enthalpy,
        d.viscosity_by_pressure,
        d.viscosity_by_enthalpy,
        d.conductivity_by_pressure,
        d.conductivity_by_enthalpy,
    ];
    let values = [state.temperature_k, state.density_kg_per_m3, state.viscosity_pa_s, state.conductivity_w_per_m_k];
    if slopes.iter().all(|v| v.is_finite()) && values.iter().all(|v| v.is_finite() && *v > 0.0) {
        return Ok(state);
    }
    let (p, h) = (state.pressure_pa, state.enthalpy_j_per_kg);
    Err(fluid.not_converged(("pressure", p), ("enthalpy", h), 0, f64::INFINITY, state.temperature_k, state.density_kg_per_m3))
}

/// Where a single-phase state is looked for.
#[derive(Debug, Clone, Copy)]
pub(super) enum Side<'a> {
    Liquid(&'a PhaseLine),
    Vapour(&'a PhaseLine),
    /// At or above the critical pressure.
    Above,
}

impl Side<'_> {
    /// Whether a state (temperature, density), if it is stable at all, lies on this side.
    pub fn holds(&self, fluid: &PureFluid, (t, rho): (f64, f64)) -> bool {
        t > 0.0
            && rho > 0.0
            && rho < fluid.densest()
            && match self {
                // water is densest at 4 degC: colder liquid may be lighter than the saturated one
                Side::Liquid(line) => rho >= 0.99 * line.liquid.density_kg_per_m3 && t <= line.temperature_k * (1.0 + 1e-6),
                Side::Vapour(line) => rho <= line.vapour.density_kg_per_m3 * (1.0 + 1e-6) && t >= line.temperature_k * (1.0 - 1e-6),
                Side::Above => true,
            }
    }
}

/// Newton from a guess (temperature, density), or the safeguarded search where it is refused.
pub(super) fn single_phase(
    fluid: &PureFluid,
    p: f64,
    h: f64,
    side: Side<'_>,
    guess: Option<(f64, f64)>,
) -> Result<FluidState, PropertyError> {
    let (t, rho) = solve(fluid, p, h, side, guess)?;
    let phase = match side {
        Side::Liquid(_) => Phase::Liquid,
        Side::Vapour(_) => Phase::Vapour,
        Side::Above if t >= fluid.critical_temperature => Phase::Supercritical,
        Side::Above => Phase::Liquid,
    };
    Ok(fluid.state(rho, t, phase))
}

/// Temperature and density of one phase at pressure and enthalpy.
pub(super) fn solve(fluid: &PureFluid, p: f64, h: f64, side: Side<'_>, guess: Option<(f64, f64)>) -> Result<(f64, f64), PropertyError> {
    let right = |found: (f64, f64)| side.holds(fluid, found) && fluid.pressure_with_stiffness(found.1, found.0).1 > 0.0;
    let first = guess.unwrap_or_else(|| first_guess(fluid, p, h, side));
    if let Ok(found) = fluid.refine(p, h, first)
        && right(found)
    {
        return Ok(found);
    }
    let (coldest, hottest) = (fluid.coldest(), 1.5 * fluid.highest_temperature);
    let (low, high) = match side {
        Side::Liquid(line) => (coldest, line.temperature_k * (1.0 + 1e-9)),
        Side::Vapour(line) => (line.temperature_k, hottest),
        Side::Above => (coldest, hottest),
    };
    fluid.by_temperature(p, h, low, high)
}

fn first_guess(fluid: &PureFluid, p: f64, h: f64, side: Side<'_>) -> (f64, f64) {
    match side {
        Side::Vapour(line) => {
            // steps along the isobar: the enthalpy of a gas is nearly straight in temperature
            let rho = line.vapour.density_kg_per_m3;
            let b = fluid.basic(rho, line.temperature_k);
            let excess = (h - line.vapour.enthalpy_j_per_kg).max(0.0);
            let t = line.temperature_k + (excess / b.h_t).min(2.0 * fluid.critical_temperature);
            (t, rho * line.temperature_k / t)
        }
        _ => fluid.liquid_guess(p, h),
    }
}

/// What lies below the continued vapour line.
pub(super) fn would_freeze(fluid: &PureFluid, p: f64, h: f64) -> PropertyError {
    PropertyError::WouldFreeze {
        fluid: fluid.name.clone(),
        pressure_pa: p,
        enthalpy_j_per_kg: h,
        triple_temperature_k: fluid.triple_temperature,
        triple_pressure_pa: fluid.saturation().lowest_pressure(),
    }
}

/// Gas below the triple-point pressure, down to the continued vapour line.
pub(super) fn gas_below_triple(fluid: &PureFluid, p: f64, h: f64, guess: Option<(f64, f64)>) -> Result<FluidState, PropertyError> {
    let coldest = continued_vapour(fluid, p)?;
    if h < coldest.enthalpy {
        return Err(would_freeze(fluid, p, h));
    }
    let guess = guess.unwrap_or_else(|| {
        let t = coldest.temperature + ((h - coldest.enthalpy) / coldest.heat_capacity).min(2.0 * fluid.highest_temperature);
        (t, p / (fluid.gas_constant * t))
    });
    let (t, rho) = match fluid.refine(p, h, guess) {
        Ok((t, rho)) if t >= coldest.temperature * (1.0 - 1e-6) && rho > 0.0 && rho <= coldest.density * (1.0 + 1e-6) => (t, rho),
        _ => fluid.by_temperature(p, h, fluid.triple_temperature, 1.5 * fluid.highest_temperature)?,
    };
    whole(fluid, fluid.with_exact(p, h, fluid.state(rho, t, Phase::Vapour)))
}

/// Vapour on the line continued below the triple point.
#[derive(Debug, Clone, Copy)]
pub(super) struct ContinuedVapour {
    pub temperature: f64,
    pub density: f64,
    pub enthalpy: f64,
    pub heat_capacity: f64,
}

/// The vapour's side of the line continued below the triple-point pressure.
pub(super) fn continued_vapour(fluid: &PureFluid, p: f64) -> Result<ContinuedVapour, PropertyError> {
    let curves = fluid.saturation();
    let (t0, p0) = (curves.lowest_temperature(), curves.lowest_pressure());
    let (rho_l, rho_v) = curves.densities(t0);
    let latent = fluid.basic(rho_v, t0).h - fluid.basic(rho_l, t0).h;
    // d(1/T)/d ln p at the triple point
    let slope = -p0 * (1.0 / rho_v - 1.0 / rho_l) / (t0 * latent);
    let t = 1.0 / (1.0 / t0 + slope * (p / p0).ln());
    let mut rho = p / (fluid.gas_constant * t);
    for _ in 0..30 {
        let (pressure, stiffness) = fluid.pressure_with_stiffness(rho, t);
        let step = (p - pressure) / stiffness;
        rho += step;
        // What is left is the square of the last step.
        if step.abs() <= 1e-9 * rho {
            break;
        }
    }
    let b = fluid.basic(rho, t);
    if !(b.h.is_finite() && rho > 0.0 && b.p_rho > 0.0) {
        return Err(fluid.not_converged(("pressure", p), ("temperature", t), 30, (p - b.p) / p, t, rho));
    }
    Ok(ContinuedVapour { temperature: t, density: rho, enthalpy: b.h, heat_capacity: b.h_t })
}
