//! Stable equilibrium in (pressure, enthalpy), fast.
//!
//! **What.** Liquid, mixture, vapour and supercritical fluid, and gas below the triple-point pressure, for films that boil,
//! flash or are gas: thousands of states a solve.
//!
//! **Equation.** The plane is cut into regions: liquid and vapour up to half the critical pressure, in coordinates
//! `ln p` and the distance `h - h_line(p)` from the phase line; the same near the critical point, in `sqrt(1 - p/pc)`;
//! the liquid and gas beside it and everything above the critical pressure in `ln p` and `h`; gas below the triple-point
//! pressure by its distance from the vapour's line continued there. Each region is a grid of
//! tensor Chebyshev expansions, filled when first visited from nodes that depend on the cell alone. A patch on the phase
//! line is corrected by the difference of line and patch at the line, fading across it, so that the line's values are met
//! to rounding. Gas is interpolated as `rho/p`. Where the conductivity itself cannot be interpolated, for its critical
//! enhancement sets in like a square root, that is formed at evaluation from smooth quantities. Between the two lines
//! everything follows from the line's table. Derivatives are those of what is returned.
//!
//! **Valid when.** As the equation; within 1e-5 of it in temperature (K), density, viscosity and conductivity (within 1e-9
//! on the phase line). Patches of one size meet without a step, of different size within their error. What has not
//! converged after eighteen halvings (at the critical point) is answered by the equation itself.
//!
//! **Source.** Own; Trefethen, Approximation Theory and Approximation Practice (2013) for the error by the last
//! coefficients.
//!
//! **Checked by.** `stable_surfaces_agree_with_the_equation`, `states_meet_the_phase_line`.

use super::super::equilibrium::{self, Side};
use super::super::jets::Dual;
use super::super::mixture::{self, MixtureViscosity};
use super::super::phase_line::PhaseLine;
use super::super::pure::{Basic, PureFluid};
use super::super::{FluidState, PhDerivatives, Phase};
use super::continued::ContinuedLine;
use super::line::{LinePoint, LineTable, Place};
use super::patch::{Cells, Filled, Interpolated, NODES, Patch, Sample, Tally, Window};
use crate::error::PropertyError;

const HIGHEST_PRESSURE: f64 = 100e6;
const LOWEST_PRESSURE: f64 = 100.0;
const HOTTEST: f64 = 1_000.0;

#[derive(Debug)]
pub(super) struct StableSurface {
    line: LineTable,
    /// Enthalpies between which the coordinates of the critical point serve.
    near_low: f64,
    near_high: f64,
    /// The vapour's line continued below the triple point.
    continued: ContinuedLine,
    regions: [Region; 8],
    /// Enthalpies between which the regions lie, J/kg.
    enthalpies: (f64, f64),
}

#[derive(Debug)]
struct Region {
    /// Enthalpy from which y counts, where it is not that of the line.
    base: f64,
    cells: Cells,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// Gas below the triple-point pressure.
    Below,
    Liquid,
    Vapour,
    NearLiquid,
    NearVapour,
    /// Liquid and gas beside the critical point, below its pressure.
    Cold,
    Hot,
    /// Above the critical pressure.
    Above,
}

/// A point in a region's coordinates, with their slopes.
#[derive(Debug, Clone, Copy)]
struct Coordinates {
    p: f64,
    h: f64,
    x: f64,
    x_p: f64,
    y: f64,
    y_p: f64,
    y_h: f64,
}

impl Kind {
    /// Interpolated as `rho/p`.
    fn is_gas(self) -> bool {
        matches!(self, Self::Below | Self::Vapour | Self::NearVapour | Self::Hot)
    }

    /// Sign of y against the enthalpy.
    fn direction(self) -> f64 {
        if matches!(self, Self::Liquid | Self::NearLiquid | Self::Cold) { -1.0 } else { 1.0 }
    }

