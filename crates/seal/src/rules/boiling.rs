//! Boiling: how far the fluid is from turning to vapour, in the chamber and in the film, and how many states there are.

use crate::model::PressureSide;
use crate::outcome::{Equilibrium, PhaseChangeKind, Status};

use super::facts::FluidKind;
use super::text::{absolute_pressure, length, number, percent, pressure, temperature, temperature_difference};
use super::view::{DutyView, reason_or_status, status_in_words};
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};

const GROUP: &str = "Boiling";

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "boiling.chamber-pressure",
        group: GROUP,
        statement: "Chamber pressure stands 0.35 MPa above vapour pressure, or at least at 1.3 times it.",
        breach: Breach::Fail,
        source: Source::Secondary,
        limit: "vapour pressure + 0.35 MPa; fails below 1.3 times",
        hint: "Cool, raise the pressure, or go dual pressurised.",
        judge: Judge::Duty(chamber_pressure),
    },
    Rule {
        id: "boiling.chamber-kelvin",
        group: GROUP,
        statement: "The chamber is 20 K below saturation; below 10 K it fails (cryogenic liquids: watch below 6 K).",
        breach: Breach::Fail,
        source: Source::Memory,
        limit: "20 K; fails below 10 K",
        hint: "Kelvin is what the operator can see: cool the chamber or raise its pressure.",
        judge: Judge::Duty(chamber_kelvin),
    },
    Rule {
        id: "boiling.edge",
        group: GROUP,
        statement: "Vapour covers at most 25 % of the band; above 60 % it fails.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "25 % of the band; fails above 60 %",
        hint: "A little vapour at the edge is normal in hot water; much of it opens or dries the faces.",
        judge: Judge::Duty(edge),
    },
    Rule {
        id: "boiling.film-margin",
        group: GROUP,
        statement: "The film keeps the user's distance to boiling at every radius.",
        breach: Breach::Fail,
        source: Source::User,
        limit: "[limits] boiling_margin",
        hint: "Cool the flush, lower the load, or raise the low pressure.",
        judge: Judge::Duty(film_margin),
    },
    Rule {
        id: "boiling.hot-water",
        group: GROUP,
        statement: "Water at a carbon face stays below 80 degC.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "80 degC at the faces",
        hint: "A closed cooling loop at the seal is the usual answer.",
        judge: Judge::Duty(hot_water),
    },
    Rule {
        id: "boiling.states",
        group: GROUP,
        statement: "Exactly one stable equilibrium exists.",
        breach: Breach::Fail,
        source: Source::Geometry,
        limit: "one; fails if none",
        hint: "Look at all states and which of them a start would find.",
        judge: Judge::Duty(states),
    },
    Rule {
        id: "gas.dew",
        group: GROUP,
        statement: "Gas is 20 K above its dew point.",
        breach: Breach::Fail,
        source: Source::Memory,
        limit: "20 K; fails below 0 K",
        hint: "Heat the seal gas and trace the pipe.",
        judge: Judge::Duty(dew),
    },
];

fn liquid_chamber(view: &DutyView) -> Result<(), Skip> {
    // Gas in a pump at rest is a test or a cool-down; turning, it is a pump that lost its liquid.
    if view.chamber_is_gas() && (view.gas_machine() || !view.turns()) { Err(Skip::DoesNotApply) } else { Ok(()) }
}

fn no_saturation(view: &DutyView) -> Skip {
    Skip::NotComputed(format!("the vapour pressure of {} is not known: no distance to boiling is given", view.fluid.name))
}

fn chamber_pressure(view: &DutyView) -> Judged {
    liquid_chamber(view)?;
    if view.fluid.kind == FluidKind::Cryogenic || view.chamber_temperature_k() < 200.0 {
        return Err(Skip::DoesNotApply);
    }
    let Some(vapour) = view.fluid.vapour_pressure_pa else {
        return Err(no_saturation(view));
    };
    let chamber = view.duty.pressure_pa;
    let reason = format!(
        "chamber {} is {} above vapour pressure {} ({} times)",
        absolute_pressure(chamber),
        pressure(chamber - vapour),
        absolute_pressure(vapour),
        number(chamber / vapour)
    );
    let assessment = if chamber < 1.3 * vapour {
        Assessment::fails(reason)
    } else if chamber < vapour + 0.35e6 {
        Assessment::watch(reason)
    } else {
        Assessment::holds(reason)
    };
    Ok(assessment.compared(chamber, 1.3 * vapour))
}

