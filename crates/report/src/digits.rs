//! Numbers as coordinates of pictures.

/// Hundredths above which an integer no longer holds them exactly.
const MOST: f64 = 9e15;

/// At most two decimals, none that say nothing.
pub(crate) fn number(value: f64) -> String {
    // Tens of thousands of them are written at every keystroke of a reader: the general formatting of floats takes several times as long.
    let hundredths = (100.0 * value).round_ties_even();
    if !hundredths.is_finite() || hundredths.abs() >= MOST {
        return format!("{value}");
    }
    let sign = if hundredths < 0.0 { "-" } else { "" };
    let digits = hundredths.abs() as u64;
    match (digits / 100, digits % 100) {
        (whole, 0) => format!("{sign}{whole}"),
        (whole, part) if part % 10 == 0 => format!("{sign}{whole}.{}", part / 10),
        (whole, part) => format!("{sign}{whole}.{part:02}"),
    }
}

#[cfg(test)]
mod tests {
    use super::number;

    #[test]
    fn coordinates_are_short() {
        let written = [1.0, 1.256, -0.001, 10.5, 100.0, -0.06, -12.999, 3.004, 0.1 + 0.2].map(number);
        assert_eq!(written, ["1", "1.26", "0", "10.5", "100", "-0.06", "-13", "3", "0.3"]);
    }

    #[test]
    fn coordinates_read_back_to_half_a_hundredth_without_idle_digits() {
        for k in -30_000..30_000 {
            let value = f64::from(k) * 0.013_7;
            let text = number(value);
            assert!((text.parse::<f64>().unwrap() - value).abs() <= 0.005 + 1e-9, "{value} as {text}");
            assert!(text != "-0" && !(text.contains('.') && text.ends_with('0')) && !text.ends_with('.'), "{value} as {text}");
        }
    }
}
