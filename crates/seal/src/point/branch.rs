//! The equilibrium curve: opening force against gap, followed by pseudo-arclength from blown open to touching, so that
//! every crossing with the closing force is found even where the force is many-valued in the gap.

use super::coupled::{Coupled, Evaluation, Slopes, State, TEMPERATURE_SCALE_K, dot};
use super::damped::{Refusals, stepped};
use super::follow::{LONGEST_STEP, follow};
use super::hermite::Hermite;
use super::starts::{Narrowed, wide_end};
use crate::film::FilmError;
use crate::outcome::Work;

/// Least gap of the widest point of the scan, m.
pub const WIDE_OPEN_M: f64 = 6e-5;
/// Narrow end of the scan in roughnesses: below this the statistics of the faces mean nothing.
pub const TOUCHING_ROUGHNESSES: f64 = -3.0;
/// Scaled residual accepted for points of the trace (1e-11 m, 1e-4 K).
const TRACE_TOLERANCE: f64 = 1e-5;
/// Scaled residual accepted for an equilibrium.
const ROOT_TOLERANCE: f64 = 2e-11;
/// Scaled residual below which an iteration that gains nothing any more has reached the rounding of its numbers (1e-12 m, 1e-5 K).
const ARITHMETIC: f64 = 1e-6;
/// Scaled residual accepted for the ends of a range (1 nm, 10 mK).
const NEAR_TOLERANCE: f64 = 1e-3;
/// Residual below which a Newton matrix gives the slopes of the equilibrium itself.
const FRESH: f64 = 1e-4;
/// Relative error of the force accepted for an equilibrium.
const FORCE_TOLERANCE: f64 = 1e-10;
/// Relative mismatch of heat aimed at.
const HEAT_TOLERANCE: f64 = 1e-9;
/// Rise of the faces over the entering fluid that counts as one in the arc length at least, K.
const LEAST_RISE_K: f64 = 5.0;
/// Cosine between tangent and chord above which a step counts as straight.
const STRAIGHT: f64 = 0.95;
/// Cosine below which a step is too long for the bend and is taken again, shorter.
pub(super) const SHARPEST: f64 = 0.75;
/// Step below which a sharper bend is taken for a kink of the curve.
const KINK: f64 = 3e-3;
/// Share of the tolerance at which a predicted point is taken as it is; all of it where steps are short because of a kink.
const ALREADY: f64 = 1e-2;
/// Corrections that a step may take, and after how many they must still fall steadily.
const MOST_CORRECTIONS: usize = 40;
const FEW_CORRECTIONS: usize = 10;
/// Corrections after which any two together must bring the residual below a share of it: between films of two kinds in turn they do not.
const TURN_CORRECTIONS: usize = 3;
const GOT_ON: f64 = 0.5;
/// The last iterations of a start that must bring the residual below a share of the least before them: a start that goes round in a circle never ends.
const CIRCLE: usize = 5;
const OUT_OF_CIRCLE: f64 = 0.8;
/// Films that a step may take beside: where corrections must be shortened again and again, a shorter step needs fewer.
const MOST_FILMS: u64 = 16;
/// Newton iterations for an equilibrium from any start.
const MOST_ITERATIONS: usize = 40;
/// Greatest change of a face temperature in one step towards an equilibrium, K: beyond it the slopes tell nothing.
const MOST_HEATING_K: f64 = 100.0;
/// Halvings of a step whose crossing was not reached.
const HALVINGS: usize = 6;

/// A converged point of the curve.
#[derive(Debug, Clone)]
pub struct BranchPoint {
    /// Unknowns.
    pub state: State,
    /// Opening force, N.
    pub opening_force_n: f64,
    /// Part of it carried by asperities, N.
    pub contact_force_n: f64,
    /// Arc length from the start of the trace, in local scales.
    pub(super) arc: f64,
    /// Change of the opening force per arc length, N.
    pub(super) force_per_arc: f64,
    tangent: Tangent,
    /// Gradient of the mass flow by the scaled unknowns, kg/s.
    flow_gradient: Vec<f64>,
}

