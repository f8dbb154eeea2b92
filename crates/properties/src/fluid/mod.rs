//! Fluids: one way to ask for a state, whatever stands behind it.

mod catalogue;
mod closed_form;
mod correlation;
mod custom;
mod equilibrium;
mod film;
mod hazards;
mod helmholtz;
mod jets;
mod liquid;
mod liquid_table;
mod mixture;
mod oil;
mod phase_line;
mod pure;
mod pure_names;
mod saturation;
mod solutions;
mod state;
mod surface;
mod thermal_oil;
mod transport;
mod water_transport;

#[cfg(test)]
mod library_tests;
#[cfg(test)]
mod paper_tests;
#[cfg(test)]
mod pure_tests;

use std::sync::Arc;

pub use catalogue::{FluidEntry, fluid_names};
pub use closed_form::{ConstantBoiling, ConstantGas};
pub use custom::{ConstantFluid, CustomFluid, ViscosityLaw};
pub use hazards::{Hazard, HazardKind, Hazards};
pub use mixture::MixtureViscosity;
pub use oil::{WaltherLine, walther_line};
pub use phase_line::{PhaseLine, SaturatedPhase};
pub(crate) use pure_names::{fresh_for_bench, parse_for_bench};
pub use state::{Bound, FluidFamily, FluidKind, FluidState, PhDerivatives, Phase, PropertyNotice, Range, Saturation};

use crate::error::PropertyError;
use crate::source::SourceRef;
use closed_form::ClosedForm;
use liquid::Liquid;
use pure::PureFluid;
use surface::Surface;

/// A fluid of which states can be asked. Cheap to clone; share it between threads freely.
#[derive(Debug, Clone)]
pub struct Fluid {
    inner: Arc<Inner>,
    /// Factor on every viscosity.
    viscosity_factor: f64,
}

#[derive(Debug)]
struct Inner {
    name: String,
    kind: FluidKind,
    model: Model,
    range: Range,
    sources: Vec<SourceRef>,
    hazards: Hazards,
    data_version: String,
    /// Family for the fitness tables; water and heat-transfer oil change theirs with temperature.
    family: Option<FluidFamily>,
    /// Notices that hold for every state (estimated inputs and the like).
    standing_notices: Vec<PropertyNotice>,
    /// Highest temperature of the transport correlations, K.
    transport_high: f64,
    freezing: Option<f64>,
}

#[derive(Debug)]
enum Model {
    Pure(Arc<PureEntry>),
    Liquid(Box<Liquid>),
    ClosedForm(Box<ClosedForm>),
}

#[derive(Debug)]
struct PureEntry {
    fluid: PureFluid,
    surface: Surface,
}

impl Fluid {
    /// A fluid of the library by name, with its composition where it needs one, for example `water`,
    /// `sea water, salinity 70 g/kg`, `sodium hydroxide solution, 50 % by mass`, `mineral oil ISO VG 32`.
    ///
    /// # Errors
    /// [`PropertyError::UnknownFluid`] with the nearest names; [`PropertyError::Composition`] with an example.
    pub fn named(name: &str) -> Result<Self, PropertyError> {
        catalogue::find(name)
    }

    /// A fluid from what people have measured.
    ///
    /// # Errors
    /// [`PropertyError::InvalidInput`] naming the value that can't be used.
    pub fn custom(description: CustomFluid) -> Result<Self, PropertyError> {
        custom::build(description)
    }

    /// A fluid of constant properties, for hand checks. It never boils and has no temperature limits but -273 and 3000 degC.
    ///
    /// # Errors
    /// [`PropertyError::InvalidInput`] naming the value that can't be used.
    pub fn constant(description: ConstantFluid) -> Result<Self, PropertyError> {
        custom::build_constant(description)
    }

    /// The same with viscosity falling exponentially (Reynolds): `mu = viscosity exp(-decay (T - reference))`, decay in 1/K,
    /// reference temperature in K.
    ///
    /// # Errors
    /// [`PropertyError::InvalidInput`] naming the value that can't be used.
    pub fn thinning(description: ConstantFluid, decay_per_k: f64, reference_temperature_k: f64) -> Result<Self, PropertyError> {
        custom::build_thinning(description, decay_per_k, reference_temperature_k)
    }

