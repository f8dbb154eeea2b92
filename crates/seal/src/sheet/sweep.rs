//! A sweep in the reader's units: one row a value, folds between them.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::rules::view::status_in_words;
use crate::study::{Sweep, SweepPoint, SweepRow};

use super::chart::{self, Chart};
use super::rounding::{MISSING, significant};
use super::rows::negligible;
use super::text::in_units;
use super::units::{Kind, UnitSet, unit};

/// What a reader sees of a sweep.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepSheet {
    /// Title of the case, with duty and number.
    pub title: String,
    /// Units in which it is written.
    pub units: UnitSet,
    /// Columns: label and unit.
    pub columns: Vec<[String; 2]>,
    /// Rows, one cell a column; of a fold the first cell alone stands, with the whole sentence.
    pub rows: Vec<SweepLine>,
    /// Remarks in words.
    pub remarks: Vec<String>,
    /// Charts, one a number.
    #[serde(default)]
    pub charts: Vec<Chart>,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SweepLine {
    /// Cells of a value that was asked for.
    pub cells: Vec<String>,
    /// What happens, where the row is a fold.
    pub fold: Option<String>,
}

/// Digits of the swept number.
const DIGITS: i32 = 5;

/// A sweep as a reader sees it.
pub fn sweep_sheet(sweep: &Sweep, units: UnitSet) -> SweepSheet {
    let of = kind_of(&sweep.path);
    let numbers: Vec<Number> = NUMBERS.iter().filter(|number| tells(number, sweep)).copied().collect();
    let name = sweep.path.rsplit('.').next().unwrap_or(&sweep.path).replace('_', " ");
    let mut columns = vec![[name, unit(of, units).label.to_owned()]];
    columns.extend(numbers.iter().map(|number| [number.label.to_owned(), unit(number.kind, units).label.to_owned()]));
    columns.extend(["operating point", "equilibria"].map(|label| [label.to_owned(), String::new()]));
    let line = |row: &SweepRow| match row.fold {
        Some(_) => SweepLine {
            cells: Vec::new(),
            fold: Some(format!("fold at {}: {}", exact(row.value, of, units), in_units(&row.reason, units))),
        },
        None => SweepLine { cells: cells(row, of, &numbers, units), fold: None },
    };
    SweepSheet {
        title: format!("{}: {}, {} swept", sweep.title, sweep.duty, sweep.path),
        units,
        columns,
        rows: sweep.rows.iter().map(line).collect(),
        remarks: sweep.remarks.iter().map(|remark| in_units(remark, units)).chain(reasons(sweep, of, units)).collect(),
        charts: chart::of_sweep(sweep, &numbers, of, units),
    }
}

/// A number of each row.
#[derive(Clone, Copy)]
pub(super) struct Number {
    pub key: &'static str,
    pub label: &'static str,
    pub kind: Kind,
    digits: i32,
    pub of: fn(&SweepPoint) -> Option<f64>,
}

const VAPOUR: &str = "vapour";
const NUMBERS: [Number; 7] = [
    Number { key: "minimum_film_m", label: "least film", kind: Kind::SmallLength, digits: 3, of: |p| Some(p.minimum_film_m) },
    Number { key: "leakage_m3_per_s", label: "leakage, at least", kind: Kind::VolumeLeakage, digits: 3, of: |p| Some(p.leakage_m3_per_s) },
    Number { key: "power_w", label: "power", kind: Kind::Power, digits: 3, of: |p| Some(p.power_w) },
    Number { key: "contact_share", label: "contact", kind: Kind::Share, digits: 2, of: |p| Some(p.contact_share) },
    Number {
        key: "film_temperature_max_k",
        label: "hottest film",
        kind: Kind::Temperature,
        digits: 4,
        of: |p| Some(p.film_temperature_max_k),
    },
    Number { key: "boiling_margin_k", label: "below boiling", kind: Kind::TemperatureDifference, digits: 3, of: |p| p.boiling_margin_k },
    Number { key: "vapour_fraction_max", label: VAPOUR, kind: Kind::Share, digits: 2, of: |p| Some(p.vapour_fraction_max) },
];

/// Whether a column says something: gas has no boiling to stay below, and vapour counts in what was liquid.
fn tells(number: &Number, sweep: &Sweep) -> bool {
    let mut points = sweep.rows.iter().filter_map(|row| row.point);
    let solved = points.clone().next().is_some();
    match number.label {
        VAPOUR => points.any(|point| point.vapour_fraction_max > 0.0 && point.boiling_margin_k.is_some()),
        _ => !solved || points.any(|point| (number.of)(&point).is_some()),
    }
}

fn cells(row: &SweepRow, of: Kind, numbers: &[Number], units: UnitSet) -> Vec<String> {
    let mut cells = vec![significant(unit(of, units).convert(row.value), DIGITS)];
    cells.extend(numbers.iter().map(|number| match row.point.as_ref().and_then(number.of) {
        None => MISSING.to_owned(),
        Some(value) if value.abs() < negligible(number.kind) => "0".to_owned(),
        Some(value) => significant(unit(number.kind, units).convert(value), number.digits),
    }));
    cells.push(status_in_words(row.status).to_owned());
    cells.push(row.equilibria.map_or(MISSING.to_owned(), |count| count.to_string()));
    cells
}

/// The swept number with its unit.
fn exact(value: f64, kind: Kind, units: UnitSet) -> String {
    let unit = unit(kind, units);
    format!("{} {}", significant(unit.convert(value), DIGITS), unit.label).trim_end().to_owned()
}

/// Why there is no number where there is none, each reason once with the values at which it begins.
fn reasons(sweep: &Sweep, of: Kind, units: UnitSet) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    let mut before = None;
    for row in sweep.rows.iter().filter(|row| row.fold.is_none()) {
        let status = row.point.is_none().then_some(row.status);
        if status.is_some() && status != before {
            said.push(format!("from {}: {}: {}", exact(row.value, of, units), status_in_words(row.status), in_units(&row.reason, units)));
        }
        before = status;
    }
    said
}

/// Kind of the number at a path.
pub(super) fn kind_of(path: &str) -> Kind {
    match path.rsplit('.').next().unwrap_or_default() {
        "temperature" | "flush_temperature" | "stress_free_temperature" => Kind::Temperature,
        "pressure" | "low_pressure" | "cavitation_pressure" => Kind::AbsolutePressure,
        "plastic_pressure" => Kind::Pressure,
        "speed" => Kind::ShaftSpeed,
        end if end.ends_with(" mm") => Kind::Length,
        "inner" | "outer" | "balance_diameter" | "reverse_balance_diameter" | "spring_diameter" | "section" => Kind::Length,
        "roughness" | "flatness" | "lapped_coning" => Kind::SmallLength,
        "spring_force" | "friction" => Kind::Force,
        "flush" => Kind::SupplyFlow,
        "heat_soak" => Kind::Power,
        "conductivity" => Kind::Conductivity,
        "youngs_modulus" => Kind::Modulus,
        "expansion" => Kind::Expansion,
        "interference" => Kind::SmallLength,
        "coefficient" => Kind::HeatTransfer,
        "viscosity" => Kind::Viscosity,
        _ => Kind::Number,
    }
}
