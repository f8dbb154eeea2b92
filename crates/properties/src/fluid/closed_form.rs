//! Fluids of constant properties in closed form: an ideal gas, and a liquid that boils to an ideal gas.
//!
//! **What.** Media for hand checks of gas films and boiling films, where every number can be done on paper.
//!
//! **Equation.** Gas: `rho = p/(R T)`, `h = c (T - T0)`. Boiling fluid: line `ln(ps/ps0) = L/R (1/T0 - 1/T)` (Clausius and
//! Clapeyron, liquid volume neglected beside the vapour's); liquid of constant density with `h = c_l (T - T0)` (its flow
//! work `p/rho` neglected); vapour `rho = p/(R T)`, `h = c_l (Ts - T0) + L + c_v (T - Ts)`: the latent heat `L` is the same
//! at every pressure. With equal heat capacities the vapour's enthalpy depends on temperature alone.
//!
//! **Valid when.** As a check of a solver; no real fluid is meant.
//!
//! **Source.** Thermodynamics.
//!
//! **Checked by.** `constant_gas_is_ideal`, `constant_boiling_follows_its_line` (`tests/`).

use super::hazards::Hazards;
use super::mixture::{self, MixtureViscosity};
use super::phase_line::{PhaseLine, SaturatedPhase};
use super::{Bound, Fluid, FluidKind, FluidState, Inner, Model, PhDerivatives, Phase, Range};
use crate::error::{PropertyError, above};
use crate::source;

const HOTTEST: f64 = 3_000.0;
const HIGHEST_PRESSURE: f64 = 1e9;

/// An ideal gas of constant properties. SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct ConstantGas {
    /// Name shown.
    pub name: String,
    /// Specific gas constant, J/(kg K).
    pub gas_constant: f64,
    /// Pa s
    pub viscosity: f64,
    /// W/(m K)
    pub conductivity: f64,
    /// Isobaric heat capacity, J/(kg K); more than the gas constant.
    pub heat_capacity: f64,
    /// Temperature of zero enthalpy, K.
    pub reference_temperature: f64,
}

/// A liquid of constant properties that boils to an ideal gas of constant properties. SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct ConstantBoiling {
    /// Name shown.
    pub name: String,
    /// Density of the liquid, kg/m3.
    pub liquid_density: f64,
    /// Viscosity of the liquid, Pa s.
    pub liquid_viscosity: f64,
    /// Conductivity of the liquid, W/(m K).
    pub liquid_conductivity: f64,
    /// Heat capacity of the liquid, J/(kg K).
    pub liquid_heat_capacity: f64,
    /// Specific gas constant of the vapour, J/(kg K).
    pub vapour_gas_constant: f64,
    /// Viscosity of the vapour, Pa s.
    pub vapour_viscosity: f64,
    /// Conductivity of the vapour, W/(m K).
    pub vapour_conductivity: f64,
    /// Isobaric heat capacity of the vapour, J/(kg K).
    pub vapour_heat_capacity: f64,
    /// One point of the line as (temperature K, absolute pressure Pa); the liquid's enthalpy is zero at that temperature.
    pub saturation: (f64, f64),
    /// Latent heat, J/kg.
    pub latent_heat: f64,
}

#[derive(Debug)]
pub(super) enum ClosedForm {
    Gas(ConstantGas),
    Boiling(ConstantBoiling),
}

pub(super) fn gas(d: ConstantGas) -> Result<Fluid, PropertyError> {
    above("gas constant", d.gas_constant, 0.0, "J/(kg K)")?;
    above("viscosity", d.viscosity, 0.0, "Pa s")?;
    above("conductivity", d.conductivity, 0.0, "W/(m K)")?;
    above("heat capacity", d.heat_capacity, d.gas_constant, "J/(kg K), the gas constant,")?;
    above("reference temperature", d.reference_temperature, 0.0, "K")?;
    Ok(finish(d.name.clone(), FluidKind::ConstantGas, HIGHEST_PRESSURE, ClosedForm::Gas(d)))
}

