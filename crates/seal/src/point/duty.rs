//! One duty from its conditions to its outcome.

use halfmicron_properties::{Fluid, FluidKind, FluidState, Phase};

use super::branch::{
    Accuracy, BranchEnd, Root, SearchError, TOUCHING_ROUGHNESSES, Trace, crossings_within, differs, equilibrium, least, trace,
};
use super::chamber::{Mixing, Step};
use super::coupled::{Coupled, State};
use super::none::{closed_film_lost, lost, no_equilibrium, status_of, trace_points, words};
use super::ranges::Ranges;
use super::setting::{Refusal, Solved};
use super::standing;
use super::starts::trace_below;
use super::{Options, Prepared, margins, ranges, report, wave};
use crate::film::FilmError;
use crate::film::resistance::{LAMINAR_REYNOLDS, TURBULENT_REYNOLDS};
use crate::hand;
use crate::model::{ChamberTemperature, Duty, Flashing, Slip};
use crate::notice::{Notice, Severity};
use crate::outcome::{Balances, Conditions, DutyOutcome, Equilibrium, PhaseChangeKind, Ranged, Status, Work};
use crate::rules::text;
use crate::together::together;

/// What a balance may leave open, relative, and still be called closed.
const CLOSED: f64 = 1e-8;

/// Rounds in which the chamber temperature may settle between heat and flush.
const CHAMBER_ITERATIONS: usize = 30;
/// Rounds in which interference fits may open or close with the face load; the fields show it when they have not settled.
const FIT_ITERATIONS: usize = 4;

/// Solve a duty. Where the start leads to no equilibrium, the whole curve is searched if `fall_back` says so.
pub(super) fn solve(
    prepared: &Prepared,
    duty: &Duty,
    start: Option<&State>,
    options: Options,
    fall_back: bool,
) -> (DutyOutcome, Option<State>) {
    let mut outcome = DutyOutcome::empty(&duty.name);
    let fluid = duty.fluid.as_deref().unwrap_or(&prepared.model.fluid);
    match attempt(prepared, duty, fluid, start, (options, fall_back), &mut outcome) {
        Ok(state) => (outcome, state),
        Err(refusal) => {
            outcome.status = refusal.status;
            outcome.reason = refusal.reason;
            (outcome, None)
        }
    }
}

fn attempt(
    prepared: &Prepared,
    duty: &Duty,
    fluid: &Fluid,
    start: Option<&State>,
    (options, fall_back): (Options, bool),
    outcome: &mut DutyOutcome,
) -> Result<Option<State>, Refusal> {
    let model = &*prepared.model;
    let mut temperature_k = duty.temperature.stated_k();
    let (rings, made) = prepared.store.at(model, temperature_k)?;
    // One for heat and one for elasticity.
    outcome.work.ring_factorisations += 2 * made as u64;
    let mut solved = Solved::at(prepared, &rings, duty, fluid, temperature_k)?;
    describe(outcome, &solved);
    let mut warm = start.cloned();
    let mut whole = None;
    if let ChamberTemperature::FromFlush(_) = duty.temperature {
        let mut mixing = Mixing::new(&solved);
        let mut settled = false;
        for _ in 0..CHAMBER_ITERATIONS {
            let found = find(&solved, warm.as_ref(), warm.is_none(), fall_back, &mut outcome.work);
            let Some(root) = stable_index(&found.roots).map(|index| &found.roots[index]) else {
                let Some(back) = mixing.step_back(temperature_k)? else {
                    // No equilibrium at the temperature of the flush itself: reported as it stands.
                    settled = true;
                    whole = warm.is_none().then_some(found);
                    break;
                };
                temperature_k = back;
                solved = Solved::at(prepared, &rings, duty, fluid, temperature_k)?;
                continue;
            };
            let Step::Try(next) = mixing.step(fluid, temperature_k, report::total_heat_w(&solved, root))? else {
                settled = true;
                whole = warm.is_none().then_some(found);
                break;
            };
            warm = Some(root.state.clone());
            temperature_k = next;
            solved = Solved::at(prepared, &rings, duty, fluid, temperature_k)?;
        }
        if !settled {
            return Err(Refusal {
                status: Status::NotConverged,
                reason: format!(
                    "the chamber temperature does not settle between seal heat and flush (last {:.1} degC): state more flush, or the \
                     temperature at the faces as duty.temperature",
                    temperature_k - 273.15
                ),
            });
        }
        describe(outcome, &solved);
    }
    // What the whole curve gave at this very temperature need not be looked for again.
    let mut found = whole.unwrap_or_else(|| find(&solved, warm.as_ref(), options.search, fall_back, &mut outcome.work));
    for _ in 0..FIT_ITERATIONS {
        let Some(root) = stable_index(&found.roots).map(|index| &found.roots[index]) else { break };
        if !solved.settle_fits(&root.evaluation)? {
            break;
        }
        warm = Some(root.state.clone());
        found = find(&solved, warm.as_ref(), options.search, fall_back, &mut outcome.work);
    }
    if let (true, false, Some(failure)) = (found.roots.is_empty(), fall_back, found.failures.first()) {
        return Err(Refusal { status: Status::NotConverged, reason: format!("no equilibrium near the start: {}", words(failure)) });
    }
    outcome.trace = found.trace.as_ref().map(|t| trace_points(t, &solved.setting)).unwrap_or_default();
    collect_notices(outcome, &solved, &found);
    conclude(outcome, &solved, found, options)
}

