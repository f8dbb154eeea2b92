//! What the waviness that plain lapped faces are left with can change.
//!
//! **What.** The same equilibrium between faces of which the narrow one carries a rigid wave round the circumference. Faces flat round the
//! circumference leak least and rub most; this shows how much waviness changes that.
//! **Equation.** The coupled equilibrium with the film of [`crate::film::FieldGrid`] in the gap `h(r) + a cos(n theta)`, on the grid of the search.
//! **Valid when.** Liquid that does not boil. The wave is rigid: what pressure and contact flatten of it is not modelled, so the lift is
//! overstated.
//! **Source.** `n = 2`, peak to valley half the flatness of the face: common practice, no source.
//! **Checked by.** C5 and the other checks of the film; the size of the wave unproven.

use super::branch::{Root, equilibrium};
use super::coupled::{Coupled, State};
use super::none::words;
use super::report::{Headlines, enters_as_liquid, headlines};
use super::setting::Solved;
use crate::model::{RingRole, Texture, TextureForm};
use crate::notice::Notice;
use crate::outcome::{WavyFilm, Work};

/// Waves in a turn: the form that lapping and clamping leave most (common practice, no source).
const COUNT: u32 = 2;
/// Peak to valley of the wave over the flatness of its face.
const SHARE_OF_FLATNESS: f64 = 0.5;
/// Shares of the wave through which the equilibrium is led where it is not found at once.
const LED: [f64; 3] = [0.25, 0.5, 0.75];

/// The equilibrium with a wave; none where it says nothing: gas, faces that state how they vary, faces perfectly flat.
///
/// # Errors
/// Why it is not known, in words.
pub(super) fn with_wave(solved: &Solved, flat: &Root, work: &mut Work) -> Option<Result<WavyFilm, String>> {
    let model = solved.model();
    let narrow = match model.narrow_ring {
        RingRole::Rotating => &model.rotating_ring,
        RingRole::Stationary => &model.stationary_ring,
    };
    let peak_to_valley_m = SHARE_OF_FLATNESS * narrow.flatness_m;
    if !enters_as_liquid(solved) || solved.setting.fields.is_some() || peak_to_valley_m <= 0.0 {
        return None;
    }
    if flat.evaluation.film.vapour_fraction_max > 0.0 {
        return Some(Err("the film boils, which is not computed round the circumference".to_owned()));
    }
    Some(found(solved, flat, peak_to_valley_m, work))
}

/// What must be said where it is not known.
pub(super) fn not_found(reason: &str) -> Notice {
    Notice::caution(
        "wave.unknown",
        "",
        format!("how much the waviness left on the faces lifts them was not found: {reason}"),
        "Read leakage as a lower bound and contact, torque and wear as upper ones, without the other end.",
    )
}

fn found(solved: &Solved, flat: &Root, peak_to_valley_m: f64, work: &mut Work) -> Result<WavyFilm, String> {
    let at_once = settled(solved, &raised(&flat.state, 0.5 * peak_to_valley_m), peak_to_valley_m, work);
    let (root, head, cavitated_share) = match at_once {
        Ok(found) => found,
        Err(_) => {
            let mut state = flat.state.clone();
            let mut before = 0.0;
            for share in LED {
                let raise = 0.5 * (share - before) * peak_to_valley_m;
                state = settled(solved, &raised(&state, raise), share * peak_to_valley_m, work)?.0.state;
                before = share;
            }
            settled(solved, &raised(&state, 0.5 * (1.0 - before) * peak_to_valley_m), peak_to_valley_m, work)?
        }
    };
    if !root.is_stable() {
        return Err("the film found with a wave is not stable".to_owned());
    }
    Ok(WavyFilm {
        count: COUNT,
        peak_to_valley_m,
        minimum_film_m: head.minimum_film_m,
        mean_film_m: head.mean_film_m,
        leakage_kg_per_s: head.leakage_kg_per_s,
        leakage_m3_per_s: head.leakage_m3_per_s,
        torque_n_m: head.torque_n_m,
        power_w: head.power_w,
        contact_share: head.contact_share,
        face_temperature_max_k: head.face_temperature_max_k,
        wear_rate_m_per_s: head.wear_rate_m_per_s,
        cavitated_share,
    })
}

/// The same faces farther apart.
fn raised(state: &State, by_m: f64) -> State {
    let gap_m = state.gap_m.iter().map(|gap| gap + by_m).collect();
    State { inner_gap_m: state.inner_gap_m + by_m, gap_m, ..state.clone() }
}

/// The equilibrium with a wave of this size, its headline numbers, and the share of the face in cavities.
fn settled(solved: &Solved, start: &State, peak_to_valley_m: f64, work: &mut Work) -> Result<(Root, Headlines, f64), String> {
    let wave = Texture { on: solved.model().narrow_ring, form: TextureForm::Waves { count: COUNT, amplitude_m: 0.5 * peak_to_valley_m } };
    let grids = solved.prepared.fields.at(&[wave], solved.prepared.store.nodes()).map_err(|error| error.to_string())?;
    let grids = grids.ok_or_else(|| "no grid can be laid over the wave".to_owned())?;
    let coupled = Coupled { field: Some(&grids.search), ..solved.coupled() };
    let root = equilibrium(&coupled, start.clone(), solved.setting.closing_force_n, work).map_err(|error| words(&error))?;
    if root.evaluation.film.greatest_mach > 1.0 {
        return Err("the film with a wave would leave faster than sound".to_owned());
    }
    let head = headlines(solved, &coupled, &root.state, &root.evaluation);
    // Rounding leaves a full film a share below nothing.
    let cavitated = root.evaluation.film.field.as_ref().map_or(0.0, |field| field.cavitated_share.max(0.0));
    Ok((root, head, cavitated))
}
