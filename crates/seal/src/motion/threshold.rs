//! Free tilt motions, and the speed at which one of them grows.
//!
//! **What.** Growth and whirl of the least damped free tilt of the floating ring, and the least shaft speed at which a free tilt grows.
//! **Equation.** `own(s) + Kc + Z(s) = 0`, `own` the ring and its support and `Z` what the film answers a tilt `exp(s t)`: `Re s` is the growth and
//! `Im s` the whirl. Roots by Newton's method with the ring as it is and the film straight between two rates. How many grow is counted besides,
//! by the turns that the left side makes about nothing along the imaginary axis (principle of the argument), and must be what was found. With
//! smooth faces, a liquid and a standing ring `w = 2 (1 + Ds/Df) sqrt((Kf + Ks)/I)`, the whirl then going at `w Df / (2 (Df + Ds))`.
//! **Valid when.** The film keeps the gap, shape and temperatures of the duty while the speed changes.
//! **Source.** Green and Etsion, ASLE Trans. 28 (1985) 449 (paper from memory); roots of a gas film derived here.
//! **Checked by.** F7b, `the_motions_of_a_ring_on_gas_are_those_of_the_closed_form`.

use std::f64::consts::TAU;

use faer::c64;

use super::outcome::Stability;
use super::tilt::Tilting;

/// Speeds looked at, over that of the duty; beyond, a film held as at the duty says little.
const SPEEDS: [f64; 10] = [0.1, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.5, 7.0, 10.0];
/// Steps by which the speed is closed in at which the sign changes, and what is left of it.
const MOST_SPEEDS: usize = 40;
const CLOSED_IN: f64 = 1e-6;
/// Newton's steps to a root, its relative change that is none, and the step by which the first slope is taken.
const MOST_STEPS: usize = 40;
const SETTLED: f64 = 1e-9;
const FIRST_STEP: f64 = 1e-3;
/// Roots nearer to each other than this, relative, are one.
const SAME: f64 = 1e-5;
/// Rounds in which a natural frequency settles well enough to start from.
const NATURAL_ROUNDS: usize = 4;
/// Turn between neighbouring places of the imaginary axis that is followed without one between, rad; places to begin with on either side of
/// nothing and times that they are halved.
const FOLLOWED: f64 = 0.8;
const PLACES: usize = 12;
const MOST_HALVINGS: usize = 14;
/// Inertia of the ring over all else beyond which it alone turns the left side; frequency over that of the shaft at which it must.
const ALONE: f64 = 30.0;
const BEYOND: f64 = 1e12;

/// Stability at a speed and the threshold. `ring(speed)` gives ring and support, `film(speed, s)` the moment of the film against a tilt that goes
/// as `exp(s t)` seen from standing ground, over that tilt (N m/rad).
///
/// # Errors
/// Those of `film`; free motions that are not found, or not all. In words.
pub fn stability(
    speed_rad_per_s: f64,
    ring: impl Fn(f64) -> Tilting,
    mut film: impl FnMut(f64, c64) -> Result<c64, String>,
) -> Result<Stability, String> {
    let own = {
        let mut free = Free { ring: ring(speed_rad_per_s), speed_rad_per_s, film: |s| film(speed_rad_per_s, s) };
        let roots = free.roots(&[])?;
        let (found, counted) = (roots.iter().filter(|root| root.re > 0.0).count() as f64, free.growing(&roots)?);
        if (found - counted).abs() > 0.1 {
            return Err(format!("{found} free motions that grow are found where {counted:.1} are counted: their growth is not known"));
        }
        roots
    };
    let mut out = Stability {
        growth_per_s: own[0].re,
        whirl_rad_per_s: own[0].im,
        threshold_rad_per_s: None,
        threshold_whirl_rad_per_s: None,
        searched_to_rad_per_s: speed_rad_per_s * SPEEDS[SPEEDS.len() - 1],
    };
    let mut least_damped = |share: f64, near: &[c64]| -> Result<Vec<c64>, String> {
        let speed = share * speed_rad_per_s;
        Free { ring: ring(speed), speed_rad_per_s: speed, film: |s| film(speed, s) }.roots(near)
    };
    let mut low = Side { share: 0.0, growth: None };
    let mut near = Vec::new();
    for share in SPEEDS {
        let there = match least_damped(share, &near) {
            Ok(there) => there,
            // A film held as at the duty need not exist at many times its speed.
            Err(_) if share > 1.0 => {
                out.searched_to_rad_per_s = low.share * speed_rad_per_s;
                break;
            }
            Err(reason) => return Err(reason),
        };
        if there[0].re > 0.0 {
            let (share, root) = close_in(low, share, there, &mut least_damped)?;
            out.threshold_rad_per_s = Some(share * speed_rad_per_s);
            out.threshold_whirl_rad_per_s = Some(root.im);
            break;
        }
        low = Side { share, growth: Some(there[0].re) };
        near = there;
    }
    Ok(out)
}

