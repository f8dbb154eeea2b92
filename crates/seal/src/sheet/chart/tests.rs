//! Tests of chart descriptions: every number is the outcome's, converted.

use crate::outcome::{Jump, Outcome, PhaseChange, PhaseChangeKind, Profiles, Provenance, Status, Work};
use crate::rules::testing::Bench;
use crate::study::{Sweep, SweepLimits, SweepPoint, SweepRow, SweepState};

use super::super::{Sheet, SweepSheet, sheet, sweep_sheet};
use super::*;

const ML_PER_H: f64 = 1e-6 / 3600.0;

fn shown(bench: &Bench, units: UnitSet) -> Sheet {
    sheet(&bench.model, &bench.outcome, units)
}

fn chart<'a>(charts: &'a [Chart], key: &str) -> &'a Chart {
    charts.iter().find(|chart| chart.key == key).unwrap_or_else(|| panic!("no chart {key}"))
}

/// The outcome's numbers at the key of a series, as its JSON has them.
fn of_outcome(outcome: &Outcome, duty: usize, key: &str) -> Vec<Option<f64>> {
    let json = serde_json::to_value(&outcome.duties[duty].equilibria[0]).expect("JSON");
    let found = key.split('.').fold(&json, |value, part| &value[part]);
    match found {
        serde_json::Value::Array(values) => values.iter().map(serde_json::Value::as_f64).collect(),
        single => vec![single.as_f64()],
    }
}

fn kind_of(key: &str) -> Kind {
    match key.rsplit('.').next().unwrap_or_default() {
        "gap_m" => Kind::SmallLength,
        "pressure_pa" => Kind::AbsolutePressure,
        "contact_pressure_pa" => Kind::Pressure,
        "rotating" | "stationary" | "leak" => Kind::Power,
        _ => Kind::Temperature,
    }
}

fn assert_converted(values: &[Option<f64>], si: &[Option<f64>], kind: Kind, units: UnitSet, what: &str) {
    assert_eq!(values.len(), si.len(), "{what}");
    for (value, si) in values.iter().zip(si) {
        let expected = si.map(|si| unit(kind, units).convert(si));
        match (value, expected) {
            (Some(value), Some(expected)) => assert!((value - expected).abs() <= 1e-5 * expected.abs(), "{what}: {value} for {expected}"),
            (value, expected) => assert_eq!(*value, expected, "{what}"),
        }
    }
}

/// A booster that is near boiling in its second duty.
fn booster() -> Bench {
    let mut bench = Bench::booster();
    bench.add_duty("maximum", |_| ());
    let hot = &mut bench.outcome.duties[1].equilibria[0].profiles;
    hot.film_hottest_k = vec![331.0, 332.0, 329.0];
    hot.boiling_temperature_k = vec![Some(345.0), Some(440.0), None];
    bench
}

#[test]
fn every_number_is_that_of_the_outcome_converted() {
    let bench = booster();
    for units in [UnitSet::Si, UnitSet::Us] {
        let sheet = shown(&bench, units);
        for (duty, name) in [(0, "normal"), (1, "maximum")] {
            let charts: Vec<&Chart> = sheet.charts.iter().filter(|chart| chart.duty.as_deref() == Some(name)).collect();
            assert_eq!(
                charts.iter().map(|chart| chart.key.as_str()).collect::<Vec<_>>(),
                ["profile.gap", "profile.pressure", "profile.temperature"]
            );
            for chart in charts {
                for series in &chart.series {
                    assert_converted(
                        &series.across,
                        &of_outcome(&bench.outcome, duty, &series.key),
                        kind_of(&series.key),
                        units,
                        &series.key,
                    );
                    assert_converted(&series.up, &of_outcome(&bench.outcome, duty, "profiles.radius_m"), Kind::Length, units, "radius");
                }
            }
        }
        let heat = chart(&sheet.charts, "heat.split");
        assert_eq!(heat.bars, ["normal", "maximum"]);
        for part in &heat.series {
            let si: Vec<Option<f64>> = (0..2).flat_map(|duty| of_outcome(&bench.outcome, duty, &part.key)).collect();
            assert_converted(&part.across, &si, kind_of(&part.key), units, &part.key);
        }
    }
}

#[test]
fn bounds_hold_what_is_shown() {
    let sheet = shown(&booster(), UnitSet::Si);
    for chart in &sheet.charts {
        for series in chart.series.iter().filter(|series| series.role != Role::Saturation && chart.kind != ChartKind::Bars) {
            for (values, axis) in [(&series.across, &chart.across), (&series.up, &chart.up)] {
                assert!(values.iter().flatten().all(|value| (axis.low..=axis.high).contains(value)), "{} {}", chart.key, series.key);
            }
        }
    }
    // 40 + 191 + 1 W
    let heat = chart(&sheet.charts, "heat.split");
    assert_eq!((heat.across.low, heat.across.high), (0.0, 232.0));
    let gap = chart(&sheet.charts, "profile.gap");
    assert_eq!((gap.across.low, gap.across.high), (0.0, 0.97));
}

