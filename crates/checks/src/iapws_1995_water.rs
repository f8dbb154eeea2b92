//! I1 to I3: water against the printed tables of its releases.

use halfmicron_properties::{Fluid, FluidState};

use crate::bench::worst;
use crate::{Check, Kind, Quantity};

/// Equation of state.
pub const CHECK: Check = Check {
    id: "I1",
    title: "Water, equation of state: pressure, saturation, heat of evaporation",
    source: "IAPWS R6-95(2018), tables 7 and 8 (values read as printed in the test suites of several public programs)",
    kind: Kind::Proof,
    from_memory: false,
    models: &["fluid.equation-of-state"],
    run: equation_of_state,
};

/// Viscosity.
pub const VISCOSITY_CHECK: Check = Check {
    id: "I2",
    title: "Water, viscosity",
    source: "IAPWS R12-08, tables 4 and 5 (values read as printed in the test suites of several public programs)",
    kind: Kind::Proof,
    from_memory: false,
    models: &["fluid.equation-of-state"],
    run: viscosity,
};

/// Conductivity.
pub const CONDUCTIVITY_CHECK: Check = Check {
    id: "I3",
    title: "Water, thermal conductivity",
    source: "IAPWS R15-11, tables 4 and 5 (values read as printed in the test suites of several public programs)",
    kind: Kind::Proof,
    from_memory: false,
    models: &["fluid.equation-of-state"],
    run: conductivity,
};

/// Temperature K, density kg/m3, pressure Pa: table 7.
const SINGLE_PHASE: [(f64, f64, f64); 11] = [
    (300.0, 0.996_556_0e3, 0.992_418_352e5),
    (300.0, 0.100_530_8e4, 0.200_022_515e8),
    (300.0, 0.118_820_2e4, 0.700_004_704e9),
    (500.0, 0.435_000_0, 0.999_679_423e5),
    (500.0, 0.453_200_0e1, 0.999_938_125e6),
    (500.0, 0.838_025_0e3, 0.100_003_858e8),
    (500.0, 0.108_456_4e4, 0.700_000_405e9),
    (647.0, 0.358_000_0e3, 0.220_384_756e8),
    (900.0, 0.241_000_0, 0.100_062_559e6),
    (900.0, 0.526_150_0e2, 0.200_000_690e8),
    (900.0, 0.870_769_0e3, 0.700_000_006e9),
];

/// Temperature K, pressure Pa, densities kg/m3 and enthalpies J/kg of liquid and vapour: table 8.
const SATURATION: [(f64, f64, [f64; 2], [f64; 2]); 3] = [
    (275.0, 0.698_451_167e3, [0.999_887_406e3, 0.550_664_919e-2], [0.775_972_202e4, 0.250_428_995e7]),
    (450.0, 0.932_203_564e6, [0.890_341_250e3, 0.481_200_360e1], [0.749_161_585e6, 0.277_441_078e7]),
    (625.0, 0.169_082_693e8, [0.567_090_385e3, 0.118_290_280e3], [0.168_626_976e7, 0.255_071_625e7]),
];

/// Temperature K, density kg/m3, viscosity Pa s: table 4 where the critical enhancement is nothing, and table 5 with it.
const VISCOSITY: [(f64, f64, f64); 11] = [
    (298.15, 998.0, 889.735_100e-6),
    (298.15, 1200.0, 1_437.649_467e-6),
    (373.15, 1000.0, 307.883_622e-6),
    (433.15, 1.0, 14.538_324e-6),
    (433.15, 1000.0, 217.685_358e-6),
    (647.35, 122.0, 25.520_677e-6),
    (647.35, 222.0, 31.337_589e-6),
    (647.35, 272.0, 36.228_143e-6),
    (647.35, 322.0, 42.961_579e-6),
    (647.35, 372.0, 45.688_204e-6),
    (647.35, 422.0, 49.436_256e-6),
];

/// Temperature K, density kg/m3, conductivity W/(m K): table 4 at a density, and table 5.
const CONDUCTIVITY: [(f64, f64, f64); 10] = [
    (298.15, 998.0, 607.712_868e-3),
    (298.15, 1200.0, 799.038_144e-3),
    (647.35, 1.0, 51.929_892_4e-3),
    (647.35, 122.0, 130.922_885e-3),
    (647.35, 222.0, 367.787_459e-3),
    (647.35, 272.0, 757.959_776e-3),
    (647.35, 322.0, 1_443.755_56e-3),
    (647.35, 372.0, 650.319_402e-3),
    (647.35, 422.0, 448.883_487e-3),
    (647.35, 750.0, 600.961_346e-3),
];

