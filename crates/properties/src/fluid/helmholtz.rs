//! Helmholtz equations of state.
//!
//! **What.** The reduced Helmholtz energy `alpha(delta, tau)`, `delta = rho/rho_r`, `tau = T_r/T`, from
//! which every thermodynamic property of a pure fluid follows by differentiation.
//!
//! **Equation.** `alpha = alpha0 + alphar`; ideal part: logarithms, powers and Planck-Einstein terms;
//! residual part: power, exponential, Gaussian, Gao, double exponential and non-analytic terms, as each data file lists them.
//! Every term but the non-analytic is a product of a function of `delta` and one of `tau`, each the
//! exponential of something simple. With `D = delta d/d(delta)`, `u = D ln A`:
//! `D A = u A`, `D^2 A = (u^2 + Du) A`, `D^3 A = (u^3 + 3 u Du + D^2 u) A`. The same holds in `tau`.
//!
//! **Valid when.** Inside the limits that the data file gives; the callers check them.
//!
//! **Source.** Span, Multiparameter Equations of State (2000), for the forms; Gao et al. (2020) for the
//! form used in ammonia; Wagner and Pruss (2002) for the non-analytic terms of water.
//!
//! **Checked by.** IAPWS R6-95 tables 6 and 7 and stored values of the outside library (`tests/`).

use serde::Deserialize;

use super::jets::Jet3;

/// Ideal-gas part of an equation as its data file gives it.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct IdealPart {
    lead: [f64; 2],
    log_tau: f64,
    power: Vec<[f64; 2]>,
    planck_einstein: Vec<[f64; 2]>,
    #[serde(default)]
    planck_einstein_general: Vec<[f64; 3]>,
}

/// Residual part of an equation as its data file gives it; column meanings stand in the file.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct ResidualData {
    power: Vec<[f64; 5]>,
    gaussian: Vec<[f64; 7]>,
    gao: Vec<[f64; 8]>,
    non_analytic: Vec<[f64; 8]>,
    #[serde(default)]
    double_exponential: Vec<[f64; 7]>,
}

/// Residual part of an equation. Its many power terms share few factors, each of which is formed once.
#[derive(Debug, Clone, Deserialize)]
#[serde(try_from = "ResidualData")]
pub(crate) struct ResidualPart {
    power: Vec<PowerTerm>,
    /// Exponents of `delta` and of `tau` that occur in them.
    delta_exponents: Vec<f64>,
    tau_exponents: Vec<f64>,
    /// `l` and `c` of the factors `exp(-c delta^l)` that occur in them.
    decays: Vec<[f64; 2]>,
    gaussian: Vec<[f64; 7]>,
    gao: Vec<[f64; 8]>,
    non_analytic: Vec<[f64; 8]>,
    double_exponential: Vec<[f64; 7]>,
}

/// `n tau^t delta^d exp(-c delta^l)` with the places of its three factors.
#[derive(Debug, Clone)]
struct PowerTerm {
    n: f64,
    t: f64,
    d: f64,
    by_tau: usize,
    by_delta: usize,
    decay: usize,
}

/// Different factors of a kind that a residual part may have: equations in use have up to thirty.
const MOST_FACTORS: usize = 32;

impl TryFrom<ResidualData> for ResidualPart {
    type Error = String;

    fn try_from(data: ResidualData) -> Result<Self, String> {
        let ResidualData { power: terms, gaussian, gao, non_analytic, double_exponential } = data;
        let (mut delta_exponents, mut tau_exponents, mut decays) = (Vec::new(), Vec::new(), Vec::new());
        let power = terms
            .into_iter()
            .map(|[n, t, d, l, c]| PowerTerm {
                n,
                t,
                d,
                by_tau: place_of(&mut tau_exponents, t),
                by_delta: place_of(&mut delta_exponents, d),
                decay: place_of(&mut decays, if c == 0.0 { [0.0; 2] } else { [l, c] }),
            })
            .collect();
        let most = delta_exponents.len().max(tau_exponents.len()).max(decays.len());
        if most > MOST_FACTORS {
            return Err(format!("power terms with {most} different factors of a kind; {MOST_FACTORS} are provided for"));
        }
        Ok(Self { power, delta_exponents, tau_exponents, decays, gaussian, gao, non_analytic, double_exponential })
    }
}

