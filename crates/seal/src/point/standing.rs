//! The torque that breaks a standing seal away, at the pressure of a duty.
//!
//! **What.** Contact of the faces at rest, with the closing force, pressures and chamber temperature of a duty, and the torque at which they slide.
//! **Equation.** The coupled equilibrium without speed; `M = c mu int p_c r dA`, `mu` the boundary friction and `c` the excess of faces that
//! have stood.
//! **Valid when.** The seal has stood long enough for rings and film to take the temperature of the chamber; what sticks, crystallises or
//! cokes meanwhile is not in it.
//! **Source.** Equilibrium as in [`super::coupled`]; `c = 2` common practice, no source.
//! **Checked by.** unproven.

use super::branch::{Root, equilibrium, least};
use super::coupled::{Coupled, Evaluation, State};
use super::duty::find;
use super::setting::Solved;
use crate::model::Duty;
use crate::outcome::{Ranged, Work};

/// Break-away friction over boundary friction of wet faces that have stood (common practice, no source).
const BREAK_AWAY: f64 = 2.0;

/// Torque that breaks faces away whose asperities carry as at an evaluated state, N m, for a boundary friction.
pub(super) fn torque_n_m(coupled: &Coupled, evaluation: &Evaluation, boundary_friction: f64) -> f64 {
    let nodes = &coupled.pair.nodes;
    let lever: f64 = (0..nodes.len()).map(|k| nodes.weight_m2[k] * evaluation.contact.pressure_pa[k] * nodes.radius_m[k]).sum();
    BREAK_AWAY * boundary_friction * lever
}

/// Torque that breaks the seal of a turning duty away from rest, N m, with the range of boundary friction alone; none where no stable film is
/// found at rest.
pub(super) fn break_away_n_m(solved: &Solved, root: &Root, work: &mut Work) -> Option<Ranged> {
    let duty = Duty { speed_rad_per_s: 0.0, ..solved.duty.clone() };
    let mut rest = Solved::at(solved.prepared, &solved.rings, &duty, solved.fluid, solved.setting.chamber_temperature_k).ok()?;
    rest.setting.searching = true;
    let closing_n = rest.setting.closing_force_n;
    let mut standing = settled(&rest, root, work)?;
    if rest.settle_fits(&standing.evaluation).ok()? {
        standing = equilibrium(&rest.coupled(), standing.state.clone(), closing_n, work).ok().filter(Root::is_stable)?;
    }
    let coupled = rest.coupled();
    let [low, nominal, high] = solved.model().contact.boundary_friction.map(|f| torque_n_m(&coupled, &standing.evaluation, f));
    Some(Ranged { low, nominal, high })
}

/// The film at rest: by Newton from the unloaded shape, which nearly always leads there, or from the turning film as it stands, which does where
/// the shape matters more than the heat; else by the search that a duty at rest is given.
fn settled(rest: &Solved, turning: &Root, work: &mut Work) -> Option<Root> {
    let coupled = rest.coupled();
    let closing_n = rest.setting.closing_force_n;
    let near = |start: State, work: &mut Work| equilibrium(&coupled, start, closing_n, work).ok().filter(Root::is_stable);
    near(start(&coupled, &turning.state), work)
        .or_else(|| near(turning.state.clone(), work))
        .or_else(|| find(rest, None, true, true, work).roots.into_iter().find(Root::is_stable))
}

/// The unloaded shape at the least gap of the turning film, without heat.
fn start(rest: &Coupled, turning: &State) -> State {
    let shape = rest.cold_state(0.0);
    rest.cold_state(least(&turning.gap_m) - least(&shape.gap_m))
}
