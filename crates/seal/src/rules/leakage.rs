//! Leakage, tests and what was observed.

use crate::model::{Duty, Model};
use crate::outcome::WavyFilm;

use super::text::{length, mass_leakage, number, percent, ratio, volume_leakage};
use super::view::{CaseView, DutyView};
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};

const GROUP: &str = "Leakage and tests";

/// One drop a minute of 0.05 mL, m3/s.
const DROP_PER_MINUTE: f64 = 0.05e-6 / 60.0;

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "leak.liquid",
        group: GROUP,
        statement: "Liquid leakage stays below the user's limit, else 5 mL/h x (D/50 mm) x (1 + dp/1 MPa) up to 5 MPa.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "[limits] leakage, else 5 mL/h x (D/50 mm) x (1 + dp/1 MPa)",
        hint: "Vapour is leakage too: state mass where the leak is not seen as drops.",
        judge: Judge::Duty(liquid),
    },
    Rule {
        id: "leak.ratio",
        group: GROUP,
        statement: "Leakage at start or standstill is below 20 times that at normal.",
        breach: Breach::Note,
        source: Source::Geometry,
        limit: "20 times normal",
        hint: "The seal may drip visibly at start and stop although it is sound.",
        judge: Judge::Case(start_ratio),
    },
    Rule {
        id: "leak.test-static",
        group: GROUP,
        statement: "A static test leaks at most one drop a minute (3 mL/h).",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "3 mL/h",
        hint: "Usual test: 1.25 times the greatest pressure for ten minutes.",
        judge: Judge::Duty(static_test),
    },
    Rule {
        id: "leak.salt",
        group: GROUP,
        statement: "Solids that evaporating leakage leaves in a year are reported.",
        breach: Breach::Note,
        source: Source::Geometry,
        limit: "report",
        hint: "Wash the low side.",
        judge: Judge::Duty(salt),
    },
    Rule {
        id: "test.repeat",
        group: GROUP,
        statement: "What was observed lies within 30 % of what is computed.",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "30 %",
        hint: "Keep the record and look for the cause; never bend the check.",
        judge: Judge::Duty(observed),
    },
    Rule {
        id: "test.hot-cold",
        group: GROUP,
        statement: "The faces' shape differs by less than 0.5 um between static test and normal running.",
        breach: Breach::Note,
        source: Source::Geometry,
        limit: "0.5 um",
        hint: "A cold test then says little of the hot film.",
        judge: Judge::Case(hot_and_cold),
    },
];

fn liquid(view: &DutyView) -> Judged {
    if view.chamber_is_gas() {
        return Err(Skip::DoesNotApply);
    }
    let equilibrium = view.solved()?;
    let limits = view.model.limits;
    let (volume, mass) = (equilibrium.leakage_m3_per_s, equilibrium.leakage_kg_per_s);
    let [wavy_volume, wavy_mass] =
        [|w: WavyFilm| w.leakage_m3_per_s, |w: WavyFilm| w.leakage_kg_per_s].map(|of| equilibrium.with_wave.map(of));
    let (leak, wavy, limit, by_user, write): (_, _, _, _, fn(f64) -> String) = match (limits.leakage_m3_per_s, limits.leakage_kg_per_s) {
        (Some(limit), _) => (volume, wavy_volume, limit, true, volume_leakage),
        (None, Some(limit)) => (mass, wavy_mass, limit, true, mass_leakage),
        (None, None) => {
            let limit = usual_limit_m3_per_s(view.model, view.duty)
                .ok_or_else(|| Skip::NotComputed("no default limit above 5 MPa: state [limits] leakage".to_owned()))?;
            (volume, wavy_volume, limit, false, volume_leakage)
        }
    };
    let (leak, high, wavy) = (leak.nominal.abs(), leak.high.abs().max(leak.low.abs()), wavy.map(f64::abs));
    let bound = if equilibrium.leakage_is_lower_bound { "at least " } else { "" };
    let reason = format!("leakage {bound}{} against {}", write(leak), write(limit));
    let breach = if by_user { Breach::Fail } else { Breach::Caution };
    let assessment = Assessment::within(leak <= limit, breach, reason.as_str());
    let assessment = match (leak <= limit, high > limit, equilibrium.leakage_is_lower_bound) {
        (true, true, _) => Assessment::holds(format!("{reason}; up to {} within the stated uncertainty", write(high))).at_best_watch(),
        (true, false, true) => match wavy {
            Some(wavy) => Assessment::holds(format!("{reason}; with a rigid wave {}", write(wavy))).at_best_watch(),
            None => Assessment::holds(format!("{reason}; a lower bound is never better than watch")).at_best_watch(),
        },
        _ => assessment,
    };
    let assessment = assessment.compared(leak, limit);
    Ok(if by_user { assessment.sourced(Source::User) } else { assessment })
}

