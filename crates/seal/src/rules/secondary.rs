//! Secondary seals: chemistry, temperature and friction of what slides on the balance diameter.

use halfmicron_properties::FluidFamily;
use halfmicron_properties::material::{FitnessVerdict, fitness};

use crate::model::{SecondaryFriction, SecondarySealKind};

use super::facts::FluidKind;
use super::text::{force, temperature};
use super::view::DutyView;
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};

const GROUP: &str = "Secondary seals";

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "oring.fluid",
        group: GROUP,
        statement: "The secondary seal's material bears the fluid, by a general table.",
        breach: Breach::Fail,
        source: Source::Memory,
        limit: "fitness table: good, limited, no",
        hint: "The table is general: test with the real batch, and think of steam-out and cleaning too.",
        judge: Judge::Duty(fluid_fitness),
    },
    Rule {
        id: "oring.temperature",
        group: GROUP,
        statement: "The secondary seal's local temperature lies in its material's range.",
        breach: Breach::Fail,
        source: Source::Memory,
        limit: "range of the material",
        hint: "The solved temperature at the groove counts, not the chamber's.",
        judge: Judge::Duty(local_temperature),
    },
    Rule {
        id: "oring.cold",
        group: GROUP,
        statement: "The coldest duty stays above the material's low limit.",
        breach: Breach::Fail,
        source: Source::Memory,
        limit: "low end of the material's range",
        hint: "A leak that heals when warm points here.",
        judge: Judge::Duty(cold),
    },
    Rule {
        id: "oring.friction",
        group: GROUP,
        statement: "The friction of the secondary seal and its band are reported.",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "report",
        hint: "Give a measured friction when there is one.",
        judge: Judge::Duty(friction),
    },
    Rule {
        id: "bellows.temperature",
        group: GROUP,
        statement: "Metal bellows keep their set up to 400 degC (316L), 425 (alloy 276), 480 (alloy 718).",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "400, 425 or 480 degC",
        hint: "Loss of set relaxes closing.",
        judge: Judge::Duty(bellows),
    },
    Rule {
        id: "graphite.oxidation",
        group: GROUP,
        statement: "Flexible graphite is not used in air above 450 degC, in oxidising acids or in wet chlorine.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "450 degC in air; no oxidising acids",
        hint: "Use PTFE where it is cold enough, or metal.",
        judge: Judge::Duty(graphite),
    },
];

/// Name of the secondary seal's material, unless it is a bellows.
fn material<'a>(view: &DutyView<'a>) -> Result<&'a str, Skip> {
    let seal = &view.model.seal.secondary_seal;
    if seal.kind == SecondarySealKind::MetalBellows { Err(Skip::DoesNotApply) } else { Ok(seal.material.as_str()) }
}

/// Service range of the material, K.
fn range_k(material: &str) -> Result<[f64; 2], Skip> {
    // The range stands beside every row of the fitness table: any family gives it.
    let (low, high) = fitness(material, FluidFamily::WaterCold)
        .temperature_range_k
        .ok_or_else(|| Skip::NotComputed(format!("nothing is known of a secondary seal of {material}")))?;
    Ok([low, high])
}

fn fluid_fitness(view: &DutyView) -> Judged {
    let name = material(view)?;
    range_k(name)?;
    let fluid = &view.fluid.name;
    let at = temperature(view.chamber_temperature_k());
    let verdict = view.fluid.family.map_or(FitnessVerdict::Unknown, |family| fitness(name, family).verdict);
    Ok(match verdict {
        FitnessVerdict::Good => Assessment::holds(format!("{name} in {fluid} at {at}: good")),
        FitnessVerdict::Limited => Assessment::watch(format!("{name} in {fluid} at {at}: limited")),
        FitnessVerdict::Unfit => Assessment::fails(format!("{name} in {fluid} at {at}: no")),
        FitnessVerdict::Unknown => Assessment::watch(format!("{name} in {fluid}: the fitness table does not list this fluid")),
        FitnessVerdict::OnlyIfConfirmed => {
            Assessment::fails(format!("{name} in {fluid}: only a clean, tested compound; the case does not confirm one"))
        }
    })
}

fn local_temperature(view: &DutyView) -> Judged {
    let [_, high] = range_k(material(view)?)?;
    let (at, where_) = match view.solved() {
        Ok(equilibrium) => (view.floating_result(equilibrium).secondary_seal_temperature_k, "solved at the secondary seal"),
        Err(_) => (view.chamber_temperature_k(), "in the chamber; the local one is not solved and higher"),
    };
    if at <= 0.0 {
        return Err(Skip::NotComputed("the temperature at the secondary seal is not known".to_owned()));
    }
    let reason = format!("{} {where_}, {} up to {}", temperature(at), view.model.seal.secondary_seal.material, temperature(high));
    let assessment = Assessment::within(at <= high, Breach::Fail, reason).compared(at, high);
    Ok(if view.solved().is_err() { assessment.at_best_watch() } else { assessment })
}

fn cold(view: &DutyView) -> Judged {
    let [low, _] = range_k(material(view)?)?;
    let at = view.chamber_temperature_k();
    let reason = format!("{} in the chamber, {} from {}", temperature(at), view.model.seal.secondary_seal.material, temperature(low));
    Ok(Assessment::within(at >= low, Breach::Fail, reason).compared(at, low))
}

