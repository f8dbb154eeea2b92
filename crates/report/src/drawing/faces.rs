//! Rings drawn deformed along the shaft: what is a micrometre becomes a millimetre of paper, by a stated factor.
//!
//! Radial displacements are left out: a radius of the picture stays the radius that dimensions and curves beside it mean. So is the even
//! stretch of each ring along the shaft, by which no face changes its form.

use halfmicron::model::{Model, Ring, RingRole};
use halfmicron::outcome::{Equilibrium, RingField};

use super::{DrawingError, Exaggeration};

/// Share of the depth of the first step of a ring to which its face may be moved.
const MOST_OF_STEP: f64 = 0.8;

/// Both rings with their axial displacements and the film between, drawn larger than they are.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Deformed<'a> {
    pub factor: f64,
    /// Half the gap at the inner edge, m.
    half_gap_m: f64,
    gap_m: &'a [f64],
    rings: [Moved<'a>; 2],
}

/// One ring: what the solver moved, and the form that lapping gave its face.
#[derive(Debug, Clone, PartialEq)]
struct Moved<'a> {
    field: &'a RingField,
    /// Lapped form at the nodes of the face, m.
    lapped_m: Vec<f64>,
    /// z of the first step, to which the lapped form fades out, m.
    step_m: f64,
    /// Even stretch along the shaft, left out: exaggerated it would hide the shape, and the face knows nothing of it.
    stretch: f64,
}

impl<'a> Moved<'a> {
    fn new(field: &'a RingField, ring: &Ring) -> Self {
        let z = ring.parts.iter().flat_map(|part| part.corners_m).map(|corner| corner[1]);
        let step_m = z.filter(|z| *z > 1e-6).fold(f64::INFINITY, f64::min);
        let axial = |r: f64| nearest(field, [r, 0.0]).map_or(0.0, |node| field.axial_m[node]);
        let lapped_m = field.face_radius_m.iter().zip(&field.face_shape_m).map(|(r, shape)| shape - axial(*r)).collect();
        Self { field, lapped_m, step_m, stretch: stretch(field) }
    }

    /// Motion of a node, m: its displacement, and on the face its lapped form, which goes straight on beyond the band.
    fn at_node(&self, node: usize) -> f64 {
        let [r, z] = self.field.nodes_m[node];
        let left = (1.0 - z / self.step_m).clamp(0.0, 1.0);
        let lapped = if left > 0.0 { left * interpolated(&self.field.face_radius_m, &self.lapped_m, r) } else { 0.0 };
        self.field.axial_m[node] - self.stretch * z + lapped
    }
}

impl<'a> Deformed<'a> {
    /// Drawn so that the greatest of gap and face form takes no more than `most_m` of the ring's own size, if automatic.
    pub fn new(model: &Model, equilibrium: &'a Equilibrium, most_m: f64, wanted: Exaggeration) -> Result<Option<Self>, DrawingError> {
        let (Some(rotating), Some(stationary)) = (&equilibrium.rings.rotating.field, &equilibrium.rings.stationary.field) else {
            return Ok(None);
        };
        let gap_m = &equilibrium.profiles.gap_m;
        let mut deformed = Self {
            factor: 1.0,
            half_gap_m: 0.5 * gap_m.first().copied().unwrap_or_default(),
            gap_m,
            rings: [Moved::new(rotating, &model.rotating_ring), Moved::new(stationary, &model.stationary_ring)],
        };
        let most = deformed.most();
        deformed.factor = match wanted {
            Exaggeration::Factor(factor) if !(factor.is_finite() && factor > 0.0) => return Err(DrawingError::Factor(factor)),
            Exaggeration::Factor(factor) if factor > most => {
                return Err(DrawingError::Exaggerated { factor, moved_mm: 1e3 * factor * deformed.greatest_m(), most: one_two_five(most) });
            }
            Exaggeration::Factor(factor) => factor,
            Exaggeration::Automatic => {
                let greatest = |values: &mut dyn Iterator<Item = &f64>| values.fold(f64::MIN_POSITIVE, |most, v| most.max(v.abs()));
                let gap = greatest(&mut deformed.gap_m.iter());
                let shape = greatest(&mut deformed.rings.iter().flat_map(|ring| &ring.field.face_shape_m));
                // rings that turn together may take more room than the film between them
                one_two_five((most_m / gap).min(1.5 * most_m / shape).min(most))
            }
        };
        Ok(Some(deformed))
    }

