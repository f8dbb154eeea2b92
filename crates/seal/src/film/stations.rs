//! The next station of a march in a single phase: a node, a level of `ln v`, or the phase line.

use halfmicron_numerics::jet::Jet;
use halfmicron_properties::FluidState;

use super::guide::Hint;
use super::march::{Closure, Failure, Found, LEVEL, Marcher, Region};
use super::step::Lifted;

/// Halvings of a pressure drop in search of where a gas would meet the phase line.
const DEW_HALVINGS: usize = 12;
/// Halvings of an interval in search of a level.
const LEVEL_HALVINGS: usize = 10;
/// Share of the critical pressure at which the phase line is looked for by a fluid that comes from above.
const NEAR_CRITICAL: f64 = 0.98;
/// Share of the latent heat from which a station is off the phase line.
const OFF_THE_LINE: f64 = 1e-6;
/// Temperature of a gas over that of the phase line, less one, from which it will not meet it; steps of the pressure in which it falls; and the
/// square of its speed over that of sound, and the share of its pressure, to which it is followed.
const SUPERHEATED: f64 = 0.02;
const FALLING: f64 = 0.7;
const PAST_SOUND: f64 = 1.5;
const LEAST_PART: f64 = 1e-3;
/// Halvings of an interval in search of the phase line.
const HALVINGS: usize = 14;
/// How many times the fall of pressure that is left before a place without an answer is reckoned, where that says that no line is met before it.
const FALL_LEFT: f64 = 2.0;

