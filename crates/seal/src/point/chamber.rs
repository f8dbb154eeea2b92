//! Chamber temperature from the flush.
//!
//! **What.** The temperature at which the flush, mixed into the chamber, carries away the heat of the faces and of hot surroundings.
//! **Equation.** `m (h(p, T) - h(p, T_flush)) = P + P_soak`, `m` the flush at its own density; by enthalpy, so that it holds for gases
//! and near the critical point, where the heat capacity changes on the way.
//! **Valid when.** The chamber is well mixed, the leak is small against the flush, and the fluid stays the phase it enters in.
//! **Source.** Balance of energy.
//! **Checked by.** unproven.

use halfmicron_properties::{Fluid, FluidState, Phase, Saturation};

use super::setting::{Refusal, Solved};
use crate::outcome::Status;

/// Error of the temperature accepted, K.
const TOLERANCE_K: f64 = 1e-6;
/// Share of the way to the end of the phase that one step may go.
const LONGEST_STEP: f64 = 0.7;
/// Distance from the end of the phase at which a flush that wants more is refused, K.
const AT_THE_END_K: f64 = 0.02;

/// The flush, and how its mixing temperature is being found.
pub(super) struct Mixing {
    flush: FluidState,
    flow_kg_per_s: f64,
    heat_soak_w: f64,
    /// Temperature above which the fluid is another phase or out of range, K, and why.
    end: (f64, &'static str),
    before: Option<[f64; 2]>,
}

/// What a step of the search says.
pub(super) enum Step {
    /// The chamber is at its temperature.
    Settled,
    /// Try this temperature, K.
    Try(f64),
}

impl Mixing {
    /// From the state in which the flush enters.
    pub fn new(solved: &Solved) -> Self {
        let (flush, fluid) = (solved.chamber, solved.fluid);
        let seal = &solved.model().seal;
        Self {
            flush,
            flow_kg_per_s: seal.flush_m3_per_s.unwrap_or(0.0) * flush.density_kg_per_m3,
            heat_soak_w: seal.heat_soak_w,
            end: end_of_phase(fluid, &flush),
            before: None,
        }
    }

    /// What to do at a chamber temperature whose faces give the heat.
    pub fn step(&mut self, fluid: &Fluid, taken_k: f64, heat_w: f64) -> Result<Step, Refusal> {
        let wanted_k = self.mixed_k(fluid, heat_w);
        if (wanted_k - taken_k).abs() < TOLERANCE_K {
            return Ok(Step::Settled);
        }
        let end_k = self.end.0;
        if wanted_k > end_k && end_k - taken_k < AT_THE_END_K {
            return Err(self.too_little());
        }
        let next = secant_k(self.before, taken_k, wanted_k);
        self.before = Some([taken_k, wanted_k]);
        Ok(Step::Try(next.min(taken_k + LONGEST_STEP * (end_k - taken_k).max(0.0))))
    }

    /// What to do at a chamber temperature at which the faces have no equilibrium: the search stays below it. None at the first
    /// temperature, where nothing is known yet.
    pub fn step_back(&mut self, taken_k: f64) -> Result<Option<f64>, Refusal> {
        match self.before {
            Some([found_k, wanted_k]) if taken_k > found_k && wanted_k > found_k => {
                self.end = (taken_k, "the faces have no equilibrium");
                if taken_k - found_k < AT_THE_END_K {
                    return Err(self.too_little());
                }
                Ok(Some(found_k + LONGEST_STEP * (taken_k - found_k)))
            }
            _ => Ok(None),
        }
    }

    fn too_little(&self) -> Refusal {
        let (end_k, why) = self.end;
        Refusal {
            status: Status::OutOfRange,
            reason: format!(
                "the flush cannot carry the heat of the faces: up to {:.1} degC, where {why}, the chamber would still grow hotter; state more flush",
                end_k - 273.15
            ),
        }
    }

