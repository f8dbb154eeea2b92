//! Liquid and vapour in equilibrium, homogeneously mixed.
//!
//! **What.** One fluid of equal pressure, temperature and velocity of its phases, between the two sides of the phase line.
//!
//! **Equation.** Everything is straight in the mass quality `x = (h - h_l)/(h_v - h_l)`: specific volume
//! `v = (1 - x) v_l + x v_v`; conductivity straight by volume fractions; viscosity by the rule chosen. Derivatives are
//! exact: those of the phase line by pressure, carried through.
//!
//! **Valid when.** Phases well mixed and in equilibrium; in a film of half a micrometre neither is certain, and the common
//! viscosity rules differ by half in flow, which is why the rule can be chosen.
//!
//! **Source.** McAdams et al. (1942), Cicchitti et al. (1960), Dukler et al. (1964) for the viscosities; from memory.
//!
//! **Checked by.** `two_phase_states_follow_the_lever_rule`, `mixture_rules_are_what_they_say` (`tests/`).

use super::jets::Dual;
use super::phase_line::{PhaseLine, SaturatedPhase};
use super::{FluidState, PhDerivatives, Phase};

/// How the viscosity of a homogeneous mixture follows from those of its phases and the mass quality `x`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum MixtureViscosity {
    /// `1/mu = x/mu_v + (1 - x)/mu_l`: McAdams, Woods and Heroman, Trans. ASME 64 (1942) 193; from memory.
    #[default]
    ByMassFluidity,
    /// `mu = x mu_v + (1 - x) mu_l`: Cicchitti et al., Energia Nucleare 7 (1960) 407; from memory.
    ByMass,
    /// `mu = rho (x mu_v/rho_v + (1 - x) mu_l/rho_l)`, straight by volume fractions: Dukler, Wicks and Cleveland, AIChE J. 10
    /// (1964) 44; from memory.
    ByVolume,
}

/// The mixture at the line's pressure and enthalpy `h` between its two sides.
pub(super) fn state(line: &PhaseLine, h: f64, rule: MixtureViscosity) -> FluidState {
    let (l, v) = (&line.liquid, &line.vapour);
    let (hl, hv) = (l.enthalpy_j_per_kg, v.enthalpy_j_per_kg);
    let (dhl, dhv) = (l.enthalpy_by_pressure, v.enthalpy_by_pressure);
    // at both ends one share is zero, so that the line's values are met to rounding
    let latent = hv - hl;
    let quality = ((h - hl) / latent).clamp(0.0, 1.0);
    // first slot by pressure, second by enthalpy
    let x = Dual::new(quality, -(dhl + quality * (dhv - dhl)) / latent, 1.0 / latent);
    let y = -x + 1.0;
    let reciprocal = |q: f64, d: f64| Dual::new(1.0 / q, -d / (q * q), 0.0);
    let volume = |s: &SaturatedPhase| reciprocal(s.density_kg_per_m3, s.density_by_pressure);
    let (share_l, share_v) = (y * volume(l), x * volume(v));
    let density = (share_l + share_v).recip();
    let (void, wet) = (share_v * density, share_l * density);
    let thickness = |s: &SaturatedPhase| Dual::new(s.viscosity_pa_s, s.viscosity_by_pressure, 0.0);
    let viscosity = match rule {
        MixtureViscosity::ByMassFluidity => (x * thickness(v).recip() + y * thickness(l).recip()).recip(),
        MixtureViscosity::ByMass => x * thickness(v) + y * thickness(l),
        MixtureViscosity::ByVolume => void * thickness(v) + wet * thickness(l),
    };
    let conducts = |s: &SaturatedPhase| Dual::new(s.conductivity_w_per_m_k, s.conductivity_by_pressure, 0.0);
    let conductivity = void * conducts(v) + wet * conducts(l);
    FluidState {
        pressure_pa: line.pressure_pa,
        enthalpy_j_per_kg: h,
        temperature_k: line.temperature_k,
        density_kg_per_m3: density.v,
        viscosity_pa_s: viscosity.v,
        conductivity_w_per_m_k: conductivity.v,
        isobaric_heat_capacity_j_per_kg_k: f64::INFINITY,
        vapour_mass_fraction: quality,
        phase: Phase::TwoPhase,
        derivatives: PhDerivatives {
            temperature_by_pressure: line.temperature_by_pressure,
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
