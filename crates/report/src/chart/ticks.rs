//! Places and numbers of an axis.

/// Numbers along an axis: few, round, short.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ticks {
    /// Values with their texts, increasing.
    pub marks: Vec<(f64, String)>,
    /// Power of ten by which the texts are to be multiplied; 0 for none.
    pub power: i32,
}

/// Texts stay plain from the one to below the other; outside, a power of ten goes to the unit.
const PLAIN: [f64; 2] = [1e-3, 1e5];

impl Ticks {
    /// At most `most` round values between two bounds; none where the bounds are no interval.
    pub fn between(low: f64, high: f64, most: usize) -> Self {
        let none = Self { marks: Vec::new(), power: 0 };
        // Halves do not overflow.
        let half_span = 0.5 * high - 0.5 * low;
        if !(half_span.is_finite() && half_span > 0.0) || most == 0 {
            return none;
        }
        let Some(step) = round_steps(half_span / most as f64).find(|step| count(low, high, *step) <= most) else { return none };
        let greatest = low.abs().max(high.abs());
        let power = if (PLAIN[0]..PLAIN[1]).contains(&greatest) { 0 } else { 3 * (greatest.log10() / 3.0).floor() as i32 };
        let first = (low / step - 1e-9).ceil();
        let values = (0..count(low, high, step)).map(|k| (first + k as f64) * step);
        let marks = values.map(|value| (value, text(value, step, power)));
        Self { marks: marks.collect(), power }
    }

    /// At most `most` values between two positive bounds of a logarithmic axis.
    pub fn logarithmic(low: f64, high: f64, most: usize) -> Self {
        let decades = low.log10().floor() as i32..=high.log10().ceil() as i32;
        let within = |digits: &[f64], every: i32| -> Vec<f64> {
            let kept = decades.clone().filter(|decade| decade.rem_euclid(every) == 0);
            let values = kept.flat_map(|decade| digits.iter().map(move |digit| digit * 10f64.powi(decade)));
            values.filter(|value| (low..=high).contains(value)).collect()
        };
        let choices: [(&[f64], i32); 6] = [(&[1.0, 2.0, 5.0], 1), (&[1.0, 3.0], 1), (&[1.0], 1), (&[1.0], 2), (&[1.0], 3), (&[1.0], 5)];
        let values =
            choices.into_iter().map(|(digits, every)| within(digits, every)).find(|values| values.len() <= most).unwrap_or_default();
        let written = |value: f64| match value.log10().round() as i32 {
            decade if !(-3..5).contains(&decade) => {
                let digit = (value / 10f64.powi(value.log10().floor() as i32)).round();
                let power = superscript(value.log10().floor() as i32);
                if digit == 1.0 { format!("10{power}") } else { format!("{digit}\u{b7}10{power}") }
            }
            _ => text(value, value, 0),
        };
        Self { marks: values.into_iter().map(|value| (value, written(value))).collect(), power: 0 }
    }

    /// The unit with the power of ten before it.
    pub fn unit(&self, unit: &str) -> String {
        if self.power == 0 { unit.to_owned() } else { format!("10{} {unit}", superscript(self.power)).trim_end().to_owned() }
    }
}

/// 1, 2, 5, 10 ... from a value upward.
fn round_steps(least: f64) -> impl Iterator<Item = f64> {
    let exponent = least.log10().floor() as i32;
    (exponent..=exponent + 3).flat_map(|power| [1.0, 2.0, 5.0].map(|digit| digit * 10f64.powi(power))).filter(|step| step.is_normal())
}

fn count(low: f64, high: f64, step: f64) -> usize {
    let between = (high / step + 1e-9).floor() - (low / step - 1e-9).ceil() + 1.0;
    if between.is_finite() { between.max(0.0) as usize } else { usize::MAX }
}

/// A value with the digits of its step and no zeros at its end.
fn text(value: f64, step: f64, power: i32) -> String {
    let decimals = (power - step.log10().floor() as i32).clamp(0, 15) as usize;
    let written = format!("{:.decimals$}", scaled(value, power));
    let short = if written.contains('.') { written.trim_end_matches('0').trim_end_matches('.') } else { &written };
    match short.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => "0".to_owned(),
        Some(rest) => format!("\u{2212}{rest}"),
        None => short.to_owned(),
    }
}

/// A value over a power of ten, in two halves since one alone may overflow.
fn scaled(value: f64, power: i32) -> f64 {
    let half = power / 2;
    value / 10f64.powi(half) / 10f64.powi(power - half)
}

