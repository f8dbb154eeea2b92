//! Inputs of a duty that can be moved, and how each is moved.

use std::sync::Arc;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use halfmicron_properties::FluidKind;
use halfmicron_properties::material::Figure;

use super::{LeftOut, sizes};
use crate::model::{ChamberTemperature, Duty, Model, Ring, RingRole, SecondaryFriction};
use crate::point::Prepared;
use crate::study::vary::same_body;

/// Step of a number that is told by its ratio.
pub(super) const SHARE: f64 = 0.01;
/// Step of a temperature, K.
const KELVIN: f64 = 1.0;
/// Step of a lapped coning that is zero, m.
const CONING_M: f64 = 1e-8;

/// An input.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Input {
    /// Path, as `--set` takes it where the case can state it.
    pub path: String,
    /// What it is, in words.
    pub label: String,
    /// Value, SI and absolute; 1 where only a factor on computed numbers is moved.
    pub value: f64,
    /// Step upward.
    pub step: Step,
    /// Where the value comes from.
    pub source: Source,
}

impl Input {
    /// How much more than another input's its influence may be noise: a dimension of a ring is meshed anew, and elements come and go with it.
    pub(super) fn noise(&self) -> f64 {
        if self.path.contains("_ring.section.") || self.path.contains("_ring.face.") { MESHED_ANEW } else { 1.0 }
    }
}

/// How far an input is moved.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Step {
    /// By this share of its value.
    Share(f64),
    /// By this many kelvin.
    Kelvin(f64),
    /// By this many metres, of what is zero.
    Metre(f64),
}

impl Step {
    /// Size in the unit of the value.
    pub fn size(self, value: f64) -> f64 {
        match self {
            Self::Share(share) => share * value,
            Self::Kelvin(size) | Self::Metre(size) => size,
        }
    }

    /// Times a factor.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        match self {
            Self::Share(share) => Self::Share(factor * share),
            Self::Kelvin(size) => Self::Kelvin(factor * size),
            Self::Metre(size) => Self::Metre(factor * size),
        }
    }
}

/// Where the value of an input comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Source {
    /// The case states it.
    Case,
    /// A default.
    Default,
    /// The library of fluids and materials.
    Library,
    /// A correlation.
    Correlation,
}

/// By how much more a result moves without cause where a ring is meshed anew: half steps of every dimension of three cases agree within this
/// (checked beside the study).
const MESHED_ANEW: f64 = 30.0;

/// Film coefficients by correlation.
const SEALED_CONVECTION: &str = "convection.sealed";
const LOW_SIDE_CONVECTION: &str = "convection.low_side";

const FIGURES: [(Figure, &str, &str); 3] = [
    (Figure::Conductivity, "conductivity", "conductivity"),
    (Figure::YoungsModulus, "youngs_modulus", "modulus"),
    (Figure::Expansion, "expansion", "expansion"),
];

/// Inputs of a duty, and those that are left alone with the reason.
pub fn inputs(model: &Model, duty: &Duty) -> (Vec<Input>, Vec<LeftOut>) {
    let mut list = List { model, inputs: Vec::new(), left_out: Vec::new() };
    list.duty(duty);
    list.seal(duty);
    for role in [RingRole::Rotating, RingRole::Stationary] {
        list.ring(role);
    }
    list.contact();
    list.viscosity(duty);
    list.flow();
    if [RingRole::Rotating, RingRole::Stationary].iter().all(|role| !of(model, *role).parts.is_empty()) {
        list.inputs.extend(sizes::sizes(model));
    }
    (list.inputs, list.left_out)
}

struct List<'a> {
    model: &'a Model,
    inputs: Vec<Input>,
    left_out: Vec<LeftOut>,
}

