//! What one case is asked: numbers, balances and reasons of every duty.

use std::cell::RefCell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Instant;

use halfmicron::case::parse;
use halfmicron::film::{FilmAlone, FilmError, Fineness, film_alone_on};
use halfmicron::model::{Duty, Model};
use halfmicron::outcome::{DutyOutcome, Equilibrium, Status, absent_numbers};
use halfmicron::point::{Options, Prepared};

/// Relative residual up to which a balance counts as closed.
pub const CLOSED: f64 = 1e-8;
/// Difference, relative, between the pressure of a film at its exit and that behind it up to which they are one.
const ARRIVED: f64 = 1e-6;
/// What a balance of heat may leave open with its reason stated.
const ROUNDING: f64 = 1e-6;
/// Every so many-th case is solved with the ranges of its numbers, the margins to the jump and the default wave.
const IN_FULL: u64 = 50;

/// What became of a case or of one of its duties.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Solved,
    NonePart,
    NoneTouch,
    NoneStable,
    NotModelled,
    OutOfRange,
    NotConverged,
    Refused,
    Panic,
}

impl Kind {
    pub const ALL: [Self; 9] = [
        Self::Solved,
        Self::NonePart,
        Self::NoneTouch,
        Self::NoneStable,
        Self::NotModelled,
        Self::OutOfRange,
        Self::NotConverged,
        Self::Refused,
        Self::Panic,
    ];

    pub fn words(self) -> &'static str {
        match self {
            Self::Solved => "solved",
            Self::NonePart => "none: faces part",
            Self::NoneTouch => "none: faces touch",
            Self::NoneStable => "none: no stable one",
            Self::NotModelled => "not modelled",
            Self::OutOfRange => "out of range",
            Self::NotConverged => "not converged",
            Self::Refused => "refused as a case",
            Self::Panic => "panic",
        }
    }

    fn of(status: Status) -> Self {
        match status {
            Status::Solved => Self::Solved,
            Status::NoneFacesPart => Self::NonePart,
            Status::NoneFacesTouch => Self::NoneTouch,
            Status::NoneStable => Self::NoneStable,
            Status::NotConverged => Self::NotConverged,
            Status::NotModelled => Self::NotModelled,
            Status::OutOfRange => Self::OutOfRange,
        }
    }
}

/// One duty, or a case that never came to its duties.
#[derive(Debug, Clone)]
pub struct Finding {
    pub case: u64,
    pub duty: String,
    pub kind: Kind,
    pub reason: String,
    /// Demands that it breaks, in words.
    pub broken: Vec<String>,
    /// Mass, force, heat.
    pub balances: Option<[f64; 3]>,
    /// Wall time of the duty, s.
    pub seconds: f64,
    /// Work of the search: film solves.
    pub film_solves: u64,
    pub equilibria: usize,
}

thread_local! {
    static PANIC: RefCell<String> = const { RefCell::new(String::new()) };
}

/// Keep what a panic says for the report instead of printing it.
pub fn collect_panics() {
    std::panic::set_hook(Box::new(|info| {
        let place = info.location().map_or_else(String::new, |at| format!(" at {}:{}", at.file(), at.line()));
        let payload = info.payload();
        let fixed = payload.downcast_ref::<&str>().copied();
        let message = payload.downcast_ref::<String>().map(String::as_str).or(fixed).unwrap_or("no message");
        PANIC.with(|kept| *kept.borrow_mut() = format!("{message}{place}"));
    }));
}

/// Time of this thread alone where the system tells it, so that other work on the machine does not count; by the wall elsewhere.
struct Clock {
    wall: Instant,
    own: Option<f64>,
}

impl Clock {
    fn now() -> Self {
        Self { wall: Instant::now(), own: own_seconds() }
    }

    fn seconds(&self) -> f64 {
        let own = self.own.and_then(|start| Some(own_seconds()? - start));
        own.unwrap_or_else(|| self.wall.elapsed().as_secs_f64())
    }
}

fn own_seconds() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split_whitespace().next()?.parse::<f64>().ok().map(|nanoseconds| 1e-9 * nanoseconds)
}

