//! Depth of textures at a place of the face.

use std::f64::consts::TAU;

use crate::model::{DimpleShape, Grooves, RingRole, Texture, TextureForm};

/// Depth at one place, m: what runs smoothly, and what stands behind walls.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Depth {
    pub smooth: f64,
    pub walled: f64,
}

/// Turn of a spiral with the logarithm of the radius: positive where the groove turns with the shaft as it runs outward.
///
/// The smooth face drags the film against the turning grooves or along with the standing ones; what runs along a groove goes inward
/// where the angle falls with the radius in that sense.
pub(super) fn turn(texture: &Texture) -> Option<f64> {
    let TextureForm::SpiralGrooves { angle_rad, pumps_outward, .. } = texture.form else { return None };
    let inward = if pumps_outward { -1.0 } else { 1.0 };
    let turning = if texture.on == RingRole::Rotating { 1.0 } else { -1.0 };
    Some(inward * turning / angle_rad.tan())
}

/// Depth of one texture at a radius and an angle of the ring that carries it.
pub(super) fn depth(texture: &Texture, radius: f64, angle: f64) -> Depth {
    let walled = |inside: bool, depth_m: f64| Depth { smooth: 0.0, walled: if inside { depth_m } else { 0.0 } };
    match &texture.form {
        TextureForm::SpiralGrooves { grooves, .. } => {
            let twist = turn(texture).unwrap_or_default() * (radius / grooves.radii_m[0]).ln();
            walled(within(grooves, radius) && share_of_pitch(grooves.count, angle - twist) < grooves.width_ratio, grooves.depth_m)
        }
        TextureForm::RadialGrooves(grooves) | TextureForm::Pads(grooves) => {
            walled(within(grooves, radius) && share_of_pitch(grooves.count, angle) < grooves.width_ratio, grooves.depth_m)
        }
        TextureForm::TGrooves { grooves, stem_width_ratio, bar_radius_m, bar_inside } => {
            let share = share_of_pitch(grooves.count, angle);
            let in_bar = (radius < *bar_radius_m) == *bar_inside;
            let margin = if in_bar { 0.0 } else { 0.5 * (grooves.width_ratio - stem_width_ratio) };
            walled(within(grooves, radius) && share >= margin && share < grooves.width_ratio - margin, grooves.depth_m)
        }
        TextureForm::Dimples { count, rows, radius_m, depth_m, shape, radii_m } => {
            let [inner, outer] = *radii_m;
            let pitch = (outer - inner) / f64::from(*rows);
            let row = ((radius - inner) / pitch).floor().clamp(0.0, f64::from(*rows) - 1.0);
            let centre = inner + (row + 0.5) * pitch;
            // Every other row stands half a pitch aside.
            let aside = if row as u32 % 2 == 1 { 0.5 } else { 0.0 };
            let away = (share_of_pitch(*count, angle) - aside + 0.5).rem_euclid(1.0) - 0.5;
            let square = radius.powi(2) + centre.powi(2) - 2.0 * radius * centre * (away * TAU / f64::from(*count)).cos();
            if square >= radius_m * radius_m {
                return Depth::default();
            }
            match shape {
                DimpleShape::Cylinder => walled(true, *depth_m),
                DimpleShape::SphericalCap => {
                    let ball = (radius_m * radius_m + depth_m * depth_m) / (2.0 * depth_m);
                    let smooth = depth_m - square / (ball + (ball * ball - square).sqrt());
                    Depth { smooth, walled: 0.0 }
                }
            }
        }
        TextureForm::Waves { count, amplitude_m } => Depth { smooth: amplitude_m * (f64::from(*count) * angle).cos(), walled: 0.0 },
        TextureForm::Tilt { angle_rad } => Depth { smooth: angle_rad * radius * angle.cos(), walled: 0.0 },
        TextureForm::Taper { .. } => Depth::default(),
    }
}

/// Angles of the walls within one turn at a radius, of textures that have any there.
pub(super) fn walls(texture: &Texture, radius: f64) -> Vec<f64> {
    let pairs = |grooves: &Grooves, from: f64, to: f64, twist: f64| -> Vec<f64> {
        let pitch = TAU / f64::from(grooves.count);
        (0..grooves.count).flat_map(|k| [from, to].map(|share| twist + pitch * (f64::from(k) + share))).collect()
    };
    match &texture.form {
        TextureForm::SpiralGrooves { grooves, .. } if within(grooves, radius) => {
            let twist = turn(texture).unwrap_or_default() * (radius / grooves.radii_m[0]).ln();
            pairs(grooves, 0.0, grooves.width_ratio, twist)
        }
        TextureForm::RadialGrooves(grooves) | TextureForm::Pads(grooves) if within(grooves, radius) => {
            pairs(grooves, 0.0, grooves.width_ratio, 0.0)
        }
        TextureForm::TGrooves { grooves, stem_width_ratio, .. } if within(grooves, radius) => {
            let margin = 0.5 * (grooves.width_ratio - stem_width_ratio);
            let mut walls = pairs(grooves, 0.0, grooves.width_ratio, 0.0);
            walls.extend(pairs(grooves, margin, grooves.width_ratio - margin, 0.0));
            walls
        }
        TextureForm::Dimples { count, radius_m, radii_m, .. } => {
            // Lines beside every dimple, of both kinds of row.
            let pitch = TAU / f64::from(*count);
            let half = radius_m / (0.5 * (radii_m[0] + radii_m[1]));
            (0..*count).flat_map(|k| [-half, half, 0.5 * pitch - half, 0.5 * pitch + half].map(|a| pitch * f64::from(k) + a)).collect()
        }
        _ => Vec::new(),
    }
}