/// The limit where the user states none, m3/s; none above 5 MPa.
fn usual_limit_m3_per_s(model: &Model, duty: &Duty) -> Option<f64> {
    let difference = (duty.pressure_pa - duty.low_pressure_pa).abs();
    let diameter = 2.0 * model.band.outer_radius_m;
    (difference <= 5e6).then(|| 5e-6 / 3600.0 * (diameter / 0.05) * (1.0 + difference / 1e6))
}

/// What rule `leak.liquid` compares a volume of liquid leakage with, m3/s; none where it compares mass or nothing.
pub(crate) fn volume_limit_m3_per_s(model: &Model, duty: &Duty) -> Option<f64> {
    match (model.limits.leakage_m3_per_s, model.limits.leakage_kg_per_s) {
        (Some(limit), _) => Some(limit),
        (None, Some(_)) => None,
        (None, None) => usual_limit_m3_per_s(model, duty),
    }
}

fn start_ratio(view: &CaseView) -> Judged {
    let normal = view.normal()?.solved()?.leakage_kg_per_s.nominal.abs();
    if normal <= 0.0 {
        return Err(Skip::DoesNotApply);
    }
    let stops = view.duties.iter().filter(|duty| duty.named("start") || duty.named("stand"));
    let solved = stops.filter_map(|duty| duty.solved().ok().map(|e| (duty, e.leakage_kg_per_s.nominal.abs() / normal)));
    let Some((duty, times)) = solved.max_by(|a, b| a.1.total_cmp(&b.1)) else {
        return Err(Skip::NotComputed("no start or standstill was solved".to_owned()));
    };
    let reason = format!("{} leaks {} times as much as normal", duty.duty.name, ratio(times));
    Ok(Assessment::within(times < 20.0, Breach::Note, reason).compared(times, 20.0))
}

fn static_test(view: &DutyView) -> Judged {
    if !view.named("static test") || view.chamber_is_gas() {
        return Err(Skip::DoesNotApply);
    }
    let range = view.solved()?.leakage_m3_per_s;
    let (leak, high) = (range.nominal.abs(), range.high.abs().max(range.low.abs()));
    let reason = format!("static leakage {}, usual up to {}", volume_leakage(leak), volume_leakage(DROP_PER_MINUTE));
    let end = || format!("its high estimate {} is above", volume_leakage(high));
    let assessment = Assessment::within(leak <= DROP_PER_MINUTE, Breach::Note, reason);
    Ok(assessment.unless_range_crosses(high > DROP_PER_MINUTE, Breach::Note, end).compared(leak, DROP_PER_MINUTE))
}

fn salt(view: &DutyView) -> Judged {
    let (Some(share), Some(hours)) = (view.fluid.dissolved_solids, view.duty.hours_per_year) else {
        return Err(Skip::DoesNotApply);
    };
    let deposit = view.solved()?.leakage_kg_per_s.nominal.abs() * share * hours * 3600.0;
    let reason = format!("{} of dissolved solids leave at least {} kg in {} h", percent(share), ratio(deposit), number(hours));
    Ok(Assessment::note(reason))
}

fn observed(view: &DutyView) -> Judged {
    let seen = view.duty.observed;
    if seen.leakage_m3_per_s.is_none() && seen.temperature_k.is_none() && seen.torque_n_m.is_none() {
        return Err(Skip::DoesNotApply);
    }
    let equilibrium = view.solved()?;
    let mut words = Vec::new();
    let mut greatest: f64 = 0.0;
    let mut compare = |what: &str, observed: f64, computed: f64| {
        let off = (computed - observed).abs() / observed.abs().max(f64::MIN_POSITIVE);
        greatest = greatest.max(off);
        words.push(format!("{what} off by {}", percent(off)));
    };
    if let Some(leakage) = seen.leakage_m3_per_s {
        compare("leakage", leakage, equilibrium.leakage_m3_per_s.nominal.abs());
    }
    if let Some(torque) = seen.torque_n_m {
        compare("torque", torque, equilibrium.torque_n_m.nominal.abs());
    }
    if let Some(temperature) = seen.temperature_k {
        let chamber = view.chamber_temperature_k();
        compare("face rise", temperature - chamber, equilibrium.face_temperature_max_k.nominal - chamber);
    }
    let reason = format!("observed against computed: {}", words.join(", "));
    Ok(Assessment::within(greatest <= 0.3, Breach::Note, reason).compared(greatest, 0.3))
}

