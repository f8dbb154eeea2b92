//! What is kept between requests, so that a changed value is answered at once.
//!
//! A complete answer is the one that a cold solve gives: its rings may be shared and its duties remembered, but every duty is searched
//! whole and started from nothing. A quick answer follows the film of the last one, and says what it left out.

use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::sync::{Mutex, PoisonError};

use axum::http::StatusCode;
use halfmicron::model::{Duty, Model};
use halfmicron::outcome::{DutyOutcome, Outcome};
use halfmicron::point::{Options, PointError, Prepared, State};
use halfmicron::{case, solve_each};

use super::pool::Wanted;
use super::problem::Problem;

/// Seals kept ready, and duties of each.
const MOST_SEALS: usize = 8;
const MOST_POINTS: usize = 32;

/// Follows a film and looks for no other; fields for the pictures.
const FOLLOWED: Options = Options { search: false, ranges: false, fields: true, margins: false, at_rest: false, waves: false };

/// What a quick answer does not hold.
const LEFT_OUT: [&str; 5] = [
    "equilibria other than the one followed",
    "ranges of the numbers",
    "margins to a jump of the film",
    "the torque to break away from rest",
    "verdicts",
];

/// A case that has been read, with what makes it the same as another.
#[derive(Debug, Clone)]
pub struct Ready {
    /// Its text, settings included.
    pub text: String,
    /// The model.
    pub model: Model,
    /// All values that do not belong to one duty, the title aside.
    seal: blake3::Hash,
    /// The values of each duty.
    duties: BTreeMap<String, blake3::Hash>,
}

impl Ready {
    /// Of the text that a model was read from.
    pub fn new(text: &str, model: Model) -> Self {
        let values = case::as_written(text).unwrap_or_default();
        let prefixes: Vec<(String, String)> = model.duties.iter().map(|duty| (duty.name.clone(), format!("duty.{}.", duty.name))).collect();
        let hashed = |belongs: &dyn Fn(&str) -> bool| {
            let mut hash = blake3::Hasher::new();
            for (path, value) in values.iter().filter(|(path, _)| belongs(path)) {
                for part in [path, value] {
                    hash.update(&part.len().to_le_bytes()).update(part.as_bytes());
                }
            }
            hash.finalize()
        };
        let of_duty = |(name, prefix): &(String, String)| (name.clone(), hashed(&|path: &str| path.starts_with(prefix)));
        let in_a_duty = |path: &str| prefixes.iter().any(|(_, prefix)| path.starts_with(prefix));
        Self {
            text: text.to_owned(),
            seal: hashed(&|path: &str| path != "title" && !in_a_duty(path)),
            duties: prefixes.iter().map(of_duty).collect(),
            model,
        }
    }

    /// The name of the first duty.
    pub fn first_duty(&self) -> Vec<String> {
        self.model.duties.first().map(|duty| duty.name.clone()).into_iter().collect()
    }

    fn duty(&self, duty: &Duty) -> Option<blake3::Hash> {
        self.duties.get(&duty.name).copied()
    }
}

/// Seals kept ready, the latest used last.
#[derive(Debug, Default)]
pub struct Warm(Mutex<Vec<Seal>>);

/// One seal with what was found of it.
#[derive(Debug)]
struct Seal {
    identity: blake3::Hash,
    title: String,
    prepared: Prepared,
    points: Vec<Point>,
    /// The last film of each duty, by name.
    films: BTreeMap<String, State>,
}

/// A duty that was solved completely.
#[derive(Debug)]
struct Point {
    duty: blake3::Hash,
    outcome: DutyOutcome,
}

/// An outcome, and whether everything was computed.
#[derive(Debug)]
pub struct Found {
    /// The outcome.
    pub outcome: Outcome,
    /// What was left out, in words; empty where nothing was.
    pub left_out: Vec<String>,
}

