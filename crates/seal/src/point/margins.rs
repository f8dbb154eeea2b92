//! Margins of an equilibrium to the jump.
//!
//! **What.** How far closing force, chamber temperature and sealed pressure may move before a stable equilibrium meets an unstable one and
//! both vanish, what the faces do then, and the chamber temperature at which its film starts to boil.
//! **Equation.** Along the curve of opening force `W` over arc length `s`, `dW/ds = 0` at a fold: the margin in force is the distance of the
//! closing force from `W` there. Along temperature or pressure the equilibrium is followed to where `dW/ds` vanishes on it; near that place
//! its square is linear in what is varied, which gives the step and the place. Boiling starts where the boiling margin is zero.
//! **Valid when.** As the coupled point; one condition moves, slowly, the rest of the duty stays, and the rings keep the material values
//! taken at the duty.
//! **Source.** Folds and their continuation: Keller, Numerical solution of bifurcation and nonlinear eigenvalue problems, in Applications of
//! Bifurcation Theory, Academic Press 1977, 359-384 (from memory); the test function and its extrapolation are derived here.
//! **Checked by.** unproven; tests solve again on both sides of every margin.

use halfmicron_properties::{Phase, Saturation};

use super::branch::{BranchEnd, Root, Trace, least};
use super::folds::{Fold, Rise, folds, next_film_m, rise_of};
use super::report::enters_as_liquid;
use super::setting::Solved;
use super::vary::{Branch, End, Place, Varied, Walk, between};
use crate::notice::Notice;
use crate::outcome::{DutyOutcome, Jump, JumpMargin, Margins, Work};
use crate::rules::text::{force, length, pressure, temperature, temperature_difference};
use crate::together::together;

/// Boiling margin of the film above which temperature and pressure are not followed, K: practice keeps 15 to 20 K.
const NEAR_BOILING_K: f64 = 30.0;
/// Share of the closing force within which a fold makes temperature and pressure worth following.
const NEAR_FOLD_SHARE: f64 = 0.3;
/// Furthest that a chamber temperature is followed, K.
const FURTHEST_K: f64 = 100.0;
/// Error accepted of a temperature margin, K.
const TEMPERATURE_TOLERANCE_K: f64 = 0.1;
/// Error accepted of a pressure margin, as a share of the sealed pressure.
const PRESSURE_TOLERANCE: f64 = 0.005;
/// Distance kept from a bound at which the fluid in the chamber changes its phase, relative to the way there.
const SHORT_OF_BOUND: f64 = 1e-3;
/// Boiling margin at which the onset counts as found, K, and temperature within which it must lie.
const ONSET_TOLERANCE_K: f64 = 0.02;
const ONSET_VISITS: usize = 24;
/// Margins below which a notice is due: kelvin, and share of the closing force.
const NOTICE_BELOW_K: f64 = 5.0;
const NOTICE_BELOW_SHARE: f64 = 0.1;

/// Margins of a stable equilibrium on its traced curve.
pub(super) fn margins(solved: &Solved, root: &Root, trace: &Trace, work: &mut Work) -> Margins {
    let coupled = solved.coupled_for_search();
    let closing = solved.setting.closing_force_n;
    let turns = folds(&coupled, trace, work);
    let rise = rise_of(&coupled, trace, &turns, root, closing);
    let mut margins = Margins::default();
    if let Some(rise) = &rise {
        margins.closing_force_fall_n = Some(force_fall(solved, trace, rise, root));
        margins.closing_force_rise_n = Some(force_rise(solved, trace, rise, root));
    }
    let here = Place::new(solved, root, 0.0);
    let near_fold =
        |fold: &Option<Fold>| fold.as_ref().is_some_and(|fold| (fold.opening_force_n - closing).abs() < NEAR_FOLD_SHARE * closing.abs());
    let folded = rise.is_some_and(|rise| near_fold(&rise.open) || near_fold(&rise.closed));
    let near = enters_as_liquid(solved) && (here.boils() || here.boiling_margin_k.is_some_and(|margin| margin < NEAR_BOILING_K));
    if near || folded {
        let by_pressure = || {
            let mut work = Work::default();
            (follow_pressure(solved, &here, &mut work), work)
        };
        let ((by_pressure, apart), ()) = together(by_pressure, || follow_temperature(solved, &here, &mut margins, work));
        margins.pressure_fall_pa = by_pressure;
        work.add(&apart);
    }
    margins
}