impl BranchPoint {
    /// The same point headed in the sense in which a wide-open film closes: the determinant of the Newton matrix keeps it over kinks, where no
    /// tangent before tells it.
    fn headed_by(mut self, slopes: &Slopes) -> Self {
        if self.is_turned(slopes) {
            self.tangent.unknowns.iter_mut().for_each(|t| *t = -*t);
            self.tangent.inner_gap_m = -self.tangent.inner_gap_m;
            self.force_per_arc = -self.force_per_arc;
        }
        self
    }

    /// Whether it is headed back to where the curve came from.
    fn is_turned(&self, slopes: &Slopes) -> bool {
        (self.tangent.inner_gap_m < 0.0) != slopes.closes_inner_gap()
    }

    /// Length of the way to another point in the scales of this one, and whether both are headed along it.
    pub(super) fn way_to(&self, coupled: &Coupled, other: &Self) -> (f64, bool) {
        let (chord, chord_gap) = difference(coupled, &other.state, &self.state);
        let length = self.tangent.metric.product(&chord, chord_gap, &chord, chord_gap).sqrt();
        (length, cosine(&self.tangent, &chord, chord_gap) > 0.0 && cosine(&other.tangent, &chord, chord_gap) > 0.0)
    }

    /// Arc length of a state near this point, to first order.
    pub(super) fn arc_of(&self, coupled: &Coupled, state: &State) -> f64 {
        let (away, away_gap) = difference(coupled, state, &self.state);
        self.arc + self.tangent.metric.product(&self.tangent.unknowns, self.tangent.inner_gap_m, &away, away_gap)
    }

    /// Opening force and its change per arc length with the exact slopes of this very point, to second order of its residual.
    ///
    /// # Errors
    /// [`FilmError`] of the film.
    pub(super) fn exact_force(&self, coupled: &Coupled, work: &mut Work) -> Result<[f64; 2], FilmError> {
        let mut state = self.state.clone();
        let evaluation = coupled.evaluate(&mut state, work)?;
        let slopes = coupled.slopes(&state, &evaluation, work)?;
        let force = evaluation.opening_force_n + dot(&slopes.force_gradient, &slopes.step(&evaluation));
        let tangent = Tangent::new(coupled, &state, &slopes, Some(&self.tangent));
        Ok([force, dot(&slopes.force_gradient, &tangent.unknowns)])
    }
}

/// Unit tangent in the local metric.
#[derive(Debug, Clone)]
struct Tangent {
    unknowns: Vec<f64>,
    inner_gap_m: f64,
    metric: Metric,
}

/// Weights of the inner product that measures arc length.
#[derive(Debug, Clone)]
struct Metric {
    /// Weight of each gap: a step counts against the gap there, or the roughness where that is more.
    gaps: Vec<f64>,
    temperature: f64,
    inner_gap: f64,
}

/// Why the trace ended.
#[derive(Debug, Clone, PartialEq)]
pub enum BranchEnd {
    /// The curve opened again to the wide end: what lies closer is no part of it.
    WideOpen,
    /// Asperities alone carry more than any closing force asked for, or a textured film with asperities within reach by half as much again,
    /// or the touching end of the statistics.
    Touching,
    /// The film left the range of its fluid: the reason.
    FluidRange(String),
    /// The film is of a kind that is not modelled: which.
    NotModelled(String),
    /// The film did not converge: its reason.
    Film(String),
    /// Steps became too short: the last residual.
    Lost {
        /// Last scaled residual.
        residual: f64,
    },
    /// The number of points ran out.
    TooManyPoints,
}

/// The traced curve, wide end first.
#[derive(Debug, Clone)]
pub struct Trace {
    /// Points in order of arc length.
    pub points: Vec<BranchPoint>,
    /// Why it ended at the narrow end.
    pub end: BranchEnd,
    /// Why it does not start wide open, where it does not.
    pub narrowed: Option<Narrowed>,
    /// Least gaps before and after every place over which it jumps, m.
    pub jumps: Vec<[f64; 2]>,
}

