//! E7: ring with a radial flow of heat.

use halfmicron_numerics::heat::{self, Geometry, HeatProblem};

use crate::section::{CARBON, Deformed, cylinder, mesh, no_load, read, rectangle};
use crate::{Check, Kind, Quantity};

/// Logarithmic temperature, thin ring.
pub const CHECK: Check = Check {
    id: "E7",
    title: "Radial flow of heat through a ring: temperature and hoop stress",
    source: "Timoshenko and Goodier, Theory of Elasticity, thermal stress in discs and tubes (from memory); digits: closed form for radii 25 and 35 mm, \
             E 25 GPa, nu 0.2, 4.5e-6/K, bore 80 and outside 40 degC",
    kind: Kind::Proof,
    from_memory: false,
    models: &["ring.elasticity", "ring.heat"],
    run,
};

struct Heated {
    middle_temperature: f64,
    middle_expected: f64,
    ring: Deformed,
}

fn run(distortion: f64) -> Vec<Quantity> {
    let solved = solved(80.0 + 8.0 * distortion);
    let recovered = "plane stress of a thin disc; stresses are extrapolated from Gauss points of 0.2 mm elements";
    let middle = solved.as_ref().map_or(f64::NAN, |s| s.middle_expected);
    vec![
        Quantity::relative(
            "temperature rise at the middle node",
            "K",
            middle,
            read(&solved, |s| s.middle_temperature),
            1e-6,
            "logarithm; cubic convergence",
        ),
        Quantity::relative(
            "hoop stress at the bore",
            "Pa",
            -2.500_469_8e6,
            read(&solved, |s| s.ring.stress([0.025, 0.0]).hoop),
            2e-3,
            recovered,
        ),
        Quantity::relative(
            "hoop stress at the outside",
            "Pa",
            1.999_530_2e6,
            read(&solved, |s| s.ring.stress([0.035, 0.0]).hoop),
            2e-3,
            recovered,
        ),
    ]
}

fn solved(bore: f64) -> Result<Heated, String> {
    let mesh = mesh(vec![rectangle([0.025, 0.035], [0.0, 0.0002])], 0.0002, Vec::new())?;
    let mut held = Vec::new();
    for (radius, temperature) in [(0.025, bore), (0.035, 40.0)] {
        for node in cylinder(&mesh, radius).iter().flat_map(|span| span.edge.nodes) {
            held.push((mesh.places[node], temperature));
        }
    }
    held.sort_by_key(|(place, _)| *place);
    held.dedup_by_key(|(place, _)| *place);
    let problem = HeatProblem { held, ..HeatProblem::default() };
    let rise = heat::solve(&mesh, Geometry::Axisymmetric, |_, _| 9.0, &problem).map_err(|error| error.to_string())?;
    let middle = mesh.nearest_node([0.03, 0.0]);
    let middle_expected = 80.0 - 40.0 * (mesh.nodes[middle][0] / 0.025).ln() / 1.4_f64.ln();
    let middle_temperature = rise[mesh.places[middle]];
    let load = no_load(&mesh);
    Ok(Heated { middle_temperature, middle_expected, ring: Deformed::solve(mesh, CARBON, &load, Some(&rise), &[(1, 0.0)])? })
}
