//! E4: thick ring under pressure.

use crate::section::{CARBON, Deformed, cylinder, held_axially, mesh, no_load, press, read, rectangle};
use crate::{Check, Kind, Quantity};

/// Lame's ring.
pub const CHECK: Check = Check {
    id: "E4",
    title: "Thick ring under outside or inside pressure: hoop stress, radial displacement, axial strain",
    source: "Lame 1852, in any text (Timoshenko, Strength of Materials, part II); digits: closed form for radii 25 and 35 mm, E 25 GPa, nu 0.2, 2 MPa",
    kind: Kind::Proof,
    from_memory: false,
    models: &["ring.elasticity"],
    run,
};

const INNER: [f64; 2] = [0.025, 0.005];
const OUTER: [f64; 2] = [0.035, 0.005];

fn run(distortion: f64) -> Vec<Quantity> {
    let pressure = 2e6 * (1.0 + 0.1 * distortion);
    let exact = "exact; displacements of 8-node elements at this size are good to 1e-7";
    let recovered = "exact; stresses are extrapolated from Gauss points of 0.5 mm elements";
    let outside = solved(OUTER[0], pressure);
    let inside = solved(INNER[0], pressure);
    let strain = read(&outside, |ring| (ring.axial([0.03, 0.01]) - ring.axial([0.03, 0.0])) / 0.01);
    let mut lines = vec![Quantity::relative("axial strain, outside pressure", "", 6.533_333_3e-5, strain, 1e-6, exact)];
    for (label, ring, hoop, radial) in [
        ("outside pressure", &outside, [-8.166_666_7e6, -6.166_666_7e6], [-8.166_666_7e-6, -8.073_333_3e-6]),
        ("inside pressure", &inside, [6.166_666_7e6, 4.166_666_7e6], [6.566_666_7e-6, 5.833_333_3e-6]),
    ] {
        for (k, (place, point)) in [("bore", INNER), ("outside", OUTER)].into_iter().enumerate() {
            lines.push(Quantity::relative(
                format!("hoop stress at the {place}, {label}"),
                "Pa",
                hoop[k],
                read(ring, |r| r.stress(point).hoop),
                2e-4,
                recovered,
            ));
            lines.push(Quantity::relative(
                format!("radial displacement at the {place}, {label}"),
                "m",
                radial[k],
                read(ring, |r| r.radial(point)),
                1e-6,
                exact,
            ));
        }
    }
    lines
}

fn solved(radius: f64, pressure: f64) -> Result<Deformed, String> {
    let mesh = mesh(vec![rectangle([0.025, 0.035], [0.0, 0.01])], 0.0005, Vec::new())?;
    let mut load = no_load(&mesh);
    press(&mesh, &cylinder(&mesh, radius), pressure, &mut load);
    let held = held_axially(&mesh, [0.03, 0.0]);
    Deformed::solve(mesh, CARBON, &load, None, &held)
}
