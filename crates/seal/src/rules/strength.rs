//! Strength of the rings.

use crate::model::{Fit, Part, Ring};
use crate::outcome::FitResult;

use super::facts::{Family, MaterialFacts};
use super::text::{self, length, pressure, speed, torque};
use super::view::{DutyView, ring_name};
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};

const GROUP: &str = "Strength";

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "ring.tension",
        group: GROUP,
        statement: "The greatest tension of a brittle ring is at most a quarter of its flexural strength, a third for carbon.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "flexural strength / 4 (carbon / 3)",
        hint: "Compression costs nothing, tension costs all: move the support, thicken the section, state fillets at roots.",
        judge: Judge::Duty(tension),
    },
    Rule {
        id: "ring.metal",
        group: GROUP,
        statement: "The equivalent stress of a metal part is at most 0.67 of its yield strength.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "0.67 yield",
        hint: "Thicken the part or take a stronger alloy.",
        judge: Judge::Duty(metal),
    },
    Rule {
        id: "ring.shrink",
        group: GROUP,
        statement: "A shrink fit stays pressed when hot, bears twice the torque, and does not crush carbon when cold (half its compressive strength).",
        breach: Breach::Fail,
        source: Source::Geometry,
        limit: "pressure above 0; slip torque 2 times; hoop 0.5 compressive",
        hint: "Choose a carrier whose expansion is near the insert's.",
        judge: Judge::Duty(shrink),
    },
    Rule {
        id: "ring.burst",
        group: GROUP,
        statement: "The rotating ring bursts at no less than 1.5 times its speed, 1.2 times for metal.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "1.5 (metal 1.2) times speed",
        hint: "Smaller ring, stronger material, or a band around it.",
        judge: Judge::Duty(burst),
    },
    Rule {
        id: "ring.retainer",
        group: GROUP,
        statement: "A rotating brittle ring above 60 m/s at its outside is banded.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "60 m/s",
        hint: "Fit a shrunk band, or prove the margin.",
        judge: Judge::Duty(retainer),
    },
];

fn materials(ring: &Ring) -> Vec<MaterialFacts> {
    ring.parts.iter().map(|part| MaterialFacts::of(&part.material)).collect()
}

fn tension(view: &DutyView) -> Judged {
    let equilibrium = view.solved()?;
    let mut worst: Option<(f64, f64, f64, String)> = None;
    let mut open_roots = Vec::new();
    for (ring, result) in view.rings(equilibrium) {
        let stress = &result.stress_pa;
        let mut open = stress.not_assessed.clone();
        let there = materials(ring).into_iter().find(|material| material.name == stress.tension_material);
        let brittle = materials(ring).into_iter().find(|material| material.family.is_brittle());
        let material = there.or_else(|| materials(ring).into_iter().next());
        // The one greatest tension of a ring says nothing of a brittle insert where it stands in the metal round it.
        if let (Some(insert), Some(metal)) = (&brittle, &material)
            && !metal.family.is_brittle()
        {
            open.push(format!("{} (the greatest tension stands in {})", insert.name, metal.name));
        }
        if !open.is_empty() {
            open_roots.push(format!("{}: {}", ring_name(ring.role), open.join("; ")));
        }
        let Some(material) = material.filter(|material| material.family.is_brittle()) else {
            continue;
        };
        let Some(flexural) = material.flexural_pa else {
            return Err(Skip::NotComputed(format!("the flexural strength of {} is not known", material.name)));
        };
        let limit = flexural / if material.family.is_carbon() { 3.0 } else { 4.0 };
        let used = stress.tension_max / limit;
        if worst.as_ref().is_none_or(|w| used > w.0) {
            let [r, z] = stress.tension_at_m;
            let place = format!("{} of {} at r {}, z {}", ring_name(ring.role), material.name, length(r), length(z));
            worst = Some((used, stress.tension_max, limit, place));
        }
    }
    let Some((used, greatest, limit, place)) = worst else {
        let has_brittle = view.rings(equilibrium).into_iter().any(|(ring, _)| materials(ring).iter().any(|part| part.family.is_brittle()));
        return Err(if has_brittle { Skip::NotComputed(format!("not assessed: {}", open_roots.join(". "))) } else { Skip::DoesNotApply });
    };
    let reason = format!("{place}: tension {} against {}", pressure(greatest), pressure(limit));
    let assessment = match (used <= 1.0, open_roots.is_empty()) {
        (false, _) => Assessment::fails(reason),
        (true, true) => Assessment::holds(reason),
        (true, false) => Assessment::holds(format!("{reason}; not assessed: {}", open_roots.join(". "))).at_best_watch(),
    };
    Ok(assessment.compared(greatest, limit))
}

