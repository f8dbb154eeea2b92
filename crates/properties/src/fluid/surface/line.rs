//! The phase line as a table: Chebyshev expansions in a coordinate of pressure, piece by piece.
//!
//! Below half the critical pressure the coordinate is `ln p`; above it `sqrt(1 - p/pc)`, in which what happens at the
//! critical point is smooth. Pieces are filled when first visited and halved where they have not converged; the last few
//! millionths before the critical pressure are answered by the equation itself.

use std::sync::OnceLock;

use super::super::jets::Dual;
use super::super::phase_line::{PhaseLine, SaturatedPhase};
use super::super::pure::PureFluid;
use super::patch::{Basis, from_unit, lobatto, weights};

const NODES: usize = 8;
const DEEPEST: u32 = 12;
/// Last two coefficients over the first, at which a piece has converged.
const TAIL: f64 = 1e-9;
const NEAR_PIECES: usize = 12;
/// Length of the other pieces in ln p.
const FAR_PIECE: f64 = 0.25;
/// Share of the critical pressure from which the coordinate is that of the critical point.
const NEAR: f64 = 0.5;

/// The coordinate of pressure and its slope.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    pub p: f64,
    pub x: f64,
    pub x_p: f64,
}

#[derive(Debug)]
pub(super) struct LineTable {
    /// Triple-point pressure, the change of coordinate, the end of the line, Pa.
    pub lowest: f64,
    pub near: f64,
    pub end: f64,
    /// Far pieces, in ln(p/lowest) from 0 to this; near pieces, from 0 to that.
    pub far_length: f64,
    pub near_length: f64,
    /// pieces over length, far and near
    per_piece: (f64, f64),
    far: Box<[OnceLock<Piece>]>,
    close: Box<[OnceLock<Piece>]>,
}

#[derive(Debug)]
enum Piece {
    Table(Box<Table>),
    Halves(Box<[OnceLock<Piece>; 2]>),
    Equation,
}

#[derive(Debug)]
struct Table {
    range: (f64, f64),
    /// enthalpies of liquid and vapour
    enthalpies: [[f64; 2]; NODES],
    /// temperature, density, viscosity, conductivity of each phase
    liquid: [[f64; 4]; NODES],
    vapour: [[f64; 4]; NODES],
}

/// The line at one pressure, of which no more is evaluated than is asked for.
pub(super) enum LinePoint<'a> {
    Table(TablePoint<'a>),
    Exact(Box<PhaseLine>),
}

pub(super) struct TablePoint<'a> {
    table: &'a Table,
    basis: Basis<NODES>,
    place: Place,
}

impl LineTable {
    pub fn new(fluid: &PureFluid) -> Self {
        let (lowest, end) = (fluid.saturation().lowest_pressure(), fluid.line_end());
        let near = (NEAR * end).max(lowest * 1.01);
        let far_length = (near / lowest).ln();
        let pieces = (far_length / FAR_PIECE).ceil().clamp(1.0, 200.0) as usize;
        let empty = |n: usize| (0..n).map(|_| OnceLock::new()).collect();
        let near_length = (1.0 - near / end).sqrt();
        Self {
            lowest,
            near,
            end,
            far_length,
            near_length,
            per_piece: (pieces as f64 / far_length, NEAR_PIECES as f64 / near_length),
            far: empty(pieces),
            close: empty(NEAR_PIECES),
        }
    }

    /// Coordinate of a pressure on the line.
    #[inline]
    pub fn place(&self, p: f64) -> Place {
        if p < self.near {
            Place { p, x: (p / self.lowest).ln(), x_p: 1.0 / p }
        } else {
            let x = (1.0 - p / self.end).max(0.0).sqrt();
            Place { p, x, x_p: -0.5 / (self.end * x.max(1e-12)) }
        }
    }

    /// Pressure of a coordinate.
    pub fn pressure(&self, near: bool, x: f64) -> f64 {
        if near { self.end * (1.0 - x * x) } else { (self.lowest * x.exp()).clamp(self.lowest, self.near.next_down()) }
    }

