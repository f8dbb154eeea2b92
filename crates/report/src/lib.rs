//! What an engineer looks at and hands on: drawings of a seal as SVG and DXF.
//!
//! Nothing here computes physics: a drawing shows what the [`Model`](halfmicron::model::Model) and the
//! [`DutyOutcome`](halfmicron::outcome::DutyOutcome) say.

pub mod chart;
pub mod drawing;
mod radius;

pub use radius::RadiusScale;
