//! How far each result moves when one input of a duty moves a little: central differences, each side followed from the operating point.
//!
//! An input is changed by 1 % up and down (a temperature by 1 K, an absolute pressure by 1 % of absolute), everything else held, and the
//! film is followed to both sides by a warm start. The influence is half the difference: the change for the step upward. Where the two
//! sides differ, the result is bent there and says so; where the film cannot be followed to a side, the answer is none with the reason.

mod inputs;
mod sizes;

use std::ops::ControlFlow;

use serde::{Deserialize, Serialize};

use super::StudyError;
use crate::model::{Duty, Model};
use crate::outcome::{DutyOutcome, Equilibrium, Provenance, Work};
use crate::point::vary::{SAME_BRANCH, alike};
use crate::point::{Options, PointError, Prepared, State};
use crate::rules::view::reason_or_status;

pub use inputs::{Input, Source, Step, inputs};

/// Complete search for the operating point, its numbers alone.
const SEARCH: Options = Options { search: true, ranges: false, fields: false, margins: false, at_rest: false, waves: false };

/// Shares of a step by which a film is followed where the whole step is too far.
const QUARTERS: [f64; 4] = [0.25, 0.5, 0.75, 1.0];

/// Difference of both sides over the greater, from which a result counts as bent.
const BENT: f64 = 0.2;

/// Relative change below which a result is said not to move: far above what two solutions of one point differ by.
pub const STILL: f64 = 1e-4;

/// How a change of a result is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Told {
    /// Over the result itself.
    Relative,
    /// In the unit of the result's key.
    Absolute,
}

/// A result whose influences can be asked for.
#[derive(Debug)]
pub struct ResultOf {
    /// Key of the outcome.
    pub key: &'static str,
    of: fn(&Equilibrium) -> Option<f64>,
    told: Told,
    /// Size below which a relative change would mean nothing.
    least: f64,
    /// Absolute change below which a result is said not to move.
    still: f64,
}

const fn relative(key: &'static str, least: f64, of: fn(&Equilibrium) -> Option<f64>) -> ResultOf {
    ResultOf { key, of, told: Told::Relative, least, still: least * STILL }
}

const fn absolute(key: &'static str, still: f64, of: fn(&Equilibrium) -> Option<f64>) -> ResultOf {
    ResultOf { key, of, told: Told::Absolute, least: f64::INFINITY, still }
}

/// Every result, in the order in which a table shows them.
pub const RESULTS: &[ResultOf] = &[
    relative("minimum_film_m", 1e-8, |e| Some(e.minimum_film_m.nominal)),
    relative("leakage_m3_per_s", 1e-15, |e| Some(e.leakage_m3_per_s.nominal)),
    relative("power_w", 0.1, |e| Some(e.power_w.nominal)),
    absolute("face_temperature_max_k", 1e-3, |e| Some(e.face_temperature_max_k.nominal)),
    absolute("boiling_margin_k", 1e-3, |e| e.boiling_margin_k.map(|margin| margin.nominal)),
    relative("mean_film_m", 1e-8, |e| Some(e.mean_film_m.nominal)),
    relative("leakage_kg_per_s", 1e-12, |e| Some(e.leakage_kg_per_s.nominal)),
    relative("torque_n_m", 1e-4, |e| Some(e.torque_n_m.nominal)),
    absolute("contact_share", 1e-4, |e| Some(e.contact_share.nominal)),
    absolute("coning_m.total", 1e-10, |e| Some(e.coning_m.total)),
    absolute("film_temperature_max_k", 1e-3, |e| Some(e.film_temperature_max_k.nominal)),
    relative("pressure_profile_factor", 1e-3, |e| e.pressure_profile_factor),
];

/// Keys of the results that a table shows where none are asked for.
pub const MAIN: [&str; 5] = ["minimum_film_m", "leakage_m3_per_s", "power_w", "face_temperature_max_k", "boiling_margin_k"];

/// Influences of every input on some results of one duty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Influences {
    /// Title of the case.
    pub title: String,
    /// Duty.
    pub duty: String,
    /// The results as they are.
    pub results: Vec<Nominal>,
    /// One entry an input, in the order of the case.
    pub rows: Vec<Influence>,
    /// Inputs that were left alone, with the reason.
    pub left_out: Vec<LeftOut>,
    /// Work of all of it.
    pub work: Work,
    /// Where the result comes from.
    pub provenance: Provenance,
}

