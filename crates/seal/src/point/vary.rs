//! One equilibrium followed while one condition of its duty changes, until it vanishes.

use super::PointError;
use super::branch::{Accuracy, BranchEnd, Root, SearchError, equilibrium_within, least};
use super::coupled::State;
use super::duty::{Found, find};
use super::report;
use super::setting::Solved;
use crate::model::{ChamberTemperature, Duty};
use crate::outcome::{Jump, Work};

/// Newton iterations granted to a place on the branch: it is near, or it is not there.
const MOST_ITERATIONS: usize = 10;
/// Places visited on one branch, failures included.
const MOST_VISITS: usize = 60;
/// Film solutions granted to one branch before its last search: a branch that asks for more is reported as far as it was followed.
const MOST_FILMS: u64 = 60;
/// Ratio of mean films (roughness added) of neighbouring places above which a place belongs to another branch.
pub(crate) const SAME_BRANCH: f64 = 1.6;
/// The same where the branch was seen to fold: what is found past the fold is another film unless it hardly differs.
pub(crate) const SAME_PAST_FOLD: f64 = 1.03;
/// Extrapolated distance to a fold over the bracket within which the branch was lost, below which the fold counts as seen.
pub(crate) const FOLD_SEEN: f64 = 3.0;
/// Share of the extrapolated distance to a fold that a step takes.
const APPROACH: f64 = 0.7;
/// Places in a row whose film is not modelled, after which a branch counts as lost there.
const MOST_NOT_MODELLED: usize = 4;
/// Times a lost branch is taken up again where a complete search shows that only Newton had lost it.
const MOST_RESCUES: usize = 1;

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
    /// Newton did not reach an equilibrium.
    Vanished,
    /// What it reached is not stable.
    Unstable,
    /// Its film is of a kind that is not modelled.
    NotModelled(String),
    /// The fluid or a ring refused.
    Refused(String),
}

