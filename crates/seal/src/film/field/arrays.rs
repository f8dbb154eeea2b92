//! What the two-dimensional equation needs in every cell: gap, conductance, shear.

use std::f64::consts::PI;

use halfmicron_numerics::jet::Jet;
use halfmicron_numerics::reynolds::{Film, Motion};

use super::grid::{CellDepth, FieldGrid, SAMPLES};
use super::properties::Properties;
use crate::film::resistance::{
    Gas, LAMINAR_REYNOLDS, SlipAt, slips, turbulent_flow_factor, turbulent_flow_factor_along_motion, turbulent_shear_factor,
};
use crate::film::roughness::{flow_cube, mean_gap, shear_per_gap};
use crate::film::step::GAUSS_2;
use crate::film::{FilmInput, limiting_shear_pa};
use crate::model::RingRole;

/// Gap below which faces pressed into each other are taken to be as close as this, in roughnesses: there the statistics of heights end.
const CLOSEST: f64 = -6.0;

/// Laws of one film at any place of it.
#[derive(Clone, Copy)]
pub(super) struct Laws<'a> {
    pub input: &'a FilmInput<'a>,
    pub limiting_shear_pa: Option<f64>,
    /// Gas constant and critical density, where the film is a gas.
    pub gas: Option<(f64, f64)>,
    /// Net mass flow, kg/s: for the Reynolds number of the pressure flow.
    pub flow: f64,
}

/// The fluid at one line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line {
    pub radius: f64,
    /// Gap of what is not textured, m.
    pub gap: f64,
    /// Mean temperature of the faces, K.
    pub face: f64,
    /// Film temperature, K.
    pub temperature: f64,
    /// Mean pressure, Pa.
    pub pressure: f64,
    pub fluid: Properties,
}

impl Line {
    /// Straight between two lines.
    pub fn between(a: &Line, b: &Line, share: f64) -> Line {
        let mix = |a: f64, b: f64| a + share * (b - a);
        Line {
            radius: mix(a.radius, b.radius),
            gap: mix(a.gap, b.gap),
            face: mix(a.face, b.face),
            temperature: mix(a.temperature, b.temperature),
            pressure: mix(a.pressure, b.pressure),
            fluid: Properties {
                density: mix(a.fluid.density, b.fluid.density),
                viscosity: mix(a.fluid.viscosity, b.fluid.viscosity),
                viscosity_by_temperature: mix(a.fluid.viscosity_by_temperature, b.fluid.viscosity_by_temperature),
                conductivity: mix(a.fluid.conductivity, b.fluid.conductivity),
                enthalpy: mix(a.fluid.enthalpy, b.fluid.enthalpy),
                heat_capacity: mix(a.fluid.heat_capacity, b.fluid.heat_capacity),
            },
        }
    }
}

impl<'a> Laws<'a> {
    pub fn new(input: &'a FilmInput<'a>, is_gas: bool, flow: f64) -> Self {
        let fluid = input.fluid;
        let gas = fluid.gas_constant_j_per_kg_k().filter(|_| is_gas);
        let critical = fluid.critical_density().unwrap_or(f64::INFINITY);
        Self { input, limiting_shear_pa: limiting_shear_pa(fluid), gas: gas.map(|gas| (gas, critical)), flow }
    }

    /// Relative speed of rotating and stationary face, rad/s.
    pub fn sliding(&self) -> f64 {
        self.input.speeds_rad_per_s[0] - self.input.speeds_rad_per_s[1]
    }

    fn at_least(&self, gap: f64) -> f64 {
        gap.max(CLOSEST * self.input.roughness_m)
    }

    pub fn mean_gap(&self, gap: f64) -> f64 {
        mean_gap(self.at_least(gap), self.input.roughness_m).value
    }

    /// `phi_p h^3`, m3.
    pub fn cube(&self, gap: f64) -> f64 {
        flow_cube(self.at_least(gap), self.input.roughness_m, self.input.switches.flow_factor).value
    }

    /// Reynolds number of shear at a line and a gap, where turbulence is on.
    fn couette(&self, line: &Line, gap: f64) -> f64 {
        line.fluid.density * line.radius * self.mean_gap(gap) * self.sliding().abs() / line.fluid.viscosity
    }

    fn pressure_reynolds(&self, line: &Line) -> f64 {
        self.flow.abs() / (2.0 * PI * line.radius * line.fluid.viscosity)
    }

