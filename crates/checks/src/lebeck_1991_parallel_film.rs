//! F1: parallel faces, incompressible film.

use crate::bench::{MILLILITRE_PER_HOUR, RigidFilm, face_a_area_m2};
use crate::{Check, Kind, Quantity};

/// Parallel rigid faces, closed form.
pub const CHECK: Check = Check {
    id: "F1",
    title: "Parallel faces, incompressible: leakage, opening force, profile factor, torque, power",
    source: "Lebeck, Principles and Design of Mechanical Face Seals, Wiley 1991 (theory, from memory); digits: closed form \
             Q = pi h^3 dp/(6 mu ln(ro/ri)), F, T = pi mu w (ro^4 - ri^4)/(2 h) evaluated independently",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.axisymmetric", "fluid.constant"],
    run,
};

const REASON: &str = "closed form to 7 digits; 32 quadratic elements are exact to about 1e-7";

fn run(distortion: f64) -> Vec<Quantity> {
    let setup = RigidFilm {
        viscosity_pa_s: 1e-3 * (1.0 + 0.01 * distortion),
        gap_m: [1e-6, 1e-6 * (1.0 + 0.01 * distortion)],
        ..RigidFilm::default()
    };
    let film = setup.solve();
    let of = |read: &dyn Fn(&crate::bench::RigidFilmResult) -> f64| film.as_ref().map(read).map_err(Clone::clone);
    let drop = setup.gauge_pressure_pa[1];
    vec![
        Quantity::relative("leakage", "m3/s", 16.328_13 * MILLILITRE_PER_HOUR, of(&|f| f.leakage_m3_per_s), 1e-6, REASON),
        Quantity::relative("opening force", "N", 1_186.714_65, of(&|f| f.force_n), 1e-6, REASON),
        Quantity::relative(
            "profile factor K (not 0.5: the ring is curved)",
            "",
            0.538_344_7,
            of(&|f| f.force_n / (face_a_area_m2() * drop)),
            1e-6,
            REASON,
        ),
        Quantity::relative("torque", "N m", 0.267_737_70, of(&|f| f.film.shear_torque_n_m(&f.nodes, setup.speed_rad_per_s)), 1e-6, REASON),
        Quantity::relative("power", "W", 84.112_28, of(&|f| f.power_w), 1e-6, REASON),
    ]
}