fn hot_and_cold(view: &CaseView) -> Judged {
    let Some(test) = view.named("static test") else {
        return Err(Skip::DoesNotApply);
    };
    let cold = test.solved()?.coning_m.total;
    let hot = view.normal()?.solved()?.coning_m.total;
    let reason = format!("coning {} at the static test, {} at normal", length(cold), length(hot));
    Ok(Assessment::within((hot - cold).abs() <= 0.5e-6, Breach::Note, reason).compared((hot - cold).abs(), 0.5e-6))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, reason_of, word_of};
    use super::volume_limit_m3_per_s;
    use crate::outcome::{Ranged, Word};

    const ML_PER_H: f64 = 1e-6 / 3600.0;

    /// A chart draws the limit that the verdict compared.
    #[test]
    fn the_limit_of_a_chart_is_that_of_the_rule() {
        for limit in [None, Some(10.0 * ML_PER_H)] {
            let mut bench = Bench::booster();
            bench.model.limits.leakage_m3_per_s = limit;
            let judged = crate::rules::judge(&bench.model, &bench.model.duties[0], &bench.outcome.duties[0]);
            let compared = judged.iter().find(|verdict| verdict.rule == "leak.liquid").and_then(|verdict| verdict.limit);
            assert!(compared.is_some());
            assert_eq!(volume_limit_m3_per_s(&bench.model, &bench.model.duties[0]), compared);
        }
        let mut bench = Bench::booster();
        bench.model.limits.leakage_m3_per_s = None;
        bench.model.limits.leakage_kg_per_s = Some(1e-6);
        assert_eq!(volume_limit_m3_per_s(&bench.model, &bench.model.duties[0]), None);
    }

    #[test]
    fn a_lower_bound_is_at_best_watch() {
        let mut bench = Bench::booster();
        bench.model.limits.leakage_m3_per_s = Some(10.0 * ML_PER_H);
        bench.equilibrium_mut().leakage_m3_per_s = Ranged::exact(4.0 * ML_PER_H);
        assert_eq!(word_of(&bench, "leak.liquid"), Some(Word::Watch));
        bench.equilibrium_mut().leakage_is_lower_bound = false;
        assert_eq!(word_of(&bench, "leak.liquid"), Some(Word::Holds));
        bench.equilibrium_mut().leakage_m3_per_s = Ranged { low: 1.0 * ML_PER_H, nominal: 4.0 * ML_PER_H, high: 11.0 * ML_PER_H };
        assert_eq!(word_of(&bench, "leak.liquid"), Some(Word::Watch));
        bench.equilibrium_mut().leakage_m3_per_s = Ranged::exact(10.1 * ML_PER_H);
        assert_eq!(word_of(&bench, "leak.liquid"), Some(Word::Fails));
    }

    /// Default at 61.6 mm and 1.1 MPa: 5 x 1.232 x 2.1 = 12.9 mL/h.
    #[test]
    fn the_default_limit_is_a_caution_only() {
        let mut bench = Bench::booster();
        bench.model.limits.leakage_m3_per_s = None;
        bench.equilibrium_mut().leakage_is_lower_bound = false;
        for (leak, word) in [(12.8, Word::Holds), (13.0, Word::Watch)] {
            bench.equilibrium_mut().leakage_m3_per_s = Ranged::exact(leak * ML_PER_H);
            assert_eq!(word_of(&bench, "leak.liquid"), Some(word));
        }
        bench.lose_solution("not converged");
        assert_eq!(word_of(&bench, "leak.liquid"), Some(Word::NotComputed));
    }

    #[test]
    fn a_static_test_that_may_drip_more_is_noted() {
        let mut bench = Bench::booster();
        bench.rename("static test");
        bench.equilibrium_mut().leakage_m3_per_s = Ranged { low: 1.0 * ML_PER_H, nominal: 2.0 * ML_PER_H, high: 2.9 * ML_PER_H };
        assert!(!reason_of(&bench, "leak.test-static").contains("estimate"));
        bench.equilibrium_mut().leakage_m3_per_s.high = 3.1 * ML_PER_H;
        assert_eq!(word_of(&bench, "leak.test-static"), Some(Word::Holds), "a note fails nothing");
        assert!(reason_of(&bench, "leak.test-static").starts_with("note: "));
        assert!(reason_of(&bench, "leak.test-static").contains("high estimate"));
    }

    #[test]
    fn observation_is_compared_never_fitted() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "test.repeat"), None);
        bench.duty_mut().observed.torque_n_m = Some(1.0);
        bench.equilibrium_mut().torque_n_m = Ranged::exact(1.2);
        assert_eq!(word_of(&bench, "test.repeat"), Some(Word::Holds));
    }
}
