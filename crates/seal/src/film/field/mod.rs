//! The film between textured faces: one period of the ring, in radius and angle.
//!
//! **What.** Pressure, flow and heat of a film whose gap varies round the circumference: grooves, pads, dimples, waves, tilt. Gas and liquid,
//! the liquid with mass-conserving cavitation.
//! **Equation.** [`halfmicron_numerics::reynolds`] where the textures stand still: `div(phi_p rho h^3/(k mu) (grad p - rho r W e_r) - rho theta hT V)`
//! `= 0`; `mu`, and the density of a gas, at the film's mean temperature at each radius; that temperature from shaft work, heat to the faces and
//! what the leak keeps ([`heat`]). The cavitation pressure is the vapour pressure at the mean film temperature, or the value of the case.
//! **Valid when.** Thin film; flow slower than sound and its inertia left out (spin kept); one phase; equal roughness of both faces, whose
//! shear flow then cancels; turbulent coefficients from mean density and gap of the place.
//! **Source.** As named in the kernel; flow factors, slip and turbulence as in the axisymmetric film; temperature round the circumference taken
//! as one, derived here.
//! **Checked by.** G1, G2, G3, C1, C2, C3, C4, C5, C6, C7, C8, C9.

mod arrays;
mod depth;
mod grid;
mod heat;
mod loads;
mod moving;
mod outline;
mod properties;
mod small;
mod tangent;

use std::sync::Arc;

use halfmicron_numerics::reynolds::{self, Edges, Field, Film, Fluid as Filling, Problem, Solution, Tracked};
use halfmicron_properties::{FluidState, Saturation};

pub use grid::{Cells, FieldGrid, Fineness};
pub(crate) use moving::{Moved, MovingFilm};
pub use outline::{FaceLine, face_lines, sector_lines};
pub(crate) use small::{small_motions, tilt_impedance};
pub(super) use tangent::sensitivity;

use self::arrays::{Laws, Line, film, motion};
use self::heat::{Heat, Lip, ends, march};
use self::loads::{heat_loads, layers, nodal, pressure_loads};
use self::properties::{Isotherm, Table, enters_as_gas, state};
use super::resistance::SlipAt;
use super::{FilmError, FilmInput, FilmResult, FilmStart};
use crate::model::Flashing;
use crate::ring::BandNodes;

/// Rounds in which temperature and pressure level settle on each other: those in which a gas takes one step each, and all.
const TRACKED_ROUNDS: usize = 50;
const MOST_ROUNDS: usize = 80;
/// Change of temperature (K), relative change of mean pressure and residual over the greatest flow that are none.
const SETTLED_K: f64 = 1e-9;
const SETTLED_PRESSURE: f64 = 1e-11;
const SETTLED_FLOW: f64 = 1e-11;
/// Residual at which one that falls no more counts as settled.
const ROUNDING_FLOW: f64 = 1e-9;
/// Room that a table of properties leaves around the temperatures met, K.
const ROOM_K: f64 = 2.0;
/// Temperatures beyond which no film is: an iteration that meets them is lost, K.
const LOST_K: [f64; 2] = [1.0, 1e4];

/// The film over one period, for drawing.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct FilmField {
    /// Radius of each line, m.
    pub radius_m: Vec<f64>,
    /// Angle of each line along the radius before its shift, rad; the last is the first again.
    pub angle_rad: Vec<f64>,
    /// Angle by which each circle of nodes is turned, rad.
    pub shift_rad: Vec<f64>,
    /// Equal sectors of the ring.
    pub sectors: usize,
    /// Absolute pressure of each node, line by line along the circumference, Pa.
    pub pressure_pa: Vec<f64>,
    /// Share of the gap filled with liquid.
    pub fill: Vec<f64>,
    /// Distance of the mean planes in each cell, m.
    pub gap_m: Vec<f64>,
    /// Share of the face in the cavity.
    pub cavitated_share: f64,
    /// Greatest pressure, Pa.
    pub greatest_pressure_pa: f64,
    /// Pressure in cavities, Pa; none for a gas.
    pub cavitation_pressure_pa: Option<f64>,
}

/// A solved field from which the next one starts and slopes are taken.
#[derive(Debug)]
pub(super) struct FieldStart {
    size: [usize; 2],
    solution: Solution,
    table: Arc<Table>,
    temperature_k: Vec<f64>,
    pressure_pa: Vec<f64>,
    flow: f64,
    cavity_pa: f64,
}

