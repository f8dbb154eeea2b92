//! Balance and closing: what presses the faces together, and whether it always wins against the film.

use crate::hand::{balance_radius_m, balance_ratio, balance_ratio_at, pressure_is_reversed};
use crate::model::{PressureSide, Ring, SecondarySealKind};

use super::facts::FluidKind;
use super::text::{force, length, number, percent, pressure, ratio};
use super::view::DutyView;
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};

const GROUP: &str = "Balance and closing";

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "balance.liquid",
        group: GROUP,
        statement: "A balanced seal in liquid has a balance ratio of 0.65 to 0.90; outside 0.55 to 1.0 it is no balanced seal.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "0.65-0.90; fails outside 0.55-1.0",
        hint: "A low ratio leaks and pops open, a high one burns: move the balance diameter.",
        judge: Judge::Duty(liquid),
    },
    Rule {
        id: "balance.unbalanced",
        group: GROUP,
        statement: "A ratio of 1 or more is used only up to 1.0 MPa, 0.7 MPa in poor lubricants, 0.3 MPa above 15 m/s.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "1.0, 0.7 or 0.3 MPa",
        hint: "Step the sleeve and balance the seal.",
        judge: Judge::Duty(unbalanced),
    },
    Rule {
        id: "balance.by-fluid",
        group: GROUP,
        statement: "Usual ratios: water and brine 0.70-0.80, hot water and light hydrocarbons 0.78-0.86, oils 0.70-0.80, cryogenic 0.62-0.78.",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "by fluid",
        hint: "Start here, then trust the solved film.",
        judge: Judge::Duty(by_fluid),
    },
    Rule {
        id: "balance.margin",
        group: GROUP,
        statement: "With the faces held 10 um apart in the same shape the film carries less than 0.97 of the closing force.",
        breach: Breach::Fail,
        source: Source::Geometry,
        limit: "0.97 of closing; fails at 1",
        hint: "Closing hardly beats the film any more: it could open without limit. Raise the ratio or the spring force.",
        judge: Judge::Duty(margin),
    },
    Rule {
        id: "balance.reverse",
        group: GROUP,
        statement: "With pressure reversed, on its own balance diameter, closing still beats the film.",
        breach: Breach::Fail,
        source: Source::Geometry,
        limit: "closing above a film of straight-line pressure",
        hint: "The secondary seal moves to the other wall of its groove and changes the balance diameter: lock it or add spring force.",
        judge: Judge::Duty(reverse),
    },
    Rule {
        id: "balance.effective",
        group: GROUP,
        statement: "The ratio differs by at most 0.015 whether taken at the secondary seal's track or at the ring's own bore.",
        breach: Breach::Caution,
        source: Source::Geometry,
        limit: "0.015",
        hint: "The true effective diameter lies between the two: tighten the clearance or put both in a tolerance study.",
        judge: Judge::Duty(effective),
    },
    Rule {
        id: "balance.inside",
        group: GROUP,
        statement: "A carbon nose is not pressed from inside by more than 1.5 MPa.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "1.5 MPa",
        hint: "Brittle rings like compression: take a metal or carbide nose.",
        judge: Judge::Duty(inside),
    },
    Rule {
        id: "balance.bellows-shift",
        group: GROUP,
        statement: "A bellows' effective diameter moves with pressure by at most 1 %.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "1 % of the diameter",
        hint: "Ask for effective diameter against pressure.",
        judge: Judge::Duty(bellows_shift),
    },
    Rule {
        id: "spring.pressure",
        group: GROUP,
        statement: "Spring force over face area: 0.10-0.20 MPa in liquids, 0.15-0.25 in vacuum, 0.05-0.12 above 25 m/s, 0.15-0.30 in thick oils, 0.08-0.20 for bellows.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "by service",
        hint: "Too low hangs up, too high is heat and wear at low pressure; accept it if the solved contact share is.",
        judge: Judge::Duty(spring_pressure),
    },
    Rule {
        id: "spring.share",
        group: GROUP,
        statement: "At the normal duty the springs give at most 60 % of closing.",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "60 %",
        hint: "Spring force, not pressure, sets wear here: tighten its tolerance.",
        judge: Judge::Duty(spring_share),
    },
    Rule {
        id: "closing.hang-up",
        group: GROUP,
        statement: "The springs give at least 1.5 times the friction of the secondary seal.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "1.5",
        hint: "A ring that cannot follow leaks: more spring force, less squeeze, or a bellows.",
        judge: Judge::Duty(hang_up),
    },
    Rule {
        id: "closing.band",
        group: GROUP,
        statement: "Leakage and face temperature rise differ by at most 3 times between both signs of secondary-seal friction.",
        breach: Breach::Caution,
        source: Source::Geometry,
        limit: "3 times",
        hint: "The real seal lives anywhere in this band: lower the friction.",
        judge: Judge::Duty(friction_band),
    },
];

