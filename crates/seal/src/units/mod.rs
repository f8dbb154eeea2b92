//! Reading quantities as engineers write them: `12 bar(g)`, `2960 rpm`, `0.08 um`, `38 degC`, `6 L/min`, `Ra 0.1 um`, `2 bands`.
//!
//! A quantity is a number, a space and a unit. A unit is a product of symbols with powers; everything right of a slash is below
//! it (`W/m2 K` is `W/(m2 K)`). SI prefixes and US customary units are read. Gauge and absolute pressure, temperature and
//! temperature difference are separate kinds: a pressure without `(g)` or `(a)` is refused. Everything comes out in SI base units
//! and absolute pressure.
//!
//! Conversion factors are exact by definition where one exists: NIST Special Publication 811, appendix B (inch, pound, standard
//! gravity, standard atmosphere, US gallon, international table Btu, mechanical horsepower).

mod face;
mod symbols;

use std::ops::Range;

pub use face::{LappedForm, read_flatness, read_lapped_form, read_roughness};
use symbols::{Expression, Mark};

/// Standard atmosphere, Pa (CGPM 1954, exact).
pub const STANDARD_ATMOSPHERE_PA: f64 = 101_325.0;
/// One light band in helium light, m: half of 587.56 nm (helium D3 line, 587.562 nm).
pub const LIGHT_BAND_M: f64 = 0.5 * 587.56e-9;
/// `Rq / Ra` of a face with Gaussian heights, `sqrt(pi/2)`.
pub const RQ_OVER_RA: f64 = 1.253_314_137_315_500_3;
/// 0 degC in K (exact).
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// Powers of m, kg, s, K, rad and mol.
type Powers = [i8; 6];

/// What kind of quantity a key holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// m.
    Length,
    /// rad.
    Angle,
    /// rad/s, signed.
    RotationalSpeed,
    /// Pa absolute; the text must say (g) or (a).
    Pressure,
    /// Pa without reference: stress, modulus, bearing pressure.
    Stress,
    /// K, absolute scale.
    Temperature,
    /// K, a difference.
    TemperatureDifference,
    /// m3/s.
    VolumeFlow,
    /// kg/s.
    MassFlow,
    /// N.
    Force,
    /// N m.
    Torque,
    /// W.
    Power,
    /// kg/m3.
    Density,
    /// Pa s.
    DynamicViscosity,
    /// m2/s.
    KinematicViscosity,
    /// W/(m K).
    Conductivity,
    /// J/(kg K); also a gas constant.
    SpecificHeat,
    /// W/(m2 K).
    HeatTransfer,
    /// 1/K.
    Expansion,
    /// 1/Pa; also a specific wear, volume over force and distance.
    PerPressure,
    /// kg/mol.
    MolarMass,
    /// kg.
    Mass,
    /// kg m2.
    Inertia,
    /// N/m.
    SpringRate,
    /// N s/m.
    Damping,
}

impl Dimension {
    /// Every kind.
    pub const ALL: [Self; 25] = [
        Self::Length,
        Self::Angle,
        Self::RotationalSpeed,
        Self::Pressure,
        Self::Stress,
        Self::Temperature,
        Self::TemperatureDifference,
        Self::VolumeFlow,
        Self::MassFlow,
        Self::Force,
        Self::Torque,
        Self::Power,
        Self::Density,
        Self::DynamicViscosity,
        Self::KinematicViscosity,
        Self::Conductivity,
        Self::SpecificHeat,
        Self::HeatTransfer,
        Self::Expansion,
        Self::PerPressure,
        Self::MolarMass,
        Self::Mass,
        Self::Inertia,
        Self::SpringRate,
        Self::Damping,
    ];