impl Warm {
    /// Some duties, all of them when none is named; everything computed.
    ///
    /// # Errors
    /// A duty that the case does not have, rings that cannot be computed, or nobody who still waits.
    pub fn complete(&self, ready: &Ready, duties: &[String], wanted: &Wanted) -> Result<Outcome, Problem> {
        let prepared = self.prepared(ready)?;
        self.solved(&prepared, duties, wanted, &mut |duty| self.whole(&prepared, ready, duty))
    }

    /// The same as far as it comes at once.
    ///
    /// # Errors
    /// As [`Self::complete`].
    pub fn quick(&self, ready: &Ready, duties: &[String], wanted: &Wanted) -> Result<Found, Problem> {
        let prepared = self.prepared(ready)?;
        let mut followed = false;
        let outcome = self.solved(&prepared, duties, wanted, &mut |duty| {
            let Some(start) = self.film(ready, duty).filter(|_| self.known(ready, duty).is_none()) else {
                return self.whole(&prepared, ready, duty);
            };
            followed = true;
            let (found, film) = prepared.solve_with(duty, Some(&start), FOLLOWED);
            self.keep(ready, duty, None, film);
            found
        })?;
        let left_out = if followed { LEFT_OUT.map(str::to_owned).to_vec() } else { Vec::new() };
        Ok(Found { outcome, left_out })
    }

    fn solved(
        &self,
        prepared: &Prepared,
        duties: &[String],
        wanted: &Wanted,
        one: &mut dyn FnMut(&Duty) -> DutyOutcome,
    ) -> Result<Outcome, Problem> {
        let solved = solve_each(prepared, duties, &mut |duty| {
            if wanted.given_up() { ControlFlow::Break(()) } else { ControlFlow::Continue(one(duty)) }
        });
        match solved.map_err(|error| refused(&error))? {
            ControlFlow::Continue(outcome) => Ok(outcome),
            ControlFlow::Break(()) => Err(given_up()),
        }
    }

    fn whole(&self, prepared: &Prepared, ready: &Ready, duty: &Duty) -> DutyOutcome {
        if let Some(known) = self.known(ready, duty) {
            return known;
        }
        let (found, film) = prepared.solve(duty, None);
        self.keep(ready, duty, Some(&found), film);
        found
    }

    /// The rings of a case, those of an earlier one where they are the same.
    fn prepared(&self, ready: &Ready) -> Result<Prepared, Problem> {
        let model = &ready.model;
        if let Some(prepared) = self.with_seals(|seals| {
            let index = seals.iter().position(|seal| seal.identity == ready.seal)?;
            let seal = seals.remove(index);
            let prepared = seal.prepared.with_model(model.clone());
            seals.push(seal);
            Some(prepared)
        }) {
            return Ok(prepared);
        }
        let relative = self.with_seals(|seals| seals.iter().rev().find_map(|seal| seal.prepared.for_model(model)));
        let prepared = match relative {
            Some(prepared) => prepared,
            None => Prepared::new(model).map_err(|error| refused(&error))?,
        };
        self.with_seals(|seals| {
            // Another request may have been as quick.
            if seals.iter().any(|seal| seal.identity == ready.seal) {
                return;
            }
            let films = seals.iter().rev().find(|seal| seal.title == model.title).map(|seal| seal.films.clone()).unwrap_or_default();
            let (identity, title) = (ready.seal, model.title.clone());
            seals.push(Seal { identity, title, prepared: prepared.clone(), points: Vec::new(), films });
            let surplus = seals.len().saturating_sub(MOST_SEALS);
            seals.drain(..surplus);
        });
        Ok(prepared)
    }

    fn known(&self, ready: &Ready, duty: &Duty) -> Option<DutyOutcome> {
        let identity = ready.duty(duty)?;
        self.of_seal(ready, |seal| seal.points.iter().find(|point| point.duty == identity).map(|point| point.outcome.clone()))?
    }

