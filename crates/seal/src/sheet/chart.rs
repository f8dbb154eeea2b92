//! What a chart shows, as plain data in the reader's units. One renderer draws it for page, report and terminal; it adds no number.
//!
//! A chart of the running band has **radius on the vertical axis**, as the section beside it has.

mod heat;
mod motion;
mod profile;
mod swept;
#[cfg(test)]
mod tests;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::units::{Kind, Unit, UnitSet, unit};

pub(super) use heat::heat_split;
pub(super) use motion::of_motion;
pub(super) use profile::of_duty;
pub(super) use swept::of_sweep;

/// One chart.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Chart {
    /// What it shows, e.g. `profile.gap`; one of a key and duty in a sheet.
    pub key: String,
    /// Title in the reader's words.
    pub title: String,
    /// Duty; none where it is over all of them.
    pub duty: Option<String>,
    /// How it is drawn.
    pub kind: ChartKind,
    /// Horizontal axis.
    pub across: Axis,
    /// Vertical axis.
    pub up: Axis,
    /// Curves, or the parts of the bars.
    pub series: Vec<Series>,
    /// Names of the bars from the top down; empty where there are none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bars: Vec<String>,
    /// Limits.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub limits: Vec<LimitLine>,
    /// Places where something happens.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<Mark>,
    /// What the reader must know; empty where nothing.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// How a chart is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ChartKind {
    /// Curves over the running band: radius upward, the quantity across.
    Profile,
    /// A quantity upward over a swept number.
    Sweep,
    /// A quantity upward over the angle round the circumference.
    Around,
    /// Bars of parts, each part beginning where the one before ends; bar `k` lies at height `k` counted downward.
    Bars,
}

/// One axis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Axis {
    /// What is measured along it.
    pub label: String,
    /// Unit; empty for pure numbers.
    pub unit: String,
    /// Least value that is shown.
    pub low: f64,
    /// Greatest value that is shown.
    pub high: f64,
}

/// A curve, or one part of every bar.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Series {
    /// Key of the outcome.
    pub key: String,
    /// Label that stands beside it.
    pub label: String,
    /// What it is, which decides how its line looks.
    pub role: Role,
    /// Horizontal values; none breaks the line.
    pub across: Vec<Option<f64>>,
    /// Vertical values; none breaks the line.
    pub up: Vec<Option<f64>>,
}

/// What a series is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// The film, and a swept quantity of the film that is followed.
    Film,
    /// Contact of the faces.
    Contact,
    /// The rotating ring.
    Rotating,
    /// The stationary ring.
    Stationary,
    /// Boiling temperature.
    Saturation,
    /// What the leakage carries.
    Leak,
    /// A limit that is not the same everywhere.
    Limit,
    /// Other stable states than the one followed; single points.
    Other,
    /// Unstable states; single points.
    Unstable,
}

/// A limit at one value of an axis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct LimitLine {
    /// Words that stand on the line.
    pub label: String,
    /// Axis on which the value lies.
    pub on: On,
    /// Value.
    pub value: f64,
    /// Side that the limit forbids.
    pub forbidden: Forbidden,
}

/// An axis of a chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum On {
    /// The horizontal axis.
    Across,
    /// The vertical axis.
    Up,
}

/// Side of a limit on which nobody should be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Forbidden {
    /// Greater values.
    Above,
    /// Smaller values.
    Below,
}

/// A place where something happens: a fold of a sweep, a change of phase over the band.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Mark {
    /// What happens.
    pub label: String,
    /// Axis on which the place lies.
    pub on: On,
    /// Place.
    pub value: f64,
}

/// Values in the reader's units; none where there is no finite number.
fn values(unit: Unit, values: impl IntoIterator<Item = Option<f64>>) -> Vec<Option<f64>> {
    values.into_iter().map(|value| value.and_then(|si| super::curves::six_digits(unit.convert(si)))).collect()
}

/// An SI value in the reader's units, as [`values`] writes it.
fn value(unit: Unit, si: f64) -> Option<f64> {
    values(unit, [Some(si)])[0]
}

/// An axis just as long as all that is shown on it; 0 to 1 where there is nothing.
fn axis<'a>(label: &str, kind: Kind, units: UnitSet, shown: impl IntoIterator<Item = &'a Option<f64>>) -> Axis {
    let ends = shown
        .into_iter()
        .flatten()
        .fold(None, |ends: Option<[f64; 2]>, value| Some(ends.map_or([*value; 2], |[low, high]| [low.min(*value), high.max(*value)])));
    let [low, high] = ends.unwrap_or([0.0, 1.0]);
    Axis { label: label.to_owned(), unit: unit(kind, units).label.to_owned(), low, high }
}

/// Spans of what is shown by which an axis may grow to hold a limit: beyond, the curves would be pressed flat.
const GROWS_BY: f64 = 1.5;

impl Axis {
    fn span(&self) -> f64 {
        self.high - self.low
    }

    /// The axis from nothing, where nothing is as near as all that is shown is long.
    fn with_nothing_if_near(self) -> Self {
        let (low, high, span) = (self.low, self.high, self.span());
        let near = (low > 0.0 && low <= span) || (high < 0.0 && -high <= span);
        if near || span == 0.0 { self.with(0.0) } else { self }
    }

    /// Whether a value lies on the axis or so near that the axis may grow to it.
    fn reaches(&self, value: f64) -> bool {
        let far = GROWS_BY * self.span();
        (self.low - far..=self.high + far).contains(&value)
    }

    /// The axis made longer where it does not hold a value.
    fn with(mut self, value: f64) -> Self {
        if value.is_finite() {
            self.low = self.low.min(value);
            self.high = self.high.max(value);
        }
        self
    }
}
