//! I4: sea water against an independent standard.

use halfmicron_properties::{Fluid, FluidState};

use crate::section::read;
use crate::{Check, Kind, Quantity};

/// Density and viscosity of sea water.
pub const CHECK: Check = Check {
    id: "I4",
    title: "Sea water: density and viscosity against oceanographic standards",
    source: "Fofonoff and Millard, UNESCO technical papers in marine science 44 (1983), density check values; Dorsey 1940, table 87, viscosity (both read as \
             printed in the documentation and tests of public oceanographic programs); practical salinity S is 35.16504/35 S g/kg",
    kind: Kind::Comparison,
    from_memory: false,
    models: &["fluid.solution"],
    run,
};

const GRAMS_PER_PRACTICAL: f64 = 35.165_04 / 35.0;

fn run(distortion: f64) -> Vec<Quantity> {
    let density = "stated accuracy of the shipped correlation, 0.1 %";
    let viscosity = "stated accuracy of the shipped correlation, 1.5 %";
    let state = |practical: f64, celsius: f64| sea_water(practical + 10.0 * distortion, 273.15 + celsius);
    let line = |name: &str, expected, found: Result<f64, String>| Quantity::relative(name, "kg/m3", expected, found, 1e-3, density);
    vec![
        line("density at S = 35, 5 degC", 1_027.675_47, read(&state(35.0, 5.0), |s| s.density_kg_per_m3)),
        line("density at S = 35, 25 degC", 1_023.343_06, read(&state(35.0, 25.0), |s| s.density_kg_per_m3)),
        Quantity::relative(
            "viscosity at S = 30, 10 degC",
            "Pa s",
            1.383_779e-3,
            read(&state(30.0, 10.0), |s| s.viscosity_pa_s),
            0.015,
            viscosity,
        ),
    ]
}

fn sea_water(practical: f64, temperature_k: f64) -> Result<FluidState, String> {
    let name = format!("sea water, salinity {:.3} g/kg", practical * GRAMS_PER_PRACTICAL);
    let fluid = Fluid::named(&name).map_err(|error| error.to_string())?;
    fluid.at_pressure_temperature(101_325.0, temperature_k).map_err(|error| error.to_string())
}