/// The stable equilibrium nearest to closed faces: a seal starts closed and meets it first.
fn stable_index(roots: &[Root]) -> Option<usize> {
    roots.iter().position(Root::is_stable)
}

/// What a search found; equilibria in the order in which closed faces would meet them as they part.
pub(super) struct Found {
    pub roots: Vec<Root>,
    pub trace: Option<Trace>,
    pub failures: Vec<SearchError>,
    /// Whether a traced curve passes the closing force more often than equilibria were found on it.
    pub missed: bool,
    /// Why a film nearer to closed faces, which must be there, was not found.
    pub hidden: Option<(Status, String)>,
}

/// Every equilibrium, or with `search` off the one near `start`; where that is lost the whole curve is searched if `fall_back` says so.
pub(super) fn find(solved: &Solved, start: Option<&State>, search: bool, fall_back: bool, work: &mut Work) -> Found {
    let coupled = solved.coupled();
    let closing = solved.setting.closing_force_n;
    let mut failures = Vec::new();
    if !search && let Some(start) = start.filter(|start| start.gap_m.len() == coupled.pair.nodes.len()) {
        match equilibrium(&coupled, start.clone(), closing, work) {
            Ok(root) => return Found { roots: vec![root], trace: None, failures, missed: false, hidden: None },
            Err(error) => failures.push(error),
        }
        if !fall_back {
            return Found { roots: Vec::new(), trace: None, failures, missed: false, hidden: None };
        }
    }
    let enough = 1.02 * greatest_contact_n(solved);
    let answer = coupled;
    let settles = answer.field.is_some() && !solved.setting.searching;
    let accuracy = if settles { &Accuracy::PLACE } else { &Accuracy::ROOT };
    let coupled = solved.coupled_for_search();
    match trace(&coupled, enough, work) {
        Ok(mut trace) => {
            // A start that failed is made good by the whole curve.
            let (mut roots, mut failures) = crossings_within(&coupled, &trace, (closing, accuracy), work);
            let end_m = TOUCHING_ROUGHNESSES * coupled.contact.roughness_m;
            let mut missed = trace.crossings(closing, end_m) > roots.len();
            let mut opens_again = trace.end == BranchEnd::WideOpen;
            // The curve on which the film nearest to closed faces was found.
            let mut bearing = trace.clone();
            // A curve lost on its way says nothing of the closer films, in which seals run: they are looked for from a narrower start.
            while (roots.is_empty() || still_closing(&trace, closing))
                && let Some(closer) = trace_below(&coupled, &trace, enough, work)
            {
                let (found, failed) = crossings_within(&coupled, &closer, (closing, accuracy), work);
                missed |= closer.crossings(closing, end_m) > found.len();
                opens_again |= closer.end == BranchEnd::WideOpen;
                failures.splice(0..0, failed);
                if !found.is_empty() || roots.is_empty() {
                    bearing = closer.clone();
                }
                for root in found {
                    if roots.iter().all(|known| differs(known, &root, coupled.contact.roughness_m)) {
                        roots.push(root);
                    }
                }
                trace = closer;
            }
            let hidden = (!roots.is_empty() && still_closing(&trace, closing)).then(|| closed_film_lost(solved, &trace));
            roots.reverse();
            if opens_again {
                roots.sort_by(|a, b| least(&a.state.gap_m).total_cmp(&least(&b.state.gap_m)));
            }
            if settles {
                roots = settled(&answer, roots, closing, &mut failures, work);
            }
            Found { roots, trace: Some(bearing), failures, missed, hidden }
        }
        Err(error) => {
            failures.push(error);
            Found { roots: Vec::new(), trace: None, failures, missed: false, hidden: None }
        }
    }
}