fn ratio_of(view: &DutyView) -> f64 {
    balance_ratio(view.model, view.duty)
}

fn forward_pressure(view: &DutyView) -> Result<f64, Skip> {
    let difference = view.pressure_difference_pa();
    if pressure_is_reversed(view.duty) || difference == 0.0 { Err(Skip::DoesNotApply) } else { Ok(difference) }
}

fn liquid(view: &DutyView) -> Judged {
    forward_pressure(view)?;
    let ratio = ratio_of(view);
    if view.chamber_is_gas() || ratio >= 1.0 {
        return Err(Skip::DoesNotApply);
    }
    let reason = format!("balance ratio {}", number(ratio));
    Ok(if ratio < 0.55 {
        Assessment::fails(reason)
    } else if !(0.65..=0.90).contains(&ratio) {
        Assessment::watch(reason)
    } else {
        Assessment::holds(reason)
    }
    .compared(ratio, if ratio < 0.7 { 0.65 } else { 0.90 }))
}

fn unbalanced(view: &DutyView) -> Judged {
    let difference = forward_pressure(view)?;
    let ratio = ratio_of(view);
    if ratio < 1.0 {
        return Err(Skip::DoesNotApply);
    }
    let poor = view.fluid.kind.pv_multiplier(view.chamber_temperature_k()) < 1.0;
    let limit = if view.sliding_speed_m_per_s() > 15.0 {
        0.3e6
    } else if poor {
        0.7e6
    } else {
        1.0e6
    };
    let reason = format!("unbalanced (ratio {}) at {}, used up to {}", number(ratio), pressure(difference), pressure(limit));
    Ok(Assessment::within(difference <= limit, Breach::Fail, reason).compared(difference, limit))
}

fn by_fluid(view: &DutyView) -> Judged {
    forward_pressure(view)?;
    let hot = view.chamber_temperature_k() > 353.15;
    let [low, high] = match view.fluid.kind {
        FluidKind::Water | FluidKind::Brine if hot => [0.78, 0.86],
        FluidKind::Water | FluidKind::Brine => [0.70, 0.80],
        FluidKind::LightHydrocarbon => [0.78, 0.86],
        FluidKind::MineralOil | FluidKind::ThermalOil => [0.70, 0.80],
        FluidKind::Cryogenic => [0.62, 0.78],
        _ => return Err(Skip::DoesNotApply),
    };
    let ratio = ratio_of(view);
    if ratio >= 1.0 || !view.turns() {
        return Err(Skip::DoesNotApply);
    }
    let reason = format!("balance ratio {}; usual in {} {low} to {high}", number(ratio), view.fluid.name);
    Ok(Assessment::within((low..=high).contains(&ratio), Breach::Note, reason).compared(ratio, if ratio < low { low } else { high }))
}

fn margin(view: &DutyView) -> Judged {
    if view.pressure_difference_pa() < 0.1e6 {
        return Err(Skip::DoesNotApply);
    }
    let equilibrium = view.solved()?;
    let share = equilibrium.wide_gap_force_share;
    let reason = format!("film force at a gap of {} is {} of closing", length(10e-6), percent(share));
    Ok(if share >= 1.0 {
        Assessment::fails(reason)
    } else if share >= 0.97 {
        Assessment::watch(reason)
    } else {
        Assessment::holds(reason)
    }
    .compared(share, 0.97))
}

