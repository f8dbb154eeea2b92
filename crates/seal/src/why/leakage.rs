//! Leakage, and what the fluid does on its way.

use super::facts::Facts;
use super::{Explanation, WhyInput};
use crate::sheet::units::Kind;

const FLOW: &[&str] = &["film.", "fluid.", "point.coupled"];

pub(super) const ALL: &[Explanation] = &[
    Explanation {
        keys: &["leakage_m3_per_s"],
        label: "leakage at chamber density",
        equation: |_| "Q = m / rho",
        words: |_| {
            "Leakage by mass over the density of the fluid in the chamber. Faces are solved flat round the circumference: waves and tilt leak more, so \
             the number is a lower bound; the one with a rigid wave is the other."
        },
        inputs: |facts, _| {
            let mass = facts.of_point("m", "leakage by mass", "leakage_kg_per_s", Kind::MassLeakage, |at| at.leakage_kg_per_s.nominal);
            mass.into_iter().chain([facts.chamber_density()]).collect()
        },
        models: FLOW,
        rules: &["leak.liquid", "leak.ratio", "leak.test-static", "leak.salt", "test.repeat", "film.waviness", "closing.band"],
    },
    Explanation {
        keys: &["leakage_kg_per_s"],
        label: "leakage by mass",
        equation: |_| "dp/dr = 0.3 rho omega^2 r - 12 k mu M / (2 pi r rho phi_p h^3) - inertia, M the flow outward",
        words: |_| {
            "The flow at which the pressure of the film falls from one edge of the band to the other: spin throws it outward, viscosity holds it back, \
             with the roughness factor phi_p and k = 1 for a laminar liquid (more where turbulent, less where gas slips). Where no flow brings the \
             pressure down that far the film is choked and the greatest flow that passes is taken. Positive from the high to the low pressure."
        },
        inputs: |facts, _| passage(facts),
        models: FLOW,
        rules: &["leak.liquid", "leak.ratio", "leak.test-static", "leak.salt", "film.waviness"],
    },
    Explanation {
        keys: &["passage.leakage_normal_m3_per_s"],
        label: "leakage as gas, 0 degC 1.01325 bar",
        equation: |_| "Q_n = m R T_n / p_n",
        words: |_| "Leakage by mass as volume of an ideal gas at 0 degC and 101 325 Pa, where the fluid leaves the film as gas; R is its gas constant.",
        inputs: |facts, _| {
            let mass = facts.of_point("m", "leakage by mass", "leakage_kg_per_s", Kind::MassLeakage, |at| at.leakage_kg_per_s.nominal);
            let gas = facts.fluid().gas_constant_j_per_kg_k();
            let gas = gas.map(|value| facts.library("R", "gas constant", Kind::SpecificHeat, value, &facts.fluid_sources()));
            let at = [
                facts.constant("T_n", "normal temperature", Kind::Temperature, 273.15, "0 degC by convention"),
                facts.constant("p_n", "normal pressure", Kind::AbsolutePressure, 101_325.0, "one standard atmosphere by convention"),
            ];
            mass.into_iter().chain(gas).chain(at).collect()
        },
        models: FLOW,
        rules: &["leak.liquid"],
    },
    Explanation {
        keys: &["passage.choked"],
        label: "flow",
        equation: |_| "choked: speed of the flow = speed of sound at the exit",
        words: |_| {
            "The flow is choked where the equations cannot be followed down to the low pressure at any greater flow: the fluid, in equilibrium, has \
             reached its speed of sound at the exit."
        },
        inputs: |facts, _| exit(facts),
        models: &["film.axisymmetric", "film.field", "fluid."],
        rules: &[],
    },
    Explanation {
        keys: &["passage.exit_pressure_pa"],
        label: "exit pressure where choked",
        equation: |_| "p_exit: speed of the flow = speed of sound",
        words: |_| "Pressure at the low edge of the band at which the fluid reaches its speed of sound; what is left of the pressure is lost beyond the faces.",
        inputs: |facts, _| exit(facts),
        models: &["film.axisymmetric", "film.field", "fluid."],
        rules: &[],
    },
    Explanation {
        keys: &["passage.phase_changes.begins-to-boil", "passage.phase_changes.leaves-boiling-point", "passage.phase_changes.all-vapour"],
        label: "change of phase",
        equation: |_| "H(r) meets H_liquid(p(r)) where boiling begins, H_vapour(p(r)) where all is vapour",
        words: |_| {
            "First radius along the flow at which the enthalpy of the film meets that of the saturated phase at the pressure there. Liquid and vapour \
             are taken in equilibrium: real flashing comes later."
        },
        inputs: |facts, _| {
            let mut inputs = facts.pressures();
            inputs.push(facts.chamber_temperature());
            inputs.extend(
                facts.of_point("", "hottest film", "film_temperature_max_k", Kind::Temperature, |at| at.film_temperature_max_k.nominal),
            );
            inputs
        },
        models: &["film.axisymmetric", "film.field", "film.along-saturation", "fluid."],
        rules: &["boiling.edge"],
    },
];

fn passage(facts: &Facts) -> Vec<WhyInput> {
    let mut inputs: Vec<WhyInput> =
        facts.of_point("h", "mean film", "mean_film_m", Kind::SmallLength, |at| at.mean_film_m.nominal).into_iter().collect();
    inputs.extend(facts.pressures());
    inputs.push(facts.speed());
    inputs.push(facts.chamber_viscosity());
    inputs.push(facts.chamber_density());
    inputs.extend([facts.outer_diameter(), facts.inner_diameter()]);
    inputs.extend(facts.roughness());
    inputs
}

fn exit(facts: &Facts) -> Vec<WhyInput> {
    let mut inputs = facts.pressures();
    inputs.extend(facts.of_point("", "greatest speed over speed of sound", "", Kind::Number, |at| at.passage.greatest_mach));
    inputs.extend(
        facts.of_point("p_exit", "pressure at the exit", "passage.exit_pressure_pa", Kind::AbsolutePressure, |at| {
            at.passage.exit_pressure_pa
        }),
    );
    inputs
}
