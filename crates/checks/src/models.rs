//! Every physical model that leaves its id in an outcome: what it is, where it holds, where it comes from, how far it is proven.

use serde::Serialize;

use crate::{CheckResult, CheckVerdict, Kind};

/// A physical model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Model {
    /// Stable id, as it stands in `models` of an outcome.
    pub id: &'static str,
    /// What it is.
    pub title: &'static str,
    /// Where it holds.
    pub valid_when: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

/// How far a model is proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ProofState {
    /// Every proof of it agrees, and there is at least one.
    Proven,
    /// A proof of it disagrees: the list says where.
    Disputed,
    /// Only compared with coarser theory or measurements.
    Compared,
    /// No proof: arithmetic does not count.
    Unproven,
}

/// Every model, in the order film, contact, rings, whole seal, fluids.
pub const MODELS: &[Model] = &[
    Model {
        id: "film.axisymmetric",
        title: "Axisymmetric film: pressure, inertia, spin, energy along the radius",
        valid_when: "thin film of liquid, gas or their equilibrium mixture, subsonic, gap the same round the circumference",
        source: "Reynolds equation; Findlay 1968 and Pinkus and Lund 1981 for averaged inertia; Zuk, Ludwig and Johnson 1972 for choking",
    },
    Model {
        id: "film.field",
        title: "Film between textured faces, in radius and angle: gas, and liquid with mass-conserving cavitation",
        valid_when: "thin film of one phase, slower than sound, inertia of the flow left out; one temperature round the circumference; rings that \
                     stay axisymmetric",
        source: "Reynolds equation with Jakobsson, Floberg and Olsson's cavitation (textbook); finite volumes on sheared lines derived here",
    },
    Model {
        id: "film.along-saturation",
        title: "Boiling film that follows its boiling point over a stretch",
        valid_when: "faces that cool along the flow as fast as the pressure falls; what stands off the stretch grows within about one element",
        source: "derived here",
    },
    Model {
        id: "film.turbulence",
        title: "Turbulent coefficients of the film",
        valid_when: "Reynolds numbers above 1600, blended with the laminar law from 1000",
        source: "Ng and Pan 1965, Constantinescu, Hirs 1973 (coefficients from memory)",
    },
    Model {
        id: "film.slip",
        title: "Slip of gas at the faces",
        valid_when: "ideal gas: full weight below a tenth of the critical density, none above half of it",
        source: "Burgdorfer 1959; Fukui and Kaneko, J. Tribol. 112 (1990) 78 (fit from memory)",
    },
    Model {
        id: "film.roughness.flow",
        title: "Flow factor of rough faces",
        valid_when: "Gaussian isotropic roughness, gap above half the composite roughness",
        source: "Patir and Cheng, J. Lub. Tech. 100 (1978) 12",
    },
    Model {
        id: "film.roughness.shear",
        title: "Shear factor of rough faces",
        valid_when: "polynomial height distribution of three roughnesses half-width",
        source: "Patir and Cheng, J. Lub. Tech. 101 (1979) 220",
    },
    Model {
        id: "contact.greenwood-tripp",
        title: "Asperity contact of Gaussian faces, capped by plastic bearing",
        valid_when: "elastic asperities far apart; gap above minus three roughnesses",
        source: "Greenwood and Tripp, Proc. IMechE 185 (1970-71) 625",
    },
    Model {
        id: "ring.heat",
        title: "Heat conduction in a ring section by 8-node finite elements",
        valid_when: "steady, axisymmetric, conductivity constant in each part",
        source: "Zienkiewicz and Taylor, The Finite Element Method, vol. 1",
    },
    Model {
        id: "ring.elasticity",
        title: "Thermo-elasticity of a ring section by 8-node finite elements",
        valid_when: "isotropic, small strain, axisymmetric",
        source: "Zienkiewicz and Taylor, The Finite Element Method, vol. 1; Barlow 1976",
    },
    Model {
        id: "ring.convection",
        title: "Convection on wetted ring surfaces by correlation",
        valid_when: "the range stated with each correlation; a real chamber is none of their shapes, so low and high are half and double",
        source: "Becker 1963, Theodorsen and Regier 1944, Dorfman 1963, Churchill and Chu 1975, each cited where it is computed",
    },
    Model {
        id: "point.coupled",
        title: "Whole seal: film, contact, heat and ring distortion in equilibrium with the closing force",
        valid_when: "quasi-steady, axisymmetric; every part within its own range",
        source: "force balance of the floating ring; own derivation of the coupled equations",
    },
    Model {
        id: "point.secondary-seal-friction",
        title: "Friction of the sliding secondary seal by formula",
        valid_when: "O-rings of usual hardness and squeeze; low and high stand a factor apart",
        source: "the formula stated with the friction",
    },
    Model {
        id: "point.wave",
        title: "The same equilibrium with a rigid wave round the circumference",
        valid_when: "liquid that does not boil; the wave is rigid, so that its lift is overstated",
        source: "two waves, peak to valley half the flatness: common practice, no source",
    },
    Model {
        id: "motion.coefficients",
        title: "Stiffness and damping of a film by small motions of its faces",
        valid_when: "small motions of rings that keep their shape, at temperatures held; one phase, slower than sound, inertia of the flow left out",
        source: "Lund, ASME J. Lub. Tech. 109 (1987) 37 for the perturbation (from memory); Green and Etsion 1983 for seals (from memory)",
    },
    Model {
        id: "motion.following",
        title: "Tilt and travel of a floating ring beside a face that runs out",
        valid_when: "tilts far below gap over radius, a film that answers the same in every direction, a secondary seal that sticks",
        source: "Green and Etsion 1983 and 1985; Green 1990 for a floating ring that turns (from memory)",
    },
    Model {
        id: "motion.threshold",
        title: "Speed at which following becomes unstable",
        valid_when: "film held as at the duty",
        source: "Green and Etsion, ASLE Trans. 28 (1985) 449 (from memory)",
    },
    Model {
        id: "motion.body",
        title: "Mass and moments of inertia of a ring from its section",
        valid_when: "the section is all that moves",
        source: "mechanics of rigid bodies (textbook)",
    },
    Model {
        id: "motion.support",
        title: "Springs and secondary seal that hold a floating ring",
        valid_when: "three springs or more; a secondary seal that sticks; an O-ring that is not measured is known to a factor of two",
        source: "simple shear (textbook); moduli common practice, no source",
    },
    Model {
        id: "motion.leakage",
        title: "Leakage that a relative tilt adds",
        valid_when: "a tilt that stands where the textures stand; shape and temperatures as without tilt",
        source: "the two-dimensional film itself",
    },
    Model {
        id: "motion.time",
        title: "Following in time with the whole film",
        valid_when: "shape and temperatures held as without run-out; steps of the film of first order, of the ring of second",
        source: "the two-dimensional film and rigid-body mechanics, derived here",
    },
    Model {
        id: "fluid.equation-of-state",
        title: "Fluid by a Helmholtz equation of state with transport equations",
        valid_when: "the range stated with the fluid; proofs are of water",
        source: "cited with the fluid; water: IAPWS R6-95, R12-08, R15-11",
    },
    Model {
        id: "fluid.solution",
        title: "Aqueous solution by correlations",
        valid_when: "liquid, the range stated with the fluid",
        source: "cited with the fluid",
    },
    Model {
        id: "fluid.oil",
        title: "Oil by correlations",
        valid_when: "liquid, the range stated with the fluid",
        source: "cited with the fluid",
    },
    Model { id: "fluid.custom", title: "Liquid described by the user", valid_when: "where the user's values hold", source: "the case" },
    Model {
        id: "fluid.constant",
        title: "Liquid, gas or boiling fluid of constant properties, for hand checks",
        valid_when: "always: the values are given",
        source: "the case",
    },
];