fn reverse(view: &DutyView) -> Judged {
    if !pressure_is_reversed(view.duty) {
        return Err(Skip::DoesNotApply);
    }
    let area = view.model.band.area_m2();
    let difference = view.pressure_difference_pa();
    let closing = difference * ratio_of(view) * area + view.model.seal.spring_force_n;
    let film = 0.5 * difference * area;
    let reason = format!(
        "reversed by {}: ratio {} on the reverse balance diameter {}, closing {} against {} of a film with K = 0.5",
        pressure(difference),
        number(ratio_of(view)),
        length(2.0 * balance_radius_m(&view.model.seal, view.duty)),
        force(closing),
        force(film)
    );
    Ok(Assessment::within(closing > film, Breach::Fail, reason).compared(closing, film))
}

/// Radius of the floating ring's own surface at the secondary seal: of its inner and outer radius there, the one
/// nearer to the track.
fn own_radius_at_secondary_seal(ring: &Ring, track_m: f64) -> Option<f64> {
    let z = ring.secondary_seal_m[1];
    let tolerance = 1e-6;
    let radii = ring.parts.iter().filter_map(|part| {
        let (low, high) = part.corners_m.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), c| (l.min(c[1]), h.max(c[1])));
        (z >= low - tolerance && z <= high + tolerance).then_some(part.corners_m.map(|corner| corner[0]))
    });
    radii.flatten().min_by(|a, b| (a - track_m).abs().total_cmp(&(b - track_m).abs()))
}

fn effective(view: &DutyView) -> Judged {
    forward_pressure(view)?;
    if view.model.seal.secondary_seal.kind == SecondarySealKind::MetalBellows {
        return Err(Skip::DoesNotApply);
    }
    let track = balance_radius_m(&view.model.seal, view.duty);
    let Some(own) = own_radius_at_secondary_seal(view.floating_ring(), track) else {
        return Err(Skip::NotComputed("the floating ring's section does not reach its secondary-seal point".to_owned()));
    };
    let change = (balance_ratio_at(view.model, view.duty, own) - ratio_of(view)).abs();
    let reason = format!(
        "ratio {} at the track {}, {} at the ring's own {}",
        number(ratio_of(view)),
        length(2.0 * track),
        number(balance_ratio_at(view.model, view.duty, own)),
        length(2.0 * own)
    );
    Ok(Assessment::within(change <= 0.015, Breach::Caution, reason).compared(change, 0.015))
}

fn inside(view: &DutyView) -> Judged {
    if view.high_side() != PressureSide::Inside || !view.narrow().family.is_carbon() {
        return Err(Skip::DoesNotApply);
    }
    let difference = view.pressure_difference_pa();
    let reason = format!("{} from inside on a nose of {}", pressure(difference), view.narrow().name);
    Ok(Assessment::within(difference <= 1.5e6, Breach::Caution, reason).compared(difference, 1.5e6))
}

fn bellows_shift(view: &DutyView) -> Judged {
    match view.model.seal.secondary_seal.kind {
        SecondarySealKind::MetalBellows => {
            Err(Skip::NotComputed("effective diameter of the bellows against pressure is not given".to_owned()))
        }
        _ => Err(Skip::DoesNotApply),
    }
}

fn spring_pressure(view: &DutyView) -> Judged {
    if view.chamber_is_gas() || !view.turns() {
        return Err(Skip::DoesNotApply);
    }
    let spring = view.model.seal.spring_force_n / view.model.band.area_m2();
    let vacuum = view.duty.pressure_pa.min(view.duty.low_pressure_pa) < 0.09e6;
    let [low, high] = if view.model.seal.secondary_seal.kind == SecondarySealKind::MetalBellows {
        [0.08e6, 0.20e6]
    } else if vacuum {
        [0.15e6, 0.25e6]
    } else if view.sliding_speed_m_per_s() > 25.0 {
        [0.05e6, 0.12e6]
    } else if view.outcome.conditions.chamber_viscosity_pa_s > 0.1 {
        [0.15e6, 0.30e6]
    } else {
        [0.10e6, 0.20e6]
    };
    let reason = format!("spring pressure {}, usual {} to {}", pressure(spring), pressure(low), pressure(high));
    Ok(Assessment::within((low..=high).contains(&spring), Breach::Caution, reason).compared(spring, if spring < low { low } else { high }))
}

