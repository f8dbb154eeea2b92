//! How large and what part of the seal is shown.

use halfmicron::model::{Model, RingRole};

use super::super::DrawingError;
use super::super::bodies::{extent, rings};
use super::super::frame::sense;
use crate::RadiusScale;

/// Height of the strip of captions below the picture, px.
pub(super) const CAPTION_PX: f64 = 22.0;
/// Room above and below the rings for the names of the two sides, px.
const ABOVE_PX: f64 = 44.0;
const BELOW_PX: f64 = 40.0;
/// Share of the height that the band takes at least.
const BAND_SHARE: f64 = 0.28;
/// Room at the right for the names of diameters, px.
const GUTTER_PX: f64 = 110.0;
const GUTTER_NARROW_PX: f64 = 54.0;

/// Whether a width (px) is that of a phone: fewer words, shorter springs.
pub(super) fn is_narrow(width_px: f64) -> bool {
    width_px < 560.0
}

/// The part shown: `x = face_px + sense * z * px_per_m`, `y = axis_px - r * px_per_m`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Window {
    pub px_per_m: f64,
    pub face_px: f64,
    pub axis_px: f64,
    /// Width of the picture without the names of diameters at its right.
    pub width_px: f64,
    /// Height of the picture without its captions.
    pub height_px: f64,
}

impl Window {
    pub fn new(model: &Model, [width, height]: [f64; 2], caption_rows: usize) -> Result<Self, DrawingError> {
        let extents: Vec<[[f64; 2]; 2]> = rings(model).filter_map(extent).collect();
        if extents.is_empty() {
            return Err(DrawingError::NoSection);
        }
        let narrow = is_narrow(width);
        let width = (width - if narrow { GUTTER_NARROW_PX } else { GUTTER_PX }).max(60.0);
        let height = (height - CAPTION_PX * caption_rows as f64).max(60.0);
        let low = extents.iter().fold(f64::INFINITY, |least, [[r, _], _]| least.min(*r)).min(model.band.inner_radius_m);
        let high = extents.iter().fold(0.0_f64, |most, [[_, r], _]| most.max(*r)).max(model.band.outer_radius_m);
        let depth = |role: RingRole| {
            rings(model).filter(|ring| ring.role == role).filter_map(extent).fold(0.0_f64, |most, [_, [_, z]]| most.max(z))
        };
        let beyond = |role: RingRole| match (rings(model).any(|ring| ring.role == role && ring.floating), narrow) {
            (true, false) => 84.0,
            (true, true) => 40.0,
            (false, false) => 48.0,
            (false, true) => 24.0,
        };
        let [left, right] = [RingRole::Stationary, RingRole::Rotating].map(depth);
        let [beyond_left, beyond_right] = [RingRole::Stationary, RingRole::Rotating].map(beyond);
        let whole = ((width - beyond_left - beyond_right) / (left + right)).min((height - ABOVE_PX - BELOW_PX) / (high - low));
        let px_per_m = whole.max(BAND_SHARE * height / model.band.width_m());
        let (span_left, span_right) = (left * px_per_m + beyond_left, right * px_per_m + beyond_right);
        let spare = width - span_left - span_right;
        let face_px = if spare >= 0.0 {
            span_left + 0.5 * spare
        } else {
            (width * span_left / (span_left + span_right)).clamp(0.3 * width, 0.7 * width)
        };
        let axis_px = axis(model, px_per_m, height, [low, high]);
        Ok(Self { px_per_m, face_px, axis_px, width_px: width, height_px: height })
    }

    /// A point `[r, z]` (m) of a ring, px.
    pub fn at(&self, role: RingRole, [r, z]: [f64; 2]) -> [f64; 2] {
        [self.face_px + sense(role) * z * self.px_per_m, self.axis_px - r * self.px_per_m]
    }

    /// Height of a radius (m), px.
    pub fn y(&self, r: f64) -> f64 {
        self.axis_px - r * self.px_per_m
    }

    /// z (m) at the edge of the picture on the side of a ring.
    pub fn end_z(&self, role: RingRole) -> f64 {
        match role {
            RingRole::Rotating => (self.width_px - self.face_px) / self.px_per_m,
            RingRole::Stationary => self.face_px / self.px_per_m,
        }
    }

    /// Least and greatest radius shown, m.
    pub fn radii(&self) -> [f64; 2] {
        [self.height_px, 0.0].map(|y| (self.axis_px - y) / self.px_per_m)
    }

    /// Where the edges of the band lie.
    pub fn radius(&self, model: &Model) -> RadiusScale {
        let [low, high] = [model.band.inner_radius_m, model.band.outer_radius_m];
        RadiusScale { low_mm: 1e3 * low, high_mm: 1e3 * high, top_px: self.y(high), bottom_px: self.y(low) }
    }
}

/// The rings in the middle of their room where they fit; else their outer end is shown as far as the band and what lies inside of it
/// have room.
fn axis(model: &Model, px_per_m: f64, height: f64, [low, high]: [f64; 2]) -> f64 {
    let (top, bottom) = (ABOVE_PX, height - BELOW_PX);
    let spare = bottom - top - (high - low) * px_per_m;
    let from_top = top + high * px_per_m;
    if spare >= 0.0 { from_top + 0.5 * spare } else { from_top.min(bottom + model.band.inner_radius_m * px_per_m) }
}
