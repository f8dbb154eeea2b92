//! Verdicts, states, notices and cautions.

use std::collections::BTreeSet;

use halfmicron::notice::Severity;
use halfmicron::outcome::Word;
use halfmicron::rules::{Source, rule};
use halfmicron::sheet::{NoticeLine, StateLine, VerdictLine};

use super::super::Subject;
use super::super::content::{Cell, Column, Entry, Field, Part, Section, Tone, in_words};
use super::{nothing, of_duties, sentence};

/// An item without a word of judgement.
pub(super) fn plain_entry(title: &str, text: &str) -> Entry {
    let lines = vec![Field::new("", sentence(text))];
    Entry { word: String::new(), tone: Tone::Plain, title: title.to_owned(), lines, remarks: Vec::new() }
}

/// Every verdict: what needs a decision in full, what holds by rule.
pub(super) fn verdicts(subject: &Subject) -> Section {
    let mut parts = Vec::new();
    for (word, heading) in [(Word::Fails, "Limits passed"), (Word::Watch, "To be looked at"), (Word::NotComputed, "Not computed")] {
        let items = entries(subject, |line| line.word == word);
        if !items.is_empty() {
            parts.push(Part::heading(heading));
            parts.push(Part::Entries { items });
        }
    }
    let notes = entries(subject, |line| line.word == Word::Holds && line.note);
    if !notes.is_empty() {
        parts.push(Part::heading("Hold, with a note"));
        parts.push(Part::Entries { items: notes });
    }
    let holds: Vec<Vec<Cell>> =
        by_rule(subject, |line| line.word == Word::Holds && !line.note).into_iter().map(|lines| held(subject, &lines)).collect();
    if !holds.is_empty() {
        parts.push(Part::heading("Hold"));
        let columns =
            vec![Column::words("Rule", 0.0), Column::words("What it asks", 1.4), Column::words("Limit", 1.0), Column::words("At", 0.8)];
        parts.push(Part::table(columns, holds));
    }
    let tags: BTreeSet<&str> = subject.sheet.verdicts.iter().map(|line| line.source.as_str()).collect();
    if !tags.is_empty() {
        let meanings: Vec<String> = tags.into_iter().map(|tag| format!("{tag} = {}", Source::meaning(tag))).collect();
        parts.push(Part::soft(format!("Where limits come from: {}.", meanings.join("; "))));
    }
    Section::new("verdicts", "Verdicts", parts)
}

/// Lines of each rule together, in the order of the sheet.
fn by_rule<'a>(subject: &Subject<'a>, wanted: impl Fn(&VerdictLine) -> bool) -> Vec<Vec<&'a VerdictLine>> {
    let mut rules: Vec<Vec<&VerdictLine>> = Vec::new();
    for line in subject.sheet.verdicts.iter().filter(|line| wanted(line)) {
        match rules.iter_mut().find(|known| known.first().is_some_and(|first| first.rule == line.rule)) {
            Some(known) => known.push(line),
            None => rules.push(vec![line]),
        }
    }
    rules
}

fn entries(subject: &Subject, wanted: impl Fn(&VerdictLine) -> bool) -> Vec<Entry> {
    by_rule(subject, wanted).into_iter().filter_map(|lines| entry(subject, &lines)).collect()
}

fn entry(subject: &Subject, lines: &[&VerdictLine]) -> Option<Entry> {
    let first = lines.first()?;
    let judged = matches!(first.word, Word::Fails | Word::Watch);
    let mut remarks = Vec::new();
    if judged && !first.hint.is_empty() {
        remarks.push(Field::new("To do", sentence(&first.hint)));
    }
    remarks.push(Field::new(
        "Asked",
        format!("{} Limit: {} [{}]", sentence(&first.statement), limit(&first.rule).replace('`', ""), first.source),
    ));
    let line = |line: &&VerdictLine| Field::new(of_duties(&line.duties, subject), sentence(&line.reason));
    Some(Entry {
        word: in_words(first.word).to_owned(),
        tone: first.word.into(),
        title: first.rule.clone(),
        lines: lines.iter().map(line).collect(),
        remarks,
    })
}

fn limit(id: &str) -> &'static str {
    rule(id).map_or("", |rule| rule.limit)
}

fn held(subject: &Subject, lines: &[&VerdictLine]) -> Vec<Cell> {
    let mut duties: Vec<String> = Vec::new();
    for name in lines.iter().flat_map(|line| &line.duties) {
        if !duties.contains(name) {
            duties.push(name.clone());
        }
    }
    let Some(first) = lines.first() else { return Vec::new() };
    let limit = format!("{} [{}]", limit(&first.rule), first.source);
    vec![Cell::text(&first.rule), Cell::text(sentence(&first.statement)), Cell::text(limit), Cell::text(of_duties(&duties, subject))]
}

