//! The sheet: an outcome in the reader's units, rounded. The one conversion and the one rounding.
//!
//! Terminal, page and report draw a sheet and compute nothing.

pub mod changes;
pub mod chart;
mod curves;
mod influence;
mod maps;
mod motion;
mod part;
pub mod rounding;
mod rows;
mod spread;
mod sweep;
pub mod text;
pub mod units;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::model::Model;
use crate::notice::{Notice, Severity};
use crate::outcome::{DutyOutcome, Equilibrium, JumpMargin, Margins, Outcome, Status, Verdict, Word};
use crate::rules::view::{reason_or_status, status_in_words};
use crate::rules::{self, Breach, models, worst_word};

pub use changes::changes;
pub use chart::Chart;
pub use curves::{Curve, DutyCurves};
pub use influence::{InfluenceCell, InfluenceColumn, InfluenceLine, InfluenceSheet, influence_sheet, label_of};
pub use maps::{FaceEdge, FilmCut, FilmMap, FilmMaps, FilmNumber, FilmReading, MapPlace, film_cut, film_maps, texture_words};
pub use motion::{MotionSheet, motion_sheet};
pub use part::{PartSheet, film_sheet, ring_sheet};
pub use spread::{DutySpread, SpreadRow};
pub use sweep::{SweepLine, SweepSheet, sweep_sheet};
pub use units::UnitSet;

pub(crate) use rows::{MARGINS, UNSEEN, word};
use text::in_units;

/// Everything that a reader sees of an outcome.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Sheet {
    /// Title of the case.
    pub title: String,
    /// Units in which it is written.
    pub units: UnitSet,
    /// Duties, one a column.
    pub columns: Vec<Column>,
    /// Blocks of rows; every row has one cell a column.
    pub blocks: Vec<Block>,
    /// What can be checked by hand, always beside the solved numbers.
    pub hand: Block,
    /// Verdicts, the worst first.
    pub verdicts: Vec<VerdictLine>,
    /// Dangers and who decides, in words.
    pub cautions: Vec<String>,
    /// Notices, the gravest first; equal ones of several duties are one line.
    pub notices: Vec<NoticeLine>,
    /// Other equilibria than the chosen ones.
    pub states: Vec<StateLine>,
    /// How far the chosen equilibria stand from the jump.
    #[serde(default)]
    pub jumps: Vec<StateLine>,
    /// Models used with their proof state.
    pub models: Vec<ModelLine>,
    /// Where the result comes from.
    pub provenance: Vec<Labelled>,
    /// What other laws would give, one entry a duty; empty where nobody asked.
    pub spreads: Vec<DutySpread>,
    /// Curves over the band.
    pub curves: Vec<DutyCurves>,
    /// Charts.
    #[serde(default)]
    pub charts: Vec<Chart>,
}

/// One duty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Column {
    /// Name of the duty.
    pub name: String,
    /// How it ended, in words.
    pub status: String,
    /// Whether there are numbers.
    pub solved: bool,
    /// Reason where there are none.
    pub reason: String,
    /// Worst word of its verdicts.
    pub worst: Option<Word>,
}

/// Rows under one heading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Block {
    /// Heading.
    pub title: String,
    /// Rows.
    pub rows: Vec<Row>,
}

/// One quantity over all duties.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Row {
    /// Key of the outcome that it shows.
    pub key: String,
    /// Label.
    pub label: String,
    /// Unit of every cell; empty where there is none.
    pub unit: String,
    /// One cell a duty.
    pub cells: Vec<Cell>,
}

/// One number as shown.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Cell {
    /// Rounded text, with its range where it has one.
    pub text: String,
    /// Whether it is the worst of its row.
    pub worst: bool,
    /// Nominal in the unit of the row before rounding; none of words. The text is what a reader sees: this is not written.
    #[serde(skip)]
    pub value: Option<f64>,
}

impl Cell {
    /// Words, or a missing number.
    pub(crate) fn words(text: impl Into<String>) -> Self {
        Self { text: text.into(), worst: false, value: None }
    }

    /// A number that none is the worst of.
    pub(crate) fn number(text: String, value: Option<f64>) -> Self {
        Self { text, worst: false, value }
    }
}

/// One verdict.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct VerdictLine {
    /// Id of the rule.
    pub rule: String,
    /// Group of the rule.
    pub group: String,
    /// Duties with this word and reason; empty for the whole case.
    pub duties: Vec<String>,
    /// Word.
    pub word: Word,
    /// Whether a `holds` carries a note that is worth reading.
    pub note: bool,
    /// Reason in the reader's units.
    pub reason: String,
    /// What to do.
    pub hint: String,
    /// Source tag of the limit.
    pub source: String,
    /// What the rule asks.
    pub statement: String,
}

