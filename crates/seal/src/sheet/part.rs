//! Sheets of a part taken alone: the film between rigid faces, one ring.

use serde::{Deserialize, Serialize};

use crate::film::FilmAlone;
use crate::outcome::PhaseChangeKind;
use crate::ring::RingAlone;
use crate::rules::text::{length, pressure, temperature, torque};

use super::curves::{Curve, DutyCurves, curve};
use super::rounding::{MISSING, significant};
use super::rows::negligible;
use super::text::in_units;
use super::units::{Kind, UnitSet, unit};
use super::{Block, Cell, NoticeLine, Row, merged_notices};

/// What a reader sees of a part taken alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PartSheet {
    /// Title of the case with the part.
    pub title: String,
    /// Units in which it is written.
    pub units: UnitSet,
    /// Duties, one a column.
    pub columns: Vec<String>,
    /// Blocks of rows.
    pub blocks: Vec<Block>,
    /// Places that carry no assessed stress, and other remarks, in words.
    pub remarks: Vec<String>,
    /// Notices.
    pub notices: Vec<NoticeLine>,
    /// Curves over the band.
    pub curves: Vec<DutyCurves>,
}

/// A row of known numbers, one a column.
pub(super) fn row<T>(key: &str, label: &str, kind: Kind, digits: i32, units: UnitSet, of: &[T], value: impl Fn(&T) -> Option<f64>) -> Row {
    let unit = unit(kind, units);
    let text = |item| match value(item) {
        None => MISSING.to_owned(),
        Some(si) if si.abs() < negligible(kind) => "0".to_owned(),
        Some(si) => significant(unit.convert(si), digits),
    };
    let cells = of.iter().map(|item| Cell::number(text(item), value(item).map(|si| unit.convert(si))));
    Row { key: key.to_owned(), label: label.to_owned(), unit: unit.label.to_owned(), cells: cells.collect() }
}

/// The film alone, duties as columns.
pub fn film_sheet(title: &str, films: &[FilmAlone], units: UnitSet) -> PartSheet {
    let of = |key, label, kind, digits, value: fn(&FilmAlone) -> Option<f64>| row(key, label, kind, digits, units, films, value);
    let least = |film: &FilmAlone| film.field.as_ref().map(|field| field.least_gap_m).or(film.gap_m.iter().copied().reduce(f64::min));
    let greatest = |film: &FilmAlone| film.field.as_ref().map(|field| field.greatest_gap_m).or(film.gap_m.iter().copied().reduce(f64::max));
    // Of parallel faces rounding alone is left: nothing beside the force over the gap.
    let stiffness = |film: &FilmAlone| {
        let scale = film.force_n.abs() / film.gap_m.iter().copied().fold(f64::INFINITY, f64::min);
        Some(if film.stiffness_n_per_m.abs() < 1e-9 * scale { 0.0 } else { film.stiffness_n_per_m })
    };
    let mut rows = vec![
        of("gap_m.least", "least gap", Kind::SmallLength, 3, least),
        of("gap_m.greatest", "greatest gap", Kind::SmallLength, 3, greatest),
        of("force_n", "film force above the low pressure", Kind::Force, 5, |film| Some(film.force_n)),
        of("pressure_profile_factor", "pressure-profile factor K", Kind::Number, 4, |film| film.pressure_profile_factor),
        of("leakage_m3_per_s", "leakage at entry density", Kind::VolumeLeakage, 4, |film| Some(film.leakage_m3_per_s)),
        of("leakage_kg_per_s", "leakage by mass", Kind::MassLeakage, 4, |film| Some(film.leakage_kg_per_s)),
        of("torque_n_m", "torque", Kind::Torque, 4, |film| Some(film.torque_n_m)),
        of("power_w", "power", Kind::Power, 4, |film| Some(film.power_w)),
        of("stiffness_n_per_m", "stiffness, + pushes back", Kind::Stiffness, 3, stiffness),
        of("film_temperature_max_k", "hottest film", Kind::Temperature, 4, |film| Some(film.film_temperature_max_k)),
    ];
    let boils = |film: &FilmAlone| {
        film.phase_changes.iter().find(|change| change.kind == PhaseChangeKind::BeginsToBoil).map(|change| change.radius_m)
    };
    let vapour = |film: &FilmAlone| film.vapour_fraction_max.filter(|_| !film.phase_changes.is_empty());
    let gas = of("leakage_normal_m3_per_s", "leakage as gas, 0 degC 1.01325 bar", Kind::GasLeakage, 3, |film| film.leakage_normal_m3_per_s);
    if gas.cells.iter().any(|cell| cell.text != MISSING) {
        let after = rows.iter().position(|row| row.key == "leakage_kg_per_s").map_or(rows.len(), |place| place + 1);
        rows.insert(after, gas);
    }
    let passage = [
        of("phase_changes.begins-to-boil", "boils from radius", Kind::Length, 4, boils),
        of("vapour_fraction_max", "vapour by mass, at most", Kind::Share, 2, vapour),
        of("exit_pressure_pa", "exit pressure where choked", Kind::AbsolutePressure, 3, |film| film.exit_pressure_pa),
    ];
    rows.extend(passage.into_iter().filter(|row| row.cells.iter().any(|cell| cell.text != MISSING)));
    let field = [
        of("field.greatest_pressure_pa", "greatest pressure anywhere", Kind::AbsolutePressure, 4, |film| {
            film.field.as_ref().map(|field| field.greatest_pressure_pa)
        }),
        of("field.cavitated_share", "face over which the liquid is torn", Kind::Share, 3, |film| {
            film.field.as_ref().map(|field| field.cavitated_share)
        }),
        of("field.cells.layers", "grid: layers over the band", Kind::Number, 3, |film| {
            film.field.as_ref().map(|field| field.cells[0] as f64)
        }),
        of("field.cells.columns", "grid: columns over one period", Kind::Number, 4, |film| {
            film.field.as_ref().map(|field| field.cells[1] as f64)
        }),
        of("field.sectors", "periods round the circumference", Kind::Number, 4, |film| {
            film.field.as_ref().map(|field| field.sectors as f64)
        }),
        of("field.force_error", "error of the force by the grid", Kind::Share, 2, |film| {
            film.field.as_ref().map(|field| field.force_error)
        }),
        of("field.leakage_error", "error of the leakage by the grid", Kind::Share, 2, |film| {
            film.field.as_ref().map(|field| field.leakage_error)
        }),
    ];
    rows.extend(field.into_iter().filter(|row| row.cells.iter().any(|cell| cell.text != MISSING)));
    rows.push(of("mass_balance", "mass balance, relative", Kind::Number, 1, |film| Some(film.mass_balance)));
    let round = if films.iter().all(|film| film.field.is_none()) { ", flat round the circumference" } else { "" };
    PartSheet {
        title: format!("{title}: film alone, rigid faces{round}"),
        units,
        columns: films.iter().map(|film| film.duty.clone()).collect(),
        blocks: vec![Block { title: "Film at the prescribed gap".to_owned(), rows }],
        remarks: Vec::new(),
        notices: Vec::new(),
        curves: films.iter().map(|film| film_curves(film, units)).collect(),
    }
}

