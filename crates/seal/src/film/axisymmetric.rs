//! Axisymmetric film: the flow that passes, its profiles and its slopes.
//!
//! **What.** Pressure, temperature, heat and mass flow of the film at given gap and face temperatures, for liquid, gas, supercritical fluid and
//! boiling film alike.
//! **Equation.** [`super::step`] along the radius; the mass flow from the condition at the exit ([`super::march`]).
//! **Valid when.** Thin film, equilibrium fluid (or liquid kept superheated, by choice), curvature kept.
//! **Source.** As named in the two modules.
//! **Checked by.** F1, F2, F3, F4, K3, P1.

use std::cell::{Cell, RefCell};
use std::sync::Arc;

use faer::Mat;
use halfmicron_numerics::jet::Jet;
use halfmicron_properties::FluidState;

use super::field::FieldStart;
use super::flow::{flow, not_converged};
use super::guide::Guide;
use super::loads::{Projection, step_loads};
use super::march::{Closure, March, Marcher, Mark};
use super::step::{Band, Causes, Lifted};
use super::{FilmError, FilmInput, FilmResult, PhaseChange, PhaseChangeKind};

/// Relative change of the flow by its slopes that is believed.
const TRUSTED_CHANGE: f64 = 0.4;

/// A film to start from: pressure, enthalpy at each node (inner to outer) and mass flow (outward).
#[derive(Debug, Clone, PartialEq)]
pub struct FilmStart {
    /// Pa.
    pub pressure_pa: Vec<f64>,
    /// J/kg.
    pub enthalpy_j_per_kg: Vec<f64>,
    /// kg/s, positive outward.
    pub mass_flow_kg_per_s: f64,
    /// Change of it expected from this film to the one wanted, kg/s.
    pub flow_change_kg_per_s: f64,
    /// The march itself, from which slopes are taken.
    pub(super) march: Option<Arc<March>>,
    /// The field of a two-dimensional film.
    pub(super) field: Option<Arc<FieldStart>>,
}

/// Derivatives of a film; matrices are n x n, row = node of the result, column = node of the cause.
#[derive(Debug, Clone)]
pub struct FilmSensitivity {
    /// Pa/m.
    pub pressure_by_gap: Mat<f64>,
    /// Pa/K.
    pub pressure_by_face_temperature: Mat<f64>,
    /// W/m2 per m.
    pub flux_by_gap: Mat<f64>,
    /// W/m2 per K.
    pub flux_by_face_temperature: Mat<f64>,
    /// Conductivity around each node, W/(m K) per m.
    pub conductivity_by_gap: Mat<f64>,
    /// W/(m K) per K.
    pub conductivity_by_face_temperature: Mat<f64>,
    /// Mass flow outward by the gap at each node, kg/s per m.
    pub flow_by_gap: Vec<f64>,
    /// By the face temperature at each node, kg/s per K.
    pub flow_by_face_temperature: Vec<f64>,
}

pub(super) fn solve(input: &FilmInput, start: Option<&FilmStart>) -> Result<(FilmResult, FilmStart), FilmError> {
    check(input)?;
    let outward = match start {
        Some(start) if start.mass_flow_kg_per_s != 0.0 => start.mass_flow_kg_per_s > 0.0,
        _ => likely_outward(input)?,
    };
    let mut history = Vec::new();
    // A weak flow can turn round while it converges (spin against pressure): then it is sought along the other way.
    for outward in [outward, !outward] {
        let marcher = marcher(input, outward, start)?;
        match flow(&marcher, start.map(expected_flow), &mut history)? {
            Some((flow, march, iterations)) => {
                let result = result(&marcher, flow, &march, iterations);
                if !result.is_finite() {
                    return Err(not_converged(history));
                }
                return Ok((result, start_from(&marcher, flow, march)));
            }
            None => continue,
        }
    }
    Err(not_converged(history))
}

/// Size of the flow to start from: that of the film before with the change expected, where that is small enough to be trusted.
fn expected_flow(start: &FilmStart) -> f64 {
    let change = start.flow_change_kg_per_s / start.mass_flow_kg_per_s;
    start.mass_flow_kg_per_s.abs() * if change.abs() < TRUSTED_CHANGE { 1.0 + change } else { 1.0 }
}

