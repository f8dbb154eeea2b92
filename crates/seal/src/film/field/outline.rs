//! Edges of textures as they lie on the face: what a drawing shows, by the very measures that the film is solved with.

use std::f64::consts::TAU;

use super::depth::turn;
use crate::model::{Grooves, Texture, TextureForm};

/// Greatest angle between neighbouring points of an edge along the circumference, rad: a chord then leaves its arc by a few micrometres.
const STEP_RAD: f64 = 0.0175;
/// Points of a spiral edge.
const SPIRAL_POINTS: usize = 40;

/// One line of a texture; points are `[radius (m), angle (rad)]`, angles counted in the sense in which the shaft turns.
#[derive(Debug, Clone, PartialEq)]
pub enum FaceLine {
    /// Closed edge of what is cut into the face.
    Cut(Vec<[f64; 2]>),
    /// Edge of a round dimple.
    Dimple {
        /// Centre `[radius, angle]`.
        centre: [f64; 2],
        /// Radius of the dimple, m.
        radius_m: f64,
    },
    /// Ray along which the face stands nearest to the other.
    Crest(f64),
    /// Ray along which it stands farthest away.
    Valley(f64),
    /// Circle at which a cone begins or ends, m.
    Rim(f64),
}

/// Every line of a texture, all the way round.
pub fn face_lines(texture: &Texture) -> Vec<FaceLine> {
    lines(texture, 1)
}

/// The lines of a texture that belong to the first of so many equal sectors of the face; turned by a sector they are those of the next.
/// Circles about the axis belong to every one.
pub fn sector_lines(texture: &Texture, sectors: usize) -> Vec<FaceLine> {
    lines(texture, u32::try_from(sectors).unwrap_or(u32::MAX).max(1))
}

fn lines(texture: &Texture, sectors: u32) -> Vec<FaceLine> {
    // What is alone on the face is no part of several sectors.
    let share = |count: u32| (count / sectors).max(1);
    match &texture.form {
        TextureForm::SpiralGrooves { grooves, .. } => {
            let [inner, outer] = grooves.radii_m;
            let radii: Vec<f64> = (0..=SPIRAL_POINTS).map(|k| inner * (outer / inner).powf(k as f64 / SPIRAL_POINTS as f64)).collect();
            let turn = turn(texture).unwrap_or_default();
            let wall = |r: f64, share: f64| [r, turn * (r / inner).ln() + share * TAU / f64::from(grooves.count)];
            let out = radii.iter().map(|&r| wall(r, 0.0));
            let back = radii.iter().rev().map(|&r| wall(r, grooves.width_ratio));
            repeated(grooves.count, share(grooves.count), &along_arcs(&out.chain(back).collect::<Vec<_>>()))
        }
        TextureForm::RadialGrooves(grooves) | TextureForm::Pads(grooves) => {
            let [inner, outer] = grooves.radii_m;
            let end = width_rad(grooves);
            repeated(grooves.count, share(grooves.count), &along_arcs(&[[inner, 0.0], [outer, 0.0], [outer, end], [inner, end]]))
        }
        TextureForm::TGrooves { grooves, stem_width_ratio, bar_radius_m, bar_inside } => {
            let [inner, outer] = grooves.radii_m;
            let (end, meet) = (width_rad(grooves), *bar_radius_m);
            let margin = 0.5 * (grooves.width_ratio - stem_width_ratio) * TAU / f64::from(grooves.count);
            let (bar, stem) = if *bar_inside { (inner, outer) } else { (outer, inner) };
            let corners = [
                [bar, 0.0],
                [meet, 0.0],
                [meet, margin],
                [stem, margin],
                [stem, end - margin],
                [meet, end - margin],
                [meet, end],
                [bar, end],
            ];
            repeated(grooves.count, share(grooves.count), &along_arcs(&corners))
        }
        TextureForm::Dimples { count, rows, radius_m, radii_m: [inner, outer], .. } => {
            let pitch = (outer - inner) / f64::from(*rows);
            let dimple = |row: u32, k: u32| {
                // Every other row stands half a pitch aside.
                let place = f64::from(k) + if row % 2 == 1 { 0.5 } else { 0.0 };
                let centre = [inner + (f64::from(row) + 0.5) * pitch, place * TAU / f64::from(*count)];
                FaceLine::Dimple { centre, radius_m: *radius_m }
            };
            (0..*rows).flat_map(|row| (0..share(*count)).map(move |k| dimple(row, k))).collect()
        }
        // Depth counts into the face: where the cosine is greatest the faces are farthest apart.
        TextureForm::Waves { count, .. } => {
            let pitch = TAU / f64::from(*count);
            (0..share(*count))
                .flat_map(|k| [FaceLine::Valley(pitch * f64::from(k)), FaceLine::Crest(pitch * (f64::from(k) + 0.5))])
                .collect()
        }
        TextureForm::Tilt { .. } => vec![FaceLine::Valley(0.0), FaceLine::Crest(0.5 * TAU)],
        TextureForm::Taper { radii_m, .. } => radii_m.iter().map(|&radius| FaceLine::Rim(radius)).collect(),
    }
}

