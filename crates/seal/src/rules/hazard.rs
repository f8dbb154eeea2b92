//! Hazards and cautions of the fluid, of dirt and of running dry.

use super::facts::FluidKind;
use super::text::{absolute_pressure, number, percent, temperature, temperature_difference, viscosity};
use super::view::DutyView;
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};

const GROUP: &str = "Hazards";

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "hazard.fluid",
        group: GROUP,
        statement: "What the fluid does to people is said.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "words",
        hint: "This is a flag to think about, not a safety data sheet: the site's own sheet rules.",
        judge: Judge::Duty(fluid),
    },
    Rule {
        id: "hazard.toxic",
        group: GROUP,
        statement: "A toxic or carcinogenic fluid is held by a dual pressurised seal or a canned machine.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "no single seal",
        hint: "Dual pressurised with a harmless, compatible barrier; local law decides.",
        judge: Judge::Duty(toxic),
    },
    Rule {
        id: "hazard.flammable",
        group: GROUP,
        statement: "A flammable fluid whose vapour pressure exceeds 0.1 MPa has a second seal.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "0.1 MPa absolute vapour pressure",
        hint: "Dual seal with containment or better.",
        judge: Judge::Duty(flammable),
    },
    Rule {
        id: "hazard.autoignition",
        group: GROUP,
        statement: "A fluid within 50 K of its auto-ignition temperature has a dual seal or an inert quench.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "auto-ignition - 50 K",
        hint: "The leak ignites without a spark: dual seal, or steam or nitrogen quench.",
        judge: Judge::Duty(autoignition),
    },
    Rule {
        id: "hazard.oxygen",
        group: GROUP,
        statement: "Oxygen meets only cleaned parts, no hydrocarbon grease, and a carbon grade tested for it.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "confirmed by the user",
        hint: "Do not run this on a calculation alone.",
        judge: Judge::Duty(oxygen),
    },
    Rule {
        id: "hazard.pressure-heat",
        group: GROUP,
        statement: "Stored pressure, hot surfaces and turning parts are said with every result.",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "words",
        hint: "Isolate, drain, cool and lock before opening.",
        judge: Judge::Duty(pressure_heat),
    },
    Rule {
        id: "dry.never",
        group: GROUP,
        statement: "A contacting pair does not run dry: 5 s for two hard faces, 60 s with carbon.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "5 s hard on hard, 60 s carbon",
        hint: "Interlock the flow; a graphite-loaded or dry-running grade gives some mercy.",
        judge: Judge::Duty(dry),
    },
    Rule {
        id: "slurry.faces",
        group: GROUP,
        statement: "Above 0.5 % solids both faces are hard, unless a clean flush reaches them.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "0.5 % by volume",
        hint: "Two hard faces, or a clean flush.",
        judge: Judge::Duty(slurry_faces),
    },
    Rule {
        id: "slurry.flush",
        group: GROUP,
        statement: "Above 5 % solids the seal has a clean flush or is dual.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "5 % by volume",
        hint: "Clean flush, or a dual seal with a barrier.",
        judge: Judge::Duty(slurry_flush),
    },
    Rule {
        id: "crystal.atmosphere",
        group: GROUP,
        statement: "More than 2 % dissolved solids do not dry at the edge in air: wash or quench.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "2 % dissolved solids; fails for caustic, caution for salt",
        hint: "Wash the low side with water.",
        judge: Judge::Duty(crystal_atmosphere),
    },
    Rule {
        id: "crystal.freeze",
        group: GROUP,
        statement: "The chamber is at least 15 K above solidification.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "15 K",
        hint: "Heat the chamber and quench warm.",
        judge: Judge::Duty(crystal_freeze),
    },
    Rule {
        id: "polymer.film",
        group: GROUP,
        statement: "A monomer that polymerises has inhibitor, a dual seal and cool faces.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "words",
        hint: "Keep the faces cool and the barrier clean.",
        judge: Judge::Duty(polymer),
    },
    Rule {
        id: "coke.edge",
        group: GROUP,
        statement: "Oil above 150 degC does not meet air at the edge without a quench; above 200 degC it fails.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "150 degC; fails above 200 degC",
        hint: "Quench with steam or nitrogen.",
        judge: Judge::Duty(coke),
    },
    Rule {
        id: "ice.edge",
        group: GROUP,
        statement: "No edge colder than 0 degC meets moist air.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "0 degC",
        hint: "Purge the low side with dry gas.",
        judge: Judge::Duty(ice),
    },
    Rule {
        id: "viscous.gel",
        group: GROUP,
        statement: "Viscosity at the seal is at most 0.3 Pa s.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "0.3 Pa s",
        hint: "Heat or flush; the film is extrapolated.",
        judge: Judge::Duty(gel),
    },
];

