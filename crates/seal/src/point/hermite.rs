//! Where the opening force crosses the closing force between two neighbours on the curve.

use super::branch::BranchPoint;

/// Cubic through the force excess and its slope at both ends, on [0, 1].
pub(super) struct Hermite {
    ends: [f64; 2],
    slopes: [f64; 2],
}

impl Hermite {
    /// From the forces at two neighbours on a curve and their changes along it.
    pub fn new(a: &BranchPoint, b: &BranchPoint, closing_force_n: f64) -> Self {
        let length = b.arc - a.arc;
        Self {
            ends: [a.opening_force_n - closing_force_n, b.opening_force_n - closing_force_n],
            slopes: [a.force_per_arc * length, b.force_per_arc * length],
        }
    }

    fn value(&self, t: f64) -> f64 {
        let u = 1.0 - t;
        self.ends[0] * (1.0 + 2.0 * t) * u * u + self.slopes[0] * t * u * u + self.ends[1] * t * t * (3.0 - 2.0 * t)
            - self.slopes[1] * t * t * u
    }

    /// Whether the excess passes nought from one end to the other.
    pub fn changes_sign(&self) -> bool {
        self.ends[0] * self.ends[1] <= 0.0
    }

    /// Where the straight line between both ends passes nought.
    pub fn secant(&self) -> f64 {
        let rise = self.ends[0] - self.ends[1];
        if rise == 0.0 { 0.5 } else { (self.ends[0] / rise).clamp(0.0, 1.0) }
    }

    /// Crossings of the cubic, found on a fine grid and refined by bisection.
    pub fn roots(&self) -> Vec<f64> {
        const PIECES: usize = 24;
        let mut roots = Vec::new();
        for k in 0..PIECES {
            let (mut low, mut high) = (k as f64 / PIECES as f64, (k + 1) as f64 / PIECES as f64);
            if self.value(low) * self.value(high) > 0.0 || (self.value(low) == 0.0 && k > 0) {
                continue;
            }
            for _ in 0..40 {
                let middle = 0.5 * (low + high);
                if self.value(low) * self.value(middle) <= 0.0 { high = middle } else { low = middle }
            }
            roots.push(0.5 * (low + high));
        }
        roots
    }

    /// Where the cubic comes within a tenth of its own range of zero without crossing.
    pub fn near_touch(&self) -> Option<f64> {
        let (at, nearest) = (1..24).map(|k| k as f64 / 24.0).map(|t| (t, self.value(t).abs())).min_by(|a, b| a.1.total_cmp(&b.1))?;
        let ends = self.ends[0].abs().min(self.ends[1].abs());
        (nearest < 0.5 * ends && nearest < 0.3 * (self.slopes[0].abs() + self.slopes[1].abs())).then_some(at)
    }
}