fn metal(view: &DutyView) -> Judged {
    let equilibrium = view.solved()?;
    let mut worst: Option<(f64, f64, f64, String)> = None;
    for (ring, result) in view.rings(equilibrium) {
        let facts = materials(ring);
        let metals: Vec<&MaterialFacts> = facts.iter().filter(|material| material.family.is_ductile()).collect();
        let Some(weakest) = metals.iter().min_by(|a, b| a.yield_pa.unwrap_or(0.0).total_cmp(&b.yield_pa.unwrap_or(0.0))) else {
            continue;
        };
        let Some(yield_strength) = weakest.yield_pa else {
            return Err(Skip::NotComputed(format!("the yield strength of {} is not known", weakest.name)));
        };
        let stress = result.stress_pa.von_mises_max;
        let limit = 0.67 * yield_strength;
        let composite = metals.len() < facts.len();
        if composite && stress > limit {
            return Err(Skip::NotComputed(format!(
                "greatest equivalent stress of the {} {} exceeds {}, but it may stand in its brittle part",
                ring_name(ring.role),
                pressure(stress),
                pressure(limit)
            )));
        }
        let place = format!("{}, {}", ring_name(ring.role), weakest.name);
        if worst.as_ref().is_none_or(|w| stress / limit > w.0) {
            worst = Some((stress / limit, stress, limit, place));
        }
    }
    let Some((used, stress, limit, place)) = worst else {
        return Err(Skip::DoesNotApply);
    };
    let reason = format!("{place}: equivalent stress {} against {}", pressure(stress), pressure(limit));
    Ok(Assessment::within(used <= 1.0, Breach::Fail, reason).compared(stress, limit))
}

fn shrink(view: &DutyView) -> Judged {
    let fits: Vec<(&Ring, &Part, Fit)> = [&view.model.rotating_ring, &view.model.stationary_ring]
        .into_iter()
        .flat_map(|ring| ring.parts.iter().filter_map(move |part| part.fit.map(|fit| (ring, part, fit))))
        .collect();
    if fits.is_empty() {
        return Err(Skip::DoesNotApply);
    }
    let equilibrium = view.solved()?;
    let running = equilibrium.torque_n_m.nominal.abs();
    let running_high = equilibrium.torque_n_m.high.abs().max(equilibrium.torque_n_m.low.abs());
    let results: Vec<(&Ring, &FitResult)> =
        view.rings(equilibrium).into_iter().flat_map(|(ring, result)| result.fits.iter().map(move |fit| (ring, fit))).collect();
    if results.is_empty() {
        return Err(Skip::NotComputed("the fits were not computed".to_owned()));
    }
    let mut reasons = Vec::new();
    let mut within = true;
    let mut may_slip = false;
    for (ring, fit) in results {
        let margin = fit.slip_torque_n_m / running.max(f64::MIN_POSITIVE);
        let bears = running == 0.0 || margin >= 2.0;
        within &= fit.pressure_pa > 0.0 && bears;
        may_slip |= fit.slip_torque_n_m < 2.0 * running_high;
        reasons.push(format!(
            "{} fit at r {}: pressure {}, remaining interference {}, slips at {} against {} running",
            ring_name(ring.role),
            length(fit.radius_m),
            pressure(fit.pressure_pa),
            length(fit.interference_m),
            torque(fit.slip_torque_n_m),
            torque(running)
        ));
        if let Some((hoop, limit)) = cold_hoop(ring, fit) {
            within &= hoop <= limit;
            reasons.push(format!("carbon hoop when cold {} against {}", pressure(hoop), pressure(limit)));
        }
    }
    let end = || format!("less than twice the high estimate {} of the torque", torque(running_high));
    Ok(Assessment::within(within, Breach::Fail, reasons.join("; ")).unless_range_crosses(may_slip, Breach::Fail, end))
}

