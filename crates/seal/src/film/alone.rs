//! The film alone, at a prescribed gap between rigid faces held at the chamber temperature: what `halfmicron film` shows.

use serde::Serialize;

use super::{Cells, FieldGrid, FilmError, FilmField, FilmInput, FilmResult, FilmSensitivity, Fineness, Gap, film, sensitivity};
use crate::model::{ChamberTemperature, Duty, Flashing, Model, PressureSide, Texture, is_two_dimensional};
use crate::outcome::PhaseChange;
use crate::ring::BandNodes;

/// Elements across the band: fine, for one film is cheap.
const ELEMENTS: usize = 40;
/// The same for a film that is not the same at every angle, by how fine it is asked for.
fn field_elements(fineness: Fineness) -> usize {
    match fineness {
        Fineness::Coarse => 20,
        Fineness::Normal => 40,
        Fineness::Fine => 80,
    }
}
/// What the error of the next coarser grid, twice as wide, is over that of the one asked for, less one: of first order, for pressure is singular
/// where grooves end.
const RICHARDSON: f64 = 1.0;

/// Result of a film at a prescribed gap.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FilmAlone {
    /// Name of the duty.
    pub duty: String,
    /// Force of the film above the lower pressure, N.
    pub force_n: f64,
    /// Pressure-profile factor; none at equal pressures.
    pub pressure_profile_factor: Option<f64>,
    /// Mass leakage from the higher to the lower pressure, kg/s.
    pub leakage_kg_per_s: f64,
    /// The same as volume at the density at which the fluid enters, m3/s.
    pub leakage_m3_per_s: f64,
    /// The same as volume of gas at 0 degC and 101 325 Pa, m3/s; none where it leaves as liquid.
    pub leakage_normal_m3_per_s: Option<f64>,
    /// Viscous torque, N m.
    pub torque_n_m: f64,
    /// Viscous power, W.
    pub power_w: f64,
    /// Heat into both faces, W.
    pub heat_to_faces_w: f64,
    /// `-dF/dh` with the shape held, N/m; positive resists closing.
    pub stiffness_n_per_m: f64,
    /// Greatest film temperature, K.
    pub film_temperature_max_k: f64,
    /// Where the fluid begins or ceases to boil, along the flow.
    pub phase_changes: Vec<PhaseChange>,
    /// Greatest mass share of vapour; none where gas enters.
    pub vapour_fraction_max: Option<f64>,
    /// Absolute pressure at which a choked film ends, Pa; none where it is not choked.
    pub exit_pressure_pa: Option<f64>,
    /// Relative difference between inlet and outlet flow.
    pub mass_balance: f64,
    /// Radius of each node, m.
    pub radius_m: Vec<f64>,
    /// Gap at each node, m.
    pub gap_m: Vec<f64>,
    /// Pressure at each node, Pa absolute; behind the lip at the entry.
    pub pressure_pa: Vec<f64>,
    /// Mean film temperature at each node, K.
    pub temperature_k: Vec<f64>,
    /// The film round the circumference, where it is not the same at every angle.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub field: Option<FieldAlone>,
}

/// A film that is not the same at every angle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FieldAlone {
    /// Layers of cells over the band and columns over one period.
    pub cells: [usize; 2],
    /// Equal sectors of the ring, of which one is solved.
    pub sectors: usize,
    /// Least gap over the whole face, m.
    pub least_gap_m: f64,
    /// Greatest gap over the whole face, m.
    pub greatest_gap_m: f64,
    /// Greatest pressure, Pa absolute.
    pub greatest_pressure_pa: f64,
    /// Share of the face on which the liquid is torn.
    pub cavitated_share: f64,
    /// Estimated error of the force by the grid, relative, after Richardson: from the same film on a grid half as fine.
    pub force_error: f64,
    /// The same of the leakage.
    pub leakage_error: f64,
    /// Pressure, gap and fill over one period.
    pub map: FilmField,
}

