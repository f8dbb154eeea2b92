//! One grid's numbers, ready for assembly.
//!
//! Literature letters: `k11, k12, k22` conductances of a cell in sheared coordinates, `w` sliding.
//! The pressure flow is bilinear finite elements whose quadrature is blended between the nodes, the exact one and the
//! cell's centre ([`far_share`]): with sheared lines the full metric tensor comes out conservative and symmetric.

use super::film::{Edge, Film, Motion, Problem};
use super::grid::Grid;

/// Weight in the flow along one edge of a gas film's cell of the pressure difference along the edge opposite: none is quadrature at the nodes,
/// a third the exact one, a half that at the centre.
///
/// Of `a p_ss + 2 b p_st + c p_tt = 0` on steps `h, k` the stencil leaves `(w/2 - 1/12)(a k^2 + c h^2) p_sstt + b/6 (h^2 p_ssst + k^2 p_sttt)`.
/// The equation, differentiated by `s` and `t`, turns both last terms into `p_sstt`, which goes at `w = 1/6 + b^2/(3 a c)`: fourth order
/// without shear on any grid, with shear where `a k^2 = c h^2`; derived here. Below one half the cell stays positive definite.
fn far_share(shear: f64) -> f64 {
    let square = shear * shear;
    1.0 / 6.0 + square / (3.0 * (1.0 + square))
}

/// Numbers of one cell; mass flows are these times density.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Cell {
    /// Half conductance across of each edge across, m3/(Pa s).
    pub k11: f64,
    /// Quarter conductance of the mixed term.
    pub k12: f64,
    /// Half conductance along of each edge along.
    pub k22: f64,
    /// Volume dragged along on the inner and outer half, m3/s.
    pub drag: [f64; 2],
    /// Volume at a corner on the inner and outer line, m3.
    pub volume: [f64; 2],
    /// Its rate, m3/s.
    pub rate: [f64; 2],
}

/// A grid with its numbers and boundary values.
#[derive(Clone, Debug)]
pub(super) struct Level {
    pub grid: Grid,
    pub cells: Vec<Cell>,
    /// `W` times the integral of `scale^2 ds` of each layer.
    pub spin: Vec<f64>,
    /// Pressure of nodes on open boundaries, `NaN` at the others.
    pub given: Vec<f64>,
    /// Unknown nodes: lines across `rows[0]..rows[1]`, columns `columns[0]..columns[1]`.
    pub rows: [usize; 2],
    pub columns: [usize; 2],
    /// Line and cell of the finest grid that stand for those of this one.
    pub line_of: Vec<usize>,
    pub cell_of: Vec<usize>,
    /// Weight of the opposite edge's difference in each layer. Liquids take none: only then is the matrix an M-matrix, on which the active
    /// set is monotone.
    pub far: Vec<f64>,
}

impl Level {
    pub fn new(problem: &Problem, is_gas: bool) -> Level {
        let grid = problem.grid;
        let lines = (0..grid.across().len()).collect();
        let cells = (0..grid.cells()).collect();
        Level::build(grid.clone(), problem.film, problem.motion, problem, lines, cells, is_gas)
    }

    fn build(grid: Grid, film: &Film, motion: Motion, problem: &Problem, line_of: Vec<usize>, cell_of: Vec<usize>, is_gas: bool) -> Level {
        let spin = grid.layers().iter().map(|layer| motion.spin * layer.spin).collect();
        let cells = cell_numbers(&grid, film, motion);
        let far = grid.layers().iter().map(|layer| if is_gas { far_share(layer.shear) } else { 0.0 }).collect();
        let mut level = Level {
            cells,
            spin,
            given: vec![f64::NAN; grid.nodes()],
            rows: [0, grid.across().len()],
            columns: [0, grid.nodes_along()],
            line_of,
            cell_of,
            far,
            grid,
        };
        level.set_edges(problem);
        level
    }

    fn set_edges(&mut self, problem: &Problem) {
        let (lines, wide) = (self.grid.across().len(), self.grid.nodes_along());
        if !self.grid.periodic() {
            for (place, edge) in [0, wide - 1].into_iter().zip(problem.edges.ends) {
                if let Edge::Pressure(pressure) = edge {
                    (0..lines).for_each(|i| self.given[i * wide + place] = pressure);
                    if place == 0 { self.columns[0] = 1 } else { self.columns[1] = wide - 1 }
                }
            }
        }
        for (place, edge) in [0, lines - 1].into_iter().zip([problem.edges.inner, problem.edges.outer]) {
            if let Edge::Pressure(pressure) = edge {
                self.given[place * wide..(place + 1) * wide].fill(pressure);
                if place == 0 { self.rows[0] = 1 } else { self.rows[1] = lines - 1 }
            }
        }
    }

    /// The numbers of another film, motion or edge pressures on the same grid; edges that were open stay so.
    pub fn renew(&mut self, problem: &Problem) {
        self.cells = cell_numbers(&self.grid, problem.film, problem.motion);
        self.spin = self.grid.layers().iter().map(|layer| problem.motion.spin * layer.spin).collect();
        self.set_edges(problem);
    }

    /// The next coarser level and its film, for a first guess.
    pub fn coarser(&self, film: &Film, problem: &Problem, is_gas: bool) -> Option<(Level, Film)> {
        let coarser = self.grid.coarsened()?;
        let (grid, rows, columns) = (coarser.grid.clone(), &coarser.rows, &coarser.columns);
        let coarse = coarse_film(&self.grid, film, rows, columns);
        let line_of = rows.iter().map(|&i| self.line_of[i]).collect();
        let mut cell_of = Vec::with_capacity(grid.cells());
        for i in 0..grid.rows() {
            for j in 0..grid.columns() {
                cell_of.push(self.cell_of[self.grid.cell(rows[i], columns[j])]);
            }
        }
        Some((Level::build(grid, &coarse, problem.motion, problem, line_of, cell_of, is_gas), coarse))
    }

