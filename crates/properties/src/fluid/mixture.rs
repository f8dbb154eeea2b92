//! Homogeneous equilibrium mixture of a pure fluid's liquid and vapour.
//!
//! Density by volumes; viscosity by `1/mu = x/mu_v + (1 - x)/mu_l` with the mass quality `x` (McAdams et al. 1942; the
//! common rules differ by half in flow); conductivity straight by volume fractions. Derivatives follow the saturation line.

use super::jets::Dual;
use super::pure::PureFluid;
use super::{FluidState, PhDerivatives, Phase};

/// The mixture at pressure and enthalpy, between the saturated phases of temperature `t` and the two densities.
pub(super) fn state(fluid: &PureFluid, p: f64, h: f64, t: f64, (rho_l, rho_v): (f64, f64)) -> FluidState {
    let l = fluid.state(rho_l, t, Phase::Liquid);
    let v = fluid.state(rho_v, t, Phase::Vapour);
    let (hl, hv) = (l.enthalpy_j_per_kg, v.enthalpy_j_per_kg);
    let slope = t * (1.0 / rho_v - 1.0 / rho_l) / (hv - hl);
    // along the saturation line d/dp of a property of one phase: dh/dp follows from dT/dp
    let along = |s: &FluidState| (slope - s.derivatives.temperature_by_pressure) / s.derivatives.temperature_by_enthalpy;
    let (dhl, dhv) = (along(&l), along(&v));
    let drl = l.derivatives.density_by_pressure + l.derivatives.density_by_enthalpy * dhl;
    let drv = v.derivatives.density_by_pressure + v.derivatives.density_by_enthalpy * dhv;
    let dml = l.derivatives.viscosity_by_pressure + l.derivatives.viscosity_by_enthalpy * dhl;
    let dmv = v.derivatives.viscosity_by_pressure + v.derivatives.viscosity_by_enthalpy * dhv;
    let dkl = l.derivatives.conductivity_by_pressure + l.derivatives.conductivity_by_enthalpy * dhl;
    let dkv = v.derivatives.conductivity_by_pressure + v.derivatives.conductivity_by_enthalpy * dhv;
    let quality = (h - hl) / (hv - hl);
    // first slot by pressure, second by enthalpy
    let x = Dual::new(quality, -(dhl + quality * (dhv - dhl)) / (hv - hl), 1.0 / (hv - hl));
    let one_minus = -x + 1.0;
    let specific = |rho: f64, d: f64| Dual::new(1.0 / rho, -d / (rho * rho), 0.0);
    let (vl, vv) = (specific(rho_l, drl), specific(rho_v, drv));
    let density = (x * vv + one_minus * vl).recip();
    let inverse = |m: f64, d: f64| Dual::new(1.0 / m, -d / (m * m), 0.0);
    let viscosity = (x * inverse(v.viscosity_pa_s, dmv) + one_minus * inverse(l.viscosity_pa_s, dml)).recip();
    let void = x * vv * density;
    let conductivity = void * Dual::new(v.conductivity_w_per_m_k, dkv, 0.0) + (-void + 1.0) * Dual::new(l.conductivity_w_per_m_k, dkl, 0.0);
    FluidState {
        pressure_pa: p,
        enthalpy_j_per_kg: h,
        temperature_k: t,
        density_kg_per_m3: density.v,
        viscosity_pa_s: viscosity.v,
        conductivity_w_per_m_k: conductivity.v,
        isobaric_heat_capacity_j_per_kg_k: f64::INFINITY,
        vapour_mass_fraction: quality,
        phase: Phase::TwoPhase,
        derivatives: PhDerivatives {
            temperature_by_pressure: slope,
            temperature_by_enthalpy: 0.0,
            density_by_pressure: density.a,
            density_by_enthalpy: density.b,
            viscosity_by_pressure: viscosity.a,
            viscosity_by_enthalpy: viscosity.b,
            conductivity_by_pressure: conductivity.a,
            conductivity_by_enthalpy: conductivity.b,
        },
    }
}
