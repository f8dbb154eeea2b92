//! Integrals of the Gaussian height distribution.
//!
//! `F_n(d) = integral from d to infinity of (s - d)^n phi(s) ds` (Greenwood and Williamson 1966), needed here for
//! `n = 3/2` and `5/2`, with `d` the separation of the mean planes over the rms roughness.

use std::f64::consts::PI;
use std::sync::OnceLock;

/// Standard normal density.
pub fn density(d: f64) -> f64 {
    (-0.5 * d * d).exp() / (2.0 * PI).sqrt()
}

/// Upper tail of the standard normal distribution: the bearing-area share at separation `d`.
pub fn tail(d: f64) -> f64 {
    0.5 * libm::erfc(d / std::f64::consts::SQRT_2)
}

/// `F_n(d)` by quadrature, for any `n > -1`: slow and accurate to about 1e-12 relative, the source of the fast tables.
///
/// The substitution `s = d + t^2` removes the root at the lower end.
pub fn height_integral(n: f64, d: f64) -> f64 {
    // The integrand 2 t^(2n+1) phi(d + t^2) is below 1e-18 of its maximum beyond this t.
    let end = (9.0 - d.min(8.0)).max(1.0).sqrt().max(1.2) + if d > 2.0 { 1.0 } else { 0.4 };
    let panels = 24;
    let width = end / panels as f64;
    (0..panels)
        .flat_map(|panel| GAUSS_8.iter().map(move |&(x, w)| (width * (panel as f64 + 0.5 * (1.0 + x)), 0.5 * width * w)))
        .map(|(t, w)| w * 2.0 * t.powf(2.0 * n + 1.0) * density(d + t * t))
        .sum()
}

/// Nodes and weights of 8-point Gauss-Legendre quadrature on [-1, 1] (Abramowitz and Stegun, table 25.4).
const GAUSS_8: [(f64, f64); 8] = [
    (-0.960_289_856_497_536_2, 0.101_228_536_290_376_26),
    (-0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (-0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (-0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (0.960_289_856_497_536_2, 0.101_228_536_290_376_26),
];

/// Separation beyond which contact is nothing (F_5/2 below 1e-16).
pub const FAR: f64 = 8.0;
/// Separation below which the tables end; the film model never goes below -3 rms roughnesses.
const NEAR: f64 = -6.0;
const DEGREE: usize = 40;

/// Chebyshev coefficients of `ln F_3/2` and `ln F_5/2` over [NEAR, FAR], side by side.
fn log_tables() -> &'static [[f64; 2]; DEGREE + 1] {
    static TABLES: OnceLock<[[f64; 2]; DEGREE + 1]> = OnceLock::new();
    TABLES.get_or_init(|| {
        let [three, five] = [1.5, 2.5].map(log_table);
        std::array::from_fn(|j| [three[j], five[j]])
    })
}

/// Chebyshev coefficients of `ln F_n` over [NEAR, FAR].
fn log_table(n: f64) -> [f64; DEGREE + 1] {
    let count = DEGREE + 1;
    let values: Vec<f64> = (0..count)
        .map(|k| {
            let x = (PI * (k as f64 + 0.5) / count as f64).cos();
            height_integral(n, 0.5 * (NEAR + FAR) + 0.5 * (FAR - NEAR) * x).ln()
        })
        .collect();
    std::array::from_fn(|j| {
        let sum: f64 = values.iter().enumerate().map(|(k, v)| v * (PI * j as f64 * (k as f64 + 0.5) / count as f64).cos()).sum();
        sum * if j == 0 { 1.0 } else { 2.0 } / count as f64
    })
}

/// `F_3/2` and `F_5/2` at each of some separations: each sum waits for its own last term alone, so many take hardly longer than one.
pub fn half_orders<const N: usize>(d: [f64; N]) -> [[f64; 2]; N] {
    if d.iter().all(|d| *d >= FAR) {
        return [[0.0; 2]; N];
    }
    let [first, others @ ..] = log_tables();
    let x = d.map(|d| (2.0 * d.clamp(NEAR, FAR) - NEAR - FAR) / (FAR - NEAR));
    let (mut b1, mut b2) = ([[0.0; 2]; N], [[0.0; 2]; N]);
    for c in others.iter().rev() {
        for i in 0..N {
            for n in 0..2 {
                (b1[i][n], b2[i][n]) = (2.0 * x[i] * b1[i][n] - b2[i][n] + c[n], b1[i][n]);
            }
        }
    }
    std::array::from_fn(|i| if d[i] >= FAR { [0.0; 2] } else { std::array::from_fn(|n| (x[i] * b1[i][n] - b2[i][n] + first[n]).exp()) })
}

/// `F_3/2(d)`, relative error below 1e-8 for `d` in [-6, 7].
pub fn three_halves(d: f64) -> f64 {
    half_orders([d])[0][0]
}

/// `F_5/2(d)`, relative error below 1e-8 for `d` in [-6, 7]. Its derivative is `-5/2 F_3/2(d)`.
pub fn five_halves(d: f64) -> f64 {
    half_orders([d])[0][1]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn integer_orders_have_closed_forms() {
        for d in [-3.0, -1.0, 0.0, 0.7, 2.0, 4.0, 6.0] {
            let one = density(d) - d * tail(d);
            let two = (1.0 + d * d) * tail(d) - d * density(d);
            assert!((height_integral(1.0, d) / one - 1.0).abs() < 1e-9, "F_1({d})");
            assert!((height_integral(2.0, d) / two - 1.0).abs() < 1e-9, "F_2({d})");
        }
    }

    #[test]
    fn tables_follow_the_quadrature() {
        for k in 0..=260 {
            let d = -6.0 + 0.05 * k as f64;
            assert!((three_halves(d) / height_integral(1.5, d) - 1.0).abs() < 1e-8, "F_3/2({d})");
            assert!((five_halves(d) / height_integral(2.5, d) - 1.0).abs() < 1e-8, "F_5/2({d})");
        }
    }

    #[test]
    fn recurrence_holds_for_half_orders() {
        // F_(n+1) = n F_(n-1) - d F_n, from one integration by parts.
        for d in [-2.0, 0.0, 1.3, 3.0] {
            let right = 1.5 * height_integral(0.5, d) - d * three_halves(d);
            assert!((five_halves(d) - right).abs() < 1e-9 * five_halves(d).abs().max(1e-3), "at {d}");
        }
    }
}