fn width_rad(grooves: &Grooves) -> f64 {
    grooves.width_ratio * TAU / f64::from(grooves.count)
}

/// The closed edge through corners, with points on the way wherever it follows the circumference.
fn along_arcs(corners: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut points = Vec::new();
    for (k, &[radius, angle]) in corners.iter().enumerate() {
        points.push([radius, angle]);
        let [to_radius, to_angle] = corners[(k + 1) % corners.len()];
        if radius == to_radius {
            let parts = ((to_angle - angle).abs() / STEP_RAD).ceil().max(1.0);
            points.extend((1..parts as usize).map(|part| [radius, angle + (to_angle - angle) * part as f64 / parts]));
        }
    }
    points
}

fn repeated(count: u32, wanted: u32, edge: &[[f64; 2]]) -> Vec<FaceLine> {
    let turned = |k: u32| edge.iter().map(|[r, angle]| [*r, angle + f64::from(k) * TAU / f64::from(count)]).collect();
    (0..wanted).map(|k| FaceLine::Cut(turned(k))).collect()
}

#[cfg(test)]
mod tests {
    use super::super::depth::depth;
    use super::*;
    use crate::model::{DimpleShape, RingRole};

    fn grooves() -> Grooves {
        Grooves { count: 9, depth_m: 6e-6, radii_m: [68.5e-3, 78e-3], width_ratio: 0.42 }
    }

    fn on(form: TextureForm, on: RingRole) -> Texture {
        Texture { on, form }
    }

    fn is_deep(texture: &Texture, [r, angle]: [f64; 2]) -> bool {
        depth(texture, r, angle).walled > 0.0
    }

    /// On every edge one side is cut and the other is land, as the film sees it.
    #[test]
    fn edges_are_those_of_the_film() {
        let spiral = |pumps_outward| TextureForm::SpiralGrooves { grooves: grooves(), angle_rad: 15f64.to_radians(), pumps_outward };
        let tee = |bar_inside| TextureForm::TGrooves { grooves: grooves(), stem_width_ratio: 0.15, bar_radius_m: 72e-3, bar_inside };
        let forms =
            [spiral(false), spiral(true), TextureForm::Pads(grooves()), TextureForm::RadialGrooves(grooves()), tee(false), tee(true)];
        for (form, role) in forms.iter().flat_map(|form| [RingRole::Rotating, RingRole::Stationary].map(|role| (*form, role))) {
            let texture = on(form, role);
            let lines = face_lines(&texture);
            assert_eq!(lines.len(), 9);
            for line in &lines {
                let FaceLine::Cut(points) = line else { panic!("{form:?}: {line:?}") };
                for (k, &a) in points.iter().enumerate() {
                    let b = points[(k + 1) % points.len()];
                    let (dr, da) = (b[0] - a[0], b[1] - a[1]);
                    let middle = if dr == 0.0 { [a[0], a[1] + 0.5 * da] } else { [(a[0] * b[0]).sqrt(), a[1] + 0.5 * da] };
                    // Across the edge, by a few micrometres.
                    let length = dr.hypot(middle[0] * da);
                    let across = [middle[0] * da / length * 5e-6, -dr / length * 5e-6 / middle[0]];
                    let sides = [1.0, -1.0].map(|side| is_deep(&texture, [middle[0] + side * across[0], middle[1] + side * across[1]]));
                    assert!(sides[0] != sides[1], "{form:?} on {role:?}: both sides of {middle:?} alike");
                }
            }
        }
    }

