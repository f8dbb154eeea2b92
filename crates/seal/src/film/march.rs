//! Marching a film along its flow at a given mass flow, and finding that mass flow.
//!
//! **What.** Stations from the entry to the exit: at every node of the band, where the fluid begins or ceases to boil, and in the two-phase
//! region at fixed levels of the specific volume, so that a front of any narrowness is followed without cells and a result depends smoothly on
//! its causes.
//! **Equation.** Each step solves mass, momentum and energy ([`super::step`]) for pressure, enthalpy and place of the next station. The mass flow
//! is the one that brings the pressure at the exit down to the low pressure; where the equations cannot follow that far it is the
//! greatest that passes (choked), and the exit pressure stands above the low pressure.
//! **Valid when.** Steady film, flow in one direction, subsonic inside the band.
//! **Source.** Derived here; choking as the greatest flow: Zuk, Ludwig and Johnson, NASA TN D-6668 (1972).
//! **Checked by.** F1, F2, F3, K3, K4, P1.

use std::cell::{Cell, RefCell};
use std::sync::Arc;

use halfmicron_numerics::jet::Jet;
use halfmicron_properties::{FluidState, PhDerivatives, Phase, PropertyError};

use super::guide::{Guide, Hint, passes_no_level};
use super::step::{Band, Lifted};
use super::{FilmError, Flashing};

/// Steps of `ln v` between the levels at which the two-phase region is cut.
pub(super) const LEVEL: f64 = 0.3;
/// Steps of a march beyond the one that each node of the band takes: levels, phase lines and shortened steps.
const MOST_STEPS_BETWEEN: usize = 200;
/// Evaluations of a step for one film, by node of the band: a film takes some ten at each.
const MOST_EVALUATIONS_PER_NODE: u32 = 1600;
/// Shortened steps that a march may take: more are needed only by flows that have no answer.
const MOST_SHORT: usize = 10;
/// Crossings of the phase line in a row without getting on, in shares of an interval, after which a march is stuck.
const MOST_CROSSINGS: usize = 12;
const STANDSTILL: f64 = 1e-9;
/// Share of the exit pressure below which a gas is lost inside the band.
const LOST: f64 = 0.3;
/// Halvings of a pressure drop in search of where a gas would meet the phase line.
const DEW_HALVINGS: usize = 12;
/// Halvings of an interval in search of the phase line.
const HALVINGS: usize = 14;
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
}

/// How a march ended.
pub(super) enum Ended {
    Through(March),
    /// The flow is more than passes.
    Overrun,
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

    /// State of the fluid as the film sees it.
    pub fn state(&self, pressure: f64, enthalpy: f64) -> Result<FluidState, PropertyError> {
        let switches = self.band.input.switches;
        match switches.flashing {
            Flashing::Equilibrium => self.band.input.fluid.film_state(pressure, enthalpy, switches.mixture_viscosity),
            Flashing::Frozen => self.band.input.fluid.superheated_film_state(pressure, enthalpy),
        }
    }

    pub(super) fn line(&self, pressure: f64) -> Option<halfmicron_properties::PhaseLine> {
        if self.band.input.switches.flashing == Flashing::Frozen {
            return None;
        }
        self.band.input.fluid.phase_line(pressure)
    }

    fn below_triple(&self, pressure: f64) -> bool {
        self.band.input.switches.flashing == Flashing::Equilibrium
            && self.band.input.fluid.triple_pressure_pa().is_some_and(|p| pressure < p)
    }

    /// The pressure of the phase line next to that at the exit, where one lies on the way there.
    fn end_of_line(&self) -> Option<f64> {
        let lowest = if self.below_triple(self.exit_pressure) { self.band.input.fluid.triple_pressure_pa()? } else { self.exit_pressure };
        self.line(lowest).map(|_| lowest)
    }

    pub(super) fn region(&self, state: &FluidState) -> Region {
        match self.line(state.pressure_pa) {
            None => self.supercritical_side(state),
            Some(line) if state.enthalpy_j_per_kg <= line.liquid.enthalpy_j_per_kg => Region::Dense,
            Some(line) if state.enthalpy_j_per_kg >= line.vapour.enthalpy_j_per_kg => Region::Light,
            Some(_) => Region::Mixture,
        }
    }