/// Hoop compression at the bore of a carbon insert with its cold interference, and half its compressive strength:
/// Lame's thick ring, the pressure in proportion to the interference.
fn cold_hoop(ring: &Ring, result: &FitResult) -> Option<(f64, f64)> {
    let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
    let fit = ring.parts.iter().filter_map(|part| part.fit).find(|fit| near(fit.radius_m, result.radius_m))?;
    if result.pressure_pa <= 0.0 || result.interference_m <= 0.0 {
        return None;
    }
    let inner = ring.parts.iter().find(|part| near(radii(part)[1], result.radius_m))?;
    let material = MaterialFacts::of(&inner.material);
    if !material.family.is_carbon() {
        return None;
    }
    let cold_pressure = result.pressure_pa * (fit.interference_m / result.interference_m).max(1.0);
    let [bore, outside] = radii(inner);
    let hoop = 2.0 * cold_pressure * outside.powi(2) / (outside.powi(2) - bore.powi(2));
    Some((hoop, 0.5 * material.compression_pa?))
}

fn radii(part: &Part) -> [f64; 2] {
    part.corners_m.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], corner| [low.min(corner[0]), high.max(corner[0])])
}

/// Greatest hoop stress of a spinning flat ring, at its bore, Pa: `(rho w^2/4)((3 + nu) ro^2 + (1 - nu) ri^2)`
/// (Timoshenko and Goodier, *Theory of Elasticity*, from memory).
fn spinning_hoop(density: f64, poisson: f64, speed_rad_per_s: f64, [bore, outside]: [f64; 2]) -> f64 {
    0.25 * density * speed_rad_per_s.powi(2) * ((3.0 + poisson) * outside.powi(2) + (1.0 - poisson) * bore.powi(2))
}

fn burst(view: &DutyView) -> Judged {
    view.while_turning()?;
    let mut worst: Option<(f64, f64, String)> = None;
    for part in &view.model.rotating_ring.parts {
        let material = MaterialFacts::of(&part.material);
        let (Some(strength), Some(density)) = (material.tension_pa, material.density_kg_per_m3) else {
            return Err(Skip::NotComputed(format!("tensile strength or density of {} is not known", material.name)));
        };
        let hoop = spinning_hoop(density, material.poisson.unwrap_or(0.3), view.duty.speed_rad_per_s, radii(part));
        let ratio = (strength / hoop.max(f64::MIN_POSITIVE)).sqrt();
        let wanted = if material.family.is_brittle() { 1.5 } else { 1.2 };
        if worst.as_ref().is_none_or(|w| ratio / wanted < w.0 / w.1) {
            worst = Some((
                ratio,
                wanted,
                format!("{}: hoop stress of spin {}, strength {}", material.name, pressure(hoop), pressure(strength)),
            ));
        }
    }
    let Some((ratio, wanted, item)) = worst else {
        return Err(Skip::NotComputed("the rotating ring has no section".to_owned()));
    };
    let reason = format!("{item}; bursts at {} times this speed", text::ratio(ratio));
    Ok(Assessment::within(ratio >= wanted, Breach::Fail, reason).compared(ratio, wanted))
}

