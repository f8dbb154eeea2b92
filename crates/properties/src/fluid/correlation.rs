//! Correlations of one liquid property with temperature, each with exact first and second derivatives.

use super::jets::Curve2;
use super::saturation::clenshaw;

/// A property as a function of temperature in kelvin.
#[derive(Debug, Clone)]
pub(crate) enum Correlation {
    /// `c0 + c1 (T - base) + ...`
    Polynomial { base: f64, coefficients: Vec<f64> },
    /// Chebyshev expansion over `low..high`, of the property (continued as it stands beyond the ends)
    /// or of its logarithm (continued straight).
    Expansion { low: f64, high: f64, coefficients: Vec<f64>, logarithm: bool },
    /// `value exp(-decay (T - reference))`
    Exponential { value: f64, decay: f64, reference: f64 },
    /// `exp(a + b / T)`
    LogInverse { a: f64, b: f64 },
    /// Kinematic viscosity of ASTM D341, m2/s, see [`walther`].
    Walther { a: f64, b: f64 },
    /// Sharqawy et al. (2010) equations 22 and 23: water viscosity times `1 + A S + B S^2`, here one polynomial in degC.
    SeaWaterViscosity { factor: [f64; 3] },
    /// Jamieson and Tudhope (1970) as given by Sharqawy et al. (2010) equation 13; salinity in g/kg; times a factor.
    SeaWaterConductivity { salinity: f64, factor: f64 },
    /// Saturation pressure of water (IAPWS SR1-86) times `exp(a + b / T)` for the dissolved matter.
    WaterVapourPressure { a: f64, b: f64 },
    /// Density of an aqueous solution, Laliberte (2007, 2009); mass fraction of the solute and c0..c4.
    SolutionDensity { w: f64, c: [f64; 5] },
    /// Straight mix of two correlations: `(1 - share) first + share second`.
    Between { first: Box<Correlation>, second: Box<Correlation>, share: f64 },
    /// Viscosity of an aqueous solution, Laliberte (2007, 2009); v1..v6.
    SolutionViscosity { w: f64, v: [f64; 6] },
    /// Heat capacity of an aqueous solution, Laliberte (2009); a1..a6 and a polynomial in degC of water's own.
    SolutionHeatCapacity { w: f64, a: [f64; 6], water: [f64; 5] },
}

/// Water viscosity in Laliberte's model, mPa s, and in that of sea water, Pa s: both as their papers give them.
fn laliberte_water_viscosity(t: Curve2) -> Curve2 {
    (t + 246.0) * t.polynomial(&[137.37, 5.2842, 0.05594]).recip()
}

fn laliberte_water_density(t: Curve2) -> Curve2 {
    t.polynomial(&[999.839_52, 16.945_176, -0.007_987_040_1, -4.617_046_1e-5, 1.055_630_2e-7, -2.805_425_3e-10])
        * (t * 0.016_879_85 + 1.0).recip()
}

impl Correlation {
    /// Value with first and second derivative by temperature.
    pub fn at(&self, temperature: f64) -> Curve2 {
        let kelvin = Curve2::variable(temperature);
        let t = kelvin + -273.15;
        match self {
            Self::Polynomial { base, coefficients } => (kelvin + -base).polynomial(coefficients),
            Self::Expansion { low, high, coefficients, logarithm } => {
                if *logarithm {
                    straight_ended(coefficients, *low, *high, temperature).exp()
                } else {
                    expansion(coefficients, *low, *high, temperature)
                }
            }
            Self::Exponential { value, decay, reference } => ((kelvin + -reference) * -decay).exp() * *value,
            Self::LogInverse { a, b } => (kelvin.recip() * *b + *a).exp(),
            Self::Walther { a, b } => walther(*a, *b, kelvin),
            Self::SeaWaterViscosity { factor } => {
                let shifted = t + 64.993;
                let water = (shifted * shifted * 0.157 + -91.296).recip() + 4.2844e-5;
                water * t.polynomial(factor)
            }
            Self::SeaWaterConductivity { salinity: s, factor } => {
                // log10 k = log10(240 + 0.0002 S) + 0.434 (2.3 - (343.5 + 0.037 S)/T) (1 - T/(647 + 0.03 S))^0.333, mW/(m K)
                let fall = (kelvin * (-1.0 / (647.0 + 0.03 * s)) + 1.0).powf(0.333);
                let rise = kelvin.recip() * -(343.5 + 0.037 * s) + 2.3;
                (rise * fall * (0.434 * std::f64::consts::LN_10)).exp() * ((240.0 + 0.0002 * s) * 1e-3 * factor)
            }
            Self::WaterVapourPressure { a, b } => water_saturation_pressure(kelvin) * (kelvin.recip() * *b + *a).exp(),
            Self::SolutionDensity { w, c } => {
                let shifted = t + c[4];
                let solute = (shifted * shifted * 1e-6).exp() * (c[0] * w + c[1]) * (t * c[3] + (w + c[2])).recip();
                (laliberte_water_density(t).recip() * (1.0 - w) + solute.recip() * *w).recip()
            }
            Self::Between { first, second, share } => first.at(temperature) * (1.0 - share) + second.at(temperature) * *share,
            Self::SolutionViscosity { w, v } => {
                let solute = (t * v[3] + 1.0).recip() * (v[0] * w.powf(v[1]) + v[2]) + -(v[4] * w.powf(v[5]) + 1.0).ln();
                (laliberte_water_viscosity(t).ln() * (1.0 - w) + solute * *w).exp() * 1e-3
            }
            Self::SolutionHeatCapacity { w, a, water } => {
                let alpha = t * a[1] + (t * 0.01).exp() * a[2] + a[3] * w;
                let solute = (alpha.exp() * a[0] + a[4] * w.powf(a[5])) * 1e3;
                t.polynomial(water) * (1.0 - w) + solute * *w
            }
        }
    }