    pub(super) fn supercritical_side(&self, state: &FluidState) -> Region {
        match self.band.gas {
            _ if state.phase == Phase::Vapour => Region::Light,
            Some((_, critical_density)) if state.density_kg_per_m3 < critical_density => Region::Light,
            _ => Region::Dense,
        }
    }

    /// Saturated state on one side, its derivatives taken along the phase line.
    pub(super) fn saturated(&self, pressure: f64, side: Closure) -> Result<(FluidState, f64), Failure> {
        let line = self.line(pressure).ok_or(Failure::NoRoot)?;
        let end = if side == Closure::Boil { &line.liquid } else { &line.vapour };
        let state = FluidState {
            pressure_pa: pressure,
            enthalpy_j_per_kg: end.enthalpy_j_per_kg,
            temperature_k: line.temperature_k,
            density_kg_per_m3: end.density_kg_per_m3,
            viscosity_pa_s: end.viscosity_pa_s,
            conductivity_w_per_m_k: end.conductivity_w_per_m_k,
            isobaric_heat_capacity_j_per_kg_k: f64::INFINITY,
            vapour_mass_fraction: if side == Closure::Boil { 0.0 } else { 1.0 },
            phase: if side == Closure::Boil { Phase::Liquid } else { Phase::Vapour },
            derivatives: PhDerivatives {
                temperature_by_pressure: line.temperature_by_pressure,
                temperature_by_enthalpy: 0.0,
                density_by_pressure: end.density_by_pressure,
                density_by_enthalpy: 0.0,
                viscosity_by_pressure: end.viscosity_by_pressure,
                viscosity_by_enthalpy: 0.0,
                conductivity_by_pressure: end.conductivity_by_pressure,
                conductivity_by_enthalpy: 0.0,
            },
        };
        Ok((state, end.enthalpy_by_pressure))
    }

