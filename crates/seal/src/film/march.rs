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
//! **Checked by.** F1, F2, F3, K3, P1.

use halfmicron_numerics::jet::Jet;
use halfmicron_properties::{FluidState, PhDerivatives, Phase, PropertyError};

use super::step::{Band, Causes, Lifted, Local};
use super::{FilmError, Flashing};

/// Steps of `ln v` between the levels at which the two-phase region is cut.
const LEVEL: f64 = 0.3;
/// Levels between which the last step looks for the drive of a flow that does not yet reach the low pressure.
const NEAREST: f64 = 1.8;
const FARTHEST: f64 = 2.4;
const MAX_STEPS: usize = 600;
/// Times that a trial may be held at the phase line before the phase is taken to end before the end of the step.
const MOST_HOLDS: usize = 4;
/// Halvings of an interval in search of the phase line.
const HALVINGS: usize = 14;
const EXPLORING_STEPS: usize = 40;
const LOCAL_ITERATIONS: usize = 30;
/// Scaled correction after which a local Newton step is the last.
const LOCAL_TOLERANCE: f64 = 1e-9;
const ENTHALPY_SCALE: f64 = 1e4;
/// Stride in enthalpy through the two-phase region where only the temperature is sought, J/kg.
const MIXTURE_STRIDE: f64 = 3e5;

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
struct Found {
    state: FluidState,
    share: f64,
    by_flow: [f64; 3],
}

/// Fluid, band and boundary of one film.
pub(super) struct Marcher<'a> {
    pub band: Band<'a>,
    pub entry: FluidState,
    pub exit_pressure: f64,
    /// Pressure and enthalpy at each place along the flow to start from.
    pub guess: Option<(Vec<f64>, Vec<f64>)>,
}

