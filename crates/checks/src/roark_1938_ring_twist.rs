//! E8 and E9: ring that twists.

use std::f64::consts::PI;

use crate::ring_bench::{RingBench, SolvedRing, part};
use crate::section::{CARBON, Deformed, cylinder, edges, held_axially, mesh, no_load, press, read, rectangle};
use crate::{Check, Kind, Quantity};

const RING_THEORY: &str = "Timoshenko, Strength of Materials, part II; Roark, Formulas for Stress and Strain, ring case (theory from memory); digits: \
                           12 M R/(E L^3 ln(ro/ri)) evaluated independently";

/// Ring formula alone.
pub const CHECK: Check = Check {
    id: "E8",
    title: "Ring twisted by a moment: angle and corner stress by the formula of rigid sections",
    source: RING_THEORY,
    kind: Kind::Arithmetic,
    from_memory: false,
    models: &[],
    run: formula,
};

/// Shipped elasticity against ring theory.
pub const THEORY_CHECK: Check = Check {
    id: "E8b",
    title: "Twist of a ring by finite elements against the formula of rigid sections",
    source: RING_THEORY,
    kind: Kind::Comparison,
    from_memory: false,
    models: &["ring.elasticity"],
    run: against_theory,
};

/// Shipped elasticity against an independent program.
pub const SOLID_CHECK: Check = Check {
    id: "E9",
    title: "Ring pressed on half its outside: coning of the face and displacements",
    source: "independent 8-node finite-element program on four grids; radii 25 and 35 mm, length 10 mm, E 25 GPa, nu 0.2, 2 MPa over 0 <= z <= 5 mm",
    kind: Kind::Proof,
    from_memory: false,
    models: &["ring.elasticity"],
    run: against_program,
};

/// The shipped ring, from section to face.
pub const RING_CHECK: Check = Check {
    id: "E9b",
    title: "The same by the shipped ring: sealed pressure up to the secondary seal, held at a circle",
    source: "as E9",
    kind: Kind::Proof,
    from_memory: false,
    models: &["ring.elasticity"],
    run: by_ring,
};

const RADII: [f64; 2] = [0.025, 0.035];
const MEAN_RADIUS: f64 = 0.030;
const LENGTH: f64 = 0.010;

/// Angle for a moment per length at the mean radius, rad.
fn twist(moment: f64) -> f64 {
    12.0 * moment * MEAN_RADIUS / (CARBON.youngs_modulus * LENGTH.powi(3) * (RADII[1] / RADII[0]).ln())
}

fn formula(distortion: f64) -> Vec<Quantity> {
    let reason = "same formula, 8 digits";
    let moment = 100.0 * (1.0 + 0.05 * distortion);
    let angle = twist(moment);
    let (width, modulus) = (RADII[1] - RADII[0], CARBON.youngs_modulus);
    let thin = moment * MEAN_RADIUS.powi(2) / (modulus * width * LENGTH.powi(3) / 12.0);
    vec![
        Quantity::relative("angle", "rad", 4.279_699_3e-3, Ok(angle), 1e-6, reason),
        Quantity::relative("angle, thin form", "rad", 4.32e-3, Ok(thin), 1e-6, reason),
        Quantity::relative(
            "hoop stress at the inner corner",
            "Pa",
            21.398_497e6,
            Ok(modulus * angle * 0.5 * LENGTH / RADII[0]),
            1e-6,
            reason,
        ),
    ]
}

fn against_theory(distortion: f64) -> Vec<Quantity> {
    let scale = 1.0 + 0.2 * distortion;
    let reason = "ring theory takes the section as rigid; published difference 3.8 % on this ring";
    let moment = couple(100.0 * scale);
    let pressed = half_pressed(2e6 * scale);
    vec![
        Quantity::relative(
            "angle under a moment of 100 N",
            "rad",
            twist(100.0),
            read(&moment, |r| (r.radial([MEAN_RADIUS, LENGTH]) - r.radial([MEAN_RADIUS, 0.0])) / LENGTH),
            0.05,
            reason,
        ),
        Quantity::relative("slope of the face under half pressure", "rad", -1248.2e-6, read(&pressed, |r| r.face_slope(0.0)), 0.05, reason),
    ]
}