impl Trace {
    /// How often the opening force passes a closing force, N, from point to point down to a least gap, m.
    pub(super) fn crossings(&self, closing_force_n: f64, end_m: f64) -> usize {
        let passes = |pair: &&[BranchPoint]| {
            (pair[0].opening_force_n > closing_force_n) != (pair[1].opening_force_n > closing_force_n)
                && pair.iter().all(|point| least(&point.state.gap_m) >= end_m)
        };
        self.points.windows(2).filter(passes).count()
    }

    /// The point nearest to closed faces: the last one, or, where the curve opens again, that at which it turns.
    pub(super) fn innermost(&self) -> Option<&BranchPoint> {
        match self.end {
            BranchEnd::WideOpen => self.points.iter().min_by(|a, b| least(&a.state.gap_m).total_cmp(&least(&b.state.gap_m))),
            _ => self.points.last(),
        }
    }
}

/// A solved equilibrium with its slopes.
pub struct Root {
    /// Unknowns.
    pub state: State,
    /// Evaluated there.
    pub evaluation: Evaluation,
    /// Newton matrix there.
    pub slopes: Slopes,
}

impl Root {
    /// Whether the equilibrium stands against small disturbances.
    ///
    /// Its opening force must fall with the travel of the ring. That is not enough where the curve runs back in the travel: there the
    /// shape itself is unstable at a held travel. From the wide end, which is stable, the number of unstable motions changes by one
    /// from each crossing to the next, so a crossing at which the force falls along the curve has at least one.
    pub fn is_stable(&self) -> bool {
        self.slopes.by_travel_n_per_m < 0.0 && self.slopes.rises_as_it_closes()
    }
}

/// Failure of a search.
#[derive(Debug, Clone, PartialEq)]
pub enum SearchError {
    /// The film refused.
    Film(FilmError),
    /// Newton stopped: scaled residual of every iteration.
    NotConverged(Vec<f64>),
}

impl From<FilmError> for SearchError {
    fn from(error: FilmError) -> Self {
        Self::Film(error)
    }
}

impl Metric {
    fn at(coupled: &Coupled, state: &State) -> Self {
        let n = state.gap_m.len() as f64;
        let weight = |h: f64| (0.5 * h).max(coupled.contact.roughness_m).powi(-2);
        let rise = |t: &f64| (t - coupled.entry_temperature_k).powi(2);
        let rises = (state.face_temperature_k.iter().map(rise).sum::<f64>() / n).sqrt().max(LEAST_RISE_K);
        Self {
            gaps: state.gap_m.iter().map(|&h| weight(h) * 1e-12 / n).collect(),
            temperature: (TEMPERATURE_SCALE_K / rises).powi(2) / n,
            inner_gap: weight(state.gap_m[0]),
        }
    }

    fn product(&self, a: &[f64], a_gap: f64, b: &[f64], b_gap: f64) -> f64 {
        let n = self.gaps.len();
        let gaps: f64 = (0..n).map(|k| self.gaps[k] * a[k] * b[k]).sum();
        gaps + self.temperature * dot(&a[n..], &b[n..]) + self.inner_gap * a_gap * b_gap
    }
}

impl Tangent {
    /// Unit tangent at slopes, oriented along `previous` (or towards closing).
    fn new(coupled: &Coupled, state: &State, slopes: &Slopes, previous: Option<&Tangent>) -> Self {
        let metric = Metric::at(coupled, state);
        let length = metric.product(&slopes.by_inner_gap, 1.0, &slopes.by_inner_gap, 1.0).sqrt();
        let sign = match previous {
            Some(p) => metric.product(&slopes.by_inner_gap, 1.0, &p.unknowns, p.inner_gap_m).signum(),
            None => -1.0,
        };
        Self { unknowns: slopes.by_inner_gap.iter().map(|x| sign * x / length).collect(), inner_gap_m: sign / length, metric }
    }
}

/// Follow the curve from wide open until touching; `enough_n` is a force beyond which deeper contact is of no interest.
///
/// # Errors
/// [`SearchError`] when not even the wide end can be solved.
pub fn trace(coupled: &Coupled, enough_n: f64, work: &mut Work) -> Result<Trace, SearchError> {
    trace_in_steps(coupled, enough_n, LONGEST_STEP, work)
}

