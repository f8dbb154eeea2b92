//! E5: ring in a shrunk sleeve, by the shipped ring.

use halfmicron::model::{Fit, Part};
use halfmicron_numerics::elasticity::Isotropic;

use crate::ring_bench::{REFERENCE_K, RingBench, SolvedRing, part};
use crate::section::{CARBON, read};
use crate::{Check, Kind, Quantity};

/// Two Lame rings with interference.
pub const CHECK: Check = Check {
    id: "E5",
    title: "Shrink fit of a carbon ring in a steel sleeve: pressure, stresses, bore, slip torque",
    source: "two rings after Lame, in any text (Timoshenko, Strength of Materials, part II); digits: closed form for radii 25, 35 and 45 mm, E 25 and 200 \
             GPa, nu 0.2 and 0.3, radial interference 0.05 mm",
    kind: Kind::Proof,
    from_memory: false,
    models: &["ring.elasticity"],
    run,
};

/// Where sticking shows.
pub const STICKING_CHECK: Check = Check {
    id: "E5b",
    title: "Shrink fit that sticks along the axis against the closed form that slips",
    source: "as E5",
    kind: Kind::Comparison,
    from_memory: false,
    models: &["ring.elasticity"],
    run: sticking,
};

const STEEL: Isotropic = Isotropic { youngs_modulus: 200e9, poisson: 0.3, expansion: 12e-6, density: 7800.0 };
/// Thin, so that the free ends of the closed form hold: the shipped fit sticks along the axis.
const LENGTH: f64 = 0.0004;

fn run(distortion: f64) -> Vec<Quantity> {
    let ring = solved(0.05e-3 * (1.0 + 0.05 * distortion));
    let stuck = "the shipped fit sticks along the axis, the closed form slips: 3e-4 at a length of 0.4 mm";
    let recovered = "stresses are extrapolated from Gauss points; the fit sticks along the axis";
    let middle = 0.5 * LENGTH;
    let fit = |value: &dyn Fn(&halfmicron::outcome::FitResult) -> f64| read(&ring, |r| r.state.fits.first().map_or(f64::NAN, value));
    // Slip torque with friction 0.1 (common practice): 2 pi r^2 L mu p.
    let torque = 2.0 * std::f64::consts::PI * 0.035 * 0.035 * LENGTH * 0.1 * 10.416_440_6e6;
    let hoop = |material: usize, radius: f64| read(&ring, |r| r.stress(material, [radius, middle]).hoop);
    vec![
        Quantity::relative("pressure of the fit", "Pa", 10.416_440_6e6, fit(&|f| f.pressure_pa), 1e-3, stuck),
        Quantity::relative("slip torque with friction 0.1", "N m", torque, fit(&|f| f.slip_torque_n_m), 1e-3, stuck),
        Quantity::relative(
            "displacement of the bore",
            "m",
            -42.5338e-6,
            read(&ring, |r| r.displacement_m([0.025, middle])[0]),
            1e-3,
            stuck,
        ),
        Quantity::relative("hoop stress at the bore", "Pa", -42.533_799_2e6, hoop(0, 0.025), 1e-3, recovered),
        // Hoop plus radial stress is the same all through a Lame ring: 42.3167900 - 10.4164406.
        Quantity::relative("hoop stress at the outside of the sleeve", "Pa", 31.900_349_4e6, hoop(1, 0.045), 2e-3, recovered),
    ]
}

fn sticking(distortion: f64) -> Vec<Quantity> {
    let ring = solved(0.05e-3 * (1.0 + 0.3 * distortion));
    let stress = read(&ring, |r| r.stress(1, [0.035, 0.5 * LENGTH]).hoop);
    vec![
        Quantity::relative("hoop stress at the bore of the sleeve", "Pa", 42.316_790_0e6, stress, 0.02, "a sleeve without friction")
            .noted("the shipped fit sticks: both parts have one axial strain there, which adds stress within a thickness of the interface"),
    ]
}

fn solved(interference_m: f64) -> Result<SolvedRing, String> {
    let inner = part([0.025, 0.035], [0.0, LENGTH], CARBON)?;
    let (sleeve, steel) = part([0.035, 0.045], [0.0, LENGTH], STEEL)?;
    let fit = Fit { radius_m: 0.035, interference_m, temperature_k: REFERENCE_K };
    RingBench {
        parts: vec![inner, (Part { fit: Some(fit), ..sleeve }, steel)],
        band_m: [0.025, 0.035],
        secondary_seal_m: [0.045, LENGTH],
        support_m: [0.030, LENGTH],
        gauge_pressure_pa: 0.0,
        back_coefficient_w_per_m2_k: 1000.0,
        flux_w_per_m2: 0.0,
    }
    .solve()
}