pub(super) fn boiling(d: ConstantBoiling) -> Result<Fluid, PropertyError> {
    for (field, value, unit) in [
        ("liquid density", d.liquid_density, "kg/m3"),
        ("liquid viscosity", d.liquid_viscosity, "Pa s"),
        ("liquid conductivity", d.liquid_conductivity, "W/(m K)"),
        ("liquid heat capacity", d.liquid_heat_capacity, "J/(kg K)"),
        ("vapour gas constant", d.vapour_gas_constant, "J/(kg K)"),
        ("vapour viscosity", d.vapour_viscosity, "Pa s"),
        ("vapour conductivity", d.vapour_conductivity, "W/(m K)"),
        ("vapour heat capacity", d.vapour_heat_capacity, "J/(kg K)"),
        ("saturation temperature", d.saturation.0, "K"),
        ("saturation pressure", d.saturation.1, "Pa"),
        ("latent heat", d.latent_heat, "J/kg"),
    ] {
        above(field, value, 0.0, unit)?;
    }
    // vapour must be the lighter phase wherever the line is asked for: p/(R Ts) below half the liquid's density
    let heaviest = 0.5 * d.liquid_density * d.vapour_gas_constant * d.saturation.0;
    let (t0, p0) = d.saturation;
    let at_hottest = p0 * (d.latent_heat / d.vapour_gas_constant * (1.0 / t0 - 1.0 / HOTTEST)).exp();
    let highest = HIGHEST_PRESSURE.min(at_hottest).min(heaviest);
    if p0 >= highest {
        return Err(PropertyError::InvalidInput {
            field: "saturation pressure".to_owned(),
            value: p0,
            requirement: format!("below {highest:.4e} Pa is allowed, where the vapour would be half as dense as the liquid, or 3000 K hot"),
        });
    }
    Ok(finish(d.name.clone(), FluidKind::ConstantBoiling, highest, ClosedForm::Boiling(d)))
}

fn finish(name: String, kind: FluidKind, highest_pressure: f64, form: ClosedForm) -> Fluid {
    Fluid::from_inner(Inner {
        name,
        kind,
        range: Range {
            temperature_low: Bound { value: 1.0, reason: "absolute zero is near".to_owned() },
            temperature_high: Bound { value: HOTTEST, reason: "no seal is that hot".to_owned() },
            pressure_low: Bound { value: 1e-3, reason: "there is nothing left to compute".to_owned() },
            pressure_high: Bound {
                value: highest_pressure,
                reason: "far above any seal, or the vapour would be as dense as the liquid".to_owned(),
            },
            stated_temperature_k: (1.0, HOTTEST),
        },
        sources: vec![source::USER],
        hazards: Hazards::unknown(),
        data_version: "user".to_owned(),
        family: None,
        standing_notices: Vec::new(),
        transport_high: HOTTEST,
        freezing: None,
        model: Model::ClosedForm(Box::new(form)),
    })
}

impl ClosedForm {
    /// Stable state at pressure and enthalpy.
    pub fn at_enthalpy(&self, p: f64, h: f64, rule: MixtureViscosity) -> FluidState {
        match self {
            Self::Gas(gas) => gas.state(p, h),
            Self::Boiling(fluid) => {
                let line = fluid.line(p);
                if h <= line.liquid.enthalpy_j_per_kg {
                    fluid.liquid(p, h, Phase::Liquid)
                } else if h < line.vapour.enthalpy_j_per_kg {
                    mixture::state(&line, h, rule)
                } else {
                    fluid.vapour(&line, h)
                }
            }
        }
    }

    /// Stable state at pressure and temperature; liquid on the line.
    pub fn at_temperature(&self, p: f64, t: f64) -> FluidState {
        match self {
            Self::Gas(gas) => gas.state(p, gas.heat_capacity * (t - gas.reference_temperature)),
            Self::Boiling(fluid) => {
                let line = fluid.line(p);
                if t <= line.temperature_k {
                    fluid.liquid(p, fluid.liquid_heat_capacity * (t - fluid.saturation.0), Phase::Liquid)
                } else {
                    fluid.vapour(&line, line.vapour.enthalpy_j_per_kg + fluid.vapour_heat_capacity * (t - line.temperature_k))
                }
            }
        }
    }

    /// Liquid at pressure and enthalpy, superheated above the line; gas stays gas.
    pub fn liquid_at_enthalpy(&self, p: f64, h: f64) -> FluidState {
        match self {
            Self::Gas(gas) => gas.state(p, h),
            Self::Boiling(fluid) => {
                let stable = h <= fluid.line(p).liquid.enthalpy_j_per_kg;
                fluid.liquid(p, h, if stable { Phase::Liquid } else { Phase::LiquidMetastable })
            }
        }
    }

    pub fn liquid_at_temperature(&self, p: f64, t: f64) -> FluidState {
        match self {
            Self::Gas(_) => self.at_temperature(p, t),
            Self::Boiling(fluid) => self.liquid_at_enthalpy(p, fluid.liquid_heat_capacity * (t - fluid.saturation.0)),
        }
    }

    pub fn line(&self, p: f64) -> Option<PhaseLine> {
        match self {
            Self::Gas(_) => None,
            Self::Boiling(fluid) => Some(fluid.line(p)),
        }
    }

    /// Saturation pressure at a temperature.
    pub fn saturation_pressure(&self, t: f64) -> Option<f64> {
        match self {
            Self::Gas(_) => None,
            Self::Boiling(fluid) => {
                let (t0, p0) = fluid.saturation;
                Some(p0 * (fluid.latent_heat / fluid.vapour_gas_constant * (1.0 / t0 - 1.0 / t)).exp())
            }
        }
    }