fn force_fall(solved: &Solved, trace: &Trace, rise: &Rise, root: &Root) -> JumpMargin {
    let closing = solved.setting.closing_force_n;
    match &rise.open {
        Some(fold) => force_jump(trace, fold, root, closing - fold.opening_force_n),
        None => {
            let widest = trace.points.first();
            let (gap, least_n) = widest.map_or((0.0, closing), |point| (least(&point.state.gap_m), point.opening_force_n));
            JumpMargin {
                to_jump: None,
                followed: closing - least_n,
                then: None,
                then_film_m: None,
                words: format!(
                    "no jump as closing force is lost: the film opens steadily up to {}{}",
                    length(gap),
                    if trace.narrowed.is_some() { "; a wider one could not be computed" } else { "" }
                ),
            }
        }
    }
}

fn force_rise(solved: &Solved, trace: &Trace, rise: &Rise, root: &Root) -> JumpMargin {
    let closing = solved.setting.closing_force_n;
    match &rise.closed {
        Some(fold) => force_jump(trace, fold, root, fold.opening_force_n - closing),
        None => JumpMargin {
            to_jump: None,
            followed: trace.points.last().map_or(0.0, |point| point.opening_force_n - closing),
            then: None,
            then_film_m: None,
            words: match trace.end {
                BranchEnd::Touching => "no jump as closing force is added: the faces close steadily until asperities carry it".to_owned(),
                _ => "no jump seen as closing force is added, as far as the curve could be followed".to_owned(),
            },
        },
    }
}

fn force_jump(trace: &Trace, fold: &Fold, root: &Root, margin_n: f64) -> JumpMargin {
    let next = next_film_m(trace, fold, fold.opening_force_n, !fold.greatest);
    let (then, sense) = match (fold.greatest, next.is_some()) {
        (false, true) => (Jump::Opens, "less"),
        (false, false) => (Jump::Parts, "less"),
        (true, true) => (Jump::Closes, "more"),
        (true, false) => (Jump::Touches, "more"),
    };
    let words = format!("with {} {sense} closing force {}", force(margin_n), jump_in_words(then, least(&root.state.gap_m), next));
    JumpMargin { to_jump: Some(margin_n), followed: margin_n, then: Some(then), then_film_m: next, words }
}

/// What faces do, in words that follow a condition.
fn jump_in_words(then: Jump, from_m: f64, to_m: Option<f64>) -> String {
    let to = to_m.map_or_else(String::new, length);
    match then {
        Jump::Opens => format!("the film pops open, from least film {} here to {to}", length(from_m)),
        Jump::Parts => "the faces part: no film holds them".to_owned(),
        Jump::Closes => format!("the faces close, from least film {} here to {to}", length(from_m)),
        Jump::Touches => "the faces touch beyond the model".to_owned(),
    }
}

/// A bound of a walk: the change, and why there.
struct Bound {
    change: f64,
    reason: String,
}

const NO_LONGER_BOILS: &str = "where the film no longer boils";

fn follow_temperature(solved: &Solved, here: &Place, margins: &mut Margins, work: &mut Work) {
    let tolerance = TEMPERATURE_TOLERANCE_K;
    let warmer = warmest(solved);
    let rise = (warmer.change > tolerance).then(|| {
        let walk = Walk { origin: solved, varied: Varied::Temperature, bound: warmer.change, tolerance };
        let branch = walk.follow(here.clone(), |_| false, work);
        (margin(&branch, &warmer, here, temperature_difference, ["warmer chamber", "warmer"]), walk, branch)
    });
    let mut fall = (here.boils() && enters_as_liquid(solved)).then(|| {
        let cooler = coolest(solved);
        let walk = Walk { origin: solved, varied: Varied::Temperature, bound: cooler.change, tolerance };
        let branch = walk.follow(here.clone(), |place| !place.boils(), work);
        let dry = branch.places.last().is_some_and(|place| !place.boils());
        let bound = if dry { Bound { change: end_of(&branch), reason: NO_LONGER_BOILS.to_owned() } } else { cooler };
        (margin(&branch, &bound, here, temperature_difference, ["cooler chamber", "cooler"]), walk, branch)
    });
    if !enters_as_liquid(solved) {
        // What is gas before it enters the film has no boiling to look for.
        margins.boiling_onset_reason = "the chamber holds gas".to_owned();
    } else {
        onset(solved, fall.as_ref().or(rise.as_ref()).map(|(_, walk, branch)| (walk, branch)), margins, work);
    }
    if let (Some((margin, _, branch)), Some(onset_k)) = (&mut fall, margins.boiling_onset_k)
        && matches!(branch.end, End::Bound)
        && branch.places.last().is_some_and(|place| !place.boils())
    {
        // The walk steps past the place where the film ceases to boil; beyond it nothing was looked for.
        margin.followed = (solved.setting.chamber_temperature_k - onset_k).abs();
        margin.words = no_jump(temperature_difference(margin.followed), "cooler", NO_LONGER_BOILS);
    }
    margins.temperature_rise_k = rise.map(|(margin, ..)| margin);
    margins.temperature_fall_k = fall.map(|(margin, ..)| margin);
}