fn spring_share(view: &DutyView) -> Judged {
    if !view.is_normal() {
        return Err(Skip::DoesNotApply);
    }
    let spring = view.model.seal.spring_force_n;
    let hydraulic = view.pressure_difference_pa() * ratio_of(view) * view.model.band.area_m2();
    let share = spring / (spring + hydraulic).max(f64::MIN_POSITIVE);
    Ok(Assessment::within(share <= 0.6, Breach::Note, format!("springs give {} of closing", percent(share))).compared(share, 0.6))
}

fn hang_up(view: &DutyView) -> Judged {
    if view.model.seal.secondary_seal.kind == SecondarySealKind::MetalBellows {
        return Err(Skip::DoesNotApply);
    }
    let [_, friction, highest] = view.solved()?.friction_band.friction_n;
    let spring = view.model.seal.spring_force_n;
    let reason = format!("springs {} against secondary-seal friction {} (up to {})", force(spring), force(friction), force(highest));
    Ok(if spring < 1.5 * friction {
        Assessment::fails(reason)
    } else if spring < 1.5 * highest {
        Assessment::watch(reason)
    } else {
        Assessment::holds(reason)
    }
    .compared(spring, 1.5 * friction))
}

fn friction_band(view: &DutyView) -> Judged {
    let equilibrium = view.solved()?;
    let band = &equilibrium.friction_band;
    if band.friction_n[1] <= 0.0 {
        return Err(Skip::DoesNotApply);
    }
    if band.minimum_film_m.iter().any(Option::is_none) {
        return Ok(Assessment::watch(
            "at one end of the friction band the film could not be followed: another may be met there far off, or none",
        ));
    }
    let chamber = view.chamber_temperature_k();
    let leakage = spread(band.leakage_kg_per_s);
    // A rise below half a kelvin is no heat to speak of: its ratio says nothing.
    let rise = spread(band.face_temperature_max_k.map(|face| face.map(|face| face - chamber).filter(|rise| *rise > 0.5)));
    let greatest = leakage.max(rise);
    let heat = if rise > 1.0 { format!(", face rise {} times", ratio(rise)) } else { String::new() };
    let reason = format!("across the friction band leakage differs {} times{heat}", ratio(leakage));
    Ok(Assessment::within(greatest <= 3.0, Breach::Caution, reason).compared(greatest, 3.0))
}