impl List<'_> {
    fn duty(&mut self, duty: &Duty) {
        let path = |key: &str| format!("duty.{}.{key}", duty.name);
        self.share(&path("speed"), "shaft speed");
        self.share(&path("pressure"), "sealed pressure, absolute");
        self.share(&path("low_pressure"), "low pressure, absolute");
        match duty.temperature {
            ChamberTemperature::Stated(_) => self.by(&path("temperature"), "chamber temperature", Step::Kelvin(KELVIN)),
            ChamberTemperature::FromFlush(_) => self.by(&path("flush_temperature"), "flush temperature", Step::Kelvin(KELVIN)),
        }
    }

    fn seal(&mut self, duty: &Duty) {
        if crate::hand::pressure_is_reversed(duty) {
            self.share("seal.reverse_balance_diameter", "balance diameter at reversed pressure");
        } else {
            self.share("seal.balance_diameter", "balance diameter");
        }
        self.share("seal.spring_force", "spring force");
        if matches!(duty.temperature, ChamberTemperature::FromFlush(_)) {
            self.share("seal.flush", "flush flow");
            self.share("seal.heat_soak", "heat soak");
        }
        let friction = match self.model.seal.secondary_seal.friction {
            SecondaryFriction::Given(_) => "seal.secondary_seal.friction",
            SecondaryFriction::Automatic { .. } => "seal.secondary_seal.squeeze",
        };
        self.leave(friction, "secondary-seal friction", "it acts either way and widens the range; the nominal point is without it");
    }

    fn ring(&mut self, role: RingRole) {
        let ring = of(self.model, role);
        let (key, name) = names(role);
        let path = |what: &str| format!("{key}.{what}");
        self.share(&path("roughness"), &format!("roughness Rq of the {name} face"));
        let coning = if ring.lapped_coning_m == 0.0 { Step::Metre(CONING_M) } else { Step::Share(SHARE) };
        self.by(&path("lapped_coning"), &format!("lapped coning of the {name} face"), coning);
        self.leave(
            &path("flatness"),
            &format!("flatness of the {name} face"),
            "a tolerance: it widens the range and does not move the nominal point",
        );
        if ring.parts.is_empty() {
            return;
        }
        let switches = &self.model.switches;
        if ring.floating && switches.distortion {
            self.share(&path("spring_diameter"), "diameter on which the springs press");
        }
        if switches.heat && switches.distortion {
            self.by(&path("stress_free_temperature"), &format!("temperature at which the {name} ring is flat"), Step::Kelvin(KELVIN));
        }
        self.materials(role, ring);
        self.edges(role, ring);
        self.fits(role, ring);
    }

    fn materials(&mut self, role: RingRole, ring: &Ring) {
        let (key, name) = names(role);
        let switches = self.model.switches;
        let mut seen: Vec<&str> = Vec::new();
        for part in &ring.parts {
            let material = &part.material;
            if seen.contains(&material.name.as_str()) {
                continue;
            }
            seen.push(&material.name);
            for (figure, word, said) in FIGURES {
                let acts = match figure {
                    Figure::Conductivity => switches.heat,
                    Figure::YoungsModulus => switches.distortion || switches.contact,
                    Figure::Expansion => switches.heat && switches.distortion,
                };
                let value = material.figure(figure).value;
                if acts && value > 0.0 {
                    self.inputs.push(Input {
                        path: format!("{key}.{}.{word}", material.name),
                        label: format!("{said} of {}, {name} ring", material.name),
                        value,
                        step: Step::Share(SHARE),
                        source: if material.figure(figure).source.key == "user" { Source::Case } else { Source::Library },
                    });
                }
            }
        }
    }

    fn edges(&mut self, role: RingRole, ring: &Ring) {
        let (key, name) = names(role);
        if !self.model.switches.heat {
            return;
        }
        for (index, edge) in ring.edges.iter().enumerate() {
            let mut push = |what: &str, label: String, value: Option<f64>, step: Step| {
                let Some(value) = value.filter(|value| *value != 0.0) else { return };
                self.inputs.push(Input { path: format!("{key}.edges.{index}.{what}"), label, value, step, source: Source::Case });
            };
            let place = format!("stated edge {} of the {name} ring", index + 1);
            push("coefficient", format!("heat transfer coefficient at {place}"), edge.coefficient_w_per_m2_k, Step::Share(SHARE));
            push("temperature", format!("temperature of what wets {place}"), edge.temperature_k, Step::Kelvin(KELVIN));
        }
    }

    fn fits(&mut self, role: RingRole, ring: &Ring) {
        let (key, name) = names(role);
        if !self.model.switches.distortion {
            return;
        }
        for (index, fit) in ring.parts.iter().enumerate().filter_map(|(index, part)| part.fit.map(|fit| (index, fit))) {
            self.inputs.push(Input {
                path: format!("{key}.fit.{index}.interference"),
                label: format!("interference of the fit in the {name} ring"),
                value: fit.interference_m,
                step: Step::Share(SHARE),
                source: Source::Case,
            });
        }
    }

    fn contact(&mut self) {
        if !self.model.switches.contact {
            return;
        }
        self.share("contact.eta_beta_sigma", "asperity density x tip radius x roughness");
        self.share("contact.sigma_over_beta", "roughness over tip radius");
        self.share("contact.boundary_friction", "boundary friction of the asperity share");
        self.share("contact.plastic_pressure", "plastic bearing pressure of the softer face");
    }

    /// Of every state of the duty's fluid; the value shown is that of the chamber as far as the case states it.
    fn viscosity(&mut self, duty: &Duty) {
        let fluid = duty.fluid.as_deref().unwrap_or(&self.model.fluid);
        let Ok(chamber) = fluid.at_pressure_temperature(duty.pressure_pa, duty.temperature.stated_k()) else { return };
        let (path, source) = match fluid.kind() {
            FluidKind::Constant => ("liquid.viscosity", Source::Case),
            FluidKind::ConstantGas => ("gas.viscosity", Source::Case),
            _ => ("fluid.viscosity", Source::Library),
        };
        self.inputs.push(Input {
            path: path.to_owned(),
            label: format!("viscosity of {} at every state", fluid.name()),
            value: chamber.viscosity_pa_s,
            step: Step::Share(SHARE),
            source,
        });
    }

    fn flow(&mut self) {
        let switches = &self.model.switches;
        if switches.heat {
            for (path, label) in [
                (SEALED_CONVECTION, "convection to the sealed fluid, all surfaces by correlation"),
                (LOW_SIDE_CONVECTION, "convection to the low side, all surfaces by correlation"),
            ] {
                self.inputs.push(Input {
                    path: path.to_owned(),
                    label: label.to_owned(),
                    value: 1.0,
                    step: Step::Share(SHARE),
                    source: Source::Correlation,
                });
            }
        }
        if switches.convective_inertia {
            self.share("switches.momentum_factor", "momentum factor of the radial flow");
            self.share("switches.entry_loss", "entry loss coefficient");
        }
        if switches.cavitation_pressure_pa.is_some() {
            self.share("switches.cavitation_pressure", "cavitation pressure, absolute");
        }
    }

    fn share(&mut self, path: &str, label: &str) {
        self.by(path, label, Step::Share(SHARE));
    }

    fn by(&mut self, path: &str, label: &str, step: Step) {
        let Ok(value) = self.model.get(path) else { return };
        if matches!(step, Step::Share(_)) && value == 0.0 {
            self.leave(path, label, "zero, of which 1 % is nothing");
            return;
        }
        let usual = path.strip_prefix("switches.").is_some_and(|_| unset(self.model, path));
        let taken = self.model.notices.iter().any(|notice| notice.code.starts_with("default.") && notice.field == spelled(path));
        let source = if usual || taken { Source::Default } else { Source::Case };
        self.inputs.push(Input { path: path.to_owned(), label: label.to_owned(), value, step, source });
    }

    fn leave(&mut self, path: &str, label: &str, reason: &str) {
        self.left_out.push(LeftOut { path: path.to_owned(), label: label.to_owned(), reason: reason.to_owned() });
    }
}

