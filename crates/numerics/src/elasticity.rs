//! Linear thermo-elasticity of revolution on 8-node elements.
//!
//! **What.** Radial and axial displacements of ring sections; unknown `2 n` is radial, `2 n + 1` axial at node `n`.
//! **Equation.** Virtual work with `sigma = D (epsilon - alpha dT)`, strains `rr, zz, theta theta, rz`.
//! **Valid when.** Isotropic, small strain, Poisson ratio below 0.5. Two-by-two integration (the Barlow points): no shear locking,
//! and the one mode of an 8-node element without energy cannot be shared by neighbours.
//! **Source.** Zienkiewicz and Taylor, The Finite Element Method, vol. 1; Barlow, Int. J. Numer. Methods Eng. 10 (1976) 243.
//! **Checked by.** E1, E4, E5, E6, E7, E8, E9, T2, patch tests, manufactured solutions.

use std::f64::consts::PI;

use crate::heat::{mirror, solve_held};
use crate::mesh::{EdgeSpan, Element, Mesh};
use crate::quadrature::TWO_POINTS;
use crate::serendipity::{PointValues, RulePoint, map_point, shape, tensor_rule};
use crate::sparse::{Bundle, Factor, SparseError, Symbolic};

/// An isotropic elastic material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Isotropic {
    /// Young's modulus, Pa.
    pub youngs_modulus: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Mean expansion from the stress-free temperature, 1/K.
    pub expansion: f64,
    /// Density, kg/m3.
    pub density: f64,
}

/// Components of a stress, Pa.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Stress {
    /// Radial.
    pub radial: f64,
    /// Axial.
    pub axial: f64,
    /// Hoop.
    pub hoop: f64,
    /// Shear in the section.
    pub shear: f64,
}

impl Stress {
    /// Principal stresses, greatest first, Pa.
    pub fn principal(&self) -> [f64; 3] {
        let mean = 0.5 * (self.radial + self.axial);
        let radius = (0.5 * (self.radial - self.axial)).hypot(self.shear);
        let mut all = [mean + radius, mean - radius, self.hoop];
        all.sort_by(|a, b| b.total_cmp(a));
        all
    }

    /// Von Mises equivalent stress, Pa.
    pub fn von_mises(&self) -> f64 {
        let [a, b, c] = [self.radial - self.axial, self.axial - self.hoop, self.hoop - self.radial];
        (0.5 * (a * a + b * b + c * c) + 3.0 * self.shear * self.shear).sqrt()
    }

    fn scaled_sum(stresses: &[Self; 4], weights: [f64; 4]) -> Self {
        let mut sum = Self::default();
        for (s, w) in stresses.iter().zip(weights) {
            sum.radial += w * s.radial;
            sum.axial += w * s.axial;
            sum.hoop += w * s.hoop;
            sum.shear += w * s.shear;
        }
        sum
    }
}

impl Isotropic {
    /// Lame's `lambda` and shear modulus, Pa.
    fn moduli(&self) -> (f64, f64) {
        let shear = self.youngs_modulus / (2.0 * (1.0 + self.poisson));
        (2.0 * shear * self.poisson / (1.0 - 2.0 * self.poisson), shear)
    }

    /// Stress of a hindered temperature rise of 1 K with the sign turned, Pa/K.
    fn thermal_modulus(&self) -> f64 {
        self.expansion * self.youngs_modulus / (1.0 - 2.0 * self.poisson)
    }
}

/// A symmetric element matrix over `[u0, w0, u1, w1, ...]`, row by row.
pub type ElasticMatrix = [f64; 256];

/// Stiffness matrices of all elements, N/m; `materials` is indexed by [`Element::material`].
pub fn stiffnesses(mesh: &Mesh, materials: &[Isotropic]) -> Vec<ElasticMatrix> {
    let rule = tensor_rule(&TWO_POINTS);
    mesh.elements.iter().map(|element| stiffness(&mesh.corners(element), &materials[element.material], &rule)).collect()
}