/// A speed at which every motion dies away, with the growth of the least damped one where it is known.
#[derive(Clone, Copy)]
struct Side {
    share: f64,
    growth: Option<f64>,
}

/// The speed at which growth begins, over that of the duty, with the motion there: false position, which halves where a side stays.
fn close_in(
    mut low: Side,
    high: f64,
    mut there: Vec<c64>,
    least_damped: &mut impl FnMut(f64, &[c64]) -> Result<Vec<c64>, String>,
) -> Result<(f64, c64), String> {
    let mut high = (high, there[0].re);
    for number in 0..MOST_SPEEDS {
        if high.0 - low.share < CLOSED_IN * high.0 {
            break;
        }
        let share = match low.growth {
            Some(growth) if number % 3 != 2 => low.share + (high.0 - low.share) * growth / (growth - high.1),
            _ => 0.5 * (low.share + high.0),
        };
        // A step onto the side itself would stay there.
        let share = share.clamp(low.share + 0.25 * CLOSED_IN * high.0, high.0 - 0.25 * CLOSED_IN * high.0);
        let found = least_damped(share, &there)?;
        if found[0].re > 0.0 {
            high = (share, found[0].re);
            there = found;
        } else {
            low = Side { share, growth: Some(found[0].re) };
        }
    }
    Ok((high.0, there[0]))
}

/// A ring on a film at one speed.
struct Free<F> {
    ring: Tilting,
    speed_rad_per_s: f64,
    film: F,
}

impl<F: FnMut(c64) -> Result<c64, String>> Free<F> {
    /// Left side of the equation without the film.
    fn without_film(&self, s: c64) -> c64 {
        self.ring.own(s) + self.ring.contact.tilt_stiffness_n_m_per_rad
    }

    /// Rates of free motions, the one that grows most first: those near to some rates, and those that shear and stiffness of the film lead to.
    fn roots(&mut self, near: &[c64]) -> Result<Vec<c64>, String> {
        let mut starts = near.to_vec();
        let sheared = c64::new(0.0, 0.5 * self.speed_rad_per_s);
        let (impedance, slope) = self.straight(sheared)?;
        starts.extend(self.ring.free(impedance - slope * sheared, slope));
        if near.is_empty() {
            starts.extend(self.natural()?);
        }
        let mut roots: Vec<c64> = Vec::new();
        for start in starts {
            if let Some(root) = self.root(start)?
                && roots.iter().all(|known| (known - root).norm() > SAME * root.norm())
            {
                roots.push(root);
            }
        }
        roots.sort_by(|x, y| y.re.total_cmp(&x.re));
        if roots.is_empty() { Err("no free motion of the ring on its film is found".to_owned()) } else { Ok(roots) }
    }

    /// The film's answer at a rate and its slope there.
    fn straight(&mut self, s: c64) -> Result<(c64, c64), String> {
        let step = FIRST_STEP * s.norm().max(self.speed_rad_per_s.abs());
        let (here, beside) = ((self.film)(s)?, (self.film)(s + step)?);
        Ok((here, (beside - here) / step))
    }

