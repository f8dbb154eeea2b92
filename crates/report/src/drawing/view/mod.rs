//! The close-up for a page: both rings with the film between, radius up, at the very scale that curves beside it continue.
//!
//! Sizes are in px of CSS. Rings and diameters are the case's; what the case does not give (holders, springs, shaft surface) is drawn thin and only
//! as far as it helps to see which side is sealed. Everything is stated by presentation attributes, as in [`chart`](crate::chart).

mod canvas;
mod captions;
mod machine;
mod rings;
mod window;
mod words;

use halfmicron::model::Model;
use halfmicron::outcome::DutyOutcome;
use halfmicron::sheet::UnitSet;

use super::{DrawingError, Exaggeration};
use crate::RadiusScale;
use crate::chart::Style;

/// What to show, and how large.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ViewWanted {
    /// Units of the reader.
    pub units: UnitSet,
    /// Temperatures of both rings; needs a solved duty.
    pub temperature: bool,
    /// Faces deformed and the film between; needs a solved duty.
    pub deformed: Option<Exaggeration>,
    /// Page or paper.
    pub style: Style,
    /// Width and height, px.
    pub size_px: [f64; 2],
}

/// The close-up.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// An `<svg>` element; its root carries `data-radius-low`, `-high` (mm) and `-top`, `-bottom` (px), its parts `data-path` with the
    /// path in the case of what they show.
    pub svg: String,
    /// Heights of the inner and outer edge of the band; curves beside the picture take them.
    pub radius: RadiusScale,
    /// Width, px.
    pub width_px: f64,
    /// Height, px.
    pub height_px: f64,
    /// By how much film and deflection are drawn larger than the rings, where they are.
    pub factor: Option<f64>,
    /// What must be known to read it: scale, exaggeration, what is schematic.
    pub notes: Vec<String>,
}

/// The close-up of a case; `solved` is a duty with full fields.
///
/// # Errors
/// [`DrawingError`] names what is missing and what to do.
pub fn view(model: &Model, solved: Option<&DutyOutcome>, wanted: &ViewWanted) -> Result<View, DrawingError> {
    words::composed(model, solved, wanted)
}