    fn film(&self, ready: &Ready, duty: &Duty) -> Option<State> {
        self.of_seal(ready, |seal| seal.films.get(&duty.name).cloned())?
    }

    fn keep(&self, ready: &Ready, duty: &Duty, whole: Option<&DutyOutcome>, film: Option<State>) {
        self.of_seal(ready, |seal| {
            if let (Some(outcome), Some(duty)) = (whole, ready.duty(duty)) {
                seal.points.retain(|point| point.duty != duty);
                seal.points.push(Point { duty, outcome: outcome.clone() });
                let surplus = seal.points.len().saturating_sub(MOST_POINTS);
                seal.points.drain(..surplus);
            }
            if let Some(film) = film {
                seal.films.insert(duty.name.clone(), film);
            }
        });
    }

    fn of_seal<T>(&self, ready: &Ready, with: impl FnOnce(&mut Seal) -> T) -> Option<T> {
        self.with_seals(|seals| seals.iter_mut().find(|seal| seal.identity == ready.seal).map(with))
    }

    fn with_seals<T>(&self, with: impl FnOnce(&mut Vec<Seal>) -> T) -> T {
        with(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

fn refused(error: &PointError) -> Problem {
    let hint = "Correct the case, or name a duty that it has.";
    match error {
        PointError::UnknownDuty { .. } => Problem::impossible("case.no-duty", error.to_string(), hint),
        _ => Problem::impossible("case.impossible", error.to_string(), hint),
    }
}

fn given_up() -> Problem {
    Problem::new(StatusCode::SERVICE_UNAVAILABLE, "server.given-up", "nobody waited for the answer any more", "Ask again.")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ready(text: &str) -> Ready {
        Ready::new(text, case::parse(text).and_then(|case| case.model()).expect("a case"))
    }

    fn shipped() -> Vec<String> {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../cases");
        let files = std::fs::read_dir(folder).expect("the shipped cases");
        let texts: Vec<String> = files.flatten().filter_map(|file| std::fs::read_to_string(file.path()).ok()).collect();
        assert!(texts.len() >= 9);
        texts
    }

    const BRINE: &str = include_str!("../../../../cases/brine-booster.toml");

    #[test]
    fn every_value_of_a_case_is_part_of_what_makes_it_the_same() {
        for text in shipped() {
            let read = case::parse(&text).expect("a case");
            let values = case::as_written(&text).expect("TOML");
            let paths = case::paths(&read);
            assert!(paths.iter().all(|path| values.contains_key(path)), "{paths:?}");
        }
        let before = ready(BRINE);
        let hotter = ready(&BRINE.replacen("# ", "#  ", 1));
        assert_eq!((before.seal, &before.duties), (hotter.seal, &hotter.duties), "comments make no difference");
        let other = case::with_settings(BRINE, &[("duty.normal.pressure", "12 bar(g)")]).expect("it fits");
        let other = ready(&other);
        assert_eq!(before.seal, other.seal);
        assert_ne!(before.duties["normal"], other.duties["normal"]);
        assert_eq!(before.duties["maximum"], other.duties["maximum"]);
        let spring = case::with_settings(BRINE, &[("seal.spring_force", "150 N")]).expect("it fits");
        assert_ne!(before.seal, ready(&spring).seal);
    }

    /// Everything but the counts of work, which depend on what was kept.
    fn without_work(outcome: &Outcome) -> Outcome {
        let mut outcome = outcome.clone();
        outcome.duties.iter_mut().for_each(|duty| duty.work = Default::default());
        outcome
    }

    #[test]
    fn a_complete_answer_is_that_of_a_cold_solve_whatever_was_asked_before() {
        let warm = Warm::default();
        let wanted = Wanted::default();
        let changed =
            case::with_settings(BRINE, &[("duty.normal.pressure", "12 bar(g)"), ("seal.spring_force", "150 N")]).expect("it fits");
        let duties = ["normal".to_owned(), "maximum".to_owned()];
        for text in [BRINE, &changed, BRINE] {
            warm.quick(&ready(text), &duties, &wanted).expect("solved");
            let found = warm.complete(&ready(text), &duties, &wanted).expect("solved");
            let cold = halfmicron::solve(&ready(text).model, &duties).expect("solved");
            assert!(without_work(&found) == without_work(&cold), "{text}");
        }
        let seals = warm.0.lock().expect("alone").iter().map(|seal| seal.points.len()).collect::<Vec<_>>();
        assert_eq!(seals, [2, 2], "the same rings, two seals, two duties each");
    }

    #[test]
    #[ignore = "every duty of every shipped case twice: a minute or more"]
    fn every_shipped_duty_is_answered_as_a_cold_solve_would() {
        let warm = Warm::default();
        let wanted = Wanted::default();
        let mut followed = 0;
        for text in shipped() {
            let model = ready(&text).model;
            let settings: Vec<(String, String)> = model
                .duties
                .iter()
                .map(|duty| (format!("duty.{}.pressure", duty.name), format!("{:.0} Pa(a)", 1.01 * duty.pressure_pa)))
                .collect();
            let settings: Vec<(&str, &str)> = settings.iter().map(|(path, value)| (path.as_str(), value.as_str())).collect();
            let changed = case::with_settings(&text, &settings).expect("it fits");
            warm.complete(&ready(&changed), &[], &wanted).expect("solved");
            followed += usize::from(!warm.quick(&ready(&text), &[], &wanted).expect("solved").left_out.is_empty());
            let found = warm.complete(&ready(&text), &[], &wanted).expect("solved");
            let cold = halfmicron::solve(&model, &[]).expect("solved");
            assert!(without_work(&found) == without_work(&cold), "{}", model.title);
        }
        assert!(followed >= 9, "{followed} cases had a film to follow");
    }

    #[test]
    fn a_quick_answer_follows_the_film_and_says_so() {
        let warm = Warm::default();
        let wanted = Wanted::default();
        let duties = ["normal".to_owned()];
        let first = warm.quick(&ready(BRINE), &duties, &wanted).expect("solved");
        assert!(first.left_out.is_empty(), "nothing to follow yet: {:?}", first.left_out);
        let changed = case::with_settings(BRINE, &[("duty.normal.pressure", "12 bar(g)")]).expect("it fits");
        let quick = warm.quick(&ready(&changed), &duties, &wanted).expect("solved");
        assert_eq!(quick.left_out.len(), LEFT_OUT.len());
        let complete = warm.complete(&ready(&changed), &duties, &wanted).expect("solved");
        let film = |outcome: &Outcome| {
            let duty = &outcome.duties[0];
            duty.equilibria[duty.chosen.expect("solved")].minimum_film_m.nominal
        };
        let [followed, searched] = [film(&quick.outcome), film(&complete)];
        assert!((followed - searched).abs() < 1e-6 * searched, "{followed:e} {searched:e}");
        let work = |outcome: &Outcome| outcome.duties[0].work.film_solves;
        assert!(5 * work(&quick.outcome) < work(&complete), "{} {}", work(&quick.outcome), work(&complete));
        let known = warm.quick(&ready(&changed), &duties, &wanted).expect("solved");
        assert!(known.left_out.is_empty(), "what is known completely is told completely");
    }

    #[test]
    fn an_unknown_duty_and_an_answer_for_nobody_are_refused() {
        let warm = Warm::default();
        let wanted = Wanted::default();
        let unknown = warm.complete(&ready(BRINE), &["noon".to_owned()], &wanted).expect_err("no such duty");
        assert_eq!(unknown.error.code, "case.no-duty");
        wanted.give_up();
        let stopped = warm.complete(&ready(BRINE), &[], &wanted).expect_err("nobody waits");
        assert_eq!(stopped.error.code, "server.given-up");
    }
}
