//! Plane films for the checks: sliders and cells that no case describes, so that the kernel alone is proved by them.

use halfmicron_numerics::reynolds::{Edge, Edges, Film, Fluid, Grid, Motion, Problem, Solution, solve};

/// Lines from one place to another, in equal cells.
pub fn lines(from: f64, to: f64, cells: usize) -> Vec<f64> {
    (0..=cells).map(|k| from + (to - from) * k as f64 / cells as f64).collect()
}

/// A slider of infinite width, of which a strip one metre deep is solved; liquid that tears at no pressure.
pub struct Slider {
    along: Vec<f64>,
    solution: Solution,
}

impl Slider {
    /// Solve it: lines along the motion, m, viscosity, Pa s, speed, m/s, pressure at both ends, Pa, and gap, m.
    ///
    /// # Errors
    /// The message of the film.
    pub fn solve(along: Vec<f64>, viscosity: f64, speed: f64, ends_pa: f64, gap: impl Fn(f64) -> f64) -> Result<Self, String> {
        let grid = Grid::plane(&[0.0, 0.5, 1.0], &along, false).map_err(|error| error.to_string())?;
        let film = Film::laminar(grid.cell_values(|_, x| gap(x)), viscosity);
        let density = vec![1.0; grid.cells()];
        let problem = Problem {
            grid: &grid,
            film: &film,
            motion: Motion { mean: 0.5 * speed, sliding: speed, spin: 0.0 },
            edges: Edges { inner: Edge::Closed, outer: Edge::Closed, ends: [Edge::Pressure(ends_pa); 2] },
            fluid: Fluid::Liquid { density_kg_per_m3: &density, cavitation_pressure_pa: 0.0 },
        };
        let solution = solve(&problem, None).map_err(|error| error.to_string())?;
        Ok(Self { along, solution })
    }

    /// Flow along the motion, m2/s.
    pub fn flow(&self) -> f64 {
        self.solution.totals.end_flows_kg_per_s[0]
    }

    /// Load of the absolute pressure, N/m.
    pub fn load(&self) -> f64 {
        self.solution.totals.force_n
    }

    /// Drag on the moving face, N/m.
    pub fn drag(&self) -> f64 {
        self.solution.totals.smooth_torque_n_m
    }

    /// Greatest pressure, Pa.
    pub fn greatest_pressure(&self) -> f64 {
        self.solution.totals.greatest_pressure_pa
    }

    /// Pressure on a line, Pa.
    pub fn pressure(&self, line: usize) -> f64 {
        self.solution.field.pressure_pa[line]
    }

    /// Share of the gap filled on a line.
    pub fn fill(&self, line: usize) -> f64 {
        self.solution.field.fill[line]
    }

    /// First and last place of one of the cavities, m.
    ///
    /// # Errors
    /// There are not so many.
    pub fn cavity(&self, number: usize) -> Result<[f64; 2], String> {
        let torn: Vec<usize> = (0..self.along.len()).filter(|&line| self.fill(line) < 1.0).collect();
        let runs: Vec<&[usize]> = torn.chunk_by(|a, b| b - a == 1).collect();
        let run = runs.get(number).ok_or_else(|| format!("{} cavities", runs.len()))?;
        Ok([self.along[run[0]], self.along[run[run.len() - 1]]])
    }
}
