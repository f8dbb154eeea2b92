//! Rings: from the section to influence matrices, and the response at new surroundings.

use divan::{Bencher, black_box};
use halfmicron::model::{BandLimits, FaceLoad, Part, PressureSide, Ring, RingRole, Support};
use halfmicron::ring::{MeshOptions, RingConditions, RingReduction, Solid, SurfaceCoefficients};
use halfmicron_properties::material::material;

fn main() {
    divan::main();
}

/// The floating ring of the brine booster.
fn booster() -> (Ring, Vec<Solid>, BandLimits) {
    let rect = |r: [f64; 2], z: [f64; 2]| [[r[0], z[0]], [r[1], z[0]], [r[1], z[1]], [r[0], z[1]]];
    let resin = material("carbon graphite, resin impregnated").expect("a shipped material");
    let carbon = Solid {
        name: "carbon".into(),
        youngs_modulus_pa: 23e9,
        poisson: 0.2,
        expansion_per_k: 4.5e-6,
        density_kg_per_m3: 1820.0,
        conductivity_w_per_m_k: 9.0,
        specific_heat_j_per_kg_k: 750.0,
        tension_pa: Some(4e7),
    };
    let sections =
        [rect([0.02445, 0.0308], [0.0, 0.0025]), rect([0.02445, 0.035], [0.0025, 0.009]), rect([0.02635, 0.035], [0.009, 0.015])];
    let ring = Ring {
        role: RingRole::Rotating,
        floating: true,
        parts: sections.into_iter().map(|corners_m| Part { material: resin.clone(), corners_m, fit: None }).collect(),
        support: Support::SpringCircle,
        spring_radius_m: 0.0307,
        secondary_seal_m: [0.028, 0.015],
        roughness_rq_m: 1e-7,
        flatness_m: 3e-7,
        lapped_coning_m: 0.0,
        edges: Vec::new(),
        stress_free_temperature_k: 293.15,
        fillet_radius_m: None,
        face_load: FaceLoad::default(),
    };
    (ring, vec![carbon; 3], BandLimits { inner_radius_m: 0.02445, outer_radius_m: 0.0308 })
}

fn conditions() -> RingConditions {
    RingConditions {
        sealed_pressure_pa: 1.2e6,
        low_pressure_pa: 101_325.0,
        balance_radius_m: 0.0262,
        speed_rad_per_s: 310.0,
        spring_force_n: 190.0,
        friction_force_n: 0.0,
        sealed_temperature_k: 311.0,
        low_side_temperature_k: 300.0,
        sealed_coefficient_w_per_m2_k: SurfaceCoefficients { cylinder: 1e4, plane: 1e4 },
        low_side_coefficient_w_per_m2_k: SurfaceCoefficients { cylinder: 30.0, plane: 30.0 },
    }
}

fn reduce(options: &MeshOptions) -> RingReduction {
    let (ring, solids, band) = booster();
    RingReduction::with_solids(&ring, &solids, &band, PressureSide::Outside, options).expect("the bench ring is sound")
}

const DEFAULT: MeshOptions = MeshOptions { band_elements: 16, size_factor: 1.0 };
/// About 5000 nodes and 61 face nodes.
const FINE: MeshOptions = MeshOptions { band_elements: 30, size_factor: 0.48 };

/// About 20 000 nodes and 61 face nodes.
const LARGE: MeshOptions = MeshOptions { band_elements: 30, size_factor: 0.151 };

#[divan::bench]
fn reduction_default(bencher: Bencher) {
    bencher.bench(|| reduce(black_box(&DEFAULT)));
}

#[divan::bench]
fn respond_default(bencher: Bencher) {
    let ring = reduce(&DEFAULT);
    bencher.bench(|| ring.respond(black_box(&conditions())));
}

/// Mesh, assembly, both factorisations and the three influence matrices at one set of coefficients.
#[divan::bench]
fn fine_to_influence_matrices(bencher: Bencher) {
    let nodes = reduce(&FINE).mesh().nodes.len();
    eprintln!("{nodes} nodes");
    bencher.bench(|| reduce(black_box(&FINE)).respond(&conditions()));
}

/// The same with some 20 000 nodes.
#[divan::bench(sample_count = 20)]
fn large_to_influence_matrices(bencher: Bencher) {
    let nodes = reduce(&LARGE).mesh().nodes.len();
    eprintln!("{nodes} nodes");
    bencher.bench(|| reduce(black_box(&LARGE)).respond(&conditions()));
}

/// What a duty costs once the large ring is reduced.
#[divan::bench]
fn respond_large(bencher: Bencher) {
    let ring = reduce(&LARGE);
    bencher.bench(|| ring.respond(black_box(&conditions())));
}

#[divan::bench]
fn state_large(bencher: Bencher) {
    let ring = reduce(&LARGE);
    let n = ring.band().radius_m.len();
    bencher.bench(|| ring.state(black_box(&conditions()), &vec![1e6; n], &vec![2e5; n]));
}

#[divan::bench]
fn state_default(bencher: Bencher) {
    let ring = reduce(&DEFAULT);
    let n = ring.band().radius_m.len();
    bencher.bench(|| ring.state(black_box(&conditions()), &vec![1e6; n], &vec![2e5; n]));
}
