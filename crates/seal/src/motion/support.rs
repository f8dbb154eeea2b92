//! What holds the floating ring besides the film: springs and secondary seal.
//!
//! **What.** Axial and tilt stiffness and damping of springs and secondary seal.
//! **Equation.** Axial rates add; on a circle of radius `r` an axial rate `k` spread round it gives the tilt stiffness `k r^2 / 2`, damping
//! likewise. An O-ring that does not slide is sheared: `k = G 2 pi r w / ((1 - s) d)` with the flattened width `w = 2 d sqrt(s/2 (1 - s/2))` of a
//! section `d` squeezed by `s`; its damping at the angular frequency `W` is `eta k / W`.
//! **Valid when.** Three springs or more; a secondary seal that sticks. Shear modulus `G = 3 MPa` and loss factor `eta = 0.2` are rubber of usual
//! hardness, common practice, no source: the stiffness is known to a factor of two and should be measured where it decides.
//! **Source.** Simple shear (textbook); the flattened width by the chord, derived here.
//! **Checked by.** `springs_and_secondary_seal_add_up`.

use super::outcome::Support;
use crate::model::{Model, SecondaryFriction, SecondarySealKind};
use crate::notice::Notice;
use crate::rules::text;

/// Shear modulus of an O-ring, Pa.
const SHEAR_MODULUS_PA: f64 = 3e6;
/// Loss factor of a secondary seal.
const LOSS_FACTOR: f64 = 0.2;
/// Travel from free to working length that gives springs their force, m: common practice, no source.
const SPRING_TRAVEL_M: f64 = 15e-3;
const BELLOWS_TRAVEL_M: f64 = 5e-3;

/// Support at an angular frequency of the deformation of the secondary seal; defaults taken are told.
pub(super) fn support(model: &Model, frequency_rad_per_s: f64, notices: &mut Vec<Notice>) -> Support {
    let (seal, stated) = (&model.seal, &model.moving);
    let bellows = seal.secondary_seal.kind == SecondarySealKind::MetalBellows;
    let spring = stated.spring_rate_n_per_m.unwrap_or_else(|| {
        let travel = if bellows { BELLOWS_TRAVEL_M } else { SPRING_TRAVEL_M };
        let rate = seal.spring_force_n / travel;
        notices.push(Notice::caution(
            "default.spring-rate",
            "seal.spring_rate",
            format!("no spring rate is stated: {}, the spring force over {} of travel", text::spring_rate(rate), text::length(travel)),
            "State seal.spring_rate of all springs together, or of the bellows.",
        ));
        rate
    });
    let spring_damping = stated.spring_damping_n_s_per_m.unwrap_or(0.0);
    let secondary = stated.secondary_stiffness_n_per_m.unwrap_or_else(|| by_kind(model, notices));
    let secondary_damping = stated
        .secondary_damping_n_s_per_m
        .unwrap_or_else(|| if frequency_rad_per_s == 0.0 { 0.0 } else { LOSS_FACTOR * secondary / frequency_rad_per_s.abs() });
    let on_spring = |axial: f64| 0.5 * axial * floating_spring_radius_m(model).powi(2);
    let on_seal = |axial: f64| 0.5 * axial * seal.balance_radius_m.powi(2);
    let axial_stiffness_n_per_m = spring + secondary;
    Support {
        axial_stiffness_n_per_m,
        axial_damping_n_s_per_m: spring_damping + secondary_damping,
        tilt_stiffness_n_m_per_rad: on_spring(spring) + on_seal(secondary),
        tilt_damping_n_m_s_per_rad: on_spring(spring_damping) + on_seal(secondary_damping),
        secondary_share: if axial_stiffness_n_per_m > 0.0 { secondary / axial_stiffness_n_per_m } else { 0.0 },
    }
}

fn floating_spring_radius_m(model: &Model) -> f64 {
    if model.rotating_ring.floating { model.rotating_ring.spring_radius_m } else { model.stationary_ring.spring_radius_m }
}