/// A finding of a case that never came to its duties.
fn whole(case: u64, kind: Kind, reason: String) -> Finding {
    Finding { case, duty: String::new(), kind, reason, broken: Vec::new(), balances: None, seconds: 0.0, film_solves: 0, equilibria: 0 }
}

/// Every finding of a case that prescribes a gap: its films alone, on the coarse grid.
pub fn film(index: u64, text: &str) -> Vec<Finding> {
    let panicked = || whole(index, Kind::Panic, PANIC.with(|kept| kept.borrow().clone()));
    let model = match catch_unwind(|| parse(text).and_then(|case| case.model())) {
        Ok(Ok(model)) => model,
        Ok(Err(errors)) => return vec![whole(index, Kind::Refused, errors.to_string())],
        Err(_) => return vec![panicked()],
    };
    let solve = |k: usize| {
        let start = Clock::now();
        let solved = catch_unwind(AssertUnwindSafe(|| film_alone_on(&model, &model.duties[k], Fineness::Coarse)));
        let seconds = start.seconds();
        let duty = format!("film, {}", model.duties[k].name);
        let finding = match solved {
            Ok(Ok(film)) => Finding {
                broken: unfounded_film(&film),
                balances: Some([film.mass_balance, 0.0, 0.0]),
                film_solves: 2,
                ..whole(index, Kind::Solved, String::new())
            },
            Ok(Err(error)) => whole(index, kind_of(&error), error.to_string()),
            Err(_) => panicked(),
        };
        Finding { duty, seconds, ..finding }
    };
    (0..model.duties.len()).map(solve).collect()
}

fn kind_of(error: &FilmError) -> Kind {
    match error {
        FilmError::Property(_) => Kind::OutOfRange,
        error if error.is_not_modelled() => Kind::NotModelled,
        FilmError::Input(_) => Kind::Refused,
        _ => Kind::NotConverged,
    }
}

/// What a film alone claims and its own numbers do not bear out.
fn unfounded_film(film: &FilmAlone) -> Vec<String> {
    let mut broken = Vec::new();
    let numbers = [
        ("force", film.force_n),
        ("leakage", film.leakage_kg_per_s),
        ("torque", film.torque_n_m),
        ("power", film.power_w),
        ("heat", film.heat_to_faces_w),
        ("stiffness", film.stiffness_n_per_m),
        ("temperature", film.film_temperature_max_k),
    ];
    broken.extend(numbers.into_iter().filter(|(_, x)| !x.is_finite()).map(|(name, _)| format!("no number: {name}")));
    if film.mass_balance.is_nan() || film.mass_balance > CLOSED {
        broken.push(format!("balance of mass open: {:.1e}", film.mass_balance));
    }
    match &film.field {
        None => broken.push("a textured film without its field".to_owned()),
        Some(field) => {
            let floor = field.map.cavitation_pressure_pa.unwrap_or(0.0);
            if field.map.pressure_pa.iter().any(|p| !(p.is_finite() && *p >= floor * (1.0 - 1e-9))) {
                broken.push("a pressure that no film has".to_owned());
            }
            if field.map.fill.iter().any(|fill| !(0.0..=1.0).contains(fill)) {
                broken.push("a fill beyond nothing and all".to_owned());
            }
            if [field.force_error, field.leakage_error].iter().any(|x| !x.is_finite()) {
                broken.push("no number: error by the grid".to_owned());
            }
        }
    }
    broken
}

