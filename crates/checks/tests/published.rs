//! One test for each published check, run by the very code that users run.

use halfmicron_checks::{Check, CheckVerdict, all};

/// Disagreements that stand: check, start of the quantity, reason. Anything else that disagrees fails.
const KNOWN: &[(&str, &str, &str)] = &[
    ("T3b", "conductance, face held, k = 15", "the fin leaves out the radial fall of temperature: Biot number 2.1"),
    ("E5b", "hoop stress at the bore of the sleeve", "the shipped fit sticks along the axis, the closed form slips"),
];

fn known(id: &str, quantity: &str) -> bool {
    KNOWN.iter().any(|(check, start, _)| *check == id && quantity.starts_with(start))
}

fn verify(id: &str) {
    let check: Check = all().into_iter().find(|check| check.id == id).unwrap_or_else(|| panic!("no check {id}"));
    let results = check.results();
    assert!(!results.is_empty(), "{id} computes nothing");
    for r in &results {
        let agrees = r.verdict == CheckVerdict::Agrees;
        assert_eq!(
            agrees,
            !known(id, &r.quantity),
            "{id} {}: {:e} against {:e} +- {:e} {} {}",
            r.quantity,
            r.computed,
            r.expected,
            r.tolerance,
            r.unit,
            r.note
        );
        assert!(!r.contradicts(), "{id} {}: only a comparison may disagree", r.quantity);
        // The line must be able to fail: a value off by twice the tolerance, and one computed from a distorted input.
        assert!(
            r.tolerance > 0.0 && r.tolerance <= 0.35 * r.expected.abs().max(if r.expected == 0.0 { f64::INFINITY } else { 0.0 }),
            "{id} {}: tolerance {:e}",
            r.quantity,
            r.tolerance
        );
        for sign in [-1.0, 1.0] {
            assert_eq!(r.word_for(r.expected + sign * 2.0 * r.tolerance), CheckVerdict::Disagrees, "{id} {}", r.quantity);
        }
        assert_eq!(r.word_for(f64::NAN), CheckVerdict::Disagrees);
        assert!(!r.tolerance_reason.is_empty() && !r.source.is_empty());
    }
    let distorted = check.results_distorted(1.0);
    assert_eq!(distorted.len(), results.len());
    for r in distorted.iter().filter(|r| !known(id, &r.quantity)) {
        assert!(r.computed.is_finite(), "{id} {}: {}", r.quantity, r.note);
        assert_eq!(
            r.verdict,
            CheckVerdict::Disagrees,
            "{id} {} does not notice a distorted input: {:e} against {:e} +- {:e}",
            r.quantity,
            r.computed,
            r.expected,
            r.tolerance
        );
    }
}

macro_rules! published {
    ($($name:ident = $id:literal),* $(,)?) => {
        $(#[test] fn $name() { verify($id); })*
        const TESTED: &[&str] = &[$($id),*];
    };
}

published! {
    f1 = "F1", f2 = "F2", f3 = "F3", f4 = "F4", f5 = "F5", f6 = "F6", f6_solver = "F6b", f6_motion = "F6c", f7 = "F7", f7_motion = "F7b",
    k1 = "K1", k2 = "K2", k3 = "K3", k4 = "K4", p1 = "P1",
    g1 = "G1", g2 = "G2", g3 = "G3",
    c1 = "C1", c2 = "C2", c3 = "C3", c4 = "C4", c5 = "C5", c6 = "C6", c7 = "C7", c8 = "C8", c9 = "C9",
    r1 = "R1", r2 = "R2", r3 = "R3", r4 = "R4",
    s1 = "S1",
    t2 = "T2", t2_ring = "T2b", t3 = "T3", t3_fin = "T3b", t3_series = "T3c",
    e1 = "E1", e2 = "E2", e4 = "E4", e5 = "E5", e5_sticking = "E5b", e6 = "E6", e7 = "E7", e8 = "E8", e8_theory = "E8b", e9 = "E9", e9_ring = "E9b",
    q1 = "Q1",
    i1 = "I1", i2 = "I2", i3 = "I3", i4 = "I4",
    h1 = "H1", h4 = "H4", o1 = "O1", w3 = "W3",
}

#[test]
fn every_check_is_tested_once_and_ids_are_unique() {
    let mut ids: Vec<&str> = all().iter().map(|check| check.id).collect();
    for id in &ids {
        assert!(TESTED.contains(id), "{id} has no test of its own");
    }
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count);
    assert_eq!(TESTED.len(), count);
}

#[test]
fn known_disagreements_exist() {
    for (id, start, reason) in KNOWN {
        assert!(!reason.is_empty());
        let check = all().into_iter().find(|check| check.id == *id).unwrap_or_else(|| panic!("no check {id}"));
        assert!(check.results().iter().any(|r| r.quantity.starts_with(start)), "{id} {start}");
    }
}
