//! E6: spinning ring.

use halfmicron_numerics::elasticity::{Isotropic, add_centrifugal_load};

use crate::section::{Deformed, mesh, no_load, read, rectangle};
use crate::{Check, Kind, Quantity};

/// Spinning thin ring, plane stress.
pub const CHECK: Check = Check {
    id: "E6",
    title: "Spinning ring: hoop and radial stress, radial displacement",
    source: "Timoshenko and Goodier, Theory of Elasticity, rotating discs (from memory); digits: closed form for rho 3100, E 410 GPa, nu 0.16, radii 55 \
             and 85 mm, 1087 rad/s",
    kind: Kind::Proof,
    from_memory: false,
    models: &["ring.elasticity"],
    run,
};

fn run(distortion: f64) -> Vec<Quantity> {
    let ring = solved(1087.0 * (1.0 + 0.05 * distortion));
    let plane = "plane stress; a disc of 0.5 mm differs by less than 1e-5";
    let recovered = "stresses are extrapolated from Gauss points of 0.5 mm elements";
    let (bore, outside) = ([0.055, 0.0], [0.085, 0.0]);
    vec![
        Quantity::relative("hoop stress at the bore", "Pa", 23.233_545_7e6, read(&ring, |r| r.stress(bore).hoop), 5e-4, recovered),
        Quantity::relative("hoop stress at the outside", "Pa", 14.310_809_3e6, read(&ring, |r| r.stress(outside).hoop), 5e-4, recovered),
        Quantity::relative("greatest radial stress", "Pa", 1.302_148_2e6, read(&ring, Deformed::greatest_radial), 2e-3, recovered),
        Quantity::relative("radial displacement at the bore", "m", 3.116_695_2e-6, read(&ring, |r| r.radial(bore)), 2e-5, plane),
        Quantity::relative("radial displacement at the outside", "m", 2.966_875_1e-6, read(&ring, |r| r.radial(outside)), 2e-5, plane),
    ]
}

fn solved(speed: f64) -> Result<Deformed, String> {
    let silicon_carbide = Isotropic { youngs_modulus: 410e9, poisson: 0.16, expansion: 4e-6, density: 3100.0 };
    let mesh = mesh(vec![rectangle([0.055, 0.085], [0.0, 0.0005])], 0.0005, Vec::new())?;
    let mut load = no_load(&mesh);
    add_centrifugal_load(&mesh, &[silicon_carbide], speed * speed, &mut load);
    Deformed::solve(mesh, silicon_carbide, &load, None, &[(1, 0.0)])
}
