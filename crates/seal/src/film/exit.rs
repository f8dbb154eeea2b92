//! The exit of a film: the low pressure, or the greatest flow that passes (choked).

use halfmicron_numerics::jet::Jet;
use halfmicron_properties::FluidState;

use super::guide::Hint;
use super::march::{
    Arrival, Closure, ENTHALPY_SCALE, Failure, Found, LEVEL, LOCAL_ITERATIONS, LOCAL_TOLERANCE, March, Marcher, Mark, Region,
};
use super::step::{Causes, Lifted, Local, Weighing};
use super::trial::weighing;

/// Levels between which the last step looks for the drive of a flow that does not yet reach the low pressure.
const NEAREST: f64 = 1.8;
const FARTHEST: f64 = 2.4;
/// Difference of the pressure looked for from that of the exit, relative, that is none.
const ARRIVED: f64 = 1e-9;
/// Error of the pressure at a choked exit, relative.
const SONIC_TOLERANCE: f64 = 1e-11;
/// Distance of two trials, relative, within which their secant is a slope, and the distance at which one is taken beside a hint.
const NEAR_TRIALS: f64 = 1e-3;
const BESIDE: f64 = 1e-6;
/// Stride in enthalpy through the two-phase region where only the temperature is sought, J/kg.
const MIXTURE_STRIDE: f64 = 3e5;

