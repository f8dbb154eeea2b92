//! The mass flow that meets the exit of a film.
//!
//! A bracketed Newton over marches. Where two flows that differ by next to nothing leave the exit on either side of it, the film between them
//! follows its boiling point ([`super::hold`]), or what bars it is named.

use std::sync::Arc;

use super::FilmError;
use super::axisymmetric::mach;
use super::guide::Guide;
use super::march::{Arrival, Closure, Ended, Failure, Found, March, Marcher, Mark, Region};

const MAX_ITERATIONS: usize = 40;
/// Iterations in which a trial may be refused by the fluid.
const PATIENCE: usize = 12;
/// Relative correction of the mass flow that is the last: it converges quadratically, so what is left is about its square.
const TOLERANCE: f64 = 3e-7;
/// The same in shares of it for a film with a front and for a choked one.
const MIXED: f64 = 1e-3;
const CHOKED: f64 = 1e-5;
/// Relative correction of a choked flow, or of one to a pressure nearer than the exit, that is none.
const MET: f64 = 1e-10;

/// How much a step back is in steps before: of a film that has overshot by little, and where a gas condenses at the edge at about the speed of
/// sound, where the excess bends strongly.
const BACK: f64 = 3.0;
const STRONGLY: f64 = 100.0;
/// The greatest share of the way taken back, and the share of the last one with which it begins again.
const MOST_BACK: f64 = 0.6;
const AGAIN: f64 = 0.3;

/// Share of a bracket that is left where neither Newton nor a step back says where to look in it, by how many trials in a row ended at the same
/// side: what lies within next to nothing of one end, as a film does that chokes, is come near to in few trials.
const LEFT_OF_BRACKET: [f64; 6] = [0.5, 0.5, 0.2, 0.05, 0.01, 0.001];

/// Width of the bracket, relative, at which a flow that almost meets the exit is taken, and how nearly it must.
const COLLAPSED: f64 = 1e-9;
const NEARLY: f64 = 5e-6;
/// Width of the bracket, relative, at which a flow that still is far from the exit says that nothing lies between.
const GAP: f64 = 1e-7;
/// Correction still wanted there, in widths, from which it is far.
const FAR: f64 = 100.0;
/// First step up, relative, where more flow leaves a greater drive, the greatest, and its growth; it begins at so many corrections.
const LEAST_LEAP: f64 = 1e-4;
const MOST_LEAP: f64 = 2.0;
const LEAP_GROWTH: f64 = 30.0;
/// Share of the viscous flow below which nothing passes where no more has.
const NO_FLOW: f64 = 1e-9;
/// Width at which a film that may follow its boiling point is first looked for.
const PARTED: f64 = 1e-3;
/// Width at which a film whose work is used up is asked what bars it.
const NARROW: f64 = 1e-3;

/// Mach number from which a film that cannot carry more is taken for choked inside, and the share of the exit pressure below which the pressure
/// of a liquid has fallen to nothing.
const NEAR_SOUND: f64 = 0.9;
const EMPTY: f64 = 0.2;
/// Share of the saturation pressure above which a liquid does not come near to boiling.
const NEAR_BOILING: f64 = 0.01;
/// Share by which the pressure must rise again behind a cavity.
const RISING: f64 = 1e-3;

/// A flow with its march and the iterations it took.
pub(super) type Flow = (f64, Arc<March>, usize);

/// Mass flow that meets the exit, sought from one near it. Nothing where the fluid would not flow this way.
pub(super) fn flow(marcher: &Marcher, near: Option<f64>, history: &mut Vec<f64>) -> Result<Option<Flow>, FilmError> {
    if let Some((flow, march)) = marcher.as_before(near) {
        return Ok(Some((flow, march, 1)));
    }
    let mut search = Search::new(marcher, near, history);
    for iteration in 1..=MAX_ITERATIONS {
        match search.next(iteration)? {
            Turn::Found(found) => return Ok(Some(found)),
            Turn::OtherWay => return Ok(None),
            Turn::Stuck => break,
            Turn::On => {}
        }
    }
    search.conclude().map(Some)
}

/// What an iteration says.
enum Turn {
    On,
    Found(Flow),
    /// The fluid would not flow this way.
    OtherWay,
    /// No narrower bracket says more.
    Stuck,
}

/// An end of the bracket.
#[derive(Clone, Copy, PartialEq, Eq)]
enum End {
    Low,
    High,
}

