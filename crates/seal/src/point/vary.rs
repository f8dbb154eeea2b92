//! One equilibrium followed while one condition of its duty changes, until it vanishes.

use super::branch::{Root, SearchError, Trace, equilibrium_within, least};
use super::coupled::State;
use super::duty::{Found, find};
use super::report;
use super::setting::Solved;
use super::{Options, PointError};
use crate::model::{ChamberTemperature, Duty};
use crate::outcome::{Jump, Work};

/// Newton iterations granted to a place on the branch: it is near, or it is not there.
const MOST_ITERATIONS: usize = 14;
/// Places visited on one branch, failures included.
const MOST_VISITS: usize = 80;
/// Ratio of mean films (roughness added) of neighbouring places above which a place belongs to another branch.
const SAME_BRANCH: f64 = 1.6;
/// The same where the branch was seen to fold: what is found past the fold is another film unless it hardly differs.
const SAME_PAST_FOLD: f64 = 1.03;
/// Share of the extrapolated distance to a fold that a step takes.
const APPROACH: f64 = 0.7;
/// Times a lost branch is taken up again where a complete search shows that only Newton had lost it.
const MOST_RESCUES: usize = 3;

/// The condition that changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Varied {
    /// Temperature of the chamber, K.
    Temperature,
    /// Sealed pressure, Pa.
    Pressure,
}

/// One equilibrium of the branch.
#[derive(Debug, Clone)]
pub(super) struct Place {
    /// Change of the condition from the duty.
    pub change: f64,
    /// Unknowns.
    pub state: State,
    /// Size of the slope of the force along the curve, N/m: zero at a fold.
    slope: f64,
    /// Kelvin below boiling at the nearest place of the film.
    pub boiling_margin_k: Option<f64>,
    /// Greatest mass share of vapour in the film.
    pub vapour_fraction: f64,
}

impl Place {
    /// An equilibrium of `solved` at a change of its condition.
    pub fn new(solved: &Solved, root: &Root, change: f64) -> Self {
        let head = report::headlines(solved, &solved.coupled(), &root.state, &root.evaluation);
        Self {
            change,
            state: root.state.clone(),
            slope: root.slopes.along_curve_n_per_m.abs(),
            boiling_margin_k: head.boiling_margin_k,
            vapour_fraction: root.evaluation.film.states.iter().fold(0.0, |most: f64, s| most.max(s.vapour_mass_fraction)),
        }
    }

    /// Whether there is vapour in the film, or would be.
    pub fn boils(&self) -> bool {
        self.vapour_fraction > 0.0 || self.boiling_margin_k.is_some_and(|margin| margin <= 0.0)
    }
}

/// What a branch ran into.
#[derive(Debug, Clone)]
pub(super) enum End {
    /// The bound, without a jump.
    Bound,
    /// The equilibrium vanishes at this change; a complete search past it shows what follows.
    Jump {
        /// Change at which it vanishes.
        at: f64,
        /// What the faces do.
        then: Jump,
        /// Least film to which they go, m.
        film_m: Option<f64>,
    },
    /// It could not be followed further: why.
    Lost(String),
}

/// A followed branch.
#[derive(Debug)]
pub(super) struct Branch {
    /// Places in order of the change, the duty's own first.
    pub places: Vec<Place>,
    /// What ended it.
    pub end: End,
}

/// A walk along one condition from a solved duty.
pub(super) struct Walk<'a> {
    /// The duty as it is.
    pub origin: &'a Solved<'a>,
    /// What changes.
    pub varied: Varied,
    /// Change at which the walk stops; its sign gives the sense.
    pub bound: f64,
    /// Error of the change accepted at a jump.
    pub tolerance: f64,
}

/// Why a place could not be visited.
enum Gone {
    /// No stable equilibrium near the start.
    Vanished,
    /// The fluid or a ring refused.
    Refused(String),
}

impl From<SearchError> for Gone {
    fn from(error: SearchError) -> Self {
        match error {
            SearchError::Film(error) => Self::Refused(error.to_string()),
            SearchError::NotConverged(_) => Self::Vanished,
        }
    }
}

impl From<PointError> for Gone {
    fn from(error: PointError) -> Self {
        Self::Refused(error.to_string())
    }
}

/// What a complete search past the end of a branch found.
enum Beyond {
    /// The branch goes on: Newton alone had lost it.
    Same(Box<Place>),
    /// Another film, or none.
    Jump(Jump, Option<f64>),
    /// Nothing could be computed there.
    Refused(String),
}