impl PartialEq for FieldStart {
    fn eq(&self, other: &Self) -> bool {
        self.size == other.size && self.solution.field == other.solution.field && self.temperature_k == other.temperature_k
    }
}

/// Solve the film on a grid.
pub(super) fn solve(input: &FilmInput, grid: &FieldGrid, start: Option<&FilmStart>) -> Result<(FilmResult, FilmStart), FilmError> {
    check(input)?;
    let mut rounds = Rounds::new(input, grid, start.and_then(|start| start.field.as_deref()))?;
    for number in 0..MOST_ROUNDS {
        if number == TRACKED_ROUNDS {
            rounds.carried = rounds.carried.let_go();
        }
        let round = rounds.next(input, grid, number < TRACKED_ROUNDS)?;
        if round.settled {
            return finish(input, grid, rounds, round);
        }
    }
    Err(FilmError::NotConverged { iterations: rounds.iterations, correction: rounds.last_change, history: vec![rounds.last_change] })
}

fn check(input: &FilmInput) -> Result<(), FilmError> {
    let finite = input.gap.profile_m.iter().chain(input.face_temperature_k).all(|x| x.is_finite());
    if finite { Ok(()) } else { Err(FilmError::Input("gap and face temperature must be finite")) }
}

/// State of the outer iteration.
struct Rounds {
    is_gas: bool,
    table: Arc<Table>,
    temperature_k: Vec<f64>,
    pressure_pa: Vec<f64>,
    /// Net flow that the Reynolds numbers are taken with.
    flow: f64,
    /// The flow of the round before and what came of it.
    before: Option<[f64; 2]>,
    carried: Carried,
    /// Residual of the last round.
    relative: f64,
    iterations: usize,
    /// Rounds made.
    number: usize,
    last_change: f64,
}

/// What a round hands to the next.
enum Carried {
    Nothing,
    Field(Field),
    Gas(Box<Tracked>),
    Liquid(Box<Solution>),
}

impl Carried {
    fn take(&mut self) -> Self {
        std::mem::replace(self, Self::Nothing)
    }

    /// Without factors.
    fn let_go(&mut self) -> Self {
        match self.take() {
            Carried::Gas(tracked) => Carried::Field(tracked.field()),
            Carried::Liquid(solution) => Carried::Field(solution.field),
            other => other,
        }
    }
}

/// What a round says of the field.
struct Means {
    pressure_pa: Vec<f64>,
    /// Mean shear stress by the pressure gradient of every layer, Pa.
    gradient_pa: Vec<f64>,
    /// Net flow outward, kg/s.
    flow: f64,
    /// Fill of every node, where not all are full.
    fill: Option<Vec<f64>>,
    /// Residual over the greatest flow before the last step.
    relative: f64,
}

/// One round.
struct Round {
    lines: Vec<Line>,
    /// Flow that its Reynolds numbers were taken with.
    tried_flow: f64,
    heat: Heat,
    gradient_pa: Vec<f64>,
    filled: heat::Shares,
    cavity_pa: f64,
    settled: bool,
}

