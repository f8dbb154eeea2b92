//! The film: its thickness, contact, shape and stiffness.

use super::facts::{Facts, name};
use super::{Explanation, WhyInput};
use crate::model::RingRole;
use crate::outcome::{Coning, Equilibrium};
use crate::sheet::units::Kind;

const SHAPE: &[&str] =
    &["point.coupled", "film.", "contact.", "ring.elasticity", "ring.reduction", "ring.heat", "ring.convection", "fluid."];

pub(super) const ALL: &[Explanation] = &[
    Explanation {
        keys: &["minimum_film_m"],
        label: "least film",
        equation: |_| "h_min = min over r of h(r), with int (p - p_low + p_c) dA = F_closing",
        words: |_| {
            "The gap between the mean planes of the rough faces is the distance h0 of the rings plus lapped form, deflection by pressure and \
             deflection by heat. h0 is the one at which film pressure p and contact pressure p_c together carry the closing force; p, p_c, the \
             temperatures and the deflections all belong to that gap. Low and high take in flatness, roughness, contact constants, friction, \
             modulus, expansion, convection, conductivity and secondary-seal friction, each varied alone and added in squares."
        },
        inputs: |facts, _| thickness(facts),
        models: SHAPE,
        rules: &["film.lambda", "film.minimum", "film.hard-pair", "film.waviness", "boiling.states"],
    },
    Explanation {
        keys: &["friction_band.minimum_film_m.0", "friction_band.minimum_film_m.1"],
        label: "least film with secondary-seal friction",
        equation: |_| "opening = F_closing + F_friction; opening = F_closing - F_friction",
        words: |_| {
            "The secondary seal may hold the floating ring back either way. The same film is followed to both closing forces: friction adding to \
             closing gives the thinner one."
        },
        inputs: |facts, _| {
            let mut inputs: Vec<WhyInput> = facts
                .of_point("F_closing", "closing force without friction", "closing_force_n", Kind::Force, |at| at.closing_force_n)
                .into_iter()
                .collect();
            inputs.extend(facts.of_point("F_friction", "secondary-seal friction", "friction_band.friction_n", Kind::Force, |at| {
                at.friction_band.friction_n[1]
            }));
            inputs.extend(facts.of_point("", "closing with friction added", "", Kind::Force, |at| at.friction_band.closing_force_n[0]));
            inputs
                .extend(facts.of_point("", "closing with friction taken away", "", Kind::Force, |at| at.friction_band.closing_force_n[1]));
            inputs
        },
        models: &["point.secondary-seal-friction", "point.coupled"],
        rules: &["closing.band", "closing.hang-up"],
    },
    Explanation {
        keys: &[
            "with_wave.minimum_film_m",
            "with_wave.contact_share",
            "with_wave.leakage_m3_per_s",
            "with_wave.torque_n_m",
            "with_wave.face_temperature_max_k",
        ],
        label: "the same with a rigid wave",
        equation: |_| "h(r, theta) = h(r) + a cos(2 theta), a = flatness / 4",
        words: |_| {
            "Lapped faces are never flat round the circumference, and what waviness they are left with carries load and opens the gap. The answer \
             itself is solved flat; this number with a wave of two a turn on the narrow face, from valley to peak half its flatness (common practice, \
             no source), which stays as it is. It is an example of what waviness does, not a limit: more or higher waves lift more, and pressure and \
             contact flatten a real wave in part, which is not modelled. Films of gas, films that boil and textured faces are given none."
        },
        inputs: |facts, _| {
            let mut inputs: Vec<WhyInput> = Vec::new();
            if let Some(wave) = facts.at.and_then(|at| at.with_wave) {
                inputs.push(facts.found("2a", "wave, valley to peak", "", Kind::SmallLength, wave.peak_to_valley_m));
                inputs.push(facts.found("", "mean film with it", "", Kind::SmallLength, wave.mean_film_m));
                inputs.push(facts.found("", "face over which the liquid is torn", "", Kind::Share, wave.cavitated_share));
            }
            inputs.extend(facts.of_point("h_min", "least film, flat", "minimum_film_m", Kind::SmallLength, |at| at.minimum_film_m.nominal));
            inputs
        },
        models: &["point.wave", "film.field", "point.coupled", "contact."],
        rules: &["film.waviness", "leak.liquid"],
    },
    Explanation {
        keys: &["mean_film_m"],
        label: "mean film",
        equation: |_| "h_mean = (1/A) int h dA",
        words: |_| "Mean of the gap over the face area.",
        inputs: |facts, _| {
            let mut inputs = vec![facts.area()];
            inputs.extend(facts.of_point("h_min", "least film", "minimum_film_m", Kind::SmallLength, |at| at.minimum_film_m.nominal));
            inputs.extend(facts.of_point("", "gap at the inner edge", "", Kind::SmallLength, |at| at.inner_gap_m));
            inputs.extend(facts.of_point("", "coning over the band", "coning_m.total", Kind::SmallLength, |at| at.coning_m.total));
            inputs
        },
        models: &["point.coupled"],
        rules: &[],
    },
    Explanation {
        keys: &["film_parameter"],
        label: "least film over roughness",
        equation: |_| "lambda = h_min / sqrt(Rq1^2 + Rq2^2)",
        words: |_| "Least film over the composite roughness of both faces. Above about three the peaks hardly touch.",
        inputs: |facts, _| {
            let film = facts.of_point("h_min", "least film", "minimum_film_m", Kind::SmallLength, |at| at.minimum_film_m.nominal);
            film.into_iter().chain(facts.roughness()).collect()
        },
        models: &["point.coupled"],
        rules: &["film.lambda", "film.hard-pair"],
    },
    Explanation {
        keys: &["regime"],
        label: "regime",
        equation: |_| "full film: lambda > 3 and share < 1 %; boundary: share > 90 %; else mixed",
        words: |_| "By least film over roughness and by the share of the load that asperities carry (common practice, no source).",
        inputs: |facts, _| {
            let lambda = facts.of_point("lambda", "least film over roughness", "film_parameter", Kind::Number, |at| at.film_parameter);
            lambda
                .into_iter()
                .chain(facts.of_point("share", "contact share", "contact_share", Kind::Share, |at| at.contact_share.nominal))
                .collect()
        },
        models: &["contact.", "point.coupled"],
        rules: &["film.lambda", "film.contact-share"],
    },
    Explanation {
        keys: &["contact_share"],
        label: "contact share",
        equation: |_| "share = F_contact / (F_film + F_contact)",
        words: |_| {
            "Share of the opening force carried by touching asperities. Faces are solved flat round the circumference: real waves lift them and take \
             load off the asperities, so it is an upper estimate."
        },
        inputs: |facts, _| {
            let mut inputs: Vec<WhyInput> = facts
                .of_point("F_contact", "carried by contact", "contact_force_n", Kind::Force, |at| at.contact_force_n)
                .into_iter()
                .collect();
            inputs.extend(facts.of_point("F_film", "carried by film", "film_force_n", Kind::Force, |at| at.film_force_n));
            inputs
        },
        models: &["contact.", "point.coupled", "film.axisymmetric", "film.field"],
        rules: &["film.contact-share", "film.hot-spots", "film.wear-life", "film.wear-depth"],
    },
    Explanation {
        keys: &["coning_m.total"],
        label: "coning, + opens to high pressure",
        equation: |_| "coning = c_pressure + c_heat + c_lapped",
        words: |_| {
            "Gap at the high-pressure edge of the band less gap at the low-pressure edge, of both rings together. Positive opens toward the high \
             pressure: such a film is stiff. The parts are often each much greater than their sum."
        },
        inputs: |facts, _| {
            let part = |symbol: &str, label: &str, key: &str, of: fn(&Coning) -> f64| {
                facts.of_point(symbol, label, key, Kind::SmallLength, |at| of(&at.coning_m))
            };
            let mut inputs: Vec<WhyInput> = [
                part("c_pressure", "by pressure", "coning_m.elastic", |coning| coning.elastic),
                part("c_heat", "by heat", "coning_m.thermal", |coning| coning.thermal),
                part("c_lapped", "lapped", "coning_m.lapped", |coning| coning.lapped),
            ]
            .into_iter()
            .flatten()
            .collect();
            inputs.extend(ring_shares(facts, |coning| coning.total, "total"));
            inputs
        },
        models: &["ring.elasticity", "ring.reduction", "ring.heat", "ring.convection", "point.coupled"],
        rules: &["film.coning-sign", "film.coning-range", "test.hot-cold", "film.stiffness"],
    },
    Explanation {
        keys: &["coning_m.elastic"],
        label: "by pressure",
        equation: |_| "c_pressure = end to end of [G_p (p - p_low + p_c) + chamber pressure + springs + spin + fits]",
        words: |_| {
            "Deflection of both faces by film and contact pressure, pressure on the wetted surfaces, springs, centrifugal force and interference fits; \
             high-pressure edge less low-pressure edge."
        },
        inputs: |facts, _| {
            let mut inputs = ring_shares(facts, |coning| coning.elastic, "elastic");
            inputs.extend(facts.pressures());
            inputs.push(facts.speed());
            inputs.extend(
                [RingRole::Rotating, RingRole::Stationary].into_iter().flat_map(|role| facts.face_material(role).into_iter().take(1)),
            );
            inputs
        },
        models: &["ring.elasticity", "ring.reduction"],
        rules: &["film.coning-sign", "film.coning-range"],
    },
    Explanation {
        keys: &["coning_m.thermal"],
        label: "by heat",
        equation: |_| "c_heat = end to end of [G_1 q_1 + G_2 q_2 + warming of the whole ring]",
        words: |_| {
            "Deflection of both faces by the heat that enters them and by the temperature of their surroundings against the one at which they are \
             flat; high-pressure edge less low-pressure edge."
        },
        inputs: |facts, _| {
            let mut inputs = ring_shares(facts, |coning| coning.thermal, "thermal");
            inputs
                .extend(facts.of_point("", "heat into rotating ring", "heat_split_w.rotating", Kind::Power, |at| at.heat_split_w.rotating));
            inputs.extend(
                facts.of_point("", "heat into stationary ring", "heat_split_w.stationary", Kind::Power, |at| at.heat_split_w.stationary),
            );
            inputs.push(facts.chamber_temperature());
            inputs.extend(
                [RingRole::Rotating, RingRole::Stationary].into_iter().flat_map(|role| facts.face_material(role).into_iter().skip(1)),
            );
            inputs
        },
        models: &["ring.heat", "ring.elasticity", "ring.reduction", "ring.convection"],
        rules: &["film.coning-sign", "film.coning-range", "test.hot-cold"],
    },
    Explanation {
        keys: &["coning_m.lapped"],
        label: "lapped",
        equation: |_| "c_lapped = lapped coning of rotating + of stationary ring",
        words: |_| "Form given to the faces by lapping, as the case states it. Flatness is a tolerance: it widens low and high and is no part of it.",
        inputs: |facts, _| {
            let lapped = |role: RingRole| {
                let ring = facts.ring(role);
                let path = format!("{}.lapped_coning", super::facts::ring_key(role));
                facts.stated(
                    "",
                    &format!("lapped coning of the {} ring, + opens to the sealed side", name(role)),
                    &path,
                    Kind::SmallLength,
                    ring.lapped_coning_m,
                )
            };
            vec![lapped(RingRole::Rotating), lapped(RingRole::Stationary)]
        },
        models: &[],
        rules: &["flat.form", "film.coning-sign"],
    },
    Explanation {
        keys: &["pressure_profile_factor"],
        label: "pressure-profile factor K",
        equation: |_| "K = F_film / (A |p - p_low|)",
        words: |_| "Force of the film above the lower pressure, over that of the whole pressure difference on the face. 0.5 is a straight line.",
        inputs: |facts, _| {
            let film = facts.of_point("F_film", "carried by film", "film_force_n", Kind::Force, |at| at.film_force_n);
            film.into_iter().chain([facts.area()]).chain(facts.pressures()).collect()
        },
        models: &["film.", "fluid."],
        rules: &["balance.margin"],
    },
    Explanation {
        keys: &["film_stiffness_n_per_m.coupled"],
        label: "stiffness per least gap",
        equation: |_| "k = - dW/dh_min",
        words: |_| {
            "How much film and contact push back as the least gap closes, temperatures and deflections following. Beside it stand the slopes with \
             temperatures held (fast motion) and with the whole shape held. Whether the point is stable is told by the travel of the ring where it is \
             held, not by this slope."
        },
        inputs: |facts, _| {
            let of = |label: &str, of: fn(&Equilibrium) -> f64| facts.of_point("", label, "", Kind::Stiffness, of);
            let mut inputs: Vec<WhyInput> = [
                of("with temperatures held", |at| -at.film_stiffness_n_per_m.thermally_frozen),
                of("with the whole shape held", |at| -at.film_stiffness_n_per_m.frozen),
            ]
            .into_iter()
            .flatten()
            .collect();
            inputs.extend(facts.of_point("", "closing force", "closing_force_n", Kind::Force, |at| at.closing_force_n));
            inputs.extend(facts.of_point("", "least film", "minimum_film_m", Kind::SmallLength, |at| at.minimum_film_m.nominal));
            inputs
        },
        models: SHAPE,
        rules: &["film.stiffness", "film.thermal-stability"],
    },
];