impl From<SearchError> for Gone {
    fn from(error: SearchError) -> Self {
        match error {
            SearchError::Film(error) if error.is_not_modelled() => Self::NotModelled(error.to_string()),
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

/// Why a branch is not followed further, and how the reader may go on.
fn used_up(granted: u64, of_what: &str) -> String {
    format!("the {granted} {of_what} that one margin is granted were used up; `solve --sweep` over this condition goes on")
}

impl Walk<'_> {
    /// Follow the branch from `first` to the bound or to where it vanishes; stops early where `enough` says so.
    pub fn follow(&self, first: Place, enough: impl Fn(&Place) -> bool, work: &mut Work) -> Branch {
        let sense = self.bound.signum();
        let mut places = vec![first];
        let mut step = (0.05 * self.bound.abs()).max(2.0 * self.tolerance);
        let mut failed: Option<(f64, Gone)> = None;
        let (mut rescues, mut not_modelled) = (0, 0);
        let spent = work.film_solves;
        for _ in 0..MOST_VISITS {
            if work.film_solves - spent > MOST_FILMS {
                return Branch { places, end: End::Lost(used_up(MOST_FILMS, "solved films")) };
            }
            let last = &places[places.len() - 1];
            let room = (self.bound - last.change).abs();
            if room <= f64::EPSILON * self.bound.abs() {
                return Branch { places, end: End::Bound };
            }
            let to_fold = match &places[..] {
                [.., before, last] => distance_to_fold([before.change, before.slope], [last.change, last.slope]),
                _ => None,
            };
            let reach = match &failed {
                Some((at, gone)) => {
                    let gap = (at - last.change).abs();
                    if gap <= self.tolerance {
                        match self.lost(*at, gone, to_fold, last, work) {
                            Ok(place) if rescues < MOST_RESCUES => {
                                rescues += 1;
                                failed = None;
                                places.push(*place);
                                continue;
                            }
                            Ok(_) => {
                                return Branch { places, end: End::Lost("the equilibrium is there, but escapes the method".to_owned()) };
                            }
                            Err(end) => return Branch { places, end },
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
                    not_modelled = 0;
                    let stop = enough(&place);
                    places.push(place);
                    if stop {
                        return Branch { places, end: End::Bound };
                    }
                }
                Ok(_) => failed = Some((change, Gone::Vanished)),
                Err(gone) => {
                    if let (Gone::NotModelled(reason), None) = (&gone, to_fold) {
                        not_modelled += 1;
                        if not_modelled == MOST_NOT_MODELLED {
                            return Branch { places, end: End::Lost(reason.clone()) };
                        }
                    }
                    failed = Some((change, gone));
                }
            }
        }
        Branch { places, end: End::Lost(used_up(MOST_VISITS as u64, "steps")) }
    }

    /// The branch was lost between `last` and a change not further than the tolerance: where it goes on, or what ended it.
    fn lost(&self, at: f64, gone: &Gone, to_fold: Option<f64>, last: &Place, work: &mut Work) -> Result<Box<Place>, End> {
        let gap = (at - last.change).abs();
        let folds = to_fold.filter(|d| *d < FOLD_SEEN * gap);
        // A film that is not modelled bars the way whatever lies beyond.
        if let (Gone::NotModelled(reason), None) = (gone, folds) {
            return Err(End::Lost(reason.clone()));
        }
        let factor = if folds.is_some() { SAME_PAST_FOLD } else { SAME_BRANCH };
        match self.beyond(at, last, factor, work) {
            Beyond::Same(place) => Ok(place),
            Beyond::Refused(reason) => {
                Err(End::Lost(if let Gone::Refused(first) | Gone::NotModelled(first) = gone { first.clone() } else { reason }))
            }
            Beyond::Jump(then, film_m) => {
                if folds.is_none() && !matches!(gone, Gone::Unstable) {
                    return Err(End::Lost("neither Newton nor a complete search meets this film there, and no fold was seen".to_owned()));
                }
                let distance = folds.filter(|d| *d < gap).unwrap_or(0.5 * gap);
                Err(End::Jump { at: last.change + self.bound.signum() * distance, then, film_m })
            }
        }
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
        solved.setting.searching = true;
        then(&mut solved)
    }

    fn visit(&self, change: f64, start: State, work: &mut Work) -> Result<Place, Gone> {
        self.at(change, |solved| {
            let root = root_near(solved, start, work)?;
            if root.is_stable() { Ok(Place::new(solved, &root, change)) } else { Err(Gone::Unstable) }
        })
    }

    /// A complete search where the branch was lost; a film within `factor` of the last one is its continuation.
    fn beyond(&self, change: f64, last: &Place, factor: f64, work: &mut Work) -> Beyond {
        let searched = self.at(change, |solved| {
            let Found { roots, trace, failures, missed, hidden } = find(solved, None, true, true, work);
            let Some(trace) = trace else {
                return Err(failures.into_iter().next().map_or(Gone::Vanished, Gone::from));
            };
            let complete = hidden.is_none() && !missed && trace.end == BranchEnd::Touching;
            let mut stable = roots.iter().filter(|root| root.is_stable());
            if let Some(root) = stable.find(|root| self.alike(&last.state, &root.state, factor)) {
                return Ok(Beyond::Same(Box::new(Place::new(solved, root, change))));
            }
            if !complete {
                let reason = failures.into_iter().next().map_or(Gone::Vanished, Gone::from);
                return Err(match reason {
                    Gone::Refused(reason) | Gone::NotModelled(reason) => Gone::Refused(reason),
                    _ => Gone::Refused("a complete search broke off there".to_owned()),
                });
            }
            let holding = |root: &Root| Holding { film_m: least(&root.state.gap_m), holds: root.slopes.rises_as_it_closes() };
            let films: Vec<Holding> = roots.iter().map(holding).collect();
            let wide_open = trace.points.first().map_or(0.0, |point| point.opening_force_n - solved.setting.closing_force_n);
            let (then, film_m) = jump(&films, wide_open, least(&last.state.gap_m));
            Ok(Beyond::Jump(then, film_m))
        });
        match searched {
            Ok(beyond) => beyond,
            Err(Gone::Refused(reason) | Gone::NotModelled(reason)) => Beyond::Refused(reason),
            Err(Gone::Vanished | Gone::Unstable) => Beyond::Refused("not even the wide-open film could be solved there".to_owned()),
        }
    }
}

/// Newton from a state near, with interference fits as the face load leaves them.
fn root_near(solved: &mut Solved, start: State, work: &mut Work) -> Result<Root, Gone> {
    let closing = solved.setting.closing_force_n;
    let root = equilibrium_within(&solved.coupled(), start, closing, (MOST_ITERATIONS, &Accuracy::PLACE), work)?;
    if solved.settle_fits(&root.evaluation)? {
        return Ok(equilibrium_within(&solved.coupled(), root.state, closing, (MOST_ITERATIONS, &Accuracy::PLACE), work)?);
    }
    Ok(root)
}

/// A film among all that carry the load: its least gap, and whether its force rises as it closes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Holding {
    /// Least film, m.
    pub film_m: f64,
    /// Whether it holds the faces apart; otherwise it pushes them away to either side.
    pub holds: bool,
}

/// What faces do that stood at least film `from_m` where their equilibrium is gone, and the film to which they go.
///
/// Between two neighbouring equilibria the force has one sign, so the next one on the open side tells where they go: toward it if it holds
/// them, away if not; without one the force of the wide-open film tells. `films` are all equilibria, closed faces first.
pub(crate) fn jump(films: &[Holding], wide_open_excess_n: f64, from_m: f64) -> (Jump, Option<f64>) {
    let above = films.iter().find(|other| other.film_m > from_m);
    if above.map_or(wide_open_excess_n > 0.0, |other| other.holds) {
        let next = above.map(|other| other.film_m);
        (if next.is_some() { Jump::Opens } else { Jump::Parts }, next)
    } else {
        let next = films.iter().rfind(|other| other.film_m < from_m && other.holds).map(|other| other.film_m);
        (if next.is_some() { Jump::Closes } else { Jump::Touches }, next)
    }
}

/// Distance to where the slope of the force vanishes, from its size at two places in order: its square is linear near a fold. None where
/// it does not fall.
pub(crate) fn distance_to_fold(before: [f64; 2], last: [f64; 2]) -> Option<f64> {
    let squares = [before[1].powi(2), last[1].powi(2)];
    let fall = (squares[0] - squares[1]) / (last[0] - before[0]).abs();
    (fall > 0.0).then(|| squares[1] / fall)
}

/// Whether the mean films of two states, roughness added, differ by less than a factor.
pub(crate) fn alike(a: &State, b: &State, roughness_m: f64, factor: f64) -> bool {
    let mean = |state: &State| state.gap_m.iter().map(|h| h.max(0.0)).sum::<f64>() / state.gap_m.len() as f64 + roughness_m;
    let ratio = mean(a) / mean(b);
    (1.0 / factor..factor).contains(&ratio)
}

/// A start for a change, straight through the last two places.
fn extrapolated(places: &[Place], change: f64) -> State {
    let [.., before, last] = places else { return places[places.len() - 1].state.clone() };
    between(&before.state, &last.state, ((change - last.change) / (last.change - before.change)).clamp(0.0, 2.0))
}

/// `last + share (last - before)`, the film starting from `last`.
pub(crate) fn between(before: &State, last: &State, share: f64) -> State {
    let mix = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| b + share * (b - a)).collect();
    let mut film = last.film.clone();
    if let (Some(film), Some(earlier)) = (&mut film, &before.film) {
        film.flow_change_kg_per_s = share * (film.mass_flow_kg_per_s - earlier.mass_flow_kg_per_s);
    }
    State {
        film,
        inner_gap_m: last.inner_gap_m + share * (last.inner_gap_m - before.inner_gap_m),
        gap_m: mix(&before.gap_m, &last.gap_m),
        face_temperature_k: mix(&before.face_temperature_k, &last.face_temperature_k),
        ..last.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn films(of: &[(f64, bool)]) -> Vec<Holding> {
        of.iter().map(|&(film_m, holds)| Holding { film_m, holds }).collect()
    }

    #[test]
    fn faces_go_where_the_force_between_two_films_sends_them() {
        let above = films(&[(3e-6, true)]);
        assert_eq!(jump(&above, -1.0, 0.4e-6), (Jump::Opens, Some(3e-6)));
        let both = films(&[(0.1e-6, true), (1e-6, false), (3e-6, true)]);
        assert_eq!(jump(&both, -1.0, 0.4e-6), (Jump::Closes, Some(0.1e-6)));
        assert_eq!(jump(&both, -1.0, 2e-6), (Jump::Opens, Some(3e-6)));
        assert_eq!(jump(&[], 1.0, 0.4e-6), (Jump::Parts, None));
        assert_eq!(jump(&[], -1.0, 0.4e-6), (Jump::Touches, None));
        assert_eq!(jump(&films(&[(1e-6, false)]), 1.0, 0.4e-6), (Jump::Touches, None));
    }

    #[test]
    fn a_fold_is_seen_from_two_slopes() {
        // slope = sqrt(5 - change)
        let at = |change: f64| [change, (5.0 - change).sqrt()];
        assert!(distance_to_fold(at(1.0), at(3.0)).is_some_and(|distance| (distance - 2.0).abs() < 1e-12));
        assert!(distance_to_fold(at(3.0), at(1.0)).is_none(), "it recedes");
    }
}