    /// Slope of the saturated vapour's enthalpy along the phase line, m3/kg.
    pub fn vapour_enthalpy_slope(&self, pressure: f64) -> Option<f64> {
        self.line(pressure).map(|line| line.vapour.enthalpy_by_pressure)
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
            let march = March { marks, excess: f64::NAN, excess_slope: f64::NAN, choked: false };
            self.guides.borrow_mut()[1] = Guide::new(Arc::new(march), flow);
        }
        found
    }

    fn run_over(&self, flow: f64, marks: &mut Vec<Mark>) -> Result<March, Failure> {
        let first = self.entry_station(flow)?;
        marks.push(Mark { interval: 0, share: 0.0, state: first.state, closure: Closure::Node, mixed: false, by_flow: first.by_flow });
        let mut here = first;
        let mut region = self.region(&here.state);
        let (mut interval, last) = (0, self.band.len() - 2);
        let (mut short, mut crossings) = (0, 0);
        self.guides.borrow_mut().iter_mut().for_each(Guide::begin);
        for _ in 0..self.band.len() + MOST_STEPS_BETWEEN {
            let hint = self.hint(interval, &here, region, flow);
            let mixed = region == Region::Mixture;
            if mixed
                && let Some(Hint { closure: Closure::Exit, guess }) = &hint
                && let Ok(march) = self.leave(interval, &here, region, flow, Some(guess), marks)
                && march.marks.last().is_some_and(|mark| passes_no_level(&here, &mark.state))
            {
                return Ok(march);
            }
            let (closure, found, next) = self.next(interval, &here, region, flow, hint.as_ref())?;
            match closure {
                Closure::Exit => {
                    let near = hint.filter(|hint| hint.closure == Closure::Exit).map(|hint| hint.guess);
                    return self.leave(interval, &here, region, flow, near.as_ref(), marks);
                }
                Closure::Short => return self.fall_short(interval, &here, region, flow, hint.as_ref(), marks),
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
            region = next;
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
                mark.state = self.liquid_sided(&mark.state).map_err(|_| FilmError::Input("the phase line ends where the film meets it"))?;
            }
            mark.share += change * by_share;
        }
        Ok(())
    }

    /// A liquid that arrives just saturated keeps a liquid's derivatives, on whichever side of the phase line rounding has put it.
    pub(super) fn liquid_sided(&self, state: &FluidState) -> Result<FluidState, Failure> {
        if state.phase != Phase::TwoPhase {
            return Ok(*state);
        }
        let liquid = self.sided(state, Region::Dense)?;
        Ok(FluidState { derivatives: liquid.derivatives, phase: liquid.phase, vapour_mass_fraction: 0.0, ..*state })
    }

    /// Pressure and enthalpy behind the sharp lip: `p = p0 - (1 + zeta) rho u^2/2`, `H = H0 - u^2/2`.
    pub(super) fn entry_station(&self, flow: f64) -> Result<Found, Failure> {
        let entry = self.entry;
        let switches = self.band.input.switches;
        if !switches.convective_inertia || flow == 0.0 {
            return Ok(Found { state: self.state(entry.pressure_pa, entry.enthalpy_j_per_kg)?, share: 0.0, by_flow: [0.0; 3] });
        }
        let loss = 0.5 * (1.0 + switches.entry_loss);
        let mut state = self.state(entry.pressure_pa, entry.enthalpy_j_per_kg)?;
        for _ in 0..LOCAL_ITERATIONS {
            let rows = self.entry_rows::<3>(&state, Jet::variable(flow, 2), None, loss);
            let [[a, b, m], [c, d, n]] = [rows[0].slopes, rows[1].slopes];
            let determinant = a * d - b * c;
            if !(determinant.is_finite() && determinant > 0.0) {
                return Err(Failure::NoRoot);
            }
            let solve = |x: f64, y: f64| [(d * x - b * y) / determinant, (a * y - c * x) / determinant];
            let [dp, dh] = solve(-rows[0].value, -rows[1].value);
            let share = (0.5 * state.pressure_pa / dp.abs()).min(1.0);
            let (p, h) = (state.pressure_pa + share * dp, state.enthalpy_j_per_kg + share * dh);
            let settled = dp.abs() < LOCAL_TOLERANCE * entry.pressure_pa && dh.abs() < LOCAL_TOLERANCE * ENTHALPY_SCALE;
            state = self.state(p, h)?;
            if settled {
                let [by_p, by_h] = solve(-m, -n);
                return Ok(Found { state, share: 0.0, by_flow: [by_p, by_h, 0.0] });
            }
        }
        Err(Failure::NoRoot)
    }

    /// Residuals of the entry with directions 0 pressure, 1 enthalpy; the gap of the first place may carry its own.
    pub fn entry_rows<const N: usize>(&self, state: &FluidState, flow: Jet<N>, gap: Option<Jet<N>>, loss: f64) -> [Jet<N>; 2] {
        let (pressure, enthalpy) = (Jet::variable(state.pressure_pa, 0), Jet::variable(state.enthalpy_j_per_kg, 1));
        let at = Lifted::new(state, pressure, enthalpy, Jet::constant(0.0));
        let mut causes = self.band.causes(0, flow);
        if let Some(gap) = gap {
            causes.gap[0] = gap;
        }
        let local = self.band.local(0, at, &causes);
        let kinetic = local.mass_flux.squared() / at.density.squared() * 0.5;
        [
            pressure - self.entry.pressure_pa + kinetic * at.density * (2.0 * loss),
            if self.band.heat() { enthalpy - self.entry.enthalpy_j_per_kg + kinetic } else { at.temperature - self.entry.temperature_k },
        ]
    }

    /// The next station from `here`: by what it ends, itself, and the region beyond it.
    pub(super) fn next(
        &self,
        interval: usize,
        here: &Found,
        region: Region,
        flow: f64,
        hint: Option<&Hint>,
    ) -> Result<(Closure, Found, Region), Failure> {
        let exit = interval + 2 == self.band.len();
        if let Some(hint) = hint
            && let Some(found) = self.hinted(interval, here, region, flow, hint)?
        {
            return Ok(found);
        }
        if region == Region::Mixture {
            if !self.band.heat() {
                // Heat without limit: the front has no width.
                return Ok((Closure::Flash, self.flash(here)?, Region::Light));
            }
            return match self.next_in_mixture(interval, here, flow, exit) {
                Err(Failure::NoRoot) => self.shorter(interval, here, region, flow),
                found => found,
            };
        }
        let side = if region == Region::Dense { Closure::Boil } else { Closure::Dew };
        if exit {
            let near = hint.filter(|hint| matches!(hint.closure, Closure::Exit | Closure::Short)).map(|hint| &hint.guess);
            let beyond = match self.exit_state(interval, here, region, flow, self.exit_pressure, near) {
                Ok((beyond, _)) => beyond,
                Err(Failure::NoRoot) if region == Region::Light || self.end_of_line().is_none() => {
                    let level = self.level_in_phase(interval, here, None, region, flow)?;
                    return Ok(level.map_or((Closure::Exit, *here, region), |(closure, found)| (closure, found, region)));
                }
                // The energy alone may have no answer so far from the station: what lies beyond the phase line will do.
                Err(Failure::NoRoot) => {
                    let lowest = self.end_of_line().ok_or(Failure::NoRoot)?;
                    Found { state: self.saturated(lowest, Closure::Dew)?.0, share: 1.0, by_flow: [0.0; 3] }
                }
                Err(error) => return Err(error),
            };
            if !self.crosses(region, &beyond.state) {
                let level = self.level_in_phase(interval, here, Some(&beyond), region, flow)?;
                return Ok(level.map_or((Closure::Exit, *here, region), |(closure, found)| (closure, found, region)));
            }
            if region == Region::Light && self.condenses_beyond_sound(interval, here, flow, &beyond)? {
                return Ok((Closure::Exit, *here, region));
            }
            return match self.event(interval, here, side, &beyond, flow) {
                Ok(found) if found.share <= 1.0 => Ok((side, found, Region::Mixture)),
                Ok(_) | Err(Failure::NoRoot) => Ok((Closure::Short, *here, region)),
                Err(error) => Err(error),
            };
        }
        match self.node(interval, here, region, flow, hint) {
            Ok(found) if !self.crosses(region, &found.state) => {
                let level = self.level_in_phase(interval, here, Some(&found), region, flow)?;
                Ok(level.map_or((Closure::Node, found, region), |(closure, found)| (closure, found, region)))
            }
            Ok(beyond) => Ok((side, self.event(interval, here, side, &beyond, flow)?, Region::Mixture)),
            Err(Failure::NoRoot) => {
                let guess = self.node_guess(interval, here, region, flow);
                match self.event(interval, here, side, &Found { share: 1.0, ..guess }, flow) {
                    Ok(found) if found.share <= 1.0 => Ok((side, found, Region::Mixture)),
                    Ok(_) | Err(Failure::NoRoot) => match self.level_in_phase(interval, here, None, region, flow)? {
                        Some((closure, found)) => Ok((closure, found, region)),
                        None => self.shorter(interval, here, region, flow),
                    },
                    Err(error) => Err(error),
                }
            }
            Err(error) => Err(error),
        }
    }

    /// Whether a gas on its way to a state beyond the phase line would pass the speed of sound before it met the line: then it chokes first.
    fn condenses_beyond_sound(&self, interval: usize, here: &Found, flow: f64, beyond: &Found) -> Result<bool, Failure> {
        if !self.nears_sound(interval, &beyond.state, flow) {
            return Ok(false);
        }
        let (mut dry, mut wet) = (here.state.pressure_pa, beyond.state.pressure_pa);
        for _ in 0..DEW_HALVINGS {
            let middle = 0.5 * (dry + wet);
            match self.exit_state(interval, here, Region::Light, flow, middle, Some(beyond)) {
                Ok((found, _)) if self.crosses(Region::Light, &found.state) => wet = middle,
                Ok((found, _)) if self.mach_squared(interval, &found.state, flow) >= 1.0 => return Ok(true),
                Ok(_) | Err(Failure::NoRoot) => dry = middle,
                Err(error) => return Err(error),
            }
        }
        Ok(false)
    }

    /// The node at the end of an interval in the same phase. Near the speed of sound the equations have a second, supersonic end: then the
    /// subsonic one is sought from the station upstream.
    pub(super) fn node(&self, interval: usize, here: &Found, region: Region, flow: f64, hint: Option<&Hint>) -> Result<Found, Failure> {
        let upstream = Found { share: 1.0, ..*here };
        let hinted = hint.filter(|hint| matches!(hint.closure, Closure::Node | Closure::Short)).map(|hint| hint.guess);
        for guess in [hinted.unwrap_or_else(|| self.node_guess(interval, here, region, flow)), upstream] {
            match self.solve(interval, here, Closure::Node, region, flow, guess) {
                Ok(found) if self.subsonic(interval, here, &found, region, flow)? => return Ok(found),
                Ok(_) | Err(Failure::NoRoot) => {}
                Err(error) => return Err(error),
            }
        }
        Err(Failure::NoRoot)
    }

    /// The next level of `ln v` of an expanding or compressed single phase, if it is met before the end of the interval, or before a state
    /// that ends it. Levels are fixed, so that a step appears or goes where it has no length and the film varies smoothly.
    pub(super) fn level_in_phase(
        &self,
        interval: usize,
        here: &Found,
        before: Option<&Found>,
        region: Region,
        flow: f64,
    ) -> Result<Option<(Closure, Found)>, Failure> {
        let place = -here.state.density_kg_per_m3.ln() / LEVEL;
        let (up, down) = ((place + 1e-6).floor() + 1.0, (place - 1e-6).ceil() - 1.0);
        let end = before.map(|found| -found.state.density_kg_per_m3.ln() / LEVEL);
        if end.is_some_and(|end| end > down && end < up) {
            return Ok(None);
        }
        let (by_pressure, by_enthalpy) = match self.gradients(interval, here, region, flow) {
            Ok(found) => found,
            Err(Failure::NoRoot) => return Ok(None),
            Err(error) => return Err(error),
        };
        let d = &self.sided(&here.state, region)?.derivatives;
        let span = (self.band.radius[interval + 1] - self.band.radius[interval]).abs();
        let rate = -(d.density_by_pressure * by_pressure + d.density_by_enthalpy * by_enthalpy) / here.state.density_kg_per_m3 * span;
        let target = if end.map_or(rate >= 0.0, |end| end >= up) { up } else { down };
        let closure = Closure::Level(target * LEVEL);
        let reach = ((target - place) * LEVEL / rate).abs();
        let rest = 1.0 - here.share;
        for part in [reach.min(0.9 * rest), 0.5 * rest, 0.1 * rest] {
            // Along the way temperature stays near that of the faces: pressure and density fall alike.
            let p = here.state.pressure_pa * ((place - target) * LEVEL).exp();
            let Ok((state, _)) = self.kept(p, here.state.enthalpy_j_per_kg, Closure::Node, region) else { continue };
            let guess = Found { state, share: here.share + part, by_flow: [0.0; 3] };
            match self.solve(interval, here, closure, region, flow, guess) {
                Ok(found) if found.share > here.share && found.share <= 1.0 && !self.crosses(region, &found.state) => {
                    return Ok(self.subsonic(interval, here, &found, region, flow)?.then_some((closure, found)));
                }
                Ok(_) | Err(Failure::NoRoot) => {}
                Err(error) => return Err(error),
            }
        }
        Ok(None)
    }

    /// A part of the interval, where the whole of what was meant has no answer.
    pub(super) fn shorter(&self, interval: usize, here: &Found, region: Region, flow: f64) -> Result<(Closure, Found, Region), Failure> {
        let rest = 1.0 - here.share;
        let reach = if region == Region::Mixture { self.next_level(interval, here, flow)?.1.min(rest) } else { rest };
        for part in [0.5, 0.2, 0.05] {
            let share = fixed_place(here.share, part * reach);
            let part = (share - here.share) / reach;
            let closure = Closure::Share(share);
            let mixed = region == Region::Mixture;
            let guess =
                if mixed { self.drifted(interval, here, flow, part * reach) } else { self.node_guess(interval, here, region, flow) };
            match self.solve(interval, here, closure, region, flow, guess) {
                Ok(found) if self.region(&found.state) == region && self.stretch(here, &found) < 1.5 * LEVEL => {
                    if self.subsonic(interval, here, &found, region, flow)? {
                        return Ok((closure, found, region));
                    }
                }
                // The mixture ends on the way.
                Ok(found) if mixed => {
                    let next = self.region(&found.state);
                    let side = if next == Region::Light { Closure::Dew } else { Closure::Boil };
                    let guess = Found { share: 0.5 * (here.share + share), ..found };
                    if let Ok(found) = self.solve(interval, here, side, region, flow, guess)
                        && found.share > here.share
                        && found.share <= share
                    {
                        return Ok((side, found, next));
                    }
                }
                Ok(_) | Err(Failure::NoRoot) => {}
                Err(error) => return Err(error),
            }
        }
        Err(Failure::NoRoot)
    }

    /// Whether a state lies beyond the phase line that bounds a region.
    pub(super) fn crosses(&self, region: Region, state: &FluidState) -> bool {
        let Some(line) = self.line(state.pressure_pa) else {
            // Below the triple point there is no liquid.
            return region == Region::Dense && self.below_triple(state.pressure_pa);
        };
        match region {
            Region::Dense => state.enthalpy_j_per_kg > line.liquid.enthalpy_j_per_kg,
            _ => state.enthalpy_j_per_kg < line.vapour.enthalpy_j_per_kg,
        }
    }

    /// The state with the derivatives of the region it goes into, also on the phase line.
    pub(super) fn sided(&self, state: &FluidState, region: Region) -> Result<FluidState, Failure> {
        let Some(line) = self.line(state.pressure_pa) else { return Ok(*state) };
        let (low, high) = (line.liquid.enthalpy_j_per_kg, line.vapour.enthalpy_j_per_kg);
        let edge = 1e-7 * (high - low);
        let h = state.enthalpy_j_per_kg;
        let inside = match region {
            Region::Dense => h.min(low - edge),
            Region::Mixture => h.clamp(low + edge, high - edge),
            Region::Light => h.max(high + edge),
        };
        if inside == h { Ok(*state) } else { Ok(self.state(state.pressure_pa, inside)?) }
    }

    pub(super) fn gradients(&self, interval: usize, here: &Found, region: Region, flow: f64) -> Result<(f64, f64), Failure> {
        let causes = self.band.causes::<0>(interval, Jet::constant(flow));
        let at = Lifted::new(
            &here.state,
            Jet::constant(here.state.pressure_pa),
            Jet::constant(here.state.enthalpy_j_per_kg),
            Jet::constant(here.share),
        );
        let state = self.sided(&here.state, region)?;
        self.band.gradients(&self.band.local(interval, at, &causes), &state, flow).ok_or(Failure::NoRoot)
    }

    /// A guess for the node at the end of an interval.
    pub(super) fn node_guess(&self, interval: usize, here: &Found, region: Region, flow: f64) -> Found {
        let from = |p: f64, h: f64| self.state(p, h).ok().map(|state| Found { state, share: 1.0, by_flow: [0.0; 3] });
        if let Some((pressure, enthalpy)) = &self.guess
            && let Some(found) = from(pressure[interval + 1], enthalpy[interval + 1])
            && self.region(&found.state) == region
        {
            return found;
        }
        let state = self.sided(&here.state, region).unwrap_or(here.state);
        let span = (self.band.radius[interval + 1] - self.band.radius[interval]).abs() * (1.0 - here.share);
        let (by_pressure, by_enthalpy) = self.gradients(interval, here, region, flow).unwrap_or_default();
        let p = (state.pressure_pa + by_pressure * span).max(0.3 * state.pressure_pa);
        let by_temperature = state.derivatives.temperature_by_enthalpy.max(1e-7);
        // Heat takes the fluid towards the faces, not past them.
        let to_faces = (self.band.face[interval + 1] - state.temperature_k) / by_temperature;
        let drift = by_enthalpy * span;
        let rise = if drift.abs() < to_faces.abs() { drift } else { to_faces };
        from(p, state.enthalpy_j_per_kg + rise)
            .or_else(|| from(state.pressure_pa, state.enthalpy_j_per_kg))
            .unwrap_or(Found { share: 1.0, ..*here })
    }

    /// Where the fluid meets the phase line on the way to a state beyond it.
    pub(super) fn event(&self, interval: usize, here: &Found, side: Closure, beyond: &Found, flow: f64) -> Result<Found, Failure> {
        let distance = |state: &FluidState| -> Option<f64> {
            let line = self.line(state.pressure_pa)?;
            let end = if side == Closure::Boil { line.liquid.enthalpy_j_per_kg } else { line.vapour.enthalpy_j_per_kg };
            Some(state.enthalpy_j_per_kg - end)
        };
        let by_distance = match (distance(&here.state), distance(&beyond.state)) {
            (Some(a), Some(b)) if a * b < 0.0 => (a / (a - b)).clamp(0.02, 0.98),
            _ => 0.5,
        };
        // The temperature hardly changes up to the phase line, or goes to that of the faces: the pressure tells where the line is met.
        let fall = here.state.pressure_pa - beyond.state.pressure_pa;
        let face = 0.5 * (self.band.face[interval] + self.band.face[interval + 1]);
        let by_pressure = |temperature: f64| match self.band.input.fluid.saturation_pressure(temperature).value() {
            Some(saturation) if fall > 0.0 => ((here.state.pressure_pa - saturation) / fall).clamp(0.0, 1.0),
            _ => 0.2,
        };
        // At the edge of the band the phase line may lie beyond it: the caller decides.
        let side_of_exit = interval + 2 == self.band.len();
        for part in [by_distance, by_pressure(here.state.temperature_k), by_pressure(face)] {
            let p = here.state.pressure_pa + part * (beyond.state.pressure_pa - here.state.pressure_pa);
            let Ok((state, _)) = self.saturated(p, side) else { continue };
            let guess = Found { state, share: here.share + part * (1.0 - here.share), by_flow: [0.0; 3] };
            match self.solve(interval, here, side, Region::Dense, flow, guess) {
                // The station itself may lie on the line: that is no step.
                Ok(found) if found.share > here.share + 1e-12 && (side_of_exit || found.share <= 1.0) => return Ok(found),
                Ok(_) | Err(Failure::NoRoot) => {}
                Err(error) => return Err(error),
            }
        }
        self.halved(interval, here, side, flow)
    }

    /// The same by halving the way: the last place that is still on this side of the phase line is next to it.
    pub(super) fn halved(&self, interval: usize, here: &Found, side: Closure, flow: f64) -> Result<Found, Failure> {
        let region = if side == Closure::Boil { Region::Dense } else { Region::Light };
        let (mut before, mut after) = (*here, 1.0);
        for _ in 0..HALVINGS {
            let share = 0.5 * (before.share + after);
            match self.solve(interval, here, Closure::Share(share), region, flow, before) {
                Ok(found) if !self.crosses(region, &found.state) => before = found,
                Ok(_) | Err(Failure::NoRoot) => after = share,
                Err(error) => return Err(error),
            }
        }
        let (state, _) = self.saturated(before.state.pressure_pa, side)?;
        let found = self.solve(interval, here, side, Region::Dense, flow, Found { state, share: before.share, by_flow: [0.0; 3] })?;
        if found.share > here.share + 1e-12 && found.share < 1.0 + 1e-9 { Ok(found) } else { Err(Failure::NoRoot) }
    }
}

/// A place of an interval beyond a share of it by no more than a stretch, and by half of that at least: a fraction by powers of two, which
/// stays where it is while the film varies.
fn fixed_place(share: f64, stretch: f64) -> f64 {
    let unit = 0.5_f64.powi((-stretch.log2()).ceil().clamp(1.0, 40.0) as i32);
    ((share / unit).floor() + 1.0) * unit
}
