//! The motion of a seal in the reader's units, duties as columns.

use serde::{Deserialize, Serialize};

use crate::motion::{DutyMotion, Following, InTime, MOST_RUNOUT_M, Motion, Support, WithRunout};
use crate::rules::models;

use super::chart::{self, Chart};
use super::curves::{DutyCurves, curve};
use super::part::row;
use super::rounding::MISSING;
use super::text::in_units;
use super::units::{Kind, UnitSet};
use super::{Block, ModelLine, NoticeLine, Row, merged_notices};

/// What a reader sees of the motion of a seal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MotionSheet {
    /// Title of the case.
    pub title: String,
    /// Units in which it is written.
    pub units: UnitSet,
    /// Duties, one a column.
    pub columns: Vec<String>,
    /// Blocks of rows.
    pub blocks: Vec<Block>,
    /// What was not computed, and why.
    pub refusals: Vec<String>,
    /// Notices.
    pub notices: Vec<NoticeLine>,
    /// Models used with their proof state.
    pub models: Vec<ModelLine>,
    /// Curves over speed; the axis is the shaft speed.
    pub curves: Vec<DutyCurves>,
    /// Charts.
    pub charts: Vec<Chart>,
}

/// Motion as a reader sees it.
pub fn motion_sheet(motion: &Motion, units: UnitSet) -> MotionSheet {
    let duties = motion.duties.as_slice();
    let seen = Seen { duties, units };
    let blocks = [seen.ring(), seen.film(), seen.following(), seen.stability(), seen.in_time()];
    let of_duties = duties.iter().flat_map(|duty| duty.notices.iter().map(|notice| (notice, Some(duty.name.as_str()))));
    let mut ids: Vec<&String> = duties.iter().flat_map(|duty| &duty.models).collect();
    ids.sort();
    ids.dedup();
    MotionSheet {
        title: format!("{}: motion of the {} ring", motion.title, duties.first().map_or("floating", |duty| duty.floating)),
        units,
        columns: duties.iter().map(|duty| duty.name.clone()).collect(),
        blocks: blocks.into_iter().filter(|block| !block.rows.is_empty()).collect(),
        refusals: refusals(duties, units),
        notices: merged_notices(motion.notices.iter().map(|notice| (notice, None)).chain(of_duties), units),
        models: ids.into_iter().map(|id| ModelLine { id: id.clone(), proof: models::proof_state(id) }).collect(),
        curves: duties.iter().filter(|duty| !duty.curve.is_empty()).map(|duty| over_speed(duty, units)).collect(),
        charts: duties.iter().flat_map(|duty| chart::of_motion(duty, units)).collect(),
    }
}

/// Refusals in words; the same one of several duties is one line.
fn refusals(duties: &[DutyMotion], units: UnitSet) -> Vec<String> {
    let mut lines: Vec<(String, Vec<&str>)> = Vec::new();
    for (duty, refusal) in duties.iter().flat_map(|duty| duty.refusals.iter().map(move |refusal| (duty, refusal))) {
        let said = in_units(&format!("{}: {}", refusal.what, refusal.reason), units);
        match lines.iter_mut().find(|(known, _)| *known == said) {
            Some((_, of)) => of.push(&duty.name),
            None => lines.push((said, vec![&duty.name])),
        }
    }
    lines.into_iter().map(|(said, of)| format!("{}: {said}", of.join(", "))).collect()
}

/// Share of a number below which another that is found with it is rounding.
const ROUNDING: f64 = 1e-9;

struct Seen<'a> {
    duties: &'a [DutyMotion],
    units: UnitSet,
}

