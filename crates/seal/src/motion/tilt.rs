//! Following: a floating ring between springs and film, beside a face that runs out.
//!
//! **What.** Tilt and travel of the floating ring for a small wobble of the mating face, and the growth of free motions.
//! **Equation.** Complex tilt `x = x_x + i x_y` seen from standing ground, `y` that of the mating face:
//! `It x'' - i w Ip x' + Ds (x' - i w x) + Ks x + (Kc + Z)(x - y) = 0` for a ring that turns with `w`, the same without `w` for one that stands; the
//! film answers a motion `exp(s t)` by `Z = (K - i k) + (s - i wf)(D - i d)`, its coefficients being those in the frame of its features, which turn
//! with `wf`. `y` turns with the shaft, or stands where the mating ring stands. Axial: `m z'' + (Dz + ds) z' + (Kz + Kc + ks) z = (Kz + Kc) zm + Dz zm'`.
//! **Valid when.** Tilts far below gap over radius, a film that answers the same in every direction, a rigid ring, a secondary seal that sticks;
//! coupling between travel and tilt, and friction of contact, left out.
//! **Source.** Green and Etsion, J. Lub. Tech. 105 (1983) 297 and ASLE Trans. 28 (1985) 449; Green, ASME J. Tribol. 112 (1990) 83 for a floating ring
//! that turns (papers from memory).
//! **Checked by.** F7b, `a_stiff_support_keeps_the_ring_and_a_soft_one_lets_it_follow`.

use faer::c64;
use halfmicron_numerics::reynolds::Coefficients;

use super::outcome::{Body, ContactAnswer, Support};

const I: c64 = c64::new(0.0, 1.0);

/// How a film answers a tilt, the same in every direction, in the frame where its features stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TiltFilm {
    /// N m/rad.
    pub stiffness: f64,
    /// Moment about x per tilt about y, N m/rad.
    pub cross_stiffness: f64,
    /// N m s/rad.
    pub damping: f64,
    /// Moment about x per rate of tilt about y, N m s/rad.
    pub cross_damping: f64,
    /// Speed of the frame, rad/s.
    pub frame_rad_per_s: f64,
}

impl TiltFilm {
    /// The mean over all directions.
    pub fn of(coefficients: &Coefficients, frame_rad_per_s: f64) -> Self {
        let mean = |m: &[[f64; 3]; 3]| (0.5 * (m[1][1] + m[2][2]), 0.5 * (m[1][2] - m[2][1]));
        let (stiffness, cross_stiffness) = mean(&coefficients.stiffness);
        let (damping, cross_damping) = mean(&coefficients.damping);
        Self { stiffness, cross_stiffness, damping, cross_damping, frame_rad_per_s }
    }

    /// The film seen from standing ground.
    pub fn standing(self) -> Self {
        Self {
            stiffness: self.stiffness - self.frame_rad_per_s * self.cross_damping,
            cross_stiffness: self.cross_stiffness + self.frame_rad_per_s * self.damping,
            frame_rad_per_s: 0.0,
            ..self
        }
    }

    /// Moment against the tilt per tilt that grows as `exp(s t)`, N m/rad.
    pub fn impedance(&self, s: c64) -> c64 {
        c64::new(self.stiffness, -self.cross_stiffness) + (s - I * self.frame_rad_per_s) * c64::new(self.damping, -self.cross_damping)
    }
}

/// By how much the answer to a tilt depends on its direction, relative.
pub fn direction_dependence(coefficients: &Coefficients) -> f64 {
    let m = &coefficients.stiffness;
    let size = (0.5 * (m[1][1] + m[2][2])).hypot(0.5 * (m[1][2] - m[2][1]));
    (0.5 * (m[1][1] - m[2][2])).hypot(0.5 * (m[1][2] + m[2][1])) / size.max(f64::MIN_POSITIVE)
}