impl Rounds {
    fn new(input: &FilmInput, grid: &FieldGrid, before: Option<&FieldStart>) -> Result<Self, FilmError> {
        let edges = pressures(input);
        let entry = input.fluid.at_pressure_temperature(edges[1], input.entry_temperature_k)?;
        let is_gas = enters_as_gas(input.fluid, &entry);
        let face = grid.on_lines(input.face_temperature_k);
        let radii = grid.grid.across();
        let share = |r: f64| (r - radii[0]) / (radii[radii.len() - 1] - radii[0]);
        let straight = |r: &f64| input.inner_pressure_pa + share(*r) * (input.outer_pressure_pa - input.inner_pressure_pa);
        let before = before.filter(|before| before.table.is_gas == is_gas);
        let (temperature_k, pressure_pa) = match before {
            None => (face.clone(), radii.iter().map(straight).collect()),
            Some(before) if before.solution.grid().across() == radii => (before.temperature_k.clone(), before.pressure_pa.clone()),
            Some(before) => {
                let known = before.solution.grid().across();
                let on = |values: &[f64]| radii.iter().map(|&r| straight_at(known, values, r)).collect();
                (on(&before.temperature_k), on(&before.pressure_pa))
            }
        };
        let met = reach(temperature_k.iter().chain(&face).chain([&input.entry_temperature_k]));
        not_lost(input, is_gas, met)?;
        let table = match before.map(|before| &before.table).filter(|table| table.serves(is_gas, edges)) {
            Some(table) if table.covers(is_gas, edges, met) => table.clone(),
            Some(table) => Arc::new(table.extended(input.fluid, with_room(met)).or_else(|_| table.extended(input.fluid, met))?),
            None => {
                Arc::new(Table::new(input.fluid, is_gas, edges, with_room(met)).or_else(|_| Table::new(input.fluid, is_gas, edges, met))?)
            }
        };
        let carried = match before {
            Some(before) if before.solution.grid() == &grid.grid && is_gas => Carried::Gas(Box::new(Tracked::from(&before.solution))),
            Some(before) if before.solution.grid() == &grid.grid => Carried::Liquid(Box::new(before.solution.clone())),
            Some(before) if before.size == grid.size() => Carried::Field(before.solution.field.clone()),
            Some(before) if is_gas => Carried::Field(before.solution.field_on(&grid.grid)),
            _ => Carried::Nothing,
        };
        Ok(Self {
            is_gas,
            table,
            temperature_k,
            pressure_pa,
            flow: before.map_or(0.0, |before| before.flow),
            before: None,
            carried,
            relative: f64::INFINITY,
            iterations: 0,
            number: 0,
            last_change: f64::INFINITY,
        })
    }

    fn next(&mut self, input: &FilmInput, grid: &FieldGrid, track: bool) -> Result<Round, FilmError> {
        let lines = lines(input, grid, &self.table, &self.temperature_k, &self.pressure_pa);
        let tried_flow = self.flow;
        let laws = Laws::new(input, self.is_gas, tried_flow);
        let cavity_pa = if self.is_gas { 0.0 } else { cavity(input, grid, &lines)? };
        let table = self.table.clone();
        let given = Given { input, grid, laws: &laws, lines: &lines, table: &table, cavity_pa };
        let Means { pressure_pa, gradient_pa, flow, fill, relative } = given.problem(|problem| match (self.is_gas, track) {
            (true, true) => self.step_gas(problem),
            (true, false) => self.solve_gas(problem),
            _ => self.solve_liquid(problem),
        })?;
        let filled = fill.map_or_else(|| grid.shares.clone(), |fill| grid.filled_shares(Some(&fill)));
        let ends = ends(grid, &filled, &laws, &lines, &gradient_pa, motion(grid, input).sliding);
        let heat = if input.switches.heat {
            march(grid, &self.table, &lines, &ends, flow, input.entry_temperature_k)
        } else {
            let layers = grid.grid.rows();
            let mut temperature_k: Vec<f64> = lines.iter().map(|line| line.face).collect();
            temperature_k[if flow >= 0.0 { 0 } else { layers }] = input.entry_temperature_k;
            Heat { temperature_k, kept: vec![0.0; layers], weight: vec![1.0; layers], lip: Lip::default() }
        };
        let warmed = greatest(self.temperature_k.iter().zip(&heat.temperature_k).map(|(a, b)| (a - b).abs()));
        let scale = pressures(input)[1];
        let raised = greatest(self.pressure_pa.iter().zip(&pressure_pa).map(|(a, b)| (a - b).abs())) / scale;
        let turned = (flow - self.flow).abs() / flow.abs().max(f64::MIN_POSITIVE);
        let solved = relative <= SETTLED_FLOW || relative <= ROUNDING_FLOW && relative > 0.5 * self.relative;
        // The flow counts only where it makes turbulence.
        let settled = solved
            && warmed < SETTLED_K
            && raised < SETTLED_PRESSURE
            && (turned < 1e-8 || !input.switches.turbulence || flow.abs() < 1e-15);
        self.relative = relative;
        self.last_change = warmed.max(raised);
        if !self.last_change.is_finite() {
            return Err(FilmError::NotConverged { iterations: self.iterations, correction: f64::NAN, history: Vec::new() });
        }
        let met = reach(&heat.temperature_k);
        not_lost(input, self.is_gas, met)?;
        if !self.table.covers(self.is_gas, pressures(input), met) {
            let grown = self.table.extended(input.fluid, with_room(met)).or_else(|_| self.table.extended(input.fluid, met));
            self.table = Arc::new(grown?);
        }
        let taken = if self.is_gas { 1.0 } else { damping(self.number) };
        self.number += 1;
        let mix = |old: &mut [f64], new: &[f64]| old.iter_mut().zip(new).for_each(|(old, new)| *old += taken * (new - *old));
        mix(&mut self.temperature_k, &heat.temperature_k);
        mix(&mut self.pressure_pa, &pressure_pa);
        self.flow = if settled { flow } else { self.next_flow(flow) };
        Ok(Round { lines, tried_flow, heat, gradient_pa, filled, cavity_pa, settled })
    }

