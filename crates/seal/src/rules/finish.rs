//! Form and finish of the faces as stated in the case.

use crate::model::{Ring, RingRole};

use super::facts::{Family, MaterialFacts};
use super::text::{length, number, pressure, ratio};
use super::view::{CaseView, ring_name};
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};

const GROUP: &str = "Form and finish";

/// One light band at 588 nm, m.
pub const LIGHT_BAND_M: f64 = 0.294e-6;

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "flat.size",
        group: GROUP,
        statement: "Flatness: 2 light bands up to 100 mm outside diameter, 3 to 200, 4 to 400, 6 above.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "2, 3, 4 or 6 bands of 0.294 um; fails at twice",
        hint: "Measure flatness on the assembled ring.",
        judge: Judge::Case(size),
    },
    Rule {
        id: "flat.pressure",
        group: GROUP,
        statement: "Above 4 MPa the faces are flat to one band.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "1 band above 4 MPa",
        hint: "Lap finer for high pressure.",
        judge: Judge::Case(high_pressure),
    },
    Rule {
        id: "flat.form",
        group: GROUP,
        statement: "The lapped form is stated as concave or convex, not by bands alone.",
        breach: Breach::Note,
        source: Source::Practice,
        limit: "`lapped_form` of each ring",
        hint: "The sign of the lapped form adds to coning.",
        judge: Judge::Case(form),
    },
    Rule {
        id: "finish.ra",
        group: GROUP,
        statement: "Usual finish Ra: carbon 0.1-0.25, silicon carbide 0.02-0.10, tungsten carbide 0.01-0.05, alumina 0.1-0.2 um.",
        breach: Breach::Note,
        source: Source::Memory,
        limit: "by material",
        hint: "Too fine a hard face may not wet.",
        judge: Judge::Case(roughness),
    },
];

/// Both rings, each with the facts of its face.
fn rings<'a>(view: &'a CaseView) -> Result<[(&'a Ring, &'a MaterialFacts); 2], Skip> {
    let duty = view.duties.first().ok_or_else(|| Skip::NotComputed("no duty was asked for".to_owned()))?;
    Ok([(&view.model.rotating_ring, &duty.rotating), (&view.model.stationary_ring, &duty.stationary)])
}

/// The ring for which `used` is greatest.
fn worst<'a>(view: &'a CaseView, used: impl Fn(&Ring) -> f64) -> (&'a Ring, f64) {
    let rings = [&view.model.rotating_ring, &view.model.stationary_ring];
    let [a, b] = rings.map(&used);
    if a >= b { (rings[0], a) } else { (rings[1], b) }
}

fn size(view: &CaseView) -> Judged {
    let diameter = 2.0 * view.model.band.outer_radius_m;
    let bands = match diameter {
        d if d <= 0.1 => 2.0,
        d if d <= 0.2 => 3.0,
        d if d <= 0.4 => 4.0,
        _ => 6.0,
    };
    let (ring, stated) = worst(view, |ring| ring.flatness_m / LIGHT_BAND_M);
    let name = ring_name(ring.role);
    let reason = format!("{name} {} bands at {} diameter, usual {}", ratio(stated), length(diameter), number(bands));
    // Bands are read to a tenth: a hair above the limit is not a breach.
    let slack = 1.02;
    Ok(Assessment::graded(stated, slack * bands, slack * 2.0 * bands, reason).compared(stated, bands))
}

fn high_pressure(view: &CaseView) -> Judged {
    let greatest = view.duties.iter().map(|duty| duty.pressure_difference_pa()).fold(0.0, f64::max);
    if greatest <= 4e6 {
        return Err(Skip::DoesNotApply);
    }
    let (ring, stated) = worst(view, |ring| ring.flatness_m / LIGHT_BAND_M);
    let reason = format!("{} {} bands at {}", ring_name(ring.role), ratio(stated), pressure(greatest));
    Ok(Assessment::within(stated <= 1.02, Breach::Caution, reason).compared(stated, 1.0))
}

