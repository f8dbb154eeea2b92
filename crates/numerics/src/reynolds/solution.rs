//! What comes out of a solved film.

use std::sync::{Arc, OnceLock};

use faer::c64;

use super::FilmError;
use super::film::{Fluid, Problem};
use super::gas::prolonged;
use super::grid::{Grid, Shape};
use super::level::Level;
use super::linear::Factors;
use super::stencil::Stencil;

/// Pressure and fill of every node ([`super::Grid::node`]).
#[derive(Clone, PartialEq)]
pub struct Field {
    /// Absolute pressure, Pa.
    pub pressure_pa: Vec<f64>,
    /// Share of the gap filled with liquid (of the stretch downstream of the node); one for a gas.
    pub fill: Vec<f64>,
}

impl std::fmt::Debug for Field {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let range = |values: &[f64]| values.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], &v| [a.min(v), b.max(v)]);
        let (pressure_pa, fill) = (range(&self.pressure_pa), range(&self.fill));
        f.debug_struct("Field").field("nodes", &self.fill.len()).field("pressure_pa", &pressure_pa).field("fill", &fill).finish()
    }
}

/// Iterations on one grid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LevelWork {
    /// Unknown nodes.
    pub unknowns: usize,
    /// Linear systems solved.
    pub iterations: usize,
}

/// Work counts.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Work {
    /// From the coarsest grid to the finest.
    pub levels: Vec<LevelWork>,
    /// Factorisations on all grids.
    pub factorisations: usize,
    /// Steps of a film that was tracked.
    pub steps: usize,
}

/// Sums over the whole ring (all sectors); over the piece given in the plane.
#[derive(Clone, Debug, PartialEq)]
pub struct Totals {
    /// Integral of the absolute pressure, N.
    pub force_n: f64,
    /// `integral of p y dA`, N m; on a ring `y = r sin(angle)`, in the plane across. Zero of equal sectors.
    pub moment_x_n_m: f64,
    /// `-integral of p x dA`, N m; on a ring `x = r cos(angle)`, in the plane along. Zero of equal sectors.
    pub moment_y_n_m: f64,
    /// Leaves through the inner (first) line, kg/s (kg/s per metre of depth where the plane is one).
    pub inner_flow_kg_per_s: f64,
    /// Enters through the outer (last) line, kg/s.
    pub outer_flow_kg_per_s: f64,
    /// Enters through the first line along, leaves through the last (zero if periodic), kg/s.
    pub end_flows_kg_per_s: [f64; 2],
    /// What the equations of all unknown nodes leave, over the greatest of the flows above.
    pub mass_balance: f64,
    /// Torque (N m; in the plane force, N) that turns the smooth face against the film, in the direction of sliding.
    pub smooth_torque_n_m: f64,
    /// Torque of the shear stress on the face with the features, in the direction of sliding. Pressure on
    /// the side walls of the features adds the difference to the torque of the smooth face.
    pub features_torque_n_m: f64,
    /// Heat of shear and of the pressure flow, W.
    pub viscous_heat_w: f64,
    /// Area of the nodes in the cavity, m2.
    pub cavitated_area_m2: f64,
    /// Whole area, m2.
    pub area_m2: f64,
    /// Greatest pressure, Pa.
    pub greatest_pressure_pa: f64,
    /// Its node: line across, line along.
    pub greatest_pressure_at: (usize, usize),
    /// Least fill.
    pub least_fill: f64,
}

/// Means round the circumference.
#[derive(Clone, Debug, PartialEq)]
pub struct Profiles {
    /// Mean pressure of each line across, Pa.
    pub pressure_pa: Vec<f64>,
    /// Mean fill of each line across.
    pub fill: Vec<f64>,
    /// Mean shear stress on the smooth face of each layer of cells, against its motion, Pa.
    pub smooth_shear_pa: Vec<f64>,
    /// Mean shear stress on the face with the features of each layer, in the direction of sliding, Pa.
    pub features_shear_pa: Vec<f64>,
    /// Mean viscous heat of each layer, W/m2.
    pub heat_w_per_m2: Vec<f64>,
    /// Viscous heat of each cell, W/m2.
    pub cell_heat_w_per_m2: Vec<f64>,
}

/// A solved film.
#[derive(Clone, Debug)]
pub struct Solution {
    /// Pressure and fill.
    pub field: Field,
    /// Sums.
    pub totals: Totals,
    /// Work counts.
    pub work: Work,
    pub(super) level: Level,
    /// Of a matrix near that of the solution.
    pub(super) factors: Arc<Factors>,
    /// Of its own matrix, made when first asked for.
    pub(super) own: OnceLock<Arc<Factors>>,
    pub(super) jacobian: Stencil,
    /// Unknown is pressure (not fill), per node.
    pub(super) full: Vec<bool>,
    /// Pressure per unit of the unknown, Pa.
    pub(super) scale: f64,
}

