//! F4: averaged centrifugal inertia of the film.

use crate::bench::{FACE_A_M, MILLILITRE_PER_HOUR, RigidFilm, RigidFilmResult};
use crate::{Check, Kind, Quantity};

/// One face turning, parallel gap.
pub const CHECK: Check = Check {
    id: "F4",
    title: "Spin of the film: leakage, force and outward pumping with one face turning",
    source: "Findlay, J. Lub. Tech. 90 (1968); Pinkus and Lund, J. Lub. Tech. 103 (1981) (theory, from memory); digits: closed form of \
             dp/dr = (3/10) rho w^2 r - 6 mu Q/(pi r h^3) evaluated independently",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.axisymmetric"],
    run,
};

const REASON: &str = "closed form to 9 digits; the film is exact on quadratic elements to about 1e-7";

fn run(distortion: f64) -> Vec<Quantity> {
    let speed = 1000.0 * (1.0 + 0.01 * distortion);
    let at = |pressure: f64, speed: f64| {
        RigidFilm { gap_m: [2e-6, 2e-6], gauge_pressure_pa: [0.0, pressure], speed_rad_per_s: speed, spin: true, ..RigidFilm::default() }
            .solve()
    };
    let (driven, pumping) = (at(2e6, speed), at(0.0, speed));
    let read =
        |film: &Result<RigidFilmResult, String>, value: &dyn Fn(&RigidFilmResult) -> f64| film.as_ref().map(value).map_err(Clone::clone);
    vec![
        Quantity::relative(
            "leakage at 2 MPa",
            "m3/s",
            127.187_910 * MILLILITRE_PER_HOUR,
            read(&driven, &|f| f.leakage_m3_per_s),
            1e-6,
            REASON,
        ),
        Quantity::relative("opening force at 2 MPa", "N", 1_184.490_528, read(&driven, &|f| f.force_n), 1e-6, REASON),
        Quantity::relative(
            "outward pumping without pressure",
            "m3/s",
            3.437_111_7 * MILLILITRE_PER_HOUR,
            read(&pumping, &|f| -f.leakage_m3_per_s),
            1e-6,
            REASON,
        ),
        Quantity::relative(
            "force without pressure",
            "N",
            -2.224_120_4,
            read(&pumping, &|f| f.force_n),
            1e-4,
            "a small difference: quadratic elements leave 1e-4 of it",
        ),
        Quantity::relative(
            "pressure at the mean radius without pressure",
            "Pa",
            -3_027.537,
            read(&pumping, &|f| middle_pressure(f)),
            1e-4,
            "a small difference of large terms",
        ),
        Quantity::relative("speed without leakage at 2 MPa", "rad/s", 6_164.762_7, zero_leak_speed(&at, distortion), 1e-6, REASON),
    ]
}

fn middle_pressure(result: &RigidFilmResult) -> f64 {
    let mean = 0.5 * (FACE_A_M[0] + FACE_A_M[1]);
    let node = (0..result.nodes.len()).min_by(|a, b| {
        let distance = |k: usize| (result.nodes.radius_m[k] - mean).abs();
        distance(*a).total_cmp(&distance(*b))
    });
    node.map_or(f64::NAN, |k| result.film.pressure_pa[k] - crate::bench::AMBIENT_PA)
}

/// Leakage is linear in speed squared: the straight line through two solved films.
fn zero_leak_speed(at: &dyn Fn(f64, f64) -> Result<RigidFilmResult, String>, distortion: f64) -> Result<f64, String> {
    let pressure = 2e6 * (1.0 + 0.01 * distortion);
    let (slow, fast) = (6000.0_f64, 6300.0_f64);
    let (a, b) = (at(pressure, slow)?.leakage_m3_per_s, at(pressure, fast)?.leakage_m3_per_s);
    Ok((slow * slow + (fast * fast - slow * slow) * a / (a - b)).sqrt())
}