    /// An ideal gas of constant properties, for hand checks.
    ///
    /// # Errors
    /// [`PropertyError::InvalidInput`] naming the value that can't be used.
    pub fn constant_gas(description: ConstantGas) -> Result<Self, PropertyError> {
        closed_form::gas(description)
    }

    /// A liquid of constant properties that boils to an ideal gas of constant properties, for hand checks.
    ///
    /// # Errors
    /// [`PropertyError::InvalidInput`] naming the value that can't be used.
    pub fn constant_boiling(description: ConstantBoiling) -> Result<Self, PropertyError> {
        closed_form::boiling(description)
    }

    fn from_inner(inner: Inner) -> Self {
        Self { inner: Arc::new(inner), viscosity_factor: 1.0 }
    }

    /// Name with composition.
    pub fn name(&self) -> &str {
        &self.inner.name
    }
    /// What stands behind it.
    pub fn kind(&self) -> FluidKind {
        self.inner.kind
    }
    /// Works that its numbers come from.
    pub fn sources(&self) -> &[SourceRef] {
        &self.inner.sources
    }
    /// What it may do to seals and people.
    pub fn hazards(&self) -> &Hazards {
        &self.inner.hazards
    }
    /// Version of the data behind it.
    pub fn data_version(&self) -> &str {
        &self.inner.data_version
    }
    /// Where its numbers may be asked for.
    pub fn range(&self) -> &Range {
        &self.inner.range
    }
    /// Freezing or crystallising temperature, K, where known.
    pub fn freezing_temperature(&self) -> Option<f64> {
        self.inner.freezing
    }
    /// Group of the elastomer fitness table at a temperature (K), where one applies.
    pub fn family(&self, temperature_k: f64) -> Option<FluidFamily> {
        match self.inner.family {
            Some(FluidFamily::WaterCold) if temperature_k >= 353.15 => Some(FluidFamily::WaterHot),
            // at room temperature nitrogen and argon attack no elastomer
            Some(FluidFamily::LiquidNitrogen) if temperature_k >= 150.0 => None,
            // below 200 degC a heat-transfer oil attacks elastomers as aromatics do
            Some(FluidFamily::HotThermalOil) if temperature_k < 473.15 => Some(FluidFamily::Aromatic),
            other => other,
        }
    }

    /// The same fluid with every viscosity times a factor, for studies of what viscosity does.
    #[must_use]
    pub fn thickened(&self, factor: f64) -> Self {
        Self { viscosity_factor: factor * self.viscosity_factor, ..self.clone() }
    }

    fn thick(&self, state: FluidState) -> FluidState {
        state.thickened(self.viscosity_factor)
    }

    /// State at absolute pressure (Pa) and temperature (K), in stable equilibrium for a fluid with an equation of state
    /// (liquid on the saturation line); liquid for the others.
    ///
    /// # Errors
    /// Out of range, with value, range and what to do; not converged.
    pub fn at_pressure_temperature(&self, pressure_pa: f64, temperature_k: f64) -> Result<FluidState, PropertyError> {
        self.check_pressure(pressure_pa)?;
        self.check_number("temperature", temperature_k)?;
        match &self.inner.model {
            Model::Pure(entry) => {
                self.check_temperature(temperature_k)?;
                let (rho, phase) = entry.fluid.density(pressure_pa, temperature_k)?;
                let state = entry.fluid.state(rho, temperature_k, phase);
                Ok(self.thick(FluidState { pressure_pa, ..state }))
            }
            Model::Liquid(liquid) => liquid.at_temperature(pressure_pa, temperature_k).map(|state| self.thick(state)),
            Model::ClosedForm(form) => {
                self.check_temperature(temperature_k)?;
                Ok(self.thick(form.at_temperature(pressure_pa, temperature_k)))
            }
        }
    }