/// Equilibria found on the grid of the search, settled on that of the answer.
fn settled(coupled: &Coupled, found: Vec<Root>, closing: f64, failures: &mut Vec<SearchError>, work: &mut Work) -> Vec<Root> {
    let mut roots = Vec::with_capacity(found.len());
    for root in found {
        match equilibrium(coupled, root.state, closing, work) {
            // Where the film would leave faster than sound its force on the curve is no more than a direction for the search.
            Ok(root) if coupled.switches.convective_inertia && root.evaluation.film.greatest_mach > 1.0 => {
                failures.push(SearchError::Film(sonic(coupled, &root)))
            }
            Ok(root) if roots.iter().all(|known| differs(known, &root, coupled.contact.roughness_m)) => roots.push(root),
            Ok(_) => {}
            Err(error) => failures.push(error),
        }
    }
    roots
}

fn sonic(coupled: &Coupled, root: &Root) -> FilmError {
    let radius = &coupled.pair.nodes.radius_m;
    let exit = if root.evaluation.film.mass_flow_kg_per_s >= 0.0 { radius.len() - 1 } else { 0 };
    FilmError::FieldSonic { radius_m: radius[exit] }
}

/// Whether the curve was lost where the faces still go on closing: the film in which they come to rest lies beyond.
fn still_closing(trace: &Trace, closing_n: f64) -> bool {
    trace.end != BranchEnd::Touching && trace.innermost().is_some_and(|point| point.opening_force_n < closing_n)
}

/// The most that asperities may have to carry, N: all closing and friction with a film at the lower pressure that spin sucks empty.
///
/// Counted from the lower pressure: against reversed pressure the film pulls the faces together by itself.
fn greatest_contact_n(solved: &Solved) -> f64 {
    let setting = &solved.setting;
    let band = &solved.model().band;
    let spin_pa = 0.15
        * solved.chamber.density_kg_per_m3
        * setting.speeds_rad_per_s[0].powi(2)
        * (band.outer_radius_m.powi(2) - band.inner_radius_m.powi(2));
    (setting.closing_force_n + setting.reported_shift_n).abs() + setting.friction_n[2] + spin_pa * band.area_m2()
}