/// Solve the film of `model.gap` at one duty.
///
/// # Errors
/// [`FilmError`]: no gap in the case, a state outside the fluid's range, a film of a kind that is not modelled, no convergence.
pub fn film_alone(model: &Model, duty: &Duty) -> Result<FilmAlone, FilmError> {
    film_alone_on(model, duty, Fineness::Normal)
}

/// The same on a grid of choice, which matters where the film is not the same at every angle: then a film half as fine tells the error.
///
/// # Errors
/// As [`film_alone`].
pub fn film_alone_on(model: &Model, duty: &Duty, fineness: Fineness) -> Result<FilmAlone, FilmError> {
    let gap = model.gap.as_ref().ok_or(FilmError::Input(
        "the case prescribes no gap: add [gap] with thickness = \"0.7 um\" (and coning), which `film` needs and `solve` does not",
    ))?;
    let textures: Vec<Texture> = gap.features.iter().chain(&model.textures).copied().collect();
    if !is_two_dimensional(&textures) {
        return Bench::new(model, duty, &textures, ELEMENTS).solve(None).map(|(alone, _)| alone);
    }
    let elements = field_elements(fineness);
    let on = |elements: usize, cells: Cells| {
        let bench = Bench::new(model, duty, &textures, elements);
        let grid = FieldGrid::new(&textures, &bench.nodes, cells)?;
        let (alone, result) = bench.solve(grid.as_ref())?;
        Ok::<_, FilmError>((alone, result, grid))
    };
    let cells = Cells::of(fineness);
    let half = Cells { columns: cells.columns / 2, most_columns: cells.most_columns / 2, ..cells };
    let (mut alone, result, grid) = on(elements, cells)?;
    let (coarser, ..) = on(elements / 2, half)?;
    let error = |fine: f64, coarse: f64| if fine == coarse { 0.0 } else { ((fine - coarse) / (RICHARDSON * fine)).abs() };
    if let (Some(grid), Some(map)) = (grid, result.field.as_deref()) {
        let deepest = (0..alone.gap_m.len()).flat_map(|k| grid.around(k).iter().map(move |(depth, _)| (k, *depth)));
        alone.field = Some(FieldAlone {
            cells: grid.size(),
            sectors: grid.sectors(),
            least_gap_m: grid.least_m(&alone.gap_m),
            greatest_gap_m: deepest.map(|(k, depth)| alone.gap_m[k] + depth).fold(f64::NEG_INFINITY, f64::max),
            greatest_pressure_pa: map.greatest_pressure_pa,
            cavitated_share: map.cavitated_share,
            force_error: error(alone.force_n, coarser.force_n),
            leakage_error: error(alone.leakage_kg_per_s, coarser.leakage_kg_per_s),
            map: map.clone(),
        });
    }
    Ok(alone)
}

/// One film at a prescribed gap.
struct Bench<'a> {
    model: &'a Model,
    duty: &'a Duty,
    nodes: BandNodes,
    gap_m: Vec<f64>,
    face_temperature_k: Vec<f64>,
    temperature_k: f64,
    /// Inner and outer pressure, Pa.
    pressures_pa: [f64; 2],
}

impl<'a> Bench<'a> {
    fn new(model: &'a Model, duty: &'a Duty, textures: &[Texture], elements: usize) -> Self {
        let nodes = BandNodes::uniform(model.band.inner_radius_m, model.band.outer_radius_m, elements);
        let (inner_m, outer_m) = model.gap.as_ref().map_or((0.0, 0.0), |gap| (gap.inner_m, gap.outer_m));
        let share = |r: f64| (r - model.band.inner_radius_m) / model.band.width_m();
        let taper = |r: f64| textures.iter().map(|texture| texture.form.taper_m(r)).sum::<f64>();
        let temperature_k = match duty.temperature {
            ChamberTemperature::Stated(t) | ChamberTemperature::FromFlush(t) => t,
        };
        Self {
            gap_m: nodes.radius_m.iter().map(|&r| inner_m + (outer_m - inner_m) * share(r) + taper(r)).collect(),
            face_temperature_k: vec![temperature_k; nodes.len()],
            temperature_k,
            pressures_pa: match model.seal.pressure_side {
                PressureSide::Outside => [duty.low_pressure_pa, duty.pressure_pa],
                PressureSide::Inside => [duty.pressure_pa, duty.low_pressure_pa],
            },
            model,
            duty,
            nodes,
        }
    }

