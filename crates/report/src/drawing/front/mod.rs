//! The running face of a ring along the shaft: what is cut into it, true to scale, whole and one period of it larger.
//!
//! Edges of textures are those that the film is solved with. Of the two faces the one that carries textures is drawn; angles run in the
//! sense in which the shaft turns, which is anticlockwise on the face of the turning ring and, seen from the other side, clockwise on that of
//! the standing one.

mod place;
mod sector;
mod sheet;
mod whole;

use halfmicron::film::{FaceLine, face_lines};
use halfmicron::model::{Model, Ring, RingRole, TextureForm};
use halfmicron::sheet::UnitSet;

use super::bodies::{extent, rings};
use super::{Colour, Drawing, DrawingError, Frame};
use place::Place;

/// Land of the band, what is cut into it, and the ends of what rises and falls.
const BAND: Colour = [0xf3, 0xf1, 0xea];
/// Pieces that the whole face shows one by one; more it shows as the band that they fill.
const MOST_PIECES: usize = 6000;
const CUT: Colour = [0xb4, 0xc9, 0xd8];
const NEAR: Colour = [0xf3, 0xf6, 0xf8];
const FAR: Colour = [0x8f, 0xb4, 0xcd];

/// Draw the face of a case.
///
/// # Errors
/// [`DrawingError::TooLarge`] where the smallest scale does not hold it.
pub fn draw_face(model: &Model, units: UnitSet) -> Result<Drawing, DrawingError> {
    let face = Face::of(model);
    let (frame, centre) = whole::placed(&face)?;
    let mut drawing = Drawing { title: model.title.clone(), description: String::new(), units, frame, items: Vec::new() };
    whole::picture(&mut drawing, &face, centre, units);
    let sector = sector::sector(&mut drawing, &face, units);
    sheet::words(&mut drawing, &face, units, sector);
    drawing.items.sort_by_key(|item| item.layer);
    Ok(drawing)
}

/// What is seen of one face.
pub(super) struct Face<'a> {
    pub model: &'a Model,
    pub role: RingRole,
    /// Edges of textures.
    pub lines: Vec<FaceLine>,
    /// Circles that are edges of the ring, m, and the greatest of all.
    pub edges_m: Vec<f64>,
    pub outer_m: f64,
}

impl<'a> Face<'a> {
    fn of(model: &'a Model) -> Self {
        let varying = model.textures.iter().find(|texture| !texture.form.is_axisymmetric());
        let role = varying.or(model.textures.first()).map_or(model.narrow_ring, |texture| texture.on);
        let edges_m = edges(model, role);
        let outer_m = edges_m.iter().copied().fold(model.band.outer_radius_m, f64::max);
        let lines = model.textures.iter().filter(|texture| texture.on == role).flat_map(face_lines).collect();
        Self { model, role, lines, edges_m, outer_m }
    }

    /// Whether so much is cut that the whole face cannot show each piece.
    fn is_crowded(&self) -> bool {
        self.lines.len() > MOST_PIECES
    }

    /// Sense of angles on paper: 1 for anticlockwise.
    fn hand(&self) -> f64 {
        match self.role {
            RingRole::Rotating => 1.0,
            RingRole::Stationary => -1.0,
        }
    }

    /// Angle after which the face is the same again, rad; none where nothing repeats.
    fn pitch_rad(&self) -> Option<f64> {
        let counts = self.model.textures.iter().filter(|texture| texture.on == self.role).filter_map(|texture| texture.form.count());
        counts.max().filter(|count| *count > 1).map(|count| std::f64::consts::TAU / f64::from(count))
    }

    /// Waves and tilts round the circumference: number and depth at an angle relative to the greatest, from 0 (near) to 1 (far).
    fn swell(&self) -> Option<(u32, impl Fn(f64) -> f64)> {
        let count = self.model.textures.iter().find_map(|texture| match texture.form {
            TextureForm::Waves { count, .. } => Some(count),
            TextureForm::Tilt { .. } => Some(1),
            _ => None,
        })?;
        Some((count, move |angle: f64| 0.5 + 0.5 * (f64::from(count) * angle).cos()))
    }
}

