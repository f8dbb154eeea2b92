//! Speed at which following becomes unstable.
//!
//! **What.** The least shaft speed at which a free tilt motion of the floating ring grows.
//! **Equation.** The greater growth of the two roots of the tilt equation changes its sign. With smooth faces and a standing ring
//! `w = 2 (1 + Ds/Df) sqrt((Kf + Ks)/I)`, the whirl then going at `w Df / (2 (Df + Ds))`.
//! **Valid when.** The film keeps the gap, shape and temperatures of the duty while the speed changes; coefficients are those at the frequency of
//! the whirl itself.
//! **Source.** Green and Etsion, ASLE Trans. 28 (1985) 449 (paper from memory).
//! **Checked by.** F7b.

use super::outcome::Stability;
use super::tilt::{Free, TiltFilm, Tilting};

/// Speeds looked at, over that of the duty; beyond, a film held as at the duty says little.
const SPEEDS: [f64; 10] = [0.1, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.5, 7.0, 10.0];
/// Halvings of the interval in which the sign changes.
const HALVINGS: usize = 24;
/// Relative change of a whirl frequency that is none, and rounds in which coefficients and frequency settle.
const SETTLED: f64 = 1e-4;
const ROUNDS: usize = 8;

/// Stability at a speed and the threshold. `at(speed)` gives ring and support, `film(speed, frequency)` the film at an angular frequency seen
/// from standing ground.
///
/// # Errors
/// Those of `film`.
pub fn stability<E>(
    speed_rad_per_s: f64,
    at: impl Fn(f64) -> Tilting,
    mut film: impl FnMut(f64, f64) -> Result<TiltFilm, E>,
) -> Result<Stability, E> {
    let mut least_damped = |speed: f64| -> Result<Free, E> {
        let ring = at(speed);
        let mut frequency = 0.5 * speed;
        let mut found = ring.free(&film(speed, frequency)?)[0];
        for _ in 0..ROUNDS {
            if (found.whirl_rad_per_s - frequency).abs() <= SETTLED * speed.abs() {
                break;
            }
            frequency = found.whirl_rad_per_s;
            found = ring.free(&film(speed, frequency)?)[0];
        }
        Ok(found)
    };
    let own = least_damped(speed_rad_per_s)?;
    let mut out = Stability {
        growth_per_s: own.growth_per_s,
        whirl_rad_per_s: own.whirl_rad_per_s,
        threshold_rad_per_s: None,
        threshold_whirl_rad_per_s: None,
        searched_to_rad_per_s: speed_rad_per_s * SPEEDS[SPEEDS.len() - 1],
    };
    let mut low = 0.0;
    for share in SPEEDS {
        let mut high = share;
        let mut there = match least_damped(high * speed_rad_per_s) {
            Ok(there) => there,
            // A film held as at the duty need not exist at many times its speed.
            Err(_) if share > 1.0 => {
                out.searched_to_rad_per_s = low * speed_rad_per_s;
                break;
            }
            Err(error) => return Err(error),
        };
        if there.growth_per_s > 0.0 {
            for _ in 0..HALVINGS {
                let middle = 0.5 * (low + high);
                let found = least_damped(middle * speed_rad_per_s)?;
                if found.growth_per_s > 0.0 {
                    (high, there) = (middle, found)
                } else {
                    low = middle
                }
                if high - low < 1e-6 * high {
                    break;
                }
            }
            out.threshold_rad_per_s = Some(high * speed_rad_per_s);
            out.threshold_whirl_rad_per_s = Some(there.whirl_rad_per_s);
            break;
        }
        low = share;
    }
    Ok(out)
}