fn check(input: &FilmInput) -> Result<(), FilmError> {
    let n = input.nodes.radius_m.len();
    if n < 3
        || n.is_multiple_of(2)
        || input.nodes.weight_m2.len() != n
        || input.gap.profile_m.len() != n
        || input.face_temperature_k.len() != n
    {
        return Err(FilmError::Input("band nodes, gap and face temperature must have the same odd length, at least 3"));
    }
    let finite = input.gap.profile_m.iter().chain(input.face_temperature_k).all(|x| x.is_finite());
    if !(finite && input.inner_pressure_pa.is_finite() && input.outer_pressure_pa.is_finite()) {
        return Err(FilmError::Input("gap, face temperature and pressures must be finite"));
    }
    Ok(())
}

/// Fluid as it enters at an opening.
fn entry_state(input: &FilmInput, outward: bool) -> Result<FluidState, FilmError> {
    let pressure = if outward { input.inner_pressure_pa } else { input.outer_pressure_pa };
    let temperature = input.entry_temperature_k;
    Ok(match input.switches.flashing {
        super::Flashing::Equilibrium => input.fluid.at_pressure_temperature(pressure, temperature)?,
        super::Flashing::Frozen => input.fluid.liquid_at_pressure_temperature(pressure, temperature)?,
    })
}

/// The way in which pressure and spin would drive the fluid of the higher pressure.
fn likely_outward(input: &FilmInput) -> Result<bool, FilmError> {
    let density = entry_state(input, input.inner_pressure_pa > input.outer_pressure_pa)?.density_kg_per_m3;
    let [w1, w2] = input.speeds_rad_per_s;
    let spin = if input.switches.spin { (3.0 * w1 * w1 + 4.0 * w1 * w2 + 3.0 * w2 * w2) / 10.0 } else { 0.0 };
    let radius = &input.nodes.radius_m;
    let rise = 0.5 * density * spin * (radius[radius.len() - 1].powi(2) - radius[0].powi(2));
    Ok(input.inner_pressure_pa - input.outer_pressure_pa + rise >= 0.0)
}

pub(super) fn marcher<'a>(input: &'a FilmInput<'a>, outward: bool, start: Option<&FilmStart>) -> Result<Marcher<'a>, FilmError> {
    let entry = entry_state(input, outward)?;
    let band = Band::new(input, if outward { 1.0 } else { -1.0 }, &entry);
    let along = |profile: &[f64]| band.order.iter().map(|&i| profile[i]).collect::<Vec<f64>>();
    let same_way = |s: &&FilmStart| s.mass_flow_kg_per_s.is_sign_positive() == outward && s.pressure_pa.len() == band.len();
    let guess = start.filter(same_way).map(|s| (along(&s.pressure_pa), along(&s.enthalpy_j_per_kg)));
    let exit_pressure = if outward { input.outer_pressure_pa } else { input.inner_pressure_pa };
    let before = start.filter(same_way).and_then(|s| Some((s.march.clone()?, s.mass_flow_kg_per_s.abs())));
    let guide = before.map_or_else(Guide::default, |(march, flow)| Guide::new(march, flow));
    Ok(Marcher { band, entry, exit_pressure, guess, guides: RefCell::new([guide, Guide::default()]), spent: Cell::new(0) })
}

fn start_from(marcher: &Marcher, flow: f64, march: Arc<March>) -> FilmStart {
    let states = node_states(marcher, &march);
    FilmStart {
        pressure_pa: states.iter().map(|s| s.pressure_pa).collect(),
        enthalpy_j_per_kg: states.iter().map(|s| s.enthalpy_j_per_kg).collect(),
        mass_flow_kg_per_s: marcher.band.direction * flow,
        flow_change_kg_per_s: 0.0,
        march: Some(march),
        field: None,
    }
}

/// States at the nodes, inner to outer.
fn node_states(marcher: &Marcher, march: &March) -> Vec<FluidState> {
    let mut states: Vec<FluidState> = march.marks.iter().filter(|mark| mark.ends_interval()).map(|mark| mark.state).collect();
    if marcher.band.direction < 0.0 {
        states.reverse();
    }
    states
}

/// Causes and both ends of the step that leads to `marks[index]`, as constants of `N` directions.
pub(super) fn replay<const N: usize>(marcher: &Marcher, march: &March, index: usize, flow: Jet<N>) -> (Causes<N>, Lifted<N>, Lifted<N>) {
    let mark = &march.marks[index];
    let before = &march.marks[index - 1];
    let share = start_share(march, index);
    let lifted = |state: &FluidState, share: f64| {
        Lifted::new(state, Jet::constant(state.pressure_pa), Jet::constant(state.enthalpy_j_per_kg), Jet::constant(share))
    };
    (marcher.band.causes(mark.interval, flow), lifted(&before.state, share), lifted(&mark.state, mark.share))
}

