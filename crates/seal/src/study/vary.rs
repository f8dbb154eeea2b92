//! One number of a case varied, with the rings reused as long as it does not touch them.

use crate::case::PathError;
use crate::model::{Duty, Model};
pub(super) use crate::point::same_body;
use crate::point::{PointError, Prepared};

/// What a sweep varies: one number of the case at one duty.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Duty that is solved.
    pub duty: String,
    /// Path of the number, as [`Model::set`] takes it.
    pub path: String,
    /// Values in SI units and absolute pressure, in the order in which they are visited.
    pub values: Vec<f64>,
}

/// A prepared seal whose numbers can be set.
#[derive(Debug, Clone)]
pub(super) struct Varied {
    prepared: Prepared,
    model: Model,
    duty: usize,
}

impl Varied {
    /// Prepare the seal of a model for one of its duties.
    pub fn new(model: &Model, duty: &str) -> Result<Self, PointError> {
        let known = || model.duties.iter().map(|duty| duty.name.clone()).collect();
        let index = model.duties.iter().position(|known| known.name == duty);
        let index = index.ok_or_else(|| PointError::UnknownDuty { name: duty.to_owned(), known: known() })?;
        Ok(Self { prepared: Prepared::new(model)?, model: model.clone(), duty: index })
    }

    /// Put numbers at paths. Rings are prepared anew only where their section, support or surroundings changed.
    pub fn set(&mut self, numbers: &[(&str, f64)]) -> Result<(), StudySetError> {
        for (path, value) in numbers {
            self.model.set(path, *value)?;
        }
        if numbers.iter().all(|(path, _)| path.starts_with("duty.")) {
            return Ok(());
        }
        let before = self.prepared.model();
        let same =
            same_body(&before.rotating_ring, &self.model.rotating_ring) && same_body(&before.stationary_ring, &self.model.stationary_ring);
        self.prepared = if same { self.prepared.with_model(self.model.clone()) } else { Prepared::new(&self.model)? };
        Ok(())
    }

    /// The seal as it is set.
    pub fn prepared(&self) -> &Prepared {
        &self.prepared
    }

    /// The duty as it is set.
    pub fn duty(&self) -> &Duty {
        &self.model.duties[self.duty]
    }

    /// Composite roughness, m.
    pub fn roughness_m(&self) -> f64 {
        self.model.rotating_ring.roughness_rq_m.hypot(self.model.stationary_ring.roughness_rq_m)
    }
}

/// Why a number could not be set.
#[derive(Debug)]
pub(super) enum StudySetError {
    Path(PathError),
    Point(PointError),
}

impl From<PathError> for StudySetError {
    fn from(error: PathError) -> Self {
        Self::Path(error)
    }
}

impl From<PointError> for StudySetError {
    fn from(error: PointError) -> Self {
        Self::Point(error)
    }
}

impl From<StudySetError> for super::StudyError {
    fn from(error: StudySetError) -> Self {
        match error {
            StudySetError::Path(error) => Self::Path(error),
            StudySetError::Point(error) => Self::Point(error),
        }
    }
}
