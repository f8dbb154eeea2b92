//! Aqueous solutions: sea water, electrolytes, glycols. Each correlation is named where it is used.

use serde::Deserialize;

use super::correlation::Correlation;
use super::hazards::{HazardKind, hazards_for};
use super::liquid::{Liquid, LiquidParts, VapourPressure};
use super::{Bound, Fluid, FluidFamily, FluidKind, Inner, Model, PropertyNotice, Range};
use crate::error::PropertyError;
use crate::source::{self, SourceRef};

const ZERO_CELSIUS: f64 = 273.15;
const WATER_MOLAR_MASS: f64 = 18.015_268e-3;
/// Range in which the saturation line of water is used for solutions, K.
const VAPOUR_RANGE: (f64, f64) = (273.16, 640.0);

fn assemble(parts: LiquidParts, stated: (f64, f64), describe: Description) -> Result<Fluid, PropertyError> {
    let range = Range {
        temperature_low: Bound { value: parts.limits.0, reason: parts.limit_reasons.0.clone() },
        temperature_high: Bound { value: parts.limits.1, reason: parts.limit_reasons.1.clone() },
        pressure_low: Bound { value: 0.0, reason: "absolute pressure is never negative".to_owned() },
        pressure_high: Bound { value: 100e6, reason: "the bulk modulus is taken as constant".to_owned() },
        stated_temperature_k: stated,
    };
    let mut hazards = hazards_for(describe.hazard_key)?;
    if let Some(freezing) = describe.freezing {
        hazards.push(
            HazardKind::Freezes { temperature_k: freezing },
            format!("freezes or crystallises below about {:.0} degC", freezing - ZERO_CELSIUS),
            describe.freezing_source,
        );
    }
    if let Some(fraction) = describe.dissolved {
        hazards.push(
            HazardKind::Crystallises { dissolved_mass_fraction: fraction },
            format!("{:.1} % of its mass is dissolved matter that stays behind where the leakage evaporates", 100.0 * fraction),
            source::PRACTICE,
        );
    }
    Ok(Fluid::from_inner(Inner {
        name: parts.name.clone(),
        kind: FluidKind::Solution,
        range,
        sources: describe.sources,
        hazards,
        data_version: describe.data_version,
        family: describe.family,
        standing_notices: describe.notices.into_iter().map(|(code, message)| PropertyNotice { code, message }).collect(),
        transport_high: stated.1,
        freezing: describe.freezing,
        model: Model::Liquid(Box::new(Liquid::new(parts)?)),
    }))
}

