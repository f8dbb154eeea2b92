//! Honesty and deferral: what stands above this tool, and what it has not proven.

use super::models;
use super::text::{number, pressure, temperature};
use super::view::{CaseView, DutyView};
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};

const GROUP: &str = "Honesty and deferral";

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "law.defers",
        group: GROUP,
        statement: "Local code, pressure equipment, explosive atmosphere and emission rules override every number here.",
        breach: Breach::Note,
        source: Source::Geometry,
        limit: "local law",
        hint: "Name the code in your report.",
        judge: Judge::Case(defers),
    },
    Rule {
        id: "law.practice",
        group: GROUP,
        statement: "Toxic or flammable service, above 4 MPa or 150 degC, is signed by the licensed or competent person of the place.",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "toxic, flammable, 4 MPa, 150 degC",
        hint: "The tool supports, it never signs.",
        judge: Judge::Duty(practice),
    },
    Rule {
        id: "model.unproven",
        group: GROUP,
        statement: "Every model that the result used has a published check.",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "one check a model",
        hint: "`halfmicron prove` reruns the checks that exist.",
        judge: Judge::Duty(unproven),
    },
    Rule {
        id: "model.residual",
        group: GROUP,
        statement: "Balances of mass, force and heat close to one part in a million.",
        breach: Breach::Fail,
        source: Source::Geometry,
        limit: "1e-6 relative",
        hint: "This is not a result: report the case.",
        judge: Judge::Duty(residual),
    },
];

fn defers(_: &CaseView) -> Judged {
    Ok(Assessment::note("local codes and the competent person of the place come before this result"))
}

fn practice(view: &DutyView) -> Judged {
    let mut reasons = Vec::new();
    if view.fluid.toxic {
        reasons.push(format!("{} is toxic", view.fluid.name));
    }
    if view.fluid.flammable {
        reasons.push(format!("{} burns", view.fluid.name));
    }
    let highest = view.duty.pressure_pa.max(view.duty.low_pressure_pa);
    if highest > 4e6 {
        reasons.push(format!("pressure {}", pressure(highest)));
    }
    if view.chamber_temperature_k() > 423.15 {
        reasons.push(format!("temperature {}", temperature(view.chamber_temperature_k())));
    }
    if reasons.is_empty() {
        return Err(Skip::DoesNotApply);
    }
    Ok(Assessment::note(format!("to be signed by the licensed or competent person: {}", reasons.join(", "))))
}

fn unproven(view: &DutyView) -> Judged {
    let used = &view.outcome.models;
    if used.is_empty() {
        return Err(Skip::NotComputed("the outcome names no models".to_owned()));
    }
    let unproven: Vec<&str> = used.iter().map(String::as_str).filter(|id| models::proofs(id).is_empty()).collect();
    Ok(if unproven.is_empty() {
        Assessment::holds(format!("all {} models used have a check", used.len()))
    } else {
        Assessment::note(format!("no published check of {}", unproven.join(", ")))
    })
}

fn residual(view: &DutyView) -> Judged {
    let balances = view.solved()?.balances;
    let worst = [balances.mass, balances.force, balances.heat].map(f64::abs).into_iter().fold(0.0, f64::max);
    let reason = format!("mass {}, force {}, heat {}", number(balances.mass), number(balances.force), number(balances.heat));
    let finite = [balances.mass, balances.force, balances.heat].iter().all(|value| value.is_finite());
    Ok(Assessment::within(finite && worst <= 1e-6, Breach::Fail, reason).compared(worst, 1e-6))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, reason_of, word_of};
    use crate::outcome::Word;

    #[test]
    fn residuals_decide_whether_it_is_a_result() {
        let mut bench = Bench::booster();
        for (heat, word) in [(9e-7, Word::Holds), (-1.1e-6, Word::Fails), (f64::NAN, Word::Fails)] {
            bench.equilibrium_mut().balances.heat = heat;
            assert_eq!(word_of(&bench, "model.residual"), Some(word));
        }
    }

    #[test]
    fn high_pressure_is_signed_by_a_person() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "law.practice"), None);
        bench.duty_mut().pressure_pa = 4.1e6;
        assert_eq!(word_of(&bench, "law.practice"), Some(Word::Holds));
    }

    #[test]
    fn an_unknown_model_is_unproven() {
        let mut bench = Bench::booster();
        bench.outcome_mut().models = vec!["film.of-tomorrow".to_owned()];
        assert_eq!(reason_of(&bench, "model.unproven"), "note: no published check of film.of-tomorrow");
        assert_eq!(word_of(&bench, "model.unproven"), Some(Word::Holds), "a note fails nothing");
    }
}
