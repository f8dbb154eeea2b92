//! Numbers that carry their derivatives, so that every derivative handed out is exact.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A value with its first partial derivatives by two variables (which two, the caller knows).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Dual {
    pub v: f64,
    pub a: f64,
    pub b: f64,
}

impl Dual {
    pub const fn new(v: f64, a: f64, b: f64) -> Self {
        Self { v, a, b }
    }
    pub const fn constant(v: f64) -> Self {
        Self { v, a: 0.0, b: 0.0 }
    }
    /// `f(self)` from the value and slope of `f` there.
    pub fn chain(self, value: f64, slope: f64) -> Self {
        Self { v: value, a: slope * self.a, b: slope * self.b }
    }
    pub fn exp(self) -> Self {
        let e = self.v.exp();
        self.chain(e, e)
    }
    pub fn sqrt(self) -> Self {
        let s = self.v.sqrt();
        self.chain(s, 0.5 / s)
    }
    pub fn powf(self, n: f64) -> Self {
        let p = self.v.powf(n);
        self.chain(p, n * p / self.v)
    }
    pub fn recip(self) -> Self {
        let r = 1.0 / self.v;
        self.chain(r, -r * r)
    }
    pub fn atan(self) -> Self {
        self.chain(self.v.atan(), 1.0 / (1.0 + self.v * self.v))
    }
}

impl Add for Dual {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self { v: self.v + o.v, a: self.a + o.a, b: self.b + o.b }
    }
}
impl Sub for Dual {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self { v: self.v - o.v, a: self.a - o.a, b: self.b - o.b }
    }
}
impl Neg for Dual {
    type Output = Self;
    fn neg(self) -> Self {
        Self { v: -self.v, a: -self.a, b: -self.b }
    }
}
impl Mul for Dual {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        Self { v: self.v * o.v, a: self.a * o.v + self.v * o.a, b: self.b * o.v + self.v * o.b }
    }
}
impl Div for Dual {
    type Output = Self;
    #[allow(clippy::suspicious_arithmetic_impl, reason = "a quotient is the product with the reciprocal")]
    fn div(self, o: Self) -> Self {
        self * o.recip()
    }
}
impl Add<f64> for Dual {
    type Output = Self;
    fn add(self, o: f64) -> Self {
        Self { v: self.v + o, ..self }
    }
}
impl Sub<f64> for Dual {
    type Output = Self;
    fn sub(self, o: f64) -> Self {
        Self { v: self.v - o, ..self }
    }
}
impl Mul<f64> for Dual {
    type Output = Self;
    fn mul(self, o: f64) -> Self {
        Self { v: self.v * o, a: self.a * o, b: self.b * o }
    }
}

/// A function of one variable with its first and second derivative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Curve2 {
    pub v: f64,
    pub d: f64,
    pub dd: f64,
}

impl Curve2 {
    pub const fn constant(v: f64) -> Self {
        Self { v, d: 0.0, dd: 0.0 }
    }
    pub const fn variable(v: f64) -> Self {
        Self { v, d: 1.0, dd: 0.0 }
    }
    /// `f(self)` from value, first and second derivative of `f` there.
    pub fn chain(self, f: f64, df: f64, ddf: f64) -> Self {
        Self { v: f, d: df * self.d, dd: ddf * self.d * self.d + df * self.dd }
    }
    pub fn exp(self) -> Self {
        let e = self.v.exp();
        self.chain(e, e, e)
    }
    pub fn ln(self) -> Self {
        let r = 1.0 / self.v;
        self.chain(self.v.ln(), r, -r * r)
    }
    pub fn powf(self, n: f64) -> Self {
        let p = self.v.powf(n);
        self.chain(p, n * p / self.v, n * (n - 1.0) * p / (self.v * self.v))
    }
    pub fn recip(self) -> Self {
        let r = 1.0 / self.v;
        self.chain(r, -r * r, 2.0 * r * r * r)
    }
    /// `c[0] + c[1] x + c[2] x^2 + ...`
    pub fn polynomial(self, c: &[f64]) -> Self {
        c.iter().rev().fold(Self::constant(0.0), |sum, &k| sum * self + k)
    }
}