    /// State at absolute pressure (Pa) and specific enthalpy (J/kg) from the equations themselves, in stable equilibrium,
    /// two-phase included, for a fluid with an equation of state.
    ///
    /// # Errors
    /// As [`Fluid::at_pressure_temperature`].
    pub fn at_pressure_enthalpy(&self, pressure_pa: f64, enthalpy_j_per_kg: f64) -> Result<FluidState, PropertyError> {
        self.at_pressure_enthalpy_with(pressure_pa, enthalpy_j_per_kg, MixtureViscosity::default())
    }

    /// As [`Fluid::at_pressure_enthalpy`], with the viscosity of a mixture by a rule of choice: what [`Fluid::film_state`]
    /// approximates.
    ///
    /// # Errors
    /// As [`Fluid::film_state`].
    pub fn at_pressure_enthalpy_with(
        &self,
        pressure_pa: f64,
        enthalpy_j_per_kg: f64,
        mixture: MixtureViscosity,
    ) -> Result<FluidState, PropertyError> {
        self.check_pressure(pressure_pa)?;
        self.check_number("enthalpy", enthalpy_j_per_kg)?;
        match &self.inner.model {
            Model::Pure(entry) => {
                let state = equilibrium::state(&entry.fluid, pressure_pa, enthalpy_j_per_kg, mixture)?;
                self.check_equilibrium(&state)?;
                Ok(self.thick(state))
            }
            Model::Liquid(liquid) => liquid.at_enthalpy(pressure_pa, enthalpy_j_per_kg).map(|state| self.thick(state)),
            Model::ClosedForm(form) => self.checked(form.at_enthalpy(pressure_pa, enthalpy_j_per_kg, mixture)),
        }
    }

    /// Liquid at absolute pressure (Pa) and temperature (K), superheated liquid below the saturation pressure included.
    ///
    /// # Errors
    /// As [`Fluid::at_pressure_temperature`]; [`PropertyError::BeyondLiquid`].
    pub fn liquid_at_pressure_temperature(&self, pressure_pa: f64, temperature_k: f64) -> Result<FluidState, PropertyError> {
        self.check_pressure(pressure_pa)?;
        self.check_number("temperature", temperature_k)?;
        let entry = match &self.inner.model {
            Model::Pure(entry) => entry,
            Model::Liquid(_) => return self.at_pressure_temperature(pressure_pa, temperature_k),
            Model::ClosedForm(form) => return self.checked(form.liquid_at_temperature(pressure_pa, temperature_k)),
        };
        self.check_temperature(temperature_k)?;
        let fluid = &entry.fluid;
        if temperature_k >= fluid.critical_temperature {
            if pressure_pa >= fluid.critical_pressure {
                return self.at_pressure_temperature(pressure_pa, temperature_k);
            }
        } else if let Some(rho) = fluid.liquid_density(pressure_pa, temperature_k) {
            let state = fluid.state(rho, temperature_k, fluid.liquid_phase(pressure_pa, temperature_k));
            return Ok(self.thick(FluidState { pressure_pa, ..state }));
        }
        Err(PropertyError::BeyondLiquid {
            fluid: self.name().to_owned(),
            pressure_pa,
            enthalpy_j_per_kg: self.at_pressure_temperature(pressure_pa, temperature_k)?.enthalpy_j_per_kg,
            limit_temperature_k: fluid.superheat_limit(pressure_pa),
        })
    }

    /// Liquid at absolute pressure (Pa) and specific enthalpy (J/kg) from the equations themselves, superheated liquid
    /// included: what [`Fluid::superheated_film_state`] approximates.
    ///
    /// # Errors
    /// As [`Fluid::superheated_film_state`].
    pub fn liquid_at_pressure_enthalpy(&self, pressure_pa: f64, enthalpy_j_per_kg: f64) -> Result<FluidState, PropertyError> {
        self.check_pressure(pressure_pa)?;
        self.check_number("enthalpy", enthalpy_j_per_kg)?;
        match &self.inner.model {
            Model::Pure(entry) => {
                let state = entry.fluid.liquid_state(pressure_pa, enthalpy_j_per_kg)?;
                self.check_temperature(state.temperature_k)?;
                Ok(self.thick(state))
            }
            Model::Liquid(liquid) => liquid.at_enthalpy(pressure_pa, enthalpy_j_per_kg).map(|state| self.thick(state)),
            Model::ClosedForm(form) => self.checked(form.liquid_at_enthalpy(pressure_pa, enthalpy_j_per_kg)),
        }
    }

