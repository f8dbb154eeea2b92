//! H1: convection of a turning cylinder, as shipped.

use halfmicron::convection::{Bulk, rotating_cylinder};

use crate::{Check, Kind, Quantity};

/// Becker's correlation.
pub const CHECK: Check = Check {
    id: "H1",
    title: "Heat transfer of a cylinder turning in still water",
    source: "Becker, Int. J. Heat Mass Transfer 6 (1963) 1053: Nu = 0.133 Re^(2/3) Pr^(1/3) (title read, correlation from memory)",
    kind: Kind::Arithmetic,
    from_memory: true,
    models: &["ring.convection"],
    run,
};

const DIAMETER: f64 = 0.06;

fn run(distortion: f64) -> Vec<Quantity> {
    // Water made up so that Pr = 3.55 and, at the speed below, Re = 3e4.
    let water = Bulk {
        density_kg_per_m3: 988.0,
        viscosity_pa_s: 3.55 * 0.64 / 4180.0,
        conductivity_w_per_m_k: 0.64,
        specific_heat_j_per_kg_k: 4180.0,
        expansion_per_k: 4.5e-4,
    };
    let speed = 3e4 * water.viscosity_pa_s / (water.density_kg_per_m3 * DIAMETER) * (1.0 + 0.1 * distortion);
    let nusselt = rotating_cylinder(&water, DIAMETER, speed).nominal * DIAMETER / water.conductivity_w_per_m_k;
    vec![Quantity::relative("Nusselt number at Re = 3e4, Pr = 3.55", "", 195.888, Ok(nusselt), 1e-5, "six printed digits")]
}