/// Every finding of one case.
pub fn case(index: u64, text: &str) -> Vec<Finding> {
    let whole = |kind, reason| vec![whole(index, kind, reason)];
    let panicked = || whole(Kind::Panic, PANIC.with(|kept| kept.borrow().clone()));
    let model = match catch_unwind(|| parse(text).and_then(|case| case.model())) {
        Ok(Ok(model)) => model,
        Ok(Err(errors)) => return whole(Kind::Refused, errors.to_string()),
        Err(_) => return panicked(),
    };
    let prepared = match catch_unwind(AssertUnwindSafe(|| Prepared::new(&model))) {
        Ok(Ok(prepared)) => prepared,
        Ok(Err(error)) => return whole(Kind::Refused, error.to_string()),
        Err(_) => return panicked(),
    };
    let solve = |k: usize| {
        let full = index.is_multiple_of(IN_FULL);
        let options = Options { ranges: full, margins: full, waves: full, ..Options::default() };
        let start = Clock::now();
        let solved = catch_unwind(AssertUnwindSafe(|| prepared.solve_with(&model.duties[k], None, options).0));
        let seconds = start.seconds();
        match solved {
            Ok(outcome) => Finding { seconds, ..duty(index, &model, &outcome) },
            Err(_) => Finding { duty: model.duties[k].name.clone(), seconds, ..panicked().remove(0) },
        }
    };
    (0..model.duties.len()).map(solve).collect()
}

/// Outcomes of one case, for a look at it.
pub fn outcomes(text: &str) -> Result<Vec<DutyOutcome>, String> {
    let model = parse(text).and_then(|case| case.model()).map_err(|errors| errors.to_string())?;
    let prepared = Prepared::new(&model).map_err(|error| error.to_string())?;
    Ok(model.duties.iter().map(|duty| prepared.solve(duty, None).0).collect())
}

fn duty(index: u64, model: &Model, outcome: &DutyOutcome) -> Finding {
    let mut broken = Vec::new();
    match absent_numbers(outcome) {
        Ok(absent) => broken.extend(absent.into_iter().map(|path| format!("no number: {path}"))),
        Err(error) => broken.push(format!("not to be written: {error}")),
    }
    let balances = outcome.chosen.and_then(|chosen| outcome.equilibria.get(chosen)).map(|point| {
        let found = point.balances;
        [found.mass, found.force, found.heat]
    });
    if let Some(residuals) = balances {
        for (what, residual) in ["mass", "force", "heat"].into_iter().zip(residuals) {
            // A reason may stand for heat that rounding leaves open, for nothing more.
            let limit = if what == "heat" && outcome.reason.contains("last digits") { ROUNDING } else { CLOSED };
            if residual.is_nan() || residual > limit {
                broken.push(format!("balance of {what} open: {residual:.1e}"));
            }
        }
    }
    broken.extend(unfounded(outcome));
    let duty = model.duties.iter().find(|duty| duty.name == outcome.name);
    broken.extend(duty.into_iter().flat_map(|duty| outcome.equilibria.iter().filter_map(|point| ends_elsewhere(duty, point))));
    let fluid = duty.and_then(|duty| duty.fluid.as_deref()).unwrap_or(&model.fluid);
    Finding {
        case: index,
        duty: outcome.name.clone(),
        kind: Kind::of(outcome.status),
        reason: outcome.reason.replace(fluid.name(), "FLUID"),
        broken,
        balances,
        seconds: 0.0,
        film_solves: outcome.work.film_solves,
        equilibria: outcome.equilibria.len(),
    }
}

/// A film that neither chokes above the pressure behind its edge nor comes to it.
fn ends_elsewhere(duty: &Duty, point: &Equilibrium) -> Option<String> {
    let (low, high) = (duty.pressure_pa.min(duty.low_pressure_pa), duty.pressure_pa.max(duty.low_pressure_pa));
    let behind = if point.leakage_kg_per_s.nominal >= 0.0 { low } else { high };
    let (exit, choked) = (point.passage.exit_pressure_pa, point.passage.choked);
    let words = if choked { ", choked" } else { "" };
    (!arrives(exit, behind, choked)).then(|| format!("the film ends at {exit:.0} Pa with {behind:.0} Pa behind it{words}"))
}

fn arrives(exit_pa: f64, behind_pa: f64, choked: bool) -> bool {
    let off = (exit_pa - behind_pa) / behind_pa;
    off >= -ARRIVED && (choked || off <= ARRIVED)
}

