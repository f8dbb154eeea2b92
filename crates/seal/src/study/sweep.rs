//! One number of a case swept: the stable film followed from value to value, with the folds on its way.
//!
//! A film that a seal runs on stays until it vanishes, so a sweep has a memory: it follows its film by warm starts, and takes another one
//! only where that film is gone. There the place is narrowed by halves, and a complete search just past it says what the faces do.

use std::ops::ControlFlow;

use serde::{Deserialize, Serialize};

use super::StudyError;
use super::vary::{Request, Varied};
use crate::model::Model;
use crate::outcome::{DutyOutcome, Equilibrium, Jump, Provenance, Status, Work};
use crate::point::vary::{FOLD_SEEN, Holding, SAME_BRANCH, SAME_PAST_FOLD, alike, between, distance_to_fold, jump};
use crate::point::{Options, State};
use crate::rules::text::length;
use crate::rules::{is_computed, volume_limit_m3_per_s};

/// Halvings of a step that place a fold, to the 256th part of it.
const HALVINGS: usize = 8;
/// Folds looked for between two values.
const MOST_FOLDS: usize = 4;
/// Complete search without ranges and fields: many points are wanted, each with its numbers alone.
const SEARCH: Options = Options { search: true, ranges: false, fields: false, margins: false, at_rest: false, waves: false };

/// A swept number and what became of the film.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sweep {
    /// Title of the case.
    pub title: String,
    /// Duty.
    pub duty: String,
    /// Path of the number.
    pub path: String,
    /// Limits of the user that hold for every row.
    #[serde(default)]
    pub limits: SweepLimits,
    /// Rows in the order of the sweep: values asked for, and folds between them.
    pub rows: Vec<SweepRow>,
    /// What the reader must know of the whole.
    pub remarks: Vec<String>,
    /// Work of all of it.
    pub work: Work,
    /// Where the result comes from.
    pub provenance: Provenance,
}

/// Limits of the user on the numbers of a sweep; none where none is stated.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct SweepLimits {
    /// Least film, m.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minimum_film_m: Option<f64>,
    /// Greatest leakage at chamber density, m3/s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leakage_m3_per_s: Option<f64>,
    /// Greatest power, W.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power_w: Option<f64>,
    /// Greatest share of contact.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub contact_share: Option<f64>,
    /// Least boiling margin, K.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub boiling_margin_k: Option<f64>,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SweepRow {
    /// Value of the number, SI, absolute pressure.
    pub value: f64,
    /// What the faces do here, where the row is a fold; such a row was not asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fold: Option<Jump>,
    /// How the point ended; of a fold, the point just past it.
    pub status: Status,
    /// Why, in words.
    pub reason: String,
    /// Equilibria there are, where all were looked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub equilibria: Option<usize>,
    /// The numbers, where there is a film.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub point: Option<SweepPoint>,
    /// Other equilibria than the one followed, where all were looked for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<SweepState>,
    /// Limit of liquid leakage at chamber density, m3/s: the user's, else the usual one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leakage_limit_m3_per_s: Option<f64>,
}

/// An equilibrium beside the one followed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SweepState {
    /// Whether it holds.
    pub stable: bool,
    /// Its numbers.
    pub point: SweepPoint,
}

/// Numbers of one point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SweepPoint {
    /// Least film, m.
    pub minimum_film_m: f64,
    /// Mean film, m.
    pub mean_film_m: f64,
    /// Leakage, kg/s.
    pub leakage_kg_per_s: f64,
    /// Leakage at chamber density, m3/s.
    pub leakage_m3_per_s: f64,
    /// Power, W.
    pub power_w: f64,
    /// Torque, N m.
    pub torque_n_m: f64,
    /// Share of the closing force carried by asperities.
    pub contact_share: f64,
    /// Hottest film, K.
    pub film_temperature_max_k: f64,
    /// Hottest face, K.
    pub face_temperature_max_k: f64,
    /// Kelvin below boiling at the nearest place of the film.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub boiling_margin_k: Option<f64>,
    /// Greatest vapour share by mass.
    pub vapour_fraction_max: f64,
    /// Film stiffness by least gap, everything following, N/m; negative pushes back.
    pub film_stiffness_n_per_m: f64,
}

