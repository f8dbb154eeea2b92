//! Models behind a result: the headings of their files, how far they are proven, and whether they were used inside their range.

use halfmicron_properties::FluidKind;

use super::WhyModel;
use super::facts::Facts;
use super::headers::HEADERS;
use crate::film::resistance::{LAMINAR_REYNOLDS, TURBULENT_REYNOLDS};
use crate::model::{ChamberTemperature, SecondaryFriction};
use crate::notice::Notice;
use crate::outcome::{Equilibrium, PhaseChangeKind};
use crate::rules::models::proofs;
use crate::rules::text::{number, percent, ratio};

/// The header of a model's file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Header {
    pub file: &'static str,
    pub title: &'static str,
    pub what: &'static str,
    pub equation: &'static str,
    pub valid_when: &'static str,
    pub source: &'static str,
    pub checked_by: &'static str,
}

const FILM: &str = "crates/seal/src/film";
const POINT: &str = "crates/seal/src/point";
const MOTION: &str = "crates/seal/src/motion";
const FLUID: &str = "crates/properties/src/fluid";

/// Least film over roughness down to which the flow factor is the published one.
const FLOW_FACTOR_FROM: f64 = 0.5;
/// Least film over roughness below which the statistics of rough faces mean nothing.
const STATISTICS_FROM: f64 = -3.0;
/// Squeeze of a secondary seal for which its friction formula is meant.
const SQUEEZE: [f64; 2] = [0.05, 0.30];