impl Seen<'_> {
    /// Rows of numbers; those that no duty has are left out.
    fn block(&self, title: &str, rows: Vec<Row>) -> Block {
        let rows = rows.into_iter().filter(|row| row.cells.iter().any(|cell| cell.text != MISSING)).collect();
        Block { title: title.to_owned(), rows }
    }

    fn row(&self, key: &str, label: &str, kind: Kind, digits: i32, of: impl Fn(&DutyMotion) -> Option<f64>) -> Row {
        row(key, label, kind, digits, self.units, self.duties, of)
    }

    fn ring(&self) -> Block {
        let body = |of: fn(&crate::motion::Body) -> f64| move |duty: &DutyMotion| duty.body.as_ref().map(of);
        let support = |of: fn(&Support) -> f64| move |duty: &DutyMotion| duty.support.as_ref().map(of);
        self.block(
            "Ring, springs and secondary seal",
            vec![
                self.row("body.mass_kg", "mass", Kind::Mass, 3, body(|body| body.mass_kg)),
                self.row("body.tilt_inertia_kg_m2", "inertia about a diameter", Kind::Inertia, 3, body(|body| body.tilt_inertia_kg_m2)),
                self.row("body.spin_inertia_kg_m2", "inertia about the shaft", Kind::Inertia, 3, body(|body| body.spin_inertia_kg_m2)),
                self.row("support.axial_stiffness_n_per_m", "axial stiffness", Kind::SpringRate, 2, support(|s| s.axial_stiffness_n_per_m)),
                self.row("support.secondary_share", "  share of the secondary seal", Kind::Share, 2, support(|s| s.secondary_share)),
                self.row("support.axial_damping_n_s_per_m", "axial damping", Kind::Damping, 2, support(|s| s.axial_damping_n_s_per_m)),
                self.row(
                    "support.tilt_stiffness_n_m_per_rad",
                    "tilt stiffness",
                    Kind::TiltStiffness,
                    2,
                    support(|s| s.tilt_stiffness_n_m_per_rad),
                ),
                self.row(
                    "support.tilt_damping_n_m_s_per_rad",
                    "tilt damping",
                    Kind::TiltDamping,
                    2,
                    support(|s| s.tilt_damping_n_m_s_per_rad),
                ),
            ],
        )
    }

    fn film(&self) -> Block {
        let film = |of: fn(&crate::motion::FilmAnswer) -> f64| move |duty: &DutyMotion| duty.film.as_ref().map(of);
        self.block(
            "Between the faces, small motions",
            vec![
                self.row(
                    "film.axial_stiffness_n_per_m",
                    "film: axial stiffness, + pushes back",
                    Kind::Stiffness,
                    3,
                    film(|f| f.axial_stiffness_n_per_m),
                ),
                self.row("film.axial_damping_n_s_per_m", "  axial damping", Kind::Damping, 3, film(|f| f.axial_damping_n_s_per_m)),
                self.row(
                    "film.tilt_stiffness_n_m_per_rad",
                    "  tilt stiffness, + pushes back",
                    Kind::TiltStiffness,
                    3,
                    film(|f| f.tilt_stiffness_n_m_per_rad),
                ),
                self.row("film.tilt_damping_n_m_s_per_rad", "  tilt damping", Kind::TiltDamping, 3, film(|f| f.tilt_damping_n_m_s_per_rad)),
                self.row(
                    "film.cross_stiffness_n_m_per_rad",
                    "  cross stiffness, + drives whirl",
                    Kind::TiltStiffness,
                    3,
                    film(|f| beside(f.cross_stiffness_n_m_per_rad, f.tilt_stiffness_n_m_per_rad)),
                ),
                self.row(
                    "film.axial_frequency_rad_per_s",
                    "  at the frequency, axial",
                    Kind::Frequency,
                    4,
                    film(|f| f.axial_frequency_rad_per_s),
                ),
                self.row(
                    "film.tilt_frequency_rad_per_s",
                    "  at the frequency, tilt, seen from the features",
                    Kind::Frequency,
                    4,
                    film(|f| f.tilt_frequency_rad_per_s),
                ),
                self.row("contact.axial_stiffness_n_per_m", "contact besides: axial stiffness", Kind::Stiffness, 3, |duty| {
                    duty.contact.map(|contact| contact.axial_stiffness_n_per_m)
                }),
                self.row("contact.tilt_stiffness_n_m_per_rad", "  tilt stiffness", Kind::TiltStiffness, 3, |duty| {
                    duty.contact.map(|contact| contact.tilt_stiffness_n_m_per_rad)
                }),
            ],
        )
    }

    fn following(&self) -> Block {
        let of = |of: fn(&Following) -> f64| move |duty: &DutyMotion| duty.following.as_ref().map(of);
        let with = |of: fn(&WithRunout) -> Option<f64>| {
            move |duty: &DutyMotion| duty.following.as_ref().and_then(|following| following.with_runout.as_ref()).and_then(of)
        };
        // What rounding leaves of nothing is nothing.
        let leakage = |duty: &DutyMotion| duty.leakage.map(|leakage| if leakage.added.abs() < 1e-6 { 0.0 } else { leakage.added });
        // A face crooked beyond any run-out says that the film does not limit it.
        let by_film = |duty: &DutyMotion| duty.allowed.map(|allowed| allowed.by_film_m).filter(|run_out| *run_out <= MOST_RUNOUT_M);
        self.block(
            "Following the run-out of the mating face",
            vec![
                self.row("following.ratio", "tilt followed, over that of the mating face", Kind::Number, 5, of(|f| f.ratio)),
                self.row("following.relative_ratio", "tilt not followed", Kind::Share, 2, of(|f| f.relative_ratio)),
                self.row("following.lag_rad", "lag", Kind::Angle, 2, of(|f| f.lag_rad)),
                self.row("following.axial_ratio", "axial travel followed at shaft speed", Kind::Number, 5, of(|f| f.axial_ratio)),
                self.row(
                    "following.axial_natural_rad_per_s",
                    "axial natural frequency",
                    Kind::Frequency,
                    2,
                    of(|f| f.axial_natural_rad_per_s),
                ),
                self.row("following.axial_damping_ratio", "  damping over critical", Kind::Number, 2, of(|f| f.axial_damping_ratio)),
                self.row("following.with_runout.runout_m", "run-out of the case", Kind::SmallLength, 3, with(|w| Some(w.runout_m))),
                self.row(
                    "following.with_runout.mating_tilt_rad",
                    "  tilt of the mating face",
                    Kind::SmallAngle,
                    3,
                    with(|w| Some(w.mating_tilt_rad)),
                ),
                self.row(
                    "following.with_runout.relative_tilt_rad",
                    "  tilt between the faces",
                    Kind::SmallAngle,
                    2,
                    with(|w| Some(w.relative_tilt_rad)),
                ),
                self.row(
                    "following.with_runout.gap_swing_m",
                    "  gap at the outer edge, up and down by",
                    Kind::SmallLength,
                    2,
                    with(|w| Some(w.gap_swing_m)),
                ),
                self.row(
                    "following.with_runout.least_film_still_m",
                    "least film without run-out",
                    Kind::SmallLength,
                    3,
                    with(|w| Some(w.least_film_still_m)),
                ),
                self.row(
                    "following.with_runout.least_film_m",
                    "least film round the circumference",
                    Kind::SmallLength,
                    3,
                    with(|w| Some(w.least_film_m)),
                ),
                self.row(
                    "following.with_runout.secondary_seal_use",
                    "secondary seal: force over friction",
                    Kind::Share,
                    2,
                    with(|w| w.secondary_seal_use),
                ),
                self.row("leakage.added", "leakage added by the tilt, gap held", Kind::Share, 2, leakage),
                self.row("allowed.runout_m", "run-out allowed", Kind::Length, 2, |duty| duty.allowed.map(|allowed| allowed.runout_m)),
                self.row("allowed.by_film_m", "  by the film", Kind::Length, 2, by_film),
                self.row("allowed.least_film_m", "    for a least film of", Kind::SmallLength, 3, |duty| {
                    duty.allowed.map(|allowed| allowed.least_film_m)
                }),
                self.row("allowed.slides_from_m", "  by the secondary seal, which slides from there", Kind::Length, 2, |duty| {
                    duty.allowed.and_then(|allowed| allowed.slides_from_m)
                }),
            ],
        )
    }

    fn stability(&self) -> Block {
        let of = |of: fn(&crate::motion::Stability) -> Option<f64>| move |duty: &DutyMotion| duty.stability.as_ref().and_then(of);
        self.block(
            "Stability of following",
            vec![
                self.row(
                    "stability.growth_per_s",
                    "growth of the least damped motion, - dies away",
                    Kind::Growth,
                    2,
                    of(|s| Some(s.growth_per_s)),
                ),
                self.row("stability.whirl_rad_per_s", "  its whirl", Kind::Frequency, 3, of(|s| Some(s.whirl_rad_per_s))),
                self.row(
                    "stability.threshold_rad_per_s",
                    "threshold speed, film held",
                    Kind::ShaftSpeed,
                    3,
                    of(|s| s.threshold_rad_per_s.map(f64::abs)),
                ),
                self.row("stability.threshold_whirl_rad_per_s", "  whirl there", Kind::Frequency, 3, of(|s| s.threshold_whirl_rad_per_s)),
                self.row(
                    "stability.searched_to_rad_per_s",
                    "none up to",
                    Kind::ShaftSpeed,
                    3,
                    of(|s| s.threshold_rad_per_s.is_none().then_some(s.searched_to_rad_per_s.abs())),
                ),
            ],
        )
    }

    fn in_time(&self) -> Block {
        let of = |of: fn(&InTime) -> f64| move |duty: &DutyMotion| duty.in_time.as_ref().map(of);
        let steps = self.duties.iter().filter_map(|duty| duty.in_time.as_ref()).map(|in_time| in_time.steps_per_turn).max();
        let digits = steps.and_then(|most| most.checked_ilog10()).map_or(1, |last| last as i32 + 1);
        self.block(
            "In time, with the whole film",
            vec![
                self.row("in_time.turns", "turns followed", Kind::Number, 1, of(|t| t.turns)),
                self.row("in_time.steps_per_turn", "steps a turn", Kind::Number, digits, of(|t| t.steps_per_turn as f64)),
                self.row("in_time.relative_ratio", "tilt not followed, last turn", Kind::Share, 3, of(|t| t.relative_ratio)),
                self.row(
                    "in_time.linear_relative_ratio",
                    "  by the linear equations on the same grid",
                    Kind::Share,
                    3,
                    of(|t| t.linear_relative_ratio),
                ),
                self.row("in_time.settled_within", "  its change over that turn", Kind::Share, 2, of(|t| t.settled_within)),
                self.row("in_time.least_film_m", "least film, last turn", Kind::SmallLength, 3, of(|t| t.least_film_m)),
                self.row("in_time.least_film_ever_m", "least film of the whole run", Kind::SmallLength, 3, of(|t| t.least_film_ever_m)),
                self.row("in_time.leakage_ratio", "leakage over that without run-out", Kind::Number, 4, of(|t| t.leakage_ratio)),
            ],
        )
    }
}