    fn phase(self, temperature: f64, fluid: &PureFluid) -> Phase {
        match self {
            Self::Liquid | Self::NearLiquid | Self::Cold => Phase::Liquid,
            Self::Below | Self::Vapour | Self::NearVapour | Self::Hot => Phase::Vapour,
            Self::Above if temperature >= fluid.critical_temperature => Phase::Supercritical,
            Self::Above => Phase::Liquid,
        }
    }
}

impl StableSurface {
    pub fn new(fluid: &PureFluid) -> Self {
        let line = LineTable::new(fluid);
        let at = |p: f64| PhaseLine::of_equation(fluid, p);
        let curves = fluid.saturation();
        let (t0, lowest) = (curves.lowest_temperature(), curves.lowest_pressure());
        let (triple_l, triple_v) = curves.densities(t0);
        let (low, low_vapour) = (fluid.basic(triple_l, t0).h, fluid.basic(triple_v, t0).h);
        let critical = at(0.9999 * line.end).map_or(low_vapour, |l| l.liquid.enthalpy_j_per_kg);
        let near = at(line.near);
        let near_low = near.map_or(critical, |l| l.liquid.enthalpy_j_per_kg);
        // the vapour's enthalpy may rise beyond the change of coordinate before it falls
        let near_high = (0..48)
            .filter_map(|i| at(line.end * (0.5 + 0.5 * f64::from(i) / 48.0)))
            .map(|l| l.vapour.enthalpy_j_per_kg)
            .fold(near.map_or(critical, |l| l.vapour.enthalpy_j_per_kg), f64::max)
            + 1e-3 * (low_vapour - low);
        let hottest = HOTTEST.min(fluid.highest_temperature).max(1.2 * fluid.critical_temperature);
        let top = fluid.basic(LOWEST_PRESSURE / (fluid.gas_constant * hottest), hottest).h.max(near_high + 1.0);
        let liquid_step = (critical - low) / 32.0;
        let gas_step = ((top - low_vapour.min(near_low)) / 32.0).max(liquid_step);
        let above = ((HIGHEST_PRESSURE / line.end).ln().max(0.5), ((line.end / line.near).ln()));
        let below = (LOWEST_PRESSURE / lowest).ln().min(-0.5);
        // in the order of the kinds
        let region = |kind: Kind, base: f64, origin: (f64, f64), far: (f64, f64), step: (f64, f64)| {
            (kind, Region { base, cells: Cells::new(origin, far, step) })
        };
        let colder = liquid_step;
        let far = line.far_length;
        let close = line.near_length;
        let regions = [
            // a gas colder than the triple point too
            region(Kind::Below, 0.0, (below, 0.0), (0.0, top - low_vapour + 4.0 * gas_step), (1.0, gas_step)),
            region(Kind::Liquid, 0.0, (0.0, 0.0), (far, near_low - low + colder), (1.0, liquid_step)),
            region(Kind::Vapour, 0.0, (0.0, 0.0), (far, top - low_vapour), (1.0, gas_step)),
            region(Kind::NearLiquid, 0.0, (0.0, 0.0), (close, critical - near_low + colder), (0.2, liquid_step)),
            region(Kind::NearVapour, 0.0, (0.0, 0.0), (close, near_high - critical + gas_step), (0.2, gas_step)),
            region(Kind::Cold, near_low, (0.0, 0.0), (above.1, near_low - low + colder), (0.35, liquid_step)),
            region(Kind::Hot, near_high, (0.0, 0.0), (above.1, top - near_high), (0.35, gas_step)),
            region(Kind::Above, low - colder, (0.0, 0.0), (above.0, top - low + colder), (0.35, liquid_step.max(gas_step / 3.0))),
        ];
        debug_assert!(regions.iter().enumerate().all(|(i, (kind, _))| *kind as usize == i));
        Self {
            line,
            near_low,
            near_high,
            continued: ContinuedLine::new(fluid, below),
            regions: regions.map(|(_, region)| region),
            enthalpies: (low - colder, top),
        }
    }

