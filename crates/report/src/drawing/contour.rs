//! Where a field over a mesh of 8-node elements lies above a level: closed loops, and the lines at the level among them.
//!
//! Painted over each other from the coldest to the hottest they show bands by a few paths instead of a polygon an element.

/// Triangles of an 8-node element, all turning alike: four at its corners, two across the middle.
pub(super) const TRIANGLES: [[usize; 3]; 6] = [[0, 4, 7], [4, 1, 5], [5, 2, 6], [6, 3, 7], [4, 5, 6], [4, 6, 7]];
/// Halves of its sides, turning alike.
const SIDES: [[usize; 2]; 8] = [[0, 4], [4, 1], [1, 5], [5, 2], [2, 6], [6, 3], [3, 7], [7, 0]];

/// Region above a level.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Above {
    /// Loops around it; holes turn the other way.
    pub loops: Vec<Vec<[f64; 2]>>,
    /// Lines at the level.
    pub lines: Vec<Vec<[f64; 2]>>,
}

/// A mesh ready for levels: triangles, and the half sides with nothing on the other side.
#[derive(Debug, Clone)]
pub(super) struct Mesh<'a> {
    points: &'a [[f64; 2]],
    values: &'a [f64],
    triangles: Vec<[usize; 3]>,
    rim: Vec<[usize; 2]>,
}

/// A node (both the same) or a cut of the side between two.
type Place = (usize, usize);

#[derive(Debug, Clone, Copy)]
struct Step {
    from: Place,
    to: Place,
    at_level: bool,
}

impl<'a> Mesh<'a> {
    pub fn new(points: &'a [[f64; 2]], elements: &[[usize; 8]], values: &'a [f64]) -> Self {
        let triangles = elements.iter().flat_map(|element| TRIANGLES.map(|t| t.map(|k| element[k]))).collect();
        let mut sides: Vec<[usize; 2]> = elements.iter().flat_map(|element| SIDES.map(|s| s.map(|k| element[k]))).collect();
        sides.sort_unstable();
        let rim = sides.iter().filter(|[a, b]| sides.binary_search(&[*b, *a]).is_err()).copied().collect();
        Self { points, values, triangles, rim }
    }

    /// What lies above a level.
    pub fn above(&self, level: f64) -> Above {
        let mut steps = Vec::new();
        let inside = |node: usize| self.values[node] >= level;
        for triangle in &self.triangles {
            let flags = triangle.map(inside);
            if flags[0] == flags[1] && flags[1] == flags[2] {
                continue;
            }
            let side = |from: bool| {
                (0..3).find(|i| flags[*i] == from && flags[(i + 1) % 3] != from).map(|i| cut(triangle[i], triangle[(i + 1) % 3]))
            };
            if let (Some(leaves), Some(enters)) = (side(true), side(false)) {
                steps.push(Step { from: leaves, to: enters, at_level: true });
            }
        }
        for &[a, b] in &self.rim {
            let (from, to) = match (inside(a), inside(b)) {
                (true, true) => ((a, a), (b, b)),
                (true, false) => ((a, a), cut(a, b)),
                (false, true) => (cut(a, b), (b, b)),
                (false, false) => continue,
            };
            steps.push(Step { from, to, at_level: false });
        }
        self.walked(steps, level)
    }

    fn walked(&self, mut steps: Vec<Step>, level: f64) -> Above {
        steps.sort_by_key(|step| step.from);
        let mut used = vec![false; steps.len()];
        let mut above = Above::default();
        // begin on the rim where there is one, so that no line at the level is cut in two
        let order = (0..steps.len()).filter(|k| !steps[*k].at_level).chain((0..steps.len()).filter(|k| steps[*k].at_level));
        for start in order.collect::<Vec<_>>() {
            if used[start] {
                continue;
            }
            let (mut loop_points, mut line) = (Vec::new(), Vec::new());
            let mut at = start;
            loop {
                used[at] = true;
                let step = steps[at];
                let point = self.point(step.from, level);
                loop_points.push(point);
                if step.at_level {
                    line.push(point);
                } else if !line.is_empty() {
                    line.push(point);
                    above.lines.push(std::mem::take(&mut line));
                }
                let first = steps.partition_point(|other| other.from < step.to);
                let next = (first..steps.len()).take_while(|k| steps[*k].from == step.to).find(|k| !used[*k]);
                let Some(next) = next else {
                    if !line.is_empty() {
                        line.push(self.point(step.to, level));
                        above.lines.push(line);
                    }
                    break;
                };
                at = next;
            }
            above.loops.push(loop_points);
        }
        above
    }

    fn point(&self, (a, b): Place, level: f64) -> [f64; 2] {
        let (p, q) = (self.points[a], self.points[b]);
        if a == b {
            return p;
        }
        let share = ((level - self.values[a]) / (self.values[b] - self.values[a])).clamp(0.0, 1.0);
        [p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])]
    }
}

