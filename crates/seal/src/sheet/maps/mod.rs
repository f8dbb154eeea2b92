//! The film over the face of one duty in the reader's units: maps of pressure, gap and cavitated share, the edges of what is cut into the
//! face, and what is to be read off them.

mod cut;
#[cfg(test)]
mod tests;
mod words;

use std::f64::consts::TAU;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

pub use cut::{FilmCut, FilmReading, film_cut};
pub use words::texture_words;

use super::chosen;
use super::curves::six_digits;
use super::rounding::{nominal, significant};
use super::units::{Kind, UnitSet, unit};
use crate::film::{FaceLine, FilmField, sector_lines};
use crate::model::{Model, RingRole, is_two_dimensional};
use crate::outcome::{DutyOutcome, Equilibrium, Ranged, WavyFilm};

/// The film of one duty over its face. Angles count in the sense in which the shaft turns.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FilmMaps {
    /// Title of the case.
    pub title: String,
    /// Name of the duty.
    pub duty: String,
    /// Units in which it is written.
    pub units: UnitSet,
    /// Whether the film is the same at every angle: then one profile is shown all the way round.
    pub axisymmetric: bool,
    /// Ring that carries what makes the film differ from angle to angle: `rotating` or `stationary`; none where nothing does.
    pub on: Option<String>,
    /// What lies on the faces, in words.
    pub textures: Vec<String>,
    /// Equal sectors of the ring, of which the maps hold one.
    pub sectors: usize,
    /// Unit of radii.
    pub length_unit: String,
    /// Radius of each circle of nodes, from inside to outside.
    pub radius: Vec<f64>,
    /// Angle of each line of nodes over one sector, degrees; the last is the first of the next sector.
    pub angle_deg: Vec<f64>,
    /// Angle by which each circle of nodes is turned, degrees: a node stands at its angle plus this.
    pub shift_deg: Vec<f64>,
    /// Maps of pressure, gap and, of a liquid, what the cavity takes.
    pub maps: Vec<FilmMap>,
    /// Edges of what is cut into the face, of one sector: the next has the same, turned. At most 4000.
    pub face: Vec<FaceEdge>,
    /// What is read off the field.
    pub numbers: Vec<FilmNumber>,
    /// What must be known to read it.
    pub notes: Vec<String>,
}

/// One quantity over the face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FilmMap {
    /// `pressure`, `gap`, `cavitated` or `vapour`.
    pub key: String,
    /// What it shows.
    pub label: String,
    /// Unit.
    pub unit: String,
    /// Where the values stand.
    pub place: MapPlace,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
    /// Values, circle by circle from inside to outside. Nodes of a circle are one fewer than its angles, for the last is the first again.
    pub values: Vec<f64>,
}

/// Where the values of a map stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum MapPlace {
    /// At the nodes; straight in between.
    Nodes,
    /// In the cells between the nodes; even within each.
    Cells,
}

/// An edge on the face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum FaceEdge {
    /// Closed edge of what is cut into the face.
    Cut {
        /// Radius of each point.
        radius: Vec<f64>,
        /// Angle of each point, degrees.
        angle_deg: Vec<f64>,
    },
    /// Edge of a round dimple.
    Dimple {
        /// Radius at which its centre stands.
        at: f64,
        /// Angle at which its centre stands, degrees.
        angle_deg: f64,
        /// Radius of the dimple.
        radius: f64,
    },
    /// Ray along which the face stands nearest to the other.
    Crest {
        /// Its angle, degrees.
        angle_deg: f64,
    },
    /// Ray along which it stands farthest away.
    Valley {
        /// Its angle, degrees.
        angle_deg: f64,
    },
    /// Circle at which a cone begins or ends.
    Rim {
        /// Its radius.
        radius: f64,
    },
}

/// One number of the field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FilmNumber {
    /// What it is.
    pub label: String,
    /// The number, rounded.
    pub value: String,
    /// Unit; empty for counts.
    pub unit: String,
}

/// Edges of one sector that are told; more would be finer than any picture of them.
const MOST_EDGES: usize = 4000;
/// Angles at which a film that is the same at every angle is written down.
const EVEN_ANGLES: usize = 2;