    /// Enthalpies between which states are interpolated, J/kg.
    pub fn enthalpies(&self) -> (f64, f64) {
        self.enthalpies
    }

    pub fn tally(&self) -> Tally {
        self.regions
            .iter()
            .map(|r| r.cells.tally())
            .fold(Tally::default(), |a, b| Tally { patches: a.patches + b.patches, equation: a.equation + b.equation })
    }

    /// Both sides of the line.
    pub fn line(&self, fluid: &PureFluid, p: f64) -> Option<PhaseLine> {
        Some(self.point(fluid, p)?.line())
    }

    /// Enthalpies of both sides of the line, J/kg.
    pub fn line_enthalpies(&self, fluid: &PureFluid, p: f64) -> Option<[f64; 2]> {
        Some(self.point(fluid, p)?.enthalpy_values())
    }

    /// The same with their slopes by pressure.
    pub fn line_enthalpies_with_slopes(&self, fluid: &PureFluid, p: f64) -> Option<[[f64; 2]; 2]> {
        Some(self.point(fluid, p)?.enthalpies().map(|h| [h.v, h.a]))
    }

    fn point(&self, fluid: &PureFluid, p: f64) -> Option<LinePoint<'_>> {
        if !(p >= self.line.lowest && p < self.line.end) {
            return None;
        }
        self.line.at(fluid, self.line.place(p))
    }

    pub fn state(&self, fluid: &PureFluid, p: f64, h: f64, rule: MixtureViscosity) -> Result<FluidState, PropertyError> {
        if p >= self.line.end {
            let fixed = self.fixed(Kind::Above, p, h);
            return match self.single(fluid, Kind::Above, fixed, None) {
                Some(state) => Ok(state),
                None => equilibrium::state(fluid, p, h, rule),
            };
        }
        if p < self.line.lowest {
            return self.below(fluid, p, h);
        }
        let near = p >= self.line.near;
        if near && !(h > self.near_low && h < self.near_high) {
            let kind = if h <= self.near_low { Kind::Cold } else { Kind::Hot };
            if let Some(state) = self.single(fluid, kind, self.fixed(kind, p, h), None) {
                return Ok(state);
            }
        }
        let place = self.line.place(p);
        let Some(point) = self.line.at(fluid, place) else {
            return equilibrium::state(fluid, p, h, rule);
        };
        let [liquid, vapour] = point.enthalpies();
        let kind = if h <= liquid.v {
            if near { Kind::NearLiquid } else { Kind::Liquid }
        } else if h < vapour.v {
            return Ok(mixture::state(&point.line(), h, rule));
        } else if near {
            Kind::NearVapour
        } else {
            Kind::Vapour
        };
        let coordinates = fitted(kind, place, h, if kind.is_gas() { vapour } else { liquid });
        match self.single(fluid, kind, coordinates, Some(&point)) {
            Some(state) => Ok(state),
            None => equilibrium::below_critical(fluid, &point.line(), h, rule),
        }
    }

    /// Builds the first cell that a state falls in without keeping it. Liquid and vapour below half the critical pressure.
    pub fn fill_once(&self, fluid: &PureFluid, p: f64, h: f64) -> bool {
        if !(p >= self.line.lowest && p < self.line.end) {
            return false;
        }
        let near = p >= self.line.near;
        let place = self.line.place(p);
        let Some([liquid, vapour]) = self.line.at(fluid, place).map(|l| l.enthalpies()) else { return false };
        let kind = match (h <= liquid.v, h < vapour.v) {
            (true, _) => {
                if near {
                    Kind::NearLiquid
                } else {
                    Kind::Liquid
                }
            }
            (false, true) => return false,
            (false, false) => {
                if near {
                    Kind::NearVapour
                } else {
                    Kind::Vapour
                }
            }
        };
        let at = fitted(kind, place, h, if kind.is_gas() { vapour } else { liquid });
        self.regions[kind as usize].cells.window_at(at.x, at.y).is_some_and(|window| self.fill(fluid, kind, window).is_ok())
    }

    fn below(&self, fluid: &PureFluid, p: f64, h: f64) -> Result<FluidState, PropertyError> {
        let Some(line) = self.continued.enthalpy(fluid, p) else { return equilibrium::gas_below_triple(fluid, p, h, None) };
        if h < line.v {
            return Err(equilibrium::would_freeze(fluid, p, h));
        }
        let place = Place { p, x: (p / self.line.lowest).ln(), x_p: 1.0 / p };
        let found = self.single(fluid, Kind::Below, fitted(Kind::Below, place, h, line), None);
        found.map_or_else(|| equilibrium::gas_below_triple(fluid, p, h, None), Ok)
    }

    /// Coordinates of a region with a fixed base of enthalpy.
    fn fixed(&self, kind: Kind, p: f64, h: f64) -> Coordinates {
        let direction = kind.direction();
        let reference = self.pressure_base(kind);
        Coordinates {
            p,
            h,
            x: (p / reference).ln(),
            x_p: 1.0 / p,
            y: direction * (h - self.regions[kind as usize].base),
            y_p: 0.0,
            y_h: direction,
        }
    }

    fn pressure_base(&self, kind: Kind) -> f64 {
        match kind {
            Kind::Above => self.line.end,
            Kind::Cold | Kind::Hot => self.line.near,
            _ => self.line.lowest,
        }
    }

    /// The state from a region's patch.
    #[inline]
    fn single(&self, fluid: &PureFluid, kind: Kind, at: Coordinates, line: Option<&LinePoint<'_>>) -> Option<FluidState> {
        let region = &self.regions[kind as usize];
        let patch = region.cells.find(at.x, at.y, |window| self.fill(fluid, kind, window))?;
        let mut q = properties(fluid, kind, at, patch.at(at.x, at.y));
        if let Some(line) = line
            && let Some(edge) = patch.on_line(at.x)
        {
            let edge = properties(fluid, kind, Coordinates { y_p: 0.0, y_h: 0.0, ..at }, edge);
            let height = patch.height();
            let fade = Dual::new(1.0 - at.y / height, -at.y_p / height, -at.y_h / height);
            let exact = line.phase(kind.is_gas());
            for k in 0..4 {
                q[k] = q[k] + fade * (exact[k] - edge[k]);
            }
        }
        let [t, rho, mu, k] = q;
        // an expansion that lost its meaning is not an answer
        if !(t.v > 0.0 && rho.v > 0.0 && mu.v > 0.0 && k.v > 0.0 && t.b > 0.0) {
            return None;
        }
        Some(FluidState {
            pressure_pa: at.p,
            enthalpy_j_per_kg: at.h,
            temperature_k: t.v,
            density_kg_per_m3: rho.v,
            viscosity_pa_s: mu.v,
            conductivity_w_per_m_k: k.v,
            isobaric_heat_capacity_j_per_kg_k: 1.0 / t.b,
            vapour_mass_fraction: if kind.is_gas() { 1.0 } else { 0.0 },
            phase: kind.phase(t.v, fluid),
            derivatives: PhDerivatives {
                temperature_by_pressure: t.a,
                temperature_by_enthalpy: t.b,
                density_by_pressure: rho.a,
                density_by_enthalpy: rho.b,
                viscosity_by_pressure: mu.a,
                viscosity_by_enthalpy: mu.b,
                conductivity_by_pressure: k.a,
                conductivity_by_enthalpy: k.b,
            },
        })
    }

    // ------------------------------------------------------------ filling

    fn fill(&self, fluid: &PureFluid, kind: Kind, window: Window) -> Filled {
        let nodes = self.nodes(fluid, kind, window).ok_or(None)?;
        Patch::through(window, &nodes).map_err(Some)
    }

    /// What is interpolated, at all nodes; nothing where one of them has no state.
    fn nodes(&self, fluid: &PureFluid, kind: Kind, window: Window) -> Option<[[Sample; NODES]; NODES]> {
        let mut nodes = [[[0.0; 8]; NODES]; NODES];
        let mut solved: [[Option<Node>; NODES]; NODES] = [[None; NODES]; NODES];
        for row in 0..NODES {
            for column in 0..NODES {
                let (x, y) = window.node(row, column);
                let (p, h) = self.node_state(fluid, kind, x, y)?;
                let guess = match (row, column) {
                    (0, 0) => None,
                    (0, _) => solved[0][column - 1].and_then(|from| from.stepped(p, h)),
                    (1, _) => solved[0][column].and_then(|from| from.stepped(p, h)),
                    _ => solved[row - 1][column].zip(solved[row - 2][column]).and_then(|(from, before)| from.stepped_on(&before, h)),
                };
                let (node, sample) = self.node(fluid, kind, p, h, guess)?;
                solved[row][column] = Some(node);
                nodes[row][column] = sample;
            }
        }
        Some(nodes)
    }

    /// One node: from a guess where that leads to a stable state on its side of the line, or by the safeguarded search.
    fn node(&self, fluid: &PureFluid, kind: Kind, p: f64, h: f64, guess: Option<(f64, f64)>) -> Option<(Node, Sample)> {
        let at = |(t, rho): (f64, f64)| {
            let (sample, basic) = sample(fluid, kind, p, rho, t);
            (Node { p, h, t, rho, basic }, sample)
        };
        if kind == Kind::Below {
            return Some(at(gas(fluid, p, h, guess)?));
        }
        let line = if p >= self.line.end { None } else { Some(self.line_at(fluid, p)?.line()) };
        let side = match &line {
            None => Side::Above,
            Some(_) if kind == Kind::Above => Side::Above,
            Some(line) if kind.is_gas() => Side::Vapour(line),
            Some(line) => Side::Liquid(line),
        };
        let near = guess.and_then(|guess| fluid.refine(p, h, guess).ok()).filter(|found| side.holds(fluid, *found)).map(at);
        match near.filter(|(node, _)| node.basic.p_rho > 0.0) {
            Some(found) => Some(found),
            None => Some(at(equilibrium::solve(fluid, p, h, side, guess).ok()?)),
        }
    }

    fn node_state(&self, fluid: &PureFluid, kind: Kind, x: f64, y: f64) -> Option<(f64, f64)> {
        let base = self.regions[kind as usize].base;
        match kind {
            Kind::Below => {
                let p = self.line.lowest * x.exp();
                Some((p, self.continued.enthalpy(fluid, p)?.v + y))
            }
            Kind::Above | Kind::Cold | Kind::Hot => Some((self.pressure_base(kind) * x.exp(), base + kind.direction() * y)),
            Kind::Liquid | Kind::Vapour | Kind::NearLiquid | Kind::NearVapour => {
                let near = matches!(kind, Kind::NearLiquid | Kind::NearVapour);
                let p = self.line.pressure(near, x);
                let [liquid, vapour] = self.line_at(fluid, p)?.enthalpies();
                Some((p, if kind.is_gas() { vapour.v + y } else { liquid.v - y }))
            }
        }
    }

    fn line_at(&self, fluid: &PureFluid, p: f64) -> Option<LinePoint<'_>> {
        if p >= self.line.end { None } else { self.line.at(fluid, self.line.place(p)) }
    }
}