fn cut(a: usize, b: usize) -> Place {
    (a.min(b), a.max(b))
}

/// Points that matter: those left out lie within a tolerance of the line through their neighbours kept (Ramer, Douglas and Peucker).
pub(super) fn simplified(points: &[[f64; 2]], tolerance: f64) -> Vec<[f64; 2]> {
    let Some(last) = points.len().checked_sub(1).filter(|last| *last > 1) else { return points.to_vec() };
    let mut kept = vec![false; points.len()];
    (kept[0], kept[last]) = (true, true);
    let mut spans = vec![(0, last)];
    while let Some((from, to)) = spans.pop() {
        let farthest = (from + 1..to).map(|k| (k, distance(points[k], points[from], points[to]))).max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((k, far)) = farthest.filter(|(_, far)| *far > tolerance) {
            debug_assert!(far.is_finite());
            kept[k] = true;
            spans.extend([(from, k), (k, to)]);
        }
    }
    points.iter().zip(kept).filter(|(_, kept)| *kept).map(|(point, _)| *point).collect()
}

fn distance(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length_squared = dx * dx + dy * dy;
    let share = if length_squared > 0.0 { (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length_squared).clamp(0.0, 1.0) } else { 0.0 };
    (p[0] - a[0] - share * dx).hypot(p[1] - a[1] - share * dy)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A row of unit squares along x, and a field over it.
    fn strip(count: usize, field: impl Fn([f64; 2]) -> f64) -> (Vec<[f64; 2]>, Vec<[usize; 8]>, Vec<f64>) {
        let mut points: Vec<[f64; 2]> = Vec::new();
        let mut node = |p: [f64; 2]| {
            points.iter().position(|q| *q == p).unwrap_or_else(|| {
                points.push(p);
                points.len() - 1
            })
        };
        let elements = (0..count)
            .map(|k| k as f64)
            .map(|x| {
                [[x, 0.0], [x + 1.0, 0.0], [x + 1.0, 1.0], [x, 1.0], [x + 0.5, 0.0], [x + 1.0, 0.5], [x + 0.5, 1.0], [x, 0.5]]
                    .map(&mut node)
            })
            .collect();
        let values = points.iter().map(|p| field(*p)).collect();
        (points, elements, values)
    }

    fn area(polygon: &[[f64; 2]]) -> f64 {
        let n = polygon.len();
        0.5 * (0..n).map(|i| polygon[i][0] * polygon[(i + 1) % n][1] - polygon[(i + 1) % n][0] * polygon[i][1]).sum::<f64>()
    }

    #[test]
    fn a_linear_field_is_cut_straight() {
        let (points, elements, values) = strip(3, |p| p[0]);
        let above = Mesh::new(&points, &elements, &values).above(1.25);
        assert_eq!((above.loops.len(), above.lines.len()), (1, 1));
        assert!((area(&above.loops[0]) - 1.75).abs() < 1e-12);
        assert!(above.lines[0].iter().all(|p| (p[0] - 1.25).abs() < 1e-12));
        assert_eq!(simplified(&above.lines[0], 1e-6).len(), 2);
    }

    #[test]
    fn all_above_is_the_rim_and_nothing_above_is_nothing() {
        let (points, elements, values) = strip(2, |p| p[0]);
        let mesh = Mesh::new(&points, &elements, &values);
        let all = mesh.above(-1.0);
        assert!((area(&all.loops[0]) - 2.0).abs() < 1e-12 && all.lines.is_empty());
        assert_eq!(mesh.above(5.0), Above::default());
    }

    /// A cold spot within: its rim turns the other way, so that areas subtract.
    #[test]
    fn a_hole_turns_the_other_way() {
        let (points, elements, values) = strip(3, |p| if p == [1.5, 0.0] { 1.0 } else { (p[0] - 1.5).abs() });
        let above = Mesh::new(&points, &elements, &values).above(0.25);
        let sum: f64 = above.loops.iter().map(|points| area(points)).sum();
        assert!(sum > 1.0 && sum < 3.0, "{sum}");
        let (points, elements, values) = strip(1, |p| f64::from(p == [0.5, 0.0]));
        let spot = Mesh::new(&points, &elements, &values).above(0.5);
        assert_eq!(spot.loops.len(), 1);
        assert!(area(&spot.loops[0]) > 0.0);
    }

    #[test]
    fn simplified_keeps_corners() {
        let zigzag = [[0.0, 0.0], [1.0, 0.01], [2.0, 0.0], [3.0, 1.0], [4.0, 2.0]];
        assert_eq!(simplified(&zigzag, 0.1), [[0.0, 0.0], [2.0, 0.0], [4.0, 2.0]]);
    }
}
