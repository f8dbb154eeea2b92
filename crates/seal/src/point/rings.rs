//! Reduced rings, made once for each temperature that matters and shared between duties and threads.

use std::sync::{Arc, Mutex, PoisonError};

use super::{PointError, role_name};
use crate::model::{Model, Ring};
use crate::ring::{BandNodes, MeshOptions, RingBetween, RingError, RingReduction};

/// Rings whose materials have temperature tables are reduced at fixed temperatures this far apart and where tables end, and what they answer is
/// taken linearly between the two about the temperature asked for: it changes without a step and never depends on the order of the duties.
///
/// What remains is the bend of the answers over one interval: against a reduction at the very temperature, the responses of the rings of the
/// Saltmere cases are off by one part in a thousand of their greatest entry at most, mostly by a tenth of that (checked below). Their slope
/// with temperature steps by some hundredths at each fixed temperature.
const TEMPERATURE_STEP_K: f64 = 25.0;
const TEMPERATURE_ORIGIN_K: f64 = 293.15;
/// The step below which the fixed temperatures would pass absolute zero.
const LOWEST_STEP: f64 = -11.0;
/// Tables whose end bends what a ring answers.
const BENDING: [&str; 3] = ["conductivity", "Young's modulus", "mean expansion"];

/// Rotating and stationary ring.
pub type Reduced = [RingBetween; 2];

/// The rings of one model at every fixed temperature needed so far.
#[derive(Debug)]
pub struct RingStore {
    nodes: BandNodes,
    options: MeshOptions,
    made: Mutex<Vec<Made>>,
}

/// One ring at one fixed temperature.
#[derive(Debug)]
struct Made {
    ring: usize,
    at_k: f64,
    reduction: Arc<RingReduction>,
}

impl RingStore {
    /// Nodes of the band; rings are reduced when a duty asks for them.
    pub fn new(model: &Model) -> Result<Self, PointError> {
        let options = MeshOptions::default();
        let nodes = BandNodes::new(&model.band, options.band_elements)
            .map_err(|cause| PointError::Ring { role: role_name(model.narrow_ring), cause })?;
        Ok(Self { nodes, options, made: Mutex::new(Vec::new()) })
    }

    /// A store for another model on the same band, with what was made of the rings that are the same in both.
    pub fn with_kept(&self, kept: [bool; 2]) -> Self {
        let made = self.made.lock().unwrap_or_else(PoisonError::into_inner);
        let same = made.iter().filter(|made| kept[made.ring]);
        let made = same.map(|made| Made { ring: made.ring, at_k: made.at_k, reduction: made.reduction.clone() }).collect();
        Self { nodes: self.nodes.clone(), options: self.options, made: Mutex::new(made) }
    }

    /// Nodes of the band.
    pub fn nodes(&self) -> &BandNodes {
        &self.nodes
    }

    /// Both rings at a temperature, and how many reductions had to be made for them.
    pub fn at(&self, model: &Model, temperature_k: f64) -> Result<(Reduced, usize), PointError> {
        let mut count = 0;
        let mut between = |index: usize, ring: &Ring| {
            self.between(model, index, ring, temperature_k, &mut count)
                .map_err(|cause| PointError::Ring { role: role_name(ring.role), cause })
        };
        let rings = [between(0, &model.rotating_ring)?, between(1, &model.stationary_ring)?];
        Ok((rings, count))
    }

    fn between(&self, model: &Model, index: usize, ring: &Ring, temperature_k: f64, count: &mut usize) -> Result<RingBetween, RingError> {
        let notices = RingReduction::notices_at(ring, temperature_k)?;
        let [low_k, high_k] = fixed_about(ring, temperature_k);
        let share = if high_k > low_k { ((temperature_k - low_k) / (high_k - low_k)).max(0.0) } else { 0.0 };
        let mut reduced = |at_k: f64| self.reduced(model, index, ring, at_k, count);
        let lower = reduced(low_k)?;
        let upper = if share > 0.0 { Some((reduced(high_k)?, share)) } else { None };
        Ok(RingBetween::new(lower, upper, notices))
    }

