//! Title block and summary.

use halfmicron::outcome::Word;
use halfmicron::rules::{weight, worst_word};
use halfmicron::sheet::{Column as Duty, Row, UnitSet, VerdictLine};

use super::super::content::{Cell, Column, Field, Part, Section, Tone, in_words};
use super::super::{Subject, TitleBlock};
use super::{numbers, one_line, sentence, short_hash};

/// Fields of the title block; what the user has not typed is a line to write on.
pub(super) fn title_block(subject: &Subject, title: &TitleBlock) -> Vec<Field> {
    let duties: Vec<&str> = subject.sheet.columns.iter().map(|duty| duty.name.as_str()).collect();
    let all = subject.model.duties.len() == duties.len();
    let duties = if all { "every duty of the case".to_owned() } else { format!("{}; no others of the case", duties.join(", ")) };
    vec![
        Field::new("Project", one_line(&title.project)),
        Field::new("Revision", one_line(&title.revision)),
        Field::new("Author", one_line(&title.author)),
        Field::new("Signature", ""),
        Field::new("Date", ""),
        Field::new("Case file", one_line(&title.file)),
        Field::new("Case hash", format!("{}, halfmicron {}", short_hash(subject), subject.outcome.provenance.version)),
        Field::new("Machine", one_line(&subject.model.machine.kind)),
        Field::new("Fluid", subject.model.fluid.name()),
        Field::new("Duties", duties),
        Field::new("Units", units(subject)),
    ]
    .into_iter()
    .filter(|field| !field.text.is_empty() || matches!(field.label.as_str(), "Project" | "Revision" | "Author" | "Signature" | "Date"))
    .collect()
}

pub(super) fn units(subject: &Subject) -> String {
    match subject.sheet.units {
        UnitSet::Si => "SI of the trade (um, MPa, degC, mL/h)".to_owned(),
        UnitSet::Us => "US customary (uin, psi, degF)".to_owned(),
    }
}

/// Rows of the sheet that the summary repeats, where they are there.
const HEADLINES: [&str; 3] = ["minimum_film_m", "leakage_m3_per_s", "face_temperature_max_k"];

/// Worst verdict and its reason, of the whole case and of each duty, with the numbers asked for first.
pub(super) fn summary(subject: &Subject) -> Section {
    let rows = || subject.sheet.blocks.iter().flat_map(|block| &block.rows);
    let headlines: Vec<&Row> = HEADLINES.iter().filter_map(|key| rows().find(|row| row.key == *key)).collect();
    let mut columns = vec![Column::words("Duty", 0.0), Column::words("Verdict", 0.0)];
    columns.extend(headlines.iter().map(|row| numbers::head(row)));
    columns.push(Column::words("Why", 4.2));
    let duties = subject.sheet.columns.iter().enumerate().map(|(index, duty)| duty_row(subject, index, duty, &headlines));
    let parts = vec![
        Part::Paragraph { text: overall(subject), tone: worst(subject).map_or(Tone::Unknown, Tone::from) },
        Part::table(columns, whole_case(subject, headlines.len()).into_iter().chain(duties).collect()),
        Part::soft(
            "One reason of each duty; all verdicts follow, with limits and what to do. In brackets: how many rules. Beneath a number: its range.",
        ),
    ];
    Section::new("summary", "Summary", parts)
}

/// The worst word of duties and case; what could not be computed weighs as the sheet's own order has it.
fn worst(subject: &Subject) -> Option<Word> {
    let of_duties = subject.sheet.columns.iter().filter_map(|duty| if duty.solved { duty.worst } else { Some(Word::NotComputed) });
    of_duties.chain(worst_word(&subject.outcome.verdicts)).max_by_key(|word| weight(*word))
}

fn overall(subject: &Subject) -> String {
    let unsolved: Vec<&str> = subject.sheet.columns.iter().filter(|duty| !duty.solved).map(|duty| duty.name.as_str()).collect();
    let judged = match worst_word(subject.outcome.duties.iter().flat_map(|duty| &duty.verdicts).chain(&subject.outcome.verdicts)) {
        Some(Word::Fails) => "At least one limit is passed: the seal is not acceptable as it stands.",
        Some(Word::Watch) => "No limit is passed that would rule the seal out; the points to watch below need an engineer's decision.",
        Some(Word::Holds) => "Every rule that could be judged holds.",
        Some(Word::NotComputed) | None => "No rule could be judged.",
    };
    if unsolved.is_empty() {
        return judged.to_owned();
    }
    let others = if unsolved.len() == subject.sheet.columns.len() { "" } else { " What could be judged: " };
    let judged = if others.is_empty() { String::new() } else { lower_first(judged) };
    format!("No operating point was computed for: {}.{others}{judged}", unsolved.join(", "))
}

/// The first letter small, for a sentence that goes on.
fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// The gravest verdict that belongs to no duty.
fn whole_case(subject: &Subject, numbers: usize) -> Option<Vec<Cell>> {
    let of_case = subject.sheet.verdicts.iter().filter(|line| line.duties.is_empty());
    let line = of_case.max_by_key(|line| weight(line.word)).filter(|line| matches!(line.word, Word::Fails | Word::Watch))?;
    let mut cells = vec![Cell::toned("whole case", Tone::Strong), Cell::toned(in_words(line.word), line.word.into())];
    cells.extend((0..numbers).map(|_| Cell::default()));
    cells.push(Cell::text(why(line)));
    Some(cells)
}

fn duty_row(subject: &Subject, index: usize, duty: &Duty, headlines: &[&Row]) -> Vec<Cell> {
    let verdict = subject.sheet.blocks.iter().flat_map(|block| &block.rows).find(|row| row.key == "verdict");
    let text = verdict.and_then(|row| row.cells.get(index)).map_or(String::new(), |cell| cell.text.clone());
    let worst = if duty.solved || duty.worst == Some(Word::Fails) { duty.worst } else { Some(Word::NotComputed) };
    let reason = match gravest(subject, duty) {
        _ if !duty.solved => sentence(&format!("{}: {}", duty.status, duty.reason)),
        Some(line) if line.word != Word::Holds => why(line),
        _ => "Every rule that could be judged holds.".to_owned(),
    };
    let mut cells = vec![Cell::toned(&duty.name, Tone::Strong), Cell::toned(text, worst.map_or(Tone::Unknown, Tone::from))];
    cells.extend(headlines.iter().map(|row| row.cells.get(index).map(numbers::number).unwrap_or_default()));
    cells.push(Cell::text(reason));
    cells
}

/// The gravest verdict of a duty; of several the one that is said of fewest duties and in fewest words, as on the page.
fn gravest<'a>(subject: &Subject<'a>, duty: &Duty) -> Option<&'a VerdictLine> {
    let of_duty = |line: &&VerdictLine| Some(line.word) == duty.worst && line.duties.contains(&duty.name);
    subject.sheet.verdicts.iter().filter(of_duty).min_by_key(|line| (line.duties.len(), line.reason.len()))
}

fn why(line: &VerdictLine) -> String {
    format!("{} [{}]", sentence(&line.reason), line.rule)
}