fn describe(outcome: &mut DutyOutcome, solved: &Solved) {
    let (duty, chamber) = (solved.duty, &solved.chamber);
    outcome.conditions = Conditions {
        fluid: solved.fluid.name().to_owned(),
        speed_rad_per_s: duty.speed_rad_per_s,
        pressure_pa: duty.pressure_pa,
        low_pressure_pa: duty.low_pressure_pa,
        chamber_temperature_k: solved.setting.chamber_temperature_k,
        balance_radius_m: solved.setting.balance_radius_m,
        reverse_pressure: duty.pressure_pa < duty.low_pressure_pa,
        turning: solved.setting.turning(),
        chamber_saturation_k: solved.fluid.saturation_temperature(duty.pressure_pa).value(),
        chamber_viscosity_pa_s: chamber.viscosity_pa_s,
        chamber_density_kg_per_m3: chamber.density_kg_per_m3,
        hours_per_year: duty.hours_per_year,
    };
    outcome.models = models_used(solved);
    outcome.hand = hand::hand(solved.model(), duty, in_chamber(solved), None);
}

fn in_chamber(solved: &Solved) -> hand::Chamber {
    let FluidState { viscosity_pa_s, phase, .. } = solved.chamber;
    hand::Chamber { viscosity_pa_s, gas: matches!(phase, Phase::Vapour | Phase::Supercritical) }
}

/// Ids of the models that this duty uses.
fn models_used(solved: &Solved) -> Vec<String> {
    let switches = &solved.model().switches;
    let film = if solved.setting.fields.is_some() { "film.field" } else { "film.axisymmetric" };
    let mut ids = vec![film, "ring.elasticity", "point.coupled"];
    let turning = solved.setting.turning();
    ids.extend(switches.flow_factor.then_some("film.roughness.flow"));
    ids.extend((switches.shear_factor && turning).then_some("film.roughness.shear"));
    ids.extend(switches.contact.then_some("contact.greenwood-tripp"));
    if switches.heat {
        ids.extend(["ring.heat", "ring.convection"]);
    }
    if matches!(solved.model().seal.secondary_seal.friction, crate::model::SecondaryFriction::Automatic { .. }) {
        ids.push("point.secondary-seal-friction");
    }
    ids.into_iter().map(str::to_owned).chain([fluid_model(solved.fluid).to_owned()]).collect()
}

fn fluid_model(fluid: &Fluid) -> &'static str {
    match fluid.kind() {
        FluidKind::EquationOfState => "fluid.equation-of-state",
        FluidKind::Solution => "fluid.solution",
        FluidKind::Oil => "fluid.oil",
        FluidKind::Custom => "fluid.custom",
        FluidKind::Constant | FluidKind::ConstantGas | FluidKind::ConstantBoiling => "fluid.constant",
    }
}