/// One notice.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct NoticeLine {
    /// Duties that carry it; empty for the whole case.
    pub duties: Vec<String>,
    /// How much it matters.
    pub severity: Severity,
    /// Code.
    pub code: String,
    /// Case path or result key.
    pub field: String,
    /// Message in the reader's units.
    pub message: String,
    /// What to do.
    pub hint: String,
}

/// Words on an equilibrium.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct StateLine {
    /// Duty.
    pub duty: String,
    /// In words and the reader's units.
    pub text: String,
}

/// A model with its proof state.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ModelLine {
    /// Id.
    pub id: String,
    /// `checked by ...` or `unproven`.
    pub proof: String,
}

/// A label with its text.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Labelled {
    /// Label.
    pub label: String,
    /// Text.
    pub text: String,
}

/// The sheet of an outcome.
pub fn sheet(model: &Model, outcome: &Outcome, units: UnitSet) -> Sheet {
    Sheet {
        title: outcome.title.clone(),
        units,
        columns: outcome.duties.iter().map(|duty| column(duty, units)).collect(),
        blocks: rows::blocks(&outcome.duties, units),
        hand: rows::hand_block(&outcome.duties, units),
        verdicts: verdict_lines(outcome, units),
        cautions: cautions(outcome, units),
        notices: notice_lines(model, outcome, units),
        states: outcome.duties.iter().flat_map(|duty| other_states(duty, units)).collect(),
        jumps: outcome.duties.iter().filter_map(|duty| jump_lines(duty, units)).collect(),
        models: model_lines(outcome),
        provenance: provenance(outcome),
        spreads: outcome.duties.iter().filter_map(|duty| spread::of_duty(duty, units)).collect(),
        curves: outcome.duties.iter().filter_map(|duty| curves::of_duty(duty, units)).collect(),
        charts: outcome.duties.iter().flat_map(|duty| chart::of_duty(duty, units)).chain(chart::heat_split(outcome, units)).collect(),
    }
}

/// Every row of the sheet of one duty alone.
pub(crate) fn rows_of(duty: &DutyOutcome, units: UnitSet) -> Vec<Row> {
    let duties = std::slice::from_ref(duty);
    let blocks = rows::blocks(duties, units).into_iter().chain([rows::hand_block(duties, units)]);
    blocks.flat_map(|block| block.rows).collect()
}

/// The believed equilibrium of a duty.
pub(crate) fn chosen(duty: &DutyOutcome) -> Option<&Equilibrium> {
    let equilibrium = duty.chosen.and_then(|index| duty.equilibria.get(index))?;
    (duty.status == Status::Solved).then_some(equilibrium)
}

fn column(duty: &DutyOutcome, units: UnitSet) -> Column {
    let solved = chosen(duty).is_some();
    Column {
        name: duty.name.clone(),
        status: status_in_words(duty.status).to_owned(),
        solved,
        reason: if solved { String::new() } else { in_units(&reason_or_status(duty), units) },
        worst: worst_word(&duty.verdicts),
    }
}

fn verdict_lines(outcome: &Outcome, units: UnitSet) -> Vec<VerdictLine> {
    let mut lines: Vec<(VerdictLine, f64)> =
        outcome.verdicts.iter().map(|verdict| (verdict_line(verdict, None, units), verdict.excess.unwrap_or(f64::NEG_INFINITY))).collect();
    for duty in &outcome.duties {
        for verdict in &duty.verdicts {
            let line = verdict_line(verdict, Some(&duty.name), units);
            let same =
                |(known, _): &&mut (VerdictLine, f64)| known.rule == line.rule && known.word == line.word && known.reason == line.reason;
            match lines.iter_mut().find(same) {
                Some((known, excess)) => {
                    known.duties.extend(line.duties);
                    *excess = excess.max(verdict.excess.unwrap_or(f64::NEG_INFINITY));
                }
                None => lines.push((line, verdict.excess.unwrap_or(f64::NEG_INFINITY))),
            }
        }
    }
    let order = |rule: &str| rules::registry().iter().position(|known| known.id == rule).unwrap_or(usize::MAX);
    // What stands furthest beyond its limit, or nearest to it, comes first: a shortened list shows that one.
    lines.sort_by(|(a, by), (b, than)| {
        let key = |line: &VerdictLine| (std::cmp::Reverse(rules::weight(line.word)), order(&line.rule));
        key(a).cmp(&key(b)).then(than.total_cmp(by))
    });
    lines.into_iter().map(|(line, _)| line).collect()
}

