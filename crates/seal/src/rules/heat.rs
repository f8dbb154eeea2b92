//! Heat: what the faces and the flush bear.

use super::facts::MaterialFacts;
use super::text::{self, number, power, supply_flow, temperature, temperature_difference, torque};
use super::view::{CaseView, DutyView, ring_name};
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};
use crate::outcome::Equilibrium;

const GROUP: &str = "Heat";

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "heat.flush-rise",
        group: GROUP,
        statement: "Seal heat warms the flush by at most 5.6 K; above 15 K it fails.",
        breach: Breach::Caution,
        source: Source::Secondary,
        limit: "5.6 K; fails above 15 K",
        hint: "Raise the flow or cut the heat.",
        judge: Judge::Duty(flush_rise),
    },
    Rule {
        id: "heat.face",
        group: GROUP,
        statement: "The hottest place of a face lies below the limits of both face materials, of the fluid and of the user.",
        breach: Breach::Fail,
        source: Source::Geometry,
        limit: "lowest of material service, coking and user's limit",
        hint: "Cool, lower the load, or take the material that is not the limiting one.",
        judge: Judge::Duty(face),
    },
    Rule {
        id: "heat.power",
        group: GROUP,
        statement: "Power lost in the seal stays below the user's limit.",
        breach: Breach::Fail,
        source: Source::User,
        limit: "[limits] power",
        hint: "Lower the balance ratio, spring force or face width.",
        judge: Judge::Duty(power_limit),
    },
    Rule {
        id: "heat.start-torque",
        group: GROUP,
        statement: "A start needs 3 to 5 times the running torque.",
        breach: Breach::Caution,
        source: Source::Memory,
        limit: "3 to 5 times running",
        hint: "Compare with the reserve of the drive, pins and O-ring grip.",
        judge: Judge::Duty(start_torque),
    },
    Rule {
        id: "heat.thick",
        group: GROUP,
        statement: "The greatest torque of all duties stays within what drive, pins and O-ring grip bear.",
        breach: Breach::Caution,
        source: Source::Geometry,
        limit: "drive limit; without one, 3 times the normal torque",
        hint: "Check drive, pins and O-ring grip. Thick liquid: preheat, trace, or fit a jacket; contact: lower the load on the faces.",
        judge: Judge::Case(thick),
    },
    Rule {
        id: "heat.thermal-shock",
        group: GROUP,
        statement: "The face of a brittle ring is warmer than the chamber by at most half of what cracks a restrained plate, sigma (1 - nu)/(E alpha).",
        breach: Breach::Caution,
        source: Source::Geometry,
        limit: "0.5 sigma (1 - nu)/(E alpha)",
        hint: "Slow the change; silicon carbide and carbon bear it best.",
        judge: Judge::Duty(thermal_shock),
    },
    Rule {
        id: "heat.checking",
        group: GROUP,
        statement: "Hard faces rank by k sigma (1 - nu)/(E alpha): the lowest cracks first.",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "ranking only",
        hint: "Tungsten carbide and alumina crack before silicon carbide.",
        judge: Judge::Case(checking),
    },
];

fn flush_rise(view: &DutyView) -> Judged {
    let Some(flow) = view.model.seal.flush_m3_per_s else {
        return Err(Skip::NotComputed("no flush flow is given".to_owned()));
    };
    if flow <= 0.0 {
        return Err(Skip::NotComputed("the flush flow is zero".to_owned()));
    }
    view.while_turning()?;
    let equilibrium = view.solved()?;
    let Some(specific_heat) = view.fluid.specific_heat_j_per_kg_k else {
        return Err(Skip::NotComputed(format!("no specific heat is known for {}", view.fluid.name)));
    };
    let heat = equilibrium.power_w.nominal + view.model.seal.heat_soak_w;
    let heat_high = equilibrium.power_w.high + view.model.seal.heat_soak_w;
    let capacity = view.outcome.conditions.chamber_density_kg_per_m3 * flow * specific_heat;
    let (rise, high) = (heat / capacity, heat_high / capacity);
    let (usual, most) = (5.6, 15.0);
    let warm = format!("{} warm {} by {}", power(heat), supply_flow(flow), temperature_difference(rise));
    let reason = format!("{warm}, usual up to {}", temperature_difference(usual));
    let end = || format!("its high estimate {} is above", temperature_difference(high));
    Ok(Assessment::graded(rise, usual, most, reason).unless_range_crosses(high > usual, Breach::Caution, end))
}