/// Stiffness of the secondary seal that the case does not state, N/m.
fn by_kind(model: &Model, notices: &mut Vec<Notice>) -> f64 {
    let secondary = &model.seal.secondary_seal;
    match (secondary.kind, secondary.friction) {
        (SecondarySealKind::MetalBellows, _) => 0.0,
        (SecondarySealKind::ORing, friction) => {
            let (section, squeeze) = match friction {
                SecondaryFriction::Automatic { section_m, squeeze } => (section_m, squeeze),
                SecondaryFriction::Given(_) => (0.07 * 2.0 * model.seal.balance_radius_m.min(50e-3), 0.12),
            };
            let rate = o_ring_n_per_m(model.seal.balance_radius_m, section, squeeze);
            notices.push(Notice::caution(
                "default.secondary-stiffness",
                "seal.secondary_seal.stiffness",
                format!(
                    "the stiffness of the O-ring is not stated: {} by an estimate (rubber of 3 MPa in shear), known to a factor of two; what \
                     follows from it, the tilt between the faces first of all, is as uncertain",
                    text::spring_rate(rate)
                ),
                "State seal.secondary_seal.stiffness (and damping) from a measurement.",
            ));
            rate
        }
        (SecondarySealKind::Other, _) => {
            notices.push(Notice::caution(
                "default.secondary-stiffness",
                "seal.secondary_seal.stiffness",
                "the stiffness of a secondary seal of this kind is not known and is left out: the springs alone hold the ring back",
                "State seal.secondary_seal.stiffness (and damping) from a measurement.",
            ));
            0.0
        }
    }
}

/// Axial stiffness of an O-ring that sticks, N/m.
fn o_ring_n_per_m(radius_m: f64, section_m: f64, squeeze: f64) -> f64 {
    let flat = 2.0 * section_m * (0.5 * squeeze * (1.0 - 0.5 * squeeze)).sqrt();
    SHEAR_MODULUS_PA * std::f64::consts::TAU * radius_m * flat / ((1.0 - squeeze) * section_m)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Moving;
    use crate::rules::testing::Bench;

    #[test]
    fn springs_and_secondary_seal_add_up() {
        let mut model = Bench::booster().model;
        let mut notices = Vec::new();
        let by_default = support(&model, 300.0, &mut notices);
        assert_eq!(notices.len(), 2, "{notices:?}");
        // Measured O-rings of this size lie between some 1e5 and 1e6 N/m.
        assert!(by_default.secondary_share > 0.8 && (1e5..1e6).contains(&by_default.axial_stiffness_n_per_m), "{by_default:?}");
        model.moving = Moving {
            spring_rate_n_per_m: Some(12e3),
            spring_damping_n_s_per_m: Some(3.0),
            secondary_stiffness_n_per_m: Some(50e3),
            secondary_damping_n_s_per_m: Some(40.0),
            ..Moving::default()
        };
        notices.clear();
        let stated = support(&model, 300.0, &mut notices);
        let (spring, seal) = (model.rotating_ring.spring_radius_m, model.seal.balance_radius_m);
        assert!(notices.is_empty());
        assert_eq!(stated.axial_stiffness_n_per_m, 62e3);
        assert_eq!(stated.axial_damping_n_s_per_m, 43.0);
        let tilt = 0.5 * (12e3 * spring * spring + 50e3 * seal * seal);
        assert!((stated.tilt_stiffness_n_m_per_rad / tilt - 1.0).abs() < 1e-12);
        assert!((stated.secondary_share - 50.0 / 62.0).abs() < 1e-12);
    }

    #[test]
    fn more_squeeze_makes_an_o_ring_stiffer() {
        let [soft, hard] = [0.08, 0.16].map(|squeeze| o_ring_n_per_m(26e-3, 3.53e-3, squeeze));
        assert!(hard > 1.3 * soft && hard < 2.0 * soft);
    }
}
