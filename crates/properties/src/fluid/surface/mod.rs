//! Fast property surfaces in (pressure, enthalpy) over an equation of state.

mod continued;
mod line;
mod patch;
mod stable;
mod superheated;

use std::sync::OnceLock;

use super::mixture::MixtureViscosity;
use super::phase_line::PhaseLine;
use super::pure::PureFluid;
use super::{FluidState, PropertyError};
pub(crate) use patch::Tally;
pub(super) use patch::{Basis, from_unit, lobatto, weights};
use stable::StableSurface;
use superheated::SuperheatedSurface;
pub(crate) use superheated::fill_once;

/// The surfaces of one fluid, each made when first asked for and filled where it is visited.
#[derive(Debug)]
pub(crate) struct Surface {
    superheated: SuperheatedSurface,
    stable: OnceLock<StableSurface>,
}

impl Surface {
    pub fn new(fluid: &PureFluid) -> Self {
        Self { superheated: SuperheatedSurface::new(fluid), stable: OnceLock::new() }
    }

    /// Stable equilibrium at pressure and enthalpy.
    pub fn stable(&self, fluid: &PureFluid, p: f64, h: f64, rule: MixtureViscosity) -> Result<FluidState, PropertyError> {
        self.stable.get_or_init(|| StableSurface::new(fluid)).state(fluid, p, h, rule)
    }

    /// Enthalpies between which stable states are interpolated, J/kg.
    pub fn enthalpies(&self, fluid: &PureFluid) -> (f64, f64) {
        self.stable.get_or_init(|| StableSurface::new(fluid)).enthalpies()
    }

    /// Both sides of the phase line at a pressure.
    pub fn line(&self, fluid: &PureFluid, p: f64) -> Option<PhaseLine> {
        self.stable.get_or_init(|| StableSurface::new(fluid)).line(fluid, p)
    }

    /// Enthalpies of saturated liquid and vapour at a pressure, J/kg.
    pub fn line_enthalpies(&self, fluid: &PureFluid, p: f64) -> Option<[f64; 2]> {
        self.stable.get_or_init(|| StableSurface::new(fluid)).line_enthalpies(fluid, p)
    }

    /// The same with their slopes by pressure.
    pub fn line_enthalpies_with_slopes(&self, fluid: &PureFluid, p: f64) -> Option<[[f64; 2]; 2]> {
        self.stable.get_or_init(|| StableSurface::new(fluid)).line_enthalpies_with_slopes(fluid, p)
    }

    /// Liquid at pressure and enthalpy, superheated above its line.
    pub fn superheated(&self, fluid: &PureFluid, p: f64, h: f64) -> Result<FluidState, PropertyError> {
        self.superheated.state(fluid, p, h)
    }

    /// Builds the cell of the stable surface at a state without keeping it; for benches.
    pub fn fill_stable_once(&self, fluid: &PureFluid, p: f64, h: f64) -> bool {
        self.stable.get_or_init(|| StableSurface::new(fluid)).fill_once(fluid, p, h)
    }

    /// Cells of both surfaces filled so far.
    pub fn tally(&self) -> Tally {
        let stable = self.stable.get().map(StableSurface::tally).unwrap_or_default();
        Tally { patches: stable.patches + self.superheated.filled(), equation: stable.equation }
    }
}
