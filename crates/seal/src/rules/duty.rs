//! Duties and data: whether the question itself makes sense.

use crate::model::RingRole;
use crate::notice::Notice;

use super::text::{absolute_pressure, length, number, speed, temperature};
use super::view::{CaseView, DutyView};
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};

const GROUP: &str = "Duty and data";

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "duty.absolute-positive",
        group: GROUP,
        statement: "Both pressures lie above vacuum; below 1 kPa absolute the reader is told.",
        breach: Breach::Fail,
        source: Source::Geometry,
        limit: "above 0 absolute",
        hint: "A gauge pressure below -1.01 bar does not exist: check (g) and (a).",
        judge: Judge::Duty(absolute_positive),
    },
    Rule {
        id: "duty.points-present",
        group: GROUP,
        statement: "Normal, maximum, start, standstill and static test are all given.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "five kinds of duty",
        hint: "Seals die at start, standstill and upset, seldom at the normal point: add the missing duties.",
        judge: Judge::Case(points_present),
    },
    Rule {
        id: "duty.maximum-covers",
        group: GROUP,
        statement: "Pressure, temperature and speed of the maximum duty are not below those of the normal duty.",
        breach: Breach::Fail,
        source: Source::Geometry,
        limit: "maximum >= normal",
        hint: "Decide which number is really the greatest.",
        judge: Judge::Case(maximum_covers),
    },
    Rule {
        id: "duty.hours",
        group: GROUP,
        statement: "The hours of all duties fit into one year.",
        breach: Breach::Fail,
        source: Source::Geometry,
        limit: "8784 h",
        hint: "Check how the year is split between duties.",
        judge: Judge::Case(hours),
    },
    Rule {
        id: "duty.range",
        group: GROUP,
        statement: "The chamber temperature lies inside the range of the fluid's property data.",
        breach: Breach::Caution,
        source: Source::Geometry,
        limit: "range of the data",
        hint: "Give a custom fluid with your own data, or accept the extrapolation by name.",
        judge: Judge::Duty(range),
    },
    Rule {
        id: "duty.phase",
        group: GROUP,
        statement: "A pump's seal chamber holds liquid, a compressor's or blower's gas.",
        breach: Breach::Caution,
        source: Source::Geometry,
        limit: "saturation at chamber pressure",
        hint: "Conditions at suction and in the seal chamber often differ: state those of the chamber.",
        judge: Judge::Duty(phase),
    },
    Rule {
        id: "duty.near-critical",
        group: GROUP,
        statement: "The chamber is not near the critical point (0.97 to 1.05 of its temperature, 0.8 to 1.5 of its pressure).",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "T/Tc 0.97-1.05 with p/pc 0.8-1.5",
        hint: "Here 2 K change density by tens of percent: bracket the duty.",
        judge: Judge::Duty(near_critical),
    },
    Rule {
        id: "duty.test-fluid",
        group: GROUP,
        statement: "A static test names its own fluid.",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "`fluid` in the duty",
        hint: "Tests are made with water, air or nitrogen, not with the product.",
        judge: Judge::Duty(test_fluid),
    },
    Rule {
        id: "duty.defaults",
        group: GROUP,
        statement: "Inputs taken by default are few, and viscosity, vapour pressure and run-out are not among them.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "no default of viscosity, vapour pressure or run-out",
        hint: "These inputs move the answer most: state them.",
        judge: Judge::Case(defaults),
    },
    Rule {
        id: "duty.speed-box",
        group: GROUP,
        statement: "Sliding speed is at most 80 m/s in liquid, and never above 160 m/s.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "80 m/s in liquid, 160 m/s at all",
        hint: "Above 80 m/s in liquid the heat usually forbids a liquid film.",
        judge: Judge::Duty(speed_box),
    },
    Rule {
        id: "geometry.band",
        group: GROUP,
        statement: "The wide face stands out beyond the narrow one on both sides by 0.5 mm (shafts to 50 mm) or 0.7 mm.",
        breach: Breach::Fail,
        source: Source::Geometry,
        limit: "overhang 0.5 or 0.7 mm each side",
        hint: "The narrow ring must never run over an edge.",
        judge: Judge::Case(band),
    },
];

fn absolute_positive(view: &DutyView) -> Judged {
    let least = view.duty.pressure_pa.min(view.duty.low_pressure_pa);
    let reason = format!("least pressure {}", absolute_pressure(least));
    Ok(match least {
        p if p <= 0.0 => Assessment::fails(reason),
        p if p < 1000.0 => Assessment::note(format!("{reason}: near perfect vacuum")),
        _ => Assessment::holds(reason),
    }
    .compared(least, 0.0))
}