    fn is_laminar(&self, line: &Line, gap: f64) -> bool {
        !self.input.switches.turbulence || self.couette(line, gap).max(self.pressure_reynolds(line)) <= LAMINAR_REYNOLDS
    }

    /// Viscosity that radial flow feels at a line.
    pub fn flow_viscosity(&self, line: &Line, gap: f64) -> f64 {
        if self.is_laminar(line, gap) {
            return line.fluid.viscosity;
        }
        let constant = Jet::<0>::constant;
        line.fluid.viscosity * turbulent_flow_factor(constant(self.couette(line, gap)), constant(self.pressure_reynolds(line))).value
    }

    /// Conductance along the motion over that across it.
    fn along_ratio(&self, line: &Line, gap: f64) -> f64 {
        if self.is_laminar(line, gap) {
            return 1.0;
        }
        let [couette, pressure] = [self.couette(line, gap), self.pressure_reynolds(line)].map(Jet::<0>::constant);
        turbulent_flow_factor(couette, pressure).value / turbulent_flow_factor_along_motion(couette, pressure).value
    }

    /// Factor on viscous shear and on conduction.
    pub fn thickening(&self, line: &Line, gap: f64) -> f64 {
        if self.is_laminar(line, gap) { 1.0 } else { turbulent_shear_factor(Jet::<0>::constant(self.couette(line, gap))).value }
    }

    /// Shear stress per sliding speed, Pa s/m.
    pub fn shear(&self, line: &Line, gap: f64) -> f64 {
        let input = self.input;
        let per_gap = shear_per_gap(self.at_least(gap), input.roughness_m, input.switches.shear_factor).value;
        let shear = line.fluid.viscosity * self.thickening(line, gap) * per_gap;
        match self.limiting_shear_pa {
            None => shear,
            Some(limit) => shear / (1.0 + (shear * line.radius * self.sliding() / limit).powi(2)).sqrt(),
        }
    }

    /// Heat of shear at a line and a gap, W/m2.
    pub fn shear_heat(&self, line: &Line, gap: f64) -> f64 {
        let speed = line.radius * self.sliding();
        self.shear(line, gap) * speed * speed
    }

    /// Whether the gas slips at the faces anywhere on some lines.
    pub fn slips(&self, lines: &[Line]) -> bool {
        let thinnest = lines.iter().map(|line| line.fluid.density).fold(f64::INFINITY, f64::min);
        self.gas.is_some_and(|(_, critical)| slips(self.input.switches.slip, thinnest, critical))
    }

    /// Slip at a line; none where the film is no gas.
    pub fn slip(&self, line: &Line) -> Option<SlipAt> {
        let (gas_constant, critical) = self.gas?;
        let constant = Jet::<0>::constant;
        let gas = Gas {
            pressure: constant(line.pressure),
            temperature: constant(line.temperature),
            density: constant(line.fluid.density),
            viscosity: constant(line.fluid.viscosity),
            // The law is asked for at any gap.
            gap: constant(1.0),
        };
        Some(SlipAt::new(self.input.switches.slip, &gas, gas_constant, critical))
    }

    /// Conductance between the mean of the film and its faces at a line and a gap, W/(m2 K).
    pub fn cooling(&self, line: &Line, gap: f64) -> f64 {
        12.0 * line.fluid.conductivity * self.thickening(line, gap) / self.mean_gap(gap)
    }

    /// Conductance of a layer across at one depth, m3/(Pa s): in series over the layer.
    fn across(&self, a: &Line, b: &Line, depth: f64, from: f64, to: f64) -> f64 {
        let ends = [a, b].map(|line| self.flow_viscosity(line, line.gap + depth));
        let mut resistance = 0.0;
        for g in GAUSS_2 {
            let share = from + (to - from) * g;
            let mix = |a: f64, b: f64| a + share * (b - a);
            let radius = mix(a.radius, b.radius);
            let viscosity = mix(ends[0], ends[1]);
            resistance += 0.5 * (to - from) * (b.radius - a.radius) * 12.0 * viscosity / (radius * self.cube(mix(a.gap, b.gap) + depth));
        }
        let edge = |share: f64| a.radius + share * (b.radius - a.radius);
        (edge(to) / edge(from)).ln() / resistance
    }

