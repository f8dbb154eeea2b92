//! The march before as a guide to the next.
//!
//! Marches that follow each other differ little: in flow while one film is sought, in gap and temperature from film to film. So each station
//! is looked for first where the march before had it, moved with the change of the flow. What is found must be what the march would have
//! found by itself; where it is not, or nothing is found, the march goes its own way.

use std::sync::Arc;

use halfmicron_properties::FluidState;

use super::march::{Closure, Failure, Found, LEVEL, March, Marcher, Mark, Region};

/// Rounding of a level, in levels.
const ON_LEVEL: f64 = 1e-6;
/// Least way that counts as a step, in shares of an interval.
const NO_STEP: f64 = 1e-12;

/// The march before, and the station of it that comes next.
#[derive(Default)]
pub(super) struct Guide {
    march: Option<(Arc<March>, f64)>,
    next: Option<usize>,
}

/// A station expected: how its step ends and about where.
pub(super) struct Hint {
    pub closure: Closure,
    pub guess: Found,
}

impl Guide {
    /// Guide by a march at a flow.
    pub fn new(march: Arc<March>, flow: f64) -> Self {
        Self { march: Some((march, flow)), next: None }
    }

    /// The march.
    pub fn march(&self) -> Option<&Arc<March>> {
        self.march.as_ref().map(|(march, _)| march)
    }

    /// Begin again at the entry.
    pub fn begin(&mut self) {
        self.next = Some(1);
    }

    /// Go on from a station that was found. Where the march before had another one there, the next of its kind is looked for: a front moves
    /// from interval to interval with all its levels.
    pub fn pass(&mut self, interval: usize, closure: Closure, mixed: bool) {
        let Some((march, _)) = &self.march else { return };
        let marks = &march.marks;
        let expected = self.next.and_then(|index| marks.get(index));
        let same = |mark: &Mark| mark.closure == closure && (mark.interval == interval || closure != Closure::Node);
        self.next = match closure {
            _ if expected.is_some_and(same) => self.next.map(|index| index + 1),
            // In a front the levels go on; nodes lie between them wherever they fall.
            Closure::Node if mixed && expected.is_some() => self.next,
            Closure::Node => (1..marks.len()).find(|&index| marks[index].interval == interval + 1),
            Closure::Share(_) => self.next,
            _ => (1..marks.len()).filter(|&index| same(&marks[index])).min_by_key(|&i| marks[i].interval.abs_diff(interval)).map(|i| i + 1),
        };
    }

    /// The index of the station that comes next in `interval`.
    fn expected(&mut self, interval: usize, region: Region) -> Option<(&March, usize, f64)> {
        let (march, flow) = self.march.as_ref()?;
        let mut index = self.next?;
        while region == Region::Mixture
            && march.marks.get(index).is_some_and(|mark| mark.closure == Closure::Node && mark.interval != interval)
        {
            index += 1;
        }
        self.next = Some(index);
        (index < march.marks.len()).then_some((&**march, index, *flow))
    }
}

