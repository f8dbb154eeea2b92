//! Motion of the floating ring on the film of an operating point: coefficients, following, stability, and time.
//!
//! [`motion`] solves each duty as `solve` does, takes the film that is believed, and asks it for its answer to small motions. Nothing of this is
//! computed by `solve`.

mod body;
mod held;
mod leakage;
mod outcome;
mod support;
mod threshold;
mod tilt;
mod time;

#[cfg(test)]
mod tests;

pub use outcome::*;
pub use threshold::stability;
pub use tilt::{Axial, TiltFilm, Tilting, axial};

use faer::c64;

use crate::film::{FieldGrid, FilmError};
use crate::model::{Duty, Model, RingRole, TextureForm, is_two_dimensional};
use crate::notice::Notice;
use crate::outcome::{DutyOutcome, Equilibrium, Provenance};
use crate::point::{Options, PointError, Prepared, State, secondary};
use crate::rules::text;
use crate::rules::view::{reason_or_status, status_in_words};
use held::{Held, Solved};

/// What is asked for beyond the numbers of the duty itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Request {
    /// Following over speed.
    pub curve: bool,
    /// Following in time with the whole film.
    pub in_time: bool,
}

/// Speeds of the curve, over that of the duty.
const DOWN: [f64; 10] = [0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1, 0.0];
const UP: [f64; 4] = [1.1, 1.2, 1.35, 1.5];
/// Composite roughnesses at which asperities begin to touch: what is to stay of the film where the case says nothing.
const TOUCHING: f64 = 3.0;
/// Dependence on direction, and difference of the film's force, from which a notice is due; and the difference that is refused.
const NOTED: f64 = 0.05;
const REFUSED: f64 = 0.25;
/// Run-out beyond which a face is crooked rather than running out, m.
pub(crate) const MOST_RUNOUT_M: f64 = 1e-3;
/// Turns and steps a turn of a run in time, without textures and with them.
const PLAIN_RUN: [usize; 2] = [2, 120];
const TEXTURED_RUN: [usize; 2] = [2, 72];

/// Motion at the duties named, all of them without any.
///
/// # Errors
/// [`PointError`]: a ring that cannot be meshed, a duty name that the case does not have. What is not found within a duty is told there.
pub fn motion(model: &Model, duty_names: &[String], request: Request) -> Result<Motion, PointError> {
    crate::solve::known_duties(model, duty_names)?;
    let prepared = Prepared::new(model)?;
    let mut notices = common_notices(model);
    support::support(model, 1.0, &mut notices);
    let asked = |duty: &&Duty| duty_names.is_empty() || duty_names.contains(&duty.name);
    let duties = model.duties.iter().filter(asked).map(|duty| duty_motion(&prepared, duty, request)).collect();
    Ok(Motion {
        title: model.title.clone(),
        duties,
        notices,
        provenance: Provenance {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            case_hash: model.case_hash.clone(),
            data_version: model.fluid.data_version().to_owned(),
            seed: None,
        },
    })
}

fn common_notices(model: &Model) -> Vec<Notice> {
    let flat = Notice::note(
        "motion.flat",
        "film",
        "the faces are taken as equal all round: the waves of lapped faces, in [[texture]], change stiffness and damping of a liquid film",
    );
    let mut notices = vec![
        Notice::note(
            "motion.shape-held",
            "film",
            "small motions are faster than heat, and rings are taken to keep their shape in them: a soft ring that bends with the film makes \
             the film softer than shown",
        ),
        Notice::note(
            "motion.left-out",
            "following",
            "left out: coupling between travel and tilt, friction of contact, sliding of the secondary seal, unbalance, and a crooked seat of the \
             floating ring itself",
        ),
    ];
    notices.extend((!is_two_dimensional(&model.textures)).then_some(flat));
    notices
}

