//! A ring at a temperature between two at which it is reduced.
//!
//! What a reduction hands out is linear in the loads, so a weighted mean of two reductions closes the balances of heat and of force as each of
//! them does, and changes without a step as the weight does.

use std::sync::Arc;

use faer::Mat;
use halfmicron_numerics::elasticity::NodalStress;
use halfmicron_numerics::mesh::Mesh;

use super::{RingConditions, RingError, RingReduction, RingResponse, RingState};
use crate::notice::Notice;
use crate::outcome::FitResult;

/// A ring whose answers are those of two reductions, weighted.
#[derive(Debug, Clone)]
pub struct RingBetween {
    lower: Arc<RingReduction>,
    /// The reduction at the higher temperature and its share, more than 0 and less than 1; none where one reduction serves.
    upper: Option<(Arc<RingReduction>, f64)>,
    notices: Vec<Notice>,
}

impl RingBetween {
    /// A ring between two reductions of the same section; `notices` are those of its materials at its own temperature.
    pub fn new(lower: Arc<RingReduction>, upper: Option<(Arc<RingReduction>, f64)>, notices: Vec<Notice>) -> Self {
        Self { lower, upper, notices }
    }

    /// What the reader must know of the material values at the temperature of the ring.
    pub fn notices(&self) -> &[Notice] {
        &self.notices
    }

    /// Mesh of the section, the same at both temperatures.
    pub fn mesh(&self) -> &Mesh {
        self.lower.mesh()
    }

    /// As [`RingReduction::respond`].
    ///
    /// # Errors
    /// As [`RingReduction::respond`].
    pub fn respond(&self, conditions: &RingConditions) -> Result<RingResponse, RingError> {
        self.response(|reduction| reduction.respond(conditions))
    }

    /// As [`RingReduction::respond_about`].
    ///
    /// # Errors
    /// As [`RingReduction::respond_about`].
    pub fn respond_about(
        &self,
        conditions: &RingConditions,
        pressure_pa: &[f64],
        flux_w_per_m2: &[f64],
    ) -> Result<RingResponse, RingError> {
        self.response(|reduction| reduction.respond_about(conditions, pressure_pa, flux_w_per_m2))
    }

    fn response(&self, of: impl Fn(&RingReduction) -> Result<RingResponse, RingError>) -> Result<RingResponse, RingError> {
        let lower = of(&self.lower)?;
        match &self.upper {
            None => Ok(lower),
            Some((upper, share)) => Ok(mixed_response(&lower, &of(upper)?, *share)),
        }
    }

    /// As [`RingReduction::state`].
    ///
    /// # Errors
    /// As [`RingReduction::state`].
    pub fn state(&self, conditions: &RingConditions, pressure_pa: &[f64], flux_w_per_m2: &[f64]) -> Result<RingState, RingError> {
        let lower = self.lower.state(conditions, pressure_pa, flux_w_per_m2)?;
        match &self.upper {
            None => Ok(lower),
            Some((upper, share)) => {
                let stressed = |stresses: &[NodalStress]| self.lower.greatest(stresses);
                Ok(mixed_state(&lower, &upper.state(conditions, pressure_pa, flux_w_per_m2)?, *share, stressed))
            }
        }
    }
}

fn mixed_response(lower: &RingResponse, upper: &RingResponse, share: f64) -> RingResponse {
    let list = |of: fn(&RingResponse) -> &Vec<f64>| mixed_list(of(lower), of(upper), share);
    let matrix = |of: fn(&RingResponse) -> &Mat<f64>| {
        let (mut mean, upper) = (of(lower).clone(), of(upper));
        for j in 0..mean.ncols() {
            mean.col_as_slice_mut(j).iter_mut().zip(upper.col_as_slice(j)).for_each(|(a, b)| *a = mixed(*a, *b, share));
        }
        mean
    };
    RingResponse {
        temperature_k: list(|r| &r.temperature_k),
        temperature_per_flux: matrix(|r| &r.temperature_per_flux),
        elastic_deflection_m: list(|r| &r.elastic_deflection_m),
        thermal_deflection_m: list(|r| &r.thermal_deflection_m),
        deflection_per_pressure: matrix(|r| &r.deflection_per_pressure),
        edge_travel_per_pressure: list(|r| &r.edge_travel_per_pressure),
        deflection_per_flux: matrix(|r| &r.deflection_per_flux),
    }
}