impl Walk<'_> {
    /// Follow the branch from `first` to the bound or to where it vanishes; stops early where `enough` says so.
    pub fn follow(&self, first: Place, enough: impl Fn(&Place) -> bool, work: &mut Work) -> Branch {
        let sense = self.bound.signum();
        let mut places = vec![first];
        let mut step = (0.05 * self.bound.abs()).max(2.0 * self.tolerance);
        let mut failed: Option<(f64, Option<String>)> = None;
        let mut rescues = 0;
        for _ in 0..MOST_VISITS {
            let last = &places[places.len() - 1];
            let room = (self.bound - last.change).abs();
            if room <= f64::EPSILON * self.bound.abs() {
                return Branch { places, end: End::Bound };
            }
            let to_fold = distance_to_fold(&places);
            let reach = match &failed {
                Some((at, _)) => {
                    let gap = (at - last.change).abs();
                    if gap <= self.tolerance {
                        let folds = to_fold.filter(|d| *d < gap);
                        let fold = last.change + sense * folds.unwrap_or(0.5 * gap);
                        let factor = if folds.is_some() { SAME_PAST_FOLD } else { SAME_BRANCH };
                        match self.beyond(*at, last, factor, work) {
                            Beyond::Same(place) if rescues < MOST_RESCUES => {
                                rescues += 1;
                                failed = None;
                                places.push(*place);
                                continue;
                            }
                            Beyond::Same(_) => {
                                let end = End::Lost("the equilibrium is there, but cannot be followed".to_owned());
                                return Branch { places, end };
                            }
                            Beyond::Jump(then, film_m) => return Branch { places, end: End::Jump { at: fold, then, film_m } },
                            Beyond::Refused(reason) => {
                                let reason = failed.and_then(|(_, reason)| reason).unwrap_or(reason);
                                return Branch { places, end: End::Lost(reason) };
                            }
                        }
                    }
                    // Just past the extrapolated fold first: its failure there closes the bracket at once.
                    to_fold.map(|d| d + 0.4 * self.tolerance).filter(|d| *d < 0.8 * gap).unwrap_or(0.5 * gap)
                }
                None => match to_fold {
                    Some(d) if d < 0.5 * self.tolerance => d + 0.5 * self.tolerance,
                    Some(d) => step.min((APPROACH * d).max(0.4 * self.tolerance)),
                    None => step,
                },
            };
            let change = if reach >= room { self.bound } else { last.change + sense * reach };
            match self.visit(change, extrapolated(&places, change), work) {
                Ok(place) if self.alike(&last.state, &place.state, SAME_BRANCH) => {
                    step = 1.7 * step.max(reach.min(room));
                    let stop = enough(&place);
                    places.push(place);
                    if stop {
                        return Branch { places, end: End::Bound };
                    }
                }
                Ok(_) | Err(Gone::Vanished) => failed = Some((change, None)),
                Err(Gone::Refused(reason)) => failed = Some((change, Some(reason))),
            }
        }
        Branch { places, end: End::Lost("the number of steps ran out".to_owned()) }
    }

    /// The equilibrium near `start` at a change, if it is stable.
    pub fn near(&self, change: f64, start: &State, work: &mut Work) -> Option<Place> {
        self.visit(change, start.clone(), work).ok().filter(|place| self.alike(start, &place.state, SAME_BRANCH))
    }

    fn alike(&self, a: &State, b: &State, factor: f64) -> bool {
        alike(a, b, self.origin.setting.contact.roughness_m, factor)
    }

    fn duty(&self, change: f64) -> (Duty, f64) {
        let origin = self.origin;
        let mut temperature_k = origin.setting.chamber_temperature_k;
        let mut duty = origin.duty.clone();
        match self.varied {
            Varied::Temperature => temperature_k += change,
            Varied::Pressure => duty.pressure_pa += change,
        }
        duty.temperature = ChamberTemperature::Stated(temperature_k);
        (duty, temperature_k)
    }

    /// Do something with the duty set up at a change.
    fn at<T>(&self, change: f64, then: impl FnOnce(&mut Solved) -> Result<T, Gone>) -> Result<T, Gone> {
        let (duty, temperature_k) = self.duty(change);
        let origin = self.origin;
        let mut solved = Solved::at(origin.prepared, &origin.rings, &duty, origin.fluid, temperature_k)
            .map_err(|refusal| Gone::Refused(refusal.reason))?;
        then(&mut solved)
    }

    fn visit(&self, change: f64, start: State, work: &mut Work) -> Result<Place, Gone> {
        self.at(change, |solved| {
            let root = root_near(solved, start, work)?;
            if root.is_stable() { Ok(Place::new(solved, &root, change)) } else { Err(Gone::Vanished) }
        })
    }

    /// A complete search where the branch was lost; a film within `factor` of the last one is its continuation.
    fn beyond(&self, change: f64, last: &Place, factor: f64, work: &mut Work) -> Beyond {
        let searched = self.at(change, |solved| {
            let options = Options { search: true, ..Options::default() };
            let Found { roots, trace, failures } = find(solved, None, options, work);
            let Some(trace) = trace else {
                return Err(failures.into_iter().next().map_or(Gone::Vanished, Gone::from));
            };
            let stable: Vec<&Root> = roots.iter().filter(|root| root.is_stable()).collect();
            if let Some(root) = stable.iter().find(|root| self.alike(&last.state, &root.state, factor)) {
                return Ok(Beyond::Same(Box::new(Place::new(solved, root, change))));
            }
            let (then, film_m) = jump(&trace, &stable, &last.state, solved.setting.closing_force_n);
            Ok(Beyond::Jump(then, film_m))
        });
        match searched {
            Ok(beyond) => beyond,
            Err(Gone::Refused(reason)) => Beyond::Refused(reason),
            Err(Gone::Vanished) => Beyond::Refused("not even the wide-open film could be solved there".to_owned()),
        }
    }
}

