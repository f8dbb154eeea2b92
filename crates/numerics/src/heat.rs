//! Steady conduction of heat on 8-node elements.
//!
//! **What.** Temperatures, one unknown a place, in a ring section (or a plane one of unit depth).
//! **Equation.** `div(k grad T) = 0`, `-k dT/dn = a (T - T_bulk) - q` on the boundary; weighted residuals with the shape functions.
//! **Valid when.** Conductivity is constant over an element; it may differ between elements.
//! **Source.** Zienkiewicz and Taylor, The Finite Element Method, vol. 1.
//! **Checked by.** E2, T3, manufactured solutions.

use std::f64::consts::PI;

use faer::Mat;

use crate::mesh::{EdgeSpan, Element, Mesh};
use crate::quadrature::THREE_POINTS;
use crate::serendipity::{map_point, tensor_rule};
use crate::sparse::{Factor, SparseError, Symbolic};

/// What a section stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Geometry {
    /// A ring around the axis `r = 0`.
    Axisymmetric,
    /// A plane body of unit depth; `r` and `z` are Cartesian.
    Plane,
}

impl Geometry {
    /// Circumference at a radius, m (1 for plane bodies).
    pub fn around(self, radius: f64) -> f64 {
        match self {
            Self::Axisymmetric => 2.0 * PI * radius,
            Self::Plane => 1.0,
        }
    }
}

/// A symmetric element matrix over its eight nodes, row by row.
pub type ScalarMatrix = [f64; 64];

/// Conductance matrices of all elements of a mesh, W/K.
///
/// `conductivity` gives W/(m K) of an element.
pub fn conductances(mesh: &Mesh, geometry: Geometry, conductivity: impl Fn(usize, &Element) -> f64) -> Vec<ScalarMatrix> {
    let mut write = conductance_writer(mesh, geometry, conductivity);
    (0..mesh.elements.len())
        .map(|index| {
            let mut matrix = [0.0; 64];
            write(index, &mut matrix);
            matrix
        })
        .collect()
}

/// Writes the conductance matrix of one element at a time, as [`Factor::new`] asks for them.
pub fn conductance_writer<'a>(
    mesh: &'a Mesh,
    geometry: Geometry,
    conductivity: impl Fn(usize, &Element) -> f64 + 'a,
) -> impl FnMut(usize, &mut [f64]) + 'a {
    let rule = tensor_rule(&THREE_POINTS);
    move |index, block| {
        let element = &mesh.elements[index];
        let corners = mesh.corners(element);
        let k = conductivity(index, element);
        let mut matrix = [0.0; 64];
        for (n, d, w) in &rule {
            let p = map_point(&corners, n, d);
            let factor = k * w * p.jacobian * geometry.around(p.position[0]);
            for i in 0..8 {
                let g = [factor * p.gradient[i][0], factor * p.gradient[i][1]];
                for j in 0..=i {
                    matrix[8 * i + j] += g[0] * p.gradient[j][0] + g[1] * p.gradient[j][1];
                }
            }
        }
        mirror(&mut matrix, 8);
        block.copy_from_slice(&matrix);
    }
}

/// Consistent capacity matrices of all elements, J/K; `volumetric` gives density times specific heat, J/(m3 K).
pub fn capacities(mesh: &Mesh, geometry: Geometry, volumetric: impl Fn(usize, &Element) -> f64) -> Vec<ScalarMatrix> {
    let rule = tensor_rule(&THREE_POINTS);
    let mut matrices = Vec::with_capacity(mesh.elements.len());
    for (index, element) in mesh.elements.iter().enumerate() {
        let corners = mesh.corners(element);
        let c = volumetric(index, element);
        let mut matrix = [0.0; 64];
        for (n, d, w) in &rule {
            let p = map_point(&corners, n, d);
            let factor = c * w * p.jacobian * geometry.around(p.position[0]);
            for i in 0..8 {
                for j in 0..=i {
                    matrix[8 * i + j] += factor * p.shape[i] * p.shape[j];
                }
            }
        }
        mirror(&mut matrix, 8);
        matrices.push(matrix);
    }
    matrices
}

/// `integral of N_i N_j` over part of an edge, start, middle, end, m2.
pub fn edge_matrix(mesh: &Mesh, geometry: Geometry, span: &EdgeSpan) -> [[f64; 3]; 3] {
    let mut matrix = [[0.0; 3]; 3];
    for (point, weight) in span.points(mesh) {
        let factor = weight * point.outward[0].hypot(point.outward[1]) * geometry.around(point.position[0]);
        for i in 0..3 {
            for j in 0..3 {
                matrix[i][j] += factor * point.shape[i] * point.shape[j];
            }
        }
    }
    matrix
}

