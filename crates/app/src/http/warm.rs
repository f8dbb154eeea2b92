//! What is kept between requests, so that a changed value is answered at once.

use halfmicron::model::Model;
use halfmicron::outcome::Outcome;
use halfmicron::point::PointError;

use super::pool::Wanted;
use super::problem::Problem;

/// Seals kept ready.
#[derive(Debug, Default)]
pub struct Warm {}

impl Warm {
    /// The outcome of some duties, all of them when none is named; everything computed.
    pub fn complete(&self, model: &Model, duties: &[String], _wanted: &Wanted) -> Result<Outcome, Problem> {
        halfmicron::solve(model, duties).map_err(|error| refused(&error))
    }
}

fn refused(error: &PointError) -> Problem {
    Problem::impossible("case.impossible", error.to_string(), "Correct the case, or name a duty that it has.")
}