    /// Value alone.
    pub fn value(&self, temperature: f64) -> f64 {
        self.at(temperature).v
    }
}

/// Chebyshev expansion with two derivatives, continued beyond its ends as the polynomial that it is.
fn expansion(c: &[f64], low: f64, high: f64, t: f64) -> Curve2 {
    let scale = 2.0 / (high - low);
    let (v, d, dd) = clenshaw2(c, (t - low) * scale - 1.0);
    Curve2 { v, d: d * scale, dd: dd * scale * scale }
}

/// The same, continued straight beyond its ends: for long expansions (of logarithms), which would run away.
fn straight_ended(c: &[f64], low: f64, high: f64, t: f64) -> Curve2 {
    let inside = t.clamp(low, high);
    let at = expansion(c, low, high, inside);
    if inside == t {
        return at;
    }
    Curve2 { v: at.v + at.d * (t - inside), d: at.d, dd: 0.0 }
}

/// Chebyshev series with first and second derivative.
fn clenshaw2(c: &[f64], x: f64) -> (f64, f64, f64) {
    let (mut b1, mut b2, mut d1, mut d2, mut e1, mut e2) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for &ck in c.iter().skip(1).rev() {
        let b = 2.0 * x * b1 - b2 + ck;
        let d = 2.0 * x * d1 - d2 + 2.0 * b1;
        let e = 2.0 * x * e1 - e2 + 4.0 * d1;
        (b2, b1, d2, d1, e2, e1) = (b1, b, d1, d, e1, e);
    }
    (c.first().copied().unwrap_or(0.0) + x * b1 - b2, b1 + x * d1 - d2, 2.0 * d1 + x * e1 - e2)
}

/// The constants A and B of ASTM D341 from two kinematic viscosities (m2/s) at two temperatures (K).
/// `log10 log10 Z = A - B log10 T`, `Z = nu + 0.7 + exp(-1.47 - 1.84 nu - 0.51 nu^2)`, `nu` in mm2/s.
pub(crate) fn walther_constants(first: (f64, f64), second: (f64, f64)) -> (f64, f64) {
    let y = |nu: f64| {
        let n = nu * 1e6;
        (n + 0.7 + (-1.47 - 1.84 * n - 0.51 * n * n).exp()).log10().log10()
    };
    let (y1, y2) = (y(first.1), y(second.1));
    let b = (y1 - y2) / (second.0.log10() - first.0.log10());
    (y1 + b * first.0.log10(), b)
}

/// ASTM D341 with its low-viscosity term: `nu = (Z - 0.7) - exp(-0.7487 - 3.295 (Z-0.7) + 0.6119 (Z-0.7)^2 - 0.3193 (Z-0.7)^3)`.
/// Constants of the standard from memory.
fn walther(a: f64, b: f64, kelvin: Curve2) -> Curve2 {
    const LN10: f64 = std::f64::consts::LN_10;
    let inner = ((kelvin.ln() * (-b / LN10) + a) * LN10).exp(); // log10 Z
    let z = (inner * LN10).exp() + -0.7;
    let low = z.polynomial(&[-0.7487, -3.295, 0.6119, -0.3193]).exp();
    (z - low) * 1e-6
}

/// Saturation pressure of water, IAPWS SR1-86 (1992), Wagner and Pruss (1993); coefficients from memory, checked against
/// the equation of state in the tests. 273.16 K to 647.096 K.
pub(crate) fn water_saturation_pressure(kelvin: Curve2) -> Curve2 {
    const CRITICAL: f64 = 647.096;
    let theta = kelvin * (-1.0 / CRITICAL) + 1.0;
    let root = theta.powf(0.5);
    let (t2, t3) = (theta * theta, theta * theta * theta);
    let sum = theta * -7.859_517_83
        + theta * root * 1.844_082_59
        + t3 * -11.786_649_7
        + t3 * root * 22.680_741_1
        + t2 * t2 * -15.961_871_9
        + t3 * t3 * theta * root * 1.801_225_02;
    (kelvin.recip() * CRITICAL * sum).exp() * 22.064e6
}

/// The integral of a function of temperature, as a Chebyshev expansion.
#[derive(Debug, Clone)]
pub(crate) struct Integral {
    low: f64,
    high: f64,
    coefficients: Vec<f64>,
}

