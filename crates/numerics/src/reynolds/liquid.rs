//! Liquid with mass-conserving cavitation: complementarity of pressure above the cavity's and of missing liquid.
//!
//! Net outflow of a node is `A p + B theta`, both linear; `theta` is carried from upstream. At each node either `p` is
//! unknown and `theta = 1`, or `theta` is unknown and `p = pc`. The semi-smooth Newton method on
//! `min(p - pc, 1 - theta) = 0` is then an active set: solve, move the nodes whose sign is wrong, until none is. On
//! grids without shear every matrix met is an M-matrix by columns, for which the iteration is monotone and ends after
//! finitely many full steps (L. Brugnano and V. Casulli, SIAM Journal on Scientific Computing 30 (2008) 463-472). If a set comes
//! back, or a matrix has no solution, the film is led there in pseudo-time.

use std::collections::HashSet;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;

use super::film::{Film, Fluid, Problem};
use super::level::{Cell, Level};
use super::linear::{Factors, Ordering, Refined};
use super::prolong::shares;
use super::solution::{LevelWork, Work};
use super::stencil::{COUPLING, Stencil, neighbour};
use super::{Field, FilmError};

/// Density of each cell of a level and the cavitation pressure.
#[derive(Clone, Copy)]
pub(super) struct Laws<'a> {
    pub density: &'a [f64],
    pub cavity_pa: f64,
}

impl<'a> Laws<'a> {
    pub fn of(problem: &Problem<'a>) -> Option<Laws<'a>> {
        match problem.fluid {
            Fluid::Liquid { density_kg_per_m3, cavitation_pressure_pa } => {
                Some(Laws { density: density_kg_per_m3, cavity_pa: cavitation_pressure_pa })
            }
            Fluid::Gas { .. } => None,
        }
    }
}

/// Outflow `A p + B theta - old`.
#[derive(Clone)]
pub(super) struct Operators {
    pressure: Stencil,
    fill: Stencil,
    old: Vec<f64>,
    /// Mass of a full node, kg.
    mass: Vec<f64>,
    /// Pressure that drives as much as the faces drag, Pa: scale of the unknown pressure.
    scale: f64,
}

impl Operators {
    fn new(level: &Level, laws: Laws) -> Operators {
        let mut pressure = Stencil::zero(level);
        let mut fill = Stencil::zero(level);
        let mut mass = vec![0.0; level.grid.nodes()];
        let (mut dragged, mut conducted) = (0.0, 0.0);
        for i in 0..level.grid.rows() {
            for j in 0..level.grid.columns() {
                let cell = level.grid.cell(i, j);
                let numbers = &level.cells[cell];
                let density = laws.density[level.cell_of[cell]];
                let corners = level.corners(i, j);
                let by_pressure = pressure_outflow(numbers, density);
                let by_fill = fill_outflow(numbers, density, density * level.spin[i], numbers);
                for a in 0..4 {
                    for b in 0..4 {
                        pressure.rows[corners[a]][COUPLING[a][b]] += by_pressure[a][b];
                        fill.rows[corners[a]][COUPLING[a][b]] += by_fill[a][b];
                    }
                    fill.rows[corners[a]][4] += density * numbers.rate[a / 2];
                    mass[corners[a]] += density * numbers.volume[a / 2];
                }
                dragged += density * (numbers.drag[0].abs() + numbers.drag[1].abs() + numbers.rate[0].abs());
                conducted += density * (numbers.k11 + numbers.k22);
            }
        }
        let edges = level.given.iter().filter(|p| !p.is_nan()).fold(0.0, |most: f64, p| most.max((p - laws.cavity_pa).abs()));
        let scale = edges.max(dragged / conducted).max(1.0);
        Operators { pressure, fill, old: vec![0.0; mass.len()], mass, scale }
    }

    /// Adds storage over a time step after a film with `old_mass` at its nodes.
    fn in_time(&mut self, dt_s: f64, old_mass: &[f64]) {
        for (node, mass) in self.mass.iter().enumerate() {
            self.fill.rows[node][4] += mass / dt_s;
            self.old[node] = old_mass[node] / dt_s;
        }
    }

