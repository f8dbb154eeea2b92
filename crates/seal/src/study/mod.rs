//! Studies: one seal solved many times, each point started from its neighbour.

mod sweep;
mod vary;
mod window;

pub use sweep::{Sweep, SweepPoint, SweepRow, sweep, sweep_with};
pub use vary::Request;
pub use window::{Axis, WindowPoint, window};

use crate::case::PathError;
use crate::point::PointError;

/// Why a study could not be begun.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StudyError {
    /// A path that names no number, or a value that it cannot take.
    #[error(transparent)]
    Path(#[from] PathError),
    /// Rings that cannot be prepared, or a duty that the case does not have.
    #[error(transparent)]
    Point(#[from] PointError),
    /// Too few values.
    #[error("a study needs two values at least; {count} given")]
    Count {
        /// Values given.
        count: usize,
    },
}
