//! A cross-section, or a face along the shaft, as plain data: what lies where on an A4 sheet, in millimetres of paper from its lower left corner.
//!
//! The shaft axis is horizontal and radius points up. [`draw`] makes the description, [`svg`](Drawing::svg) and [`dxf`](Drawing::dxf)
//! write it. Line kinds follow the ISO 128 family, dimension lines ISO 129-1, scales ISO 5455, springs and seals without a stated shape
//! the simplified symbols of ISO 2162 and ISO 9222, details ISO 128-3 (all from memory, none reproduced).

mod bodies;
mod colour;
mod compose;
mod contour;
mod detail;
mod dimensions;
mod dxf;
mod faces;
mod field;
mod fittings;
mod frame;
mod front;
mod hatch;
mod labels;
mod svg;
pub mod view;

use halfmicron::model::Model;
use halfmicron::outcome::DutyOutcome;
use halfmicron::sheet::UnitSet;

pub use frame::{Frame, Scale};
pub use front::draw_face;
pub use view::{View, ViewWanted, view};

/// Width and height of the sheet, mm: A4 landscape.
pub const SHEET_MM: [f64; 2] = [297.0, 210.0];

/// Height of letters of ordinary labels, as a font size, mm.
pub(crate) const LABEL_MM: f64 = 3.2;

/// Mean width of a character over the font size, on the wide side for common sans-serif faces.
const CHARACTER_WIDTH: f64 = 0.6;

/// What to draw beyond the section itself.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Wanted {
    /// Units of the reader.
    pub units: UnitSet,
    /// Temperatures of both rings; needs a solved duty.
    pub temperature: bool,
    /// Faces deformed; needs a solved duty.
    pub deformed: Option<Exaggeration>,
}

/// By how much deflections are drawn larger than they are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Exaggeration {
    /// Chosen so that they are seen.
    Automatic,
    /// Stated; relative to the drawn size of the rings.
    Factor(f64),
}

/// Why a case cannot be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DrawingError {
    /// Neither ring has a section.
    #[error("the case has no ring section to draw: give [rotating_ring] and [stationary_ring] a section = [ {{ r = [...], z = [...] }} ]")]
    NoSection,
    /// The section is too large for the smallest scale.
    #[error("the section reaches a radius of {radius_mm:.0} mm; at 1 : 200, the smallest scale, the sheet holds {most_mm:.0} mm")]
    TooLarge {
        /// Greatest radius, mm.
        radius_mm: f64,
        /// Greatest that fits, mm.
        most_mm: f64,
    },
    /// No solved duty to show temperatures or deflections of.
    #[error(
        "duty \"{duty}\" has no equilibrium whose temperatures and faces could be drawn: {reason}. Draw it without --temperature and --deformed, or another duty"
    )]
    NotSolved {
        /// Name of the duty.
        duty: String,
        /// Why it has none.
        reason: String,
    },
    /// Deflections drawn so large that they leave the ring.
    #[error(
        "--deformed {factor} would move a face by {moved_mm:.1} mm of the ring, beyond its first step: at most {most:.0} here, or auto"
    )]
    Exaggerated {
        /// Factor asked for.
        factor: f64,
        /// Greatest motion drawn, in mm at the ring's own size.
        moved_mm: f64,
        /// Greatest factor.
        most: f64,
    },
    /// A factor that is no factor.
    #[error("--deformed {0} must be a positive number, e.g. 2000, or auto")]
    Factor(f64),
}

/// What an item belongs to; the layers of a DXF file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Layer {
    /// Frame and title of the sheet.
    Sheet,
    /// Springs, bellows.
    Springs,
    /// Temperatures as filled bands and the lines between them.
    Temperature,
    /// Hatching.
    Hatching,
    /// What is cut into a face.
    Texture,
    /// The film between exaggerated faces.
    Film,
    /// Outlines of the ring that turns.
    RotatingRing,
    /// Outlines of the ring that stands.
    StationaryRing,
    /// Secondary seals.
    SecondarySeals,
    /// Shaft.
    Shaft,
    /// Lines that only suggest what the case does not give.
    Schematic,
    /// Axis.
    CentreLine,
    /// Flush.
    Flush,
    /// Dimensions.
    Dimensions,
    /// The band enlarged, with its circles.
    Detail,
    /// Labels with leaders, key, notes.
    Labels,
}