fn verdict_line(verdict: &Verdict, duty: Option<&str>, units: UnitSet) -> VerdictLine {
    let rule = rules::rule(&verdict.rule);
    VerdictLine {
        rule: verdict.rule.clone(),
        group: rule.map_or(String::new(), |rule| rule.group.to_owned()),
        duties: duty.map(str::to_owned).into_iter().collect(),
        word: verdict.word,
        note: verdict.word == Word::Holds && rule.is_some_and(|rule| rule.breach == Breach::Note),
        reason: in_units(&verdict.reason, units),
        hint: verdict.hint.clone(),
        source: verdict.source.clone(),
        statement: rule.map_or(String::new(), |rule| rule.statement.to_owned()),
    }
}

/// What is said with every result: dangers of this service, and who decides.
fn cautions(outcome: &Outcome, units: UnitSet) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    let of_fluids = outcome.duties.iter().flat_map(|duty| &duty.verdicts).filter(|verdict| verdict.rule == "hazard.fluid");
    for verdict in of_fluids.filter(|verdict| verdict.word != Word::NotComputed) {
        let line = caution(verdict, units);
        if !said.contains(&line) {
            said.push(line);
        }
    }
    for hazard in ["hazard.toxic", "hazard.flammable", "hazard.autoignition", "hazard.oxygen"] {
        let of_rule = |duty: &&DutyOutcome| duty.verdicts.iter().any(|verdict| verdict.rule == hazard && verdict.word != Word::NotComputed);
        // One line a hazard: the duty that says most stands for all.
        let longest = outcome.duties.iter().filter(of_rule).flat_map(|duty| &duty.verdicts).filter(|verdict| verdict.rule == hazard);
        if let Some(verdict) = longest.max_by_key(|verdict| verdict.reason.len()) {
            said.push(caution(verdict, units));
        }
    }
    said.extend(stored(outcome, units));
    said.push("Isolate, drain, cool and lock before opening a seal.".to_owned());
    said.push("Local codes and the licensed or competent person of the place come before this result.".to_owned());
    said
}

/// The reason of a verdict as a caution: more than a note.
fn caution(verdict: &Verdict, units: UnitSet) -> String {
    in_units(verdict.reason.strip_prefix(rules::NOTE).unwrap_or(&verdict.reason), units)
}

/// Pressure, heat, cold and movement at their worst over all duties, whether solved or not.
fn stored(outcome: &Outcome, units: UnitSet) -> Option<String> {
    let over = |of: fn(&DutyOutcome) -> f64| outcome.duties.iter().map(of).filter(|value| value.is_finite());
    let pressure = over(|duty| duty.conditions.pressure_pa.max(duty.conditions.low_pressure_pa)).fold(0.0, f64::max);
    let chambers = || over(|duty| duty.conditions.chamber_temperature_k).filter(|kelvin| *kelvin > 0.0);
    let hottest = chambers().reduce(f64::max)?;
    let coldest = chambers().reduce(f64::min)?;
    let turns = outcome.duties.iter().any(|duty| duty.conditions.turning);
    let of_rule = |verdict: &&Verdict| verdict.rule == "hazard.pressure-heat";
    let said = outcome.duties.iter().flat_map(|duty| &duty.verdicts).filter(of_rule);
    let displaces_air = said.into_iter().any(|verdict| verdict.reason.contains("displaces air"));
    let words = rules::stored_dangers(pressure, hottest, coldest, [turns, displaces_air]);
    (!words.is_empty()).then(|| in_units(&words.join(", "), units))
}

fn notice_lines(model: &Model, outcome: &Outcome, units: UnitSet) -> Vec<NoticeLine> {
    // The outcome carries the case's own notices; a model that was never solved carries them alone.
    let whole = if outcome.notices.is_empty() { &model.notices } else { &outcome.notices };
    let of_case = whole.iter().map(|notice| (notice, None));
    let of_duties = outcome.duties.iter().flat_map(|duty| duty.notices.iter().map(|notice| (notice, Some(duty.name.as_str()))));
    let below_zero = rows::below_zero_film(&outcome.duties).then(below_zero_film_remark);
    merged_notices(of_case.chain(of_duties).chain(below_zero.iter().map(|notice| (notice, None))), units)
}

/// What a least film below zero means; said once for all duties.
fn below_zero_film_remark() -> Notice {
    Notice {
        severity: Severity::Note,
        code: "film.mean-planes".to_owned(),
        field: "minimum_film_m".to_owned(),
        message: "a least film below zero is the distance between the mean planes of the rough faces".to_owned(),
        hint: "Their roughness overlaps there and carries load in contact.".to_owned(),
    }
}

