//! F5: coefficients of the turbulent film.

use halfmicron::film::resistance::{
    couette_excess, couette_excess_along_motion, couette_shear, turbulent_flow_factor, turbulent_shear_factor,
};
use halfmicron_numerics::jet::Jet;

use crate::{Check, Kind, Quantity};

/// Coefficients of turbulent Couette flow.
pub const CHECK: Check = Check {
    id: "F5",
    title: "Turbulent film: resistance along and across the motion, shear",
    source: "Ng and Pan, J. Basic Eng. 87 (1965); Constantinescu: coefficients from memory; digits evaluated independently",
    kind: Kind::Arithmetic,
    from_memory: true,
    models: &["film.turbulence"],
    run,
};

/// Reynolds number, kx, kz, shear factor.
const ROWS: [(f64, f64, f64, f64); 3] =
    [(1_000.0, 18.816_15, 15.261_88, 1.792_832), (5_000.0, 41.014_29, 27.292_54, 4.599_259), (10_000.0, 66.142_58, 41.748_73, 7.905_279)];
const REASON: &str = "same formula; 7 digits are stored";

fn run(distortion: f64) -> Vec<Quantity> {
    let mut lines: Vec<Quantity> = Vec::new();
    for (reynolds, along, across, shear) in ROWS {
        let distorted = reynolds * (1.0 + 0.01 * distortion);
        let name = |what: &str| format!("{what} at Re = {reynolds}");
        lines.extend([
            Quantity::relative(name("kx"), "", along, Ok(12.0 + couette_excess_along_motion(distorted)), 1e-6, REASON),
            Quantity::relative(name("kz"), "", across, Ok(12.0 + couette_excess(distorted)), 1e-6, REASON),
            Quantity::relative(name("shear factor"), "", shear, Ok(couette_shear(distorted)), 1e-6, REASON),
        ]);
        // What the film uses: the laminar law at the lower end of the blend, the turbulent one above it.
        if reynolds > 1_600.0 {
            let (couette, pressure) = (Jet::<0>::constant(distorted), Jet::constant(10.0));
            let used = 12.0 * turbulent_flow_factor(couette, pressure).value;
            lines.push(Quantity::relative(name("kz as the film uses it"), "", across, Ok(used), 1e-6, REASON));
            let used = turbulent_shear_factor(couette).value;
            lines.push(Quantity::relative(name("shear factor as the film uses it"), "", shear, Ok(used), 1e-6, REASON));
        }
    }
    lines
}
