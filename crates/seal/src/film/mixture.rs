//! Steps of a march inside the two-phase region: from level to level of the specific volume.

use halfmicron_numerics::jet::Jet;
use halfmicron_properties::FluidState;

use super::Flashing;
use super::exit::falling;
use super::march::{Closure, Failure, Found, LEVEL, Marcher, Region};
use super::trial::weighing;

/// Vapour fraction about the next level from which boiling may end before it.
const NEARLY_DRY: f64 = 0.8;
/// Share of the way to a level over which the growth of heating is taken.
const SHORT_TRIAL: f64 = 1e-4;

impl Marcher<'_> {
    pub(super) fn flash(&self, here: &Found) -> Result<Found, Failure> {
        let (state, enthalpy_by_pressure) = self.saturated(here.state.pressure_pa, Closure::Dew)?;
        let [by_p, _, by_share] = here.by_flow;
        Ok(Found { state, share: here.share, by_flow: [by_p, enthalpy_by_pressure * by_p, by_share] })
    }

    pub(super) fn next_in_mixture(
        &self,
        interval: usize,
        here: &Found,
        flow: f64,
        exit: bool,
    ) -> Result<(Closure, Found, Region), Failure> {
        let (closure, reach) = self.next_level(interval, here, flow)?;
        let after = match closure {
            Closure::Dew => Region::Light,
            Closure::Boil => Region::Dense,
            _ => Region::Mixture,
        };
        let (guess, reach) = if here.state.vapour_mass_fraction < 1e-6 {
            self.explored(interval, here, closure, reach, flow)?
        } else {
            let guess = self.drifted(interval, here, flow, reach);
            (Found { share: guess.share.min(1.0), ..guess }, reach)
        };
        let level = |guess: Found| -> Result<Option<(Closure, Found, Region)>, Failure> {
            match self.solve(interval, here, closure, Region::Mixture, flow, guess) {
                Ok(found) if found.share <= 1.0 && found.share >= here.share => {
                    if !self.subsonic(interval, here, &found, Region::Mixture, flow)? {
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
                Ok(_) => Ok(None),
                Err(Failure::NoRoot) => self.dries_before(interval, here, closure, flow, guess),
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
        let to_level = match closure {
            Closure::Level(level) => level + here.state.density_kg_per_m3.ln(),
            _ => LEVEL,
        };
        let passed = change * to_level > 0.0 && change.abs() > to_level.abs();
        if next == Region::Mixture && !passed && change.abs() < 1.01 * LEVEL {
            return Ok((Closure::Node, found, Region::Mixture));
        }
        // Past the level, or past the end of the mixture, after all: stop there.
        let part = (to_level / change).abs().min(1.0);
        for (part, power) in [(part.sqrt(), 2), (part, 1)] {
            let p = here.state.pressure_pa + part * (found.state.pressure_pa - here.state.pressure_pa);
            let h = here.state.enthalpy_j_per_kg + part.powi(power) * (found.state.enthalpy_j_per_kg - here.state.enthalpy_j_per_kg);
            let guess = Found { share: here.share + part * rest, state: self.inside(p, h)?, ..found };
            if let Some(found) = level(guess)? {
                return Ok(found);
            }
        }
        if next == Region::Mixture && change.abs() < 1.01 * LEVEL {
            return Ok((Closure::Node, found, Region::Mixture));
        }
        let (guess, _) = self.explored(interval, here, closure, reach, flow)?;
        level(guess)?.ok_or(Failure::NoRoot)
    }

    /// The end of boiling, where it comes before a level that is not found.
    fn dries_before(
        &self,
        interval: usize,
        here: &Found,
        closure: Closure,
        flow: f64,
        guess: Found,
    ) -> Result<Option<(Closure, Found, Region)>, Failure> {
        let Closure::Level(level) = closure else { return Ok(None) };
        if guess.state.vapour_mass_fraction < NEARLY_DRY {
            return Ok(None);
        }
        match self.solve(interval, here, Closure::Dew, Region::Mixture, flow, guess) {
            Ok(found) => {
                let before = found.share >= here.share && found.share <= 1.0 && -found.state.density_kg_per_m3.ln() <= level;
                let real = before && self.subsonic(interval, here, &found, Region::Mixture, flow)?;
                Ok(real.then_some((Closure::Dew, found, Region::Light)))
            }
            Err(Failure::NoRoot) => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// Whether a step ends on the subsonic side: beyond it the same equations have a second, false end.
    pub(super) fn subsonic(&self, interval: usize, here: &Found, found: &Found, region: Region, flow: f64) -> Result<bool, Failure> {
        if !self.nears_sound(interval, &found.state, flow) {
            return Ok(true);
        }
        let causes = self.band.causes(interval, Jet::variable(flow, 3));
        let up = self.upstream(interval, here, &causes);
        let rows = self.rows(interval, &up, &found.state, found.share, Closure::Node, weighing(region, Closure::Node), &causes)?;
        Ok(falling(&rows) > 0.0)
    }

    /// Growth of `ln v` and of the pressure in the mixture per share of the interval.
    fn rate(&self, interval: usize, here: &Found, flow: f64) -> Result<(f64, f64), Failure> {
        let state = &here.state;
        let (by_pressure, by_enthalpy) = self.gradients(interval, here, Region::Mixture, flow)?;
        let mixture = self.sided(state, Region::Mixture)?;
        let d = &mixture.derivatives;
        let span = (self.band.radius[interval + 1] - self.band.radius[interval]).abs();
        let rate = -(d.density_by_pressure * by_pressure + d.density_by_enthalpy * by_enthalpy) / state.density_kg_per_m3 * span;
        Ok((rate, by_pressure * span))
    }

    /// The level that the mixture reaches next, and after about which share of the interval.
    pub(super) fn next_level(&self, interval: usize, here: &Found, flow: f64) -> Result<(Closure, f64), Failure> {
        let state = &here.state;
        let line = self.line(state.pressure_pa).ok_or(Failure::NoRoot)?;
        let (rate, fall) = self.rate(interval, here, flow)?;
        let now = -state.density_kg_per_m3.ln();
        let place = now / LEVEL;
        let (closure, target) = if rate >= 0.0 {
            let level = ((place + 1e-6).floor() + 1.0) * LEVEL;
            // The vapour thins as the pressure falls on the way.
            let there = (state.pressure_pa + fall * (level - now) / rate).clamp(0.3 * state.pressure_pa, state.pressure_pa);
            let end = -self.line(there).unwrap_or(line).vapour.density_kg_per_m3.ln();
            if level < end { (Closure::Level(level), level) } else { (Closure::Dew, end) }
        } else {
            let level = ((place - 1e-6).ceil() - 1.0) * LEVEL;
            let end = -line.liquid.density_kg_per_m3.ln();
            if level > end { (Closure::Level(level), level) } else { (Closure::Boil, end) }
        };
        Ok((closure, ((target - now) / rate).abs().max(1e-12)))
    }

    /// A guess of where boiling liquid reaches its first level, and after which share of the interval.
    ///
    /// Heat from the faces sets in as the pressure falls below that of saturation at their temperature, so the enthalpy above that of the
    /// saturated liquid grows with the way and with its square: `x latent = (H' - h_l' p') t + g t^2/2`.
    pub(super) fn explored(&self, interval: usize, here: &Found, closure: Closure, reach: f64, flow: f64) -> Result<(Found, f64), Failure> {
        let Closure::Level(level) = closure else { return Ok((*here, reach)) };
        let state = &here.state;
        let line = self.line(state.pressure_pa).ok_or(Failure::NoRoot)?;
        let span = (self.band.radius[interval + 1] - self.band.radius[interval]).abs();
        let (by_pressure, by_enthalpy) = self.gradients(interval, here, Region::Mixture, flow)?;
        let (fall, heating) = (by_pressure * span, by_enthalpy * span);
        let trial = SHORT_TRIAL * reach.min(1.0);
        let ahead = self.drifted(interval, here, flow, trial);
        let growth = (self.gradients(interval, &ahead, Region::Mixture, flow)?.1 * span - heating) / trial;
        let (liquid, vapour) = (1.0 / line.liquid.density_kg_per_m3, 1.0 / line.vapour.density_kg_per_m3);
        let quality = (level.exp() - liquid) / (vapour - liquid);
        let needed = quality * line.latent_heat_j_per_kg() - (state.enthalpy_j_per_kg - line.liquid.enthalpy_j_per_kg);
        let flashing = heating - line.liquid.enthalpy_by_pressure * fall;
        let root = flashing * flashing + 2.0 * growth * needed;
        let reach = if root > 0.0 { (2.0 * needed / (flashing + root.sqrt())).abs() } else { reach };
        let share = reach.min(1.0 - here.share);
        let pressure = (state.pressure_pa + fall * share).max(0.3 * state.pressure_pa);
        let state = self.at_level(pressure, level)?;
        Ok((Found { state, share: here.share + share, by_flow: [0.0; 3] }, reach))
    }

    /// A guess by following the gradients over a share of the interval.
    pub(super) fn drifted(&self, interval: usize, here: &Found, flow: f64, share: f64) -> Found {
        let span = (self.band.radius[interval + 1] - self.band.radius[interval]).abs();
        let inside = Found { share: here.share.min(1.0), ..*here };
        let Ok((by_pressure, by_enthalpy)) = self.gradients(interval, &inside, Region::Mixture, flow) else { return *here };
        let p = (here.state.pressure_pa + by_pressure * span * share).max(0.3 * here.state.pressure_pa);
        let h = here.state.enthalpy_j_per_kg + by_enthalpy * span * share;
        self.inside(p, h).map_or(*here, |state| Found { state, share: here.share + share, ..*here })
    }

    /// The mixture at a pressure and a level of `ln v`.
    pub(super) fn at_level(&self, pressure: f64, level: f64) -> Result<FluidState, Failure> {
        let line = self.line(pressure).ok_or(Failure::NoRoot)?;
        let (liquid, vapour) = (1.0 / line.liquid.density_kg_per_m3, 1.0 / line.vapour.density_kg_per_m3);
        let quality = (level.exp() - liquid) / (vapour - liquid);
        self.inside(pressure, line.liquid.enthalpy_j_per_kg + quality * line.latent_heat_j_per_kg())
    }

    /// The mixture at a pressure and the nearest enthalpy inside it.
    pub(super) fn inside(&self, pressure: f64, enthalpy: f64) -> Result<FluidState, Failure> {
        let switches = self.band.input.switches;
        if switches.flashing == Flashing::Frozen {
            return Err(Failure::NoRoot);
        }
        self.band.input.fluid.film_mixture(pressure, enthalpy, switches.mixture_viscosity)?.ok_or(Failure::NoRoot)
    }
}
