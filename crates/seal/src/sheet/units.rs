//! Units of the reader: the only place that turns SI numbers into others.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Units in which a sheet is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum UnitSet {
    /// The SI units of the trade: um, MPa, degC, mL/h.
    #[default]
    Si,
    /// Customary units: uin, psi, degF.
    Us,
}

/// Kind of a quantity, as far as its unit is concerned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A pure number.
    Number,
    /// A share, shown in percent.
    Share,
    /// Film, coning, roughness.
    SmallLength,
    /// Radii and diameters.
    Length,
    /// Absolute pressure.
    AbsolutePressure,
    /// Low absolute pressure, vapour pressure.
    LowAbsolutePressure,
    /// Pressure difference, stress.
    Pressure,
    /// Small pressure difference.
    LowPressure,
    /// Temperature.
    Temperature,
    /// Temperature difference.
    TemperatureDifference,
    /// Force.
    Force,
    /// Torque.
    Torque,
    /// Power.
    Power,
    /// Linear speed.
    Speed,
    /// Shaft speed.
    ShaftSpeed,
    /// Pressure times speed.
    PressureSpeed,
    /// Volume leakage.
    VolumeLeakage,
    /// Mass leakage.
    MassLeakage,
    /// Leakage as volume of gas.
    GasLeakage,
    /// Flush and other supply flows.
    SupplyFlow,
    /// Viscosity.
    Viscosity,
    /// Stiffness.
    Stiffness,
    /// Density.
    Density,
    /// Area.
    Area,
    /// Time, given in hours already.
    Hours,
    /// Heat flux.
    HeatFlux,
    /// Elastic modulus.
    Modulus,
    /// Specific heat.
    SpecificHeat,
    /// Thermal conductivity.
    Conductivity,
    /// Thermal expansion.
    Expansion,
    /// Heat transfer coefficient.
    HeatTransfer,
    /// Mass.
    Mass,
    /// Moment of inertia.
    Inertia,
    /// Rate of springs.
    SpringRate,
    /// Damping.
    Damping,
    /// Moment per tilt.
    TiltStiffness,
    /// Moment per tilt rate.
    TiltDamping,
    /// Tilt of a face.
    SmallAngle,
    /// Angle of lag.
    Angle,
    /// Angular frequency, shown as cycles.
    Frequency,
    /// Growth or decay in time.
    Growth,
}

/// A linear conversion with the label of its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// Label; empty for pure numbers.
    pub label: &'static str,
    factor: f64,
    offset: f64,
}

impl Unit {
    /// An SI value in this unit.
    pub fn convert(self, si: f64) -> f64 {
        si * self.factor + self.offset
    }
}

const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const POUND_FORCE: f64 = 4.448_221_615_260_5;
const PSI: f64 = POUND_FORCE / (INCH * INCH);
const GALLON_PER_MINUTE: f64 = 231.0 * INCH * INCH * INCH / 60.0;
const HORSEPOWER: f64 = 550.0 * FOOT * POUND_FORCE;
const POUND: f64 = 0.453_592_37;
const RPM: f64 = std::f64::consts::PI / 30.0;