/// The same in steps no longer than `longest`, in local scales: the finer, the slower.
///
/// # Errors
/// As [`trace`].
pub fn trace_in_steps(coupled: &Coupled, enough_n: f64, longest: f64, work: &mut Work) -> Result<Trace, SearchError> {
    let (first, narrowed) = wide_end(coupled, work)?;
    Ok(follow(coupled, first, narrowed, enough_n, longest, work))
}

/// Solve at a fixed inner gap; `slopes` is a Newton matrix made nearby, renewed where it converges badly.
///
/// # Errors
/// [`SearchError`].
pub fn fixed_gap(
    coupled: &Coupled,
    mut state: State,
    mut slopes: Option<Slopes>,
    work: &mut Work,
) -> Result<(State, Evaluation, Slopes), SearchError> {
    let mut history: Vec<f64> = Vec::new();
    let mut refusals = Refusals::at_start();
    let mut evaluation = coupled.evaluate(&mut state, work)?;
    for _ in 0..40 {
        let norm = evaluation.residual_norm();
        let slow = history.last().is_some_and(|&before| norm > 0.2 * before);
        history.push(norm);
        let kept = match slopes.take() {
            Some(kept) if !slow => kept,
            _ => coupled.slopes(&state, &evaluation, work)?,
        };
        if norm < TRACE_TOLERANCE {
            return Ok((state, evaluation, kept));
        }
        if goes_in_a_circle(&history) {
            break;
        }
        work.iterations += 1;
        (state, evaluation) = stepped(coupled, &state, &kept.step(&evaluation), 0.0, &kept.flow_gradient, norm, &mut refusals, work)?;
        slopes = Some(kept);
    }
    Err(SearchError::NotConverged(history))
}

/// Whether the last iterations brought nothing over those before them.
fn goes_in_a_circle(history: &[f64]) -> bool {
    let Some((before, last)) = history.len().checked_sub(CIRCLE).map(|at| history.split_at(at)) else { return false };
    !before.is_empty() && least(last) > OUT_OF_CIRCLE * least(before)
}

fn point(coupled: &Coupled, state: State, evaluation: &Evaluation, slopes: &Slopes, previous: Option<&Tangent>, arc: f64) -> BranchPoint {
    let tangent = Tangent::new(coupled, &state, slopes, previous);
    let contact_force_n = dot(&coupled.pair.nodes.weight_m2, &evaluation.contact.pressure_pa);
    BranchPoint {
        opening_force_n: evaluation.opening_force_n,
        contact_force_n,
        arc,
        force_per_arc: dot(&slopes.force_gradient, &tangent.unknowns),
        flow_gradient: slopes.flow_gradient.clone(),
        state,
        tangent,
    }
}

/// A solved state as the first point of a curve, headed for closing.
pub(super) fn first_point(coupled: &Coupled, state: State, evaluation: &Evaluation, slopes: &Slopes) -> BranchPoint {
    point(coupled, state, evaluation, slopes, None, 0.0)
}

/// One predictor-corrector step of length `step`; returns the point and the corrections it took.
///
/// # Errors
/// [`SearchError`]: the film refused, or the step is too long for the bend of the curve.
pub(super) fn advance(coupled: &Coupled, from: &BranchPoint, step: f64, work: &mut Work) -> Result<(BranchPoint, usize), SearchError> {
    let Corrected { point, corrections, bent } = corrected(coupled, from, step, Film::Followed, work)?;
    bent.map_or(Ok((point, corrections)), |history| Err(SearchError::NotConverged(history)))
}

/// A corrected step.
pub(super) struct Corrected {
    /// Where it ends.
    pub point: BranchPoint,
    /// Corrections it took.
    pub corrections: usize,
    /// Scaled residual of every correction, where the step is too long for the bend of the curve.
    pub bent: Option<Vec<f64>>,
}

/// How the first film of a step is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Film {
    /// From the film before.
    Followed,
    /// Anew, so that it may be of another kind than the film before.
    Anew,
}