/// Files whose headers belong to a model: folder and names. Models without an id of an outcome have that of their file.
pub(super) fn files(id: &str, kind: Option<FluidKind>) -> (&'static str, &'static [&'static str]) {
    match id {
        "film.axisymmetric" => (FILM, &["step.rs", "march.rs"]),
        "film.field" => (FILM, &["field/mod.rs"]),
        "film.along-saturation" => (FILM, &["hold.rs"]),
        "film.turbulence" | "film.slip" => (FILM, &["resistance.rs"]),
        "film.roughness.flow" | "film.roughness.shear" => (FILM, &["roughness.rs"]),
        "contact.greenwood-tripp" => ("crates/seal/src/contact", &["mod.rs"]),
        "ring.heat" => ("crates/numerics/src", &["heat.rs"]),
        "ring.elasticity" => ("crates/numerics/src", &["elasticity.rs"]),
        "ring.reduction" => ("crates/seal/src/ring", &["reduction.rs"]),
        "ring.convection" => ("crates/seal/src/convection", &["mod.rs"]),
        "point.coupled" => (POINT, &["coupled.rs"]),
        "point.secondary-seal-friction" => (POINT, &["secondary.rs"]),
        "point.chamber" => (POINT, &["chamber.rs"]),
        "point.standing" => (POINT, &["standing.rs"]),
        "point.margins" => (POINT, &["margins.rs"]),
        "point.wave" => (POINT, &["wave.rs"]),
        "motion.coefficients" => (FILM, &["field/small.rs"]),
        "motion.following" => (MOTION, &["tilt.rs"]),
        "motion.threshold" => (MOTION, &["threshold.rs"]),
        "motion.body" => (MOTION, &["body.rs"]),
        "motion.support" => (MOTION, &["support.rs"]),
        "motion.leakage" => (MOTION, &["leakage.rs"]),
        "motion.time" => (MOTION, &["time.rs"]),
        "fluid.equation-of-state" => (FLUID, &["helmholtz.rs", "equilibrium.rs", "transport/mod.rs", "mixture.rs"]),
        "fluid.oil" => (FLUID, &["oil.rs", "liquid.rs"]),
        "fluid.constant" if matches!(kind, Some(FluidKind::ConstantGas | FluidKind::ConstantBoiling)) => (FLUID, &["closed_form.rs"]),
        "fluid.solution" | "fluid.custom" | "fluid.constant" => (FLUID, &["liquid.rs"]),
        _ => ("", &[]),
    }
}

/// Models behind a result: those of the duty whose ids begin as asked, and those of the program that have no id of their own.
pub(super) fn behind(facts: &Facts, asked: &[&str]) -> Vec<WhyModel> {
    let mut ids: Vec<&str> = Vec::new();
    for beginning in asked {
        let of_duty = facts.outcome.models.iter().map(String::as_str).filter(|id| id.starts_with(beginning));
        let unnamed = ["point.chamber", "point.standing", "point.margins", "ring.reduction"]
            .into_iter()
            .filter(|id| id == beginning && belongs(facts, id));
        for id in of_duty.chain(unnamed) {
            if !ids.contains(&id) {
                ids.push(id);
            }
        }
    }
    ids.into_iter().flat_map(|id| model(facts, id)).collect()
}

fn belongs(facts: &Facts, id: &str) -> bool {
    id != "point.chamber" || matches!(facts.duty.temperature, ChamberTemperature::FromFlush(_))
}

fn model(facts: &Facts, id: &str) -> Vec<WhyModel> {
    let (folder, names) = files(id, Some(facts.fluid().kind()));
    let (within_range, range) = range(facts, id);
    let water = facts.fluid().sources().iter().any(|source| source.key == "wagner-pruss-2002");
    let header = |name: &&str| {
        // Water has transport equations of its own; a mixture is told of where there is one.
        let name = match *name {
            "transport/mod.rs" if water => "water_transport.rs",
            "mixture.rs" if !facts.at.is_some_and(mixed) => return None,
            name => name,
        };
        HEADERS.iter().find(|header| header.file.strip_prefix(folder).and_then(|rest| rest.strip_prefix('/')) == Some(name))
    };
    let told = |header: &Header| WhyModel {
        id: id.to_owned(),
        title: header.title.to_owned(),
        what: header.what.to_owned(),
        equation: header.equation.to_owned(),
        valid_when: header.valid_when.to_owned(),
        source: header.source.to_owned(),
        checks: header.checked_by.to_owned(),
        checked_by: proofs(id).iter().map(|check| (*check).to_owned()).collect(),
        proven: !proofs(id).is_empty(),
        within_range,
        range: facts.written(&range),
    };
    names.iter().filter_map(header).map(told).collect()
}

fn mixed(at: &Equilibrium) -> bool {
    !at.passage.phase_changes.is_empty() || (at.vapour_fraction_max > 0.0 && at.vapour_fraction_max < 1.0)
}

/// Whether a model was used inside its range at this duty, and what says so.
fn range(facts: &Facts, id: &str) -> (Option<bool>, String) {
    let notices = |codes: &[&str]| -> Vec<String> {
        let of = |notice: &&Notice| codes.iter().any(|code| notice.code.starts_with(code));
        facts.outcome.notices.iter().filter(of).map(|notice| notice.message.clone()).collect()
    };
    let by_notices = |codes: &[&str], otherwise: &str| match notices(codes) {
        said if said.is_empty() => (Some(true), otherwise.to_owned()),
        said => (Some(false), said.join("; ")),
    };
    match id {
        "ring.convection" => (None, notices(&["range.convection"]).join("; ")),
        "ring.heat" | "ring.elasticity" | "ring.reduction" => by_notices(
            &["clamp.material", "range.material"],
            "the chamber temperature lies inside tables and service ranges of the ring materials",
        ),
        _ if id.starts_with("fluid.") => {
            let codes =
                ["fluid.extrapolated", "fluid.transport-extrapolated", "fluid.heat-capacity", "fluid.freezes", "fluid.near-critical"];
            let below = ["fluid.below-triple", "fluid.pressure-viscosity-ignored"];
            by_notices(&[&codes[..], &below].concat(), "the chamber lies inside the range of the fluid's data")
        }
        "point.secondary-seal-friction" => squeeze(facts),
        _ => facts.at.map_or((None, String::new()), |at| of_point(facts, at, id)),
    }
}

fn squeeze(facts: &Facts) -> (Option<bool>, String) {
    match facts.model.seal.secondary_seal.friction {
        SecondaryFriction::Automatic { squeeze, .. } => {
            (Some((SQUEEZE[0]..=SQUEEZE[1]).contains(&squeeze)), format!("squeeze {} of the section", percent(squeeze)))
        }
        SecondaryFriction::Given(_) => (None, String::new()),
    }
}

fn of_point(facts: &Facts, at: &Equilibrium, id: &str) -> (Option<bool>, String) {
    let reynolds = at.reynolds.couette.max(at.reynolds.pressure);
    let lambda = at.film_parameter;
    match id {
        "film.axisymmetric" | "film.field" => {
            let state = match reynolds {
                re if re <= LAMINAR_REYNOLDS => "laminar",
                re if re <= TURBULENT_REYNOLDS => "between laminar and turbulent",
                _ => "turbulent",
            };
            let choked = if at.passage.choked { ", choked at the exit" } else { "" };
            (
                Some(at.passage.greatest_mach <= 1.0 + 1e-6),
                format!(
                    "Reynolds number up to {}: {state}; up to {} of the speed of sound{choked}",
                    number(reynolds),
                    ratio(at.passage.greatest_mach)
                ),
            )
        }
        "film.along-saturation" => {
            let holds = at.passage.phase_changes.iter().any(|change| change.kind == PhaseChangeKind::LeavesBoilingPoint);
            (Some(holds), "the film follows its boiling point over a stretch".to_owned())
        }
        "film.turbulence" if reynolds < TURBULENT_REYNOLDS => {
            (None, format!("Reynolds number {}: blended between the laminar and the turbulent law", number(reynolds)))
        }
        "film.turbulence" => (Some(true), format!("Reynolds number {}", number(reynolds))),
        "film.slip" => (None, format!("vapour by mass up to {}; full slip in thin gas alone", percent(at.vapour_fraction_max))),
        "film.roughness.flow" if lambda < FLOW_FACTOR_FROM => (
            Some(false),
            format!("least film {} roughnesses: below {FLOW_FACTOR_FROM} the factor is held and scaled with the mean gap", ratio(lambda)),
        ),
        "film.roughness.flow" => (Some(true), format!("least film {} roughnesses", ratio(lambda))),
        "film.roughness.shear" | "contact.greenwood-tripp" => {
            (Some(lambda >= STATISTICS_FROM), format!("least film {} roughnesses", ratio(lambda)))
        }
        "point.coupled" if facts.outcome.notices.iter().any(|notice| notice.code == "stability.signs") => {
            (None, "fast and slow stability differ in sign: see the notice".to_owned())
        }
        _ => (None, String::new()),
    }
}