/// Writes the stiffness matrix of one element at a time, as [`Factor::new`] asks for them.
pub fn stiffness_writer<'a>(mesh: &'a Mesh, materials: &'a [Isotropic]) -> impl FnMut(usize, &mut [f64]) + 'a {
    let rule = tensor_rule(&TWO_POINTS);
    move |index, block| {
        let element = &mesh.elements[index];
        block.copy_from_slice(&stiffness(&mesh.corners(element), &materials[element.material], &rule));
    }
}

fn stiffness(corners: &[[f64; 2]; 8], material: &Isotropic, rule: &[RulePoint]) -> ElasticMatrix {
    let (lambda, shear) = material.moduli();
    let mut matrix = [0.0; 256];
    for (n, d, w) in rule {
        let p = map_point(corners, n, d);
        let factor = w * p.jacobian * 2.0 * PI * p.position[0];
        let (diagonal, off, g) = (factor * (lambda + 2.0 * shear), factor * lambda, factor * shear);
        for i in 0..8 {
            let [nr, nz] = p.gradient[i];
            let nh = n[i] / p.position[0];
            // stress of a unit radial and a unit axial displacement of node i: rr, zz, hoop, rz
            let radial = [diagonal * nr + off * nh, off * (nr + nh), diagonal * nh + off * nr, g * nz];
            let axial = [off * nz, diagonal * nz, off * nz, g * nr];
            for j in 0..=i {
                let [mr, mz] = p.gradient[j];
                let mh = n[j] / p.position[0];
                matrix[32 * i + 2 * j] += radial[0] * mr + radial[2] * mh + radial[3] * mz;
                matrix[32 * i + 2 * j + 1] += radial[1] * mz + radial[3] * mr;
                matrix[32 * i + 16 + 2 * j] += axial[0] * mr + axial[2] * mh + axial[3] * mz;
                matrix[32 * i + 16 + 2 * j + 1] += axial[1] * mz + axial[3] * mr;
            }
        }
    }
    mirror(&mut matrix, 16);
    matrix
}

/// Add the nodal forces that act like a temperature rise over the stress-free state, K by place.
pub fn add_thermal_load(mesh: &Mesh, materials: &[Isotropic], rise: &[f64], load: &mut [f64]) {
    let rule = tensor_rule(&TWO_POINTS);
    for element in &mesh.elements {
        let modulus = materials[element.material].thermal_modulus();
        for_points(mesh, element, &rule, |p, factor| {
            let local: f64 = (0..8).map(|k| p.shape[k] * rise[mesh.places[element.nodes[k]]]).sum();
            let force = factor * modulus * local;
            for k in 0..8 {
                load[2 * element.nodes[k]] += force * (p.gradient[k][0] + p.shape[k] / p.position[0]);
                load[2 * element.nodes[k] + 1] += force * p.gradient[k][1];
            }
        });
    }
}

/// Thermal coupling matrices of all elements: row `2 i + c` of 16, column of 8 temperatures, N/K.
///
/// The nodal forces of a temperature rise are this matrix times the rise; its transpose gives virtual work per kelvin.
pub fn couplings(mesh: &Mesh, materials: &[Isotropic]) -> Vec<[f64; 128]> {
    let rule = tensor_rule(&TWO_POINTS);
    mesh.elements.iter().map(|element| coupling(mesh, element, &materials[element.material], &rule)).collect()
}

fn coupling(mesh: &Mesh, element: &Element, material: &Isotropic, rule: &[RulePoint]) -> [f64; 128] {
    let modulus = material.thermal_modulus();
    let mut matrix = [0.0; 128];
    for_points(mesh, element, rule, |p, factor| {
        for k in 0..8 {
            let rows = [factor * modulus * (p.gradient[k][0] + p.shape[k] / p.position[0]), factor * modulus * p.gradient[k][1]];
            for j in 0..8 {
                matrix[16 * k + j] += rows[0] * p.shape[j];
                matrix[16 * k + 8 + j] += rows[1] * p.shape[j];
            }
        }
    });
    matrix
}