/// Share of its interval at which the step to `marks[index]` begins.
pub(super) fn start_share(march: &March, index: usize) -> f64 {
    let before = &march.marks[index - 1];
    if before.interval == march.marks[index].interval && index > 1 && !before.ends_interval() { before.share } else { 0.0 }
}

fn result(marcher: &Marcher, flow: f64, march: &March, iterations: usize) -> FilmResult {
    let band = &marcher.band;
    let n = band.len();
    let (mut pressure, mut shear, mut heat) = (vec![0.0; n], vec![0.0; n], vec![0.0; n]);
    let (mut conductivity, mut area) = (vec![0.0; n], vec![0.0; n]);
    let (mut left, mut resisted) = (0.0, 0.0);
    heat[band.order[0]] -= heat_at_the_lip(marcher, flow, march);
    for index in 1..march.marks.len() {
        let mark = &march.marks[index];
        if mark.closure == Closure::Flash {
            continue;
        }
        let (causes, a, b) = replay::<0>(marcher, march, index, Jet::constant(flow));
        let (up, down) = (band.local(mark.interval, a, &causes), band.local(mark.interval, b, &causes));
        let step = band.step(mark.interval, &up, &down, &causes, mark.weighing());
        // Part of a held step has no balance of its own: the whole has.
        if mark.closure != Closure::Along {
            left += step.balance.momentum.value.abs();
        }
        resisted += step.balance.resistance.value.abs();
        let loads = step_loads(band, mark.interval, &up, &down, &step, &causes);
        for j in 0..3 {
            pressure[loads.first + j] += loads.pressure[j].value;
            shear[loads.first + j] += loads.shear[j].value;
            heat[loads.first + j] += loads.heat[j].value;
        }
        for (node, part, length) in averages(band, mark.interval, &a, &b) {
            conductivity[node] += part.value;
            area[node] += length.value;
        }
    }
    let projection = Projection::new(band.input.nodes);
    projection.apply(&mut pressure);
    projection.apply(&mut shear);
    projection.apply(&mut heat);
    conductivity.iter_mut().zip(&area).for_each(|(k, a)| *k /= a);
    let states = node_states(marcher, march);
    let face = band.input.face_temperature_k;
    let hottest = hottest(&states, face, band.order[0], marcher.entry.temperature_k);
    let exit = march.marks.last().map_or(marcher.entry, |mark| mark.state);
    FilmResult {
        pressure_pa: pressure,
        shear_heat_w_per_m2: shear,
        flux_w_per_m2: heat,
        hottest_k: hottest,
        conductivity_w_per_m_k: conductivity,
        states,
        mass_flow_kg_per_s: band.direction * flow,
        mass_balance: if resisted > 0.0 { left / resisted } else { 0.0 },
        leak_heat_w: leak_heat(marcher, flow, march),
        phase_changes: phase_changes(marcher, march),
        vapour_fraction_max: march.marks.iter().map(|m| m.state.vapour_mass_fraction).fold(0.0, f64::max),
        choked: march.choked,
        exit_pressure_pa: exit.pressure_pa,
        greatest_mach: greatest_mach(marcher, flow, march),
        iterations,
        field: None,
    }
}

/// Hottest temperature across the gap at each node: the top of the parabola stands 1.5 times its mean above the faces; a boiling film is at
/// saturation. What has just entered is as it was in the chamber all across and has no parabola yet.
fn hottest(states: &[FluidState], face_k: &[f64], entry: usize, entering_k: f64) -> Vec<f64> {
    let top = |node: usize, fluid: f64, face: f64| {
        if node == entry { entering_k.max(fluid).max(face) } else { fluid.max(face + 1.5 * (fluid - face)) }
    };
    states.iter().zip(face_k).enumerate().map(|(node, (state, face))| top(node, state.temperature_k, *face)).collect()
}

/// Heat carried away by the leak: mass flow times the rise of enthalpy and kinetic energy, W.
fn leak_heat(marcher: &Marcher, flow: f64, march: &March) -> f64 {
    let Some(last) = march.marks.last() else { return 0.0 };
    let rise = last.state.enthalpy_j_per_kg - marcher.entry.enthalpy_j_per_kg;
    if !(marcher.band.input.switches.convective_inertia && marcher.band.heat()) {
        return flow * rise;
    }
    let speed = speed_at(marcher, last, flow);
    flow * (rise + 0.5 * speed * speed)
}

