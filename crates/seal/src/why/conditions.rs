//! The duty itself: what it states, and what follows from it before a film is solved.

use super::facts::Facts;
use super::{Explanation, Origin, WhyInput};
use crate::model::ChamberTemperature;
use crate::outcome::Word;
use crate::rules::view::status_in_words;
use crate::rules::{weight, worst_word};
use crate::sheet::units::Kind;
use crate::sheet::word;

const NONE: fn(&Facts) -> &'static str = |_| "";

pub(super) const ALL: &[Explanation] = &[
    Explanation {
        keys: &["verdict"],
        label: "verdict",
        equation: NONE,
        words: |_| {
            "The worst word of all rules that judged this duty, with the count of rules that gave it: fails before watch before not computed before \
             holds. Rules that look over all duties are listed with the case."
        },
        inputs: |facts, _| worst(facts),
        models: &[],
        rules: &[],
    },
    Explanation {
        keys: &["status"],
        label: "operating point",
        equation: |_| "opening(h0) = closing",
        words: |_| {
            "The opening force of film and contact is followed from faces held wide open to faces that touch; wherever it equals the closing force \
             there is an equilibrium, and it is stable where the force falls as the ring travels open. Of the stable ones the nearest to closed \
             faces is taken: a seal starts closed and meets it first."
        },
        inputs: |facts, _| status(facts),
        models: &["point.coupled"],
        rules: &["boiling.states", "model.residual"],
    },
    Explanation {
        keys: &["conditions.fluid"],
        label: "fluid",
        equation: NONE,
        words: |_| "The fluid of the duty, or of the case where the duty names none of its own.",
        inputs: |facts, _| vec![fluid(facts)],
        models: &["fluid."],
        rules: &["hazard.fluid", "hazard.toxic", "hazard.flammable", "corrosion.pair", "oring.fluid", "duty.test-fluid"],
    },
    Explanation {
        keys: &["conditions.speed_rad_per_s"],
        label: "speed",
        equation: NONE,
        words: |_| "Shaft speed as the duty states it.",
        inputs: |facts, _| vec![facts.speed()],
        models: &[],
        rules: &["duty.speed-box", "speed.rotating-springs", "speed.balance", "ring.burst"],
    },
    Explanation {
        keys: &["conditions.pressure_pa"],
        label: "sealed pressure",
        equation: NONE,
        words: |_| "Absolute pressure on the sealed side; a gauge pressure of the case is counted from the ambient pressure.",
        inputs: |facts, _| facts.pressures().into_iter().take(1).collect(),
        models: &[],
        rules: &["duty.absolute-positive", "duty.maximum-covers", "flat.pressure", "balance.inside", "boiling.chamber-pressure"],
    },
    Explanation {
        keys: &["conditions.low_pressure_pa"],
        label: "low pressure",
        equation: NONE,
        words: |_| "Absolute pressure on the other side; a gauge pressure of the case is counted from the ambient pressure.",
        inputs: |facts, _| facts.pressures().into_iter().skip(1).collect(),
        models: &[],
        rules: &["duty.absolute-positive"],
    },
    Explanation {
        keys: &["conditions.chamber_temperature_k"],
        label: "chamber temperature",
        equation: |facts| match facts.duty.temperature {
            ChamberTemperature::Stated(_) => "",
            ChamberTemperature::FromFlush(_) => "m (H(p, T) - H(p, T_flush)) = P + P_soak",
        },
        words: |facts| match facts.duty.temperature {
            ChamberTemperature::Stated(_) => "Temperature of the fluid around the rings as the duty states it.",
            ChamberTemperature::FromFlush(_) => {
                "The flush m, mixed into the chamber, carries away the power P of the seal and the heat P_soak of hot surroundings; H is the enthalpy \
                 of the fluid."
            }
        },
        inputs: |facts, _| temperature(facts),
        models: &["point.chamber", "fluid."],
        rules: &[
            "heat.flush-rise",
            "duty.range",
            "duty.phase",
            "duty.near-critical",
            "boiling.chamber-kelvin",
            "material.service",
            "crystal.freeze",
        ],
    },
    Explanation {
        keys: &["chamber_margin_k"],
        label: "chamber below boiling",
        equation: |_| "margin = T_sat - T",
        words: |_| "Saturation temperature at the pressure of the chamber less its temperature. The film is hotter and its pressure falls: its own margin is less.",
        inputs: |facts, _| {
            let saturation = facts.outcome.conditions.chamber_saturation_k;
            let of_line = saturation.map(|kelvin| {
                facts.library("T_sat", "saturation temperature at chamber pressure", Kind::Temperature, kelvin, &facts.fluid_sources())
            });
            of_line.into_iter().chain([facts.chamber_temperature()]).chain(facts.pressures().into_iter().take(1)).collect()
        },
        models: &["fluid."],
        rules: &["boiling.chamber-kelvin", "boiling.chamber-pressure", "gas.dew"],
    },
    Explanation {
        keys: &["conditions.hours_per_year"],
        label: "hours a year",
        equation: NONE,
        words: |_| "Hours a year as the duty states them; they weigh wear and leakage of a year.",
        inputs: |facts, _| {
            let hours = facts.duty.hours_per_year;
            hours
                .map(|hours| facts.stated("", "hours a year", &facts.duty_path("hours_per_year"), Kind::Hours, hours))
                .into_iter()
                .collect()
        },
        models: &[],
        rules: &["duty.hours", "leak.salt"],
    },
];