/// A value that is not rounding beside another of its kind, else nothing.
fn beside(value: f64, other: f64) -> f64 {
    if value.abs() < ROUNDING * other.abs() { 0.0 } else { value }
}

fn over_speed(duty: &DutyMotion, units: UnitSet) -> DutyCurves {
    let speeds: Vec<f64> = duty.curve.iter().map(|point| point.speed_rad_per_s.abs()).collect();
    let of = |key: &str, label: &str, kind: Kind, of: fn(&crate::motion::CurvePoint) -> Option<f64>| {
        let values: Vec<f64> = duty.curve.iter().map(|point| of(point).unwrap_or(f64::NAN)).collect();
        curve(key, label, kind, &values, units)
    };
    DutyCurves {
        duty: duty.name.clone(),
        radius: curve("speed_rad_per_s", "speed", Kind::ShaftSpeed, &speeds, units),
        curves: vec![
            of("ratio", "followed", Kind::Number, |point| point.ratio),
            of("lag_rad", "lag", Kind::Angle, |point| point.lag_rad),
            of("relative_ratio", "not followed", Kind::Share, |point| point.relative_ratio),
            of("least_film_still_m", "least film, no run-out", Kind::SmallLength, |point| point.least_film_still_m),
            of("least_film_m", "with run-out", Kind::SmallLength, |point| point.least_film_m),
        ],
    }
}