    fn cell(&self, a: &Line, b: &Line, depth: f64) -> Cell {
        let middle = Line::between(a, b, 0.5);
        let across = self.across(a, b, depth, 0.0, 1.0);
        let (mut gap, mut shear, mut area, mut lever) = (0.0, 0.0, 0.0, 0.0);
        for g in GAUSS_2 {
            let line = Line::between(a, b, g);
            gap += line.radius * self.mean_gap(line.gap + depth);
            shear += line.radius.powi(3) * self.shear(&line, line.gap + depth);
            area += line.radius;
            lever += line.radius.powi(3);
        }
        let along = across * self.along_ratio(&middle, middle.gap + depth);
        Cell { gap: gap / area, across, along, shear: shear / lever }
    }

    /// A cell cut by a wall: volume and shear are means; flow across passes the rows one after the other and the columns side by side.
    fn cut(&self, a: &Line, b: &Line, samples: &[f64; SAMPLES * SAMPLES]) -> Cell {
        let mut made = [Cell::default(); SAMPLES * SAMPLES];
        for k in 0..made.len() {
            made[k] = match (0..k).find(|&before| samples[before] == samples[k]) {
                Some(before) => made[before],
                None => self.cell(a, b, samples[k]),
            };
        }
        let n = SAMPLES as f64;
        let at = |row: usize, column: usize| made[row * SAMPLES + column];
        let across = (0..SAMPLES).map(|c| n / (0..SAMPLES).map(|r| 1.0 / at(r, c).across).sum::<f64>()).sum::<f64>() / n;
        let along = (0..SAMPLES).map(|r| n / (0..SAMPLES).map(|c| 1.0 / at(r, c).along).sum::<f64>()).sum::<f64>() / n;
        let mean = |of: fn(&Cell) -> f64| made.iter().map(of).sum::<f64>() / (n * n);
        Cell { gap: mean(|c| c.gap), across, along, shear: mean(|c| c.shear) }
    }
}

/// Numbers of one cell.
#[derive(Debug, Clone, Copy, Default)]
struct Cell {
    gap: f64,
    across: f64,
    along: f64,
    shear: f64,
}

/// Arrays of the film over its cells.
pub(super) fn film(grid: &FieldGrid, laws: &Laws, lines: &[Line]) -> Film {
    let cells = grid.grid.cells();
    let mut film = Film {
        gap_m: Vec::with_capacity(cells),
        conductance_m3_per_pa_s: Vec::with_capacity(cells),
        conductance_along_m3_per_pa_s: None,
        shear_flow_gap_m: None,
        gap_rate_m_per_s: None,
        shear_pa_s_per_m: Vec::with_capacity(cells),
        gap_slope: None,
        conductance_slope_m2_per_pa_s: None,
    };
    let mut along = Vec::with_capacity(cells);
    // Layers of grooves have two depths: each is computed once.
    let mut known: Vec<(f64, Cell)> = Vec::new();
    for i in 0..grid.grid.rows() {
        let (a, b) = (&lines[i], &lines[i + 1]);
        known.clear();
        for j in 0..grid.grid.columns() {
            let cell = match &grid.depth[grid.grid.cell(i, j)] {
                CellDepth::Even(depth) => match known.iter().find(|(d, _)| d == depth) {
                    Some((_, cell)) => *cell,
                    None => {
                        let cell = laws.cell(a, b, *depth);
                        known.push((*depth, cell));
                        cell
                    }
                },
                CellDepth::Cut(samples) => laws.cut(a, b, samples),
            };
            film.gap_m.push(cell.gap);
            film.conductance_m3_per_pa_s.push(cell.across);
            film.shear_pa_s_per_m.push(cell.shear);
            along.push(cell.along);
        }
    }
    if along != film.conductance_m3_per_pa_s {
        film.conductance_along_m3_per_pa_s = Some(along);
    }
    film.gap_rate_m_per_s = rates(grid, laws);
    film
}

/// Rate of the gap of every cell, m/s.
fn rates(grid: &FieldGrid, laws: &Laws) -> Option<Vec<f64>> {
    let rate = grid.on_lines(laws.input.gap.rate_m_per_s?);
    let columns = grid.grid.columns();
    Some((0..grid.grid.cells()).map(|cell| 0.5 * (rate[cell / columns] + rate[cell / columns + 1])).collect())
}

/// Motion of the faces where the textures stand still.
pub(super) fn motion(grid: &FieldGrid, input: &FilmInput) -> Motion {
    let [rotating, stationary] = input.speeds_rad_per_s;
    let motion = match grid.on {
        RingRole::Rotating => Motion::of_faces(stationary, rotating),
        RingRole::Stationary => Motion::of_faces(rotating, stationary),
    };
    if input.switches.spin { motion } else { motion.without_spin() }
}
