//! A Newton step of the coupled system, shortened where the film has no answer at its end.

use super::branch::SearchError;
use super::coupled::{Coupled, Evaluation, State};
use crate::film::FilmError;
use crate::outcome::Work;

/// Shares of the step tried in turn.
const SHARES: [f64; 3] = [1.0, 0.4, 0.1];
/// Growth of the residual that still counts as progress: Newton far from the answer may pass through a worse state.
const WORSE: f64 = 10.0;
/// Scaled residual that is never called worse.
const SMALL: f64 = 1e-2;

/// How often the film may refuse while one state is sought: each refusal costs more than many films, and few are ever followed by an answer.
const MOST_REFUSALS: usize = 5;
/// How often along the curve a film may be searched to the end and not found: never, for a shorter step, which costs little, then takes its
/// place. What leaves the range of the fluid says so at once.
const MOST_SEARCHED_ALONG: usize = 0;
/// How often a film may be barred where a curve is to begin: a start at another gap then takes its place. Of some hundred starts that were barred
/// so three times none came to a film.
const MOST_BARRED_AT_START: usize = 2;
/// How often it may refuse there in all: of the 180 slowest points of `xtask stress` none ended otherwise for fewer than elsewhere.
const MOST_REFUSALS_AT_START: usize = 3;

/// Refusals of the film that are left while one state is sought.
#[derive(Debug)]
pub(super) struct Refusals {
    any: usize,
    /// Of them those searched to the end, and of these those of a kind that is not modelled or for which the work granted is too little.
    searched: usize,
    barred: usize,
}

impl Refusals {
    /// While an equilibrium is sought.
    pub fn anywhere() -> Self {
        Self { any: MOST_REFUSALS, searched: MOST_REFUSALS, barred: MOST_REFUSALS }
    }

    /// While a step of the curve is corrected.
    pub fn along() -> Self {
        Self { searched: MOST_SEARCHED_ALONG, ..Self::anywhere() }
    }

    /// While a curve is begun at a gap.
    pub fn at_start() -> Self {
        Self { any: MOST_REFUSALS_AT_START, barred: MOST_BARRED_AT_START, ..Self::anywhere() }
    }

    /// Count a refusal; says whether there was one left.
    fn take(&mut self, error: &FilmError) -> bool {
        let searched = !matches!(error, FilmError::Property(_));
        let barred = searched && !matches!(error, FilmError::NotConverged { .. });
        let left = |from: usize, counts: bool| from.checked_sub(usize::from(counts));
        match (left(self.any, true), left(self.searched, searched), left(self.barred, barred)) {
            (Some(any), Some(searched), Some(barred)) => {
                *self = Self { any, searched, barred };
                true
            }
            _ => false,
        }
    }
}

/// The state at the end of a scaled step and of a step of the inner gap, evaluated.
///
/// Where boiling or choking sets in, a whole step may ask for temperatures or pressures that no fluid has: then a part of it is taken. A
/// part is also taken where the whole step multiplies the residual `before` it.
///
/// # Errors
/// [`SearchError::NotConverged`] for a step that is no number; the film's own reason where even the shortest part has no answer, or where
/// it has refused too often.
#[allow(clippy::too_many_arguments, reason = "a step, where it starts, and what it counts")]
pub(super) fn stepped(
    coupled: &Coupled,
    from: &State,
    step: &[f64],
    inner_gap_step_m: f64,
    flow_gradient: &[f64],
    before: f64,
    refusals: &mut Refusals,
    work: &mut Work,
) -> Result<(State, Evaluation), SearchError> {
    if !inner_gap_step_m.is_finite() || step.iter().any(|s| !s.is_finite()) {
        return Err(SearchError::NotConverged(vec![before]));
    }
    let mut kept: Option<(State, Evaluation)> = None;
    let mut refused = FilmError::Input("no step was tried");
    for share in SHARES {
        let part: Vec<f64> = step.iter().map(|s| share * s).collect();
        let mut state = coupled.moved(from, &part, share * inner_gap_step_m, flow_gradient);
        match coupled.evaluate(&mut state, work) {
            Ok(evaluation) => {
                let norm = evaluation.residual_norm();
                if norm < (WORSE * before).max(SMALL) {
                    return Ok((state, evaluation));
                }
                let better = kept.as_ref().is_none_or(|(_, other)| norm < other.residual_norm());
                if better && norm.is_finite() {
                    kept = Some((state, evaluation));
                }
            }
            Err(error) => {
                if !refusals.take(&error) {
                    return kept.ok_or(SearchError::Film(error));
                }
                refused = error;
            }
        }
    }
    kept.ok_or(SearchError::Film(refused))
}

#[cfg(test)]
mod tests {
    use super::*;
    use halfmicron_properties::PropertyError;

    #[test]
    fn along_the_curve_films_searched_in_vain_count_more_than_those_out_of_range() {
        let outside = FilmError::Property(PropertyError::PressureOutOfRange {
            fluid: String::new(),
            value_pa: 0.0,
            low_pa: 1.0,
            high_pa: 2.0,
            reason: String::new(),
        });
        let taken = |mut refusals: Refusals, error: &FilmError| (0..10).take_while(|_| refusals.take(error)).count();
        assert_eq!(taken(Refusals::along(), &FilmError::AlongSaturation), MOST_SEARCHED_ALONG);
        assert_eq!(taken(Refusals::along(), &outside), MOST_REFUSALS);
        assert_eq!(taken(Refusals::anywhere(), &FilmError::AlongSaturation), MOST_REFUSALS);
        let lost = FilmError::NotConverged { iterations: 1, correction: 1.0, history: vec![1.0] };
        assert_eq!(taken(Refusals::at_start(), &FilmError::AlongSaturation), MOST_BARRED_AT_START);
        assert_eq!(taken(Refusals::at_start(), &lost), MOST_REFUSALS_AT_START);
    }
}