/// The film of a solved duty over its face; none where the duty has no equilibrium, or none with a film.
pub fn film_maps(model: &Model, duty: &DutyOutcome, units: UnitSet) -> Option<FilmMaps> {
    let equilibrium = chosen(duty).filter(|equilibrium| equilibrium.profiles.radius_m.len() > 1)?;
    let length = unit(Kind::Length, units);
    let textured = equilibrium.film_field.as_deref();
    let on = model.textures.iter().find(|texture| !texture.form.is_axisymmetric()).map(|texture| texture.on);
    let field = match textured {
        Some(field) => Field::textured(field, units),
        // A film that differs from angle to angle is not shown as one that does not.
        None if is_two_dimensional(&model.textures) => return None,
        None => Field::even(equilibrium, units),
    };
    let degrees = |values: &[f64]| values.iter().map(|angle| round(angle.to_degrees())).collect();
    Some(FilmMaps {
        title: model.title.clone(),
        duty: duty.name.clone(),
        units,
        axisymmetric: textured.is_none(),
        on: on.map(|role| if role == RingRole::Rotating { "rotating" } else { "stationary" }.to_owned()),
        textures: model.textures.iter().map(|texture| texture_words(texture, units).join(", ")).collect(),
        sectors: field.sectors,
        length_unit: length.label.to_owned(),
        radius: field.radius_m.iter().map(|r| round(length.convert(*r))).collect(),
        angle_deg: degrees(&field.angle_rad),
        shift_deg: degrees(&field.shift_rad),
        maps: field.maps,
        face: model
            .textures
            .iter()
            .flat_map(|texture| sector_lines(texture, field.sectors))
            .map(|line| edge(&line, units))
            .take(MOST_EDGES)
            .collect(),
        numbers: numbers(equilibrium, units),
        notes: notes(equilibrium, units),
    })
}

fn round(value: f64) -> f64 {
    six_digits(value).unwrap_or_default()
}

/// What is drawn, before it is put into words.
struct Field {
    sectors: usize,
    radius_m: Vec<f64>,
    angle_rad: Vec<f64>,
    shift_rad: Vec<f64>,
    maps: Vec<FilmMap>,
}

impl Field {
    fn textured(field: &FilmField, units: UnitSet) -> Self {
        let mut maps = vec![
            map("pressure", "film pressure", Kind::AbsolutePressure, MapPlace::Nodes, &field.pressure_pa, units),
            map("gap", "gap", Kind::SmallLength, MapPlace::Cells, &field.gap_m, units),
        ];
        if field.cavitation_pressure_pa.is_some() {
            let torn: Vec<f64> = field.fill.iter().map(|fill| (1.0 - fill).max(0.0)).collect();
            maps.push(map("cavitated", "gap without liquid", Kind::Share, MapPlace::Nodes, &torn, units));
        }
        Self {
            sectors: field.sectors,
            radius_m: field.radius_m.clone(),
            angle_rad: field.angle_rad.clone(),
            shift_rad: if field.shift_rad.is_empty() { vec![0.0; field.radius_m.len()] } else { field.shift_rad.clone() },
            maps,
        }
    }

    fn even(equilibrium: &Equilibrium, units: UnitSet) -> Self {
        let profiles = &equilibrium.profiles;
        let count = profiles.radius_m.len();
        let around = |profile: &[f64]| -> Vec<f64> { profile.iter().flat_map(|value| [*value; EVEN_ANGLES]).collect() };
        let mut maps = vec![
            map("pressure", "film pressure", Kind::AbsolutePressure, MapPlace::Nodes, &around(&profiles.pressure_pa), units),
            map("gap", "gap", Kind::SmallLength, MapPlace::Nodes, &around(&profiles.gap_m), units),
        ];
        let boils = profiles.vapour_fraction.len() == count && !equilibrium.passage.phase_changes.is_empty();
        if boils {
            maps.push(map("vapour", "vapour by mass", Kind::Share, MapPlace::Nodes, &around(&profiles.vapour_fraction), units));
        }
        Self {
            sectors: 1,
            radius_m: profiles.radius_m.clone(),
            angle_rad: (0..=EVEN_ANGLES).map(|k| TAU * k as f64 / EVEN_ANGLES as f64).collect(),
            shift_rad: vec![0.0; count],
            maps,
        }
    }
}

fn map(key: &str, label: &str, kind: Kind, place: MapPlace, si: &[f64], units: UnitSet) -> FilmMap {
    let unit = unit(kind, units);
    let values: Vec<f64> = si.iter().map(|value| round(unit.convert(*value))).collect();
    let [low, high] = values.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| [low.min(*v), high.max(*v)]);
    FilmMap { key: key.to_owned(), label: label.to_owned(), unit: unit.label.to_owned(), place, low, high, values }
}

