//! Charts as SVG: one renderer for page, HTML and PDF. It draws what a [`Chart`] says and adds no number.
//!
//! Everything is stated by presentation attributes: a page that forbids inline styles shows the same as a file opened alone. On a page
//! colours are custom properties with fallbacks, so that light and dark are the page's affair; on paper they are plain, since typesetters
//! know no custom properties. No line is told from another by colour alone.

mod bars;
mod boxes;
mod key;
mod labels;
mod plot;
mod sheet;
mod style;
mod ticks;
mod words;
mod write;

use halfmicron::sheet::Chart;
use halfmicron::sheet::chart::ChartKind;

use crate::RadiusScale;
pub use sheet::sheet;
pub use style::typeset_unit;

/// Where and how a chart is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placing {
    /// Width of the picture, px (of CSS, 1/96 inch).
    pub width_px: f64,
    /// Height of the picture, px.
    pub height_px: f64,
    /// Page or paper.
    pub style: Style,
    /// Heights of radii of a profile, where it stands beside a section; its own scale otherwise.
    pub radius: Option<RadiusScale>,
    /// Whether radii are written beside the axis; of several profiles in a row the first alone needs them.
    pub radius_numbers: bool,
    /// Font family of the texts; none takes that of the page around.
    pub family: Option<&'static str>,
}

/// What a chart is drawn on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// A page: colours are custom properties with fallbacks.
    Page,
    /// Paper: plain colours, size stated in millimetres.
    Paper,
}

/// Pixels of a millimetre.
const PX_PER_MM: f64 = 96.0 / 25.4;

impl Placing {
    /// On a page, of a size in px.
    pub fn page(width_px: f64, height_px: f64) -> Self {
        Self { width_px, height_px, style: Style::Page, radius: None, radius_numbers: true, family: None }
    }

    /// On paper, of a size in millimetres.
    pub fn paper(width_mm: f64, height_mm: f64) -> Self {
        Self { style: Style::Paper, family: Some("sans-serif"), ..Self::page(width_mm * PX_PER_MM, height_mm * PX_PER_MM) }
    }

    /// Beside a section, with its heights of radii.
    pub fn beside(self, radius: RadiusScale) -> Self {
        Self { radius: Some(radius), ..self }
    }

    /// With another font family.
    pub fn in_family(self, family: &'static str) -> Self {
        Self { family: Some(family), ..self }
    }

    /// Without numbers beside the radius axis.
    pub fn without_radius_numbers(self) -> Self {
        Self { radius_numbers: false, ..self }
    }
}

/// The chart as an SVG element, behind it `held` thin and grey where it is of the same kind and units.
///
/// The root carries `data-across-low`, `-high` (values) and `-left`, `-right` (px), and for profiles `data-radius-low`, `-high` (values)
/// and `-top`, `-bottom` (px), so that a page can place a cursor.
pub fn svg(chart: &Chart, held: Option<&Chart>, placing: &Placing) -> String {
    match chart.kind {
        ChartKind::Bars => bars::svg(chart, placing),
        ChartKind::Profile | ChartKind::Sweep | ChartKind::Around => {
            let same = |held: &&Chart| held.kind == chart.kind && held.across.unit == chart.across.unit && held.up.unit == chart.up.unit;
            plot::svg(chart, held.filter(same), placing)
        }
    }
}

#[cfg(test)]
mod tests;
