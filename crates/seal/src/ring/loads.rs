//! Loads that act on a ring, each as a unit load carried to the nodes that are kept.

use std::collections::BTreeMap;

use faer::Mat;
use halfmicron_numerics::elasticity::{self, Isotropic};
use halfmicron_numerics::sparse::Factor;

use super::section::{EdgePlace, Hold, Section};
use super::{BandNodes, RingConditions, RingError};
use crate::model::{PressureSide, Ring, RingRole, Wetting};

/// A load on all unknowns and what of it reaches the retained ones.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Load {
    /// On all unknowns; empty where only what reaches the retained ones is asked for.
    pub full: Vec<f64>,
    pub reduced: Vec<f64>,
    /// Sum of the axial forces, N into the body.
    pub axial_n: f64,
}

/// Unit loads.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Loads {
    /// 1 Pa on surfaces wetted by the sealed fluid.
    pub sealed: Load,
    /// 1 Pa on the whole surface, band included.
    pub around: Load,
    /// 1 (rad/s)2.
    pub spin: Load,
    /// 1 N into the body at the spring circle.
    pub spring: Load,
    /// 1 N into the body at the secondary-seal point.
    pub secondary_seal: Load,
    /// 1 N into the body spread as the support presses; zero for a held face.
    pub support: Load,
    /// Displacement of the support under its own unit load with the retained unknowns held, m/N.
    pub support_indentation_m_per_n: f64,
    /// Pressures stated for single edges, 1 Pa each.
    pub stated: Vec<(f64, Load)>,
}

impl Load {
    /// No load on as many unknowns and retained ones.
    pub(super) fn none(full: usize, reduced: usize) -> Self {
        Self { full: vec![0.0; full], reduced: vec![0.0; reduced], axial_n: 0.0 }
    }

    pub(super) fn add(&mut self, other: &Self, factor: f64) {
        if factor == 0.0 || other.full.is_empty() {
            return;
        }
        for (a, b) in self.full.iter_mut().zip(&other.full) {
            *a += factor * b;
        }
        for (a, b) in self.reduced.iter_mut().zip(&other.reduced) {
            *a += factor * b;
        }
        self.axial_n += factor * other.axial_n;
    }

    /// An axial force on a retained unknown, N into the body.
    pub(super) fn push(&mut self, unknown: usize, retained: usize, force_n: f64) {
        if let Some(own) = self.full.get_mut(unknown) {
            *own += force_n;
        }
        self.reduced[retained] += force_n;
        self.axial_n += force_n;
    }

    /// Many loads with one pass through the factor, and the forward half of the solve of each, by row.
    fn reduce(full: Vec<Vec<f64>>, factor: &Factor) -> Result<(Vec<Self>, Mat<f64>), RingError> {
        let rows = full.first().map_or(0, Vec::len);
        let columns = Mat::from_fn(rows, full.len(), |i, j| full[j][i]);
        let (half, reduced) = factor.forward(columns.as_ref())?;
        let kept = |j: usize| (0..reduced.nrows()).map(|i| reduced[(i, j)]).collect();
        let axial_n = |full: &[f64]| full.iter().skip(1).step_by(2).sum();
        Ok((full.into_iter().enumerate().map(|(j, full)| Self { reduced: kept(j), axial_n: axial_n(&full), full }).collect(), half))
    }
}

pub(super) fn unit_loads(ring: &Ring, section: &Section, materials: &[Isotropic], factor: &Factor) -> Result<Loads, RingError> {
    let mesh = &section.mesh;
    let zero = || vec![0.0; 2 * mesh.nodes.len()];
    let mut sealed = zero();
    let mut around = zero();
    let mut stated: BTreeMap<u64, Vec<f64>> = BTreeMap::new();
    for surface in &section.surfaces {
        match surface.pressure_pa {
            Some(pressure) => {
                elasticity::add_pressure_load(mesh, &surface.span, 1.0, stated.entry(pressure.to_bits()).or_insert_with(zero))
            }
            None if surface.wetting == Wetting::Sealed => elasticity::add_pressure_load(mesh, &surface.span, 1.0, &mut sealed),
            None => {}
        }
        elasticity::add_pressure_load(mesh, &surface.span, 1.0, &mut around);
    }
    for edge in mesh.boundary().filter(|edge| edge.nodes.iter().all(|node| mesh.line.contains(node))) {
        elasticity::add_pressure_load(mesh, &edge.whole(), 1.0, &mut around);
    }
    let circle = |place: &EdgePlace| {
        let mut load = zero();
        elasticity::add_circle_load(&place.edge.whole(), place.s, [0.0, 1.0], &mut load);
        load
    };
    let support = match &section.hold {
        Hold::Circle(place) => circle(place),
        Hold::Spread(spans) => {
            let mut load = zero();
            for span in spans {
                elasticity::add_traction_load(mesh, span, [0.0, 1.0], &mut load);
            }
            let total: f64 = load.iter().sum();
            load.iter_mut().for_each(|f| *f /= total);
            load
        }
        Hold::Nodes(_) => zero(),
    };
    let mut spin = zero();
    if ring.role == RingRole::Rotating {
        elasticity::add_centrifugal_load(mesh, materials, 1.0, &mut spin);
    }
    let spring = section.spring.as_ref().map_or_else(zero, circle);
    let (pressures, stated): (Vec<u64>, Vec<Vec<f64>>) = stated.into_iter().unzip();
    const SUPPORT: usize = 5;
    let mut all = vec![sealed, around, spin, spring, circle(&section.secondary_seal), support];
    all.extend(stated);
    let (loads, half) = Load::reduce(all, factor)?;
    let mut loads = loads.into_iter();
    let mut next = || loads.next().unwrap_or_default();
    Ok(Loads {
        support_indentation_m_per_n: (0..half.ncols()).map(|k| half[(SUPPORT, k)] * half[(SUPPORT, k)]).sum(),
        sealed: next(),
        around: next(),
        spin: next(),
        spring: next(),
        secondary_seal: next(),
        support: next(),
        stated: pressures.into_iter().map(f64::from_bits).zip(loads).collect(),
    })
}

/// Hydraulic closing force above the low pressure, N.
pub(super) fn hydraulic_closing(band: &BandNodes, side: PressureSide, conditions: &RingConditions) -> f64 {
    let above = conditions.sealed_pressure_pa - conditions.low_pressure_pa;
    let square = |r: f64| std::f64::consts::PI * r * r;
    let balance = square(conditions.balance_radius_m);
    let (inner, outer) = (band.radius_m[0], band.radius_m[band.radius_m.len() - 1]);
    match side {
        PressureSide::Outside => above * (square(outer) - balance),
        PressureSide::Inside => above * (balance - square(inner)),
    }
}
