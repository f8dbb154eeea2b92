//! F2: coned faces with the curvature of the ring kept.

use crate::bench::{FACE_A_M, MILLILITRE_PER_HOUR, RigidFilm, RigidFilmResult, face_a_area_m2};
use crate::{Check, Kind, Quantity};

/// Coned rigid faces, exact radial solution.
pub const CHECK: Check = Check {
    id: "F2",
    title: "Coned faces, incompressible, curvature kept: leakage, force, profile factor, torque, power, stiffness",
    source: "Lebeck, Principles and Design of Mechanical Face Seals, Wiley 1991 (theory, from memory); digits: quadrature of the exact \
             radial solution to 1e-12, evaluated independently",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.axisymmetric"],
    run,
};

/// One published row: gaps in m, then leakage m3/s, force N, K, torque N m, power W, stiffness N/m.
struct Row {
    label: &'static str,
    gap_m: [f64; 2],
    leakage_m3_per_s: f64,
    force_n: f64,
    profile_factor: f64,
    torque_n_m: f64,
    power_w: f64,
    stiffness_n_per_m: f64,
}

const ROWS: [Row; 2] = [
    Row {
        label: "convergent 1 -> 2 um",
        gap_m: [1.0e-6, 2.0e-6],
        leakage_m3_per_s: 41.896_743 * MILLILITRE_PER_HOUR,
        force_n: 1_543.036_682,
        profile_factor: 0.699_987_6,
        torque_n_m: 0.178_400_41,
        power_w: 56.046_14,
        stiffness_n_per_m: 2.310_023e8,
    },
    Row {
        label: "divergent 1.5 -> 1 um",
        gap_m: [1.5e-6, 1.0e-6],
        leakage_m3_per_s: 30.075_921 * MILLILITRE_PER_HOUR,
        force_n: 963.116_031,
        profile_factor: 0.436_910_8,
        torque_n_m: 0.222_139_99,
        power_w: 69.787_34,
        stiffness_n_per_m: -1.818_917e8,
    },
];

const REASON: &str = "quadrature to 1e-12; 32 quadratic elements across the band leave about 1e-6";
const SLOPE_REASON: &str = "published stiffness is a difference over 0.1 nm";

fn run(distortion: f64) -> Vec<Quantity> {
    let mut lines: Vec<Quantity> = ROWS.iter().flat_map(|row| row_lines(row, distortion)).collect();
    let parallel = RigidFilm { gap_m: [1e-6, 1e-6 * (1.0 + 0.01 * distortion)], ..RigidFilm::default() };
    // A hundredth of the stiffness of the coned rows would be a gross error; rounding alone leaves about 1e2 N/m.
    lines.push(Quantity::absolute(
        "stiffness of parallel faces",
        "N/m",
        0.0,
        parallel.stiffness_n_per_m(),
        1e4,
        "exactly zero; rounding of a difference over 0.1 nm",
    ));
    lines
}

fn row_lines(row: &Row, distortion: f64) -> Vec<Quantity> {
    let scale = 1.0 + 0.01 * distortion;
    let setup = RigidFilm { gap_m: [row.gap_m[0], row.gap_m[1] * scale], ..RigidFilm::default() };
    let film = setup.solve();
    let of = |read: &dyn Fn(&RigidFilmResult) -> f64| film.as_ref().map(read).map_err(Clone::clone);
    let name = |quantity: &str| format!("{quantity}, {}", row.label);
    let drop = setup.gauge_pressure_pa[1];
    vec![
        Quantity::relative(name("leakage"), "m3/s", row.leakage_m3_per_s, of(&|f| f.leakage_m3_per_s), 1e-5, REASON),
        Quantity::relative(name("opening force"), "N", row.force_n, of(&|f| f.force_n), 1e-5, REASON),
        Quantity::relative(name("profile factor K"), "", row.profile_factor, of(&|f| f.force_n / (face_a_area_m2() * drop)), 1e-5, REASON),
        Quantity::relative(
            name("torque"),
            "N m",
            row.torque_n_m,
            of(&|f| f.film.shear_torque_n_m(&f.nodes, setup.speed_rad_per_s)),
            1e-5,
            REASON,
        ),
        Quantity::relative(name("power"), "W", row.power_w, of(&|f| f.power_w), 1e-5, REASON),
        Quantity::relative(name("axial stiffness"), "N/m", row.stiffness_n_per_m, setup.stiffness_n_per_m(), 5e-3, SLOPE_REASON),
    ]
}

/// Band width of face "A", m.
pub(crate) fn width_m() -> f64 {
    FACE_A_M[1] - FACE_A_M[0]
}
