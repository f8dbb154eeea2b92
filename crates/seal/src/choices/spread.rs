//! How much of an answer is the choice of law: a duty solved again with each alternative, one at a time.

use serde::{Deserialize, Serialize};

use super::{Alternative, CHOICES, Choice, Facts};
use crate::model::Duty;
use crate::outcome::{DutyOutcome, Equilibrium, Ranged, Status, Work};
use crate::point::{Options, Prepared, State};

/// A headline number of an equilibrium.
#[derive(Debug)]
pub struct Headline {
    /// Key of the outcome.
    pub key: &'static str,
    /// Its value; none where a duty has none.
    pub of: fn(&Equilibrium) -> Option<Ranged>,
}

/// The numbers of which a spread is told.
pub const HEADLINES: &[Headline] = &[
    headline("minimum_film_m", |e| Some(e.minimum_film_m)),
    headline("mean_film_m", |e| Some(e.mean_film_m)),
    headline("contact_share", |e| Some(e.contact_share)),
    headline("leakage_m3_per_s", |e| Some(e.leakage_m3_per_s)),
    headline("leakage_kg_per_s", |e| Some(e.leakage_kg_per_s)),
    headline("power_w", |e| Some(e.power_w)),
    headline("torque_n_m", |e| Some(e.torque_n_m)),
    headline("face_temperature_max_k", |e| Some(e.face_temperature_max_k)),
    headline("film_temperature_max_k", |e| Some(e.film_temperature_max_k)),
    headline("boiling_margin_k", |e| e.boiling_margin_k),
];

const fn headline(key: &'static str, of: fn(&Equilibrium) -> Option<Ranged>) -> Headline {
    Headline { key, of }
}

/// Relative change of a number that a solve from another start may make: no effect of a law.
const SOLVED_TO: f64 = 1e-7;

/// What the choice of laws does to one duty.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct ModelSpread {
    /// Each headline number over all alternatives.
    pub headlines: Vec<HeadlineSpread>,
    /// Every alternative solved.
    pub runs: Vec<AlternativeRun>,
    /// Choices that cannot matter here, with the reason.
    pub not_run: Vec<NotRun>,
    /// Work of all alternatives together.
    pub work: Work,
}

/// One headline number beside its two uncertainties.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeadlineSpread {
    /// Key of the outcome.
    pub key: String,
    /// With the laws of the case: low and high by the inputs.
    pub inputs: Ranged,
    /// With the inputs of the case: low and high over the laws.
    pub laws: Ranged,
    /// The alternative that gives the lowest; none where no alternative gives less than the nominal.
    pub lowest_by: Option<Taken>,
    /// The alternative that gives the highest.
    pub highest_by: Option<Taken>,
}

/// An alternative taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Taken {
    /// Id of the choice.
    pub choice: String,
    /// Id of the alternative.
    pub alternative: String,
}

/// A duty solved with one alternative.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AlternativeRun {
    /// What was taken.
    #[serde(flatten)]
    pub taken: Taken,
    /// How it ended.
    pub status: Status,
    /// Why, where there is no operating point.
    pub reason: String,
    /// Whether following the operating point was not enough and the whole curve was searched.
    pub searched: bool,
    /// The headline numbers in the order of [`ModelSpread::headlines`]; empty without an operating point.
    pub values: Vec<Option<f64>>,
}

/// A choice that was left alone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NotRun {
    /// Id of the choice.
    pub choice: String,
    /// Why no alternative can matter.
    pub reason: String,
}

/// Solve a duty again with every alternative that can matter, following the operating point `state` of `nominal` where it can be
/// followed and searching the whole curve where it is lost.
pub fn spread(prepared: &Prepared, duty: &Duty, nominal: &DutyOutcome, state: Option<&State>) -> ModelSpread {
    let mut spread = ModelSpread::default();
    let Some(point) = nominal.chosen.and_then(|index| nominal.equilibria.get(index)) else {
        let reason = "the duty has no operating point with the laws of the case".to_owned();
        spread.not_run = CHOICES.iter().map(|choice| NotRun { choice: choice.id.to_owned(), reason: reason.clone() }).collect();
        return spread;
    };
    let model = prepared.model();
    let facts = Facts::of(model, &nominal.conditions, point);
    spread.headlines = HEADLINES.iter().filter_map(|headline| unspread(headline, point)).collect();
    for choice in CHOICES {
        if let Some(reason) = choice.idle(&facts) {
            spread.not_run.push(NotRun { choice: choice.id.to_owned(), reason });
            continue;
        }
        for alternative in choice.alternatives.iter().filter(|alternative| !alternative.value.is_set(&model.switches)) {
            let run = solve_with(prepared, duty, state, choice, alternative, &mut spread);
            spread.runs.push(run);
        }
    }
    spread
}

fn unspread(headline: &Headline, point: &Equilibrium) -> Option<HeadlineSpread> {
    (headline.of)(point).map(|inputs| HeadlineSpread {
        key: headline.key.to_owned(),
        inputs,
        laws: Ranged::exact(inputs.nominal),
        lowest_by: None,
        highest_by: None,
    })
}

fn solve_with(
    prepared: &Prepared,
    duty: &Duty,
    state: Option<&State>,
    choice: &Choice,
    alternative: &Alternative,
    spread: &mut ModelSpread,
) -> AlternativeRun {
    let mut model = prepared.model().clone();
    alternative.value.set(&mut model.switches);
    let changed = prepared.with_model(model);
    let options = Options { search: state.is_none(), ranges: false, fields: false, margins: false, at_rest: false, waves: false };
    let (mut outcome, _) = changed.solve_with(duty, state, options);
    add(&mut spread.work, &outcome.work);
    let followed = state.is_some() && outcome.chosen.is_some() && outcome.work.branch_points == 0;
    if outcome.chosen.is_none() && state.is_some() {
        (outcome, _) = changed.solve_with(duty, None, Options { search: true, ..options });
        add(&mut spread.work, &outcome.work);
    }
    let taken = Taken { choice: choice.id.to_owned(), alternative: alternative.id.to_owned() };
    let point = outcome.chosen.and_then(|index| outcome.equilibria.get(index));
    let values = point.map_or_else(Vec::new, |point| spread.headlines.iter_mut().map(|headline| widen(headline, point, &taken)).collect());
    let reason = if point.is_some() { String::new() } else { outcome.reason };
    AlternativeRun { taken, status: outcome.status, reason, searched: !followed, values }
}

/// Widen a headline by what an alternative gives.
fn widen(headline: &mut HeadlineSpread, point: &Equilibrium, taken: &Taken) -> Option<f64> {
    let value = HEADLINES.iter().find(|known| known.key == headline.key).and_then(|known| (known.of)(point))?.nominal;
    let noise = SOLVED_TO * headline.laws.nominal.abs();
    if value < headline.laws.low - noise {
        headline.laws.low = value;
        headline.lowest_by = Some(taken.clone());
    }
    if value > headline.laws.high + noise {
        headline.laws.high = value;
        headline.highest_by = Some(taken.clone());
    }
    Some(value)
}

fn add(sum: &mut Work, work: &Work) {
    sum.film_solves += work.film_solves;
    sum.iterations += work.iterations;
    sum.factorisations += work.factorisations;
    sum.ring_factorisations += work.ring_factorisations;
    sum.branch_points += work.branch_points;
}
