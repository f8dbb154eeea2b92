//! Cuts through the maps: over the radius at one angle, and over the angle at one radius.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::super::chart::{Axis, Chart, ChartKind, Mark, On, Role, Series};
use super::super::rounding::significant;
use super::{FilmMap, FilmMaps, MapPlace};

/// Points of a curve over the angle, and of one over the radius within each layer of cells.
const ANGLE_POINTS: usize = 481;
const LAYER_POINTS: usize = 6;

/// Two cuts that cross at one place of the face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FilmCut {
    /// Radius of the cut over the angle.
    pub radius: f64,
    /// Angle of the cut over the radius, degrees.
    pub angle_deg: f64,
    /// What the maps say where the cuts cross.
    pub readings: Vec<FilmReading>,
    /// Charts over the radius, one a map.
    pub over_radius: Vec<Chart>,
    /// Charts over the angle, one a map; none where the film is the same at every angle.
    pub over_angle: Vec<Chart>,
}

/// What one map says at a place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FilmReading {
    /// Key of the map.
    pub key: String,
    /// What it shows.
    pub label: String,
    /// The value, rounded.
    pub value: String,
    /// Unit.
    pub unit: String,
}

/// The cuts at a place; none where the radius lies off the band or a number is none.
pub fn film_cut(maps: &FilmMaps, radius: f64, angle_deg: f64) -> Option<FilmCut> {
    let [low, high] = [*maps.radius.first()?, *maps.radius.last()?];
    let slack = 1e-6 * high;
    if !(low - slack..=high + slack).contains(&radius) || !angle_deg.is_finite() {
        return None;
    }
    let radius = radius.clamp(low, high);
    let over_radius = maps.maps.iter().map(|map| of_radius(maps, map, radius, angle_deg)).collect();
    let over_angle = maps.maps.iter().filter(|_| !maps.axisymmetric).map(|map| of_angle(maps, map, radius, angle_deg)).collect();
    let reading = |map: &FilmMap| FilmReading {
        key: map.key.clone(),
        label: map.label.clone(),
        value: significant(without_dust(map, sample(maps, map, radius, angle_deg)), 4),
        unit: map.unit.clone(),
    };
    Some(FilmCut { radius, angle_deg, readings: maps.maps.iter().map(reading).collect(), over_radius, over_angle })
}

/// A millionth of the greatest value is nothing.
fn without_dust(map: &FilmMap, value: f64) -> f64 {
    if value.abs() < 1e-6 * map.low.abs().max(map.high.abs()) { 0.0 } else { value }
}

/// Value of a map at a place of the band.
fn sample(maps: &FilmMaps, map: &FilmMap, radius: f64, angle_deg: f64) -> f64 {
    let layer = maps.radius.partition_point(|r| *r <= radius).clamp(1, maps.radius.len() - 1) - 1;
    let share = (radius - maps.radius[layer]) / (maps.radius[layer + 1] - maps.radius[layer]);
    let shift = maps.shift_deg[layer] + share * (maps.shift_deg[layer + 1] - maps.shift_deg[layer]);
    let angles = &maps.angle_deg;
    let columns = angles.len() - 1;
    let period = angles[columns] - angles[0];
    let turned = angles[0] + (angle_deg - shift - angles[0]).rem_euclid(period);
    let column = angles.partition_point(|a| *a <= turned).clamp(1, columns) - 1;
    if map.place == MapPlace::Cells {
        return map.values[layer * columns + column];
    }
    let across = (turned - angles[column]) / (angles[column + 1] - angles[column]);
    let at = |i: usize| {
        let row = i * columns;
        let (a, b) = (map.values[row + column], map.values[row + (column + 1) % columns]);
        a + across * (b - a)
    };
    at(layer) + share * (at(layer + 1) - at(layer))
}