/// One duty.
fn duty_motion(prepared: &Prepared, duty: &Duty, request: Request) -> DutyMotion {
    let model = prepared.model();
    let floating = if model.rotating_ring.floating { RingRole::Rotating } else { RingRole::Stationary };
    let mut out = DutyMotion {
        name: duty.name.clone(),
        speed_rad_per_s: duty.speed_rad_per_s,
        floating: role(floating),
        body: None,
        support: None,
        film: None,
        contact: None,
        following: None,
        curve: Vec::new(),
        leakage: None,
        stability: None,
        allowed: None,
        in_time: None,
        refusals: Vec::new(),
        notices: Vec::new(),
        models: Vec::new(),
    };
    out.body = body(model, floating);
    out.support = Some(support::support(model, duty.speed_rad_per_s, &mut Vec::new()));
    let options = Options { search: true, ranges: false, fields: false, margins: false, at_rest: false, waves: false };
    let (solved, state) = prepared.solve_with(duty, None, options);
    let chosen = solved.chosen.and_then(|index| solved.equilibria.get(index)).zip(state);
    let Some((point, state)) = chosen else {
        let reason = format!("{}: {}", status_in_words(solved.status), reason_or_status(&solved));
        out.refuse("motion", format!("there is no operating point to move about: {reason}"));
        return out;
    };
    out.models.clone_from(&solved.models);
    let at = At { prepared, duty, request, floating };
    if let Err(reason) = at.compute(&solved, point, &state, &mut out) {
        out.refuse("film", reason);
    }
    out
}

/// The floating ring: what the case states before what its section gives.
fn body(model: &Model, floating: RingRole) -> Option<Body> {
    let ring = if floating == RingRole::Rotating { &model.rotating_ring } else { &model.stationary_ring };
    let (by_section, stated) = (body::body(&ring.parts), &model.moving);
    let of = |stated: Option<f64>, by_section: Option<f64>| stated.or(by_section);
    Some(Body {
        mass_kg: of(stated.mass_kg, by_section.map(|body| body.mass_kg))?,
        tilt_inertia_kg_m2: of(stated.tilt_inertia_kg_m2, by_section.map(|body| body.tilt_inertia_kg_m2))?,
        spin_inertia_kg_m2: of(stated.spin_inertia_kg_m2, by_section.map(|body| body.spin_inertia_kg_m2))?,
    })
}

impl DutyMotion {
    fn refuse(&mut self, what: &'static str, reason: impl Into<String>) {
        self.refusals.push(Refusal { what, reason: reason.into() });
    }
}

/// One duty of a prepared seal.
struct At<'a> {
    prepared: &'a Prepared,
    duty: &'a Duty,
    request: Request,
    floating: RingRole,
}

/// What is shared by everything that is computed at the duty.
struct Bench<'a> {
    held: Held<'a>,
    grid: FieldGrid,
    film: Solved,
    ring: Tilting,
    tilt_film: TiltFilm,
}