/// The step itself, told also where it is too long for the bend of the curve.
///
/// # Errors
/// [`SearchError`]: the film refused, or the corrections do not converge.
pub(super) fn corrected(coupled: &Coupled, from: &BranchPoint, step: f64, film: Film, work: &mut Work) -> Result<Corrected, SearchError> {
    let tangent = &from.tangent;
    let scaled: Vec<f64> = tangent.unknowns.iter().map(|t| step * t).collect();
    let mut predicted = coupled.moved(&from.state, &scaled, step * tangent.inner_gap_m, &from.flow_gradient);
    if film == Film::Anew {
        predicted.film = None;
    }
    let spent = work.film_solves;
    let mut state = predicted.clone();
    let mut evaluation = coupled.evaluate(&mut state, work)?;
    let mut slopes = coupled.slopes(&state, &evaluation, work)?;
    let mut history = vec![evaluation.residual_norm()];
    let mut refusals = Refusals::along();
    if history[0] < if step < KINK { 1.0 } else { ALREADY } * TRACE_TOLERANCE {
        let found = point(coupled, state, &evaluation, &slopes, Some(tangent), from.arc + step);
        return Ok(Corrected { point: found, corrections: 1, bent: None });
    }
    for iteration in 1..=MOST_CORRECTIONS {
        let newton = slopes.step(&evaluation);
        let (away, away_gap) = difference(coupled, &state, &predicted);
        let numerator = tangent.metric.product(&tangent.unknowns, tangent.inner_gap_m, &away, away_gap)
            + tangent.metric.product(&tangent.unknowns, tangent.inner_gap_m, &newton, 0.0);
        let denominator = tangent.metric.product(&tangent.unknowns, tangent.inner_gap_m, &slopes.by_inner_gap, 1.0);
        let inner = -numerator / denominator;
        let whole: Vec<f64> = newton.iter().zip(&slopes.by_inner_gap).map(|(n, y)| n + inner * y).collect();
        let before = history[history.len() - 1];
        work.iterations += 1;
        (state, evaluation) = stepped(coupled, &state, &whole, inner, &slopes.flow_gradient, before, &mut refusals, work)?;
        let norm = evaluation.residual_norm();
        history.push(norm);
        if norm < TRACE_TOLERANCE {
            let arc = from.arc + step;
            let (chord, chord_gap) = difference(coupled, &state, &from.state);
            let found = point(coupled, state, &evaluation, &slopes, Some(tangent), arc);
            if cosine(tangent, &chord, chord_gap) > STRAIGHT && cosine(&found.tangent, &chord, chord_gap) > STRAIGHT {
                return Ok(Corrected { point: found, corrections: iteration, bent: None });
            }
            // The curve bends here: the tangent needs the matrix of this very point, and the step may be too long.
            let slopes = coupled.slopes(&found.state, &evaluation, work)?;
            let found = point(coupled, found.state, &evaluation, &slopes, Some(tangent), arc);
            let bend = cosine(tangent, &chord, chord_gap).min(cosine(&found.tangent, &chord, chord_gap));
            // A kink stays one however short the step.
            let bent = ((bend <= SHARPEST || found.is_turned(&slopes)) && step >= KINK).then_some(history);
            let point = if bend <= SHARPEST && step < KINK { found.headed_by(&slopes) } else { found };
            return Ok(Corrected { point, corrections: 4, bent });
        }
        let costly = work.film_solves - spent >= MOST_FILMS;
        let in_turn = iteration >= TURN_CORRECTIONS && norm > GOT_ON * history[history.len() - 3];
        if costly
            || in_turn
            || !norm.is_finite()
            || (iteration > 2 && norm > 2.0 * before)
            || (iteration >= FEW_CORRECTIONS && norm > 0.95 * before)
        {
            break;
        }
        if norm > 0.2 * before {
            slopes = coupled.slopes(&state, &evaluation, work)?;
        }
    }
    Err(SearchError::NotConverged(history))
}

/// Cosine between a tangent and a chord in the metric of the tangent.
fn cosine(tangent: &Tangent, chord: &[f64], chord_gap: f64) -> f64 {
    let length = tangent.metric.product(chord, chord_gap, chord, chord_gap).sqrt();
    tangent.metric.product(&tangent.unknowns, tangent.inner_gap_m, chord, chord_gap) / length.max(f64::MIN_POSITIVE)
}