    /// Net outflow of every node, kg/s; `tails` are the unrounded rests of the pressures.
    fn outflow(&self, field: &Field, tails: &[f64]) -> Vec<f64> {
        let mut by_pressure = vec![0.0; self.mass.len()];
        let mut by_fill = by_pressure.clone();
        self.pressure.times_differences(&field.pressure_pa, tails, &mut by_pressure);
        self.fill.times(&field.fill, &mut by_fill);
        (0..self.mass.len()).map(|node| by_pressure[node] + by_fill[node] - self.old[node]).collect()
    }

    /// The matrix of the unknowns that a set chooses.
    fn choose(&self, full: &[bool], matrix: &mut Stencil) {
        self.pressure.each(|_, _, numbers| {
            let node = numbers[4];
            let (by_pressure, by_fill) = (&self.pressure.rows[node], &self.fill.rows[node]);
            let row = &mut matrix.rows[node];
            for k in 0..9 {
                row[k] = if full[numbers[k]] { by_pressure[k] * self.scale } else { by_fill[k] };
            }
        });
    }
}

/// Outflow of each corner by the pressure at each corner.
fn pressure_outflow(numbers: &Cell, density: f64) -> [[f64; 4]; 4] {
    let (k11, k12, k22) = (density * numbers.k11, density * numbers.k12, density * numbers.k22);
    let mut out = [[0.0; 4]; 4];
    for b in 0..4 {
        let mut p = [0.0; 4];
        p[b] = 1.0;
        let (left, right, bottom, top) = (p[2] - p[0], p[3] - p[1], p[1] - p[0], p[3] - p[2]);
        let flow_left = -(k11 * left + k12 * (bottom + top));
        let flow_right = -(k11 * right + k12 * (bottom + top));
        let flow_bottom = -(k22 * bottom + k12 * (left + right));
        let flow_top = -(k22 * top + k12 * (left + right));
        out[0][b] = flow_left + flow_bottom;
        out[1][b] = flow_right - flow_bottom;
        out[2][b] = flow_top - flow_left;
        out[3][b] = -flow_right - flow_top;
    }
    out
}

/// Outflow of each corner by the fill at each corner, taken upstream: what the faces drag and what spin drives.
/// `upstream` are the numbers whose signs say where upstream is.
fn fill_outflow(numbers: &Cell, density: f64, spin_pa: f64, upstream: &Cell) -> [[f64; 4]; 4] {
    let mut out = [[0.0; 4]; 4];
    let mut carry = |from: usize, to: usize, volume: f64, sign: f64| {
        let carrier = if sign >= 0.0 { from } else { to };
        out[from][carrier] += density * volume;
        out[to][carrier] -= density * volume;
    };
    carry(0, 1, numbers.drag[0], upstream.drag[0]);
    carry(2, 3, numbers.drag[1], upstream.drag[1]);
    if spin_pa != 0.0 {
        carry(0, 2, numbers.k11 * spin_pa, spin_pa);
        carry(1, 3, numbers.k11 * spin_pa, spin_pa);
        carry(0, 1, 2.0 * numbers.k12 * spin_pa, upstream.k12 * spin_pa);
        carry(2, 3, 2.0 * numbers.k12 * spin_pa, upstream.k12 * spin_pa);
    }
    out
}

/// Net outflow of every node at a field, kg/s.
pub(super) fn net_outflow(level: &Level, laws: Laws, field: &Field) -> Vec<f64> {
    Operators::new(level, laws).outflow(field, &vec![0.0; field.fill.len()])
}

/// Solution on the finest level with its factors; the matrix is by `pressure / scale` at full nodes and by fill elsewhere.
pub(super) struct Solved {
    pub field: Field,
    pub factors: Arc<Factors>,
    pub jacobian: Stencil,
    pub residual: Vec<f64>,
    pub full: Vec<bool>,
    pub scale: f64,
    pub work: Work,
}

/// Steps after which an active set is given up.
const MOST: usize = 60;

/// Solves, from a field where there is one; `kept` are factors of a matrix near the one of that field.
pub(super) fn solve(problem: &Problem, level: &Level, start: Option<&Field>, kept: Option<&Arc<Factors>>) -> Result<Solved, FilmError> {
    let laws = Laws::of(problem).ok_or(FilmError::WrongFluid)?;
    let mut work = Work::default();
    let full = match start {
        Some(field) => set_of(field, laws),
        None => nested_set(problem, level, problem.film, laws, &mut work)?,
    };
    let operators = Operators::new(level, laws);
    match active_set(level, laws, &operators, full.clone(), kept, &mut work) {
        Err(FilmError::NotConverged { .. } | FilmError::Factor(_)) => {
            let full = lead_in_time(level, laws, &operators, full, &mut work)?;
            active_set(level, laws, &operators, full, None, &mut work)
        }
        other => other,
    }
}

/// One implicit step in time after `before`, whose film held `old_mass` (kg) at its nodes.
pub(super) fn step(problem: &Problem, level: &Level, before: &Field, old_mass: &[f64], dt_s: f64) -> Result<Solved, FilmError> {
    let laws = Laws::of(problem).ok_or(FilmError::WrongFluid)?;
    let mut operators = Operators::new(level, laws);
    operators.in_time(dt_s, old_mass);
    active_set(level, laws, &operators, set_of(before, laws), None, &mut Work::default())
}

/// Liquid at each node, kg.
pub(super) fn mass(level: &Level, laws: Laws, field: &Field) -> Vec<f64> {
    Operators::new(level, laws).mass.iter().zip(&field.fill).map(|(m, fill)| m * fill).collect()
}

fn set_of(field: &Field, laws: Laws) -> Vec<bool> {
    field.pressure_pa.iter().zip(&field.fill).map(|(&p, &fill)| p > laws.cavity_pa || fill >= 1.0).collect()
}

/// Set prolonged from the next coarser grid; full on the coarsest.
fn nested_set(problem: &Problem, level: &Level, film: &Film, laws: Laws, work: &mut Work) -> Result<Vec<bool>, FilmError> {
    let Some((coarse, coarse_film)) = level.coarser(film, problem, false).filter(|(coarse, _)| coarse.grid.nodes() >= 40) else {
        return Ok(vec![true; level.grid.nodes()]);
    };
    let guess = nested_set(problem, &coarse, &coarse_film, laws, work)?;
    let operators = Operators::new(&coarse, laws);
    let full = match active_set(&coarse, laws, &operators, guess.clone(), None, work) {
        Ok(solved) => solved.full,
        Err(FilmError::NotConverged { .. } | FilmError::Factor(_)) => guess,
        Err(other) => return Err(other),
    };
    Ok(prolong(&coarse, &full, level))
}

fn prolong(coarse: &Level, full: &[bool], fine: &Level) -> Vec<bool> {
    let across = shares(coarse.grid.s(), fine.grid.s());
    let along = shares(coarse.grid.along(), fine.grid.along());
    let mut out = Vec::with_capacity(fine.grid.nodes());
    for &(i, t) in &across {
        for &(j, u) in &along[..fine.grid.nodes_along()] {
            let at = |i: usize, j: usize| f64::from(u8::from(full[coarse.grid.node(i, j)]));
            let inner = (1.0 - u) * at(i, j) + u * at(i, j + 1);
            let outer = (1.0 - u) * at(i + 1, j) + u * at(i + 1, j + 1);
            out.push((1.0 - t) * inner + t * outer >= 0.5);
        }
    }
    out
}

/// To what share of its length a solution is found to decide which nodes change sides; what the last corrections leave of what they correct, the
/// share of the whole at which they are small enough, and how many there may be.
const DECIDED: f64 = 1e-7;
const POLISHED: f64 = 1e-8;
const MOST_POLISH: usize = 3;
/// Share of the greatest pressure, or of a fill, by which a node must be on the wrong side to be moved; and by which one may be that was
/// decided upon before the last correction.
const ROUNDING: f64 = 1e-12;
const UNDECIDED: f64 = 1e-9;

/// Nodes that may have changed sides since a factorisation for its factors to serve as a preconditioner.
const FEW: usize = 24;
/// Steps with old factors beyond which new ones are cheaper for a last correction.
const CHEAP: usize = 2;

/// Factors and the set that their matrix was made for; none of a film before.
type Held = (Arc<Factors>, Option<Vec<bool>>);

fn serve(held: &Held, full: &[bool]) -> bool {
    held.1.as_ref().is_none_or(|of| of.iter().zip(full).filter(|(a, b)| a != b).count() <= FEW)
}

fn active_set(
    level: &Level,
    laws: Laws,
    operators: &Operators,
    mut full: Vec<bool>,
    kept: Option<&Arc<Factors>>,
    work: &mut Work,
) -> Result<Solved, FilmError> {
    let ordering = Ordering::new(level)?;
    for node in 0..full.len() {
        full[node] |= !level.is_unknown(node);
    }
    let mut matrix = Stencil::zero(level);
    let mut held: Option<Held> = kept.map(|factors| (factors.clone(), None));
    let mut tired = false;
    let (mut seen, mut history, mut advance) = (HashSet::new(), Vec::new(), Advance::default());
    let mut before: Option<Trial> = None;
    for iteration in 1..=MOST {
        operators.choose(&full, &mut matrix);
        let (mut ready, mut of) = match held.take() {
            Some(ready) if !tired && serve(&ready, &full) => ready,
            old => {
                work.factorisations += 1;
                let fresh = match old {
                    Some((ready, _)) => ready.renewed(&matrix),
                    None => ordering.factor(&matrix).map(Arc::new),
                };
                match fresh {
                    Ok(ready) => (ready, Some(full.clone())),
                    Err(_) if fill_closed_rings(level, &mut full) => continue,
                    Err(cause) => return Err(cause),
                }
            }
        };
        let exact = of.as_ref() == Some(&full);
        let refined = Refined { matrix: &matrix, exact };
        let mut trial = match before.take() {
            Some(before) => before.on(laws, operators, &full),
            None => Trial::start(level, laws, operators, &full),
        };
        // Too many steps with old factors: take new ones.
        let Some(steps) = trial.correct(operators, &ready, &refined, DECIDED)? else {
            tired = true;
            (held, before) = (Some((ready, of)), Some(trial));
            continue;
        };
        tired = false;
        let (mut emptied, mut filled) = switch(level, laws, operators, &trial.field, ROUNDING, &mut full);
        if emptied + filled.len() == 0 {
            if steps > CHEAP || !trial.polish(laws, operators, &ready, &refined)? {
                work.factorisations += 1;
                (ready, of) = (ready.renewed(&matrix)?, Some(full.clone()));
                trial.polish(laws, operators, &ready, &Refined { matrix: &matrix, exact: true })?;
            }
            (emptied, filled) = switch(level, laws, operators, &trial.field, UNDECIDED, &mut full);
        }
        let switched = emptied + filled.len();
        history.push(switched as f64);
        if switched == 0 {
            work.levels.push(LevelWork { unknowns: ordering.unknowns(), iterations: iteration });
            let residual = operators.outflow(&trial.field, &trial.tails);
            let mut field = trial.field;
            clean(laws, &full, &mut field);
            return Ok(Solved { field, factors: ready, jacobian: matrix, residual, full, scale: operators.scale, work: work.clone() });
        }
        advance.spread(level, &trial.field, &filled, emptied, &mut full);
        let comes_back = advance.plain && !seen.insert(hash(&full));
        if comes_back || iteration == MOST || trial.field.pressure_pa.iter().any(|p| !p.is_finite()) {
            return Err(FilmError::NotConverged { history, best: Box::new(trial.field) });
        }
        (held, before) = (Some((ready, of)), Some(trial));
    }
    Err(FilmError::NotConverged { history, best: Box::new(empty(level, laws)) })
}

/// A whole circle in the cavity has no liquid to tell its fill by, and next to a full film does not stay empty.
/// Whether there was such a circle.
fn fill_closed_rings(level: &Level, full: &mut [bool]) -> bool {
    let mut found = false;
    if level.grid.periodic() {
        for line in full.chunks_mut(level.grid.nodes_along()).filter(|line| !line.contains(&true)) {
            line.fill(true);
            found = true;
        }
    }
    found
}

fn empty(level: &Level, laws: Laws) -> Field {
    Field { pressure_pa: vec![laws.cavity_pa; level.grid.nodes()], fill: vec![1.0; level.grid.nodes()] }
}

/// A field that is being solved for with one set.
struct Trial {
    field: Field,
    /// Rests of the pressures beyond their last digit.
    tails: Vec<f64>,
    /// Nodes whose unknown is the pressure.
    full: Vec<bool>,
    /// Length of the unknowns or, where it is greater, of the last correction: what is left is counted against it.
    whole: f64,
}

impl Trial {
    fn start(level: &Level, laws: Laws, operators: &Operators, full: &[bool]) -> Trial {
        let tails = vec![0.0; operators.mass.len()];
        let field = Field {
            pressure_pa: level.given.iter().map(|p| if p.is_nan() { laws.cavity_pa } else { *p }).collect(),
            fill: full.iter().map(|&full| if full { 1.0 } else { 0.0 }).collect(),
        };
        Trial { field, tails, full: full.to_vec(), whole: 0.0 }
    }