fn follow_pressure(solved: &Solved, here: &Place, work: &mut Work) -> Option<JumpMargin> {
    let bound = lowest_pressure(solved)?;
    let tolerance = PRESSURE_TOLERANCE * solved.duty.pressure_pa;
    let walk = Walk { origin: solved, varied: Varied::Pressure, bound: bound.change, tolerance };
    let branch = walk.follow(here.clone(), |_| false, work);
    Some(margin(&branch, &bound, here, pressure, ["less sealed pressure", "less"]))
}

fn end_of(branch: &Branch) -> f64 {
    branch.places.last().map_or(0.0, |place| place.change)
}

fn no_jump(within: String, sense: &str, reason: &str) -> String {
    format!("no jump within {within} {sense}, {reason}")
}

/// A followed branch as a margin. `senses` are the words after an amount where it jumps and where it does not.
fn margin(branch: &Branch, bound: &Bound, here: &Place, write: fn(f64) -> String, senses: [&str; 2]) -> JumpMargin {
    let followed = end_of(branch).abs();
    let none = |words: String| JumpMargin { to_jump: None, followed, then: None, then_film_m: None, words };
    match &branch.end {
        End::Bound => none(no_jump(write(followed), senses[1], &bound.reason)),
        End::Lost(reason) => none(format!("no jump within {} {}; further it could not be followed: {reason}", write(followed), senses[1])),
        End::Jump { at, then, film_m } => JumpMargin {
            to_jump: Some(at.abs()),
            followed,
            then: Some(*then),
            then_film_m: *film_m,
            words: format!("with {} {} {}", write(at.abs()), senses[0], jump_in_words(*then, least(&here.state.gap_m), *film_m)),
        },
    }
}

/// How warm the chamber may be asked to be.
fn warmest(solved: &Solved) -> Bound {
    let chamber_k = solved.setting.chamber_temperature_k;
    let mut bound = Bound { change: FURTHEST_K, reason: "as far as it is followed".to_owned() };
    let mut limit = |at_k: f64, reason: String| {
        let change = (at_k - chamber_k) * (1.0 - SHORT_OF_BOUND);
        if change < bound.change {
            bound = Bound { change, reason };
        }
    };
    if matches!(solved.chamber.phase, Phase::Liquid | Phase::LiquidMetastable)
        && let Saturation::At(boiling_k) = solved.fluid.saturation_temperature(solved.duty.pressure_pa)
    {
        limit(boiling_k, format!("where the chamber itself boils at {}", temperature(boiling_k)));
    }
    limit(solved.fluid.range().temperature_high.value, "where the data of the fluid end".to_owned());
    for ring in [&solved.model().rotating_ring, &solved.model().stationary_ring] {
        for part in &ring.parts {
            let highest_k = part.material.service_range_k.1;
            limit(highest_k, format!("where {} ends its service at {}", part.material.name, temperature(highest_k)));
        }
    }
    bound
}

/// How cool the chamber may be asked to be; the change is negative.
fn coolest(solved: &Solved) -> Bound {
    let lowest_k = solved.fluid.range().temperature_low.value.max(solved.fluid.freezing_temperature().unwrap_or(0.0));
    let to_lowest = (lowest_k - solved.setting.chamber_temperature_k) * (1.0 - SHORT_OF_BOUND);
    if to_lowest > -FURTHEST_K {
        Bound { change: to_lowest, reason: "where the data of the fluid end".to_owned() }
    } else {
        Bound { change: -FURTHEST_K, reason: "as far as it is followed".to_owned() }
    }
}