    /// Greatest motion of the plane of a face from where it lay, m.
    fn greatest_m(&self) -> f64 {
        let of_ring = |ring: &Moved| ring.on_face().map(|motion| (self.half_gap_m + motion).abs()).fold(0.0, f64::max);
        self.rings.iter().map(of_ring).fold(0.0, f64::max)
    }

    /// Greatest factor: no face comes out of its plane by more than a part of the nearest step, and nothing is turned inside out.
    fn most(&self) -> f64 {
        let step_m = self.rings.iter().map(|ring| ring.step_m).fold(f64::INFINITY, f64::min);
        let out = |ring: &Moved| ring.on_face().map(|motion| -(self.half_gap_m + motion)).fold(f64::MIN_POSITIVE, f64::max);
        let lapped = |ring: &Moved| ring.lapped_m.iter().fold(f64::MIN_POSITIVE, |most, form| most.max(form.abs())) / ring.step_m;
        self.rings
            .iter()
            .map(|ring| (MOST_OF_STEP * step_m / out(ring)).min(MOST_OF_STEP / ring.compression().max(lapped(ring))))
            .fold(f64::INFINITY, f64::min)
    }

    fn drawn(&self, role: RingRole, node: usize) -> [f64; 2] {
        let ring = &self.rings[index(role)];
        let [r, z] = ring.field.nodes_m[node];
        [r, z + self.factor * (self.half_gap_m + ring.at_node(node))]
    }

    /// A point of a ring or of what is fixed to it, drawn: it goes with the nearest node.
    pub fn moved(&self, role: RingRole, [r, z]: [f64; 2]) -> [f64; 2] {
        let ring = &self.rings[index(role)];
        let motion = nearest(ring.field, [r, z]).map_or(0.0, |node| ring.at_node(node));
        [r, z + self.factor * (self.half_gap_m + motion)]
    }

    /// Every node of a ring, drawn.
    pub fn nodes(&self, role: RingRole) -> Vec<[f64; 2]> {
        (0..self.rings[index(role)].field.nodes_m.len()).map(|node| self.drawn(role, node)).collect()
    }

    /// The outlines of a body, drawn: the nodes on each side put in between its corners.
    pub fn outlines(&self, role: RingRole, outlines: &[Vec<[f64; 2]>]) -> Vec<Vec<[f64; 2]>> {
        let field = self.rings[index(role)].field;
        let own = nodes_within(field, outlines);
        let side = |from: [f64; 2], to: [f64; 2]| -> Vec<[f64; 2]> {
            let mut on: Vec<(f64, usize)> = own.iter().filter_map(|node| Some((along(from, to, field.nodes_m[*node])?, *node))).collect();
            on.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            on.dedup_by(|a, b| (a.0 - b.0).abs() < 1e-9);
            on.into_iter().filter(|(share, _)| *share < 1.0 - 1e-9).map(|(_, node)| self.drawn(role, node)).collect()
        };
        outlines
            .iter()
            .map(|outline| (0..outline.len()).flat_map(|i| side(outline[i], outline[(i + 1) % outline.len()])).collect())
            .collect()
    }

    /// The face of a ring over the running band, drawn.
    pub fn face(&self, role: RingRole) -> Vec<[f64; 2]> {
        let field = self.rings[index(role)].field;
        let drawn = |(r, shape): (&f64, &f64)| [*r, self.factor * (self.half_gap_m + shape)];
        field.face_radius_m.iter().zip(&field.face_shape_m).map(drawn).collect()
    }

    /// The film between the faces over the running band, placed by `place`.
    pub fn film(&self, place: impl Fn(RingRole, [f64; 2]) -> [f64; 2]) -> Vec<[f64; 2]> {
        let face = |role: RingRole| self.face(role).into_iter().map(|point| place(role, point)).collect::<Vec<_>>();
        let mut around = face(RingRole::Rotating);
        around.extend(face(RingRole::Stationary).into_iter().rev());
        around
    }
}

impl Moved<'_> {
    /// Motions of the nodes on the plane of the face, m.
    fn on_face(&self) -> impl Iterator<Item = f64> {
        let on_face = self.field.nodes_m.iter().enumerate().filter(|(_, p)| p[1].abs() < 1e-7);
        on_face.map(|(node, _)| self.at_node(node))
    }

    /// Greatest shortening of a side of an element that runs along the shaft, relative.
    fn compression(&self) -> f64 {
        let sides = self.field.elements.iter().flat_map(|e| [[e[0], e[1]], [e[1], e[2]], [e[2], e[3]], [e[3], e[0]]]);
        let shortening = |[a, b]: [usize; 2]| {
            let (p, q) = (self.field.nodes_m[a], self.field.nodes_m[b]);
            let (dr, dz) = (q[0] - p[0], q[1] - p[1]);
            (dz.abs() > dr.abs()).then(|| -(self.at_node(b) - self.at_node(a)) / dz)
        };
        sides.filter_map(shortening).fold(f64::MIN_POSITIVE, f64::max)
    }
}

