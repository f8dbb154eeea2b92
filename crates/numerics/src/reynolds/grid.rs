//! Structured grids whose lines may be sheared, so that they follow grooves.

use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::FilmError;
use crate::sparse::SparseError;
use crate::sparse::lu::{self, LuSymbolic};

/// Where the coordinates live.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Across is the radius (m), along is the angle (rad).
    Polar,
    /// Both are lengths (m): sliders, pads, developed cylinders.
    Plane,
}

/// Nodes at the crossings of `across` lines (index `i`) and `along` lines (index `j`), cells between them.
///
/// Cell `(i, j)` lies between lines `i, i + 1` and `j, j + 1` and has the number `i * columns + j`; node
/// `(i, j)` has the number `i * nodes_along + j`. On a periodic grid the last `along` line is the first
/// one again and is not stored twice. The true angle of node `(i, j)` is `along[j] + shift[i]`.
///
/// Both shapes are one in the conformal coordinates `s, phi`: the line element is `scale (ds, dphi)` with
/// `s = ln r, scale = r` on a ring and `s = y, scale = 1` in the plane.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    shape: Shape,
    across: Vec<f64>,
    along: Vec<f64>,
    shift: Vec<f64>,
    periodic: bool,
    sectors: usize,
    s: Vec<f64>,
    layers: Vec<Layer>,
    made: Made,
}

/// What was made of a grid once and serves every film on it; copies of the grid share it.
#[derive(Clone, Default)]
struct Made(Arc<Kept>);

#[derive(Default)]
struct Kept {
    coarser: OnceLock<Option<Arc<Coarsened>>>,
    orders: Mutex<Vec<(Order, Arc<LuSymbolic>)>>,
}

/// Unknown lines across and along, nine neighbours or five, periodic or not.
type Order = ([usize; 2], bool, bool);

/// Every second line of a grid, and which lines of it were kept, across and along.
pub(super) struct Coarsened {
    pub grid: Grid,
    pub rows: Vec<usize>,
    pub columns: Vec<usize>,
}

impl PartialEq for Made {
    /// It follows from the lines, which are compared themselves.
    fn eq(&self, _: &Made) -> bool {
        true
    }
}

impl std::fmt::Debug for Made {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Made")
    }
}

/// Integrals over one layer of cells per unit of the along coordinate; `t` runs from 0 to 1 with `s`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Layer {
    /// Width in `s`.
    pub width: f64,
    /// Shear `d shift / d s`.
    pub shear: f64,
    /// `integral (1 - t) scale^2 ds` and `integral t scale^2 ds`.
    pub area: [f64; 2],
    /// The same with `scale^3`.
    pub moment: [f64; 2],
    /// The same with `scale^4`.
    pub fourth: [f64; 2],
    /// Half the difference of `scale^2` on a ring, zero in the plane: the integral of `scale^2 ds`.
    pub spin: f64,
}

impl Grid {
    /// A ring or one of `sectors` equal sectors of it. `radii_m` and `angles_rad` rise; `shift_rad` (one value
    /// a radius, empty for none) turns each circle of nodes. The sector is periodic if
    /// `angles_rad` spans a full turn divided by `sectors`, otherwise its two ends are boundaries.
    ///
    /// # Errors
    /// [`FilmError::Grid`] if lines do not rise, are too few, or do not fit the number of sectors.
    pub fn polar(radii_m: &[f64], angles_rad: &[f64], shift_rad: &[f64], sectors: usize, periodic: bool) -> Result<Grid, FilmError> {
        if radii_m.first().is_some_and(|&radius| radius <= 0.0) {
            return Err(FilmError::Grid { what: "the least radius must be above zero", value: radii_m[0] });
        }
        let span = angles_rad.last().copied().unwrap_or(0.0) - angles_rad.first().copied().unwrap_or(0.0);
        let turn = std::f64::consts::TAU / sectors.max(1) as f64;
        if periodic && (span - turn).abs() > 1e-9 * turn {
            return Err(FilmError::Grid {
                what: "a periodic sector must span a turn over the number of sectors; its angle in rad is",
                value: span,
            });
        }
        Grid::new(Shape::Polar, radii_m, angles_rad, shift_rad, sectors, periodic)
    }

    /// A plane film: `across_m` and `along_m` rise, sliding is along. Periodic: the two ends are one line.
    ///
    /// # Errors
    /// [`FilmError::Grid`] if lines do not rise or are too few.
    pub fn plane(across_m: &[f64], along_m: &[f64], periodic: bool) -> Result<Grid, FilmError> {
        Grid::new(Shape::Plane, across_m, along_m, &[], 1, periodic)
    }

