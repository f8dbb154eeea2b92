//! Following in time with the whole film.
//!
//! **What.** Tilt and travel of the floating ring step by step, on the film of the whole ring and the contact of every place of it.
//! **Equation.** `It x'' - i w Ip x' + Ds (x' - i w x) + Ks x = M`, `m z'' + ds z' + ks z = F - F0`, with force `F` and moment `M` of film and asperities
//! over the gap `h(r) + depth + z + tilt` of the moment, the film by implicit steps of its own equation. Backward differences of second order for the ring, both at once by
//! Newton's method with the film's coefficients as its matrix. The ring begins where the linear equations have it: thick films settle over many
//! turns, and whether they stay is what is asked.
//! **Valid when.** As the linear equations, but for any tilt: shape and temperatures of the rings held as without run-out.
//! **Source.** The parts' own models; steps derived here.
//! **Checked by.** `in_time_a_small_run_out_is_followed_as_the_linear_equations_say`.

use std::f64::consts::TAU;

use faer::c64;
use halfmicron_numerics::reynolds::Coefficients;

use super::held::Held;
use super::outcome::{InTime, Instant};
use super::tilt::{TiltFilm, Tilting};
use crate::film::{FieldGrid, FilmError, Moved, MovingFilm};
use crate::model::RingRole;

/// Newton's iterations of one step.
const MOST: usize = 25;
/// Moment left open, over that of a film which the ring does not follow at all, and over force times radius, where rounding begins.
const LEFT: f64 = 1e-9;
const ROUNDING: f64 = 1e-11;
/// A time in which any film comes to rest, s.
const AT_REST_S: f64 = 1e6;
/// Places of time kept.
const KEPT: usize = 240;

/// What is to be followed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Run {
    pub speed_rad_per_s: f64,
    pub mating_tilt_rad: f64,
    pub turns: usize,
    pub steps_per_turn: usize,
}

/// Travel and tilt of the ring.
#[derive(Debug, Clone, Copy, Default)]
struct Place {
    axial: f64,
    tilt: c64,
}

impl Place {
    /// Rate of change after two places before, of second order.
    fn rate(now: Place, [before, earlier]: [Place; 2], dt: f64) -> Place {
        let of = 0.5 / dt;
        Place {
            axial: of * (3.0 * now.axial - 4.0 * before.axial + earlier.axial),
            tilt: (now.tilt * 3.0 - before.tilt * 4.0 + earlier.tilt) * of,
        }
    }
}

struct Stepping<'a, 'f> {
    ring: &'a Tilting,
    run: Run,
    frame: f64,
    /// Angular frequency of the mating face seen from standing ground.
    excitation: f64,
    film: MovingFilm<'f>,
    held: &'a Held<'a>,
    grid: &'a FieldGrid,
    linear: Linear,
    still_force_n: f64,
    dt_s: f64,
}

/// Film and contact as coefficients, for Newton's matrix.
struct Linear {
    axial: [f64; 2],
    tilt: TiltFilm,
}

