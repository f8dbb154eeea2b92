//! The list of choices.

use halfmicron_properties::MixtureViscosity;

use super::{Alternative, Choice, Facts, Value};
use crate::model::{Flashing, Slip};

/// Every open modelling choice, in the order film fluid, flow, faces.
pub const CHOICES: &[Choice] = &[
    Choice {
        id: "film.mixture-viscosity",
        label: "viscosity of liquid and vapour together",
        what: "the viscosity of a film in which liquid and vapour flow together, from those of the two",
        key: "switches.mixture_viscosity",
        alternatives: &[
            alternative(
                "by mass fluidity",
                "fluidities added by mass: 1/mu = x/mu_v + (1 - x)/mu_l",
                "McAdams, Woods and Heroman, Trans. ASME 64 (1942) 193, from memory",
                Value::MixtureViscosity(MixtureViscosity::ByMassFluidity),
            ),
            alternative(
                "by mass",
                "viscosities added by mass: mu = x mu_v + (1 - x) mu_l",
                "Cicchitti and others, Energia Nucleare 7 (1960) 407, from memory",
                Value::MixtureViscosity(MixtureViscosity::ByMass),
            ),
            alternative(
                "by volume",
                "viscosities added by volume: mu = a mu_v + (1 - a) mu_l",
                "Dukler, Wicks and Cleveland, AIChE J. 10 (1964) 38, from memory",
                Value::MixtureViscosity(MixtureViscosity::ByVolume),
            ),
        ],
        why: "it lies between the other two, and goes to the right value where the film is all liquid or all vapour",
        idle: without_mixture,
    },
    Choice {
        id: "film.flashing",
        label: "flashing",
        what: "whether liquid below its boiling pressure turns into vapour while it crosses the faces, which takes milliseconds",
        key: "switches.flashing",
        alternatives: &[
            alternative(
                "equilibrium",
                "liquid and vapour in equilibrium at every radius: the most vapour there can be",
                "homogeneous equilibrium, the usual limit of two-phase flow",
                Value::Flashing(Flashing::Equilibrium),
            ),
            alternative(
                "frozen",
                "no vapour forms on the way: superheated liquid, the least there can be",
                "frozen flow, the opposite limit",
                Value::Flashing(Flashing::Frozen),
            ),
        ],
        why: "rough, hot faces and wear dust give bubbles places to start, and equilibrium is the dangerous side: it opens the faces",
        idle: never_boiling,
    },
    Choice {
        id: "film.slip",
        label: "slip of gas at the faces",
        what: "how much faster gas flows where its free path is not small beside the film",
        key: "switches.slip",
        alternatives: &[
            alternative(
                "kinetic",
                "flow rate of kinetic theory at every Knudsen number",
                "Fukui and Kaneko, J. Tribol. 112 (1990) 78, fitted formula from memory",
                Value::Slip(Slip::Kinetic),
            ),
            alternative(
                "first order",
                "1 + 6 free paths over the gap",
                "Burgdorfer, J. Basic Eng. 81 (1959) 94, from memory",
                Value::Slip(Slip::FirstOrder),
            ),
            alternative("none", "gas clings to the faces", "no-slip limit", Value::Slip(Slip::None)),
        ],
        why: "it holds at every ratio of free path to gap; the first-order law is its limit for thick films",
        idle: without_gas,
    },
    Choice {
        id: "film.turbulence",
        label: "turbulence",
        what: "whether a film at high Reynolds number resists flow and shear as turbulent",
        key: "switches.turbulence",
        alternatives: &[
            alternative(
                "true",
                "turbulent film coefficients above the laminar range",
                "Ng and Pan, J. Basic Eng. 87 (1965) 675, from memory",
                Value::Turbulence(true),
            ),
            alternative("false", "laminar at every Reynolds number", "laminar limit", Value::Turbulence(false)),
        ],
        why: "thick films of thin liquid at high speed are turbulent; laminar laws understate their friction",
        idle: laminar,
    },
    Choice {
        id: "film.momentum-factor",
        label: "momentum factor of the radial flow",
        what: "how much more momentum the radial flow carries than its mean speed says",
        key: "switches.momentum_factor",
        alternatives: &[
            alternative(
                "1",
                "flat profile",
                "isothermal film with inertia as in the published choked films, unity factor",
                Value::MomentumFactor(1.0),
            ),
            alternative("1.2", "parabolic profile, 6/5", "integral of the laminar parabola, exact", Value::MomentumFactor(1.2)),
        ],
        why: "it is the one that the published choked films use, and an accelerating profile is flatter than the parabola",
        idle: without_inertia,
    },
    Choice {
        id: "film.entry-loss",
        label: "entry loss",
        what: "the share of the dynamic pressure lost where the fluid turns into the gap",
        key: "switches.entry_loss",
        alternatives: &[
            alternative("0", "well rounded lip", "no loss, the limit", Value::EntryLoss(0.0)),
            alternative("0.5", "sharp lip", "handbook value of a sharp-edged entry, from memory", Value::EntryLoss(0.5)),
            alternative(
                "1",
                "one dynamic pressure lost",
                "upper estimate, about that of a protruding entry, from memory",
                Value::EntryLoss(1.0),
            ),
        ],
        why: "lapped faces have sharp lips",
        idle: without_inertia,
    },
    Choice {
        id: "film.shear-factor",
        label: "shear factor of rough faces",
        what: "whether roughness raises viscous shear where the film is of its height",
        key: "switches.shear_factor",
        alternatives: &[
            alternative(
                "true",
                "raised by Patir and Cheng's factor",
                "Patir and Cheng, J. Lub. Tech. 101 (1979) 220",
                Value::ShearFactor(true),
            ),
            alternative("false", "as between smooth faces", "smooth limit", Value::ShearFactor(false)),
        ],
        why: "measured and computed rough films shear harder than smooth ones; in mixed films it is the largest open choice",
        idle: without_rough_shear,
    },
    Choice {
        id: "film.flow-factor",
        label: "flow factor of rough faces",
        what: "whether roughness hinders the radial flow where the film is of its height",
        key: "switches.flow_factor",
        alternatives: &[
            alternative(
                "true",
                "hindered by Patir and Cheng's factor",
                "Patir and Cheng, J. Lub. Tech. 100 (1978) 12",
                Value::FlowFactor(true),
            ),
            alternative("false", "as between smooth faces", "smooth limit", Value::FlowFactor(false)),
        ],
        why: "isotropic lapped roughness hinders flow; the smooth law overstates the leak of a mixed film",
        idle: thick_beside_roughness,
    },
];

