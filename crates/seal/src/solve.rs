//! A whole case: every duty solved, judged and signed with its provenance.

use std::convert::Infallible;
use std::ops::ControlFlow;

use crate::choices;
use crate::model::{Duty, Model};
use crate::outcome::{DutyOutcome, Outcome, Provenance};
use crate::point::{PointError, Prepared};
use crate::rules;

/// Solve the duties named (all of them when none is named), with hand numbers, verdicts and provenance.
///
/// # Errors
/// [`PointError`]: a ring that can't be meshed, or a duty name that the case does not have. What goes wrong within a duty is that
/// duty's status and reason, not an error.
pub fn solve(model: &Model, duty_names: &[String]) -> Result<Outcome, PointError> {
    solve_duties(model, duty_names, false)
}

/// The same, and every duty again with each other law that can matter to it: [`DutyOutcome::model_spread`](crate::outcome::DutyOutcome).
///
/// # Errors
/// As [`solve`].
pub fn solve_with_spread(model: &Model, duty_names: &[String]) -> Result<Outcome, PointError> {
    solve_duties(model, duty_names, true)
}

fn solve_duties(model: &Model, duty_names: &[String], spread: bool) -> Result<Outcome, PointError> {
    known_duties(model, duty_names)?;
    let prepared = Prepared::new(model)?;
    let solved = solve_each::<Infallible>(&prepared, duty_names, &mut |duty| {
        let (mut solved, state) = prepared.solve(duty, None);
        solved.model_spread = spread.then(|| choices::spread(&prepared, duty, &solved, state.as_ref()));
        ControlFlow::Continue(solved)
    })?;
    Ok(match solved {
        ControlFlow::Continue(outcome) => outcome,
        ControlFlow::Break(never) => match never {},
    })
}

/// The outcome of a prepared seal with each duty solved by `one`, judged and signed as [`solve`] does it; `one` may break it off.
///
/// # Errors
/// As [`solve`].
pub fn solve_each<B>(
    prepared: &Prepared,
    duty_names: &[String],
    one: &mut dyn FnMut(&Duty) -> ControlFlow<B, DutyOutcome>,
) -> Result<ControlFlow<B, Outcome>, PointError> {
    let model = prepared.model();
    known_duties(model, duty_names)?;
    let mut outcome = Outcome {
        title: model.title.clone(),
        duties: Vec::new(),
        notices: model.notices.iter().filter(|notice| !left_out(model, duty_names, &notice.field)).cloned().collect(),
        verdicts: Vec::new(),
        provenance: Provenance {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            case_hash: model.case_hash.clone(),
            data_version: model.fluid.data_version().to_owned(),
            seed: None,
        },
    };
    for duty in &model.duties {
        if !duty_names.is_empty() && !duty_names.contains(&duty.name) {
            continue;
        }
        let mut solved = match one(duty) {
            ControlFlow::Continue(solved) => solved,
            ControlFlow::Break(why) => return Ok(ControlFlow::Break(why)),
        };
        solved.verdicts = rules::judge(model, duty, &solved);
        outcome.duties.push(solved);
    }
    outcome.verdicts = rules::case_verdicts(model, &outcome);
    Ok(ControlFlow::Continue(outcome))
}

pub(crate) fn known_duties(model: &Model, duty_names: &[String]) -> Result<(), PointError> {
    let unknown = duty_names.iter().find(|name| model.duties.iter().all(|duty| duty.name != **name));
    let known = || model.duties.iter().map(|duty| duty.name.clone()).collect();
    unknown.map_or(Ok(()), |name| Err(PointError::UnknownDuty { name: name.clone(), known: known() }))
}

/// Whether a notice speaks of a duty that was not asked for.
fn left_out(model: &Model, duty_names: &[String], field: &str) -> bool {
    let Some(rest) = field.strip_prefix("duty.") else { return false };
    let speaks_of = |name: &str| rest.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
    let asked = |name: &String| duty_names.is_empty() || duty_names.contains(name);
    let mut of_duties = model.duties.iter().filter(|duty| speaks_of(&duty.name)).peekable();
    of_duties.peek().is_some() && !of_duties.any(|duty| asked(&duty.name))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::Bench;

    #[test]
    fn notices_of_duties_not_asked_for_are_left_out() {
        let mut bench = Bench::booster();
        for name in ["normal reversed", "flush.lost"] {
            bench.add_duty(name, |_| ());
        }
        let left =
            |asked: &[&str], field: &str| left_out(&bench.model, &asked.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>(), field);
        assert!(!left(&[], "duty.normal"));
        assert!(!left(&["normal"], "duty.normal"));
        assert!(!left(&["normal"], "duty.normal.pressure"));
        assert!(!left(&["normal"], "duty"));
        assert!(!left(&["normal"], "seal.flush"));
        assert!(left(&["normal"], "duty.normal reversed"));
        assert!(left(&["normal"], "duty.flush.lost.pressure"));
        assert!(!left(&["flush.lost"], "duty.flush.lost.pressure"));
    }
}