fn superscript(power: i32) -> String {
    const DIGITS: [char; 10] =
        ['\u{2070}', '\u{b9}', '\u{b2}', '\u{b3}', '\u{2074}', '\u{2075}', '\u{2076}', '\u{2077}', '\u{2078}', '\u{2079}'];
    let sign = if power < 0 { "\u{207b}" } else { "" };
    let digits = power.abs().to_string();
    sign.chars().chain(digits.chars().filter_map(|c| c.to_digit(10)).map(|digit| DIGITS[digit as usize])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(low: f64, high: f64, most: usize) -> Vec<String> {
        Ticks::between(low, high, most).marks.into_iter().map(|(_, text)| text).collect()
    }

    #[test]
    fn numbers_are_few_round_and_short() {
        assert_eq!(texts(0.0, 1.13, 4), ["0", "0.5", "1"]);
        assert_eq!(texts(24.45, 30.8, 7), ["25", "26", "27", "28", "29", "30"]);
        assert_eq!(texts(24.45, 30.8, 4), ["26", "28", "30"]);
        assert_eq!(texts(-0.3, 0.3, 7), ["\u{2212}0.3", "\u{2212}0.2", "\u{2212}0.1", "0", "0.1", "0.2", "0.3"]);
        assert_eq!(texts(20.0, 20.05, 3), ["20", "20.02", "20.04"]);
    }

    #[test]
    fn great_and_small_numbers_take_a_power_of_ten() {
        let great = Ticks::between(0.0, 2.4e6, 3);
        assert_eq!((great.power, great.unit("Pa").as_str()), (6, "10\u{2076} Pa"));
        assert_eq!(great.marks.iter().map(|(_, text)| text.as_str()).collect::<Vec<_>>(), ["0", "1", "2"]);
        let small = Ticks::between(0.0, 5e-9, 6);
        assert_eq!((small.power, small.unit("").as_str()), (-9, "10\u{207b}\u{2079}"));
        assert_eq!(texts(0.0, 5e-9, 6), ["0", "1", "2", "3", "4", "5"]);
    }

    #[test]
    fn logarithmic_numbers_are_of_the_decades() {
        let texts = |low, high, most| Ticks::logarithmic(low, high, most).marks.into_iter().map(|(_, text)| text).collect::<Vec<_>>();
        assert_eq!(texts(0.15, 30.0, 7), ["0.2", "0.5", "1", "2", "5", "10", "20"]);
        assert_eq!(texts(0.15, 30.0, 5), ["0.3", "1", "3", "10", "30"]);
        assert_eq!(texts(0.08, 8e5, 7), ["0.1", "1", "10", "100", "1000", "10000", "10\u{2075}"]);
        assert_eq!(texts(2.5e-7, 4e-6, 4), ["5\u{b7}10\u{207b}\u{2077}", "10\u{207b}\u{2076}", "2\u{b7}10\u{207b}\u{2076}"]);
    }

    #[test]
    fn bounds_that_are_no_interval_have_no_numbers() {
        for (low, high) in [(1.0, 1.0), (2.0, 1.0), (f64::NAN, 1.0), (0.0, f64::INFINITY)] {
            assert!(Ticks::between(low, high, 5).marks.is_empty(), "{low} {high}");
        }
        assert!(Ticks::between(0.0, 1.0, 0).marks.is_empty());
    }

    proptest::proptest! {
        /// Every number lies on the axis, is the value it stands for to its last digit, and no two are the same.
        #[test]
        fn numbers_are_true(low in -1e6..1e6f64, span in 1e-6..1e6f64, scale in -250..250i32, most in 2..12usize) {
            let factor = 10f64.powi(scale);
            let (low, high) = (low * factor, (low + span) * factor);
            proptest::prop_assume!(high - low > 1e-9 * low.abs().max(high.abs()));
            let ticks = Ticks::between(low, high, most);
            proptest::prop_assert!(ticks.marks.len() <= most);
            let slack = 1e-8 * (high - low);
            for (value, text) in &ticks.marks {
                proptest::prop_assert!((low - slack..=high + slack).contains(value), "{value} outside {low} to {high}");
                let read: f64 = text.replace('\u{2212}', "-").parse().expect("a number");
                let expected = scaled(*value, ticks.power);
                proptest::prop_assert!((read - expected).abs() <= 1e-6 * expected.abs().max(scaled(high - low, ticks.power)), "{text} for {value}");
            }
            let mut texts: Vec<&String> = ticks.marks.iter().map(|(_, text)| text).collect();
            texts.dedup();
            proptest::prop_assert_eq!(texts.len(), ticks.marks.len());
        }
    }
}