    /// Lowest pressure of the vapour-liquid line, Pa: that of the triple point; nothing for fluids without such a point.
    pub fn triple_pressure_pa(&self) -> Option<f64> {
        match &self.inner.model {
            Model::Pure(entry) => Some(entry.fluid.saturation().lowest_pressure()),
            Model::Liquid(_) | Model::ClosedForm(_) => None,
        }
    }

    /// Number of cells of the property surfaces filled so far (0 for fluids that answer directly).
    pub fn filled_surface_cells(&self) -> usize {
        match &self.inner.model {
            Model::Pure(entry) => entry.surface.tally().patches,
            Model::Liquid(_) | Model::ClosedForm(_) => 0,
        }
    }

    /// Number of cells visited so far that are left to the equation itself, because no expansion converges there.
    pub fn unconverged_surface_cells(&self) -> usize {
        match &self.inner.model {
            Model::Pure(entry) => entry.surface.tally().equation,
            Model::Liquid(_) | Model::ClosedForm(_) => 0,
        }
    }

    /// Builds one cell of the property surface at a state without keeping it; for benches. True when it converged.
    #[doc(hidden)]
    pub fn build_surface_cell(&self, pressure_pa: f64, enthalpy_j_per_kg: f64) -> bool {
        match &self.inner.model {
            Model::Pure(entry) => surface::fill_once(&entry.fluid, pressure_pa, enthalpy_j_per_kg),
            Model::Liquid(_) | Model::ClosedForm(_) => false,
        }
    }

    /// Builds the one cell of the stable surface that answers at a state without keeping it; for benches. True when the
    /// expansion converged; false where the state needs none.
    #[doc(hidden)]
    pub fn build_stable_cell(&self, pressure_pa: f64, enthalpy_j_per_kg: f64) -> bool {
        match &self.inner.model {
            Model::Pure(entry) => entry.surface.fill_stable_once(&entry.fluid, pressure_pa, enthalpy_j_per_kg),
            Model::Liquid(_) | Model::ClosedForm(_) => false,
        }
    }

    /// Saturation temperature (K) at an absolute pressure (Pa).
    pub fn saturation_temperature(&self, pressure_pa: f64) -> Saturation {
        match &self.inner.model {
            Model::Pure(entry) => {
                let s = entry.fluid.saturation();
                if pressure_pa >= s.highest_pressure() {
                    Saturation::Supercritical
                } else if pressure_pa.is_nan() || pressure_pa < s.lowest_pressure() {
                    Saturation::Beyond { limit: s.lowest_temperature() }
                } else {
                    Saturation::At(s.temperature(pressure_pa))
                }
            }
            Model::Liquid(liquid) => match &liquid.parts.vapour_pressure {
                None => Saturation::NoVapourData,
                Some(v) if pressure_pa.is_nan() || pressure_pa < v.correlation.value(v.low) => Saturation::Beyond { limit: v.low },
                Some(v) if pressure_pa > v.correlation.value(v.high) => Saturation::Beyond { limit: v.high },
                Some(v) => Saturation::At(v.temperature(pressure_pa)),
            },
            Model::ClosedForm(form) => match form.line(pressure_pa) {
                None => Saturation::NoVapourData,
                Some(_) if self.check_pressure(pressure_pa).is_err() => {
                    Saturation::Beyond { limit: self.inner.range.temperature_high.value }
                }
                Some(line) => Saturation::At(line.temperature_k),
            },
        }
    }

