//! One period of the face larger, radius up, with every diameter that it shows.

use halfmicron::model::{Model, TextureForm};
use halfmicron::sheet::UnitSet;

use super::super::dimensions::length;
use super::super::frame::SCALES;
use super::super::labels::{MARGIN_MM, apart};
use super::super::{Anchor, Drawing, LABEL_MM, Layer, SHEET_MM, Scale, Stroke};
use super::place::{Place, closed};
use super::whole::{self, circles};
use super::{Face, textures};

/// Left edge, top, greatest width and height of the picture, mm of paper.
const LEFT_MM: f64 = MARGIN_MM + whole::ROOM_MM[0] + 5.0;
const TOP_MM: f64 = SHEET_MM[1] - MARGIN_MM - 27.0;
const WIDTH_MM: f64 = 86.0;
const HEIGHT_MM: f64 = 60.0;
/// Shares of a period that are shown: at most, and at least before a larger scale is given up.
const MOST_PERIODS: f64 = 1.25;
const LEAST_PERIODS: f64 = 1.05;
/// Greatest half angle of a face on which nothing repeats so soon, rad.
const WIDEST_RAD: f64 = 0.45;
/// Share of the band's width that is shown beyond it.
const BEYOND: f64 = 0.14;

/// What the sector came to.
pub(super) struct Drawn {
    pub scale: Scale,
    /// Height at which it ends, mm of paper.
    pub bottom: f64,
}

/// Draws it, and says at which scale.
pub(super) fn sector(drawing: &mut Drawing, face: &Face, units: UnitSet) -> Drawn {
    let band = &face.model.band;
    let beyond = BEYOND * band.width_m();
    let shown = [band.inner_radius_m - beyond, band.outer_radius_m + beyond];
    let (scale, half) = fitting(face, shown);
    let per_m = scale.mm_per_m();
    let centre = [LEFT_MM + 0.5 * WIDTH_MM, TOP_MM - shown[1] * per_m];
    let place = Place { centre, scale: per_m, hand: face.hand(), up: middle(face), half };
    textures(drawing, face, &place, Layer::Detail);
    let near =
        Face { edges_m: face.edges_m.iter().copied().filter(|r| *r >= shown[0] && *r <= shown[1]).collect(), lines: Vec::new(), ..*face };
    circles(drawing, &near, &place, Layer::Detail);
    for side in [-half, half] {
        let ray = [place.at([shown[0], place.up + side]), place.at([shown[1], place.up + side])];
        drawing.line(Layer::Detail, Stroke::Narrow, &ray);
    }
    diameters(drawing, face, &place, shown, units);
    let bottom = place.at([shown[0], place.up + half])[1];
    let whole_period = face.pitch_rad().is_some_and(|pitch| 2.0 * half >= pitch);
    let title = format!("{} ({})", if whole_period { "one period" } else { "part of the face" }, scale.words());
    drawing.text(Layer::Detail, [centre[0], TOP_MM + 4.0], Anchor::Middle, LABEL_MM, &title);
    Drawn { scale, bottom }
}

/// The largest scale that shows a period, and half of the angle shown at it.
fn fitting(face: &Face, [inner, outer]: [f64; 2]) -> (Scale, f64) {
    let period = face.pitch_rad().unwrap_or(f64::INFINITY);
    let most = (0.5 * MOST_PERIODS * period).min(WIDEST_RAD);
    let least = (0.5 * LEAST_PERIODS * period).min(0.35 * (outer - inner) / outer).min(WIDEST_RAD);
    let half_at = |scale: Scale| (0.5 * WIDTH_MM / (outer * scale.mm_per_m())).min(1.0).asin().min(most);
    let scales = SCALES.iter().map(|[paper, object]| Scale { paper: *paper, object: *object });
    let fits = |scale: &Scale| {
        let half = half_at(*scale);
        half >= least.max(0.5 * LEAST_PERIODS * period.min(WIDEST_RAD)) && (outer - inner * half.cos()) * scale.mm_per_m() <= HEIGHT_MM
    };
    let low = |scale: &Scale| (outer - inner * half_at(*scale).cos()) * scale.mm_per_m() <= HEIGHT_MM;
    // Where a period is wider than the paper at any useful scale, the band's width counts.
    let scale = scales.clone().find(fits).or_else(|| scales.clone().find(low)).unwrap_or(Scale { paper: 1, object: 200 });
    (scale, half_at(scale))
}