fn mixed_state(lower: &RingState, upper: &RingState, share: f64, greatest: impl Fn(&[NodalStress]) -> crate::outcome::Stress) -> RingState {
    let number = |of: fn(&RingState) -> f64| mixed(of(lower), of(upper), share);
    let list = |of: fn(&RingState) -> &Vec<f64>| mixed_list(of(lower), of(upper), share);
    let stresses: Vec<NodalStress> = lower.stresses.iter().zip(&upper.stresses).map(|(a, b)| mixed_stress(a, b, share)).collect();
    RingState {
        temperature_k: list(|s| &s.temperature_k),
        displacement_m: lower
            .displacement_m
            .iter()
            .zip(&upper.displacement_m)
            .map(|(a, b)| [mixed(a[0], b[0], share), mixed(a[1], b[1], share)])
            .collect(),
        // of the mixed stresses, so that place and value belong together
        stress: greatest(&stresses),
        stresses,
        face_temperature_k: list(|s| &s.face_temperature_k),
        face_deflection_m: list(|s| &s.face_deflection_m),
        axial_deflection_m: list(|s| &s.axial_deflection_m),
        thermal_deflection_m: list(|s| &s.thermal_deflection_m),
        face_heat_w: number(|s| s.face_heat_w),
        convected_heat_w: number(|s| s.convected_heat_w),
        exchanged_heat_w: number(|s| s.exchanged_heat_w),
        mean_temperature_k: number(|s| s.mean_temperature_k),
        secondary_seal_temperature_k: number(|s| s.secondary_seal_temperature_k),
        applied_force_n: number(|s| s.applied_force_n),
        reaction_n: number(|s| s.reaction_n),
        unbalanced_n: number(|s| s.unbalanced_n),
        burst_speed_ratio: match (lower.burst_speed_ratio, upper.burst_speed_ratio) {
            (Some(a), Some(b)) => Some(mixed(a, b, share)),
            (a, b) => a.or(b),
        },
        fits: lower.fits.iter().zip(&upper.fits).map(|(a, b)| mixed_fit(a, b, share)).collect(),
    }
}

fn mixed_stress(lower: &NodalStress, upper: &NodalStress, share: f64) -> NodalStress {
    let (a, b) = (&lower.stress, &upper.stress);
    let stress = halfmicron_numerics::elasticity::Stress {
        radial: mixed(a.radial, b.radial, share),
        axial: mixed(a.axial, b.axial, share),
        hoop: mixed(a.hoop, b.hoop, share),
        shear: mixed(a.shear, b.shear, share),
    };
    NodalStress { stress, ..lower.clone() }
}

/// The temperature at which a fit loosens follows from the materials' tables alone and is the same in both.
fn mixed_fit(lower: &FitResult, upper: &FitResult, share: f64) -> FitResult {
    FitResult {
        pressure_pa: mixed(lower.pressure_pa, upper.pressure_pa, share),
        interference_m: mixed(lower.interference_m, upper.interference_m, share),
        slip_torque_n_m: mixed(lower.slip_torque_n_m, upper.slip_torque_n_m, share),
        ..lower.clone()
    }
}

fn mixed_list(lower: &[f64], upper: &[f64], share: f64) -> Vec<f64> {
    lower.iter().zip(upper).map(|(a, b)| mixed(*a, *b, share)).collect()
}

fn mixed(lower: f64, upper: f64, share: f64) -> f64 {
    lower + share * (upper - lower)
}