/// Shear and heat of one cell, integrated over it.
struct CellShear {
    /// Torque of shear by sliding and by the pressure gradient.
    sliding: f64,
    gradient: f64,
    heat: f64,
}

impl Solution {
    /// The grid that it was solved on.
    pub fn grid(&self) -> &Grid {
        &self.level.grid
    }

    /// The field of a gas on another grid over the same film, as a start there.
    pub fn field_on(&self, grid: &Grid) -> Field {
        Field { pressure_pa: prolonged(&self.level.grid, &self.field.pressure_pa, grid), fill: vec![1.0; grid.nodes()] }
    }

    /// Factors of the very matrix of the solution.
    pub(super) fn own_factors(&self) -> Result<&Arc<Factors>, FilmError> {
        if let Some(own) = self.own.get() {
            return Ok(own);
        }
        let made = self.factors.again(&self.jacobian)?;
        Ok(self.own.get_or_init(|| made))
    }

    /// The nearest factors at hand.
    pub(super) fn nearest_factors(&self) -> &Arc<Factors> {
        self.own.get().unwrap_or(&self.factors)
    }

    /// Means round the circumference of the film that was solved.
    pub fn profiles(&self, problem: &Problem) -> Profiles {
        let grid = problem.grid;
        let wide = grid.nodes_along();
        let weights = column_weights(&self.level);
        let whole: f64 = weights.iter().sum();
        let mean = |values: &[f64]| -> Vec<f64> {
            values.chunks(wide).map(|line| line.iter().zip(&weights).map(|(v, w)| v * w).sum::<f64>() / whole).collect()
        };
        let mut out = Profiles {
            pressure_pa: mean(&self.field.pressure_pa),
            fill: mean(&self.field.fill),
            smooth_shear_pa: Vec::new(),
            features_shear_pa: Vec::new(),
            heat_w_per_m2: Vec::new(),
            cell_heat_w_per_m2: Vec::new(),
        };
        for i in 0..grid.rows() {
            let (mut sliding, mut gradient, mut heat) = (0.0, 0.0, 0.0);
            let layer = &grid.layers()[i];
            for j in 0..grid.columns() {
                let cell = cell_shear(problem, &self.level, &self.field, i, j);
                sliding += cell.sliding;
                gradient += cell.gradient;
                heat += cell.heat;
                out.cell_heat_w_per_m2.push(cell.heat / grid.cell_area_m2(i, j));
            }
            let span = grid.along()[grid.columns()] - grid.along()[0];
            let arm = span * (layer.moment[0] + layer.moment[1]);
            out.smooth_shear_pa.push((sliding + gradient) / arm);
            out.features_shear_pa.push((sliding - gradient) / arm);
            out.heat_w_per_m2.push(heat / (span * (layer.area[0] + layer.area[1])));
        }
        out
    }
}

/// Width that each node of a line stands for, rad or m.
pub(super) fn column_weights(level: &Level) -> Vec<f64> {
    let grid = &level.grid;
    let mut weights = vec![0.0; grid.nodes_along()];
    for j in 0..grid.columns() {
        let half = 0.5 * (grid.along()[j + 1] - grid.along()[j]);
        weights[j] += half;
        weights[if j + 1 < grid.nodes_along() { j + 1 } else { 0 }] += half;
    }
    weights
}

/// Area and area times arm (radius; one in the plane) of each node, one sector.
pub(super) fn node_weights(level: &Level) -> (Vec<f64>, Vec<f64>) {
    let columns = column_weights(level);
    let grid = &level.grid;
    let lines = grid.across().len();
    let mut area = Vec::with_capacity(grid.nodes());
    let mut moment = Vec::with_capacity(grid.nodes());
    for i in 0..lines {
        let (mut a, mut m) = (0.0, 0.0);
        if i > 0 {
            a += grid.layers()[i - 1].area[1];
            m += grid.layers()[i - 1].moment[1];
        }
        if i + 1 < lines {
            a += grid.layers()[i].area[0];
            m += grid.layers()[i].moment[0];
        }
        area.extend(columns.iter().map(|w| a * w));
        moment.extend(columns.iter().map(|w| m * w));
    }
    (area, moment)
}

