//! Marching a film along its flow at a given mass flow, and finding that mass flow.
//!
//! **What.** Stations from the entry to the exit: at every node of the band, where the fluid begins or ceases to boil, and in the two-phase
//! region at fixed levels of the specific volume, so that a front of any narrowness is followed without cells and a result depends smoothly on
//! its causes.
//! **Equation.** Each step solves mass, momentum and energy ([`super::step`]) for pressure, enthalpy and place of the next station. The mass flow
//! is the one that brings the pressure at the exit down to the low pressure; where the equations cannot follow that far it is the
//! greatest that passes (choked), and the exit pressure stands above the low pressure.
//! **Valid when.** Steady film, flow in one direction, subsonic inside the band. A march whose last step was not followed to the exit is no film:
//! where the fluid would freeze on the way there, as liquid carbon dioxide may on its way to the air, that is named.
//! **Source.** Derived here; choking as the greatest flow: Zuk, Ludwig and Johnson, NASA TN D-6668 (1972).
//! **Checked by.** F1, F2, F3, K3, K4, P1.

use std::cell::{Cell, RefCell};
use std::sync::Arc;

use halfmicron_properties::{FluidState, PropertyError};

use super::FilmError;
use super::guide::{Guide, Hint, passes_no_level};
use super::hold::Hold;
use super::step::{Band, Weighing};

/// Steps of `ln v` between the levels at which the two-phase region is cut.
pub(super) const LEVEL: f64 = 0.3;
/// Steps of a march beyond the one that each node of the band takes: levels, phase lines and shortened steps.
const MOST_STEPS_BETWEEN: usize = 200;
/// Evaluations of a step for one film, by node of the band: a film takes some ten at each.
const MOST_EVALUATIONS_PER_NODE: u32 = 1600;
/// Shortened steps that a march may take. Flows that creep up to a place without an answer would take more: with ten instead of one, 180 of the
/// slowest points of `xtask stress` took a sixth more work, and two fewer were solved.
const MOST_SHORT: usize = 1;
/// Crossings of the phase line in a row without getting on, in shares of an interval, after which a march is stuck.
const MOST_CROSSINGS: usize = 12;
const STANDSTILL: f64 = 1e-9;
/// Share of an interval that is no step.
const TOUCH: f64 = 1e-14;
/// Share of the exit pressure below which a gas is lost inside the band.
const LOST: f64 = 0.3;
pub(super) const LOCAL_ITERATIONS: usize = 30;
/// Scaled correction after which a local Newton step is the last.
pub(super) const LOCAL_TOLERANCE: f64 = 1e-9;
pub(super) const ENTHALPY_SCALE: f64 = 1e4;

/// What ends a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Closure {
    /// The next node of the band.
    Node,
    /// A share of the interval, where a longer step has no answer.
    Share(f64),
    /// A value of `ln v`.
    Level(f64),
    /// Saturated liquid.
    Boil,
    /// Saturated vapour.
    Dew,
    /// From one end of the phase line to the other at one place, where heat is off.
    Flash,
    /// The next node of the band, the boiling film held at the pressure at which the faces keep it boiling ([`super::hold`]).
    Hold,
    /// A place on the straight way between two such nodes, where the film leaves its boiling point.
    Along,
    /// A value of `ln v` reached behind that place.
    Away(f64),
    /// The next node of the band, that value not yet reached.
    AwayNode,
    /// The edge of the band at a given pressure.
    Exit,
    /// The edge of the band, reached in the same phase although the low pressure lies beyond the phase line.
    Short,
}

/// Where a state lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Region {
    Dense,
    Mixture,
    Light,
}

/// A station of a march with the step that leads to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Mark {
    pub interval: usize,
    pub share: f64,
    pub state: FluidState,
    pub closure: Closure,
    pub mixed: bool,
    /// Change of pressure, enthalpy and share with the flow.
    pub by_flow: [f64; 3],
}

impl Mark {
    /// How the step that leads here is weighed.
    pub fn weighing(&self) -> Weighing {
        match self.closure {
            Closure::Hold | Closure::Along => Weighing::Held,
            Closure::Away(_) | Closure::AwayNode => Weighing::Leaving,
            _ if self.mixed => Weighing::Mixed,
            _ => Weighing::Single,
        }
    }

    /// Whether an interval of the band ends here.
    pub fn ends_interval(&self) -> bool {
        matches!(self.closure, Closure::Node | Closure::Hold | Closure::AwayNode | Closure::Exit | Closure::Short)
    }
}

