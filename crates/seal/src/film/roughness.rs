//! Roughness in flow and shear.
//!
//! **What.** How rough faces change the conductance of a film for pressure flow and its shear, against the distance `h` of the mean planes.
//! **Equation.** Flow: `phi_p h^3`, `phi_p = 1 - 0.90 exp(-0.56 h/sigma)` (isotropic); below `h = sigma/2` the value there is
//! scaled by `(hT/hT(sigma/2))^3` with the mean gap `hT = h Phi(h/sigma) + sigma phi(h/sigma)`. Shear: `tau = mu w r phi_f/h`, `phi_f` the mean
//! of `h/h_local` over a polynomial height distribution cut off at `3 sigma/300`.
//! **Valid when.** `h/sigma >= 0.5` for the flow factor; the shear factor down to `h = -3 sigma`, where it vanishes.
//! **Source.** Patir and Cheng, J. Lub. Tech. 100 (1978) 12 and 101 (1979) 220; constants from memory, isotropic pair seen in public code.
//! **Checked by.** R2 (arithmetic).

use crate::contact::gaussian;

/// A quantity and its slope with the gap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WithSlope {
    /// Value.
    pub value: f64,
    /// Derivative with respect to the gap.
    pub slope: f64,
}

/// `h/sigma` above which tail and density of the heights vanish in the rounding of one and of `h/sigma`.
const TOUCH_NOWHERE: f64 = 8.5;

/// Mean gap `hT` of Gaussian faces, m; never below zero. Its slope is the normal distribution function.
pub fn mean_gap(gap_m: f64, roughness_m: f64) -> WithSlope {
    let d = gap_m / roughness_m;
    if d > TOUCH_NOWHERE {
        return WithSlope { value: gap_m, slope: 1.0 };
    }
    let open = 1.0 - gaussian::tail(d);
    // For deep overlap the sum cancels: use the tail series there.
    let value = if d < -5.0 {
        roughness_m * gaussian::density(d) / (d * d) * (1.0 - 3.0 / (d * d))
    } else {
        gap_m * open + roughness_m * gaussian::density(d)
    };
    WithSlope { value, slope: open }
}

/// Lowest `h/sigma` at which the flow factor is used as published.
pub const FLOW_FACTOR_FROM: f64 = 0.5;

/// Isotropic pressure flow factor.
pub fn flow_factor(ratio: f64) -> f64 {
    1.0 - 0.90 * (-0.56 * ratio).exp()
}

/// Flow conductance `phi_p h^3`, m3, of faces with composite rms roughness `roughness_m`; `factor` off leaves `h^3`.
pub fn flow_cube(gap_m: f64, roughness_m: f64, factor: bool) -> WithSlope {
    let d = gap_m / roughness_m;
    if d < FLOW_FACTOR_FROM {
        let mean = mean_gap(gap_m, roughness_m);
        let join = FLOW_FACTOR_FROM * roughness_m;
        let at_join = if factor { flow_factor(FLOW_FACTOR_FROM) * join.powi(3) } else { join.powi(3) };
        let scale = at_join / mean_gap(join, roughness_m).value.powi(3);
        return WithSlope { value: scale * mean.value.powi(3), slope: 3.0 * scale * mean.value.powi(2) * mean.slope };
    }
    if !factor || roughness_m == 0.0 {
        return WithSlope { value: gap_m.powi(3), slope: 3.0 * gap_m * gap_m };
    }
    let phi = flow_factor(d);
    let phi_slope = 0.56 * (1.0 - phi) / roughness_m;
    WithSlope { value: phi * gap_m.powi(3), slope: 3.0 * phi * gap_m * gap_m + phi_slope * gap_m.powi(3) }
}

/// Mean of one over the gap, `phi_f/h`, 1/m: shear stress is `mu w r` times this.
///
/// With `factor` off it is `1/h`, held at `1/hT` scaled below half a roughness so that it stays finite.
pub fn shear_per_gap(gap_m: f64, roughness_m: f64, factor: bool) -> WithSlope {
    if factor && roughness_m > 0.0 { rough_shear_per_gap(gap_m, roughness_m) } else { smooth_shear_per_gap(gap_m, roughness_m) }
}

fn smooth_shear_per_gap(gap_m: f64, roughness_m: f64) -> WithSlope {
    let join = FLOW_FACTOR_FROM * roughness_m;
    if gap_m >= join {
        return WithSlope { value: 1.0 / gap_m, slope: -1.0 / (gap_m * gap_m) };
    }
    let mean = mean_gap(gap_m, roughness_m);
    let scale = mean_gap(join, roughness_m).value / join;
    WithSlope { value: scale / mean.value, slope: -scale * mean.slope / mean.value.powi(2) }
}

/// Half-width of the polynomial height distribution, in roughnesses, and its cut-off in half-widths.
const HALF_WIDTH: f64 = 3.0;
const CUT_OFF: f64 = 1.0 / 300.0;
/// Above this `z = h/(3 sigma)` the closed form loses digits and the moment series takes over.
const SERIES_FROM: f64 = 3.0;

fn rough_shear_per_gap(gap_m: f64, roughness_m: f64) -> WithSlope {
    let half_width = HALF_WIDTH * roughness_m;
    let z = gap_m / half_width;
    let (value, slope) = inverse_mean(z);
    WithSlope { value: value / half_width, slope: slope / half_width.powi(2) }
}

