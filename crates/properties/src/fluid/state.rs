//! What a fluid answers: states, saturation, ranges, notices.

use std::fmt;

/// Phase of a state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Phase {
    /// Stable liquid.
    Liquid,
    /// Gas below the critical point.
    Vapour,
    /// Liquid and vapour in equilibrium, homogeneously mixed.
    TwoPhase,
    /// Above the critical temperature and pressure.
    Supercritical,
    /// Superheated liquid: it would boil if it were given the time.
    LiquidMetastable,
}

impl fmt::Display for Phase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Liquid => "liquid",
            Self::Vapour => "vapour",
            Self::TwoPhase => "liquid and vapour",
            Self::Supercritical => "supercritical",
            Self::LiquidMetastable => "superheated liquid",
        })
    }
}

/// First partial derivatives at constant enthalpy (`.._by_pressure`) and constant pressure (`.._by_enthalpy`), SI units.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PhDerivatives {
    /// K/Pa
    pub temperature_by_pressure: f64,
    /// K kg/J
    pub temperature_by_enthalpy: f64,
    /// kg/(m3 Pa)
    pub density_by_pressure: f64,
    /// kg2/(m3 J)
    pub density_by_enthalpy: f64,
    /// s
    pub viscosity_by_pressure: f64,
    /// Pa s kg/J
    pub viscosity_by_enthalpy: f64,
    /// W/(m K Pa)
    pub conductivity_by_pressure: f64,
    /// W kg/(m K J)
    pub conductivity_by_enthalpy: f64,
}

/// Everything a film needs to know of the fluid at one point. Absolute pressure, SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FluidState {
    /// Absolute pressure, Pa.
    pub pressure_pa: f64,
    /// Specific enthalpy, J/kg; its zero is the fluid's own, only differences mean anything.
    pub enthalpy_j_per_kg: f64,
    /// Temperature, K.
    pub temperature_k: f64,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Dynamic viscosity, Pa s; of a mixture by the rule stated in the model.
    pub viscosity_pa_s: f64,
    /// Thermal conductivity, W/(m K).
    pub conductivity_w_per_m_k: f64,
    /// Isobaric heat capacity, J/(kg K); infinite in a mixture of liquid and vapour.
    pub isobaric_heat_capacity_j_per_kg_k: f64,
    /// Mass share of vapour: 0 for liquid, 1 for vapour.
    pub vapour_mass_fraction: f64,
    /// Phase.
    pub phase: Phase,
    /// Derivatives by pressure and enthalpy.
    pub derivatives: PhDerivatives,
}

impl FluidState {
    /// With its viscosity times a factor.
    pub(super) fn thickened(mut self, factor: f64) -> Self {
        self.viscosity_pa_s *= factor;
        self.derivatives.viscosity_by_pressure *= factor;
        self.derivatives.viscosity_by_enthalpy *= factor;
        self
    }

    /// Specific volume, m3/kg.
    pub fn specific_volume(&self) -> f64 {
        1.0 / self.density_kg_per_m3
    }

    /// Speed of sound of the equilibrium state, m/s: `1/c^2 = drho/dp (h) + drho/dh (p)/rho`, which is `drho/dp` at constant
    /// entropy. It steps at the phase line, where a mixture in equilibrium is far more compressible. Infinite for an
    /// incompressible fluid.
    pub fn sound_speed_m_per_s(&self) -> f64 {
        let d = &self.derivatives;
        (d.density_by_pressure + d.density_by_enthalpy / self.density_kg_per_m3).max(0.0).recip().sqrt()
    }
}

/// Answer to a question about the saturation line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Saturation {
    /// The saturation temperature (K) or pressure (Pa).
    At(f64),
    /// Beyond the end of the known line; `limit` is the last known temperature (K) or pressure (Pa) on that side:
    /// the true value lies past it.
    Beyond {
        /// End of the line.
        limit: f64,
    },
    /// Above the critical point: nothing boils there.
    Supercritical,
    /// No vapour-pressure data: a boiling margin can't be given.
    NoVapourData,
}

impl Saturation {
    /// The value, if there is one.
    pub fn value(self) -> Option<f64> {
        match self {
            Self::At(v) => Some(v),
            _ => None,
        }
    }
}

/// One end of a range with its reason.
#[derive(Debug, Clone, PartialEq)]
pub struct Bound {
    /// Kelvin or pascal.
    pub value: f64,
    /// Why the range ends here.
    pub reason: String,
}

/// Where a fluid's numbers may be asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Range {
    /// Lowest temperature at which values are given at all, K.
    pub temperature_low: Bound,
    /// Highest temperature at which values are given at all, K.
    pub temperature_high: Bound,
    /// Lowest pressure, Pa.
    pub pressure_low: Bound,
    /// Highest pressure, Pa.
    pub pressure_high: Bound,
    /// Range of the source itself, K; outside it values are extrapolated and a notice says so.
    pub stated_temperature_k: (f64, f64),
}

/// Something the reader of a result must be told about a state.
#[derive(Debug, Clone, PartialEq)]
pub struct PropertyNotice {
    /// Stable code, for example `fluid.extrapolated`.
    pub code: &'static str,
    /// What it is, with numbers.
    pub message: String,
}

/// What stands behind a fluid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FluidKind {
    /// Helmholtz equation of state: liquid, vapour, supercritical.
    EquationOfState,
    /// Aqueous solution by correlations, liquid only.
    Solution,
    /// Oil by correlations, liquid only.
    Oil,
    /// Described by the user, liquid only.
    Custom,
    /// Liquid of constant properties, for hand checks.
    Constant,
    /// Ideal gas of constant properties, for hand checks.
    ConstantGas,
    /// Liquid and vapour of constant properties in equilibrium, for hand checks.
    ConstantBoiling,
}

/// Groups of fluids for which the fitness of elastomers is tabulated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs, reason = "the variants are the row heads of the table, in words")]
pub enum FluidFamily {
    WaterCold,
    WaterHot,
    SeaWaterBrine,
    MineralOilFuel,
    LightHydrocarbon,
    Aromatic,
    KetoneEster,
    Ammonia,
    Caustic,
    SulphuricDilute,
    SulphuricConcentrated,
    NitricChromic,
    WetChlorine,
    Amine,
    SourGas,
    GlycolMixture,
    LiquidNitrogen,
    HotThermalOil,
    Oxygen,
}
