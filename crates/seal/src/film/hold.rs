//! A boiling film that follows its boiling point over a stretch of the band.
//!
//! **What.** Where the faces cool along the flow so fast that the saturation pressure at their temperature falls faster than the pressure of the
//! liquid, but not as fast as that of the vapour would, neither phase alone can go on: liquid that boils a little is throttled and stays at its
//! boiling point, and the film leaves it only where what follows as vapour just meets the exit.
//! **Equation.** The same mass, momentum and energy ([`super::step`]). Along the stretch they have one way that grows and one that dies out, both
//! within a share of an interval, so a march in steps that weigh both ends alike runs off to either phase by rounding. Steps weighed from
//! beyond their downstream end damp both ways and stay on the slow one. Two conditions take the place of one: the mass flow is that at which
//! the liquid just touches its boiling point at a node, or, where departures grow slowly, the one up to which two marches are still at one
//! ([`Hold::touch`]); the place where the film leaves ([`Hold::way`]) is that which meets the exit. Its ways to leave form one row, along
//! which the exit pressure rises: at the beginning of the stretch with ever more vapour, ever later as vapour, at its end with ever less, ever
//! earlier as liquid. As vapour it leaves with its volume raised by `GAIN` at one place, and goes on in a step whose friction is that of its
//! upstream end, so that what stands off grows. The enthalpy of that rise is in the balance of heat; the momentum of it is not in that of the
//! film: `G^2 ln(GAIN)`, small beside the friction where the film is slow.
//! **Valid when.** The way that grows does so within an interval of the band; else ordinary marches follow it.
//! **Source.** Derived here.
//! **Checked by.** unproven.

use std::sync::Arc;

use halfmicron_numerics::jet::Jet;

use super::guide::Guide;
use super::march::{Arrival, Closure, Failure, Found, LEVEL, March, Marcher, Mark, Place, Reached, Region};
use super::step::Weighing;

/// Corrections of the flow that touches the phase line, and the margin of enthalpy, in latent heats, that ends them.
const TOUCH_ITERATIONS: usize = 40;
const TOUCHED: f64 = 1e-12;
/// Width, relative, of two flows between which the liquid ends before it touches, and how many of them the touch is still away: all is liquid up
/// to there, and its margin nearly straight in the flow.
const ENDED: f64 = 1e-3;
const WIDTHS_AWAY: f64 = 10.0;
/// How far beyond a flow that dries the film, relative, the touch is looked for.
const BEYOND_DRY: f64 = 1e-3;
/// Corrections in widths of a bracket from which there is nothing within it, and the width of a place from which that is believed.
const FAR: f64 = 5.0;
const BROKEN: f64 = 1e-2;
/// Places in a row that do not come through, after which one next to the first that does is tried, and how near.
const MISSES: usize = 4;
const NEXT_TO: f64 = 1e-6;
/// Share of a correction left out, and shares of the flow by which it is taken back where it is too great already.
const SHY: f64 = 1e-3;
const BACK: [f64; 10] = [1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.05, 0.1, 0.1, 0.1, 0.1];
/// How many of these serve where the flow is known to lie between two.
const BACK_WITHIN: usize = 5;
/// Growth over its first interval above which a stretch begins where liquid touches its boiling point; below, liquid that boils a little before
/// that node comes to it as well.
const SWIFT: f64 = 4.0;
/// Halvings of the bracket of two flows that are to part as late as can be, the width of it that is enough, and how nearly they must be at one.
const MERGING: usize = 30;
const MERGED: f64 = 1e-11;
const AT_ONE: f64 = 1e-3;
/// Specific volume with which a film leaves its boiling point as vapour, over that of the held film: what follows has left it beyond doubt.
const GAIN: f64 = 3.0;
/// Growth of `ln v` over the first step behind that place.
const AWAY: f64 = 0.5;
/// Power with which the mixture takes on, behind a node, the vapour fraction of the next.
const SWIFTNESS: i32 = 2;
/// Growth over which about that step goes.
const STRIDE: f64 = 0.8;
/// Least growth over an interval that a held step damps.
const LEAST_GROWTH: f64 = 0.75;
/// Shares of an interval from which its boiling point is looked for before the node that is touched, and the least share between.
const SOONER: [f64; 3] = [0.7, 0.4, 0.9];
const LEAST_SOONER: f64 = 1e-3;
/// Least vapour fraction of a mixture held at its boiling point, and the halvings in search of it.
const LEAST_FRACTION: f64 = 1e-5;
const FRACTION_HALVINGS: usize = 6;
/// Trials of a place within an interval, and the change of it that ends them.
const PLACE_ITERATIONS: usize = 60;
const PLACED: f64 = 1e-10;
const LEAST_WAY: f64 = 1e-14;
/// Steps of a place from that of the film before: the first, where they end, how far beyond the place expected, and their greatest growth.
const FIRST_STEP: f64 = 1e-3;
const LONGEST_STEP: f64 = 2.0;
const BEYOND: f64 = 1.3;
const MOST_GROWTH: f64 = 30.0;
/// Share of pressure and density with which the exit is met.
const MET: f64 = 1e-10;
/// Least share of an interval at which a stretch is left, and least share of the vapour.
const LEAST_SHARE: f64 = 1e-9;
const LEAST_RISE: f64 = 1e-9;
/// Relative step of pressure, and step of the vapour fraction, with which growth is taken.
const BESIDE: f64 = 1e-5;