fn against_program(distortion: f64) -> Vec<Quantity> {
    let ring = half_pressed(2e6 * (1.0 + 0.05 * distortion));
    let reason = "converged on four grids; printed to six digits";
    let corner = "converged on four grids; the end of the pressed band is a jump of load";
    vec![
        Quantity::relative(
            "axial deflection, inner less outer edge",
            "m",
            12.0243e-6,
            read(&ring, |r| r.axial([0.025, 0.0]) - r.axial([0.035, 0.0])),
            1e-3,
            reason,
        ),
        Quantity::relative(
            "least-squares slope of the face",
            "rad",
            -1202.32e-6,
            read(&ring, |r| r.face_slope(0.0)),
            3e-3,
            "depends on the spacing of the nodes",
        ),
        Quantity::relative(
            "radial displacement at the face, bore",
            "m",
            -10.2083e-6,
            read(&ring, |r| r.radial([0.025, 0.0])),
            1e-3,
            reason,
        ),
        Quantity::relative("radial displacement at the back, bore", "m", 2.0417e-6, read(&ring, |r| r.radial([0.025, 0.01])), 2e-3, corner),
    ]
}

fn by_ring(distortion: f64) -> Vec<Quantity> {
    let ring = sealed_half(2e6 * (1.0 + 0.05 * distortion));
    let reason = "converged on four grids; printed to six digits";
    vec![
        Quantity::relative(
            "axial deflection, inner less outer edge",
            "m",
            12.0243e-6,
            read(&ring, SolvedRing::inner_less_outer_m),
            1e-3,
            reason,
        ),
        Quantity::relative(
            "radial displacement at the face, bore",
            "m",
            -10.2083e-6,
            read(&ring, |r| r.displacement_m([0.025, 0.0])[0]),
            1e-3,
            reason,
        ),
        Quantity::relative(
            "radial displacement at the back, bore",
            "m",
            2.0417e-6,
            read(&ring, |r| r.displacement_m([0.025, 0.01])[0]),
            2e-3,
            reason,
        ),
    ]
}

fn sealed_half(gauge_pressure_pa: f64) -> Result<SolvedRing, String> {
    RingBench {
        parts: vec![part(RADII, [0.0, 0.5 * LENGTH], CARBON)?, part(RADII, [0.5 * LENGTH, LENGTH], CARBON)?],
        band_m: RADII,
        secondary_seal_m: [RADII[1], 0.5 * LENGTH],
        support_m: [RADII[1], LENGTH],
        gauge_pressure_pa,
        back_coefficient_w_per_m2_k: 1000.0,
        flux_w_per_m2: 0.0,
    }
    .solve()
}

fn half_pressed(pressure: f64) -> Result<Deformed, String> {
    let mesh = mesh(vec![rectangle(RADII, [0.0, LENGTH])], 0.0004, vec![[0.035, 0.005]])?;
    let mut load = no_load(&mesh);
    press(&mesh, &edges(&mesh, |p| (p[0] - 0.035).abs() < 1e-9 && p[1] < 0.005 + 1e-9), pressure, &mut load);
    let held = held_axially(&mesh, [0.035, 0.01]);
    Deformed::solve(mesh, CARBON, &load, None, &held)
}

/// Radial tractions on the outside, linear in z: a pure couple.
fn couple(moment: f64) -> Result<Deformed, String> {
    let mesh = mesh(vec![rectangle(RADII, [0.0, LENGTH])], 0.0004, Vec::new())?;
    let mut load = no_load(&mesh);
    let slope = moment * MEAN_RADIUS / RADII[1] / (LENGTH.powi(3) / 12.0);
    for span in cylinder(&mesh, RADII[1]) {
        for (point, weight) in span.points(&mesh) {
            let force = weight * 2.0 * PI * point.position[0] * point.outward[0] * slope * (point.position[1] - 0.5 * LENGTH);
            for (k, node) in span.edge.nodes.iter().enumerate() {
                load[2 * node] += force * point.shape[k];
            }
        }
    }
    let held = held_axially(&mesh, [0.035, 0.01]);
    Deformed::solve(mesh, CARBON, &load, None, &held)
}