    /// The field for another set: a node that changes sides stands on the edge of the cavity.
    fn on(mut self, laws: Laws, operators: &Operators, full: &[bool]) -> Trial {
        for node in 0..full.len() {
            if full[node] != self.full[node] {
                (self.field.pressure_pa[node], self.tails[node], self.field.fill[node]) = (laws.cavity_pa, 0.0, 1.0);
            }
        }
        self.full.copy_from_slice(full);
        self.whole = self.length(laws, operators);
        self
    }

    /// Length of the unknowns.
    fn length(&self, laws: Laws, operators: &Operators) -> f64 {
        let unknown = |node: usize| match self.full[node] {
            true => (self.field.pressure_pa[node] - laws.cavity_pa) / operators.scale,
            false => self.field.fill[node],
        };
        (0..self.full.len()).map(|node| unknown(node).powi(2)).sum::<f64>().sqrt()
    }

    /// Last corrections, until one is so small that what it leaves is rounding; whether the factors do.
    fn polish(&mut self, laws: Laws, operators: &Operators, factors: &Factors, system: &Refined) -> Result<bool, FilmError> {
        for _ in 0..MOST_POLISH {
            self.whole = 0.0;
            if self.correct(operators, factors, system, POLISHED)?.is_none() {
                return Ok(false);
            }
            if self.whole <= POLISHED * self.length(laws, operators) {
                break;
            }
        }
        Ok(true)
    }