fn of_radius(maps: &FilmMaps, map: &FilmMap, radius: f64, angle_deg: f64) -> Chart {
    let mut up = Vec::new();
    for pair in maps.radius.windows(2) {
        // Just inside both ends of the layer, where a cell ends with a step.
        let inside = 1e-6 * (pair[1] - pair[0]);
        up.extend((0..=LAYER_POINTS).map(|k| match k {
            0 => pair[0] + inside,
            LAYER_POINTS => pair[1] - inside,
            k => pair[0] + (pair[1] - pair[0]) * k as f64 / LAYER_POINTS as f64,
        }));
    }
    let across: Vec<f64> = up.iter().map(|r| sample(maps, map, *r, angle_deg)).collect();
    let radii =
        Axis { label: "radius".to_owned(), unit: maps.length_unit.clone(), low: maps.radius[0], high: maps.radius[maps.radius.len() - 1] };
    let marks = if maps.axisymmetric { Vec::new() } else { vec![mark(On::Up, radius)] };
    chart(maps, map, "radius", [axis(map), radii], ChartKind::Profile, [across, up], marks)
}

fn of_angle(maps: &FilmMaps, map: &FilmMap, radius: f64, angle_deg: f64) -> Chart {
    let period = 360.0 / maps.sectors as f64;
    let across: Vec<f64> = (0..ANGLE_POINTS).map(|k| period * k as f64 / (ANGLE_POINTS - 1) as f64).collect();
    let up: Vec<f64> = across.iter().map(|angle| sample(maps, map, radius, *angle)).collect();
    let angles = Axis { label: "angle".to_owned(), unit: "deg".to_owned(), low: 0.0, high: period };
    let marks = vec![mark(On::Across, angle_deg.rem_euclid(period))];
    let shown = ripple(map, &up);
    chart(maps, map, "angle", [angles, shown], ChartKind::Around, [across, up], marks)
}

/// Where the other cut lies.
fn mark(on: On, value: f64) -> Mark {
    Mark { label: "cut".to_owned(), on, value }
}

/// The whole range of a map, so that curves of other places lie on the same scale; a gap and a share begin at nothing.
fn axis(map: &FilmMap) -> Axis {
    let low = if map.key == "pressure" { map.low } else { 0.0 };
    let high = if map.key == "cavitated" || map.key == "vapour" { map.high.max(1.0) } else { map.high };
    let room = if high > low { 0.0 } else { 0.5 * high.abs().max(1e-3) };
    Axis { label: map.label.clone(), unit: map.unit.clone(), low: low - room, high: high + room }
}

/// Least share of a map's range that an axis spans: less would make much of what is nothing.
const LEAST_SPAN: f64 = 0.05;

/// The axis of a curve round the circumference. Pressure there differs much less than over the band, and is shown at a scale of its own.
fn ripple(map: &FilmMap, values: &[f64]) -> Axis {
    let whole = axis(map);
    if map.key != "pressure" {
        return whole;
    }
    let [low, high] = values.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], value| [low.min(*value), high.max(*value)]);
    let lack = (0.5 * (LEAST_SPAN * (map.high - map.low) - (high - low))).max(0.0);
    if map.high <= map.low {
        return whole;
    }
    let (low, high) = (low - lack, high + lack);
    // From nothing, where nothing is as near as the curve is long.
    let low = if low <= high - low { 0.0 } else { low };
    Axis { low, high, ..whole }
}

fn chart(
    maps: &FilmMaps,
    map: &FilmMap,
    over: &str,
    [across, up]: [Axis; 2],
    kind: ChartKind,
    [across_values, up_values]: [Vec<f64>; 2],
    marks: Vec<Mark>,
) -> Chart {
    let series = Series {
        key: format!("film.{}", map.key),
        label: map.label.clone(),
        role: Role::Film,
        across: across_values.into_iter().map(Some).collect(),
        up: up_values.into_iter().map(Some).collect(),
    };
    Chart {
        key: format!("film.{}.over-{over}", map.key),
        title: map.label.clone(),
        duty: Some(maps.duty.clone()),
        kind,
        across,
        up,
        series: vec![series],
        bars: Vec::new(),
        limits: Vec::new(),
        marks,
        note: String::new(),
    }
}