/// A floating ring between its support and its film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tilting {
    /// Ring.
    pub body: Body,
    /// Springs and secondary seal.
    pub support: Support,
    /// Asperities.
    pub contact: ContactAnswer,
    /// Speed of the ring itself, rad/s; zero where it stands.
    pub ring_rad_per_s: f64,
}

impl Tilting {
    /// Moment of the ring and its support against the tilt per tilt that grows as `exp(s t)`, N m/rad.
    pub fn own(&self, s: c64) -> c64 {
        let turning = I * self.ring_rad_per_s;
        s * s * self.body.tilt_inertia_kg_m2 - turning * s * self.body.spin_inertia_kg_m2
            + (s - turning) * self.support.tilt_damping_n_m_s_per_rad
            + self.support.tilt_stiffness_n_m_per_rad
    }

    /// Tilt of the ring over that of the mating face, which wobbles with an angular frequency seen from standing ground.
    pub fn follows(&self, film: &TiltFilm, excitation_rad_per_s: f64) -> c64 {
        let s = I * excitation_rad_per_s;
        let between = film.impedance(s) + self.contact.tilt_stiffness_n_m_per_rad;
        between / (between + self.own(s))
    }

    /// Rates `s` of both free motions on a film that answers them by `impedance + slope s`, the one that grows most first.
    pub fn free(&self, impedance: c64, slope: c64) -> [c64; 2] {
        let turning = I * self.ring_rad_per_s;
        let a = self.body.tilt_inertia_kg_m2;
        let b = slope + self.support.tilt_damping_n_m_s_per_rad - turning * self.body.spin_inertia_kg_m2;
        let held = self.support.tilt_stiffness_n_m_per_rad + self.contact.tilt_stiffness_n_m_per_rad;
        let c = impedance + held - turning * self.support.tilt_damping_n_m_s_per_rad;
        let root = (b * b - c * (4.0 * a)).sqrt();
        // The root without cancellation first, the other by their product.
        let q = if (b.conj() * root).re >= 0.0 { -(b + root) * 0.5 } else { -(b - root) * 0.5 };
        let mut roots = [q / a, c / q];
        roots.sort_by(|x, y| y.re.total_cmp(&x.re));
        roots
    }
}

/// Axial following.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axial {
    /// Travel of the floating ring over that of the mating face.
    pub ratio: f64,
    /// Natural angular frequency without damping, rad/s; zero where the film does not push back.
    pub natural_rad_per_s: f64,
    /// Damping over critical damping.
    pub damping_ratio: f64,
}