    /// One step of a gas; where none leads on, its film is solved anew.
    fn step_gas(&mut self, problem: &Problem) -> Result<Means, FilmError> {
        let mut tracked = match self.carried.take() {
            Carried::Gas(tracked) => tracked,
            other => {
                self.carried = other;
                return self.solve_gas(problem);
            }
        };
        match tracked.correct(problem) {
            Ok(relative) => {
                self.iterations += 1;
                self.track(tracked, problem, relative)
            }
            Err(reynolds::FilmError::NotConverged { .. } | reynolds::FilmError::Factor(_)) => self.solve_gas(problem),
            Err(error) => Err(error.into()),
        }
    }

    fn solve_gas(&mut self, problem: &Problem) -> Result<Means, FilmError> {
        let start = match self.carried.let_go() {
            Carried::Field(field) => Some(field),
            _ => None,
        };
        let solution = reynolds::solve(problem, start.as_ref())?;
        self.iterations += solution.work.levels.iter().map(|level| level.iterations).sum::<usize>();
        self.track(Box::new(Tracked::from(&solution)), problem, 0.0)
    }

    fn track(&mut self, tracked: Box<Tracked>, problem: &Problem, relative: f64) -> Result<Means, FilmError> {
        let means = Means {
            pressure_pa: tracked.mean_pressure_pa(),
            gradient_pa: tracked.gradient_shear_pa(problem),
            flow: -tracked.outer_flow_kg_per_s(problem)?,
            fill: None,
            relative,
        };
        self.carried = Carried::Gas(tracked);
        Ok(means)
    }

    fn solve_liquid(&mut self, problem: &Problem) -> Result<Means, FilmError> {
        let solution = match self.carried.take() {
            Carried::Liquid(before) => reynolds::solve_near(problem, &before)?,
            Carried::Field(field) => reynolds::solve(problem, Some(&field))?,
            _ => reynolds::solve(problem, None)?,
        };
        self.iterations += solution.work.levels.iter().map(|level| level.iterations).sum::<usize>();
        let profiles = solution.profiles(problem);
        let gradient_pa = profiles.smooth_shear_pa.iter().zip(&profiles.features_shear_pa).map(|(a, b)| 0.5 * (a - b)).collect();
        let means = Means {
            pressure_pa: profiles.pressure_pa,
            gradient_pa,
            flow: -solution.totals.outer_flow_kg_per_s,
            fill: (solution.totals.cavitated_area_m2 > 0.0).then(|| solution.field.fill.clone()),
            relative: 0.0,
        };
        self.carried = Carried::Liquid(Box::new(solution));
        Ok(means)
    }

    /// Flow for the next round, by the secant: where flow makes turbulence, more of it makes less.
    fn next_flow(&mut self, found: f64) -> f64 {
        let tried = self.flow;
        let slope = self.before.map_or(0.0, |[tried_before, found_before]| (found - found_before) / (tried - tried_before));
        self.before = Some([tried, found]);
        let slope = if slope.is_finite() { slope.clamp(STEEPEST_FLOW, 0.5) } else { 0.0 };
        tried + (found - tried) / (1.0 - slope)
    }
}

/// Share of a liquid's change of temperature and pressure that is taken: less where rounds answer each other with turns of the viscosity.
fn damping(round: usize) -> f64 {
    match round {
        0..15 => 1.0,
        15..50 => 0.5,
        _ => 0.2,
    }
}

/// Change of the flow found by the flow tried that is believed.
const STEEPEST_FLOW: f64 = -20.0;

fn greatest(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(0.0, |most, value| if value.is_nan() { f64::NAN } else { most.max(value) })
}

/// Least and greatest value.
fn reach<'v>(values: impl IntoIterator<Item = &'v f64>) -> [f64; 2] {
    values.into_iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], &v| [a.min(v), b.max(v)])
}