    /// Name in words.
    pub fn name(self) -> &'static str {
        self.about().0
    }

    /// Name with its article.
    pub fn noun(self) -> String {
        let article = if self.name().starts_with(['a', 'e', 'i', 'o']) { "an" } else { "a" };
        format!("{article} {}", self.name())
    }

    /// Units in which it is usually written.
    pub fn units(self) -> &'static str {
        self.about().1
    }

    /// One example that reads.
    pub fn example(self) -> &'static str {
        self.about().2
    }

    /// Symbol of the SI unit in which [`write()`] puts it.
    pub fn si_unit(self) -> &'static str {
        self.about().3
    }

    fn powers(self) -> Powers {
        self.about().4
    }

    fn about(self) -> (&'static str, &'static str, &'static str, &'static str, Powers) {
        match self {
            Self::Length => ("length", "mm, um, m, in, mil, uin", "52.4 mm", "m", [1, 0, 0, 0, 0, 0]),
            Self::Angle => ("angle", "rad, mrad, urad, deg", "50 urad", "rad", [0, 0, 0, 0, 1, 0]),
            Self::RotationalSpeed => ("rotational speed", "rpm, rad/s, rev/s", "2960 rpm", "rad/s", [0, 0, -1, 0, 1, 0]),
            Self::Pressure => {
                ("pressure", "bar(g), bar(a), MPa(g), kPa(a), Pa(a), psi(g), psi(a)", "11 bar(g)", "Pa(a)", [-1, 1, -2, 0, 0, 0])
            }
            Self::Stress => ("stress or modulus", "Pa, MPa, GPa, psi, ksi", "230 GPa", "Pa", [-1, 1, -2, 0, 0, 0]),
            Self::Temperature => ("temperature", "degC, K, degF", "38 degC", "K", [0, 0, 0, 1, 0, 0]),
            Self::TemperatureDifference => ("temperature difference", "K, degF", "20 K", "K", [0, 0, 0, 1, 0, 0]),
            Self::VolumeFlow => ("volume flow", "L/min, m3/h, mL/h, gpm", "6 L/min", "m3/s", [3, 0, -1, 0, 0, 0]),
            Self::MassFlow => ("mass flow", "kg/h, g/h, kg/s, lb/h", "5.6 g/h", "kg/s", [0, 1, -1, 0, 0, 0]),
            Self::Force => ("force", "N, kN, lbf", "190 N", "N", [1, 1, -2, 0, 0, 0]),
            Self::Torque => ("torque", "N m, lbf in, lbf ft", "2.5 N m", "N m", [2, 1, -2, 0, 0, 0]),
            Self::Power => ("power", "W, kW, hp, Btu/h", "250 W", "W", [2, 1, -3, 0, 0, 0]),
            Self::Density => ("density", "kg/m3, g/cm3, lb/ft3", "870 kg/m3", "kg/m3", [-3, 1, 0, 0, 0, 0]),
            Self::DynamicViscosity => ("dynamic viscosity", "mPa s, Pa s, cP", "0.8 mPa s", "Pa s", [-1, 1, -1, 0, 0, 0]),
            Self::KinematicViscosity => ("kinematic viscosity", "mm2/s, cSt, m2/s", "32 mm2/s", "m2/s", [2, 0, -1, 0, 0, 0]),
            Self::Conductivity => ("thermal conductivity", "W/(m K), Btu/(h ft degF)", "114 W/(m K)", "W/(m K)", [1, 1, -3, -1, 0, 0]),
            Self::SpecificHeat => {
                ("specific heat or gas constant", "J/(kg K), kJ/(kg K), Btu/(lb degF)", "4184 J/(kg K)", "J/(kg K)", [2, 0, -2, -1, 0, 0])
            }
            Self::HeatTransfer => {
                ("heat transfer coefficient", "W/(m2 K), Btu/(h ft2 degF)", "5000 W/(m2 K)", "W/(m2 K)", [0, 1, -3, -1, 0, 0])
            }
            Self::Expansion => ("thermal expansion", "1/K, 1e-6/K, um/(m K)", "4.5e-6 1/K", "1/K", [0, 0, 0, -1, 0, 0]),
            Self::PerPressure => ("reciprocal pressure", "1/Pa, 1/GPa, mm3/(N m)", "1e-9 mm3/(N m)", "1/Pa", [1, -1, 2, 0, 0, 0]),
            Self::MolarMass => ("molar mass", "g/mol, kg/mol", "28.01 g/mol", "kg/mol", [0, 1, 0, 0, 0, -1]),
            Self::Mass => ("mass", "kg, g, lb", "0.25 kg", "kg", [0, 1, 0, 0, 0, 0]),
            Self::Inertia => ("moment of inertia", "kg m2, g m2, kg mm2", "4e-4 kg m2", "kg m2", [2, 1, 0, 0, 0, 0]),
            Self::SpringRate => ("spring rate", "N/mm, N/m, lbf/in", "12 N/mm", "N/m", [0, 1, -2, 0, 0, 0]),
            Self::Damping => ("damping", "N s/m, N s/mm, lbf s/in", "20 N s/m", "N s/m", [0, 1, -1, 0, 0, 0]),
        }
    }
}