/// Radii at which walls lie along the circumference, or at which something is to be resolved.
pub(super) fn rims(texture: &Texture) -> Vec<f64> {
    match &texture.form {
        TextureForm::TGrooves { grooves, bar_radius_m, .. } => vec![grooves.radii_m[0], *bar_radius_m, grooves.radii_m[1]],
        TextureForm::Dimples { rows, radius_m, radii_m: [inner, outer], .. } => {
            let pitch = (outer - inner) / f64::from(*rows);
            (0..*rows).flat_map(|k| [-radius_m, *radius_m].map(|a| inner + (f64::from(k) + 0.5) * pitch + a)).collect()
        }
        other => other.cut_radii_m().map(Vec::from).unwrap_or_default(),
    }
}

fn within(grooves: &Grooves, radius: f64) -> bool {
    radius >= grooves.radii_m[0] && radius <= grooves.radii_m[1]
}

/// Place within the pitch, from 0 to 1.
fn share_of_pitch(count: u32, angle: f64) -> f64 {
    (angle * f64::from(count) / TAU).rem_euclid(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grooves(count: u32) -> Grooves {
        Grooves { count, depth_m: 6e-6, radii_m: [68.5e-3, 78e-3], width_ratio: 0.5 }
    }

    fn spiral(on: RingRole, pumps_outward: bool) -> Texture {
        Texture { on, form: TextureForm::SpiralGrooves { grooves: grooves(12), angle_rad: 15f64.to_radians(), pumps_outward } }
    }

    #[test]
    fn half_of_the_grooved_ring_is_groove() {
        let texture = spiral(RingRole::Rotating, false);
        let deep = |radius: f64| (0..4000).filter(|k| depth(&texture, radius, f64::from(*k) * TAU / 4000.0).walled > 0.0).count();
        assert_eq!(deep(65e-3), 0);
        for radius in [69e-3, 73.3e-3, 77.9e-3] {
            assert!((deep(radius) as i64 - 2000).abs() < 20, "{}", deep(radius));
        }
    }

    #[test]
    fn a_groove_leads_the_dragged_film_where_it_is_said_to_pump() {
        // A turning face drags nothing along with itself: seen from it the film runs backwards, from the standing one forwards.
        for (on, drift) in [(RingRole::Rotating, -1.0), (RingRole::Stationary, 1.0)] {
            for outward in [false, true] {
                let texture = spiral(on, outward);
                let radial = drift / turn(&texture).unwrap();
                assert_eq!(radial > 0.0, outward, "{on:?}");
                let twist = turn(&texture).unwrap() * (72f64 / 68.5).ln();
                assert!(depth(&texture, 72e-3, twist + 1e-3).walled > 0.0 && depth(&texture, 72e-3, twist - 1e-3).walled == 0.0);
            }
        }
    }

    #[test]
    fn dimples_are_as_deep_as_said_and_as_many() {
        for shape in [DimpleShape::SphericalCap, DimpleShape::Cylinder] {
            let form = TextureForm::Dimples { count: 60, rows: 2, radius_m: 0.2e-3, depth_m: 5e-6, shape, radii_m: [25e-3, 30e-3] };
            let texture = Texture { on: RingRole::Stationary, form };
            let at = |r: f64, a: f64| depth(&texture, r, a).smooth + depth(&texture, r, a).walled;
            assert!((at(26.25e-3, 0.0) - 5e-6).abs() < 1e-15 && at(28.75e-3, 0.0) == 0.0);
            assert!((at(28.75e-3, TAU / 120.0) - 5e-6).abs() < 1e-15, "the second row stands aside");
            assert!(at(26.25e-3 + 0.1999e-3, 0.0) > 0.0 && at(26.25e-3 + 0.2001e-3, 0.0) == 0.0);
            if shape == DimpleShape::SphericalCap {
                // A quarter of the depth is lost at half the radius.
                assert!((at(26.25e-3 + 0.1e-3, 0.0) / 5e-6 - 0.75).abs() < 1e-3);
            }
        }
    }

    #[test]
    fn walls_stand_where_the_depth_steps() {
        let t = TextureForm::TGrooves { grooves: grooves(8), stem_width_ratio: 0.2, bar_radius_m: 71e-3, bar_inside: true };
        for texture in [spiral(RingRole::Stationary, false), Texture { on: RingRole::Rotating, form: t }] {
            for radius in [70e-3, 76e-3] {
                let steps = walls(&texture, radius).into_iter().filter(|wall| {
                    let [before, after] = [-1e-7, 1e-7].map(|d| depth(&texture, radius, wall + d).walled);
                    before != after
                });
                let count = texture.form.count().unwrap() as usize;
                assert_eq!(steps.count(), 2 * count);
            }
        }
    }
}
