//! What a study does: checked and planned when it is begun, run later on a thread of its own.

use std::collections::BTreeMap;

use halfmicron::outcome::DutyOutcome;
use halfmicron::sheet::text::in_units;
use halfmicron::sheet::{film_maps, influence_sheet, sweep_sheet};
use halfmicron::study::{MAIN, RESULTS, Request, influences, sweep_with};

use super::App;
use super::problem::Problem;
use super::proof::{self, Proof};
use super::solve::read;
use super::studies::{Running, StudyRequest, StudyResult};

/// A study ready to run; a message where it fails.
pub type Run = Box<dyn FnOnce(&App, &Running) -> Result<StudyResult, String> + Send>;

/// Most values of a sweep.
const MOST: u32 = 2000;

/// What a study stopped on request answers; nobody reads it.
const STOPPED: &str = "stopped";

/// The study, its case read and its numbers checked.
pub fn planned(request: StudyRequest) -> Result<Run, Problem> {
    match request {
        StudyRequest::Sweep { text, duty, path, from, to, count, units } => {
            let model = read(&text, &BTreeMap::new())?.model;
            if !model.duties.iter().any(|known| known.name == duty) {
                return Err(no_duty(&duty, model.duties.iter().map(|duty| duty.name.as_str())));
            }
            if !(2..=MOST).contains(&count) {
                let hint = "Choose a count within the range.";
                return Err(Problem::impossible("study.count", format!("a sweep has from 2 to {MOST} values; {count} is asked for"), hint));
            }
            let end = |value: &str| {
                let model = read(&text, &BTreeMap::from([(path.clone(), value.to_owned())]))?.model;
                model.get(&path).map_err(|error| Problem::impossible("study.path", error.to_string(), "Name a number of the case."))
            };
            let ends = [end(&from)?, end(&to)?];
            if ends[0] == ends[1] {
                let message = format!("both ends of `{path}` are the same: nothing is swept");
                return Err(Problem::impossible("study.ends", message, "Choose two different values."));
            }
            let step = (ends[1] - ends[0]) / f64::from(count - 1);
            let values = (0..count).map(|k| if k + 1 == count { ends[1] } else { ends[0] + step * f64::from(k) }).collect();
            let request = Request { duty, path, values };
            Ok(Box::new(move |_, running| match sweep_with(&model, &request, &mut |done, total| running.flow(done, total)) {
                Ok(Some(sweep)) => Ok(StudyResult::Sweep(sweep_sheet(&sweep, units))),
                Ok(None) => Err(STOPPED.to_owned()),
                Err(error) => Err(error.to_string()),
            }))
        }
        StudyRequest::Influences { text, duty, keys, ranked_by, units } => {
            let model = read(&text, &BTreeMap::new())?.model;
            if !model.duties.iter().any(|known| known.name == duty) {
                return Err(no_duty(&duty, model.duties.iter().map(|duty| duty.name.as_str())));
            }
            let ranked_by = ranked_by.unwrap_or_else(|| keys.first().cloned().unwrap_or_else(|| MAIN[0].to_owned()));
            let known = || RESULTS.iter().map(|result| result.key);
            if let Some(unknown) = keys.iter().chain([&ranked_by]).find(|key| !known().any(|known| known == key.as_str())) {
                let shown: String = unknown.chars().take(80).collect();
                let hint = format!("There are {}.", known().collect::<Vec<_>>().join(", "));
                return Err(Problem::impossible("study.key", format!("no influences can be had on `{shown}`"), hint));
            }
            Ok(Box::new(move |_, running| {
                let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
                influences(&model, &duty, &keys, &mut |done, total| running.flow(done, total))
                    .map(|found| StudyResult::Influences(influence_sheet(&found, &ranked_by, units)))
                    .map_err(|error| error.to_string())
            }))
        }
        StudyRequest::Film { text, duty, units } => {
            let ready = read(&text, &BTreeMap::new())?;
            if !ready.model.duties.iter().any(|known| known.name == duty) {
                return Err(no_duty(&duty, ready.model.duties.iter().map(|duty| duty.name.as_str())));
            }
            Ok(Box::new(move |app, running| {
                running.step(0, 1);
                let found = app.warm.quick(&ready, std::slice::from_ref(&duty), running.wanted());
                let outcome = found.map_err(|problem| problem.error.message)?.outcome;
                let solved = outcome.duties.first().ok_or_else(|| STOPPED.to_owned())?;
                running.step(1, 1);
                film_maps(&ready.model, solved, units)
                    .map(StudyResult::Film)
                    .ok_or_else(|| format!("duty \"{duty}\" has no film to show: {}", in_units(&reason_of(solved), units)))
            }))
        }
        StudyRequest::Proof {} => Ok(Box::new(|app, running| {
            let checks = proof::all();
            let mut lines = Vec::new();
            for (done, check) in checks.iter().enumerate() {
                running.step(done, checks.len());
                if running.stopped() {
                    return Err(STOPPED.to_owned());
                }
                lines.push(proof::line(check, &check.results()));
            }
            let proof = Proof { checks: lines, rerun: true };
            app.keep_proof(proof.clone());
            Ok(StudyResult::Proof(proof))
        })),
    }
}

/// Why a duty has no film.
fn reason_of(duty: &DutyOutcome) -> String {
    if duty.reason.is_empty() { "its equilibrium has no film field".to_owned() } else { duty.reason.clone() }
}

fn no_duty<'d>(name: &str, known: impl Iterator<Item = &'d str>) -> Problem {
    let known = known.map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ");
    Problem::impossible("case.no-duty", format!("no duty is named \"{name}\""), format!("The case has {known}."))
}
