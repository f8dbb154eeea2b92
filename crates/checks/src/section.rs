//! Ring sections, their meshes and solutions, as the checks of solids share them.

use halfmicron_numerics::elasticity::{self, Isotropic, Stress, add_pressure_load, add_thermal_load, nodal_stresses};
use halfmicron_numerics::mesh::{EdgeSpan, Mesh, Piece, Plan, SizeField};

/// Carbon of the checks E4 to E9 and T2.
pub const CARBON: Isotropic = Isotropic { youngs_modulus: 25e9, poisson: 0.2, expansion: 4.5e-6, density: 1820.0 };

/// A rectangle `r`, `z` of the first material, m.
pub fn rectangle(r: [f64; 2], z: [f64; 2]) -> Piece {
    Piece { corners: [[r[0], z[0]], [r[1], z[0]], [r[1], z[1]], [r[0], z[1]]], material: 0, fit_radius: None }
}

/// Mesh pieces with one element size, m; `points` are corners of elements.
///
/// # Errors
/// The message of the mesher.
pub fn mesh(pieces: Vec<Piece>, size: f64, points: Vec<[f64; 2]>) -> Result<Mesh, String> {
    Plan { pieces, line: None, points, sizes: SizeField::uniform(size) }.mesh().map_err(|error| error.to_string())
}

/// Boundary edges whose nodes all pass the test.
pub fn edges(mesh: &Mesh, test: impl Fn([f64; 2]) -> bool) -> Vec<EdgeSpan> {
    mesh.boundary().filter(|edge| edge.nodes.iter().all(|node| test(mesh.nodes[*node]))).map(|edge| edge.whole()).collect()
}

/// Boundary edges on a cylinder, m.
pub fn cylinder(mesh: &Mesh, radius: f64) -> Vec<EdgeSpan> {
    edges(mesh, |p| (p[0] - radius).abs() < 1e-9)
}

/// Temperature at every place from a function of the position.
pub fn field(mesh: &Mesh, value: impl Fn([f64; 2]) -> f64) -> Vec<f64> {
    let mut all = vec![0.0; mesh.place_count];
    for (node, position) in mesh.nodes.iter().enumerate() {
        all[mesh.places[node]] = value(*position);
    }
    all
}

/// A ring with its solved displacements.
pub struct Deformed {
    mesh: Mesh,
    displacement: Vec<f64>,
    stresses: Vec<(usize, Stress)>,
}

impl Deformed {
    /// Solve one ring held axially at one point.
    ///
    /// # Errors
    /// The message of the solver.
    pub fn solve(mesh: Mesh, material: Isotropic, load: &[f64], rise: Option<&[f64]>, held: &[(usize, f64)]) -> Result<Self, String> {
        let none = vec![0.0; mesh.place_count];
        let rise = rise.unwrap_or(&none);
        let mut load = load.to_vec();
        add_thermal_load(&mesh, &[material], rise, &mut load);
        let displacement = elasticity::solve(&mesh, &[material], &load, held).map_err(|error| error.to_string())?;
        let stresses = nodal_stresses(&mesh, &[material], &displacement, rise).into_iter().map(|s| (s.node, s.stress)).collect();
        Ok(Self { mesh, displacement, stresses })
    }

    /// Radial displacement at the node nearest to a point, m.
    pub fn radial(&self, point: [f64; 2]) -> f64 {
        self.displacement[2 * self.mesh.nearest_node(point)]
    }

    /// Axial displacement at the node nearest to a point, m.
    pub fn axial(&self, point: [f64; 2]) -> f64 {
        self.displacement[2 * self.mesh.nearest_node(point) + 1]
    }

    /// Stress at the node nearest to a point, Pa.
    pub fn stress(&self, point: [f64; 2]) -> Stress {
        let wanted = self.mesh.nearest_node(point);
        self.stresses.iter().find(|(node, _)| *node == wanted).map(|(_, stress)| *stress).unwrap_or_default()
    }

    /// Greatest von Mises stress, Pa.
    pub fn greatest_von_mises(&self) -> f64 {
        self.stresses.iter().map(|(_, stress)| stress.von_mises()).fold(0.0, f64::max)
    }

    /// Greatest radial stress, Pa.
    pub fn greatest_radial(&self) -> f64 {
        self.stresses.iter().map(|(_, stress)| stress.radial).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Least-squares slope of the axial displacement over the nodes of the plane `z`, rad.
    pub fn face_slope(&self, z: f64) -> f64 {
        let nodes: Vec<usize> = (0..self.mesh.nodes.len()).filter(|node| (self.mesh.nodes[*node][1] - z).abs() < 1e-12).collect();
        let mean = |f: &dyn Fn(usize) -> f64| nodes.iter().map(|node| f(*node)).sum::<f64>() / nodes.len() as f64;
        let radius = mean(&|n| self.mesh.nodes[n][0]);
        mean(&|n| (self.mesh.nodes[n][0] - radius) * self.displacement[2 * n + 1]) / mean(&|n| (self.mesh.nodes[n][0] - radius).powi(2))
    }
}

/// Load vector of zero.
pub fn no_load(mesh: &Mesh) -> Vec<f64> {
    vec![0.0; 2 * mesh.nodes.len()]
}

/// Add a pressure on every given edge, Pa.
pub fn press(mesh: &Mesh, spans: &[EdgeSpan], pressure: f64, load: &mut [f64]) {
    for span in spans {
        add_pressure_load(mesh, span, pressure, load);
    }
}

/// Hold the axial motion of the node nearest to a point.
pub fn held_axially(mesh: &Mesh, point: [f64; 2]) -> Vec<(usize, f64)> {
    vec![(2 * mesh.nearest_node(point) + 1, 0.0)]
}

/// Read one value of a solution, or pass its failure on.
pub fn read<T>(solved: &Result<T, String>, value: impl Fn(&T) -> f64) -> Result<f64, String> {
    solved.as_ref().map(value).map_err(Clone::clone)
}
