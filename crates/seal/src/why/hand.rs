//! Hand numbers: what can be redone with a pocket calculator.

use super::Explanation;
use super::facts::Facts;
use super::{Origin, WhyInput};
use crate::hand::{ASSUMED_FILM_M, ASSUMED_PROFILE_FACTOR};
use crate::sheet::units::Kind;

pub(super) const ALL: &[Explanation] = &[
    Explanation {
        keys: &["hand.area_m2"],
        label: "face area",
        equation: |_| "A = (pi/4) (Do^2 - Di^2)",
        words: |_| "Area of the running band, the narrow face, from its two diameters.",
        inputs: |facts, _| vec![facts.outer_diameter(), facts.inner_diameter()],
        models: &[],
        rules: &["geometry.band"],
    },
    Explanation {
        keys: &["hand.balance_ratio"],
        label: "balance ratio",
        equation: |facts| {
            if facts.outside_is_high() { "B = (Do^2 - Db^2) / (Do^2 - Di^2)" } else { "B = (Db^2 - Di^2) / (Do^2 - Di^2)" }
        },
        words: |facts| {
            if facts.outside_is_high() {
                "The area on which the higher pressure closes the seal, from the outside of the band down to the balance diameter, over the face area."
            } else {
                "The area on which the higher pressure closes the seal, from the inside of the band up to the balance diameter, over the face area."
            }
        },
        inputs: |facts, _| vec![facts.outer_diameter(), facts.inner_diameter(), facts.balance_diameter()],
        models: &[],
        rules: &[
            "balance.liquid",
            "balance.unbalanced",
            "balance.by-fluid",
            "balance.effective",
            "balance.bellows-shift",
            "balance.reverse",
        ],
    },
    Explanation {
        keys: &["hand.spring_pressure_pa"],
        label: "spring pressure",
        equation: |_| "p_spring = F_spring / A",
        words: |_| "Spring force at working length over the face area.",
        inputs: |facts, _| vec![facts.spring_force(), facts.area()],
        models: &[],
        rules: &["spring.pressure", "spring.share", "closing.hang-up"],
    },
    Explanation {
        keys: &["hand.sliding_speed_m_per_s"],
        label: "sliding speed",
        equation: |_| "v = pi |n| (Do + Di) / 2",
        words: |_| "Sliding speed at the mean diameter of the band; n in turns a second.",
        inputs: |facts, _| vec![facts.speed(), facts.outer_diameter(), facts.inner_diameter()],
        models: &[],
        rules: &["duty.speed-box", "speed.rotating-springs", "speed.balance", "ring.retainer", "film.hot-spots"],
    },
    Explanation {
        keys: &["hand.closing_force_n"],
        label: "closing force",
        equation: |_| "F_closing = |p - p_low| B A + F_spring",
        words: |_| {
            "Pressure difference on the closing area plus the springs, counted above the lower of both pressures. Friction of the secondary seal \
             is left out: it may add to closing or take from it."
        },
        inputs: closing,
        models: &[],
        rules: &["spring.share", "balance.margin"],
    },
    Explanation {
        keys: &["hand.net_pressure_pa"],
        label: "net pressure, K = 0.5",
        equation: |_| "p_net = |p - p_low| (B - K) + p_spring",
        words: |_| {
            "What the faces have to carry beside a film whose pressure falls in a straight line (K = 0.5, a guess of hand calculation). The solved \
             point has a K of its own."
        },
        inputs: |facts, _| net_pressure(facts),
        models: &[],
        rules: &["pv.net"],
    },
    Explanation {
        keys: &["hand.net_pv_pa_m_per_s"],
        label: "net PV, K = 0.5",
        equation: |_| "PV = p_net v",
        words: |_| "Net pressure of the hand calculation times the sliding speed at the mean diameter.",
        inputs: |facts, _| {
            let hand = &facts.outcome.hand;
            vec![
                facts.found("p_net", "net pressure, K = 0.5", "hand.net_pressure_pa", Kind::Pressure, hand.net_pressure_pa),
                facts.found("v", "sliding speed", "hand.sliding_speed_m_per_s", Kind::Speed, hand.sliding_speed_m_per_s),
            ]
        },
        models: &[],
        rules: &["pv.net", "pv.hydraulic", "pv.poor"],
    },
    Explanation {
        keys: &["hand.parallel_film_m"],
        label: "parallel film taken",
        equation: |_| "h = mean film",
        words: |facts| {
            if facts.at.is_some() {
                "For the estimate by hand the solved mean film is taken as if the faces were parallel."
            } else {
                "No film is the answer at this duty, so an ordinary film of 0.7 um is taken for the estimate by hand (common practice, no source)."
            }
        },
        inputs: |facts, _| vec![film(facts)],
        models: &[],
        rules: &[],
    },
    Explanation {
        keys: &["hand.parallel_film_leakage_m3_per_s"],
        label: "its leakage",
        equation: |facts| match (facts.outcome.hand.parallel_film_of_gas, facts.outcome.conditions.reverse_pressure) {
            (true, false) => "Q = pi h^3 |p^2 - p_low^2| / (12 mu p ln(Do/Di))",
            (true, true) => "Q = pi h^3 |p^2 - p_low^2| / (12 mu p_low ln(Do/Di))",
            (false, _) => "Q = pi h^3 |p - p_low| / (6 mu ln(Do/Di))",
        },
        words: |facts| {
            if facts.outcome.hand.parallel_film_of_gas {
                "Laminar isothermal flow of an ideal gas between parallel smooth faces, curvature kept, with the viscosity of the chamber and as volume \
                 at the density with which it enters (check F3). It leaves out heat, coning, roughness, slip and the speed of sound, which the solved \
                 leakage has."
            } else {
                "Laminar flow of an incompressible liquid between parallel smooth faces, curvature kept, with the viscosity of the chamber (Lebeck \
                 1991, check F1). It leaves out heat, coning, roughness and vapour, which the solved leakage has."
            }
        },
        inputs: |facts, _| {
            let mut inputs = vec![film(facts)];
            inputs.extend(facts.pressures());
            inputs.extend([facts.chamber_viscosity(), facts.outer_diameter(), facts.inner_diameter()]);
            inputs
        },
        models: &[],
        rules: &[],
    },
];