/// Lower and higher pressure at the edges.
fn pressures(input: &FilmInput) -> [f64; 2] {
    let (a, b) = (input.inner_pressure_pa, input.outer_pressure_pa);
    [a.min(b), a.max(b)]
}

/// Refuses temperatures that no film has: as out of the range of the fluid where it has one.
fn not_lost(input: &FilmInput, is_gas: bool, [low, high]: [f64; 2]) -> Result<(), FilmError> {
    if low >= LOST_K[0] && high <= LOST_K[1] {
        return Ok(());
    }
    state(input.fluid, is_gas, pressures(input)[1], if low < LOST_K[0] { low } else { high })?;
    Err(FilmError::NotConverged { iterations: 0, correction: f64::NAN, history: Vec::new() })
}

/// A range of temperatures with room around it.
fn with_room([low, high]: [f64; 2]) -> [f64; 2] {
    [low - ROOM_K, high + ROOM_K]
}

/// Straight between the values at rising places, held beyond them.
fn straight_at(places: &[f64], values: &[f64], at: f64) -> f64 {
    let after = places.partition_point(|&place| place < at).clamp(1, places.len() - 1);
    let share = ((at - places[after - 1]) / (places[after] - places[after - 1])).clamp(0.0, 1.0);
    values[after - 1] + share * (values[after] - values[after - 1])
}

fn lines(input: &FilmInput, grid: &FieldGrid, table: &Table, temperature_k: &[f64], pressure_pa: &[f64]) -> Vec<Line> {
    let (gap, face) = (grid.on_lines(input.gap.profile_m), grid.on_lines(input.face_temperature_k));
    let line = |i: usize| Line {
        radius: grid.grid.across()[i],
        gap: gap[i],
        face: face[i],
        temperature: temperature_k[i],
        pressure: pressure_pa[i],
        fluid: table.at(pressure_pa[i], temperature_k[i]),
    };
    (0..gap.len()).map(line).collect()
}

/// Cavitation pressure of a liquid film, Pa absolute.
fn cavity(input: &FilmInput, grid: &FieldGrid, lines: &[Line]) -> Result<f64, FilmError> {
    let edges = [&lines[0], &lines[lines.len() - 1]];
    if let Some(given) = input.switches.cavitation_pressure_pa {
        return match [input.inner_pressure_pa, input.outer_pressure_pa].into_iter().find(|edge| *edge < given) {
            Some(edge_pa) => Err(FilmError::EdgeCavitates { edge_pa, cavity_pa: given }),
            None => Ok(given),
        };
    }
    if input.switches.flashing == Flashing::Frozen {
        return Ok(0.0);
    }
    for (line, pressure) in edges.into_iter().zip([input.inner_pressure_pa, input.outer_pressure_pa]) {
        if let Saturation::At(vapour) = input.fluid.saturation_pressure(line.temperature)
            && pressure <= vapour
        {
            return Err(FilmError::FieldBoils { radius_m: line.radius });
        }
    }
    let areas = (0..grid.grid.rows()).map(|i| heat::area(lines, i));
    let (sum, whole) = areas
        .enumerate()
        .fold((0.0, 0.0), |(sum, whole), (i, area)| (sum + 0.5 * area * (lines[i].temperature + lines[i + 1].temperature), whole + area));
    let vapour = match input.fluid.saturation_pressure(sum / whole) {
        Saturation::At(vapour) => vapour,
        _ => 0.0,
    };
    Ok(vapour.min(pressures(input)[0]))
}

/// A film at a level of temperature and pressure: what its two-dimensional equation is made of.
struct Given<'a> {
    input: &'a FilmInput<'a>,
    grid: &'a FieldGrid,
    laws: &'a Laws<'a>,
    lines: &'a [Line],
    table: &'a Table,
    cavity_pa: f64,
}