/// A result at the operating point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Nominal {
    /// Key of the outcome.
    pub key: String,
    /// Value, SI unit of the key; none where the duty has none.
    pub value: Option<f64>,
    /// How its changes are told.
    pub told: Told,
}

/// One input with the change of each result.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Influence {
    /// The input.
    #[serde(flatten)]
    pub input: Input,
    /// One entry a result, in the order of [`Influences::results`].
    pub changes: Vec<Change>,
    /// Why a side has no answer; empty where both have.
    pub reason: String,
}

/// Change of a result for a step of an input upward.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Change {
    /// Half the difference of both sides, relative or in the unit of the result; none where a side has no answer or the result none.
    pub change: Option<f64>,
    /// Change for the step upward alone, where the film could be followed there.
    pub upward: Option<f64>,
    /// Change for the step downward alone, where the film could be followed there.
    pub downward: Option<f64>,
    /// Whether both sides differ by more than a fifth: the result is bent there.
    pub bent: bool,
    /// Whether it moves by less than can be told.
    pub still: bool,
    /// Size up to which it is still, relative or in the unit of the result: 0.01 % or a millikelvin, far above what two solutions of one
    /// point differ by; more for dimensions of the rings, which are meshed anew.
    pub floor: f64,
}

/// An input that was left alone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOut {
    /// Path.
    pub path: String,
    /// What it is.
    pub label: String,
    /// Why.
    pub reason: String,
}

/// Influences at one duty of a case; `keys` names results of [`RESULTS`], [`MAIN`] without any. `progress` is told inputs done and inputs
/// there are, and may break the study off.
///
/// # Errors
/// [`StudyError`]: a duty that the case does not have, a key that is no result, rings that cannot be prepared, a duty without an operating
/// point, or [`StudyError::Cancelled`].
pub fn influences(
    model: &Model,
    duty: &str,
    keys: &[&str],
    progress: &mut dyn FnMut(usize, usize) -> ControlFlow<()>,
) -> Result<Influences, StudyError> {
    let known = || model.duties.iter().map(|duty| duty.name.clone()).collect();
    let found = model.duties.iter().find(|known| known.name == duty);
    let duty = found.ok_or_else(|| PointError::UnknownDuty { name: duty.to_owned(), known: known() })?;
    let prepared = Prepared::new(model)?;
    let (outcome, state) = prepared.solve_with(duty, None, SEARCH);
    influences_at(&prepared, duty, (&outcome, state.as_ref()), keys, progress)
}

/// The same from an operating point that is solved already: the outcome of the duty and its state, as [`Prepared::solve`] gave them.
///
/// # Errors
/// As [`influences`].
pub fn influences_at(
    prepared: &Prepared,
    duty: &Duty,
    (outcome, state): (&DutyOutcome, Option<&State>),
    keys: &[&str],
    progress: &mut dyn FnMut(usize, usize) -> ControlFlow<()>,
) -> Result<Influences, StudyError> {
    let asked = asked(keys)?;
    let point = outcome.chosen.and_then(|index| outcome.equilibria.get(index));
    let (Some(point), Some(state)) = (point, state) else {
        return Err(StudyError::NoPoint { duty: duty.name.clone(), reason: reason_or_status(outcome) });
    };
    let model = prepared.model();
    let index = model.duties.iter().position(|known| known.name == duty.name);
    let index = index.ok_or_else(|| PointError::UnknownDuty {
        name: duty.name.clone(),
        known: model.duties.iter().map(|duty| duty.name.clone()).collect(),
    })?;
    let mut study = Study { prepared, index, state, point, asked, work: outcome.work };
    let (inputs, left_out) = inputs(model, &model.duties[index]);
    let mut rows = Vec::with_capacity(inputs.len());
    for (done, input) in inputs.iter().enumerate() {
        if progress(done, inputs.len()).is_break() {
            return Err(StudyError::Cancelled);
        }
        rows.push(study.influence(input));
    }
    if progress(inputs.len(), inputs.len()).is_break() {
        return Err(StudyError::Cancelled);
    }
    Ok(Influences {
        title: model.title.clone(),
        duty: duty.name.clone(),
        results: study.asked.iter().map(|result| nominal(result, point)).collect(),
        rows,
        left_out,
        work: study.work,
        provenance: Provenance {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            case_hash: model.case_hash.clone(),
            data_version: model.fluid.data_version().to_owned(),
            seed: None,
        },
    })
}

