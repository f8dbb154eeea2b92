//! What films ask of a fluid, thousands of times a solve: states from surfaces, and the phase line in parts.

use super::mixture::{self, MixtureViscosity};
use super::phase_line::PhaseLine;
use super::{Fluid, FluidState, Model};
use crate::error::PropertyError;

/// Share of the latent heat by which what is meant to be a mixture lies inside it.
const INSIDE: f64 = 1e-9;

impl Fluid {
    /// State at absolute pressure (Pa) and specific enthalpy (J/kg) in stable equilibrium, fast: liquid, mixture of liquid and
    /// vapour, vapour or supercritical fluid for a fluid with an equation of state (gas below its triple-point pressure);
    /// liquid for the others. On the two sides of [`Fluid::phase_line`] it equals the line's values.
    ///
    /// # Errors
    /// [`PropertyError::WouldFreeze`] below the triple-point pressure; out of range, with value, range and what to do.
    pub fn film_state(&self, pressure_pa: f64, enthalpy_j_per_kg: f64, mixture: MixtureViscosity) -> Result<FluidState, PropertyError> {
        match &self.inner.model {
            Model::Pure(entry) => {
                self.check_pressure(pressure_pa)?;
                self.check_number("enthalpy", enthalpy_j_per_kg)?;
                let (low, high) = entry.surface.enthalpies(&entry.fluid);
                if !(low..=high).contains(&enthalpy_j_per_kg) {
                    return Err(PropertyError::EnthalpyOutOfRange {
                        fluid: self.name().to_owned(),
                        value_j_per_kg: enthalpy_j_per_kg,
                        pressure_pa,
                        low_j_per_kg: low,
                        high_j_per_kg: high,
                        reason: "films are computed from the triple point to about 1000 K".to_owned(),
                    });
                }
                let state = entry.surface.stable(&entry.fluid, pressure_pa, enthalpy_j_per_kg, mixture)?;
                self.check_equilibrium(&state)?;
                Ok(self.thick(state))
            }
            Model::Liquid(_) => self.liquid_film_state(pressure_pa, enthalpy_j_per_kg),
            Model::ClosedForm(_) => self.at_pressure_enthalpy_with(pressure_pa, enthalpy_j_per_kg, mixture),
        }
    }

    /// Both sides of the vapour-liquid line at an absolute pressure (Pa) with their derivatives; nothing above the critical
    /// pressure, below the triple-point pressure, and for fluids whose vapour is not known.
    pub fn phase_line(&self, pressure_pa: f64) -> Option<PhaseLine> {
        self.unthickened_line(pressure_pa).map(|line| line.thickened(self.viscosity_factor))
    }

    fn unthickened_line(&self, pressure_pa: f64) -> Option<PhaseLine> {
        match &self.inner.model {
            Model::Pure(entry) => entry.surface.line(&entry.fluid, pressure_pa),
            Model::Liquid(_) => None,
            Model::ClosedForm(form) => self.check_pressure(pressure_pa).ok().and_then(|()| form.line(pressure_pa)),
        }
    }

    /// Enthalpies of saturated liquid and vapour at an absolute pressure (Pa), J/kg: of [`Fluid::phase_line`] no more than these.
    pub fn phase_line_enthalpies(&self, pressure_pa: f64) -> Option<[f64; 2]> {
        match &self.inner.model {
            Model::Pure(entry) => entry.surface.line_enthalpies(&entry.fluid, pressure_pa),
            _ => self.phase_line(pressure_pa).map(|line| [line.liquid.enthalpy_j_per_kg, line.vapour.enthalpy_j_per_kg]),
        }
    }

    /// The same, each with its slope by pressure, (J/kg)/Pa, in second place.
    pub fn phase_line_enthalpies_with_slopes(&self, pressure_pa: f64) -> Option<[[f64; 2]; 2]> {
        match &self.inner.model {
            Model::Pure(entry) => entry.surface.line_enthalpies_with_slopes(&entry.fluid, pressure_pa),
            _ => self.phase_line(pressure_pa).map(|line| [line.liquid, line.vapour].map(|s| [s.enthalpy_j_per_kg, s.enthalpy_by_pressure])),
        }
    }