fn face(view: &DutyView) -> Judged {
    let equilibrium = view.solved()?;
    let user = view.model.limits.face_temperature_k.map(|limit| (limit, "your limit".to_owned(), Source::User));
    let service = |face: &MaterialFacts| face.service_k.map(|[_, high]| (high, face.name.clone(), Source::Geometry));
    let open = view.low_side_is_air() && view.single() && !view.quenched();
    let coking = view.fluid.cokes_k.filter(|_| open).map(|limit| (limit, format!("{} cokes in air", view.fluid.name), Source::Geometry));
    let limits = view.faces().into_iter().filter_map(service).chain(coking).chain(user);
    let Some((limit, item, source)) = limits.min_by(|a, b| a.0.total_cmp(&b.0)) else {
        return Err(Skip::NotComputed("no temperature limit of the face materials is known".to_owned()));
    };
    let hottest = equilibrium.face_temperature_max_k;
    let reason = format!("face {} against {} ({item})", temperature(hottest.nominal), temperature(limit));
    let end = || format!("its high estimate {} is above", temperature(hottest.high));
    let assessment =
        Assessment::within(hottest.nominal <= limit, Breach::Fail, reason).unless_range_crosses(hottest.high > limit, Breach::Fail, end);
    Ok(assessment.compared(hottest.nominal, limit).sourced(source))
}

fn power_limit(view: &DutyView) -> Judged {
    let Some(limit) = view.model.limits.power_w else {
        return Err(Skip::DoesNotApply);
    };
    let lost = view.solved()?.power_w;
    let reason = format!("power {} against {}", power(lost.nominal), power(limit));
    let end = || format!("its high estimate {} is above", power(lost.high));
    let assessment = Assessment::within(lost.nominal <= limit, Breach::Fail, reason);
    Ok(assessment.unless_range_crosses(lost.high > limit, Breach::Fail, end).compared(lost.nominal, limit))
}

fn start_torque(view: &DutyView) -> Judged {
    view.while_turning()?;
    if !view.is_normal() {
        return Err(Skip::DoesNotApply);
    }
    let equilibrium = view.solved()?;
    let running = running_torque(equilibrium);
    let computed = equilibrium
        .break_away_torque_n_m
        .map_or_else(String::new, |away| format!("; to break away from rest, computed, {} to {}", torque(away.low), torque(away.high)));
    let usual = format!("running {}, starting {} to {} by rule", torque(running), torque(3.0 * running), torque(5.0 * running));
    let above = equilibrium.break_away_torque_n_m.is_some_and(|away| away.nominal.max(away.low) > 5.0 * running);
    let reason = usual + &computed;
    Ok(if above { Assessment::watch(reason) } else { Assessment::note(reason) })
}

fn thick(view: &CaseView) -> Judged {
    let normal = view.normal()?;
    let usual = running_torque(normal.solved()?);
    let turning = view.duties.iter().filter(|duty| duty.turns());
    let solved = turning.filter_map(|duty| Some((duty, duty.solved().ok()?)));
    let Some((duty, equilibrium)) = solved.max_by(|a, b| running_torque(a.1).total_cmp(&running_torque(b.1))) else {
        return Err(Skip::NotComputed("no turning duty was solved".to_owned()));
    };
    let greatest = running_torque(equilibrium);
    let ratio = greatest / usual.max(f64::MIN_POSITIVE);
    let heat = equilibrium.heat_split_w;
    let cause = if heat.contact > heat.viscous { "most of it by contact" } else { "most of it by shear of the film" };
    let reason = format!(
        "greatest torque {} at {}, {cause}, {} times the normal {}",
        torque(greatest),
        duty.duty.name,
        text::ratio(ratio),
        torque(usual)
    );
    if ratio <= 3.0 {
        return Ok(Assessment::holds(reason).compared(greatest, 3.0 * usual));
    }
    Ok(Assessment::watch(reason).compared(greatest, 3.0 * usual))
}

