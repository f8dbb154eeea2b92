//! Fluids that the user describes.

use super::correlation::{Correlation, walther_constants};
use super::hazards::Hazards;
use super::liquid::{Liquid, LiquidParts, VapourPressure};
use super::{Bound, Fluid, FluidKind, Inner, Model, PropertyNotice, Range};
use crate::error::{PropertyError, above};
use crate::source;

/// How viscosity runs between the two given points and beyond.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ViscosityLaw {
    /// ASTM D341 (Walther) in kinematic viscosity: oils and fuels.
    Walther,
    /// `ln mu` straight in `1/T` (Andrade): water-like and light liquids.
    LogInverseTemperature,
}

/// A liquid from what people have measured. SI units, absolute pressure, kelvin.
#[derive(Debug, Clone, PartialEq)]
pub struct CustomFluid {
    /// Name shown.
    pub name: String,
    /// Two dynamic viscosities as (temperature K, Pa s).
    pub viscosity: [(f64, f64); 2],
    /// Law between and beyond them.
    pub viscosity_law: ViscosityLaw,
    /// One density as (temperature K, kg/m3).
    pub density: (f64, f64),
    /// Volumetric thermal expansion, 1/K: density falls straight with it. None: constant density, with a notice.
    pub expansion_per_k: Option<f64>,
    /// Two vapour pressures as (temperature K, Pa), joined by `ln p = A - B/T` (Clausius and Clapeyron). None: no boiling margin.
    pub vapour_pressure: Option<[(f64, f64); 2]>,
    /// Heat capacity, J/(kg K). None: 2000 for the Walther law, 4200 otherwise, with a notice.
    pub heat_capacity: Option<f64>,
    /// Conductivity, W/(m K). None: 0.12 for the Walther law, 0.6 otherwise, with a notice.
    pub conductivity: Option<f64>,
    /// Barus coefficient of the viscosity, 1/Pa.
    pub pressure_viscosity: Option<f64>,
    /// Bulk modulus, Pa. None: incompressible.
    pub bulk_modulus: Option<f64>,
    /// Temperatures between which the data hold, K.
    pub temperature_range: (f64, f64),
    /// Freezing point, K.
    pub freezing: Option<f64>,
}

/// A fluid of constant properties. SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct ConstantFluid {
    /// Name shown.
    pub name: String,
    /// kg/m3
    pub density: f64,
    /// Pa s
    pub viscosity: f64,
    /// J/(kg K)
    pub heat_capacity: f64,
    /// W/(m K)
    pub conductivity: f64,
}

fn inside(field: &str, value: f64, low: f64, high: f64, unit: &str) -> Result<f64, PropertyError> {
    if value >= low && value <= high {
        return Ok(value);
    }
    Err(PropertyError::InvalidInput { field: field.to_owned(), value, requirement: format!("{low:e} to {high:e} {unit} is allowed") })
}

fn pair(field: &str, points: [(f64, f64); 2], low: f64, high: f64, unit: &str) -> Result<[(f64, f64); 2], PropertyError> {
    for (t, v) in points {
        inside(&format!("temperature of {field}"), t, 20.0, 1_500.0, "K")?;
        inside(field, v, low, high, unit)?;
    }
    let [a, b] = points;
    if (a.0 - b.0).abs() < 1.0 {
        return Err(PropertyError::InvalidInput {
            field: format!("temperatures of {field}"),
            value: b.0,
            requirement: format!("the two points must lie at least 1 K apart; the other is at {:.2} K", a.0),
        });
    }
    Ok(if a.0 < b.0 { [a, b] } else { [b, a] })
}

fn falling(field: &str, [a, b]: [(f64, f64); 2], expected_falling: bool) -> Result<(), PropertyError> {
    if (b.1 < a.1) == expected_falling && a.1 != b.1 {
        return Ok(());
    }
    let requirement = if expected_falling { "it must fall with temperature" } else { "it must rise with temperature" };
    Err(PropertyError::InvalidInput {
        field: field.to_owned(),
        value: b.1,
        requirement: format!("{requirement}; check which value belongs to which temperature"),
    })
}