fn retainer(view: &DutyView) -> Judged {
    view.while_turning()?;
    let facts = materials(&view.model.rotating_ring);
    if !facts.iter().any(|material| material.family.is_brittle()) || facts.iter().any(|material| material.family == Family::Metal) {
        return Err(Skip::DoesNotApply);
    }
    let outside = view.model.rotating_ring.parts.iter().map(|part| radii(part)[1]).fold(0.0, f64::max);
    let rim = outside * view.duty.speed_rad_per_s.abs();
    Ok(Assessment::within(rim <= 60.0, Breach::Caution, format!("rim of the brittle ring at {}", speed(rim))).compared(rim, 60.0))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, reason_of, word_of};
    use super::spinning_hoop;
    use crate::model::Fit;
    use crate::outcome::{FitResult, Ranged, Word};

    /// Carbon: 65 MPa / 3 = 21.7 MPa; sintered silicon carbide: 360 / 4 = 90 MPa.
    #[test]
    fn tension_against_flexural_strength() {
        let mut bench = Bench::booster();
        bench.equilibrium_mut().rings.rotating.stress_pa.tension_material = "carbon graphite, resin impregnated".to_owned();
        for (stress, word) in [(21.6e6, Word::Holds), (21.8e6, Word::Fails)] {
            bench.equilibrium_mut().rings.rotating.stress_pa.tension_max = stress;
            assert_eq!(word_of(&bench, "ring.tension"), Some(word));
        }
        bench.equilibrium_mut().rings.rotating.stress_pa.tension_max = 1e6;
        for (stress, word) in [(89e6, Word::Holds), (91e6, Word::Fails)] {
            bench.equilibrium_mut().rings.stationary.stress_pa.tension_max = stress;
            assert_eq!(word_of(&bench, "ring.tension"), Some(word));
        }
    }

    #[test]
    fn a_root_that_is_not_assessed_never_holds() {
        let mut bench = Bench::booster();
        bench.equilibrium_mut().rings.rotating.stress_pa.not_assessed = vec!["nose root".to_owned()];
        assert_eq!(word_of(&bench, "ring.tension"), Some(Word::Watch));
        assert!(reason_of(&bench, "ring.tension").contains("nose root"));
    }

    #[test]
    fn metal_against_yield() {
        let mut bench = Bench::with_faces("carbon graphite, resin impregnated", "stainless steel 316 (UNS S31600)");
        // 0.67 x 205 MPa = 137.35 MPa
        for (stress, word) in [(137e6, Word::Holds), (138e6, Word::Fails)] {
            bench.equilibrium_mut().rings.stationary.stress_pa.von_mises_max = stress;
            assert_eq!(word_of(&bench, "ring.metal"), Some(word));
        }
    }

    #[test]
    fn a_fit_must_stay_pressed() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "ring.shrink"), None);
        bench.model.rotating_ring.parts[0].fit = Some(Fit { radius_m: 30.8e-3, interference_m: 40e-6, temperature_k: 293.15 });
        assert_eq!(word_of(&bench, "ring.shrink"), Some(Word::NotComputed));
        bench.equilibrium_mut().torque_n_m = Ranged::exact(1.0);
        let good =
            FitResult { radius_m: 30.8e-3, pressure_pa: 5e6, interference_m: 20e-6, slip_torque_n_m: 2.1, loosening_temperature_k: None };
        bench.equilibrium_mut().rings.rotating.fits = vec![good.clone()];
        assert_eq!(word_of(&bench, "ring.shrink"), Some(Word::Holds));
        bench.equilibrium_mut().torque_n_m.high = 1.1;
        assert_eq!(word_of(&bench, "ring.shrink"), Some(Word::Watch), "the torque may be above half of what slips");
        bench.equilibrium_mut().torque_n_m = Ranged::exact(1.0);
        bench.equilibrium_mut().rings.rotating.fits = vec![FitResult { slip_torque_n_m: 1.9, ..good.clone() }];
        assert_eq!(word_of(&bench, "ring.shrink"), Some(Word::Fails));
        bench.equilibrium_mut().rings.rotating.fits = vec![FitResult { pressure_pa: 0.0, ..good.clone() }];
        assert_eq!(word_of(&bench, "ring.shrink"), Some(Word::Fails));
        // Cold pressure 40 MPa on r 24.45 to 30.8: hoop 216 MPa, above half of 210 MPa.
        bench.equilibrium_mut().rings.rotating.fits = vec![FitResult { pressure_pa: 20e6, ..good }];
        assert_eq!(word_of(&bench, "ring.shrink"), Some(Word::Fails));
    }

    /// Thin ring limit `rho w^2 r^2`; the ammonia compressor's hand table has 18.1 MPa (137 mm mean diameter, 10 500 rpm).
    #[test]
    fn spinning_hoop_of_a_thin_ring() {
        let speed = 10_500.0 * std::f64::consts::PI / 30.0;
        let radius = 68.5e-3;
        let hoop = spinning_hoop(3150.0, 0.16, speed, [radius, radius]);
        assert!((hoop / 18.1e6 - 1.0).abs() < 0.02, "{hoop}");
        assert!((hoop / (3150.0 * (speed * radius).powi(2)) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn burst_and_rim_speed() {
        let mut bench = Bench::booster(); // carbon 1820 kg/m3, 40 MPa, r to 35 mm
        assert_eq!(word_of(&bench, "ring.burst"), Some(Word::Holds));
        assert_eq!(word_of(&bench, "ring.retainer"), Some(Word::Holds));
        bench.duty_mut().speed_rad_per_s = 61.0 / 35e-3;
        assert_eq!(word_of(&bench, "ring.retainer"), Some(Word::Watch));
        bench.duty_mut().speed_rad_per_s = 130.0 / 35e-3;
        assert_eq!(word_of(&bench, "ring.burst"), Some(Word::Fails));
    }
}