/// The search for a flow.
struct Search<'m, 'a> {
    marcher: &'m Marcher<'a>,
    history: &'m mut Vec<f64>,
    /// Whether the faces approach each other: then what flows in need not flow out.
    squeezed: bool,
    trial: f64,
    /// Greatest flow known to be too small, and least known to be too great.
    low: f64,
    high: f64,
    /// The march of the first, and whether either arrives at the edge as liquid.
    lower: Option<Arc<March>>,
    low_leaves_liquid: Option<bool>,
    high_leaves_liquid: Option<bool>,
    /// Relative size of the last correction.
    last_step: f64,
    /// Share of the way from a flow too small by which one too great was last taken back with success.
    back: f64,
    /// That of the last step up against the correction.
    leap: f64,
    /// Which end of the bracket the last trial became, and how many in a row did.
    end: Option<End>,
    in_a_row: usize,
    /// A flow that almost meets the exit.
    nearly: Option<(f64, Arc<March>)>,
    /// Why the flow that would be the answer does not come down to the exit.
    ended: Option<FilmError>,
    /// What the fluid refused on a trial.
    refused: Option<FilmError>,
    /// Whether a film that follows its boiling point was looked for.
    sought: bool,
}

impl<'m, 'a> Search<'m, 'a> {
    fn new(marcher: &'m Marcher<'a>, near: Option<f64>, history: &'m mut Vec<f64>) -> Self {
        let squeezed = marcher.band.input.gap.rate_m_per_s.is_some();
        Self {
            trial: near.filter(|flow| *flow > 0.0).unwrap_or_else(|| viscous_flow(marcher)),
            marcher,
            history,
            squeezed,
            low: if squeezed { f64::NEG_INFINITY } else { 0.0 },
            high: f64::INFINITY,
            lower: None,
            low_leaves_liquid: None,
            high_leaves_liquid: None,
            last_step: 1.0,
            back: 0.0,
            leap: 0.0,
            end: None,
            in_a_row: 0,
            nearly: None,
            ended: None,
            refused: None,
            sought: false,
        }
    }

    fn next(&mut self, iteration: usize) -> Result<Turn, FilmError> {
        if self.marcher.exhausted() {
            return Ok(Turn::Stuck);
        }
        if let Some((flow, march)) = self.beyond_liquid() {
            return Ok(Turn::Found((flow, march, iteration)));
        }
        match self.marcher.march(self.trial) {
            Ok(Ended::Through(march)) => self.through(Arc::new(march), iteration),
            // Not even what stands still comes through: the fluid flows the other way, if at all.
            Ok(Ended::Overrun) if self.trial == 0.0 && !self.squeezed => Ok(Turn::OtherWay),
            Ok(Ended::Overrun) => Ok(self.overrun()),
            // A state that the fluid refuses on a trial flow need not be met by the true one.
            Err(error) if iteration < PATIENCE && self.trial > 0.0 => {
                self.refused = Some(error);
                Ok(self.overrun())
            }
            Err(error) => Err(error),
        }
    }

    /// Between a liquid that is too little and a flow that dries the film may follow its boiling point: that need not be bisected to the end.
    fn beyond_liquid(&mut self) -> Option<(f64, Arc<March>)> {
        let parted = self.low_leaves_liquid == Some(true) && self.high_leaves_liquid == Some(false);
        if self.sought || !parted || self.width() > PARTED {
            return None;
        }
        self.sought = true;
        self.marcher.beyond_liquid(self.low, self.high, self.lower.as_ref()?)
    }

    /// Width of the bracket, relative.
    fn width(&self) -> f64 {
        (self.high - self.low) / self.high.abs()
    }

    fn overrun(&mut self) -> Turn {
        self.history.push(f64::INFINITY);
        self.high = self.high.min(self.trial);
        self.high_leaves_liquid = Some(false);
        self.replaced(End::High);
        let bends = self.lower.as_ref().is_some_and(|march| condenses_at_the_edge(self.marcher, march));
        // What had to be taken back by much before will have to be so again.
        let first = if bends { STRONGLY } else { BACK };
        let again = AGAIN * self.back;
        let most = MOST_BACK.max(1.0 - self.left_of_bracket());
        let back = (first * self.last_step).max(again).clamp(1e-6, most);
        let viscous = viscous_flow(self.marcher);
        self.trial = match viscous {
            _ if self.low > 0.0 => self.low + (1.0 - back) * (self.trial - self.low),
            _ if viscous > 0.0 => (0.3 * self.trial).min(viscous),
            _ => 0.3 * self.trial,
        };
        if self.low > 0.0 {
            self.back = back;
        }
        self.last_step = (30.0 * self.last_step.max(again / first)).min(1.0);
        // The last bit of the flow is beyond what the steps can follow.
        let nearly = self.width() < COLLAPSED && self.nearly.is_some();
        let parted = self.low_leaves_liquid == Some(true) && self.width() < GAP;
        let none_passes = self.low == 0.0 && self.trial < (NO_FLOW * viscous).max(1e-300);
        let nothing = self.trial - self.low < 1e-14 * self.high || none_passes;
        if nearly || parted || nothing { Turn::Stuck } else { Turn::On }
    }