/// Follow a ring in time.
///
/// # Errors
/// [`FilmError`] of the film; a step that does not settle.
pub(super) fn follow(held: &Held, ring: &Tilting, run: Run) -> Result<InTime, FilmError> {
    let speed = run.speed_rad_per_s;
    let grid = held.whole_ring(0.0)?;
    let solved = held.solve(&grid, speed, None)?;
    let frame = held.frame(&grid, speed);
    let excitation = if held.mating() == RingRole::Rotating { speed } else { 0.0 };
    let coefficients: Coefficients = held.coefficients(&grid, &solved, speed, (excitation - frame).abs(), true)?;
    let linear = Linear {
        axial: [coefficients.stiffness[0][0] + ring.contact.axial_stiffness_n_per_m, coefficients.damping[0][0]],
        tilt: TiltFilm::of(&coefficients, frame).standing(),
    };
    let linear_relative = (ring.follows(&linear.tilt, excitation) - 1.0).norm();
    let input = held.input(&grid, speed);
    let mut film = MovingFilm::new(&input, &grid, &solved.start)?;
    let dt_s = TAU / speed.abs() / run.steps_per_turn as f64;
    let still = film.step(|_, _| 0.0, &held.contact, dt_s)?;
    let still_leakage = still.leakage_kg_per_s;
    let mut stepping = Stepping { ring, run, frame, excitation, film, held, grid: &grid, linear, still_force_n: still.forces[0], dt_s };
    let mut seen = Seen::new(run, still_leakage);
    let begun = ring.follows(&stepping.linear.tilt, excitation) * run.mating_tilt_rad;
    // The turning that it comes from, as far back as differences of second order reach.
    let turned = |steps: f64| c64::new((excitation * dt_s * steps).cos(), (excitation * dt_s * steps).sin()) * begun;
    let still = |tilt: c64| Place { axial: 0.0, tilt };
    let mut places = [still(begun), still(turned(-1.0))];
    let mut rates = places.map(|place| still(place.tilt * c64::new(0.0, excitation)));
    // A step so long that the film is at rest where its gap stands.
    let leaning = begun - stepping.mating(0.0);
    let moved = stepping.film.step(shifted(0.0, leaning), &held.contact, AT_REST_S)?;
    stepping.film.accept(moved);
    for step in 1..=run.turns * run.steps_per_turn {
        let time = step as f64 * dt_s;
        let (place, rate, moved) = stepping.step(places, rates, time)?;
        (places, rates) = ([place, places[0]], [rate, rates[0]]);
        let relative = place.tilt - stepping.mating(time);
        seen.add(step, place, relative, stepping.least_m(place, relative), &moved);
        stepping.film.accept(moved);
    }
    Ok(seen.told(linear_relative))
}

impl Stepping<'_, '_> {
    /// Tilt of the mating face.
    fn mating(&self, time: f64) -> c64 {
        let angle = self.excitation * time;
        c64::new(angle.cos(), angle.sin()) * self.run.mating_tilt_rad
    }

    /// Least gap over the face, m.
    fn least_m(&self, place: Place, relative: c64) -> f64 {
        place.axial + self.held.least_m(self.grid, relative.norm())
    }

    fn step(&mut self, from: [Place; 2], rates: [Place; 2], time: f64) -> Result<(Place, Place, Moved), FilmError> {
        let (dt, body, support) = (self.dt_s, self.ring.body, self.ring.support);
        let turning = c64::new(0.0, self.ring.ring_rad_per_s);
        let to_frame = c64::new((self.frame * time).cos(), -(self.frame * time).sin());
        let mating = self.mating(time);
        // The ring's own part of Newton's matrix and that of the film.
        let per = 1.5 / dt;
        let own_tilt = body.tilt_inertia_kg_m2 * per * per - turning * body.spin_inertia_kg_m2 * per
            + (per - turning) * support.tilt_damping_n_m_s_per_rad
            + support.tilt_stiffness_n_m_per_rad;
        let film = &self.linear.tilt;
        let between = c64::new(film.stiffness + self.ring.contact.tilt_stiffness_n_m_per_rad, -film.cross_stiffness)
            + c64::new(film.damping, -film.cross_damping) / dt;
        let own_axial = body.mass_kg * per * per + support.axial_damping_n_s_per_m * per + support.axial_stiffness_n_per_m;
        let between_axial = self.linear.axial[0] + self.linear.axial[1] / dt;
        let radius = self.held.nodes.radius_m.iter().copied().fold(0.0, f64::max);
        let open = (between.norm() * self.run.mating_tilt_rad * LEFT).max(ROUNDING * self.still_force_n.abs() * radius);
        // What the ring would do if it kept its rate.
        let mut to = Place { axial: from[0].axial + dt * rates[0].axial, tilt: from[0].tilt + rates[0].tilt * dt };
        let mut history = Vec::new();
        for _ in 0..MOST {
            let relative = (to.tilt - mating) * to_frame;
            let moved = self.film.step(shifted(to.axial, relative), &self.held.contact, dt)?;
            let [force, about_x, about_y] = moved.forces;
            let moment = c64::new(about_x, about_y) * to_frame.conj();
            let rate = Place::rate(to, from, dt);
            let (speed, gain) = (rate.tilt, Place::rate(rate, rates, dt));
            let left_tilt = gain.tilt * body.tilt_inertia_kg_m2 - turning * speed * body.spin_inertia_kg_m2
                + (speed - turning * to.tilt) * support.tilt_damping_n_m_s_per_rad
                + to.tilt * support.tilt_stiffness_n_m_per_rad
                - moment;
            let left_axial =
                gain.axial * body.mass_kg + rate.axial * support.axial_damping_n_s_per_m + to.axial * support.axial_stiffness_n_per_m
                    - (force - self.still_force_n);
            let left = left_tilt.norm().max(left_axial.abs() * radius);
            history.push(left / open * LEFT);
            if left <= open {
                return Ok((to, rate, moved));
            }
            to.tilt -= left_tilt / (own_tilt + between);
            to.axial -= left_axial / (own_axial + between_axial);
        }
        let correction = history.last().copied().unwrap_or(f64::NAN);
        Err(FilmError::NotConverged { iterations: MOST, correction, history })
    }
}