impl Integral {
    /// Integral over `low..high`, zero at `zero_at`.
    pub fn of(f: &Correlation, low: f64, high: f64, zero_at: f64) -> Self {
        const N: usize = 16;
        let samples: Vec<f64> = (0..N)
            .map(|i| {
                let x = (std::f64::consts::PI * (i as f64 + 0.5) / N as f64).cos();
                f.value(0.5 * (low + high) + 0.5 * (high - low) * x)
            })
            .collect();
        let mut c = chebyshev(&samples);
        c.push(0.0);
        c.push(0.0);
        let half = 0.5 * (high - low);
        let mut coefficients = vec![0.0; N + 1];
        coefficients[1] = half * (c[0] - 0.5 * c[2]);
        for k in 2..=N {
            coefficients[k] = half * (c[k - 1] - c[k + 1]) / (2.0 * k as f64);
        }
        let greatest = coefficients.iter().fold(0.0_f64, |m, c| m.max(c.abs()));
        while coefficients.len() > 3 && coefficients.last().is_some_and(|c| c.abs() < 1e-15 * greatest) {
            coefficients.pop();
        }
        let mut integral = Self { low, high, coefficients };
        let offset = integral.at(zero_at).0;
        integral.coefficients[0] -= offset;
        integral
    }

    /// The integral and the integrand at a temperature.
    pub fn at(&self, t: f64) -> (f64, f64) {
        let scale = 2.0 / (self.high - self.low);
        let (v, d) = clenshaw(&self.coefficients, (t - self.low) * scale - 1.0);
        (v, d * scale)
    }
}

/// Chebyshev coefficients from values at the roots, in the order of falling argument.
pub(crate) fn chebyshev(samples: &[f64]) -> Vec<f64> {
    let n = samples.len();
    (0..n)
        .map(|k| {
            let sum: f64 =
                samples.iter().enumerate().map(|(i, f)| f * (std::f64::consts::PI * k as f64 * (i as f64 + 0.5) / n as f64).cos()).sum();
            sum * if k == 0 { 1.0 } else { 2.0 } / n as f64
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all() -> Vec<Correlation> {
        let (a, b) = walther_constants((313.15, 32e-6), (373.15, 5.4e-6));
        vec![
            Correlation::Polynomial { base: 273.15, coefficients: vec![1.0, 2e-3, -3e-6] },
            Correlation::Expansion { low: 280.0, high: 400.0, coefficients: vec![1.0, 0.5, 0.2, 0.1, -0.05], logarithm: true },
            Correlation::LogInverse { a: -3.0, b: 900.0 },
            Correlation::Walther { a, b },
            Correlation::SeaWaterViscosity { factor: [1.1, 1e-3, -2e-6] },
            Correlation::SeaWaterConductivity { salinity: 70.0, factor: 1.0 },
            Correlation::WaterVapourPressure { a: -0.1, b: -60.0 },
            Correlation::SolutionDensity { w: 0.4, c: [319.02, 528.59, -0.1022, 0.000_350_4, 765.97] },
            Correlation::SolutionViscosity { w: 0.4, v: [448.46, 0.008_714, -431.97, 0.016_01, 104.01, 4.645] },
            Correlation::SolutionHeatCapacity {
                w: 0.2,
                a: [-0.9228, -0.041_23, 1.872, -5.942, 3.130, 0.141],
                water: [4217.0, -2.0, 0.04, -4e-4, 2e-6],
            },
        ]
    }

    #[test]
    fn derivatives_agree_with_differences() {
        for c in all() {
            let (t, e) = (330.0, 0.02);
            let mid = c.at(t);
            let (lo, hi) = (c.value(t - e), c.value(t + e));
            let (d, dd) = ((hi - lo) / (2.0 * e), (hi - 2.0 * mid.v + lo) / (e * e));
            assert!((mid.d - d).abs() < 1e-5 * d.abs() + 1e-9 * mid.v.abs(), "{c:?}: {} {d}", mid.d);
            assert!((mid.dd - dd).abs() < 1e-4 * dd.abs() + 1e-8 * mid.v.abs(), "{c:?}: {} {dd}", mid.dd);
        }
    }

    #[test]
    fn integral_has_the_right_slope() {
        let f = Correlation::Polynomial { base: 273.15, coefficients: vec![4000.0, -1.0, 0.02] };
        let h = Integral::of(&f, 270.0, 420.0, 273.15);
        assert!(h.at(273.15).0.abs() < 1e-9);
        for t in [275.0, 333.0, 415.0] {
            assert!((h.at(t).1 - f.value(t)).abs() < 1e-9);
        }
    }

    #[test]
    fn walther_returns_its_points() {
        let (a, b) = walther_constants((313.15, 32e-6), (373.15, 5.4e-6));
        let c = Correlation::Walther { a, b };
        assert!((c.value(313.15) / 32e-6 - 1.0).abs() < 1e-5);
        assert!((c.value(373.15) / 5.4e-6 - 1.0).abs() < 1e-4);
    }
}
