//! Tables of the duties' numbers.

use halfmicron::sheet::{Block, Row};

use super::super::Subject;
use super::super::content::{Cell, Column, Group, Part, Section, Table, Tone};

/// Duties beside each other on a portrait page.
const BESIDE: usize = 4;

/// What each duty asks of the seal: one row a duty.
pub(super) fn duties(subject: &Subject) -> Section {
    let stated = subject.sheet.blocks.iter().filter(|block| states_duties(block)).flat_map(|block| &block.rows);
    let rows: Vec<&Row> = stated.filter(|row| row.key != "verdict" && !says_one_word(row)).collect();
    let mut columns = vec![Column::words("Duty", 0.0)];
    columns.extend(rows.iter().map(|row| head(row)));
    let cells = |(index, duty): (usize, &halfmicron::sheet::Column)| {
        let name = Cell::toned(&duty.name, Tone::Strong);
        let numbers = rows.iter().map(|row| row.cells.get(index).map(number).unwrap_or_default());
        std::iter::once(name).chain(numbers).collect()
    };
    let remarks = subject.sheet.blocks.iter().filter(|block| states_duties(block)).flat_map(|block| &block.rows);
    let same: Vec<String> = remarks.filter(|row| says_one_word(row)).map(|row| format!("{} {}", row.label, row.cells[0].text)).collect();
    let said = (!same.is_empty()).then(|| Part::soft(format!("Every duty: {}.", same.join("; "))));
    let table = Part::table(columns, subject.sheet.columns.iter().enumerate().map(cells).collect());
    let parts = said.into_iter().chain([table]).collect();
    Section::new("duties", "Duties", parts)
}

/// A row of words that are the same for every duty: once is enough.
fn says_one_word(row: &Row) -> bool {
    let Some(first) = row.cells.first() else { return false };
    is_words(row) && row.key != "verdict" && row.cells.iter().all(|cell| cell.text == first.text)
}

fn is_words(row: &Row) -> bool {
    matches!(row.key.as_str(), "verdict" | "status" | "conditions.fluid")
}

/// Head of a column that holds a row of the sheet.
pub(super) fn head(row: &Row) -> Column {
    let text = if row.unit.is_empty() { row.label.clone() } else { format!("{}, {}", row.label, row.unit) };
    let bounded = row.cells.iter().any(|cell| cell.text.starts_with("at least "));
    match (is_words(row), bounded) {
        (true, _) => Column::words(&text, 1.2),
        (false, bounded) => Column::numbers(&text, if bounded { 1.4 } else { 1.0 }),
    }
}

/// What came out at each duty.
pub(super) fn results(subject: &Subject) -> Section {
    let blocks: Vec<&Block> = subject.sheet.blocks.iter().filter(|block| !states_duties(block)).collect();
    let mut parts = vec![Part::soft(
        "Nominal value, and beneath it what the stated uncertainty of the inputs leaves open. The worst duty of a row is in bold and says so. A hyphen \
         means that there is no such number.",
    )];
    parts.extend(tables(subject, &blocks));
    parts.extend(super::figures::heat(subject));
    for spread in &subject.sheet.spreads {
        parts.push(Part::heading(format!("What other laws would give: {}", spread.duty)));
        let columns = ["", "", "inputs leave open", "laws leave open", "made by"].map(|head| Column::words(head, 1.0)).to_vec();
        let row =
            |row: &halfmicron::sheet::SpreadRow| [&row.label, &row.unit, &row.inputs, &row.laws, &row.made_by].map(Cell::text).to_vec();
        parts.push(Part::table(columns, spread.rows.iter().map(row).collect()));
        parts.extend(spread.remarks.iter().map(Part::soft));
    }
    Section::new("results", "Results", parts)
}

/// What can be checked with a pocket calculator.
pub(super) fn hand(subject: &Subject) -> Section {
    let mut parts = tables(subject, &[&subject.sheet.hand]);
    let known = subject.sheet.hand.rows.iter().filter_map(|row| how(&row.key).map(|words| vec![Cell::text(&row.label), Cell::text(words)]));
    parts.push(Part::heading("How each follows"));
    parts.push(Part::table(vec![Column::words("", 0.0), Column::words("", 1.0)], known.collect()));
    Section::new("hand", "Check by hand", parts)
}

/// How a hand number follows from the case.
fn how(key: &str) -> Option<&'static str> {
    Some(match key {
        "hand.area_m2" => "pi/4 times outer diameter squared less inner diameter squared, of the running band",
        "hand.balance_ratio" => {
            "area on which the sealed pressure closes over face area: between balance diameter and the edge of the band on the sealed side"
        }
        "hand.spring_pressure_pa" => "spring force over face area",
        "hand.sliding_speed_m_per_s" => "pi times mean diameter times turns per second",
        "hand.closing_force_n" => "pressure difference times balance ratio times face area, and the spring force",
        "hand.net_pressure_pa" => "pressure difference times (balance ratio less 0.5), and the spring pressure",
        "hand.net_pv_pa_m_per_s" => "net pressure times sliding speed",
        "hand.parallel_film_m" => "mean film as solved; a usual film where none was solved",
        "hand.parallel_film_leakage_m3_per_s" => {
            "pi times mean diameter times film cubed times pressure difference, over 12 times viscosity in the chamber times width of the band"
        }
        _ => return None,
    })
}

fn states_duties(block: &Block) -> bool {
    block.rows.iter().any(|row| row.key == "conditions.speed_rad_per_s")
}

/// The blocks as tables of at most a few duties each, as even as can be.
fn tables(subject: &Subject, blocks: &[&Block]) -> Vec<Part> {
    let count = subject.sheet.columns.len();
    let pieces = count.div_ceil(BESIDE).max(1);
    let beside = count.div_ceil(pieces).max(1);
    let starts = (0..count).step_by(beside);
    starts.map(|start| Part::Table(table(subject, blocks, start..(start + beside).min(count)))).collect()
}

fn table(subject: &Subject, blocks: &[&Block], duties: std::ops::Range<usize>) -> Table {
    let mut columns = vec![Column::words("", 1.9), Column::words("", 0.0)];
    columns.extend(subject.sheet.columns[duties.clone()].iter().map(|duty| Column::numbers(&duty.name, 1.0)));
    let several = blocks.len() > 1;
    let group = |block: &&Block| Group {
        title: if several { block.title.clone() } else { String::new() },
        rows: block.rows.iter().map(|row| cells(row, duties.clone())).collect(),
    };
    Table { columns, groups: blocks.iter().map(group).collect() }
}

fn cells(row: &Row, duties: std::ops::Range<usize>) -> Vec<Cell> {
    let label = Cell { inset: row.label.starts_with(' '), ..Cell::text(row.label.trim()) };
    let mut cells = vec![label, Cell::toned(&row.unit, Tone::Soft)];
    cells.extend(row.cells.iter().skip(duties.start).take(duties.len()).map(number));
    cells
}

/// A number with its range beneath it.
pub(super) fn number(cell: &halfmicron::sheet::Cell) -> Cell {
    let (text, range) = match cell.text.split_once(" (") {
        Some((nominal, range)) if range.ends_with(')') && range.contains(" to ") => (nominal, range.trim_end_matches(')')),
        _ => (cell.text.as_str(), ""),
    };
    let below: Vec<&str> = [range, if cell.worst { "worst" } else { "" }].into_iter().filter(|part| !part.is_empty()).collect();
    Cell { below: below.join(", "), ..Cell::toned(text, if cell.worst { Tone::Strong } else { Tone::Plain }) }
}
