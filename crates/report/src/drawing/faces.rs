//! Faces drawn deformed: what is a micrometre becomes a millimetre of paper, by a stated factor.

use halfmicron::model::{Model, RingRole};
use halfmicron::outcome::Equilibrium;

use super::bodies::rings;
use super::{DrawingError, Exaggeration, Frame};

/// What `auto` aims at on paper, mm.
const AUTOMATIC_MM: f64 = 2.5;
/// Share of the depth of the first step of a ring to which its face may be moved.
const MOST_OF_STEP: f64 = 0.8;

/// Faces moved from the plane `z = 0` of their rings.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Deformed {
    pub factor: f64,
    /// Half the gap at the inner edge, exaggerated, m.
    half_gap_m: f64,
    radius_m: Vec<f64>,
    gap_m: Vec<f64>,
    shapes_m: [Vec<f64>; 2],
    /// z of the first step of each ring, from which on nothing moves, m.
    steps_m: [f64; 2],
}

impl Deformed {
    pub fn new(model: &Model, equilibrium: &Equilibrium, frame: &Frame, wanted: Exaggeration) -> Result<Option<Self>, DrawingError> {
        let (Some(rotating), Some(stationary)) = (&equilibrium.rings.rotating.field, &equilibrium.rings.stationary.field) else {
            return Ok(None);
        };
        let mut steps = rings(model).map(|ring| {
            let z = ring.parts.iter().flat_map(|part| part.corners_m).map(|corner| corner[1]);
            z.filter(|z| *z > 1e-6).fold(f64::INFINITY, f64::min)
        });
        let steps_m = [steps.next().unwrap_or(f64::INFINITY), steps.next().unwrap_or(f64::INFINITY)];
        let inner = equilibrium.profiles.gap_m.first().copied().unwrap_or_default();
        let mut deformed = Self {
            factor: 1.0,
            half_gap_m: 0.5 * inner,
            radius_m: rotating.face_radius_m.clone(),
            gap_m: equilibrium.profiles.gap_m.clone(),
            shapes_m: [rotating.face_shape_m.clone(), stationary.face_shape_m.clone()],
            steps_m,
        };
        let share = [RingRole::Rotating, RingRole::Stationary]
            .map(|role| deformed.greatest(model, role) / deformed.steps_m[index(role)])
            .into_iter()
            .fold(0.0, f64::max);
        let most = MOST_OF_STEP / share;
        deformed.factor = match wanted {
            Exaggeration::Factor(factor) if !(factor.is_finite() && factor > 0.0) => return Err(DrawingError::Factor(factor)),
            Exaggeration::Factor(factor) if factor > most => {
                let moved =
                    [RingRole::Rotating, RingRole::Stationary].map(|role| deformed.greatest(model, role)).into_iter().fold(0.0, f64::max);
                return Err(DrawingError::Exaggerated { factor, moved_mm: 1e3 * factor * moved, most: one_two_five(most) });
            }
            Exaggeration::Factor(factor) => factor,
            Exaggeration::Automatic => {
                let largest = deformed.gap_m.iter().chain(deformed.shapes_m.iter().flatten()).fold(0.0_f64, |most, v| most.max(v.abs()));
                one_two_five((AUTOMATIC_MM / (frame.scale.mm_per_m() * largest)).min(most))
            }
        };
        Ok(Some(deformed))
    }

    fn greatest(&self, model: &Model, role: RingRole) -> f64 {
        let corners = rings(model).filter(|ring| ring.role == role).flat_map(|ring| &ring.parts).flat_map(|part| part.corners_m);
        let radii = corners.filter(|corner| corner[1].abs() < 1e-7).map(|corner| corner[0]).chain(self.radius_m.iter().copied());
        radii.map(|r| self.face_m(role, r).abs()).fold(0.0, f64::max)
    }

    /// z of a face at a radius, true size, m: half the inner gap and its own shape; beyond the band it goes straight on.
    fn face_m(&self, role: RingRole, r: f64) -> f64 {
        self.half_gap_m + interpolated(&self.radius_m, &self.shapes_m[index(role)], r)
    }

    /// A point of a ring, drawn: the face by the whole of its motion, less and less down to the first step.
    pub fn moved(&self, role: RingRole, [r, z]: [f64; 2]) -> [f64; 2] {
        let left = (1.0 - z / self.steps_m[index(role)]).clamp(0.0, 1.0);
        [r, z + left * self.factor * self.face_m(role, r)]
    }

    /// An outline with the nodes of the face put into its edge on the plane of the face, everything moved.
    pub fn outline(&self, role: RingRole, outline: &[[f64; 2]]) -> Vec<[f64; 2]> {
        let on_face = |p: [f64; 2]| p[1].abs() < 1e-7;
        let mut moved = Vec::new();
        for (i, &from) in outline.iter().enumerate() {
            let to = outline[(i + 1) % outline.len()];
            moved.push(self.moved(role, from));
            if on_face(from) && on_face(to) {
                let mut between: Vec<f64> = self.radius_m.iter().copied().filter(|r| (r - from[0]) * (to[0] - r) > 1e-12).collect();
                if to[0] < from[0] {
                    between.reverse();
                }
                moved.extend(between.into_iter().map(|r| self.moved(role, [r, 0.0])));
            }
        }
        moved
    }

    /// The film between the faces over the running band, mm of paper.
    pub fn film(&self, frame: &Frame) -> Vec<[f64; 2]> {
        let face = |role: RingRole| self.radius_m.iter().map(move |r| frame.on_paper(role, self.moved(role, [*r, 0.0])));
        let mut around: Vec<[f64; 2]> = face(RingRole::Rotating).collect();
        around.extend(face(RingRole::Stationary).rev());
        around
    }
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