impl Marcher<'_> {
    /// The station that the march before had next, moved with the flow and with the station `here`.
    pub(super) fn hint(&self, interval: usize, here: &Found, region: Region, flow: f64) -> Option<Hint> {
        self.guides.borrow_mut().iter_mut().find_map(|guide| self.hint_of(guide, interval, here, region, flow))
    }

    fn hint_of(&self, guide: &mut Guide, interval: usize, here: &Found, region: Region, flow: f64) -> Option<Hint> {
        let (march, index, flow_before) = guide.expected(interval, region)?;
        let (before, mark) = (&march.marks[index - 1], &march.marks[index]);
        let change = flow - flow_before;
        let moved =
            |mark: &Mark| [mark.state.pressure_pa + change * mark.by_flow[0], mark.state.enthalpy_j_per_kg + change * mark.by_flow[1]];
        let [mut p, mut h] = moved(mark);
        let mut share = mark.share + change * mark.by_flow[2];
        if matches!(mark.closure, Closure::Node | Closure::Exit | Closure::Short) {
            if mark.interval != interval {
                return None;
            }
        } else {
            // A front keeps its shape where it moves: the way from station to station says more than the place.
            let [from_p, from_h] = moved(before);
            let begun = before.interval == mark.interval && before.closure != Closure::Node;
            let from_share = if begun { before.share + change * before.by_flow[2] } else { 0.0 };
            p += here.state.pressure_pa - from_p;
            h += here.state.enthalpy_j_per_kg - from_h;
            share += here.share - from_share;
        }
        if !(p > 0.3 * mark.state.pressure_pa && p < 3.0 * mark.state.pressure_pa && h.is_finite() && share.is_finite()) {
            return None;
        }
        let state = match (region, mark.closure) {
            (_, Closure::Flash | Closure::Share(_)) => return None,
            (Region::Mixture, Closure::Node) => self.inside(p, h),
            _ => self.kept(p, h, mark.closure, region).map(|(state, _)| state),
        };
        Some(Hint { closure: mark.closure, guess: Found { state: state.ok()?, share: share.min(1.0), by_flow: [0.0; 3] } })
    }

    /// The station hinted at, if it is there and is the one that this march would come to.
    pub(super) fn hinted(
        &self,
        interval: usize,
        here: &Found,
        region: Region,
        flow: f64,
        hint: &Hint,
    ) -> Result<Option<(Closure, Found, Region)>, Failure> {
        let exit = interval + 2 == self.band.len();
        let closure = hint.closure;
        let next = match (region, closure) {
            (Region::Dense, Closure::Boil) => Region::Mixture,
            // At the edge a gas may choke before it meets the line: that is looked into first.
            (Region::Light, Closure::Dew) if !exit => Region::Mixture,
            (Region::Dense | Region::Light, Closure::Level(_)) => region,
            (Region::Mixture, Closure::Node | Closure::Level(_)) => Region::Mixture,
            (Region::Mixture, Closure::Dew) => Region::Light,
            (Region::Mixture, Closure::Boil) => Region::Dense,
            _ => return Ok(None),
        };
        if let Closure::Level(level) = closure
            && !is_next_level(here, level)
        {
            return Ok(None);
        }
        let found = match self.solve(interval, here, closure, region, flow, hint.guess) {
            Ok(found) => found,
            Err(Failure::NoRoot) => return Ok(None),
            Err(error) => return Err(error),
        };
        // A liquid that is at its boiling point only between two nodes passes for liquid.
        if (region, closure) == (Region::Dense, Closure::Boil)
            && !exit
            && let Ok(node) = self.node(interval, here, region, flow, None)
            && !self.crosses(region, &node.state)
        {
            return Ok(None);
        }
        let forward = if closure == Closure::Node { found.share == 1.0 } else { found.share > here.share + NO_STEP && found.share <= 1.0 };
        let meant = match (region, closure) {
            (Region::Mixture, Closure::Node) => self.region(&found.state) == Region::Mixture && passes_no_level(here, &found.state),
            (Region::Mixture, Closure::Level(_)) => {
                self.region(&found.state) == Region::Mixture && self.subsonic(interval, here, &found, region, flow)?
            }
            (Region::Mixture, _) => passes_no_level(here, &found.state) && self.subsonic(interval, here, &found, region, flow)?,
            (_, Closure::Level(_)) => !self.crosses(region, &found.state) && self.subsonic(interval, here, &found, region, flow)?,
            _ => true,
        };
        Ok((forward && meant).then_some((closure, found, next)))
    }
}

/// Place of a state among the levels of `ln v`.
fn place_of(state: &FluidState) -> f64 {
    -state.density_kg_per_m3.ln() / LEVEL
}

/// The levels next to a station, expanding and compressed.
fn next_levels(state: &FluidState) -> [f64; 2] {
    let place = place_of(state);
    [(place + ON_LEVEL).floor() + 1.0, (place - ON_LEVEL).ceil() - 1.0]
}

fn is_next_level(here: &Found, level: f64) -> bool {
    next_levels(&here.state).iter().any(|next| (next - level / LEVEL).abs() < 0.5)
}

/// Whether no level lies between a station and a state.
pub(super) fn passes_no_level(here: &Found, state: &FluidState) -> bool {
    let [up, down] = next_levels(&here.state);
    let place = place_of(state);
    place < up && place > down
}
