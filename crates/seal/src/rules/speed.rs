//! Pressure times speed, and speed itself.

use super::text::{percent, pressure_speed, speed};
use super::view::DutyView;
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};

const GROUP: &str = "Pressure times speed";

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "pv.net",
        group: GROUP,
        statement: "Net face pressure times sliding speed stays below the handbook figure of the pair (clean cool water).",
        breach: Breach::Fail,
        source: Source::Memory,
        limit: "the pair's figure; fails above 150 % of it",
        hint: "PV is a hint, not physics: read face temperature and contact share.",
        judge: Judge::Duty(net),
    },
    Rule {
        id: "pv.hydraulic",
        group: GROUP,
        statement: "Pressure difference times speed: 70 MPa m/s with a carbon face, 40 with two hard faces.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "70 or 40 MPa m/s",
        hint: "Use the solved face temperature.",
        judge: Judge::Duty(hydraulic),
    },
    Rule {
        id: "pv.poor",
        group: GROUP,
        statement: "Poor lubricants carry half the pair's PV figure, oils half more.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "0.5 or 1.5 times the pair's figure",
        hint: "Light hydrocarbons, ammonia and water above 80 degC lubricate poorly: look at the film.",
        judge: Judge::Duty(by_lubricant),
    },
    Rule {
        id: "speed.rotating-springs",
        group: GROUP,
        statement: "Springs or bellows turn with the shaft only up to 23 m/s.",
        breach: Breach::Caution,
        source: Source::Memory,
        limit: "23 m/s",
        hint: "Put the springs on the stationary side.",
        judge: Judge::Duty(rotating_springs),
    },
    Rule {
        id: "speed.balance",
        group: GROUP,
        statement: "Above 40 m/s the rotating parts are dynamically balanced and every O-ring is held against centrifugal force.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "40 m/s",
        hint: "State the balance grade.",
        judge: Judge::Duty(balance_grade),
    },
];

/// PV with the solved profile factor where a film is solved, else by hand with K = 0.5, and which it was.
fn net_pv(view: &DutyView) -> (f64, &'static str) {
    match view.solved() {
        Ok(equilibrium) => (equilibrium.pv_pa_m_per_s, "with the solved pressure profile"),
        Err(_) => (view.outcome.hand.net_pv_pa_m_per_s, "by hand with K = 0.5, no film being solved"),
    }
}

fn pair_limit(view: &DutyView) -> Result<f64, Skip> {
    view.while_turning()?;
    if view.chamber_is_gas() {
        return Err(Skip::DoesNotApply);
    }
    let unknown = || Skip::NotComputed(format!("no PV figure is known for {} on {}", view.rotating.name, view.stationary.name));
    view.model.contact.pv_limit_pa_m_per_s.ok_or_else(unknown)
}

fn net(view: &DutyView) -> Judged {
    let limit = pair_limit(view)?;
    let (pv, how) = net_pv(view);
    let reason = format!("net PV {} ({how}) is {} of {}", pressure_speed(pv), percent(pv / limit), pressure_speed(limit));
    Ok(Assessment::graded(pv, limit, 1.5 * limit, reason))
}

fn by_lubricant(view: &DutyView) -> Judged {
    let multiplier = view.fluid.kind.pv_multiplier(view.chamber_temperature_k());
    if multiplier == 1.0 {
        return Err(Skip::DoesNotApply);
    }
    let limit = multiplier * pair_limit(view)?;
    let (pv, how) = net_pv(view);
    let reason = format!("net PV {} ({how}) against {} for {}", pressure_speed(pv), pressure_speed(limit), view.fluid.name);
    Ok(Assessment::within(pv <= limit, Breach::Caution, reason).compared(pv, limit))
}

fn hydraulic(view: &DutyView) -> Judged {
    view.while_turning()?;
    if view.chamber_is_gas() {
        return Err(Skip::DoesNotApply);
    }
    let limit = if view.hard_pair() { 40e6 } else { 70e6 };
    let pv = view.pressure_difference_pa() * view.sliding_speed_m_per_s();
    let reason = format!("pressure difference times speed {} against {}", pressure_speed(pv), pressure_speed(limit));
    Ok(Assessment::within(pv <= limit, Breach::Caution, reason).compared(pv, limit))
}

fn rotating_springs(view: &DutyView) -> Judged {
    if !view.model.seal.rotating_spring {
        return Err(Skip::DoesNotApply);
    }
    let sliding = view.sliding_speed_m_per_s();
    Ok(Assessment::within(sliding <= 23.0, Breach::Caution, format!("springs turn at {}", speed(sliding))).compared(sliding, 23.0))
}

fn balance_grade(view: &DutyView) -> Judged {
    view.while_turning()?;
    let sliding = view.sliding_speed_m_per_s();
    Ok(Assessment::within(sliding <= 40.0, Breach::Caution, format!("sliding speed {}", speed(sliding))).compared(sliding, 40.0))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, word_of};
    use crate::outcome::Word;

    #[test]
    fn net_pv_is_graded_against_the_pair() {
        let mut bench = Bench::booster();
        bench.model.contact.pv_limit_pa_m_per_s = Some(17.5e6);
        for (pv, word) in [(17.4e6, Word::Holds), (17.6e6, Word::Watch), (26.2e6, Word::Watch), (26.3e6, Word::Fails)] {
            bench.equilibrium_mut().pv_pa_m_per_s = pv;
            assert_eq!(word_of(&bench, "pv.net"), Some(word));
        }
        bench.model.contact.pv_limit_pa_m_per_s = None;
        assert_eq!(word_of(&bench, "pv.net"), Some(Word::NotComputed));
        bench.duty_mut().speed_rad_per_s = 0.0;
        assert_eq!(word_of(&bench, "pv.net"), None);
    }

    #[test]
    fn hot_water_carries_half() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "pv.poor"), None);
        bench.outcome_mut().conditions.chamber_temperature_k = 363.15;
        bench.equilibrium_mut().pv_pa_m_per_s = 8.7e6;
        assert_eq!(word_of(&bench, "pv.poor"), Some(Word::Holds));
        bench.equilibrium_mut().pv_pa_m_per_s = 8.8e6;
        assert_eq!(word_of(&bench, "pv.poor"), Some(Word::Watch));
    }

    #[test]
    fn hydraulic_pv_and_speeds() {
        let mut bench = Bench::booster();
        let radius = bench.model.band.mean_radius_m();
        for (speed, springs, grade) in
            [(22.9, Word::Holds, Word::Holds), (23.1, Word::Watch, Word::Holds), (40.1, Word::Watch, Word::Watch)]
        {
            bench.duty_mut().speed_rad_per_s = -speed / radius;
            assert_eq!(word_of(&bench, "speed.rotating-springs"), Some(springs));
            assert_eq!(word_of(&bench, "speed.balance"), Some(grade));
        }
        bench.duty_mut().speed_rad_per_s = 20.0 / radius;
        bench.duty_mut().pressure_pa = 0.1e6 + 3.4e6;
        assert_eq!(word_of(&bench, "pv.hydraulic"), Some(Word::Holds));
        bench.duty_mut().pressure_pa = 0.1e6 + 3.6e6;
        assert_eq!(word_of(&bench, "pv.hydraulic"), Some(Word::Watch));
    }
}
