//! Film and contact: what the solved film says about the life of the faces.

use crate::model::RingRole;
use crate::outcome::{Equilibrium, Ranged};

use super::text::{length, percent, ratio, stiffness, torque, volume_leakage};
use super::view::{CaseView, DutyView};
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};

const GROUP: &str = "Film and contact";

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "film.lambda",
        group: GROUP,
        statement: "Least film over composite roughness: above 3 full film, 1 to 3 mixed, below 1 boundary; at the normal duty not below 1.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "1 at the normal duty",
        hint: "Contacting seals live at 0.5 to 2: look at contact share and wear.",
        judge: Judge::Duty(lambda),
    },
    Rule {
        id: "film.minimum",
        group: GROUP,
        statement: "The least film is not below the user's limit.",
        breach: Breach::Fail,
        source: Source::User,
        limit: "[limits] minimum_film",
        hint: "Lower the load or the roughness.",
        judge: Judge::Duty(minimum),
    },
    Rule {
        id: "film.contact-share",
        group: GROUP,
        statement: "Asperities carry at most half of closing with a carbon face, a fifth with two hard faces; at the normal duty never above 90 %.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "50 % carbon, 20 % hard; fails above 90 % at normal",
        hint: "Wear follows contact, not speed: lower the load or thicken the film.",
        judge: Judge::Duty(contact_share),
    },
    Rule {
        id: "film.coning-sign",
        group: GROUP,
        statement: "At the normal duty the gap converges in the direction of the leak, by -0.3 to +1.5 um over the band, of gas to +5 um.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "-0.3 to +1.5 um; gas to +5 um",
        hint: "Diverging faces lose the outside film and flutter: move support or secondary seal, or lap a form.",
        judge: Judge::Duty(coning_sign),
    },
    Rule {
        id: "film.coning-range",
        group: GROUP,
        statement: "Coning differs between running duties by less than three times the least film at normal.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "3 least films",
        hint: "Faces wear to one duty and gap at another: stiffen the section or even out the duties.",
        judge: Judge::Case(coning_range),
    },
    Rule {
        id: "film.stiffness",
        group: GROUP,
        statement: "The film pushes back when the gap closes, with a stiffness above 0.2 of closing over the gap.",
        breach: Breach::Fail,
        source: Source::Geometry,
        limit: "stable; watch below 0.2 closing / least film",
        hint: "A gap that narrows in the direction of the leak pushes back: look at coning and at the support of the rings.",
        judge: Judge::Duty(film_stiffness),
    },
    Rule {
        id: "film.hard-pair",
        group: GROUP,
        statement: "Two hard faces do not run below one roughness at the normal duty.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "least film above one composite roughness",
        hint: "Prefer a graphite-loaded face or carbon.",
        judge: Judge::Duty(hard_pair),
    },
    Rule {
        id: "film.wear-life",
        group: GROUP,
        statement: "At the solved contact pressure 1 mm of the narrow face lasts 25 000 hours.",
        breach: Breach::Caution,
        source: Source::Secondary,
        limit: "25 000 h for 1 mm",
        hint: "Choose another pair or a lower load.",
        judge: Judge::Duty(wear_life),
    },
    Rule {
        id: "film.wear-depth",
        group: GROUP,
        statement: "Within the first 100 hours at normal the narrow face wears by less than 1 um.",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "1 um in 100 h",
        hint: "The face will reshape itself: judge it after run-in.",
        judge: Judge::Duty(wear_depth),
    },
    Rule {
        id: "film.waviness",
        group: GROUP,
        statement: "Faces solved flat round the circumference leak least and rub most; how much waviness changes that shows a rigid wave.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "waviness in the gap",
        hint: "Residual waviness of 0.1 to 1 um carries load and opens the gap: measure it, and state it as a texture of kind `waves`.",
        judge: Judge::Duty(waviness),
    },
    Rule {
        id: "film.thermal-stability",
        group: GROUP,
        statement: "The film is stable both with heat following and with the thermal shape frozen.",
        breach: Breach::Caution,
        source: Source::Geometry,
        limit: "same sign of both slopes",
        hint: "Fast and slow stability are different questions: expect slow swings or a sudden jump.",
        judge: Judge::Duty(thermal_stability),
    },
    Rule {
        id: "film.hot-spots",
        group: GROUP,
        statement: "Two hard faces above 20 m/s do not carry more than 30 % in contact.",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "30 % above 20 m/s",
        hint: "Thermoelastic patches: look for regular spots on the faces.",
        judge: Judge::Duty(hot_spots),
    },
];