    /// One correction of all unknowns, to a share of the greatest one; the steps that its system took, none if too many.
    fn correct(&mut self, operators: &Operators, factors: &Factors, system: &Refined, share: f64) -> Result<Option<usize>, FilmError> {
        let mut step = operators.outflow(&self.field, &self.tails);
        step.iter_mut().for_each(|r| *r = -*r);
        let steps = factors.solve_refined(system, &mut step, share, &mut self.whole)?;
        if steps.is_none() {
            return Ok(None);
        }
        for node in 0..self.full.len() {
            if self.full[node] {
                let change = operators.scale * step[node] + self.tails[node];
                let sum = self.field.pressure_pa[node] + change;
                self.tails[node] = change - (sum - self.field.pressure_pa[node]);
                self.field.pressure_pa[node] = sum;
            } else {
                self.field.fill[node] += step[node];
            }
        }
        Ok(steps)
    }
}

/// Moves the nodes on the wrong side: how many were emptied, and which were filled.
fn switch(level: &Level, laws: Laws, operators: &Operators, field: &Field, margin: f64, full: &mut [bool]) -> (usize, Vec<usize>) {
    let greatest = field.pressure_pa.iter().fold(operators.scale, |most, p| most.max((p - laws.cavity_pa).abs()));
    let (mut emptied, mut filled) = (0, Vec::new());
    for node in 0..full.len() {
        if !level.is_unknown(node) {
            continue;
        }
        if full[node] {
            if field.pressure_pa[node] - laws.cavity_pa < -margin * greatest {
                full[node] = false;
                emptied += 1;
            }
        } else if field.fill[node] > 1.0 + margin {
            full[node] = true;
            filled.push(node);
        }
    }
    (emptied, filled)
}

/// Faster advance of a front of full film into a cavity that was taken too wide.
///
/// A front that has far to go is met by one layer of nodes a step, each of which holds more than its
/// volume. While nothing but such filling happens, the layers taken are doubled; after an overshoot (nodes are emptied
/// again) the set before it is taken up with half as many, so that in the end the plain, monotone iteration is left.
struct Advance {
    steps: u32,
    layers: usize,
    most: usize,
    before: Vec<bool>,
    front: Vec<usize>,
    /// The last step neither took layers nor went back.
    plain: bool,
}

impl Default for Advance {
    fn default() -> Advance {
        Advance { steps: 0, layers: 0, most: usize::MAX, before: Vec::new(), front: Vec::new(), plain: true }
    }
}

impl Advance {
    fn spread(&mut self, level: &Level, field: &Field, filled: &[usize], emptied: usize, full: &mut [bool]) {
        if emptied > 0 && self.layers == 0 {
            (self.steps, self.plain) = (0, true);
            return;
        }
        if emptied > 0 {
            self.most = self.layers / 2;
            full.copy_from_slice(&self.before);
        } else {
            let greatest = filled.iter().fold(0.0, |most: f64, &node| most.max(field.fill[node] - 1.0));
            self.front = filled.iter().copied().filter(|&node| field.fill[node] - 1.0 > 0.1 * greatest).collect();
            self.before = full.to_vec();
            self.steps += 1;
        }
        self.layers = if self.steps < 3 { 0 } else { (1 << (self.steps - 3).min(12)).min(self.most) };
        self.plain = self.layers == 0 && emptied == 0;
        let wide = level.grid.nodes_along();
        let mut front = self.front.clone();
        for _ in 0..self.layers {
            let mut next = Vec::new();
            for node in front {
                for k in 0..9 {
                    if let Some(neighbour) = neighbour(level, node / wide, node % wide, k).filter(|&n| !full[n]) {
                        full[neighbour] = true;
                        next.push(neighbour);
                    }
                }
            }
            front = next;
        }
    }
}

/// Takes away what rounding left on the wrong side.
fn clean(laws: Laws, full: &[bool], field: &mut Field) {
    for node in 0..full.len() {
        if full[node] {
            field.pressure_pa[node] = field.pressure_pa[node].max(laws.cavity_pa);
        } else {
            field.fill[node] = field.fill[node].clamp(0.0, 1.0);
        }
    }
}

fn hash(full: &[bool]) -> u64 {
    let mut hasher = DefaultHasher::new();
    full.hash(&mut hasher);
    hasher.finish()
}

/// Implicit steps in pseudo-time, growing until they are far longer than the passage through the film.
fn lead_in_time(level: &Level, laws: Laws, operators: &Operators, mut full: Vec<bool>, work: &mut Work) -> Result<Vec<bool>, FilmError> {
    let drag: f64 = (0..operators.mass.len()).map(|node| operators.fill.rows[node][4].abs()).sum();
    let through: f64 = operators.mass.iter().sum::<f64>() / drag.max(f64::MIN_POSITIVE);
    let mut mass: Vec<f64> = operators.mass.clone();
    let mut dt = through;
    let mut failures = 0;
    while dt < 1e9 * through {
        let mut stepped = operators.clone();
        stepped.in_time(dt, &mass);
        match active_set(level, laws, &stepped, full.clone(), None, work) {
            Ok(solved) => {
                full = solved.full;
                mass = operators.mass.iter().zip(&solved.field.fill).map(|(m, fill)| m * fill).collect();
                dt *= 3.0;
            }
            Err(FilmError::NotConverged { .. } | FilmError::Factor(_)) if failures < 12 => {
                failures += 1;
                full.fill(true);
                dt *= 0.1;
            }
            Err(other) => return Err(other),
        }
    }
    Ok(full)
}

/// What a perturbation of the gap does to the net outflow of a cell's corners: by the flow and by squeezing.
pub(super) struct GapResponse<'a> {
    pub level: &'a Level,
    pub laws: Laws<'a>,
    pub field: &'a Field,
    pub slopes: &'a [Cell],
}