impl SweepPoint {
    pub(super) fn of(equilibrium: &Equilibrium) -> Self {
        Self {
            minimum_film_m: equilibrium.minimum_film_m.nominal,
            mean_film_m: equilibrium.mean_film_m.nominal,
            leakage_kg_per_s: equilibrium.leakage_kg_per_s.nominal,
            leakage_m3_per_s: equilibrium.leakage_m3_per_s.nominal,
            power_w: equilibrium.power_w.nominal,
            torque_n_m: equilibrium.torque_n_m.nominal,
            contact_share: equilibrium.contact_share.nominal,
            film_temperature_max_k: equilibrium.film_temperature_max_k.nominal,
            face_temperature_max_k: equilibrium.face_temperature_max_k.nominal,
            boiling_margin_k: equilibrium.boiling_margin_k.map(|margin| margin.nominal),
            vapour_fraction_max: equilibrium.vapour_fraction_max,
            film_stiffness_n_per_m: equilibrium.film_stiffness_n_per_m.coupled,
        }
    }
}

/// Sweep one number of a case at one of its duties.
///
/// # Errors
/// [`StudyError`]: a path or duty that the case does not have, a value that the number cannot take, rings that cannot be prepared. What
/// goes wrong at a value is that row's status and reason.
pub fn sweep(model: &Model, request: &Request) -> Result<Sweep, StudyError> {
    sweep_steps(model, request, &mut |_, _| ControlFlow::Continue(()))
}

/// The same, telling how many values are done of how many; none where `progress` breaks it off.
///
/// # Errors
/// As [`sweep`].
pub fn sweep_with(
    model: &Model,
    request: &Request,
    progress: &mut dyn FnMut(usize, usize) -> ControlFlow<()>,
) -> Result<Option<Sweep>, StudyError> {
    let mut broken_off = false;
    let sweep = sweep_steps(model, request, &mut |done, total| {
        let flow = progress(done, total);
        broken_off |= flow.is_break();
        flow
    })?;
    Ok((!broken_off).then_some(sweep))
}

fn sweep_steps(model: &Model, request: &Request, progress: &mut dyn FnMut(usize, usize) -> ControlFlow<()>) -> Result<Sweep, StudyError> {
    let [first, .., last] = request.values[..] else { return Err(StudyError::Count { count: request.values.len() }) };
    let mut varied = Varied::new(model, &request.duty)?;
    for end in [first, last] {
        varied.set(&[(&request.path, end)])?;
    }
    let mut walk = Walk { varied, path: &request.path, rows: Vec::new(), work: Work::default() };
    let mut remarks = Vec::new();
    let mut track: Option<Track> = None;
    for (index, value) in request.values.iter().copied().enumerate() {
        if progress(index, request.values.len()).is_break() {
            break;
        }
        let ends = index == 0 || index + 1 == request.values.len();
        track = match track {
            Some(track) => walk.on(track, value, MOST_FOLDS)?,
            None => walk.search(value)?,
        };
        if ends && index > 0 {
            remarks.extend(walk.search_the_end(value, track.as_ref())?);
        }
    }
    Ok(Sweep {
        title: model.title.clone(),
        duty: request.duty.clone(),
        path: request.path.clone(),
        limits: limits(model),
        rows: walk.rows,
        remarks,
        work: walk.work,
        provenance: Provenance {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            case_hash: model.case_hash.clone(),
            data_version: model.fluid.data_version().to_owned(),
            seed: None,
        },
    })
}

/// The film that is followed: its last places, the newest at the end.
#[derive(Debug, Clone)]
struct Track {
    places: Vec<Place>,
}

/// A value with the film there and the size of its stiffness, N/m.
#[derive(Debug, Clone)]
struct Place {
    value: f64,
    state: State,
    stiffness: f64,
}