struct Description {
    sources: Vec<SourceRef>,
    data_version: String,
    hazard_key: &'static str,
    family: Option<FluidFamily>,
    freezing: Option<f64>,
    freezing_source: SourceRef,
    dissolved: Option<f64>,
    notices: Vec<(&'static str, String)>,
}

/// Sea water and its concentrates; salinity in kg/kg, to 0.15.
///
/// Sharqawy et al. (2010): density equation 8 (0 to 180 degC, to 0.16), viscosity equations 22 and 23 (to 0.15), heat
/// capacity equation 9 (Jamieson et al. 1969), conductivity equation 13 (Jamieson and Tudhope 1970), vapour pressure by
/// mole fractions. Bulk modulus 2.3 GPa from memory. Freezing by the oceanographic polynomial, from memory.
pub(crate) fn sea_water(salinity: f64) -> Result<Fluid, PropertyError> {
    let s = salinity;
    let g = 1e3 * s;
    let density =
        [999.9 + 802.0 * s, 2.034e-2 - 2.001 * s, -6.162e-3 + 1.677e-2 * s - 1.613e-5 * s * s, 2.261e-5 - 3.060e-5 * s, -4.657e-8];
    let heat_capacity = [
        5.328 - 9.76e-2 * g + 4.04e-4 * g * g,
        -6.913e-3 + 7.351e-4 * g - 3.15e-6 * g * g,
        9.6e-6 - 1.927e-6 * g + 8.23e-9 * g * g,
        2.5e-9 + 1.666e-9 * g - 7.125e-12 * g * g,
    ];
    let viscosity = [1.0 + 1.541 * s + 7.974 * s * s, 1.998e-2 * s - 7.561e-2 * s * s, -9.52e-5 * s + 4.724e-4 * s * s];
    let freezing = ZERO_CELSIUS - 0.0575 * g + 1.710_523e-3 * g.powf(1.5) - 2.154_996e-4 * g * g;
    let parts = LiquidParts {
        name: format!("sea water, salinity {} g/kg", trim(g)),
        density: Correlation::Polynomial { base: ZERO_CELSIUS, coefficients: density.to_vec() },
        heat_capacity: Correlation::Polynomial { base: 0.0, coefficients: heat_capacity.iter().map(|c| 1e3 * c).collect() },
        viscosity: Correlation::SeaWaterViscosity { factor: viscosity },
        kinematic: false,
        conductivity: Correlation::SeaWaterConductivity { salinity: g, factor: 1.0 },
        vapour_pressure: Some(VapourPressure {
            correlation: Correlation::WaterVapourPressure { a: -(0.573_57 * s / (1.0 - s)).ln_1p(), b: 0.0 },
            low: VAPOUR_RANGE.0,
            high: VAPOUR_RANGE.1,
        }),
        bulk_modulus: Some(2.3e9),
        pressure_viscosity: 0.0,
        limits: (ZERO_CELSIUS - 6.0, ZERO_CELSIUS + 180.0),
        limit_reasons: (
            "the correlations begin at 0 degC and the liquid freezes".to_owned(),
            "the correlations end at 180 degC".to_owned(),
        ),
    };
    assemble(
        parts,
        (ZERO_CELSIUS, ZERO_CELSIUS + 180.0),
        Description {
            sources: vec![source::SHARQAWY, source::IAPWS_SATURATION, source::MEMORY],
            data_version: "Sharqawy 2010".to_owned(),
            hazard_key: "sea water",
            family: Some(FluidFamily::SeaWaterBrine),
            freezing: Some(freezing),
            freezing_source: source::MEMORY,
            dissolved: Some(s),
            notices: Vec::new(),
        },
    )
}

/// One electrolyte of Laliberte's tables (2009, supporting spreadsheet, as carried by the open `chemicals` library).
struct Electrolyte {
    name: &'static str,
    hazard_key: &'static str,
    c: [f64; 5],
    v: [f64; 6],
    a: [f64; 6],
    /// Temperatures of the viscosity data and those at which values are given at all, degC.
    stated: (f64, f64),
    limits: (f64, f64),
    heat_capacity_to: f64,
    family: Option<FluidFamily>,
    bulk_modulus: f64,
}

const SODIUM_HYDROXIDE: Electrolyte = Electrolyte {
    name: "sodium hydroxide solution",
    hazard_key: "sodium hydroxide solution",
    c: [319.020_509_469_838, 528.592_358_475_315, -0.102_197_896_602_724, 0.000_350_420_706_415_566, 765.970_470_238_438],
    v: [
        448.457_566_713_375,
        0.008_714_524_089_831_02,
        -431.972_123_346_97,
        0.016_014_420_204_945_2,
        104.011_738_670_148,
        4.644_936_844_888_16,
    ],
    a: [
        -0.922_780_764_834_469,
        -0.041_235_346_245_048_5,
        1.872_252_460_435_9,
        -5.942_235_651_473_03,
        3.130_076_178_426_49,
        0.141_040_805_508_813,
    ],
    stated: (12.5, 70.0),
    limits: (4.0, 140.0),
    heat_capacity_to: 0.303,
    family: Some(FluidFamily::Caustic),
    bulk_modulus: 3.0e9,
};
const SODIUM_CHLORIDE: Electrolyte = Electrolyte {
    name: "sodium chloride solution",
    hazard_key: "sodium chloride solution",
    c: [-0.003_241_122_236_551_49, 0.063_635_433_590_661_6, 1.013_713_994_673_65, 0.014_595_101_521_015_9, 3_317.348_544_265_37],
    v: [
        16.221_788_633_396,
        1.322_930_867_700_11,
        1.484_859_850_104_31,
        0.007_469_125_596_573_77,
        30.780_200_754_057_5,
        2.058_268_523_225_58,
    ],
    a: [
        -0.069_355_966_899_332_2,
        -0.078_213_416_748_695_2,
        3.847_984_794_086_35,
        -11.276_210_924_707_2,
        8.731_876_985_426_72,
        1.812_459_304_727_55,
    ],
    stated: (5.0, 140.0),
    limits: (0.0, 154.0),
    heat_capacity_to: 0.261,
    family: Some(FluidFamily::SeaWaterBrine),
    bulk_modulus: 2.8e9,
};
const CALCIUM_CHLORIDE: Electrolyte = Electrolyte {
    name: "calcium chloride solution",
    hazard_key: "calcium chloride solution",
    c: [-9.728_937_470_742_95, 14.700_535_297_527_6, 4.190_334_414_683_32, 0.039_740_362_427_702_1, 2_708.127_788_946_14],
    v: [
        32.014_369_944_653_1,
        0.788_104_085_857_794,
        -1.141_204_538_905_47,
        0.002_700_106_932_017_63,
        776_516.746_907_194,
        5.838_881_306_722_49,
    ],
    a: [
        -1.389_227_137_846_4,
        -0.014_249_134_161_856_4,
        0.578_247_429_749_066,
        -0.785_339_471_977_917,
        4.398_953_416_292_24,
        1.126_855_936_234_11,
    ],
    stated: (15.0, 100.0),
    limits: (0.0, 126.0),
    heat_capacity_to: 0.417,
    family: Some(FluidFamily::SeaWaterBrine),
    bulk_modulus: 3.0e9,
};
const SULPHURIC_ACID: Electrolyte = Electrolyte {
    name: "sulphuric acid solution",
    hazard_key: "sulphuric acid solution",
    c: [70.839_515_234_712_2, 142.352_693_909_248, 0.687_794_596_187_93, 0.006_492_996_832_067_03, 1_667.238_646_295_22],
    v: [
        7.776_994_775_165_78,
        1.234_430_567_790_35,
        1.916_433_926_331_29,
        0.005_636_315_369_442_14,
        46.006_539_345_723_2,
        2.830_719_653_293_22,
    ],
    a: [
        18_891_038.723_884_3,
        0.228_318_384_101_275,
        -17.386_570_045_526_6,
        -2.469_301_928_595_15,
        1.544_266_528_284_24,
        1.573_642_397_769_92,
    ],
    stated: (-10.0, 55.0),
    limits: (-10.0, 110.0),
    heat_capacity_to: 0.78,
    family: Some(FluidFamily::SulphuricDilute),
    bulk_modulus: 3.0e9,
};

/// Water's own heat capacity in degC, J/(kg K): Jamieson et al. (1969) at zero salinity.
fn water_heat_capacity() -> [f64; 5] {
    let k = [5_328.0, -6.913, 9.6e-3, 2.5e-6];
    let z = ZERO_CELSIUS;
    [k[0] + z * (k[1] + z * (k[2] + z * k[3])), k[1] + z * (2.0 * k[2] + 3.0 * z * k[3]), k[2] + 3.0 * z * k[3], k[3], 0.0]
}

fn electrolyte(e: &Electrolyte, w: f64, more: Extras) -> Result<Fluid, PropertyError> {
    let kelvin = |(low, high): (f64, f64)| (low + ZERO_CELSIUS, high + ZERO_CELSIUS);
    let mut notices = vec![("fluid.estimated", more.estimate)];
    if w > e.heat_capacity_to {
        notices.push((
            "fluid.heat-capacity-extrapolated",
            format!("{}: heat capacity extrapolated above {:.0} % by mass", e.name, 100.0 * e.heat_capacity_to),
        ));
    }
    let parts = LiquidParts {
        name: format!("{}, {} % by mass", e.name, trim(100.0 * w)),
        density: more.density.unwrap_or(Correlation::SolutionDensity { w, c: e.c }),
        heat_capacity: more.heat_capacity.unwrap_or(Correlation::SolutionHeatCapacity { w, a: e.a, water: water_heat_capacity() }),
        viscosity: Correlation::SolutionViscosity { w, v: e.v },
        kinematic: false,
        conductivity: more.conductivity,
        vapour_pressure: more.vapour.map(|(a, b)| VapourPressure {
            correlation: Correlation::WaterVapourPressure { a, b },
            low: VAPOUR_RANGE.0,
            high: VAPOUR_RANGE.1,
        }),
        bulk_modulus: Some(e.bulk_modulus),
        pressure_viscosity: 0.0,
        limits: kelvin(e.limits),
        limit_reasons: (
            format!("the data end near {:.0} degC", e.stated.0),
            format!("viscosity data end at {:.0} degC, extrapolation at {:.0} degC", e.stated.1, e.limits.1),
        ),
    };
    assemble(
        parts,
        kelvin(e.stated),
        Description {
            sources: more.sources,
            data_version: "Laliberte 2009".to_owned(),
            hazard_key: e.hazard_key,
            family: e.family,
            freezing: more.freezing.map(|t| t + ZERO_CELSIUS),
            freezing_source: source::MEMORY,
            dissolved: (e.hazard_key != SULPHURIC_ACID.hazard_key).then_some(w),
            notices,
        },
    )
}

struct Extras {
    conductivity: Correlation,
    density: Option<Correlation>,
    heat_capacity: Option<Correlation>,
    vapour: Option<(f64, f64)>,
    freezing: Option<f64>,
    sources: Vec<SourceRef>,
    estimate: String,
}

/// Caustic soda, mass fraction to 0.50.
///
/// Density, viscosity, heat capacity: Laliberte (2009). Above 30 % by mass the density goes straight to that of 50 % in a
/// public table (1525 kg/m3 at 20 degC, falling 0.70 per kelvin, seen): at 50 % the correlation is 0.6 % low when cold and
/// hardly expands with heat. The heat capacity goes there to 3.2 kJ/(kg K) (memory). Conductivity 0.65 W/(m K) (memory). Vapour pressure: for 50 % the line
/// through 0.20 kPa at 20 degC and boiling at 145 degC (public note, seen); for other strengths the lowering of `ln p`
/// scales with the mass fraction to the power 1.69, which gives boiling of 20 % near 108.5 degC (memory).
pub(crate) fn sodium_hydroxide(w: f64) -> Result<Fluid, PropertyError> {
    let water = |t: f64| Correlation::WaterVapourPressure { a: 0.0, b: 0.0 }.value(t + ZERO_CELSIUS).ln();
    let (cold, hot) = (200.0_f64.ln() - water(20.0), 101_325.0_f64.ln() - water(145.0));
    let (x1, x2) = (1.0 / 293.15, 1.0 / 418.15);
    let b = (cold - hot) / (x1 - x2);
    let a = cold - b * x1;
    let scale = (w / 0.5).powf(1.69);
    let e = &SODIUM_HYDROXIDE;
    let heat_capacity = (w > 0.3).then(|| {
        let at = Correlation::SolutionHeatCapacity { w: 0.3, a: e.a, water: water_heat_capacity() }.value(ZERO_CELSIUS + 60.0);
        Correlation::Polynomial { base: ZERO_CELSIUS, coefficients: vec![at + (3_200.0 - at) * (w - 0.3) / 0.2] }
    });
    let density = (w > 0.3).then(|| Correlation::Between {
        first: Box::new(Correlation::SolutionDensity { w: 0.3, c: e.c }),
        second: Box::new(Correlation::Polynomial { base: ZERO_CELSIUS + 20.0, coefficients: vec![1_525.0, -0.70] }),
        share: (w - 0.3) / 0.2,
    });
    const FREEZING: [(f64, f64); 9] =
        [(0.0, 0.0), (0.1, -10.0), (0.19, -27.0), (0.25, -16.0), (0.3, 1.0), (0.35, 9.0), (0.4, 15.0), (0.45, 7.0), (0.5, 14.0)];
    electrolyte(
        e,
        w,
        Extras {
            conductivity: Correlation::Polynomial { base: ZERO_CELSIUS, coefficients: vec![0.65] },
            density,
            heat_capacity,
            vapour: Some((a * scale, b * scale)),
            freezing: Some(straight(&FREEZING, w)),
            sources: vec![source::LALIBERTE_2009, source::LALIBERTE_2007, source::CAUSTIC_NOTE, source::IAPWS_SATURATION, source::MEMORY],
            estimate: "sodium hydroxide solution: density above 30 % from a public table, conductivity 0.65 W/(m K) and freezing point from memory, vapour pressure from two points of a public note"
                .to_owned(),
        },
    )
}

/// Osmotic lowering of the vapour pressure: `ln a_w = -phi nu m M_w`, `phi = p + q m`, molality `m`.
fn osmotic(w: f64, molar_mass: f64, ions: f64, p: f64, q: f64) -> (f64, f64) {
    let m = w / (1.0 - w) / molar_mass;
    (-(p + q * m) * ions * m * WATER_MOLAR_MASS, 0.0)
}

/// Sodium chloride brine, mass fraction to 0.264. Osmotic coefficient `0.92 + 0.058 m` and conductivity
/// `k_water (1 - 0.25 w)` from memory.
pub(crate) fn sodium_chloride(w: f64) -> Result<Fluid, PropertyError> {
    electrolyte(
        &SODIUM_CHLORIDE,
        w,
        Extras {
            conductivity: Correlation::SeaWaterConductivity { salinity: 0.0, factor: 1.0 - 0.25 * w },
            density: None,
            heat_capacity: None,
            vapour: Some(osmotic(w, 58.44e-3, 2.0, 0.92, 0.058)),
            freezing: Some(straight(&[(0.0, 0.0), (0.1, -6.6), (0.2, -16.5), (0.233, -21.1), (0.264, 0.1)], w)),
            sources: vec![source::LALIBERTE_2009, source::LALIBERTE_2007, source::IAPWS_SATURATION, source::MEMORY],
            estimate: "sodium chloride solution: conductivity, vapour pressure and freezing point from memory".to_owned(),
        },
    )
}

/// Calcium chloride brine, mass fraction to 0.41. Osmotic coefficient `0.85 + 0.32 m` and conductivity
/// `k_water (1 - 0.27 w)` from memory.
pub(crate) fn calcium_chloride(w: f64) -> Result<Fluid, PropertyError> {
    electrolyte(
        &CALCIUM_CHLORIDE,
        w,
        Extras {
            conductivity: Correlation::SeaWaterConductivity { salinity: 0.0, factor: 1.0 - 0.27 * w },
            density: None,
            heat_capacity: None,
            vapour: Some(osmotic(w, 110.98e-3, 3.0, 0.85, 0.32)),
            freezing: Some(straight(&[(0.0, 0.0), (0.1, -6.0), (0.2, -18.0), (0.3, -50.0), (0.35, -15.0), (0.41, 15.0)], w)),
            sources: vec![source::LALIBERTE_2009, source::LALIBERTE_2007, source::IAPWS_SATURATION, source::MEMORY],
            estimate: "calcium chloride solution: conductivity, vapour pressure and freezing point from memory".to_owned(),
        },
    )
}

/// Sulphuric acid, mass fraction to 0.78. Conductivity by Magomedov (2001), stated to 0.25 by mass, extrapolated above.
/// No vapour pressure.
pub(crate) fn sulphuric_acid(w: f64) -> Result<Fluid, PropertyError> {
    electrolyte(
        &SULPHURIC_ACID,
        w,
        Extras {
            conductivity: Correlation::SeaWaterConductivity { salinity: 0.0, factor: 1.0 - 0.305 * (w + 2.0 * w * w * w) },
            density: None,
            heat_capacity: None,
            vapour: None,
            freezing: None,
            sources: vec![source::LALIBERTE_2009, source::LALIBERTE_2007, source::MAGOMEDOV],
            estimate: "sulphuric acid solution: conductivity extrapolated above 25 % by mass; no vapour pressure".to_owned(),
        },
    )
}

/// Tensor expansions of one glycol as its data file gives them.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct GlycolData {
    name: String,
    data_version: String,
    #[allow(dead_code, reason = "the data file states it for its readers; unknown keys are refused, so it is read here")]
    source: String,
    mass_fraction_range: [f64; 2],
    temperature_range_k: [f64; 2],
    freezing_mass_fraction: Vec<f64>,
    freezing_temperature_k: Vec<f64>,
    density: Plane,
    heat_capacity: Plane,
    viscosity: Plane,
    conductivity: Plane,
    #[allow(dead_code, reason = "the data file states it for its readers; unknown keys are refused, so it is read here")]
    checks: toml::Value,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Plane {
    logarithm: bool,
    coefficients: Vec<Vec<f64>>,
    #[allow(dead_code, reason = "the data file states it for its readers; unknown keys are refused, so it is read here")]
    greatest_fit_deviation: f64,
}

impl Plane {
    /// The expansion in temperature at one composition.
    fn at(&self, x: f64, range: [f64; 2]) -> Correlation {
        let columns = self.coefficients.first().map_or(0, Vec::len);
        let s = 2.0 * (x - 0.1) / 0.5 - 1.0;
        let coefficients = (0..columns)
            .map(|j| {
                let column: Vec<f64> = self.coefficients.iter().map(|row| row[j]).collect();
                super::saturation::clenshaw(&column, s).0
            })
            .collect();
        Correlation::Expansion { low: range[0], high: range[1], coefficients, logarithm: self.logarithm }
    }
}

/// Ethylene glycol in water, mass fraction 0.1 to 0.6. Vapour pressure: water's by Raoult.
pub(crate) fn ethylene_glycol(w: f64) -> Result<Fluid, PropertyError> {
    glycol(
        include_str!("../../data/liquids/ethylene-glycol.toml"),
        "liquids/ethylene-glycol.toml",
        w,
        62.068e-3,
        "ethylene glycol solution",
    )
}

/// Propylene glycol in water, mass fraction 0.1 to 0.6. Vapour pressure: water's by Raoult.
pub(crate) fn propylene_glycol(w: f64) -> Result<Fluid, PropertyError> {
    glycol(
        include_str!("../../data/liquids/propylene-glycol.toml"),
        "liquids/propylene-glycol.toml",
        w,
        76.095e-3,
        "propylene glycol solution",
    )
}

fn glycol(text: &str, file: &str, w: f64, molar_mass: f64, hazard_key: &'static str) -> Result<Fluid, PropertyError> {
    let broken = |message: String| PropertyError::Data { file: file.to_owned(), message };
    let data: GlycolData = toml::from_str(text).map_err(|e| broken(e.to_string()))?;
    let rectangular = [&data.density, &data.heat_capacity, &data.viscosity, &data.conductivity].iter().all(|p| {
        let n = p.coefficients.first().map_or(0, Vec::len);
        n > 0 && p.coefficients.iter().all(|row| row.len() == n)
    });
    if !rectangular || data.mass_fraction_range != [0.1, 0.6] || data.freezing_mass_fraction.len() != data.freezing_temperature_k.len() {
        return Err(broken("expansions must be rectangular over mass fractions 0.1 to 0.6".to_owned()));
    }
    let range = data.temperature_range_k;
    let points: Vec<(f64, f64)> = data.freezing_mass_fraction.iter().copied().zip(data.freezing_temperature_k.iter().copied()).collect();
    let freezing = straight(&points, w);
    let moles = ((1.0 - w) / WATER_MOLAR_MASS, w / molar_mass);
    let parts = LiquidParts {
        name: format!("{}, {} % by mass", data.name, trim(100.0 * w)),
        density: data.density.at(w, range),
        heat_capacity: data.heat_capacity.at(w, range),
        viscosity: data.viscosity.at(w, range),
        kinematic: false,
        conductivity: data.conductivity.at(w, range),
        vapour_pressure: Some(VapourPressure {
            correlation: Correlation::WaterVapourPressure { a: (moles.0 / (moles.0 + moles.1)).ln(), b: 0.0 },
            low: VAPOUR_RANGE.0,
            high: VAPOUR_RANGE.1,
        }),
        bulk_modulus: Some(2.5e9),
        pressure_viscosity: 0.0,
        limits: (freezing.max(range[0]), 413.15),
        limit_reasons: ("it freezes".to_owned(), "the correlations end at 100 degC and are continued to 140 degC".to_owned()),
    };
    assemble(
        parts,
        (freezing.max(range[0]), range[1]),
        Description {
            sources: vec![source::BELL_2014, source::IAPWS_SATURATION, source::MEMORY],
            data_version: data.data_version,
            hazard_key,
            family: Some(FluidFamily::GlycolMixture),
            freezing: Some(freezing),
            freezing_source: source::BELL_2014,
            dissolved: None,
            notices: vec![(
                "fluid.estimated",
                format!("{}: vapour pressure taken as water's by Raoult's law, bulk modulus 2.5 GPa from memory", data.name),
            )],
        },
    )
}

/// Piecewise straight interpolation, held at the ends.
pub(crate) fn straight(points: &[(f64, f64)], x: f64) -> f64 {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return f64::NAN;
    };
    if x <= first.0 {
        return first.1;
    }
    points.windows(2).find(|w| x <= w[1].0).map_or(last.1, |w| w[0].1 + (w[1].1 - w[0].1) * (x - w[0].0) / (w[1].0 - w[0].0))
}

/// A number as a person would write it, to six digits.
pub(crate) fn trim(x: f64) -> String {
    let rounded = format!("{x:.4}");
    rounded.trim_end_matches('0').trim_end_matches('.').to_owned()
}
