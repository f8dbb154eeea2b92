//! Fitness of the face and body materials for the fluid.

use super::facts::{Family, FluidFacts, FluidKind, MaterialFacts};
use super::text::temperature;
use super::view::DutyView;
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};
use crate::outcome::Word;

const GROUP: &str = "Fitness of materials";

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "corrosion.pair",
        group: GROUP,
        statement: "Every ring material bears the fluid, by a general table.",
        breach: Breach::Fail,
        source: Source::Memory,
        limit: "good, limited, no",
        hint: "The table is general: ask for the grade's own list and test with the real batch.",
        judge: Judge::Duty(pair),
    },
    Rule {
        id: "corrosion.chloride",
        group: GROUP,
        statement: "Stainless steel of the 316 class does not meet chlorides above 50 degC.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "50 degC",
        hint: "Take alloy C-276, 718 or titanium for springs, sleeves and carriers in warm brine.",
        judge: Judge::Duty(chloride),
    },
    Rule {
        id: "material.service",
        group: GROUP,
        statement: "The chamber lies inside the service temperatures of every ring material.",
        breach: Breach::Fail,
        source: Source::Memory,
        limit: "service range of the material",
        hint: "Take a material for this temperature.",
        judge: Judge::Duty(service),
    },
];

fn ring_materials(view: &DutyView) -> Vec<MaterialFacts> {
    let parts = view.model.rotating_ring.parts.iter().chain(&view.model.stationary_ring.parts);
    let mut found: Vec<MaterialFacts> = Vec::new();
    for part in parts {
        if !found.iter().any(|material| material.name == part.material.name) {
            found.push(MaterialFacts::of(&part.material));
        }
    }
    found
}

/// What a fluid does to a material, and why: general knowledge from memory, as the cautions of the material tables say.
fn attack(fluid: &FluidFacts, at_k: f64, material: &MaterialFacts) -> Option<(Word, &'static str)> {
    use Family::*;
    let hot = at_k > 323.15;
    let strong = fluid.strong_caustic();
    match (fluid.kind, material.family) {
        (FluidKind::Caustic, ReactionBondedSiliconCarbide) => Some((Word::Fails, "caustic dissolves its free silicon")),
        (FluidKind::Caustic, ResinCarbon) if strong => Some((Word::Fails, "strong caustic attacks the resin")),
        (FluidKind::Caustic, ResinCarbon) => Some((Word::Watch, "caustic attacks the resin slowly")),
        (FluidKind::Caustic, AntimonyCarbon) if strong => Some((Word::Fails, "strong caustic attacks antimony")),
        (FluidKind::Caustic, AntimonyCarbon) => Some((Word::Watch, "caustic attacks antimony")),
        (FluidKind::Caustic, Alumina | SiliconNitride) if strong && hot => Some((Word::Fails, "hot strong caustic attacks it")),
        (FluidKind::Caustic, SinteredSiliconCarbide) if strong && at_k > 373.15 => {
            Some((Word::Watch, "very hot strong caustic attacks it slowly"))
        }
        (FluidKind::Nitric, family) if family.is_carbon() => Some((Word::Fails, "strong oxidisers burn carbon")),
        (FluidKind::WetChlorine, family) if family.is_carbon() => Some((Word::Watch, "strong oxidisers burn carbon")),
        (FluidKind::Sulphuric, ResinCarbon) => Some((Word::Watch, "above 70 % it attacks the resin")),
        (FluidKind::Sulphuric | FluidKind::Nitric, AntimonyCarbon) => Some((Word::Fails, "acids dissolve antimony")),
        (FluidKind::Sulphuric | FluidKind::Nitric | FluidKind::WetChlorine, NickelTungstenCarbide | CobaltTungstenCarbide) => {
            Some((Word::Fails, "acids leach the binder"))
        }
        (FluidKind::Sulphuric | FluidKind::Nitric | FluidKind::WetChlorine, NickelIron) => Some((Word::Fails, "acids attack it")),
        (FluidKind::Brine, NickelTungstenCarbide) => Some((Word::Watch, "chlorides leach the binder slowly")),
        (FluidKind::Water | FluidKind::Brine, CobaltTungstenCarbide) => {
            Some((Word::Watch, "soft or acid water leaches cobalt: nickel binder in water"))
        }
        (FluidKind::Brine, NickelIron) => Some((Word::Watch, "chlorides attack it slowly")),
        (FluidKind::ThermalOil | FluidKind::MineralOil, ResinCarbon) => {
            Some((Word::Watch, "resin carbon may blister in oils on start and stop"))
        }
        (FluidKind::Other, _) => None,
        _ => Some((Word::Holds, "")),
    }
}

