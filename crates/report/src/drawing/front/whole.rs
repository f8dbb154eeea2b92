//! The whole face with its greatest diameter, the axis and the sense of turning.

use std::f64::consts::PI;

use halfmicron::model::RingRole;
use halfmicron::sheet::UnitSet;

use super::super::dimensions::length;
use super::super::labels::{MARGIN_MM, NOTES_TOP_MM};
use super::super::{Anchor, Drawing, DrawingError, Frame, LABEL_MM, Layer, SHEET_MM, Scale, Stroke};
use super::place::Place;
use super::{Face, frame, textures};

/// Room of the whole face, mm of paper: width, height.
pub(super) const ROOM_MM: [f64; 2] = [118.0, 150.0];
/// What the dimension at the left and the arrow above take.
const DIMENSION_MM: f64 = 11.0;
const ARROW_MM: f64 = 9.0;
const BEYOND_MM: f64 = 3.0;

/// Scale and the point where the axis stands.
pub(super) fn placed(face: &Face) -> Result<(Frame, [f64; 2]), DrawingError> {
    let across = 2.0 * face.outer_m;
    let room = [ROOM_MM[0] - 2.0 * DIMENSION_MM, ROOM_MM[1] - 2.0 * ARROW_MM];
    let most_mm = 0.5 * room[0].min(room[1]) * 200.0;
    let scale = Scale::fitting([across; 2], room).ok_or(DrawingError::TooLarge { radius_mm: 1e3 * face.outer_m, most_mm })?;
    let centre = [MARGIN_MM + 0.5 * ROOM_MM[0], 0.5 * (NOTES_TOP_MM + SHEET_MM[1] - MARGIN_MM - 13.0)];
    Ok((frame(scale, centre), centre))
}

/// Layer of a ring's edges.
fn layer_of(role: RingRole) -> Layer {
    match role {
        RingRole::Rotating => Layer::RotatingRing,
        RingRole::Stationary => Layer::StationaryRing,
    }
}

pub(super) fn picture(drawing: &mut Drawing, face: &Face, centre: [f64; 2], units: UnitSet) {
    let scale = drawing.frame.scale.mm_per_m();
    let place = Place { centre, scale, hand: face.hand(), up: 0.0, half: PI };
    textures(drawing, face, &place, Layer::Texture);
    circles(drawing, face, &place, layer_of(face.role));
    let reach = face.outer_m * scale;
    let far = reach + BEYOND_MM;
    for along in [[1.0, 0.0], [0.0, 1.0]] {
        let end = |side: f64| [centre[0] + side * far * along[0], centre[1] + side * far * along[1]];
        drawing.line(Layer::CentreLine, Stroke::Centre, &[end(-1.0), end(1.0)]);
    }
    turning(drawing, &place, reach, face);
    // The greatest diameter, from top to bottom.
    let x = centre[0] - reach - 7.0;
    for side in [-1.0, 1.0] {
        let y = centre[1] + side * reach;
        drawing.line(Layer::Dimensions, Stroke::Narrow, &[[centre[0], y], [x - 1.5, y]]);
        drawing.arrow_head(Layer::Dimensions, [x, y], [0.0, side], [0; 3]);
    }
    drawing.line(Layer::Dimensions, Stroke::Narrow, &[[x, centre[1] - reach], [x, centre[1] + reach]]);
    let words = format!("\u{d8}{}", length(2.0 * face.outer_m, units));
    drawing.upright_text(Layer::Dimensions, [x - 1.2, centre[1] + 0.5 * reach], LABEL_MM, &words);
}

/// Edges of the ring, the band, the balance diameters.
pub(super) fn circles(drawing: &mut Drawing, face: &Face, place: &Place, layer: Layer) {
    let same = |a: f64, b: f64| (a - b).abs() < 1e-7;
    for &edge in &face.edges_m {
        place.circle(drawing, layer, Stroke::Visible, edge);
    }
    let band = &face.model.band;
    for edge in [band.inner_radius_m, band.outer_radius_m] {
        if !face.edges_m.iter().any(|known| same(*known, edge)) {
            place.circle(drawing, layer, Stroke::Narrow, edge);
        }
    }
    let seal = &face.model.seal;
    place.circle(drawing, if layer == Layer::Detail { Layer::Detail } else { Layer::CentreLine }, Stroke::Centre, seal.balance_radius_m);
}

/// An arrow above the ring in the sense of the shaft.
fn turning(drawing: &mut Drawing, place: &Place, reach: f64, face: &Face) {
    let radius = (reach + 5.0) / place.scale;
    let angle = |k: usize| place.up - 0.28 + 0.56 * k as f64 / 24.0;
    let points: Vec<[f64; 2]> = (0..=24).map(|k| place.at([radius, angle(k)])).collect();
    drawing.line(Layer::Labels, Stroke::Narrow, &points);
    let (tip, before) = (points[24], points[22]);
    let long = (tip[0] - before[0]).hypot(tip[1] - before[1]);
    drawing.arrow_head(Layer::Labels, tip, [(tip[0] - before[0]) / long, (tip[1] - before[1]) / long], [0; 3]);
    let words = match face.role {
        RingRole::Rotating => "turns",
        RingRole::Stationary => "the other ring turns",
    };
    drawing.text(Layer::Labels, [place.centre[0], place.centre[1] + reach + 7.0], Anchor::Middle, LABEL_MM, words);
}
