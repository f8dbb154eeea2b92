//! E2: plane conduction with convection.

use halfmicron_numerics::heat::{self, Geometry, HeatProblem};
use halfmicron_numerics::mesh::{Mesh, Plan, SizeField, SizeSource};

use crate::section::{edges, read, rectangle};
use crate::{Check, Kind, Quantity};

/// Benchmark T4.
pub const CHECK: Check = Check {
    id: "E2",
    title: "Benchmark T4: plane conduction with convection on two sides",
    source: "NAFEMS standard benchmarks T4, target 18.25 degC at (0.6, 0.2) (read in public finite-element test files); further digits: exact series \
             evaluated independently",
    kind: Kind::Proof,
    from_memory: false,
    models: &["ring.heat"],
    run,
};

const POINTS: [([f64; 2], f64); 5] = [
    ([0.6, 0.2], 18.253_756_5),
    ([0.0, 0.2], 70.060_663_1),
    ([0.3, 0.5], 28.319_959_7),
    ([0.0, 1.0], 3.367_769_3),
    ([0.6, 1.0], 0.554_129_9),
];

struct Plate {
    mesh: Mesh,
    temperature: Vec<f64>,
}

fn run(distortion: f64) -> Vec<Quantity> {
    let plate = solved(750.0 * (1.0 + 0.2 * distortion));
    let at = |point: [f64; 2]| read(&plate, |p| p.at(point));
    let mut lines =
        vec![Quantity::relative("rise at (0.6, 0.2), published target", "K", 18.25, at([0.6, 0.2]), 1e-3, "target printed to four digits")];
    lines.extend(POINTS.map(|(point, exact)| {
        Quantity::relative(
            format!("rise at ({}, {}), series", point[0], point[1]),
            "K",
            exact,
            at(point),
            1e-3,
            "the boundary flux is singular at (0.6, 0)",
        )
    }));
    lines
}

impl Plate {
    /// Rise at a node.
    fn at(&self, point: [f64; 2]) -> f64 {
        self.temperature[self.mesh.places[self.mesh.nearest_node(point)]]
    }
}

fn solved(coefficient: f64) -> Result<Plate, String> {
    // Four rectangles make (0.3, 0.5) a node; the bore of 1 nm stands for the symmetry line of a plane body.
    let (r, z) = ([1e-9, 0.3, 0.6], [0.0, 0.5, 1.0]);
    let pieces = (0..4).map(|k| rectangle([r[k % 2], r[k % 2 + 1]], [z[k / 2], z[k / 2 + 1]])).collect();
    let corner = SizeSource { ends: [[0.6, 0.0], [0.6, 0.0]], size: 0.004, growth: 0.15 };
    let plan = Plan { pieces, line: None, points: vec![[0.6, 0.2]], sizes: SizeField { coarse: 0.05, sources: vec![corner] } };
    let mesh = plan.mesh().map_err(|error| error.to_string())?;
    let cooled = edges(&mesh, |p| (p[0] - 0.6).abs() < 1e-9 || (p[1] - 1.0).abs() < 1e-9);
    let convection = cooled.into_iter().map(|span| (span, coefficient, 0.0)).collect();
    let held = (0..mesh.nodes.len()).filter(|node| mesh.nodes[*node][1].abs() < 1e-12).map(|node| (mesh.places[node], 100.0)).collect();
    let problem = HeatProblem { convection, held, ..HeatProblem::default() };
    let temperature = heat::solve(&mesh, Geometry::Plane, |_, _| 52.0, &problem).map_err(|error| error.to_string())?;
    Ok(Plate { mesh, temperature })
}
