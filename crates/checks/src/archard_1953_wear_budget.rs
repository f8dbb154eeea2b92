//! W3: wear budget.

use crate::{Check, Kind, Quantity};

/// Specific wear that uses up a nose.
pub const CHECK: Check = Check {
    id: "W3",
    title: "Specific wear that uses up 3.2 mm in 25 000 h at the load of S1",
    source: "Archard, J. Appl. Phys. 24 (1953) 981 (law from memory); digits: depth/(p v t) with 0.667093 MPa and 8.67865 m/s of S1",
    kind: Kind::Arithmetic,
    from_memory: true,
    models: &[],
    run,
};

fn run(distortion: f64) -> Vec<Quantity> {
    let depth = 3.2e-3 * (1.0 + 0.1 * distortion);
    let speed = 100.0 * std::f64::consts::PI * 0.5 * 55.25e-3 * (1.0 + 0.1 * distortion);
    let wear = depth / (0.667_093e6 * 8.678_65 * 25_000.0 * 3600.0);
    vec![
        Quantity::relative("specific wear", "m2/N", 6.14e-18, Ok(wear), 1e-3, "three printed digits (6.14e-9 mm3/(N m))"),
        Quantity::relative("sliding speed", "m/s", 8.678_65, Ok(speed), 1e-5, "six printed digits"),
    ]
}