fn pair(view: &DutyView) -> Judged {
    let materials = ring_materials(view);
    if materials.is_empty() {
        return Err(Skip::NotComputed("the rings have no section".to_owned()));
    }
    let mut worst = Word::Holds;
    let mut notes = Vec::new();
    for material in &materials {
        let known = attack(&view.fluid, view.chamber_temperature_k(), material);
        let listed = view.fluid.attacks.iter().find(|(names, _)| names.contains(&material.name)).map(|(_, words)| words.as_str());
        match (known, listed) {
            (Some((Word::Holds, _)) | None, Some(words)) => {
                worst = worst.max(Word::Watch);
                notes.push(format!("{}: {words}", material.name));
            }
            (None, None) => return Err(Skip::NotComputed(format!("nothing is known of {} in {}", material.name, view.fluid.name))),
            (Some((Word::Holds, _)), None) => {}
            (Some((word, why)), _) => {
                worst = worst.max(word);
                notes.push(format!("{}: {why}", material.name));
            }
        }
    }
    let at = temperature(view.chamber_temperature_k());
    if notes.is_empty() {
        return Ok(Assessment::holds(format!("ring materials bear {} at {at}", view.fluid.name)));
    }
    let reason = format!("{} at {at}: {}", view.fluid.name, notes.join("; "));
    Ok(if worst == Word::Fails { Assessment::fails(reason) } else { Assessment::watch(reason) })
}

fn chloride(view: &DutyView) -> Judged {
    if view.fluid.kind != FluidKind::Brine || !ring_materials(view).iter().any(|material| material.name.contains("316")) {
        return Err(Skip::DoesNotApply);
    }
    let at = view.chamber_temperature_k();
    let reason = format!("316 class steel in {} at {}", view.fluid.name, temperature(at));
    Ok(Assessment::within(at <= 323.15, Breach::Fail, reason).compared(at, 323.15))
}

fn service(view: &DutyView) -> Judged {
    let at = view.chamber_temperature_k();
    let mut unknown = Vec::new();
    for material in ring_materials(view) {
        let Some([low, high]) = material.service_k else {
            unknown.push(material.name);
            continue;
        };
        if !(low..=high).contains(&at) {
            let reason = format!("{} at {}, service {} to {}", material.name, temperature(at), temperature(low), temperature(high));
            return Ok(Assessment::fails(reason).compared(at, if at < low { low } else { high }));
        }
    }
    if unknown.is_empty() {
        return Ok(Assessment::holds(format!("chamber {} inside the service of every ring material", temperature(at))));
    }
    Err(Skip::NotComputed(format!("no service temperatures are known of {}", unknown.join(", "))))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, reason_of, word_of};
    use crate::outcome::Word;

    const CAUSTIC: &str = "sodium hydroxide solution, 50 % by mass";

    fn in_fluid(rotating: &str, stationary: &str, fluid: &str) -> Bench {
        let mut bench = Bench::with_faces(rotating, stationary);
        bench.outcome_mut().conditions.fluid = fluid.to_owned();
        bench
    }

    /// Expectations of the invented caustic pump.
    #[test]
    fn caustic_refuses_free_silicon_and_resin() {
        let good = in_fluid("silicon carbide, sintered, graphite loaded", "silicon carbide, sintered", CAUSTIC);
        assert_eq!(word_of(&good, "corrosion.pair"), Some(Word::Holds));
        let bonded = in_fluid("silicon carbide, sintered", "silicon carbide, reaction bonded", CAUSTIC);
        assert_eq!(word_of(&bonded, "corrosion.pair"), Some(Word::Fails));
        assert!(reason_of(&bonded, "corrosion.pair").contains("free silicon"));
        let resin = in_fluid("carbon graphite, resin impregnated", "silicon carbide, sintered", CAUSTIC);
        assert_eq!(word_of(&resin, "corrosion.pair"), Some(Word::Fails));
        let weak = in_fluid("carbon graphite, resin impregnated", "silicon carbide, sintered", "sodium hydroxide solution, 20 % by mass");
        assert_eq!(word_of(&weak, "corrosion.pair"), Some(Word::Watch));
    }

    #[test]
    fn an_unknown_fluid_is_not_called_good() {
        let bench = in_fluid("carbon graphite, resin impregnated", "silicon carbide, sintered", "test liquid 7");
        assert_eq!(word_of(&bench, "corrosion.pair"), Some(Word::NotComputed));
    }

    #[test]
    fn warm_brine_cracks_316() {
        let mut bench = Bench::with_faces("carbon graphite, resin impregnated", "stainless steel 316 (UNS S31600)");
        assert_eq!(word_of(&bench, "corrosion.chloride"), Some(Word::Holds));
        bench.outcome_mut().conditions.chamber_temperature_k = 324.0;
        assert_eq!(word_of(&bench, "corrosion.chloride"), Some(Word::Fails));
    }

    #[test]
    fn service_temperature_bounds_the_chamber() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "material.service"), Some(Word::Holds));
        bench.outcome_mut().conditions.chamber_temperature_k = 474.0;
        assert_eq!(word_of(&bench, "material.service"), Some(Word::Fails));
    }
}
