//! T2: coning of a free ring with a linear temperature.

use crate::ring_bench::{CONDUCTIVITY, REFERENCE_K, RingBench, SolvedRing, part};
use crate::section::{CARBON, Deformed, field, mesh, no_load, read, rectangle};
use crate::{Check, Kind, Quantity};

/// Thermal coning without stress.
pub const CHECK: Check = Check {
    id: "T2",
    title: "Temperature linear along the axis: coning of a free ring of any section, no stress",
    source: "linear temperature leaves a free body without stress (Boley and Weiner, Theory of Thermal Stresses 1960, from memory); digits: \
             u = alpha g r z, w = alpha g (z^2 - r^2)/2 for alpha 4.5e-6/K, g 2000 K/m, radii 24.45 and 30.80 mm",
    kind: Kind::Proof,
    from_memory: false,
    models: &["ring.elasticity"],
    run,
};

/// The shipped ring, heated evenly on its face and cooled at its back.
pub const RING_CHECK: Check = Check {
    id: "T2b",
    title: "The same by the shipped ring: face heated evenly, back cooled, sides insulated",
    source: "as T2; the even flux q makes the temperature linear, g = -q/k, and the face rise q (L/k + 1/h)",
    kind: Kind::Proof,
    from_memory: false,
    models: &["ring.elasticity", "ring.heat"],
    run: by_ring,
};

fn run(distortion: f64) -> Vec<Quantity> {
    let ring = solved(distortion);
    let exact = "exact in the element space; only rounding is left";
    let coning = read(&ring, |r| r.axial([0.0308, 0.0]) - r.axial([0.02445, 0.0]));
    vec![
        Quantity::relative("axial deflection, outer less inner edge", "m", -1.578_768_75e-6, coning.clone(), 1e-6, exact),
        Quantity::relative("mean slope", "rad", -248.625e-6, coning.map(|w| w / (0.0308 - 0.02445)), 1e-6, exact),
        Quantity::absolute(
            "greatest von Mises stress",
            "Pa",
            0.0,
            read(&ring, Deformed::greatest_von_mises),
            1.0,
            "zero against E alpha dT of 3e6 Pa: rounding",
        ),
    ]
}

/// A stepped section: the shape does not matter. The distortion adds a temperature that is not linear.
fn solved(distortion: f64) -> Result<Deformed, String> {
    let section = vec![
        rectangle([0.02445, 0.0308], [0.0, 0.0025]),
        rectangle([0.02445, 0.035], [0.0025, 0.009]),
        rectangle([0.02635, 0.035], [0.009, 0.015]),
    ];
    let mesh = mesh(section, 0.001, Vec::new())?;
    let rise = field(&mesh, |[r, z]| 2000.0 * z * (1.0 + 0.1 * distortion) + distortion * 1e5 * (r - 0.0276).powi(2));
    let load = no_load(&mesh);
    Deformed::solve(mesh, CARBON, &load, Some(&rise), &[(1, 0.0)])
}

const LENGTH: f64 = 0.012;
const BACK_COEFFICIENT: f64 = 5000.0;
/// Gradient of T2 by flux, W/m2.
const FLUX: f64 = 2000.0 * CONDUCTIVITY;

fn by_ring(distortion: f64) -> Vec<Quantity> {
    let ring = heated(FLUX * (1.0 + 0.05 * distortion));
    let rise = FLUX * (LENGTH / CONDUCTIVITY + 1.0 / BACK_COEFFICIENT);
    let heat = FLUX * std::f64::consts::PI * (0.0308_f64.powi(2) - 0.02445_f64.powi(2));
    let exact = "exact in the element space; rounding of the reduction is left";
    vec![
        // The heated face is hot in front: its outer edge moves into the body, the gap opens outward.
        Quantity::relative(
            "deflection into the body, outer less inner edge",
            "m",
            1.578_768_75e-6,
            read(&ring, |r| -r.inner_less_outer_m()),
            1e-5,
            exact,
        ),
        Quantity::relative("rise of the face", "K", rise, read(&ring, |r| r.state.face_temperature_k[0] - REFERENCE_K), 1e-7, exact),
        Quantity::relative("heat leaving at the back", "W", heat, read(&ring, |r| r.state.convected_heat_w), 1e-7, exact),
    ]
}

fn heated(flux_w_per_m2: f64) -> Result<SolvedRing, String> {
    let radii = [0.02445, 0.0308];
    RingBench {
        parts: vec![part(radii, [0.0, LENGTH], CARBON)?],
        band_m: radii,
        secondary_seal_m: [radii[1], LENGTH],
        support_m: [0.0276, LENGTH],
        gauge_pressure_pa: 0.0,
        back_coefficient_w_per_m2_k: BACK_COEFFICIENT,
        flux_w_per_m2,
    }
    .solve()
}