/// Newton from a state near, with interference fits as the face load leaves them.
fn root_near(solved: &mut Solved, start: State, work: &mut Work) -> Result<Root, Gone> {
    let closing = solved.setting.closing_force_n;
    let root = equilibrium_within(&solved.coupled(), start, closing, MOST_ITERATIONS, work)?;
    if solved.settle_fits(&root.evaluation)? {
        return Ok(equilibrium_within(&solved.coupled(), root.state, closing, MOST_ITERATIONS, work)?);
    }
    Ok(root)
}

/// What faces do that stood at `from` where their equilibrium is gone: they follow the force, to the next stable film on that side.
///
/// `stable` is in the order in which closed faces meet them as they part.
fn jump(trace: &Trace, stable: &[&Root], from: &State, closing_force_n: f64) -> (Jump, Option<f64>) {
    let film = least(&from.gap_m);
    let away = |state: &State| (least(&state.gap_m) - film).abs();
    let nearest = trace.points.iter().min_by(|a, b| away(&a.state).total_cmp(&away(&b.state)));
    let opens = nearest.is_none_or(|point| point.opening_force_n > closing_force_n);
    let films = || stable.iter().map(|root| least(&root.state.gap_m));
    if opens {
        let next = films().find(|other| *other > film);
        (if next.is_some() { Jump::Opens } else { Jump::Parts }, next)
    } else {
        let next = films().filter(|other| *other < film).last();
        (if next.is_some() { Jump::Closes } else { Jump::Touches }, next)
    }
}

/// Whether the mean films of two states, roughness added, differ by less than a factor.
fn alike(a: &State, b: &State, roughness_m: f64, factor: f64) -> bool {
    let mean = |state: &State| state.gap_m.iter().map(|h| h.max(0.0)).sum::<f64>() / state.gap_m.len() as f64 + roughness_m;
    let ratio = mean(a) / mean(b);
    (1.0 / factor..factor).contains(&ratio)
}

/// Distance from the last place to where the slope of the force vanishes, when it falls: its square is linear near a fold.
fn distance_to_fold(places: &[Place]) -> Option<f64> {
    let [.., before, last] = places else { return None };
    let squares = [before.slope.powi(2), last.slope.powi(2)];
    let fall = (squares[0] - squares[1]) / (last.change - before.change).abs();
    (fall > 0.0).then(|| squares[1] / fall)
}

/// A start for a change, straight through the last two places.
fn extrapolated(places: &[Place], change: f64) -> State {
    let [.., before, last] = places else { return places[places.len() - 1].state.clone() };
    between(&before.state, &last.state, ((change - last.change) / (last.change - before.change)).clamp(0.0, 2.0))
}

/// `last + share (last - before)`, the film starting from `last`.
pub(super) fn between(before: &State, last: &State, share: f64) -> State {
    let mix = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| b + share * (b - a)).collect();
    State {
        inner_gap_m: last.inner_gap_m + share * (last.inner_gap_m - before.inner_gap_m),
        gap_m: mix(&before.gap_m, &last.gap_m),
        flux_w_per_m2: mix(&before.flux_w_per_m2, &last.flux_w_per_m2),
        ..last.clone()
    }
}