fn edge(line: &FaceLine, units: UnitSet) -> FaceEdge {
    let length = unit(Kind::Length, units);
    let (radius, angle) = (|r: f64| round(length.convert(r)), |angle: f64| round(angle.to_degrees()));
    match line {
        FaceLine::Cut(points) => FaceEdge::Cut {
            radius: points.iter().map(|point| radius(point[0])).collect(),
            angle_deg: points.iter().map(|point| angle(point[1])).collect(),
        },
        FaceLine::Dimple { centre, radius_m } => {
            FaceEdge::Dimple { at: radius(centre[0]), angle_deg: angle(centre[1]), radius: radius(*radius_m) }
        }
        FaceLine::Crest(at) => FaceEdge::Crest { angle_deg: angle(*at) },
        FaceLine::Valley(at) => FaceEdge::Valley { angle_deg: angle(*at) },
        FaceLine::Rim(r) => FaceEdge::Rim { radius: radius(*r) },
    }
}

fn numbers(equilibrium: &Equilibrium, units: UnitSet) -> Vec<FilmNumber> {
    let shown =
        |label: &str, kind: Kind, value: String| FilmNumber { label: label.to_owned(), value, unit: unit(kind, units).label.to_owned() };
    let number = |label: &str, kind: Kind, si: f64, digits: i32| shown(label, kind, significant(unit(kind, units).convert(si), digits));
    // As the sheet shows it: with the digits that its range allows.
    let small = unit(Kind::SmallLength, units);
    let Ranged { low, nominal: middle, high } = equilibrium.minimum_film_m;
    let least = nominal(Ranged { low: small.convert(low), nominal: small.convert(middle), high: small.convert(high) });
    let mut numbers = vec![shown("least gap", Kind::SmallLength, least)];
    let profiles = &equilibrium.profiles;
    let greatest = |values: &[f64]| values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    match equilibrium.film_field.as_deref() {
        Some(field) => {
            numbers.push(number("greatest gap", Kind::SmallLength, greatest(&field.gap_m), 3));
            numbers.push(number("greatest pressure", Kind::AbsolutePressure, field.greatest_pressure_pa, 4));
            if let Some(cavity) = field.cavitation_pressure_pa {
                numbers.push(number("cavitated share of the face", Kind::Share, field.cavitated_share, 3));
                numbers.push(number("pressure in cavities", Kind::LowAbsolutePressure, cavity, 3));
            }
            let plain = |label: &str, count: usize| FilmNumber { label: label.to_owned(), value: count.to_string(), unit: String::new() };
            numbers.push(plain("equal sectors of the ring", field.sectors));
            numbers.push(plain("cells over one sector", field.gap_m.len()));
        }
        None => {
            numbers.push(number("greatest gap", Kind::SmallLength, greatest(&profiles.gap_m), 3));
            numbers.push(number("greatest pressure", Kind::AbsolutePressure, greatest(&profiles.pressure_pa), 4));
        }
    }
    numbers
}

fn notes(equilibrium: &Equilibrium, units: UnitSet) -> Vec<String> {
    let mut notes = Vec::new();
    match equilibrium.film_field.as_deref() {
        None => {
            notes.push(
                "No texture varies round the circumference, so the film is axisymmetric: the maps show its one profile all the way round."
                    .to_owned(),
            );
            notes.extend(equilibrium.with_wave.map(|wavy| other_bound(&wavy, units)));
            notes.push("An axisymmetric film has no cavities behind waves or grooves; where it boils, that is shown.".to_owned());
        }
        Some(field) => {
            notes.push(
                "The rings bend by the mean round the circumference, so the maps show an axisymmetric shape with the texture on it."
                    .to_owned(),
            );
            notes.push("Angles run as the shaft turns. The gap is shown as it is solved: one value to a cell.".to_owned());
            match field.cavitation_pressure_pa {
                None => notes.push("The film is gas: it does not cavitate.".to_owned()),
                Some(_) if field.cavitated_share == 0.0 => notes.push("The liquid fills the gap everywhere: no cavities.".to_owned()),
                Some(_) => {}
            }
        }
    }
    notes
}

/// What the waviness left on plain faces would make of the film.
fn other_bound(wavy: &WavyFilm, units: UnitSet) -> String {
    let small = |si: f64| {
        let unit = unit(Kind::SmallLength, units);
        format!("{} {}", significant(unit.convert(si), 2), unit.label)
    };
    format!(
        "The maps show faces flat round the circumference, which is one bound. With a rigid wave, {} a turn and {} from valley to peak, the \
         least gap would be {} and {} % of the face cavitated: told beside this answer on the sheet.",
        wavy.count,
        small(wavy.peak_to_valley_m),
        small(wavy.minimum_film_m),
        significant(100.0 * wavy.cavitated_share, 2)
    )
}