fn collect_notices(outcome: &mut DutyOutcome, solved: &Solved, found: &Found) {
    let duty = solved.duty;
    for notice in solved.fluid.notices_at(duty.pressure_pa, solved.setting.chamber_temperature_k) {
        outcome.notices.push(Notice::caution(notice.code, "fluid", notice.message, ""));
    }
    outcome.notices.extend(solved.surroundings.convection.notices.iter().cloned());
    outcome.notices.extend(solved.rings.iter().flat_map(|ring| ring.notices().iter().cloned()));
    if let ChamberTemperature::FromFlush(_) = duty.temperature
        && solved.model().seal.flush_m3_per_s.is_none()
    {
        outcome.notices.push(Notice::caution(
            "default.flush",
            "seal.flush",
            "no flush flow is stated: the chamber is taken at the flush temperature",
            "State seal.flush, or the temperature at the faces as duty.temperature.",
        ));
    }
    if let Some(root) = found.roots.iter().find(|root| root.is_stable() != (root.slopes.frozen_n_per_m < 0.0)) {
        outcome.notices.push(Notice::caution(
            "stability.signs",
            "film_stiffness_n_per_m",
            format!(
                "the slopes disagree in sign: per travel everything following {:.2e} N/m, temperatures held {:.2e} N/m, shape held {:.2e} N/m",
                root.slopes.by_travel_n_per_m, root.slopes.thermally_frozen_by_travel_n_per_m, root.slopes.frozen_n_per_m
            ),
            "Fast and slow stability are different questions; the label follows the slope with everything following.",
        ));
    }
    if outcome.conditions.reverse_pressure {
        outcome.notices.push(Notice::caution(
            "model.reverse-fluid",
            "duty",
            "pressure is reversed: what enters the film is the low-side medium, computed here with the properties of the sealed fluid",
            "Judge closing and contact from this duty, not leakage.",
        ));
    }
    let widest = found.trace.as_ref().and_then(|trace| Some((trace.narrowed.as_ref()?, trace.points.first()?)));
    if let Some((narrowed, first)) = widest.filter(|_| !found.roots.is_empty()) {
        outcome.notices.push(Notice::caution(
            "search.narrowed",
            "",
            format!("films wider than {} could not be searched: {}", text::length(least(&first.state.gap_m)), narrowed.words),
            "An equilibrium blown open beyond that would not be seen; the one given is the nearest to closed faces.",
        ));
    }
    let torn_at_nothing = |root: &Root| {
        let field = root.evaluation.film.field.as_deref();
        field.is_some_and(|field| field.cavitation_pressure_pa == Some(0.0) && field.cavitated_share > 0.0)
    };
    if found.roots.iter().any(torn_at_nothing) {
        outcome.notices.push(Notice::caution(
            "film.tears-at-nothing",
            "fluid",
            match solved.model().switches.flashing {
                Flashing::Frozen => "the liquid tears where its pressure falls to 0 Pa(a): with flashing frozen it has no vapour pressure",
                Flashing::Equilibrium => "the liquid tears where its pressure falls to 0 Pa(a): nothing is known of its vapour pressure",
            },
            "State switches.cavitation_pressure; gas dissolved in a liquid comes out near the pressure at which it was saturated.",
        ));
    }
    let unfinished = found.trace.as_ref().filter(|trace| trace.end != BranchEnd::Touching);
    if let Some((trace, last)) = unfinished.and_then(|trace| Some((trace, trace.innermost()?))).filter(|_| !found.roots.is_empty()) {
        outcome.notices.push(Notice::caution(
            "search.unfinished",
            "",
            format!(
                "films narrower than {} could not be searched, where the opening force is {:.0} N: {}",
                text::length(least(&last.state.gap_m)),
                last.opening_force_n,
                lost(&trace.end)
            ),
            "An equilibrium nearer to closed faces than the one given would not be seen.",
        ));
    }
    for [before, after] in found.trace.iter().flat_map(|trace| &trace.jumps) {
        outcome.notices.push(Notice::caution(
            "search.jump",
            "",
            format!(
                "from {} to {} least gap the curve of the opening force jumps: the film changes its kind there",
                text::length(*before),
                text::length(*after)
            ),
            "No equilibrium between the two would be seen.",
        ));
    }
    for failure in &found.failures {
        outcome.notices.push(Notice::of(
            Severity::Caution,
            "search.branch",
            "",
            format!("one start near the curve did not settle: {}", words(failure)),
            "The trace beside the result shows the curve there.",
        ));
    }
}