/// Coordinates beside the phase line.
fn fitted(kind: Kind, place: Place, h: f64, line: Dual) -> Coordinates {
    let direction = kind.direction();
    Coordinates {
        p: place.p,
        h,
        x: place.x,
        x_p: place.x_p,
        y: (direction * (h - line.v)).max(0.0),
        y_p: -direction * line.a,
        y_h: direction,
    }
}

/// Temperature, density, viscosity, conductivity with their slopes by pressure (`a`) and enthalpy (`b`).
#[inline(always)]
fn properties(fluid: &PureFluid, kind: Kind, at: Coordinates, from: Interpolated) -> [Dual; 4] {
    let slopes = |q: Dual| Dual::new(q.v, q.a * at.x_p + q.b * at.y_p, q.b * at.y_h);
    let [t, density, mu, k] = from.main.map(slopes);
    let rho = if kind.is_gas() { density * Dual::new(at.p, 1.0, 0.0) } else { density };
    let k = match from.enhancement {
        None => k,
        Some(enhancement) => {
            let [dchi, kappa, cp, _] = enhancement.map(slopes);
            k + fluid.conductivity_enhancement(rho, t, cp, kappa, mu, dchi)
        }
    };
    [t, rho, mu, k]
}

/// What is interpolated, at one node, and the derivatives there.
fn sample(fluid: &PureFluid, kind: Kind, p: f64, rho: f64, t: f64) -> (Sample, Basic) {
    let s = fluid.smooth_at(rho, t);
    let constant = Dual::constant;
    let enhancement = fluid.conductivity_enhancement(
        constant(rho),
        constant(t),
        constant(s.isobaric_heat_capacity),
        constant(s.heat_capacity_ratio),
        constant(s.viscosity),
        constant(s.susceptibility),
    );
    let sample = [
        t,
        if kind.is_gas() { rho / p } else { rho },
        s.viscosity,
        s.conductivity_background + enhancement.v,
        s.conductivity_background,
        s.susceptibility,
        s.heat_capacity_ratio,
        s.isobaric_heat_capacity,
    ];
    (sample, s.basic)
}