/// The rules whose word is the worst, with their reasons.
fn worst(facts: &Facts) -> Vec<WhyInput> {
    let Some(worst) = worst_word(&facts.outcome.verdicts) else { return Vec::new() };
    let counts = [Word::Fails, Word::Watch, Word::NotComputed, Word::Holds].map(|of| {
        let count = facts.outcome.verdicts.iter().filter(|verdict| verdict.word == of).count();
        facts.words(word(of), &count.to_string(), Origin::Solved, "")
    });
    let of_worst = facts.outcome.verdicts.iter().filter(|verdict| weight(verdict.word) == weight(worst) && worst != Word::Holds);
    let each = of_worst.map(|verdict| {
        let input = facts.words(&verdict.rule, word(verdict.word), Origin::Solved, &facts.written(&verdict.reason));
        WhyInput { result: Some(verdict.rule.clone()), ..input }
    });
    counts.into_iter().chain(each).collect()
}

fn status(facts: &Facts) -> Vec<WhyInput> {
    let outcome = facts.outcome;
    let count = |label: &str, value: usize| facts.words(label, &value.to_string(), Origin::Solved, "");
    let mut inputs = vec![
        facts.words("operating point", status_in_words(outcome.status), Origin::Solved, &facts.written(&outcome.reason)),
        count("equilibria found", outcome.equilibria.len()),
        count("of them stable", outcome.equilibria.iter().filter(|equilibrium| equilibrium.stable).count()),
        count("points of the curve", outcome.trace.len()),
    ];
    inputs.extend(facts.of_point("closing", "closing force", "closing_force_n", Kind::Force, |at| at.closing_force_n));
    inputs
}

fn fluid(facts: &Facts) -> WhyInput {
    let path = if facts.duty.fluid.is_some() { facts.duty_path("fluid") } else { "fluid.name".to_owned() };
    let own = matches!(facts.fluid().kind(), halfmicron_properties::FluidKind::Custom | halfmicron_properties::FluidKind::Constant);
    let input = facts.words("fluid", &facts.outcome.conditions.fluid, Origin::Case, &facts.fluid_sources());
    WhyInput { path: (!own).then_some(path), ..input }
}

fn temperature(facts: &Facts) -> Vec<WhyInput> {
    let ChamberTemperature::FromFlush(flush_k) = facts.duty.temperature else { return vec![facts.chamber_temperature()] };
    let mut inputs = vec![facts.stated("T_flush", "flush temperature", &facts.duty_path("flush_temperature"), Kind::Temperature, flush_k)];
    match facts.model.seal.flush_m3_per_s {
        Some(flush) => inputs.push(facts.stated("m", "flush, by volume at its own density", "seal.flush", Kind::SupplyFlow, flush)),
        None => inputs.push(facts.words("flush", "not stated", Origin::Default, "the chamber is taken at the flush temperature")),
    }
    inputs.push(facts.stated("P_soak", "heat soak", "seal.heat_soak", Kind::Power, facts.model.seal.heat_soak_w));
    inputs.extend(facts.of_point("P", "power", "power_w", Kind::Power, |at| at.power_w.nominal));
    inputs
}
