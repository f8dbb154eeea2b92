//! Mineral oils by viscosity grade.
//!
//! **What.** Lubricating oil described by its viscosity at 40 and 100 degC.
//!
//! **Equation.** ASTM D341 for the kinematic viscosity; density straight in temperature.
//!
//! **Valid when.** Between the pour point and oxidation; kinematic viscosity above 0.21 mm2/s.
//!
//! **Source.** ASTM D341 and ISO 3448, constants from memory; density, heat capacity, conductivity, bulk modulus and
//! pressure coefficient are typical values from memory. Viscosities at 100 degC are typical of a viscosity index near 95,
//! from memory; the pair 32 and 5.4 mm2/s was seen in a public worksheet.
//!
//! **Checked by.** `grades_meet_their_midpoints` and the worksheet pair.

use super::correlation::{Correlation, walther_constants};
use super::hazards::hazards_for;
use super::liquid::{Liquid, LiquidParts};
use super::{Bound, Fluid, FluidFamily, FluidKind, Inner, Model, PropertyNotice, Range};
use crate::error::PropertyError;
use crate::source;

/// Grade, kinematic viscosity at 100 degC in mm2/s.
pub(crate) const GRADES: [(u32, f64); 12] = [
    (10, 2.6),
    (15, 3.4),
    (22, 4.3),
    (32, 5.4),
    (46, 6.8),
    (68, 8.7),
    (100, 11.2),
    (150, 14.7),
    (220, 19.0),
    (320, 24.0),
    (460, 30.5),
    (680, 38.0),
];

const DENSITY_15: f64 = 870.0;
const DENSITY_SLOPE: f64 = -0.65;

/// The constants of the viscosity-temperature line of ASTM D341.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaltherLine {
    /// Intercept A.
    pub a: f64,
    /// Slope B.
    pub b: f64,
}

impl WaltherLine {
    /// Kinematic viscosity (m2/s) at a temperature (K).
    pub fn kinematic_viscosity(self, temperature_k: f64) -> f64 {
        Correlation::Walther { a: self.a, b: self.b }.value(temperature_k)
    }
}

/// The line through two kinematic viscosities (m2/s) at two temperatures (K), each pair as (temperature, viscosity).
pub fn walther_line(first: (f64, f64), second: (f64, f64)) -> WaltherLine {
    let (a, b) = walther_constants(first, second);
    WaltherLine { a, b }
}

/// Mineral oil of an ISO viscosity grade.
pub(crate) fn mineral_oil(grade: u32, at_100: f64) -> Result<Fluid, PropertyError> {
    let line = walther_line((313.15, f64::from(grade) * 1e-6), (373.15, at_100 * 1e-6));
    let name = format!("mineral oil ISO VG {grade}");
    let parts = LiquidParts {
        name: name.clone(),
        density: Correlation::Polynomial { base: 288.15, coefficients: vec![DENSITY_15, DENSITY_SLOPE] },
        heat_capacity: Correlation::Polynomial { base: 273.15, coefficients: vec![1_900.0, 4.0] },
        viscosity: Correlation::Walther { a: line.a, b: line.b },
        kinematic: true,
        conductivity: Correlation::Polynomial { base: 273.15, coefficients: vec![0.13] },
        vapour_pressure: None,
        bulk_modulus: Some(1.6e9),
        pressure_viscosity: 18e-9,
        limits: (253.15, 523.15),
        limit_reasons: ("near the pour point the oil is no longer Newtonian".to_owned(), "the oil oxidises and cokes".to_owned()),
    };
    let mut sources = vec![source::ASTM_D341, source::ISO_3448, source::BARUS, source::MEMORY];
    if grade == 32 {
        sources.push(source::OIL_PAIR);
    }
    Ok(Fluid::from_inner(Inner {
        name: name.clone(),
        kind: FluidKind::Oil,
        range: Range {
            temperature_low: Bound { value: parts.limits.0, reason: parts.limit_reasons.0.clone() },
            temperature_high: Bound { value: parts.limits.1, reason: parts.limit_reasons.1.clone() },
            pressure_low: Bound { value: 0.0, reason: "absolute pressure is never negative".to_owned() },
            pressure_high: Bound { value: 100e6, reason: "the exponential pressure law overstates viscosity above".to_owned() },
            stated_temperature_k: (273.15, 423.15),
        },
        sources,
        hazards: hazards_for("mineral oil")?,
        data_version: "ASTM D341, typical grade".to_owned(),
        family: Some(FluidFamily::MineralOilFuel),
        standing_notices: vec![PropertyNotice {
            code: "fluid.estimated",
            message: format!(
                "{name}: a typical oil of its grade ({grade} mm2/s at 40 degC, {at_100} at 100 degC, 870 kg/m3 at 15 degC); the grade itself allows +-10 %"
            ),
        }],
        transport_high: 423.15,
        freezing: None,
        model: Model::Liquid(Box::new(Liquid::new(parts)?)),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 3448: the grade number is the midpoint kinematic viscosity at 40 degC (mm2/s).
    #[test]
    fn grades_meet_their_midpoints() {
        for (grade, at_100) in GRADES {
            let oil = mineral_oil(grade, at_100).unwrap();
            for (t, nu) in [(313.15, f64::from(grade)), (373.15, at_100)] {
                let s = oil.at_pressure_temperature(101_325.0, t).unwrap();
                let got = s.viscosity_pa_s / s.density_kg_per_m3 * 1e6;
                assert!((got / nu - 1.0).abs() < 3e-4, "VG {grade} at {t}: {got}");
            }
        }
    }

    /// Straight line in log log Z over log T, the property that ASTM D341 states.
    #[test]
    fn line_is_straight_between_its_points() {
        let line = walther_line((313.15, 32e-6), (373.15, 5.4e-6));
        let y = |t: f64| (line.kinematic_viscosity(t) * 1e6 + 0.7).log10().log10();
        let x = |t: f64| t.log10();
        let (t1, t2, t3) = (313.15, 333.15, 353.15);
        let slope = (y(t3) - y(t1)) / (x(t3) - x(t1));
        assert!((y(t1) + slope * (x(t2) - x(t1)) - y(t2)).abs() < 2e-5);
    }
}
