//! P1: isothermal film that boils at a sharp front.

use halfmicron::model::Switches;
use halfmicron::outcome::PhaseChangeKind;
use halfmicron_properties::{ConstantBoiling, Fluid};

use crate::bench::FACE_A_M;
use crate::ring_film::{RingFilm, RingFilmResult};
use crate::section::read;
use crate::{Check, Kind, Quantity};

/// Liquid outside the front, ideal vapour inside it.
pub const CHECK: Check = Check {
    id: "P1",
    title: "Isothermal boiling film with a sharp front: its place, leakage, opening force, profile factor",
    source: "model in the spirit of Hughes, Winowich, Birchak and Kennedy, J. Lub. Tech. 100 (1978) 74 (from memory); digits: closed form of the \
             liquid's logarithmic law, the vapour's in p^2 and one mass flow, evaluated independently",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.axisymmetric", "fluid.constant"],
    run,
};

const TEMPERATURE_K: f64 = 423.15;
/// Boiling pressure Pa, radius of the front m, leakage kg/s, force of the absolute pressure N, profile factor.
const ROWS: [(f64, f64, f64, f64, f64); 4] = [
    (0.12e6, 24.451_024e-3, 10.056_881e-6, 654.334_288, 0.548_520_2),
    (0.20e6, 24.457_675e-3, 9.153_403e-6, 694.517_720, 0.589_029_0),
    (0.476e6, 24.533_580e-3, 6.077_153e-6, 829.722_074, 0.725_327_9),
    (0.90e6, 25.753_932e-3, 1.474_415e-6, 980.377_503, 0.877_202_9),
];
const FLOW: &str = "closed form to 7 digits";
const FORCE: &str = "closed form to 7 digits; the pressure has a kink within one of 32 quadratic elements";

fn run(distortion: f64) -> Vec<Quantity> {
    ROWS.iter()
        .flat_map(|&(boiling_pa, front_m, leakage, force, factor)| {
            let film = solved(boiling_pa * (1.0 + 0.02 * distortion));
            let name = |what: &str| format!("{what}, boiling at {} MPa", boiling_pa / 1e6);
            let inner = FACE_A_M[0];
            [
                Quantity::absolute(
                    name("front from the inner edge"),
                    "m",
                    front_m - inner,
                    read(&film, |film| front(film) - inner),
                    1e-9,
                    "6 decimals of a millimetre are stored",
                ),
                Quantity::relative(name("leakage"), "kg/s", leakage, read(&film, |f| f.inflow_kg_per_s), 1e-6, FLOW),
                Quantity::relative(name("opening force"), "N", force, read(&film, |f| f.force_n), 1e-5, FORCE),
                Quantity::relative(name("profile factor K"), "", factor, read(&film, |f| f.profile_factor), 1e-5, FORCE),
            ]
        })
        .collect()
}

/// Radius where the liquid begins to boil; not a number if it does not.
fn front(film: &RingFilmResult) -> f64 {
    let begins = film.film.phase_changes.iter().find(|change| change.kind == PhaseChangeKind::BeginsToBoil);
    begins.map_or(f64::NAN, |change| change.radius_m)
}

fn solved(boiling_pa: f64) -> Result<RingFilmResult, String> {
    let fluid = Fluid::constant_boiling(ConstantBoiling {
        name: "boiling fluid".to_owned(),
        liquid_density: 917.0,
        liquid_viscosity: 1.82e-4,
        liquid_conductivity: 0.68,
        liquid_heat_capacity: 4300.0,
        vapour_gas_constant: 461.5,
        vapour_viscosity: 1.40e-5,
        vapour_conductivity: 0.03,
        vapour_heat_capacity: 2300.0,
        saturation: (TEMPERATURE_K, boiling_pa),
        latent_heat: 2.1e6,
    })
    .map_err(|error| error.to_string())?;
    RingFilm {
        fluid: &fluid,
        radii_m: FACE_A_M,
        gap_m: 1e-6,
        temperature_k: TEMPERATURE_K,
        pressures_pa: [0.1e6, 1.0e6],
        switches: Switches::viscous_alone(),
    }
    .solve()
}