/// A solved node: pressure, enthalpy, temperature, density, and the derivatives there.
#[derive(Debug, Clone, Copy)]
struct Node {
    p: f64,
    h: f64,
    t: f64,
    rho: f64,
    basic: Basic,
}

impl Node {
    /// Change of the logarithms of temperature and density with pressure and enthalpy.
    fn change(&self, dp: f64, dh: f64) -> [f64; 2] {
        let b = &self.basic;
        let det = b.p_rho * b.h_t - b.p_t * b.h_rho;
        [(dh * b.p_rho - dp * b.h_rho) / det / self.t, (dp * b.h_t - dh * b.p_t) / det / self.rho]
    }

    /// A guess (temperature, density): a straight step in the logarithms cannot leave the positive side.
    fn moved(&self, [by_t, by_rho]: [f64; 2]) -> Option<(f64, f64)> {
        let guess = (self.t * by_t.clamp(-0.5, 0.5).exp(), self.rho * by_rho.clamp(-0.7, 0.7).exp());
        (guess.0.is_finite() && guess.1.is_finite()).then_some(guess)
    }

    fn stepped(&self, p: f64, h: f64) -> Option<(f64, f64)> {
        self.moved(self.change(p - self.p, h - self.h))
    }

    /// The same on an isobar with the bend seen from the node before (Adams and Bashforth).
    fn stepped_on(&self, before: &Node, h: f64) -> Option<(f64, f64)> {
        let step = h - self.h;
        let share = 0.5 * step / (self.h - before.h);
        let (here, earlier) = (self.change(0.0, step), before.change(0.0, step));
        self.moved([0, 1].map(|k| here[k] + share * (here[k] - earlier[k])))
    }
}

/// Gas below the triple-point pressure, supercooled too.
fn gas(fluid: &PureFluid, p: f64, h: f64, guess: Option<(f64, f64)>) -> Option<(f64, f64)> {
    let guess = guess.or_else(|| {
        let t0 = fluid.saturation().lowest_temperature();
        let b = fluid.basic(p / (fluid.gas_constant * t0), t0);
        let t = (t0 + (h - b.h) / (b.h_t + fluid.gas_constant)).max(0.5 * t0);
        Some((t, p / (fluid.gas_constant * t)))
    })?;
    let (t, rho) = fluid.refine(p, h, guess).ok()?;
    let ideal = p / (fluid.gas_constant * t);
    (t > 0.0 && rho > 0.7 * ideal && rho < 1.5 * ideal).then_some((t, rho))
}
