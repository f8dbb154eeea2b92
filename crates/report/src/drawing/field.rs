//! Temperatures of a ring as bands of colour, from a scale that is perceptually even, and the lines between them.

use halfmicron::model::RingRole;
use halfmicron::outcome::{Equilibrium, RingField};
use halfmicron::sheet::UnitSet;
use halfmicron::sheet::units::{Kind, unit};

use super::contour::TRIANGLES;
use super::{Colour, colour};

/// About how many bands there are.
const BANDS: f64 = 10.0;
/// Differences below which a temperature is shown as one, in the unit of the reader.
const EVEN: f64 = 0.05;

/// Edges of the bands in the unit of the reader, rising.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Bands {
    pub edges: Vec<f64>,
    pub decimals: usize,
    pub label: &'static str,
    /// Whether all of it is as warm as can be told: one band.
    pub even: bool,
    set: UnitSet,
}

/// Triangles or parts of triangles of one band, `[r, z]` of their ring, m.
pub(super) type Pieces = Vec<Vec<[f64; 2]>>;

impl Bands {
    /// Bands over the temperatures of both rings.
    pub fn new(equilibrium: &Equilibrium, set: UnitSet) -> Option<Self> {
        let fields = [&equilibrium.rings.rotating.field, &equilibrium.rings.stationary.field];
        let shown = unit(Kind::Temperature, set);
        let all = fields.into_iter().flatten().flat_map(|field| &field.temperature_k).map(|t| shown.convert(*t));
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), t| (low.min(t), high.max(t)));
        if !(low.is_finite() && high.is_finite()) {
            return None;
        }
        if high - low < EVEN {
            let middle = 0.5 * (low + high);
            return Some(Self { edges: vec![middle - 0.5 * EVEN, middle + 0.5 * EVEN], decimals: 1, label: shown.label, even: true, set });
        }
        let step = nice((high - low) / BANDS);
        let first = (low / step).floor();
        let count = (high / step - first).ceil().max(1.0) as usize;
        let edges = (0..=count).map(|k| (first + k as f64) * step).collect();
        Some(Self { edges, decimals: (-step.log10().floor()).max(0.0) as usize, label: shown.label, even: false, set })
    }

    /// The middle of all bands.
    pub fn middle(&self) -> f64 {
        0.5 * (self.edges[0] + self.edges[self.edges.len() - 1])
    }

    /// Colour of a band.
    pub fn colour(&self, band: usize) -> Colour {
        colour::of_band(band, self.edges.len() - 1)
    }

    /// Temperature at each node of a ring in the unit of the reader.
    pub fn shown(&self, field: &RingField) -> Vec<f64> {
        let shown = unit(Kind::Temperature, self.set);
        field.temperature_k.iter().map(|t| shown.convert(*t)).collect()
    }

    /// What of a ring lies in each band, its nodes at the places given.
    pub fn pieces(&self, field: &RingField, nodes: &[[f64; 2]]) -> Vec<Pieces> {
        let shown = unit(Kind::Temperature, self.set);
        let count = self.edges.len() - 1;
        let mut bands: Vec<Pieces> = vec![Vec::new(); count];
        for element in &field.elements {
            let values = element.map(|node| shown.convert(field.temperature_k[node]));
            let corners = element.map(|node| nodes[node]);
            let band_of = |t: f64| (self.edges.partition_point(|edge| *edge <= t).max(1) - 1).min(count - 1);
            let (low, high) = values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), t| (low.min(*t), high.max(*t)));
            if band_of(low) == band_of(high) {
                bands[band_of(low)].push(corners[..4].to_vec());
                continue;
            }
            for triangle in TRIANGLES {
                let points: Vec<[f64; 3]> = triangle.iter().map(|k| [corners[*k][0], corners[*k][1], values[*k]]).collect();
                for band in band_of(low)..=band_of(high) {
                    let above = clipped(&points, self.edges[band], 1.0);
                    let within = clipped(&above, self.edges[band + 1], -1.0);
                    if within.len() > 2 {
                        bands[band].push(within.iter().map(|p| [p[0], p[1]]).collect());
                    }
                }
            }
        }
        bands
    }

    /// Lines of constant temperature at the inner edges of the bands.
    pub fn lines(&self, field: &RingField, nodes: &[[f64; 2]]) -> Vec<[[f64; 2]; 2]> {
        let shown = unit(Kind::Temperature, self.set);
        let mut lines = Vec::new();
        for element in &field.elements {
            for triangle in TRIANGLES {
                let points = triangle.map(|k| nodes[element[k]]);
                let values = triangle.map(|k| shown.convert(field.temperature_k[element[k]]));
                for level in &self.edges[1..self.edges.len() - 1] {
                    let cuts: Vec<[f64; 2]> = (0..3).filter_map(|i| cut(i, &points, &values, *level)).collect();
                    if let [a, b] = cuts[..] {
                        lines.push([a, b]);
                    }
                }
            }
        }
        lines
    }
}