    fn new(shape: Shape, across: &[f64], along: &[f64], shift: &[f64], sectors: usize, periodic: bool) -> Result<Grid, FilmError> {
        check_lines(across, 2, "lines across must rise and be at least 2")?;
        check_lines(along, if periodic { 4 } else { 2 }, "lines along must rise and be at least 2 (4 if periodic)")?;
        if sectors == 0 {
            return Err(FilmError::Grid { what: "the number of sectors must be at least", value: 1.0 });
        }
        let shift = if shift.is_empty() { vec![0.0; across.len()] } else { shift.to_vec() };
        if shift.len() != across.len() || shift.iter().any(|value| !value.is_finite()) {
            return Err(FilmError::Grid {
                what: "the shift needs one finite value a line across; values given",
                value: shift.len() as f64,
            });
        }
        let s: Vec<f64> = match shape {
            Shape::Polar => across.iter().map(|r| r.ln()).collect(),
            Shape::Plane => across.to_vec(),
        };
        let layers = (0..across.len() - 1).map(|i| Layer::new(shape, [across[i], across[i + 1]], [shift[i], shift[i + 1]])).collect();
        Ok(Grid { shape, across: across.to_vec(), along: along.to_vec(), shift, periodic, sectors, s, layers, made: Made::default() })
    }

    /// The order of elimination of a rectangle of unknown nodes, made once.
    pub(super) fn order(&self, unknown: [usize; 2], nine: bool) -> Result<Arc<LuSymbolic>, SparseError> {
        let wanted = (unknown, nine, self.periodic);
        // A panic in another thread leaves at most an entry missing, never a wrong one.
        let mut orders = self.made.0.orders.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, known)) = orders.iter().find(|(order, _)| *order == wanted) {
            return Ok(known.clone());
        }
        let pattern = if nine { lu::Stencil::Nine } else { lu::Stencil::Five };
        let symbolic = Arc::new(LuSymbolic::cylinder(unknown[0], unknown[1], pattern, self.periodic)?);
        orders.push((wanted, symbolic.clone()));
        Ok(symbolic)
    }

    /// Every second line (the last always kept), made once.
    pub(super) fn coarsened(&self) -> Option<Arc<Coarsened>> {
        self.made.0.coarser.get_or_init(|| self.every_second_line().map(Arc::new)).clone()
    }

    fn every_second_line(&self) -> Option<Coarsened> {
        let keep = |lines: usize, least: usize| -> Vec<usize> {
            if lines <= least {
                return (0..lines).collect();
            }
            let mut kept: Vec<usize> = (0..lines).step_by(2).collect();
            if kept.last() != Some(&(lines - 1)) {
                kept.push(lines - 1);
            }
            kept
        };
        let (rows, columns) = (keep(self.across.len(), 5), keep(self.along.len(), 7));
        if rows.len() == self.across.len() && columns.len() == self.along.len() {
            return None;
        }
        let pick = |values: &[f64], kept: &[usize]| -> Vec<f64> { kept.iter().map(|&k| values[k]).collect() };
        let shift = pick(&self.shift, &rows);
        let grid =
            Grid::new(self.shape, &pick(&self.across, &rows), &pick(&self.along, &columns), &shift, self.sectors, self.periodic).ok()?;
        Some(Coarsened { grid, rows, columns })
    }

    /// Ring or plane.
    pub fn shape(&self) -> Shape {
        self.shape
    }

    /// Radii (m) or distances across (m) of the lines.
    pub fn across(&self) -> &[f64] {
        &self.across
    }

    /// Angles (rad) or distances along (m) of the lines, before the shift.
    pub fn along(&self) -> &[f64] {
        &self.along
    }

    /// Shift of each line across, rad or m.
    pub fn shift(&self) -> &[f64] {
        &self.shift
    }

    /// Whether the two ends are one line.
    pub fn periodic(&self) -> bool {
        self.periodic
    }

    /// Equal sectors in the whole ring.
    pub fn sectors(&self) -> usize {
        self.sectors
    }

    /// Layers of cells across.
    pub fn rows(&self) -> usize {
        self.across.len() - 1
    }

    /// Cells along.
    pub fn columns(&self) -> usize {
        self.along.len() - 1
    }

    /// Cells altogether.
    pub fn cells(&self) -> usize {
        self.rows() * self.columns()
    }

    /// Nodes along one line across.
    pub fn nodes_along(&self) -> usize {
        self.columns() + usize::from(!self.periodic)
    }

    /// Nodes altogether.
    pub fn nodes(&self) -> usize {
        self.across.len() * self.nodes_along()
    }

    /// Number of the cell in layer `i`, column `j`.
    pub fn cell(&self, i: usize, j: usize) -> usize {
        i * self.columns() + j
    }

    /// Number of the node on line `i` across, line `j` along (which wraps on a periodic grid).
    pub fn node(&self, i: usize, j: usize) -> usize {
        let wide = self.nodes_along();
        i * wide + if j >= wide { j - wide } else { j }
    }

    /// Radius (or distance across, m) and true angle (rad; distance along, m) of a cell's centre. The
    /// centre lies midway in the conformal coordinates.
    pub fn cell_centre(&self, i: usize, j: usize) -> (f64, f64) {
        let across = match self.shape {
            Shape::Polar => (self.across[i] * self.across[i + 1]).sqrt(),
            Shape::Plane => 0.5 * (self.across[i] + self.across[i + 1]),
        };
        (across, 0.5 * (self.along[j] + self.along[j + 1] + self.shift[i] + self.shift[i + 1]))
    }

    /// Radius (or distance across, m) and true angle (rad; distance along, m) of a node.
    pub fn node_place(&self, i: usize, j: usize) -> (f64, f64) {
        (self.across[i], self.along[j] + self.shift[i])
    }

    /// True area of a cell, m2.
    pub fn cell_area_m2(&self, i: usize, j: usize) -> f64 {
        (self.layers[i].area[0] + self.layers[i].area[1]) * (self.along[j + 1] - self.along[j])
    }

    /// One value a cell from its centre (radius and angle, or across and along).
    pub fn cell_values(&self, mut value: impl FnMut(f64, f64) -> f64) -> Vec<f64> {
        let mut values = Vec::with_capacity(self.cells());
        for i in 0..self.rows() {
            for j in 0..self.columns() {
                let (across, along) = self.cell_centre(i, j);
                values.push(value(across, along));
            }
        }
        values
    }

    pub(super) fn s(&self) -> &[f64] {
        &self.s
    }

    pub(super) fn layers(&self) -> &[Layer] {
        &self.layers
    }
}

