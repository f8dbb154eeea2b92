//! Pictures of one duty: the section with the film, and the curves that stand beside it.

use std::collections::BTreeMap;

use halfmicron::model::Model;
use halfmicron::outcome::Outcome;
use halfmicron::sheet::chart::ChartKind;
use halfmicron::sheet::{Chart, Sheet};
use halfmicron_report::RadiusScale;
use halfmicron_report::chart::{Placing, Style, svg};
use halfmicron_report::drawing::Exaggeration;
use halfmicron_report::drawing::view::{View, ViewWanted, view};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::problem::Problem;

/// Factors by which deflections may be drawn larger than they are.
const LEAST_FACTOR: f64 = 1e-3;
const MOST_FACTOR: f64 = 1e6;
/// Sizes of pictures, px.
const SIZES_PX: std::ops::RangeInclusive<f64> = 120.0..=4000.0;
/// Height of charts that stand by themselves, px.
const BARS_PX: f64 = 220.0;

/// Pictures that are wanted.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PicturesWanted {
    /// Duty that is shown; the first of the solved ones when none is named.
    #[serde(default)]
    pub duty: Option<String>,
    /// Whether the rings show their temperatures.
    #[serde(default)]
    pub temperature: bool,
    /// How much larger than they are the deflections of the faces are drawn; none for faces as they were made.
    #[serde(default)]
    pub deformed: Option<Deformed>,
    /// Width of the section, px.
    #[serde(default = "view_width")]
    #[schema(minimum = 120, maximum = 4000)]
    pub width: f64,
    /// Height of the section and of the charts beside it, px.
    #[serde(default = "view_height")]
    #[schema(minimum = 120, maximum = 4000)]
    pub height: f64,
    /// Width of each chart, px.
    #[serde(default = "chart_width")]
    #[schema(minimum = 120, maximum = 4000)]
    pub chart_width: f64,
    /// Whether the charts stand apart from the section, below it on a narrow page, and have a radius scale of their own.
    #[serde(default)]
    pub apart: bool,
}

fn view_width() -> f64 {
    640.0
}
fn view_height() -> f64 {
    480.0
}
fn chart_width() -> f64 {
    260.0
}

/// How much larger than they are deflections are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, ToSchema)]
#[serde(untagged)]
pub enum Deformed {
    /// So that they are seen.
    Chosen(Automatic),
    /// By this factor.
    Factor(Factor),
}

/// A factor.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, ToSchema)]
#[schema(minimum = 0.001, maximum = 1_000_000)]
pub struct Factor(pub f64);

/// The word for a factor that the program chooses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Automatic {
    /// Chosen so that the deflections are seen.
    Auto,
}

/// Pictures of one duty.
#[derive(Debug, Serialize, ToSchema)]
pub struct Pictures {
    /// Duty that is shown.
    pub duty: String,
    /// Section of both rings with the film between them.
    pub view: Option<ViewPicture>,
    /// Charts of the sheet by key, e.g. `profile.gap`; their radius stands at the height that it has in the section.
    pub charts: BTreeMap<String, String>,
    /// What the reader must know of the pictures.
    pub notes: Vec<String>,
}

/// The section as a picture.
#[derive(Debug, Serialize, ToSchema)]
pub struct ViewPicture {
    /// The picture, SVG.
    pub svg: String,
    /// Width, px.
    pub width_px: f64,
    /// Height, px.
    pub height_px: f64,
    /// By how much film and deflection are drawn larger than the rings, where they are.
    pub factor: Option<f64>,
    /// Where radii stand in it.
    pub radius: RadiusPlace,
}

/// Where radii stand in a picture: linear between two heights, counted from the top.
#[derive(Debug, Serialize, ToSchema)]
pub struct RadiusPlace {
    /// Lower radius, mm.
    pub low_mm: f64,
    /// Upper radius, mm.
    pub high_mm: f64,
    /// Height of the upper radius, px.
    pub top_px: f64,
    /// Height of the lower radius, px.
    pub bottom_px: f64,
}