    fn reduced(&self, model: &Model, index: usize, ring: &Ring, at_k: f64, count: &mut usize) -> Result<Arc<RingReduction>, RingError> {
        // A panic in another thread leaves at most an entry missing, never a wrong one.
        let mut made = self.made.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(found) = made.iter().find(|made| made.ring == index && made.at_k == at_k) {
            return Ok(found.reduction.clone());
        }
        let reduction = Arc::new(RingReduction::at_temperature(ring, &model.band, model.seal.pressure_side, &self.options, at_k)?);
        made.push(Made { ring: index, at_k, reduction: reduction.clone() });
        *count += 1;
        Ok(reduction)
    }
}

/// The fixed temperatures of a ring at or below, and above, a temperature, K; one and the same where its materials do not change.
fn fixed_about(ring: &Ring, temperature_k: f64) -> [f64; 2] {
    if !RingReduction::changes_with_temperature(ring) {
        return [TEMPERATURE_ORIGIN_K; 2];
    }
    let step = ((temperature_k - TEMPERATURE_ORIGIN_K) / TEMPERATURE_STEP_K).floor().max(LOWEST_STEP);
    let even = [step, step + 1.0].map(|step| TEMPERATURE_ORIGIN_K + TEMPERATURE_STEP_K * step);
    let tables = ring.parts.iter().flat_map(|part| part.material.tables()).filter(|(of, _)| BENDING.contains(of));
    let ends = tables.flat_map(|(_, table)| [table.points.first(), table.points.last()]).flatten().map(|(at_k, _)| *at_k);
    ends.fold(even, |[low, high], end| if end <= temperature_k { [low.max(end), high] } else { [low, high.min(end)] })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ring::{RingConditions, SurfaceCoefficients};

    fn conditions(temperature_k: f64) -> RingConditions {
        RingConditions {
            sealed_pressure_pa: 2.9e6,
            low_pressure_pa: 1.013e5,
            balance_radius_m: 0.059,
            speed_rad_per_s: 310.0,
            spring_force_n: 300.0,
            friction_force_n: 0.0,
            sealed_temperature_k: temperature_k,
            low_side_temperature_k: temperature_k - 40.0,
            sealed_coefficient_w_per_m2_k: SurfaceCoefficients { cylinder: 4000.0, plane: 3000.0 },
            low_side_coefficient_w_per_m2_k: SurfaceCoefficients { cylinder: 30.0, plane: 20.0 },
        }
    }

    fn feed_pump() -> Model {
        crate::case::parse(include_str!("../../../../cases/feed-pump.toml")).unwrap().model().unwrap()
    }

    /// Temperature rise and thermal deflection by one even flux, at each band node.
    fn by_flux(ring: &crate::ring::RingResponse) -> [Vec<f64>; 2] {
        [&ring.temperature_per_flux, &ring.deflection_per_flux]
            .map(|matrix| (0..matrix.nrows()).map(|i| (0..matrix.ncols()).map(|j| matrix[(i, j)]).sum()).collect())
    }

    /// Greatest difference over the greatest entry.
    fn apart(a: &[f64], b: &[f64]) -> f64 {
        let scale = b.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
        a.iter().zip(b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max) / scale
    }

    #[test]
    fn temperatures_are_fixed_and_stay_above_absolute_zero() {
        let mut ring = feed_pump().rotating_ring;
        let about = |ring: &Ring, kelvin: f64| fixed_about(ring, kelvin).map(|k| (k * 100.0).round() / 100.0);
        assert_eq!(about(&ring, 293.15), [293.15, 318.15]);
        assert_eq!(about(&ring, 330.0), [318.15, 343.15]);
        assert!(fixed_about(&ring, 14.0)[0] > 14.0, "nothing below the lowest");
        let end = ring.parts[0].material.tables()[0].1.points[0].0;
        assert!(about(&ring, end + 0.5)[0] == (end * 100.0).round() / 100.0, "a table begins at {end} K");
        ring.parts.clear();
        assert_eq!(about(&ring, 330.0), [293.15, 293.15], "nothing changes");
    }

    #[test]
    fn no_step_in_temperature_and_no_matter_in_which_order() {
        let model = feed_pump();
        let respond =
            |store: &RingStore, kelvin: f64| store.at(&model, kelvin).unwrap().0.map(|ring| ring.respond(&conditions(400.0)).unwrap());
        let store = RingStore::new(&model).unwrap();
        // 405.65 K lies between two fixed temperatures, 418.15 K is one.
        for kelvin in [405.65, 418.15] {
            let (before, after) = (respond(&store, kelvin - 1e-4), respond(&store, kelvin + 1e-4));
            for (a, b) in before.iter().zip(&after) {
                let steps = by_flux(a).iter().zip(&by_flux(b)).map(|(a, b)| apart(a, b)).fold(0.0, f64::max);
                assert!(steps < 1e-6, "{steps:e} at {kelvin} K");
            }
        }
        let other = RingStore::new(&model).unwrap();
        let late = respond(&other, 405.65);
        assert_eq!(by_flux(&late[1]), by_flux(&respond(&store, 405.65)[1]));
    }

    /// Two seals of the plant whose materials change most: a composite ring of low-expansion alloy in hot oil, and one near 80 K.
    #[test]
    fn between_the_fixed_temperatures_little_is_lost() {
        let case = |text: &str| crate::case::parse(text).unwrap().model().unwrap();
        let oil = case(include_str!("../../../../cases/thermal-oil.toml"));
        let cold = case(include_str!("../../../../cases/nitrogen-pump.toml"));
        let mut worst = 0.0_f64;
        for (model, kelvin) in
            [(feed_pump(), 330.65), (feed_pump(), 405.65), (oil.clone(), 453.15), (oil, 553.15), (cold.clone(), 80.0), (cold, 153.0)]
        {
            let (rings, _) = RingStore::new(&model).unwrap().at(&model, kelvin).unwrap();
            for (between, ring) in rings.iter().zip([&model.rotating_ring, &model.stationary_ring]) {
                let exact =
                    RingReduction::at_temperature(ring, &model.band, model.seal.pressure_side, &MeshOptions::default(), kelvin).unwrap();
                let (found, exact) = (between.respond(&conditions(kelvin)).unwrap(), exact.respond(&conditions(kelvin)).unwrap());
                for (a, b) in by_flux(&found).iter().zip(&by_flux(&exact)) {
                    worst = worst.max(apart(a, b));
                }
                worst = worst.max(apart(&found.thermal_deflection_m, &exact.thermal_deflection_m));
                worst = worst.max(apart(&found.elastic_deflection_m, &exact.elastic_deflection_m));
            }
        }
        assert!(worst < 1.5e-3 && worst > 0.0, "{worst:e}");
    }

    #[test]
    fn balances_of_the_mixed_state_close() {
        let model = feed_pump();
        let (rings, made) = RingStore::new(&model).unwrap().at(&model, 405.65).unwrap();
        assert!(made >= 3, "{made} reductions: a ring with tables takes two");
        for ring in &rings {
            let n = ring.respond(&conditions(405.65)).unwrap().temperature_k.len();
            let state = ring.state(&conditions(405.65), &vec![1.2e6; n], &vec![2e4; n]).unwrap();
            assert!((state.face_heat_w - state.convected_heat_w).abs() < 1e-8 * state.face_heat_w, "{} W", state.convected_heat_w);
            assert!((state.reaction_n + state.applied_force_n).abs().min((state.reaction_n - state.applied_force_n).abs()) < 1e-4);
        }
    }
}
