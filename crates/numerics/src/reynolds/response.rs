//! Stiffness and damping: small changes of the gap on the factors of the solved film.
//!
//! `(A + s B) x = -(dR/dh + s dR/dh') N`, `s = i nu`, for the shapes `N = 1, y, -x` of an axial shift and tilts about two axes;
//! forces are the same shapes' weights on `x`. On one of at least three equal sectors a tilt is
//! `r exp(i angle)` and its response that phase times a function that repeats (Floquet), so a sector does. In
//! a cavity the boundary is held and the fill responds (the directional derivative).

use faer::c64;

use super::film::{Fluid, Problem};
use super::grid::Shape;
use super::level::{Cell, slope_numbers};
use super::linear::{ComplexFactors, Neighbouring};
use super::solution::{Solution, add_curvature, mode_weights, node_weights};
use super::stencil::Turn;
use super::{FilmError, gas, liquid};

/// Opening forces per small motion of the gap, in the frame where the features stand:
/// `(force, moment about x, moment about y) = -stiffness q - damping dq/dt` with `q` = (axial increase of the gap in m, tilt about x
/// and about y in rad); `h` grows by `q0 + q1 y - q2 x`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coefficients {
    /// N/m, N/rad, N m/m, N m/rad.
    pub stiffness: [[f64; 3]; 3],
    /// N s/m and so on.
    pub damping: [[f64; 3]; 3],
    /// Angular frequency for which they hold, rad/s.
    pub frequency_rad_per_s: f64,
    /// Solutions with the factors.
    pub solves: usize,
}

/// Residual of the responses relative to the right-hand side.
const TOLERANCE: f64 = 1e-9;

/// Response at all nodes to one shape: in phase and, at zero frequency, per frequency too.
struct Reply {
    value: Vec<c64>,
    rate: Option<Vec<c64>>,
}

enum Response<'a> {
    Gas(gas::GapResponse<'a>),
    Liquid(liquid::GapResponse<'a>),
}

/// Answer of the gap, storage of each node.
type Parts<'a> = (Response<'a>, Vec<f64>);

impl Solution {
    /// Stiffness and damping at an angular frequency (rad/s; zero: the limit of slow motion).
    ///
    /// # Errors
    /// [`FilmError::TwoSectors`] on one of two equal sectors; [`FilmError::Response`] if the iteration stalls.
    pub fn coefficients(&self, problem: &Problem, frequency_rad_per_s: f64) -> Result<Coefficients, FilmError> {
        self.responses(problem, frequency_rad_per_s, true)
    }

    /// The axial coefficients alone: half of the work.
    ///
    /// # Errors
    /// As [`Solution::coefficients`].
    pub fn axial_coefficients(&self, problem: &Problem, frequency_rad_per_s: f64) -> Result<Coefficients, FilmError> {
        self.responses(problem, frequency_rad_per_s, false)
    }

    fn responses(&self, problem: &Problem, nu: f64, tilts: bool) -> Result<Coefficients, FilmError> {
        let sectors = self.level.grid.sectors();
        if tilts && sectors == 2 {
            return Err(FilmError::TwoSectors);
        }
        self.with_bench(problem, |bench| {
            let mut out = [[c64::new(0.0, 0.0); 3]; 3];
            let mut slow = [[0.0; 3]; 3];
            if sectors == 1 && tilts {
                bench.whole_ring(nu, &mut out, &mut slow)?;
            } else {
                bench.sector(sectors as f64, nu, tilts, &mut out, &mut slow)?;
            }
            let damping = if nu == 0.0 { slow } else { out.map(|row| row.map(|z| z.im / nu)) };
            Ok(Coefficients { stiffness: out.map(|row| row.map(|z| z.re)), damping, frequency_rad_per_s: nu, solves: bench.solves.get() })
        })
    }

    /// Moment against a tilt `x + i y` of a ring that goes as `exp(s t)` in the frame where the features stand, over that tilt, the mean of its
    /// directions: N m/rad. A tilt that turns and grows or dies at once: what a film of gas answers it is no sum of one stiffness and one damping.
    ///
    /// # Errors
    /// As [`Solution::coefficients`].
    pub fn tilt_impedance(&self, problem: &Problem, rate_per_s: c64) -> Result<c64, FilmError> {
        let sectors = self.level.grid.sectors();
        if sectors == 2 {
            return Err(FilmError::TwoSectors);
        }
        // The equation is real: what answers `r exp(-i angle)` is the conjugate of what answers `r exp(i angle)` at the conjugate rate.
        self.with_bench(problem, |bench| {
            let turn = Turn::new(&self.level);
            let reply = bench.reply(bench.arm_shape(), &turn, rate_per_s.conj())?;
            Ok(-0.5 * sectors as f64 * bench.weigh_arm(&reply.value).conj())
        })
    }

