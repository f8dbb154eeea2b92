//! Open modelling choices: where the literature offers more than one law and none is right for every film.
//!
//! Each choice is one entry of [`CHOICES`] with its alternatives, their sources, the default and the reason for it. A case takes another
//! alternative under `[switches]`; [`spread`] solves a duty again with each and so tells how much of an answer is the choice of law.

mod facts;
mod registry;
mod spread;

use halfmicron_properties::MixtureViscosity;

use crate::model::{Flashing, Slip, Switches};

pub use facts::Facts;
pub use registry::CHOICES;
pub use spread::{AlternativeRun, HEADLINES, Headline, HeadlineSpread, ModelSpread, NotRun, Taken, spread};

/// A question of physics with more than one defensible answer.
#[derive(Debug)]
pub struct Choice {
    /// Stable id, dotted.
    pub id: &'static str,
    /// What is chosen, in a few words, as it stands in tables.
    pub label: &'static str,
    /// What it is, in one sentence.
    pub what: &'static str,
    /// Key of the case that takes another alternative.
    pub key: &'static str,
    /// Every alternative; the default among them.
    pub alternatives: &'static [Alternative],
    /// Why the default is the default.
    pub why: &'static str,
    /// Why the alternatives cannot differ for a duty, when they cannot.
    idle: fn(&Facts) -> Option<String>,
}

/// One answer to a choice.
#[derive(Debug)]
pub struct Alternative {
    /// Stable id within the choice; the text that the case file takes.
    pub id: &'static str,
    /// What it says, in words.
    pub words: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// What it sets.
    pub value: Value,
}

/// What an alternative sets in [`Switches`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value {
    /// Viscosity of liquid and vapour together.
    MixtureViscosity(MixtureViscosity),
    /// Vapour in the film.
    Flashing(Flashing),
    /// Slip of gas.
    Slip(Slip),
    /// Turbulent coefficients.
    Turbulence(bool),
    /// Shear factor of rough faces.
    ShearFactor(bool),
    /// Pressure flow factor of rough faces.
    FlowFactor(bool),
    /// Momentum factor of the radial flow.
    MomentumFactor(f64),
    /// Entry loss coefficient.
    EntryLoss(f64),
}

impl Value {
    /// Put it into the switches.
    pub fn set(self, switches: &mut Switches) {
        match self {
            Self::MixtureViscosity(rule) => switches.mixture_viscosity = rule,
            Self::Flashing(flashing) => switches.flashing = flashing,
            Self::Slip(slip) => switches.slip = slip,
            Self::Turbulence(on) => switches.turbulence = on,
            Self::ShearFactor(on) => switches.shear_factor = on,
            Self::FlowFactor(on) => switches.flow_factor = on,
            Self::MomentumFactor(factor) => switches.momentum_factor = factor,
            Self::EntryLoss(loss) => switches.entry_loss = loss,
        }
    }

    /// Whether the switches hold it.
    pub fn is_set(self, switches: &Switches) -> bool {
        let mut with = *switches;
        self.set(&mut with);
        with == *switches
    }
}

impl Choice {
    /// The key below `[switches]`.
    pub fn short_key(&self) -> &'static str {
        self.key.strip_prefix("switches.").unwrap_or(self.key)
    }

    /// The alternative that the switches hold; none where the case states a number of its own.
    pub fn taken(&self, switches: &Switches) -> Option<&'static Alternative> {
        self.alternatives.iter().find(|alternative| alternative.value.is_set(switches))
    }

    /// The alternative that a case without the key takes.
    pub fn default(&self) -> Option<&'static Alternative> {
        self.taken(&Switches::default())
    }

    /// Why no other alternative can change this duty, when none can.
    pub fn idle(&self, facts: &Facts) -> Option<String> {
        (self.idle)(facts)
    }
}

/// The choice of an id.
pub fn choice(id: &str) -> Option<&'static Choice> {
    CHOICES.iter().find(|choice| choice.id == id)
}

#[cfg(test)]
mod tests;
