//! Compressible film: residual, Jacobian, Newton iteration on nested grids.
//!
//! Mass flow along an edge is `-k g (p_b - p_a) + drag (rho - sigma(Pe) drho / 2)` with `g` the mean of density
//! times slip factor at both ends (exact for a gas whose density is proportional to pressure) and
//! `sigma = coth(Pe/2) - 2/Pe` of exponential fitting (D. L. Scharfetter and H. K. Gummel, IEEE Trans. Electron
//! Devices 16 (1969) 64-77): second order where the cell's bearing number `Pe` is small, upwind where it is great.

use std::sync::Arc;

use super::film::{DensityLaw, Film, FlowFactor, Fluid, Problem};
use super::grid::Grid;
use super::level::{Cell, Level};
use super::linear::{Factors, Ordering};
use super::solution::{LevelWork, Work};
use super::stencil::{COUPLING, Stencil};
use super::{Field, FilmError};

/// Laws of the gas.
#[derive(Clone, Copy)]
pub(super) struct Laws<'a> {
    pub density: &'a DensityLaw<'a>,
    pub factor: Option<&'a FlowFactor<'a>>,
    /// Gap of each cell of the finest grid, m, and cells of it along.
    gap_m: &'a [f64],
    columns: usize,
}

/// A gap and the factors at the corners of the last cell that had it.
type Before = Option<(f64, [(f64, f64); 4])>;