fn fluid(view: &DutyView) -> Judged {
    if view.fluid.hazard_words.is_empty() {
        return Err(Skip::DoesNotApply);
    }
    let reason = format!("{}: {}", view.fluid.name, view.fluid.hazard_words.join("; "));
    let serious = view.fluid.toxic || view.fluid.flammable || view.fluid.oxidiser;
    Ok(if serious { Assessment::watch(reason) } else { Assessment::note(reason) })
}

fn toxic(view: &DutyView) -> Judged {
    // Glycol harms those who drink it; `hazard.fluid` says so, and a single seal is the usual one.
    if !view.fluid.toxic || view.fluid.kind == FluidKind::Glycol {
        return Err(Skip::DoesNotApply);
    }
    let reason = format!("{} behind a {} seal", view.fluid.name, arrangement(view));
    Ok(if view.dual_pressurised() {
        Assessment::holds(reason)
    } else if view.single() {
        Assessment::fails(reason)
    } else {
        Assessment::watch(reason)
    })
}

fn arrangement<'a>(view: &'a DutyView) -> &'a str {
    match view.model.supply.arrangement.as_str() {
        "" => "single",
        words => words,
    }
}

fn flammable(view: &DutyView) -> Judged {
    if !view.fluid.flammable {
        return Err(Skip::DoesNotApply);
    }
    let Some(vapour) = view.fluid.vapour_pressure_pa else {
        return Err(Skip::NotComputed(format!("the vapour pressure of {} is not known", view.fluid.name)));
    };
    let reason = format!("{} with vapour pressure {} behind a {} seal", view.fluid.name, absolute_pressure(vapour), arrangement(view));
    Ok(Assessment::within(vapour <= 0.1e6 || !view.single(), Breach::Caution, reason).compared(vapour, 0.1e6))
}

fn autoignition(view: &DutyView) -> Judged {
    if !view.fluid.flammable {
        return Err(Skip::DoesNotApply);
    }
    let Some(ignites) = view.fluid.autoignition_k else {
        return Err(Skip::NotComputed(format!("the auto-ignition temperature of {} is not known", view.fluid.name)));
    };
    let at = view.chamber_temperature_k();
    let protected = !view.single() || view.quenched();
    let reason = format!("{} in the chamber, auto-ignition {}", temperature(at), temperature(ignites));
    Ok(Assessment::within(at < ignites - 50.0 || protected, Breach::Fail, reason).compared(at, ignites - 50.0))
}

fn oxygen(view: &DutyView) -> Judged {
    // Air as gas is not enriched; liquid air grows rich in oxygen as it boils.
    let plain_air = view.fluid.kind != FluidKind::Oxygen && view.chamber_is_gas();
    if !view.fluid.oxidiser || plain_air {
        return Err(Skip::DoesNotApply);
    }
    Ok(Assessment::fails(format!("{}: the case does not confirm cleaned parts and a tested carbon grade", view.fluid.name)))
}

/// Dangers of what is stored and of what moves, in words, where they are dangers.
pub(crate) fn stored_dangers(pressure_pa: f64, hottest_k: f64, coldest_k: f64, [turns, displaces_air]: [bool; 2]) -> Vec<String> {
    let mut words = Vec::new();
    if pressure_pa > 0.15e6 {
        words.push(format!("stored pressure {}", absolute_pressure(pressure_pa)));
    }
    if hottest_k > 333.15 {
        words.push(format!("hot parts {}", temperature(hottest_k)));
    }
    if coldest_k < 243.15 {
        words.push(format!("cold burns {}", temperature(coldest_k)));
    }
    if turns {
        words.push("turning parts".to_owned());
    }
    if displaces_air {
        words.push("displaces air".to_owned());
    }
    words
}