/// Weights of force and of the two moments at each node of one sector.
pub(super) fn mode_weights(level: &Level) -> [Vec<f64>; 3] {
    let grid = &level.grid;
    let (area, moment) = node_weights(level);
    let (mut about_x, mut about_y) = (Vec::with_capacity(area.len()), Vec::with_capacity(area.len()));
    for i in 0..grid.across().len() {
        for j in 0..grid.nodes_along() {
            let node = grid.node(i, j);
            let (across, along) = grid.node_place(i, j);
            let (x, y) = match grid.shape() {
                Shape::Polar => (moment[node] * along.cos(), moment[node] * along.sin()),
                Shape::Plane => (area[node] * along, area[node] * across),
            };
            about_x.push(y);
            about_y.push(-x);
        }
    }
    [area, about_x, about_y]
}

/// What the curvature of a gas's pressure between two lines adds to force and moments, and to their weights.
///
/// Between nodes not `p` but the integral of `rho dp` is nearly linear. Over `p` linear that adds
/// `dp drho / (12 mean rho)` to the mean pressure (exact where density is proportional to pressure): without it, force
/// is of order 1.5 only where a film expands towards a low pressure.
pub(super) fn add_curvature(problem: &Problem, level: &Level, field: &Field, weights: &mut [Vec<f64>; 3], moment: &mut [c64]) -> [f64; 3] {
    let mut sums = [0.0; 3];
    let Fluid::Gas { density, .. } = &problem.fluid else { return sums };
    let grid = &level.grid;
    let columns = column_weights(level);
    for i in 0..grid.rows() {
        let layer = &grid.layers()[i];
        let (area, arm) = (layer.area[0] + layer.area[1], layer.moment[0] + layer.moment[1]);
        for j in 0..grid.nodes_along() {
            let (a, b) = (grid.node(i, j), grid.node(i + 1, j));
            let (pa, pb) = (field.pressure_pa[a], field.pressure_pa[b]);
            let ((rho_a, slope_a), (rho_b, slope_b)) = (density(i, pa), density(i + 1, pb));
            let (step, rise, mean) = (pb - pa, rho_b - rho_a, 0.5 * (rho_a + rho_b));
            let bulge = step * rise / (12.0 * mean);
            let by_a = (-rise - step * slope_a) / (12.0 * mean) - 0.5 * bulge * slope_a / mean;
            let by_b = (rise + step * slope_b) / (12.0 * mean) - 0.5 * bulge * slope_b / mean;
            let ((across_a, along_a), (across_b, along_b)) = (grid.node_place(i, j), grid.node_place(i + 1, j));
            let (x, y) = match grid.shape() {
                Shape::Polar => (0.5 * arm * (along_a.cos() + along_b.cos()), 0.5 * arm * (along_a.sin() + along_b.sin())),
                Shape::Plane => (0.5 * area * (along_a + along_b), 0.5 * area * (across_a + across_b)),
            };
            for (k, share) in [area, y, -x].into_iter().enumerate() {
                let share = share * columns[j];
                sums[k] += share * bulge;
                weights[k][a] += share * by_a;
                weights[k][b] += share * by_b;
            }
            // The mean of both ends' phases, seen from either end.
            let turn = c64::new((along_b - along_a).cos(), (along_b - along_a).sin());
            moment[a] += (turn.conj() + 1.0) * (0.5 * arm * columns[j] * by_a);
            moment[b] += (turn + 1.0) * (0.5 * arm * columns[j] * by_b);
        }
    }
    sums
}

/// The first of the sums of [`add_curvature`], without the weights.
fn force_curvature(problem: &Problem, level: &Level, field: &Field) -> f64 {
    let Fluid::Gas { density, .. } = &problem.fluid else { return 0.0 };
    let grid = &level.grid;
    let columns = column_weights(level);
    let mut sum = 0.0;
    for i in 0..grid.rows() {
        let area = grid.layers()[i].area[0] + grid.layers()[i].area[1];
        for j in 0..grid.nodes_along() {
            let [pa, pb] = [i, i + 1].map(|line| field.pressure_pa[grid.node(line, j)]);
            let (rho_a, rho_b) = (density(i, pa).0, density(i + 1, pb).0);
            sum += area * columns[j] * (pb - pa) * (rho_b - rho_a) / (6.0 * (rho_a + rho_b));
        }
    }
    sum
}