fn chamber_kelvin(view: &DutyView) -> Judged {
    liquid_chamber(view)?;
    let Some(saturation) = view.outcome.conditions.chamber_saturation_k else {
        return Err(no_saturation(view));
    };
    let margin = saturation - view.chamber_temperature_k();
    let reason = if margin < 0.0 {
        format!("the chamber holds gas: it is {} above saturation at {}", temperature_difference(-margin), temperature(saturation))
    } else {
        format!("chamber {} below saturation at {}", temperature_difference(margin), temperature(saturation))
    };
    let cryogenic = saturation < 200.0;
    let (caution, fail) = if cryogenic { (6.0, 0.0) } else { (20.0, 10.0) };
    Ok(if margin < fail {
        Assessment::fails(reason)
    } else if margin < caution {
        Assessment::watch(reason)
    } else {
        Assessment::holds(reason)
    }
    .compared(margin, caution))
}

fn edge(view: &DutyView) -> Judged {
    let equilibrium = view.solved()?;
    let Some(margin) = equilibrium.boiling_margin_k else {
        return Err(Skip::NotComputed(equilibrium.boiling_margin_reason.clone()));
    };
    if equilibrium.vapour_fraction_max <= 0.0 && margin.nominal > 0.0 {
        let reason = format!("no vapour; film {} below boiling at its nearest", temperature_difference(margin.nominal));
        return Ok(if margin.low < 0.0 {
            Assessment::holds(format!("{reason}; its low estimate {} boils", temperature_difference(margin.low))).at_best_watch()
        } else {
            Assessment::holds(reason)
        }
        .compared(0.0, 0.25));
    }
    if let Some(from_m) = vapour_from_m(equilibrium) {
        let share = (from_m - low_edge_m(view)).abs() / view.model.band.width_m();
        let part = if share < 1e-3 { "less than 0.1 %".to_owned() } else { percent(share) };
        let reason = format!("vapour from radius {} to the edge of the low pressure, {part} of the band", length(from_m));
        return Ok(Assessment::graded(share, 0.25, 0.60, reason).at_best_watch());
    }
    // Without vapour in the model the temperatures of the liquid tell what would boil at the low pressure.
    let Some(saturation) = view.fluid.low_side_saturation_k else {
        return Err(Skip::NotComputed("the film boils; the share of the band is not known".to_owned()));
    };
    let temperatures = &equilibrium.profiles.temperature_k;
    if temperatures.is_empty() {
        return Err(Skip::NotComputed("the film boils; the outcome carries no profile".to_owned()));
    }
    let above = temperatures.iter().filter(|t| **t >= saturation).count();
    let share = above as f64 / temperatures.len() as f64;
    let reason = format!("film above saturation {} over {} of the band", temperature(saturation), percent(share));
    Ok(Assessment::graded(share, 0.25, 0.60, reason).at_best_watch())
}

/// Radius from which the fluid is no longer all liquid, m.
fn vapour_from_m(equilibrium: &Equilibrium) -> Option<f64> {
    let vapour = [PhaseChangeKind::BeginsToBoil, PhaseChangeKind::AllVapour];
    equilibrium.passage.phase_changes.iter().find(|change| vapour.contains(&change.kind)).map(|change| change.radius_m)
}

/// Radius at which the fluid leaves the band, m.
fn low_edge_m(view: &DutyView) -> f64 {
    let sealed_outside = view.model.seal.pressure_side == PressureSide::Outside;
    let reversed = view.duty.pressure_pa < view.duty.low_pressure_pa;
    if sealed_outside != reversed { view.model.band.inner_radius_m } else { view.model.band.outer_radius_m }
}

fn film_margin(view: &DutyView) -> Judged {
    let Some(limit) = view.model.limits.boiling_margin_k else {
        return Err(Skip::DoesNotApply);
    };
    let equilibrium = view.solved()?;
    let Some(margin) = equilibrium.boiling_margin_k else {
        return Err(Skip::NotComputed(equilibrium.boiling_margin_reason.clone()));
    };
    let reason = format!("film {} below boiling, wanted {}", temperature_difference(margin.nominal), temperature_difference(limit));
    let assessment = if margin.nominal < limit {
        Assessment::fails(reason)
    } else if margin.low < limit {
        Assessment::watch(format!("{reason}; low estimate {}", temperature_difference(margin.low)))
    } else {
        Assessment::holds(reason)
    };
    Ok(assessment.compared(margin.nominal, limit))
}

fn hot_water(view: &DutyView) -> Judged {
    if !matches!(view.fluid.kind, FluidKind::Water | FluidKind::Brine) || !view.carbon_pair() || view.chamber_is_gas() {
        return Err(Skip::DoesNotApply);
    }
    let hottest = view.solved()?.face_temperature_max_k;
    let limit = 353.15;
    let reason = format!("{} at the faces, {} in the chamber", temperature(hottest.nominal), temperature(view.chamber_temperature_k()));
    let end = || format!("the high estimate {} at the faces is above {}", temperature(hottest.high), temperature(limit));
    let assessment = Assessment::within(hottest.nominal <= limit, Breach::Caution, reason);
    Ok(assessment.unless_range_crosses(hottest.high > limit, Breach::Caution, end).compared(hottest.nominal, limit))
}

