//! Gauss-Legendre quadrature on `[-1, 1]`.

use std::f64::consts::PI;

/// Abscissae and weights of the two-point rule.
pub const TWO_POINTS: [(f64, f64); 2] = [(-0.577_350_269_189_625_8, 1.0), (0.577_350_269_189_625_8, 1.0)];

/// Abscissae and weights of the three-point rule.
pub const THREE_POINTS: [(f64, f64); 3] = [(-0.774_596_669_241_483_4, 5.0 / 9.0), (0.0, 8.0 / 9.0), (0.774_596_669_241_483_4, 5.0 / 9.0)];

/// The rule with `points` abscissae (at least one), exact for polynomials of degree `2 points - 1`.
///
/// Roots of the Legendre polynomial by Newton's method from Tricomi's estimate (Abramowitz and Stegun, 25.4.29).
pub fn gauss_legendre(points: usize) -> Vec<(f64, f64)> {
    let count = points.max(1);
    let mut rule = Vec::with_capacity(count);
    for i in 0..count {
        let mut x = -(PI * (i as f64 + 0.75) / (count as f64 + 0.5)).cos();
        let mut slope = 1.0;
        for _ in 0..20 {
            let (value, derivative) = legendre(count, x);
            slope = derivative;
            let step = value / derivative;
            x -= step;
            if step.abs() < 1e-16 {
                break;
            }
        }
        rule.push((x, 2.0 / ((1.0 - x * x) * slope * slope)));
    }
    rule
}

/// Legendre polynomial of the given degree and its derivative.
fn legendre(degree: usize, x: f64) -> (f64, f64) {
    let (mut before, mut value) = (1.0, x);
    for k in 2..=degree {
        let k = k as f64;
        (before, value) = (value, ((2.0 * k - 1.0) * x * value - (k - 1.0) * before) / k);
    }
    (value, degree as f64 * (x * value - before) / (x * x - 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_integrate_polynomials_of_their_degree() {
        for count in 1..=10 {
            let rule = gauss_legendre(count);
            for degree in 0..2 * count {
                let exact = if degree % 2 == 0 { 2.0 / (degree as f64 + 1.0) } else { 0.0 };
                let sum: f64 = rule.iter().map(|(x, w)| w * x.powi(degree as i32)).sum();
                assert!((sum - exact).abs() < 1e-13, "{count} points, degree {degree}: {sum}");
            }
        }
    }

    #[test]
    fn constants_are_the_computed_rules() {
        for (fixed, count) in [(&TWO_POINTS[..], 2), (&THREE_POINTS[..], 3)] {
            for (a, b) in fixed.iter().zip(gauss_legendre(count)) {
                assert!((a.0 - b.0).abs() < 1e-15 && (a.1 - b.1).abs() < 1e-14);
            }
        }
    }
}