    fn through(&mut self, march: Arc<March>, iteration: usize) -> Result<Turn, FilmError> {
        // A march to a pressure nearer than the exit shows the way, but is no film.
        let arrives = march.arrival == Arrival::AtTheExit;
        self.marcher.guides.borrow_mut()[0] = Guide::new(march.clone(), self.trial);
        let step = -march.excess / march.excess_slope;
        let relative = (step / self.trial).abs();
        self.last_step = relative.min(1.0);
        self.history.push(relative);
        if !arrives && relative < MET {
            self.ended = ends_before_the_exit(self.marcher, &march);
            self.bracket(&march);
            return Ok(Turn::Stuck);
        }
        let (size, bracket) = (self.trial.abs(), self.high - self.low);
        if arrives && (march.excess == 0.0 || (bracket < 1e-13 * size && relative < NEARLY)) {
            return Ok(Turn::Found((self.trial, march, iteration)));
        }
        if bracket < 1e-14 * size || (bracket < GAP * size && relative > (FAR * bracket / size).max(NEARLY)) {
            return Ok(Turn::Stuck);
        }
        if arrives
            && step.is_finite()
            && relative < last_correction(&march)
            && let Some((flow, march)) = self.corrected(&march, step)
        {
            return Ok(Turn::Found((flow, march, iteration)));
        }
        self.bracket(&march);
        if arrives && march.excess > 0.0 && relative < NEARLY {
            self.nearly = Some((self.trial, march.clone()));
        }
        if march.excess < 0.0 && self.trial <= 0.0 && !self.squeezed {
            return Ok(Turn::OtherWay);
        }
        self.trial = self.inside(self.trial + step);
        if self.trial == 0.0 && !self.squeezed { self.stands_still(iteration) } else { Ok(Turn::On) }
    }

    /// The film after the last correction.
    fn corrected(&self, march: &March, step: f64) -> Option<(f64, Arc<March>)> {
        let flow = self.trial + step;
        // The state of a choked exit is no straight function of the flow: it is marched to once more. Two marches of all but one flow may differ
        // there by more than the correction: then the one that meets the exit is the film.
        if bends_at_the_exit(march)
            && let Ok(Ended::Through(last)) = self.marcher.march(flow)
        {
            return if last.arrival == Arrival::AtTheExit && last.excess.abs() <= march.excess.abs() {
                Some((flow, Arc::new(last)))
            } else {
                ((step / self.trial).abs() < MET).then(|| (self.trial, Arc::new(march.clone())))
            };
        }
        let mut shifted = march.clone();
        self.marcher.shift(&mut shifted, step).ok()?;
        Some((flow, Arc::new(shifted)))
    }

    fn bracket(&mut self, march: &Arc<March>) {
        let leaves_liquid = Some(leaves_liquid(self.marcher, march));
        if march.excess > 0.0 {
            self.low = self.low.max(self.trial);
            self.replaced(End::Low);
            self.low_leaves_liquid = leaves_liquid;
            self.lower = Some(march.clone());
        } else {
            self.high = self.high.min(self.trial);
            self.replaced(End::High);
            self.high_leaves_liquid = leaves_liquid;
        }
    }

    /// Count how often in a row a trial became this end of the bracket.
    fn replaced(&mut self, end: End) {
        self.in_a_row = if self.end == Some(end) { self.in_a_row + 1 } else { 0 };
        self.end = Some(end);
    }

    /// Share of the bracket that the next trial leaves beyond it.
    fn left_of_bracket(&self) -> f64 {
        LEFT_OF_BRACKET[self.in_a_row.min(LEFT_OF_BRACKET.len() - 1)]
    }

    /// A trial, or one within the bracket where it falls outside.
    fn inside(&mut self, next: f64) -> f64 {
        if next > self.low && next < self.high {
            return next;
        }
        match (self.low.is_finite(), self.high.is_finite()) {
            (true, true) if self.low > 0.0 => {
                let left = self.left_of_bracket() * (self.high - self.low);
                if self.end == Some(End::Low) { self.high - left } else { self.low + left }
            }
            // Against the flow: ask whether anything at all passes this way.
            (true, true) if self.trial < 1e-9 * viscous_flow(self.marcher).max(1e-30) => 0.0,
            (true, true) => 0.1 * self.high,
            _ => self.leap(),
        }
    }