impl Place {
    fn new(value: f64, outcome: &DutyOutcome, state: State) -> Self {
        let followed = outcome.equilibria.iter().find(|equilibrium| equilibrium.stable);
        Self { value, state, stiffness: followed.map_or(0.0, |equilibrium| equilibrium.film_stiffness_n_per_m.coupled.abs()) }
    }

    fn least_m(&self) -> f64 {
        self.state.gap_m.iter().copied().fold(f64::INFINITY, f64::min)
    }
}

impl Track {
    fn at(place: Place) -> Self {
        Self { places: vec![place] }
    }

    fn last(&self) -> &Place {
        &self.places[self.places.len() - 1]
    }

    fn with(&self, place: Place) -> Self {
        Self { places: vec![self.last().clone(), place] }
    }

    /// A start at a value, straight through the last two places.
    fn start(&self, value: f64) -> State {
        match &self.places[..] {
            [before, last] if before.value != last.value => {
                let share = (value - last.value) / (last.value - before.value);
                between(&before.state, &last.state, share.clamp(-1.0, 1.5))
            }
            _ => self.last().state.clone(),
        }
    }

    /// Whether a fold is in sight within a distance like that to `lost`.
    fn folds_before(&self, lost: f64) -> bool {
        let [before, last] = &self.places[..] else { return false };
        let to_fold = distance_to_fold([before.value, before.stiffness], [last.value, last.stiffness]);
        to_fold.is_some_and(|distance| distance < FOLD_SEEN * (lost - last.value).abs())
    }
}

struct Walk<'a> {
    varied: Varied,
    path: &'a str,
    rows: Vec<SweepRow>,
    work: Work,
}