/// Adds the virtual work of displacements per kelvin at each place, N m/K: the transposed coupling matrices of all elements applied to
/// many displacements at once.
pub fn add_thermal_work(mesh: &Mesh, materials: &[Isotropic], displacement: &Bundle, work: &mut Bundle) {
    let rule = tensor_rule(&TWO_POINTS);
    for element in &mesh.elements {
        let matrix = coupling(mesh, element, &materials[element.material], &rule);
        let places = element.nodes.map(|node| mesh.places[node]);
        let unknowns = std::array::from_fn(|k| 2 * element.nodes[k / 2] + k % 2);
        work.add_products(places, &matrix, displacement, unknowns);
    }
}

/// Add the centrifugal forces of unit speed squared, kg m (N per (rad/s)2), times `speed_squared`.
pub fn add_centrifugal_load(mesh: &Mesh, materials: &[Isotropic], speed_squared: f64, load: &mut [f64]) {
    let rule = tensor_rule(&TWO_POINTS);
    for element in &mesh.elements {
        let density = materials[element.material].density;
        for_points(mesh, element, &rule, |p, factor| {
            for k in 0..8 {
                load[2 * element.nodes[k]] += factor * density * speed_squared * p.position[0] * p.shape[k];
            }
        });
    }
}

fn for_points(mesh: &Mesh, element: &Element, rule: &[RulePoint], mut visit: impl FnMut(&PointValues, f64)) {
    let corners = mesh.corners(element);
    for (n, d, w) in rule {
        let p = map_point(&corners, n, d);
        visit(&p, w * p.jacobian * 2.0 * PI * p.position[0]);
    }
}

/// Add the nodal forces of a uniform pressure on part of an edge, Pa, acting against the outward normal.
pub fn add_pressure_load(mesh: &Mesh, span: &EdgeSpan, pressure: f64, load: &mut [f64]) {
    for (point, weight) in span.points(mesh) {
        let factor = -pressure * weight * 2.0 * PI * point.position[0];
        for (k, node) in span.edge.nodes.iter().enumerate() {
            load[2 * node] += factor * point.outward[0] * point.shape[k];
            load[2 * node + 1] += factor * point.outward[1] * point.shape[k];
        }
    }
}

/// Add the nodal forces of a traction `[radial, axial]` on part of an edge, Pa.
pub fn add_traction_load(mesh: &Mesh, span: &EdgeSpan, traction: [f64; 2], load: &mut [f64]) {
    for (point, weight) in span.points(mesh) {
        let factor = weight * 2.0 * PI * point.position[0] * point.outward[0].hypot(point.outward[1]);
        for (k, node) in span.edge.nodes.iter().enumerate() {
            load[2 * node] += factor * traction[0] * point.shape[k];
            load[2 * node + 1] += factor * traction[1] * point.shape[k];
        }
    }
}

/// Add a force around a circle on an edge at local coordinate `s`, `[radial per turn, axial]`, N in all.
pub fn add_circle_load(span: &EdgeSpan, s: f64, force: [f64; 2], load: &mut [f64]) {
    for (node, n) in span.edge.nodes.iter().zip(crate::serendipity::edge_shape(s)) {
        load[2 * node] += n * force[0];
        load[2 * node + 1] += n * force[1];
    }
}

/// Nodal forces that hold a displaced state: `K u` less the thermal load, element by element.
pub fn internal_forces(mesh: &Mesh, materials: &[Isotropic], displacement: &[f64], rise: &[f64]) -> Vec<f64> {
    let rule = tensor_rule(&TWO_POINTS);
    let mut force = vec![0.0; displacement.len()];
    for element in &mesh.elements {
        for_points(mesh, element, &rule, |p, factor| {
            let s = stress_at(mesh, element, &materials[element.material], p, displacement, rise);
            for k in 0..8 {
                let [nr, nz] = p.gradient[k];
                force[2 * element.nodes[k]] += factor * (s.radial * nr + s.hoop * p.shape[k] / p.position[0] + s.shear * nz);
                force[2 * element.nodes[k] + 1] += factor * (s.axial * nz + s.shear * nr);
            }
        });
    }
    force
}