    pub fn gas_constant(&self) -> f64 {
        match self {
            Self::Gas(gas) => gas.gas_constant,
            Self::Boiling(fluid) => fluid.vapour_gas_constant,
        }
    }
}

impl ConstantGas {
    fn state(&self, p: f64, h: f64) -> FluidState {
        let t = self.reference_temperature + h / self.heat_capacity;
        let rho = p / (self.gas_constant * t);
        FluidState {
            pressure_pa: p,
            enthalpy_j_per_kg: h,
            temperature_k: t,
            density_kg_per_m3: rho,
            viscosity_pa_s: self.viscosity,
            conductivity_w_per_m_k: self.conductivity,
            isobaric_heat_capacity_j_per_kg_k: self.heat_capacity,
            vapour_mass_fraction: 1.0,
            phase: Phase::Vapour,
            derivatives: PhDerivatives {
                temperature_by_enthalpy: 1.0 / self.heat_capacity,
                density_by_pressure: rho / p,
                density_by_enthalpy: -rho / (t * self.heat_capacity),
                ..PhDerivatives::default()
            },
        }
    }
}

impl ConstantBoiling {
    fn line(&self, p: f64) -> PhaseLine {
        let (t0, p0) = self.saturation;
        let t = 1.0 / (1.0 / t0 - self.vapour_gas_constant / self.latent_heat * (p / p0).ln());
        let t_p = t * t * self.vapour_gas_constant / (self.latent_heat * p);
        let (h, h_p) = (self.liquid_heat_capacity * (t - t0), self.liquid_heat_capacity * t_p);
        let rho = p / (self.vapour_gas_constant * t);
        PhaseLine {
            pressure_pa: p,
            temperature_k: t,
            temperature_by_pressure: t_p,
            liquid: SaturatedPhase {
                enthalpy_j_per_kg: h,
                density_kg_per_m3: self.liquid_density,
                viscosity_pa_s: self.liquid_viscosity,
                conductivity_w_per_m_k: self.liquid_conductivity,
                enthalpy_by_pressure: h_p,
                density_by_pressure: 0.0,
                viscosity_by_pressure: 0.0,
                conductivity_by_pressure: 0.0,
            },
            vapour: SaturatedPhase {
                enthalpy_j_per_kg: h + self.latent_heat,
                density_kg_per_m3: rho,
                viscosity_pa_s: self.vapour_viscosity,
                conductivity_w_per_m_k: self.vapour_conductivity,
                enthalpy_by_pressure: h_p,
                density_by_pressure: rho * (1.0 / p - t_p / t),
                viscosity_by_pressure: 0.0,
                conductivity_by_pressure: 0.0,
            },
        }
    }

    fn liquid(&self, p: f64, h: f64, phase: Phase) -> FluidState {
        FluidState {
            pressure_pa: p,
            enthalpy_j_per_kg: h,
            temperature_k: self.saturation.0 + h / self.liquid_heat_capacity,
            density_kg_per_m3: self.liquid_density,
            viscosity_pa_s: self.liquid_viscosity,
            conductivity_w_per_m_k: self.liquid_conductivity,
            isobaric_heat_capacity_j_per_kg_k: self.liquid_heat_capacity,
            vapour_mass_fraction: 0.0,
            phase,
            derivatives: PhDerivatives { temperature_by_enthalpy: 1.0 / self.liquid_heat_capacity, ..PhDerivatives::default() },
        }
    }

    fn vapour(&self, line: &PhaseLine, h: f64) -> FluidState {
        let p = line.pressure_pa;
        let c = self.vapour_heat_capacity;
        let t = line.temperature_k + (h - line.vapour.enthalpy_j_per_kg) / c;
        let t_p = line.temperature_by_pressure - line.vapour.enthalpy_by_pressure / c;
        let rho = p / (self.vapour_gas_constant * t);
        FluidState {
            pressure_pa: p,
            enthalpy_j_per_kg: h,
            temperature_k: t,
            density_kg_per_m3: rho,
            viscosity_pa_s: self.vapour_viscosity,
            conductivity_w_per_m_k: self.vapour_conductivity,
            isobaric_heat_capacity_j_per_kg_k: c,
            vapour_mass_fraction: 1.0,
            phase: Phase::Vapour,
            derivatives: PhDerivatives {
                temperature_by_pressure: t_p,
                temperature_by_enthalpy: 1.0 / c,
                density_by_pressure: rho * (1.0 / p - t_p / t),
                density_by_enthalpy: -rho / (t * c),
                ..PhDerivatives::default()
            },
        }
    }
}