impl Marcher<'_> {
    /// Fluid at the edge of the band at a pressure, from the energy alone, with the rows there; sought from `near`.
    pub(super) fn exit_state(
        &self,
        interval: usize,
        here: &Found,
        region: Region,
        flow: f64,
        pressure: f64,
        near: Option<&Found>,
    ) -> Result<(Found, [Jet<4>; 3]), Failure> {
        let causes = self.band.causes(interval, Jet::variable(flow, 3));
        let up = self.upstream(interval, here, &causes);
        let enthalpy = match &self.guess {
            _ if near.is_some() => near.map_or(f64::NAN, |near| near.state.enthalpy_j_per_kg),
            Some((pressure, enthalpy)) if (pressure[interval + 1] - self.exit_pressure).abs() < 0.2 * self.exit_pressure => {
                enthalpy[interval + 1]
            }
            _ => self.node_guess(interval, here, region, flow).state.enthalpy_j_per_kg,
        };
        self.exit_from(interval, &up, &causes, weighing(region, Closure::Exit), pressure, enthalpy)
    }

    /// The same from what happens at the station upstream.
    pub(super) fn exit_from(
        &self,
        interval: usize,
        up: &Local<4>,
        causes: &Causes<4>,
        weighing: Weighing,
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
            self.spend()?;
            let rows = self.rows(interval, up, &state, 1.0, Closure::Exit, weighing, causes)?;
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
                // At the end of the states of a gas, with the answer still beyond it.
                if !settled && self.band.gas.is_some() && (next - enthalpy).abs() < LOCAL_TOLERANCE * ENTHALPY_SCALE {
                    return Err(Failure::NoRoot);
                }
                found = self.state(pressure, next);
            }
            enthalpy = next;
            // A gas may run out of heat for its speed; a liquid out of its range must say so.
            state = found.map_err(|error| if self.band.gas.is_some() { Failure::NoRoot } else { error.into() })?;
            if settled {
                let rows = self.rows(interval, up, &state, 1.0, Closure::Exit, weighing, causes)?;
                return Ok((Found { state, share: 1.0, by_flow: [0.0; 3] }, rows));
            }
        }
        Err(Failure::NoRoot)
    }

    /// The exit where the flow is too small to reach the phase line inside the band, or chokes on it.
    ///
    /// The speed of sound steps down where liquid begins to boil, and where a gas begins to condense: a flow above that of the mixture cannot
    /// change its phase inside the band, and the greatest that passes arrives at the edge just saturated.
    pub(super) fn fall_short(
        &self,
        interval: usize,
        here: &Found,
        region: Region,
        flow: f64,
        hint: Option<&Hint>,
        marks: &[Mark],
    ) -> Result<March, Failure> {
        let found = self.node(interval, here, region, flow, hint)?;
        let found = Found { state: self.one_phase(&found.state, region)?, ..found };
        let density = found.state.density_kg_per_m3;
        let [by_p, by_h, _] = found.by_flow;
        let met = self.just_saturated(interval, &found.state, region, flow)?;
        // To the phase line a liquid comes from above its pressure, a gas from below it.
        let (left, left_slope) = match (met, region) {
            (Some(saturation), Region::Dense) => {
                (found.state.pressure_pa - saturation, by_p - self.saturation_slope(&found.state, by_p, by_h))
            }
            (Some(saturation), _) => (saturation - found.state.pressure_pa, self.saturation_slope(&found.state, by_p, by_h) - by_p),
            (None, _) => (found.state.pressure_pa - self.exit_pressure, by_p),
        };
        let mut marks = marks.to_vec();
        marks.push(Mark { interval, share: 1.0, state: found.state, closure: Closure::Short, mixed: false, by_flow: found.by_flow });
        Ok(March {
            marks,
            excess: density * left,
            excess_slope: density * left_slope,
            choked: met.is_some(),
            arrival: Arrival::AtTheExit,
            hold: None,
        })
    }

    /// The saturation pressure at the temperature of a fluid that arrives at the edge in one phase, where a mixture would be as fast as sound
    /// there.
    fn just_saturated(&self, interval: usize, state: &FluidState, region: Region, flow: f64) -> Result<Option<f64>, Failure> {
        let side = if region == Region::Dense { Closure::Boil } else { Closure::Dew };
        let Some(saturation) = self.band.input.fluid.saturation_pressure(state.temperature_k).value() else { return Ok(None) };
        // A gas that is still above the critical pressure has no line to meet yet.
        if region == Region::Light && self.line(state.pressure_pa).is_none() {
            return Ok(None);
        }
        let (edge, _) = self.saturated(saturation, side)?;
        let choked = self.mach_squared(interval, &self.sided(&edge, Region::Mixture)?, flow) >= 1.0;
        Ok(choked.then_some(saturation))
    }

    /// Change of the saturation pressure at the temperature of a fluid with changes of its pressure and enthalpy.
    pub(super) fn saturation_slope(&self, state: &FluidState, by_pressure: f64, by_enthalpy: f64) -> f64 {
        let d = &state.derivatives;
        let kelvin = d.temperature_by_pressure * by_pressure + d.temperature_by_enthalpy * by_enthalpy;
        let saturation = self.band.input.fluid.saturation_pressure(state.temperature_k).value();
        saturation.and_then(|p| self.line(p)).map_or(0.0, |line| kelvin / line.temperature_by_pressure)
    }

    /// Square of speed over the speed of sound at the edge of the band.
    pub(super) fn mach_squared(&self, interval: usize, state: &FluidState, flow: f64) -> f64 {
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
    pub(super) fn nears_sound(&self, interval: usize, state: &FluidState, flow: f64) -> bool {
        self.mach_squared(interval, state, flow) > 0.3
    }

    /// Change of the pressure at a choked exit with pressure, enthalpy and share of the station upstream, the flow, both gaps and both face
    /// temperatures: where the drive is greatest its slope stays zero. By differences of that slope.
    pub(super) fn choked_pressure_slopes(&self, march: &March, flow: f64) -> Option<[f64; 8]> {
        let [.., before, exit] = march.marks.as_slice() else { return None };
        let (interval, weighing) = (exit.interval, exit.weighing());
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
            let (_, rows) = self.exit_from(interval, &up, &causes, weighing, exit_pressure, exit.state.enthalpy_j_per_kg).ok()?;
            Some(falling(&rows))
        };
        let steps =
            [nominal[0], ENTHALPY_SCALE, 1.0, flow, nominal[4].abs(), nominal[5].abs(), 300.0, 300.0, nominal[8]].map(|scale| 1e-5 * scale);
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
    pub(super) fn stretch(&self, here: &Found, there: &Found) -> f64 {
        (here.state.density_kg_per_m3 / there.state.density_kg_per_m3).ln().abs()
    }

    /// The lowest pressure at the edge that a liquid reaches as such: that of its phase line, or of the end of that line.
    fn lowest_liquid(&self, here: &Found) -> f64 {
        let fluid = self.band.input.fluid;
        let line = fluid.saturation_pressure(here.state.temperature_k).value().or(fluid.critical_point().map(|(_, p)| (1.0 + BESIDE) * p));
        line.map_or(self.exit_pressure, |line| line.max(self.exit_pressure))
    }

    /// Whether a liquid, or a dense fluid above its critical pressure, reaches the speed of sound before its phase line.
    pub(super) fn chokes_as_liquid(&self, interval: usize, here: &Found, flow: f64) -> Result<bool, Failure> {
        let lowest = self.lowest_liquid(here);
        if lowest >= here.state.pressure_pa {
            return Ok(false);
        }
        match self.exit_state(interval, here, Region::Dense, flow, lowest, Some(here)) {
            // A liquid that warms on the way is a mixture there: then it is the phase line that it meets.
            Ok((found, rows)) => {
                Ok(!self.crosses(Region::Dense, &found.state) && self.nears_sound(interval, &found.state, flow) && falling(&rows) < 0.0)
            }
            Err(Failure::NoRoot) => Ok(false),
            Err(error) => Err(error),
        }
    }

    /// The last step: what drives beyond what is needed, at the low pressure or at the pressure where that is greatest.
    pub(super) fn leave(
        &self,
        interval: usize,
        here: &Found,
        region: Region,
        flow: f64,
        hinted: Option<&Found>,
        marks: &[Mark],
    ) -> Result<March, Failure> {
        let mixed = region == Region::Mixture;
        let at = |pressure: f64, near: Option<&Found>| self.exit_state(interval, here, region, flow, pressure, near);
        let direct = at(self.exit_pressure, hinted);
        let beyond = region == Region::Dense && !direct.as_ref().is_ok_and(|(found, _)| !self.crosses(region, &found.state));
        let (mut bottom, first) = if beyond {
            let lowest = self.lowest_liquid(here);
            (lowest, at(lowest, None))
        } else {
            (self.exit_pressure, direct)
        };
        // A step over many levels says nothing, and far below the pressure of the speed of sound the kinetic energy may be more than the
        // fluid has: a drive left to a nearer pressure shows as well that the flow is too small.
        let near = |found: &Found| self.stretch(here, found) <= FARTHEST * LEVEL;
        // What has no answer beyond the phase line of a liquid need not be without a state.
        let missed = if beyond { Arrival::Nearer } else { Arrival::AtTheLastState };
        let mut arrival = if bottom > self.exit_pressure { Arrival::Nearer } else { Arrival::AtTheExit };
        let (mut found, mut rows) = match first {
            Ok(reached) if near(&reached.0) => reached,
            first => {
                arrival = if first.is_ok() { Arrival::Nearer } else { missed };
                let (mut reached, mut close) = (None, here.state.pressure_pa);
                for _ in 0..40 {
                    let middle = 0.5 * (bottom + close);
                    match at(middle, None) {
                        Ok(step) if near(&step.0) => {
                            let enough = self.stretch(here, &step.0) > NEAREST * LEVEL;
                            close = middle;
                            reached = Some(step);
                            if enough {
                                arrival = Arrival::Nearer;
                                break;
                            }
                        }
                        too_far => {
                            arrival = if too_far.is_ok() { Arrival::Nearer } else { missed };
                            bottom = middle;
                        }
                    }
                }
                if self.exhausted() {
                    return Err(Failure::NoRoot);
                }
                if close < (1.0 + ARRIVED) * self.exit_pressure {
                    arrival = Arrival::AtTheExit;
                }
                bottom = close;
                reached.ok_or(Failure::NoRoot)?
            }
        };
        let mut choked = false;
        let top = here.state.pressure_pa;
        // Where it neither arrives as liquid nor chokes as such, this is not how it leaves.
        let lowest = self.exit_pressure.max(self.lowest_liquid(here));
        if beyond && (self.crosses(region, &found.state) || (falling(&rows) >= 0.0 && found.state.pressure_pa <= lowest)) {
            return Err(Failure::NoRoot);
        }
        if falling(&rows) < 0.0 && top > bottom && self.nears_sound(interval, &found.state, flow) {
            // Beyond the speed of sound a lower pressure drives less: the greatest drive is where its slope vanishes.
            choked = true;
            arrival = Arrival::AtTheExit;
            let (mut low, mut high) = (bottom, top);
            let mut before = (bottom, falling(&rows));
            let hinted = hinted.map(|found| found.state.pressure_pa).filter(|p| *p > low && *p < high);
            let mut trial = hinted.unwrap_or(0.5 * (low + high));
            for round in 0..80 {
                (found, rows) = at(trial, Some(&found))?;
                let value = falling(&rows);
                if value < 0.0 {
                    low = trial
                } else {
                    high = trial
                }
                // A secant over a long way tells nothing of the slope here: beside a hint the slope is taken first.
                let near = (trial - before.0).abs() < NEAR_TRIALS * trial;
                let step = if near || hinted.is_none() {
                    -value * (trial - before.0) / (value - before.1)
                } else {
                    -value.signum() * BESIDE * trial
                };
                if high - low < SONIC_TOLERANCE * high || (near && step.abs() < SONIC_TOLERANCE * high) {
                    break;
                }
                let secant = trial + step;
                before = (trial, value);
                // Secants alone may creep along one side.
                trial = if secant > low && secant < high && round % 8 != 7 { secant } else { 0.5 * (low + high) };
            }
        }
        let [momentum, energy, _] = rows;
        let enthalpy_slope = if energy.slopes[1] > 0.0 { -energy.slopes[3] / energy.slopes[1] } else { 0.0 };
        let excess_slope = -(momentum.slopes[3] + momentum.slopes[1] * enthalpy_slope);
        let mut marks = marks.to_vec();
        marks.push(Mark {
            interval,
            share: 1.0,
            state: found.state,
            closure: Closure::Exit,
            mixed,
            by_flow: [if choked { found.state.pressure_pa / flow } else { 0.0 }, enthalpy_slope, 0.0],
        });
        Ok(March { marks, excess: -momentum.value, excess_slope, choked, arrival, hold: None })
    }
}

/// Fall of the drive with the exit pressure, everything following: positive where the flow is subsonic.
pub(super) fn falling(rows: &[Jet<4>; 3]) -> f64 {
    let [momentum, energy, _] = rows;
    let by_energy = if energy.slopes[1] > 0.0 { energy.slopes[0] / energy.slopes[1] } else { 0.0 };
    momentum.slopes[0] - momentum.slopes[1] * by_energy
}
