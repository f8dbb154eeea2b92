//! The operating point of a whole seal.
//!
//! [`Prepared::new`] holds what is expensive (the factored rings); [`Prepared::solve`] is pure and may start warm: a study is that
//! function over many models, a transient is it in time.

pub mod branch;
mod chamber;
pub mod coupled;
mod damped;
mod duty;
mod fields;
mod folds;
mod follow;
mod hermite;
mod margins;
mod none;
pub mod pair;
mod ranges;
mod report;
mod rings;
pub mod secondary;
mod setting;
mod standing;
mod starts;
mod surroundings;
pub(crate) mod vary;
mod wave;

#[cfg(test)]
mod fold_tests;
#[cfg(test)]
mod random_tests;
#[cfg(test)]
mod tests;

use std::sync::Arc;

use crate::film::FilmError;
use crate::model::{Duty, Model, Ring, RingRole};
use crate::outcome::DutyOutcome;
use crate::ring::{BandNodes, RingError};
use fields::FieldStore;
use rings::RingStore;

pub use coupled::State;

/// Why a point could not even be attempted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PointError {
    /// A ring could not be meshed, factored or loaded.
    #[error("{role} ring: {cause}")]
    Ring {
        /// Which ring.
        role: &'static str,
        /// Why.
        cause: RingError,
    },
    /// The film refused.
    #[error(transparent)]
    Film(#[from] FilmError),
    /// A duty name that the case does not have.
    #[error("no duty is named \"{name}\"; the case has {}", known.join(", "))]
    UnknownDuty {
        /// The name asked for.
        name: String,
        /// The names there are.
        known: Vec<String>,
    },
}

/// What a solve computes beyond the nominal equilibria.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Options {
    /// Search the whole curve for every equilibrium; otherwise track the one nearest to the start, and search only where that is lost.
    pub search: bool,
    /// Low and high of the headline numbers.
    pub ranges: bool,
    /// Full ring fields: stresses, reactions, heat by convection.
    pub fields: bool,
    /// Margins of the chosen equilibrium to the jump; needs the complete search.
    pub margins: bool,
    /// The torque at which a turning seal breaks away from rest: a film of its own.
    pub at_rest: bool,
    /// What the waviness left on plain faces can change: a film of its own.
    pub waves: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self { search: true, ranges: true, fields: true, margins: true, at_rest: true, waves: true }
    }
}

/// A seal ready to be solved at any duty: rings meshed, factored and reduced once, shared between duties and threads.
#[derive(Debug, Clone)]
pub struct Prepared {
    model: Arc<Model>,
    store: Arc<RingStore>,
    fields: Arc<FieldStore>,
    /// Factors on the film coefficients that correlations give, of the sealed and of the low side.
    convection: [f64; 2],
}

impl Prepared {
    /// Mesh, factor and reduce both rings at the temperature of the first duty.
    ///
    /// # Errors
    /// [`PointError::Ring`].
    pub fn new(model: &Model) -> Result<Self, PointError> {
        let store = RingStore::new(model)?;
        if let Some(duty) = model.duties.first() {
            store.at(model, duty.temperature.stated_k())?;
        }
        Ok(Self { model: Arc::new(model.clone()), store: Arc::new(store), fields: Arc::default(), convection: [1.0; 2] })
    }

    /// The model that was prepared.
    pub fn model(&self) -> &Model {
        &self.model
    }

    /// Nodes of the band on which films are solved.
    pub(crate) fn band_nodes(&self) -> &BandNodes {
        self.store.nodes()
    }

    /// The same rings with another model whose rings are unchanged (fluid, duties, closing, friction ...).
    pub fn with_model(&self, model: Model) -> Self {
        Self { model: Arc::new(model), store: self.store.clone(), fields: self.fields.clone(), convection: self.convection }
    }

    /// Another model on the same running band, with the rings made so far of those that `kept` says are the same in both: rotating and
    /// stationary ring.
    pub(crate) fn with_rings(&self, model: Model, kept: [bool; 2]) -> Self {
        Self {
            model: Arc::new(model),
            store: Arc::new(self.store.with_kept(kept)),
            fields: self.fields.clone(),
            convection: self.convection,
        }
    }

    /// The same seal with the film coefficients that correlations give times a factor, of the sealed and of the low side; stated ones stay.
    pub(crate) fn with_convection(&self, factors: [f64; 2]) -> Self {
        Self { convection: factors, ..self.clone() }
    }

    /// The same rings with another model, where its rings are the same to heat and elasticity; none where they are not.
    pub fn for_model(&self, model: &Model) -> Option<Self> {
        let before = self.model();
        let same = same_body(&before.rotating_ring, &model.rotating_ring)
            && same_body(&before.stationary_ring, &model.stationary_ring)
            && before.band == model.band
            && before.narrow_ring == model.narrow_ring
            && before.seal.pressure_side == model.seal.pressure_side;
        same.then(|| self.with_model(model.clone()))
    }

    /// Solve one duty completely: every equilibrium, ranges, fields.
    pub fn solve(&self, duty: &Duty, start: Option<&State>) -> (DutyOutcome, Option<State>) {
        self.solve_with(duty, start, Options::default())
    }

    /// Solve one duty as far as `options` ask.
    pub fn solve_with(&self, duty: &Duty, start: Option<&State>, options: Options) -> (DutyOutcome, Option<State>) {
        duty::solve(self, duty, start, options, true)
    }

    /// The equilibrium near `start` alone: nothing is searched, and where there is none the outcome says so.
    pub fn follow(&self, duty: &Duty, start: &State) -> (DutyOutcome, Option<State>) {
        let options = Options { search: false, ranges: false, fields: false, margins: false, at_rest: false, waves: false };
        duty::solve(self, duty, Some(start), options, false)
    }
}

/// Whether two rings are the same to heat and elasticity: what the faces alone feel may differ.
pub(crate) fn same_body(a: &Ring, b: &Ring) -> bool {
    let faceless = |ring: &Ring| Ring { roughness_rq_m: 0.0, flatness_m: 0.0, lapped_coning_m: 0.0, ..ring.clone() };
    faceless(a) == faceless(b)
}

fn role_name(role: RingRole) -> &'static str {
    match role {
        RingRole::Rotating => "rotating",
        RingRole::Stationary => "stationary",
    }
}