/// Least film over composite roughness at the low end of the film.
fn low_film_parameter(equilibrium: &Equilibrium) -> f64 {
    let film = equilibrium.minimum_film_m;
    if film.nominal > 0.0 { equilibrium.film_parameter * film.low / film.nominal } else { equilibrium.film_parameter }
}

fn lambda(view: &DutyView) -> Judged {
    let equilibrium = view.solved()?;
    let parameter = equilibrium.film_parameter;
    let regime = match parameter {
        p if p > 3.0 => "full film",
        p if p >= 1.0 => "mixed",
        _ => "boundary",
    };
    let reason = format!("least film {} is {} roughnesses: {regime}", length(equilibrium.minimum_film_m.nominal), ratio(parameter));
    let breach = if view.is_normal() && view.sliding_speed_m_per_s() > 2.0 { Breach::Caution } else { Breach::Note };
    let low = low_film_parameter(equilibrium);
    let end = || format!("its low estimate {} is {}", length(equilibrium.minimum_film_m.low), ratio(low));
    Ok(Assessment::within(parameter >= 1.0, breach, reason).unless_range_crosses(low < 1.0, breach, end).compared(parameter, 1.0))
}

fn minimum(view: &DutyView) -> Judged {
    let Some(limit) = view.model.limits.minimum_film_m else {
        return Err(Skip::DoesNotApply);
    };
    let film = view.solved()?.minimum_film_m;
    let reason = format!("least film {} against {}", length(film.nominal), length(limit));
    let end = || format!("its low estimate {} is below", length(film.low));
    let assessment =
        Assessment::within(film.nominal >= limit, Breach::Fail, reason).unless_range_crosses(film.low < limit, Breach::Fail, end);
    Ok(assessment.compared(film.nominal, limit))
}

fn contact_share(view: &DutyView) -> Judged {
    view.while_turning()?;
    let range = view.solved()?.contact_share;
    let share = range.nominal;
    let end = || format!("the high estimate {} is above", percent(range.high));
    if let Some(limit) = view.model.limits.contact_share {
        let reason = format!("asperities carry {} of closing, your limit {}", percent(share), percent(limit));
        let assessment =
            Assessment::within(share <= limit, Breach::Fail, reason).unless_range_crosses(range.high > limit, Breach::Fail, end);
        return Ok(assessment.compared(share, limit).sourced(Source::User));
    }
    let usual = if view.hard_pair() { 0.2 } else { 0.5 };
    let reason = format!("asperities carry {} of closing, usual up to {}", percent(share), percent(usual));
    if view.named("start") {
        let assessment = Assessment::within(share <= usual, Breach::Note, format!("{reason}; a start may exceed it"));
        return Ok(assessment.unless_range_crosses(range.high > usual, Breach::Note, end).compared(share, usual));
    }
    let fail = if view.is_normal() && view.sliding_speed_m_per_s() > 2.0 { 0.9 } else { f64::INFINITY };
    Ok(Assessment::graded(share, usual, fail, reason).unless_range_crosses(range.high > usual, Breach::Caution, end))
}

fn coning_sign(view: &DutyView) -> Judged {
    if !view.is_normal() || view.pressure_difference_pa() == 0.0 {
        return Err(Skip::DoesNotApply);
    }
    let coning = view.solved()?.coning_m;
    let reason = format!("coning {} (pressure {}, heat {})", length(coning.total), length(coning.elastic), length(coning.thermal));
    // Gas films are some micrometres thick and are lapped to cones of that size.
    let highest = if view.chamber_is_gas() { 5e-6 } else { 1.5e-6 };
    let within = (-0.3e-6..=highest).contains(&coning.total);
    Ok(Assessment::within(within, Breach::Caution, reason).compared(coning.total, if coning.total < 0.0 { -0.3e-6 } else { highest }))
}