fn points_present(view: &CaseView) -> Judged {
    let wanted = ["normal", "maximum", "start", "standstill", "static test"];
    let names: Vec<String> = view.model.duties.iter().map(|duty| duty.name.to_lowercase()).collect();
    let stands = |name: &String| name.contains("standby") || name.contains("settle");
    let missing: Vec<&str> = wanted
        .into_iter()
        .filter(|word| !names.iter().any(|name| name.contains(word) || (*word == "standstill" && stands(name))))
        .collect();
    let reason = if missing.is_empty() {
        "normal, maximum, start, standstill and static test are given".to_owned()
    } else {
        format!("no duty named {}", missing.join(", "))
    };
    Ok(Assessment::within(missing.is_empty(), Breach::Caution, reason))
}

fn maximum_covers(view: &CaseView) -> Judged {
    let (Some(normal), Some(maximum)) = (view.named("normal"), view.named("maximum")) else {
        return Err(Skip::DoesNotApply);
    };
    let mut below = Vec::new();
    if maximum.duty.pressure_pa < normal.duty.pressure_pa {
        below.push(format!("pressure {} < {}", absolute_pressure(maximum.duty.pressure_pa), absolute_pressure(normal.duty.pressure_pa)));
    }
    let (hot, usual) = (maximum.chamber_temperature_k(), normal.chamber_temperature_k());
    if hot < usual && usual > 273.15 {
        below.push(format!("temperature {} < {}", temperature(hot), temperature(usual)));
    }
    if maximum.duty.speed_rad_per_s.abs() < normal.duty.speed_rad_per_s.abs() {
        below.push("speed".to_owned());
    }
    let reason = if below.is_empty() {
        "pressure, temperature and speed of maximum cover normal".to_owned()
    } else {
        format!("maximum lies below normal in {}", below.join(", "))
    };
    Ok(Assessment::within(below.is_empty(), Breach::Fail, reason))
}

fn hours(view: &CaseView) -> Judged {
    let stated: Vec<f64> = view.model.duties.iter().filter_map(|duty| duty.hours_per_year).collect();
    if stated.is_empty() {
        return Err(Skip::NotComputed("no duty states its hours per year".to_owned()));
    }
    let total: f64 = stated.iter().sum();
    Ok(Assessment::within(total <= 8784.0, Breach::Fail, format!("{} h in a year of 8784 h", number(total))).compared(total, 8784.0))
}

fn range(view: &DutyView) -> Judged {
    let Some([low, high]) = view.fluid.range_k else {
        return Err(Skip::NotComputed(format!("no range is stated for the data of {}", view.fluid.name)));
    };
    let at = view.chamber_temperature_k();
    let reason = format!("chamber {} in data from {} to {}", temperature(at), temperature(low), temperature(high));
    Ok(Assessment::within((low..=high).contains(&at), Breach::Caution, reason).compared(at, if at < low { low } else { high }))
}

fn phase(view: &DutyView) -> Judged {
    let gas_machine = view.gas_machine();
    if !gas_machine && !view.machine_is("pump") {
        return Err(Skip::DoesNotApply);
    }
    let Some(liquid) = view.chamber_is_liquid() else {
        return Err(Skip::NotComputed(format!("no saturation temperature is known for {}", view.fluid.name)));
    };
    let state = if liquid { "liquid" } else { "gas" };
    let reason = format!("chamber holds {state} at {} in a {}", temperature(view.chamber_temperature_k()), view.model.machine.kind);
    Ok(Assessment::within(liquid != gas_machine, Breach::Caution, reason))
}

fn near_critical(view: &DutyView) -> Judged {
    let Some([critical_k, critical_pa]) = view.fluid.critical else {
        return Err(Skip::DoesNotApply);
    };
    let (t, p) = (view.chamber_temperature_k() / critical_k, view.duty.pressure_pa / critical_pa);
    let near = t > 0.97 && t < 1.05 && p > 0.8 && p < 1.5;
    Ok(Assessment::within(!near, Breach::Caution, format!("T/Tc {}, p/pc {}", number(t), number(p))))
}

fn test_fluid(view: &DutyView) -> Judged {
    if !view.named("test") {
        return Err(Skip::DoesNotApply);
    }
    Ok(match &view.duty.fluid {
        Some(_) => Assessment::holds(format!("tested with {}", view.fluid.name)),
        None => Assessment::note(format!("no test fluid is named: computed with {}", view.fluid.name)),
    })
}

fn defaults(view: &CaseView) -> Judged {
    let defaults: Vec<_> = view.model.notices.iter().filter(|notice| notice.code.starts_with("default")).collect();
    let heavy = |notice: &&&Notice| {
        let about = format!("{} {}", notice.code, notice.field);
        ["viscosity", "vapour", "runout", "run-out"].iter().any(|word| about.contains(word))
    };
    let heavy: Vec<String> = defaults.iter().filter(heavy).map(|notice| notice.field.clone()).collect();
    let count = defaults.len();
    Ok(match (count, heavy.is_empty()) {
        (0, _) => Assessment::holds("nothing was taken by default"),
        (_, true) => Assessment::note(format!("{count} inputs were taken by default; each is a notice")),
        (_, false) => Assessment::watch(format!("{count} inputs were taken by default, among them {}", heavy.join(", "))),
    })
}