fn running_torque(equilibrium: &Equilibrium) -> f64 {
    equilibrium.torque_n_m.nominal.abs()
}

/// Temperature difference that cracks a restrained plate, K: `sigma (1 - nu)/(E alpha)`.
fn cracking_difference(material: &MaterialFacts) -> Option<f64> {
    let strength = material.tension_pa?;
    Some(strength * (1.0 - material.poisson?) / (material.youngs_modulus_pa? * material.expansion_per_k?))
}

fn thermal_shock(view: &DutyView) -> Judged {
    let equilibrium = view.solved()?;
    let mut worst: Option<(f64, f64, f64, String)> = None;
    for ((ring, result), material) in view.rings(equilibrium).into_iter().zip(view.faces()) {
        if !material.family.is_brittle() {
            continue;
        }
        let Some(cracking) = cracking_difference(material) else {
            return Err(Skip::NotComputed(format!("strength, modulus or expansion of {} is not known", material.name)));
        };
        let difference = (result.face_temperature_max_k - view.chamber_temperature_k()).abs();
        let used = difference / (0.5 * cracking);
        if worst.as_ref().is_none_or(|w| used > w.0) {
            worst = Some((used, difference, 0.5 * cracking, format!("{} of {}", ring_name(ring.role), material.name)));
        }
    }
    let Some((used, difference, limit, item)) = worst else {
        return Err(Skip::DoesNotApply);
    };
    let reason = format!("{item}: face {} above the chamber, limit {}", temperature_difference(difference), temperature_difference(limit));
    Ok(Assessment::within(used <= 1.0, Breach::Caution, reason).compared(difference, limit))
}

