//! Temperatures of a ring's band and wetted edges: the dense conductance of its body with film coefficients on top.
//!
//! Everything that a set of film coefficients leaves as it is lies ready: the conductance of the body, the areas of its edges, and the
//! order of the rows, in which the band, which alone has loads of its own, comes last.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::factor::{cholesky_in_place, cholesky_in_place_scratch};
use faer::linalg::triangular_solve::{solve_lower_triangular_in_place, solve_upper_triangular_in_place};
use faer::{Mat, Par};
use halfmicron_numerics::heat::{self, Geometry};
use halfmicron_numerics::sparse::Factor;

use super::section::{Section, Surface, SurfaceKind};
use super::{RingConditions, RingError, SurfaceCoefficients};
use crate::model::Wetting;

/// The places at which a ring exchanges heat: of every surface that can carry it, then of the band.
pub(super) struct HeatPlaces {
    pub places: Vec<usize>,
    /// Row of each place; none for those inside.
    rows: Vec<usize>,
}

/// Conductance of a body between the places at which it exchanges heat.
#[derive(Debug, Clone)]
pub(super) struct Conductance {
    /// Of the body alone, W/K.
    body: Mat<f64>,
    /// Edges of the surfaces, in their order.
    edges: Vec<Edge>,
    /// Heat at each band node per flux at each, m2.
    mass: Mat<f64>,
}

/// What one film coefficient adds.
#[derive(Debug, Clone)]
struct Edge {
    rows: [usize; 3],
    /// Products of the shape functions over the edge, m2.
    areas: [[f64; 3]; 3],
    /// Shape functions over the edge, m2.
    weights: [f64; 3],
}

impl HeatPlaces {
    pub fn new(section: &Section) -> Self {
        let mesh = &section.mesh;
        let band: Vec<usize> = mesh.line.iter().map(|node| mesh.places[*node]).collect();
        let mut on_band = vec![false; mesh.place_count];
        band.iter().for_each(|place| on_band[*place] = true);
        let mut places = Vec::new();
        let mut rows = vec![usize::MAX; mesh.place_count];
        for node in section.surfaces.iter().filter(|surface| may_convect(surface)).flat_map(|surface| surface.span.edge.nodes) {
            let place = mesh.places[node];
            if rows[place] == usize::MAX && !on_band[place] {
                rows[place] = places.len();
                places.push(place);
            }
        }
        for place in &band {
            rows[*place] = places.len();
            places.push(*place);
        }
        Self { places, rows }
    }
}

impl Conductance {
    pub fn new(section: &Section, places: &HeatPlaces, heat: &Factor, band_mass: &Mat<f64>) -> Self {
        let mut body = heat.trailing_schur();
        conserve(&mut body);
        let edge = |surface: &Surface| {
            let areas = heat::edge_matrix(&section.mesh, Geometry::Axisymmetric, &surface.span);
            let rows = surface.span.edge.nodes.map(|node| places.rows[section.mesh.places[node]]);
            Edge { rows, areas, weights: areas.map(|row| row.iter().sum()) }
        };
        Self { body, edges: section.surfaces.iter().map(edge).collect(), mass: band_mass.clone() }
    }

    /// Row of the first band node; the others follow in their order.
    pub fn band_row(&self) -> usize {
        self.body.nrows() - self.mass.nrows()
    }

    /// Temperatures at every row: one column per unit flux at a band node, then one without flux.
    ///
    /// # Errors
    /// [`RingError::Insulated`] when no surface takes heat away.
    pub fn temperatures(&self, surfaces: &[Surface], conditions: &RingConditions) -> Result<Mat<f64>, RingError> {
        let (size, nodes, before) = (self.body.nrows(), self.mass.nrows(), self.band_row());
        let mut lower = Mat::<f64>::zeros(size, size);
        for j in 0..size {
            lower.col_as_slice_mut(j)[j..].copy_from_slice(&self.body.col_as_slice(j)[j..]);
        }
        let mut right = Mat::<f64>::zeros(size, nodes + 1);
        let mut carries = false;
        for (surface, edge) in surfaces.iter().zip(&self.edges) {
            let (coefficient, bulk) = film(surface, conditions);
            if coefficient <= 0.0 {
                continue;
            }
            carries = true;
            for (i, row) in edge.rows.into_iter().enumerate() {
                for (j, column) in edge.rows.into_iter().enumerate() {
                    lower[(row, column)] += coefficient * edge.areas[i][j];
                }
                right[(row, nodes)] += coefficient * bulk * edge.weights[i];
            }
        }
        if !carries {
            return Err(RingError::Insulated);
        }
        let mut memory = MemBuffer::new(cholesky_in_place_scratch::<f64>(size, Par::Seq, Default::default()));
        cholesky_in_place(lower.as_mut(), Default::default(), Par::Seq, MemStack::new(&mut memory), Default::default())
            .map_err(|_| RingError::Insulated)?;
        let lower = lower.as_ref();
        let (by_flux, mut without_flux) = right.as_mut().split_at_col_mut(nodes);
        // The loads of the band are substituted forward through its own block.
        let mut by_flux = by_flux.subrows_mut(before, nodes);
        by_flux.copy_from(&self.mass);
        solve_lower_triangular_in_place(lower.submatrix(before, before, nodes, nodes), by_flux, Par::Seq);
        solve_lower_triangular_in_place(lower, without_flux.as_mut(), Par::Seq);
        solve_upper_triangular_in_place(lower.transpose(), right.as_mut(), Par::Seq);
        Ok(right)
    }
}

fn may_convect(surface: &Surface) -> bool {
    match surface.coefficient_w_per_m2_k {
        Some(coefficient) => coefficient > 0.0,
        None => surface.wetting != Wetting::Dry,
    }
}

/// Film coefficient and bulk temperature of a surface.
pub(super) fn film(surface: &Surface, conditions: &RingConditions) -> (f64, f64) {
    let (by_kind, bulk) = match surface.wetting {
        Wetting::Sealed => (conditions.sealed_coefficient_w_per_m2_k, conditions.sealed_temperature_k),
        Wetting::LowSide => (conditions.low_side_coefficient_w_per_m2_k, conditions.low_side_temperature_k),
        Wetting::Dry => (SurfaceCoefficients { cylinder: 0.0, plane: 0.0 }, conditions.low_side_temperature_k),
    };
    let coefficient = match surface.kind {
        SurfaceKind::Cylinder => by_kind.cylinder,
        SurfaceKind::Plane => by_kind.plane,
    };
    (surface.coefficient_w_per_m2_k.unwrap_or(coefficient), surface.temperature_k.unwrap_or(bulk))
}

/// Makes the rows of a conductance sum to nothing: a ring of one temperature conducts no heat, and what rounding leaves of it would be
/// multiplied by hundreds of kelvins.
fn conserve(conductance: &mut Mat<f64>) {
    let size = conductance.nrows();
    for row in 0..size {
        let others: f64 = (0..size).filter(|column| *column != row).map(|column| conductance[(row, column)]).sum();
        conductance[(row, row)] = -others;
    }
}
