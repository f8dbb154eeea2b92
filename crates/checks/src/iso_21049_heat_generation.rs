//! S1: worked example of heat generation.

use std::f64::consts::PI;

use crate::{Check, Kind, Quantity};

/// Informative annex on heat generation.
pub const CHECK: Check = Check {
    id: "S1",
    title: "Worked example: balance, net pressure, torque, heat, flush rise, heat soak",
    source: "API 682 / ISO 21049, annex on heat generation: the definitions were read (K between 0 and 1, usually 0.5 to 0.8, 0.5 for flat faces), the \
             example's inputs are from memory; outputs recomputed independently",
    kind: Kind::Arithmetic,
    from_memory: true,
    models: &[],
    run,
};

fn run(distortion: f64) -> Vec<Quantity> {
    let (outer, inner, balance) = (61.6e-3, 48.9e-3, 52.4e-3 * (1.0 + 0.02 * distortion));
    let (spring, drop, friction, profile, rpm) = (190.0, 2e6, 0.07 * (1.0 + 0.2 * distortion), 0.5, 3000.0 * (1.0 + 0.1 * distortion));
    let area = PI / 4.0 * (outer * outer - inner * inner) * (1.0 + 0.05 * distortion);
    let ratio = (outer * outer - balance * balance) / (outer * outer - inner * inner);
    let spring_pressure = spring / area;
    let net = drop * (ratio - profile) + spring_pressure;
    let mean_diameter = 0.5 * (outer + inner);
    let torque = net * area * friction * 0.5 * mean_diameter;
    let power = torque * rpm * PI / 30.0;
    let flow_kg_per_s = 11.0 / 60.0;
    let soak = 0.00025 * 55.0 * (175.0 - 65.0) * 1e3 * (1.0 + distortion);
    let (digits, rounded) = ("six printed digits", "four printed digits");
    let standard = "as the standard rounds it";
    let line =
        |name: &str, unit, expected, computed, tolerance, reason| Quantity::relative(name, unit, expected, Ok(computed), tolerance, reason);
    vec![
        line("face area", "m2", 1_102.188_5e-6, area, 1e-6, digits),
        line("balance ratio", "", 0.747_355, ratio, 1e-5, digits),
        line("spring pressure", "Pa", 0.172_384e6, spring_pressure, 1e-5, digits),
        line("net face pressure", "Pa", 0.667_093e6, net, 1e-5, digits),
        line("running torque", "N m", 1.421_814, torque, 1e-5, digits),
        line("starting torque at three times", "N m", 4.265, 3.0 * torque, 2e-4, rounded),
        line("starting torque at five times", "N m", 7.109, 5.0 * torque, 2e-4, rounded),
        line("heat", "W", 446.676, power, 1e-5, digits),
        line("heat with the annex's 9550", "W", 446.643, torque * rpm / 9.550, 1e-5, digits),
        line("flush rise at 11 L/min", "K", 0.5823, power / (flow_kg_per_s * 4184.0), 2e-4, rounded),
        line("heat soak of a 55 mm seal, 110 K", "W", 1512.5, soak, 1e-5, digits),
        line("torque printed by the standard", "N m", 1.42, torque, 0.01, standard),
        line("heat printed by the standard", "W", 446.0, power, 0.01, standard),
    ]
}