fn coning_range(view: &CaseView) -> Judged {
    let normal = view.normal()?;
    let Ranged { low: film_low, nominal: film, .. } = normal.solved()?.minimum_film_m;
    let running = view.duties.iter().filter(|duty| duty.turns());
    let solved: Vec<(&str, f64)> =
        running.filter_map(|duty| duty.solved().ok().map(|e| (duty.duty.name.as_str(), e.coning_m.total))).collect();
    if solved.len() < 2 {
        return Err(Skip::NotComputed("fewer than two running duties were solved".to_owned()));
    }
    let least = solved.iter().min_by(|a, b| a.1.total_cmp(&b.1)).copied().unwrap_or_default();
    let greatest = solved.iter().max_by(|a, b| a.1.total_cmp(&b.1)).copied().unwrap_or_default();
    let range = greatest.1 - least.1;
    let reason = format!(
        "coning runs from {} ({}) to {} ({}): {} least films",
        length(least.1),
        least.0,
        length(greatest.1),
        greatest.0,
        ratio(range / film.max(f64::MIN_POSITIVE))
    );
    let end = || format!("three times the low estimate {} of the film are less", length(film_low));
    let assessment = Assessment::within(range < 3.0 * film, Breach::Caution, reason);
    Ok(assessment.unless_range_crosses(range >= 3.0 * film_low, Breach::Caution, end).compared(range, 3.0 * film))
}

/// Stability is the solver's answer, by the slope along the axial travel of the ring; the stiffness per least gap may have the
/// other sign where a section rolls under an edge contact.
fn film_stiffness(view: &DutyView) -> Judged {
    let equilibrium = view.solved()?;
    let slope = -equilibrium.film_stiffness_n_per_m.coupled;
    let wanted = 0.2 * equilibrium.closing_force_n / equilibrium.minimum_film_m.nominal.max(f64::MIN_POSITIVE);
    // Below zero least film, closing over the gap says nothing.
    let against = if equilibrium.minimum_film_m.nominal > 0.0 { format!(", wanted {}", stiffness(wanted)) } else { String::new() };
    let found = format!("stiffness per least gap {}", stiffness(slope));
    Ok(match (equilibrium.stable, slope) {
        (false, _) => Assessment::fails(format!("not stable: nothing pushes the ring back when it is moved along its travel ({found})")),
        (true, slope) if slope <= 0.0 => Assessment::watch(format!(
            "stable along the travel of the ring, though the least gap does not shrink as the ring is pressed in: the faces roll open ({found})"
        )),
        (true, slope) if slope < wanted => {
            Assessment::watch(format!("stable but soft: the film gives way to small changes of load ({found}{against})"))
        }
        _ => Assessment::holds(format!("stable: {found}{against}")),
    }
    .compared(slope, wanted))
}

fn hard_pair(view: &DutyView) -> Judged {
    if !view.hard_pair() || !view.is_normal() || view.graphite_loaded() {
        return Err(Skip::DoesNotApply);
    }
    let equilibrium = view.solved()?;
    let (parameter, low) = (equilibrium.film_parameter, low_film_parameter(equilibrium));
    let reason = format!("two hard faces at {} roughnesses", ratio(parameter));
    let end = || format!("the low estimate is {}", ratio(low));
    let assessment = Assessment::within(parameter >= 1.0, Breach::Caution, reason);
    Ok(assessment.unless_range_crosses(low < 1.0, Breach::Caution, end).compared(parameter, 1.0))
}

fn wear_rate(view: &DutyView) -> Result<Ranged, Skip> {
    if !view.is_normal() || !view.turns() {
        return Err(Skip::DoesNotApply);
    }
    let unknown = || Skip::NotComputed(format!("no wear coefficient is known for {} on {}", view.rotating.name, view.stationary.name));
    view.solved()?.wear_rate_m_per_s.ok_or_else(unknown)
}

