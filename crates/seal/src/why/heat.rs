//! Heat: power and torque, temperatures, boiling.

use super::facts::Facts;
use super::{Explanation, WhyInput};
use crate::outcome::Equilibrium;
use crate::sheet::units::Kind;

const SHEAR: &[&str] =
    &["film.axisymmetric", "film.field", "film.roughness.shear", "film.turbulence", "contact.", "point.coupled", "fluid."];
const WARMTH: &[&str] =
    &["ring.heat", "ring.reduction", "ring.convection", "point.coupled", "film.axisymmetric", "film.field", "contact.", "fluid."];

pub(super) const ALL: &[Explanation] = &[
    Explanation {
        keys: &["power_w"],
        label: "power",
        equation: |_| "P = P_shear + P_contact; P_shear = int phi_f mu (omega r)^2 / h dA, P_contact = int f p_c omega r dA",
        words: |_| {
            "Viscous shear of the film, with the shear factor phi_f of rough faces, and boundary friction f of the asperities on the contact pressure \
             p_c; turbulence raises the shear. Churning of the fluid around the rings is not in it."
        },
        inputs: |facts, _| {
            let mut inputs = split(facts);
            inputs.push(facts.speed());
            inputs.extend(facts.of_point("h", "mean film", "mean_film_m", Kind::SmallLength, |at| at.mean_film_m.nominal));
            inputs.push(facts.chamber_viscosity());
            inputs.push(facts.boundary_friction());
            inputs
        },
        models: SHEAR,
        rules: &["heat.power", "heat.flush-rise"],
    },
    Explanation {
        keys: &["torque_n_m"],
        label: "torque",
        equation: |facts| if facts.turning() { "M = P / |omega|" } else { "M = 2 f int p_c r dA" },
        words: |facts| {
            if facts.turning() {
                "Power over angular speed, omega = 2 pi n with n in turns a second."
            } else {
                "At standstill the torque that breaks the faces away: boundary friction f of the asperities, twice as great after standing (common \
                 practice, no source)."
            }
        },
        inputs: |facts, _| {
            if facts.turning() {
                let power = facts.of_point("P", "power", "power_w", Kind::Power, |at| at.power_w.nominal);
                power.into_iter().chain([facts.speed()]).collect()
            } else {
                standing(facts)
            }
        },
        models: &["film.axisymmetric", "film.field", "contact.", "point.standing", "point.coupled"],
        rules: &["heat.start-torque", "heat.thick", "test.repeat"],
    },
    Explanation {
        keys: &["break_away_torque_n_m"],
        label: "torque to break away from rest at this pressure",
        equation: |_| "M = 2 f int p_c r dA, at rest",
        words: |_| {
            "The equilibrium is solved again without speed, at the closing force, pressures and chamber temperature of the duty; the asperities that \
             carry there resist with boundary friction f, twice as great after standing (common practice, no source). What sticks, crystallises or \
             cokes is not in it."
        },
        inputs: |facts, _| standing(facts),
        models: &["point.standing", "contact.", "point.coupled"],
        rules: &["heat.start-torque", "ring.shrink"],
    },
    Explanation {
        keys: &["face_temperature_max_k"],
        label: "hottest face",
        equation: |_| "T_i = T_i0 + M_i q_i; max over both faces and r",
        words: |_| {
            "Temperature of each face by conduction in its ring: that without seal heat, and the rise by the heat q that enters over the band; \
             convection carries it to the chamber. The split between the rings follows from equal film temperature on both."
        },
        inputs: |facts, _| {
            let mut inputs = vec![facts.chamber_temperature()];
            inputs.extend(split(facts));
            inputs.extend(into_rings(facts));
            inputs
                .extend(facts.of_point("", "hottest rotating face", "", Kind::Temperature, |at| at.rings.rotating.face_temperature_max_k));
            inputs.extend(
                facts.of_point("", "hottest stationary face", "", Kind::Temperature, |at| at.rings.stationary.face_temperature_max_k),
            );
            inputs.extend(conductivities(facts));
            inputs
        },
        models: WARMTH,
        rules: &["heat.face", "boiling.hot-water", "heat.thermal-shock", "coke.edge", "hazard.autoignition", "oring.temperature"],
    },
    Explanation {
        keys: &["film_temperature_max_k"],
        label: "hottest film",
        equation: |_| "T_top = T_f + 1.5 (T_mean - T_f); max over r",
        words: |_| {
            "Across the film the temperature is a parabola above its faces (T_f their mean): its top stands half as much again above them as the mean \
             of the film. A boiling film is at saturation."
        },
        inputs: |facts, _| {
            let mut inputs: Vec<WhyInput> = facts
                .of_point("", "hottest face", "face_temperature_max_k", Kind::Temperature, |at| at.face_temperature_max_k.nominal)
                .into_iter()
                .collect();
            inputs.push(facts.chamber_temperature());
            inputs.extend(split(facts));
            inputs
        },
        models: WARMTH,
        rules: &["boiling.film-margin", "polymer.film"],
    },
    Explanation {
        keys: &["boiling_margin_k"],
        label: "film below boiling",
        equation: |_| "margin = min over r of [T_sat(p(r)) - T_top(r)]",
        words: |_| {
            "At every radius the saturation temperature at the pressure of the film there, less the hottest temperature across the film. Negative or \
             zero: the film boils."
        },
        inputs: |facts, _| {
            let mut inputs: Vec<WhyInput> = facts
                .of_point("", "hottest film", "film_temperature_max_k", Kind::Temperature, |at| at.film_temperature_max_k.nominal)
                .into_iter()
                .collect();
            inputs.extend(facts.pressures());
            let saturation = facts.outcome.conditions.chamber_saturation_k;
            inputs.extend(saturation.map(|kelvin| {
                facts.library("", "saturation temperature at chamber pressure", Kind::Temperature, kelvin, &facts.fluid_sources())
            }));
            let pascal = facts.at.and_then(|at| at.boiling_margin_pa);
            inputs.extend(pascal.map(|pascal| facts.found("", "the same margin in pressure", "", Kind::Pressure, pascal)));
            inputs
        },
        models: &["fluid.", "film.axisymmetric", "film.field", "ring.heat", "ring.convection", "point.coupled"],
        rules: &["boiling.film-margin", "boiling.edge", "boiling.chamber-kelvin"],
    },
    Explanation {
        keys: &["heat_split_w.rotating", "heat_split_w.stationary"],
        label: "heat into ring",
        equation: |_| "P_shear + P_contact = heat into rotating ring + into stationary ring + carried by the leak",
        words: |_| {
            "Heat that enters the ring over its face, int q dA. Across so thin a film both faces are nearly of one temperature, so the rings' \
             conductances decide the split."
        },
        inputs: |facts, _| {
            let mut inputs = split(facts);
            inputs.extend(into_rings(facts));
            inputs.extend(facts.of_point("", "carried away by the leak", "", Kind::Power, |at| at.heat_split_w.leak));
            inputs.extend(conductivities(facts));
            inputs
        },
        models: WARMTH,
        rules: &["heat.thermal-shock"],
    },
    Explanation {
        keys: &["vapour_fraction_max"],
        label: "vapour by mass, at most",
        equation: |_| "x = (H - H_liquid) / (H_vapour - H_liquid)",
        words: |_| "Greatest share of vapour by mass on the way through the film, liquid and vapour in equilibrium: real flashing is slower and makes less.",
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

/// Where the heat is made.
fn split(facts: &Facts) -> Vec<WhyInput> {
    let of = |symbol: &str, label: &str, of: fn(&Equilibrium) -> f64| facts.of_point(symbol, label, "", Kind::Power, of);
    [of("P_shear", "viscous shear", |at| at.heat_split_w.viscous), of("P_contact", "friction of asperities", |at| at.heat_split_w.contact)]
        .into_iter()
        .flatten()
        .collect()
}

fn into_rings(facts: &Facts) -> Vec<WhyInput> {
    [
        facts.of_point("", "heat into rotating ring", "heat_split_w.rotating", Kind::Power, |at| at.heat_split_w.rotating),
        facts.of_point("", "heat into stationary ring", "heat_split_w.stationary", Kind::Power, |at| at.heat_split_w.stationary),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn conductivities(facts: &Facts) -> Vec<WhyInput> {
    use crate::model::RingRole::{Rotating, Stationary};
    [Rotating, Stationary].into_iter().flat_map(|role| facts.face_material(role).into_iter().skip(2)).collect()
}

fn standing(facts: &Facts) -> Vec<WhyInput> {
    let mut inputs = vec![
        facts.boundary_friction(),
        facts.constant("", "excess of faces that have stood", Kind::Number, 2.0, "common practice, no source"),
    ];
    if !facts.turning() {
        inputs.extend(facts.of_point("", "carried by contact", "contact_force_n", Kind::Force, |at| at.contact_force_n));
    }
    inputs.extend(facts.of_point("", "closing force", "closing_force_n", Kind::Force, |at| at.closing_force_n));
    inputs
}