fn conclude(outcome: &mut DutyOutcome, solved: &Solved, found: Found, options: Options) -> Result<Option<State>, Refusal> {
    let Found { roots, trace, failures, missed, hidden } = found;
    if roots.is_empty() {
        let (status, reason) = no_equilibrium(solved, trace.as_ref(), &failures);
        outcome.status = status;
        outcome.reason = reason;
        return Ok(None);
    }
    let stable = stable_index(&roots).filter(|_| hidden.is_none());
    // The equilibrium that gets ranges, and the place of their notice.
    let mut ranged = (0, 0);
    for (index, root) in roots.iter().enumerate() {
        let full = Some(index) == stable.or(Some(0));
        let equilibrium = report::equilibrium(solved, root, options.fields && full, outcome);
        outcome.equilibria.push(equilibrium);
        if full {
            ranged = (index, outcome.notices.len());
        }
    }
    let state = stable.map(|index| roots[index].state.clone());
    match (stable, hidden) {
        (_, Some((status, reason))) => {
            outcome.status = status;
            outcome.reason = format!("{reason}; {}", films_in_words(outcome));
        }
        (None, None) => {
            outcome.status = Status::NoneStable;
            outcome.reason = none_stable(roots.len());
            // A crossing that was seen and not solved may be the stable one.
            if let Some(failure) = failures.first() {
                outcome.status = status_of(failure);
                outcome.reason += &format!("; another may be there, for a start near the curve did not settle: {}", words(failure));
            } else if missed {
                outcome.status = Status::NotConverged;
                outcome.reason += "; the curve of the opening force crosses closing once more, and that was not solved";
            }
        }
        (Some(index), None) => choose(outcome, solved, index, roots.len()),
    }
    let answer = stable.filter(|_| outcome.status == Status::Solved);
    let more = || {
        let mut work = Work::default();
        let margins = answer.filter(|_| options.margins).zip(trace.as_ref());
        let margins = margins.map(|(index, trace)| margins::margins(solved, &roots[index], trace, &mut work));
        let wave = answer.filter(|_| options.waves).and_then(|index| wave::with_wave(solved, &roots[index], &mut work));
        (margins, wave, work)
    };
    let ((ranges, break_away, work), (margins, wave, more_work)) = if options.ranges {
        together(|| beside(solved, &roots[ranged.0], options), more)
    } else {
        (beside(solved, &roots[ranged.0], options), more())
    };
    outcome.work.add(&work);
    outcome.work.add(&more_work);
    if let Some(notice) = ranges.as_ref().and_then(Ranges::notice) {
        outcome.notices.insert(ranged.1, notice);
    }
    let equilibrium = &mut outcome.equilibria[ranged.0];
    if let Some(ranges) = ranges {
        ranges.write(equilibrium);
    }
    if options.fields {
        equilibrium.break_away_torque_n_m = if solved.setting.turning() { break_away } else { Some(equilibrium.torque_n_m) };
    }
    match wave {
        Some(Ok(wavy)) => {
            equilibrium.with_wave = Some(wavy);
            outcome.models.extend(["point.wave", "film.field"].map(str::to_owned));
        }
        Some(Err(reason)) => outcome.notices.push(wave::not_found(&reason)),
        None => {}
    }
    if let Some(margins) = margins {
        outcome.margins = Some(margins);
        outcome.notices.extend(margins::notices(outcome));
    }
    Ok(state)
}

fn none_stable(count: usize) -> String {
    match count {
        1 => "one equilibrium, and it is not stable: its coupled slope is positive, the film opens or collapses".to_owned(),
        _ => format!("{count} equilibria, none stable: the coupled slope of every one is positive, the film opens or collapses"),
    }
}

/// What is found beside an equilibrium, as far as it is asked for: ranges, the torque that breaks it away where it turns, and their work.
fn beside(solved: &Solved, root: &Root, options: Options) -> (Option<Ranges>, Option<Ranged>, Work) {
    let mut work = Work::default();
    let ranges = options.ranges.then(|| ranges::ranges(solved, root, &mut work));
    let break_away = if options.at_rest && solved.setting.turning() { standing::break_away_n_m(solved, root, &mut work) } else { None };
    (ranges, break_away, work)
}