    fn with_bench<T>(&self, problem: &Problem, then: impl FnOnce(&Bench) -> Result<T, FilmError>) -> Result<T, FilmError> {
        let slopes = slope_numbers(&self.level.grid, problem.film, problem.motion);
        let (response, storage) = self.parts(problem, &slopes)?;
        let mut weights = mode_weights(&self.level);
        let mut arm: Vec<c64> = node_weights(&self.level).1.into_iter().map(|m| c64::new(m, 0.0)).collect();
        add_curvature(problem, &self.level, &self.field, &mut weights, &mut arm);
        then(&Bench { solution: self, response, storage, weights, arm, solves: std::cell::Cell::new(0), turned: Default::default() })
    }

    fn parts<'a>(&'a self, problem: &Problem<'a>, slopes: &'a [Cell]) -> Result<Parts<'a>, FilmError> {
        let level = &self.level;
        match problem.fluid {
            Fluid::Gas { .. } => {
                let laws = gas::Laws::of(problem).ok_or(FilmError::WrongFluid)?;
                let storage = gas::storage(level, laws, &self.field.pressure_pa);
                Ok((Response::Gas(gas::GapResponse::new(level, laws, &self.field.pressure_pa, slopes)), storage))
            }
            Fluid::Liquid { .. } => {
                let laws = liquid::Laws::of(problem).ok_or(FilmError::WrongFluid)?;
                let storage = liquid::storage(level, laws, &self.full);
                Ok((Response::Liquid(liquid::GapResponse { level, laws, field: &self.field, slopes }), storage))
            }
        }
    }
}

struct Bench<'a> {
    solution: &'a Solution,
    response: Response<'a>,
    storage: Vec<f64>,
    /// Forces of the three shapes per pressure of each node; `arm` that of `r exp(i angle)`.
    weights: [Vec<f64>; 3],
    arm: Vec<c64>,
    solves: std::cell::Cell<usize>,
    /// Factors of the turned matrix, with the first rate asked for.
    turned: std::cell::RefCell<Option<(c64, ComplexFactors)>>,
}