fn pressure_heat(view: &DutyView) -> Judged {
    let highest = view.duty.pressure_pa.max(view.duty.low_pressure_pa);
    let at = view.chamber_temperature_k();
    let words = stored_dangers(highest, at, at, [view.turns(), view.fluid.asphyxiant]);
    if words.is_empty() {
        return Err(Skip::DoesNotApply);
    }
    Ok(Assessment::note(words.join(", ")))
}

/// Whether a duty's own name says that the faces lose their liquid.
fn liquid_is_lost(view: &DutyView) -> bool {
    ["flush lost", "lost prime", "water lost", "run dry", "dry running", "dry run"].iter().any(|words| view.named(words))
}

fn dry(view: &DutyView) -> Judged {
    view.while_turning()?;
    // A gas film carries itself; where it does not, the faces rub dry.
    let rubs = view.solved().is_ok_and(|point| point.contact_share.nominal >= 0.01);
    if view.gas_machine() && !rubs {
        return Err(Skip::DoesNotApply);
    }
    let gas = view.chamber_is_gas();
    let lost = liquid_is_lost(view);
    if !gas && !lost {
        return Err(Skip::DoesNotApply);
    }
    let allowed = if view.hard_pair() { 5.0 } else { 60.0 };
    let pair = if view.hard_pair() { "two hard faces bear" } else { "a carbon pair bears" };
    let state = if gas { "the chamber holds gas" } else { "the duty says that the liquid is lost" };
    let reason = format!("{state}: {pair} about {} s dry", number(allowed));
    let Some(hours) = view.duty.hours_per_year else {
        return Ok(Assessment::watch(format!("{reason}; no time is stated")));
    };
    let seconds = hours * 3600.0;
    let reason = format!("{reason}, the duty lasts {} s a year, taken as one run", number(seconds));
    let close = view.outcome.conditions.chamber_saturation_k.is_some_and(|t| t - view.chamber_temperature_k() < 10.0);
    Ok(match (seconds > allowed, gas || close) {
        (true, true) => Assessment::fails(reason),
        (true, false) => Assessment::watch(format!("{reason}; computed with the liquid that remains")),
        (false, _) => Assessment::watch(reason),
    }
    .compared(seconds, allowed))
}

fn clean_flush(view: &DutyView) -> bool {
    view.model.supply.clean_flush && !view.named("flush lost")
}

fn solids(view: &DutyView) -> Result<f64, Skip> {
    view.model.supply.solids_volume_share.filter(|share| *share > 0.0).ok_or(Skip::DoesNotApply)
}

fn slurry_faces(view: &DutyView) -> Judged {
    let share = solids(view)?;
    let fit = share <= 0.005 || view.hard_pair() || clean_flush(view);
    let reason = format!("{} solids on {} against {}", percent(share), view.rotating.name, view.stationary.name);
    Ok(Assessment::within(fit, Breach::Caution, reason).compared(share, 0.005))
}

fn slurry_flush(view: &DutyView) -> Judged {
    let share = solids(view)?;
    let fit = share <= 0.05 || clean_flush(view) || !view.single();
    let reason = format!("{} solids, {}", percent(share), if clean_flush(view) { "flushed" } else { "not flushed" });
    Ok(Assessment::within(fit, Breach::Fail, reason).compared(share, 0.05))
}

fn crystal_atmosphere(view: &DutyView) -> Judged {
    let Some(share) = view.fluid.dissolved_solids else {
        return Err(Skip::DoesNotApply);
    };
    let open = view.low_side_is_air() && view.single() && !view.quenched();
    let reason = format!(
        "{} dissolved solids in {}; the low side is {}",
        percent(share),
        view.fluid.name,
        if open { "open to the air without a wash" } else { "washed, or not open to the air" }
    );
    // Caustic cakes to carbonate and soda at once; salt only builds up slowly.
    let breach = if view.fluid.kind == FluidKind::Caustic { Breach::Fail } else { Breach::Caution };
    Ok(Assessment::within(share <= 0.02 || !open, breach, reason).compared(share, 0.02))
}

