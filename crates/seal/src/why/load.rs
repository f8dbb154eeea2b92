//! Forces, rings and balances.

use super::facts::{Facts, name, ring_key};
use super::hand;
use super::{Explanation, Origin, WhyInput};
use crate::model::{RingRole, SecondaryFriction};
use crate::sheet::units::Kind;

pub(super) const ALL: &[Explanation] = &[
    Explanation {
        keys: &["closing_force_n"],
        label: "closing force",
        equation: |_| "F_closing = |p - p_low| B A + F_spring",
        words: |_| "What presses the faces together, counted above the lower of both pressures; the friction of the secondary seal is left out and told beside it.",
        inputs: hand::closing,
        models: &[],
        rules: &["balance.margin", "spring.share", "closing.hang-up"],
    },
    Explanation {
        keys: &["friction_band.friction_n"],
        label: "secondary-seal friction",
        equation: |_| "F = mu pi D (w + |p - p_low| b)",
        words: |_| {
            "Friction mu of the seal ring on its track of diameter D: line load w by squeeze, and the pressure on the width b of contact. It opposes \
             motion either way, so it may add to closing or take from it."
        },
        inputs: |facts, _| friction(facts),
        models: &["point.secondary-seal-friction"],
        rules: &["oring.friction", "closing.hang-up", "closing.band"],
    },
    Explanation {
        keys: &["film_force_n"],
        label: "carried by film",
        equation: |_| "F_film = int (p_film - p_lower) dA",
        words: |_| "Force of the film above the lower of both pressures. At the operating point film and contact together equal the closing force.",
        inputs: |facts, _| shares(facts),
        models: &["film.", "fluid.", "point.coupled"],
        rules: &["balance.margin"],
    },
    Explanation {
        keys: &["contact_force_n"],
        label: "carried by contact",
        equation: |_| "F_contact = int p_c(h) dA",
        words: |_| "Force of the touching asperities, from the gap at each radius. At the operating point film and contact together equal the closing force.",
        inputs: |facts, _| {
            let mut inputs = shares(facts);
            inputs.extend(facts.of_point("lambda", "least film over roughness", "film_parameter", Kind::Number, |at| at.film_parameter));
            inputs.extend(facts.roughness());
            let contact = &facts.model.contact;
            inputs.push(facts.stated(
                "",
                "asperity density x tip radius x roughness",
                "contact.eta_beta_sigma",
                Kind::Number,
                contact.eta_beta_sigma,
            ));
            inputs.push(facts.stated("", "roughness over tip radius", "contact.sigma_over_beta", Kind::Number, contact.sigma_over_beta));
            inputs.push(facts.stated(
                "",
                "plastic bearing pressure of the softer face",
                "contact.plastic_pressure",
                Kind::Pressure,
                contact.plastic_pressure_pa,
            ));
            inputs
        },
        models: &["contact.", "point.coupled"],
        rules: &["film.contact-share", "film.wear-life", "film.wear-depth"],
    },
    Explanation {
        keys: &["pv_pa_m_per_s"],
        label: "net PV, solved K",
        equation: |_| "PV = v (F_closing - F_film) / A",
        words: |_| "Mean pressure that the film leaves to the asperities, times the sliding speed at the mean diameter.",
        inputs: |facts, _| {
            let mut inputs: Vec<WhyInput> =
                facts.of_point("F_closing", "closing force", "closing_force_n", Kind::Force, |at| at.closing_force_n).into_iter().collect();
            inputs.extend(facts.of_point("F_film", "carried by film", "film_force_n", Kind::Force, |at| at.film_force_n));
            inputs.push(facts.area());
            inputs.push(facts.found(
                "v",
                "sliding speed",
                "hand.sliding_speed_m_per_s",
                Kind::Speed,
                facts.outcome.hand.sliding_speed_m_per_s,
            ));
            inputs
        },
        models: &["film.", "point.coupled"],
        rules: &["pv.net", "pv.poor"],
    },
    Explanation {
        keys: &["rings.rotating.coning_m.total", "rings.stationary.coning_m.total"],
        label: "coning of ring",
        equation: |_| "coning = c_pressure + c_heat + c_lapped",
        words: |_| "What this ring alone adds to the coning of the gap, end to end over the band; positive opens toward the high pressure.",
        inputs: |facts, key| coning(facts, key),
        models: &["ring.elasticity", "ring.heat", "ring.reduction", "ring.convection"],
        rules: &["film.coning-sign", "film.coning-range"],
    },
    Explanation {
        keys: &["rings.rotating.stress_pa.tension_max", "rings.stationary.stress_pa.tension_max"],
        label: "tension in ring",
        equation: |_| "sigma_1 = greatest principal stress of D (epsilon - alpha dT)",
        words: |_| {
            "Greatest tension in the section by pressure, heat, spin, springs and fits. Sharp inner corners without a stated fillet and the circles of \
             support are left out: there the stress of a sharp corner has no end."
        },
        inputs: |facts, key| stress(facts, key),
        models: &["ring.elasticity", "ring.heat", "ring.reduction"],
        rules: &["ring.tension", "ring.metal", "ring.shrink", "ring.burst", "heat.thermal-shock"],
    },
    Explanation {
        keys: &["balances.mass"],
        label: "mass",
        equation: |_| "residual = (flow in - flow out) / flow",
        words: |_| "Mass that enters the discrete film against mass that leaves it.",
        inputs: |facts, _| {
            facts
                .of_point("", "leakage by mass", "leakage_kg_per_s", Kind::MassLeakage, |at| at.leakage_kg_per_s.nominal)
                .into_iter()
                .collect()
        },
        models: &["film.axisymmetric", "film.field"],
        rules: &["model.residual"],
    },
    Explanation {
        keys: &["balances.force"],
        label: "force",
        equation: |_| "residual = |reaction of the floating ring where the springs press| / F_closing",
        words: |_| {
            "The floating ring is held where its springs press; at an equilibrium every applied force must cancel there. The reaction comes from the \
             finite elements, not from the sum that the solution made."
        },
        inputs: |facts, _| shares(facts),
        models: &["ring.elasticity", "point.coupled"],
        rules: &["model.residual"],
    },
    Explanation {
        keys: &["balances.heat"],
        label: "heat",
        equation: |_| "residual = |heat made - heat convected - heat of the leak| / heat made",
        words: |_| {
            "Heat of shear and contact against convection integrated over the reconstructed temperature fields of both rings, and what the leak carries \
             away; over the greatest of heat made, heat exchanged and 1 W."
        },
        inputs: |facts, _| {
            let of = |label: &str, of: fn(&crate::outcome::Equilibrium) -> f64| facts.of_point("", label, "", Kind::Power, of);
            [
                of("viscous shear", |at| at.heat_split_w.viscous),
                of("friction of asperities", |at| at.heat_split_w.contact),
                of("into rotating ring", |at| at.heat_split_w.rotating),
                of("into stationary ring", |at| at.heat_split_w.stationary),
                of("carried away by the leak", |at| at.heat_split_w.leak),
            ]
            .into_iter()
            .flatten()
            .collect()
        },
        models: &["ring.heat", "ring.reduction", "film.axisymmetric", "film.field"],
        rules: &["model.residual"],
    },
];

