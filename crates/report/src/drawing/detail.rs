//! The band enlarged, where it is small on the sheet: a circle with a letter in the picture, the same circle larger with letter and scale
//! beside it (detail of ISO 128-3, from memory).

use halfmicron::model::Model;

use super::frame::SCALES;
use super::labels::{KEY_MM, MARGIN_MM, NOTES_TOP_MM};
use super::{Anchor, Drawing, Frame, Item, LABEL_MM, Layer, SHEET_MM, Scale, Shape, Stroke};

/// Height of the band on paper from which on no detail is needed, mm.
const LARGE_ENOUGH_MM: f64 = 16.0;
/// Radii of the enlarged circle, mm: as large as there is room, none below the least.
const MOST_MM: f64 = 27.0;
const LEAST_MM: f64 = 15.0;
/// Share of the radius that the band takes up and down from the middle.
const BAND_SHARE: f64 = 0.75;
/// Height of its letter and scale, mm.
const TITLE_MM: f64 = 8.0;

/// Least width that a detail takes beside the picture, with its distance from it, mm.
pub(super) const ROOM_MM: f64 = 2.0 * LEAST_MM + 10.0;

/// Whether the band is so small on paper that a detail helps.
pub(super) fn wanted(model: &Model, scale: Scale) -> bool {
    model.band.width_m() * scale.mm_per_m() <= LARGE_ENOUGH_MM
}

/// Where the detail lies on the sheet, at which scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Detail {
    pub frame: Frame,
    centre: [f64; 2],
    radius: f64,
}

impl Detail {
    /// A detail where the band is small on the sheet: beside the picture if there is room, else at the end of the key.
    pub fn new(model: &Model, main: &Frame, beside: Option<[[f64; 2]; 2]>, key_end: f64) -> Option<Self> {
        let column = [[KEY_MM, NOTES_TOP_MM + 2.0], [SHEET_MM[0] - MARGIN_MM, key_end - 2.0]];
        beside.and_then(|room| Self::within_room(model, main, room)).or_else(|| Self::within_room(model, main, column))
    }

