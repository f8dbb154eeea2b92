//! Motion of whole cases.

use super::*;
use crate::case;

/// Rigid coned faces of a constant liquid, everything beyond viscous flow off.
const CONED: &str = include_str!("coned.toml");
const NUMBERS: Request = Request { curve: false, in_time: false };

fn model(settings: &[(&str, &str)]) -> Model {
    let text = case::with_settings(CONED, settings).expect("settings of the case");
    case::parse(&text).and_then(|case| case.model()).expect("a case")
}

fn solved(settings: &[(&str, &str)], request: Request) -> DutyMotion {
    let mut found = motion(&model(settings), &[], request).expect("a seal");
    found.duties.remove(0)
}

fn following(duty: &DutyMotion) -> Following {
    duty.following.unwrap_or_else(|| panic!("{:?}", duty.refusals))
}

#[test]
fn a_rigid_support_keeps_the_ring_and_no_support_lets_it_follow() {
    let free = following(&solved(&[("seal.spring_rate", "0 N/mm"), ("stationary_ring.tilt_inertia", "1e-9 kg m2")], NUMBERS));
    assert!((free.ratio - 1.0).abs() < 1e-9 && free.relative_ratio < 1e-9, "{free:?}");
    let rigid = following(&solved(&[("seal.spring_rate", "1000000 N/mm")], NUMBERS));
    assert!(rigid.ratio < 0.2 && rigid.relative_ratio > 0.8, "{rigid:?}");
    let between = following(&solved(&[], NUMBERS));
    assert!(between.relative_ratio > free.relative_ratio && between.relative_ratio < rigid.relative_ratio);
}

#[test]
fn without_run_out_nothing_tilts() {
    let still = solved(&[("machine.face_runout", "0 mm")], Request { curve: false, in_time: true });
    let with = following(&still).with_runout.expect("a run-out of nothing is one");
    assert_eq!((with.relative_tilt_rad, with.least_film_m), (0.0, with.least_film_still_m));
    assert_eq!(still.leakage.expect("a leakage").added, 0.0);
    assert!(still.in_time.is_none() && still.refusals.iter().any(|refusal| refusal.what == "time"));
}

#[test]
fn a_shaft_that_turns_the_other_way_is_followed_the_same() {
    let (one, other) = (solved(&[], NUMBERS), solved(&[("duty.normal.speed", "-300 rad/s")], NUMBERS));
    let (a, b) = (following(&one), following(&other));
    for (a, b) in [(a.ratio, b.ratio), (a.lag_rad, b.lag_rad), (a.relative_ratio, b.relative_ratio)] {
        assert!((a - b).abs() < 1e-9 * a.abs().max(1e-9), "{a} {b}");
    }
    let (a, b) = (one.film.expect("a film"), other.film.expect("a film"));
    assert!((a.cross_stiffness_n_m_per_rad + b.cross_stiffness_n_m_per_rad).abs() < 1e-9 * a.cross_stiffness_n_m_per_rad.abs());
    let thresholds = [one.stability, other.stability].map(|stability| stability.and_then(|s| s.threshold_rad_per_s).map(f64::abs));
    assert!(
        thresholds[0].zip(thresholds[1]).is_none_or(|(a, b)| (a / b - 1.0).abs() < 1e-4)
            && thresholds[0].is_some() == thresholds[1].is_some()
    );
}

#[test]
fn the_run_out_allowed_leaves_the_film_asked_for() {
    let settings = [("seal.spring_rate", "5000 N/mm"), ("limits.minimum_film", "0.6 um")];
    let allowed = solved(&settings, NUMBERS).allowed.expect("a run-out");
    assert!(allowed.stated && allowed.least_film_m == 0.6e-6);
    let run_out = format!("{} um", allowed.runout_m * 1e6);
    let again = solved(&[settings[0], settings[1], ("machine.face_runout", &run_out)], NUMBERS);
    let least = following(&again).with_runout.expect("a run-out").least_film_m;
    assert!((least / 0.6e-6 - 1.0).abs() < 1e-6, "{least}");
    let too_much = solved(&[settings[0], ("limits.minimum_film", "5 um")], NUMBERS);
    assert!(too_much.allowed.is_none() && too_much.refusals.iter().any(|refusal| refusal.what == "allowed run-out"));
}

#[test]
fn the_curve_passes_the_duty_from_standstill_on() {
    let duty = solved(&[], Request { curve: true, in_time: false });
    let speeds: Vec<f64> = duty.curve.iter().map(|point| point.speed_rad_per_s).collect();
    assert_eq!(speeds.len(), 15);
    assert!(speeds[0] == 0.0 && speeds.is_sorted() && speeds[14] > 1.4 * 300.0);
    let at = duty.curve.iter().find(|point| point.speed_rad_per_s == 300.0).expect("the duty itself");
    assert_eq!(at.relative_ratio, Some(following(&duty).relative_ratio));
    // A rigid pair keeps its film at every speed; inertia opens the tilt as the square of it.
    assert!(duty.curve.iter().all(|point| point.ratio.is_some()), "{:?}", duty.refusals);
}