impl Walk<'_> {
    /// Follow the film to a value and write its row; on the way, folds.
    fn on(&mut self, track: Track, value: f64, folds_left: usize) -> Result<Option<Track>, StudyError> {
        if let Some((outcome, place)) = self.follow(&track, value)? {
            self.push(value, None, &outcome, false);
            return Ok(Some(track.with(place)));
        }
        let (track, lost) = self.narrow(track, value)?;
        let (outcome, state) = self.solve(lost)?;
        let searched = state.map(|state| Place::new(lost, &outcome, state));
        if let Some(place) = self.continuation(&track, lost, &outcome, searched)? {
            // The film is there: Newton alone had lost it.
            let Some(place) = place else { return self.search(value) };
            let place_m = place.least_m();
            let track = Track::at(place);
            if lost == value {
                // The row is of the film that is followed, which a start might not choose.
                let chosen = nearest(&outcome, place_m).or(outcome.chosen);
                self.push(value, None, &DutyOutcome { chosen, ..outcome }, true);
                return Ok(Some(track));
            }
            return if folds_left > 0 { self.on(track, value, folds_left - 1) } else { self.search(value) };
        }
        let next = self.jump(&track, lost, &outcome)?;
        match next {
            Some(next) if lost == value || folds_left == 0 => {
                let (outcome, place) = self.settled(value, &next.last().state)?;
                self.push(value, None, &outcome, false);
                Ok(place.map(Track::at))
            }
            Some(next) => self.on(next, value, folds_left - 1),
            None => self.search(value),
        }
    }

    /// A warm start at a value; none where the film is not there.
    fn follow(&mut self, track: &Track, value: f64) -> Result<Option<(DutyOutcome, Place)>, StudyError> {
        let (outcome, place) = self.settled(value, &track.start(value))?;
        let roughness = self.varied.roughness_m();
        let place = place.filter(|place| alike(&track.last().state, &place.state, roughness, SAME_BRANCH));
        Ok(place.map(|place| (outcome, place)))
    }

    /// The last place of the film before a value where it is not, and the nearest value at which it was missed.
    fn narrow(&mut self, mut track: Track, value: f64) -> Result<(Track, f64), StudyError> {
        let mut lost = value;
        for _ in 0..HALVINGS {
            let middle = 0.5 * (track.last().value + lost);
            match self.follow(&track, middle)? {
                Some((_, place)) => track = track.with(place),
                None => lost = middle,
            }
        }
        Ok((track, lost))
    }

    /// A complete search at a value.
    fn solve(&mut self, value: f64) -> Result<(DutyOutcome, Option<State>), StudyError> {
        self.varied.set(&[(self.path, value)])?;
        let solved = self.varied.prepared().solve_with(self.varied.duty(), None, SEARCH);
        self.work.add(&solved.0.work);
        Ok(solved)
    }

    fn search(&mut self, value: f64) -> Result<Option<Track>, StudyError> {
        let (outcome, state) = self.solve(value)?;
        self.push(value, None, &outcome, true);
        Ok(state.map(|state| Track::at(Place::new(value, &outcome, state))))
    }

    /// The followed film among those of a complete search at a value, if it goes on there; with its place, unless that escapes the solver.
    ///
    /// `searched` is the place of the film that the search chose.
    fn continuation(
        &mut self,
        track: &Track,
        value: f64,
        outcome: &DutyOutcome,
        searched: Option<Place>,
    ) -> Result<Option<Option<Place>>, StudyError> {
        let roughness = self.varied.roughness_m();
        let factor = if track.folds_before(value) { SAME_PAST_FOLD } else { SAME_BRANCH };
        let same = |state: &State| alike(&track.last().state, state, roughness, factor);
        if let Some(place) = searched.filter(|place| same(&place.state)) {
            return Ok(Some(Some(place)));
        }
        let Some(state) = outcome.equilibria.iter().filter(|e| e.stable).map(state_of).find(same) else { return Ok(None) };
        Ok(Some(self.settled(value, &state)?.1))
    }

    /// The film near a start, as the solver leaves it.
    fn settled(&mut self, value: f64, start: &State) -> Result<(DutyOutcome, Option<Place>), StudyError> {
        self.varied.set(&[(self.path, value)])?;
        let (outcome, state) = self.varied.prepared().follow(self.varied.duty(), start);
        self.work.add(&outcome.work);
        let place = state.map(|state| Place::new(value, &outcome, state));
        Ok((outcome, place))
    }

    /// Write the row of a fold and take the film to which the faces go, if there is one.
    fn jump(&mut self, track: &Track, lost: f64, searched: &DutyOutcome) -> Result<Option<Track>, StudyError> {
        let from_m = track.last().least_m();
        let value = 0.5 * (track.last().value + lost);
        // A search that broke off knows neither what holds nor where the faces go.
        let broke_off = searched.equilibria.is_empty() && !is_computed(searched.status);
        let Some(wide_open) = searched.trace.first().filter(|_| !broke_off) else {
            return Ok(None);
        };
        let holding = |e: &Equilibrium| Holding { film_m: e.minimum_film_m.nominal, holds: e.stable };
        let films: Vec<Holding> = searched.equilibria.iter().map(holding).collect();
        let (then, film_m) = jump(&films, wide_open.opening_force_n - wide_open.closing_force_n, from_m);
        let reason = match film_m {
            Some(to_m) => format!("{}: from least film {} to {}", fold_in_words(then), length(from_m), length(to_m)),
            None if searched.reason.starts_with(fold_in_words(then)) => searched.reason.clone(),
            None => format!("{}: {}", fold_in_words(then), searched.reason),
        };
        let row = self.row(value, Some(then), searched, true);
        self.rows.push(SweepRow { reason, point: None, others: Vec::new(), ..row });
        let goes_to = |e: &&Equilibrium| e.stable && film_m == Some(e.minimum_film_m.nominal);
        let Some(next) = searched.equilibria.iter().find(goes_to) else { return Ok(None) };
        Ok(self.settled(lost, &state_of(next))?.1.map(Track::at))
    }

    /// Count the films at the last value, and say where the followed one is not the one that a start would find.
    fn search_the_end(&mut self, value: f64, track: Option<&Track>) -> Result<Option<String>, StudyError> {
        if self.rows.last().is_none_or(|row| row.equilibria.is_some()) {
            return Ok(None);
        }
        let (outcome, state) = self.solve(value)?;
        let roughness = self.varied.roughness_m();
        let followed = track.and_then(|track| {
            let index = nearest(&outcome, track.last().least_m())?;
            alike(&track.last().state, &state_of(&outcome.equilibria[index]), roughness, SAME_PAST_FOLD).then_some(index)
        });
        if let Some(row) = self.rows.last_mut() {
            row.others = others(&outcome, followed);
            row.equilibria = Some(row.others.len() + usize::from(track.is_some()));
        }
        let Some(track) = track else { return Ok(None) };
        let Some(state) = state else {
            return Ok(followed.is_none().then(|| {
                format!("a search from the start at the last value does not find the film that was followed there: {}", outcome.reason)
            }));
        };
        let same = alike(&track.last().state, &state, roughness, SAME_PAST_FOLD);
        let start = Place::new(value, &outcome, state);
        Ok((!same).then(|| {
            format!(
                "the film followed to the last value has a least film of {}; a seal that starts there from closed faces meets one of {}",
                length(track.last().least_m()),
                length(start.least_m())
            )
        }))
    }

    fn push(&mut self, value: f64, fold: Option<Jump>, outcome: &DutyOutcome, searched: bool) {
        let row = self.row(value, fold, outcome, searched);
        self.rows.push(row);
    }

    fn row(&self, value: f64, fold: Option<Jump>, outcome: &DutyOutcome, searched: bool) -> SweepRow {
        let chosen = outcome.chosen.and_then(|index| outcome.equilibria.get(index));
        let conditions = &outcome.conditions;
        let gas = conditions.chamber_saturation_k.is_some_and(|saturation| conditions.chamber_temperature_k >= saturation);
        SweepRow {
            value,
            fold,
            status: outcome.status,
            reason: outcome.reason.clone(),
            equilibria: searched.then_some(outcome.equilibria.len()),
            point: chosen.map(SweepPoint::of),
            others: if searched { others(outcome, outcome.chosen) } else { Vec::new() },
            leakage_limit_m3_per_s: volume_limit_m3_per_s(self.varied.prepared().model(), self.varied.duty()).filter(|_| !gas),
        }
    }
}