/// Heat that the fluid takes from the faces where it enters, W.
fn heat_at_the_lip(marcher: &Marcher, flow: f64, march: &March) -> f64 {
    if !marcher.band.heat() {
        return 0.0;
    }
    let first = &march.marks[0];
    let rise = first.state.enthalpy_j_per_kg - marcher.entry.enthalpy_j_per_kg;
    let speed = if marcher.band.input.switches.convective_inertia { speed_at(marcher, first, flow) } else { 0.0 };
    flow * (rise + 0.5 * speed * speed)
}

fn speed_at(marcher: &Marcher, mark: &Mark, flow: f64) -> f64 {
    let causes = marcher.band.causes::<0>(mark.interval, Jet::constant(flow));
    let constant = Jet::constant;
    let at = Lifted::new(&mark.state, constant(mark.state.pressure_pa), constant(mark.state.enthalpy_j_per_kg), constant(mark.share));
    marcher.band.local(mark.interval, at, &causes).mass_flux.value / mark.state.density_kg_per_m3
}

/// Greatest speed over the speed of sound of the fluid in equilibrium.
fn greatest_mach(marcher: &Marcher, flow: f64, march: &March) -> f64 {
    // A liquid that chokes as it boils at the edge leaves at the speed of sound of what it becomes.
    let boils_at_edge = march.choked && march.marks.last().is_some_and(|mark| mark.closure == Closure::Short);
    march.marks.iter().map(|mark| mach(marcher, mark, flow)).fold(if boils_at_edge { 1.0 } else { 0.0 }, f64::max)
}

/// Speed over the speed of sound at a station; on the phase line, where that steps, nothing is said.
pub(super) fn mach(marcher: &Marcher, mark: &Mark, flow: f64) -> f64 {
    if matches!(mark.closure, Closure::Boil | Closure::Dew | Closure::Flash) {
        return 0.0;
    }
    let d = &mark.state.derivatives;
    let inverse_square = d.density_by_pressure + d.density_by_enthalpy / mark.state.density_kg_per_m3;
    speed_at(marcher, mark, flow).abs() * inverse_square.max(0.0).sqrt()
}

fn phase_changes(marcher: &Marcher, march: &March) -> Vec<PhaseChange> {
    let radius = |mark: &Mark| {
        let (a, b) = (marcher.band.radius[mark.interval], marcher.band.radius[mark.interval + 1]);
        a + mark.share * (b - a)
    };
    march
        .marks
        .iter()
        .enumerate()
        .flat_map(|(index, mark)| kinds(march, index).iter().map(move |&kind| PhaseChange { radius_m: radius(mark), kind }))
        .collect()
}

/// What happens at a station.
fn kinds(march: &March, index: usize) -> &'static [PhaseChangeKind] {
    let hold = march.hold.as_deref();
    let mark = &march.marks[index];
    match (mark.closure, mark.mixed) {
        (Closure::Boil, false) => &[PhaseChangeKind::BeginsToBoil],
        (Closure::Node, false) if hold.is_some_and(|hold| hold.touch == index) => &[PhaseChangeKind::BeginsToBoil],
        (Closure::Boil, true) => &[PhaseChangeKind::AllLiquid],
        (Closure::Along, _) if hold.is_some_and(|hold| hold.way.rise == 0.0) => {
            &[PhaseChangeKind::LeavesBoilingPoint, PhaseChangeKind::AllLiquid]
        }
        (Closure::Along, _) => &[PhaseChangeKind::LeavesBoilingPoint],
        (Closure::Dew, true) | (Closure::Flash, _) => &[PhaseChangeKind::AllVapour],
        (Closure::Dew, false) => &[PhaseChangeKind::BeginsToCondense],
        _ => &[],
    }
}

/// Conductivity of a step times length, and the length, for each of its two nodes (inner to outer) by straight shape functions.
pub(super) fn averages<const N: usize>(band: &Band, interval: usize, a: &Lifted<N>, b: &Lifted<N>) -> [(usize, Jet<N>, Jet<N>); 2] {
    let mean = (a.conductivity + b.conductivity) * 0.5;
    let span = (band.radius[interval + 1] - band.radius[interval]).abs();
    let downstream = (b.share.squared() - a.share.squared()) * (0.5 * span);
    let upstream = (b.share - a.share) * span - downstream;
    [(interval, upstream), (interval + 1, downstream)].map(|(place, part)| (band.order[place], mean * part, part))
}