/// One ring alone, duties as columns.
pub fn ring_sheet(title: &str, rings: &[RingAlone], units: UnitSet) -> PartSheet {
    let of = |key, label, kind, digits, value: fn(&RingAlone) -> Option<f64>| row(key, label, kind, digits, units, rings, value);
    let um = Kind::SmallLength;
    let shape = vec![
        of("coning_m.total", "coning, + opens to high pressure", um, 3, |ring| Some(ring.coning_m.total)),
        of("coning_m.elastic", "  by pressure, spin, spring, fit", um, 3, |ring| Some(ring.coning_m.elastic)),
        of("coning_m.thermal", "  by heat", um, 3, |ring| Some(ring.coning_m.thermal)),
        of("coning_m.lapped", "  lapped", um, 3, |ring| Some(ring.coning_m.lapped)),
        of("coning_fit_m", "best-fit slope times width", um, 3, |ring| Some(ring.coning_fit_m)),
    ];
    let heat = vec![
        of("heat_w", "heat over the face", Kind::Power, 3, |ring| Some(ring.heat_w)),
        of("face_temperature_max_k", "hottest face", Kind::Temperature, 4, |ring| Some(ring.face_temperature_max_k)),
        of("mean_temperature_k", "mean of the ring", Kind::Temperature, 4, |ring| Some(ring.mean_temperature_k)),
        of("secondary_seal_temperature_k", "at the secondary seal", Kind::Temperature, 4, |ring| Some(ring.secondary_seal_temperature_k)),
        of("heat_balance", "heat balance, relative", Kind::Number, 1, |ring| Some(ring.heat_balance.abs())),
    ];
    let strength = vec![
        of("stress_pa.tension_max", "greatest tension", Kind::Pressure, 3, |ring| Some(ring.stress_pa.tension_max)),
        of("stress_pa.tension_at_m.r", "  at radius", Kind::Length, 4, |ring| Some(ring.stress_pa.tension_at_m[0])),
        of("stress_pa.tension_at_m.z", "  at z", Kind::Length, 4, |ring| Some(ring.stress_pa.tension_at_m[1])),
        of("stress_pa.von_mises_max", "greatest equivalent stress", Kind::Pressure, 3, |ring| Some(ring.stress_pa.von_mises_max)),
        of("burst_speed_ratio", "bursts at times the speed", Kind::Number, 3, |ring| ring.burst_speed_ratio),
        of("reaction_n", "reaction of the support", Kind::Force, 4, |ring| Some(ring.reaction_n)),
        of("applied_force_n", "applied axial force", Kind::Force, 4, |ring| Some(ring.applied_force_n)),
        of("force_balance", "force balance, relative", Kind::Number, 1, |ring| Some(ring.force_balance.abs())),
    ];
    let name = rings.first().map_or("ring", |ring| ring.ring.as_str());
    let block = |title: &str, rows| Block { title: title.to_owned(), rows };
    PartSheet {
        title: format!("{title}: {name} ring alone"),
        units,
        columns: rings.iter().map(|ring| ring.duty.clone()).collect(),
        blocks: vec![block("Shape of the face", shape), block("Heat", heat), block("Strength and support", strength)],
        remarks: rings.iter().flat_map(|ring| remarks(ring, units)).collect(),
        notices: merged_notices(rings.iter().flat_map(|ring| ring.notices.iter().map(|notice| (notice, Some(ring.duty.as_str())))), units),
        curves: rings.iter().map(|ring| ring_curves(ring, units)).collect(),
    }
}