impl<'a> Laws<'a> {
    pub fn of(problem: &Problem<'a>) -> Option<Laws<'a>> {
        match &problem.fluid {
            Fluid::Gas { density, flow_factor } => {
                Some(Laws { density: *density, factor: *flow_factor, gap_m: &problem.film.gap_m, columns: problem.grid.columns() })
            }
            Fluid::Liquid { .. } => None,
        }
    }

    /// Factors at the corners of a cell. Two of them the cell `before` it in its layer has found, where both have the same gap.
    #[inline(always)]
    fn factors(&self, level: &Level, cell: usize, state: &[Node; 4], before: &mut Before) -> [(f64, f64); 4] {
        let Some(factor) = self.factor else { return [(1.0, 0.0); 4] };
        let finest = level.cell_of[cell];
        let (layer, gap) = (finest / self.columns, self.gap_m[finest]);
        let at = |corner: usize| factor(layer, gap, state[corner].p);
        let [inner, outer] = match before {
            Some((same, found)) if *same == gap => [found[1], found[3]],
            _ => [at(0), at(2)],
        };
        let found = [inner, at(1), outer, at(3)];
        *before = Some((gap, found));
        found
    }
}

/// State of a node. The pressure's unrounded tail counts in differences between neighbours on very fine lines.
#[derive(Clone, Copy, Default)]
struct Node {
    p: f64,
    tail: f64,
    rho: f64,
    slope: f64,
}

/// A weighted difference along an edge and its derivatives by the pressures at its two ends.
#[derive(Clone, Copy, Default)]
struct Difference {
    value: f64,
    first: f64,
    second: f64,
    /// Mean of density times slip factor, and derivatives.
    weight: f64,
    weight_first: f64,
    weight_second: f64,
}

/// Outflow at the four corners and its derivatives by the four pressures.
#[derive(Clone, Copy, Default)]
pub(super) struct Local {
    pub outflow: [f64; 4],
    pub slopes: [[f64; 4]; 4],
    pub greatest: f64,
}

pub(super) struct Assembled {
    pub residual: Vec<f64>,
    pub jacobian: Option<Stencil>,
    /// Greatest mass flow through one edge, kg/s.
    pub greatest: f64,
}

/// Net outflow of every node (kg/s; the supply at a given node) and its Jacobian.
pub(super) fn assemble(level: &Level, laws: Laws, pressure: &[f64], tails: &[f64], with_jacobian: bool) -> Assembled {
    let mut nodes = node_states(level, laws, pressure);
    nodes.iter_mut().zip(tails).for_each(|(node, tail)| node.tail = *tail);
    let mut residual = vec![0.0; nodes.len()];
    let mut jacobian = if with_jacobian { Some(Stencil::zero(level)) } else { None };
    let mut greatest: f64 = 0.0;
    for i in 0..level.grid.rows() {
        let mut before = None;
        for j in 0..level.grid.columns() {
            let cell = level.grid.cell(i, j);
            let corners = level.corners(i, j);
            let state = corners.map(|node| nodes[node]);
            let factors = laws.factors(level, cell, &state, &mut before);
            let local = match with_jacobian {
                true => cell_flow::<true>(level, i, cell, &state, &factors),
                false => cell_flow::<false>(level, i, cell, &state, &factors),
            };
            greatest = greatest.max(local.greatest);
            for a in 0..4 {
                residual[corners[a]] += local.outflow[a];
                if let Some(jacobian) = &mut jacobian {
                    let row = &mut jacobian.rows[corners[a]];
                    for b in 0..4 {
                        row[COUPLING[a][b]] += local.slopes[a][b];
                    }
                }
            }
        }
    }
    Assembled { residual, jacobian, greatest }
}

/// Net outflow of the nodes of the last line across, together: what enters there, of one sector, kg/s.
pub(super) fn supplied_outside(level: &Level, laws: Laws, pressure: &[f64], tails: &[f64]) -> f64 {
    let wide = level.grid.nodes_along();
    let layer = level.grid.rows() - 1;
    let mut nodes = vec![Node::default(); pressure.len()];
    for node in layer * wide..nodes.len() {
        let (rho, slope) = (laws.density)(level.line_of[node / wide], pressure[node]);
        nodes[node] = Node { p: pressure[node], tail: tails[node], rho, slope };
    }
    let mut before = None;
    let supplied = |j: usize| {
        let cell = level.grid.cell(layer, j);
        let state = level.corners(layer, j).map(|node| nodes[node]);
        let factors = laws.factors(level, cell, &state, &mut before);
        cell_flow::<false>(level, layer, cell, &state, &factors).outflow[2..].iter().sum::<f64>()
    };
    (0..level.grid.columns()).map(supplied).sum()
}

fn node_states(level: &Level, laws: Laws, pressure: &[f64]) -> Vec<Node> {
    let wide = level.grid.nodes_along();
    let at = |(node, &p): (usize, &f64)| {
        let (rho, slope) = (laws.density)(level.line_of[node / wide], p);
        Node { p, tail: 0.0, rho, slope }
    };
    pressure.iter().enumerate().map(at).collect()
}

#[inline(always)]
fn cell_flow<const WITH_JACOBIAN: bool>(level: &Level, i: usize, cell: usize, state: &[Node; 4], factors: &[(f64, f64); 4]) -> Local {
    let numbers = &level.cells[cell];
    let spin = level.spin[i];
    let edge = |a: usize, b: usize, spin: f64| difference(state[a], state[b], factors[a], factors[b], spin);
    let (left, right) = (edge(0, 2, spin), edge(1, 3, spin));
    let (bottom, top) = (edge(0, 1, 0.0), edge(2, 3, 0.0));
    let v = level.far[i];
    let (k11, k12, k22) = (numbers.k11, numbers.k12, numbers.k22);
    let mixed_across = k12 * (bottom.value + top.value);
    let mixed_along = k12 * (left.value + right.value);
    let flow_left = -(k11 * ((1.0 - v) * left.value + v * right.value) + mixed_across);
    let flow_right = -(k11 * ((1.0 - v) * right.value + v * left.value) + mixed_across);
    let drag_bottom = dragged(numbers.drag[0], k22, &bottom, state[0], state[1]);
    let drag_top = dragged(numbers.drag[1], k22, &top, state[2], state[3]);
    let flow_bottom = -(k22 * ((1.0 - v) * bottom.value + v * top.value) + mixed_along) + drag_bottom.value;
    let flow_top = -(k22 * ((1.0 - v) * top.value + v * bottom.value) + mixed_along) + drag_top.value;
    let mut local = Local {
        outflow: [flow_left + flow_bottom, flow_right - flow_bottom, flow_top - flow_left, -flow_right - flow_top],
        slopes: [[0.0; 4]; 4],
        greatest: flow_left.abs().max(flow_right.abs()).max(flow_bottom.abs()).max(flow_top.abs()),
    };
    for (corner, node) in state.iter().enumerate() {
        local.outflow[corner] += node.rho * numbers.rate[corner / 2];
    }
    if WITH_JACOBIAN {
        let dl = [left.first, 0.0, left.second, 0.0];
        let dr = [0.0, right.first, 0.0, right.second];
        let db = [bottom.first, bottom.second, 0.0, 0.0];
        let dt = [0.0, 0.0, top.first, top.second];
        let cb = [drag_bottom.first, drag_bottom.second, 0.0, 0.0];
        let ct = [0.0, 0.0, drag_top.first, drag_top.second];
        for b in 0..4 {
            let across = k12 * (db[b] + dt[b]);
            let along = k12 * (dl[b] + dr[b]);
            let fl = -(k11 * ((1.0 - v) * dl[b] + v * dr[b]) + across);
            let fr = -(k11 * ((1.0 - v) * dr[b] + v * dl[b]) + across);
            let fb = -(k22 * ((1.0 - v) * db[b] + v * dt[b]) + along) + cb[b];
            let ft = -(k22 * ((1.0 - v) * dt[b] + v * db[b]) + along) + ct[b];
            local.slopes[0][b] = fl + fb;
            local.slopes[1][b] = fr - fb;
            local.slopes[2][b] = ft - fl;
            local.slopes[3][b] = -fr - ft;
            local.slopes[b][b] += state[b].slope * numbers.rate[b / 2];
        }
    }
    local
}

/// `g (p_b - p_a) - g rho spin` with derivatives.
#[inline(always)]
fn difference(a: Node, b: Node, fa: (f64, f64), fb: (f64, f64), spin: f64) -> Difference {
    let weight = 0.5 * (a.rho * fa.0 + b.rho * fb.0);
    let weight_first = 0.5 * (a.slope * fa.0 + a.rho * fa.1);
    let weight_second = 0.5 * (b.slope * fb.0 + b.rho * fb.1);
    let mean = 0.5 * (a.rho + b.rho);
    let drive = (b.p - a.p) + (b.tail - a.tail) - mean * spin;
    Difference {
        value: weight * drive,
        first: weight_first * drive - weight * (1.0 + 0.5 * a.slope * spin),
        second: weight_second * drive + weight * (1.0 - 0.5 * b.slope * spin),
        weight,
        weight_first,
        weight_second,
    }
}

#[derive(Clone, Copy)]
struct Drag {
    value: f64,
    first: f64,
    second: f64,
    /// Derivative of the value by the logarithm of the bearing number.
    by_number: f64,
}

#[inline(always)]
fn dragged(drag: f64, k22: f64, along: &Difference, a: Node, b: Node) -> Drag {
    if drag == 0.0 {
        return Drag { value: 0.0, first: 0.0, second: 0.0, by_number: 0.0 };
    }
    let slope = 0.5 * (a.slope + b.slope);
    let number = drag * slope / (k22 * along.weight);
    let (sigma, sigma_slope) = fitting(number);
    let step = b.rho - a.rho;
    let by_number = -0.5 * drag * sigma_slope * number * step;
    // The slope of the density is nearly constant; its own change is left out of the derivative.
    let by_weight = -by_number / along.weight;
    Drag {
        value: drag * (0.5 * (a.rho + b.rho) - 0.5 * sigma * step),
        first: drag * 0.5 * (1.0 + sigma) * a.slope + by_weight * along.weight_first,
        second: drag * 0.5 * (1.0 - sigma) * b.slope + by_weight * along.weight_second,
        by_number,
    }
}

/// `coth(x/2) - 2/x` and its derivative.
#[inline(always)]
fn fitting(x: f64) -> (f64, f64) {
    if x.abs() < 0.3 {
        let y = x * x;
        (
            x * (1.0 / 6.0 - y * (1.0 / 360.0 - y * (1.0 / 15_120.0 - y * (1.0 / 604_800.0)))),
            1.0 / 6.0 - y * (1.0 / 120.0 - y * (1.0 / 3024.0 - y * (7.0 / 604_800.0))),
        )
    } else {
        let t = (0.5 * x).tanh();
        let coth = 1.0 / t;
        (coth - 2.0 / x, 0.5 * (1.0 - coth * coth) + 2.0 / (x * x))
    }
}

/// What a perturbation of the gap does to the net outflow of a cell's corners: by the flow and by squeezing.
pub(super) struct GapResponse<'a> {
    level: &'a Level,
    laws: Laws<'a>,
    nodes: Vec<Node>,
    slopes: &'a [Cell],
}