fn stress_at(mesh: &Mesh, element: &Element, material: &Isotropic, p: &PointValues, displacement: &[f64], rise: &[f64]) -> Stress {
    let (lambda, shear) = material.moduli();
    let (mut rr, mut zz, mut hoop, mut rz, mut heat) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (k, node) in element.nodes.iter().enumerate() {
        let (u, w) = (displacement[2 * node], displacement[2 * node + 1]);
        rr += p.gradient[k][0] * u;
        zz += p.gradient[k][1] * w;
        hoop += p.shape[k] * u / p.position[0];
        rz += p.gradient[k][1] * u + p.gradient[k][0] * w;
        heat += p.shape[k] * rise[mesh.places[*node]];
    }
    let volume = lambda * (rr + zz + hoop) - material.thermal_modulus() * heat;
    Stress { radial: volume + 2.0 * shear * rr, axial: volume + 2.0 * shear * zz, hoop: volume + 2.0 * shear * hoop, shear: shear * rz }
}

/// Stresses at the nodes of one material, averaged over its elements from their Gauss points.
#[derive(Debug, Clone, PartialEq)]
pub struct NodalStress {
    /// Index of the material.
    pub material: usize,
    /// Node.
    pub node: usize,
    /// Stress there.
    pub stress: Stress,
}

/// Stresses at nodes: extrapolated from the two-by-two points of each element, averaged per node and material.
pub fn nodal_stresses(mesh: &Mesh, materials: &[Isotropic], displacement: &[f64], rise: &[f64]) -> Vec<NodalStress> {
    let rule = tensor_rule(&TWO_POINTS);
    let weights = extrapolation();
    let mut sums = vec![(Stress::default(), 0.0_f64); mesh.nodes.len() * materials.len()];
    for element in &mesh.elements {
        let corners = mesh.corners(element);
        let at: [Stress; 4] = std::array::from_fn(|q| {
            stress_at(mesh, element, &materials[element.material], &map_point(&corners, &rule[q].0, &rule[q].1), displacement, rise)
        });
        for (k, node) in element.nodes.iter().enumerate() {
            let s = Stress::scaled_sum(&at, weights[k]);
            let (sum, count) = &mut sums[element.material * mesh.nodes.len() + node];
            sum.radial += s.radial;
            sum.axial += s.axial;
            sum.hoop += s.hoop;
            sum.shear += s.shear;
            *count += 1.0;
        }
    }
    sums.iter()
        .enumerate()
        .filter(|(_, (_, count))| *count > 0.0)
        .map(|(index, (sum, count))| NodalStress {
            material: index / mesh.nodes.len(),
            node: index % mesh.nodes.len(),
            stress: Stress { radial: sum.radial / count, axial: sum.axial / count, hoop: sum.hoop / count, shear: sum.shear / count },
        })
        .collect()
}

/// Weights of the four Gauss points (in the order of the tensor rule) at each node, bilinear.
fn extrapolation() -> [[f64; 4]; 8] {
    let g = TWO_POINTS[1].0;
    crate::serendipity::LOCAL.map(|[xi, eta]| {
        let (a, b) = (xi / g, eta / g);
        [0.25 * (1.0 - a) * (1.0 - b), 0.25 * (1.0 - a) * (1.0 + b), 0.25 * (1.0 + a) * (1.0 - b), 0.25 * (1.0 + a) * (1.0 + b)]
    })
}