impl Bench<'_> {
    /// Fills impedances `-force / motion` of the real shapes on a full ring or a plane.
    fn whole_ring(&self, nu: f64, out: &mut [[c64; 3]; 3], slow: &mut [[f64; 3]; 3]) -> Result<(), FilmError> {
        let level = &self.solution.level;
        let turn = Turn::none(level);
        for k in 0..3 {
            let shape = |i: usize, j: usize, _corner: usize| {
                let (across, along) = level.grid.cell_centre(i, j);
                let (x, y) = match level.grid.shape() {
                    Shape::Polar => (across * along.cos(), across * along.sin()),
                    Shape::Plane => (along, across),
                };
                c64::new([1.0, y, -x][k], 0.0)
            };
            let reply = self.reply(shape, &turn, c64::new(0.0, nu))?;
            for row in 0..3 {
                out[row][k] = -self.weigh(&reply.value, &self.weights[row]);
                slow[row][k] = reply.rate.as_ref().map_or(0.0, |rate| -self.weigh(rate, &self.weights[row]).re);
            }
        }
        Ok(())
    }

    /// Axial shape on any sector, tilts on at least three sectors.
    fn sector(&self, sectors: f64, nu: f64, tilts: bool, out: &mut [[c64; 3]; 3], slow: &mut [[f64; 3]; 3]) -> Result<(), FilmError> {
        let level = &self.solution.level;
        let area = &self.weights[0];
        let reply = self.reply(|_, _, _| c64::new(1.0, 0.0), &Turn::none(level), c64::new(0.0, nu))?;
        out[0][0] = -sectors * self.weigh(&reply.value, area);
        slow[0][0] = reply.rate.as_ref().map_or(0.0, |rate| -sectors * self.weigh(rate, area).re);
        if !tilts {
            return Ok(());
        }
        let turn = Turn::new(level);
        let forward = self.reply(self.arm_shape(), &turn, c64::new(0.0, nu))?;
        let ahead = sectors * self.weigh_arm(&forward.value);
        let behind = if nu == 0.0 {
            ahead.conj()
        } else {
            (sectors * self.weigh_arm(&self.reply(self.arm_shape(), &turn, c64::new(0.0, -nu))?.value)).conj()
        };
        let block = tilt_block(ahead, behind);
        for row in 0..2 {
            for column in 0..2 {
                out[row + 1][column + 1] = block[row][column];
            }
        }
        if let Some(rate) = &forward.rate {
            let ahead = sectors * self.weigh_arm(rate);
            let block = tilt_block(ahead, ahead.conj());
            for row in 0..2 {
                for column in 0..2 {
                    slow[row + 1][column + 1] = block[row][column].re;
                }
            }
        }
        Ok(())
    }

    /// The shape `r exp(i angle)` without the phase of the node that it is seen from.
    fn arm_shape(&self) -> impl Fn(usize, usize, usize) -> c64 {
        let grid = &self.solution.level.grid;
        move |i, j, corner| {
            let (radius, angle) = grid.cell_centre(i, j);
            let (line, column) = (i + corner / 2, j + corner % 2);
            let away = angle - (grid.along()[column] + grid.shift()[line]);
            c64::new(away.cos(), away.sin()) * radius
        }
    }

    fn weigh(&self, x: &[c64], weights: &[f64]) -> c64 {
        let solution = self.solution;
        (0..x.len()).filter(|&node| solution.full[node]).map(|node| x[node] * (weights[node] * solution.scale)).sum()
    }

    fn weigh_arm(&self, x: &[c64]) -> c64 {
        let solution = self.solution;
        (0..x.len()).filter(|&node| solution.full[node]).map(|node| x[node] * self.arm[node] * solution.scale).sum()
    }

    fn reply(&self, shape: impl Fn(usize, usize, usize) -> c64, turn: &Turn, rate: c64) -> Result<Reply, FilmError> {
        let solution = self.solution;
        let level = &solution.level;
        let zero = c64::new(0.0, 0.0);
        let (mut by_gap, mut by_rate) = (vec![zero; level.grid.nodes()], vec![zero; level.grid.nodes()]);
        for i in 0..level.grid.rows() {
            for j in 0..level.grid.columns() {
                let (gap, rate) = match &self.response {
                    Response::Gas(response) => response.cell(i, j),
                    Response::Liquid(response) => response.cell(i, j),
                };
                for (corner, node) in level.corners(i, j).into_iter().enumerate() {
                    if level.is_unknown(node) {
                        let share = shape(i, j, corner);
                        by_gap[node] -= share * gap[corner];
                        by_rate[node] -= share * rate[corner];
                    }
                }
            }
        }
        if rate != zero {
            let right: Vec<c64> = by_gap.iter().zip(&by_rate).map(|(g, r)| g + rate * r).collect();
            return Ok(Reply { value: self.solve(&right, turn, rate)?, rate: None });
        }
        let value = self.solve(&by_gap, turn, zero)?;
        let right: Vec<c64> = (0..value.len()).map(|node| by_rate[node] - value[node] * self.storage[node]).collect();
        let rate = self.solve(&right, turn, zero)?;
        Ok(Reply { value, rate: Some(rate) })
    }

    fn solve(&self, right: &[c64], turn: &Turn, rate: c64) -> Result<Vec<c64>, FilmError> {
        let solution = self.solution;
        if rate == c64::new(0.0, 0.0) && right.iter().all(|value| value.im == 0.0) && turn.is_none() {
            let mut x: Vec<f64> = right.iter().map(|value| value.re).collect();
            solution.own_factors()?.solve(&mut x)?;
            self.solves.set(self.solves.get() + 1);
            return Ok(x.into_iter().map(|value| c64::new(value, 0.0)).collect());
        }
        let system = Neighbouring { matrix: &solution.jacobian, storage: &self.storage, rate, turn, level: &solution.level };
        if !turn.is_none() {
            // The turned matrix is too far from the real one for its factors to serve well.
            let mut turned = self.turned.borrow_mut();
            if turned.is_none() {
                *turned = solution.factors.complex(&system).ok().map(|factors| (rate, factors));
            }
            if let Some((_, factors)) = turned.as_ref().filter(|(of, _)| *of == rate) {
                let mut x = right.to_vec();
                factors.solve(&mut x)?;
                self.solves.set(self.solves.get() + 1);
                return Ok(x);
            }
        }
        let (x, steps) = solution.nearest_factors().solve_near(&system, right, TOLERANCE)?;
        self.solves.set(self.solves.get() + steps + 1);
        Ok(x)
    }
}

/// Impedances of tilts about x and y from the integrals `p r exp(-+ i angle)` per `r exp(+- i angle)`.
fn tilt_block(ahead: c64, behind: c64) -> [[c64; 2]; 2] {
    let i = c64::new(0.0, 1.0);
    let column = |a: c64, b: c64| {
        let about_x = (b * behind - a * ahead) / (i * 2.0);
        let about_y = -(b * behind + a * ahead) / 2.0;
        [-about_x, -about_y]
    };
    let half = c64::new(0.5, 0.0);
    let by_x = column(half / i, -half / i);
    let by_y = column(-half, -half);
    [[by_x[0], by_y[0]], [by_x[1], by_y[1]]]
}