    /// The four nodes of a cell: inner left, inner right, outer left, outer right.
    pub fn corners(&self, i: usize, j: usize) -> [usize; 4] {
        let grid = &self.grid;
        [grid.node(i, j), grid.node(i, j + 1), grid.node(i + 1, j), grid.node(i + 1, j + 1)]
    }

    /// Whether nothing that conducts or drags differs by more than a share from that of another level on the same grid.
    pub fn is_near(&self, other: &Level, share: f64) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= share * a.abs();
        let cell = |(a, b): (&Cell, &Cell)| near(a.k11, b.k11) && near(a.k22, b.k22) && (0..2).all(|end| near(a.drag[end], b.drag[end]));
        self.cells.iter().zip(&other.cells).all(cell)
    }

    pub fn is_unknown(&self, node: usize) -> bool {
        self.given[node].is_nan()
    }
}

/// Numbers of all cells of a film.
pub(super) fn cell_numbers(grid: &Grid, film: &Film, motion: Motion) -> Vec<Cell> {
    let mut cells = Vec::with_capacity(grid.cells());
    for i in 0..grid.rows() {
        for j in 0..grid.columns() {
            let cell = grid.cell(i, j);
            let mut numbers = flow_numbers(grid, i, j, film.conductance_m3_per_pa_s[cell], film.along(cell));
            let half = 0.5 * (grid.along()[j + 1] - grid.along()[j]);
            let area = grid.layers()[i].area;
            let shear = film.shear_flow_gap_m.as_ref().map_or(0.0, |v| v[cell]);
            let dragged = film.gap_m[cell] * motion.mean + 0.5 * shear * motion.sliding;
            let rate = film.gap_rate_m_per_s.as_ref().map_or(0.0, |v| v[cell]);
            numbers.drag = area.map(|a| a * dragged);
            numbers.volume = area.map(|a| a * half * film.gap_m[cell]);
            numbers.rate = area.map(|a| a * half * rate);
            cells.push(numbers);
        }
    }
    cells
}

/// Numbers of all cells for a unit increase of the distance of the faces.
pub(super) fn slope_numbers(grid: &Grid, film: &Film, motion: Motion) -> Vec<Cell> {
    let mut cells = Vec::with_capacity(grid.cells());
    for i in 0..grid.rows() {
        for j in 0..grid.columns() {
            let cell = grid.cell(i, j);
            let across = film.slope(cell);
            let along = across * film.along(cell) / film.conductance_m3_per_pa_s[cell];
            let mut numbers = flow_numbers(grid, i, j, across, along);
            let half = 0.5 * (grid.along()[j + 1] - grid.along()[j]);
            let area = grid.layers()[i].area;
            let slope = film.gap_slope(cell);
            numbers.drag = area.map(|a| a * slope * motion.mean);
            numbers.volume = area.map(|a| a * half * slope);
            cells.push(numbers);
        }
    }
    cells
}

fn flow_numbers(grid: &Grid, i: usize, j: usize, across: f64, along: f64) -> Cell {
    let layer = &grid.layers()[i];
    let wide = grid.along()[j + 1] - grid.along()[j];
    Cell {
        k11: 0.5 * across * wide / layer.width,
        k12: -0.25 * layer.shear * across,
        k22: 0.5 * (along + layer.shear * layer.shear * across) * layer.width / wide,
        ..Cell::default()
    }
}

/// Merges cells: gaps by area, conductances by the root of arithmetic times harmonic mean. Only a guess comes of it.
fn coarse_film(grid: &Grid, film: &Film, rows: &[usize], columns: &[usize]) -> Film {
    let mut members: Vec<Vec<(usize, f64)>> = Vec::new();
    for i in rows.windows(2) {
        for j in columns.windows(2) {
            let mut cells = Vec::with_capacity(4);
            for a in i[0]..i[1] {
                for b in j[0]..j[1] {
                    cells.push((grid.cell(a, b), grid.cell_area_m2(a, b)));
                }
            }
            let area: f64 = cells.iter().map(|c| c.1).sum();
            members.push(cells.into_iter().map(|(cell, a)| (cell, a / area)).collect());
        }
    }
    let mean = |values: &[f64]| -> Vec<f64> { members.iter().map(|m| m.iter().map(|&(cell, a)| a * values[cell]).sum()).collect() };
    let between = |values: &[f64]| -> Vec<f64> {
        let inverse: Vec<f64> = values.iter().map(|v| 1.0 / v).collect();
        mean(values).iter().zip(mean(&inverse)).map(|(a, b)| (a / b).sqrt()).collect()
    };
    Film {
        gap_m: mean(&film.gap_m),
        conductance_m3_per_pa_s: between(&film.conductance_m3_per_pa_s),
        conductance_along_m3_per_pa_s: film.conductance_along_m3_per_pa_s.as_deref().map(between),
        shear_flow_gap_m: film.shear_flow_gap_m.as_deref().map(mean),
        gap_rate_m_per_s: film.gap_rate_m_per_s.as_deref().map(mean),
        shear_pa_s_per_m: Vec::new(),
        gap_slope: None,
        conductance_slope_m2_per_pa_s: None,
    }
}