/// A march from entry to exit.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct March {
    /// The entry first; then every step's end.
    pub marks: Vec<Mark>,
    /// What is left of the driving force at the exit, Pa kg/m3: positive for too little flow.
    pub excess: f64,
    /// Its change with the flow.
    pub excess_slope: f64,
    /// The exit pressure stands above the low pressure.
    pub choked: bool,
    /// How far its last step was followed.
    pub arrival: Arrival,
    /// Where it follows its boiling point.
    pub hold: Option<Box<Hold>>,
}

/// How far the last step of a march was followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Arrival {
    /// To the low pressure, to the speed of sound, or to the edge in one phase, what is left there being the excess.
    AtTheExit,
    /// To a nearer pressure, for the step to the low pressure would be too long to tell anything.
    Nearer,
    /// To the lowest pressure at which a state was found there: below it the fluid would freeze or is not known.
    AtTheLastState,
}

/// A station to go on from.
#[derive(Clone, Copy)]
pub(super) struct Place {
    pub interval: usize,
    pub here: Found,
    pub region: Region,
}

/// How a march ended.
pub(super) enum Ended {
    Through(March),
    /// The flow is more than passes.
    Overrun,
}

/// Where a march has come to.
pub(super) enum Reached {
    Exit(March),
    Stop(Place),
}

pub(super) enum Failure {
    Property(PropertyError),
    NoRoot,
}

impl From<PropertyError> for Failure {
    fn from(error: PropertyError) -> Self {
        match error {
            // Pressures that fall out of the range belong to flows that do not pass.
            PropertyError::PressureOutOfRange { .. } | PropertyError::WouldFreeze { .. } => Self::NoRoot,
            other => Self::Property(other),
        }
    }
}

/// Solution of a local problem: state, place and their change with the flow.
#[derive(Clone, Copy)]
pub(super) struct Found {
    pub state: FluidState,
    pub share: f64,
    pub by_flow: [f64; 3],
}

/// Fluid, band and boundary of one film.
pub(super) struct Marcher<'a> {
    pub band: Band<'a>,
    pub entry: FluidState,
    pub exit_pressure: f64,
    /// Pressure and enthalpy at each place along the flow to start from.
    pub guess: Option<(Vec<f64>, Vec<f64>)>,
    /// The march before, and the last one that boiled and came to nothing.
    pub guides: RefCell<[Guide; 2]>,
    /// Evaluations of a step so far.
    pub spent: Cell<u32>,
}