fn remarks(ring: &RingAlone, units: UnitSet) -> Vec<String> {
    let duty = &ring.duty;
    let open = &ring.stress_pa.not_assessed;
    let places = (!open.is_empty()).then(|| in_units(&format!("{duty}: stress not assessed at {}", open.join(", ")), units));
    let fits = ring.fits.iter().map(|fit| {
        let state = format!(
            "{duty}: fit at r {}: pressure {}, remaining interference {}, slips at {}",
            length(fit.radius_m),
            pressure(fit.pressure_pa),
            length(fit.interference_m),
            torque(fit.slip_torque_n_m)
        );
        let loosens = fit.loosening_temperature_k.map_or(String::new(), |kelvin| format!(", loosens at {}", temperature(kelvin)));
        in_units(&format!("{state}{loosens}"), units)
    });
    places.into_iter().chain(fits).collect()
}

fn ring_curves(ring: &RingAlone, units: UnitSet) -> DutyCurves {
    let curves: Vec<Curve> = vec![
        curve("face_temperature_k", "face temperature", Kind::Temperature, &ring.face_temperature_k, units),
        curve("face_pressure_pa", "face pressure", Kind::Pressure, &ring.face_pressure_pa, units),
        curve("deflection_m", "deflection", Kind::SmallLength, &ring.deflection_m, units),
        curve("elastic_deflection_m", "elastic part", Kind::SmallLength, &ring.elastic_deflection_m, units),
        curve("thermal_deflection_m", "thermal part", Kind::SmallLength, &ring.thermal_deflection_m, units),
    ];
    DutyCurves { duty: ring.duty.clone(), radius: curve("radius_m", "radius", Kind::Length, &ring.radius_m, units), curves }
}

fn film_curves(film: &FilmAlone, units: UnitSet) -> DutyCurves {
    let curves: Vec<Curve> = vec![
        curve("gap_m", "gap", Kind::SmallLength, &film.gap_m, units),
        curve("pressure_pa", "film pressure", Kind::AbsolutePressure, &film.pressure_pa, units),
        curve("temperature_k", "film temperature", Kind::Temperature, &film.temperature_k, units),
    ];
    DutyCurves { duty: film.duty.clone(), radius: curve("radius_m", "radius", Kind::Length, &film.radius_m, units), curves }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use halfmicron_properties::{ConstantFluid, Fluid};

    use super::*;
    use crate::film::film_alone;
    use crate::model::PrescribedGap;
    use crate::rules::testing::Bench;

    /// Published check F2, row 1.0/2.0 um (Lebeck 1991, closed form): rigid coned faces at 2 MPa, 3000 rpm, 1 mPa s.
    #[test]
    fn a_coned_film_is_shown_as_its_closed_form() {
        let mut bench = Bench::booster();
        bench.model.gap = Some(PrescribedGap { inner_m: 1e-6, outer_m: 2e-6, features: Vec::new() });
        let switches = &mut bench.model.switches;
        (switches.spin, switches.convective_inertia, switches.flow_factor, switches.shear_factor) = (false, false, false, false);
        let liquid =
            ConstantFluid { name: "liquid".to_owned(), density: 1000.0, viscosity: 1e-3, heat_capacity: 4200.0, conductivity: 0.6 };
        bench.model.fluid = Arc::new(Fluid::constant(liquid).expect("finite values"));
        let duty = bench.duty_mut();
        duty.speed_rad_per_s = 314.159_265;
        (duty.low_pressure_pa, duty.pressure_pa) = (0.1e6, 2.1e6);
        let film = film_alone(&bench.model, &bench.model.duties[0]).expect("a plain film");
        let sheet = film_sheet("case", &[film], UnitSet::Si);
        let shown = |key: &str| {
            let row = sheet.blocks[0].rows.iter().find(|row| row.key == key).unwrap_or_else(|| panic!("no row {key}"));
            format!("{} {}", row.cells[0].text, row.unit)
        };
        assert_eq!(shown("leakage_m3_per_s"), "41.90 mL/h");
        assert_eq!(shown("force_n"), "1543.0 N");
        assert_eq!(shown("torque_n_m"), "0.1784 N m");
        assert_eq!(shown("stiffness_n_per_m"), "231 N/um");
    }
}