    /// The line at a pressure from the lowest to below the end.
    #[inline(always)]
    pub fn at(&self, fluid: &PureFluid, place: Place) -> Option<LinePoint<'_>> {
        let near = place.p >= self.near;
        let (pieces, per_piece) = if near { (&self.close, self.per_piece.1) } else { (&self.far, self.per_piece.0) };
        let i = ((place.x * per_piece) as usize).min(pieces.len() - 1);
        let piece = match pieces[i].get() {
            Some(table @ Piece::Table(_)) => table,
            _ => self.descend(fluid, near, i, place.x),
        };
        match piece {
            Piece::Table(table) => Some(LinePoint::Table(TablePoint { basis: Basis::new(table.range, place.x), table, place })),
            _ => PhaseLine::of_equation(fluid, place.p).map(|line| LinePoint::Exact(Box::new(line))),
        }
    }

    /// The piece at a coordinate within one of the first pieces; never one that is halved.
    fn descend(&self, fluid: &PureFluid, near: bool, i: usize, x: f64) -> &Piece {
        let (pieces, per_piece) = if near { (&self.close, self.per_piece.1) } else { (&self.far, self.per_piece.0) };
        let mut range = (i as f64 / per_piece, (i + 1) as f64 / per_piece);
        let mut slot = &pieces[i];
        let mut level = 0;
        loop {
            match slot.get_or_init(|| self.fill(fluid, near, range, level)) {
                Piece::Halves(halves) => {
                    let middle = 0.5 * (range.0 + range.1);
                    let upper = x >= middle;
                    range = if upper { (middle, range.1) } else { (range.0, middle) };
                    slot = &halves[usize::from(upper)];
                    level += 1;
                }
                found => return found,
            }
        }
    }

    fn fill(&self, fluid: &PureFluid, near: bool, range: (f64, f64), level: u32) -> Piece {
        match self.table(fluid, near, range) {
            Some(table) => Piece::Table(Box::new(table)),
            None if level == DEEPEST => Piece::Equation,
            None => Piece::Halves(Box::new(std::array::from_fn(|_| OnceLock::new()))),
        }
    }

    fn table(&self, fluid: &PureFluid, near: bool, range: (f64, f64)) -> Option<Table> {
        let w = weights::<NODES>();
        let mut table = Table { range, enthalpies: [[0.0; 2]; NODES], liquid: [[0.0; 4]; NODES], vapour: [[0.0; 4]; NODES] };
        let mut latent = 0.0_f64;
        for i in 0..NODES {
            let line = PhaseLine::of_equation(fluid, self.pressure(near, from_unit(range, lobatto(NODES, i))))?;
            latent = latent.max(line.latent_heat_j_per_kg());
            let row = |s: &SaturatedPhase| [line.temperature_k, s.density_kg_per_m3, s.viscosity_pa_s, s.conductivity_w_per_m_k];
            let (l, v) = (row(&line.liquid), row(&line.vapour));
            let h = [line.liquid.enthalpy_j_per_kg, line.vapour.enthalpy_j_per_kg];
            for (m, w) in w.iter().map(|row| row[i]).enumerate() {
                (0..2).for_each(|k| table.enthalpies[m][k] += w * h[k]);
                (0..4).for_each(|k| table.liquid[m][k] += w * l[k]);
                (0..4).for_each(|k| table.vapour[m][k] += w * v[k]);
            }
        }
        let tail = |m: &dyn Fn(usize) -> f64| m(NODES - 1).abs() + m(NODES - 2).abs();
        // enthalpies have no zero of their own: measured by the latent heat
        let converged = (0..2).all(|k| tail(&|m| table.enthalpies[m][k]) <= TAIL * latent)
            && (0..3).all(|k| tail(&|m| table.liquid[m][k]) <= TAIL * table.liquid[0][k])
            && (0..3).all(|k| tail(&|m| table.vapour[m][k]) <= TAIL * table.vapour[0][k])
            // the conductivity has its kinks
            && [&table.liquid, &table.vapour].iter().all(|c| tail(&|m| c[m][3]) <= 30.0 * TAIL * c[0][3]);
        converged.then_some(table)
    }
}

impl LinePoint<'_> {
    /// Enthalpies of saturated liquid and vapour with their slopes by pressure (`a`).
    #[inline(always)]
    pub fn enthalpies(&self) -> [Dual; 2] {
        match self {
            Self::Table(t) => t.basis.sum(&t.table.enthalpies).map(|q| t.by_pressure(q)),
            Self::Exact(line) => [&line.liquid, &line.vapour].map(|s| Dual::new(s.enthalpy_j_per_kg, s.enthalpy_by_pressure, 0.0)),
        }
    }

    /// Enthalpies of saturated liquid and vapour.
    #[inline(always)]
    pub fn enthalpy_values(&self) -> [f64; 2] {
        match self {
            Self::Table(t) => t.basis.values(&t.table.enthalpies),
            Self::Exact(line) => [line.liquid.enthalpy_j_per_kg, line.vapour.enthalpy_j_per_kg],
        }
    }

    /// Temperature, density, viscosity, conductivity of one saturated phase with their slopes by pressure (`a`).
    #[inline(always)]
    pub fn phase(&self, vapour: bool) -> [Dual; 4] {
        match self {
            Self::Table(t) => t.basis.sum(if vapour { &t.table.vapour } else { &t.table.liquid }).map(|q| t.by_pressure(q)),
            Self::Exact(line) => {
                let s = if vapour { &line.vapour } else { &line.liquid };
                [
                    Dual::new(line.temperature_k, line.temperature_by_pressure, 0.0),
                    Dual::new(s.density_kg_per_m3, s.density_by_pressure, 0.0),
                    Dual::new(s.viscosity_pa_s, s.viscosity_by_pressure, 0.0),
                    Dual::new(s.conductivity_w_per_m_k, s.conductivity_by_pressure, 0.0),
                ]
            }
        }
    }

    /// The whole line.
    #[inline]
    pub fn line(&self) -> PhaseLine {
        match self {
            Self::Exact(line) => **line,
            Self::Table(t) => {
                let [hl, hv] = self.enthalpies();
                let (l, v) = (self.phase(false), self.phase(true));
                let side = |h: Dual, q: [Dual; 4]| SaturatedPhase {
                    enthalpy_j_per_kg: h.v,
                    density_kg_per_m3: q[1].v,
                    viscosity_pa_s: q[2].v,
                    conductivity_w_per_m_k: q[3].v,
                    enthalpy_by_pressure: h.a,
                    density_by_pressure: q[1].a,
                    viscosity_by_pressure: q[2].a,
                    conductivity_by_pressure: q[3].a,
                };
                PhaseLine {
                    pressure_pa: t.place.p,
                    temperature_k: l[0].v,
                    temperature_by_pressure: l[0].a,
                    liquid: side(hl, l),
                    vapour: side(hv, v),
                }
            }
        }
    }
}

impl TablePoint<'_> {
    #[inline]
    fn by_pressure(&self, q: Dual) -> Dual {
        Dual::new(q.v, q.a * self.place.x_p, 0.0)
    }
}
