//! R3: shear factor of rough faces by its definition.

use halfmicron::film::roughness::shear_factor;

use crate::{Check, Kind, Quantity};

/// Closed form against the definition.
pub const CHECK: Check = Check {
    id: "R3",
    title: "Shear factor of rough faces: closed form against the mean of h over the local gap",
    source: "Patir and Cheng, J. Lub. Tech. 101 (1979) 220 (definition from memory: density (35/32)(1 - s^2)^3 on three roughnesses, local gap cut \
             off at 1/300 of them); digits: quadrature of the definition evaluated independently to 15 digits",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.roughness.shear"],
    run,
};

/// `h/sigma` and `phi_f`.
const TABLE: [(f64, f64); 6] =
    [(0.5, 0.906_430_567_3), (1.0, 1.634_670_978), (2.0, 1.742_966_173), (3.0, 1.166_666_559), (4.0, 1.074_951_341), (6.0, 1.029_878_367)];

fn run(distortion: f64) -> Vec<Quantity> {
    let reason = "the published closed form drops terms of first order in the cut-off of 1/300";
    TABLE
        .map(|(ratio, expected)| {
            Quantity::relative(
                format!("shear factor at h/sigma = {ratio}"),
                "",
                expected,
                Ok(shear_factor(ratio * (1.0 + 0.05 * distortion))),
                2e-3,
                reason,
            )
        })
        .into()
}