fn wear_life(view: &DutyView) -> Judged {
    let rate = wear_rate(view)?;
    let allowed = 1e-3;
    let life = |rate: f64| allowed / rate.max(1e-30) / 3600.0;
    let hours = |rate: f64| match life(rate) {
        h if h > 1e6 => "more than a million hours".to_owned(),
        h => format!("{:.0} h", two_digits(h)),
    };
    let reason = format!("1 mm lasts {} (between {} and {}), wanted 25000 h", hours(rate.nominal), hours(rate.high), hours(rate.low));
    let assessment = Assessment::within(life(rate.nominal) >= 25_000.0, Breach::Caution, reason);
    let may_be_short = life(rate.high) < 25_000.0;
    Ok(if may_be_short { assessment.at_best_watch() } else { assessment }.compared(life(rate.nominal), 25_000.0))
}

fn two_digits(value: f64) -> f64 {
    let step = 10f64.powf(value.abs().max(f64::MIN_POSITIVE).log10().floor() - 1.0);
    (value / step).round() * step
}

fn wear_depth(view: &DutyView) -> Judged {
    let rate = wear_rate(view)?;
    let depth = rate.nominal * 100.0 * 3600.0;
    let reason = format!("{} in the first 100 hours (up to {})", length(depth), length(rate.high * 100.0 * 3600.0));
    Ok(Assessment::within(depth <= 1e-6, Breach::Note, reason).compared(depth, 1e-6))
}

fn waviness(view: &DutyView) -> Judged {
    let equilibrium = view.solved()?;
    if !equilibrium.leakage_is_lower_bound {
        return Err(Skip::DoesNotApply);
    }
    let narrow = match view.model.narrow_ring {
        RingRole::Rotating => &view.model.rotating_ring,
        RingRole::Stationary => &view.model.stationary_ring,
    };
    let flat = format!("solved flat round the circumference; the narrow face is flat to {} only", length(narrow.flatness_m));
    let Some(wavy) = equilibrium.with_wave else {
        return Ok(Assessment::watch(format!("{flat}: leakage is a lower bound, contact and torque upper ones")));
    };
    Ok(Assessment::watch(format!(
        "{flat}: leakage {}, contact {}, torque {}; with a rigid wave of {} from valley to peak, {} a turn, {}, {} and {}",
        volume_leakage(equilibrium.leakage_m3_per_s.nominal),
        percent(equilibrium.contact_share.nominal),
        torque(equilibrium.torque_n_m.nominal),
        length(wavy.peak_to_valley_m),
        wavy.count,
        volume_leakage(wavy.leakage_m3_per_s),
        percent(wavy.contact_share),
        torque(wavy.torque_n_m),
    )))
}

fn thermal_stability(view: &DutyView) -> Judged {
    let equilibrium = view.solved()?;
    let words = |stable: bool| if stable { "stable" } else { "unstable" };
    let reason = format!(
        "with heat following {}; with the thermal shape frozen {}",
        words(equilibrium.stable),
        words(equilibrium.stable_with_heat_frozen)
    );
    Ok(Assessment::within(equilibrium.stable == equilibrium.stable_with_heat_frozen, Breach::Caution, reason))
}

