//! From `[radius, angle]` on the face to paper, the whole circle or a sector of it.

use std::f64::consts::{PI, TAU};

use halfmicron::film::FaceLine;

use super::super::{Drawing, Item, Layer, Shape, Stroke};

/// Points of a circle drawn as a line, and of the edge of a dimple.
const CIRCLE_POINTS: usize = 360;
const DIMPLE_POINTS: usize = 48;
/// Greatest angle between points of an arc, rad.
const STEP_RAD: f64 = 0.0175;

/// A picture of the face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// Axis of the shaft, mm of paper.
    pub centre: [f64; 2],
    /// mm of paper a metre.
    pub scale: f64,
    /// 1 where angles run anticlockwise, -1 where clockwise.
    pub hand: f64,
    /// Angle that points upward, rad.
    pub up: f64,
    /// Half of the angle shown, rad; pi for the whole circle.
    pub half: f64,
}

impl Place {
    pub fn is_whole(&self) -> bool {
        self.half >= PI
    }

    /// A point of the face on paper.
    pub fn at(&self, [radius, angle]: [f64; 2]) -> [f64; 2] {
        let (sin, cos) = (angle - self.up).sin_cos();
        [self.centre[0] - self.hand * radius * self.scale * sin, self.centre[1] + radius * self.scale * cos]
    }

    /// The parts of closed edges within the sector, on paper.
    pub fn polygons(&self, edge: &[[f64; 2]]) -> Vec<Vec<[f64; 2]>> {
        if self.is_whole() {
            return vec![edge.iter().map(|point| self.at(*point)).collect()];
        }
        let kept = self.turns(edge).map(|turned| {
            let low = cut(&turned, |point| point[1] - (self.up - self.half));
            cut(&low, |point| self.up + self.half - point[1])
        });
        kept.filter(|piece| piece.len() > 2).map(|piece| piece.iter().map(|point| self.at(*point)).collect()).collect()
    }

    /// The parts of a line within the sector, on paper.
    pub fn lines(&self, points: &[[f64; 2]], closed: bool) -> Vec<Run> {
        if self.is_whole() {
            return vec![Run { points: points.iter().map(|point| self.at(*point)).collect(), closed }];
        }
        let mut runs = Vec::new();
        for mut turned in self.turns(points) {
            if closed {
                turned.extend(turned.first().copied());
            }
            let mut run: Vec<[f64; 2]> = Vec::new();
            for pair in turned.windows(2) {
                let Some([a, b]) = self.within([pair[0], pair[1]]) else { continue };
                if run.last() != Some(&a) {
                    runs.push(std::mem::take(&mut run));
                    run.push(a);
                }
                run.push(b);
            }
            runs.push(run);
        }
        let drawn = |run: Vec<[f64; 2]>| Run { points: run.iter().map(|point| self.at(*point)).collect(), closed: false };
        runs.into_iter().filter(|run| run.len() > 1).map(drawn).collect()
    }

    /// A line by every whole number of turns that brings some of it into the sector.
    fn turns(&self, points: &[[f64; 2]]) -> impl Iterator<Item = Vec<[f64; 2]>> {
        let [low, high] =
            points.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], point| [low.min(point[1]), high.max(point[1])]);
        let first = ((self.up - self.half - high) / TAU).ceil() as i64;
        let last = ((self.up + self.half - low) / TAU).floor() as i64;
        (first..=last).map(move |turn| points.iter().map(|[r, angle]| [*r, angle + turn as f64 * TAU]).collect())
    }

    fn within(&self, [a, b]: [[f64; 2]; 2]) -> Option<[[f64; 2]; 2]> {
        let [low, high] = [self.up - self.half, self.up + self.half];
        let along = b[1] - a[1];
        if along == 0.0 {
            return (low..=high).contains(&a[1]).then_some([a, b]);
        }
        let (s, t) = ((low - a[1]) / along, (high - a[1]) / along);
        let (from, to) = (s.min(t).max(0.0), s.max(t).min(1.0));
        let at = |share: f64| match share {
            0.0 => a,
            1.0 => b,
            _ => [a[0] + share * (b[0] - a[0]), a[1] + share * along],
        };
        (to > from).then(|| [at(from), at(to)])
    }

    /// Between two radii.
    pub fn annulus(&self, inner: f64, outer: f64) -> Vec<Vec<[f64; 2]>> {
        let arc = |radius: f64| self.arc(radius);
        if self.is_whole() {
            // Turned against each other they leave the hole open.
            let hole: Vec<[f64; 2]> = arc(inner).into_iter().rev().collect();
            return vec![arc(outer), hole];
        }
        let mut edge = arc(outer);
        edge.extend(arc(inner).into_iter().rev());
        vec![edge]
    }

    /// Points along a circle as far as it is shown.
    pub fn arc(&self, radius: f64) -> Vec<[f64; 2]> {
        let count = if self.is_whole() { CIRCLE_POINTS } else { ((2.0 * self.half / STEP_RAD).ceil() as usize).max(8) };
        let last = if self.is_whole() { count - 1 } else { count };
        let angle = |k: usize| self.up - self.half + 2.0 * self.half * k as f64 / count as f64;
        (0..=last).map(|k| self.at([radius, angle(k)])).collect()
    }

    /// A circle about the axis as far as it is shown: a true one where that is whole.
    pub fn circle(&self, drawing: &mut Drawing, layer: Layer, stroke: Stroke, radius: f64) {
        let closed = self.is_whole();
        drawing.items.push(Item { layer, shape: Shape::Line { points: self.arc(radius), closed, stroke } });
    }
}