impl Deformed {
    /// The same as a drawing takes it.
    pub fn exaggeration(self) -> Result<Exaggeration, Problem> {
        match self {
            Self::Chosen(_) => Ok(Exaggeration::Automatic),
            Self::Factor(Factor(factor)) if (LEAST_FACTOR..=MOST_FACTOR).contains(&factor) => Ok(Exaggeration::Factor(factor)),
            Self::Factor(Factor(factor)) => {
                let message = format!("`deformed` is {factor}; a factor lies from {LEAST_FACTOR} to {MOST_FACTOR}");
                Err(Problem::bad_request(message, "Write a positive number such as 2000, or \"auto\"."))
            }
        }
    }
}

/// Pictures of the duty that is shown; none where no duty was solved.
pub fn pictures(
    asked: &PicturesWanted,
    model: &Model,
    outcome: &Outcome,
    sheet: &Sheet,
    held: Option<&Sheet>,
) -> Result<Option<Pictures>, Problem> {
    if let Some(wrong) = [asked.width, asked.height, asked.chart_width].into_iter().find(|size| !SIZES_PX.contains(size)) {
        let message = format!("a picture of {wrong} px is asked for; sizes lie from {} to {} px", SIZES_PX.start(), SIZES_PX.end());
        return Err(Problem::bad_request(message, "Ask for a size that fits a screen."));
    }
    let deformed = asked.deformed.map(Deformed::exaggeration).transpose()?;
    let Some(duty) = (match &asked.duty {
        Some(name) => outcome.duties.iter().find(|duty| duty.name == *name),
        None => outcome.duties.first(),
    }) else {
        return Ok(None);
    };
    let shown = duty.chosen.map(|_| duty);
    let size_px = [asked.width, asked.height];
    let mut wanted = ViewWanted { units: sheet.units, temperature: asked.temperature, deformed, style: Style::Page, size_px };
    if shown.is_none() {
        // Rings as they were made can still be seen.
        (wanted.temperature, wanted.deformed) = (false, None);
    }
    let (drawn, mut notes) = match view(model, shown, &wanted) {
        Ok(drawn) => (Some(drawn), Vec::new()),
        Err(error) => (None, vec![error.to_string()]),
    };
    let charts = charts(asked, &duty.name, sheet, held, drawn.as_ref().map(|view| view.radius).filter(|_| !asked.apart));
    let view = drawn.map(|View { svg, radius, width_px, height_px, factor, notes: said }| {
        notes.extend(said);
        let RadiusScale { low_mm, high_mm, top_px, bottom_px } = radius;
        ViewPicture { svg, width_px, height_px, factor, radius: RadiusPlace { low_mm, high_mm, top_px, bottom_px } }
    });
    Ok(Some(Pictures { duty: duty.name.clone(), view, charts, notes }))
}

/// The charts of a duty, profiles at the heights of the section; the first of them alone with numbers beside its radius.
fn charts(
    asked: &PicturesWanted,
    duty: &str,
    sheet: &Sheet,
    held: Option<&Sheet>,
    radius: Option<RadiusScale>,
) -> BTreeMap<String, String> {
    let of_duty = |chart: &&Chart| chart.duty.as_deref().is_none_or(|of| of == duty);
    let mut numbered = false;
    let mut drawn = BTreeMap::new();
    for chart in sheet.charts.iter().filter(of_duty) {
        let behind = held.and_then(|held| held.charts.iter().find(|behind| behind.key == chart.key && behind.duty == chart.duty));
        let placing = match (chart.kind, radius) {
            (ChartKind::Profile, radius) => {
                let placing = Placing::page(asked.chart_width, asked.height);
                let placing = if numbered && !asked.apart { placing.without_radius_numbers() } else { placing };
                numbered = true;
                radius.map_or(placing, |radius| placing.beside(radius))
            }
            _ => Placing::page(asked.width, BARS_PX),
        };
        drawn.insert(chart.key.clone(), svg(chart, behind, &placing));
    }
    drawn
}