    /// Saturation pressure (Pa) at a temperature (K).
    pub fn saturation_pressure(&self, temperature_k: f64) -> Saturation {
        match &self.inner.model {
            Model::Pure(entry) => {
                let s = entry.fluid.saturation();
                if temperature_k >= entry.fluid.critical_temperature {
                    Saturation::Supercritical
                } else if temperature_k.is_nan() || temperature_k < s.lowest_temperature() {
                    Saturation::Beyond { limit: s.lowest_pressure() }
                } else {
                    Saturation::At(s.pressure(temperature_k))
                }
            }
            Model::Liquid(liquid) => match &liquid.parts.vapour_pressure {
                None => Saturation::NoVapourData,
                Some(v) if temperature_k.is_nan() || temperature_k < v.low => Saturation::Beyond { limit: v.correlation.value(v.low) },
                Some(v) if temperature_k > v.high => Saturation::Beyond { limit: v.correlation.value(v.high) },
                Some(v) => Saturation::At(v.correlation.value(temperature_k)),
            },
            Model::ClosedForm(form) => match form.saturation_pressure(temperature_k) {
                None => Saturation::NoVapourData,
                Some(p) if self.check_pressure(p).is_err() => Saturation::Beyond { limit: self.inner.range.pressure_high.value },
                Some(p) => Saturation::At(p),
            },
        }
    }

    /// Critical temperature (K) and pressure (Pa), where the fluid has an equation of state.
    pub fn critical_point(&self) -> Option<(f64, f64)> {
        match &self.inner.model {
            Model::Pure(entry) => Some((entry.fluid.critical_temperature, entry.fluid.critical_pressure)),
            Model::Liquid(_) | Model::ClosedForm(_) => None,
        }
    }

    /// Critical density, kg/m3, where the fluid has an equation of state.
    pub fn critical_density(&self) -> Option<f64> {
        match &self.inner.model {
            Model::Pure(entry) => Some(entry.fluid.critical_density),
            Model::Liquid(_) | Model::ClosedForm(_) => None,
        }
    }

    /// Specific gas constant of its vapour, J/(kg K), where the vapour is known.
    pub fn gas_constant_j_per_kg_k(&self) -> Option<f64> {
        match &self.inner.model {
            Model::Pure(entry) => Some(entry.fluid.gas_constant),
            Model::Liquid(_) => None,
            Model::ClosedForm(form) => Some(form.gas_constant()),
        }
    }

    /// What the reader of a result must be told about a state at absolute pressure (Pa) and temperature (K).
    pub fn notices_at(&self, pressure_pa: f64, temperature_k: f64) -> Vec<PropertyNotice> {
        let mut notices = self.inner.standing_notices.clone();
        let mut add = |code, message| notices.push(PropertyNotice { code, message });
        let (low, high) = self.inner.range.stated_temperature_k;
        let celsius = |t: f64| t - 273.15;
        if temperature_k < low || temperature_k > high {
            add(
                "fluid.extrapolated",
                format!(
                    "{}: {:.1} degC is outside the {:.1} to {:.1} degC of its source; the values are extrapolated",
                    self.name(),
                    celsius(temperature_k),
                    celsius(low),
                    celsius(high)
                ),
            );
        }
        if temperature_k > self.inner.transport_high {
            add(
                "fluid.transport-extrapolated",
                format!(
                    "{}: viscosity and conductivity are extrapolated above {:.0} degC",
                    self.name(),
                    celsius(self.inner.transport_high)
                ),
            );
        }
        if let Some(freezing) = self.inner.freezing
            && temperature_k < freezing
        {
            add(
                "fluid.freezes",
                format!(
                    "{}: {:.1} degC is below its freezing or crystallising point of {:.1} degC",
                    self.name(),
                    celsius(temperature_k),
                    celsius(freezing)
                ),
            );
        }
        if let Some((t_c, p_c)) = self.critical_point()
            && (temperature_k / t_c - 1.0).abs() < 0.005
            && (pressure_pa / p_c - 1.0).abs() < 0.05
        {
            add(
                "fluid.near-critical",
                format!(
                    "{}: near its critical point ({:.2} degC, {:.3} MPa) properties change steeply and are less sure; heat capacity and \
                     conductivity, infinite there, are held finite within some millikelvin of it",
                    self.name(),
                    celsius(t_c),
                    p_c / 1e6
                ),
            );
        }
        if let Model::Liquid(liquid) = &self.inner.model {
            let alpha = liquid.parts.pressure_viscosity;
            if alpha == 0.0 && pressure_pa > 20e6 && self.inner.kind != FluidKind::Constant {
                add(
                    "fluid.pressure-viscosity-ignored",
                    format!(
                        "{}: the rise of viscosity with pressure is not in the data; at {:.0} MPa it may matter",
                        self.name(),
                        pressure_pa / 1e6
                    ),
                );
            } else if alpha * pressure_pa > 0.1 {
                add(
                    "fluid.pressure-viscosity",
                    format!(
                        "{}: viscosity raised by {:.0} % for pressure, Barus coefficient {:.0} per GPa",
                        self.name(),
                        100.0 * ((alpha * pressure_pa).exp() - 1.0),
                        alpha * 1e9
                    ),
                );
            }
        }
        if let Model::Pure(entry) = &self.inner.model
            && temperature_k < entry.fluid.triple_temperature
            && pressure_pa < entry.fluid.saturation().lowest_pressure()
        {
            add(
                "fluid.below-triple-point",
                format!(
                    "{}: gas at {:.1} degC is colder than the triple point; the equation is extrapolated and frost is not considered",
                    self.name(),
                    celsius(temperature_k)
                ),
            );
        }
        match self.saturation_pressure(temperature_k) {
            Saturation::At(saturation) if pressure_pa < saturation => add(
                "fluid.below-saturation",
                format!(
                    "{}: {:.4} MPa is below the saturation pressure of {:.4} MPa at {:.1} degC: in equilibrium it is gas, and what stays liquid is superheated",
                    self.name(),
                    pressure_pa / 1e6,
                    saturation / 1e6,
                    celsius(temperature_k)
                ),
            ),
            Saturation::NoVapourData if !matches!(self.inner.kind, FluidKind::Constant | FluidKind::ConstantGas) => {
                add("fluid.no-vapour-data", format!("{}: no vapour-pressure data; no boiling margin can be given", self.name()))
            }
            _ => {}
        }
        notices
    }

