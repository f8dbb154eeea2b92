//! A fast property surface of the liquid in (pressure, enthalpy).
//!
//! **What.** The equation of state costs microseconds at (pressure, enthalpy); a film asks for thousands of states.
//! The plane is cut into fixed cells. A cell is filled when first visited, from nodes that depend on the cell alone,
//! so that a value never depends on the order of visits; any number of threads may read.
//!
//! **Equation.** In each cell a tensor Chebyshev expansion of six nodes each way, of quantities that are smooth:
//! temperature, density, viscosity, background conductivity and, where the critical enhancement of the conductivity
//! acts, its susceptibility, heat-capacity ratio and heat capacity, from which the enhancement is formed at evaluation
//! (it sets in like a square root and could not be interpolated). Derivatives are those of the expansion itself.
//! A cell whose last coefficients are not small is quartered, to six levels; what is left (at the end of the
//! superheated liquid, at the critical point) is answered by the equation itself.
//!
//! **Valid when.** Liquid, stable or superheated, and fluid above the critical pressure.
//!
//! **Source.** Own; Trefethen, Approximation Theory and Approximation Practice (2013) for the error by the last coefficients.
//!
//! **Checked by.** `surface_agrees_with_the_equation` (relative difference below 1e-6).

use std::sync::OnceLock;

use super::super::pure::{PureFluid, SmoothState};
use super::super::{FluidState, PhDerivatives, Phase};
use super::patch::{Basis, Block, NODES, evaluate, from_unit};
use crate::error::PropertyError;

const DEEPEST: u32 = 6;
const PRESSURE_STEP: f64 = 10e6;
const PRESSURE_CELLS: usize = 10;
const ENTHALPY_CELLS: usize = 48;

/// Lazily filled cells over the liquid's part of the (pressure, enthalpy) plane.
#[derive(Debug)]
pub(crate) struct SuperheatedSurface {
    enthalpy_low: f64,
    enthalpy_step: f64,
    cells: Box<[OnceLock<Cell>]>,
}

#[derive(Debug)]
enum Cell {
    Patch(Box<Patch>),
    Quarters(Box<[OnceLock<Cell>; 4]>),
    Equation,
}

/// Bounds of a cell.
#[derive(Debug, Clone, Copy)]
struct Window {
    p: (f64, f64),
    h: (f64, f64),
}

#[derive(Debug)]
struct Patch {
    window: Window,
    /// temperature, density, viscosity, background conductivity; rows by enthalpy, columns by pressure
    main: Block,
    /// susceptibility, heat-capacity ratio, heat capacity, unused
    enhancement: Option<Block>,
    /// above this pressure every state of the patch is stable liquid, below `all_superheated_below` none is
    stable_above: f64,
    superheated_below: f64,
}

impl SuperheatedSurface {
    pub fn new(fluid: &PureFluid) -> Self {
        let triple = fluid.saturation().densities(fluid.triple_temperature).0;
        let low = fluid.basic(triple, fluid.triple_temperature).h;
        let critical =
            fluid.basic(fluid.saturation().densities(0.9999 * fluid.critical_temperature).0, 0.9999 * fluid.critical_temperature).h;
        let enthalpy_step = (critical - low) * 1.1 / (ENTHALPY_CELLS - 2) as f64;
        Self {
            enthalpy_low: low - enthalpy_step,
            enthalpy_step,
            cells: (0..PRESSURE_CELLS * ENTHALPY_CELLS).map(|_| OnceLock::new()).collect(),
        }
    }