const fn alternative(id: &'static str, words: &'static str, source: &'static str, value: Value) -> Alternative {
    Alternative { id, words, source, value }
}

/// Least film over roughness above which the roughness factors differ from one by less than 0.1 % (shear: 1 + (sigma/h)^2;
/// flow: 1 - 0.9 exp(-0.56 h/sigma)).
const SMOOTH_FILM_PARAMETER: f64 = 32.0;
/// Share of the pressure difference below which inertia of the radial flow is nothing beside viscous resistance.
const NEGLIGIBLE_INERTIA: f64 = 1e-5;
/// Reynolds number up to which no film is turbulent.
const LAMINAR_REYNOLDS: f64 = 1000.0;

fn without_mixture(facts: &Facts) -> Option<String> {
    (!facts.boils).then(|| "no place of the film holds liquid and vapour together".to_owned())
}

fn never_boiling(facts: &Facts) -> Option<String> {
    (!facts.boils && !facts.superheated).then(|| "no place of the film reaches boiling".to_owned())
}

fn without_gas(facts: &Facts) -> Option<String> {
    (!facts.boils && !facts.gas).then(|| "the film is liquid throughout".to_owned())
}

fn laminar(facts: &Facts) -> Option<String> {
    (facts.reynolds <= LAMINAR_REYNOLDS).then(|| format!("the Reynolds number stays at {:.0}: laminar", facts.reynolds))
}

fn without_inertia(facts: &Facts) -> Option<String> {
    if !facts.convective_inertia {
        return Some("inertia of the radial flow is switched off".to_owned());
    }
    (!facts.boils && facts.inertia_share < NEGLIGIBLE_INERTIA)
        .then(|| format!("the radial flow is slow: its dynamic pressure is {:.0e} of the pressure difference", facts.inertia_share))
}

fn without_rough_shear(facts: &Facts) -> Option<String> {
    if !facts.turning {
        return Some("the shaft stands".to_owned());
    }
    thick_beside_roughness(facts)
}

fn thick_beside_roughness(facts: &Facts) -> Option<String> {
    (facts.film_parameter > SMOOTH_FILM_PARAMETER)
        .then(|| format!("the film is {:.0} times as thick as the roughness", facts.film_parameter))
}
