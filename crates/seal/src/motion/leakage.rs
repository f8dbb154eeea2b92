//! Leakage that a relative tilt adds.
//!
//! **What.** Leakage of the film between faces that lean against each other, less that of faces that do not.
//! **Equation.** The film of the operating point solved on the whole ring with the gap `h(r) + g r cos(angle)`, in the frame where the tilt `g`
//! stands; what it adds goes with `g^2` while the tilt is small.
//! **Valid when.** The tilt stands where the textures stand (it runs out with the ring that carries them); a film of one phase; shape and
//! temperatures of the rings as without tilt.
//! **Source.** The film's own equation; by symmetry the first order vanishes, derived here.
//! **Checked by.** `leakage_added_by_tilt_goes_with_its_square`.

use super::held::Held;
use super::outcome::TiltLeakage;
use crate::film::FilmError;

/// Change of the gap at the outer edge, over the least film, at which a film that tilts less is solved: enough to stand out of rounding.
const SHOWN: f64 = 0.2;
/// Times that this tilt is halved until what it adds goes with its square, and how nearly it then does.
const MOST_HALVINGS: usize = 8;
const SQUARE: f64 = 0.2;

/// Leakage added at a relative tilt.
///
/// # Errors
/// [`FilmError`] of the film.
pub(super) fn added(held: &Held, speed_rad_per_s: f64, tilt_rad: f64, least_film_m: f64) -> Result<TiltLeakage, FilmError> {
    let outer = held.nodes.radius_m.iter().copied().fold(0.0, f64::max);
    // In contact the room is that of the roughness.
    let mut solved_at = tilt_rad.max(SHOWN * least_film_m.max(held.contact.roughness_m) / outer);
    let flow = |tilt: f64| -> Result<f64, FilmError> {
        let grid = held.whole_ring(tilt)?;
        Ok(held.solve(&grid, speed_rad_per_s, None)?.result.mass_flow_kg_per_s)
    };
    let still = flow(0.0)?;
    let share = |tilt: f64| flow(tilt).map(|tilted| tilted / still - 1.0);
    let mut added_at_tilt = share(solved_at)?;
    // A film that the tilt tears on one side no longer goes with the square of it.
    for _ in 0..MOST_HALVINGS {
        if solved_at <= tilt_rad {
            break;
        }
        let half = (0.5 * solved_at).max(tilt_rad);
        let there = share(half)?;
        let as_square = added_at_tilt * (half / solved_at).powi(2);
        (solved_at, added_at_tilt) = (half, there);
        if (there - as_square).abs() <= SQUARE * there.abs() {
            break;
        }
    }
    let added = added_at_tilt * (tilt_rad / solved_at).powi(2);
    Ok(TiltLeakage { tilt_rad: solved_at, added, added_kg_per_s: added * held.leakage_kg_per_s, added_at_tilt })
}