/// The unit in which a kind is shown.
pub fn unit(kind: Kind, set: UnitSet) -> Unit {
    let scaled = |label, size: f64| Unit { label, factor: 1.0 / size, offset: 0.0 };
    let shifted = |label, factor, offset| Unit { label, factor, offset };
    match (kind, set) {
        (Kind::Number, _) => scaled("", 1.0),
        (Kind::Share, _) => scaled("%", 0.01),
        (Kind::Hours, _) => scaled("h", 1.0),
        (Kind::ShaftSpeed, _) => scaled("rpm", RPM),
        (Kind::VolumeLeakage, _) => scaled("mL/h", 1e-6 / 3600.0),
        (Kind::MassLeakage, _) => scaled("g/h", 1e-3 / 3600.0),
        (Kind::GasLeakage, UnitSet::Si) => scaled("L/min", 1e-3 / 60.0),
        (Kind::GasLeakage, UnitSet::Us) => scaled("ft3/h", FOOT * FOOT * FOOT / 3600.0),
        (Kind::HeatFlux, _) => scaled("W/cm2", 1e4),
        (Kind::Modulus, UnitSet::Si) => scaled("GPa", 1e9),
        (Kind::Modulus, UnitSet::Us) => scaled("Mpsi", 1e6 * PSI),
        (Kind::SpecificHeat, UnitSet::Si) => scaled("J/(kg K)", 1.0),
        (Kind::SpecificHeat, UnitSet::Us) => scaled("Btu/(lb degF)", 4186.8), // International Table Btu, by definition
        (Kind::Conductivity, UnitSet::Si) => scaled("W/(m K)", 1.0),
        (Kind::Conductivity, UnitSet::Us) => scaled("Btu/(h ft degF)", 1_055.055_852_62 / 3600.0 / FOOT * 1.8),
        (Kind::HeatTransfer, UnitSet::Si) => scaled("W/(m2 K)", 1.0),
        (Kind::HeatTransfer, UnitSet::Us) => scaled("Btu/(h ft2 degF)", 1_055.055_852_62 / 3600.0 / (FOOT * FOOT) * 1.8),
        (Kind::Expansion, UnitSet::Si) => scaled("1e-6/K", 1e-6),
        (Kind::Expansion, UnitSet::Us) => scaled("1e-6/degF", 1.8e-6),
        (Kind::Mass, UnitSet::Si) => scaled("kg", 1.0),
        (Kind::Mass, UnitSet::Us) => scaled("lb", POUND),
        (Kind::Inertia, UnitSet::Si) => scaled("kg mm2", 1e-6),
        (Kind::Inertia, UnitSet::Us) => scaled("lb in2", POUND * INCH * INCH),
        (Kind::SpringRate, UnitSet::Si) => scaled("N/mm", 1e3),
        (Kind::SpringRate, UnitSet::Us) => scaled("lbf/in", POUND_FORCE / INCH),
        (Kind::Damping, UnitSet::Si) => scaled("N s/mm", 1e3),
        (Kind::Damping, UnitSet::Us) => scaled("lbf s/in", POUND_FORCE / INCH),
        (Kind::TiltStiffness, UnitSet::Si) => scaled("N m/mrad", 1e3),
        (Kind::TiltStiffness, UnitSet::Us) => scaled("lbf ft/mrad", 1e3 * POUND_FORCE * FOOT),
        (Kind::TiltDamping, UnitSet::Si) => scaled("N m s/rad", 1.0),
        (Kind::TiltDamping, UnitSet::Us) => scaled("lbf ft s/rad", POUND_FORCE * FOOT),
        (Kind::SmallAngle, _) => scaled("urad", 1e-6),
        (Kind::Angle, _) => scaled("deg", RPM / 6.0),
        (Kind::Frequency, _) => scaled("Hz", 2.0 * std::f64::consts::PI),
        (Kind::Growth, _) => scaled("1/s", 1.0),
        (Kind::SmallLength, UnitSet::Si) => scaled("um", 1e-6),
        (Kind::SmallLength, UnitSet::Us) => scaled("uin", 1e-6 * INCH),
        (Kind::Length, UnitSet::Si) => scaled("mm", 1e-3),
        (Kind::Length, UnitSet::Us) => scaled("in", INCH),
        (Kind::Area, UnitSet::Si) => scaled("mm2", 1e-6),
        (Kind::Area, UnitSet::Us) => scaled("in2", INCH * INCH),
        (Kind::AbsolutePressure, UnitSet::Si) => scaled("MPa(a)", 1e6),
        (Kind::LowAbsolutePressure, UnitSet::Si) => scaled("kPa(a)", 1e3),
        (Kind::AbsolutePressure | Kind::LowAbsolutePressure, UnitSet::Us) => scaled("psi(a)", PSI),
        (Kind::Pressure, UnitSet::Si) => scaled("MPa", 1e6),
        (Kind::LowPressure, UnitSet::Si) => scaled("kPa", 1e3),
        (Kind::Pressure | Kind::LowPressure, UnitSet::Us) => scaled("psi", PSI),
        (Kind::Temperature, UnitSet::Si) => shifted("degC", 1.0, -273.15),
        (Kind::Temperature, UnitSet::Us) => shifted("degF", 1.8, -459.67),
        (Kind::TemperatureDifference, UnitSet::Si) => scaled("K", 1.0),
        (Kind::TemperatureDifference, UnitSet::Us) => shifted("degF diff", 1.8, 0.0),
        (Kind::Force, UnitSet::Si) => scaled("N", 1.0),
        (Kind::Force, UnitSet::Us) => scaled("lbf", POUND_FORCE),
        (Kind::Torque, UnitSet::Si) => scaled("N m", 1.0),
        (Kind::Torque, UnitSet::Us) => scaled("lbf ft", POUND_FORCE * FOOT),
        (Kind::Power, UnitSet::Si) => scaled("W", 1.0),
        (Kind::Power, UnitSet::Us) => scaled("hp", HORSEPOWER),
        (Kind::Speed, UnitSet::Si) => scaled("m/s", 1.0),
        (Kind::Speed, UnitSet::Us) => scaled("ft/s", FOOT),
        (Kind::PressureSpeed, UnitSet::Si) => scaled("MPa m/s", 1e6),
        (Kind::PressureSpeed, UnitSet::Us) => scaled("psi ft/min", PSI * FOOT / 60.0),
        (Kind::SupplyFlow, UnitSet::Si) => scaled("L/min", 1e-3 / 60.0),
        (Kind::SupplyFlow, UnitSet::Us) => scaled("gpm", GALLON_PER_MINUTE),
        (Kind::Viscosity, UnitSet::Si) => scaled("mPa s", 1e-3),
        (Kind::Viscosity, UnitSet::Us) => scaled("cP", 1e-3),
        (Kind::Stiffness, UnitSet::Si) => scaled("N/um", 1e6),
        (Kind::Stiffness, UnitSet::Us) => scaled("lbf/uin", POUND_FORCE / (1e-6 * INCH)),
        (Kind::Density, UnitSet::Si) => scaled("kg/m3", 1.0),
        (Kind::Density, UnitSet::Us) => scaled("lb/ft3", POUND / FOOT.powi(3)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Conversion factors: exact definitions of inch, pound and pound-force (NIST SP 811, from memory).
    #[test]
    fn customary_units() {
        let close = |kind, si: f64, expected: f64| {
            let value = unit(kind, UnitSet::Us).convert(si);
            assert!((value - expected).abs() <= 1e-4 * expected.abs().max(1.0), "{value} for {expected}");
        };
        close(Kind::Pressure, 6894.757, 1.0);
        close(Kind::Temperature, 310.927_78, 100.0);
        close(Kind::TemperatureDifference, 10.0, 18.0);
        close(Kind::SupplyFlow, 6.309_02e-5, 1.0);
        close(Kind::Power, 745.699_9, 1.0);
        close(Kind::GasLeakage, 7.865_79e-6, 1.0);
        close(Kind::Torque, 1.355_818, 1.0);
        close(Kind::PressureSpeed, 1e6, 28_550.0); // 1 MPa m/s = 28 550 psi ft/min
        close(Kind::SmallLength, 25.4e-9, 1.0);
        close(Kind::Viscosity, 1e-3, 1.0);
        close(Kind::Conductivity, 1.730_735, 1.0);
        close(Kind::HeatTransfer, 5.678_263, 1.0);
        close(Kind::Modulus, 6.894_757e9, 1.0);
        close(Kind::Expansion, 1.8e-6, 1.0);
        close(Kind::SpringRate, 175.126_8, 1.0);
        close(Kind::TiltStiffness, 1_355.818, 1.0);
        close(Kind::Inertia, 2.926_397e-4, 1.0);
        close(Kind::Angle, std::f64::consts::PI, 180.0);
    }

    #[test]
    fn trade_si_units() {
        assert!((unit(Kind::VolumeLeakage, UnitSet::Si).convert(4.535591e-9) - 16.32813).abs() < 1e-4);
        assert!((unit(Kind::Temperature, UnitSet::Si).convert(311.15) - 38.0).abs() < 1e-9);
        assert!((unit(Kind::ShaftSpeed, UnitSet::Si).convert(314.159_265) - 3000.0).abs() < 1e-4);
    }
}