impl Given<'_> {
    /// Do something with the equation.
    fn problem<T>(&self, then: impl FnOnce(&Problem) -> Result<T, FilmError>) -> Result<T, FilmError> {
        self.problem_of(&film(self.grid, self.laws, self.lines), then)
    }

    /// The same with arrays of the film at hand.
    fn problem_of<T>(&self, film: &Film, then: impl FnOnce(&Problem) -> Result<T, FilmError>) -> Result<T, FilmError> {
        let Self { input, grid: FieldGrid { grid, .. }, laws, lines, table, cavity_pa } = *self;
        let motion = motion(self.grid, input);
        let edges = Edges::ring(input.inner_pressure_pa, input.outer_pressure_pa);
        let columns = grid.columns();
        if !table.is_gas {
            let density = |cell: usize| 0.5 * (lines[cell / columns].fluid.density + lines[cell / columns + 1].fluid.density);
            let densities: Vec<f64> = (0..grid.cells()).map(density).collect();
            let fluid = Filling::Liquid { density_kg_per_m3: &densities, cavitation_pressure_pa: cavity_pa };
            return then(&Problem { grid, film, motion, edges, fluid });
        }
        let isotherms: Vec<Isotherm> = lines.iter().map(|line| table.isotherm(line.temperature)).collect();
        let density = move |line: usize, pressure: f64| isotherms[line].density(pressure);
        let slips: Vec<SlipAt> = lines.windows(2).filter_map(|pair| laws.slip(&Line::between(&pair[0], &pair[1], 0.5))).collect();
        let slip = |layer: usize, gap: f64, pressure: f64| slips[layer].factor(gap, pressure);
        let factor = (laws.slips(lines) && !slips.is_empty()).then_some(&slip as &reynolds::FlowFactor);
        then(&Problem { grid, film, motion, edges, fluid: Filling::Gas { density: &density, flow_factor: factor } })
    }
}

/// The settled film as profiles and field.
fn finish(input: &FilmInput, grid: &FieldGrid, rounds: Rounds, round: Round) -> Result<(FilmResult, FilmStart), FilmError> {
    let (nodes, iterations, cavity_pa, flow) = (input.nodes, rounds.iterations, round.cavity_pa, rounds.flow);
    let solution = match rounds.carried {
        Carried::Gas(tracked) => {
            let laws = Laws::new(input, true, round.tried_flow);
            let given = Given { input, grid, laws: &laws, lines: &round.lines, table: &rounds.table, cavity_pa };
            given.problem(|problem| Ok(tracked.finish(problem)?))?
        }
        Carried::Liquid(solution) => *solution,
        Carried::Nothing | Carried::Field(_) => return Err(FilmError::Input("a film settled without a field")),
    };
    let Round { lines, heat, .. } = &round;
    let laws = Laws::new(input, rounds.is_gas, flow);
    if rounds.is_gas {
        check_gas(input, grid, lines, &solution)?;
    }
    let isotherms: Vec<Isotherm> = lines.iter().map(|line| rounds.table.isotherm(line.temperature)).collect();
    let density = |line: usize, pressure: f64| density_at(rounds.is_gas, &isotherms, lines, line, pressure);
    let motion = motion(grid, input);
    let pressure = pressure_loads(grid, nodes, &laws, lines, &solution.field, &density, motion.spin).loads;
    let (shear, flux) = heat_profiles(grid, nodes, &laws, &round, motion.sliding);
    let node_line = &grid.line_of_node;
    let mut states: Vec<FluidState> = Vec::with_capacity(nodes.len());
    for &line in node_line {
        states.push(state(input.fluid, rounds.is_gas, lines[line].pressure, lines[line].temperature)?);
    }
    let exit = if flow >= 0.0 { states.len() - 1 } else { 0 };
    let mach = mach(&laws, grid, lines, &states[exit], exit, flow);
    let entry = states.len() - 1 - exit;
    let hottest = (0..nodes.len())
        .map(|k| {
            let (fluid, face) = (lines[node_line[k]].temperature, input.face_temperature_k[k]);
            if k == entry { fluid.max(face) } else { fluid.max(face + 1.5 * (fluid - face)) }
        })
        .collect();
    let field = FilmField {
        radius_m: grid.grid.across().to_vec(),
        angle_rad: grid.grid.along().to_vec(),
        shift_rad: grid.grid.shift().to_vec(),
        sectors: grid.sectors(),
        pressure_pa: solution.field.pressure_pa.clone(),
        fill: solution.field.fill.clone(),
        gap_m: (0..grid.grid.cells())
            .map(|cell| 0.5 * (lines[cell / grid.grid.columns()].gap + lines[cell / grid.grid.columns() + 1].gap) + grid.mean_depth(cell))
            .collect(),
        cavitated_share: solution.totals.cavitated_area_m2 / solution.totals.area_m2,
        greatest_pressure_pa: solution.totals.greatest_pressure_pa,
        cavitation_pressure_pa: (!rounds.is_gas).then_some(cavity_pa),
    };
    let result = FilmResult {
        pressure_pa: nodal(nodes, pressure),
        shear_heat_w_per_m2: nodal(nodes, shear),
        flux_w_per_m2: nodal(nodes, flux),
        hottest_k: hottest,
        conductivity_w_per_m_k: node_line.iter().map(|&line| lines[line].fluid.conductivity).collect(),
        mass_flow_kg_per_s: flow,
        mass_balance: solution.totals.mass_balance,
        leak_heat_w: (0..grid.grid.rows()).map(|i| heat.kept[i] * heat::area(lines, i)).sum(),
        phase_changes: Vec::new(),
        vapour_fraction_max: if rounds.is_gas { 1.0 } else { 0.0 },
        choked: false,
        exit_pressure_pa: states[exit].pressure_pa,
        greatest_mach: mach,
        iterations,
        states,
        field: Some(Arc::new(field)),
    };
    if !result.is_finite() {
        return Err(FilmError::NotConverged { iterations, correction: f64::NAN, history: Vec::new() });
    }
    let start = FilmStart {
        pressure_pa: result.states.iter().map(|s| s.pressure_pa).collect(),
        enthalpy_j_per_kg: result.states.iter().map(|s| s.enthalpy_j_per_kg).collect(),
        mass_flow_kg_per_s: flow,
        flow_change_kg_per_s: 0.0,
        march: None,
        field: Some(Arc::new(FieldStart {
            size: grid.size(),
            solution,
            table: rounds.table,
            temperature_k: rounds.temperature_k,
            pressure_pa: rounds.pressure_pa,
            flow,
            cavity_pa,
        })),
    };
    Ok((result, start))
}

