//! What the report says, section by section. Wording and order are decided here; numbers are taken from the sheet as they stand.

mod case;
mod figures;
mod judged;
mod library;
mod numbers;
mod opening;

use halfmicron::outcome::DutyOutcome;

use super::content::{Content, Part, Section};
use super::{Subject, TitleBlock};

/// The report as plain data.
pub fn content(subject: &Subject, title: &TitleBlock) -> Content {
    let mut sections = vec![opening::summary(subject), numbers::duties(subject)];
    sections.extend(figures::sections(subject));
    sections.push(numbers::results(subject));
    sections.push(numbers::hand(subject));
    sections.push(judged::verdicts(subject));
    sections.push(judged::states(subject));
    sections.push(judged::notices(subject));
    sections.push(library::models(subject));
    sections.push(library::materials_and_fluid(subject));
    sections.push(case::faces(subject));
    sections.push(judged::cautions(subject));
    sections.push(case::provenance(subject, title));
    sections.push(case::text(subject));
    sections.retain(|section| !section.parts.is_empty());
    let identity = format!("case {}", short_hash(subject));
    let title_words = one_line(&subject.sheet.title);
    let revision = one_line(&title.revision);
    Content {
        foot: if revision.is_empty() { title_words.clone() } else { format!("{title_words}, revision {revision}") },
        title: title_words,
        subtitle: "Mechanical face seal: computed film, contact, heat and ring distortion".to_owned(),
        title_block: opening::title_block(subject, title),
        identity,
        author: one_line(&title.author),
        sections,
    }
}

/// The first digits of the case hash, as the sheet shows them.
fn short_hash(subject: &Subject) -> String {
    subject.outcome.provenance.case_hash.chars().take(12).collect()
}

/// The text on one line, single blanks between words.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").chars().filter(|letter| !letter.is_control()).collect()
}

/// Which duties are meant, in words.
fn of_duties(duties: &[String], subject: &Subject) -> String {
    match (duties.len(), subject.sheet.columns.len()) {
        (0, _) => "whole case".to_owned(),
        (some, all) if some == all && all > 1 => "every duty".to_owned(),
        _ => duties.join(", "),
    }
}

/// The duty whose pictures are shown: of those with an operating point the one judged worst, of equals that with the least film.
fn shown_duty<'a>(subject: &Subject<'a>) -> Option<&'a DutyOutcome> {
    let film = |duty: &DutyOutcome| duty.chosen.and_then(|index| duty.equilibria.get(index)).map(|e| e.minimum_film_m.nominal);
    let judged = |duty: &DutyOutcome| halfmicron::rules::worst_word(&duty.verdicts).map_or(0, halfmicron::rules::weight);
    let columns = subject.outcome.duties.iter().zip(&subject.sheet.columns);
    let solved = columns.filter(|(_, column)| column.solved).filter_map(|(duty, _)| film(duty).map(|film| (duty, film)));
    let rank = |duty: &DutyOutcome| (judged(duty), duty.conditions.turning);
    solved.min_by(|(a, thin), (b, thick)| rank(b).cmp(&rank(a)).then(thin.total_cmp(thick))).map(|(duty, _)| duty)
}

/// A sentence with its full stop, key names without their quotes.
fn sentence(text: &str) -> String {
    let starts_with_key = text.starts_with('`');
    let text = text.trim().replace('`', "");
    let ends = text.is_empty() || text.ends_with(['.', '?', '!', ':']);
    let text = if ends { text } else { format!("{text}.") };
    if starts_with_key { text } else { halfmicron::sheet::capitalised(&text) }
}

/// A section of one paragraph where nothing else is to be said.
fn nothing(key: &'static str, title: &'static str, words: &str) -> Section {
    Section::new(key, title, vec![Part::paragraph(words)])
}