fn speed_box(view: &DutyView) -> Judged {
    let sliding = view.sliding_speed_m_per_s();
    let reason = format!("sliding speed {}", speed(sliding));
    if view.chamber_is_gas() {
        return Ok(Assessment::within(sliding <= 160.0, Breach::Fail, reason).compared(sliding, 160.0));
    }
    Ok(Assessment::graded(sliding, 80.0, 160.0, reason))
}

fn band(view: &CaseView) -> Judged {
    let model = view.model;
    let wide = match model.narrow_ring {
        RingRole::Rotating => &model.stationary_ring,
        RingRole::Stationary => &model.rotating_ring,
    };
    let on_face = wide.parts.iter().flat_map(|part| part.corners_m).filter(|corner| corner[1].abs() < 1e-9).map(|corner| corner[0]);
    let (inner, outer) = on_face.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), r| (low.min(r), high.max(r)));
    if !(inner.is_finite() && outer.is_finite()) {
        return Err(Skip::NotComputed("the wide ring has no edge on its running face".to_owned()));
    }
    let overhang = (model.band.inner_radius_m - inner).min(outer - model.band.outer_radius_m);
    let small = model.machine.shaft_diameter_m.is_none_or(|shaft| shaft <= 0.0505);
    let wanted = if small { 0.5e-3 } else { 0.7e-3 };
    let reason = format!("least overhang {}, wanted {}", length(overhang), length(wanted));
    Ok(Assessment::within(overhang >= wanted - 1e-9, Breach::Fail, reason).compared(overhang, wanted))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, reason_of, word_of};
    use crate::outcome::Word;

    #[test]
    fn pressure_below_vacuum_fails() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "duty.absolute-positive"), Some(Word::Holds));
        bench.duty_mut().low_pressure_pa = -10.0;
        assert_eq!(word_of(&bench, "duty.absolute-positive"), Some(Word::Fails));
    }

    #[test]
    fn one_duty_is_not_the_whole_story() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "duty.points-present"), Some(Word::Watch));
        for name in ["static test", "start", "maximum", "standstill"] {
            bench.add_duty(name, |_| ());
        }
        assert_eq!(word_of(&bench, "duty.points-present"), Some(Word::Holds));
    }

    #[test]
    fn maximum_must_cover_normal() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "duty.maximum-covers"), None);
        bench.add_duty("maximum", |duty| duty.pressure_pa = 1.7e6);
        assert_eq!(word_of(&bench, "duty.maximum-covers"), Some(Word::Holds));
        bench.model.duties[1].pressure_pa = 1.0e6;
        assert_eq!(word_of(&bench, "duty.maximum-covers"), Some(Word::Fails));
    }

    #[test]
    fn a_year_has_8784_hours_at_most() {
        let mut bench = Bench::booster();
        bench.duty_mut().hours_per_year = None;
        assert_eq!(word_of(&bench, "duty.hours"), Some(Word::NotComputed));
        bench.duty_mut().hours_per_year = Some(8784.0);
        assert_eq!(word_of(&bench, "duty.hours"), Some(Word::Holds));
        bench.duty_mut().hours_per_year = Some(8785.0);
        assert_eq!(word_of(&bench, "duty.hours"), Some(Word::Fails));
    }

    #[test]
    fn a_test_without_its_fluid_is_noted() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "duty.test-fluid"), None);
        bench.rename("static test");
        assert_eq!(word_of(&bench, "duty.test-fluid"), Some(Word::Holds));
        assert!(reason_of(&bench, "duty.test-fluid").starts_with("note: no test fluid is named"));
    }

    #[test]
    fn a_pump_wants_liquid() {
        let mut bench = Bench::booster();
        bench.outcome_mut().conditions.chamber_saturation_k = Some(463.0);
        assert_eq!(word_of(&bench, "duty.phase"), Some(Word::Holds));
        bench.outcome_mut().conditions.chamber_saturation_k = Some(300.0);
        assert_eq!(word_of(&bench, "duty.phase"), Some(Word::Watch));
        bench.outcome_mut().conditions.chamber_saturation_k = None;
        assert_eq!(word_of(&bench, "duty.phase"), Some(Word::NotComputed));
    }

    #[test]
    fn speed_has_two_limits_in_liquid() {
        let mut bench = Bench::booster();
        let radius = bench.model.band.mean_radius_m();
        for (speed, word) in [(79.9, Word::Holds), (80.1, Word::Watch), (160.1, Word::Fails)] {
            bench.duty_mut().speed_rad_per_s = speed / radius;
            assert_eq!(word_of(&bench, "duty.speed-box"), Some(word));
        }
    }

    #[test]
    fn the_narrow_ring_never_runs_over_an_edge() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "geometry.band"), Some(Word::Holds));
        bench.model.band.inner_radius_m = 23.9e-3;
        assert_eq!(word_of(&bench, "geometry.band"), Some(Word::Fails));
    }
}
