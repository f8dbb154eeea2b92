//! What an engineer looks at and hands on: drawings of a seal as SVG and DXF, and the report that is signed.
//!
//! Nothing here computes physics: a drawing shows what the [`Model`](halfmicron::model::Model) and the
//! [`DutyOutcome`](halfmicron::outcome::DutyOutcome) say, a report what the [`Sheet`](halfmicron::sheet::Sheet) says.

pub mod chart;
mod digits;
pub mod drawing;
mod radius;
pub mod report;

pub use radius::RadiusScale;
