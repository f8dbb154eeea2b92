//! Numbers that carry their first derivatives along `N` directions (forward differentiation), so that a formula written once gives
//! its value and its exact slopes.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A value and its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jet<const N: usize> {
    /// Value.
    pub value: f64,
    /// Derivative along each direction.
    pub slopes: [f64; N],
}

impl<const N: usize> Jet<N> {
    /// A number that depends on nothing.
    pub fn constant(value: f64) -> Self {
        Self { value, slopes: [0.0; N] }
    }

    /// The variable of one direction.
    pub fn variable(value: f64, direction: usize) -> Self {
        let mut slopes = [0.0; N];
        slopes[direction] = 1.0;
        Self { value, slopes }
    }

    /// Whether it depends on nothing.
    #[inline]
    pub fn is_constant(&self) -> bool {
        self.slopes.iter().all(|s| *s == 0.0)
    }

    /// `f(self)` from the value and derivative of `f`.
    #[inline]
    pub fn chain(self, value: f64, derivative: f64) -> Self {
        Self { value, slopes: self.slopes.map(|s| derivative * s) }
    }

    /// `f(a, b)` from its value and both partial derivatives.
    #[inline]
    pub fn of_two(a: Self, b: Self, value: f64, by_a: f64, by_b: f64) -> Self {
        let mut slopes = [0.0; N];
        for (s, (x, y)) in slopes.iter_mut().zip(a.slopes.iter().zip(&b.slopes)) {
            *s = by_a * x + by_b * y;
        }
        Self { value, slopes }
    }

    /// Square.
    pub fn squared(self) -> Self {
        self * self
    }

    /// Natural logarithm.
    pub fn ln(self) -> Self {
        self.chain(self.value.ln(), 1.0 / self.value)
    }

    /// Square root.
    pub fn sqrt(self) -> Self {
        let root = self.value.sqrt();
        self.chain(root, 0.5 / root)
    }

    /// Cube root.
    pub fn cbrt(self) -> Self {
        let root = self.value.cbrt();
        self.chain(root, root / (3.0 * self.value))
    }

    /// Exponential.
    pub fn exp(self) -> Self {
        let e = self.value.exp();
        self.chain(e, e)
    }

    /// Power with a constant exponent.
    pub fn powf(self, exponent: f64) -> Self {
        let power = self.value.powf(exponent);
        self.chain(power, exponent * power / self.value)
    }

    /// `1/self`.
    pub fn recip(self) -> Self {
        let r = 1.0 / self.value;
        self.chain(r, -r * r)
    }
}

impl<const N: usize> Add for Jet<N> {
    type Output = Self;
    #[inline]
    fn add(self, other: Self) -> Self {
        Self::of_two(self, other, self.value + other.value, 1.0, 1.0)
    }
}

impl<const N: usize> Sub for Jet<N> {
    type Output = Self;
    #[inline]
    fn sub(self, other: Self) -> Self {
        Self::of_two(self, other, self.value - other.value, 1.0, -1.0)
    }
}

impl<const N: usize> Mul for Jet<N> {
    type Output = Self;
    #[inline]
    fn mul(self, other: Self) -> Self {
        Self::of_two(self, other, self.value * other.value, other.value, self.value)
    }
}

impl<const N: usize> Div for Jet<N> {
    type Output = Self;
    #[inline]
    fn div(self, other: Self) -> Self {
        let inverse = 1.0 / other.value;
        let quotient = self.value * inverse;
        Self::of_two(self, other, quotient, inverse, -quotient * inverse)
    }
}

impl<const N: usize> Neg for Jet<N> {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        self.chain(-self.value, -1.0)
    }
}

impl<const N: usize> Add<f64> for Jet<N> {
    type Output = Self;
    #[inline]
    fn add(self, other: f64) -> Self {
        Self { value: self.value + other, slopes: self.slopes }
    }
}

impl<const N: usize> Sub<f64> for Jet<N> {
    type Output = Self;
    #[inline]
    fn sub(self, other: f64) -> Self {
        self + -other
    }
}

impl<const N: usize> Mul<f64> for Jet<N> {
    type Output = Self;
    #[inline]
    fn mul(self, other: f64) -> Self {
        self.chain(self.value * other, other)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn formula<const N: usize>(x: Jet<N>, y: Jet<N>) -> Jet<N> {
        (x * y).ln() / (x - y * 0.5).sqrt() + x.powf(1.7) * (-(y.squared())).exp() - (x + 2.0).recip()
    }

    #[test]
    fn slopes_are_difference_quotients() {
        let (x, y) = (1.3, 0.7);
        let both = formula(Jet::<2>::variable(x, 0), Jet::variable(y, 1));
        let value = |x: f64, y: f64| formula(Jet::<0>::constant(x), Jet::constant(y)).value;
        let step = 1e-6;
        assert_eq!(both.value, value(x, y));
        assert!((both.slopes[0] - (value(x + step, y) - value(x - step, y)) / (2.0 * step)).abs() < 1e-8);
        assert!((both.slopes[1] - (value(x, y + step) - value(x, y - step)) / (2.0 * step)).abs() < 1e-8);
    }
}