fn states(view: &DutyView) -> Judged {
    let status = view.outcome.status;
    match status {
        Status::NoneFacesTouch | Status::NoneFacesPart | Status::NoneStable => {
            return Ok(Assessment::fails(reason_or_status(view.outcome)));
        }
        Status::NotConverged | Status::NotModelled | Status::OutOfRange => {
            let reason = reason_or_status(view.outcome);
            let said = status_in_words(status);
            return Err(Skip::NotComputed(if reason == said { reason } else { format!("{said}: {reason}") }));
        }
        Status::Solved => {}
    }
    let stable = view.outcome.equilibria.iter().filter(|equilibrium| equilibrium.stable).count();
    let reason = match (stable, view.outcome.equilibria.len()) {
        (1, 1) => "one equilibrium, stable".to_owned(),
        (1, all) => format!("one stable equilibrium of {all}"),
        (many, _) => format!("{many} stable equilibria; the chosen one: {}", view.outcome.chosen_reason),
    };
    let unsearched = ["search.unfinished", "search.narrowed"];
    let searched = !view.outcome.notices.iter().any(|notice| unsearched.contains(&notice.code.as_str()));
    let reason = if searched { reason } else { format!("{reason}; not every gap could be searched") };
    Ok(Assessment::within(stable == 1 && searched, Breach::Caution, reason).compared(stable as f64, 1.0))
}