impl Marcher<'_> {
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
                let level = self.level_in_phase(interval, here, Some(&beyond), region, flow)?;
                return Ok(level.map_or((Closure::Exit, *here, region), |(closure, found)| (closure, found, region)));
            }
            return match self.event(interval, here, side, &beyond, flow) {
                Ok(found) if found.share <= 1.0 => Ok((side, found, Region::Mixture)),
                Ok(_) | Err(Failure::NoRoot) if region == Region::Dense && self.chokes_as_liquid(interval, here, flow)? => {
                    Ok((Closure::Exit, *here, region))
                }
                Ok(_) | Err(Failure::NoRoot) => {
                    let above = region == Region::Dense && self.line(here.state.pressure_pa).is_none();
                    let level = if above { self.level_in_phase(interval, here, None, region, flow)? } else { None };
                    Ok(level.map_or((Closure::Short, *here, region), |(closure, found)| (closure, found, region)))
                }
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
                let met = if region == Region::Light && !self.may_condense(interval, here, flow) {
                    Err(Failure::NoRoot)
                } else {
                    let guess = self.node_guess(interval, here, region, flow);
                    self.event(interval, here, side, &Found { share: 1.0, ..guess }, flow)
                };
                match met {
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

    /// Whether a gas could condense before the end of an interval, or before it reaches the speed of sound: where its pressure falls it is no
    /// colder than the colder of itself and both faces, but for what its speed and its throttling take. Both are bounded from the state `here`.
    fn may_condense(&self, interval: usize, here: &Found, flow: f64) -> bool {
        let state = &here.state;
        let falls = self.gradients(interval, here, Region::Light, flow).is_ok_and(|(by_pressure, _)| by_pressure <= 0.0);
        if !falls || !self.band.heat() {
            return true;
        }
        let coldest = state.temperature_k.min(self.band.face[interval]).min(self.band.face[interval + 1]);
        let mach_squared = self.mach_squared(interval, state, flow);
        // The fall of temperature that speed takes, `u^2/(2 c_p)`, at the speed of sound.
        let d = &state.derivatives;
        let sound_squared = (d.density_by_pressure + d.density_by_enthalpy / state.density_kg_per_m3).recip();
        let fall_at_sound = 0.5 * sound_squared * d.temperature_by_enthalpy;
        let mut part = 1.0_f64;
        loop {
            let squared = (mach_squared / part.powi(2)).min(PAST_SOUND);
            let pressure = part * state.pressure_pa;
            // Throttling cools a gas that is not ideal.
            let throttled = d.temperature_by_pressure.max(0.0) * (state.pressure_pa - pressure);
            let temperature = coldest - throttled - fall_at_sound * squared;
            match self.line(pressure) {
                Some(line) if temperature > (1.0 + SUPERHEATED) * line.temperature_k => {}
                // Below the triple point there is no liquid.
                None if self.below_triple(pressure) => return false,
                _ => return true,
            }
            if squared >= PAST_SOUND || part < LEAST_PART {
                return false;
            }
            part *= FALLING;
        }
    }

    /// Whether a gas on its way to a state beyond the phase line would pass the speed of sound before it met the line: then it chokes first.
    pub(super) fn condenses_beyond_sound(&self, interval: usize, here: &Found, flow: f64, beyond: &Found) -> Result<bool, Failure> {
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
            if let Some(found) = self.level_near(interval, here, closure, region, flow, guess)? {
                return Ok(self.subsonic(interval, here, &found, region, flow)?.then_some((closure, found)));
            }
        }
        // Where the gap closes all may happen in the last hundredth of the interval.
        let lies_between = end.is_some_and(|end| if target == up { end >= up } else { end <= down });
        let passed = |state: &FluidState| (-state.density_kg_per_m3.ln() / LEVEL - target) * (target - place) >= 0.0;
        if lies_between
            && self.band.narrows(interval)
            && let Some(guess) = self.near_level(interval, here, passed, region, flow)?
            && let Some(found) = self.level_near(interval, here, closure, region, flow, guess)?
        {
            return Ok(self.subsonic(interval, here, &found, region, flow)?.then_some((closure, found)));
        }
        Ok(None)
    }

    /// A level on the way to the end of the interval, from a guess of it.
    fn level_near(
        &self,
        interval: usize,
        here: &Found,
        closure: Closure,
        region: Region,
        flow: f64,
        guess: Found,
    ) -> Result<Option<Found>, Failure> {
        match self.solve(interval, here, closure, region, flow, guess) {
            Ok(found) if found.share > here.share && found.share <= 1.0 && !self.crosses(region, &found.state) => Ok(Some(found)),
            Ok(_) | Err(Failure::NoRoot) => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// A place near that at which a level is passed, by halving of the interval.
    fn near_level(
        &self,
        interval: usize,
        here: &Found,
        passed: impl Fn(&FluidState) -> bool,
        region: Region,
        flow: f64,
    ) -> Result<Option<Found>, Failure> {
        let (mut before, mut beyond) = (*here, 1.0);
        let mut nearest = None;
        for _ in 0..LEVEL_HALVINGS {
            let share = 0.5 * (before.share + beyond);
            match self.solve(interval, here, Closure::Share(share), region, flow, Found { share, ..before }) {
                Ok(found) if !passed(&found.state) => before = found,
                Ok(found) => (nearest, beyond) = (Some(found), share),
                Err(Failure::NoRoot) => beyond = share,
                Err(error) => return Err(error),
            }
        }
        Ok(nearest.or((before.share > here.share).then_some(before)))
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
        // Above the critical pressure there is no line to measure by: it begins below that.
        let critical = self.band.input.fluid.critical_point().map(|(_, pressure)| NEAR_CRITICAL * pressure);
        let below_critical = critical.filter(|p| here.state.pressure_pa > *p && fall > 0.0).map(|p| (here.state.pressure_pa - p) / fall);
        // The station itself may lie on the line: that is no step. Off it every step is one, however soon the fluid boils between hot faces.
        let latent = self.line_enthalpies(here.state.pressure_pa).map_or(f64::INFINITY, |[liquid, vapour]| vapour - liquid);
        let least = if distance(&here.state).is_some_and(|off| off.abs() > OFF_THE_LINE * latent) { 0.0 } else { 1e-12 };
        let parts = [by_distance, by_pressure(here.state.temperature_k), by_pressure(face)];
        for part in parts.into_iter().chain(below_critical.filter(|part| *part < 1.0)) {
            let p = here.state.pressure_pa + part * (beyond.state.pressure_pa - here.state.pressure_pa);
            let Ok((state, _)) = self.saturated(p, side) else { continue };
            let guess = Found { state, share: here.share + part * (1.0 - here.share), by_flow: [0.0; 3] };
            match self.solve(interval, here, side, Region::Dense, flow, guess) {
                Ok(found) if found.share > here.share + least && (side_of_exit || found.share <= 1.0) => return Ok(found),
                Ok(_) | Err(Failure::NoRoot) => {}
                Err(error) => return Err(error),
            }
        }
        self.halved(interval, here, side, flow)
    }

    /// The same by halving the way: the last place that is still on this side of the phase line is next to it.
    pub(super) fn halved(&self, interval: usize, here: &Found, side: Closure, flow: f64) -> Result<Found, Failure> {
        let region = if side == Closure::Boil { Region::Dense } else { Region::Light };
        let (mut passed, mut before, mut after) = (*here, *here, 1.0);
        for _ in 0..HALVINGS {
            let share = 0.5 * (before.share + after);
            match self.solve(interval, here, Closure::Share(share), region, flow, before) {
                Ok(found) if !self.crosses(region, &found.state) => (passed, before) = (before, found),
                Ok(_) | Err(Failure::NoRoot) => after = share,
                Err(error) => return Err(error),
            }
            if self.stays_above_line([&passed, &before], after) {
                return Err(Failure::NoRoot);
            }
        }
        let (state, _) = self.saturated(before.state.pressure_pa, side)?;
        let found = self.solve(interval, here, side, Region::Dense, flow, Found { state, share: before.share, by_flow: [0.0; 3] })?;
        if found.share > here.share + 1e-12 && found.share < 1.0 + 1e-9 { Ok(found) } else { Err(Failure::NoRoot) }
    }

    /// Whether a fluid above its critical pressure stays above it up to a share of the interval, judged by its last two places: where it
    /// chokes, which ends its way most steeply, the pressure falls as the square root of what is left of that way.
    fn stays_above_line(&self, [passed, before]: [&Found; 2], after: f64) -> bool {
        let Some((_, critical)) = self.band.input.fluid.critical_point() else { return false };
        let (way, rest) = (before.share - passed.share, after - before.share);
        let fall = (passed.state.pressure_pa - before.state.pressure_pa).max(0.0);
        let left = fall * rest.sqrt() / ((rest + way).sqrt() - rest.sqrt());
        way > 0.0 && before.state.pressure_pa - FALL_LEFT * left > critical
    }
}

/// A place of an interval beyond a share of it by no more than a stretch, and by half of that at least: a fraction by powers of two, which
/// stays where it is while the film varies.
fn fixed_place(share: f64, stretch: f64) -> f64 {
    let unit = 0.5_f64.powi((-stretch.log2()).ceil().clamp(1.0, 40.0) as i32);
    ((share / unit).floor() + 1.0) * unit
}