impl<'a> GapResponse<'a> {
    pub fn new(level: &'a Level, laws: Laws<'a>, pressure: &[f64], slopes: &'a [Cell]) -> GapResponse<'a> {
        GapResponse { level, laws, nodes: node_states(level, laws, pressure), slopes }
    }

    /// Per unit of the distance, and per unit of its rate.
    pub fn cell(&self, i: usize, j: usize) -> ([f64; 4], [f64; 4]) {
        let level = self.level;
        let cell = level.grid.cell(i, j);
        let corners = level.corners(i, j);
        let (numbers, slope) = (&level.cells[cell], &self.slopes[cell]);
        let state = corners.map(|node| self.nodes[node]);
        let factors = self.laws.factors(level, cell, &state, &mut None);
        let spin = level.spin[i];
        let edge = |a: usize, b: usize, spin: f64| difference(state[a], state[b], factors[a], factors[b], spin);
        let (left, right) = (edge(0, 2, spin), edge(1, 3, spin));
        let (bottom, top) = (edge(0, 1, 0.0), edge(2, 3, 0.0));
        let v = level.far[i];
        let drag = |place: usize, along: &Difference, a: usize, b: usize| -> f64 {
            let (now, change) = (numbers.drag[place], slope.drag[place]);
            if now == 0.0 {
                return change * 0.5 * (state[a].rho + state[b].rho);
            }
            let flow = dragged(now, numbers.k22, along, state[a], state[b]);
            flow.value * change / now + flow.by_number * (change / now - slope.k22 / numbers.k22)
        };
        let mixed_across = slope.k12 * (bottom.value + top.value);
        let mixed_along = slope.k12 * (left.value + right.value);
        let flow_left = -(slope.k11 * ((1.0 - v) * left.value + v * right.value) + mixed_across);
        let flow_right = -(slope.k11 * ((1.0 - v) * right.value + v * left.value) + mixed_across);
        let flow_bottom = -(slope.k22 * ((1.0 - v) * bottom.value + v * top.value) + mixed_along) + drag(0, &bottom, 0, 1);
        let flow_top = -(slope.k22 * ((1.0 - v) * top.value + v * bottom.value) + mixed_along) + drag(1, &top, 2, 3);
        let by_gap = [flow_left + flow_bottom, flow_right - flow_bottom, flow_top - flow_left, -flow_right - flow_top];
        let by_rate = [0, 1, 2, 3].map(|corner| state[corner].rho * slope.volume[corner / 2]);
        (by_gap, by_rate)
    }
}

/// Mass stored per pressure at each node, `d rho / dp` times volume, kg/Pa.
pub(super) fn storage(level: &Level, laws: Laws, pressure: &[f64]) -> Vec<f64> {
    let nodes = node_states(level, laws, pressure);
    let mut storage = vec![0.0; nodes.len()];
    for i in 0..level.grid.rows() {
        for j in 0..level.grid.columns() {
            let volume = level.cells[level.grid.cell(i, j)].volume;
            for (corner, node) in level.corners(i, j).into_iter().enumerate() {
                storage[node] += nodes[node].slope * volume[corner / 2];
            }
        }
    }
    storage
}

/// Solution on the finest level with its factors.
pub(super) struct Solved {
    pub pressure: Vec<f64>,
    pub factors: Arc<Factors>,
    pub jacobian: Stencil,
    pub residual: Vec<f64>,
    pub work: Work,
}

/// Residual accepted on coarse grids (their discretisation error is greater) and on the finest.
const COARSE: f64 = 1e-4;
pub(super) const FINE: f64 = 1e-13;
/// Residual at which an iteration that gains no more counts as converged.
pub(super) const ENOUGH: f64 = 1e-9;
/// Residual below which steps with old factors are tried.
pub(super) const NEAR: f64 = 3e-2;

pub(super) fn solve(problem: &Problem, level: &Level, start: Option<&Field>) -> Result<Solved, FilmError> {
    let laws = Laws::of(problem).ok_or(FilmError::WrongFluid)?;
    let mut work = Work::default();
    let guess = match start {
        Some(field) => field.pressure_pa.clone(),
        None => nested_guess(problem, level, problem.film, laws, &mut work)?,
    };
    match newton(level, laws, guess, &[], FINE, &mut work) {
        Err(FilmError::NotConverged { history, best }) => {
            let slowly = speed_up(level, laws, &mut work).and_then(|start| newton(level, laws, start, &[], FINE, &mut work));
            let led = slowly.or_else(|_| {
                let start = lead_in_time(level, laws, &mut work)?;
                newton(level, laws, start, &[], FINE, &mut work)
            });
            // The first history says more than that of a fallback which fails too.
            led.map_err(|_| FilmError::NotConverged { history, best })
        }
        other => other,
    }
}

/// One implicit step in time after `before`, whose film held `old_mass` (kg) at its nodes: `(rho h - old) / dt` stands where a steady film
/// has the rate of its gap.
pub(super) fn step(problem: &Problem, mut level: Level, before: &Field, old_mass: &[f64], dt_s: f64) -> Result<(Level, Solved), FilmError> {
    let laws = Laws::of(problem).ok_or(FilmError::WrongFluid)?;
    for cell in &mut level.cells {
        cell.rate = cell.volume.map(|volume| volume / dt_s);
    }
    let held: Vec<f64> = old_mass.iter().map(|mass| mass / dt_s).collect();
    let solved = newton(&level, laws, before.pressure_pa.clone(), &held, FINE, &mut Work::default())?;
    Ok((level, solved))
}

/// Gas at each node, kg.
pub(super) fn mass(level: &Level, laws: Laws, pressure: &[f64]) -> Vec<f64> {
    let nodes = node_states(level, laws, pressure);
    let mut mass = vec![0.0; nodes.len()];
    for i in 0..level.grid.rows() {
        for j in 0..level.grid.columns() {
            let volume = level.cells[level.grid.cell(i, j)].volume;
            for (corner, node) in level.corners(i, j).into_iter().enumerate() {
                mass[node] += nodes[node].rho * volume[corner / 2];
            }
        }
    }
    mass
}

/// Pressure prolonged from the solution on the next coarser grid, or by hand on the coarsest.
fn nested_guess(problem: &Problem, level: &Level, film: &Film, laws: Laws, work: &mut Work) -> Result<Vec<f64>, FilmError> {
    let Some((coarse, coarse_film)) = level.coarser(film, problem, true).filter(|(coarse, _)| coarse.grid.nodes() >= 40) else {
        return Ok(by_hand(level));
    };
    let guess = nested_guess(problem, &coarse, &coarse_film, laws, work)?;
    let solved = match newton(&coarse, laws, guess.clone(), &[], COARSE, work) {
        Ok(solved) => solved.pressure,
        // Across a deep groove a coarse film may have no solution without suction where the fine one has: it is only a guess.
        Err(FilmError::NotConverged { .. }) => speed_up(&coarse, laws, work).unwrap_or(guess),
        Err(other) => return Err(other),
    };
    Ok(prolonged(&coarse.grid, &solved, &level.grid))
}

/// Pressure on another grid over the same film: the square is what varies evenly where a gas expands.
pub(super) fn prolonged(from: &Grid, pressure: &[f64], to: &Grid) -> Vec<f64> {
    let squares: Vec<f64> = pressure.iter().map(|p| p * p).collect();
    super::prolong::interpolate(from, &squares, to).into_iter().map(f64::sqrt).collect()
}

/// Squared pressure linear across between the edges.
fn by_hand(level: &Level) -> Vec<f64> {
    let grid = &level.grid;
    let (wide, lines) = (grid.nodes_along(), grid.across().len());
    let known: Vec<f64> = level.given.iter().copied().filter(|p| !p.is_nan()).collect();
    let mean = known.iter().sum::<f64>() / known.len().max(1) as f64;
    let middle = wide / 2;
    let edge = |node: usize| if level.given[node].is_nan() { f64::NAN } else { level.given[node] };
    let (inner, outer) = (edge(middle), edge((lines - 1) * wide + middle));
    let s = grid.s();
    (0..grid.nodes())
        .map(|node| {
            if !level.is_unknown(node) {
                return level.given[node];
            }
            let t = (s[node / wide] - s[0]) / (s[lines - 1] - s[0]);
            match (inner.is_nan(), outer.is_nan()) {
                (false, false) => ((1.0 - t) * inner * inner + t * outer * outer).sqrt(),
                _ => mean,
            }
        })
        .collect()
}

/// Fallback: raises the speed from zero, each solution starting the next.
fn speed_up(level: &Level, laws: Laws, work: &mut Work) -> Result<Vec<f64>, FilmError> {
    let mut pressure = by_hand(level);
    let (mut reached, mut stride) = (0.0, 0.25);
    let scaled = |share: f64| {
        let mut slower = level.clone();
        for cell in &mut slower.cells {
            cell.drag = cell.drag.map(|d| d * share);
            cell.rate = cell.rate.map(|d| d * share);
        }
        slower.spin.iter_mut().for_each(|s| *s *= share);
        slower
    };
    pressure = newton(&scaled(0.0), laws, pressure, &[], COARSE, work)?.pressure;
    while reached < 1.0 {
        let next = f64::min(1.0, reached + stride);
        match newton(&scaled(next), laws, pressure.clone(), &[], COARSE, work) {
            Ok(solved) => {
                pressure = solved.pressure;
                reached = next;
                stride *= 2.0;
            }
            Err(FilmError::NotConverged { .. }) if stride > 1e-3 => stride *= 0.25,
            Err(other) => return Err(other),
        }
    }
    Ok(pressure)
}

/// Last fallback: implicit steps in time from rest, growing until they are far longer than the passage through the film.
fn lead_in_time(level: &Level, laws: Laws, work: &mut Work) -> Result<Vec<f64>, FilmError> {
    const LONGEST: f64 = 1e9;
    let mut pressure = by_hand(level);
    let greatest = assemble(level, laws, &pressure, &vec![0.0; pressure.len()], false).greatest;
    let through = mass(level, laws, &pressure).iter().sum::<f64>() / greatest.max(f64::MIN_POSITIVE);
    let (mut dt, mut failures) = (through / pressure.len() as f64, 0);
    while dt < LONGEST * through {
        let mut stepped = level.clone();
        for cell in &mut stepped.cells {
            (0..2).for_each(|end| cell.rate[end] += cell.volume[end] / dt);
        }
        let held: Vec<f64> = mass(level, laws, &pressure).iter().map(|mass| mass / dt).collect();
        match newton(&stepped, laws, pressure.clone(), &held, COARSE, work) {
            Ok(solved) => {
                pressure = solved.pressure;
                dt *= 3.0;
            }
            Err(FilmError::NotConverged { .. }) if failures < 12 => {
                failures += 1;
                dt *= 0.1;
            }
            Err(other) => return Err(other),
        }
    }
    Ok(pressure)
}

/// Newton's method; factors are kept while each step still gains enough. `held` is what flows into each node besides, kg/s; empty for none.
fn newton(level: &Level, laws: Laws, mut pressure: Vec<f64>, held: &[f64], tolerance: f64, work: &mut Work) -> Result<Solved, FilmError> {
    const MOST: usize = 40;
    let assembled = |pressure: &[f64], tails: &[f64], with_jacobian: bool| {
        let mut state = assemble(level, laws, pressure, tails, with_jacobian);
        state.residual.iter_mut().zip(held).for_each(|(residual, held)| *residual -= held);
        state
    };
    let ordering = Ordering::new(level)?;
    for (node, p) in pressure.iter_mut().enumerate() {
        if !level.is_unknown(node) {
            *p = level.given[node];
        }
    }
    let mut factors: Option<Factors> = None;
    let mut history: Vec<f64> = Vec::new();
    let mut tails = vec![0.0; pressure.len()];
    let mut state = assembled(&pressure, &tails, true);
    for iteration in 1..=MOST {
        let relative = worst(level, &state.residual) / state.greatest.max(f64::MIN_POSITIVE);
        let before = history.last().copied().unwrap_or(f64::INFINITY);
        history.push(relative);
        if !relative.is_finite() {
            break;
        }
        let done = relative <= tolerance || relative <= ENOUGH && relative > 0.5 * before;
        if let Some(factors) = factors.take_if(|_| done) {
            work.levels.push(LevelWork { unknowns: ordering.unknowns(), iterations: iteration - 1 });
            // A guess for a finer grid needs no Jacobian, only the answer does.
            let exact = if tolerance == FINE { assembled(&pressure, &tails, true).jacobian } else { None };
            let jacobian = exact.unwrap_or_else(|| Stencil::zero(level));
            return Ok(Solved { pressure, factors: Arc::new(factors), jacobian, residual: state.residual, work: work.clone() });
        }
        match &mut factors {
            // Old factors do while they gain; near the end the gain of Newton's own step is worth no new ones.
            Some(_) if relative < 0.1 * before && relative < NEAR => {}
            Some(old) => {
                let jacobian = assembled(&pressure, &tails, true).jacobian;
                jacobian.map_or(Ok(()), |jacobian| old.refactor(&jacobian))?;
                work.factorisations += 1;
            }
            None => {
                factors = state.jacobian.as_ref().map(|jacobian| ordering.factor(jacobian)).transpose()?;
                work.factorisations += 1;
            }
        }
        let Some(ready) = &factors else { break };
        let mut step: Vec<f64> = state.residual.iter().map(|r| -r).collect();
        ready.solve(&mut step)?;
        take(&step, &mut pressure, &mut tails);
        state = assembled(&pressure, &tails, false);
    }
    let fill = vec![1.0; pressure.len()];
    Err(FilmError::NotConverged { history, best: Box::new(Field { pressure_pa: pressure, fill }) })
}

/// Adds a step; a fifth of each pressure stays, whatever the step wants.
pub(super) fn take(step: &[f64], pressure: &mut [f64], tails: &mut [f64]) {
    for node in 0..step.len() {
        let change = step[node].max(-0.8 * pressure[node]) + tails[node];
        let sum = pressure[node] + change;
        tails[node] = change - (sum - pressure[node]);
        pressure[node] = sum;
    }
}

pub(super) fn worst(level: &Level, residual: &[f64]) -> f64 {
    let mut worst: f64 = 0.0;
    for (node, r) in residual.iter().enumerate() {
        if level.is_unknown(node) {
            if r.is_nan() {
                return f64::NAN;
            }
            worst = worst.max(r.abs());
        }
    }
    worst
}