/// Ratio of the two ends; 1 where a ratio says nothing.
fn spread(ends: [Option<f64>; 2]) -> f64 {
    match ends {
        [Some(a), Some(b)] if a.abs() > 0.0 && b.abs() > 0.0 => (a / b).abs().max((b / a).abs()),
        _ => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, word_of};
    use crate::outcome::Word;

    #[test]
    fn balance_ratio_has_two_bands() {
        let mut bench = Bench::booster();
        let [inner, outer] = [bench.model.band.inner_radius_m.powi(2), bench.model.band.outer_radius_m.powi(2)];
        for (ratio, word) in [(0.54, Word::Fails), (0.60, Word::Watch), (0.75, Word::Holds), (0.90, Word::Holds), (0.95, Word::Watch)] {
            bench.model.seal.balance_radius_m = (outer - (ratio - 1e-9) * (outer - inner)).sqrt();
            assert_eq!(word_of(&bench, "balance.liquid"), Some(word), "ratio {ratio}");
        }
    }

    #[test]
    fn unbalanced_seals_stop_at_ten_bar() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "balance.unbalanced"), None);
        bench.model.seal.balance_radius_m = 23.0e-3;
        assert_eq!(word_of(&bench, "balance.unbalanced"), Some(Word::Fails)); // 1.1 MPa
        bench.duty_mut().pressure_pa = 1.0e6;
        assert_eq!(word_of(&bench, "balance.unbalanced"), Some(Word::Holds));
    }

    #[test]
    fn a_film_that_wins_at_a_wide_gap_fails() {
        let mut bench = Bench::booster();
        for (share, word) in [(0.96, Word::Holds), (0.98, Word::Watch), (1.01, Word::Fails)] {
            bench.equilibrium_mut().wide_gap_force_share = share;
            assert_eq!(word_of(&bench, "balance.margin"), Some(word));
        }
        bench.lose_solution("stiff");
        assert_eq!(word_of(&bench, "balance.margin"), Some(Word::NotComputed));
    }

    /// Standby of the invented vacuum pump: closing 0.078 + 0.172 = 0.250 MPa against 0.045 MPa (scenario, hand numbers).
    #[test]
    fn reversed_pressure_uses_its_own_diameter() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "balance.reverse"), None);
        bench.model.band = crate::model::BandLimits { inner_radius_m: 40e-3, outer_radius_m: 45e-3 };
        bench.model.seal.balance_radius_m = 41.3e-3;
        bench.model.seal.reverse_balance_radius_m = 44.4e-3;
        bench.duty_mut().pressure_pa = 12.3e3;
        bench.duty_mut().low_pressure_pa = 101.3e3;
        let area = bench.model.band.area_m2();
        bench.model.seal.spring_force_n = 0.172e6 * area;
        let ratio = crate::hand::balance_ratio(&bench.model, &bench.model.duties[0]);
        assert!((ratio - 0.874).abs() < 1e-3, "{ratio}");
        assert_eq!(word_of(&bench, "balance.reverse"), Some(Word::Holds));
        bench.model.seal.reverse_balance_radius_m = 41.3e-3;
        bench.model.seal.spring_force_n = 0.0;
        assert_eq!(word_of(&bench, "balance.reverse"), Some(Word::Fails));
    }

    #[test]
    fn the_rings_own_bore_counts() {
        let mut bench = Bench::booster(); // track 52.4 mm, bore 52.7 mm
        assert_eq!(word_of(&bench, "balance.effective"), Some(Word::Watch));
        bench.model.seal.balance_radius_m = 26.33e-3;
        assert_eq!(word_of(&bench, "balance.effective"), Some(Word::Holds));
    }

    #[test]
    fn springs_must_beat_the_secondary_seal() {
        let mut bench = Bench::booster(); // 190 N
        for (friction, word) in [([5.0, 20.0, 60.0], Word::Holds), ([5.0, 60.0, 130.0], Word::Watch), ([5.0, 130.0, 200.0], Word::Fails)] {
            bench.equilibrium_mut().friction_band.friction_n = friction;
            assert_eq!(word_of(&bench, "closing.hang-up"), Some(word));
        }
    }

    #[test]
    fn a_wide_friction_band_is_watched() {
        let mut bench = Bench::booster();
        bench.equilibrium_mut().friction_band.leakage_kg_per_s = [Some(1e-6), Some(2.9e-6)];
        assert_eq!(word_of(&bench, "closing.band"), Some(Word::Holds));
        bench.equilibrium_mut().friction_band.leakage_kg_per_s = [Some(1e-6), Some(3.1e-6)];
        assert_eq!(word_of(&bench, "closing.band"), Some(Word::Watch));
        bench.equilibrium_mut().friction_band.minimum_film_m = [None, Some(1e-7)];
        assert_eq!(word_of(&bench, "closing.band"), Some(Word::Watch));
    }

    #[test]
    fn spring_pressure_depends_on_service() {
        let mut bench = Bench::booster();
        let area = bench.model.band.area_m2();
        for (pressure, word) in [(0.09e6, Word::Watch), (0.15e6, Word::Holds), (0.21e6, Word::Watch)] {
            bench.model.seal.spring_force_n = pressure * area;
            assert_eq!(word_of(&bench, "spring.pressure"), Some(word));
        }
    }

    #[test]
    fn carbon_dislikes_pressure_from_inside() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "balance.inside"), None);
        bench.model.seal.pressure_side = crate::model::PressureSide::Inside;
        assert_eq!(word_of(&bench, "balance.inside"), Some(Word::Holds));
        bench.duty_mut().pressure_pa = 1.7e6;
        assert_eq!(word_of(&bench, "balance.inside"), Some(Word::Watch));
    }
}