impl Marcher<'_> {
    /// Count an evaluation of a step; none is left where a film has no answer in reach.
    pub(super) fn spend(&self) -> Result<(), Failure> {
        self.spent.set(self.spent.get() + 1);
        if self.exhausted() { Err(Failure::NoRoot) } else { Ok(()) }
    }

    /// Whether the work granted to one film is used up.
    pub(super) fn exhausted(&self) -> bool {
        self.spent.get() > self.granted()
    }

    /// Evaluations granted to one film.
    pub(super) fn granted(&self) -> u32 {
        MOST_EVALUATIONS_PER_NODE * self.band.len() as u32
    }

    /// March at one mass flow (positive along the flow).
    pub fn march(&self, flow: f64) -> Result<Ended, FilmError> {
        match self.run(flow) {
            Ok(march) => Ok(Ended::Through(march)),
            Err(Failure::NoRoot) => Ok(Ended::Overrun),
            Err(Failure::Property(error)) => Err(error.into()),
        }
    }

    pub(super) fn run(&self, flow: f64) -> Result<March, Failure> {
        let mut marks = Vec::new();
        let found = self.run_over(flow, &mut marks);
        // What boils and does not arrive shows the next one of its kind the way.
        if found.is_err() && marks.iter().any(|mark| mark.mixed) {
            let march = March { marks, excess: f64::NAN, excess_slope: f64::NAN, choked: false, arrival: Arrival::Nearer, hold: None };
            self.guides.borrow_mut()[1] = Guide::new(Arc::new(march), flow);
        }
        found
    }

    pub(super) fn run_over(&self, flow: f64, marks: &mut Vec<Mark>) -> Result<March, Failure> {
        let first = self.enter(flow, marks)?;
        match self.run_on(flow, first, None, marks)? {
            Reached::Exit(march) => Ok(march),
            Reached::Stop(_) => Err(Failure::NoRoot),
        }
    }

    /// The first station.
    pub(super) fn enter(&self, flow: f64, marks: &mut Vec<Mark>) -> Result<Place, Failure> {
        let first = self.entry_station(flow)?;
        marks.push(Mark { interval: 0, share: 0.0, state: first.state, closure: Closure::Node, mixed: false, by_flow: first.by_flow });
        self.guides.borrow_mut().iter_mut().for_each(Guide::begin);
        Ok(Place { interval: 0, here: first, region: self.region(&first.state) })
    }

    /// From a station to the exit, or to the node at which an interval begins.
    pub(super) fn run_on(&self, flow: f64, from: Place, stop: Option<usize>, marks: &mut Vec<Mark>) -> Result<Reached, Failure> {
        let Place { mut interval, mut here, mut region } = from;
        let last = self.band.len() - 2;
        let (mut short, mut crossings) = (0, 0);
        for _ in 0..self.band.len() + MOST_STEPS_BETWEEN {
            if stop == Some(interval) && here.share == 0.0 {
                return Ok(Reached::Stop(Place { interval, here, region }));
            }
            let hint = self.hint(interval, &here, region, flow);
            let mixed = region == Region::Mixture;
            if mixed
                && let Some(Hint { closure: Closure::Exit, guess }) = &hint
                && let Ok(march) = self.leave(interval, &here, region, flow, Some(guess), marks)
                && march.marks.last().is_some_and(|mark| passes_no_level(&here, &mark.state))
            {
                return Ok(Reached::Exit(march));
            }
            let (closure, found, next) = self.next(interval, &here, region, flow, hint.as_ref())?;
            match closure {
                Closure::Exit => {
                    let near = hint.filter(|hint| hint.closure == Closure::Exit).map(|hint| hint.guess);
                    return self.leave(interval, &here, region, flow, near.as_ref(), marks).map(Reached::Exit);
                }
                Closure::Short => return self.fall_short(interval, &here, region, flow, hint.as_ref(), marks).map(Reached::Exit),
                _ => {}
            }
            if matches!(closure, Closure::Share(_)) {
                short += 1;
                if short > MOST_SHORT {
                    return Err(Failure::NoRoot);
                }
            }
            // A gas so far below the exit never comes back up to it.
            if next == Region::Light && found.state.pressure_pa < LOST * self.exit_pressure {
                return Err(Failure::NoRoot);
            }
            // Above the critical pressure a fluid passes from dense to light, and back where it cools, without a line between.
            region = if next != Region::Mixture && self.line(found.state.pressure_pa).is_none() { self.region(&found.state) } else { next };
            // A liquid that only touches the phase line has made no step.
            if mixed && closure == Closure::Boil && found.share - here.share < TOUCH {
                crossings += 1;
                if crossings > MOST_CROSSINGS {
                    return Err(Failure::NoRoot);
                }
                continue;
            }
            marks.push(Mark { interval, share: found.share, state: found.state, closure, mixed, by_flow: found.by_flow });
            self.guides.borrow_mut().iter_mut().for_each(|guide| guide.pass(interval, closure, mixed));
            // To and fro over the line without getting on: it has no answer here.
            crossings =
                if matches!(closure, Closure::Boil | Closure::Dew) && found.share - here.share < STANDSTILL { crossings + 1 } else { 0 };
            if crossings > MOST_CROSSINGS {
                return Err(Failure::NoRoot);
            }
            here = found;
            if closure == Closure::Node {
                if interval == last {
                    return Err(Failure::NoRoot);
                }
                interval += 1;
                here.share = 0.0;
                here.by_flow[2] = 0.0;
            }
        }
        Err(Failure::NoRoot)
    }

    /// Move every station of a march with a small change of the flow.
    pub fn shift(&self, march: &mut March, change: f64) -> Result<(), FilmError> {
        for mark in &mut march.marks {
            let [by_p, by_h, by_share] = mark.by_flow;
            let (p, h) = (mark.state.pressure_pa + change * by_p, mark.state.enthalpy_j_per_kg + change * by_h);
            let closure = if mark.closure == Closure::Flash { Closure::Dew } else { mark.closure };
            mark.state = self.closed(p, h, closure).map_err(|failure| match failure {
                Failure::Property(error) => FilmError::Property(error),
                Failure::NoRoot => FilmError::Input("the phase line ends where the film meets it"),
            })?;
            if mark.closure == Closure::Short {
                let region = if mark.state.vapour_mass_fraction > 0.5 { Region::Light } else { Region::Dense };
                mark.state =
                    self.one_phase(&mark.state, region).map_err(|_| FilmError::Input("the phase line ends where the film meets it"))?;
            }
            mark.share += change * by_share;
        }
        Ok(())
    }
}