/// Place of a value in a list, to which it is added where it is new.
fn place_of<T: PartialEq>(list: &mut Vec<T>, value: T) -> usize {
    list.iter().position(|known| *known == value).unwrap_or_else(|| {
        list.push(value);
        list.len() - 1
    })
}

/// Derivatives of `alphar` by the logarithms of `delta` and `tau`: `[i][j]` is
/// `(delta d/d delta)^i (tau d/d tau)^j alphar`, for `i + j` up to 3.
pub(crate) type LogDerivatives = [[f64; 4]; 4];

/// Adds `f` times the products of the log-derivatives of its two factors.
#[inline]
fn add(r: &mut LogDerivatives, f: f64, u: [f64; 3], v: [f64; 3]) {
    let a = log_powers(u);
    let b = log_powers(v);
    for i in 0..4 {
        for j in 0..4 - i {
            r[i][j] += f * a[i] * b[j];
        }
    }
}

/// `D^k A / A` for k = 0..3 from `u = D ln A` and its next two D-derivatives.
#[inline]
fn log_powers(u: [f64; 3]) -> [f64; 4] {
    [1.0, u[0], u[0] * u[0] + u[1], u[0] * (u[0] * u[0] + 3.0 * u[1]) + u[2]]
}

impl IdealPart {
    /// `(tau d/d tau)^j alpha0` for `j` = 1..3.
    pub fn slopes(&self, tau: f64) -> [f64; 3] {
        let y = tau.ln();
        let linear = self.lead[1] * tau;
        let mut d = [linear + self.log_tau, linear, linear];
        for &[n, t] in &self.power {
            let f = n * (t * y).exp();
            d[0] += f * t;
            d[1] += f * t * t;
            d[2] += f * t * t * t;
        }
        // of ln(1 + c exp(-z)) the first derivative is w = -c z / (exp(z) + c), the others follow from w
        let mut add = |n: f64, z: f64, w: f64| {
            let w1 = w * (1.0 - w - z);
            let w2 = w1 * (1.0 - w - z) + w * (-w1 - z);
            d[0] += n * w;
            d[1] += n * w1;
            d[2] += n * w2;
        };
        for &[n, t] in &self.planck_einstein {
            let z = t * tau;
            add(n, z, z / z.exp_m1());
        }
        for &[n, t, c] in &self.planck_einstein_general {
            let z = t * tau;
            add(n, z, -c * z / (z.exp() + c));
        }
        d
    }

    /// `alpha0` itself, which the entropy alone asks for.
    #[cfg(test)]
    pub fn value(&self, delta: f64, tau: f64) -> f64 {
        let y = tau.ln();
        let powers: f64 = self.power.iter().map(|&[n, t]| n * (t * y).exp()).sum();
        let einstein: f64 = self.planck_einstein.iter().map(|&[n, t]| n * (-(-t * tau).exp_m1()).ln()).sum();
        let general: f64 = self.planck_einstein_general.iter().map(|&[n, t, c]| n * (c * (-t * tau).exp()).ln_1p()).sum();
        delta.ln() + self.lead[0] + self.lead[1] * tau + self.log_tau * y + powers + einstein + general
    }
}