/// By how much the gap is greater at a radius and an angle for a travel and a tilt.
fn shifted(axial: f64, tilt: c64) -> impl Fn(f64, f64) -> f64 {
    move |radius, angle| axial + radius * (tilt.re * angle.sin() - tilt.im * angle.cos())
}

/// What is kept of a run.
struct Seen {
    run: Run,
    still_leakage: f64,
    series: Vec<Instant>,
    /// Size of tilt and relative tilt of every step, with least film and leakage.
    all: Vec<[f64; 4]>,
}

impl Seen {
    fn new(run: Run, still_leakage: f64) -> Self {
        Self { run, still_leakage, series: Vec::new(), all: Vec::new() }
    }

    fn add(&mut self, step: usize, place: Place, relative: c64, least_m: f64, moved: &Moved) {
        self.all.push([place.tilt.norm(), relative.norm(), least_m, moved.leakage_kg_per_s]);
        let steps = self.run.turns * self.run.steps_per_turn;
        let every = steps.div_ceil(KEPT).max(1);
        if step.is_multiple_of(every) || step == steps {
            self.series.push(Instant {
                turns: step as f64 / self.run.steps_per_turn as f64,
                tilt_rad: [place.tilt.re, place.tilt.im],
                relative_tilt_rad: [relative.re, relative.im],
                axial_m: place.axial,
                least_film_m: least_m,
            });
        }
    }

    fn told(self, linear_relative_ratio: f64) -> InTime {
        let turn = self.run.steps_per_turn;
        let last = &self.all[self.all.len() - turn..];
        let mean = |k: usize| last.iter().map(|row| row[k]).sum::<f64>() / turn as f64;
        let least = |rows: &[[f64; 4]]| rows.iter().map(|row| row[2]).fold(f64::INFINITY, f64::min);
        let [end, a_turn_before] = [0, turn].map(|back| self.all[self.all.len() - 1 - back][1]);
        InTime {
            turns: self.run.turns as f64,
            steps_per_turn: turn,
            ratio: mean(0) / self.run.mating_tilt_rad,
            relative_ratio: mean(1) / self.run.mating_tilt_rad,
            linear_relative_ratio,
            settled_within: (end / a_turn_before - 1.0).abs(),
            least_film_m: least(last),
            least_film_ever_m: least(&self.all),
            leakage_ratio: mean(3) / self.still_leakage,
            series: self.series,
        }
    }
}