fn dew(view: &DutyView) -> Judged {
    if !view.gas_machine() {
        return Err(Skip::DoesNotApply);
    }
    let Some(dew_point) = view.outcome.conditions.chamber_saturation_k else {
        return Err(Skip::NotComputed(format!("no dew point is known for {}", view.fluid.name)));
    };
    let margin = view.chamber_temperature_k() - dew_point;
    let reason = format!("gas {} above its dew point {}", temperature_difference(margin), temperature(dew_point));
    Ok(if margin < 0.0 {
        Assessment::fails(reason)
    } else if margin < 20.0 {
        Assessment::watch(reason)
    } else {
        Assessment::holds(reason)
    }
    .compared(margin, 20.0))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, reason_of, word_of};
    use crate::outcome::{PhaseChange, PhaseChangeKind, Ranged, Status, Word};

    #[test]
    fn the_chamber_keeps_away_from_boiling() {
        let mut bench = Bench::booster();
        let at = bench.outcome_mut().conditions.chamber_temperature_k;
        for (margin, word) in [(9.9, Word::Fails), (15.0, Word::Watch), (20.1, Word::Holds)] {
            bench.outcome_mut().conditions.chamber_saturation_k = Some(at + margin);
            assert_eq!(word_of(&bench, "boiling.chamber-kelvin"), Some(word));
        }
        bench.outcome_mut().conditions.chamber_saturation_k = None;
        assert_eq!(word_of(&bench, "boiling.chamber-kelvin"), Some(Word::NotComputed));
    }

    /// A static test with gas is no boiling pump; a turning pump full of gas is worse than one.
    #[test]
    fn gas_in_a_chamber_at_rest_is_not_boiling() {
        let mut bench = Bench::booster();
        bench.model.machine.kind = "centrifugal pump".to_owned();
        bench.outcome_mut().conditions.chamber_saturation_k = Some(100.0);
        assert_eq!(word_of(&bench, "boiling.chamber-kelvin"), Some(Word::Fails));
        assert!(reason_of(&bench, "boiling.chamber-kelvin").starts_with("the chamber holds gas: it is "));
        bench.duty_mut().speed_rad_per_s = 0.0;
        assert_eq!(word_of(&bench, "boiling.chamber-kelvin"), None);
        bench.duty_mut().speed_rad_per_s = 300.0;
        bench.model.machine.kind = "blower".to_owned();
        assert_eq!(word_of(&bench, "boiling.chamber-kelvin"), None);
    }

    #[test]
    fn vapour_pressure_is_met_by_distance_or_ratio() {
        let mut bench = Bench::booster(); // 1.2 MPa
        for (vapour, word) in [(0.84e6, Word::Holds), (0.86e6, Word::Watch), (0.93e6, Word::Fails)] {
            bench.vapour_pressure = Some(vapour);
            assert_eq!(word_of(&bench, "boiling.chamber-pressure"), Some(word));
        }
        bench.vapour_pressure = None;
        assert_eq!(word_of(&bench, "boiling.chamber-pressure"), Some(Word::NotComputed));
    }

    #[test]
    fn a_margin_that_may_vanish_is_watched() {
        let mut bench = Bench::booster();
        for (low, word) in [(1.0, Word::Holds), (-1.0, Word::Watch)] {
            bench.equilibrium_mut().boiling_margin_k = Some(Ranged { low, nominal: 20.0, high: 30.0 });
            assert_eq!(word_of(&bench, "boiling.edge"), Some(word));
        }
        bench.equilibrium_mut().boiling_margin_k = None;
        bench.equilibrium_mut().boiling_margin_reason = "vapour pressure unknown".to_owned();
        assert_eq!(word_of(&bench, "boiling.edge"), Some(Word::NotComputed));
    }

    /// The film of hot water is above its boiling point at the low pressure all over, and liquid nearly all the way.
    #[test]
    fn vapour_counts_from_where_the_film_boils() {
        let mut bench = Bench::booster(); // a band from 24.45 to 30.80 mm, sealed outside
        bench.equilibrium_mut().boiling_margin_k = Some(Ranged { low: -60.0, nominal: -50.0, high: -40.0 });
        bench.equilibrium_mut().vapour_fraction_max = 1.0;
        bench.equilibrium_mut().profiles.temperature_k = vec![440.0; 5];
        let at = |bench: &mut Bench, radius_m: f64| {
            bench.equilibrium_mut().passage.phase_changes = vec![PhaseChange { radius_m, kind: PhaseChangeKind::BeginsToBoil }];
            word_of(bench, "boiling.edge")
        };
        for (radius_m, word) in [(24.5e-3, Word::Watch), (26.1e-3, Word::Watch), (28.3e-3, Word::Fails)] {
            assert_eq!(at(&mut bench, radius_m), Some(word), "{radius_m}");
        }
        assert!(reason_of(&bench, "boiling.edge").contains("0.0283 m to"), "{}", reason_of(&bench, "boiling.edge"));
        // Reversed, the fluid leaves outside.
        let duty = bench.duty_mut();
        (duty.pressure_pa, duty.low_pressure_pa) = (duty.low_pressure_pa, duty.pressure_pa);
        assert_eq!(at(&mut bench, 28.3e-3), Some(Word::Watch));
        assert_eq!(at(&mut bench, 25.0e-3), Some(Word::Fails));
    }

    #[test]
    fn the_users_margin_rules_the_film() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "boiling.film-margin"), None);
        bench.model.limits.boiling_margin_k = Some(15.0);
        for (low, nominal, word) in [(16.0, 20.0, Word::Holds), (14.0, 20.0, Word::Watch), (10.0, 14.0, Word::Fails)] {
            bench.equilibrium_mut().boiling_margin_k = Some(Ranged { low, nominal, high: 30.0 });
            assert_eq!(word_of(&bench, "boiling.film-margin"), Some(word));
        }
    }

    #[test]
    fn none_fails_and_two_are_watched() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "boiling.states"), Some(Word::Holds));
        let second = bench.equilibrium_mut().clone();
        bench.outcome_mut().equilibria.push(second);
        assert_eq!(word_of(&bench, "boiling.states"), Some(Word::Watch));
        bench.outcome_mut().status = Status::NoneFacesPart;
        assert_eq!(word_of(&bench, "boiling.states"), Some(Word::Fails));
        bench.outcome_mut().status = Status::NotConverged;
        assert_eq!(word_of(&bench, "boiling.states"), Some(Word::NotComputed));
    }

    #[test]
    fn hot_water_at_carbon_is_watched() {
        let mut bench = Bench::booster();
        bench.equilibrium_mut().face_temperature_max_k = Ranged::exact(353.0);
        assert_eq!(word_of(&bench, "boiling.hot-water"), Some(Word::Holds));
        bench.equilibrium_mut().face_temperature_max_k = Ranged { low: 340.0, nominal: 345.0, high: 354.0 };
        assert_eq!(word_of(&bench, "boiling.hot-water"), Some(Word::Watch), "the range crosses 80 degC");
        assert!(reason_of(&bench, "boiling.hot-water").contains("345 K(abs)"));
        assert!(reason_of(&bench, "boiling.hot-water").contains("high estimate 354 K(abs)"));
        bench.equilibrium_mut().face_temperature_max_k = Ranged::exact(353.3);
        assert_eq!(word_of(&bench, "boiling.hot-water"), Some(Word::Watch));
    }

    #[test]
    fn compressor_gas_keeps_off_its_dew_point() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "gas.dew"), None);
        bench.model.machine.kind = "compressor".to_owned();
        let at = bench.outcome_mut().conditions.chamber_temperature_k;
        for (margin, word) in [(-1.0, Word::Fails), (7.0, Word::Watch), (21.0, Word::Holds)] {
            bench.outcome_mut().conditions.chamber_saturation_k = Some(at - margin);
            assert_eq!(word_of(&bench, "gas.dew"), Some(word));
        }
    }
}