    /// Liquid at pressure and enthalpy; outside the cells by the equation itself.
    pub fn state(&self, fluid: &PureFluid, p: f64, h: f64) -> Result<FluidState, PropertyError> {
        let i = ((h - self.enthalpy_low) / self.enthalpy_step).floor();
        let j = (p / PRESSURE_STEP).floor();
        if !(i >= 0.0 && i < ENTHALPY_CELLS as f64 && j >= 0.0 && j < PRESSURE_CELLS as f64) {
            return fluid.liquid_state(p, h);
        }
        let mut window = Window {
            p: (j * PRESSURE_STEP, (j + 1.0) * PRESSURE_STEP),
            h: (self.enthalpy_low + i * self.enthalpy_step, self.enthalpy_low + (i + 1.0) * self.enthalpy_step),
        };
        let mut slot = &self.cells[j as usize * ENTHALPY_CELLS + i as usize];
        let mut level = 0;
        loop {
            match slot.get_or_init(|| fill(fluid, window, level)) {
                Cell::Patch(patch) => return patch.state(fluid, p, h),
                Cell::Equation => return fluid.liquid_state(p, h),
                Cell::Quarters(quarters) => {
                    let (index, part) = window.quarter_of(p, h);
                    slot = &quarters[index];
                    window = part;
                    level += 1;
                }
            }
        }
    }

    /// Cells filled so far, for reports and benches.
    pub fn filled(&self) -> usize {
        self.cells.iter().map(|c| c.get().map_or(0, Cell::count)).sum()
    }
}

impl Cell {
    fn count(&self) -> usize {
        match self {
            Self::Quarters(q) => q.iter().map(|c| c.get().map_or(0, Self::count)).sum(),
            _ => 1,
        }
    }
}

impl Window {
    fn quarter_of(&self, p: f64, h: f64) -> (usize, Self) {
        let (pm, hm) = (0.5 * (self.p.0 + self.p.1), 0.5 * (self.h.0 + self.h.1));
        let (upper_p, upper_h) = (p >= pm, h >= hm);
        let part =
            Self { p: if upper_p { (pm, self.p.1) } else { (self.p.0, pm) }, h: if upper_h { (hm, self.h.1) } else { (self.h.0, hm) } };
        (usize::from(upper_p) * 2 + usize::from(upper_h), part)
    }
}

fn fill(fluid: &PureFluid, window: Window, level: u32) -> Cell {
    if let Some(patch) = Patch::build(fluid, window) {
        return Cell::Patch(Box::new(patch));
    }
    if level == DEEPEST {
        return Cell::Equation;
    }
    Cell::Quarters(Box::new(std::array::from_fn(|_| OnceLock::new())))
}

impl Patch {
    /// The expansion over the window, or nothing where a node has no liquid or the expansion has not converged.
    pub fn build(fluid: &PureFluid, window: Window) -> Option<Self> {
        let mut nodes = [[[0.0; 8]; NODES]; NODES];
        let mut positive = false;
        let (mut coldest, mut hottest) = (f64::INFINITY, 0.0_f64);
        for i in 0..NODES {
            for j in 0..NODES {
                let s: SmoothState = fluid.smooth(from_unit(window.p, node(j)), from_unit(window.h, node(i))).ok()?;
                positive |= s.susceptibility > -1e-4;
                coldest = coldest.min(s.temperature);
                hottest = hottest.max(s.temperature);
                nodes[i][j] = [
                    s.temperature,
                    s.density,
                    s.viscosity,
                    s.conductivity_background,
                    s.susceptibility,
                    s.heat_capacity_ratio,
                    s.isobaric_heat_capacity,
                    0.0,
                ];
            }
        }
        let all = expand(&nodes);
        let channels = if positive { 7 } else { 4 };
        for k in 0..channels {
            // the susceptibility passes through zero, where the enhancement goes like its square root
            let (relative, absolute) = if k == 4 { (3e-7, 1e-8) } else { (1e-6, 0.0) };
            let tail: f64 = (0..NODES).map(|i| all[i][NODES - 1][k].abs() + all[NODES - 1][i][k].abs()).sum();
            if tail.is_nan() || tail > relative * all[0][0][k].abs() + absolute {
                return None;
            }
        }
        let margin = 0.2 * (hottest - coldest) + 1e-3;
        let lowest = fluid.saturation().lowest_temperature();
        let bound = |t: f64| {
            if t >= fluid.critical_temperature { f64::INFINITY } else { fluid.saturation().pressure(t.max(lowest)) }
        };
        let block = |first: usize| std::array::from_fn(|i| std::array::from_fn(|j| std::array::from_fn(|k| all[i][j][first + k])));
        Some(Self {
            window,
            main: block(0),
            enhancement: positive.then(|| block(4)),
            stable_above: bound(hottest + margin),
            superheated_below: if coldest - margin > lowest { bound(coldest - margin) } else { 0.0 },
        })
    }

