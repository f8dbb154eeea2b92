//! Scale, and where on the sheet the seal lies.

use halfmicron::model::RingRole;

/// Scales of ISO 5455 (from memory), paper over object, largest first.
pub(super) const SCALES: [[u32; 2]; 13] =
    [[50, 1], [20, 1], [10, 1], [5, 1], [2, 1], [1, 1], [1, 2], [1, 5], [1, 10], [1, 20], [1, 50], [1, 100], [1, 200]];

/// A drawing scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    /// Length on paper.
    pub paper: u32,
    /// Length of the object.
    pub object: u32,
}

impl Scale {
    /// The largest for which a width and a height in m fit into a width and a height in mm; none where even the smallest is too large.
    pub fn fitting(object_m: [f64; 2], paper_mm: [f64; 2]) -> Option<Self> {
        let fits = |scale: &Self| (0..2).all(|i| object_m[i] * scale.mm_per_m() <= paper_mm[i]);
        SCALES.iter().map(|[paper, object]| Self { paper: *paper, object: *object }).find(fits)
    }

    /// Millimetres of paper a metre.
    pub fn mm_per_m(self) -> f64 {
        1000.0 * f64::from(self.paper) / f64::from(self.object)
    }

    /// `2 : 1`.
    pub fn words(self) -> String {
        format!("{} : {}", self.paper, self.object)
    }
}

/// Where the seal lies on the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Scale.
    pub scale: Scale,
    /// Where the plane of the faces meets the axis, mm of paper.
    pub origin_mm: [f64; 2],
}

impl Frame {
    /// A point `[r, z]` (m) of a ring in its own coordinates, on paper (mm). The rotating ring lies to the right.
    pub fn on_paper(&self, role: RingRole, [r, z]: [f64; 2]) -> [f64; 2] {
        let scale = self.scale.mm_per_m();
        [self.origin_mm[0] + sense(role) * z * scale, self.origin_mm[1] + r * scale]
    }

    /// The way back: `[r, z]` of a ring, m.
    pub fn on_ring(&self, role: RingRole, [x, y]: [f64; 2]) -> [f64; 2] {
        let scale = self.scale.mm_per_m();
        [(y - self.origin_mm[1]) / scale, sense(role) * (x - self.origin_mm[0]) / scale]
    }
}

/// Along which x the body of a ring lies.
pub(super) fn sense(role: RingRole) -> f64 {
    match role {
        RingRole::Rotating => 1.0,
        RingRole::Stationary => -1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_scale_that_fits() {
        let words = |r: f64| Scale::fitting([0.0, r], [100.0, 145.0]).map(Scale::words);
        assert_eq!(words(0.025).as_deref(), Some("5 : 1"));
        assert_eq!(words(0.0725).as_deref(), Some("2 : 1"));
        assert_eq!(words(0.0726).as_deref(), Some("1 : 1"));
        assert_eq!(words(0.2).as_deref(), Some("1 : 2"));
        assert_eq!(words(1e3), None);
    }

    #[test]
    fn paper_and_ring_agree_both_ways() {
        let frame = Frame { scale: Scale { paper: 2, object: 1 }, origin_mm: [100.0, 40.0] };
        assert_eq!(frame.on_paper(RingRole::Rotating, [0.03, 0.01]), [120.0, 100.0]);
        assert_eq!(frame.on_paper(RingRole::Stationary, [0.03, 0.01]), [80.0, 100.0]);
        let back = frame.on_ring(RingRole::Stationary, [80.0, 100.0]);
        assert!((back[0] - 0.03).abs() < 1e-15 && (back[1] - 0.01).abs() < 1e-15);
    }
}
