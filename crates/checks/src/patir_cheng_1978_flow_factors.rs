//! R2: constants of the average-flow factors.

use halfmicron::film::roughness::flow_factor;

use crate::bench::worst;
use crate::{Check, Kind, Quantity};

/// Constants of the average-flow model.
pub const CHECK: Check = Check {
    id: "R2",
    title: "Average-flow factors: constants of the isotropic pair, joins of the shear-flow table",
    source: "Patir and Cheng, J. Lub. Tech. 100 (1978) 12 and 101 (1979) 220: constants from memory; the isotropic pair 0.90/0.56 read in notes of a \
             public code",
    kind: Kind::Arithmetic,
    from_memory: true,
    models: &["film.roughness.flow"],
    run,
};

/// Orientation, then A1, a1, a2, a3, A2 of the shear-flow factor.
const SHEAR_FLOW: [(&str, [f64; 5]); 7] = [
    ("1/9", [2.046, 1.12, 0.78, 0.03, 1.856]),
    ("1/6", [1.962, 1.08, 0.77, 0.03, 1.754]),
    ("1/3", [1.858, 1.01, 0.76, 0.03, 1.561]),
    ("1", [1.899, 0.98, 0.92, 0.05, 1.126]),
    ("3", [1.560, 0.85, 1.13, 0.08, 0.556]),
    ("6", [1.290, 0.62, 1.09, 0.08, 0.388]),
    ("9", [1.011, 0.54, 1.07, 0.08, 0.295]),
];

fn run(distortion: f64) -> Vec<Quantity> {
    let shift = 1.0 + 0.05 * distortion;
    let flow = [0.5, 1.0, 2.0, 3.0, 6.0]
        .iter()
        .map(|h: &f64| {
            Quantity::relative(
                format!("flow factor at H = {h}"),
                "",
                1.0 - 0.90 * (-0.56 * h).exp(),
                Ok(flow_factor(h * shift)),
                1e-12,
                "same formula",
            )
        })
        .collect();
    let joins = SHEAR_FLOW
        .iter()
        .map(|(orientation, [a1, e1, e2, e3, a2])| {
            let ratio: f64 = 5.0 * shift;
            let lower = a1 * ratio.powf(*e1) * (-e2 * ratio + e3 * ratio * ratio).exp();
            Quantity::relative(
                format!("shear-flow branches at H = 5, orientation {orientation}"),
                "",
                a2 * (-0.25_f64 * 5.0).exp(),
                Ok(lower),
                1e-3,
                "four printed digits; confirms the constants of both branches against each other",
            )
        })
        .collect();
    [worst(flow), worst(joins)].into_iter().flatten().collect()
}