fn form(view: &CaseView) -> Judged {
    let unstated = [RingRole::Rotating, RingRole::Stationary].map(|role| {
        // The form is stated by `lapped_form` or `lapped_coning`.
        let field = match role {
            RingRole::Rotating => "rotating_ring.lapped_",
            RingRole::Stationary => "stationary_ring.lapped_",
        };
        view.model.notices.iter().any(|notice| notice.code.starts_with("default") && notice.field.starts_with(field))
    });
    let reason = match unstated {
        [false, false] => "the lapped form of both rings is stated",
        [true, true] => "the lapped form of neither ring is stated: both are taken as flat",
        [true, false] => "the lapped form of the rotating ring is not stated: it is taken as flat",
        [false, true] => "the lapped form of the stationary ring is not stated: it is taken as flat",
    };
    Ok(Assessment::within(unstated == [false, false], Breach::Note, reason))
}

fn roughness(view: &CaseView) -> Judged {
    let mut outside = Vec::new();
    let mut listed = 0;
    for (ring, material) in rings(view)? {
        let [low, high] = match material.family {
            family if family.is_carbon() => [0.1e-6, 0.25e-6],
            Family::SinteredSiliconCarbide | Family::ReactionBondedSiliconCarbide => [0.02e-6, 0.10e-6],
            Family::NickelTungstenCarbide | Family::CobaltTungstenCarbide => [0.01e-6, 0.05e-6],
            Family::Alumina => [0.1e-6, 0.2e-6],
            _ => continue,
        };
        listed += 1;
        let ra = ring.roughness_rq_m / 1.2533; // Gaussian faces
        if ra < low * 0.999 || ra > high * 1.001 {
            outside.push(format!("{} Ra {}, usual {} to {}", material.name, length(ra), length(low), length(high)));
        }
    }
    if listed == 0 {
        return Err(Skip::DoesNotApply);
    }
    let reason = if outside.is_empty() { "both faces in their usual finish".to_owned() } else { outside.join("; ") };
    Ok(Assessment::within(outside.is_empty(), Breach::Note, reason))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, reason_of, word_of};
    use super::LIGHT_BAND_M;
    use crate::notice::Notice;
    use crate::outcome::Word;

    #[test]
    fn flatness_by_size() {
        let mut bench = Bench::booster();
        for (bands, word) in [(2.0, Word::Holds), (2.1, Word::Watch), (4.0, Word::Watch), (4.2, Word::Fails)] {
            bench.model.rotating_ring.flatness_m = bands * LIGHT_BAND_M;
            assert_eq!(word_of(&bench, "flat.size"), Some(word), "{bands}");
        }
    }

    #[test]
    fn one_band_at_high_pressure() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "flat.pressure"), None);
        bench.duty_mut().pressure_pa = 4.2e6;
        assert_eq!(word_of(&bench, "flat.pressure"), Some(Word::Watch));
        bench.model.rotating_ring.flatness_m = LIGHT_BAND_M;
        bench.model.stationary_ring.flatness_m = LIGHT_BAND_M;
        assert_eq!(word_of(&bench, "flat.pressure"), Some(Word::Holds));
    }

    #[test]
    fn unstated_form_is_told() {
        let mut bench = Bench::booster();
        assert!(reason_of(&bench, "flat.form").contains("both rings is stated"));
        bench.model.notices.push(Notice::note("default.lapped-form", "rotating_ring.lapped_form", "flat"));
        assert!(reason_of(&bench, "flat.form").contains("rotating ring is not stated"));
    }

    #[test]
    fn finish_by_material() {
        let mut bench = Bench::booster();
        bench.model.rotating_ring.roughness_rq_m = 0.1e-6 * 1.2533;
        bench.model.stationary_ring.roughness_rq_m = 0.03e-6 * 1.2533;
        assert!(reason_of(&bench, "finish.ra").contains("usual finish"));
        bench.model.stationary_ring.roughness_rq_m = 0.01e-6 * 1.2533;
        assert!(reason_of(&bench, "finish.ra").contains("silicon carbide"));
    }
}