fn crystal_freeze(view: &DutyView) -> Judged {
    let Some(freezes) = view.fluid.freezes_k else {
        return Err(Skip::DoesNotApply);
    };
    let margin = view.chamber_temperature_k() - freezes;
    let reason = format!("chamber {} above solidification at {}", temperature_difference(margin), temperature(freezes));
    let (water, warm) = (matches!(view.fluid.kind, FluidKind::Water | FluidKind::Brine | FluidKind::Glycol), margin > 0.0);
    // Water, brine and glycol run safely a few kelvin above freezing: nothing sets out of them but ice.
    let wanted = if water && warm { 2.0 } else { 15.0 };
    Ok(Assessment::within(margin >= wanted, Breach::Fail, reason).compared(margin, wanted))
}

fn polymer(view: &DutyView) -> Judged {
    if !view.fluid.polymerises {
        return Err(Skip::DoesNotApply);
    }
    Ok(Assessment::watch(format!("{} polymerises behind a {} seal", view.fluid.name, arrangement(view))))
}

fn coke(view: &DutyView) -> Judged {
    if !matches!(view.fluid.kind, FluidKind::ThermalOil | FluidKind::MineralOil) || !view.low_side_is_air() {
        return Err(Skip::DoesNotApply);
    }
    let at = view.chamber_temperature_k();
    let quenched = view.quenched() || !view.single();
    let reason = format!("oil at {} meets air {}", temperature(at), if quenched { "behind a quench" } else { "without a quench" });
    if quenched {
        return Ok(Assessment::holds(reason).compared(at, 423.15));
    }
    Ok(Assessment::graded(at, 423.15, 473.15, reason))
}

fn ice(view: &DutyView) -> Judged {
    if !view.low_side_is_air() {
        return Err(Skip::DoesNotApply);
    }
    let at = view.chamber_temperature_k();
    let purged = view.quenched();
    let reason = format!("edge near {} in air{}", temperature(at), if purged { ", purged" } else { "" });
    Ok(Assessment::within(at >= 273.15 || purged, Breach::Fail, reason).compared(at, 273.15))
}