    /// Where inertia meets the stiffness that the film has at that frequency, both ways round.
    fn natural(&mut self) -> Result<Vec<c64>, String> {
        let mut found = Vec::new();
        for way in [1.0, -1.0] {
            let mut s = c64::new(0.0, way * self.speed_rad_per_s.abs());
            for _ in 0..NATURAL_ROUNDS {
                let stiffness = (self.without_film(c64::new(0.0, 0.0)) + (self.film)(s)?).re;
                if stiffness <= 0.0 {
                    break;
                }
                s = c64::new(0.0, way * (stiffness / self.ring.body.tilt_inertia_kg_m2).sqrt());
            }
            found.push(s);
        }
        Ok(found)
    }

    /// The root that a start leads to; none where it leads nowhere.
    fn root(&mut self, start: c64) -> Result<Option<c64>, String> {
        if !(start.re.is_finite() && start.im.is_finite()) {
            return Ok(None);
        }
        let mut s = start;
        let (mut here, mut slope) = self.straight(s)?;
        for _ in 0..MOST_STEPS {
            let roots = self.ring.free(here - slope * s, slope);
            let next = if (roots[0] - s).norm() <= (roots[1] - s).norm() { roots[0] } else { roots[1] };
            let step = next - s;
            if !(next.re.is_finite() && next.im.is_finite()) {
                return Ok(None);
            }
            if step.norm() <= SETTLED * next.norm() {
                return Ok(Some(next));
            }
            let there = (self.film)(next)?;
            slope = (there - here) / step;
            (s, here) = (next, there);
        }
        Ok(None)
    }

    /// Count of motions that grow. The film between held faces has none of its own.
    fn growing(&mut self, roots: &[c64]) -> Result<f64, String> {
        let largest = roots.iter().map(|root| root.norm()).fold(self.speed_rad_per_s.abs(), f64::max);
        let mut end = 3.0 * largest;
        loop {
            let s = c64::new(0.0, end);
            let inertia = self.ring.body.tilt_inertia_kg_m2 * end * end;
            let (ahead, behind) = (self.left(s)? + inertia, self.left(-s)? + inertia);
            if inertia > ALONE * ahead.norm().max(behind.norm()) {
                break;
            }
            if end > BEYOND * self.speed_rad_per_s.abs() {
                return Err("the free motions of the ring on its film could not be counted".to_owned());
            }
            end *= 8.0;
        }
        // Even steps of the hyperbolic sine: near nothing as fine as the speed, far away by shares.
        let fine = 0.05 * self.speed_rad_per_s.abs();
        let widest = (end / fine).asinh();
        let at = |place: f64| c64::new(0.0, fine * (place * widest).sinh());
        let mut turned = 0.0;
        let mut before = (-1.0, self.left(at(-1.0))?);
        let first = before.1;
        for k in 1..=2 * PLACES {
            let to = k as f64 / PLACES as f64 - 1.0;
            let there = (to, self.left(at(to))?);
            turned += self.turn(before, there, &at, 0)?;
            before = there;
        }
        // Over the great arc from end to end inertia turns the left side once, but for what both ends are off.
        let arc = TAU + (before.1 * first.conj()).arg();
        Ok((arc - turned) / TAU)
    }

    fn left(&mut self, s: c64) -> Result<c64, String> {
        Ok(self.without_film(s) + (self.film)(s)?)
    }