fn thickness(facts: &Facts) -> Vec<WhyInput> {
    let mut inputs: Vec<WhyInput> =
        facts.of_point("F_closing", "closing force", "closing_force_n", Kind::Force, |at| at.closing_force_n).into_iter().collect();
    inputs.extend(facts.of_point("", "carried by film", "film_force_n", Kind::Force, |at| at.film_force_n));
    inputs.extend(facts.of_point("", "carried by contact", "contact_force_n", Kind::Force, |at| at.contact_force_n));
    inputs.extend(facts.of_point("", "coning over the band", "coning_m.total", Kind::SmallLength, |at| at.coning_m.total));
    inputs.extend(facts.pressures());
    inputs.push(facts.speed());
    inputs.push(facts.chamber_temperature());
    inputs.push(facts.chamber_viscosity());
    inputs.extend(facts.roughness());
    inputs
}

/// A part of the coning of each ring.
fn ring_shares(facts: &Facts, of: fn(&Coning) -> f64, part: &str) -> Vec<WhyInput> {
    let one = |role: RingRole| {
        let key = if part == "total" { format!("rings.{}.coning_m.total", name(role)) } else { String::new() };
        facts.of_point("", &format!("of the {} ring", name(role)), &key, Kind::SmallLength, move |at| {
            of(match role {
                RingRole::Rotating => &at.rings.rotating.coning_m,
                RingRole::Stationary => &at.rings.stationary.coning_m,
            })
        })
    };
    [one(RingRole::Rotating), one(RingRole::Stationary)].into_iter().flatten().collect()
}
