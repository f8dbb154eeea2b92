//! Reduced rings, made once for each temperature that matters and shared between duties and threads.

use std::sync::{Arc, Mutex, PoisonError};

use super::{PointError, role_name};
use crate::model::{Model, Ring};
use crate::ring::{BandNodes, MeshOptions, RingReduction};

/// Materials with temperature tables are taken at fixed temperatures this far apart, so that a value never depends on the order of the
/// duties; half a step moves the conductivity of silicon carbide by about 1.5 %, far inside its scatter.
const TEMPERATURE_STEP_K: f64 = 25.0;
const TEMPERATURE_ORIGIN_K: f64 = 293.15;

/// Rotating and stationary ring.
pub type Reduced = [Arc<RingReduction>; 2];

/// The rings of one model at every temperature asked for so far.
#[derive(Debug)]
pub struct RingStore {
    nodes: BandNodes,
    options: MeshOptions,
    made: Mutex<Vec<(i64, Reduced)>>,
}

impl RingStore {
    /// Nodes of the band; rings are reduced when a duty asks for them.
    pub fn new(model: &Model) -> Result<Self, PointError> {
        let options = MeshOptions::default();
        let nodes = BandNodes::new(&model.band, options.band_elements)
            .map_err(|cause| PointError::Ring { role: role_name(model.narrow_ring), cause })?;
        Ok(Self { nodes, options, made: Mutex::new(Vec::new()) })
    }

    /// Nodes of the band.
    pub fn nodes(&self) -> &BandNodes {
        &self.nodes
    }

    /// Both rings with their materials at the fixed temperature next to `temperature_k`, and whether they had to be made.
    pub fn at(&self, model: &Model, temperature_k: f64) -> Result<(Reduced, bool), PointError> {
        let changes = [&model.rotating_ring, &model.stationary_ring].into_iter().any(RingReduction::changes_with_temperature);
        let step = if changes { ((temperature_k - TEMPERATURE_ORIGIN_K) / TEMPERATURE_STEP_K).round() as i64 } else { 0 };
        // A panic in another thread leaves at most an entry missing, never a wrong one.
        let mut made = self.made.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, rings)) = made.iter().find(|(key, _)| *key == step) {
            return Ok((rings.clone(), false));
        }
        let at_k = TEMPERATURE_ORIGIN_K + TEMPERATURE_STEP_K * step as f64;
        let reduce = |ring: &Ring| {
            RingReduction::at_temperature(ring, &model.band, model.seal.pressure_side, &self.options, at_k)
                .map(Arc::new)
                .map_err(|cause| PointError::Ring { role: role_name(ring.role), cause })
        };
        let rings = [reduce(&model.rotating_ring)?, reduce(&model.stationary_ring)?];
        made.push((step, rings.clone()));
        Ok((rings, true))
    }
}