    /// A greater flow, where the correction points down from one that is too small already: not far beyond a film that almost meets the exit.
    fn leap(&mut self) -> f64 {
        self.leap = (LEAP_GROWTH * self.leap.max(self.last_step)).clamp(LEAST_LEAP, MOST_LEAP);
        self.last_step = 1.0;
        (1.0 + self.leap) * self.trial.abs().max(1e-12)
    }

    /// Whether a film without flow is the one, or the flow goes the other way.
    fn stands_still(&self, iteration: usize) -> Result<Turn, FilmError> {
        match self.marcher.march(0.0) {
            Ok(Ended::Through(still)) if still.excess <= 0.0 => Ok(Turn::OtherWay),
            Ok(Ended::Through(still)) if still.arrival == Arrival::AtTheExit && still.excess < 1e-12 * self.marcher.entry.pressure_pa => {
                Ok(Turn::Found((0.0, Arc::new(still), iteration)))
            }
            _ => Err(not_converged(self.history.clone())),
        }
    }

    /// What the bracket leaves: a flow that almost meets the exit, a film that follows its boiling point, or why there is none.
    fn conclude(self) -> Result<Flow, FilmError> {
        // The last digits may be lost where a front meets a node or a flow chokes: what almost meets the exit is the answer.
        if let Some((flow, march)) = self.nearly {
            return Ok((flow, march, MAX_ITERATIONS));
        }
        let narrow = self.lower.as_deref().filter(|lower| {
            let left = (lower.excess / lower.excess_slope / self.low).abs();
            left < NARROW && self.low * (1.0 + left) <= self.high
        });
        if let Some(reason) = self.ended.clone().or_else(|| narrow.and_then(|lower| ends_before_the_exit(self.marcher, lower))) {
            return Err(reason);
        }
        let (exhausted, width) = (self.marcher.exhausted(), self.width());
        if width < NARROW && chokes_at_entry(self.marcher, self.low, self.high) {
            return Err(FilmError::ChokesInside { radius_m: self.marcher.band.radius[0] });
        }
        let closed = width < GAP;
        if closed
            && let Some(lower) = &self.lower
            && let Some((flow, march)) = self.marcher.between(self.low, self.high, lower)
        {
            return Ok((flow, march, MAX_ITERATIONS));
        }
        if (closed || (exhausted && width < NARROW))
            && let Some(reason) = barred(self.marcher, self.low, closed.then_some(self.high))?
        {
            return Err(reason);
        }
        if exhausted {
            let (evaluations, nodes) = (self.marcher.granted(), self.marcher.band.len());
            return Err(FilmError::OutOfWork { evaluations, nodes, low: self.low, high: self.high });
        }
        Err(self.refused.unwrap_or_else(|| not_converged(self.history.clone())))
    }
}

/// Share of the flow below which a correction is the last: the place of a front bends more than the rest, and the pressure of a choked exit more
/// than that.
fn last_correction(march: &March) -> f64 {
    let mixed = march.marks.iter().any(|mark| mark.mixed);
    TOLERANCE
        * if bends_at_the_exit(march) {
            CHOKED
        } else if mixed {
            MIXED
        } else {
            1.0
        }
}

/// Whether the exit is choked; a liquid that arrives just saturated is straight in the flow up to the edge.
fn bends_at_the_exit(march: &March) -> bool {
    march.choked && !march.marks.last().is_some_and(|mark| mark.closure == Closure::Short && mark.state.vapour_mass_fraction < 0.5)
}

pub(super) fn not_converged(history: Vec<f64>) -> FilmError {
    FilmError::NotConverged { iterations: history.len(), correction: history.last().copied().unwrap_or(f64::NAN), history }
}

/// Whether a gas chokes where it arrives just saturated at the edge.
fn condenses_at_the_edge(marcher: &Marcher, march: &March) -> bool {
    let last = march.marks.last();
    march.choked && last.is_some_and(|mark| mark.closure == Closure::Short && marcher.region(&mark.state) != Region::Dense)
}

/// Whether a march arrives at the edge as liquid.
fn leaves_liquid(marcher: &Marcher, march: &March) -> bool {
    march.marks.last().is_some_and(|mark| !mark.mixed && marcher.region(&mark.state) == Region::Dense) && !march.choked
}