fn limits(model: &Model) -> SweepLimits {
    let stated = &model.limits;
    SweepLimits {
        minimum_film_m: stated.minimum_film_m,
        leakage_m3_per_s: stated.leakage_m3_per_s,
        power_w: stated.power_w,
        contact_share: stated.contact_share,
        boiling_margin_k: stated.boiling_margin_k,
    }
}

/// All equilibria but one.
fn others(outcome: &DutyOutcome, followed: Option<usize>) -> Vec<SweepState> {
    let rest = outcome.equilibria.iter().enumerate().filter(|(index, _)| Some(*index) != followed);
    rest.map(|(_, equilibrium)| SweepState { stable: equilibrium.stable, point: SweepPoint::of(equilibrium) }).collect()
}

/// The stable equilibrium whose least film is nearest to one.
fn nearest(outcome: &DutyOutcome, least_m: f64) -> Option<usize> {
    let distance = |equilibrium: &Equilibrium| (equilibrium.minimum_film_m.nominal - least_m).abs();
    let stable = outcome.equilibria.iter().enumerate().filter(|(_, equilibrium)| equilibrium.stable);
    stable.min_by(|(_, a), (_, b)| distance(a).total_cmp(&distance(b))).map(|(index, _)| index)
}

/// What happens at a fold, as its row begins.
fn fold_in_words(then: Jump) -> &'static str {
    match then {
        Jump::Opens => "the film pops open",
        Jump::Parts => "the faces part",
        Jump::Closes => "the faces close",
        Jump::Touches => "the faces touch",
    }
}

/// A start from an equilibrium of an outcome.
fn state_of(equilibrium: &Equilibrium) -> State {
    let profiles = &equilibrium.profiles;
    let faces = profiles.rotating_face_temperature_k.iter().zip(&profiles.stationary_face_temperature_k);
    State {
        inner_gap_m: equilibrium.inner_gap_m,
        gap_m: profiles.gap_m.clone(),
        face_temperature_k: faces.map(|(a, b)| 0.5 * (a + b)).collect(),
        conductivity_w_per_m_k: vec![0.1; profiles.gap_m.len()],
        film: None,
    }
}
