//! H4: drag of a turning cylinder, as the shipped convection uses it.

use halfmicron::convection::cylinder_skin_friction;

use crate::{Check, Kind, Quantity};

/// Smooth cylinder.
pub const CHECK: Check = Check {
    id: "H4",
    title: "Drag of a smooth turning cylinder",
    source: "Theodorsen and Regier, NACA report 793 (1944): 1/sqrt(C) = -0.6 + 4.07 log10(Re sqrt(C)) (from memory); digits solved independently",
    kind: Kind::Arithmetic,
    from_memory: true,
    models: &["ring.convection"],
    run,
};

fn run(distortion: f64) -> Vec<Quantity> {
    [(1e4, 7.719_98e-3), (1e5, 4.463_96e-3), (1e6, 2.875_50e-3)]
        .map(|(reynolds, expected)| {
            let computed = cylinder_skin_friction(reynolds * (1.0 + distortion));
            Quantity::relative(format!("drag coefficient at Re = {reynolds:.0e}"), "", expected, Ok(computed), 1e-5, "six printed digits")
        })
        .into()
}
