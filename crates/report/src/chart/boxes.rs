//! Boxes of texts, and lines inside a box.

/// A rectangle, y downward, px.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rect {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Rect {
    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }

    pub fn holds(&self, other: &Self) -> bool {
        self.left <= other.left && other.right <= self.right && self.top <= other.top && other.bottom <= self.bottom
    }

    pub fn has(&self, [x, y]: [f64; 2]) -> bool {
        (self.left..=self.right).contains(&x) && (self.top..=self.bottom).contains(&y)
    }

    pub fn grown(&self, by: f64) -> Self {
        Self { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    /// Square of the distance of a segment from the rectangle, 0 where it touches it.
    pub fn square_distance(&self, from: [f64; 2], to: [f64; 2]) -> f64 {
        if clipped(from, to, self).is_some() {
            return 0.0;
        }
        let corners = [[self.left, self.top], [self.right, self.top], [self.right, self.bottom], [self.left, self.bottom]];
        let ends = [from, to].into_iter().map(|end| self.square_distance_of_box(end, end));
        corners.into_iter().map(|corner| square_distance_to_segment(corner, from, to)).chain(ends).fold(f64::INFINITY, f64::min)
    }

    /// The same for the box around a segment, which is no farther than the segment.
    pub fn square_distance_of_box(&self, from: [f64; 2], to: [f64; 2]) -> f64 {
        let dx = (self.left - from[0].max(to[0])).max(from[0].min(to[0]) - self.right).max(0.0);
        let dy = (self.top - from[1].max(to[1])).max(from[1].min(to[1]) - self.bottom).max(0.0);
        dx * dx + dy * dy
    }
}

fn square_distance_to_segment([x, y]: [f64; 2], [ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> f64 {
    let (dx, dy) = (bx - ax, by - ay);
    let length = dx * dx + dy * dy;
    let share = if length > 0.0 { (((x - ax) * dx + (y - ay) * dy) / length).clamp(0.0, 1.0) } else { 0.0 };
    (x - ax - share * dx).powi(2) + (y - ay - share * dy).powi(2)
}

/// Width of a text at a font size, on the wide side of common sans-serif faces, so that what was measured free is free.
pub(super) fn text_width(text: &str, size: f64) -> f64 {
    let of = |c: char| match c {
        ' ' | '.' | ',' | ':' | ';' | '\'' | '|' | 'i' | 'j' | 'l' | 'I' => 0.34,
        'f' | 't' | 'r' | '(' | ')' | '/' | '-' => 0.42,
        'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.98,
        'A'..='Z' => 0.74,
        _ => 0.64,
    };
    size * text.chars().map(of).sum::<f64>()
}

/// The part of a segment inside a rectangle (Liang and Barsky 1984, from memory); none where it lies outside.
pub(super) fn clipped(from: [f64; 2], to: [f64; 2], within: &Rect) -> Option<[[f64; 2]; 2]> {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let (mut enters, mut leaves) = (0.0_f64, 1.0_f64);
    let sides = [(-dx, from[0] - within.left), (dx, within.right - from[0]), (-dy, from[1] - within.top), (dy, within.bottom - from[1])];
    for (toward, room) in sides {
        if toward == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if toward < 0.0 {
            enters = enters.max(room / toward);
        } else {
            leaves = leaves.min(room / toward);
        }
    }
    let at = |share: f64| [from[0] + share * dx, from[1] + share * dy];
    (enters <= leaves).then(|| [if enters == 0.0 { from } else { at(enters) }, if leaves == 1.0 { to } else { at(leaves) }])
}

/// Runs of a broken line inside a rectangle; a point without neighbours is a run of one.
pub(super) fn runs(points: &[Option<[f64; 2]>], within: &Rect) -> Vec<Vec<[f64; 2]>> {
    let mut runs: Vec<Vec<[f64; 2]>> = Vec::new();
    for line in points.split(Option::is_none) {
        let line: Vec<[f64; 2]> = line.iter().flatten().copied().collect();
        if let [alone] = line[..] {
            runs.extend(within.has(alone).then(|| vec![alone]));
            continue;
        }
        let mut open = false;
        for pair in line.windows(2) {
            match clipped(pair[0], pair[1], within) {
                Some([from, to]) => {
                    match runs.last_mut().filter(|_| open) {
                        Some(run) => run.push(to),
                        None => runs.push(vec![from, to]),
                    }
                    open = to == pair[1];
                }
                None => open = false,
            }
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    const UNIT: Rect = Rect { left: 0.0, top: 0.0, right: 10.0, bottom: 10.0 };

    #[test]
    fn lines_end_at_the_edge() {
        assert_eq!(clipped([-5.0, 5.0], [15.0, 5.0], &UNIT), Some([[0.0, 5.0], [10.0, 5.0]]));
        assert_eq!(clipped([-5.0, 5.0], [-1.0, 20.0], &UNIT), None);
        assert_eq!(clipped([2.0, 2.0], [3.0, 4.0], &UNIT), Some([[2.0, 2.0], [3.0, 4.0]]));
        assert_eq!(clipped([5.0, -1.0], [5.0, 30.0], &UNIT), Some([[5.0, 0.0], [5.0, 10.0]]));
    }

    #[test]
    fn a_line_that_leaves_and_returns_is_two_runs() {
        let line = [[2.0, 2.0], [2.0, 14.0], [6.0, 14.0], [6.0, 4.0], [8.0, 4.0]].map(Some);
        assert_eq!(runs(&line, &UNIT), [vec![[2.0, 2.0], [2.0, 10.0]], vec![[6.0, 10.0], [6.0, 4.0], [8.0, 4.0]]]);
    }

    #[test]
    fn missing_values_break_a_line_and_single_points_stay() {
        let line = [Some([1.0, 1.0]), None, Some([2.0, 2.0]), Some([3.0, 3.0]), None, Some([20.0, 2.0])];
        assert_eq!(runs(&line, &UNIT), [vec![[1.0, 1.0]], vec![[2.0, 2.0], [3.0, 3.0]]]);
        assert!(runs(&[], &UNIT).is_empty() && runs(&[None, None], &UNIT).is_empty());
    }

    #[test]
    fn distances() {
        assert_eq!(UNIT.square_distance([12.0, 0.0], [12.0, 10.0]), 4.0);
        assert_eq!(UNIT.square_distance([-3.0, 5.0], [13.0, 5.0]), 0.0);
        assert_eq!(UNIT.square_distance([13.0, 14.0], [13.0, 20.0]), 25.0);
    }

    proptest::proptest! {
        /// What is drawn lies inside and on the line.
        #[test]
        fn clipping_keeps_to_line_and_frame(x in -30.0..30.0f64, y in -30.0..30.0f64, u in -30.0..30.0f64, v in -30.0..30.0f64) {
            if let Some(part) = clipped([x, y], [u, v], &UNIT) {
                for point in part {
                    proptest::prop_assert!(UNIT.grown(1e-9).has(point));
                    proptest::prop_assert!(square_distance_to_segment(point, [x, y], [u, v]) < 1e-18);
                }
            } else {
                for share in 0..=100 {
                    let share = f64::from(share) / 100.0;
                    proptest::prop_assert!(!UNIT.grown(-1e-9).has([x + share * (u - x), y + share * (v - y)]));
                }
            }
        }
    }
}