/// Duties without an operating point, other equilibria, distance from the jump.
pub(super) fn states(subject: &Subject) -> Section {
    let sheet = subject.sheet;
    let mut parts = Vec::new();
    let unsolved: Vec<Entry> = sheet
        .columns
        .iter()
        .filter(|column| !column.solved)
        .map(|column| Entry {
            word: in_words(Word::NotComputed).to_owned(),
            tone: Tone::Unknown,
            ..plain_entry(&column.name, &format!("{}: {}", column.status, column.reason))
        })
        .collect();
    if !unsolved.is_empty() {
        parts.push(Part::heading("Duties without an operating point"));
        parts.push(Part::Entries { items: unsolved });
    }
    for (heading, lines) in [("Other equilibria", &sheet.states), ("Before the film jumps", &sheet.jumps)] {
        if !lines.is_empty() {
            parts.push(Part::heading(heading));
            parts.push(Part::Entries { items: by_duty(lines) });
        }
    }
    if sheet.states.is_empty() && !sheet.columns.iter().all(|column| !column.solved) {
        parts.insert(0, Part::paragraph("No duty has another equilibrium than the one reported."));
    }
    Section::new("states", "Other states and jumps", parts)
}

fn by_duty(lines: &[StateLine]) -> Vec<Entry> {
    let mut items: Vec<Entry> = Vec::new();
    for line in lines {
        let said = Field::new("", sentence(&line.text));
        match items.last_mut().filter(|known| known.title == line.duty) {
            Some(known) => known.lines.push(said),
            None => items.push(plain_entry(&line.duty, &line.text)),
        }
    }
    items
}

/// Notices that need a look, then what was assumed.
pub(super) fn notices(subject: &Subject) -> Section {
    let all = &subject.sheet.notices;
    if all.is_empty() {
        return nothing("notices", "Notices and assumptions", "None: every value is stated in the case.");
    }
    let mut parts = Vec::new();
    let grave = grouped(all.iter().filter(|line| line.severity > Severity::Note));
    if !grave.is_empty() {
        let items = grave.iter().filter_map(|lines| notice(subject, lines)).collect();
        parts.extend([Part::heading("Notices"), Part::Entries { items }]);
    }
    let is_default = |line: &&NoticeLine| line.severity == Severity::Note && line.code.starts_with("default.");
    let others = |line: &&NoticeLine| line.severity == Severity::Note && !line.code.starts_with("default.");
    for (heading, lines) in [
        ("Assumed where the case says nothing", all.iter().filter(is_default).collect::<Vec<_>>()),
        ("For the record", all.iter().filter(others).collect()),
    ] {
        if !lines.is_empty() {
            parts.extend([Part::heading(heading), assumptions(subject, lines)]);
        }
    }
    Section::new("notices", "Notices and assumptions", parts)
}

/// One row an assumption; what it is about stands once.
fn assumptions(subject: &Subject, lines: Vec<&NoticeLine>) -> Part {
    let mut rows = Vec::new();
    for group in grouped(lines.into_iter()) {
        for (index, line) in group.iter().enumerate() {
            let field = if index == 0 { named(line) } else { "" };
            let hint = if line.hint.is_empty() { String::new() } else { sentence(&line.hint) };
            let taken = line.message.split_once(" taken as ").filter(|(before, _)| before.starts_with('`') && before.ends_with('`'));
            let message = taken.map_or_else(|| sentence(&line.message), |(_, taken)| sentence(&format!("`taken as {taken}")));
            rows.push(vec![Cell::text(field), Cell::toned(at(subject, line), Tone::Soft), Cell { below: hint, ..Cell::text(message) }]);
        }
    }
    Part::table(vec![Column::words("", 0.9), Column::words("", 0.5), Column::words("", 3.0)], rows)
}

/// The duties of a line; nothing where it speaks of the whole case or there is one duty alone.
fn at(subject: &Subject, line: &NoticeLine) -> String {
    let several = subject.sheet.columns.len() > 1;
    if several && !line.duties.is_empty() { of_duties(&line.duties, subject) } else { String::new() }
}

fn named(line: &NoticeLine) -> &str {
    if line.field.is_empty() { &line.code } else { &line.field }
}

/// Lines of one code and field together.
fn grouped<'a>(lines: impl Iterator<Item = &'a NoticeLine>) -> Vec<Vec<&'a NoticeLine>> {
    let mut groups: Vec<Vec<&NoticeLine>> = Vec::new();
    for line in lines {
        let same = |known: &&mut Vec<&NoticeLine>| known.first().is_some_and(|first| first.code == line.code && first.field == line.field);
        match groups.iter_mut().find(same) {
            Some(known) => known.push(line),
            None => groups.push(vec![line]),
        }
    }
    groups
}

fn notice(subject: &Subject, lines: &[&NoticeLine]) -> Option<Entry> {
    let first = lines.first()?;
    let (word, tone) = match first.severity {
        Severity::Note => ("", Tone::Plain),
        Severity::Caution => ("caution", Tone::Watch),
        Severity::Serious => ("serious", Tone::Fails),
    };
    let line = |line: &&NoticeLine| Field::new(at(subject, line), sentence(&line.message));
    let hint = (!first.hint.is_empty()).then(|| Field::new("To do", sentence(&first.hint)));
    Some(Entry {
        word: word.to_owned(),
        tone,
        title: named(first).to_owned(),
        lines: lines.iter().map(line).collect(),
        remarks: hint.into_iter().collect(),
    })
}

/// Dangers, and who decides.
pub(super) fn cautions(subject: &Subject) -> Section {
    let items = subject.sheet.cautions.iter().map(|line| plain_entry("", line)).collect();
    Section::new("cautions", "Cautions", vec![Part::Entries { items }])
}