impl Layer {
    /// Every layer in drawing order.
    pub const ALL: [Self; 16] = [
        Self::Sheet,
        Self::Springs,
        Self::Temperature,
        Self::Hatching,
        Self::Texture,
        Self::Film,
        Self::RotatingRing,
        Self::StationaryRing,
        Self::SecondarySeals,
        Self::Shaft,
        Self::Schematic,
        Self::CentreLine,
        Self::Flush,
        Self::Dimensions,
        Self::Detail,
        Self::Labels,
    ];

    /// Name in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Sheet => "SHEET",
            Self::Temperature => "TEMPERATURE",
            Self::Hatching => "HATCHING",
            Self::Texture => "TEXTURE",
            Self::Film => "FILM",
            Self::RotatingRing => "ROTATING-RING",
            Self::StationaryRing => "STATIONARY-RING",
            Self::SecondarySeals => "SECONDARY-SEALS",
            Self::Springs => "SPRINGS",
            Self::Shaft => "SHAFT",
            Self::Schematic => "SCHEMATIC",
            Self::CentreLine => "CENTRE-LINE",
            Self::Flush => "FLUSH",
            Self::Dimensions => "DIMENSIONS",
            Self::Detail => "DETAIL",
            Self::Labels => "LABELS",
        }
    }
}

/// Kind of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    /// Visible edge: continuous, wide.
    Visible,
    /// Dimension, leader, schematic: continuous, narrow.
    Narrow,
    /// Hatching: continuous, narrowest.
    Hatch,
    /// Axis: long dash, dot, narrow.
    Centre,
}

impl Stroke {
    /// Width on paper, mm.
    pub fn width_mm(self) -> f64 {
        match self {
            Self::Visible => 0.5,
            Self::Narrow | Self::Centre => 0.25,
            Self::Hatch => 0.13,
        }
    }
}

/// Where a text hangs on its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// At its beginning.
    Start,
    /// At its middle.
    Middle,
}

/// A colour, red, green, blue.
pub type Colour = [u8; 3];

/// One thing on the sheet. Points are `[x, y]` in mm of paper, y upwards.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A line through points.
    Line {
        /// Points.
        points: Vec<[f64; 2]>,
        /// Whether the last joins the first.
        closed: bool,
        /// Kind.
        stroke: Stroke,
    },
    /// A circle.
    Circle {
        /// Centre.
        centre: [f64; 2],
        /// Radius, mm.
        radius: f64,
        /// Filled black, or a white disc with a narrow line.
        filled: bool,
    },
    /// A narrow circle that leaves what lies under it.
    Ring {
        /// Centre.
        centre: [f64; 2],
        /// Radius, mm.
        radius: f64,
    },
    /// Filled polygons of one colour without a line.
    Fill {
        /// Polygons.
        polygons: Vec<Vec<[f64; 2]>>,
        /// Colour.
        colour: Colour,
    },
    /// A text of one line.
    Text {
        /// Base line at the anchor.
        at: [f64; 2],
        /// Anchor.
        anchor: Anchor,
        /// Whether it reads upwards.
        upright: bool,
        /// Font size, mm.
        size: f64,
        /// What it says.
        content: String,
    },
}

/// A shape on its layer.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Layer.
    pub layer: Layer,
    /// Shape.
    pub shape: Shape,
}

/// A cross-section on a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Title for people and screen readers.
    pub title: String,
    /// What is to be seen, in words.
    pub description: String,
    /// Units of its dimensions.
    pub units: UnitSet,
    /// Where on the sheet what point of the seal lies.
    pub frame: Frame,
    /// What is drawn, in drawing order.
    pub items: Vec<Item>,
}

