//! Mass and moments of inertia of a ring.
//!
//! **What.** Mass, moment of inertia about the shaft and about a diameter of a ring of revolution, from its section and the densities of its
//! parts.
//! **Equation.** `m = 2 pi int rho r dA`, `Ip = 2 pi int rho r^3 dA`, `It = Ip/2 + 2 pi int rho r (z - zc)^2 dA`, `zc` the centre of mass.
//! **Valid when.** The section is all that moves: carriers, drive rings and springs count only where the case gives them as parts.
//! **Source.** Mechanics of rigid bodies (textbook); Gauss points, exact for the quadrilaterals of a section.
//! **Checked by.** `a_plain_ring_weighs_what_its_closed_form_says`.

use std::f64::consts::TAU;

use super::outcome::Body;
use crate::model::Part;

/// Points and weights of Gauss with three points on `-1..1`.
const GAUSS: [(f64, f64); 3] = [(-0.774_596_669_241_483_4, 5.0 / 9.0), (0.0, 8.0 / 9.0), (0.774_596_669_241_483_4, 5.0 / 9.0)];

/// The body of some parts; none where there are none.
pub(super) fn body(parts: &[Part]) -> Option<Body> {
    if parts.is_empty() {
        return None;
    }
    // Mass, its first and second moment along z, moment about the axis.
    let mut sums = [0.0; 4];
    for part in parts {
        let density = part.material.density.value;
        let [a, b, c, d] = part.corners_m;
        for (x, wx) in GAUSS {
            for (y, wy) in GAUSS {
                let shapes = [(1.0 - x) * (1.0 - y), (1.0 + x) * (1.0 - y), (1.0 + x) * (1.0 + y), (1.0 - x) * (1.0 + y)];
                let by_x = [-(1.0 - y), 1.0 - y, 1.0 + y, -(1.0 + y)];
                let by_y = [-(1.0 - x), -(1.0 + x), 1.0 + x, 1.0 - x];
                let of =
                    |weights: &[f64; 4], k: usize| 0.25 * (weights[0] * a[k] + weights[1] * b[k] + weights[2] * c[k] + weights[3] * d[k]);
                let (r, z) = (of(&shapes, 0), of(&shapes, 1));
                let area = (of(&by_x, 0) * of(&by_y, 1) - of(&by_x, 1) * of(&by_y, 0)).abs() * wx * wy;
                let mass = density * TAU * r * area;
                for (sum, moment) in sums.iter_mut().zip([1.0, z, z * z, r * r]) {
                    *sum += mass * moment;
                }
            }
        }
    }
    let [mass_kg, first, second, spin_inertia_kg_m2] = sums;
    let along = second - first * first / mass_kg;
    Some(Body { mass_kg, tilt_inertia_kg_m2: 0.5 * spin_inertia_kg_m2 + along, spin_inertia_kg_m2 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::Bench;

    #[test]
    fn a_plain_ring_weighs_what_its_closed_form_says() {
        let mut part = Bench::booster().model.rotating_ring.parts[0].clone();
        let (ri, ro, z) = (20e-3, 35e-3, [3e-3, 15e-3]);
        part.corners_m = [[ri, z[0]], [ro, z[0]], [ro, z[1]], [ri, z[1]]];
        let found = body(std::slice::from_ref(&part)).expect("one part");
        let (h, rho) = (z[1] - z[0], part.material.density.value);
        let mass = rho * std::f64::consts::PI * (ro * ro - ri * ri) * h;
        let spin = 0.5 * mass * (ro * ro + ri * ri);
        let tilt = mass * (3.0 * (ro * ro + ri * ri) + h * h) / 12.0;
        for (got, expected) in [(found.mass_kg, mass), (found.spin_inertia_kg_m2, spin), (found.tilt_inertia_kg_m2, tilt)] {
            assert!((got / expected - 1.0).abs() < 1e-12, "{got} for {expected}");
        }
        // Cut in two it is the same ring.
        let mut halves = [part.clone(), part];
        halves[0].corners_m = [[ri, z[0]], [ro, z[0]], [ro, 8e-3], [ri, 8e-3]];
        halves[1].corners_m = [[ri, 8e-3], [ro, 8e-3], [ro, z[1]], [ri, z[1]]];
        let two = body(&halves).expect("two parts");
        assert!((two.tilt_inertia_kg_m2 / tilt - 1.0).abs() < 1e-12);
        assert!(body(&[]).is_none());
    }
}