impl ResidualPart {
    /// All derivatives to third order.
    pub fn evaluate(&self, delta: f64, tau: f64) -> LogDerivatives {
        let mut r = LogDerivatives::default();
        let (x, y) = (delta.ln(), tau.ln());
        self.add_powers(&mut r, [delta, x], [tau, y]);
        for &[n, t, d, eta, epsilon, beta, gamma] in &self.gaussian {
            let (p, q) = (delta - epsilon, tau - gamma);
            let f = n * (t * y + d * x - eta * p * p - beta * q * q).exp();
            add(&mut r, f, bell(d, eta, delta, epsilon), bell(t, beta, tau, gamma));
        }
        for &[n, t, d, eta, epsilon, beta, gamma, b] in &self.gao {
            let p = delta - epsilon;
            let q = beta * (tau - gamma).powi(2) + b;
            let f = n * (t * y + d * x + eta * p * p + 1.0 / q).exp();
            let q1 = 2.0 * beta * tau * (tau - gamma);
            let q2 = 2.0 * beta * tau * (2.0 * tau - gamma);
            let q3 = 2.0 * beta * tau * (4.0 * tau - gamma);
            let v = [
                t - q1 / (q * q),
                -q2 / (q * q) + 2.0 * q1 * q1 / (q * q * q),
                -q3 / (q * q) + 6.0 * q1 * q2 / (q * q * q) - 6.0 * q1 * q1 * q1 / (q * q * q * q),
            ];
            add(&mut r, f, bell(d, -eta, delta, epsilon), v);
        }
        for &[n, t, d, k, l, q, m] in &self.double_exponential {
            let (e, g) = (k * integer_power(delta, l, x), q * integer_power(tau, m, y));
            let f = n * (t * y + d * x - e - g).exp();
            add(&mut r, f, [d - l * e, -l * l * e, -l * l * l * e], [t - m * g, -m * m * g, -m * m * m * g]);
        }
        for term in &self.non_analytic {
            add_non_analytic(&mut r, term, delta, tau);
        }
        r
    }

    /// The power terms, as products of factors of which each is formed once.
    fn add_powers(&self, r: &mut LogDerivatives, [delta, x]: [f64; 2], [tau, y]: [f64; 2]) {
        // a whole power of a negative number is a number too, but no state
        if x.is_nan() || y.is_nan() {
            *r = [[f64::NAN; 4]; 4];
            return;
        }
        let (mut by_tau, mut by_delta, mut decays) = ([0.0; MOST_FACTORS], [0.0; MOST_FACTORS], [(1.0, [0.0; 3]); MOST_FACTORS]);
        for (factor, &t) in by_tau.iter_mut().zip(&self.tau_exponents) {
            *factor = integer_power(tau, t, y);
        }
        for (factor, &d) in by_delta.iter_mut().zip(&self.delta_exponents) {
            *factor = integer_power(delta, d, x);
        }
        for (factor, &[l, c]) in decays.iter_mut().zip(&self.decays).filter(|(_, decay)| decay[1] != 0.0) {
            let e = c * integer_power(delta, l, x);
            *factor = ((-e).exp(), [-l * e, -l * l * e, -l * l * l * e]);
        }
        for term in &self.power {
            let (decay, [first, second, third]) = decays[term.decay];
            let f = term.n * by_tau[term.by_tau] * by_delta[term.by_delta] * decay;
            add(r, f, [term.d + first, second, third], [term.t, 0.0, 0.0]);
        }
    }
}

/// `x^l`, by multiplication where the exponent is whole.
fn integer_power(x: f64, l: f64, ln_x: f64) -> f64 {
    if l.fract() == 0.0 { x.powi(l as i32) } else { (l * ln_x).exp() }
}

/// Log-derivatives of `x^d exp(-k (x - m)^2)`.
fn bell(d: f64, k: f64, x: f64, m: f64) -> [f64; 3] {
    [d - 2.0 * k * x * (x - m), -2.0 * k * x * (2.0 * x - m), -2.0 * k * x * (4.0 * x - m)]
}