/// Radii at which the ring, seen along the shaft from its face, has an edge: the ends of its face and of its body.
fn edges(model: &Model, role: RingRole) -> Vec<f64> {
    let Some(ring) = rings(model).find(|ring| ring.role == role) else { return Vec::new() };
    let Some([[inner, outer], _]) = extent(ring) else { return Vec::new() };
    let mut edges: Vec<f64> = plane(ring).into_iter().flatten().chain([inner, outer]).collect();
    edges.sort_by(f64::total_cmp);
    edges.dedup_by(|a, b| (*a - *b).abs() < 1e-7);
    edges
}

/// Inner and outer radius of the plane of a ring's face, m.
pub(super) fn plane(ring: &Ring) -> Option<[f64; 2]> {
    let radii = ring.parts.iter().flat_map(|part| part.corners_m).filter(|corner| corner[1].abs() < 1e-9).map(|corner| corner[0]);
    radii.fold(None, |ends: Option<[f64; 2]>, r| Some(ends.map_or([r, r], |[low, high]| [low.min(r), high.max(r)])))
}

/// Land, what is cut, what swells; then their edges. `place` says where on paper and how much of the circle.
fn textures(drawing: &mut Drawing, face: &Face, place: &Place, layer: super::Layer) {
    let band = &face.model.band;
    let [inner, outer] = [band.inner_radius_m, band.outer_radius_m];
    match face.swell() {
        Some((count, far)) => {
            let steps = (count * 48).clamp(144, 960);
            let step = std::f64::consts::TAU / f64::from(steps);
            for k in 0..steps {
                let from = step * f64::from(k);
                let colour = super::colour::mixed([NEAR, FAR], far(from + 0.5 * step));
                let piece = [[inner, from], [outer, from], [outer, from + step], [inner, from + step]];
                let shown = place.polygons(&place::densified(&piece));
                if !shown.is_empty() {
                    drawing.fill(layer, colour, shown);
                }
            }
        }
        None => drawing.fill(layer, BAND, place.annulus(inner, outer)),
    }
    if place.is_whole() && face.is_crowded() {
        for [inner, outer] in face.model.textures.iter().filter_map(|texture| texture.form.cut_radii_m()) {
            drawing.fill(layer, CUT, place.annulus(inner, outer));
            [inner, outer].into_iter().for_each(|radius| place.circle(drawing, layer, super::Stroke::Narrow, radius));
        }
        return;
    }
    let edges: Vec<Vec<[f64; 2]>> = face.lines.iter().filter_map(place::closed).collect();
    let filled: Vec<Vec<[f64; 2]>> = edges.iter().flat_map(|edge| place.polygons(edge)).collect();
    if !filled.is_empty() {
        drawing.fill(layer, CUT, filled);
    }
    for (line, edge) in face.lines.iter().filter_map(|line| Some((line, place::closed(line)?))) {
        match (line, place.is_whole()) {
            // A true circle, for who reads the file.
            (FaceLine::Dimple { centre, radius_m }, true) => drawing.ring(layer, place.at(*centre), place.scale * radius_m),
            _ => place.lines(&edge, true).iter().for_each(|run| drawing.run(layer, super::Stroke::Narrow, run)),
        }
    }
    for line in &face.lines {
        match *line {
            FaceLine::Crest(angle) => {
                let ray = [[inner, angle], [outer, angle]];
                place.lines(&ray, false).iter().for_each(|run| drawing.run(layer, super::Stroke::Narrow, run));
            }
            FaceLine::Rim(radius) => place.circle(drawing, layer, super::Stroke::Narrow, radius),
            _ => {}
        }
    }
}

/// Where the picture lies on the sheet.
fn frame(scale: super::Scale, centre: [f64; 2]) -> Frame {
    Frame { scale, origin_mm: centre }
}
