//! How far the operating point stands from the jump.

use super::facts::Facts;
use super::{Explanation, WhyInput};
use crate::outcome::DutyOutcome;
use crate::rules::text::temperature;
use crate::sheet::rounding::MISSING;
use crate::sheet::units::Kind;
use crate::sheet::{MARGINS, UNSEEN};

const MODELS: &[&str] = &["point.margins", "point.coupled"];

pub(super) const ALL: &[Explanation] = &[
    Explanation {
        keys: &["margins.closing_force_fall_n", "margins.closing_force_rise_n"],
        label: "closing force may change by",
        equation: |_| "margin = |F_closing - W| where dW/ds = 0",
        words: |_| {
            "The curve of opening force W over the gap turns back at a fold. The closing force may change as far as the fold; there the film meets an \
             unstable one and both vanish. Friction of the secondary seal, wear of springs and thrust all change closing."
        },
        inputs: |facts, _| forces(facts),
        models: MODELS,
        rules: &["balance.margin", "boiling.states"],
    },
    Explanation {
        keys: &["margins.temperature_rise_k", "margins.temperature_fall_k", "margins.pressure_fall_pa"],
        label: "condition may change by",
        equation: |_| "margin = change at which dW/ds = 0 at the followed film",
        words: |_| {
            "The film is followed while this one condition changes slowly and the rest of the duty stays, until it meets an unstable one and both \
             vanish. Where no jump was seen it was followed as far as the words say."
        },
        inputs: |facts, _| {
            let mut inputs = facts.pressures();
            inputs.push(facts.chamber_temperature());
            inputs.extend(forces(facts));
            inputs
        },
        models: MODELS,
        rules: &["boiling.states", "boiling.chamber-kelvin"],
    },
    Explanation {
        keys: &["margins"],
        label: "by any change",
        equation: |_| "no place with dW/ds = 0 as far as followed",
        words: |_| "Closing force, chamber temperature and sealed pressure were each changed alone, as far as the words say; the film met no jump.",
        inputs: |facts, _| forces(facts),
        models: MODELS,
        rules: &["boiling.states"],
    },
    Explanation {
        keys: &["margins.boiling_onset_k"],
        label: "film starts to boil at chamber",
        equation: |_| "chamber temperature at which the film below boiling is zero",
        words: |_| "The film is followed while the chamber warms, until its hottest place reaches saturation.",
        inputs: |facts, _| {
            let mut inputs = vec![facts.chamber_temperature()];
            let margin = facts.at.and_then(|at| at.boiling_margin_k);
            inputs.extend(
                margin.map(|margin| {
                    facts.found("", "film below boiling now", "boiling_margin_k", Kind::TemperatureDifference, margin.nominal)
                }),
            );
            inputs
        },
        models: &["point.margins", "point.coupled", "fluid."],
        rules: &["boiling.film-margin", "boiling.chamber-kelvin"],
    },
];

fn forces(facts: &Facts) -> Vec<WhyInput> {
    let closing = facts.of_point("F_closing", "closing force", "closing_force_n", Kind::Force, |at| at.closing_force_n);
    let film = facts.of_point("h_min", "least film", "minimum_film_m", Kind::SmallLength, |at| at.minimum_film_m.nominal);
    closing.into_iter().chain(film).collect()
}

/// Label and text of a margin that no jump bounds at this duty: in the sheet of this duty alone it has no row of its own.
pub(super) fn unseen(outcome: &DutyOutcome, key: &str) -> Option<(&'static str, &'static str)> {
    let (_, label, _, of) = MARGINS.iter().find(|(known, ..)| *known == key)?;
    let followed = outcome.margins.as_ref().and_then(of).is_some();
    Some((label, if followed { UNSEEN } else { MISSING }))
}

/// What the outcome says of a margin, SI quantities inside.
pub(super) fn words(outcome: &DutyOutcome, key: &str) -> String {
    let Some(margins) = outcome.margins.as_ref() else { return String::new() };
    if let Some((.., of)) = MARGINS.iter().find(|(known, ..)| *known == key) {
        return of(margins).map_or(String::new(), |margin| margin.words.clone());
    }
    match key {
        "margins" => {
            let all = MARGINS.iter().filter_map(|(.., of)| of(margins));
            let unseen = all.filter(|margin| margin.to_jump.is_none());
            unseen.map(|margin| margin.words.clone()).collect::<Vec<_>>().join("; ")
        }
        "margins.boiling_onset_k" => match margins.boiling_onset_k {
            Some(kelvin) => format!("this film starts to boil with the chamber at {}", temperature(kelvin)),
            None => margins.boiling_onset_reason.clone(),
        },
        _ => String::new(),
    }
}