/// Angle in the middle of the first thing on the face, rad.
fn middle(face: &Face) -> f64 {
    let first = face.lines.iter().find_map(closed);
    let Some(edge) = first else { return 0.0 };
    let [low, high] = edge.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], p| [low.min(p[1]), high.max(p[1])]);
    0.5 * (low + high)
}

/// Radii with their names, from inside to outside; of one radius all names together.
fn named(model: &Model, face: &Face) -> Vec<(f64, String)> {
    let mut found: Vec<(f64, &str)> = vec![
        (model.band.inner_radius_m, "band inside"),
        (model.band.outer_radius_m, "band outside"),
        (model.seal.balance_radius_m, "balance"),
    ];
    for texture in model.textures.iter().filter(|texture| texture.on == face.role) {
        let names = match &texture.form {
            TextureForm::Pads(_) => ["pads begin", "pads end"],
            TextureForm::Dimples { .. } => ["rows begin", "rows end"],
            _ => ["grooves begin", "grooves end"],
        };
        let radii = texture.form.cut_radii_m();
        found.extend(radii.into_iter().flat_map(|radii| radii.into_iter().zip(names)));
        match &texture.form {
            TextureForm::TGrooves { bar_radius_m, .. } => found.push((*bar_radius_m, "bar meets stem")),
            TextureForm::Taper { radii_m, .. } => found.extend(radii_m.iter().copied().zip(["taper begins", "taper ends"])),
            _ => {}
        }
    }
    found.extend(face.edges_m.iter().map(|edge| (*edge, "edge of the ring")));
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut named: Vec<(f64, String)> = Vec::new();
    for (radius, name) in found {
        match named.last_mut() {
            Some((known, names)) if (*known - radius).abs() < 1e-7 => {
                // An edge that has another name needs no second one.
                if name != "edge of the ring" && !names.contains(name) {
                    names.push_str(", ");
                    names.push_str(name);
                }
            }
            _ => named.push((radius, name.to_owned())),
        }
    }
    named
}

/// Leaders from the right edge of the sector to diameters in a column.
fn diameters(drawing: &mut Drawing, face: &Face, place: &Place, shown: [f64; 2], units: UnitSet) {
    let right = place.up - face.hand() * place.half;
    let named: Vec<(f64, String)> = named(face.model, face).into_iter().filter(|(r, _)| *r >= shown[0] && *r <= shown[1]).collect();
    let tips: Vec<[f64; 2]> = named.iter().map(|(radius, _)| place.at([*radius, right])).collect();
    let column = tips.iter().fold(f64::NEG_INFINITY, |most, tip| most.max(tip[0])) + 8.0;
    let wanted: Vec<f64> = tips.iter().map(|tip| tip[1]).collect();
    let heights = apart(&wanted, &vec![2.4; tips.len()], &vec![false; tips.len()], [TOP_MM - HEIGHT_MM - 16.0, TOP_MM + 2.0]);
    for (((radius, name), tip), y) in named.iter().zip(&tips).zip(heights) {
        let elbow = [column - 2.0, y];
        drawing.line(Layer::Dimensions, Stroke::Narrow, &[*tip, elbow, [column, y]]);
        let (dx, dy) = (tip[0] - elbow[0], tip[1] - elbow[1]);
        let long = dx.hypot(dy);
        drawing.arrow_head(Layer::Dimensions, *tip, [dx / long, dy / long], [0; 3]);
        let words = format!("\u{d8}{} {name}", length(2.0 * radius, units));
        drawing.text(Layer::Dimensions, [column + 1.0, y - 0.36 * LABEL_MM], Anchor::Start, LABEL_MM, &words);
    }
}
