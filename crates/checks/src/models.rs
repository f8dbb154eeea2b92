//! Every physical model that leaves its id in an outcome: what it is, where it holds, where it comes from, how far it is proven.

use serde::Serialize;

use crate::{CheckResult, CheckVerdict, Kind};

/// A physical model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Model {
    /// Stable id, as it stands in `models` of an outcome. One that ends with `.` stands for every id that begins with it.
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
        valid_when: "thin laminar liquid film, no boiling, gap the same round the circumference",
        source: "Reynolds equation; Findlay 1968 and Pinkus and Lund 1981 for averaged inertia",
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
        id: "ring.convection.",
        title: "Convection on wetted ring surfaces by correlation",
        valid_when: "the range stated with each correlation; large seals at speed are usually outside it, and a notice says so",
        source: "correlations for turning cylinders and discs, each cited where it is computed",
    },
    Model {
        id: "point.coupled",
        title: "Whole seal: film, contact, heat and ring distortion in equilibrium with the closing force",
        valid_when: "quasi-steady, axisymmetric; every part within its own range",
        source: "force balance of the floating ring; own derivation of the coupled equations",
    },
    Model {
        id: "fluid.water",
        title: "Water and steam by the Helmholtz equation of IAPWS, with its viscosity and conductivity",
        valid_when: "the range stated with the fluid",
        source: "IAPWS R6-95, R12-08, R15-11",
    },
    Model {
        id: "fluid.",
        title: "Properties of the fluid",
        valid_when: "the range stated with each fluid",
        source: "cited with each fluid",
    },
];

/// The model that an id of an outcome stands for: its own entry first, then a family.
pub fn find(id: &str) -> Option<&'static Model> {
    MODELS.iter().find(|model| model.id == id).or_else(|| MODELS.iter().find(|model| model.id.ends_with('.') && id.starts_with(model.id)))
}

/// Ids of the checks that concern a model.
pub fn checks_of(id: &str) -> Vec<&'static str> {
    crate::all().into_iter().filter(|check| check.models.iter().any(|concerned| covers(concerned, id))).map(|check| check.id).collect()
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

/// Whether a proof written for `concerned` speaks of `id`. A proof of one member of a family says nothing of the family.
fn covers(concerned: &str, id: &str) -> bool {
    concerned == id
}