fn shares(facts: &Facts) -> Vec<WhyInput> {
    [
        facts.of_point("F_closing", "closing force", "closing_force_n", Kind::Force, |at| at.closing_force_n),
        facts.of_point("F_film", "carried by film", "film_force_n", Kind::Force, |at| at.film_force_n),
        facts.of_point("F_contact", "carried by contact", "contact_force_n", Kind::Force, |at| at.contact_force_n),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn friction(facts: &Facts) -> Vec<WhyInput> {
    match facts.model.seal.secondary_seal.friction {
        SecondaryFriction::Given(force) => {
            vec![facts.stated("F", "friction of the secondary seal", "seal.secondary_seal.friction", Kind::Force, force)]
        }
        SecondaryFriction::Automatic { section_m, squeeze } => {
            let mut inputs = vec![
                facts.balance_diameter(),
                facts.stated("d", "cross-section of the ring", "seal.secondary_seal.section", Kind::Length, section_m),
                facts.stated("C", "squeeze", "seal.secondary_seal.squeeze", Kind::Share, squeeze),
                facts.words("material", &facts.model.seal.secondary_seal.material, Origin::Case, "its modulus sets the line load"),
            ];
            inputs.extend(facts.pressures());
            inputs
        }
    }
}

fn role_of(key: &str) -> RingRole {
    if key.starts_with("rings.rotating") { RingRole::Rotating } else { RingRole::Stationary }
}

fn coning(facts: &Facts, key: &str) -> Vec<WhyInput> {
    let role = role_of(key);
    let of = |symbol: &str, label: &str, of: fn(&crate::outcome::Coning) -> f64| {
        facts.of_point(symbol, label, "", Kind::SmallLength, move |at| {
            of(if role == RingRole::Rotating { &at.rings.rotating.coning_m } else { &at.rings.stationary.coning_m })
        })
    };
    let mut inputs: Vec<WhyInput> =
        [of("c_pressure", "by pressure", |c| c.elastic), of("c_heat", "by heat", |c| c.thermal), of("c_lapped", "lapped", |c| c.lapped)]
            .into_iter()
            .flatten()
            .collect();
    inputs.extend(facts.face_material(role));
    inputs
}

fn stress(facts: &Facts, key: &str) -> Vec<WhyInput> {
    let role = role_of(key);
    let Some(at) = facts.at else { return Vec::new() };
    let result = if role == RingRole::Rotating { &at.rings.rotating } else { &at.rings.stationary };
    let stress = &result.stress_pa;
    let mut inputs = vec![
        facts.words("material there", &stress.tension_material, Origin::Case, ""),
        facts.found("r", "at radius", "", Kind::Length, stress.tension_at_m[0]),
        facts.found("z", "at distance from the running face", "", Kind::Length, stress.tension_at_m[1]),
        facts.found("", "greatest equivalent stress (von Mises)", "", Kind::Pressure, stress.von_mises_max),
    ];
    if !stress.not_assessed.is_empty() {
        let places = facts.written(&stress.not_assessed.join(", "));
        let note = format!("state {}.fillet to have the corners assessed", ring_key(role));
        inputs.push(facts.words(&format!("left out in the {} ring", name(role)), &places, Origin::Solved, &note));
    }
    inputs
}