/// The model of that id.
pub fn find(id: &str) -> Option<&'static Model> {
    MODELS.iter().find(|model| model.id == id)
}

/// Ids of the checks that concern a model, arithmetic and comparisons included.
pub fn checks_of(id: &str) -> Vec<&'static str> {
    crate::all().into_iter().filter(|check| check.models.contains(&id)).map(|check| check.id).collect()
}

/// Ids of the checks that can prove a model.
pub fn proofs_of(id: &str) -> Vec<&'static str> {
    crate::all().into_iter().filter(|check| check.kind == Kind::Proof && check.models.contains(&id)).map(|check| check.id).collect()
}

/// Proof state of a model, from results already computed (of [`crate::all`]).
pub fn proof_state(id: &str, results: &[CheckResult]) -> ProofState {
    let checks = checks_of(id);
    let of_kind = |kind: Kind| results.iter().filter(move |result| result.kind == kind);
    let proofs: Vec<&CheckResult> = of_kind(Kind::Proof).filter(|result| checks.contains(&result.id)).collect();
    if proofs.iter().any(|result| result.verdict == CheckVerdict::Disagrees) {
        ProofState::Disputed
    } else if !proofs.is_empty() {
        ProofState::Proven
    } else if of_kind(Kind::Comparison).any(|result| checks.contains(&result.id)) {
        ProofState::Compared
    } else {
        ProofState::Unproven
    }
}