fn cut(side: usize, points: &[[f64; 2]; 3], values: &[f64; 3], level: f64) -> Option<[f64; 2]> {
    let (i, j) = (side, (side + 1) % 3);
    let (a, b) = (values[i] - level, values[j] - level);
    ((a < 0.0) != (b < 0.0)).then(|| {
        let share = a / (a - b);
        [points[i][0] + share * (points[j][0] - points[i][0]), points[i][1] + share * (points[j][1] - points[i][1])]
    })
}

/// The part of a polygon `[r, z, value]` where the value lies above (`side` 1) or below (-1) a level.
fn clipped(points: &[[f64; 3]], level: f64, side: f64) -> Vec<[f64; 3]> {
    let mut kept = Vec::with_capacity(points.len() + 1);
    for (i, &p) in points.iter().enumerate() {
        let q = points[(i + 1) % points.len()];
        let (dp, dq) = (side * (p[2] - level), side * (q[2] - level));
        if dp >= 0.0 {
            kept.push(p);
        }
        if dp * dq < 0.0 {
            let share = dp / (dp - dq);
            kept.push([0, 1, 2].map(|k| p[k] + share * (q[k] - p[k])));
        }
    }
    kept
}

/// The smallest of 1, 2, 5 times a power of ten that is no less than a value.
fn nice(value: f64) -> f64 {
    let power = 10f64.powf(value.log10().floor());
    [1.0, 2.0, 5.0].into_iter().map(|digit| digit * power).find(|step| *step >= value * (1.0 - 1e-9)).unwrap_or(10.0 * power)
}

/// Field of a ring.
pub(super) fn of(equilibrium: &Equilibrium, role: RingRole) -> Option<&RingField> {
    match role {
        RingRole::Rotating => equilibrium.rings.rotating.field.as_ref(),
        RingRole::Stationary => equilibrium.rings.stationary.field.as_ref(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One square element of 1 m, 20 degC on the left, 40 degC on the right.
    fn square() -> RingField {
        let nodes_m = vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0], [0.5, 0.0], [1.0, 0.5], [0.5, 1.0], [0.0, 0.5]];
        let temperature_k = nodes_m.iter().map(|p: &[f64; 2]| 293.15 + 20.0 * p[0]).collect();
        RingField { nodes_m, elements: vec![[0, 1, 2, 3, 4, 5, 6, 7]], temperature_k, ..RingField::default() }
    }

    #[test]
    fn bands_fill_the_section_and_lines_stand_where_they_belong() {
        let bands = Bands { edges: vec![20.0, 25.0, 30.0, 40.0], decimals: 0, label: "degC", even: false, set: UnitSet::Si };
        let area = |polygon: &Vec<[f64; 2]>| {
            let n = polygon.len();
            0.5 * (0..n).map(|i| polygon[i][0] * polygon[(i + 1) % n][1] - polygon[(i + 1) % n][0] * polygon[i][1]).sum::<f64>()
        };
        let areas: Vec<f64> = bands.pieces(&square(), &square().nodes_m).iter().map(|pieces| pieces.iter().map(area).sum()).collect();
        for (area, expected) in areas.iter().zip([0.25, 0.25, 0.5]) {
            assert!((area - expected).abs() < 1e-9, "{areas:?}");
        }
        let lines = bands.lines(&square(), &square().nodes_m);
        assert!(lines.iter().flatten().all(|p| (p[0] - 0.25).abs() < 1e-9 || (p[0] - 0.5).abs() < 1e-9), "{lines:?}");
    }

    #[test]
    fn steps_are_nice() {
        assert_eq!([0.3, 1.0, 1.2, 4.0, 6.0].map(nice), [0.5, 1.0, 2.0, 5.0, 10.0]);
    }
}