fn held<T>(settings: &[(&str, &str)], of: impl FnOnce(&Held, &Tilting) -> T) -> T {
    let model = model(settings);
    let prepared = Prepared::new(&model).expect("rings");
    let duty = &model.duties[0];
    let options = Options { search: true, ranges: false, fields: false, margins: false, at_rest: false, waves: false };
    let (outcome, state) = prepared.solve_with(duty, None, options);
    let point = &outcome.equilibria[outcome.chosen.expect("a point")];
    let chamber = outcome.conditions.chamber_temperature_k;
    let held = Held::new(&model, duty, prepared.band_nodes(), &state.expect("a state"), point, chamber);
    let at = At { prepared: &prepared, duty, request: NUMBERS, floating: held.floating() };
    let grid = held.grid().expect("a grid");
    let ring = at.tilting(body(&model, held.floating()).expect("a body"), held.contact_answer(&grid), duty.speed_rad_per_s);
    of(&held, &ring)
}

#[test]
fn leakage_added_by_tilt_goes_with_its_square() {
    held(&[], |held, _| {
        let [one, two] = [2e-6, 4e-6].map(|tilt| leakage::added(held, 300.0, tilt, 1e-6).expect("a film"));
        assert!(one.added > 0.0 && one.tilt_rad == 2e-6, "{one:?}");
        assert!((two.added / one.added / 4.0 - 1.0).abs() < 0.05, "{} {}", one.added, two.added);
    });
}

/// The second order of a narrow film's leakage in its gap, averaged round the circumference.
#[test]
fn leakage_added_by_tilt_of_a_narrow_film_is_the_mean_of_its_places() {
    held(&[], |held, _| {
        let tilt = 2e-6;
        let added = leakage::added(held, 300.0, tilt, 1e-6).expect("a film").added;
        // Flow of a coned gap per pressure: 2 h^2 H^2 / (h + H), h and H at both edges.
        let flow = |by: f64| {
            let [h, high] = [held.gap_m[0] + by, held.gap_m[held.gap_m.len() - 1] + by];
            2.0 * (h * high).powi(2) / (h + high)
        };
        let places = 720;
        let mean: f64 = (0..places).map(|k| flow(tilt * 0.1005 * (k as f64 * std::f64::consts::TAU / places as f64).cos())).sum::<f64>()
            / places as f64;
        assert!((added / (mean / flow(0.0) - 1.0) - 1.0).abs() < 0.05, "{added} for {}", mean / flow(0.0) - 1.0);
    });
}

#[test]
fn in_time_a_small_run_out_is_followed_as_the_linear_equations_say() {
    // Springs so stiff that the tilt between the faces shows.
    held(&[("seal.spring_rate", "5000 N/mm")], |held, ring| {
        let run = |steps_per_turn: usize| {
            let run = time::Run { speed_rad_per_s: 300.0, mating_tilt_rad: 2e-8, turns: 2, steps_per_turn };
            time::follow(held, ring, run).expect("a run")
        };
        let (coarse, fine) = (run(36), run(72));
        let error = |run: &InTime| (run.relative_ratio / run.linear_relative_ratio - 1.0).abs();
        assert!(fine.linear_relative_ratio > 0.005, "{fine:?}");
        assert!(error(&fine) < 0.03 && error(&fine) < 0.7 * error(&coarse).max(0.01), "{} {}", error(&coarse), error(&fine));
        assert!(fine.settled_within < 1e-3, "{}", fine.settled_within);
        assert!((fine.leakage_ratio - 1.0).abs() < 1e-4);
    });
}

#[test]
fn a_boiling_film_is_refused() {
    let duty = solved(&[("duty.normal.speed", "0 rad/s")], NUMBERS);
    assert!(duty.film.is_some() && duty.following.is_none(), "a standing shaft has coefficients and no motion");
    let mut point = {
        let model = model(&[]);
        let prepared = Prepared::new(&model).expect("rings");
        prepared.solve(&model.duties[0], None).0.equilibria.remove(0)
    };
    assert!(not_of_one_phase(&point).is_ok());
    point.passage.phase_changes.push(crate::outcome::PhaseChange { radius_m: 0.1, kind: crate::outcome::PhaseChangeKind::BeginsToBoil });
    assert!(not_of_one_phase(&point).is_err_and(|reason| reason.contains("boils")));
}
