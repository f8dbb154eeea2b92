//! Tests of the sheet.

use super::rounding::MISSING;
use super::*;
use crate::outcome::{Jump, Passage, PhaseChange, PhaseChangeKind, Ranged};
use crate::rules::testing::Bench;

fn judged(mut bench: Bench) -> Bench {
    for (duty, solved) in bench.model.duties.iter().zip(&mut bench.outcome.duties) {
        solved.verdicts = rules::judge(&bench.model, duty, solved);
    }
    bench.outcome.verdicts = rules::case_verdicts(&bench.model, &bench.outcome);
    bench
}

fn row<'a>(sheet: &'a Sheet, key: &str) -> &'a Row {
    sheet.blocks.iter().flat_map(|block| &block.rows).find(|row| row.key == key).unwrap_or_else(|| panic!("no row {key}"))
}

#[test]
fn every_row_has_one_cell_a_duty() {
    let mut bench = Bench::booster();
    bench.add_duty("maximum", |_| ());
    let bench = judged(bench);
    for units in [UnitSet::Si, UnitSet::Us] {
        let sheet = sheet(&bench.model, &bench.outcome, units);
        for row in sheet.blocks.iter().chain([&sheet.hand]).flat_map(|block| &block.rows) {
            assert_eq!(row.cells.len(), 2, "{}", row.key);
        }
    }
}

/// The booster as it stands and with gas in its chamber, turned by `turn`.
fn with_gas_duty(turn: impl Fn(&mut Passage)) -> Sheet {
    let mut bench = Bench::booster();
    bench.add_duty("gas", |_| ());
    let gas = &mut bench.outcome.duties[1];
    gas.conditions.chamber_saturation_k = Some(100.0);
    turn(&mut gas.equilibria[0].passage);
    let bench = judged(bench);
    sheet(&bench.model, &bench.outcome, UnitSet::Si)
}

#[test]
fn gas_has_no_boiling_to_stay_below() {
    let sheet = with_gas_duty(|_| ());
    let cells: Vec<&str> = row(&sheet, "chamber_margin_k").cells.iter().map(|cell| cell.text.as_str()).collect();
    assert!(cells[0] != MISSING && cells[1] == MISSING, "{cells:?}");
    let mut bench = Bench::booster();
    bench.outcome_mut().conditions.chamber_saturation_k = Some(100.0);
    let bench = judged(bench);
    let sheet = super::sheet(&bench.model, &bench.outcome, UnitSet::Si);
    assert!(sheet.blocks.iter().flat_map(|block| &block.rows).all(|row| row.key != "chamber_margin_k"));
}

#[test]
fn a_film_at_saturation_is_at_nothing() {
    let mut bench = Bench::booster();
    bench.equilibrium_mut().boiling_margin_k = Some(Ranged { low: -2.3e-13, nominal: 1.4e-14, high: 2.3e-13 });
    let bench = judged(bench);
    let sheet = sheet(&bench.model, &bench.outcome, UnitSet::Us);
    assert_eq!(row(&sheet, "boiling_margin_k").cells[0].text, "0");
}

#[test]
fn what_the_fluid_does_on_its_way_is_shown_where_it_does_it() {
    let plain = with_gas_duty(|_| ());
    assert!(plain.blocks.iter().flat_map(|block| &block.rows).all(|row| !row.key.starts_with("passage.")));
    let sheet = with_gas_duty(|passage| {
        passage.leakage_normal_m3_per_s = Some(2e-5);
        passage.choked = true;
        passage.exit_pressure_pa = 0.25e6;
        passage.phase_changes = vec![PhaseChange { radius_m: 24.5e-3, kind: PhaseChangeKind::BeginsToBoil }];
    });
    let shown = |key: &str| row(&sheet, key).cells.iter().map(|cell| cell.text.as_str()).collect::<Vec<_>>();
    assert_eq!(shown("passage.leakage_normal_m3_per_s"), [MISSING, "at least 1.2 (0.6 to 2.4)"]);
    assert_eq!(shown("passage.choked"), ["not choked", "choked"]);
    assert_eq!(shown("passage.exit_pressure_pa"), [MISSING, "0.250"]);
    assert_eq!(shown("passage.phase_changes.begins-to-boil"), [MISSING, "24.50"]);
    assert!(sheet.blocks.iter().flat_map(|block| &block.rows).all(|row| row.key != "passage.phase_changes.all-vapour"));
}

fn margin(to_jump: Option<f64>, words: &str) -> Option<JumpMargin> {
    let then = to_jump.map(|_| Jump::Opens);
    Some(JumpMargin { to_jump, followed: 90.0, then, then_film_m: None, words: words.to_owned() })
}

