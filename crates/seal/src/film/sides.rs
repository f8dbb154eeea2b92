//! States of a march and the sides of the phase line on which they lie.

use halfmicron_properties::{FluidState, PhDerivatives, Phase, PropertyError};

use super::Flashing;
use super::march::{Closure, Failure, Marcher, Region};

impl Marcher<'_> {
    /// State of the fluid as the film sees it.
    pub fn state(&self, pressure: f64, enthalpy: f64) -> Result<FluidState, PropertyError> {
        let switches = self.band.input.switches;
        match switches.flashing {
            Flashing::Equilibrium => self.band.input.fluid.film_state(pressure, enthalpy, switches.mixture_viscosity),
            Flashing::Frozen => self.band.input.fluid.superheated_film_state(pressure, enthalpy),
        }
    }

    pub(super) fn line(&self, pressure: f64) -> Option<halfmicron_properties::PhaseLine> {
        if self.band.input.switches.flashing == Flashing::Frozen {
            return None;
        }
        self.band.input.fluid.phase_line(pressure)
    }

    /// Enthalpies of both sides of the phase line.
    pub(super) fn line_enthalpies(&self, pressure: f64) -> Option<[f64; 2]> {
        if self.band.input.switches.flashing == Flashing::Frozen {
            return None;
        }
        self.band.input.fluid.phase_line_enthalpies(pressure)
    }

    /// The same, each with its slope by pressure in second place.
    pub(super) fn line_enthalpies_with_slopes(&self, pressure: f64) -> Option<[[f64; 2]; 2]> {
        if self.band.input.switches.flashing == Flashing::Frozen {
            return None;
        }
        self.band.input.fluid.phase_line_enthalpies_with_slopes(pressure)
    }

    pub(super) fn below_triple(&self, pressure: f64) -> bool {
        self.band.input.switches.flashing == Flashing::Equilibrium
            && self.band.input.fluid.triple_pressure_pa().is_some_and(|p| pressure < p)
    }

    /// The pressure of the phase line next to that at the exit, where one lies on the way there.
    pub(super) fn end_of_line(&self) -> Option<f64> {
        let lowest = if self.below_triple(self.exit_pressure) { self.band.input.fluid.triple_pressure_pa()? } else { self.exit_pressure };
        self.line_enthalpies(lowest).map(|_| lowest)
    }

    pub(super) fn region(&self, state: &FluidState) -> Region {
        match self.line_enthalpies(state.pressure_pa) {
            None => self.supercritical_side(state),
            Some([liquid, _]) if state.enthalpy_j_per_kg <= liquid => Region::Dense,
            Some([_, vapour]) if state.enthalpy_j_per_kg >= vapour => Region::Light,
            Some(_) => Region::Mixture,
        }
    }

    pub(super) fn supercritical_side(&self, state: &FluidState) -> Region {
        match self.band.gas {
            _ if state.phase == Phase::Vapour => Region::Light,
            Some((_, critical_density)) if state.density_kg_per_m3 < critical_density => Region::Light,
            _ => Region::Dense,
        }
    }

    /// Saturated state on one side, its derivatives taken along the phase line.
    pub(super) fn saturated(&self, pressure: f64, side: Closure) -> Result<(FluidState, f64), Failure> {
        let line = self.line(pressure).ok_or(Failure::NoRoot)?;
        let end = if side == Closure::Boil { &line.liquid } else { &line.vapour };
        let state = FluidState {
            pressure_pa: pressure,
            enthalpy_j_per_kg: end.enthalpy_j_per_kg,
            temperature_k: line.temperature_k,
            density_kg_per_m3: end.density_kg_per_m3,
            viscosity_pa_s: end.viscosity_pa_s,
            conductivity_w_per_m_k: end.conductivity_w_per_m_k,
            isobaric_heat_capacity_j_per_kg_k: f64::INFINITY,
            vapour_mass_fraction: if side == Closure::Boil { 0.0 } else { 1.0 },
            phase: if side == Closure::Boil { Phase::Liquid } else { Phase::Vapour },
            derivatives: PhDerivatives {
                temperature_by_pressure: line.temperature_by_pressure,
                temperature_by_enthalpy: 0.0,
                density_by_pressure: end.density_by_pressure,
                density_by_enthalpy: 0.0,
                viscosity_by_pressure: end.viscosity_by_pressure,
                viscosity_by_enthalpy: 0.0,
                conductivity_by_pressure: end.conductivity_by_pressure,
                conductivity_by_enthalpy: 0.0,
            },
        };
        Ok((state, end.enthalpy_by_pressure))
    }

    /// Slope of the saturated vapour's enthalpy along the phase line, m3/kg.
    pub fn vapour_enthalpy_slope(&self, pressure: f64) -> Option<f64> {
        self.line(pressure).map(|line| line.vapour.enthalpy_by_pressure)
    }

    /// What arrives just saturated keeps the derivatives of its phase, on whichever side of the phase line rounding has put it.
    pub(super) fn one_phase(&self, state: &FluidState, region: Region) -> Result<FluidState, Failure> {
        if state.phase != Phase::TwoPhase {
            return Ok(*state);
        }
        let beside = self.sided(state, region)?;
        let vapour_mass_fraction = if region == Region::Dense { 0.0 } else { 1.0 };
        Ok(FluidState { derivatives: beside.derivatives, phase: beside.phase, vapour_mass_fraction, ..*state })
    }

    /// Whether a state lies beyond the phase line that bounds a region.
    pub(super) fn crosses(&self, region: Region, state: &FluidState) -> bool {
        let Some([liquid, vapour]) = self.line_enthalpies(state.pressure_pa) else {
            // Below the triple point there is no liquid.
            return region == Region::Dense && self.below_triple(state.pressure_pa);
        };
        match region {
            Region::Dense => state.enthalpy_j_per_kg > liquid,
            _ => state.enthalpy_j_per_kg < vapour,
        }
    }

    /// The state with the derivatives of the region it goes into, also on the phase line.
    pub(super) fn sided(&self, state: &FluidState, region: Region) -> Result<FluidState, Failure> {
        let Some([low, high]) = self.line_enthalpies(state.pressure_pa) else { return Ok(*state) };
        let edge = 1e-7 * (high - low);
        let h = state.enthalpy_j_per_kg;
        let inside = match region {
            Region::Dense => h.min(low - edge),
            Region::Mixture => h.clamp(low + edge, high - edge),
            Region::Light => h.max(high + edge),
        };
        if inside == h { Ok(*state) } else { Ok(self.state(state.pressure_pa, inside)?) }
    }
}