impl Layer {
    fn new(shape: Shape, across: [f64; 2], shift: [f64; 2]) -> Layer {
        match shape {
            Shape::Plane => {
                let width = across[1] - across[0];
                let half = [0.5 * width; 2];
                Layer { width, shear: (shift[1] - shift[0]) / width, area: half, moment: half, fourth: half, spin: 0.0 }
            }
            Shape::Polar => {
                let width = (across[1] / across[0]).ln();
                let area = hats(across[0].powi(2), 2.0 * width);
                let moment = hats(across[0].powi(3), 3.0 * width);
                let fourth = hats(across[0].powi(4), 4.0 * width);
                let spin = 0.5 * (across[1] - across[0]) * (across[1] + across[0]);
                Layer {
                    width,
                    shear: (shift[1] - shift[0]) / width,
                    area: area.map(|a| a * width),
                    moment: moment.map(|a| a * width),
                    fourth: fourth.map(|a| a * width),
                    spin,
                }
            }
        }
    }
}

/// `integral over t in 0..1 of (1 - t) start exp(a t)` and of `t start exp(a t)`.
fn hats(start: f64, a: f64) -> [f64; 2] {
    // exp(a) = 1 + a phi1, phi1 = 1 + a phi2, ...; the integrals are phi2 and phi1 - phi2.
    let (phi1, phi2) = if a.abs() < 0.1 {
        let mut phi2 = 0.0;
        let mut term = 0.5;
        for k in 0..12 {
            phi2 += term;
            term *= a / (k + 3) as f64;
        }
        (1.0 + a * phi2, phi2)
    } else {
        let phi1 = a.exp_m1() / a;
        (phi1, (phi1 - 1.0) / a)
    };
    [start * phi2, start * (phi1 - phi2)]
}

fn check_lines(lines: &[f64], least: usize, what: &'static str) -> Result<(), FilmError> {
    if lines.len() < least {
        return Err(FilmError::Grid { what, value: lines.len() as f64 });
    }
    for pair in lines.windows(2) {
        if pair[1] <= pair[0] || !pair[0].is_finite() || !pair[1].is_finite() {
            return Err(FilmError::Grid { what, value: pair[1] });
        }
    }
    Ok(())
}

/// A stretch of lines with its own number of cells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Where it ends (m or rad).
    pub end: f64,
    /// Cells in it.
    pub cells: usize,
    /// Exponent of the grading towards its start; 1 for none, 2 for cells that shrink linearly.
    pub grade_start: f64,
    /// Exponent of the grading towards its end.
    pub grade_end: f64,
}

/// Lines from `start` through the ends of the stretches, graded by powers towards chosen ends.
///
/// Pressure has a weak singularity where a groove edge ends. Lines at `x = L (k/n)^q` restore second order there if
/// `q` is above the order divided by the exponent of the singularity (0.55 for a deep groove; I. Babuska, R. B.
/// Kellogg and J. Pitkaranta, Numer. Math. 33 (1979) 447-471). Twice the cells gives a nested grid.
pub fn graded_lines(start: f64, stretches: &[Stretch]) -> Vec<f64> {
    let mut lines = vec![start];
    let mut from = start;
    for stretch in stretches {
        let n = stretch.cells.max(1);
        let length = stretch.end - from;
        for k in 1..n {
            lines.push(from + length * graded(k as f64 / n as f64, stretch.grade_start, stretch.grade_end));
        }
        lines.push(stretch.end);
        from = stretch.end;
    }
    lines
}

/// Smooth monotone map of 0..1 onto itself that behaves as `t^a` at 0 and as `1 - (1-t)^b` at 1.
fn graded(t: f64, a: f64, b: f64) -> f64 {
    let (a, b) = (a.max(1.0), b.max(1.0));
    if b <= 1.0 {
        return t.powf(a);
    }
    if a <= 1.0 {
        return 1.0 - (1.0 - t).powf(b);
    }
    if t <= 0.5 { 0.5 * (2.0 * t).powf(a) } else { 1.0 - 0.5 * (2.0 * (1.0 - t)).powf(b) }
}