/// The key under which a default of this number is noted.
fn spelled(path: &str) -> &str {
    if path.ends_with(".spring_diameter") { "seal.spring_diameter" } else { path }
}

/// Whether a switch has the value that it has by default.
fn unset(model: &Model, path: &str) -> bool {
    let usual = crate::model::Switches::default();
    match path {
        "switches.momentum_factor" => model.switches.momentum_factor == usual.momentum_factor,
        "switches.entry_loss" => model.switches.entry_loss == usual.entry_loss,
        _ => false,
    }
}

pub(super) fn of(model: &Model, role: RingRole) -> &Ring {
    match role {
        RingRole::Rotating => &model.rotating_ring,
        RingRole::Stationary => &model.stationary_ring,
    }
}

pub(super) fn ring_mut(model: &mut Model, role: RingRole) -> &mut Ring {
    match role {
        RingRole::Rotating => &mut model.rotating_ring,
        RingRole::Stationary => &mut model.stationary_ring,
    }
}

pub(super) fn names(role: RingRole) -> (&'static str, &'static str) {
    match role {
        RingRole::Rotating => ("rotating_ring", "rotating"),
        RingRole::Stationary => ("stationary_ring", "stationary"),
    }
}

/// The prepared seal with an input moved by some steps; rings that stay are reused.
pub(super) fn varied(prepared: &Prepared, duty: usize, input: &Input, steps: f64) -> Result<Prepared, String> {
    let value = input.value + steps * input.step.size(input.value);
    if input.path == SEALED_CONVECTION {
        return Ok(prepared.with_convection([value, 1.0]));
    }
    if input.path == LOW_SIDE_CONVECTION {
        return Ok(prepared.with_convection([1.0, value]));
    }
    let mut model = prepared.model().clone();
    if input.path.ends_with(".viscosity") {
        thickened(&mut model, duty, value / input.value);
    } else if !sizes::moved(&mut model, input, value) && !moved_in_a_ring(&mut model, &input.path, value, value / input.value) {
        model.set(&input.path, value).map_err(|error| error.to_string())?;
    }
    let before = prepared.model();
    if before.band != model.band {
        return Prepared::new(&model).map_err(|error| error.to_string());
    }
    let kept = [same_body(&before.rotating_ring, &model.rotating_ring), same_body(&before.stationary_ring, &model.stationary_ring)];
    Ok(if kept == [true; 2] { prepared.with_model(model) } else { prepared.with_rings(model, kept) })
}

