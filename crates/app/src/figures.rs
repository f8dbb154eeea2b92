//! Numbers of the published checks as texts, in SI units.

/// Seven digits, which is what a published figure has at most.
pub fn figure(value: f64) -> String {
    match value.abs() {
        _ if !value.is_finite() => "none".to_owned(),
        0.0 => "0".to_owned(),
        m if (1e-3..1e6).contains(&m) => {
            let decimals = (6 - m.log10().floor() as i32).max(0) as usize;
            format!("{value:.decimals$}")
        }
        _ => format!("{value:.6e}"),
    }
}

/// Two digits, for differences and tolerances.
pub fn difference(value: f64) -> String {
    match value {
        0.0 => "0".to_owned(),
        value if value.is_finite() => format!("{value:.1e}"),
        _ => "none".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_show_seven_digits() {
        assert_eq!(figure(1186.71465), "1186.715");
        assert_eq!(figure(4.535591e-9), "4.535591e-9");
        assert_eq!(figure(0.0), "0");
        assert_eq!(figure(f64::NAN), "none");
        assert_eq!(difference(f64::NAN), "none");
    }
}
