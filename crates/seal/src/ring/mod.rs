//! One ring: heat, expansion and elasticity of its section, reduced to the nodes of its running face.

mod alone;
mod band;
mod between;
mod conductance;
mod error;
mod loads;
mod reduction;
mod response;
mod retained;
mod section;
mod solid;
mod state;

pub use alone::{RingAlone, RingAloneError, ring_alone};
pub use between::RingBetween;
pub use error::RingError;
pub use reduction::RingReduction;
pub use response::{BandNodes, RingConditions, RingResponse, SurfaceCoefficients};
pub use section::{MeshOptions, Surface, SurfaceKind};
pub use solid::Solid;
pub use state::RingState;

/// Least-squares slope of a profile over the band, weighted by area; the profile's unit per m.
pub fn best_fit_slope(band: &BandNodes, profile: &[f64]) -> f64 {
    let area: f64 = band.weight_m2.iter().sum();
    let mean = |values: &[f64]| values.iter().zip(&band.weight_m2).map(|(v, w)| v * w).sum::<f64>() / area;
    let (radius, level) = (mean(&band.radius_m), mean(profile));
    let mut moments = [0.0; 2];
    for ((r, v), w) in band.radius_m.iter().zip(profile).zip(&band.weight_m2) {
        moments[0] += w * (r - radius) * (v - level);
        moments[1] += w * (r - radius) * (r - radius);
    }
    moments[0] / moments[1]
}

#[cfg(test)]
mod tests;