fn friction(view: &DutyView) -> Judged {
    let [low, nominal, high] = view.solved()?.friction_band.friction_n;
    let how = match view.model.seal.secondary_seal.friction {
        SecondaryFriction::Automatic { .. } => "estimated",
        SecondaryFriction::Given(_) => "given",
    };
    Ok(Assessment::note(format!("secondary-seal friction {how}: {}, between {} and {}", force(nominal), force(low), force(high))))
}

fn bellows(view: &DutyView) -> Judged {
    let seal = &view.model.seal.secondary_seal;
    if seal.kind != SecondarySealKind::MetalBellows {
        return Err(Skip::DoesNotApply);
    }
    let celsius = match seal.material.as_str() {
        name if name.contains("718") => 480.0,
        name if name.contains("276") => 425.0,
        name if name.contains("316") => 400.0,
        name => return Err(Skip::NotComputed(format!("no limit is known for bellows of {name}"))),
    };
    let limit = celsius + 273.15;
    let at = view.chamber_temperature_k();
    let reason = format!("bellows of {} at {}, up to {}", seal.material, temperature(at), temperature(limit));
    Ok(Assessment::within(at <= limit, Breach::Caution, reason).compared(at, limit))
}

fn graphite(view: &DutyView) -> Judged {
    let seal = &view.model.seal.secondary_seal;
    if !seal.material.to_lowercase().contains("graphite") {
        return Err(Skip::DoesNotApply);
    }
    if view.fluid.oxidiser || matches!(view.fluid.kind, FluidKind::Nitric | FluidKind::WetChlorine) {
        return Ok(Assessment::fails(format!("flexible graphite in {}", view.fluid.name)));
    }
    let at = view.chamber_temperature_k();
    let limit = 450.0 + 273.15;
    let open = view.low_side_is_air() && !view.quenched();
    let reason = format!("flexible graphite at {}, up to {} in air", temperature(at), temperature(limit));
    Ok(Assessment::within(!open || at <= limit, Breach::Fail, reason).compared(at, limit))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, word_of};
    use crate::model::SecondarySealKind;
    use crate::outcome::Word;

    /// Expectations of the invented caustic pump: EPDM accepted, FKM refused.
    #[test]
    fn caustic_takes_epdm_and_refuses_fkm() {
        let mut bench = Bench::booster();
        bench.outcome_mut().conditions.fluid = "sodium hydroxide solution, 50 % by mass".to_owned();
        for (material, word) in
            [("EPDM", Word::Holds), ("FKM", Word::Fails), ("FFKM", Word::Holds), ("NBR", Word::Watch), ("cork", Word::NotComputed)]
        {
            bench.model.seal.secondary_seal.material = material.to_owned();
            assert_eq!(word_of(&bench, "oring.fluid"), Some(word), "{material}");
        }
    }

    #[test]
    fn fkm_minds_hot_water() {
        let mut bench = Bench::booster();
        bench.outcome_mut().conditions.fluid = "water".to_owned();
        bench.model.seal.secondary_seal.material = "FKM".to_owned();
        assert_eq!(word_of(&bench, "oring.fluid"), Some(Word::Watch));
        bench.outcome_mut().conditions.chamber_temperature_k = 360.0;
        assert_eq!(word_of(&bench, "oring.fluid"), Some(Word::Fails));
    }

    #[test]
    fn an_unlisted_fluid_is_watched() {
        let mut bench = Bench::booster();
        bench.outcome_mut().conditions.fluid = "test liquid 7".to_owned();
        assert_eq!(word_of(&bench, "oring.fluid"), Some(Word::Watch));
    }

    #[test]
    fn the_local_temperature_counts() {
        let mut bench = Bench::booster();
        for (celsius, word) in [(149.0, Word::Holds), (151.0, Word::Fails)] {
            bench.equilibrium_mut().rings.rotating.secondary_seal_temperature_k = celsius + 273.15;
            assert_eq!(word_of(&bench, "oring.temperature"), Some(word));
        }
        bench.lose_solution("none");
        assert_eq!(word_of(&bench, "oring.temperature"), Some(Word::Watch), "unsolved: chamber temperature only");
        bench.outcome_mut().conditions.chamber_temperature_k = 273.15 - 46.0;
        assert_eq!(word_of(&bench, "oring.cold"), Some(Word::Fails));
        bench.outcome_mut().conditions.chamber_temperature_k = 273.15 - 44.0;
        assert_eq!(word_of(&bench, "oring.cold"), Some(Word::Holds));
    }

    #[test]
    fn bellows_have_no_elastomer() {
        let mut bench = Bench::booster();
        bench.model.seal.secondary_seal.kind = SecondarySealKind::MetalBellows;
        bench.model.seal.secondary_seal.material = "alloy 718".to_owned();
        assert_eq!(word_of(&bench, "oring.fluid"), None);
        assert_eq!(word_of(&bench, "bellows.temperature"), Some(Word::Holds));
        bench.outcome_mut().conditions.chamber_temperature_k = 481.0 + 273.15;
        assert_eq!(word_of(&bench, "bellows.temperature"), Some(Word::Watch));
    }
}