    fn solve(&self, field: Option<&FieldGrid>) -> Result<(FilmAlone, FilmResult), FilmError> {
        let (model, duty, nodes) = (self.model, self.duty, &self.nodes);
        let fluid = duty.fluid.as_deref().unwrap_or(&model.fluid);
        let [inner, outer] = self.pressures_pa;
        let input = FilmInput {
            nodes,
            gap: Gap { profile_m: &self.gap_m, rate_m_per_s: None, field },
            fluid,
            inner_pressure_pa: inner,
            outer_pressure_pa: outer,
            entry_temperature_k: self.temperature_k,
            face_temperature_k: &self.face_temperature_k,
            speeds_rad_per_s: [duty.speed_rad_per_s, 0.0],
            roughness_m: model.rotating_ring.roughness_rq_m.hypot(model.stationary_ring.roughness_rq_m),
            switches: &model.switches,
        };
        let (result, start) = film(&input, None)?;
        // Who leaves inertia out asks for a film without a speed of sound.
        if field.is_some() && model.switches.convective_inertia && result.greatest_mach > 1.0 {
            let exit = if result.mass_flow_kg_per_s >= 0.0 { nodes.len() - 1 } else { 0 };
            return Err(FilmError::FieldSonic { radius_m: nodes.radius_m[exit] });
        }
        let slopes = sensitivity(&input, &start)?;
        let slope = force_slope(nodes, &slopes);
        let force_n = result.force_n(nodes, inner.min(outer));
        let area: f64 = nodes.weight_m2.iter().sum();
        let outward = if inner > outer { 1.0 } else { -1.0 };
        let leakage_kg_per_s = outward * result.mass_flow_kg_per_s;
        let entry_pa = if leakage_kg_per_s >= 0.0 { inner.max(outer) } else { inner.min(outer) };
        let entry = match model.switches.flashing {
            Flashing::Equilibrium => fluid.at_pressure_temperature(entry_pa, self.temperature_k)?,
            Flashing::Frozen => fluid.liquid_at_pressure_temperature(entry_pa, self.temperature_k)?,
        };
        let alone = FilmAlone {
            duty: duty.name.clone(),
            force_n,
            pressure_profile_factor: (inner != outer).then(|| force_n / (area * (inner - outer).abs())),
            leakage_kg_per_s,
            leakage_m3_per_s: leakage_kg_per_s / entry.density_kg_per_m3,
            leakage_normal_m3_per_s: result.normal_m3_per_s(fluid).map(|volume| volume.copysign(leakage_kg_per_s)),
            torque_n_m: result.shear_torque_n_m(nodes, duty.speed_rad_per_s.abs()),
            power_w: result.shear_power_w(nodes),
            heat_to_faces_w: nodes.weight_m2.iter().zip(&result.flux_w_per_m2).map(|(w, q)| w * q).sum(),
            stiffness_n_per_m: -slope,
            film_temperature_max_k: result.hottest_k.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            phase_changes: result.phase_changes.clone(),
            vapour_fraction_max: (entry.vapour_mass_fraction < 1.0).then_some(result.vapour_fraction_max),
            exit_pressure_pa: result.choked.then_some(result.exit_pressure_pa),
            mass_balance: result.mass_balance,
            pressure_pa: result.states.iter().map(|s| s.pressure_pa).collect(),
            temperature_k: result.states.iter().map(|s| s.temperature_k).collect(),
            radius_m: nodes.radius_m.clone(),
            gap_m: self.gap_m.clone(),
            field: None,
        };
        Ok((alone, result))
    }
}

/// Change of the force of a film by its gap all over, N/m.
fn force_slope(nodes: &BandNodes, slopes: &FilmSensitivity) -> f64 {
    let column = |j: usize| nodes.weight_m2.iter().zip(slopes.pressure_by_gap.col_as_slice(j)).map(|(w, p)| w * p).sum::<f64>();
    (0..nodes.len()).map(column).sum()
}