fn water() -> Result<Fluid, String> {
    Fluid::named("water").map_err(|error| error.to_string())
}

fn state(water: &Result<Fluid, String>, pressure: f64, temperature: f64) -> Result<FluidState, String> {
    water.as_ref().map_err(Clone::clone)?.at_pressure_temperature(pressure, temperature).map_err(|error| error.to_string())
}

/// Pressure at which water of this temperature has this density, by bisection of its logarithm; density rises with pressure.
fn at_density(water: &Result<Fluid, String>, temperature: f64, density: f64) -> Result<FluidState, String> {
    let (mut low, mut high) = (700.0_f64.ln(), 0.999e9_f64.ln());
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if state(water, middle.exp(), temperature)?.density_kg_per_m3 < density { low = middle } else { high = middle }
    }
    state(water, (0.5 * (low + high)).exp(), temperature)
}

fn equation_of_state(distortion: f64) -> Vec<Quantity> {
    let water = water();
    let digits = "nine printed digits";
    let scale = 1.0 + 1e-3 * distortion;
    let name = |t: f64, rho: f64| format!("pressure at {t} K, {rho} kg/m3");
    let pressures = SINGLE_PHASE
        .iter()
        .map(|(t, rho, p)| {
            Quantity::relative(name(*t, *rho), "Pa", *p, at_density(&water, *t, rho * scale).map(|s| s.pressure_pa), 2e-8, digits)
        })
        .collect();
    let mut lines: Vec<Quantity> = worst(pressures).into_iter().collect();
    for (temperature, pressure, densities, enthalpies) in SATURATION {
        let saturated = saturation(&water, temperature * scale);
        let of = |value: &dyn Fn(&[FluidState; 2]) -> f64| saturated.as_ref().map(value).map_err(Clone::clone);
        let at = |what: &str| format!("{what} at {temperature} K");
        lines.push(Quantity::relative(at("saturation pressure"), "Pa", pressure, of(&|s| s[0].pressure_pa), 1e-7, digits));
        lines.push(Quantity::relative(
            at("density of saturated liquid"),
            "kg/m3",
            densities[0],
            of(&|s| s[0].density_kg_per_m3),
            1e-7,
            digits,
        ));
        lines.push(Quantity::relative(
            at("density of saturated vapour"),
            "kg/m3",
            densities[1],
            of(&|s| s[1].density_kg_per_m3),
            1e-7,
            digits,
        ));
        let evaporation = enthalpies[1] - enthalpies[0];
        let found = of(&|s| s[1].enthalpy_j_per_kg - s[0].enthalpy_j_per_kg);
        lines.push(Quantity::relative(at("heat of evaporation"), "J/kg", evaporation, found, 1e-7, digits));
    }
    lines
}

/// Saturated liquid and vapour: both sides of the saturation pressure, as near as the phases can be told apart.
fn saturation(water: &Result<Fluid, String>, temperature: f64) -> Result<[FluidState; 2], String> {
    let line = water.as_ref().map_err(Clone::clone)?.saturation_pressure(temperature);
    let pressure = line.value().ok_or_else(|| format!("no saturation pressure at {temperature} K: {line:?}"))?;
    Ok([state(water, pressure * (1.0 + 1e-10), temperature)?, state(water, pressure * (1.0 - 1e-10), temperature)?])
}

fn viscosity(distortion: f64) -> Vec<Quantity> {
    let water = water();
    let temperature_scale = 1.0 + 0.01 * distortion;
    VISCOSITY
        .iter()
        .map(|(t, rho, expected)| {
            let found = at_density(&water, t * temperature_scale, *rho).map(|s| s.viscosity_pa_s);
            Quantity::relative(format!("viscosity at {t} K, {rho} kg/m3"), "Pa s", *expected, found, 1e-6, "eight printed digits")
        })
        .collect()
}

fn conductivity(distortion: f64) -> Vec<Quantity> {
    let water = water();
    let temperature_scale = 1.0 + 0.01 * distortion;
    CONDUCTIVITY
        .iter()
        .map(|(t, rho, expected)| {
            let found = at_density(&water, t * temperature_scale, *rho).map(|s| s.conductivity_w_per_m_k);
            Quantity::relative(format!("conductivity at {t} K, {rho} kg/m3"), "W/(m K)", *expected, found, 1e-6, "nine printed digits")
        })
        .collect()
}