/// Even stretch of a ring along the shaft: the slope of its axial displacement over z, by least squares.
fn stretch(field: &RingField) -> f64 {
    let count = field.nodes_m.len().max(1) as f64;
    let mean_z = field.nodes_m.iter().map(|p| p[1]).sum::<f64>() / count;
    let mean_u = field.axial_m.iter().sum::<f64>() / count;
    let sums = field.nodes_m.iter().zip(&field.axial_m).fold([0.0; 2], |[zz, zu], (p, u)| {
        let z = p[1] - mean_z;
        [zz + z * z, zu + z * (u - mean_u)]
    });
    if sums[0] > 0.0 { sums[1] / sums[0] } else { 0.0 }
}

/// The node nearest to a point.
fn nearest(field: &RingField, [r, z]: [f64; 2]) -> Option<usize> {
    let far = |p: &[f64; 2]| (p[0] - r).powi(2) + (p[1] - z).powi(2);
    field.nodes_m.iter().enumerate().min_by(|a, b| far(a.1).total_cmp(&far(b.1))).map(|(node, _)| node)
}

/// Nodes of the elements whose middle lies within outlines.
fn nodes_within(field: &RingField, outlines: &[Vec<[f64; 2]>]) -> Vec<usize> {
    let middle = |element: &[usize; 8]| [0, 1].map(|axis| element[..4].iter().map(|node| field.nodes_m[*node][axis]).sum::<f64>() / 4.0);
    let crosses = |a: [f64; 2], b: [f64; 2], p: [f64; 2]| {
        (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
    };
    let within = |p: [f64; 2]| {
        let sides = outlines.iter().flat_map(|outline| (0..outline.len()).map(|i| (outline[i], outline[(i + 1) % outline.len()])));
        sides.filter(|(a, b)| crosses(*a, *b, p)).count() % 2 == 1
    };
    let mut nodes: Vec<usize> = field.elements.iter().filter(|element| within(middle(element))).flatten().copied().collect();
    nodes.sort_unstable();
    nodes.dedup();
    nodes
}

/// Share of the way along a side at which a point lies, where it lies on it.
fn along(from: [f64; 2], to: [f64; 2], p: [f64; 2]) -> Option<f64> {
    let (dr, dz) = (to[0] - from[0], to[1] - from[1]);
    let length = dr.hypot(dz);
    let off = ((p[0] - from[0]) * dz - (p[1] - from[1]) * dr).abs() / length;
    let share = ((p[0] - from[0]) * dr + (p[1] - from[1]) * dz) / (length * length);
    (off < 1e-8 && share > -1e-9 && share < 1.0 + 1e-9).then_some(share)
}

fn index(role: RingRole) -> usize {
    usize::from(role == RingRole::Stationary)
}

fn interpolated(radius: &[f64], values: &[f64], r: f64) -> f64 {
    let count = radius.len().min(values.len());
    if count < 2 {
        return values.first().copied().unwrap_or_default();
    }
    let k = radius[..count].partition_point(|node| *node < r).clamp(1, count - 1);
    let share = (r - radius[k - 1]) / (radius[k] - radius[k - 1]);
    values[k - 1] + share * (values[k] - values[k - 1])
}

/// The greatest of 1, 2, 5 times a power of ten that is no greater than a value.
fn one_two_five(value: f64) -> f64 {
    if !(value.is_finite() && value > 0.0) {
        return 1.0;
    }
    let power = 10f64.powf(value.log10().floor());
    [5.0, 2.0].into_iter().map(|digit| digit * power).find(|round| *round <= value * (1.0 + 1e-9)).unwrap_or(power)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factors_are_round() {
        assert_eq!([1.0, 1999.0, 2000.0, 7300.0, 0.04].map(one_two_five), [1.0, 1000.0, 2000.0, 5000.0, 0.02]);
    }

    #[test]
    fn between_nodes_linear_and_beyond_straight_on() {
        let at = |r: f64| interpolated(&[1.0, 2.0, 3.0], &[0.0, 1.0, 3.0], r);
        assert_eq!([1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 0.0].map(at), [0.0, 0.5, 1.0, 2.0, 3.0, 5.0, -1.0]);
    }
}