/// How low the sealed pressure may be asked to be; the change is negative. None where it is not above the low pressure.
fn lowest_pressure(solved: &Solved) -> Option<Bound> {
    let duty = solved.duty;
    let vapour_pa = match solved.chamber.phase {
        Phase::Liquid | Phase::LiquidMetastable => solved.fluid.saturation_pressure(solved.setting.chamber_temperature_k).value(),
        _ => None,
    };
    let boils = vapour_pa.filter(|vapour| *vapour > duty.low_pressure_pa);
    let change = (boils.unwrap_or(duty.low_pressure_pa) - duty.pressure_pa) * (1.0 - SHORT_OF_BOUND);
    let reason = if boils.is_some() { "where the chamber itself boils" } else { "where no pressure is left to seal" };
    (change < -PRESSURE_TOLERANCE * duty.pressure_pa).then(|| Bound { change, reason: reason.to_owned() })
}

/// The chamber temperature at which boiling starts on a followed branch.
fn onset(solved: &Solved, followed: Option<(&Walk, &Branch)>, margins: &mut Margins, work: &mut Work) {
    let Some((walk, branch)) = followed else {
        margins.boiling_onset_reason = "the chamber stands at the end of the range that is followed".to_owned();
        return;
    };
    if branch.places[0].boiling_margin_k.is_none() && !branch.places[0].boils() {
        margins.boiling_onset_reason = "no vapour-pressure data, or above the critical pressure".to_owned();
        return;
    }
    let crossing = branch.places.windows(2).find(|pair| pair[0].boils() != pair[1].boils());
    match crossing {
        Some([a, b]) => {
            let (dry, wet) = if b.boils() { (a, b) } else { (b, a) };
            let change = onset_between(walk, dry.clone(), wet.clone(), work);
            margins.boiling_onset_k = Some(solved.setting.chamber_temperature_k + change);
        }
        _ => {
            let state = if branch.places[0].boils() { "boils" } else { "stays liquid" };
            let reached = solved.setting.chamber_temperature_k + end_of(branch);
            margins.boiling_onset_reason = format!("this film {state} all the way to a chamber at {}", temperature(reached));
        }
    }
}

/// Where the boiling margin vanishes between a place that is dry and one that boils: from the dry side along the slope of the margin, which
/// in vapour means nothing, and by halves where that steps into vapour.
fn onset_between(walk: &Walk, mut dry: Place, mut wet: Place, work: &mut Work) -> f64 {
    let mut before: Option<Place> = None;
    for _ in 0..ONSET_VISITS {
        let width = wet.change - dry.change;
        let margin = dry.boiling_margin_k.unwrap_or(0.0);
        if width.abs() < ONSET_TOLERANCE_K || margin < ONSET_TOLERANCE_K {
            break;
        }
        // A film follows its chamber about one to one.
        let slope = before.as_ref().and_then(|b| Some((margin - b.boiling_margin_k?) / (dry.change - b.change)).filter(|s| *s < 0.0));
        let aimed = margin / slope.unwrap_or(-1.0).abs();
        let step = if aimed < 0.9 * width.abs() { aimed * width.signum() } else { 0.5 * width };
        let share = step / width;
        let Some(place) = walk.near(dry.change + step, &between(&wet.state, &dry.state, -share), work) else { break };
        if place.boils() {
            wet = place;
        } else {
            before = Some(std::mem::replace(&mut dry, place));
        }
    }
    let margin = dry.boiling_margin_k.unwrap_or(0.0);
    dry.change + (wet.change - dry.change).signum() * margin.min(0.5 * (wet.change - dry.change).abs())
}

/// What must be said of margins that are small.
pub(super) fn notices(outcome: &DutyOutcome) -> Vec<Notice> {
    let (Some(margins), Some(chosen)) = (&outcome.margins, outcome.chosen.and_then(|index| outcome.equilibria.get(index))) else {
        return Vec::new();
    };
    let below = |margin: &Option<JumpMargin>, limit: f64| {
        margin.as_ref().filter(|margin| margin.to_jump.is_some_and(|amount| amount < limit)).map(|margin| margin.words.clone())
    };
    let share_n = NOTICE_BELOW_SHARE * chosen.closing_force_n.abs();
    let near: Vec<String> = [
        below(&margins.closing_force_fall_n, share_n),
        below(&margins.closing_force_rise_n, share_n),
        below(&margins.temperature_rise_k, NOTICE_BELOW_K),
        below(&margins.temperature_fall_k, NOTICE_BELOW_K),
    ]
    .into_iter()
    .flatten()
    .collect();
    if near.is_empty() {
        return Vec::new();
    }
    vec![Notice::caution(
        "margin.jump",
        "margins",
        format!("this film stands near a jump: {}", near.join("; ")),
        "Cool the chamber, raise its pressure or the closing force; start and upset may take the seal over the edge.",
    )]
}
