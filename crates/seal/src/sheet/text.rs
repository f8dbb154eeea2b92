//! SI quantities inside sentences, written in the reader's units.
//!
//! Reasons and notices travel as sentences with SI quantities: a number, a space, a unit (see `rules::text`). Here each is
//! found and rewritten. A plain `K` is left as it stands, since the sentence alone does not tell a temperature from a
//! difference; the marked `K(abs)` and `K(diff)` are converted.

use super::rounding::significant;
use super::units::{Kind, UnitSet, unit};

/// SI units that may stand in a sentence, longest first where one begins another.
const UNITS: &[(&str, Kind)] = &[
    ("N/m(spring)", Kind::SpringRate),
    ("m3/s(flow)", Kind::SupplyFlow),
    ("Pa m/s", Kind::PressureSpeed),
    ("K(diff)", Kind::TemperatureDifference),
    ("K(abs)", Kind::Temperature),
    ("rad/s", Kind::ShaftSpeed),
    ("Pa(a)", Kind::AbsolutePressure),
    ("kg/m3", Kind::Density),
    ("Pa s", Kind::Viscosity),
    ("m3/s", Kind::VolumeLeakage),
    ("kg/s", Kind::MassLeakage),
    ("N m", Kind::Torque),
    ("N/m", Kind::Stiffness),
    ("m/s", Kind::Speed),
    ("Pa", Kind::Pressure),
    ("m", Kind::Length),
    ("N", Kind::Force),
    ("W", Kind::Power),
];

/// The sentence with every SI quantity in the reader's units.
pub fn in_units(sentence: &str, set: UnitSet) -> String {
    let mut written = String::with_capacity(sentence.len());
    let mut rest = sentence;
    let mut before: Option<char> = None;
    while let Some(first) = rest.chars().next() {
        if may_begin_number(before, first)
            && let Some((value, length)) = leading_number(rest)
        {
            if let Some((kind, unit_length)) = leading_unit(&rest[length..]) {
                written.push_str(&quantity(value, kind, set));
                let taken = length + unit_length;
                before = rest[..taken].chars().next_back();
                rest = &rest[taken..];
            } else {
                written.push_str(&rest[..length]);
                before = rest[..length].chars().next_back();
                rest = &rest[length..];
            }
            continue;
        }
        written.push(first);
        before = Some(first);
        rest = &rest[first.len_utf8()..];
    }
    written
}

/// A value with its unit, in a unit of fitting size.
pub fn quantity(value: f64, kind: Kind, set: UnitSet) -> String {
    let unit = unit(of_fitting_size(value, kind), set);
    let number = significant(unit.convert(value), digits(kind, value));
    if unit.label.is_empty() { number } else { format!("{number} {}", unit.label) }
}

/// A kind whose unit fits the size of a value.
pub(crate) fn of_fitting_size(value: f64, kind: Kind) -> Kind {
    match kind {
        Kind::Length if value != 0.0 && value.abs() < 0.1e-3 => Kind::SmallLength,
        Kind::Pressure if value.abs() < 0.02e6 => Kind::LowPressure,
        Kind::AbsolutePressure if value.abs() < 0.02e6 => Kind::LowAbsolutePressure,
        other => other,
    }
}

fn digits(kind: Kind, value: f64) -> i32 {
    match kind {
        Kind::Length if value.abs() >= 0.1e-3 => 4,
        Kind::AbsolutePressure | Kind::Temperature => 4,
        // Solved quantities of a few per cent at best.
        Kind::Length | Kind::VolumeLeakage | Kind::MassLeakage | Kind::Torque | Kind::Power | Kind::Stiffness => 2,
        _ => 3,
    }
}

fn may_begin_number(before: Option<char>, first: char) -> bool {
    let free = before.is_none_or(|c| !(c.is_alphanumeric() || matches!(c, '.' | '_' | '-' | '/')));
    free && (first.is_ascii_digit() || first == '-')
}

/// A number at the start of the text, with its length.
fn leading_number(text: &str) -> Option<(f64, usize)> {
    let bytes = text.as_bytes();
    let digits_from = |mut at: usize| {
        let start = at;
        while bytes.get(at).is_some_and(u8::is_ascii_digit) {
            at += 1;
        }
        (at > start).then_some(at)
    };
    let sign = usize::from(bytes.first() == Some(&b'-'));
    let mut end = digits_from(sign)?;
    if bytes.get(end) == Some(&b'.')
        && let Some(after) = digits_from(end + 1)
    {
        end = after;
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'-' | b'+')));
        if let Some(after) = digits_from(end + 1 + sign) {
            end = after;
        }
    }
    let value: f64 = text[..end].parse().ok()?;
    value.is_finite().then_some((value, end))
}

/// A space and a unit at the start of the text, with their length.
fn leading_unit(text: &str) -> Option<(Kind, usize)> {
    let text = text.strip_prefix(' ')?;
    UNITS.iter().find_map(|(label, kind)| {
        let rest = text.strip_prefix(label)?;
        let ends = rest.chars().next().is_none_or(|c| !(c.is_alphanumeric() || matches!(c, '/' | '(' | '_' | '^')));
        ends.then_some((*kind, label.len() + 1))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn si_quantities_become_the_readers() {
        let si = |sentence: &str| in_units(sentence, UnitSet::Si);
        assert_eq!(si("least film 4.7e-7 m is 3.6 roughnesses: full film"), "least film 0.47 um is 3.6 roughnesses: full film");
        assert_eq!(si("chamber 311.15 K(abs), 151.9 K(diff) below"), "chamber 38.00 degC, 152 K below");
        assert_eq!(si("pressure 1.2e6 Pa(a) and 6400 Pa."), "pressure 1.200 MPa(a) and 6.40 kPa.");
        assert_eq!(si("(coning -1.5e-7 m)"), "(coning -0.15 um)");
        assert_eq!(si("at r 0.02445 m, z 0 m"), "at r 24.45 mm, z 0 mm");
        assert_eq!(si("leakage 1.111e-9 m3/s; flow 0.0001 m3/s(flow)"), "leakage 4.0 mL/h; flow 6.00 L/min");
    }

    #[test]
    fn customary_units_too() {
        let us = |sentence: &str| in_units(sentence, UnitSet::Us);
        assert_eq!(us("chamber 311.15 K(abs), margin 20 K(diff)"), "chamber 100.4 degF, margin 36.0 degF diff");
        assert_eq!(us("net PV 1e6 Pa m/s"), "net PV 28600 psi ft/min");
    }

    #[test]
    fn other_words_and_numbers_stay() {
        for sentence in ["F1 of 3 duties", "20 K", "UNS S31600 m", "hours 8784 h", "0.70-0.80 of 2 members", "H1025, 17-4PH", "5 % m"] {
            assert_eq!(in_units(sentence, UnitSet::Us), sentence);
        }
    }
}