/// `n Delta^b delta psi` with `Delta = theta^2 + B ((delta-1)^2)^a`, `theta = 1 - tau + A ((delta-1)^2)^(1/(2 beta))`,
/// `psi = exp(-C (delta-1)^2 - D (tau-1)^2)`.
fn add_non_analytic(r: &mut LogDerivatives, term: &[f64; 8], delta: f64, tau: f64) {
    let &[n, a, b, beta, big_a, big_b, big_c, big_d] = term;
    // exp(-60) is below 1e-26: nothing is left of the term
    if big_c * (delta - 1.0).powi(2) + big_d * (tau - 1.0).powi(2) > 60.0 {
        return;
    }
    let x = Jet3([delta, delta, 0.0, delta / 2.0, 0.0, 0.0, delta / 6.0, 0.0, 0.0, 0.0]);
    let y = Jet3([tau, 0.0, tau, 0.0, 0.0, tau / 2.0, 0.0, 0.0, 0.0, tau / 6.0]);
    let dx = x + -1.0;
    let dy = y + -1.0;
    // the squares are kept off zero so that powers stay finite at the critical point itself
    let mut sx = dx * dx;
    sx.0[0] = sx.0[0].max(1e-24);
    let theta = dy * -1.0 + sx.powf(0.5 / beta) * big_a;
    let mut big = theta * theta + sx.powf(a) * big_b;
    big.0[0] = big.0[0].max(1e-24);
    let psi = (dx * dx * -big_c + dy * dy * -big_d).exp();
    let f = big.powf(b) * x * psi * n;
    // Taylor coefficients to derivatives
    const PLACES: [(usize, usize, f64); 10] =
        [(0, 0, 1.0), (1, 0, 1.0), (0, 1, 1.0), (2, 0, 2.0), (1, 1, 1.0), (0, 2, 2.0), (3, 0, 6.0), (2, 1, 2.0), (1, 2, 2.0), (0, 3, 6.0)];
    for (coefficient, (i, j, factor)) in f.0.iter().zip(PLACES) {
        r[i][j] += coefficient * factor;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TERMS: [[f64; 5]; 5] = [
        [0.7, 0.25, 1.0, 0.0, 0.0],
        [-1.3, 2.0, 1.0, 0.0, 0.0],
        [0.4, 2.0, 3.0, 2.0, 1.0],
        [0.2, 1.375, 3.0, 2.0, 1.0],
        [-0.1, 6.0, 2.5, 3.0, 1.05],
    ];

    fn part(power: Vec<[f64; 5]>) -> Result<ResidualPart, String> {
        let data = ResidualData { power, gaussian: vec![], gao: vec![], non_analytic: vec![], double_exponential: vec![] };
        data.try_into()
    }

    fn direct(delta: f64, tau: f64) -> f64 {
        TERMS.iter().map(|&[n, t, d, l, c]| n * tau.powf(t) * delta.powf(d) * (-c * delta.powf(l)).exp()).sum()
    }

    #[test]
    fn power_terms_with_shared_factors_are_the_sum_of_them_all() {
        let part = part(TERMS.to_vec()).unwrap();
        assert_eq!([part.tau_exponents.len(), part.delta_exponents.len(), part.decays.len()], [4, 3, 3]);
        for (delta, tau) in [(0.01, 0.6), (0.9, 1.1), (2.7, 2.3)] {
            let found = part.evaluate(delta, tau);
            assert!((found[0][0] / direct(delta, tau) - 1.0).abs() < 1e-13, "{delta} {tau}");
            let step = 1e-5;
            let by_delta = (direct(delta * (1.0 + step), tau) - direct(delta * (1.0 - step), tau)) / (2.0 * step);
            let by_tau = (direct(delta, tau * (1.0 + step)) - direct(delta, tau * (1.0 - step))) / (2.0 * step);
            assert!((found[1][0] / by_delta - 1.0).abs() < 1e-7 && (found[0][1] / by_tau - 1.0).abs() < 1e-7, "{delta} {tau}");
        }
    }

    #[test]
    fn a_negative_density_has_no_state() {
        let part = part(TERMS.to_vec()).unwrap();
        assert!(part.evaluate(-0.3, 1.0).iter().flatten().all(|value| value.is_nan()));
    }

    #[test]
    fn more_factors_than_provided_for_are_refused() {
        let many = (0..=MOST_FACTORS).map(|i| [1.0, i as f64, 1.0, 0.0, 0.0]).collect();
        assert!(part(many).unwrap_err().contains("33 different factors"));
    }
}