/// `a - b` in scaled unknowns and inner gap.
fn difference(coupled: &Coupled, a: &State, b: &State) -> (Vec<f64>, f64) {
    let n = coupled.pair.nodes.len();
    let mut away = Vec::with_capacity(2 * n);
    away.extend((0..n).map(|k| (a.gap_m[k] - b.gap_m[k]) * 1e6));
    away.extend((0..n).map(|k| (a.face_temperature_k[k] - b.face_temperature_k[k]) / TEMPERATURE_SCALE_K));
    (away, a.inner_gap_m - b.inner_gap_m)
}

/// Every crossing of the traced curve with a closing force, wide end first.
pub fn crossings(coupled: &Coupled, trace: &Trace, closing_force_n: f64, work: &mut Work) -> (Vec<Root>, Vec<SearchError>) {
    crossings_within(coupled, trace, (closing_force_n, &Accuracy::ROOT), work)
}

/// The same to an accuracy: where each is settled again on another grid it need not be exact.
pub(super) fn crossings_within(
    coupled: &Coupled,
    trace: &Trace,
    wanted: (f64, &Accuracy),
    work: &mut Work,
) -> (Vec<Root>, Vec<SearchError>) {
    let mut roots: Vec<Root> = Vec::new();
    let mut failures = Vec::new();
    for pair in trace.points.windows(2) {
        let (found, failed) = crossings_between(coupled, &pair[0], &pair[1], wanted, HALVINGS, work);
        for root in found {
            // The last step of the trace may reach past the end of the statistics: nothing found there is an answer.
            let inside = least(&root.state.gap_m) >= TOUCHING_ROUGHNESSES * coupled.contact.roughness_m;
            if inside && roots.iter().all(|r| differs(r, &root, coupled.contact.roughness_m)) {
                roots.push(root);
            }
        }
        failures.extend(failed);
    }
    (roots, failures)
}

/// Crossings between two neighbours. Where one is there but cannot be reached from the cubic, because the step passed a sharp bend (onset
/// of contact), the step is taken again in halves.
fn crossings_between(
    coupled: &Coupled,
    a: &BranchPoint,
    b: &BranchPoint,
    (closing_force_n, accuracy): (f64, &Accuracy),
    halvings: usize,
    work: &mut Work,
) -> (Vec<Root>, Vec<SearchError>) {
    let settle = |start: State, work: &mut Work| equilibrium_within(coupled, start, closing_force_n, (MOST_ITERATIONS, accuracy), work);
    let mut roots = Vec::new();
    let mut failures = Vec::new();
    for start in candidates(coupled, a, b, closing_force_n, work) {
        // Between two films of unlike kinds neither leads to the third: it is then found anew.
        let anew = State { film: None, ..start.clone() };
        let found = match settle(start, work) {
            Err(SearchError::Film(FilmError::Property(_))) => settle(anew, work),
            found => found,
        };
        match found {
            Ok(root) => roots.push(root),
            Err(error) => failures.push(error),
        }
    }
    if failures.is_empty() || halvings == 0 || !Hermite::new(a, b, closing_force_n).changes_sign() {
        return (roots, failures);
    }
    let Ok((middle, _)) = advance(coupled, a, 0.5 * (b.arc - a.arc), work) else { return (roots, failures) };
    let (mut halves, mut failed) = crossings_between(coupled, a, &middle, (closing_force_n, accuracy), halvings - 1, work);
    let (more, also_failed) = crossings_between(coupled, &middle, b, (closing_force_n, accuracy), halvings - 1, work);
    halves.extend(more);
    failed.extend(also_failed);
    if halves.is_empty() { (roots, failures) } else { (halves, failed) }
}

pub(super) fn differs(a: &Root, b: &Root, roughness_m: f64) -> bool {
    (a.state.inner_gap_m - b.state.inner_gap_m).abs() > 1e-5 * roughness_m
}