/// The stretch of a march that follows the boiling point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Hold {
    /// Number of the mark at which the liquid touches its boiling point.
    pub touch: usize,
    /// Whether two marches, of which the greater flow dries, are still at one there, both as mixtures.
    pub merged: bool,
    /// Whether that mark lies before the node that is touched, which is the one ahead.
    pub sooner: bool,
    /// The next node of the stretch beyond the place at which the film leaves it.
    pub ahead: Mark,
    /// That place.
    pub way: Way,
}

/// A place between two nodes of a stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Way {
    /// Share of the way between them.
    pub part: f64,
    /// Share of the interval.
    pub share: f64,
    /// Whether the stretch begins in this interval.
    pub sudden: bool,
    /// Share of the vapour with which the film leaves: one as vapour, nothing as liquid.
    pub rise: f64,
    /// Whether the exit decides that fraction, at the end of the stretch, instead of the place.
    pub by_rise: bool,
}

impl Way {
    /// Share of the change of the vapour fraction over the interval: faces whose temperature is straight from node to node give each interval
    /// its own, which the mixture takes on soon behind the node.
    pub fn taken(&self) -> f64 {
        if self.sudden { 1.0 } else { 1.0 - (1.0 - self.part).powi(SWIFTNESS) }
    }

    /// Its change with the place.
    pub fn taken_slope(&self) -> f64 {
        if self.sudden { 0.0 } else { f64::from(SWIFTNESS) * (1.0 - self.part).powi(SWIFTNESS - 1) }
    }
}

/// The stretch as far as it can go.
struct Stretch {
    flow: f64,
    /// Up to the node that is touched.
    marks: Vec<Mark>,
    /// The node that is touched and those after it.
    nodes: Vec<Mark>,
    /// Whether it begins as a mixture, where two marches are still at one, instead of as a liquid that touches its boiling point.
    merged: bool,
    /// Whether the first of its nodes is a place before the node that is touched.
    sooner: bool,
}

impl Stretch {
    /// The last of the ways to leave: at its beginning with ever more vapour, ever later as vapour, at its end with ever less, ever earlier as
    /// liquid. The later in this row, the higher stands the pressure at the exit.
    fn last_way(&self) -> usize {
        2 * self.nodes.len() - usize::from(self.sooner)
    }

    /// The first of them: what begins as a mixture leaves with its vapour.
    fn first_way(&self) -> usize {
        usize::from(self.merged)
    }

    /// About where in that row a film left its stretch that came before this one.
    fn place(&self, hold: &Hold) -> Option<f64> {
        let length = (self.nodes.len() - 1) as f64;
        let first = self.nodes[1..].iter().position(|node| node.interval == hold.ahead.interval)? as f64;
        let Way { part, rise, by_rise, .. } = hold.way;
        let place = match (by_rise, rise > 0.0) {
            (true, _) if part < 0.5 => rise,
            (true, _) => length + 2.0 - rise,
            (false, true) => 1.0 + first + part,
            (false, false) => 2.0 * length + 2.0 - (first + part),
        };
        Some(place.clamp(self.first_way() as f64, self.last_way() as f64))
    }

    /// The interval of the stretch at which it is left, and how.
    fn way(&self, place: f64) -> (usize, Way) {
        let length = (self.nodes.len() - 1) as f64;
        let (along, rise, by_rise) = match place {
            p if p < 1.0 => (0.0, p.max(LEAST_RISE), true),
            p if p <= length + 1.0 => (p - 1.0, 1.0, false),
            p if p < length + 2.0 => (length, (length + 2.0 - p).max(LEAST_RISE), true),
            p => (2.0 * length + 2.0 - p, 0.0, false),
        };
        let first = (along.floor() as usize).min(self.nodes.len() - 2);
        let part = (along - first as f64).clamp(LEAST_SHARE, 1.0 - LEAST_SHARE);
        let from = if self.sooner && first == 0 { self.nodes[0].share } else { 0.0 };
        let sudden = first == usize::from(self.sooner) && !self.merged;
        (first, Way { part, share: from + part * (1.0 - from), sudden, rise, by_rise })
    }
}