impl Add for Curve2 {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self { v: self.v + o.v, d: self.d + o.d, dd: self.dd + o.dd }
    }
}
impl Sub for Curve2 {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self { v: self.v - o.v, d: self.d - o.d, dd: self.dd - o.dd }
    }
}
impl Mul for Curve2 {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        Self { v: self.v * o.v, d: self.d * o.v + self.v * o.d, dd: self.dd * o.v + 2.0 * self.d * o.d + self.v * o.dd }
    }
}
impl Add<f64> for Curve2 {
    type Output = Self;
    fn add(self, o: f64) -> Self {
        Self { v: self.v + o, ..self }
    }
}
impl Mul<f64> for Curve2 {
    type Output = Self;
    fn mul(self, o: f64) -> Self {
        Self { v: self.v * o, d: self.d * o, dd: self.dd * o }
    }
}

/// A function of two variables to third order: Taylor coefficients in the order
/// 1, x, y, xx, xy, yy, xxx, xxy, xyy, yyy. Needed by the non-analytic terms only.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Jet3(pub [f64; 10]);

impl Jet3 {
    pub fn constant(v: f64) -> Self {
        let mut c = [0.0; 10];
        c[0] = v;
        Self(c)
    }
    /// Composition with a function given by its Taylor coefficients (f, f', f''/2, f'''/6) at the value.
    pub fn compose(self, f: [f64; 4]) -> Self {
        let mut h = self;
        h.0[0] = 0.0;
        let mut sum = Self::constant(f[3]);
        for k in [2, 1, 0] {
            sum = sum * h + f[k];
        }
        sum
    }
    pub fn exp(self) -> Self {
        let e = self.0[0].exp();
        self.compose([e, e, e / 2.0, e / 6.0])
    }
    pub fn powf(self, n: f64) -> Self {
        let x = self.0[0];
        let p = x.powf(n);
        let d = n * p / x;
        let dd = (n - 1.0) * d / x;
        let ddd = (n - 2.0) * dd / x;
        self.compose([p, d, dd / 2.0, ddd / 6.0])
    }
}

impl Add for Jet3 {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        let mut c = self.0;
        for (a, b) in c.iter_mut().zip(o.0) {
            *a += b;
        }
        Self(c)
    }
}
impl Add<f64> for Jet3 {
    type Output = Self;
    fn add(mut self, o: f64) -> Self {
        self.0[0] += o;
        self
    }
}
impl Mul<f64> for Jet3 {
    type Output = Self;
    fn mul(mut self, o: f64) -> Self {
        for a in &mut self.0 {
            *a *= o;
        }
        self
    }
}
impl Mul for Jet3 {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        let (p, q) = (&self.0, &o.0);
        Self([
            p[0] * q[0],
            p[0] * q[1] + p[1] * q[0],
            p[0] * q[2] + p[2] * q[0],
            p[0] * q[3] + p[1] * q[1] + p[3] * q[0],
            p[0] * q[4] + p[1] * q[2] + p[2] * q[1] + p[4] * q[0],
            p[0] * q[5] + p[2] * q[2] + p[5] * q[0],
            p[0] * q[6] + p[1] * q[3] + p[3] * q[1] + p[6] * q[0],
            p[0] * q[7] + p[1] * q[4] + p[2] * q[3] + p[3] * q[2] + p[4] * q[1] + p[7] * q[0],
            p[0] * q[8] + p[1] * q[5] + p[2] * q[4] + p[4] * q[2] + p[5] * q[1] + p[8] * q[0],
            p[0] * q[9] + p[2] * q[5] + p[5] * q[2] + p[9] * q[0],
        ])
    }
}