/// Why a quantity could not be read. `span` is the byte range inside the string.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{cause}")]
pub struct UnitError {
    /// Byte range inside the string that was read.
    pub span: Range<usize>,
    /// What is wrong.
    pub cause: UnitCause,
    /// What to write instead.
    pub help: String,
}

/// What is wrong with a quantity.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum UnitCause {
    /// Nothing between the quotes.
    #[error("empty text where a {0} belongs")]
    Empty(&'static str),
    /// No number at the start.
    #[error("`{0}` does not start with a number")]
    NoNumber(String),
    /// A number with a comma, or one that overflows.
    #[error("`{0}` is not a finite number with a decimal point")]
    BadNumber(String),
    /// A number without unit.
    #[error("`{0}` has no unit")]
    UnitMissing(String),
    /// A symbol that is not known.
    #[error("unknown unit `{0}`")]
    UnknownUnit(String),
    /// A unit expression that cannot be parsed.
    #[error("cannot read the unit `{0}`")]
    Malformed(String),
    /// A known unit of another kind of quantity.
    #[error("`{unit}` is not a unit of {expected}")]
    WrongDimension {
        /// The unit as written.
        unit: String,
        /// The kind that belongs here.
        expected: &'static str,
    },
    /// Pressure without reference.
    #[error("`{0}` does not say whether it is gauge or absolute")]
    ReferenceMissing(String),
    /// Gauge or absolute mark where no pressure level is meant.
    #[error("`{0}` carries a gauge or absolute mark, but a {1} has none")]
    ReferenceUnexpected(String, &'static str),
    /// Below absolute zero of temperature.
    #[error("`{0}` is below absolute zero")]
    BelowAbsoluteZero(String),
    /// Roughness without its parameter.
    #[error("`{0}` does not say Ra or Rq")]
    ParameterMissing(String),
    /// Lapped form without its sense.
    #[error("`{0}` does not say convex or concave")]
    SenseMissing(String),
}

impl UnitError {
    fn new(span: Range<usize>, cause: UnitCause, help: impl Into<String>) -> Self {
        Self { span, cause, help: help.into() }
    }
}

/// Read a quantity of a given kind; SI base units, absolute pressure come out.
///
/// `ambient_pa` is the absolute pressure that gauge pressures are counted from.
pub fn read(text: &str, dimension: Dimension, ambient_pa: f64) -> Result<f64, UnitError> {
    let (value, unit) = split(text, dimension)?;
    let unit_text = &text[unit.clone()];
    if unit_text.is_empty() {
        return Err(UnitError::new(
            0..text.len(),
            UnitCause::UnitMissing(text.trim().to_owned()),
            format!("write the unit, for example \"{}\"; {} is read in {}", dimension.example(), dimension.noun(), dimension.units()),
        ));
    }
    let expression = symbols::expression(text, unit.clone(), dimension)?;
    let si = match dimension {
        Dimension::Temperature => temperature(value, text, &unit, &expression)?,
        Dimension::Pressure => pressure(value, text, &unit, &expression, ambient_pa)?,
        _ => plain(value, text, &unit, &expression, dimension)?,
    };
    if si.is_finite() {
        Ok(si)
    } else {
        Err(UnitError::new(0..text.len(), UnitCause::BadNumber(text.trim().to_owned()), "write a number of ordinary size"))
    }
}

/// Write an SI value so that [`read`] gives the same number back.
pub fn write(si: f64, dimension: Dimension) -> String {
    format!("{si:e} {}", dimension.si_unit())
}

/// The number at the start and the byte range of the unit after it.
fn split(text: &str, dimension: Dimension) -> Result<(f64, Range<usize>), UnitError> {
    let example = || format!("write a number and a unit, for example \"{}\"", dimension.example());
    let start = text.len() - text.trim_start().len();
    let end = text.trim_end().len();
    if start >= end {
        return Err(UnitError::new(0..text.len(), UnitCause::Empty(dimension.name()), example()));
    }
    let length = number_length(&text[start..end]);
    if length == 0 {
        return Err(UnitError::new(start..end, UnitCause::NoNumber(text[start..end].to_owned()), example()));
    }
    let after = start + length;
    let number = &text[start..after];
    let value: f64 = number.parse().unwrap_or(f64::NAN);
    if !value.is_finite() {
        return Err(UnitError::new(start..after, UnitCause::BadNumber(number.to_owned()), example()));
    }
    let rest = &text[after..end];
    if rest.starts_with([',', '.', '\'', '_']) {
        return Err(UnitError::new(
            start..end,
            UnitCause::BadNumber(text[start..end].to_owned()),
            "write a decimal point and no separator between thousands",
        ));
    }
    let unit_start = after + (rest.len() - rest.trim_start().len());
    Ok((value, unit_start..end))
}

/// Bytes of `[+-]digits[.digits][e[+-]digits]` at the start; 0 when there is no digit.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |mut at: usize| {
        let from = at;
        while bytes.get(at).is_some_and(u8::is_ascii_digit) {
            at += 1;
        }
        (at, at - from)
    };
    let sign = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let (mut at, whole) = digits(sign);
    let mut fraction = 0;
    if bytes.get(at) == Some(&b'.') {
        let (after, count) = digits(at + 1);
        if whole + count > 0 {
            (at, fraction) = (after, count);
        }
    }
    if whole + fraction == 0 {
        return 0;
    }
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(at + 1), Some(b'+' | b'-')));
        let (after, count) = digits(at + 1 + sign);
        if count > 0 {
            at = after;
        }
    }
    at
}

