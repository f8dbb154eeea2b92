//! Supply: flush and barrier.

use super::text::{absolute_pressure, length, pressure, supply_flow};
use super::view::{CaseView, DutyView};
use super::{Assessment, Breach, Judge, Judged, Rule, Skip, Source};

const GROUP: &str = "Supply";

/// Rules of this group.
pub(super) const RULES: &[Rule] = &[
    Rule {
        id: "supply.flush",
        group: GROUP,
        statement: "Flush flow is at least 4 L/min for shafts to 50 mm, 8 to 100, 12 above.",
        breach: Breach::Caution,
        source: Source::Practice,
        limit: "4, 8 or 12 L/min",
        hint: "More flow keeps the chamber cool and swept.",
        judge: Judge::Case(flush),
    },
    Rule {
        id: "supply.barrier-pressure",
        group: GROUP,
        statement: "The barrier of a dual pressurised seal stands 0.15 MPa above the product at every duty.",
        breach: Breach::Fail,
        source: Source::Practice,
        limit: "product + 0.15 MPa",
        hint: "Below it the product enters the barrier.",
        judge: Judge::Duty(barrier_pressure),
    },
];

fn flush(view: &CaseView) -> Judged {
    let Some(flow) = view.model.seal.flush_m3_per_s else {
        return Err(Skip::NotComputed("no flush flow is given".to_owned()));
    };
    let size = view.model.machine.shaft_diameter_m.unwrap_or(2.0 * view.model.band.inner_radius_m);
    let litres_per_minute = match size {
        d if d <= 0.0505 => 4.0,
        d if d <= 0.1005 => 8.0,
        _ => 12.0,
    };
    let wanted = litres_per_minute / 60_000.0;
    let reason = format!("{} at a shaft of {}, usual {}", supply_flow(flow), length(size), supply_flow(wanted));
    Ok(Assessment::within(flow >= wanted * (1.0 - 1e-9), Breach::Caution, reason).compared(flow, wanted))
}

fn barrier_pressure(view: &DutyView) -> Judged {
    if !view.dual_pressurised() || view.named("test") {
        return Err(Skip::DoesNotApply);
    }
    let (barrier, product) = (view.duty.pressure_pa, view.duty.low_pressure_pa);
    let above = barrier - product;
    let side = if above < 0.0 { "below" } else { "above" };
    let reason =
        format!("barrier {} is {} {side} the product {}", absolute_pressure(barrier), pressure(above.abs()), absolute_pressure(product));
    Ok(Assessment::within(above >= 0.15e6 - 1.0, Breach::Fail, reason).compared(above, 0.15e6))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bench, word_of};
    use crate::outcome::Word;

    #[test]
    fn flush_by_shaft() {
        let mut bench = Bench::booster(); // 45 mm
        for (flow, word) in [(4.0, Word::Holds), (3.9, Word::Watch)] {
            bench.model.seal.flush_m3_per_s = Some(flow / 60_000.0);
            assert_eq!(word_of(&bench, "supply.flush"), Some(word));
        }
        bench.model.seal.flush_m3_per_s = None;
        assert_eq!(word_of(&bench, "supply.flush"), Some(Word::NotComputed));
    }

    #[test]
    fn barrier_above_product() {
        let mut bench = Bench::booster();
        assert_eq!(word_of(&bench, "supply.barrier-pressure"), None);
        bench.model.supply.arrangement = "dual pressurised".to_owned();
        bench.duty_mut().low_pressure_pa = 1.0e6;
        for (barrier, word) in [(1.16e6, Word::Holds), (1.14e6, Word::Fails), (0.9e6, Word::Fails)] {
            bench.duty_mut().pressure_pa = barrier;
            assert_eq!(word_of(&bench, "supply.barrier-pressure"), Some(word));
        }
    }
}