/// `integral of N_i` over part of an edge, m2.
pub fn edge_weights(mesh: &Mesh, geometry: Geometry, span: &EdgeSpan) -> [f64; 3] {
    edge_matrix(mesh, geometry, span).map(|row| row.iter().sum())
}

/// Heat that leaves through part of an edge by convection, from nodal temperatures by place, W.
pub fn convected(mesh: &Mesh, geometry: Geometry, span: &EdgeSpan, temperature: &[f64], coefficient: f64, bulk: f64) -> f64 {
    let mut heat = 0.0;
    for (point, weight) in span.points(mesh) {
        let wall: f64 = (0..3).map(|k| point.shape[k] * temperature[mesh.places[span.edge.nodes[k]]]).sum();
        heat += weight * point.outward[0].hypot(point.outward[1]) * geometry.around(point.position[0]) * coefficient * (wall - bulk);
    }
    heat
}

/// Copy the lower triangle of a symmetric matrix, stored row by row, to the upper.
pub(crate) fn mirror(matrix: &mut [f64], size: usize) {
    for i in 0..size {
        for j in 0..i {
            matrix[size * j + i] = matrix[size * i + j];
        }
    }
}

/// Conditions of a steady problem for [`solve`].
#[derive(Debug, Clone, Default, PartialEq)]
pub struct HeatProblem {
    /// Convection: part of an edge, coefficient W/(m2 K), bulk temperature.
    pub convection: Vec<(EdgeSpan, f64, f64)>,
    /// Heat flux into the body: part of an edge, W/m2.
    pub flux: Vec<(EdgeSpan, f64)>,
    /// Nodal heat sources by place, W; empty for none.
    pub source: Vec<f64>,
    /// Temperatures held: place, value.
    pub held: Vec<(usize, f64)>,
}

/// Temperatures by place of a steady problem.
///
/// # Errors
/// [`SparseError`] when nothing fixes the temperature.
pub fn solve(
    mesh: &Mesh,
    geometry: Geometry,
    conductivity: impl Fn(usize, &Element) -> f64,
    problem: &HeatProblem,
) -> Result<Vec<f64>, SparseError> {
    let mut load = if problem.source.is_empty() { vec![0.0; mesh.place_count] } else { problem.source.clone() };
    let mut extra = Vec::new();
    for (span, coefficient, bulk) in &problem.convection {
        let matrix = edge_matrix(mesh, geometry, span);
        let places = span.edge.nodes.map(|node| mesh.places[node]);
        for i in 0..3 {
            for j in 0..=i {
                extra.push((places[i], places[j], coefficient * matrix[i][j]));
            }
            load[places[i]] += coefficient * bulk * matrix[i].iter().sum::<f64>();
        }
    }
    for (span, flux) in &problem.flux {
        for (node, weight) in span.edge.nodes.iter().zip(edge_weights(mesh, geometry, span)) {
            load[mesh.places[*node]] += flux * weight;
        }
    }
    let held: Vec<usize> = problem.held.iter().map(|(place, _)| *place).collect();
    let symbolic = Symbolic::new(&place_coordinates(mesh), &place_elements(mesh), 1, &held, &[])?;
    let factor = Factor::new(&symbolic, conductance_writer(mesh, geometry, conductivity), &extra)?;
    let values: Vec<f64> = problem.held.iter().map(|(_, value)| *value).collect();
    solve_held(&factor, &load, &values)
}

/// Coordinates of the places of a mesh.
pub fn place_coordinates(mesh: &Mesh) -> Vec<[f64; 2]> {
    let mut coordinates = vec![[0.0; 2]; mesh.place_count];
    for (node, place) in mesh.places.iter().enumerate() {
        coordinates[*place] = mesh.nodes[node];
    }
    coordinates
}

/// Places of the nodes of each element.
pub fn place_elements(mesh: &Mesh) -> Vec<[usize; 8]> {
    mesh.elements.iter().map(|element| element.nodes.map(|node| mesh.places[node])).collect()
}

/// Solve for one load with the trailing unknowns of the factor held at `values`.
pub(crate) fn solve_held(factor: &Factor, load: &[f64], values: &[f64]) -> Result<Vec<f64>, SparseError> {
    let mut rhs = Mat::from_fn(load.len(), 1, |row, _| load[row]);
    factor.solve_interior(&mut rhs)?;
    let held = Mat::from_fn(values.len(), 1, |row, _| values[row]);
    let extension = factor.extend(held.as_ref())?;
    Ok((0..load.len()).map(|row| rhs[(row, 0)] + extension[(row, 0)]).collect())
}