fn temperature(value: f64, text: &str, unit: &Range<usize>, expression: &Expression) -> Result<f64, UnitError> {
    let Some(zero_k) = expression.zero_k else {
        return Err(wrong(text, unit, Dimension::Temperature));
    };
    refuse_mark(text, unit, expression, Dimension::Temperature)?;
    let kelvin = zero_k + value * expression.factor;
    if kelvin <= 0.0 {
        return Err(UnitError::new(
            0..text.len(),
            UnitCause::BelowAbsoluteZero(text.trim().to_owned()),
            "temperatures start above 0 K (-273.15 degC, -459.67 degF)",
        ));
    }
    Ok(kelvin)
}

fn pressure(value: f64, text: &str, unit: &Range<usize>, expression: &Expression, ambient_pa: f64) -> Result<f64, UnitError> {
    if expression.powers != Dimension::Pressure.powers() {
        return Err(wrong(text, unit, Dimension::Pressure));
    }
    match expression.mark {
        Some(Mark::Gauge) => Ok(ambient_pa + value * expression.factor),
        Some(Mark::Absolute) => Ok(value * expression.factor),
        None => Err(UnitError::new(
            unit.clone(),
            UnitCause::ReferenceMissing(text.trim().to_owned()),
            format!("write {0}(g) for gauge or {0}(a) for absolute", text.trim()),
        )),
    }
}

fn plain(value: f64, text: &str, unit: &Range<usize>, expression: &Expression, dimension: Dimension) -> Result<f64, UnitError> {
    refuse_mark(text, unit, expression, dimension)?;
    if expression.powers == dimension.powers() {
        return Ok(value * expression.factor);
    }
    // turns per unit time written without the turn: 1/min, Hz
    if dimension == Dimension::RotationalSpeed && expression.powers == [0, 0, -1, 0, 0, 0] {
        return Ok(value * expression.factor * std::f64::consts::TAU);
    }
    Err(wrong(text, unit, dimension))
}

fn refuse_mark(text: &str, unit: &Range<usize>, expression: &Expression, dimension: Dimension) -> Result<(), UnitError> {
    match expression.mark {
        Some(_) => Err(UnitError::new(
            unit.clone(),
            UnitCause::ReferenceUnexpected(text.trim().to_owned(), dimension.name()),
            format!("write it like \"{}\"", dimension.example()),
        )),
        None => Ok(()),
    }
}

fn wrong(text: &str, unit: &Range<usize>, dimension: Dimension) -> UnitError {
    UnitError::new(
        unit.clone(),
        UnitCause::WrongDimension { unit: text[unit.clone()].to_owned(), expected: dimension.name() },
        format!("{} is read in {}; for example \"{}\"", dimension.noun(), dimension.units(), dimension.example()),
    )
}

#[cfg(test)]
mod tests;
