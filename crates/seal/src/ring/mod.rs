//! One ring: heat, expansion and elasticity of its section, reduced to the nodes of its running face.

mod band;
mod error;
mod reduction;
mod response;
mod section;
mod solid;
mod state;

pub use error::RingError;
pub use reduction::RingReduction;
pub use response::{BandNodes, RingConditions, RingResponse, SurfaceCoefficients};
pub use section::{MeshOptions, Surface, SurfaceKind};
pub use solid::Solid;
pub use state::RingState;

#[cfg(test)]
mod tests;