/// Starting states for the crossings between two neighbours: at the roots of the cubic through both forces and slopes.
fn candidates(coupled: &Coupled, a: &BranchPoint, b: &BranchPoint, closing_force_n: f64, work: &mut Work) -> Vec<State> {
    let cubic = Hermite::new(a, b, closing_force_n);
    let mut found: Vec<State> = cubic.roots().into_iter().map(|t| between(&a.state, &b.state, t)).collect();
    if cubic.changes_sign() && found.is_empty() {
        found.push(between(&a.state, &b.state, cubic.secant()));
    }
    // A cubic that turns just short of the closing force may hide two crossings: look at the turning point itself.
    if found.is_empty()
        && let Some(t) = cubic.near_touch()
        && let Ok((middle, _)) = advance(coupled, a, t * (b.arc - a.arc), work)
    {
        let (left, right) = (Hermite::new(a, &middle, closing_force_n), Hermite::new(&middle, b, closing_force_n));
        if left.changes_sign() && right.changes_sign() {
            found.push(between(&a.state, &middle.state, left.secant()));
            found.push(between(&middle.state, &b.state, right.secant()));
        }
    }
    found
}

fn between(a: &State, b: &State, t: f64) -> State {
    let mix = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a + t * (b - a)).collect();
    State {
        inner_gap_m: a.inner_gap_m + t * (b.inner_gap_m - a.inner_gap_m),
        gap_m: mix(&a.gap_m, &b.gap_m),
        face_temperature_k: mix(&a.face_temperature_k, &b.face_temperature_k),
        conductivity_w_per_m_k: mix(&a.conductivity_w_per_m_k, &b.conductivity_w_per_m_k),
        film: if t < 0.5 { a.film.clone() } else { b.film.clone() },
    }
}

/// Newton for an equilibrium with `closing_force_n`, from a state near it.
///
/// # Errors
/// [`SearchError`] with the history of scaled residuals.
pub fn equilibrium(coupled: &Coupled, state: State, closing_force_n: f64, work: &mut Work) -> Result<Root, SearchError> {
    equilibrium_within(coupled, state, closing_force_n, (MOST_ITERATIONS, &Accuracy::ROOT), work)
}

/// What may be left of an equilibrium: scaled residual, relative force and relative heat.
pub(super) struct Accuracy {
    residual: f64,
    force: f64,
    heat: f64,
}

impl Accuracy {
    pub const ROOT: Self = Self { residual: ROOT_TOLERANCE, force: FORCE_TOLERANCE, heat: HEAT_TOLERANCE };
    /// Of the places of a followed branch, from which nothing is told but where it ends, and of what is settled again: as of a traced curve.
    pub const PLACE: Self = Self { residual: TRACE_TOLERANCE, force: 1e-6, heat: f64::INFINITY };
}

