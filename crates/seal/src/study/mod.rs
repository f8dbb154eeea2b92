//! Studies: one seal solved many times, each point started from its neighbour.

mod influence;
mod sweep;
mod vary;
mod window;

pub use influence::{
    Change, Influence, Influences, Input, LeftOut, MAIN, Nominal, RESULTS, Source, Step, Told, influences, influences_at, inputs,
};
pub use sweep::{Sweep, SweepLimits, SweepPoint, SweepRow, SweepState, sweep, sweep_with};
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
    /// A duty without an operating point has nothing to be influenced.
    #[error("the duty \"{duty}\" has no operating point: {reason}")]
    NoPoint {
        /// Duty.
        duty: String,
        /// Why, SI quantities inside.
        reason: String,
    },
    /// A key that is no result.
    #[error("`{key}` is no result whose influences are computed; there are {}", known.join(", "))]
    UnknownResult {
        /// Key as asked for.
        key: String,
        /// Keys there are.
        known: Vec<String>,
    },
    /// Broken off by who asked for it.
    #[error("the study was broken off")]
    Cancelled,
    /// Too few values.
    #[error("a study needs two values at least; {count} given")]
    Count {
        /// Values given.
        count: usize,
    },
}