pub(super) fn build(d: CustomFluid) -> Result<Fluid, PropertyError> {
    let (low, high) = d.temperature_range;
    inside("temperature_range low", low, 20.0, 1_500.0, "K")?;
    inside("temperature_range high", high, low + 1.0, 1_500.0, "K (above its low end)")?;
    inside("density", d.density.1, 1.0, 25_000.0, "kg/m3")?;
    inside("temperature of density", d.density.0, 20.0, 1_500.0, "K")?;
    let viscosity = pair("viscosity", d.viscosity, 1e-6, 1e5, "Pa s")?;
    falling("viscosity", viscosity, true)?;
    let mut notices = Vec::new();
    let mut assume = |what: String| notices.push(PropertyNotice { code: "fluid.assumed", message: format!("{}: {what}", d.name) });
    let expansion = match d.expansion_per_k {
        Some(e) => inside("expansion_per_k", e, -0.01, 0.02, "1/K")?,
        None => {
            assume("no thermal expansion given, density taken as constant".to_owned());
            0.0
        }
    };
    let oil = d.viscosity_law == ViscosityLaw::Walther;
    let heat_capacity = match d.heat_capacity {
        Some(c) => inside("heat_capacity", c, 50.0, 20_000.0, "J/(kg K)")?,
        None => {
            let c = if oil { 2_000.0 } else { 4_200.0 };
            assume(format!("heat capacity taken as {c} J/(kg K)"));
            c
        }
    };
    let conductivity = match d.conductivity {
        Some(k) => inside("conductivity", k, 1e-3, 100.0, "W/(m K)")?,
        None => {
            let k = if oil { 0.12 } else { 0.6 };
            assume(format!("conductivity taken as {k} W/(m K)"));
            k
        }
    };
    let density = Correlation::Polynomial { base: d.density.0, coefficients: vec![d.density.1, -d.density.1 * expansion] };
    let [v1, v2] = viscosity;
    let (law, kinematic) = match d.viscosity_law {
        ViscosityLaw::Walther => {
            let nu = |(t, mu): (f64, f64)| (t, mu / density.value(t));
            for point in [v1, v2] {
                inside(
                    "kinematic viscosity for the Walther law",
                    nu(point).1 * 1e6,
                    0.21,
                    1e8,
                    "mm2/s (take the other law for thinner liquids)",
                )?;
            }
            let (a, b) = walther_constants(nu(v1), nu(v2));
            (Correlation::Walther { a, b }, true)
        }
        ViscosityLaw::LogInverseTemperature => {
            let b = (v1.1 / v2.1).ln() / (1.0 / v1.0 - 1.0 / v2.0);
            (Correlation::LogInverse { a: v1.1.ln() - b / v1.0, b }, false)
        }
    };
    let vapour_pressure = d
        .vapour_pressure
        .map(|points| {
            let points = pair("vapour_pressure", points, 1e-3, 1e8, "Pa")?;
            falling("vapour_pressure", points, false)?;
            let [p1, p2] = points;
            let b = (p1.1 / p2.1).ln() / (1.0 / p1.0 - 1.0 / p2.0);
            Ok(VapourPressure {
                correlation: Correlation::LogInverse { a: p1.1.ln() - b / p1.0, b },
                low: 0.7 * low.min(p1.0),
                high: 1.4 * high.max(p2.0),
            })
        })
        .transpose()?;
    if let Some(freezing) = d.freezing {
        inside("freezing", freezing, 1.0, 1_500.0, "K")?;
    }
    let parts = LiquidParts {
        name: d.name.clone(),
        density,
        heat_capacity: Correlation::Polynomial { base: low, coefficients: vec![heat_capacity] },
        viscosity: law,
        kinematic,
        conductivity: Correlation::Polynomial { base: low, coefficients: vec![conductivity] },
        vapour_pressure,
        bulk_modulus: d.bulk_modulus.map(|k| inside("bulk_modulus", k, 1e7, 1e12, "Pa")).transpose()?,
        pressure_viscosity: d.pressure_viscosity.map_or(Ok(0.0), |a| inside("pressure_viscosity", a, 0.0, 1e-7, "1/Pa"))?,
        limits: (low, high),
        limit_reasons: ("the low end given for this fluid".to_owned(), "the high end given for this fluid".to_owned()),
    };
    finish(parts, FluidKind::Custom, notices, d.freezing, 500e6)
}

pub(super) fn build_constant(d: ConstantFluid) -> Result<Fluid, PropertyError> {
    build_thinning(d, 0.0, 293.15)
}

pub(super) fn build_thinning(d: ConstantFluid, decay: f64, reference: f64) -> Result<Fluid, PropertyError> {
    inside("decay", decay, 0.0, 1.0, "1/K")?;
    inside("reference temperature", reference, 1.0, 3_000.0, "K")?;
    let constant = |field: &str, value: f64, unit: &str| -> Result<Correlation, PropertyError> {
        Ok(Correlation::Polynomial { base: 273.15, coefficients: vec![above(field, value, 0.0, unit)?] })
    };
    let parts = LiquidParts {
        name: d.name.clone(),
        density: constant("density", d.density, "kg/m3")?,
        heat_capacity: constant("heat_capacity", d.heat_capacity, "J/(kg K)")?,
        viscosity: Correlation::Exponential { value: above("viscosity", d.viscosity, 0.0, "Pa s")?, decay, reference },
        kinematic: false,
        conductivity: constant("conductivity", d.conductivity, "W/(m K)")?,
        vapour_pressure: None,
        bulk_modulus: None,
        pressure_viscosity: 0.0,
        // a decay of the viscosity must stay a positive number over the whole range
        limits: if decay == 0.0 { (0.15, 3_273.15) } else { (0.15, 1_500.0) },
        limit_reasons: ("absolute zero".to_owned(), "no seal is that hot".to_owned()),
    };
    finish(parts, FluidKind::Constant, Vec::new(), None, 10e9)
}

fn finish(
    parts: LiquidParts,
    kind: FluidKind,
    notices: Vec<PropertyNotice>,
    freezing: Option<f64>,
    highest: f64,
) -> Result<Fluid, PropertyError> {
    Ok(Fluid::from_inner(Inner {
        name: parts.name.clone(),
        kind,
        range: Range {
            temperature_low: Bound { value: parts.limits.0, reason: parts.limit_reasons.0.clone() },
            temperature_high: Bound { value: parts.limits.1, reason: parts.limit_reasons.1.clone() },
            pressure_low: Bound { value: 0.0, reason: "absolute pressure is never negative".to_owned() },
            pressure_high: Bound { value: highest, reason: "far above any seal".to_owned() },
            stated_temperature_k: parts.limits,
        },
        sources: vec![source::USER],
        hazards: Hazards::unknown(),
        data_version: "user".to_owned(),
        family: None,
        standing_notices: notices,
        transport_high: parts.limits.1,
        freezing,
        model: Model::Liquid(Box::new(Liquid::new(parts)?)),
    }))
}
