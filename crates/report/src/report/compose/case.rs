//! What the case itself says: faces, provenance, text.

use halfmicron::model::RingRole;
use halfmicron::notice::Notice;
use toml::{Table, Value};

use super::super::content::{Cell, Column, Part, Section, Tone};
use super::super::{Subject, TitleBlock};
use super::library::ring_name;
use super::{one_line, opening, sentence};

/// Of what no default is taken and the case says nothing.
const NOT_STATED: &str = "not stated";

/// Finish and form of both faces as stated, and what was taken where nothing is.
pub(super) fn faces(subject: &Subject) -> Section {
    let case: Table = subject.case_text.parse().unwrap_or_default();
    let columns = vec![
        Column::words("", 1.0),
        Column::words(ring_name(RingRole::Rotating), 1.4),
        Column::words(ring_name(RingRole::Stationary), 1.4),
    ];
    let both = |label: &str, keys: &[&str]| {
        let of = |ring: &str| stated_or_taken(subject, &case, ring, keys);
        vec![Cell::text(label), of("rotating_ring"), of("stationary_ring")]
    };
    let band = |label: &str, key: &str| {
        let rings = ["rotating_ring", "stationary_ring"].map(|ring| at(&case, ring).and_then(|table| look_up(table, key)));
        let other = if rings.iter().any(Option::is_some) { "that of the other ring" } else { NOT_STATED };
        let of = |ring: Option<&Value>| ring.map_or(Cell::toned(other, Tone::Soft), |value| Cell::text(as_written(value)));
        vec![Cell::text(label), of(rings[0]), of(rings[1])]
    };
    let rows = vec![
        vec![Cell::text("face material"), face_material(subject, RingRole::Rotating), face_material(subject, RingRole::Stationary)],
        band("running band, inner diameter", "face.inner"),
        band("running band, outer diameter", "face.outer"),
        both("roughness", &["roughness"]),
        both("flatness, peak to valley", &["flatness"]),
        both("lapped form", &["lapped_form", "lapped_coning"]),
        vec![Cell::text("squareness to the axis"), Cell::toned(NOT_STATED, Tone::Soft), Cell::toned(NOT_STATED, Tone::Soft)],
        both("fillets of the section", &["fillet"]),
        both("flat and free of stress at", &["stress_free_temperature"]),
    ];
    let machine = |label: &str, key: &str| vec![Cell::text(label), stated_or_taken(subject, &case, "machine", &[key])];
    let of_machine = vec![
        machine("face run-out, total indicator reading", "face_runout"),
        machine("shaft diameter", "shaft"),
        machine("end play of the shaft", "end_play"),
    ];
    let parts = vec![
        Part::table(columns, rows),
        Part::table(vec![Column::words("", 1.0), Column::words("Machine", 2.8)], of_machine),
        Part::soft(
            "Values stand as the case writes them. A case has no place for squareness: it, and what is not stated here, must be agreed on the drawing of the \
             part before it is made.",
        ),
    ];
    Section::new("faces", "Faces: what to make and measure", parts)
}

fn face_material(subject: &Subject, role: RingRole) -> Cell {
    let ring = match role {
        RingRole::Rotating => &subject.model.rotating_ring,
        RingRole::Stationary => &subject.model.stationary_ring,
    };
    ring.parts.first().map_or(Cell::toned(NOT_STATED, Tone::Soft), |part| Cell::text(&part.material.name))
}

/// The first of the keys that the case states, as written; else what was taken in its place.
fn stated_or_taken(subject: &Subject, case: &Table, table: &str, keys: &[&str]) -> Cell {
    let stated = keys.iter().find_map(|key| at(case, table).and_then(|table| look_up(table, key)));
    if let Some(value) = stated {
        return Cell::text(as_written(value));
    }
    let fields: Vec<String> = keys.iter().map(|key| format!("{table}.{key}")).collect();
    let of_these = |notice: &&Notice| notice.code.starts_with("default.") && fields.contains(&notice.field);
    match subject.model.notices.iter().find(of_these) {
        Some(notice) => Cell { below: in_sheet_words(subject, notice), ..Cell::toned(NOT_STATED, Tone::Soft) },
        None => Cell::toned(NOT_STATED, Tone::Soft),
    }
}

/// The notice as the sheet writes it, in the reader's units.
fn in_sheet_words(subject: &Subject, notice: &Notice) -> String {
    let same = |line: &&halfmicron::sheet::NoticeLine| line.code == notice.code && line.field == notice.field;
    let message = subject.sheet.notices.iter().find(same).map_or(notice.message.clone(), |line| line.message.clone());
    let taken = message.split_once(" taken as ").map_or(message.clone(), |(_, taken)| format!("taken as {taken}"));
    taken.replace('`', "")
}

fn at<'a>(case: &'a Table, name: &str) -> Option<&'a Table> {
    case.get(name)?.as_table()
}

fn look_up<'a>(table: &'a Table, path: &str) -> Option<&'a Value> {
    match path.split_once('.') {
        None => table.get(path),
        Some((first, rest)) => look_up(table.get(first)?.as_table()?, rest),
    }
}

fn as_written(value: &Value) -> String {
    match value {
        Value::String(text) => one_line(text),
        Value::Table(table) => table.get("value").map_or_else(|| value.to_string(), as_written),
        other => other.to_string(),
    }
}

/// Where the report comes from and how it is made again.
pub(super) fn provenance(subject: &Subject, title: &TitleBlock) -> Section {
    let from = &subject.outcome.provenance;
    let mut rows: Vec<[String; 2]> = vec![["case hash (BLAKE3 of its text)".to_owned(), from.case_hash.clone()]];
    let others = subject.sheet.provenance.iter().filter(|line| line.label != "case");
    rows.extend(others.map(|line| [line.label.clone(), line.text.clone()]));
    rows.push(["random numbers".to_owned(), from.seed.map_or("none drawn".to_owned(), |seed| format!("seed {seed}"))]);
    rows.push(["units".to_owned(), opening::units(subject)]);
    if !title.command.is_empty() {
        rows.push(["command".to_owned(), one_line(&title.command)]);
    }
    let cells = rows.into_iter().map(|[label, text]| vec![Cell::text(label), Cell::text(text)]).collect();
    let parts = vec![
        Part::table(vec![Column::words("", 0.0), Column::words("", 1.0)], cells),
        Part::soft(sentence(
            "the same case, version and command make this file again, byte for byte. It carries no date of its own: the date is that of the signature",
        )),
    ];
    Section::new("provenance", "Provenance", parts)
}

/// The case as it was solved.
pub(super) fn text(subject: &Subject) -> Section {
    let lines: Vec<String> = subject.case_text.lines().map(|line| line.replace('\t', "    ")).collect();
    let parts = vec![Part::soft("The case as it was solved, every input of this report."), Part::Lines { lines }];
    Section::new("case", "Case", parts)
}
