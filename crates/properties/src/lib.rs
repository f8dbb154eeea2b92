//! Fluids and materials with their sources.
//!
//! Nothing here reads a file or evaluates anything at start: coefficient files are embedded and parsed when a fluid or
//! material is first asked for. Inside, plain `f64` in SI units, absolute pressure, temperature in kelvin.
//!
//! ```
//! use halfmicron_properties::{Fluid, MixtureViscosity};
//! let water = Fluid::named("water")?;
//! let state = water.at_pressure_temperature(1.0e6, 293.15)?;
//! assert!((state.density_kg_per_m3 - 998.6).abs() < 0.1);
//! let again = water.film_state(1.0e6, state.enthalpy_j_per_kg, MixtureViscosity::default())?;
//! assert!((again.temperature_k - 293.15).abs() < 1e-5);
//! # Ok::<(), halfmicron_properties::PropertyError>(())
//! ```

mod error;
mod fluid;
pub mod material;
mod source;

pub use error::PropertyError;
pub use fluid::{
    Bound, ConstantBoiling, ConstantFluid, ConstantGas, CustomFluid, Fluid, FluidEntry, FluidFamily, FluidKind, FluidState, Hazard,
    HazardKind, Hazards, MixtureViscosity, PhDerivatives, Phase, PhaseLine, PropertyNotice, Range, SaturatedPhase, Saturation,
    ViscosityLaw, WaltherLine, fluid_names, walther_line,
};
pub use source::{SourceRef, all_sources};

/// Parses a pure fluid's embedded coefficient file anew and returns the number of its saturation pieces; for benches.
#[doc(hidden)]
pub fn parse_for_bench(name: &str) -> usize {
    fluid::parse_for_bench(name)
}

/// A fluid made anew, of which no state has been asked for yet; for benches.
#[doc(hidden)]
pub fn fresh_for_bench(name: &str) -> Option<Fluid> {
    fluid::fresh_for_bench(name)
}
