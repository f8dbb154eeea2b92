//! Cuts through the film of a study, drawn by the one renderer of charts.

use axum::Json;
use axum::extract::State;
use halfmicron::sheet::{Chart, FilmReading, film_cut};
use halfmicron_report::chart::{Placing, svg};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::App;
use super::problem::Problem;
use super::request::{Last, Query};

/// Sizes of pictures, px.
const WIDTHS_PX: std::ops::RangeInclusive<f64> = 120.0..=4000.0;
/// Heights of the charts over the radius and over the angle, px.
const RADIUS_PX: f64 = 250.0;
const ANGLE_PX: f64 = 200.0;

/// Where the film is cut.
#[derive(Debug, Clone, Copy, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct CutWanted {
    /// Radius of the cut over the angle, in the unit of the maps.
    pub radius: f64,
    /// Angle of the cut over the radius, degrees.
    pub angle: f64,
    /// Width of each chart over the angle, px.
    #[serde(default = "wide")]
    #[param(minimum = 120, maximum = 4000)]
    pub width: f64,
    /// Width of each chart over the radius, px.
    #[serde(default = "narrow")]
    #[param(minimum = 120, maximum = 4000)]
    pub narrow: f64,
}

fn wide() -> f64 {
    520.0
}
fn narrow() -> f64 {
    260.0
}

/// Two cuts through the film that cross at one place.
#[derive(Debug, Serialize, ToSchema)]
pub struct Cut {
    /// What the maps say where they cross.
    pub readings: Vec<FilmReading>,
    /// Charts over the radius, radius up, one a map.
    pub over_radius: Vec<CutChart>,
    /// Charts over the angle, one a map; none where the film is the same at every angle.
    pub over_angle: Vec<CutChart>,
}

/// One chart of a cut.
#[derive(Debug, Serialize, ToSchema)]
pub struct CutChart {
    /// Key, e.g. `film.pressure.over-angle`.
    pub key: String,
    /// Title.
    pub title: String,
    /// Unit of what is shown.
    pub unit: String,
    /// The picture, SVG.
    pub svg: String,
}

/// Cut the film of a study
///
/// The study is one of kind `film` that is done.
#[utoipa::path(get, path = "/api/studies/{id}/cut", operation_id = "cut", tag = "studies", params(("id" = String, Path, description = "Id of the study"), CutWanted), responses(
    (status = 200, description = "Charts of both cuts", body = Cut),
    (status = 404, description = "No such study, or one without a film", body = Problem),
    (status = 422, description = "There is no film at that radius", body = Problem),
))]
pub async fn cut(State(app): State<App>, Last(id): Last, Query(wanted): Query<CutWanted>) -> Result<Json<Cut>, Problem> {
    if let Some(wrong) = [wanted.width, wanted.narrow].into_iter().find(|size| !WIDTHS_PX.contains(size)) {
        let message = format!("a picture of {wrong} px is asked for; sizes lie from {} to {} px", WIDTHS_PX.start(), WIDTHS_PX.end());
        return Err(Problem::bad_request(message, "Ask for a size that fits a screen."));
    }
    let maps = app.studies.film(&id)?;
    app.desk.run(move |_| drawn(&maps, wanted)).await?.map(Json)
}

fn drawn(maps: &halfmicron::sheet::FilmMaps, wanted: CutWanted) -> Result<Cut, Problem> {
    let found = film_cut(maps, wanted.radius, wanted.angle).ok_or_else(|| {
        let ends = [maps.radius.first(), maps.radius.last()].map(|end| end.copied().unwrap_or_default());
        let message = format!("there is no film at radius {} and angle {}", wanted.radius, wanted.angle);
        Problem::impossible("film.off", message, format!("The band reaches from {} to {} {}.", ends[0], ends[1], maps.length_unit))
    })?;
    let charts = |charts: &[Chart], placing: &Placing, across: bool| {
        let one = |chart: &Chart| CutChart {
            key: chart.key.clone(),
            title: chart.title.clone(),
            unit: if across { chart.across.unit.clone() } else { chart.up.unit.clone() },
            svg: svg(chart, None, placing),
        };
        charts.iter().map(one).collect()
    };
    Ok(Cut {
        readings: found.readings,
        over_radius: charts(&found.over_radius, &Placing::page(wanted.narrow, RADIUS_PX), true),
        over_angle: charts(&found.over_angle, &Placing::page(wanted.width, ANGLE_PX), false),
    })
}