/// Draw a case; `solved` is a duty with full fields and gives temperatures, deflections and the numbers of that duty.
///
/// # Errors
/// [`DrawingError`] names what is missing and what to do.
pub fn draw(model: &Model, solved: Option<&DutyOutcome>, wanted: &Wanted) -> Result<Drawing, DrawingError> {
    compose::compose(model, solved, wanted)
}

/// Width of a text on paper, estimated, mm.
pub(crate) fn text_width(content: &str, size: f64) -> f64 {
    content.chars().count() as f64 * CHARACTER_WIDTH * size
}

impl Drawing {
    /// A line.
    pub(crate) fn line(&mut self, layer: Layer, stroke: Stroke, points: &[[f64; 2]]) {
        self.items.push(Item { layer, shape: Shape::Line { points: points.to_vec(), closed: false, stroke } });
    }

    /// A closed outline.
    pub(crate) fn outline(&mut self, layer: Layer, stroke: Stroke, points: &[[f64; 2]]) {
        self.items.push(Item { layer, shape: Shape::Line { points: points.to_vec(), closed: true, stroke } });
    }

    /// Filled polygons.
    pub(crate) fn fill(&mut self, layer: Layer, colour: Colour, polygons: Vec<Vec<[f64; 2]>>) {
        self.items.push(Item { layer, shape: Shape::Fill { polygons, colour } });
    }

    /// A circle.
    pub(crate) fn circle(&mut self, layer: Layer, centre: [f64; 2], radius: f64, filled: bool) {
        self.items.push(Item { layer, shape: Shape::Circle { centre, radius, filled } });
    }

    /// A text.
    pub(crate) fn text(&mut self, layer: Layer, at: [f64; 2], anchor: Anchor, size: f64, content: &str) {
        self.items.push(Item { layer, shape: Shape::Text { at, anchor, upright: false, size, content: content.to_owned() } });
    }

    /// A text that reads upwards.
    pub(crate) fn upright_text(&mut self, layer: Layer, at: [f64; 2], size: f64, content: &str) {
        let shape = Shape::Text { at, anchor: Anchor::Middle, upright: true, size, content: content.to_owned() };
        self.items.push(Item { layer, shape });
    }

    /// A closed, filled arrow head with its tip at `tip`, pointing along the unit vector `along` (ISO 129-1: about 15 degrees).
    pub(crate) fn arrow_head(&mut self, layer: Layer, tip: [f64; 2], along: [f64; 2], colour: Colour) {
        let (length, half) = (2.8, 0.42);
        let back = [tip[0] - length * along[0], tip[1] - length * along[1]];
        let side = [-along[1] * half, along[0] * half];
        let head = vec![tip, [back[0] + side[0], back[1] + side[1]], [back[0] - side[0], back[1] - side[1]]];
        self.fill(layer, colour, vec![head]);
    }
}

impl Shape {
    /// Lower left and upper right corner, mm of paper; of a text as estimated from its characters.
    pub fn bounds(&self) -> [[f64; 2]; 2] {
        match self {
            Self::Line { points, .. } => bounds(points.iter()),
            Self::Fill { polygons, .. } => bounds(polygons.iter().flatten()),
            Self::Circle { centre: [x, y], radius, .. } | Self::Ring { centre: [x, y], radius } => {
                [[x - radius, y - radius], [x + radius, y + radius]]
            }
            Self::Text { at: [x, y], anchor, upright, size, content } => {
                let width = text_width(content, *size);
                let begin = if *anchor == Anchor::Start { 0.0 } else { -0.5 * width };
                let (below, above) = (-0.22 * size, 0.76 * size);
                if *upright {
                    [[x - above, y + begin], [x - below, y + begin + width]]
                } else {
                    [[x + begin, y + below], [x + begin + width, y + above]]
                }
            }
        }
    }
}

fn bounds<'a>(points: impl Iterator<Item = &'a [f64; 2]>) -> [[f64; 2]; 2] {
    points.fold([[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]], |[low, high], p| {
        [[low[0].min(p[0]), low[1].min(p[1])], [high[0].max(p[0]), high[1].max(p[1])]]
    })
}