fn choose(outcome: &mut DutyOutcome, solved: &Solved, index: usize, count: usize) {
    let chosen = &outcome.equilibria[index];
    if let Some(margin) = chosen.boiling_margin_k.filter(|m| m.nominal < 0.0)
        && solved.fluid.gas_constant_j_per_kg_k().is_none()
    {
        outcome.status = Status::NotModelled;
        outcome.reason = format!(
            "the film boils: its hottest place stands {:.1} K above saturation at the local pressure; the liquid film found there is not an \
             answer, and of the vapour of {} nothing is known here",
            -margin.nominal,
            solved.fluid.name()
        );
        return;
    }
    outcome.hand = hand::hand(solved.model(), solved.duty, in_chamber(solved), Some(chosen.mean_film_m.nominal));
    let reynolds = chosen.reynolds.couette.max(chosen.reynolds.pressure);
    if solved.model().switches.slip != Slip::None && chosen.vapour_fraction_max > 0.0 {
        outcome.models.push("film.slip".to_owned());
    }
    if chosen.passage.phase_changes.iter().any(|change| change.kind == PhaseChangeKind::LeavesBoilingPoint) {
        outcome.models.push("film.along-saturation".to_owned());
    }
    if reynolds > LAMINAR_REYNOLDS {
        if solved.model().switches.turbulence {
            outcome.models.push("film.turbulence".to_owned());
        }
        let state = if reynolds > TURBULENT_REYNOLDS { "turbulent" } else { "between laminar and turbulent" };
        outcome.notices.push(Notice::caution(
            "film.turbulent",
            "reynolds",
            format!("the film is {state}: its Reynolds number reaches {reynolds:.0}"),
            "Flow and friction follow turbulent coefficients, known less well than the laminar ones.",
        ));
    }
    outcome.status = Status::Solved;
    outcome.chosen = Some(index);
    outcome.chosen_reason = if count == 1 {
        "the only equilibrium, and stable".to_owned()
    } else if outcome.notices.iter().any(|notice| notice.code == "search.unfinished") {
        format!(
            "{}; the stable one nearest to closed faces of those found is taken, but narrower films could not be searched",
            films_in_words(outcome)
        )
    } else {
        format!("{}; the stable one nearest to closed faces is taken: a seal starts closed and meets it first", films_in_words(outcome))
    };
    outcome.reason = balances_in_words(&outcome.equilibria[index].balances);
}

/// What is left of the balances, and why, where it is more than the rule allows.
fn balances_in_words(balances: &Balances) -> String {
    let open: Vec<String> = [("mass", balances.mass), ("force", balances.force)]
        .into_iter()
        .filter(|(_, left)| *left > CLOSED)
        .map(|(what, left)| format!("the balance of {what} closes to {left:.1e} only"))
        .collect();
    if !open.is_empty() {
        return open.join(", ");
    }
    if balances.heat <= CLOSED {
        return "every balance closed".to_owned();
    }
    format!(
        "force and mass balances closed; that of heat to {:.1e}, the arithmetic's last digits: across a film so thin the faces conduct so well \
         that the last digit of a temperature is heat",
        balances.heat
    )
}

/// Every film that carries the load, closed faces first, named by its least gap.
fn films_in_words(outcome: &DutyOutcome) -> String {
    let film = |equilibrium: &Equilibrium| {
        let word = if equilibrium.stable { "stable" } else { "unstable" };
        format!("{} ({word})", text::length(equilibrium.minimum_film_m.nominal))
    };
    let films: Vec<String> = outcome.equilibria.iter().map(film).collect();
    let count = match films.len() {
        1 => return format!("one film carries this load: {}", films[0]),
        2 => "two".to_owned(),
        3 => "three".to_owned(),
        4 => "four".to_owned(),
        5 => "five".to_owned(),
        more => more.to_string(),
    };
    let (last, before) = films.split_last().map_or(("", &[][..]), |(last, before)| (last.as_str(), before));
    format!("{count} films carry this load: {} and {last}", before.join(", "))
}

#[cfg(test)]
mod tests {
    #[test]
    fn one_equilibrium_is_singular() {
        assert!(super::none_stable(1).starts_with("one equilibrium, and it is not stable: its"));
        assert!(super::none_stable(3).starts_with("3 equilibria, none stable"));
    }
}
