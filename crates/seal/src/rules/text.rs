//! SI quantities inside a sentence.
//!
//! A reason travels as a sentence with SI quantities: a number, a space, a unit. The sheet finds them there and writes
//! the reader's units. Absolute pressure, absolute temperature and temperature difference are marked, since the number
//! alone does not tell them from pressure difference and from each other: `1.2e6 Pa(a)`, `311.15 K(abs)`, `20 K(diff)`.

/// A bare number as a reader sees it: four significant digits.
pub fn number(value: f64) -> String {
    with_digits(value, 4)
}

/// Digits of a quantity: enough that the sheet, not the sentence, decides the rounding.
const QUANTITY_DIGITS: i32 = 7;

/// A ratio of estimates: two significant digits.
pub fn ratio(value: f64) -> String {
    with_digits(value, 2)
}

/// A number with some significant digits, in the shorter of the two notations.
fn with_digits(value: f64, digits: i32) -> String {
    if !value.is_finite() {
        return "not finite".to_owned();
    }
    let magnitude = value.abs();
    if magnitude == 0.0 {
        return "0".to_owned();
    }
    if !(1e-3..1e5).contains(&magnitude) {
        let text = format!("{value:.*e}", (digits - 1) as usize);
        return match text.split_once('e') {
            Some((mantissa, exponent)) => format!("{}e{exponent}", trimmed(mantissa)),
            None => text,
        };
    }
    let decimals = (digits - 1 - magnitude.log10().floor() as i32).max(0) as usize;
    trimmed(&format!("{value:.decimals$}"))
}

fn trimmed(number: &str) -> String {
    if !number.contains('.') {
        return number.to_owned();
    }
    number.trim_end_matches('0').trim_end_matches('.').to_owned()
}

macro_rules! quantity {
    ($($(#[$doc:meta])* $name:ident => $unit:literal),* $(,)?) => {
        $($(#[$doc])* pub fn $name(value: f64) -> String { format!("{} {}", with_digits(value, QUANTITY_DIGITS), $unit) })*
    };
}

quantity! {
    /// A length, m.
    length => "m",
    /// A pressure difference or a stress, Pa.
    pressure => "Pa",
    /// An absolute pressure, Pa.
    absolute_pressure => "Pa(a)",
    /// A temperature, K.
    temperature => "K(abs)",
    /// A temperature difference, K.
    temperature_difference => "K(diff)",
    /// A force, N.
    force => "N",
    /// A torque, N m.
    torque => "N m",
    /// A power, W.
    power => "W",
    /// A speed, m/s.
    speed => "m/s",
    /// Pressure times speed, Pa m/s.
    pressure_speed => "Pa m/s",
    /// A volume flow of leakage, m3/s.
    volume_leakage => "m3/s",
    /// A volume flow of supply, m3/s.
    supply_flow => "m3/s(flow)",
    /// A mass flow of leakage, kg/s.
    mass_leakage => "kg/s",
    /// A viscosity, Pa s.
    viscosity => "Pa s",
    /// A stiffness, N/m.
    stiffness => "N/m",
    /// A rate of springs, N/m.
    spring_rate => "N/m(spring)",
}

/// A share as a percentage, without more digits than a reader wants.
pub fn percent(share: f64) -> String {
    let value = 100.0 * share;
    match value.abs() {
        size if size >= 9.95 || size == 0.0 => format!("{value:.0} %"),
        size if size < 0.05 => "below 0.1 %".to_owned(),
        _ => format!("{value:.1} %"),
    }
}

/// Angular speed of a shaft, rad/s.
pub fn shaft_speed(value: f64) -> String {
    format!("{} rad/s", with_digits(value, QUANTITY_DIGITS))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_four_digits_and_no_idle_zeros() {
        assert_eq!(number(3.2e-7), "3.2e-7");
        assert_eq!(number(1_200_000.0), "1.2e6");
        assert_eq!(number(311.15), "311.1"); // 311.15 is stored just below the tie
        assert_eq!(number(20.0), "20");
        assert_eq!(number(0.0), "0");
        assert_eq!(number(99_999.9), "100000");
        assert_eq!(number(f64::NAN), "not finite");
    }

    #[test]
    fn quantities_carry_their_kind() {
        assert_eq!(absolute_pressure(1.2e6), "1.2e6 Pa(a)");
        assert_eq!(temperature(311.15), "311.15 K(abs)");
        assert_eq!(temperature_difference(20.0), "20 K(diff)");
        assert_eq!(percent(0.256), "26 %");
        assert_eq!(percent(0.0123), "1.2 %");
    }
}