/// Two duties with margins, of which `first` is the one of the first.
fn with_margins(first: Margins) -> Sheet {
    let mut bench = Bench::booster();
    bench.add_duty("maximum", |_| ());
    let unseen = margin(None, "no jump within 90 N less");
    let second = Margins { closing_force_fall_n: unseen.clone(), closing_force_rise_n: unseen, ..Margins::default() };
    bench.outcome.duties[0].margins = Some(first);
    bench.outcome.duties[1].margins = Some(second);
    let bench = judged(bench);
    sheet(&bench.model, &bench.outcome, UnitSet::Si)
}

fn margin_table(sheet: &Sheet) -> Vec<Vec<&str>> {
    let block = sheet.blocks.iter().find(|block| block.title == "Before the film jumps").expect("a block of margins");
    let said = |row: &'_ Row| row.cells.iter().any(|cell| cell.text != MISSING);
    assert!(block.rows.iter().all(said), "a row that says nothing");
    fn line(row: &Row) -> Vec<&str> {
        std::iter::once(&row.label).chain(row.cells.iter().map(|cell| &cell.text)).map(String::as_str).collect()
    }
    block.rows.iter().map(line).collect()
}

#[test]
fn margins_that_no_jump_bounds_share_a_row() {
    let cold = Margins { temperature_rise_k: margin(None, "no jump within 90 K warmer"), ..Margins::default() };
    assert_eq!(margin_table(&with_margins(cold.clone())), [["by any change", "no jump seen", "no jump seen"]]);
    let near = Margins { closing_force_fall_n: margin(Some(40.0), "opens"), boiling_onset_k: Some(353.15), ..cold };
    let sheet = with_margins(near);
    assert_eq!(
        margin_table(&sheet),
        [
            ["closing force may fall by", "40.0, then pops open", "no jump seen"],
            ["by any other change", "no jump seen", "no jump seen"],
            ["film starts to boil at chamber", "80.00", MISSING],
        ]
    );
    // In words one line a duty, and none of what was never followed.
    assert_eq!(sheet.jumps.len(), 1);
    assert_eq!(sheet.jumps[0].text, "opens. No jump within 90 K warmer. This film starts to boil with the chamber at 80.00 degC");
}

/// Of what is gas all the way a share of vapour of 100 % would sound like boiling.
#[test]
fn vapour_is_told_of_what_was_liquid() {
    let vapour = |saturation: f64| {
        let mut bench = Bench::booster();
        bench.outcome_mut().conditions.chamber_saturation_k = Some(saturation);
        bench.equilibrium_mut().vapour_fraction_max = 1.0;
        let sheet = sheet(&bench.model, &bench.outcome, UnitSet::Si);
        sheet.blocks.iter().flat_map(|block| &block.rows).any(|row| row.key == "vapour_fraction_max")
    };
    assert!(!vapour(100.0));
    assert!(vapour(460.0));
}

/// A full film leaves a rounding error of the contact pressure.
#[test]
fn the_product_of_no_contact_pressure_is_nothing() {
    let mut bench = Bench::booster();
    bench.equilibrium_mut().pv_pa_m_per_s = -2e-5;
    let sheet = sheet(&bench.model, &bench.outcome, UnitSet::Si);
    assert_eq!(row(&sheet, "pv_pa_m_per_s").cells[0].text, "0");
}

#[test]
fn leakage_of_flat_faces_is_at_least() {
    let bench = judged(Bench::booster());
    let sheet = sheet(&bench.model, &bench.outcome, UnitSet::Si);
    let leakage = row(&sheet, "leakage_m3_per_s");
    assert_eq!(leakage.unit, "mL/h");
    assert!(leakage.cells[0].text.starts_with("at least "), "{}", leakage.cells[0].text);
}

#[test]
fn a_least_film_below_zero_is_explained_once() {
    let mut bench = Bench::booster();
    let shown = |bench: &Bench| {
        let sheet = sheet(&bench.model, &bench.outcome, UnitSet::Si);
        let remarks = sheet.notices.iter().filter(|notice| notice.code == "film.mean-planes").count();
        (row(&sheet, "minimum_film_m").label.clone(), remarks)
    };
    assert_eq!(shown(&bench), ("least film".to_owned(), 0));
    bench.add_duty("maximum", |_| ());
    for duty in &mut bench.outcome.duties {
        duty.equilibria[0].minimum_film_m.low = -0.05e-6;
    }
    assert_eq!(shown(&bench), ("least film, between mean planes".to_owned(), 1));
}

#[test]
fn torque_at_standstill_is_break_away() {
    let mut bench = Bench::booster();
    let label = |bench: &Bench| row(&sheet(&bench.model, &bench.outcome, UnitSet::Si), "torque_n_m").label.clone();
    assert_eq!(label(&bench), "torque");
    bench.add_duty("standstill", |_| ());
    bench.outcome.duties[1].conditions.turning = false;
    assert_eq!(label(&bench), "torque; break-away at standstill");
}

