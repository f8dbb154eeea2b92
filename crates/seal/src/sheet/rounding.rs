//! Rounding: never more digits than known.
//!
//! The last digit shown of a number with a range is the first uncertain one: the first significant digit of half the
//! range, or the second where that first is a 1 (as the *Guide to the expression of uncertainty in measurement* keeps one
//! or two digits of an uncertainty). A number without a range is shown with a stated count of significant digits.

use crate::outcome::Ranged;

/// A missing number.
pub const MISSING: &str = "-";

/// Most significant digits that any solved number may show.
const MOST_DIGITS: i32 = 4;

/// `nominal (low to high)`, each with no more digits than the range allows; the nominal alone where there is no range.
pub fn ranged(value: Ranged) -> String {
    let Ranged { low, nominal, high } = value;
    if !(low.is_finite() && nominal.is_finite() && high.is_finite()) {
        return MISSING.to_owned();
    }
    let spread = high - low;
    if spread <= 1e-9 * nominal.abs().max(f64::MIN_POSITIVE) {
        return significant(nominal, 3);
    }
    let place = last_known_place(0.5 * spread);
    let shown = |number: f64| at_place(number, shown_place(number, place));
    let [low, nominal, high] = [shown(low), shown(nominal), shown(high)];
    if low == high && low == nominal { nominal } else { format!("{nominal} ({low} to {high})") }
}

/// The nominal of a range alone, with the digits that its range allows.
pub fn nominal(value: Ranged) -> String {
    let text = ranged(value);
    text.split(" (").next().map_or(text.clone(), str::to_owned)
}

/// A number with a count of significant digits.
pub fn significant(value: f64, digits: i32) -> String {
    if !value.is_finite() {
        return MISSING.to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    at_place(value, exponent(value) - digits + 1)
}

/// Power of ten of the first uncertain digit.
fn last_known_place(half_range: f64) -> i32 {
    let first = exponent(half_range);
    if half_range / 10f64.powi(first) < 2.0 { first - 1 } else { first }
}

/// Every number keeps at least one significant digit and at most `MOST_DIGITS`.
fn shown_place(number: f64, place: i32) -> i32 {
    if number == 0.0 {
        return place;
    }
    let first = exponent(number);
    place.clamp(first - MOST_DIGITS + 1, first)
}

fn exponent(value: f64) -> i32 {
    value.abs().log10().floor() as i32
}

/// `value` rounded at the power of ten `place`.
fn at_place(value: f64, place: i32) -> String {
    let magnitude = value.abs();
    if magnitude != 0.0 && !(1e-4..1e7).contains(&magnitude) {
        let digits = (exponent(value) - place).clamp(0, 8) as usize;
        return format!("{value:.digits$e}");
    }
    let text = if place >= 0 {
        let step = 10f64.powi(place);
        format!("{:.0}", (value / step).round() * step)
    } else {
        format!("{value:.*}", (-place) as usize)
    };
    without_negative_zero(text)
}

fn without_negative_zero(text: String) -> String {
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(low: f64, nominal: f64, high: f64) -> String {
        ranged(Ranged { low, nominal, high })
    }

    #[test]
    fn digits_follow_the_range() {
        assert_eq!(shown(0.35, 0.4734, 0.62), "0.47 (0.35 to 0.62)");
        assert_eq!(shown(1.2, 4.05, 12.3), "4 (1 to 12)");
        assert_eq!(shown(186.2, 231.9, 294.4), "230 (190 to 290)");
        assert_eq!(shown(-0.31, 0.02, 0.4), "0.02 (-0.3 to 0.4)");
        assert_eq!(shown(56.3, 57.11, 58.9), "57.1 (56.3 to 58.9)");
    }

    #[test]
    fn a_small_end_keeps_one_digit() {
        assert_eq!(shown(0.31, 4.0, 12.0), "4 (0.3 to 12)");
        assert_eq!(shown(0.0, 4.0, 12.0), "4 (0 to 12)");
    }

    #[test]
    fn a_known_number_shows_three_digits() {
        assert_eq!(ranged(Ranged::exact(0.747_41)), "0.747");
        assert_eq!(significant(1102.19, 4), "1102");
        assert_eq!(significant(28_550.0, 3), "28600");
        assert_eq!(significant(0.0, 3), "0");
        assert_eq!(significant(-1e-12, 2), "-1.0e-12");
    }

    #[test]
    fn never_more_than_four_digits() {
        assert_eq!(shown(1096.100, 1096.123, 1096.140), "1096");
    }

    #[test]
    fn what_is_not_finite_is_missing() {
        assert_eq!(shown(f64::NAN, 1.0, 2.0), MISSING);
        assert_eq!(significant(f64::INFINITY, 3), MISSING);
    }

    #[test]
    fn no_negative_zero() {
        assert_eq!(shown(-2.0, -0.0, 3.0), "0 (-2 to 3)");
        assert_eq!(significant(-0.0, 3), "0");
    }

    #[test]
    fn nominal_alone() {
        assert_eq!(nominal(Ranged { low: 0.35, nominal: 0.4734, high: 0.62 }), "0.47");
    }
}