    fn checked(&self, state: FluidState) -> Result<FluidState, PropertyError> {
        self.check_temperature(state.temperature_k)?;
        Ok(self.thick(state))
    }

    /// Gas below the triple-point pressure may be colder than the triple point; everything else may not.
    fn check_equilibrium(&self, state: &FluidState) -> Result<(), PropertyError> {
        let gas = state.phase == Phase::Vapour && state.temperature_k < self.inner.range.temperature_high.value;
        if gas { Ok(()) } else { self.check_temperature(state.temperature_k) }
    }

    fn check_number(&self, field: &str, value: f64) -> Result<(), PropertyError> {
        if value.is_finite() {
            return Ok(());
        }
        Err(PropertyError::InvalidInput { field: field.to_owned(), value, requirement: "a finite number is needed".to_owned() })
    }

    fn check_pressure(&self, p: f64) -> Result<(), PropertyError> {
        let range = &self.inner.range;
        if p >= range.pressure_low.value && p <= range.pressure_high.value {
            return Ok(());
        }
        let reason = if p > range.pressure_high.value { &range.pressure_high.reason } else { &range.pressure_low.reason };
        Err(PropertyError::PressureOutOfRange {
            fluid: self.name().to_owned(),
            value_pa: p,
            low_pa: range.pressure_low.value,
            high_pa: range.pressure_high.value,
            reason: reason.clone(),
        })
    }

    fn check_temperature(&self, t: f64) -> Result<(), PropertyError> {
        let range = &self.inner.range;
        let slack = 1e-6;
        if t >= range.temperature_low.value - slack && t <= range.temperature_high.value + slack {
            return Ok(());
        }
        let cold = t < range.temperature_low.value;
        Err(PropertyError::TemperatureOutOfRange {
            fluid: self.name().to_owned(),
            value_k: t,
            low_k: range.temperature_low.value,
            high_k: range.temperature_high.value,
            reason: if cold { range.temperature_low.reason.clone() } else { range.temperature_high.reason.clone() },
            hint: if cold { "Raise the temperature" } else { "Lower the temperature, or check its unit" }.to_owned(),
        })
    }
}