    /// The largest detail between the corners of a room, title included.
    fn within_room(model: &Model, main: &Frame, [low, high]: [[f64; 2]; 2]) -> Option<Self> {
        let band = model.band.width_m();
        let radius = (0.5 * (high[0] - low[0])).min(0.5 * (high[1] - low[1] - TITLE_MM)).min(MOST_MM);
        if !wanted(model, main.scale) || radius < LEAST_MM {
            return None;
        }
        let scales = SCALES.iter().map(|[paper, object]| Scale { paper: *paper, object: *object });
        let scale = scales.into_iter().find(|scale| 0.5 * band * scale.mm_per_m() <= BAND_SHARE * radius)?;
        if scale.mm_per_m() < 1.5 * main.scale.mm_per_m() {
            return None;
        }
        let centre = [0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1] - TITLE_MM)];
        let origin_mm = [centre[0], centre[1] - model.band.mean_radius_m() * scale.mm_per_m()];
        Some(Self { frame: Frame { scale, origin_mm }, centre, radius })
    }

    /// Put in what `close`, drawn by the frame of the detail, shows within the circle, and mark the place in the picture.
    pub fn put(&self, drawing: &mut Drawing, close: Drawing, model: &Model) {
        let mut items = close.items;
        items.sort_by_key(|item| item.layer);
        for item in items {
            let shapes = self.clipped(item.shape);
            drawing.items.extend(shapes.into_iter().map(|shape| Item { layer: Layer::Detail, shape }));
        }
        let round = |[x, y]: [f64; 2], radius: f64| -> Vec<[f64; 2]> {
            (0..72)
                .map(|k| f64::from(k) * std::f64::consts::TAU / 72.0)
                .map(|angle| [x + radius * angle.cos(), y + radius * angle.sin()])
                .collect()
        };
        drawing.outline(Layer::Detail, Stroke::Narrow, &round(self.centre, self.radius));
        let title = format!("A ({})", self.frame.scale.words());
        drawing.text(Layer::Detail, [self.centre[0], self.centre[1] + self.radius + 2.5], Anchor::Middle, LABEL_MM, &title);
        let main = drawing.frame;
        let here = [main.origin_mm[0], main.origin_mm[1] + model.band.mean_radius_m() * main.scale.mm_per_m()];
        let small = self.radius * main.scale.mm_per_m() / self.frame.scale.mm_per_m();
        drawing.outline(Layer::Detail, Stroke::Narrow, &round(here, small));
        // the letter stands below the rings, its line ends on the circle
        let inner = [&model.rotating_ring, &model.stationary_ring].into_iter().filter_map(super::bodies::extent);
        let low = inner.map(|[[r, _], _]| r).fold(model.band.inner_radius_m, f64::min);
        let mut foot = [here[0] - 6.0, (main.origin_mm[1] + low * main.scale.mm_per_m()).min(here[1] - small) - 4.5];
        // clear of the line of the shaft
        let shaft = main.origin_mm[1] + 0.5 * model.machine.shaft_diameter_m.unwrap_or_default() * main.scale.mm_per_m();
        if shaft > foot[1] - 1.5 && shaft < foot[1] + 4.0 {
            foot[1] = shaft - 4.5;
        }
        let (dx, dy) = (here[0] - foot[0], here[1] - foot[1]);
        let long = dx.hypot(dy);
        let from = [foot[0] + 0.8, foot[1] + 3.2];
        drawing.line(Layer::Detail, Stroke::Narrow, &[from, [here[0] - small * dx / long, here[1] - small * dy / long]]);
        drawing.text(Layer::Detail, foot, Anchor::Middle, LABEL_MM, "A");
    }

    fn clipped(&self, shape: Shape) -> Vec<Shape> {
        match shape {
            Shape::Line { mut points, closed, stroke } => {
                if closed {
                    points.extend(points.first().copied());
                }
                let mut runs: Vec<Vec<[f64; 2]>> = Vec::new();
                for pair in points.windows(2) {
                    let Some([a, b]) = self.within([pair[0], pair[1]]) else { continue };
                    match runs.last_mut() {
                        Some(run) if run.last() == Some(&a) => run.push(b),
                        _ => runs.push(vec![a, b]),
                    }
                }
                runs.into_iter().map(|points| Shape::Line { points, closed: false, stroke }).collect()
            }
            Shape::Fill { polygons, colour } => {
                let polygons: Vec<Vec<[f64; 2]>> =
                    polygons.iter().map(|polygon| self.cut(polygon)).filter(|polygon| polygon.len() > 2).collect();
                if polygons.is_empty() { Vec::new() } else { vec![Shape::Fill { polygons, colour }] }
            }
            Shape::Circle { .. } | Shape::Ring { .. } | Shape::Text { .. } => Vec::new(),
        }
    }

    /// The part of a line within the circle.
    fn within(&self, [a, b]: [[f64; 2]; 2]) -> Option<[[f64; 2]; 2]> {
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let (fx, fy) = (a[0] - self.centre[0], a[1] - self.centre[1]);
        let (aa, bb, cc) = (dx * dx + dy * dy, fx * dx + fy * dy, fx * fx + fy * fy - self.radius * self.radius);
        let root = (bb * bb - aa * cc).max(0.0).sqrt();
        if aa == 0.0 || bb * bb - aa * cc <= 0.0 {
            return None;
        }
        let (from, to) = (((-bb - root) / aa).max(0.0), ((-bb + root) / aa).min(1.0));
        let at = |share: f64| {
            if share == 0.0 {
                a
            } else if share == 1.0 {
                b
            } else {
                [a[0] + share * dx, a[1] + share * dy]
            }
        };
        (to - from > 1e-9).then(|| [at(from), at(to)])
    }

    /// The part of a polygon within the circle, taken for its 72 sides.
    fn cut(&self, polygon: &[[f64; 2]]) -> Vec<[f64; 2]> {
        let sides = (0..72).map(|k| f64::from(k) * std::f64::consts::TAU / 72.0 + std::f64::consts::TAU / 144.0);
        let reach = self.radius * (std::f64::consts::TAU / 144.0).cos();
        sides.fold(polygon.to_vec(), |points, angle| {
            let depth = |p: [f64; 2]| reach - (p[0] - self.centre[0]) * angle.cos() - (p[1] - self.centre[1]) * angle.sin();
            let mut kept = Vec::with_capacity(points.len() + 2);
            for (i, &p) in points.iter().enumerate() {
                let q = points[(i + 1) % points.len()];
                let (dp, dq) = (depth(p), depth(q));
                if dp >= 0.0 {
                    kept.push(p);
                }
                if dp * dq < 0.0 {
                    let share = dp / (dp - dq);
                    kept.push([p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])]);
                }
            }
            kept
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn circle() -> Detail {
        let frame = Frame { scale: Scale { paper: 5, object: 1 }, origin_mm: [0.0; 2] };
        Detail { frame, centre: [10.0, 0.0], radius: 5.0 }
    }

    #[test]
    fn lines_and_fills_end_at_the_circle() {
        let detail = circle();
        assert_eq!(detail.within([[0.0, 0.0], [20.0, 0.0]]), Some([[5.0, 0.0], [15.0, 0.0]]));
        assert_eq!(detail.within([[9.0, 0.0], [20.0, 0.0]]), Some([[9.0, 0.0], [15.0, 0.0]]));
        assert_eq!(detail.within([[0.0, 6.0], [20.0, 6.0]]), None);
        assert_eq!(detail.within([[20.0, 0.0], [30.0, 0.0]]), None);
        let all = detail.cut(&[[0.0, -20.0], [20.0, -20.0], [20.0, 20.0], [0.0, 20.0]]);
        assert!(all.iter().all(|p| ((p[0] - 10.0).hypot(p[1]) - 5.0).abs() < 0.02), "{all:?}");
        assert!(detail.cut(&[[20.0, 0.0], [30.0, 0.0], [30.0, 5.0]]).len() < 3);
        let square =
            Shape::Line { points: vec![[8.0, -1.0], [30.0, -1.0], [30.0, 1.0], [8.0, 1.0]], closed: true, stroke: Stroke::Visible };
        let [Shape::Line { points, closed: false, .. }, Shape::Line { points: rest, .. }] = &detail.clipped(square)[..] else {
            panic!("two runs")
        };
        assert_eq!((points.len(), rest.len()), (2, 3));
    }
}