/// Notices with their duties, the gravest first; equal ones are one line.
fn merged_notices<'a>(notices: impl Iterator<Item = (&'a Notice, Option<&'a str>)>, units: UnitSet) -> Vec<NoticeLine> {
    let mut lines: Vec<NoticeLine> = Vec::new();
    for (notice, duty) in notices {
        let line = NoticeLine {
            duties: duty.map(str::to_owned).into_iter().collect(),
            severity: notice.severity,
            code: notice.code.clone(),
            field: notice.field.clone(),
            message: in_units(&notice.message, units),
            hint: in_units(&notice.hint, units),
        };
        let same = |known: &&mut NoticeLine| known.code == line.code && known.field == line.field && known.message == line.message;
        match lines.iter_mut().find(same) {
            Some(known) if known.duties.is_empty() => {}
            Some(known) => known.duties.extend(line.duties.into_iter().filter(|duty| !known.duties.contains(duty)).collect::<Vec<_>>()),
            None => lines.push(line),
        }
    }
    lines.sort_by_key(|line| std::cmp::Reverse(line.severity));
    lines
}

fn other_states(duty: &DutyOutcome, units: UnitSet) -> Vec<StateLine> {
    // Where the physics at hand is not modelled, what the liquid film would do is no state of the seal.
    let modelled = duty.status != Status::NotModelled;
    let others = duty.equilibria.iter().enumerate().filter(|(index, _)| modelled && duty.chosen != Some(*index));
    let line = |equilibrium: &Equilibrium| {
        let stable = if equilibrium.stable { "stable" } else { "unstable" };
        format!(
            "also {stable} at least film {} m, leakage {} m3/s, power {} W, face {} K(abs)",
            rules::text::number(equilibrium.minimum_film_m.nominal),
            rules::text::number(equilibrium.leakage_m3_per_s.nominal),
            rules::text::number(equilibrium.power_w.nominal),
            rules::text::number(equilibrium.face_temperature_max_k.nominal)
        )
    };
    let lines = others.map(|(_, equilibrium)| line(equilibrium)).collect::<Vec<_>>();
    let chosen = (!lines.is_empty() && duty.chosen.is_some()).then(|| duty.chosen_reason.clone());
    chosen.into_iter().chain(lines).map(|text| StateLine { duty: duty.name.clone(), text: in_units(&text, units) }).collect()
}

/// Margins of a duty in words, jumps first, and where boiling starts. A curve that never turns needs no word.
fn jump_lines(duty: &DutyOutcome, units: UnitSet) -> Option<StateLine> {
    let margins = duty.margins.as_ref().filter(|margins| margins.followed())?;
    let Margins { closing_force_fall_n, closing_force_rise_n, temperature_rise_k, temperature_fall_k, pressure_fall_pa, .. } = margins;
    let forces = [closing_force_fall_n, closing_force_rise_n].into_iter().flatten().filter(|margin| margin.to_jump.is_some());
    let conditions = [temperature_rise_k, temperature_fall_k, pressure_fall_pa].into_iter().flatten();
    let (jumps, others): (Vec<&JumpMargin>, Vec<_>) = forces.chain(conditions).partition(|margin| margin.to_jump.is_some());
    let mut said: Vec<String> = jumps.into_iter().chain(others).map(|margin| margin.words.clone()).collect();
    said.extend(margins.boiling_onset_k.map(|at| format!("this film starts to boil with the chamber at {}", rules::text::temperature(at))));
    said.extend((!margins.boiling_onset_reason.is_empty()).then(|| format!("no onset of boiling: {}", margins.boiling_onset_reason)));
    let text = said.iter().enumerate().map(|(k, text)| if k == 0 { text.clone() } else { capitalised(text) }).collect::<Vec<_>>();
    Some(StateLine { duty: duty.name.clone(), text: in_units(&text.join(". "), units) })
}

/// The text with a capital at its beginning, as a sentence of its own.
pub fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn model_lines(outcome: &Outcome) -> Vec<ModelLine> {
    let mut ids: Vec<&String> = outcome.duties.iter().flat_map(|duty| &duty.models).collect();
    ids.sort();
    ids.dedup();
    let line = |id: &String| ModelLine { id: id.clone(), proof: models::proof_state(id) };
    ids.into_iter().map(line).collect()
}

fn provenance(outcome: &Outcome) -> Vec<Labelled> {
    let from = &outcome.provenance;
    let work = outcome.duties.iter().fold([0; 2], |sum, duty| [sum[0] + duty.work.film_solves, sum[1] + duty.work.iterations]);
    let labelled = |label: &str, text: String| Labelled { label: label.to_owned(), text };
    vec![
        labelled("halfmicron", from.version.clone()),
        labelled("case", from.case_hash.chars().take(12).collect()),
        labelled("property data", from.data_version.clone()),
        labelled("work", format!("{} film solutions, {} iterations", work[0], work[1])),
    ]
}

#[cfg(test)]
mod tests;