/// What the outcome claims and its own numbers do not bear out.
fn unfounded(outcome: &DutyOutcome) -> Option<String> {
    let wrong = |words: &str| Some(format!("{}: {words}", Kind::of(outcome.status).words()));
    if outcome.reason.is_empty() {
        return wrong("no reason");
    }
    let stated_none = matches!(outcome.status, Status::NoneFacesPart | Status::NoneFacesTouch);
    if stated_none && outcome.trace.len() < 3 {
        return wrong("no traced curve as evidence");
    }
    match outcome.status {
        Status::Solved => {
            let point = outcome.chosen.and_then(|chosen| outcome.equilibria.get(chosen));
            match point {
                None => wrong("no equilibrium chosen"),
                Some(point) if !point.stable => wrong("the chosen equilibrium is not stable"),
                Some(point) => {
                    let scale = point.closing_force_n.abs().max(point.opening_force_n.abs()).max(1.0);
                    let apart = (point.opening_force_n - point.closing_force_n).abs() / scale;
                    if apart > CLOSED { wrong("opening is not closing force") } else { None }
                }
            }
        }
        Status::NoneFacesPart if outcome.trace.iter().any(|p| p.opening_force_n <= p.closing_force_n) => {
            wrong("the traced opening force falls to closing")
        }
        Status::NoneFacesTouch if outcome.trace.iter().any(|p| p.opening_force_n >= p.closing_force_n) => {
            wrong("the traced opening force reaches closing")
        }
        Status::NoneStable if outcome.equilibria.is_empty() || outcome.equilibria.iter().any(|point| point.stable) => {
            wrong("the equilibria do not say so")
        }
        Status::NoneStable if crossings(outcome) > outcome.equilibria.len() => wrong("the traced curve crosses closing more often"),
        Status::NoneFacesPart | Status::NoneFacesTouch | Status::OutOfRange
            if !outcome.reason.bytes().any(|byte| byte.is_ascii_digit()) =>
        {
            wrong("a reason without a number")
        }
        _ => None,
    }
}

/// How often the traced opening force passes closing.
fn crossings(outcome: &DutyOutcome) -> usize {
    let above: Vec<bool> = outcome.trace.iter().map(|p| p.opening_force_n > p.closing_force_n).collect();
    above.windows(2).filter(|pair| pair[0] != pair[1]).count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use halfmicron::outcome::TracePoint;

    fn none(status: Status, forces: &[f64]) -> DutyOutcome {
        let trace = forces
            .iter()
            .map(|force| TracePoint { inner_gap_m: 1e-6, minimum_gap_m: 1e-6, opening_force_n: *force, closing_force_n: 100.0 })
            .collect();
        DutyOutcome { status, reason: "stays below 100 N".to_owned(), trace, ..DutyOutcome::empty("normal") }
    }

    #[test]
    fn a_film_ends_at_the_pressure_behind_it_or_chokes_above_it() {
        assert!(arrives(101_325.0, 101_325.0, false) && arrives(517_964.0, 101_325.0, true));
        assert!(!arrives(517_964.0, 101_325.0, false) && !arrives(90_000.0, 101_325.0, true) && !arrives(f64::NAN, 101_325.0, false));
    }

    #[test]
    fn a_none_must_be_borne_out_by_its_trace() {
        assert_eq!(unfounded(&none(Status::NoneFacesTouch, &[50.0, 80.0, 99.0])), None);
        assert!(unfounded(&none(Status::NoneFacesTouch, &[50.0, 101.0, 99.0])).is_some());
        assert_eq!(unfounded(&none(Status::NoneFacesPart, &[150.0, 180.0, 101.0])), None);
        assert!(unfounded(&none(Status::NoneFacesPart, &[150.0, 99.0, 101.0])).is_some());
        assert!(unfounded(&none(Status::NoneFacesPart, &[])).is_some());
        assert!(unfounded(&none(Status::Solved, &[])).is_some());
        assert_eq!(crossings(&none(Status::NoneStable, &[90.0, 110.0, 120.0])), 1);
        assert_eq!(crossings(&none(Status::NoneStable, &[110.0, 90.0, 120.0])), 2);
    }
}