fn gel(view: &DutyView) -> Judged {
    let at = view.outcome.conditions.chamber_viscosity_pa_s;
    if at <= 0.0 {
        return Err(Skip::NotComputed("the viscosity in the chamber is not known".to_owned()));
    }
    Ok(Assessment::within(at <= 0.3, Breach::Caution, format!("viscosity {}", viscosity(at))).compared(at, 0.3))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, reason_of, word_of};
    use crate::outcome::Word;

    #[test]
    fn salt_at_an_open_edge_is_watched_until_washed() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "crystal.atmosphere"), Some(Word::Watch));
        bench.model.supply.quench = Some("water".to_owned());
        assert_eq!(word_of(&bench, "crystal.atmosphere"), Some(Word::Holds));
    }

    /// Expectation of the invented caustic pump: quench missing, the crystallising rule fails.
    #[test]
    fn caustic_without_quench_fails() {
        let mut bench = Bench::booster();
        bench.outcome_mut().conditions.fluid = "sodium hydroxide solution, 50 % by mass".to_owned();
        assert_eq!(word_of(&bench, "crystal.atmosphere"), Some(Word::Fails));
    }

    /// Expectation of the invented thermal-oil pump: quench absent, the coking rule fails.
    #[test]
    fn hot_oil_in_air_cokes() {
        let mut bench = Bench::booster();
        bench.outcome_mut().conditions.fluid = "hydrogenated terphenyl heat-transfer oil".to_owned();
        for (celsius, word) in [(149.0, Word::Holds), (151.0, Word::Watch), (201.0, Word::Fails)] {
            bench.outcome_mut().conditions.chamber_temperature_k = celsius + 273.15;
            assert_eq!(word_of(&bench, "coke.edge"), Some(word));
        }
        bench.model.supply.quench = Some("nitrogen".to_owned());
        assert_eq!(word_of(&bench, "coke.edge"), Some(Word::Holds));
    }

    #[test]
    fn toxic_fluids_want_two_seals() {
        let mut bench = Bench::booster();
        bench.toxic = true;
        for (arrangement, word) in [("single", Word::Fails), ("dual unpressurised", Word::Watch), ("dual pressurised", Word::Holds)] {
            bench.model.supply.arrangement = arrangement.to_owned();
            assert_eq!(word_of(&bench, "hazard.toxic"), Some(word));
        }
    }

    #[test]
    fn light_flammables_are_watched() {
        let mut bench = Bench::booster();
        bench.flammable = true;
        assert_eq!(word_of(&bench, "hazard.autoignition"), Some(Word::NotComputed));
        for (vapour, word) in [(0.09e6, Word::Holds), (0.11e6, Word::Watch)] {
            bench.vapour_pressure = Some(vapour);
            assert_eq!(word_of(&bench, "hazard.flammable"), Some(word));
        }
    }

    #[test]
    fn ice_at_the_edge() {
        let mut bench = Bench::booster();
        bench.outcome_mut().conditions.chamber_temperature_k = 272.0;
        assert_eq!(word_of(&bench, "ice.edge"), Some(Word::Fails));
        bench.outcome_mut().conditions.chamber_temperature_k = 274.0;
        assert_eq!(word_of(&bench, "ice.edge"), Some(Word::Holds));
    }

    #[test]
    fn thick_fluid_is_watched() {
        let mut bench = Bench::booster();
        for (viscosity, word) in [(0.29, Word::Holds), (0.31, Word::Watch), (0.0, Word::NotComputed)] {
            bench.outcome_mut().conditions.chamber_viscosity_pa_s = viscosity;
            assert_eq!(word_of(&bench, "viscous.gel"), Some(word));
        }
    }

    #[test]
    fn running_dry_is_never_for_long() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "dry.never"), None);
        bench.rename("lost prime");
        bench.outcome_mut().conditions.chamber_saturation_k = Some(300.0); // gas at 311 K
        bench.duty_mut().hours_per_year = Some(0.1);
        assert_eq!(word_of(&bench, "dry.never"), Some(Word::Fails));
        bench.duty_mut().hours_per_year = Some(59.0 / 3600.0);
        assert_eq!(word_of(&bench, "dry.never"), Some(Word::Watch));
    }

    /// Gas is what a blower's seal runs on: only where asperities rub is it dry.
    #[test]
    fn a_gas_film_that_carries_itself_is_not_dry() {
        let mut bench = Bench::booster();
        bench.model.machine.kind = "blower".to_owned();
        bench.outcome_mut().conditions.chamber_saturation_k = Some(100.0);
        bench.duty_mut().hours_per_year = Some(8000.0);
        bench.equilibrium_mut().contact_share = crate::outcome::Ranged::exact(0.0);
        assert_eq!(word_of(&bench, "dry.never"), None);
        bench.equilibrium_mut().contact_share = crate::outcome::Ranged::exact(0.4);
        assert_eq!(word_of(&bench, "dry.never"), Some(Word::Fails));
    }

    #[test]
    fn slurry_wants_hard_faces_or_flush() {
        let mut bench = Bench::booster();
        bench.model.supply.solids_volume_share = Some(0.06);
        bench.model.supply.clean_flush = true;
        assert_eq!(word_of(&bench, "slurry.flush"), Some(Word::Holds));
        bench.model.supply.clean_flush = false;
        assert_eq!(word_of(&bench, "slurry.flush"), Some(Word::Fails));
        assert_eq!(word_of(&bench, "slurry.faces"), Some(Word::Watch));
        bench.model.supply.solids_volume_share = Some(0.004);
        assert_eq!(word_of(&bench, "slurry.faces"), Some(Word::Holds));
    }

    #[test]
    fn solidification_keeps_its_distance() {
        let mut bench = Bench::booster();
        bench.outcome_mut().conditions.fluid = "sodium hydroxide solution, 50 % by mass".to_owned();
        bench.freezes = Some(287.15);
        for (celsius, word) in [(20.0, Word::Fails), (28.0, Word::Fails), (30.0, Word::Holds)] {
            bench.outcome_mut().conditions.chamber_temperature_k = celsius + 273.15;
            assert_eq!(word_of(&bench, "crystal.freeze"), Some(word));
        }
    }

    #[test]
    fn pressure_and_rotation_are_always_said() {
        assert!(reason_of(&Bench::booster(), "hazard.pressure-heat").contains("turning parts"));
    }
}