impl Marcher<'_> {
    /// State of the fluid as the film sees it.
    pub fn state(&self, pressure: f64, enthalpy: f64) -> Result<FluidState, PropertyError> {
        let switches = self.band.input.switches;
        match switches.flashing {
            Flashing::Equilibrium => self.band.input.fluid.film_state(pressure, enthalpy, switches.mixture_viscosity),
            Flashing::Frozen => self.band.input.fluid.superheated_film_state(pressure, enthalpy),
        }
    }

    fn line(&self, pressure: f64) -> Option<halfmicron_properties::PhaseLine> {
        if self.band.input.switches.flashing == Flashing::Frozen {
            return None;
        }
        self.band.input.fluid.phase_line(pressure)
    }

    fn region(&self, state: &FluidState) -> Region {
        match self.line(state.pressure_pa) {
            None => self.supercritical_side(state),
            Some(line) if state.enthalpy_j_per_kg <= line.liquid.enthalpy_j_per_kg => Region::Dense,
            Some(line) if state.enthalpy_j_per_kg >= line.vapour.enthalpy_j_per_kg => Region::Light,
            Some(_) => Region::Mixture,
        }
    }

    fn supercritical_side(&self, state: &FluidState) -> Region {
        match self.band.gas {
            _ if state.phase == Phase::Vapour => Region::Light,
            Some((_, critical_density)) if state.density_kg_per_m3 < critical_density => Region::Light,
            _ => Region::Dense,
        }
    }

    /// Saturated state on one side, its derivatives taken along the phase line.
    fn saturated(&self, pressure: f64, side: Closure) -> Result<(FluidState, f64), Failure> {
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

    fn run(&self, flow: f64) -> Result<March, Failure> {
        let first = self.entry_station(flow)?;
        let mut marks =
            vec![Mark { interval: 0, share: 0.0, state: first.state, closure: Closure::Node, mixed: false, by_flow: first.by_flow }];
        let mut here = first;
        let mut region = self.region(&here.state);
        let (mut interval, last) = (0, self.band.len() - 2);
        for _ in 0..MAX_STEPS {
            let (closure, found, next) = self.next(interval, &here, region, flow)?;
            let mixed = region == Region::Mixture;
            match closure {
                Closure::Exit => return self.leave(interval, &here, region, flow, marks),
                Closure::Short => return self.fall_short(interval, &here, region, flow, marks),
                _ => {}
            }
            region = next;
            marks.push(Mark { interval, share: found.share, state: found.state, closure, mixed, by_flow: found.by_flow });
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
            mark.share += change * by_share;
        }
        Ok(())
    }

    /// Pressure and enthalpy behind the sharp lip: `p = p0 - (1 + zeta) rho u^2/2`, `H = H0 - u^2/2`.
    fn entry_station(&self, flow: f64) -> Result<Found, Failure> {
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
    fn next(&self, interval: usize, here: &Found, region: Region, flow: f64) -> Result<(Closure, Found, Region), Failure> {
        let exit = interval + 2 == self.band.len();
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
            let beyond = match self.exit_state(interval, here, region, flow, self.exit_pressure) {
                Ok((beyond, _)) => beyond,
                // The energy alone may have no answer so far from the station: what lies beyond the phase line will do.
                Err(Failure::NoRoot) if region == Region::Dense && self.line(self.exit_pressure).is_some() => {
                    Found { state: self.saturated(self.exit_pressure, Closure::Dew)?.0, share: 1.0, by_flow: [0.0; 3] }
                }
                Err(error) => return Err(error),
            };
            if !self.crosses(region, &beyond.state) {
                return Ok((Closure::Exit, *here, region));
            }
            return match self.event(interval, here, side, &beyond, flow) {
                Ok(found) if found.share <= 1.0 => Ok((side, found, Region::Mixture)),
                Ok(_) | Err(Failure::NoRoot) => Ok((Closure::Short, *here, region)),
                Err(error) => Err(error),
            };
        }
        match self.solve(interval, here, Closure::Node, region, flow, self.node_guess(interval, here, region, flow)) {
            Ok(found) if !self.crosses(region, &found.state) => Ok((Closure::Node, found, region)),
            Ok(beyond) => Ok((side, self.event(interval, here, side, &beyond, flow)?, Region::Mixture)),
            Err(Failure::NoRoot) => {
                let guess = self.node_guess(interval, here, region, flow);
                match self.event(interval, here, side, &Found { share: 1.0, ..guess }, flow) {
                    Ok(found) if found.share <= 1.0 => Ok((side, found, Region::Mixture)),
                    Ok(_) | Err(Failure::NoRoot) => self.shorter(interval, here, region, flow),
                    Err(error) => Err(error),
                }
            }
            Err(error) => Err(error),
        }
    }

    /// A part of the interval, where the whole of what was meant has no answer.
    fn shorter(&self, interval: usize, here: &Found, region: Region, flow: f64) -> Result<(Closure, Found, Region), Failure> {
        let rest = 1.0 - here.share;
        let reach = if region == Region::Mixture { self.next_level(interval, here, flow)?.1.min(rest) } else { rest };
        for part in [0.5, 0.2, 0.05] {
            let share = here.share + part * reach;
            let closure = Closure::Share(share);
            let mixed = region == Region::Mixture;
            let guess = if mixed { self.drifted(interval, here, flow, part * reach) } else { self.node_guess(interval, here, region, flow) };
            match self.solve(interval, here, closure, region, flow, guess) {
                Ok(found) if self.region(&found.state) == region && self.stretch(here, &found) < 1.5 * LEVEL => {
                    if !mixed || self.subsonic(interval, here, &found, flow)? {
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
    fn crosses(&self, region: Region, state: &FluidState) -> bool {
        let Some(line) = self.line(state.pressure_pa) else { return false };
        match region {
            Region::Dense => state.enthalpy_j_per_kg > line.liquid.enthalpy_j_per_kg,
            _ => state.enthalpy_j_per_kg < line.vapour.enthalpy_j_per_kg,
        }
    }

    fn flash(&self, here: &Found) -> Result<Found, Failure> {
        let (state, enthalpy_by_pressure) = self.saturated(here.state.pressure_pa, Closure::Dew)?;
        let [by_p, _, by_share] = here.by_flow;
        Ok(Found { state, share: here.share, by_flow: [by_p, enthalpy_by_pressure * by_p, by_share] })
    }

    fn next_in_mixture(&self, interval: usize, here: &Found, flow: f64, exit: bool) -> Result<(Closure, Found, Region), Failure> {
        let (closure, reach) = self.next_level(interval, here, flow)?;
        let after = match closure {
            Closure::Dew => Region::Light,
            Closure::Boil => Region::Dense,
            _ => Region::Mixture,
        };
        let (guess, reach) = if here.state.vapour_mass_fraction < 1e-6 {
            self.explored(interval, here, closure, reach, flow)
        } else {
            let guess = self.drifted(interval, here, flow, reach);
            (Found { share: guess.share.min(1.0), ..guess }, reach)
        };
        let level = |guess: Found| -> Result<Option<(Closure, Found, Region)>, Failure> {
            match self.solve(interval, here, closure, Region::Mixture, flow, guess) {
                Ok(found) if found.share <= 1.0 && found.share >= here.share => {
                    if !self.subsonic(interval, here, &found, flow)? {
                        return Ok(None);
                    }
                    if let Closure::Level(_) = closure
                        && self.region(&found.state) == Region::Light
                    {
                        let found = self.solve(interval, here, Closure::Dew, Region::Mixture, flow, found)?;
                        return Ok((found.share <= 1.0).then_some((Closure::Dew, found, Region::Light)));
                    }
                    Ok(Some((closure, found, after)))
                }
                Ok(_) | Err(Failure::NoRoot) => Ok(None),
                Err(error) => Err(error),
            }
        };
        if reach < 3.0 * (1.0 - here.share)
            && let Some(found) = level(guess)?
        {
            return Ok(found);
        }
        if exit {
            // With much of the way to the level left the edge may still come first.
            return match if reach >= 3.0 * (1.0 - here.share) { level(Found { share: 0.5 * (1.0 + here.share), ..guess })? } else { None } {
                Some(found) => Ok(found),
                None => Ok((Closure::Exit, *here, Region::Mixture)),
            };
        }
        let rest = 1.0 - here.share;
        let start = Found { share: 1.0, ..self.drifted(interval, here, flow, rest.min(reach)) };
        let found = self.solve(interval, here, Closure::Node, Region::Mixture, flow, start)?;
        let next = self.region(&found.state);
        let change = -(found.state.density_kg_per_m3 / here.state.density_kg_per_m3).ln();
        if next == Region::Mixture && change.abs() < 1.01 * LEVEL {
            return Ok((Closure::Node, found, Region::Mixture));
        }
        // Past the level, or past the end of the mixture, after all: stop there.
        let part = (LEVEL / change.abs().max(LEVEL)).sqrt();
        let mut guess = Found { share: here.share + part * rest, ..found };
        let p = here.state.pressure_pa + part * (found.state.pressure_pa - here.state.pressure_pa);
        let h = here.state.enthalpy_j_per_kg + part * part * (found.state.enthalpy_j_per_kg - here.state.enthalpy_j_per_kg);
        guess.state = self.inside(p, h)?;
        match level(guess)? {
            Some(found) => Ok(found),
            None => {
                let (guess, _) = self.explored(interval, here, closure, reach, flow);
                level(guess)?.ok_or(Failure::NoRoot)
            }
        }
    }

    /// Whether a step inside the mixture ends on the subsonic side: beyond it the same equations have a second, false end.
    fn subsonic(&self, interval: usize, here: &Found, found: &Found, flow: f64) -> Result<bool, Failure> {
        if !self.nears_sound(interval, &found.state, flow) {
            return Ok(true);
        }
        let causes = self.band.causes(interval, Jet::variable(flow, 3));
        let up = self.upstream(interval, here, &causes);
        let rows = self.rows(interval, &up, &found.state, found.share, Closure::Node, true, &causes)?;
        Ok(falling(&rows) > 0.0)
    }

    /// Growth of `ln v` in the mixture per share of the interval.
    fn rate(&self, interval: usize, here: &Found, flow: f64) -> Result<f64, Failure> {
        let state = &here.state;
        let (by_pressure, by_enthalpy) = self.gradients(interval, here, Region::Mixture, flow)?;
        let mixture = self.sided(state, Region::Mixture)?;
        let d = &mixture.derivatives;
        let span = (self.band.radius[interval + 1] - self.band.radius[interval]).abs();
        Ok(-(d.density_by_pressure * by_pressure + d.density_by_enthalpy * by_enthalpy) / state.density_kg_per_m3 * span)
    }

    /// The level that the mixture reaches next, and after about which share of the interval.
    fn next_level(&self, interval: usize, here: &Found, flow: f64) -> Result<(Closure, f64), Failure> {
        let state = &here.state;
        let line = self.line(state.pressure_pa).ok_or(Failure::NoRoot)?;
        let rate = self.rate(interval, here, flow)?;
        let now = -state.density_kg_per_m3.ln();
        let place = now / LEVEL;
        let (closure, target) = if rate >= 0.0 {
            let level = ((place + 1e-6).floor() + 1.0) * LEVEL;
            let end = -line.vapour.density_kg_per_m3.ln();
            if level < end { (Closure::Level(level), level) } else { (Closure::Dew, end) }
        } else {
            let level = ((place - 1e-6).ceil() - 1.0) * LEVEL;
            let end = -line.liquid.density_kg_per_m3.ln();
            if level > end { (Closure::Level(level), level) } else { (Closure::Boil, end) }
        };
        Ok((closure, ((target - now) / rate).abs().max(1e-12)))
    }

    /// The state with the derivatives of the region it goes into, also on the phase line.
    fn sided(&self, state: &FluidState, region: Region) -> Result<FluidState, Failure> {
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

    fn gradients(&self, interval: usize, here: &Found, region: Region, flow: f64) -> Result<(f64, f64), Failure> {
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

    /// A guess of where the mixture reaches its next level, by explicit steps: behind the place where boiling begins the rate grows many times
    /// over before the first level is met.
    fn explored(&self, interval: usize, here: &Found, closure: Closure, reach: f64, flow: f64) -> (Found, f64) {
        let mut now = *here;
        let mut stride = 0.5 * reach;
        for _ in 0..EXPLORING_STEPS {
            let ahead = self.drifted(interval, &now, flow, stride);
            let (Ok(rate), Ok(next)) = (self.rate(interval, &now, flow), self.rate(interval, &ahead, flow)) else {
                stride *= 0.3;
                continue;
            };
            if next.abs() > 2.0 * rate.abs() {
                stride *= 0.4;
                continue;
            }
            now = ahead;
            if !self.before(&now, closure) || now.share > 1.0 {
                break;
            }
            stride = (1.5 * stride).min(self.next_level(interval, &now, flow).map_or(stride, |(_, left)| left));
        }
        let guess = Found { share: now.share.clamp(here.share, 1.0), ..now };
        (guess, (now.share - here.share).max(1e-12))
    }

    /// Whether a state of the mixture has not yet reached a level.
    fn before(&self, found: &Found, closure: Closure) -> bool {
        match closure {
            Closure::Level(level) => -found.state.density_kg_per_m3.ln() < level - 0.02 * LEVEL,
            Closure::Dew => found.state.vapour_mass_fraction < 0.995,
            _ => false,
        }
    }

    /// A guess by following the gradients over a share of the interval.
    fn drifted(&self, interval: usize, here: &Found, flow: f64, share: f64) -> Found {
        let span = (self.band.radius[interval + 1] - self.band.radius[interval]).abs();
        let inside = Found { share: here.share.min(1.0), ..*here };
        let Ok((by_pressure, by_enthalpy)) = self.gradients(interval, &inside, Region::Mixture, flow) else { return *here };
        let p = (here.state.pressure_pa + by_pressure * span * share).max(0.3 * here.state.pressure_pa);
        let h = here.state.enthalpy_j_per_kg + by_enthalpy * span * share;
        self.inside(p, h).map_or(*here, |state| Found { state, share: here.share + share, ..*here })
    }

    /// The mixture at a pressure and the nearest enthalpy inside it.
    fn inside(&self, pressure: f64, enthalpy: f64) -> Result<FluidState, Failure> {
        let line = self.line(pressure).ok_or(Failure::NoRoot)?;
        let (low, high) = (line.liquid.enthalpy_j_per_kg, line.vapour.enthalpy_j_per_kg);
        let edge = 1e-9 * (high - low);
        Ok(self.state(pressure, enthalpy.clamp(low + edge, high - edge))?)
    }

    /// A guess for the node at the end of an interval.
    fn node_guess(&self, interval: usize, here: &Found, region: Region, flow: f64) -> Found {
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
    fn event(&self, interval: usize, here: &Found, side: Closure, beyond: &Found, flow: f64) -> Result<Found, Failure> {
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
    fn halved(&self, interval: usize, here: &Found, side: Closure, flow: f64) -> Result<Found, Failure> {
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

    /// Newton for the next station; directions 0 to 2 are pressure, enthalpy and share of that station, 3 the flow.
    fn solve(&self, interval: usize, here: &Found, closure: Closure, region: Region, flow: f64, guess: Found) -> Result<Found, Failure> {
        let causes = self.band.causes(interval, Jet::variable(flow, 3));
        let up = self.upstream(interval, here, &causes);
        let mixed = region == Region::Mixture;
        let (mut state, mut share) = (guess.state, guess.share);
        if let Closure::Share(at) = closure {
            share = at;
        }
        let mut slow = 0;
        let mut holds = 0;
        let mut before = f64::INFINITY;
        for _ in 0..LOCAL_ITERATIONS {
            if holds > MOST_HOLDS {
                return Err(Failure::NoRoot);
            }
            let rows = self.rows(interval, &up, &state, share, closure, mixed, &causes)?;
            let system = Rows::new(&rows, self.entry.pressure_pa);
            let [dp, dh, ds] = system.solve(rows.map(|r| -r.value)).ok_or(Failure::NoRoot)?;
            let size = (dp / self.entry.pressure_pa).abs().max((dh / ENTHALPY_SCALE).abs() * 1e-2).max(ds.abs());
            if !size.is_finite() {
                return Err(Failure::NoRoot);
            }
            if size < LOCAL_TOLERANCE {
                let by_flow = system.solve(rows.map(|r| -r.slopes[3])).ok_or(Failure::NoRoot)?;
                let (state, _) = self.kept(state.pressure_pa + dp, state.enthalpy_j_per_kg + dh, closure, region)?;
                return Ok(Found { state, share: share + ds, by_flow });
            }
            slow = if size > 0.5 * before { slow + 1 } else { 0 };
            if slow > 8 {
                return Err(Failure::NoRoot);
            }
            before = size;
            let kelvin = (dp * state.derivatives.temperature_by_pressure + dh * state.derivatives.temperature_by_enthalpy).abs();
            let mut part = (0.6 * state.pressure_pa / dp.abs()).min(60.0 / kelvin.max(60.0)).min(0.7 / ds.abs().max(0.7)).min(1.0);
            let mut moved = None;
            for _ in 0..6 {
                match self.kept(state.pressure_pa + part * dp, state.enthalpy_j_per_kg + part * dh, closure, region) {
                    Ok((found, held)) => {
                        holds += usize::from(held);
                        moved = Some(Ok(found));
                        break;
                    }
                    Err(error) => moved = Some(Err(error)),
                }
                part *= 0.4;
            }
            state = moved.unwrap_or(Err(Failure::NoRoot))?;
            share += part * ds;
        }
        Err(Failure::NoRoot)
    }

    /// The state of a trial; in one phase held at the phase line, beyond which lies another region with answers of its own. Tells whether it
    /// was held.
    fn kept(&self, pressure: f64, enthalpy: f64, closure: Closure, region: Region) -> Result<(FluidState, bool), Failure> {
        let free = matches!(closure, Closure::Node | Closure::Share(_) | Closure::Short);
        if region == Region::Mixture || !free {
            return Ok((self.closed(pressure, enthalpy, closure)?, false));
        }
        let Some(line) = self.line(pressure) else { return Ok((self.state(pressure, enthalpy)?, false)) };
        let held = match region {
            Region::Dense => enthalpy.min(line.liquid.enthalpy_j_per_kg),
            _ => enthalpy.max(line.vapour.enthalpy_j_per_kg),
        };
        if held == enthalpy {
            return Ok((self.state(pressure, enthalpy)?, false));
        }
        let edge = 1e-9 * line.latent_heat_j_per_kg();
        Ok((self.state(pressure, if region == Region::Dense { held - edge } else { held + edge })?, true))
    }

    fn closed(&self, pressure: f64, enthalpy: f64, closure: Closure) -> Result<FluidState, Failure> {
        match closure {
            Closure::Boil | Closure::Dew => Ok(self.saturated(pressure, closure)?.0),
            // Levels lie in the mixture: outside it the volume would not tell them.
            Closure::Level(_) => self.inside(pressure, enthalpy),
            _ => Ok(self.state(pressure, enthalpy)?),
        }
    }

    fn upstream(&self, interval: usize, here: &Found, causes: &Causes<4>) -> Local<4> {
        let [by_p, by_h, by_share] = here.by_flow;
        let along = |value: f64, slope: f64| Jet { value, slopes: [0.0, 0.0, 0.0, slope] };
        let at = Lifted::new(
            &here.state,
            along(here.state.pressure_pa, by_p),
            along(here.state.enthalpy_j_per_kg, by_h),
            along(here.share, by_share),
        );
        self.band.local(interval, at, causes)
    }

    #[allow(clippy::too_many_arguments, reason = "one station, how it ends, and where it comes from")]
    fn rows(
        &self,
        interval: usize,
        up: &Local<4>,
        state: &FluidState,
        share: f64,
        closure: Closure,
        mixed: bool,
        causes: &Causes<4>,
    ) -> Result<[Jet<4>; 3], Failure> {
        let at =
            Lifted::new(state, Jet::variable(state.pressure_pa, 0), Jet::variable(state.enthalpy_j_per_kg, 1), Jet::variable(share, 2));
        let step = self.band.step(interval, up, &self.band.local(interval, at, causes), causes, mixed);
        Ok([step.momentum, step.energy, self.closing(closure, &at)?])
    }

    /// Residual of the condition that ends a step.
    pub fn closing<const N: usize>(&self, closure: Closure, at: &Lifted<N>) -> Result<Jet<N>, Failure> {
        Ok(match closure {
            Closure::Node | Closure::Exit | Closure::Short => at.share - 1.0,
            Closure::Share(share) => at.share - share,
            Closure::Level(level) => -at.density.ln() - level,
            Closure::Boil | Closure::Dew | Closure::Flash => {
                let (state, slope) = self.saturated(at.pressure.value, if closure == Closure::Boil { closure } else { Closure::Dew })?;
                at.enthalpy - at.pressure.chain(state.enthalpy_j_per_kg, slope)
            }
        })
    }

    /// Fluid at the edge of the band at a pressure, from the energy alone, with the rows there.
    fn exit_state(&self, interval: usize, here: &Found, region: Region, flow: f64, pressure: f64) -> Result<(Found, [Jet<4>; 3]), Failure> {
        let causes = self.band.causes(interval, Jet::variable(flow, 3));
        let up = self.upstream(interval, here, &causes);
        let enthalpy = match &self.guess {
            Some((pressure, enthalpy)) if (pressure[interval + 1] - self.exit_pressure).abs() < 0.2 * self.exit_pressure => enthalpy[interval + 1],
            _ => self.node_guess(interval, here, region, flow).state.enthalpy_j_per_kg,
        };
        self.exit_from(interval, &up, &causes, region == Region::Mixture, pressure, enthalpy)
    }

    /// The same from what happens at the station upstream.
    fn exit_from(
        &self,
        interval: usize,
        up: &Local<4>,
        causes: &Causes<4>,
        mixed: bool,
        pressure: f64,
        enthalpy: f64,
    ) -> Result<(Found, [Jet<4>; 3]), Failure> {
        let mut enthalpy = enthalpy;
        let mut state = match self.state(pressure, enthalpy) {
            Ok(state) => state,
            Err(_) => {
                enthalpy = up.at.enthalpy.value;
                self.state(pressure, enthalpy)?
            }
        };
        // The residual rises with the enthalpy: where it lies between two of either sign it is also found by halving.
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        for _ in 0..2 * LOCAL_ITERATIONS {
            let rows = self.rows(interval, up, &state, 1.0, Closure::Exit, mixed, causes)?;
            let slope = rows[1].slopes[1];
            if rows[1].value > 0.0 {
                high = high.min(enthalpy)
            } else {
                low = low.max(enthalpy)
            }
            let mut step = -rows[1].value / slope;
            if !step.is_finite() || slope <= 0.0 {
                // Inside the two-phase region the temperature does not tell the enthalpy: leave it.
                step = if (high - low).is_finite() { 0.5 * (low + high) - enthalpy } else { -rows[1].value.signum() * MIXTURE_STRIDE };
            }
            let by_enthalpy = state.derivatives.temperature_by_enthalpy;
            let limit = if by_enthalpy > 1e-6 { 60.0 / by_enthalpy } else { MIXTURE_STRIDE };
            step = step.clamp(-limit, limit);
            let mut next = enthalpy + step;
            if !(next > low && next < high) && (high - low).is_finite() {
                next = 0.5 * (low + high);
            }
            let settled = (next - enthalpy).abs() < LOCAL_TOLERANCE * ENTHALPY_SCALE;
            let mut found = self.state(pressure, next);
            for _ in 0..4 {
                if found.is_ok() {
                    break;
                }
                next = enthalpy + 0.3 * (next - enthalpy);
                found = self.state(pressure, next);
            }
            enthalpy = next;
            state = found?;
            if settled {
                let rows = self.rows(interval, up, &state, 1.0, Closure::Exit, mixed, causes)?;
                return Ok((Found { state, share: 1.0, by_flow: [0.0; 3] }, rows));
            }
        }
        Err(Failure::NoRoot)
    }

    /// The exit where the flow is too small to reach the phase line inside the band, or chokes on it.
    ///
    /// The speed of sound steps down where liquid begins to boil: a flow above that of the mixture cannot boil inside the band, and the
    /// greatest that passes arrives at the edge just saturated.
    fn fall_short(&self, interval: usize, here: &Found, region: Region, flow: f64, mut marks: Vec<Mark>) -> Result<March, Failure> {
        let found = self.solve(interval, here, Closure::Node, region, flow, self.node_guess(interval, here, region, flow))?;
        let density = found.state.density_kg_per_m3;
        let saturation = self.band.input.fluid.saturation_pressure(found.state.temperature_k).value();
        let choked = match (region, saturation) {
            (Region::Dense, Some(saturation)) => {
                let (edge, _) = self.saturated(saturation, Closure::Boil)?;
                self.mach_squared(interval, &self.sided(&edge, Region::Mixture)?, flow) >= 1.0
            }
            _ => false,
        };
        let target = if choked { saturation.unwrap_or(self.exit_pressure) } else { self.exit_pressure };
        let [by_p, by_h, _] = found.by_flow;
        let target_slope = if choked { self.saturation_slope(&found.state, by_p, by_h) } else { 0.0 };
        marks.push(Mark { interval, share: 1.0, state: found.state, closure: Closure::Short, mixed: false, by_flow: found.by_flow });
        Ok(March { marks, excess: density * (found.state.pressure_pa - target), excess_slope: density * (by_p - target_slope), choked })
    }

    /// Change of the saturation pressure at the temperature of a liquid with changes of its pressure and enthalpy.
    pub fn saturation_slope(&self, state: &FluidState, by_pressure: f64, by_enthalpy: f64) -> f64 {
        let d = &state.derivatives;
        let kelvin = d.temperature_by_pressure * by_pressure + d.temperature_by_enthalpy * by_enthalpy;
        let saturation = self.band.input.fluid.saturation_pressure(state.temperature_k).value();
        saturation.and_then(|p| self.line(p)).map_or(0.0, |line| kelvin / line.temperature_by_pressure)
    }

    /// Square of speed over the speed of sound at the edge of the band.
    fn mach_squared(&self, interval: usize, state: &FluidState, flow: f64) -> f64 {
        if !self.band.input.switches.convective_inertia {
            return 0.0;
        }
        let causes = self.band.causes::<0>(interval, Jet::constant(flow));
        let constant = Jet::constant;
        let at = Lifted::new(state, constant(state.pressure_pa), constant(state.enthalpy_j_per_kg), constant(1.0));
        let speed = self.band.local(interval, at, &causes).mass_flux.value / state.density_kg_per_m3;
        let d = &state.derivatives;
        speed * speed * (d.density_by_pressure + d.density_by_enthalpy / state.density_kg_per_m3) * self.band.input.switches.momentum_factor
    }

    /// Whether inertia can matter at all.
    fn nears_sound(&self, interval: usize, state: &FluidState, flow: f64) -> bool {
        self.mach_squared(interval, state, flow) > 0.3
    }

    /// Change of the pressure at a choked exit with pressure, enthalpy and share of the station upstream, the flow, both gaps and both face
    /// temperatures: where the drive is greatest its slope stays zero. By differences of that slope.
    pub fn choked_pressure_slopes(&self, march: &March, flow: f64) -> Option<[f64; 8]> {
        let [.., before, exit] = march.marks.as_slice() else { return None };
        let (interval, mixed) = (exit.interval, exit.mixed);
        let share = if before.interval == interval && before.closure != Closure::Node { before.share } else { 0.0 };
        let side = matches!(before.closure, Closure::Boil | Closure::Dew).then_some(before.closure);
        let k = interval;
        let nominal = [
            before.state.pressure_pa,
            before.state.enthalpy_j_per_kg,
            share,
            flow,
            self.band.gap[k],
            self.band.gap[k + 1],
            self.band.face[k],
            self.band.face[k + 1],
            exit.state.pressure_pa,
        ];
        let slope = |inputs: &[f64; 9]| -> Option<f64> {
            let [p, h, share, flow, gap_a, gap_b, face_a, face_b, exit_pressure] = *inputs;
            let state = match side {
                // Stations on the phase line stay on it.
                Some(side) => self.saturated(p, side).ok()?.0,
                None => self.state(p, h).ok()?,
            };
            let constant = Jet::constant;
            let causes = Causes {
                gap: [constant(gap_a), constant(gap_b)],
                face: [constant(face_a), constant(face_b)],
                flow: Jet::variable(flow, 3),
            };
            let at = Lifted::new(&state, constant(state.pressure_pa), constant(state.enthalpy_j_per_kg), constant(share));
            let up = self.band.local(interval, at, &causes);
            let (_, rows) = self.exit_from(interval, &up, &causes, mixed, exit_pressure, exit.state.enthalpy_j_per_kg).ok()?;
            Some(falling(&rows))
        };
        let steps = [nominal[0], ENTHALPY_SCALE, 1.0, flow, nominal[4].abs(), nominal[5].abs(), 10.0, 10.0, nominal[8]].map(|scale| 1e-5 * scale);
        let by = |which: usize| -> Option<f64> {
            let (mut up, mut down) = (nominal, nominal);
            up[which] += steps[which];
            down[which] -= steps[which];
            Some((slope(&up)? - slope(&down)?) / (2.0 * steps[which]))
        };
        let own = by(8)?;
        let mut found = [0.0; 8];
        for (which, value) in found.iter_mut().enumerate() {
            *value = if which == 1 && side.is_some() { 0.0 } else { -by(which)? / own };
        }
        found.iter().all(|v| v.is_finite()).then_some(found)
    }

    /// Growth of `ln v` from one station to another.
    fn stretch(&self, here: &Found, there: &Found) -> f64 {
        (here.state.density_kg_per_m3 / there.state.density_kg_per_m3).ln().abs()
    }

    /// The last step: what drives beyond what is needed, at the low pressure or at the pressure where that is greatest.
    fn leave(&self, interval: usize, here: &Found, region: Region, flow: f64, mut marks: Vec<Mark>) -> Result<March, Failure> {
        let mixed = region == Region::Mixture;
        let at = |pressure: f64| self.exit_state(interval, here, region, flow, pressure);
        let mut bottom = self.exit_pressure;
        let (mut found, mut rows) = at(bottom)?;
        if mixed && self.stretch(here, &found) > FARTHEST * LEVEL {
            // A step over many levels says nothing: the drive to a nearer pressure shows that the flow is too small, too.
            let mut high = here.state.pressure_pa;
            for _ in 0..40 {
                let middle = 0.5 * (bottom + high);
                (found, rows) = at(middle)?;
                let stretch = self.stretch(here, &found);
                if stretch > FARTHEST * LEVEL {
                    bottom = middle;
                } else if stretch < NEAREST * LEVEL {
                    high = middle;
                } else {
                    bottom = middle;
                    break;
                }
            }
        }
        let mut choked = false;
        let top = here.state.pressure_pa;
        if falling(&rows) < 0.0 && top > bottom && self.nears_sound(interval, &found.state, flow) {
            // Beyond the speed of sound a lower pressure drives less: the greatest drive is where its slope vanishes.
            choked = true;
            let (mut low, mut high) = (bottom, top);
            let mut low_value = falling(&rows);
            let mut high_value = f64::NAN;
            for round in 0..80 {
                let secant = low + (high - low) * low_value / (low_value - high_value);
                let inside = secant > low + 0.01 * (high - low) && secant < high - 0.01 * (high - low);
                let middle = if inside && round % 3 != 2 { secant } else { 0.5 * (low + high) };
                (found, rows) = at(middle)?;
                let value = falling(&rows);
                if value < 0.0 {
                    (low, low_value) = (middle, value);
                } else {
                    (high, high_value) = (middle, value);
                }
                if high - low < 1e-11 * high {
                    break;
                }
            }
        }
        let [momentum, energy, _] = rows;
        let enthalpy_slope = if energy.slopes[1] > 0.0 { -energy.slopes[3] / energy.slopes[1] } else { 0.0 };
        let excess_slope = -(momentum.slopes[3] + momentum.slopes[1] * enthalpy_slope);
        marks.push(Mark { interval, share: 1.0, state: found.state, closure: Closure::Exit, mixed, by_flow: [0.0, enthalpy_slope, 0.0] });
        Ok(March { marks, excess: -momentum.value, excess_slope, choked })
    }
}

/// Fall of the drive with the exit pressure, everything following: positive where the flow is subsonic.
fn falling(rows: &[Jet<4>; 3]) -> f64 {
    let [momentum, energy, _] = rows;
    let by_energy = if energy.slopes[1] > 0.0 { energy.slopes[0] / energy.slopes[1] } else { 0.0 };
    momentum.slopes[0] - momentum.slopes[1] * by_energy
}

/// A 3 x 3 system of scaled rows.
pub(super) struct Rows {
    matrix: [[f64; 3]; 3],
    row_scale: [f64; 3],
    column_scale: [f64; 3],
}

impl Rows {
    pub fn new<const N: usize>(rows: &[Jet<N>; 3], pressure_scale: f64) -> Self {
        let column_scale = [pressure_scale, ENTHALPY_SCALE, 1.0];
        let mut matrix = [[0.0; 3]; 3];
        let mut row_scale = [1.0; 3];
        for (i, row) in rows.iter().enumerate() {
            for j in 0..3 {
                matrix[i][j] = row.slopes[j] * column_scale[j];
            }
            let largest = matrix[i].iter().fold(0.0, |m: f64, x| m.max(x.abs()));
            row_scale[i] = if largest > 0.0 { 1.0 / largest } else { 1.0 };
            matrix[i].iter_mut().for_each(|x| *x *= row_scale[i]);
        }
        Self { matrix, row_scale, column_scale }
    }

    /// Solution for a right-hand side, if there is one.
    pub fn solve(&self, right: [f64; 3]) -> Option<[f64; 3]> {
        let mut m = self.matrix;
        let mut f = [right[0] * self.row_scale[0], right[1] * self.row_scale[1], right[2] * self.row_scale[2]];
        for column in 0..3 {
            let pivot = (column..3).max_by(|&a, &b| m[a][column].abs().total_cmp(&m[b][column].abs()))?;
            m.swap(column, pivot);
            f.swap(column, pivot);
            if m[column][column].abs() < 1e-300 || !m[column][column].is_finite() {
                return None;
            }
            for row in column + 1..3 {
                let factor = m[row][column] / m[column][column];
                for k in column..3 {
                    m[row][k] -= factor * m[column][k];
                }
                f[row] -= factor * f[column];
            }
        }
        let mut x = [0.0; 3];
        for row in (0..3).rev() {
            let known: f64 = (row + 1..3).map(|k| m[row][k] * x[k]).sum();
            x[row] = (f[row] - known) / m[row][row];
        }
        x.iter().all(|v| v.is_finite()).then(|| [x[0] * self.column_scale[0], x[1] * self.column_scale[1], x[2] * self.column_scale[2]])
    }
}