/// Density and its slope by pressure at a line.
fn density_at(is_gas: bool, isotherms: &[Isotherm], lines: &[Line], line: usize, pressure: f64) -> (f64, f64) {
    if is_gas { isotherms[line].density(pressure) } else { (lines[line].fluid.density, 0.0) }
}

/// Loads of shear heat and of heat to the faces, W.
fn heat_profiles(grid: &FieldGrid, nodes: &BandNodes, laws: &Laws, round: &Round, sliding: f64) -> (Vec<f64>, Vec<f64>) {
    let Round { lines, heat, gradient_pa, filled, .. } = round;
    let layers = layers(grid, nodes);
    let made = |i: usize, share: f64| {
        let line = Line::between(&lines[i], &lines[i + 1], share);
        let sheared: f64 = filled[i].iter().map(|&(depth, part)| part * laws.shear_heat(&line, line.gap + depth)).sum();
        sheared + gradient_pa[i] * sliding * line.radius
    };
    let shear = heat_loads(&layers, nodes, made);
    let kept = heat_loads(&layers, nodes, |i, _| heat.kept[i]);
    let flux = shear.iter().zip(&kept).map(|(shear, kept)| shear - kept).collect();
    (shear, flux)
}

/// A gas stays one: nowhere above its saturation pressure.
fn check_gas(input: &FilmInput, grid: &FieldGrid, lines: &[Line], solution: &Solution) -> Result<(), FilmError> {
    let wide = grid.grid.columns();
    for (i, line) in lines.iter().enumerate() {
        let highest = solution.field.pressure_pa[i * wide..(i + 1) * wide].iter().fold(0.0, |most: f64, p| most.max(*p));
        if let Saturation::At(saturation) = input.fluid.saturation_pressure(line.temperature)
            && highest > saturation
        {
            return Err(FilmError::FieldCondenses { radius_m: line.radius });
        }
    }
    Ok(())
}

/// Mean speed at the exit over the speed of sound.
fn mach(laws: &Laws, grid: &FieldGrid, lines: &[Line], exit: &FluidState, node: usize, flow: f64) -> f64 {
    let line = &lines[grid.line_of_node[node]];
    let open = grid.mean(node, line.gap, |gap| laws.mean_gap(gap));
    let speed = flow.abs() / (2.0 * std::f64::consts::PI * line.radius * open * exit.density_kg_per_m3);
    let d = &exit.derivatives;
    speed * (d.density_by_pressure + d.density_by_enthalpy / exit.density_kg_per_m3).max(0.0).sqrt()
}

#[cfg(test)]
mod tests;
