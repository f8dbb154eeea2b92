//! Which published checks prove the models that a result uses.
//!
//! A model without a proof is `unproven`, and the result says so. What each model is stands with the checks; a test of the
//! application holds this list against them.

/// Id of a model with the ids of the checks that prove it; arithmetic and comparisons never count.
pub const PROOFS: &[(&str, &[&str])] = &[
    ("film.axisymmetric", &["F1", "F2", "F3", "F4", "K1", "K3", "P1", "Q1"]),
    ("film.field", &["G1", "G2", "G3", "C1", "C2", "C3", "C4", "C5", "C6", "C7", "C8", "C9"]),
    ("film.slip", &["K1"]),
    ("film.roughness.shear", &["R3"]),
    ("contact.greenwood-tripp", &["R1", "R4"]),
    ("ring.heat", &["T2b", "T3c", "E2", "E7"]),
    ("ring.elasticity", &["T2", "T2b", "E1", "E4", "E5", "E6", "E7", "E9", "E9b"]),
    ("point.coupled", &["Q1"]),
    ("motion.coefficients", &["F6c"]),
    ("motion.following", &["F7b"]),
    ("motion.threshold", &["F7b"]),
    ("fluid.constant", &["F1", "F3", "K3", "P1"]),
    ("fluid.equation-of-state", &["I1", "I2", "I3"]),
];

/// Checks that prove a model.
pub fn proofs(id: &str) -> &'static [&'static str] {
    PROOFS.iter().find(|(model, _)| *model == id).map_or(&[], |(_, checks)| checks)
}

/// Proof state of a model in words.
pub fn proof_state(id: &str) -> String {
    match proofs(id) {
        [] => "unproven".to_owned(),
        checks => format!("checked by {}", checks.join(", ")),
    }
}
