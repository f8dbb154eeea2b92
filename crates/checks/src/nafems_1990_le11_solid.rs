//! E1: stepped solid under a temperature field.

use std::f64::consts::PI;

use halfmicron_numerics::elasticity::Isotropic;
use halfmicron_numerics::mesh::{Block, Mesh};

use crate::section::{Deformed, field, no_load, read};
use crate::{Check, Kind, Quantity};

/// Benchmark LE11.
pub const CHECK: Check = Check {
    id: "E1",
    title: "Benchmark LE11: solid of revolution under a temperature field, axial stress at A",
    source: "NAFEMS standard benchmarks TNSB rev. 3 (1990), LE11: target -105 MPa and coordinates (read in public finite-element test files)",
    kind: Kind::Proof,
    from_memory: false,
    models: &["ring.elasticity"],
    run,
};

fn run(distortion: f64) -> Vec<Quantity> {
    let solid = solved(2.3e-4 * (1.0 + 0.1 * distortion));
    let reason = "target printed to three digits; fine meshes of several programs settle near -105.5 MPa";
    vec![Quantity::relative("axial stress at A", "Pa", -105e6, read(&solid, |s| s.stress([1.0, 0.0]).axial), 0.02, reason)]
}

fn solved(expansion: f64) -> Result<Deformed, String> {
    let material = Isotropic { youngs_modulus: 210e9, poisson: 0.3, expansion, density: 7800.0 };
    let mesh = section(12);
    let rise = field(&mesh, |[r, z]| r + z);
    let held: Vec<(usize, f64)> = (0..mesh.nodes.len())
        .filter(|node| mesh.nodes[*node][1].abs() < 1e-9 || (mesh.nodes[*node][1] - 1.79).abs() < 1e-9)
        .map(|node| (2 * node + 1, 0.0))
        .collect();
    let load = no_load(&mesh);
    Deformed::solve(mesh, material, &load, Some(&rise), &held)
}

type Curve = Box<dyn Fn(f64) -> [f64; 2]>;

fn line(a: [f64; 2], b: [f64; 2]) -> Curve {
    Box::new(move |t| [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])])
}

fn arc(radius: f64, from: f64, to: f64) -> Curve {
    Box::new(move |t| {
        let angle = from + t * (to - from);
        [radius * angle.cos(), radius * angle.sin()]
    })
}

/// Four blocks between the inner line A, E, H and the outer line B, D, G, I.
fn section(divisions: usize) -> Mesh {
    let s = 0.5_f64.sqrt();
    let (d, g) = ([1.4 * (PI / 6.0).cos(), 0.7], [1.0, 1.39]);
    let knee = [0.5 * (d[0] + g[0]), 0.5 * (d[1] + g[1])];
    let sides: [(Curve, Curve); 4] = [
        (arc(1.0, 0.0, PI / 8.0), arc(1.4, 0.0, PI / 6.0)),
        (arc(1.0, PI / 8.0, PI / 4.0), line(d, knee)),
        (line([s, s], [s, 1.39]), line(knee, g)),
        (line([s, 1.39], [s, 1.79]), line(g, [1.0, 1.79])),
    ];
    let maps: Vec<_> = sides
        .iter()
        .map(|(inner, outer)| {
            move |u: f64, v: f64| {
                let (a, b) = (inner(v), outer(v));
                [a[0] + u * (b[0] - a[0]), a[1] + u * (b[1] - a[1])]
            }
        })
        .collect();
    let blocks: Vec<Block<'_>> = maps.iter().map(|map| Block { divisions: [divisions; 2], map, material: 0 }).collect();
    Mesh::from_blocks(&blocks, 1e-9)
}