#[test]
fn boiling_is_drawn_where_it_is_near() {
    let sheet = shown(&booster(), UnitSet::Si);
    let of = |duty: &str| sheet.charts.iter().find(|chart| chart.key == "profile.temperature" && chart.duty.as_deref() == Some(duty));
    let roles = |chart: &Chart| chart.series.iter().map(|series| series.role).collect::<Vec<_>>();
    let near = of("maximum").expect("a chart");
    assert_eq!(roles(near), [Role::Film, Role::Rotating, Role::Stationary, Role::Saturation]);
    // The curve climbs to 167 degC; the axis ends soon after its lowest place.
    assert!((71.85..80.0).contains(&near.across.high), "{}", near.across.high);
    assert_eq!(roles(of("normal").expect("a chart")), [Role::Film, Role::Rotating, Role::Stationary]);
    let mut bench = booster();
    bench.outcome.duties[1].equilibria[0].profiles.boiling_temperature_k = vec![Some(460.0), Some(470.0), Some(480.0)];
    let far = shown(&bench, UnitSet::Us);
    let far = far.charts.iter().rfind(|chart| chart.key == "profile.temperature").expect("a chart");
    assert_eq!(roles(far), [Role::Film, Role::Rotating, Role::Stationary]);
    assert_eq!(far.note, "boils at 368 degF or more");
}

#[test]
fn a_change_of_phase_is_marked_at_its_radius() {
    let mut bench = Bench::booster();
    bench.equilibrium_mut().passage.phase_changes = vec![PhaseChange { radius_m: 25e-3, kind: PhaseChangeKind::BeginsToBoil }];
    let sheet = shown(&bench, UnitSet::Si);
    for key in ["profile.gap", "profile.pressure", "profile.temperature"] {
        assert_eq!(chart(&sheet.charts, key).marks, [Mark { label: "begins to boil".to_owned(), on: On::Up, value: 25.0 }]);
    }
}

#[test]
fn a_duty_without_a_film_has_no_profile_and_an_empty_bar() {
    let mut bench = booster();
    bench.lose_solution("the faces part");
    let sheet = shown(&bench, UnitSet::Si);
    assert!(sheet.charts.iter().all(|chart| chart.duty.as_deref() != Some("normal")));
    assert_eq!(chart(&sheet.charts, "heat.split").series[0].across, [None, Some(40.0)]);
    let mut bench = Bench::booster();
    bench.lose_solution("the faces part");
    assert!(shown(&bench, UnitSet::Si).charts.is_empty());
}

#[test]
fn the_rounding_of_a_balance_is_no_heat() {
    let mut bench = booster();
    let heat = &mut bench.outcome.duties[1].equilibria[0].heat_split_w;
    (heat.rotating, heat.stationary, heat.leak) = (3.8e-6, 4.8e-6, -8.6e-6);
    let sheet = shown(&bench, UnitSet::Si);
    for part in &chart(&sheet.charts, "heat.split").series {
        assert_eq!(part.across[1], Some(0.0), "{}", part.key);
    }
}

#[test]
fn what_is_not_finite_is_missing() {
    let mut bench = Bench::booster();
    bench.equilibrium_mut().profiles.gap_m[1] = f64::NAN;
    let sheet = shown(&bench, UnitSet::Si);
    assert_eq!(chart(&sheet.charts, "profile.gap").series[0].across, [Some(0.47), None, Some(0.97)]);
    bench.equilibrium_mut().profiles = Profiles::default();
    assert!(shown(&bench, UnitSet::Si).charts.iter().all(|chart| chart.kind == ChartKind::Bars));
}

fn point(film_um: f64, leak_ml_per_h: f64) -> SweepPoint {
    SweepPoint {
        minimum_film_m: 1e-6 * film_um,
        mean_film_m: 1e-6 * film_um,
        leakage_kg_per_s: 1e3 * ML_PER_H * leak_ml_per_h,
        leakage_m3_per_s: ML_PER_H * leak_ml_per_h,
        power_w: 100.0,
        torque_n_m: 1.0,
        contact_share: 0.02,
        film_temperature_max_k: 330.0,
        face_temperature_max_k: 330.0,
        boiling_margin_k: Some(30.0),
        vapour_fraction_max: 0.0,
        film_stiffness_n_per_m: -1e9,
    }
}