/// Displacements of one load with some unknowns held: `(unknown, value)`.
///
/// # Errors
/// [`SparseError`] when the body is not held against axial motion.
pub fn solve(mesh: &Mesh, materials: &[Isotropic], load: &[f64], held: &[(usize, f64)]) -> Result<Vec<f64>, SparseError> {
    let elements: Vec<[usize; 8]> = mesh.elements.iter().map(|element| element.nodes).collect();
    let trailing: Vec<usize> = held.iter().map(|(unknown, _)| *unknown).collect();
    let symbolic = Symbolic::new(&mesh.nodes, &elements, 2, &trailing, &[])?;
    let factor = Factor::new(&symbolic, stiffness_writer(mesh, materials), &[])?;
    let values: Vec<f64> = held.iter().map(|(_, value)| *value).collect();
    solve_held(&factor, load, &values)
}

/// Interpolated displacement `[radial, axial]` at a local point of an element, m.
pub fn displacement_at(element: &Element, displacement: &[f64], xi: f64, eta: f64) -> [f64; 2] {
    let n = shape(xi, eta);
    let mut value = [0.0; 2];
    for (k, node) in element.nodes.iter().enumerate() {
        value[0] += n[k] * displacement[2 * node];
        value[1] += n[k] * displacement[2 * node + 1];
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::{Piece, Plan, SizeField};
    use faer::Mat;

    /// The vectorised product against the coupling matrices one by one, with a number of columns that fills no block.
    #[test]
    fn thermal_work_is_the_transposed_coupling() {
        let piece =
            |r: [f64; 2], material| Piece { corners: [[r[0], 0.0], [r[1], 0.0], [r[1], 0.012], [r[0], 0.01]], material, fit_radius: None };
        let plan = Plan { pieces: vec![piece([0.02, 0.03], 0)], line: None, points: Vec::new(), sizes: SizeField::uniform(0.004) };
        let mesh = plan.mesh().unwrap();
        let materials = [Isotropic { youngs_modulus: 2e11, poisson: 0.3, expansion: 1e-5, density: 1.0 }];
        let elements: Vec<[usize; 8]> = mesh.elements.iter().map(|element| element.nodes).collect();
        let symbolic = Symbolic::new(&mesh.nodes, &elements, 2, &[1, 5, 9], &[]).unwrap();
        let elastic = Factor::new(&symbolic, stiffness_writer(&mesh, &materials), &[]).unwrap();
        let symbolic = Symbolic::new(&crate::heat::place_coordinates(&mesh), &crate::heat::place_elements(&mesh), 1, &[0], &[]).unwrap();
        let conductance = crate::heat::conductance_writer(&mesh, crate::heat::Geometry::Axisymmetric, |_, _| 10.0);
        let heat = Factor::new(&symbolic, conductance, &[]).unwrap();
        let displacement = Mat::from_fn(2 * mesh.nodes.len(), 7, |i, j| ((3 * i + 5 * j) as f64).sin());
        let mut from = elastic.bundle(7);
        for unknown in 0..displacement.nrows() {
            from.row_mut(unknown).unwrap().iter_mut().enumerate().for_each(|(j, value)| *value = displacement[(unknown, j)]);
        }
        let mut to = heat.bundle(7);
        add_thermal_work(&mesh, &materials, &from, &mut to);
        let work = Mat::from_fn(mesh.place_count, 7, |i, j| to.row(i).unwrap()[j]);
        let mut expected = Mat::<f64>::zeros(mesh.place_count, 7);
        for (element, matrix) in mesh.elements.iter().zip(couplings(&mesh, &materials)) {
            for (row, unknown) in element.nodes.iter().flat_map(|node| [2 * node, 2 * node + 1]).enumerate() {
                for (j, node) in element.nodes.iter().enumerate() {
                    for column in 0..7 {
                        expected[(mesh.places[*node], column)] += matrix[8 * row + j] * displacement[(unknown, column)];
                    }
                }
            }
        }
        let scale = expected.norm_max();
        assert!((&work - &expected).norm_max() < 1e-13 * scale);
    }
}