    #[test]
    fn dimples_stand_where_the_film_has_them() {
        let form = TextureForm::Dimples {
            count: 60,
            rows: 3,
            radius_m: 0.4e-3,
            depth_m: 5e-6,
            shape: DimpleShape::Cylinder,
            radii_m: [25e-3, 30e-3],
        };
        let texture = on(form, RingRole::Stationary);
        let lines = face_lines(&texture);
        assert_eq!(lines.len(), 180);
        for line in lines {
            let FaceLine::Dimple { centre: [r, angle], radius_m } = line else { panic!("{line:?}") };
            for k in 0..12 {
                let (sin, cos) = (f64::from(k) * TAU / 12.0).sin_cos();
                let at = |share: f64| is_deep(&texture, [r + share * radius_m * cos, angle + share * radius_m * sin / r]);
                assert!(at(0.98) && !at(1.02), "{r} {angle} {k}");
            }
        }
    }

    #[test]
    fn sectors_make_up_the_face() {
        let dimples = TextureForm::Dimples {
            count: 60,
            rows: 3,
            radius_m: 1e-4,
            depth_m: 5e-6,
            shape: DimpleShape::Cylinder,
            radii_m: [25e-3, 30e-3],
        };
        for (form, sectors) in [(TextureForm::Pads(grooves()), 3), (dimples, 12), (TextureForm::Waves { count: 6, amplitude_m: 1e-7 }, 2)] {
            let texture = on(form, RingRole::Rotating);
            let [whole, sector] = [face_lines(&texture), sector_lines(&texture, sectors)];
            assert_eq!(sector.len() * sectors, whole.len());
            let turned = |angle: f64, k: usize| angle + TAU * k as f64 / sectors as f64;
            for (line, k) in sector.iter().flat_map(|line| (0..sectors).map(move |k| (line, k))) {
                let known = whole.iter().any(|known| match (known, line) {
                    (FaceLine::Cut(a), FaceLine::Cut(b)) => (a[0][1] - turned(b[0][1], k)).abs() < 1e-9,
                    (FaceLine::Dimple { centre: a, .. }, FaceLine::Dimple { centre: b, .. }) => {
                        a[0] == b[0] && (a[1] - turned(b[1], k)).abs() < 1e-9
                    }
                    (FaceLine::Crest(a), FaceLine::Crest(b)) | (FaceLine::Valley(a), FaceLine::Valley(b)) => {
                        (a - turned(*b, k)).abs() < 1e-9
                    }
                    _ => false,
                });
                assert!(known, "{line:?} turned {k} times");
            }
        }
    }

    #[test]
    fn crests_are_where_the_gap_is_least() {
        for form in [TextureForm::Waves { count: 3, amplitude_m: 2e-7 }, TextureForm::Tilt { angle_rad: 1e-5 }] {
            let texture = on(form, RingRole::Rotating);
            let at = |angle: f64| depth(&texture, 27e-3, angle).smooth;
            let all: Vec<f64> = (0..720).map(|k| at(f64::from(k) * TAU / 720.0)).collect();
            let [least, greatest] = all.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], &d| [a.min(d), b.max(d)]);
            for line in face_lines(&texture) {
                match line {
                    FaceLine::Crest(angle) => assert!((at(angle) - least).abs() < 1e-12),
                    FaceLine::Valley(angle) => assert!((at(angle) - greatest).abs() < 1e-12),
                    other => panic!("{other:?}"),
                }
            }
        }
        let taper = on(TextureForm::Taper { depth_m: 1e-6, radii_m: [25e-3, 27e-3], deep_outside: true }, RingRole::Stationary);
        assert_eq!(face_lines(&taper), [FaceLine::Rim(25e-3), FaceLine::Rim(27e-3)]);
    }
}
