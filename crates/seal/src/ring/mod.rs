//! One ring: heat, expansion and elasticity of its section, reduced to the nodes of its running face.

mod response;

pub use response::{BandNodes, RingConditions, RingResponse, SurfaceCoefficients};