    /// Turn of the left side from one place to another, rad.
    fn turn(&mut self, from: (f64, c64), to: (f64, c64), at: &impl Fn(f64) -> c64, halved: usize) -> Result<f64, String> {
        let turn = (to.1 * from.1.conj()).arg();
        if turn.abs() <= FOLLOWED || halved == MOST_HALVINGS {
            return Ok(turn);
        }
        let middle = 0.5 * (from.0 + to.0);
        let between = (middle, self.left(at(middle))?);
        Ok(self.turn(from, between, at, halved + 1)? + self.turn(between, to, at, halved + 1)?)
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;
    use crate::motion::{Body, ContactAnswer, Support};

    const INERTIA: f64 = 4e-5;
    const HELD: f64 = 900.0;
    const CONED: f64 = 250.0;

    fn ring(damping: f64) -> Tilting {
        Tilting {
            body: Body { mass_kg: 0.1, tilt_inertia_kg_m2: INERTIA, spin_inertia_kg_m2: 2.0 * INERTIA },
            support: Support {
                axial_stiffness_n_per_m: 1e4,
                axial_damping_n_s_per_m: 0.0,
                tilt_stiffness_n_m_per_rad: HELD,
                tilt_damping_n_m_s_per_rad: damping,
                secondary_share: 0.0,
            },
            contact: ContactAnswer { axial_stiffness_n_per_m: 0.0, tilt_stiffness_n_m_per_rad: 0.0 },
            ring_rad_per_s: 0.0,
        }
    }

    /// Squeeze of a narrow gas film that is dragged round with half the speed, and a stiffness.
    fn gas(speed: f64, s: c64) -> Result<c64, String> {
        let (radius, width, gap, pressure): (f64, f64, f64, f64) = (50e-3, 2e-3, 3e-6, 1e6);
        let rate = s - c64::new(0.0, 0.5 * speed);
        let q = (rate * (12.0 * 1.8e-5 / (pressure * gap * gap))).sqrt() * (0.5 * width);
        // A film not squeezed at all answers nothing.
        let squeezed = if q.norm() < 1e-6 { q * q / 3.0 } else { 1.0 - q.tanh() / q };
        Ok(squeezed * (PI * radius.powi(3) * width * pressure / gap) + CONED)
    }

    #[test]
    fn the_motions_of_a_ring_on_gas_are_those_of_the_closed_form() {
        // The film's answer has no part across only where the whirl goes with the film: with half the speed, at a natural frequency.
        let expected = 2.0 * ((HELD + CONED) / INERTIA).sqrt();
        let found = stability(0.3 * expected, |_| ring(0.0), gas).expect("motions");
        let threshold = found.threshold_rad_per_s.expect("a threshold");
        assert!((threshold / expected - 1.0).abs() < 2e-6, "{threshold} instead of {expected}");
        assert!((found.threshold_whirl_rad_per_s.expect("a whirl") / (0.5 * expected) - 1.0).abs() < 1e-4);
        assert!(found.growth_per_s < 0.0);
        // Beyond it one motion grows, and is counted.
        let beyond = stability(1.2 * expected, |_| ring(0.0), gas).expect("motions");
        assert!(beyond.growth_per_s > 0.0 && (beyond.threshold_rad_per_s.expect("a threshold") / expected - 1.0).abs() < 2e-6);
        let s = c64::new(beyond.growth_per_s, beyond.whirl_rad_per_s);
        let left = ring(0.0).own(s) + gas(1.2 * expected, s).expect("an answer");
        assert!(left.norm() < 1e-6 * HELD, "{left}");
    }

    #[test]
    fn damping_of_the_support_raises_the_threshold_of_a_ring_on_gas() {
        let of = |damping: f64| {
            let found = stability(2000.0, |_| ring(damping), gas).expect("motions");
            found.threshold_rad_per_s.zip(found.threshold_whirl_rad_per_s).expect("a threshold")
        };
        let (plain, damped) = (of(0.0), of(0.02));
        assert!(damped.0 > 1.001 * plain.0, "{plain:?} {damped:?}");
        let s = c64::new(0.0, damped.1);
        let left = ring(0.02).own(s) + gas(damped.0, s).expect("an answer");
        assert!(left.norm() < 1e-3 * HELD, "{left}");
    }

    #[test]
    fn a_film_that_pushes_the_wrong_way_is_counted_without_whirl() {
        // Stiffness of the film below nothing and more than the support has: the ring falls over.
        let wrong = |_: f64, s: c64| Ok(c64::new(-1500.0, 0.0) + s * 0.3);
        let found = stability(500.0, |_| ring(0.0), wrong).expect("motions");
        assert!(found.growth_per_s > 0.0 && found.whirl_rad_per_s.abs() < 1e-6 * found.growth_per_s);
    }
}