/// Mean of `1/(z + s)` over the density `(35/32)(1 - s^2)^3` on [-1, 1], cut off at `z + s = 1/300`, and its slope.
fn inverse_mean(z: f64) -> (f64, f64) {
    if z >= SERIES_FROM {
        // Even moments of the density: 1/9, 1/33, 5/429, 7/1287, 21/7293 ...
        const MOMENTS: [f64; 9] = [
            1.0,
            1.0 / 9.0,
            1.0 / 33.0,
            5.0 / 429.0,
            7.0 / 1287.0,
            21.0 / 7293.0,
            231.0 / 138_567.0,
            429.0 / 415_701.0,
            6435.0 / 9_561_123.0,
        ];
        let x = 1.0 / (z * z);
        let (mut value, mut slope) = (0.0, 0.0);
        for (k, moment) in MOMENTS.iter().enumerate().rev() {
            value = value * x + moment;
            slope = slope * x - (2 * k + 1) as f64 * moment;
        }
        return (value / z, slope * x);
    }
    if z > 1.0 {
        let logarithm = ((z + 1.0) / (z - 1.0)).ln();
        let cube = (1.0 - z * z).powi(3);
        let value = cube * logarithm + z / 15.0 * (66.0 + z * z * (30.0 * z * z - 80.0));
        let cube_slope = -6.0 * z * (1.0 - z * z).powi(2);
        // d/dz [cube ln((z+1)/(z-1))] = cube' ln + cube (-2/(z^2 - 1)) = cube' ln + 2 (1 - z^2)^2
        let slope = cube_slope * logarithm + 2.0 * (1.0 - z * z).powi(2) + (66.0 + z * z * (150.0 * z * z - 240.0)) / 15.0;
        return (35.0 / 32.0 * value, 35.0 / 32.0 * slope);
    }
    if z <= -1.0 {
        return (0.0, 0.0);
    }
    let logarithm = ((1.0 + z) / CUT_OFF).ln();
    let cube = (1.0 - z * z).powi(3);
    let polynomial = (-55.0 + z * (132.0 + z * (345.0 + z * (-160.0 + z * (-405.0 + z * (60.0 + 147.0 * z)))))) / 60.0;
    let polynomial_slope = (132.0 + z * (690.0 + z * (-480.0 + z * (-1620.0 + z * (300.0 + 882.0 * z))))) / 60.0;
    let cube_slope = -6.0 * z * (1.0 - z * z).powi(2);
    let value = cube * logarithm + polynomial;
    let slope = cube_slope * logarithm + (1.0 - z) * (1.0 - z * z).powi(2) + polynomial_slope;
    (35.0 / 32.0 * value.max(0.0), 35.0 / 32.0 * if value > 0.0 { slope } else { 0.0 })
}

/// Shear factor `phi_f` itself, for reports and checks.
pub fn shear_factor(ratio: f64) -> f64 {
    let (value, _) = inverse_mean(ratio / HALF_WIDTH);
    value * ratio / HALF_WIDTH
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slope_agrees(f: impl Fn(f64) -> WithSlope, gap: f64) {
        let step = 1e-13;
        let quotient = (f(gap + step).value - f(gap - step).value) / (2.0 * step);
        let slope = f(gap).slope;
        assert!((slope - quotient).abs() < 1e-4 * quotient.abs() + 1e-9 * f(gap).value.abs() / 1e-7, "at {gap:e}: {slope:e} {quotient:e}");
    }

    #[test]
    fn slopes_are_difference_quotients() {
        let sigma = 1e-7;
        for k in -28..150 {
            let gap = 1.03e-8 * k as f64;
            slope_agrees(|h| mean_gap(h, sigma), gap);
            slope_agrees(|h| flow_cube(h, sigma, true), gap);
            slope_agrees(|h| flow_cube(h, sigma, false), gap);
            slope_agrees(|h| shear_per_gap(h, sigma, true), gap);
            slope_agrees(|h| shear_per_gap(h, sigma, false), gap);
        }
    }

    #[test]
    fn shear_factor_has_the_values_of_the_published_curve() {
        assert!((shear_factor(3.0) - 1.17).abs() < 0.01, "{}", shear_factor(3.0));
        assert!((shear_factor(2.0) - 1.75).abs() < 0.30, "{}", shear_factor(2.0));
        assert!((shear_factor(30.0) - 1.0 - 1.0 / 900.0).abs() < 1e-5);
    }

    #[test]
    fn shear_factor_joins_without_a_step() {
        for z in [1.0, SERIES_FROM] {
            let below = inverse_mean(z * (1.0 - 1e-9));
            let above = inverse_mean(z * (1.0 + 1e-9));
            // At z = 1 the cut-off of the lower branch differs from the upper by less than 1e-6.
            assert!((below.0 / above.0 - 1.0).abs() < 1e-5, "{z}: {below:?} {above:?}");
        }
    }

    #[test]
    fn smooth_faces_have_no_factors() {
        for factor in [true, false] {
            assert_eq!(flow_cube(1e-6, 0.0, factor), WithSlope { value: 1e-6_f64.powi(3), slope: 3e-12 });
            let shear = shear_per_gap(1e-6, 0.0, factor);
            assert!((shear.value - 1e6).abs() < 1e-6 && (shear.slope + 1e12).abs() < 1.0, "{shear:?}");
        }
        assert_eq!(mean_gap(1e-6, 0.0), WithSlope { value: 1e-6, slope: 1.0 });
    }

    #[test]
    fn wide_gaps_are_smooth() {
        assert!((flow_cube(5e-6, 1e-7, true).value / 1.25e-16 - 1.0).abs() < 1e-6);
        assert!((shear_per_gap(5e-6, 1e-7, true).value * 5e-6 - 1.0).abs() < 1e-3);
    }
}