impl GapResponse<'_> {
    /// Per unit of the distance, and per unit of its rate.
    pub fn cell(&self, i: usize, j: usize) -> ([f64; 4], [f64; 4]) {
        let cell = self.level.grid.cell(i, j);
        let density = self.laws.density[self.level.cell_of[cell]];
        let corners = self.level.corners(i, j);
        let slope = &self.slopes[cell];
        let by_pressure = pressure_outflow(slope, density);
        let by_fill = fill_outflow(slope, density, density * self.level.spin[i], &self.level.cells[cell]);
        let mut by_gap = [0.0; 4];
        for a in 0..4 {
            for b in 0..4 {
                by_gap[a] += by_pressure[a][b] * self.field.pressure_pa[corners[b]] + by_fill[a][b] * self.field.fill[corners[b]];
            }
        }
        let by_rate = [0, 1, 2, 3].map(|a| density * self.field.fill[corners[a]] * slope.volume[a / 2]);
        (by_gap, by_rate)
    }
}

/// Mass stored per unit of the unknown of each node: of a full node none, of a node in the cavity its mass.
pub(super) fn storage(level: &Level, laws: Laws, full: &[bool]) -> Vec<f64> {
    let masses = Operators::new(level, laws).mass;
    masses.iter().zip(full).map(|(&mass, &full)| if full { 0.0 } else { mass }).collect()
}