    /// Temperature of the flush with the heat mixed in, K; past the end of its phase the heat capacity of the flush is taken.
    fn mixed_k(&self, fluid: &Fluid, heat_w: f64) -> f64 {
        if self.flow_kg_per_s <= 0.0 {
            return self.flush.temperature_k;
        }
        let rise = (heat_w + self.heat_soak_w) / self.flow_kg_per_s;
        match fluid.at_pressure_enthalpy(self.flush.pressure_pa, self.flush.enthalpy_j_per_kg + rise) {
            Ok(mixed) if mixed.temperature_k <= self.end.0 && mixed.phase != Phase::TwoPhase => mixed.temperature_k,
            _ => self.flush.temperature_k + rise / self.flush.isobaric_heat_capacity_j_per_kg_k,
        }
    }
}

/// Where heating changes the phase or leaves the range, K.
fn end_of_phase(fluid: &Fluid, flush: &FluidState) -> (f64, &'static str) {
    let range = (fluid.range().temperature_high.value, "the range of the fluid ends");
    match fluid.saturation_temperature(flush.pressure_pa) {
        Saturation::At(boiling) if matches!(flush.phase, Phase::Liquid | Phase::LiquidMetastable) && boiling < range.0 => {
            (boiling, "it boils")
        }
        _ => range,
    }
}

/// Next chamber temperature, K: secant through the last two pairs of (taken, wanted), or what is wanted at first.
fn secant_k(before: Option<[f64; 2]>, taken_k: f64, wanted_k: f64) -> f64 {
    let Some([taken_before, wanted_before]) = before else { return wanted_k };
    let slope = (wanted_k - wanted_before) / (taken_k - taken_before);
    // Heat falls as the chamber warms, so the slope is not positive; anything else is noise of a settled point.
    if slope.is_finite() && slope < 0.9 { taken_k + (wanted_k - taken_k) / (1.0 - slope) } else { wanted_k }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mixing(fluid: &Fluid, pressure_pa: f64, temperature_k: f64, flow_kg_per_s: f64) -> Mixing {
        let flush = fluid.at_pressure_temperature(pressure_pa, temperature_k).unwrap();
        Mixing { flush, flow_kg_per_s, heat_soak_w: 0.0, end: end_of_phase(fluid, &flush), before: None }
    }

    /// Steps until settled, with heat that falls as the chamber warms.
    fn settle(mixing: &mut Mixing, fluid: &Fluid, heat_w: impl Fn(f64) -> f64) -> Result<(f64, usize), String> {
        let mut taken = mixing.flush.temperature_k;
        for count in 1..40 {
            match mixing.step(fluid, taken, heat_w(taken)) {
                Ok(Step::Settled) => return Ok((taken, count)),
                Ok(Step::Try(next)) => taken = next,
                Err(refusal) => return Err(refusal.reason),
            }
        }
        Err("never".to_owned())
    }

    /// Water enters at 40 degC, 0.1 kg/s, and takes 4180 W: it leaves some 10 K warmer, and its enthalpy closes the balance.
    #[test]
    fn heat_goes_into_enthalpy() {
        let water = Fluid::named("water").unwrap();
        let mut liquid = mixing(&water, 1e6, 313.15, 0.1);
        let (found, _) = settle(&mut liquid, &water, |_| 4180.0).unwrap();
        assert!((found - 323.15).abs() < 0.1, "{found}");
        let taken = water.at_pressure_temperature(1e6, found).unwrap().enthalpy_j_per_kg - liquid.flush.enthalpy_j_per_kg;
        assert!((0.1 * taken / 4180.0 - 1.0).abs() < 1e-6);
        // Steam just above saturation: its heat capacity falls on the way, and enthalpy still closes.
        let mut steam = mixing(&water, 1e6, 455.0, 0.1);
        let (found, _) = settle(&mut steam, &water, |_| 10_000.0).unwrap();
        let taken = water.at_pressure_temperature(1e6, found).unwrap().enthalpy_j_per_kg - steam.flush.enthalpy_j_per_kg;
        assert!((0.1 * taken / 10_000.0 - 1.0).abs() < 1e-6 && found > 490.0, "{found}");
    }

    /// Above 350 K no equilibrium is found: with little heat the answer lies below, with much heat there is none.
    #[test]
    fn the_search_stays_below_where_there_is_no_equilibrium() {
        let water = Fluid::named("water").unwrap();
        let outcome = |heat_w: f64| {
            let mut mixing = mixing(&water, 1e6, 313.15, 0.1);
            let mut taken = 313.15;
            for _ in 0..40 {
                let next = if taken > 350.0 {
                    mixing.step_back(taken).map(|back| Step::Try(back.unwrap()))
                } else {
                    mixing.step(&water, taken, heat_w * (-(taken - 313.15) / 10.0_f64).exp())
                };
                match next {
                    Ok(Step::Settled) => return Ok(taken),
                    Ok(Step::Try(next)) => taken = next,
                    Err(refusal) => return Err(refusal.reason),
                }
            }
            panic!("never ends")
        };
        let found = outcome(40_000.0).unwrap();
        assert!((320.0..350.0).contains(&found), "{found}");
        assert!(outcome(4e6).unwrap_err().contains("no equilibrium"));
        assert!(mixing(&water, 1e6, 313.15, 0.1).step_back(313.15).is_ok_and(|back| back.is_none()));
    }

    /// The heat of cold faces would boil the chamber, that of warm ones does not: the search must not stop at the first.
    #[test]
    fn a_first_step_past_boiling_is_not_the_answer() {
        let water = Fluid::named("water").unwrap();
        let heat = |chamber_k: f64| 60_000.0 * (-(chamber_k - 313.15) / 40.0_f64).exp();
        let (found, count) = settle(&mut mixing(&water, 1e5, 313.15, 0.1), &water, heat).unwrap();
        let boiling = water.saturation_temperature(1e5).value().unwrap();
        assert!(found < boiling - 1.0 && count < 12, "{found} after {count}");
        let rise = water.at_pressure_temperature(1e5, found).unwrap().enthalpy_j_per_kg
            - water.at_pressure_temperature(1e5, 313.15).unwrap().enthalpy_j_per_kg;
        assert!((0.1 * rise / heat(found) - 1.0).abs() < 1e-5);
        let refused = settle(&mut mixing(&water, 1e5, 313.15, 0.1), &water, |_| 60_000.0).unwrap_err();
        assert!(refused.contains("it boils") && refused.contains("99.6") && refused.contains("more flush"), "{refused}");
    }
}