/// What makes the closing force.
pub(super) fn closing(facts: &Facts, _: &str) -> Vec<WhyInput> {
    let mut inputs = facts.pressures();
    inputs.extend([facts.balance_ratio(), facts.area(), facts.spring_force()]);
    inputs
}

fn net_pressure(facts: &Facts) -> Vec<WhyInput> {
    let hand = &facts.outcome.hand;
    let mut inputs = facts.pressures();
    inputs.extend([
        facts.balance_ratio(),
        facts.constant("K", "pressure-profile factor of a straight line", Kind::Number, ASSUMED_PROFILE_FACTOR, "taken, not solved"),
        facts.found("p_spring", "spring pressure", "hand.spring_pressure_pa", Kind::Pressure, hand.spring_pressure_pa),
    ]);
    inputs
}

/// The film of the estimate: solved where there is one.
fn film(facts: &Facts) -> WhyInput {
    let thickness = facts.outcome.hand.parallel_film_m;
    match facts.at.filter(|at| at.mean_film_m.nominal == thickness) {
        Some(_) => facts.found("h", "mean film", "mean_film_m", Kind::SmallLength, thickness),
        None => {
            let note = "an ordinary film, taken where no film is solved (common practice, no source)";
            let assumed = facts.constant("h", "film", Kind::SmallLength, thickness, note);
            WhyInput { from: if thickness == ASSUMED_FILM_M { Origin::Constant } else { Origin::Solved }, ..assumed }
        }
    }
}
