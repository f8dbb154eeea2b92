//! Radius on a picture: section and curves share it, so that the eye goes straight across.

use serde::Serialize;

/// Where two radii lie on a picture; between and beyond them it is linear.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RadiusScale {
    /// A radius, mm; commonly the inner edge of the band.
    pub low_mm: f64,
    /// A greater radius, mm; commonly the outer edge.
    pub high_mm: f64,
    /// Distance of the greater radius from the top of the picture, px.
    pub top_px: f64,
    /// Distance of the smaller radius from the top of the picture, px.
    pub bottom_px: f64,
}

impl RadiusScale {
    /// Distance of a radius from the top of the picture, px.
    pub fn y_px(&self, radius_mm: f64) -> f64 {
        self.bottom_px + (radius_mm - self.low_mm) / (self.high_mm - self.low_mm) * (self.top_px - self.bottom_px)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn greater_radii_lie_higher() {
        let scale = RadiusScale { low_mm: 24.0, high_mm: 30.0, top_px: 40.0, bottom_px: 160.0 };
        assert_eq!([24.0, 27.0, 30.0, 33.0].map(|radius| scale.y_px(radius)), [160.0, 100.0, 40.0, -20.0]);
    }
}