fn asked(keys: &[&str]) -> Result<Vec<&'static ResultOf>, StudyError> {
    let keys = if keys.is_empty() { &MAIN[..] } else { keys };
    let find = |key: &&str| RESULTS.iter().find(|result| result.key == *key).ok_or_else(|| unknown(key));
    keys.iter().map(find).collect()
}

fn unknown(key: &str) -> StudyError {
    StudyError::UnknownResult { key: key.to_owned(), known: RESULTS.iter().map(|result| result.key.to_owned()).collect() }
}

fn nominal(result: &ResultOf, point: &Equilibrium) -> Nominal {
    let value = (result.of)(point);
    Nominal { key: result.key.to_owned(), value, told: told(result, value) }
}

/// A relative change of what is nearly nothing means nothing.
fn told(result: &ResultOf, value: Option<f64>) -> Told {
    match result.told {
        Told::Relative if value.is_some_and(|value| value.abs() >= result.least) => Told::Relative,
        _ => Told::Absolute,
    }
}

struct Study<'a> {
    prepared: &'a Prepared,
    /// Index of the duty.
    index: usize,
    state: &'a State,
    point: &'a Equilibrium,
    asked: Vec<&'static ResultOf>,
    work: Work,
}

impl Study<'_> {
    fn influence(&mut self, input: &Input) -> Influence {
        let up = self.side(input, 1.0);
        let down = self.side(input, -1.0);
        let changes = self.asked.iter().map(|result| change(result, input, self.point, [up.as_ref().ok(), down.as_ref().ok()])).collect();
        let reason = match (&up, &down) {
            (Ok(_), Ok(_)) => String::new(),
            (Err(up), Err(_)) => format!("neither side could be followed: {up}"),
            (Err(up), Ok(_)) => format!("only downward, upward: {up}"),
            (Ok(_), Err(down)) => format!("only upward, downward: {down}"),
        };
        Influence { input: input.clone(), changes, reason }
    }

    /// The film with the input moved by `steps` steps, or why it could not be followed there: at once, or by quarters where that is too far.
    fn side(&mut self, input: &Input, steps: f64) -> Result<Equilibrium, String> {
        let reason = match self.place(input, steps, self.state) {
            Ok((point, _)) => return Ok(point),
            Err(reason) => reason,
        };
        let mut state = self.state.clone();
        let mut reached = Err(reason);
        for share in QUARTERS {
            let (point, next) = self.place(input, share * steps, &state)?;
            state = next;
            reached = Ok(point);
        }
        reached
    }

    /// The film at some steps of an input, followed from a state near it.
    fn place(&mut self, input: &Input, steps: f64, start: &State) -> Result<(Equilibrium, State), String> {
        let varied = inputs::varied(self.prepared, self.index, input, steps)?;
        let duty = &varied.model().duties[self.index];
        let (mut outcome, state) = varied.follow(duty, start);
        self.work.add(&outcome.work);
        let (Some(index), Some(state)) = (outcome.chosen, state) else {
            return Err(reason_or_status(&outcome));
        };
        let [one, other] = [&varied.model().rotating_ring, &varied.model().stationary_ring].map(|ring| ring.roughness_rq_m);
        if !alike(start, &state, one.hypot(other), SAME_BRANCH) {
            return Err("another film was met there: the one of the duty is lost on the way".to_owned());
        }
        Ok((outcome.equilibria.swap_remove(index), state))
    }
}

fn change(result: &ResultOf, input: &Input, point: &Equilibrium, [up, down]: [Option<&Equilibrium>; 2]) -> Change {
    let value = (result.of)(point);
    let told = told(result, value);
    let moved = |side: Option<&Equilibrium>| {
        let (value, other) = (value?, side.and_then(result.of)?);
        Some(if told == Told::Relative { (other - value) / value.abs() } else { other - value })
    };
    let (upward, downward) = (moved(up), moved(down));
    let change = upward.zip(downward).map(|(up, down)| 0.5 * (up - down));
    let floor = input.noise() * if told == Told::Relative { STILL } else { result.still };
    let sides = upward.zip(downward).map(|(up, down)| [up, -down]);
    let bent = sides.is_some_and(|[up, down]| {
        let greater = up.abs().max(down.abs());
        greater > floor && (up - down).abs() > BENT * greater
    });
    let still = sides.is_some_and(|[up, down]| up.abs().max(down.abs()) <= floor);
    Change { change, upward, downward, bent, still, floor }
}

#[cfg(test)]
mod tests;