/// Whether a march boils, or comes near to it.
fn boils(marcher: &Marcher, march: &March) -> bool {
    let fluid = marcher.band.input.fluid;
    let near = |mark: &Mark| {
        let saturation = fluid.saturation_pressure(mark.state.temperature_k).value();
        saturation.is_some_and(|saturation| mark.state.pressure_pa < (1.0 + NEAR_BOILING) * saturation)
    };
    march.marks.iter().any(|mark| mark.mixed || near(mark))
}

/// Whether a flow boils, be it that it does not pass.
fn boils_on_its_way(marcher: &Marcher, flow: f64) -> bool {
    let mut marks = Vec::new();
    marcher.spent.set(0);
    let _ = marcher.run_over(flow, &mut marks);
    marks.iter().any(|mark| mark.mixed)
}

/// Why a flow that is all but enough does not come down to the low pressure: at the edge the fluid has no state on the way there.
fn ends_before_the_exit(marcher: &Marcher, march: &March) -> Option<FilmError> {
    let state = &march.marks.last()?.state;
    (march.arrival == Arrival::AtTheLastState).then_some(FilmError::EndsBeforeExit {
        pressure_pa: state.pressure_pa,
        temperature_k: state.temperature_k,
        exit_pressure_pa: marcher.exit_pressure,
    })
}

/// Whether a flow passes the lip of the entry near the speed of sound and a greater one does not pass it at all.
fn chokes_at_entry(marcher: &Marcher, passes: f64, too_much: f64) -> bool {
    let Ok(Found { state, share, by_flow }) = marcher.entry_station(passes) else { return false };
    let lip = Mark { interval: 0, share, state, closure: Closure::Node, mixed: false, by_flow };
    mach(marcher, &lip, passes) > NEAR_SOUND && matches!(marcher.entry_station(too_much), Err(Failure::NoRoot))
}

/// Why no more than a flow passes although the exit still is far: what of it is known and not modelled. `beyond` is a flow next to it that does
/// not pass.
fn barred(marcher: &Marcher, flow: f64, beyond: Option<f64>) -> Result<Option<FilmError>, FilmError> {
    marcher.spent.set(0);
    let Ok(Ended::Through(march)) = marcher.march(flow) else { return Ok(None) };
    let radius = |mark: &Mark| {
        let (a, b) = (marcher.band.radius[mark.interval], marcher.band.radius[mark.interval + 1]);
        a + mark.share * (b - a)
    };
    let inside = &march.marks[..march.marks.len() - 1];
    let Some(lowest) = inside.iter().min_by(|a, b| a.state.pressure_pa.total_cmp(&b.state.pressure_pa)) else { return Ok(None) };
    let fastest = inside.iter().max_by(|a, b| mach(marcher, a, flow).total_cmp(&mach(marcher, b, flow)));
    let saturation = marcher.band.input.fluid.saturation_pressure(lowest.state.temperature_k).value().unwrap_or(0.0);
    let rises = march.marks.last().is_some_and(|last| last.state.pressure_pa > (1.0 + RISING) * lowest.state.pressure_pa);
    Ok(match fastest {
        Some(fastest) if mach(marcher, fastest, flow) > NEAR_SOUND => Some(FilmError::ChokesInside { radius_m: radius(fastest) }),
        _ if rises && lowest.state.pressure_pa < saturation + EMPTY * marcher.exit_pressure && march.excess > 0.0 => {
            Some(FilmError::Cavitates { radius_m: radius(lowest) })
        }
        _ if beyond.is_some_and(|beyond| boils(marcher, &march) || boils_on_its_way(marcher, beyond)) => Some(FilmError::AlongSaturation),
        _ => None,
    })
}

/// Viscous isothermal flow of the entering fluid, as a first trial.
fn viscous_flow(marcher: &Marcher) -> f64 {
    let band = &marcher.band;
    let entry = &marcher.entry;
    let resistance = 12.0 * entry.viscosity_pa_s / (2.0 * std::f64::consts::PI) * band.resistance_per_m4();
    let rise = 0.5 * entry.density_kg_per_m3 * band.spin * (band.radius[band.len() - 1].powi(2) - band.radius[0].powi(2));
    // A gas gets lighter on its way: its mean density counts.
    let compressible = entry.derivatives.density_by_pressure * entry.pressure_pa / entry.density_kg_per_m3;
    let mean = entry.density_kg_per_m3 * (1.0 - 0.5 * compressible.clamp(0.0, 1.0) * (1.0 - marcher.exit_pressure / entry.pressure_pa));
    (mean * (entry.pressure_pa - marcher.exit_pressure + rise) / resistance).max(0.0)
}