fn cell_shear(problem: &Problem, level: &Level, field: &Field, i: usize, j: usize) -> CellShear {
    let grid = &level.grid;
    let cell = grid.cell(i, j);
    let layer = &grid.layers()[i];
    let film = problem.film;
    let corners = level.corners(i, j);
    let p = corners.map(|node| field.pressure_pa[node]);
    let fill = corners.map(|node| field.fill[node]);
    let wide = grid.along()[j + 1] - grid.along()[j];
    let filled = 0.5 * wide * (layer.fourth[0] * (fill[0] + fill[1]) + layer.fourth[1] * (fill[2] + fill[3]));
    let shear = film.shear_pa_s_per_m[cell] * filled * problem.motion.sliding;
    let (bottom, top) = (p[1] - p[0], p[3] - p[2]);
    let gradient = 0.5 * film.gap_m[cell] * (bottom * layer.area[0] + top * layer.area[1]);
    let lift = |a: usize, b: usize| {
        let density = match &problem.fluid {
            Fluid::Gas { density, .. } => 0.5 * (density(i, p[a]).0 + density(i + 1, p[b]).0),
            Fluid::Liquid { density_kg_per_m3, .. } => density_kg_per_m3[cell] * fill[a],
        };
        p[b] - p[a] - density * level.spin[i]
    };
    let (left, right) = (lift(0, 2), lift(1, 3));
    let (numbers, v) = (&level.cells[cell], level.far[i]);
    let pressure_flow = numbers.k11 * ((1.0 - v) * (left * left + right * right) + 2.0 * v * left * right)
        + numbers.k22 * ((1.0 - v) * (bottom * bottom + top * top) + 2.0 * v * bottom * top)
        + 2.0 * numbers.k12 * (left + right) * (bottom + top);
    CellShear { sliding: shear, gradient, heat: shear * problem.motion.sliding + pressure_flow }
}

/// Sums of a solved film from its net outflows.
pub(super) fn totals(problem: &Problem, level: &Level, field: &Field, residual: &[f64], full: &[bool]) -> Totals {
    let grid = &level.grid;
    let times = grid.sectors() as f64;
    let wide = grid.nodes_along();
    let lines = grid.across().len();
    // Moments of equal sectors cancel.
    let tilted = grid.sectors() == 1;
    let weights = if tilted { mode_weights(level) } else { [node_weights(level).0, Vec::new(), Vec::new()] };
    let curvature = if tilted {
        add_curvature(problem, level, field, &mut weights.clone(), &mut vec![c64::new(0.0, 0.0); residual.len()])
    } else {
        [force_curvature(problem, level, field), 0.0, 0.0]
    };
    let weighted = |k: usize| times * (weights[k].iter().zip(&field.pressure_pa).map(|(w, p)| w * p).sum::<f64>() + curvature[k]);
    let mut flows = [0.0; 4];
    let mut left = 0.0;
    for (node, &r) in residual.iter().enumerate() {
        let (i, j) = (node / wide, node % wide);
        if level.is_unknown(node) {
            left += r;
        } else if i < level.rows[0] {
            flows[0] -= r;
        } else if i >= level.rows[1] {
            flows[1] += r;
        } else if j < level.columns[0] {
            flows[2] += r;
        } else {
            flows[3] -= r;
        }
    }
    let greatest = flows.iter().fold(0.0, |most: f64, f| most.max(f.abs()));
    let supplied: f64 = residual.iter().map(|r| r.abs()).sum();
    let against = if greatest > 1e-12 * supplied { greatest } else { supplied.max(f64::MIN_POSITIVE) };
    let (mut sliding, mut gradient, mut heat) = (0.0, 0.0, 0.0);
    for i in 0..grid.rows() {
        for j in 0..grid.columns() {
            let cell = cell_shear(problem, level, field, i, j);
            sliding += cell.sliding;
            gradient += cell.gradient;
            heat += cell.heat;
        }
    }
    let peak = (0..grid.nodes()).fold(0, |best, node| if field.pressure_pa[node] > field.pressure_pa[best] { node } else { best });
    let cavity = |node: &usize| !full[*node];
    debug_assert_eq!(lines * wide, residual.len());
    Totals {
        force_n: weighted(0),
        moment_x_n_m: weighted(1),
        moment_y_n_m: weighted(2),
        inner_flow_kg_per_s: times * flows[0],
        outer_flow_kg_per_s: times * flows[1],
        end_flows_kg_per_s: [times * flows[2], times * flows[3]],
        mass_balance: left.abs() / against,
        smooth_torque_n_m: times * (sliding + gradient),
        features_torque_n_m: times * (sliding - gradient),
        viscous_heat_w: times * heat,
        cavitated_area_m2: times * (0..full.len()).filter(cavity).map(|node| weights[0][node]).sum::<f64>(),
        area_m2: times * weights[0].iter().sum::<f64>(),
        greatest_pressure_pa: field.pressure_pa[peak],
        greatest_pressure_at: (peak / wide, peak % wide),
        least_fill: field.fill.iter().copied().fold(1.0, f64::min),
    }
}