    /// The mixture of [`Fluid::film_state`] at absolute pressure (Pa) and the enthalpy (J/kg) next to that given which lies inside it by a billionth
    /// of the latent heat; nothing where there is no [`Fluid::phase_line`].
    ///
    /// # Errors
    /// As [`Fluid::film_state`].
    pub fn film_mixture(
        &self,
        pressure_pa: f64,
        enthalpy_j_per_kg: f64,
        mixture: MixtureViscosity,
    ) -> Result<Option<FluidState>, PropertyError> {
        self.check_pressure(pressure_pa)?;
        self.check_number("enthalpy", enthalpy_j_per_kg)?;
        let Some(line) = self.unthickened_line(pressure_pa) else { return Ok(None) };
        let (low, high) = (line.liquid.enthalpy_j_per_kg, line.vapour.enthalpy_j_per_kg);
        let edge = INSIDE * (high - low);
        let state = mixture::state(&line, enthalpy_j_per_kg.clamp(low + edge, high - edge), mixture);
        self.check_equilibrium(&state)?;
        Ok(Some(self.thick(state)))
    }

    /// Liquid at absolute pressure (Pa) and specific enthalpy (J/kg), fast: from the property surface where the fluid has an
    /// equation of state (within 1e-6 of it), directly otherwise. Above the saturated liquid's enthalpy the liquid is
    /// continued superheated ([`Phase::LiquidMetastable`](super::Phase::LiquidMetastable)), so that a film without boiling can be computed and its boiling
    /// reported.
    ///
    /// # Errors
    /// [`PropertyError::BeyondLiquid`] past the end of the superheated liquid; out of range.
    pub fn superheated_film_state(&self, pressure_pa: f64, enthalpy_j_per_kg: f64) -> Result<FluidState, PropertyError> {
        match &self.inner.model {
            Model::Pure(entry) => {
                self.check_pressure(pressure_pa)?;
                self.check_number("enthalpy", enthalpy_j_per_kg)?;
                let state = entry.surface.superheated(&entry.fluid, pressure_pa, enthalpy_j_per_kg)?;
                self.check_temperature(state.temperature_k)?;
                Ok(self.thick(state))
            }
            Model::Liquid(_) => self.liquid_film_state(pressure_pa, enthalpy_j_per_kg),
            Model::ClosedForm(_) => self.liquid_at_pressure_enthalpy(pressure_pa, enthalpy_j_per_kg),
        }
    }

    #[cfg(test)]
    pub(crate) fn share_from_table_for_test(&self) -> f64 {
        let Model::Liquid(liquid) = &self.inner.model else { return 0.0 };
        let (low, high) = liquid.parts.limits;
        let answers = |i: &i32| {
            let h = liquid.at_temperature(1e6, low + (high - low) * (f64::from(*i) + 0.5) / 200.0).map(|state| state.enthalpy_j_per_kg);
            h.is_ok_and(|h| liquid.film_state(1e6, h).is_some())
        };
        (0..200).filter(answers).count() as f64 / 200.0
    }

    /// A correlation liquid for films.
    fn liquid_film_state(&self, pressure_pa: f64, enthalpy_j_per_kg: f64) -> Result<FluidState, PropertyError> {
        match &self.inner.model {
            Model::Liquid(liquid) if self.check_pressure(pressure_pa).is_ok() => {
                self.check_number("enthalpy", enthalpy_j_per_kg)?;
                let state = liquid.film_state(pressure_pa, enthalpy_j_per_kg);
                state.map_or_else(|| self.at_pressure_enthalpy(pressure_pa, enthalpy_j_per_kg), |state| Ok(self.thick(state)))
            }
            _ => self.at_pressure_enthalpy(pressure_pa, enthalpy_j_per_kg),
        }
    }
}