/// A way to leave a stretch with what is left of the driving force at the exit, where the march comes through.
#[derive(Clone, Copy)]
struct Left {
    place: f64,
    excess: Option<f64>,
}

impl Left {
    /// Whether it must be left later: what does not come through has fallen too low.
    fn falls_short(&self) -> bool {
        self.excess.is_none_or(|excess| excess <= 0.0)
    }

    /// Where the straight line through both meets the exit; not a number where there is none.
    fn secant(&self, other: &Self) -> f64 {
        match (self.excess, other.excess) {
            (Some(here), Some(there)) => self.place - here * (self.place - other.place) / (here - there),
            _ => f64::NAN,
        }
    }
}

impl Marcher<'_> {
    /// The film that follows its boiling point from about the place where a march of nearly its flow comes nearest to it; nothing where there
    /// is none. `dries` is a flow at which the film is known to dry. Gives the flow and the march.
    fn along_saturation(&self, flow: f64, dries: f64, near: &March, least_growth: f64) -> Option<(f64, Arc<March>)> {
        let touched = match near.hold.as_deref() {
            Some(hold) if hold.merged => return None,
            Some(hold) => vec![near.marks[hold.touch].interval],
            None => self.near_boiling(near),
        };
        let mut intervals = touched.clone();
        for beside in touched.iter().flat_map(|&interval| [interval + 1, interval.saturating_sub(1)]) {
            if !intervals.contains(&beside) {
                intervals.push(beside);
            }
        }
        for interval in intervals {
            // A state that the fluid refuses on the way need not be met by the film itself.
            let back = if near.hold.is_some() { BACK.len() } else { BACK_WITHIN };
            let Ok(Some(stretch)) = self.stretch_from(interval, flow, dries, &BACK[..back]) else { continue };
            if self.first_growth(&stretch).is_ok_and(|growth| growth > least_growth)
                && let Ok(Some(found)) = self.left(&stretch, near.hold.as_deref())
            {
                return Some(found);
            }
        }
        None
    }

    /// Growth over the first interval of a stretch.
    fn first_growth(&self, stretch: &Stretch) -> Result<f64, Failure> {
        let node = &stretch.nodes[stretch.nodes.len().min(2 + usize::from(stretch.sooner)) - 1];
        self.growth(node.interval, &Found { state: node.state, share: 1.0, by_flow: [0.0; 3] }, stretch.flow)
    }

    /// The stretch on which two marches are still at one before the greater flow dries.
    fn merged(&self, mut low: f64, mut high: f64) -> Result<Option<Stretch>, Failure> {
        self.spent.set(0);
        for _ in 0..MERGING {
            if high - low < MERGED * high {
                break;
            }
            let middle = 0.5 * (low + high);
            match self.run(middle) {
                Ok(march) if march.excess > 0.0 => low = middle,
                _ => high = middle,
            }
        }
        let lower = self.run(low)?;
        let mut upper = Vec::new();
        // How far it comes is all that is asked.
        let _ = self.run_over(high, &mut upper);
        let boils = |mark: &&Mark| mark.closure == Closure::Node && mark.mixed && self.region(&mark.state) == Region::Mixture;
        let at_one = |index: &usize| {
            let mark = &lower.marks[*index];
            let Some(line) = self.line(mark.state.pressure_pa) else { return false };
            let above = mark.state.enthalpy_j_per_kg - line.liquid.enthalpy_j_per_kg;
            upper.iter().filter(boils).any(|other| {
                other.interval == mark.interval && (other.state.enthalpy_j_per_kg - mark.state.enthalpy_j_per_kg).abs() < AT_ONE * above
            })
        };
        let Some(last) = (1..lower.marks.len()).filter(|index| boils(&&lower.marks[*index])).filter(at_one).last() else {
            return Ok(None);
        };
        let stretch = self.held(low, lower.marks[..last].to_vec(), lower.marks[last], None)?;
        Ok(stretch.map(|stretch| Stretch { merged: true, ..stretch }))
    }

    /// The interval at whose end a liquid comes nearest to its boiling point, and that in which it begins to boil.
    fn near_boiling(&self, march: &March) -> Vec<usize> {
        let fluid = self.band.input.fluid;
        let boils = march.marks.iter().position(|mark| mark.closure == Closure::Boil);
        let margin = |mark: &Mark| Some(mark.state.pressure_pa / fluid.saturation_pressure(mark.state.temperature_k).value()?);
        let liquid =
            march.marks[..boils.unwrap_or(march.marks.len())].iter().skip(1).filter(|mark| mark.closure == Closure::Node && !mark.mixed);
        let margins = liquid.filter_map(|mark| Some((margin(mark)?, mark.interval)));
        let nearest = margins.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, interval)| interval);
        nearest.into_iter().chain(boils.map(|index| march.marks[index].interval)).collect()
    }

    /// The stretch that begins where the liquid touches its boiling point at the end of an interval, if one begins there at a flow from one near it
    /// up to one that dries the film.
    fn stretch_from(&self, interval: usize, near: f64, dries: f64, back: &[f64]) -> Result<Option<Stretch>, Failure> {
        let last = self.band.len() - 2;
        if interval >= last {
            return Ok(None);
        }
        // From below, where all is liquid: a flow above that of touching boils before the node.
        let (mut below, mut above) = (0.0, f64::INFINITY);
        let mut flow = near;
        let mut back = back.iter();
        for _ in 0..TOUCH_ITERATIONS {
            let Ok(Some((marks, touched))) = self.liquid_to(interval, flow) else {
                above = flow;
                flow = if below > 0.0 {
                    0.5 * (below + above)
                } else if let Some(back) = back.next() {
                    flow * (1.0 - back)
                } else {
                    return Ok(None);
                };
                continue;
            };
            below = flow;
            let line = self.line(touched.state.pressure_pa).ok_or(Failure::NoRoot)?;
            let margin = line.liquid.enthalpy_j_per_kg - touched.state.enthalpy_j_per_kg;
            let change = touched.by_flow[1] - line.liquid.enthalpy_by_pressure * touched.by_flow[0];
            let step = margin / change;
            if !(step.is_finite() && step >= 0.0 && step < 0.5 * flow && flow + step <= (1.0 + BEYOND_DRY) * dries) {
                return Ok(None);
            }
            if margin < TOUCHED * line.latent_heat_j_per_kg() {
                let sooner = self.sooner(&marks, &touched, flow)?;
                return self.held(flow, marks, touched, sooner);
            }
            let width = above - below;
            if width < ENDED * below && step > WIDTHS_AWAY * width {
                return Ok(None);
            }
            // A little less than all of it, to stay below.
            let next = flow + step * (1.0 - SHY);
            flow = if next < above { next } else { 0.5 * (below + above) };
        }
        Ok(None)
    }

    /// Stations up to the node at the end of an interval, and that node, where the fluid is still liquid.
    fn liquid_to(&self, interval: usize, flow: f64) -> Result<Option<(Vec<Mark>, Mark)>, Failure> {
        let mut marks = Vec::new();
        let first = self.enter(flow, &mut marks)?;
        let Reached::Stop(place) = self.run_on(flow, first, Some(interval), &mut marks)? else { return Ok(None) };
        if place.region != Region::Dense || marks.iter().any(|mark| mark.mixed) {
            return Ok(None);
        }
        let found = self.node(interval, &place.here, Region::Dense, flow, None)?;
        Ok((!self.crosses(Region::Dense, &found.state)).then(|| (marks, mark(interval, &found, Closure::Node, false))))
    }

    /// Where a liquid that touches the node at the end of an interval is at its boiling point on the way there already: between nodes neither its
    /// pressure nor that of saturation is straight.
    fn sooner(&self, marks: &[Mark], touched: &Mark, flow: f64) -> Result<Option<Mark>, Failure> {
        let Some(before) = marks.last() else { return Ok(None) };
        let here = Found { state: before.state, share: 0.0, by_flow: [0.0; 3] };
        for share in SOONER {
            let pressure = before.state.pressure_pa + share * (touched.state.pressure_pa - before.state.pressure_pa);
            let Ok((state, _)) = self.saturated(pressure, Closure::Boil) else { continue };
            let guess = Found { state, share, by_flow: [0.0; 3] };
            match self.solve(touched.interval, &here, Closure::Boil, Region::Dense, flow, guess) {
                Ok(found) if found.share > LEAST_SHARE && found.share < 1.0 - LEAST_SOONER => {
                    return Ok(Some(mark(touched.interval, &found, Closure::Boil, false)));
                }
                Ok(_) | Err(Failure::NoRoot) => {}
                Err(error) => return Err(error),
            }
        }
        Ok(None)
    }

    /// The nodes of a stretch, as far as the mixture goes.
    fn held(&self, flow: f64, marks: Vec<Mark>, touched: Mark, sooner: Option<Mark>) -> Result<Option<Stretch>, Failure> {
        let mut nodes: Vec<Mark> = sooner.into_iter().chain([touched]).collect();
        for interval in touched.interval + 1..self.band.len() - 1 {
            let before = &nodes[nodes.len() - 1];
            let here = Found { state: before.state, share: 0.0, by_flow: [0.0; 3] };
            match self.held_node(interval, &here, flow) {
                Ok(found) => nodes.push(mark(interval, &found, Closure::Hold, true)),
                Err(Failure::NoRoot) => break,
                Err(error) => return Err(error),
            }
        }
        Ok((nodes.len() > 1).then_some(Stretch { flow, marks, nodes, merged: false, sooner: sooner.is_some() }))
    }

    /// The node at the end of an interval, the mixture held at its boiling point.
    fn held_node(&self, interval: usize, here: &Found, flow: f64) -> Result<Found, Failure> {
        let saturation = self.band.input.fluid.saturation_pressure(self.band.face[interval + 1]).value().ok_or(Failure::NoRoot)?;
        let line = self.line(saturation).ok_or(Failure::NoRoot)?;
        let causes = self.band.causes(interval, Jet::variable(flow, 3));
        let up = self.upstream(interval, here, &causes);
        let boiling = |fraction: f64| -> Result<Found, Failure> {
            let enthalpy = line.liquid.enthalpy_j_per_kg + fraction * line.latent_heat_j_per_kg();
            Ok(Found { state: self.inside(saturation, enthalpy)?, share: 1.0, by_flow: [0.0; 3] })
        };
        // The fraction at which what drives equals what resists, by the steps in which the volume grows.
        let drive = |fraction: f64| -> Result<f64, Failure> {
            Ok(self.rows(interval, &up, &boiling(fraction)?.state, 1.0, Closure::Hold, Weighing::Held, &causes)?[0].value)
        };
        let mut fraction = LEAST_FRACTION;
        while fraction < 1.0 && drive(fraction)? < 0.0 {
            fraction *= 2.0;
        }
        let (mut low, mut high) = (0.5 * fraction, fraction.min(1.0));
        for _ in 0..FRACTION_HALVINGS {
            let middle = 0.5 * (low + high);
            if drive(middle)? < 0.0 { low = middle } else { high = middle }
        }
        let found = self.solve(interval, here, Closure::Hold, Region::Mixture, flow, boiling(0.5 * (low + high))?)?;
        let stays = self.region(&found.state) == Region::Mixture && self.growth(interval, &found, flow)? > LEAST_GROWTH;
        if stays { Ok(found) } else { Err(Failure::NoRoot) }
    }

    /// Growth, over an interval, of what stands off the slow film.
    fn growth(&self, interval: usize, here: &Found, flow: f64) -> Result<f64, Failure> {
        let span = (self.band.radius[interval + 1] - self.band.radius[interval]).abs();
        let line = self.line(here.state.pressure_pa).ok_or(Failure::NoRoot)?;
        let (dp, dh) = (BESIDE * here.state.pressure_pa, BESIDE * line.latent_heat_j_per_kg());
        let at = |p: f64, h: f64| -> Result<(f64, f64), Failure> {
            let state = self.inside(here.state.pressure_pa + p, here.state.enthalpy_j_per_kg + h)?;
            self.gradients(interval, &Found { state, ..*here }, Region::Mixture, flow)
        };
        let heating = (at(dp, 0.0)?.1 - at(-dp, 0.0)?.1) / (2.0 * dp);
        let falling = (at(0.0, dh)?.0 - at(0.0, 0.0)?.0) / dh;
        Ok((heating * falling).max(0.0).sqrt() * span)
    }

    /// The march that leaves a stretch so that the exit is met, sought from about where the film before left it.
    fn left(&self, stretch: &Stretch, before: Option<&Hold>) -> Result<Option<(f64, Arc<March>)>, Failure> {
        let around = before.and_then(|hold| stretch.place(hold)).map(|place| self.exit_around(stretch, place)).transpose()?.flatten();
        let bracket = if around.is_some() { around } else { self.exit_between(stretch)? };
        let Some([mut low, mut high]) = bracket else { return Ok(None) };
        let mut place = low.secant(&high);
        let mut known = if low.excess.is_some() { low } else { high };
        let mut misses = 0;
        for round in 0..PLACE_ITERATIONS {
            let width = high.place - low.place;
            if width < LEAST_WAY {
                break;
            }
            let next_to = misses == MISSES && width > NEXT_TO;
            if next_to {
                place = high.place - NEXT_TO;
            } else if !(place > low.place && place < high.place) || round % 5 == 4 {
                place = 0.5 * (low.place + high.place);
            }
            let march = self.leave_at(stretch, place)?;
            if march.is_none() && next_to {
                return Ok(None);
            }
            misses = if march.is_none() { misses + 1 } else { 0 };
            let here = Left { place, excess: march.as_ref().map(|march| march.excess) };
            let next = here.secant(&known);
            if let Some(march) = march {
                let scale = march.marks.last().map_or(1.0, |mark| mark.state.density_kg_per_m3) * self.entry.pressure_pa;
                let arrives = march.arrival == Arrival::AtTheExit;
                if arrives && march.excess.abs() < MET * scale && (march.excess == 0.0 || (next - place).abs() < PLACED) {
                    return Ok(Some((stretch.flow, march)));
                }
                if width < BROKEN && march.excess.abs() > FAR * MET * scale && (next - place).abs() > FAR * width {
                    return Ok(None);
                }
            }
            if here.falls_short() {
                low = here
            } else {
                high = here
            }
            if here.excess.is_some() {
                known = here;
            }
            place = next;
        }
        Ok(None)
    }

    /// Two neighbouring ways of all between which the exit is met.
    fn exit_between(&self, stretch: &Stretch) -> Result<Option<[Left; 2]>, Failure> {
        let (mut early, mut late) = (stretch.first_way(), stretch.last_way());
        let mut ends = [self.left_at(stretch, early as f64)?, self.left_at(stretch, late as f64)?];
        if !ends[0].falls_short() || ends[1].falls_short() {
            return Ok(None);
        }
        while late - early > 1 {
            let middle = (early + late) / 2;
            let left = self.left_at(stretch, middle as f64)?;
            if left.falls_short() { (early, ends[0]) = (middle, left) } else { (late, ends[1]) = (middle, left) }
        }
        Ok(Some(ends))
    }

    /// Two ways about a place between which the exit is met; nothing where they are far.
    fn exit_around(&self, stretch: &Stretch, place: f64) -> Result<Option<[Left; 2]>, Failure> {
        let (first, last) = (stretch.first_way() as f64, stretch.last_way() as f64);
        let mut here = self.left_at(stretch, place)?;
        let mut step = FIRST_STEP;
        while step < LONGEST_STEP {
            let there = if here.falls_short() { here.place + step } else { here.place - step };
            if here.excess.is_none() || !(first..=last).contains(&there) {
                return Ok(None);
            }
            let there = self.left_at(stretch, there)?;
            match (here.falls_short(), there.falls_short()) {
                (true, false) => return Ok(Some([here, there])),
                (false, true) => return Ok(Some([there, here])),
                _ => {}
            }
            let ahead = (here.secant(&there) - there.place).abs();
            step = if ahead.is_finite() { (BEYOND * ahead).clamp(step, MOST_GROWTH * step) } else { MOST_GROWTH * step };
            here = there;
        }
        Ok(None)
    }

    fn left_at(&self, stretch: &Stretch, place: f64) -> Result<Left, Failure> {
        Ok(Left { place, excess: self.leave_at(stretch, place)?.map(|march| march.excess) })
    }

    /// The march that leaves a stretch in one of its ways; nothing where it does not come through.
    fn leave_at(&self, stretch: &Stretch, place: f64) -> Result<Option<Arc<March>>, Failure> {
        let (first, way) = stretch.way(place);
        let (before, ahead) = (&stretch.nodes[first], &stretch.nodes[first + 1]);
        let (pressure, enthalpy) = self.along(&way, before, ahead)?;
        let region = if way.rise > 0.0 { Region::Mixture } else { Region::Dense };
        let state = if way.rise > 0.0 { self.inside(pressure, enthalpy)? } else { self.state(pressure, enthalpy)? };
        let here = Found { state, share: way.share, by_flow: [0.0; 3] };
        let mut marks = stretch.marks.clone();
        let touch = marks.len();
        // What lies before the node that is touched is no station of a film that comes to it as liquid.
        let sooner = stretch.sooner && first == 0;
        marks.extend_from_slice(&stretch.nodes[usize::from(stretch.sooner && first > 0)..=first]);
        marks.push(mark(ahead.interval, &here, Closure::Along, true));
        let hold = Hold { touch, merged: stretch.merged, sooner, ahead: *ahead, way };
        *self.guides.borrow_mut() = [Guide::default(), Guide::default()];
        let start = Place { interval: ahead.interval, here, region };
        let begun = if way.rise > 0.0 { self.away(stretch.flow, start, &way, &mut marks) } else { Ok(Reached::Stop(start)) };
        let through = begun.and_then(|reached| match reached {
            Reached::Exit(march) => Ok(march),
            Reached::Stop(place) => match self.run_on(stretch.flow, place, None, &mut marks)? {
                Reached::Exit(march) => Ok(march),
                Reached::Stop(_) => Err(Failure::NoRoot),
            },
        });
        match through {
            Ok(march) => Ok(Some(Arc::new(March { hold: Some(Box::new(hold)), ..march }))),
            // What falls too low on the way may have no states either.
            Err(_) => Ok(None),
        }
    }

    /// Pressure and enthalpy at a place between two nodes of a stretch.
    fn along(&self, way: &Way, before: &Mark, ahead: &Mark) -> Result<(f64, f64), Failure> {
        let pressure = before.state.pressure_pa + way.part * (ahead.state.pressure_pa - before.state.pressure_pa);
        let boiling = |p: f64| -> Result<f64, Failure> { Ok(self.line(p).ok_or(Failure::NoRoot)?.liquid.enthalpy_j_per_kg) };
        let above = |mark: &Mark| -> Result<f64, Failure> { Ok(mark.state.enthalpy_j_per_kg - boiling(mark.state.pressure_pa)?) };
        let (from, to) = (above(before)?, above(ahead)?);
        let (doubling, _) = self.doubling(pressure).ok_or(Failure::NoRoot)?;
        Ok((pressure, boiling(pressure)? + way.rise * (GAIN * (from + way.taken() * (to - from)) + (GAIN - 1.0) * doubling)))
    }

    /// Enthalpy that doubles the specific volume of saturated liquid, and its change with the pressure along the phase line.
    fn doubling(&self, pressure: f64) -> Option<(f64, f64)> {
        let line = self.line(pressure)?;
        let (liquid, vapour) = (&line.liquid, &line.vapour);
        let latent = line.latent_heat_j_per_kg();
        let ratio = liquid.density_kg_per_m3 / vapour.density_kg_per_m3;
        let ratio_slope =
            ratio * (liquid.density_by_pressure / liquid.density_kg_per_m3 - vapour.density_by_pressure / vapour.density_kg_per_m3);
        let doubling = latent / (ratio - 1.0);
        let slope = (vapour.enthalpy_by_pressure - liquid.enthalpy_by_pressure - doubling * ratio_slope) / (ratio - 1.0);
        Some((doubling, slope))
    }

    /// Change of that pressure and enthalpy with both nodes, given by columns, and of pressure, enthalpy and share with what the exit decides.
    pub(super) fn along_slopes(&self, hold: &Hold, before: &Mark, nodes: [&[Vec<f64>; 3]; 2]) -> Option<([Vec<f64>; 2], [f64; 3])> {
        let (way, ahead) = (&hold.way, &hold.ahead);
        let slope = |p: f64| self.line(p).map(|line| line.liquid.enthalpy_by_pressure);
        let (p, q) = (before.state.pressure_pa, ahead.state.pressure_pa);
        let middle = p + way.part * (q - p);
        let (doubling, by_pressure) = self.doubling(middle)?;
        let here = slope(middle)? + way.rise * (GAIN - 1.0) * by_pressure;
        let (at_before, at_ahead) = (slope(p)?, slope(q)?);
        let above = |mark: &Mark| Some(mark.state.enthalpy_j_per_kg - self.line(mark.state.pressure_pa)?.liquid.enthalpy_j_per_kg);
        let [from, to] = nodes;
        let pressure: Vec<f64> = from[0].iter().zip(&to[0]).map(|(a, b)| a + way.part * (b - a)).collect();
        let enthalpy = (0..pressure.len()).map(|column| {
            let a = from[1][column] - at_before * from[0][column];
            let b = to[1][column] - at_ahead * to[0][column];
            here * pressure[column] + way.rise * GAIN * (a + way.taken() * (b - a))
        });
        let (start, end) = (above(before)?, above(ahead)?);
        let decided = if way.by_rise {
            [0.0, GAIN * (start + way.taken() * (end - start)) + (GAIN - 1.0) * doubling, 0.0]
        } else {
            let from = if hold.sooner { before.share } else { 0.0 };
            [q - p, here * (q - p) + way.rise * GAIN * way.taken_slope() * (end - start), 1.0 - from]
        };
        Some(([pressure.clone(), enthalpy.collect()], decided))
    }

    /// From a place of the slow film to the first level above it.
    fn away(&self, flow: f64, from: Place, way: &Way, marks: &mut Vec<Mark>) -> Result<Reached, Failure> {
        let Place { mut interval, mut here, region } = from;
        let level = self.first_target(&here, way).ok_or(Failure::NoRoot)?.0;
        let last = self.band.len() - 2;
        loop {
            if let Some(found) = self.first_level(interval, &here, level, flow)? {
                marks.push(mark(interval, &found, Closure::Away(level), true));
                let region = self.region(&found.state);
                return if region == Region::Mixture {
                    Ok(Reached::Stop(Place { interval, here: found, region }))
                } else {
                    Err(Failure::NoRoot)
                };
            }
            if interval == last {
                return self.leave(interval, &here, region, flow, None, marks).map(Reached::Exit);
            }
            let rest = self.drifted(interval, &here, flow, 1.0 - here.share);
            let found = self.solve(interval, &here, Closure::AwayNode, Region::Mixture, flow, Found { share: 1.0, ..rest })?;
            if self.region(&found.state) != Region::Mixture || -found.state.density_kg_per_m3.ln() > level {
                return Err(Failure::NoRoot);
            }
            marks.push(mark(interval, &found, Closure::AwayNode, true));
            here = Found { share: 0.0, by_flow: [0.0; 3], ..found };
            interval += 1;
        }
    }

    /// The first level of `ln v` behind the place where a film leaves its boiling point, and its change with `ln v` there and with the rise.
    ///
    /// With ever less vapour it becomes the first of the fixed levels that a liquid comes to which begins to boil.
    pub(super) fn first_target(&self, here: &Found, way: &Way) -> Option<(f64, f64, f64)> {
        let now = -here.state.density_kg_per_m3.ln();
        let liquid = -self.line(here.state.pressure_pa)?.liquid.density_kg_per_m3.ln();
        let fixed = ((liquid / LEVEL + 1e-6).floor() + 1.0) * LEVEL;
        Some((way.rise * (now + AWAY) + (1.0 - way.rise) * fixed, way.rise, now + AWAY - fixed))
    }

    /// The place of an interval at which a level is reached.
    fn first_level(&self, interval: usize, here: &Found, level: f64, flow: f64) -> Result<Option<Found>, Failure> {
        let stride = (STRIDE / self.growth(interval, here, flow)?).min(1.0);
        let (by_pressure, _) = self.gradients(interval, here, Region::Mixture, flow)?;
        let fall = by_pressure * (self.band.radius[interval + 1] - self.band.radius[interval]).abs() * stride;
        // What stands off grows with the square of the way: from too far Newton comes down to the root ahead, from too near to the one behind.
        for part in [1.5, 4.0, 12.0] {
            let pressure = (here.state.pressure_pa + part * fall).max(0.3 * here.state.pressure_pa);
            let guess = Found { state: self.at_level(pressure, level)?, share: here.share + part * stride, by_flow: [0.0; 3] };
            match self.solve(interval, here, Closure::Away(level), Region::Mixture, flow, guess) {
                Ok(found) if found.share > here.share => return Ok((found.share <= 1.0).then_some(found)),
                Ok(_) | Err(Failure::NoRoot) => {}
                Err(error) => return Err(error),
            }
        }
        Ok(None)
    }

    /// The film that follows its boiling point as the march before did, if that one did.
    pub(super) fn as_before(&self, near: Option<f64>) -> Option<(f64, Arc<March>)> {
        let before = self.guides.borrow()[0].march().cloned();
        match (before, near) {
            (Some(march), Some(flow)) if march.hold.is_some() => self.along_saturation(flow, f64::INFINITY, &march, 0.0),
            _ => None,
        }
    }

    /// The same where a liquid march of a flow just too small is known and one that dries the film, and what stands off the stretch grows at once.
    pub(super) fn beyond_liquid(&self, low: f64, high: f64, lower: &March) -> Option<(f64, Arc<March>)> {
        self.along_saturation(low, high, lower, SWIFT)
    }

    /// The same between two flows so near that they part only on the stretch.
    pub(super) fn between(&self, low: f64, high: f64, lower: &March) -> Option<(f64, Arc<March>)> {
        let boils = lower.marks.iter().any(|mark| mark.mixed);
        if boils
            && let Ok(Some(stretch)) = self.merged(low, high)
            && let Ok(Some(found)) = self.left(&stretch, None)
        {
            return Some(found);
        }
        self.spent.set(0);
        self.along_saturation(low, high, lower, 0.0)
    }
}

fn mark(interval: usize, found: &Found, closure: Closure, mixed: bool) -> Mark {
    Mark { interval, share: found.share, state: found.state, closure, mixed, by_flow: found.by_flow }
}