fn row(bar: f64, point: Option<SweepPoint>) -> SweepRow {
    SweepRow {
        value: 1e5 * bar,
        fold: None,
        status: Status::Solved,
        reason: String::new(),
        equilibria: None,
        point,
        others: Vec::new(),
        leakage_limit_m3_per_s: Some(6.0 * ML_PER_H),
    }
}

/// Pressure swept past a fold, with an unstable state at its beginning.
fn swept() -> Sweep {
    let begins = SweepRow { others: vec![SweepState { stable: false, point: point(2.0, 5.0) }], ..row(10.0, Some(point(0.2, 1.0))) };
    let fold = SweepRow { fold: Some(Jump::Opens), ..row(25.0, None) };
    Sweep {
        title: "booster".to_owned(),
        duty: "normal".to_owned(),
        path: "duty.normal.pressure".to_owned(),
        limits: SweepLimits { power_w: Some(5000.0), minimum_film_m: Some(0.1e-6), boiling_margin_k: Some(20.0), ..SweepLimits::default() },
        rows: vec![begins, row(20.0, Some(point(0.3, 2.0))), fold, row(30.0, Some(point(1.5, 4.0)))],
        remarks: Vec::new(),
        work: Work::default(),
        provenance: Provenance { version: String::new(), case_hash: String::new(), data_version: String::new(), seed: None },
    }
}

fn swept_sheet(change: impl FnOnce(&mut Sweep)) -> SweepSheet {
    let mut sweep = swept();
    change(&mut sweep);
    sweep_sheet(&sweep, UnitSet::Si)
}

#[test]
fn a_sweep_breaks_at_its_fold() {
    let sheet = swept_sheet(|_| ());
    let film = chart(&sheet.charts, "sweep.minimum_film_m");
    assert_eq!((film.across.unit.as_str(), film.up.unit.as_str()), ("MPa(a)", "um"));
    assert_eq!(film.series[0].across, [1.0, 2.0, 2.5, 3.0].map(Some));
    assert_eq!(film.series[0].up, [Some(0.2), Some(0.3), None, Some(1.5)]);
    assert_eq!(film.marks, [Mark { label: "film pops open".to_owned(), on: On::Across, value: 2.5 }]);
    let unstable = &film.series[1];
    assert_eq!((unstable.role, &unstable.across[..], &unstable.up[..]), (Role::Unstable, &[Some(1.0)][..], &[Some(2.0)][..]));
    assert_eq!(film.series.len(), 2);
}

#[test]
fn limits_near_the_curve_are_lines_and_others_words() {
    let sheet = swept_sheet(|_| ());
    let limit = |label: &str, value: f64, forbidden: Forbidden| LimitLine { label: label.to_owned(), on: On::Up, value, forbidden };
    assert_eq!(chart(&sheet.charts, "sweep.minimum_film_m").limits, [limit("limit 0.100 um", 0.1, Forbidden::Below)]);
    let leakage = chart(&sheet.charts, "sweep.leakage_m3_per_s");
    assert_eq!(leakage.limits, [limit("usual limit 6.00 mL/h", 6.0, Forbidden::Above)]);
    assert_eq!((leakage.up.low, leakage.up.high), (0.0, 6.0));
    let power = chart(&sheet.charts, "sweep.power_w");
    assert!(power.limits.is_empty() && power.note == "limit 5000 W is off the chart", "{power:?}");
    let margin = chart(&sheet.charts, "sweep.boiling_margin_k");
    assert_eq!(margin.limits, [limit("boils", 0.0, Forbidden::Below), limit("limit 20.0 K", 20.0, Forbidden::Below)]);
    let stated = swept_sheet(|sweep| {
        sweep.limits.leakage_m3_per_s = Some(6.0 * ML_PER_H);
    });
    assert_eq!(chart(&stated.charts, "sweep.leakage_m3_per_s").limits[0].label, "limit 6.00 mL/h");
}

#[test]
fn a_limit_that_follows_what_is_swept_is_a_curve() {
    let sheet = swept_sheet(|sweep| sweep.rows[0].leakage_limit_m3_per_s = Some(5.0 * ML_PER_H));
    let leakage = chart(&sheet.charts, "sweep.leakage_m3_per_s");
    assert!(leakage.limits.is_empty());
    let limit = leakage.series.iter().find(|series| series.role == Role::Limit).expect("a curve");
    assert_eq!(
        (limit.label.as_str(), &limit.across, &limit.up),
        ("usual limit", &[1.0, 2.0, 3.0].map(Some).to_vec(), &[5.0, 6.0, 6.0].map(Some).to_vec())
    );
    assert_eq!(leakage.up.high, 6.0);
}