impl At<'_> {
    fn held<'b>(&'b self, duty: &'b Duty, solved: &DutyOutcome, point: &Equilibrium, state: &State) -> Held<'b> {
        let chamber = solved.conditions.chamber_temperature_k;
        Held::new(self.prepared.model(), duty, self.prepared.band_nodes(), state, point, chamber)
    }

    /// Angular frequency at which the mating face wobbles, seen from standing ground.
    fn excitation(&self, speed_rad_per_s: f64) -> f64 {
        if self.floating == RingRole::Stationary { speed_rad_per_s } else { 0.0 }
    }

    fn tilting(&self, body: Body, contact: ContactAnswer, speed_rad_per_s: f64) -> Tilting {
        Tilting {
            body,
            support: support::support(self.prepared.model(), speed_rad_per_s, &mut Vec::new()),
            contact,
            ring_rad_per_s: if self.floating == RingRole::Rotating { speed_rad_per_s } else { 0.0 },
        }
    }

    fn compute(&self, solved: &DutyOutcome, point: &Equilibrium, state: &State, out: &mut DutyMotion) -> Result<(), String> {
        not_of_one_phase(point)?;
        let speed = self.duty.speed_rad_per_s;
        let held = self.held(self.duty, solved, point, state);
        let words = |error: FilmError| error.to_string();
        let grid = held.grid().map_err(words)?;
        let film = held.solve(&grid, speed, None).map_err(words)?;
        let contact = held.contact_answer(&grid);
        out.contact = Some(contact);
        let answer = self.answer(&held, &grid, &film, point)?;
        if answer.direction_dependence > NOTED {
            out.notices.push(Notice::caution(
                "motion.direction",
                "film.direction_dependence",
                format!(
                    "the film's answer to a tilt differs by {} with its direction; the mean is used",
                    text::percent(answer.direction_dependence)
                ),
                "Follow it in time to see what the direction does.",
            ));
        }
        if answer.force_difference.abs() > NOTED {
            out.notices.push(Notice::caution(
                "motion.film-differs",
                "film.force_difference",
                format!(
                    "the film that moves carries {} of what that of the operating point does: inertia of the flow and entry loss are left out",
                    text::percent(1.0 + answer.force_difference)
                ),
                "",
            ));
        }
        self.stated_tilt(out);
        out.film = Some(answer);
        out.models.push("motion.coefficients".to_owned());
        let Some(body) = out.body else {
            out.refuse("following", "the floating ring has no section: state its mass, tilt_inertia and spin_inertia");
            return Ok(());
        };
        if speed == 0.0 {
            out.refuse("following", "the shaft stands: nothing wobbles, and nothing drives a whirl");
            return Ok(());
        }
        out.models.extend(["motion.following", "motion.body", "motion.support"].map(str::to_owned));
        let tilt_film = held.tilt_film(&grid, &film, speed, self.excitation(speed)).map_err(words)?;
        let bench = Bench { ring: self.tilting(body, contact, speed), held, grid, film, tilt_film };
        self.following(&bench, out);
        self.stability(&bench, out);
        self.allowed(&bench, out);
        self.leakage(&bench, out);
        if self.request.curve {
            self.curve(body, state, &bench, out);
        }
        if self.request.in_time {
            self.in_time(&bench, out);
        }
        Ok(())
    }

    /// A tilt among the textures is one that no ring follows.
    fn stated_tilt(&self, out: &mut DutyMotion) {
        let tilts = self.prepared.model().textures.iter().filter_map(|texture| match texture.form {
            TextureForm::Tilt { angle_rad } => Some(angle_rad),
            _ => None,
        });
        let stated: f64 = tilts.sum();
        if stated != 0.0 {
            out.notices.push(Notice::caution(
                "motion.stated-tilt",
                "texture",
                format!(
                    "the case holds the faces {} urad apart as a texture, which nothing follows; a ring that floats follows a crooked seat and \
                     leaves between the faces what is shown here",
                    text::number(stated * 1e6)
                ),
                "State the lean of the seat as machine.face_runout instead.",
            ));
        }
    }

    fn answer(&self, held: &Held, grid: &FieldGrid, film: &Solved, point: &Equilibrium) -> Result<FilmAnswer, String> {
        let speed = self.duty.speed_rad_per_s;
        let frame = held.frame(grid, speed);
        let tilt_frequency = (self.excitation(speed) - frame).abs();
        let of = |frequency: f64, tilts: bool| held.coefficients(grid, film, speed, frequency, tilts).map_err(|error| error.to_string());
        let tilts = of(tilt_frequency, true)?;
        let axial = of(speed.abs(), false)?;
        let (mut stiffness, mut damping) = (tilts.stiffness, tilts.damping);
        (stiffness[0][0], damping[0][0]) = (axial.stiffness[0][0], axial.damping[0][0]);
        let seen = TiltFilm::of(&tilts, frame).standing();
        let low = self.duty.low_pressure_pa.min(self.duty.pressure_pa);
        let force_difference = film.result.force_n(held.nodes, low) / point.film_force_n - 1.0;
        if force_difference.abs() > REFUSED {
            return Err(format!(
                "the film that small motions are computed of carries {} of what the film of the operating point does: inertia of the flow, which \
                 it leaves out, decides here",
                text::percent(1.0 + force_difference)
            ));
        }
        let [layers, columns] = grid.size();
        Ok(FilmAnswer {
            axial_stiffness_n_per_m: stiffness[0][0],
            axial_damping_n_s_per_m: damping[0][0],
            tilt_stiffness_n_m_per_rad: seen.stiffness,
            tilt_damping_n_m_s_per_rad: seen.damping,
            cross_stiffness_n_m_per_rad: seen.cross_stiffness,
            cross_damping_n_m_s_per_rad: seen.cross_damping,
            axial_frequency_rad_per_s: speed.abs(),
            tilt_frequency_rad_per_s: tilt_frequency,
            frame: role(grid.on()),
            stiffness,
            damping,
            direction_dependence: tilt::direction_dependence(&tilts),
            force_difference,
            cells: [layers, columns, grid.sectors()],
        })
    }

    fn following(&self, bench: &Bench, out: &mut DutyMotion) {
        let (speed, model) = (self.duty.speed_rad_per_s, self.prepared.model());
        let Some(film) = out.film.as_ref() else { return };
        let excitation = self.excitation(speed);
        let ratio = bench.ring.follows(&bench.tilt_film, excitation);
        let stiffness = film.axial_stiffness_n_per_m + bench.ring.contact.axial_stiffness_n_per_m;
        let axial = axial(&bench.ring.body, &bench.ring.support, stiffness, film.axial_damping_n_s_per_m, speed.abs());
        let relative_ratio = (ratio - 1.0).norm();
        let outer = model.band.outer_radius_m;
        let with_runout = model.machine.face_runout_m.map(|runout_m| {
            let mating_tilt_rad = 0.5 * runout_m / outer;
            let relative_tilt_rad = relative_ratio * mating_tilt_rad;
            WithRunout {
                runout_m,
                mating_tilt_rad,
                relative_tilt_rad,
                gap_swing_m: relative_tilt_rad * outer,
                least_film_still_m: bench.held.least_m(&bench.grid, 0.0),
                least_film_m: bench.held.least_m(&bench.grid, relative_tilt_rad),
                secondary_seal_use: self.slides_from(bench).map(|from| ratio.norm() * runout_m / from),
            }
        });
        if with_runout.is_none() {
            out.refuse("run-out", "the case states none: give machine.face_runout, total indicator reading at the outer edge of the band");
        }
        if let Some(used) = with_runout.and_then(|with| with.secondary_seal_use).filter(|used| *used > 1.0) {
            out.notices.push(Notice::caution(
                "motion.secondary-seal-slides",
                "following.with_runout.secondary_seal_use",
                format!(
                    "the secondary seal would slide: its force is {} times its friction where the ring moves most. It then holds the ring back with \
                     its friction alone, wears, and the tilt between the faces is not the one shown",
                    text::ratio(used)
                ),
                "Less run-out, or a secondary seal that moves more easily.",
            ));
        }
        out.following = Some(Following {
            excitation_rad_per_s: excitation,
            ratio: ratio.norm(),
            lag_rad: -ratio.arg() * speed.signum(),
            relative_ratio,
            axial_ratio: axial.ratio,
            axial_natural_rad_per_s: axial.natural_rad_per_s,
            axial_damping_ratio: axial.damping_ratio,
            with_runout,
        });
    }

    /// Run-out from which the secondary seal slides where it moves most, m.
    fn slides_from(&self, bench: &Bench) -> Option<f64> {
        let (model, support) = (self.prepared.model(), &bench.ring.support);
        let radius = crate::hand::balance_radius_m(&model.seal, self.duty);
        let [_, friction, _] = secondary::friction_n(&model.seal, radius, self.duty.pressure_pa - self.duty.low_pressure_pa);
        let stiffness = support.secondary_share * support.axial_stiffness_n_per_m;
        let slides = 2.0 * model.band.outer_radius_m * friction / (stiffness * radius);
        (friction > 0.0 && stiffness > 0.0).then_some(slides)
    }

    fn stability(&self, bench: &Bench, out: &mut DutyMotion) {
        let speed = self.duty.speed_rad_per_s;
        let held = bench.held.at_held_temperatures(&bench.film);
        let mut last: Option<(f64, Solved)> = None;
        let mut answer = |speed: f64, rate_per_s: c64| -> Result<c64, FilmError> {
            if last.as_ref().is_none_or(|(of, _)| *of != speed) {
                let solved = held.solve(&bench.grid, speed, last.as_ref().map(|(_, solved)| &solved.start))?;
                last = Some((speed, solved));
            }
            match &last {
                Some((_, solved)) => held.tilt_impedance(&bench.grid, solved, speed, rate_per_s),
                None => Err(FilmError::Input("no film was solved")),
            }
        };
        let ring = |speed| self.tilting(bench.ring.body, bench.ring.contact, speed);
        match threshold::stability(speed, ring, |speed, rate| answer(speed, rate).map_err(|error| error.to_string())) {
            Ok(stability) => {
                out.stability = Some(stability);
                out.models.push("motion.threshold".to_owned());
            }
            Err(reason) => out.refuse("stability", reason),
        }
    }

    fn allowed(&self, bench: &Bench, out: &mut DutyMotion) {
        let Some(following) = out.following else { return };
        let model = self.prepared.model();
        let stated = model.limits.minimum_film_m;
        let least_film_m = stated.unwrap_or(TOUCHING * bench.held.contact.roughness_m);
        let Some(tilt) = bench.held.tilt_to(&bench.grid, least_film_m) else {
            let still = text::length(bench.held.least_m(&bench.grid, 0.0));
            let what = if stated.is_some() {
                "the least film that the case asks for"
            } else {
                "three composite roughnesses, where asperities touch"
            };
            out.refuse(
                "allowed run-out",
                format!(
                    "without any run-out the least film is {still}, below {} ({what}): no run-out keeps it; state limits.minimum_film to ask for \
                     another",
                    text::length(least_film_m)
                ),
            );
            return;
        };
        let by_film_m = 2.0 * model.band.outer_radius_m * tilt / following.relative_ratio;
        let slides_from_m = self.slides_from(bench);
        let limited_by = if slides_from_m.is_some_and(|slides| slides < by_film_m) { "secondary seal" } else { "film" };
        let runout_m = slides_from_m.map_or(by_film_m, |slides| slides.min(by_film_m));
        if runout_m > MOST_RUNOUT_M {
            out.refuse(
                "allowed run-out",
                format!(
                    "neither film nor secondary seal limits it below {}: following holds the film, and other limits come first",
                    text::length(MOST_RUNOUT_M)
                ),
            );
            return;
        }
        out.allowed = Some(AllowedRunout { least_film_m, stated: stated.is_some(), runout_m, limited_by, by_film_m, slides_from_m });
    }

    fn leakage(&self, bench: &Bench, out: &mut DutyMotion) {
        let Some(with) = out.following.and_then(|following| following.with_runout) else { return };
        if bench.held.textured() && bench.grid.on() != bench.held.mating() {
            out.refuse(
                "added leakage",
                format!(
                    "the textures are on the {} ring, which follows: the tilt moves over them, and no steady film has both",
                    self.floating_word()
                ),
            );
            return;
        }
        match leakage::added(&bench.held, self.duty.speed_rad_per_s, with.relative_tilt_rad, with.least_film_still_m) {
            Ok(leakage) => {
                out.leakage = Some(leakage);
                out.models.push("motion.leakage".to_owned());
            }
            Err(error) => out.refuse("added leakage", error.to_string()),
        }
    }

    fn floating_word(&self) -> &'static str {
        role(self.floating)
    }

    fn curve(&self, body: Body, state: &State, bench: &Bench, out: &mut DutyMotion) {
        let tilt = out.following.and_then(|following| following.with_runout).map(|with| with.mating_tilt_rad);
        let mut points = vec![self.point_of(1.0, bench, &bench.ring, Some(bench.tilt_film), tilt)];
        for shares in [&DOWN[..], &UP[..]] {
            let mut near = state.clone();
            for &share in shares {
                let duty = Duty { speed_rad_per_s: share * self.duty.speed_rad_per_s, ..self.duty.clone() };
                let (solved, found) = self.prepared.follow(&duty, &near);
                let chosen = solved.chosen.and_then(|index| solved.equilibria.get(index)).zip(found);
                let Some((point, found)) = chosen else {
                    points.push(CurvePoint::lost(duty.speed_rad_per_s));
                    continue;
                };
                let held = self.held(&duty, &solved, point, &found);
                points.push(self.curve_point(&held, point, body, &bench.grid, tilt));
                near = found;
            }
        }
        points.sort_by(|a, b| a.speed_rad_per_s.abs().total_cmp(&b.speed_rad_per_s.abs()));
        if points.iter().any(|point| point.ratio.is_none()) {
            out.refuse(
                "curve",
                "at speeds without numbers no operating point was found near that of the duty, or its film answers no small motions",
            );
        }
        out.curve = points;
    }

    fn curve_point(&self, held: &Held, point: &Equilibrium, body: Body, grid: &FieldGrid, tilt: Option<f64>) -> CurvePoint {
        let speed = held.duty.speed_rad_per_s;
        let film = || -> Option<TiltFilm> {
            not_of_one_phase(point).ok()?;
            let film = held.solve(grid, speed, None).ok()?;
            held.tilt_film(grid, &film, speed, self.excitation(speed)).ok()
        };
        let ring = self.tilting(body, held.contact_answer(grid), speed);
        let film = film();
        self.point_at(speed, held, grid, &ring, film, tilt)
    }

    fn point_of(&self, share: f64, bench: &Bench, ring: &Tilting, film: Option<TiltFilm>, tilt: Option<f64>) -> CurvePoint {
        self.point_at(share * self.duty.speed_rad_per_s, &bench.held, &bench.grid, ring, film, tilt)
    }

    fn point_at(&self, speed: f64, held: &Held, grid: &FieldGrid, ring: &Tilting, film: Option<TiltFilm>, tilt: Option<f64>) -> CurvePoint {
        let ratio = film.map(|film| ring.follows(&film, self.excitation(speed)));
        let relative = ratio.map(|ratio| (ratio - 1.0).norm());
        CurvePoint {
            speed_rad_per_s: speed,
            ratio: ratio.map(|ratio| ratio.norm()),
            lag_rad: ratio.map(|ratio| -ratio.arg() * self.duty.speed_rad_per_s.signum()),
            relative_ratio: relative,
            least_film_still_m: Some(held.least_m(grid, 0.0)),
            least_film_m: relative.zip(tilt).map(|(relative, tilt)| held.least_m(grid, relative * tilt)),
        }
    }

    fn in_time(&self, bench: &Bench, out: &mut DutyMotion) {
        let Some(with) = out.following.and_then(|following| following.with_runout) else {
            out.refuse("time", "without a run-out nothing moves: state machine.face_runout");
            return;
        };
        if with.mating_tilt_rad == 0.0 {
            out.refuse("time", "the run-out is nothing, and nothing moves");
            return;
        }
        let [turns, steps_per_turn] = if bench.held.textured() { TEXTURED_RUN } else { PLAIN_RUN };
        let run = time::Run { speed_rad_per_s: self.duty.speed_rad_per_s, mating_tilt_rad: with.mating_tilt_rad, turns, steps_per_turn };
        match time::follow(&bench.held, &bench.ring, run) {
            Ok(in_time) => {
                out.in_time = Some(in_time);
                out.models.push("motion.time".to_owned());
            }
            Err(error) => out.refuse("time", error.to_string()),
        }
    }
}

impl CurvePoint {
    fn lost(speed_rad_per_s: f64) -> Self {
        Self { speed_rad_per_s, ratio: None, lag_rad: None, relative_ratio: None, least_film_still_m: None, least_film_m: None }
    }
}

/// Why small motions of a film are not computed.
fn not_of_one_phase(point: &Equilibrium) -> Result<(), String> {
    if !point.passage.phase_changes.is_empty() {
        return Err("the film boils or condenses: small motions are computed of films of one phase alone".to_owned());
    }
    if point.passage.choked {
        return Err("the film is choked: small motions are computed of films slower than sound alone".to_owned());
    }
    Ok(())
}
