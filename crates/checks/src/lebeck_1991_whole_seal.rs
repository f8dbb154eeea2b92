//! Q1: a whole seal with rigid coned faces, whose equilibrium is a row of F2.

use halfmicron::case;
use halfmicron::outcome::{DutyOutcome, Equilibrium};

use crate::bench::MILLILITRE_PER_HOUR;
use crate::section::read;
use crate::{Check, Kind, Quantity};

/// The point solver from case file to equilibrium.
pub const CHECK: Check = Check {
    id: "Q1",
    title: "Whole seal, rigid coned faces, isothermal: equilibrium at the closing force of F2",
    source: "Lebeck, Principles and Design of Mechanical Face Seals, Wiley 1991 (theory, from memory); the force of F2's convergent row (1543.036682 N) \
             is given as closing force and the row must come back",
    kind: Kind::Proof,
    from_memory: false,
    models: &["point.coupled", "film.axisymmetric"],
    run,
};

const CLOSING_N: f64 = 1_543.036_682;
const PRESSURE_PA: f64 = 2e6;

fn run(distortion: f64) -> Vec<Quantity> {
    let found = solved(CLOSING_N * (1.0 + 0.01 * distortion));
    let reason = "digits of F2; the band of the coupled solve has 16 quadratic elements";
    let of = |value: &dyn Fn(&Equilibrium) -> f64| read(&found, |equilibrium| value(equilibrium));
    vec![
        Quantity::relative("least film", "m", 1e-6, of(&|e| e.minimum_film_m.nominal), 1e-4, reason),
        Quantity::relative("leakage", "m3/s", 41.896_743 * MILLILITRE_PER_HOUR, of(&|e| e.leakage_m3_per_s.nominal), 1e-4, reason),
        Quantity::relative("torque", "N m", 0.178_400_41, of(&|e| e.torque_n_m.nominal), 1e-4, reason),
        Quantity::relative("power", "W", 56.046_14, of(&|e| e.power_w.nominal), 1e-4, reason),
        Quantity::relative("profile factor K", "", 0.699_987_6, of(&|e| e.pressure_profile_factor.unwrap_or(f64::NAN)), 1e-4, reason),
        Quantity::relative(
            "slope of the opening force",
            "N/m",
            -2.310_023e8,
            of(&|e| e.film_stiffness_n_per_m.coupled),
            5e-3,
            "published stiffness is a difference over 0.1 nm",
        ),
    ]
}

/// The starter seal with a constant liquid, one face lapped to a cone of 1 um, every other effect off.
fn solved(closing_n: f64) -> Result<Equilibrium, String> {
    let settings = [
        ("duty.normal.speed", "3000 rpm"),
        ("duty.normal.pressure", "20 bar(g)"),
        ("stationary_ring.lapped_coning", "1 um"),
        ("seal.secondary_seal.friction", "0 N"),
        ("switches.convective_inertia", "false"),
        ("switches.spin", "false"),
        ("switches.flow_factor", "false"),
        ("switches.shear_factor", "false"),
        ("switches.contact", "false"),
        ("switches.heat", "false"),
        ("switches.distortion", "false"),
    ];
    let text = case::with_settings(&case::starter("checks"), &settings).map_err(|error| error.to_string())?;
    let text = text.replace("[fluid]\nname = \"water\"", "[liquid]\ndensity = \"1000 kg/m3\"\nviscosity = \"1 mPa s\"");
    let mut model = case::parse(&text).and_then(|case| case.model()).map_err(|error| error.to_string())?;
    let (outer, balance) = (model.band.outer_radius_m, model.seal.balance_radius_m);
    model.seal.spring_force_n = closing_n - PRESSURE_PA * std::f64::consts::PI * (outer * outer - balance * balance);
    let outcome = halfmicron::solve(&model, &["normal".to_owned()]).map_err(|error| error.to_string())?;
    let duty: &DutyOutcome = outcome.duties.first().ok_or("the case has no duty")?;
    match duty.equilibria.as_slice() {
        [only] if only.stable => Ok(only.clone()),
        several => Err(format!("{} equilibria instead of one stable: {}", several.len(), duty.reason)),
    }
}