/// Axial following at an angular frequency: stiffness (N/m) and damping (N s/m) between the faces.
pub fn axial(body: &Body, support: &Support, stiffness: f64, damping: f64, frequency_rad_per_s: f64) -> Axial {
    let between = c64::new(stiffness, damping * frequency_rad_per_s);
    let own = c64::new(
        support.axial_stiffness_n_per_m - body.mass_kg * frequency_rad_per_s * frequency_rad_per_s,
        support.axial_damping_n_s_per_m * frequency_rad_per_s,
    );
    let whole = (stiffness + support.axial_stiffness_n_per_m).max(0.0);
    let natural_rad_per_s = (whole / body.mass_kg).sqrt();
    let critical = 2.0 * body.mass_kg * natural_rad_per_s;
    Axial {
        ratio: (between / (between + own)).norm(),
        natural_rad_per_s,
        damping_ratio: if critical > 0.0 { (damping + support.axial_damping_n_s_per_m) / critical } else { 0.0 },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(tilt_stiffness: f64, tilt_damping: f64, inertia: f64) -> Tilting {
        Tilting {
            body: Body { mass_kg: 0.1, tilt_inertia_kg_m2: inertia, spin_inertia_kg_m2: 2.0 * inertia },
            support: Support {
                axial_stiffness_n_per_m: 1e4,
                axial_damping_n_s_per_m: 0.0,
                tilt_stiffness_n_m_per_rad: tilt_stiffness,
                tilt_damping_n_m_s_per_rad: tilt_damping,
                secondary_share: 0.0,
            },
            contact: ContactAnswer { axial_stiffness_n_per_m: 0.0, tilt_stiffness_n_m_per_rad: 0.0 },
            ring_rad_per_s: 0.0,
        }
    }

    /// Smooth faces: what the film sees turns with half the speed.
    fn film(stiffness: f64, damping: f64, speed: f64) -> TiltFilm {
        TiltFilm { stiffness, damping, cross_stiffness: 0.5 * damping * speed, cross_damping: 0.0, frame_rad_per_s: 0.0 }
    }

    #[test]
    fn a_stiff_support_keeps_the_ring_and_a_soft_one_lets_it_follow() {
        let (speed, film) = (300.0, film(4e4, 7.7e3, 300.0));
        assert!(ring(1e15, 0.0, 1e-4).follows(&film, speed).norm() < 1e-8);
        let free = ring(0.0, 0.0, 0.0).follows(&film, speed);
        assert!((free - 1.0).norm() < 1e-15);
        // The tilt between the faces is the moment of ring and support over the answer of the film, to first order.
        let own = ring(50.0, 0.0, 1e-4);
        let relative = own.follows(&film, speed) - 1.0;
        let first = -own.own(c64::new(0.0, speed)) / film.impedance(c64::new(0.0, speed));
        assert!((relative / first - 1.0).norm() < 1e-3, "{relative} {first}");
    }

    #[test]
    fn the_same_film_seen_from_either_face_answers_the_same() {
        // Features on the turning face: there the standing face drags backwards.
        let speed = 300.0;
        let standing = film(4e4, 7.7e3, speed);
        let turning = TiltFilm { cross_stiffness: -0.5 * 7.7e3 * speed, frame_rad_per_s: speed, ..standing };
        assert_eq!(turning.standing(), standing);
        for s in [c64::new(0.0, speed), c64::new(-3.0, 40.0)] {
            assert!((turning.impedance(s) / standing.impedance(s) - 1.0).norm() < 1e-12);
        }
    }

    #[test]
    fn free_motions_solve_the_equation() {
        for turning in [0.0, 250.0] {
            let ring = Tilting { ring_rad_per_s: turning, ..ring(70.0, 0.4, 2e-4) };
            let film = TiltFilm { cross_damping: 1.5, frame_rad_per_s: 250.0, ..film(4e4, 30.0, 250.0) };
            let nothing = c64::new(0.0, 0.0);
            let slope = film.impedance(c64::new(1.0, 0.0)) - film.impedance(nothing);
            for s in ring.free(film.impedance(nothing), slope) {
                let left = ring.own(s) + film.impedance(s);
                assert!(left.norm() < 1e-8 * ring.own(s).norm().max(4e4), "{left}");
            }
        }
    }

    #[test]
    fn a_turning_ring_that_follows_a_standing_face_feels_no_inertia() {
        let film = film(4e4, 7.7e3, 300.0);
        let heavy = Tilting { ring_rad_per_s: 300.0, ..ring(50.0, 0.0, 1.0) };
        let light = Tilting { ring_rad_per_s: 300.0, ..ring(50.0, 0.0, 1e-6) };
        assert_eq!(heavy.follows(&film, 0.0), light.follows(&film, 0.0));
    }

    #[test]
    fn axial_following_is_the_oscillator() {
        let own = ring(0.0, 0.0, 1e-4);
        let slow = axial(&own.body, &own.support, 2e8, 0.0, 0.0);
        assert!((slow.ratio - 2e8 / (2e8 + 1e4)).abs() < 1e-12);
        let natural = ((2e8 + 1e4) / 0.1f64).sqrt();
        assert!((slow.natural_rad_per_s - natural).abs() < 1e-9 * natural);
        let near = axial(&own.body, &own.support, 2e8, 100.0, natural);
        assert!(near.ratio > 5.0 && near.damping_ratio < 0.02, "{near:?}");
        let soft = axial(&own.body, &own.support, -1e9, 1.0, 100.0);
        assert_eq!(soft.natural_rad_per_s, 0.0);
    }
}