/// A line on paper.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Run {
    pub points: Vec<[f64; 2]>,
    pub closed: bool,
}

/// The closed edge of a line that has one, as points.
pub(super) fn closed(line: &FaceLine) -> Option<Vec<[f64; 2]>> {
    match line {
        FaceLine::Cut(points) => Some(points.clone()),
        FaceLine::Dimple { centre: [at, angle], radius_m } => {
            let point = |k: usize| {
                let (sin, cos) = (TAU * k as f64 / DIMPLE_POINTS as f64).sin_cos();
                let (along, across) = (at + radius_m * cos, radius_m * sin);
                [along.hypot(across), angle + across.atan2(along)]
            };
            Some((0..DIMPLE_POINTS).map(point).collect())
        }
        FaceLine::Crest(_) | FaceLine::Valley(_) | FaceLine::Rim(_) => None,
    }
}

/// With points on the way wherever an edge follows the circumference.
pub(super) fn densified(corners: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut points = Vec::new();
    for (k, &[radius, angle]) in corners.iter().enumerate() {
        let [to_radius, to_angle] = corners[(k + 1) % corners.len()];
        let parts = ((to_angle - angle).abs() / STEP_RAD).ceil().max(1.0);
        points.extend((0..parts as usize).map(|part| {
            let share = part as f64 / parts;
            [radius + share * (to_radius - radius), angle + share * (to_angle - angle)]
        }));
    }
    points
}

/// The part of a polygon on one side, where `inside` is positive.
fn cut(polygon: &[[f64; 2]], inside: impl Fn([f64; 2]) -> f64) -> Vec<[f64; 2]> {
    let mut kept = Vec::with_capacity(polygon.len() + 2);
    for (k, &p) in polygon.iter().enumerate() {
        let q = polygon[(k + 1) % polygon.len()];
        let (depth, next) = (inside(p), inside(q));
        if depth >= 0.0 {
            kept.push(p);
        }
        if depth * next < 0.0 {
            let share = depth / (depth - next);
            kept.push([p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])]);
        }
    }
    kept
}

impl Drawing {
    /// A run of a line.
    pub(super) fn run(&mut self, layer: Layer, stroke: Stroke, run: &Run) {
        self.items.push(Item { layer, shape: Shape::Line { points: run.points.clone(), closed: run.closed, stroke } });
    }

    /// A narrow circle that leaves what lies under it.
    pub(super) fn ring(&mut self, layer: Layer, centre: [f64; 2], radius: f64) {
        self.items.push(Item { layer, shape: Shape::Ring { centre, radius } });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sector(hand: f64) -> Place {
        Place { centre: [10.0, 20.0], scale: 1000.0, hand, up: 0.0, half: 0.5 }
    }

    #[test]
    fn angles_run_as_the_shaft_turns() {
        let close = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]) < 1e-9;
        let quarter = 0.25 * TAU;
        assert!(close(sector(1.0).at([5e-3, 0.0]), [10.0, 25.0]));
        assert!(close(sector(1.0).at([5e-3, quarter]), [5.0, 20.0]), "anticlockwise");
        assert!(close(sector(-1.0).at([5e-3, quarter]), [15.0, 20.0]), "clockwise");
    }

    #[test]
    fn a_sector_keeps_what_lies_in_it_whatever_the_turn() {
        let place = sector(1.0);
        let square = [[5e-3, 0.3], [6e-3, 0.3], [6e-3, 0.8], [5e-3, 0.8]];
        for turn in [-TAU, 0.0, 3.0 * TAU] {
            let turned = square.map(|[r, angle]| [r, angle + turn]);
            let pieces = place.polygons(&turned);
            assert_eq!(pieces.len(), 1);
            let edge = place.at([5e-3, 0.5]);
            assert!(pieces[0].iter().any(|p| (p[0] - edge[0]).hypot(p[1] - edge[1]) < 1e-9), "cut at the end of the sector");
            let runs = place.lines(&turned, true);
            assert_eq!(runs.iter().map(|run| run.points.len()).sum::<usize>(), 5 - usize::from(runs.len() == 1), "{runs:?}");
        }
        assert!(place.polygons(&square.map(|[r, angle]| [r, angle + 1.0])).is_empty());
        assert!(place.lines(&square.map(|[r, angle]| [r, angle + 1.0]), true).is_empty());
    }

    #[test]
    fn a_long_spiral_comes_in_once_for_every_turn() {
        let spiral: Vec<[f64; 2]> = (0..=100).map(|k| [5e-3 + 1e-5 * f64::from(k), 0.15 * f64::from(k)]).collect();
        assert_eq!(sector(1.0).lines(&spiral, false).len(), 3, "15 radians: at 0, one and two turns");
    }
}
