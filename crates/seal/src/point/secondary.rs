//! Friction of the sliding secondary seal.
//!
//! **What.** Axial force that an O-ring on its track opposes to travel of the floating ring.
//! **Equation.** `F = mu pi D (w_squeeze + dp b)`; squeeze line load `w = d E (1.25 C^1.5 + 50 C^6)`; contact width of that line load on a
//! flat track `b = d sqrt(6 C/pi)`, across which the sealed pressure adds to the squeeze.
//! **Valid when.** Squeeze 5 to 30 % of the section, solid elastomer ring, wetted track.
//! **Source.** Line load: Lindley, J. Inst. Rubber Industry 1 (1967) 209, from memory. Contact width: Hertz line contact of a round on a
//! flat, geometry. Friction coefficient 0.15 (0.07 to 0.3) of wetted
//! elastomer on a smooth, shaken track: common practice, no source; with it the sum comes within a third of the running-friction charts
//! of O-ring handbooks (from memory: 0.12 N/mm of track at 12 % squeeze, 0.09 MPa of projected area at 1 MPa).
//! **Checked by.** unproven.

use std::f64::consts::PI;

use halfmicron_properties::material::material;

use crate::model::{Seal, SecondaryFriction, SecondarySealKind};

/// Friction coefficient of a wetted elastomer on a smooth track: low, nominal, high.
const ELASTOMER_FRICTION: [f64; 3] = [0.07, 0.15, 0.3];
/// The same for PTFE and other hard rings.
const HARD_RING_FRICTION: [f64; 3] = [0.05, 0.1, 0.2];
/// Small-strain modulus taken where the material library has none, Pa.
const ELASTOMER_MODULUS_PA: f64 = 6.0e6;
/// Above this a ring is not rubber: its squeeze does not load it like one.
const RUBBER_MODULUS_LIMIT_PA: f64 = 5.0e7;

/// Friction force on a track of the given radius, N: low, nominal, high.
pub fn friction_n(seal: &Seal, track_radius_m: f64, pressure_difference_pa: f64) -> [f64; 3] {
    match (seal.secondary_seal.kind, seal.secondary_seal.friction) {
        (_, SecondaryFriction::Given(force)) => [force; 3],
        (SecondarySealKind::MetalBellows, _) => [0.0; 3],
        (_, SecondaryFriction::Automatic { section_m, squeeze }) => {
            let modulus = material(&seal.secondary_seal.material).map_or(ELASTOMER_MODULUS_PA, |m| m.youngs_modulus.value);
            let rubber = modulus < RUBBER_MODULUS_LIMIT_PA;
            let line_load = line_load_n_per_m(section_m, squeeze, if rubber { modulus } else { ELASTOMER_MODULUS_PA });
            let pressed = pressure_difference_pa.abs() * contact_width_m(section_m, squeeze);
            let normal = 2.0 * PI * track_radius_m * (line_load + pressed);
            (if rubber { ELASTOMER_FRICTION } else { HARD_RING_FRICTION }).map(|mu| mu * normal)
        }
    }
}

/// Squeeze force per length of ring, N/m (Lindley 1967).
pub fn line_load_n_per_m(section_m: f64, squeeze: f64, modulus_pa: f64) -> f64 {
    section_m * modulus_pa * (1.25 * squeeze.powf(1.5) + 50.0 * squeeze.powi(6))
}

/// Width of the contact on the track, m.
pub fn contact_width_m(section_m: f64, squeeze: f64) -> f64 {
    section_m * (6.0 * squeeze / PI).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pump_o_ring_grips_with_tens_of_newtons() {
        // 52 mm track, 3.53 mm section, 12 % squeeze, 6 MPa rubber: order of 10 to 60 N without pressure (common practice, no source).
        let grip = ELASTOMER_FRICTION.map(|mu| mu * PI * 0.0524 * line_load_n_per_m(3.53e-3, 0.12, 6e6));
        assert!(grip[0] > 10.0 && grip[2] < 120.0, "{grip:?}");
    }

    #[test]
    fn more_squeeze_grips_harder_and_wider() {
        assert!(line_load_n_per_m(3e-3, 0.2, 6e6) > line_load_n_per_m(3e-3, 0.1, 6e6));
        assert!(contact_width_m(3e-3, 0.2) > contact_width_m(3e-3, 0.1));
    }
}