#[test]
fn a_caution_is_no_note() {
    let bench = judged(Bench::booster());
    let sheet = sheet(&bench.model, &bench.outcome, UnitSet::Si);
    assert!(sheet.verdicts.iter().any(|line| line.reason.starts_with(rules::NOTE)));
    assert!(!sheet.cautions.iter().any(|line| line.contains(rules::NOTE)));
}

#[test]
fn the_worst_duty_of_a_row_is_marked() {
    let mut bench = Bench::booster();
    bench.add_duty("maximum", |_| ());
    bench.outcome.duties[1].equilibria[0].minimum_film_m.nominal = 0.3e-6;
    bench.outcome.duties[1].equilibria[0].power_w.nominal = 100.0;
    let sheet = sheet(&bench.model, &bench.outcome, UnitSet::Si);
    let worst = |key: &str| row(&sheet, key).cells.iter().map(|cell| cell.worst).collect::<Vec<_>>();
    assert_eq!(worst("minimum_film_m"), [false, true]);
    assert_eq!(worst("power_w"), [true, false]);
}

#[test]
fn a_duty_without_a_point_shows_its_reason() {
    let mut bench = Bench::booster();
    bench.lose_solution("the faces part: film force 1200 N above closing");
    let bench = judged(bench);
    let sheet = sheet(&bench.model, &bench.outcome, UnitSet::Us);
    assert!(!sheet.columns[0].solved);
    assert_eq!(sheet.columns[0].reason, "the faces part: film force 270 lbf above closing");
    assert_eq!(row(&sheet, "minimum_film_m").cells[0].text, rounding::MISSING);
    assert!(sheet.curves.is_empty());
    assert_eq!(rules::exit_code(&bench.outcome), 2);
}

#[test]
fn cautions_stand_with_every_result() {
    let bench = judged(Bench::booster());
    let sheet = sheet(&bench.model, &bench.outcome, UnitSet::Si);
    assert!(sheet.cautions.iter().any(|line| line.contains("turning parts")));
    assert!(sheet.cautions.iter().any(|line| line.contains("Local codes")));
}

#[test]
fn stored_pressure_and_heat_are_told_at_their_worst() {
    let mut bench = Bench::booster();
    bench.add_duty("static test", |_| ());
    let still = &mut bench.outcome.duties[1].conditions;
    (still.pressure_pa, still.turning, still.chamber_temperature_k) = (1.75e6, false, 363.15);
    let bench = judged(bench);
    let said = sheet(&bench.model, &bench.outcome, UnitSet::Si).cautions;
    assert!(said.contains(&"stored pressure 1.750 MPa(a), hot parts 90.00 degC, turning parts".to_owned()), "{said:?}");
}

#[test]
fn one_verdict_of_two_duties_is_one_line() {
    let mut bench = Bench::booster();
    bench.add_duty("maximum", |_| ());
    let bench = judged(bench);
    let sheet = sheet(&bench.model, &bench.outcome, UnitSet::Si);
    let ratio = sheet.verdicts.iter().filter(|line| line.rule == "balance.liquid").collect::<Vec<_>>();
    assert_eq!(ratio.len(), 1);
    assert_eq!(ratio[0].duties, ["normal", "maximum"]);
}

#[test]
fn exit_codes() {
    let mut bench = judged(Bench::booster());
    for duty in &mut bench.outcome.duties {
        duty.verdicts.retain(|verdict| verdict.word != Word::Fails);
    }
    bench.outcome.verdicts.retain(|verdict| verdict.word != Word::Fails);
    assert_eq!(rules::exit_code(&bench.outcome), 0);
    let mut failing = bench.outcome.verdicts[0].clone();
    failing.word = Word::Fails;
    bench.outcome.verdicts.push(failing);
    assert_eq!(rules::exit_code(&bench.outcome), 1);
    bench.outcome.duties[0].status = Status::NoneFacesPart;
    assert_eq!(rules::exit_code(&bench.outcome), 1, "no equilibrium is an answer");
    bench.outcome.duties[0].status = Status::NotConverged;
    assert_eq!(rules::exit_code(&bench.outcome), 2);
}

#[test]
fn a_sheet_survives_json() {
    let bench = judged(Bench::booster());
    let sheet = sheet(&bench.model, &bench.outcome, UnitSet::Si);
    let text = serde_json::to_string(&sheet).expect("serialises");
    let again: Sheet = serde_json::from_str(&text).expect("reads back");
    assert_eq!(serde_json::to_string(&again).expect("serialises"), text);
}