fn checking(view: &CaseView) -> Judged {
    let Some(duty) = view.duties.first() else {
        return Err(Skip::NotComputed("no duty was asked for".to_owned()));
    };
    let hard: Vec<&MaterialFacts> = duty.faces().into_iter().filter(|face| face.family.is_hard()).collect();
    if hard.is_empty() {
        return Err(Skip::DoesNotApply);
    }
    let mut ranked = Vec::new();
    for material in hard {
        match (cracking_difference(material), material.conductivity_w_per_m_k) {
            (Some(difference), Some(conductivity)) => ranked.push((difference * conductivity, &material.name)),
            _ => return Err(Skip::NotComputed(format!("strength, modulus, expansion or conductivity of {} is not known", material.name))),
        }
    }
    ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
    let words: Vec<String> = ranked.iter().map(|(index, name)| format!("{name} {} W/m", number(*index))).collect();
    Ok(Assessment::note(format!("resistance to heat checking: {}", words.join(", "))))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, reason_of, word_of};
    use crate::outcome::{Ranged, Word};

    #[test]
    fn flush_rise_has_two_limits() {
        let mut bench = Bench::booster();
        // 1045 kg/m3 x 1e-4 m3/s x 3845 J/(kg K) = 401.8 W/K
        bench.specific_heat = Some(3845.0);
        bench.outcome_mut().conditions.chamber_density_kg_per_m3 = 1045.0;
        for (watts, word) in [(2200.0, Word::Holds), (2300.0, Word::Watch), (6100.0, Word::Fails)] {
            bench.equilibrium_mut().power_w = Ranged::exact(watts);
            assert_eq!(word_of(&bench, "heat.flush-rise"), Some(word));
        }
        bench.equilibrium_mut().power_w = Ranged { low: 2000.0, nominal: 2200.0, high: 2300.0 };
        assert_eq!(word_of(&bench, "heat.flush-rise"), Some(Word::Watch), "the range crosses 5.6 K");
        bench.model.seal.flush_m3_per_s = None;
        assert_eq!(word_of(&bench, "heat.flush-rise"), Some(Word::NotComputed));
    }

    #[test]
    fn face_temperature_meets_the_users_limit_too() {
        let mut bench = Bench::booster();
        bench.model.limits.face_temperature_k = Some(350.0);
        bench.equilibrium_mut().face_temperature_max_k = Ranged { low: 330.0, nominal: 340.0, high: 349.0 };
        assert_eq!(word_of(&bench, "heat.face"), Some(Word::Holds));
        bench.equilibrium_mut().face_temperature_max_k = Ranged { low: 330.0, nominal: 340.0, high: 351.0 };
        assert_eq!(word_of(&bench, "heat.face"), Some(Word::Watch));
        bench.equilibrium_mut().face_temperature_max_k = Ranged { low: 330.0, nominal: 350.5, high: 351.0 };
        assert_eq!(word_of(&bench, "heat.face"), Some(Word::Fails));
    }

    #[test]
    fn resin_carbon_ends_at_its_service_temperature() {
        let mut bench = Bench::booster();
        bench.equilibrium_mut().face_temperature_max_k = Ranged::exact(473.0);
        assert_eq!(word_of(&bench, "heat.face"), Some(Word::Holds));
        bench.equilibrium_mut().face_temperature_max_k = Ranged::exact(474.0); // 200 degC is 473.15 K
        assert_eq!(word_of(&bench, "heat.face"), Some(Word::Fails));
    }

    #[test]
    fn a_power_limit_is_the_users() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "heat.power"), None);
        bench.model.limits.power_w = Some(200.0);
        bench.equilibrium_mut().power_w = Ranged::exact(199.0);
        assert_eq!(word_of(&bench, "heat.power"), Some(Word::Holds));
        bench.equilibrium_mut().power_w = Ranged { low: 150.0, nominal: 199.0, high: 260.0 };
        assert_eq!(word_of(&bench, "heat.power"), Some(Word::Watch));
        assert_eq!(reason_of(&bench, "heat.power"), "power 199 W against 200 W; its high estimate 260 W is above");
        bench.equilibrium_mut().power_w = Ranged::exact(201.0);
        assert_eq!(word_of(&bench, "heat.power"), Some(Word::Fails));
    }

    #[test]
    fn a_thick_cold_start_is_seen() {
        let mut bench = Bench::booster();
        bench.equilibrium_mut().torque_n_m = Ranged::exact(1.0);
        bench.add_duty("start, cold", |_| ());
        bench.outcome.duties[1].equilibria[0].torque_n_m = Ranged::exact(2.9);
        assert_eq!(word_of(&bench, "heat.thick"), Some(Word::Holds)); // no drive limit, nothing alarming
        bench.outcome.duties[1].equilibria[0].torque_n_m = Ranged::exact(3.1);
        assert_eq!(word_of(&bench, "heat.thick"), Some(Word::Watch));
        for (viscous, contact, cause) in [(40.0, 10.0, "by shear of the film"), (10.0, 40.0, "by contact")] {
            let heat = &mut bench.outcome.duties[1].equilibria[0].heat_split_w;
            (heat.viscous, heat.contact) = (viscous, contact);
            assert!(reason_of(&bench, "heat.thick").contains(cause), "{}", reason_of(&bench, "heat.thick"));
        }
    }

    /// Carbon: 40e6 x 0.8/(23e9 x 4.5e-6) = 309 K, half of it 155 K.
    #[test]
    fn thermal_shock_of_carbon() {
        let mut bench = Bench::booster();
        let chamber = bench.outcome_mut().conditions.chamber_temperature_k;
        bench.equilibrium_mut().rings.stationary.face_temperature_max_k = chamber;
        for (rise, word) in [(154.0, Word::Holds), (156.0, Word::Watch)] {
            bench.equilibrium_mut().rings.rotating.face_temperature_max_k = chamber + rise;
            assert_eq!(word_of(&bench, "heat.thermal-shock"), Some(word));
        }
    }
}