/// The same to an accuracy in at most `most` iterations: where a start is near, more only delay the news that there is none.
///
/// # Errors
/// As [`equilibrium`].
pub(super) fn equilibrium_within(
    coupled: &Coupled,
    mut state: State,
    closing_force_n: f64,
    (most, wanted): (usize, &Accuracy),
    work: &mut Work,
) -> Result<Root, SearchError> {
    let mut history = Vec::new();
    let mut refusals = Refusals::anywhere();
    // Newton matrix with the residual at which it was made: a far one still converges, but its slopes are not those of the root.
    let mut slopes: Option<(Slopes, f64)> = None;
    let mut polished = false;
    let mut evaluation = coupled.evaluate(&mut state, work)?;
    for _ in 0..most {
        let excess = (evaluation.opening_force_n - closing_force_n) / closing_force_n.abs().max(1.0);
        let norm = evaluation.residual_norm().max(excess.abs());
        let slow = history.last().is_none_or(|&before: &f64| norm > 0.05 * before);
        history.push(norm);
        // Faces that all but touch conduct so well that rounding of a temperature is heat: then the floor of the arithmetic is reached.
        let floor = history.len() > 6 && norm < ARITHMETIC && history[..history.len() - 4].iter().any(|&earlier| earlier < 3.0 * norm);
        let settled = (evaluation.residual_norm() < wanted.residual && excess.abs() < wanted.force) || floor;
        // One more step after settling takes the heat to rounding; asking for more would ask of the arithmetic.
        let done = settled && (evaluation.heat_mismatch < wanted.heat || polished || floor);
        polished = settled;
        let (kept, made_at) = match slopes.take() {
            // The slopes of the root itself will be asked for: made as soon as they can be, they serve the last steps too.
            Some((kept, made_at)) if if done { made_at < FRESH } else { settled || (!slow && (made_at < FRESH || norm >= FRESH)) } => {
                (kept, made_at)
            }
            _ => (coupled.slopes(&state, &evaluation, work)?, norm),
        };
        if done {
            return Ok(Root { state, evaluation, slopes: kept });
        }
        work.iterations += 1;
        let newton = kept.step(&evaluation);
        let missing = closing_force_n - evaluation.opening_force_n - dot(&kept.force_gradient, &newton);
        let inner = missing / kept.along_curve_n_per_m;
        let whole: Vec<f64> = newton.iter().zip(&kept.by_inner_gap).map(|(n, y)| n + inner * y).collect();
        let limit = 1e6 * (0.4 * least(&state.gap_m)).max(1.5 * coupled.contact.roughness_m);
        let largest = |part: &[f64]| part.iter().fold(0.0, |m: f64, s| m.max(s.abs()));
        let (gaps, temperatures) = whole.split_at(whole.len() / 2);
        let share = (limit / largest(gaps)).min(MOST_HEATING_K / (TEMPERATURE_SCALE_K * largest(temperatures))).min(1.0);
        let step: Vec<f64> = whole.iter().map(|s| share * s).collect();
        (state, evaluation) = stepped(coupled, &state, &step, share * inner, &kept.flow_gradient, norm, &mut refusals, work)?;
        slopes = Some((kept, made_at));
    }
    Err(SearchError::NotConverged(history))
}

/// Follow an equilibrium to slightly different conditions with the Newton matrix of the root it starts from; a fresh matrix is made
/// only when that converges badly. Converges to what the range of a number needs.
///
/// # Errors
/// [`SearchError`] with the history of scaled residuals.
pub fn equilibrium_near(coupled: &Coupled, root: &Root, closing_force_n: f64, work: &mut Work) -> Result<(State, Evaluation), SearchError> {
    let mut state = root.state.clone();
    let mut before = f64::INFINITY;
    for _ in 0..12 {
        let evaluation = coupled.evaluate(&mut state, work)?;
        let excess = (evaluation.opening_force_n - closing_force_n) / closing_force_n.abs().max(1.0);
        let norm = evaluation.residual_norm().max(excess.abs());
        if norm < NEAR_TOLERANCE {
            return Ok((state, evaluation));
        }
        if norm > 0.7 * before || !norm.is_finite() {
            break;
        }
        before = norm;
        let newton = root.slopes.step(&evaluation);
        let missing = closing_force_n - evaluation.opening_force_n - dot(&root.slopes.force_gradient, &newton);
        let inner = missing / root.slopes.along_curve_n_per_m;
        let whole: Vec<f64> = newton.iter().zip(&root.slopes.by_inner_gap).map(|(n, y)| n + inner * y).collect();
        state = coupled.moved(&state, &whole, inner, &root.slopes.flow_gradient);
        work.iterations += 1;
    }
    let root = equilibrium(coupled, root.state.clone(), closing_force_n, work)?;
    Ok((root.state, root.evaluation))
}

/// Least value of a profile.
pub fn least(profile: &[f64]) -> f64 {
    profile.iter().copied().fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::goes_in_a_circle;

    #[test]
    fn a_start_goes_in_a_circle_only_where_the_last_iterations_bring_nothing() {
        assert!(!goes_in_a_circle(&[1.0; 5]), "too few to tell");
        assert!(goes_in_a_circle(&[0.12, 0.46, 0.12, 0.46, 0.12, 0.46]));
        assert!(!goes_in_a_circle(&[9.0, 8.0, 7.0, 6.0, 7.0, 8.0]), "it gets on, if slowly");
        assert!(!goes_in_a_circle(&[1.0, f64::NAN, 0.5, 2.0, 3.0, 4.0, 0.7]), "the best of the last five counts");
    }
}
