//! Heat-transfer oils from expansions fitted to the open CoolProp library's incompressible liquids.

use serde::Deserialize;

use super::correlation::Correlation;
use super::hazards::hazards_for;
use super::liquid::{Liquid, LiquidParts, VapourPressure};
use super::{Bound, Fluid, FluidFamily, FluidKind, Inner, Model, PropertyNotice, Range};
use crate::error::PropertyError;
use crate::source;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct OilData {
    name: String,
    data_version: String,
    #[allow(dead_code, reason = "the data file states it for its readers; unknown keys are refused, so it is read here")]
    source: String,
    density: Line,
    heat_capacity: Line,
    viscosity: Line,
    conductivity: Line,
    vapour_pressure: Line,
    #[allow(dead_code, reason = "the data file states it for its readers; unknown keys are refused, so it is read here")]
    checks: toml::Value,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    logarithm: bool,
    low_k: f64,
    high_k: f64,
    coefficients: Vec<f64>,
    #[allow(dead_code, reason = "the data file states it for its readers; unknown keys are refused, so it is read here")]
    greatest_fit_deviation: f64,
}

impl From<Line> for Correlation {
    fn from(l: Line) -> Self {
        Self::Expansion { low: l.low_k, high: l.high_k, coefficients: l.coefficients, logarithm: l.logarithm }
    }
}

/// Hydrogenated terphenyl, 0 to 380 degC.
pub(crate) fn hydrogenated_terphenyl() -> Result<Fluid, PropertyError> {
    build(include_str!("../../data/liquids/hydrogenated-terphenyl.toml"), "liquids/hydrogenated-terphenyl.toml", None)
}

/// Diphenyl / diphenyl-oxide eutectic, 12 to 397 degC; freezes at 12 degC.
pub(crate) fn diphenyl_oxide_eutectic() -> Result<Fluid, PropertyError> {
    build(include_str!("../../data/liquids/diphenyl-oxide-eutectic.toml"), "liquids/diphenyl-oxide-eutectic.toml", Some(285.15))
}

fn build(text: &str, file: &str, freezing: Option<f64>) -> Result<Fluid, PropertyError> {
    let data: OilData = toml::from_str(text).map_err(|e| PropertyError::Data { file: file.to_owned(), message: e.to_string() })?;
    let (low, high) = (data.density.low_k, data.density.high_k);
    let vapour = (data.vapour_pressure.low_k, data.vapour_pressure.high_k);
    let parts = LiquidParts {
        name: data.name.clone(),
        density: data.density.into(),
        heat_capacity: data.heat_capacity.into(),
        viscosity: data.viscosity.into(),
        kinematic: false,
        conductivity: data.conductivity.into(),
        vapour_pressure: Some(VapourPressure { correlation: data.vapour_pressure.into(), low: vapour.0, high: vapour.1 }),
        bulk_modulus: Some(1.0e9),
        pressure_viscosity: 0.0,
        limits: (low, high + 20.0),
        limit_reasons: (
            format!("the correlations begin at {:.0} degC", low - 273.15),
            format!("the correlations end at {:.0} degC and the oil decomposes", high - 273.15),
        ),
    };
    Ok(Fluid::from_inner(Inner {
        name: data.name.clone(),
        kind: FluidKind::Oil,
        range: Range {
            temperature_low: Bound { value: parts.limits.0, reason: parts.limit_reasons.0.clone() },
            temperature_high: Bound { value: parts.limits.1, reason: parts.limit_reasons.1.clone() },
            pressure_low: Bound { value: 0.0, reason: "absolute pressure is never negative".to_owned() },
            pressure_high: Bound { value: 50e6, reason: "the bulk modulus is taken as constant".to_owned() },
            stated_temperature_k: (low, high),
        },
        sources: vec![source::BELL_2014, source::MEMORY],
        hazards: hazards_for(&data.name)?,
        data_version: data.data_version,
        family: Some(FluidFamily::HotThermalOil),
        standing_notices: vec![PropertyNotice {
            code: "fluid.estimated",
            message: format!("{}: bulk modulus 1.0 GPa from memory, rise of viscosity with pressure neglected", data.name),
        }],
        transport_high: high,
        freezing,
        model: Model::Liquid(Box::new(Liquid::new(parts)?)),
    }))
}
