//! What can go wrong when a property is asked for, each cause with its numbers and what to do.

use thiserror::Error;

/// A property that could not be given, and why.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum PropertyError {
    /// No fluid of that name is known.
    #[error("no fluid is called \"{name}\"; nearest known: {}. List them with `halfmicron fluids`, or describe your own in [fluid.custom]", quoted(.nearest))]
    UnknownFluid {
        /// The name as given.
        name: String,
        /// Known names, nearest first.
        nearest: Vec<String>,
    },
    /// No material of that name is known.
    #[error("no material is called \"{name}\"; nearest known: {}. List them with `halfmicron materials`", quoted(.nearest))]
    UnknownMaterial {
        /// The name as given.
        name: String,
        /// Known names, nearest first.
        nearest: Vec<String>,
    },
    /// The fluid is known but its composition is missing, not readable or outside the correlation's range.
    #[error("\"{name}\": {problem}; write for example \"{example}\" ({quantity} {low} to {high} {unit})")]
    Composition {
        /// The name as given.
        name: String,
        /// What is wrong.
        problem: String,
        /// A name that works.
        example: String,
        /// What has to be given, for example `salinity`.
        quantity: &'static str,
        /// Least value allowed.
        low: f64,
        /// Greatest value allowed.
        high: f64,
        /// Unit of `low` and `high`.
        unit: &'static str,
    },
    /// The temperature is outside the range in which the fluid's correlations give a number.
    #[error("{fluid}: {value_k:.2} K ({:.2} degC) is outside {low_k:.2} to {high_k:.2} K: {reason}. {hint}", .value_k - 273.15)]
    TemperatureOutOfRange {
        /// Name of the fluid.
        fluid: String,
        /// The temperature asked for.
        value_k: f64,
        /// Least temperature allowed.
        low_k: f64,
        /// Greatest temperature allowed.
        high_k: f64,
        /// Why the range ends there.
        reason: String,
        /// What to do.
        hint: String,
    },
    /// The pressure is outside the range of the fluid's correlations.
    #[error("{fluid}: {value_pa:.4e} Pa is outside {low_pa:.4e} to {high_pa:.4e} Pa: {reason}")]
    PressureOutOfRange {
        /// Name of the fluid.
        fluid: String,
        /// The absolute pressure asked for.
        value_pa: f64,
        /// Least pressure allowed.
        low_pa: f64,
        /// Greatest pressure allowed.
        high_pa: f64,
        /// Why the range ends there.
        reason: String,
    },
    /// The enthalpy belongs to a temperature outside the fluid's range.
    #[error("{fluid} at {:.4} MPa(a) would leave its range of temperature: {reason}", pressure_pa / 1e6)]
    EnthalpyOutOfRange {
        /// Name of the fluid.
        fluid: String,
        /// The specific enthalpy asked for.
        value_j_per_kg: f64,
        /// The absolute pressure.
        pressure_pa: f64,
        /// Least enthalpy allowed at that pressure.
        low_j_per_kg: f64,
        /// Greatest enthalpy allowed at that pressure.
        high_j_per_kg: f64,
        /// Why the range ends there.
        reason: String,
    },
    /// The liquid would be superheated so far that the equation of state gives no liquid any more.
    #[error(
        "{fluid}: no liquid at {pressure_pa:.4e} Pa and {enthalpy_j_per_kg:.1} J/kg: it is past the end of the superheated liquid near {limit_temperature_k:.1} K. Liquid is found at a higher pressure or a lower temperature alone"
    )]
    BeyondLiquid {
        /// Name of the fluid.
        fluid: String,
        /// Absolute pressure.
        pressure_pa: f64,
        /// Specific enthalpy.
        enthalpy_j_per_kg: f64,
        /// Temperature at which the superheated liquid ends at this pressure, to about a kelvin.
        limit_temperature_k: f64,
    },
    /// Below the triple-point pressure there is gas or solid, no liquid.
    #[error(
        "{fluid} would freeze: below the triple point of {fluid} ({:.4e} Pa, {:.2} degC) there is gas and solid only, and {enthalpy_j_per_kg:.1} J/kg at {pressure_pa:.4e} Pa is not gas. Raise the outside pressure or the temperature",
        triple_pressure_pa, .triple_temperature_k - 273.15
    )]
    WouldFreeze {
        /// Name of the fluid.
        fluid: String,
        /// Absolute pressure.
        pressure_pa: f64,
        /// Specific enthalpy.
        enthalpy_j_per_kg: f64,
        /// Triple-point temperature.
        triple_temperature_k: f64,
        /// Triple-point pressure.
        triple_pressure_pa: f64,
    },
    /// An input is not a usable number.
    #[error("{field} = {value:e} is not usable: {requirement}")]
    InvalidInput {
        /// Which input.
        field: String,
        /// Its value.
        value: f64,
        /// What is required, with the allowed range.
        requirement: String,
    },
    /// The equations did not converge; this is a fault of ours, never shown as a value.
    #[error(
        "{fluid}: the state at {first_name} = {first:e}, {second_name} = {second:e} did not converge in {iterations} iterations (last relative residual {residual:.1e}, best temperature {best_temperature_k:.3} K, best density {best_density_kg_per_m3:.5} kg/m3)"
    )]
    NotConverged {
        /// Name of the fluid.
        fluid: String,
        /// First prescribed quantity.
        first_name: &'static str,
        /// Its value.
        first: f64,
        /// Second prescribed quantity.
        second_name: &'static str,
        /// Its value.
        second: f64,
        /// Iterations spent.
        iterations: usize,
        /// Last relative residual.
        residual: f64,
        /// Best temperature.
        best_temperature_k: f64,
        /// Best density.
        best_density_kg_per_m3: f64,
    },
    /// A data file shipped with the program is broken.
    #[error("data file {file}: {message}")]
    Data {
        /// File within the crate's `data` folder.
        file: String,
        /// What is wrong with it.
        message: String,
    },
}

fn quoted(names: &[String]) -> String {
    if names.is_empty() {
        return "none".to_owned();
    }
    names.iter().map(|n| format!("\"{n}\"")).collect::<Vec<_>>().join(", ")
}

/// The three known names nearest to `name`, for an error message.
pub(crate) fn nearest_names<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Vec<String> {
    let wanted = name.to_lowercase();
    let words: Vec<&str> = wanted.split(|c: char| !c.is_alphanumeric()).filter(|w| w.len() > 1).collect();
    let mut ranked: Vec<(f64, &str)> = known
        .map(|k| {
            let lower = k.to_lowercase();
            // whole words in common outrank a likeness of letters
            let shared = words.iter().filter(|w| lower.contains(**w)).count() as f64 / words.len().max(1) as f64;
            (strsim::jaro_winkler(&wanted, &lower) + shared, k)
        })
        .collect();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    ranked.into_iter().take(3).map(|(_, k)| k.to_owned()).collect()
}

/// Refuses what is not a finite number above `low`.
pub(crate) fn above(field: &str, value: f64, low: f64, unit: &str) -> Result<f64, PropertyError> {
    if value.is_finite() && value > low {
        return Ok(value);
    }
    Err(PropertyError::InvalidInput {
        field: field.to_owned(),
        value,
        requirement: format!("a finite number above {low} {unit} is needed"),
    })
}
