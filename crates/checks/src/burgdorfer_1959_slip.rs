//! K1: first-order slip of gas.

use std::f64::consts::PI;

use halfmicron::model::{Slip, Switches};

use crate::ring_film::{AIR_J_PER_KG_K, AIR_TEMPERATURE_K, ATMOSPHERE_PA, RingFilm, air};
use crate::{Check, Kind, Quantity};

/// Leakage of a parallel gas film with slip over that without.
pub const CHECK: Check = Check {
    id: "K1",
    title: "First-order slip, parallel ring: leakage over that of the film without slip",
    source: "Burgdorfer, J. Basic Eng. 81 (1959) (theory, from memory); digits: closed form \
             m/m0 = 1 + 12 lambda_a pa/(h (po + pi)) evaluated independently",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.slip", "film.axisymmetric"],
    run,
};

const RADII_M: [f64; 2] = [58.42e-3, 77.78e-3];
/// Mean free path at atmospheric pressure, m.
const FREE_PATH_M: f64 = 66e-9;
/// Gap m, outside pressure Pa, ratio of the leakages.
const ROWS: [(f64, f64, f64); 9] = [
    (0.5e-6, 0.2e6, 1.532_643),
    (0.5e-6, 0.6e6, 1.228_851),
    (0.5e-6, 4.5852e6, 1.034_247),
    (1e-6, 0.2e6, 1.266_322),
    (1e-6, 0.6e6, 1.114_425),
    (1e-6, 4.5852e6, 1.017_123),
    (3e-6, 0.2e6, 1.088_774),
    (3e-6, 0.6e6, 1.038_142),
    (3e-6, 4.5852e6, 1.005_708),
];

fn run(distortion: f64) -> Vec<Quantity> {
    ROWS.iter()
        .map(|&(gap_m, outer_pa, expected)| {
            Quantity::absolute(
                format!("leakage ratio at {} um, {} MPa", gap_m * 1e6, outer_pa / 1e6),
                "",
                expected,
                ratio(gap_m, outer_pa, FREE_PATH_M * (1.0 + 0.05 * distortion)),
                2e-6,
                "closed form to 6 decimals; first-order slip of an isothermal ideal gas is stepped exactly",
            )
        })
        .collect()
}

fn ratio(gap_m: f64, outer_pa: f64, free_path_m: f64) -> Result<f64, String> {
    // The program finds the free path from the viscosity, lambda = (mu/rho) sqrt(pi/(2 R T)); this is the viscosity of that path.
    let viscosity = free_path_m * ATMOSPHERE_PA / (0.5 * PI * AIR_J_PER_KG_K * AIR_TEMPERATURE_K).sqrt();
    let fluid = air(viscosity)?;
    let leakage = |slip: Slip| {
        let film = RingFilm {
            fluid: &fluid,
            radii_m: RADII_M,
            gap_m,
            temperature_k: AIR_TEMPERATURE_K,
            pressures_pa: [ATMOSPHERE_PA, outer_pa],
            switches: Switches { slip, ..Switches::viscous_alone() },
        };
        film.solve().map(|solved| solved.inflow_kg_per_s)
    };
    Ok(leakage(Slip::FirstOrder)? / leakage(Slip::None)?)
}