fn hot_spots(view: &DutyView) -> Judged {
    if !view.hard_pair() || view.sliding_speed_m_per_s() <= 20.0 {
        return Err(Skip::DoesNotApply);
    }
    let share = view.solved()?.contact_share;
    let reason = format!("contact carries {} at high speed", percent(share.nominal));
    let end = || format!("the high estimate {} is above 30 %", percent(share.high));
    let assessment = Assessment::within(share.nominal <= 0.3, Breach::Note, reason);
    Ok(assessment.unless_range_crosses(share.high > 0.3, Breach::Note, end).compared(share.nominal, 0.3))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, reason_of, word_of};
    use crate::outcome::{Ranged, Word};

    #[test]
    fn film_over_roughness() {
        let mut bench = Bench::booster();
        bench.equilibrium_mut().minimum_film_m = Ranged { low: 0.5e-6, nominal: 0.5e-6, high: 0.6e-6 };
        bench.equilibrium_mut().film_parameter = 1.1;
        assert_eq!(word_of(&bench, "film.lambda"), Some(Word::Holds));
        bench.equilibrium_mut().minimum_film_m.low = 0.4e-6; // 0.88 roughnesses
        assert_eq!(word_of(&bench, "film.lambda"), Some(Word::Watch));
        let reason = reason_of(&bench, "film.lambda");
        assert_eq!(reason, "least film 5e-7 m is 1.1 roughnesses: mixed; its low estimate 4e-7 m is 0.88");
        bench.equilibrium_mut().film_parameter = 0.9;
        assert_eq!(word_of(&bench, "film.lambda"), Some(Word::Watch));
    }

    #[test]
    fn contact_share_by_pair_and_duty() {
        let mut bench = Bench::booster();
        for (share, word) in [(0.49, Word::Holds), (0.51, Word::Watch), (0.91, Word::Fails)] {
            bench.equilibrium_mut().contact_share = Ranged::exact(share);
            assert_eq!(word_of(&bench, "film.contact-share"), Some(word));
        }
        bench.equilibrium_mut().contact_share = Ranged { low: 0.3, nominal: 0.4, high: 0.51 };
        assert_eq!(word_of(&bench, "film.contact-share"), Some(Word::Watch), "the range crosses the limit");
        assert!(reason_of(&bench, "film.contact-share").ends_with("the high estimate 51 % is above"));
        bench.model.limits.contact_share = Some(0.5);
        assert_eq!(word_of(&bench, "film.contact-share"), Some(Word::Watch), "also the user's limit");
        bench.model.limits.contact_share = None;
        bench.equilibrium_mut().contact_share = Ranged::exact(0.91);
        bench.rename("start");
        bench.add_duty("normal", |_| ());
        assert_eq!(word_of(&bench, "film.contact-share"), Some(Word::Holds), "a start may exceed the limit");
        let mut hard = Bench::with_faces("silicon carbide, sintered", "silicon carbide, sintered");
        hard.equilibrium_mut().contact_share = Ranged::exact(0.21);
        assert_eq!(word_of(&hard, "film.contact-share"), Some(Word::Watch));
        hard.model.limits.contact_share = Some(0.2);
        assert_eq!(word_of(&hard, "film.contact-share"), Some(Word::Fails), "the user's limit is acceptance");
    }

    #[test]
    fn coning_has_a_right_sign_and_size() {
        let mut bench = Bench::booster();
        for (um, word) in [(-0.31, Word::Watch), (-0.29, Word::Holds), (1.49, Word::Holds), (1.51, Word::Watch)] {
            bench.equilibrium_mut().coning_m.total = um * 1e-6;
            assert_eq!(word_of(&bench, "film.coning-sign"), Some(word));
        }
        bench.outcome_mut().conditions.chamber_saturation_k = Some(100.0);
        for (um, word) in [(-0.31, Word::Watch), (4.9, Word::Holds), (5.1, Word::Watch)] {
            bench.equilibrium_mut().coning_m.total = um * 1e-6;
            assert_eq!(word_of(&bench, "film.coning-sign"), Some(word), "a gas film");
        }
    }

    #[test]
    fn coning_must_not_wander_between_duties() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "film.coning-range"), Some(Word::NotComputed));
        bench.add_duty("maximum", |_| ());
        bench.equilibrium_mut().minimum_film_m = Ranged::exact(0.3e-6);
        bench.equilibrium_mut().coning_m.total = 0.2e-6;
        bench.outcome.duties[1].equilibria[0].coning_m.total = 1.05e-6;
        assert_eq!(word_of(&bench, "film.coning-range"), Some(Word::Holds));
        bench.equilibrium_mut().minimum_film_m.low = 0.28e-6; // three of them 0.84 um
        assert_eq!(word_of(&bench, "film.coning-range"), Some(Word::Watch));
        bench.equilibrium_mut().minimum_film_m.low = 0.3e-6;
        bench.outcome.duties[1].equilibria[0].coning_m.total = 1.15e-6;
        assert_eq!(word_of(&bench, "film.coning-range"), Some(Word::Watch));
    }

    #[test]
    fn stiffness_decides_stability() {
        let mut bench = Bench::booster();
        bench.equilibrium_mut().closing_force_n = 1000.0;
        bench.equilibrium_mut().minimum_film_m = Ranged::exact(1e-6); // wanted 2e8 N/m
        for (slope, word) in [(1e6, Word::Watch), (-1.9e8, Word::Watch), (-2.1e8, Word::Holds)] {
            bench.equilibrium_mut().film_stiffness_n_per_m.coupled = slope;
            assert_eq!(word_of(&bench, "film.stiffness"), Some(word));
        }
        bench.equilibrium_mut().stable = false;
        assert_eq!(word_of(&bench, "film.stiffness"), Some(Word::Fails));
    }

    #[test]
    fn each_stability_says_one_thing() {
        let mut bench = Bench::booster();
        bench.equilibrium_mut().closing_force_n = 1000.0;
        bench.equilibrium_mut().minimum_film_m = Ranged::exact(1e-6);
        for (stable, slope, begins) in [
            (true, 1e6, "stable along the travel of the ring, though"),
            (true, -1e8, "stable but soft:"),
            (true, -3e8, "stable: stiffness"),
            (false, -3e8, "not stable:"),
        ] {
            bench.equilibrium_mut().stable = stable;
            bench.equilibrium_mut().film_stiffness_n_per_m.coupled = slope;
            let reason = reason_of(&bench, "film.stiffness");
            assert!(reason.starts_with(begins), "{reason}");
        }
    }

    #[test]
    fn heat_may_turn_the_sign() {
        let mut bench = Bench::booster();
        bench.equilibrium_mut().film_stiffness_n_per_m.thermally_frozen = -2e8;
        assert_eq!(word_of(&bench, "film.thermal-stability"), Some(Word::Holds));
        bench.equilibrium_mut().stable_with_heat_frozen = false;
        assert_eq!(word_of(&bench, "film.thermal-stability"), Some(Word::Watch));
    }

    #[test]
    fn wear_life_reaches_the_next_overhaul() {
        let mut bench = Bench::booster();
        bench.equilibrium_mut().wear_rate_m_per_s = None;
        assert_eq!(word_of(&bench, "film.wear-life"), Some(Word::NotComputed));
        let rate = |hours: f64| 1e-3 / (hours * 3600.0);
        bench.equilibrium_mut().wear_rate_m_per_s = Some(Ranged { low: rate(1e6), nominal: rate(1e5), high: rate(25_100.0) });
        assert_eq!(word_of(&bench, "film.wear-life"), Some(Word::Holds));
        bench.equilibrium_mut().wear_rate_m_per_s = Some(Ranged { low: rate(1e6), nominal: rate(1e5), high: rate(24_900.0) });
        assert_eq!(word_of(&bench, "film.wear-life"), Some(Word::Watch));
    }

    #[test]
    fn flat_faces_are_never_better_than_watch() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "film.waviness"), Some(Word::Watch));
        bench.equilibrium_mut().leakage_is_lower_bound = false;
        assert_eq!(word_of(&bench, "film.waviness"), None);
    }

    #[test]
    fn the_users_least_film() {
        let mut bench = Bench::booster();
        bench.model.limits.minimum_film_m = Some(0.2e-6);
        for (low, nominal, word) in [(0.21, 0.3, Word::Holds), (0.19, 0.3, Word::Watch), (0.1, 0.19, Word::Fails)] {
            bench.equilibrium_mut().minimum_film_m = Ranged { low: low * 1e-6, nominal: nominal * 1e-6, high: 0.5e-6 };
            assert_eq!(word_of(&bench, "film.minimum"), Some(word));
        }
    }

    #[test]
    fn two_hard_faces_do_not_rub() {
        assert_eq!(word_of(&Bench::booster(), "film.hard-pair"), None);
        let mut hard = Bench::with_faces("silicon carbide, sintered", "tungsten carbide, nickel bonded");
        hard.equilibrium_mut().film_parameter = 1.2; // 0.84 at the low end, 0.33 of 0.47 um
        hard.equilibrium_mut().minimum_film_m = Ranged { low: 0.33e-6, nominal: 0.47e-6, high: 0.6e-6 };
        assert_eq!(word_of(&hard, "film.hard-pair"), Some(Word::Watch));
        hard.equilibrium_mut().minimum_film_m = Ranged::exact(0.47e-6);
        hard.equilibrium_mut().film_parameter = 1.01;
        assert_eq!(word_of(&hard, "film.hard-pair"), Some(Word::Holds));
        hard.equilibrium_mut().film_parameter = 0.99;
        assert_eq!(word_of(&hard, "film.hard-pair"), Some(Word::Watch));
    }
}