    fn state(&self, fluid: &PureFluid, p: f64, h: f64) -> Result<FluidState, PropertyError> {
        let basis_h = Basis::new(self.window.h, h);
        let basis_p = Basis::new(self.window.p, p);
        let [t, rho, mu, background] = evaluate(&self.main, &basis_p, &basis_h);
        let conductivity = match &self.enhancement {
            None => background,
            Some(block) => {
                let [dchi, kappa, cp, _] = evaluate(block, &basis_p, &basis_h);
                background + fluid.conductivity_enhancement(rho, t, cp, kappa, mu, dchi)
            }
        };
        let phase = if p >= self.stable_above && t.v < fluid.critical_temperature {
            Phase::Liquid
        } else if p < self.superheated_below && t.v < fluid.critical_temperature {
            Phase::LiquidMetastable
        } else {
            fluid.liquid_phase(p, t.v)
        };
        Ok(FluidState {
            pressure_pa: p,
            enthalpy_j_per_kg: h,
            temperature_k: t.v,
            density_kg_per_m3: rho.v,
            viscosity_pa_s: mu.v,
            conductivity_w_per_m_k: conductivity.v,
            isobaric_heat_capacity_j_per_kg_k: 1.0 / t.b,
            vapour_mass_fraction: 0.0,
            phase,
            derivatives: PhDerivatives {
                temperature_by_pressure: t.a,
                temperature_by_enthalpy: t.b,
                density_by_pressure: rho.a,
                density_by_enthalpy: rho.b,
                viscosity_by_pressure: mu.a,
                viscosity_by_enthalpy: mu.b,
                conductivity_by_pressure: conductivity.a,
                conductivity_by_enthalpy: conductivity.b,
            },
        })
    }
}

/// Fills the patch at a point's own coarse cell; for benches.
pub(crate) fn fill_once(fluid: &PureFluid, p: f64, h: f64) -> bool {
    let window = Window {
        p: ((p / PRESSURE_STEP).floor() * PRESSURE_STEP, ((p / PRESSURE_STEP).floor() + 1.0) * PRESSURE_STEP),
        h: (h - 25e3, h + 25e3),
    };
    Patch::build(fluid, window).is_some()
}

/// Node `i` in -1..1, inside the borders: at those the liquid may have ended.
fn node(i: usize) -> f64 {
    (std::f64::consts::PI * (i as f64 + 0.5) / NODES as f64).cos()
}

/// Values at the nodes to tensor coefficients.
fn expand(nodes: &[[[f64; 8]; NODES]; NODES]) -> [[[f64; 8]; NODES]; NODES] {
    let mut weight = [[0.0; NODES]; NODES];
    for (m, row) in weight.iter_mut().enumerate() {
        for (i, w) in row.iter_mut().enumerate() {
            let angle = std::f64::consts::PI * m as f64 * (i as f64 + 0.5) / NODES as f64;
            *w = angle.cos() * if m == 0 { 1.0 } else { 2.0 } / NODES as f64;
        }
    }
    let mut out = [[[0.0; 8]; NODES]; NODES];
    for m in 0..NODES {
        for n in 0..NODES {
            for i in 0..NODES {
                for j in 0..NODES {
                    let w = weight[m][i] * weight[n][j];
                    for k in 0..8 {
                        out[m][n][k] += w * nodes[i][j][k];
                    }
                }
            }
        }
    }
    out
}
