//! F3: parallel faces, isothermal ideal gas.

use crate::ring_film::{AIR_TEMPERATURE_K, AIR_VISCOSITY_PA_S, ATMOSPHERE_PA, RingFilm, RingFilmResult, air};
use crate::section::read;
use crate::{Check, Kind, Quantity};
use halfmicron::model::Switches;

/// Parallel rigid faces on gas, closed form.
pub const CHECK: Check = Check {
    id: "F3",
    title: "Parallel faces, isothermal ideal gas without inertia or slip: leakage, opening force, profile factor",
    source: "Lebeck, Principles and Design of Mechanical Face Seals, Wiley 1991 (theory, from memory); digits: closed form \
             m = pi h^3 (po^2 - pi^2)/(12 mu R T ln(ro/ri)) and the quadrature of its pressure, evaluated independently",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.axisymmetric", "fluid.constant"],
    run,
};

const RADII_M: [f64; 2] = [58.42e-3, 77.78e-3];
const GAP_M: f64 = 3e-6;
/// Outside pressure Pa, leakage kg/s, force of the absolute pressure N, profile factor.
const ROWS: [(f64, f64, f64, f64); 3] = [
    (4.5852e6, 0.334_793_0e-3, 26_754.709_2, 0.697_704_0),
    (1.1e6, 1.911_422_3e-5, 6_455.988_14, 0.678_920_7),
    (0.2e6, 4.737_118_5e-7, 1_330.400_73, 0.600_726_6),
];
const REASON: &str =
    "closed form to 7 digits; an isothermal ideal gas is stepped exactly, its force on 32 quadratic elements to about 1e-7";

fn run(distortion: f64) -> Vec<Quantity> {
    ROWS.iter()
        .flat_map(|&(outer_pa, leakage, force, factor)| {
            let film = solved(outer_pa * (1.0 + 0.01 * distortion));
            let of = |value: &dyn Fn(&RingFilmResult) -> f64| read(&film, |film| value(film));
            let name = |what: &str| format!("{what} at {} MPa", outer_pa / 1e6);
            [
                Quantity::relative(name("leakage"), "kg/s", leakage, of(&|f| f.inflow_kg_per_s), 1e-6, REASON),
                Quantity::relative(name("opening force"), "N", force, of(&|f| f.force_n), 1e-6, REASON),
                Quantity::relative(name("profile factor K"), "", factor, of(&|f| f.profile_factor), 1e-6, REASON),
            ]
        })
        .collect()
}

fn solved(outer_pa: f64) -> Result<RingFilmResult, String> {
    RingFilm {
        fluid: &air(AIR_VISCOSITY_PA_S)?,
        radii_m: RADII_M,
        gap_m: GAP_M,
        temperature_k: AIR_TEMPERATURE_K,
        pressures_pa: [ATMOSPHERE_PA, outer_pa],
        switches: Switches::viscous_alone(),
    }
    .solve()
}