/// Make the fluid of a duty thicker or thinner.
fn thickened(model: &mut Model, duty: usize, factor: f64) {
    let fluid = model.duties[duty].fluid.as_deref().unwrap_or(&model.fluid).thickened(factor);
    model.duties[duty].fluid = Some(Arc::new(fluid));
}

/// Move what no path of the model reaches: figures of materials, stated edges, fits.
fn moved_in_a_ring(model: &mut Model, path: &str, value: f64, factor: f64) -> bool {
    for role in [RingRole::Rotating, RingRole::Stationary] {
        let Some(rest) = path.strip_prefix(names(role).0).and_then(|rest| rest.strip_prefix('.')) else { continue };
        let ring = ring_mut(model, role);
        if let Some((figure, material)) =
            FIGURES.iter().find_map(|(figure, word, _)| Some((*figure, rest.strip_suffix(word)?.strip_suffix('.')?)))
        {
            let mut found = false;
            for part in ring.parts.iter_mut().filter(|part| part.material.name == material) {
                part.material = part.material.scaled(figure, factor);
                found = true;
            }
            return found;
        }
        if let Some((index, key)) = numbered(rest, "edges") {
            let Some(edge) = ring.edges.get_mut(index) else { return false };
            match key {
                "coefficient" => edge.coefficient_w_per_m2_k = Some(value),
                _ => edge.temperature_k = Some(value),
            }
            return true;
        }
        if let Some((index, _)) = numbered(rest, "fit") {
            let Some(fit) = ring.parts.get_mut(index).and_then(|part| part.fit.as_mut()) else { return false };
            fit.interference_m = value;
            return true;
        }
    }
    false
}

/// Index and key of `list.3.key`.
fn numbered<'p>(path: &'p str, list: &str) -> Option<(usize, &'p str)> {
    let (index, key) = path.strip_prefix(list)?.strip_prefix('.')?.split_once('.')?;
    Some((index.parse().ok()?, key))
}
