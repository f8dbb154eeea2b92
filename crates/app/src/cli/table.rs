//! A sheet drawn for a terminal: duties as columns, then verdicts, cautions, notices. Nothing is computed here.

use comfy_table::{Cell, Table};
use halfmicron::notice::Severity;
use halfmicron::outcome::Word;
use halfmicron::rules::Source;
use halfmicron::sheet::rounding::significant;
use halfmicron::sheet::{
    Block, Curve, DutyCurves, ModelLine, MotionSheet, NoticeLine, PartSheet, Sheet, SweepLine, SweepSheet, VerdictLine, capitalised,
};

use super::write::{Page, cell, counted, judged, strong, words};
use super::{Shown, SolveArguments};
use crate::Terminal;

/// Mark of the worst duty of a row.
const WORST: &str = "  worst";

/// Text of a sheet.
pub fn draw(sheet: &Sheet, arguments: &SolveArguments, terminal: Terminal) -> String {
    let mut page = Page::new(terminal);
    page.heading(&sheet.title);
    for columns in column_groups(sheet, terminal.width) {
        page.line("");
        page.table(numbers(sheet, &columns));
    }
    points_not_found(&mut page, sheet);
    spreads(&mut page, sheet);
    verdicts(&mut page, sheet, arguments.verdicts);
    cautions(&mut page, sheet);
    notices(&mut page, &sheet.notices, sheet.columns.len(), arguments.notices);
    models(&mut page, &sheet.models, arguments.notices);
    provenance(&mut page, sheet);
    page.finish()
}

/// Duties that stand beside each other: all in a pipe, as many as fit on a terminal.
fn column_groups(sheet: &Sheet, width: Option<usize>) -> Vec<Vec<usize>> {
    let count = sheet.columns.len();
    let Some(width) = width else {
        return vec![(0..count).collect()];
    };
    let head = head_width(sheet);
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut used = 0;
    for column in 0..count {
        let needed = column_width(sheet, column) + 2;
        match groups.last_mut() {
            Some(group) if used + needed <= width => {
                group.push(column);
                used += needed;
            }
            _ => {
                groups.push(vec![column]);
                used = head + needed;
            }
        }
    }
    groups
}

fn all_blocks(sheet: &Sheet) -> impl Iterator<Item = &Block> {
    sheet.blocks.iter().chain([&sheet.hand])
}

fn head_width(sheet: &Sheet) -> usize {
    let rows = all_blocks(sheet).flat_map(|block| &block.rows);
    let (label, unit) = rows.fold((0, 0), |(label, unit), row| (label.max(row.label.chars().count()), unit.max(row.unit.chars().count())));
    label + unit + 4
}

fn column_width(sheet: &Sheet, column: usize) -> usize {
    let texts = all_blocks(sheet).flat_map(|block| &block.rows).filter_map(|row| row.cells.get(column));
    let widest = texts.map(|cell| cell.text.chars().count() + if cell.worst { WORST.len() } else { 0 }).max().unwrap_or(0);
    widest.max(sheet.columns[column].name.chars().count())
}

fn numbers(sheet: &Sheet, columns: &[usize]) -> Table {
    let mut table = Table::new();
    let mut header: Vec<Cell> = vec![cell(""), cell("")];
    header.extend(columns.iter().map(|column| strong(&sheet.columns[*column].name)));
    table.set_header(header);
    for block in all_blocks(sheet) {
        table.add_row(vec![strong(&block.title)]);
        for row in &block.rows {
            let mut cells = vec![cell(&format!("  {}", row.label)), cell(&row.unit)];
            for column in columns {
                let Some(shown) = row.cells.get(*column) else { continue };
                let text = if shown.worst { format!("{}{WORST}", shown.text) } else { shown.text.clone() };
                let judges = row.key == "verdict" && shown.text.starts_with(sheet.columns[*column].worst.map_or("", words));
                let word = if judges { sheet.columns[*column].worst } else { None };
                cells.push(judged(&text, word));
            }
            table.add_row(cells);
        }
    }
    for column in 0..2 + columns.len() {
        if let Some(column) = table.column_mut(column) {
            column.set_padding((0, 2));
        }
    }
    table
}

fn points_not_found(page: &mut Page, sheet: &Sheet) {
    let unsolved: Vec<_> = sheet.columns.iter().filter(|column| !column.solved).collect();
    if !unsolved.is_empty() {
        page.heading("Duties without an operating point");
        for column in unsolved {
            page.paragraph("  ", "    ", &format!("{}: {}: {}", column.name, column.status, column.reason));
        }
    }
    if !sheet.states.is_empty() {
        page.heading("Other equilibria");
        for state in &sheet.states {
            page.paragraph("  ", "    ", &format!("{}: {}", state.duty, state.text));
        }
    }
    if !sheet.jumps.is_empty() {
        page.heading("Before the film jumps");
        for jump in &sheet.jumps {
            page.paragraph("  ", "    ", &format!("{}: {}", jump.duty, jump.text));
        }
    }
}

fn spreads(page: &mut Page, sheet: &Sheet) {
    for spread in &sheet.spreads {
        page.heading(&format!("What other laws would give: {}", spread.duty));
        if !spread.rows.is_empty() {
            let mut table = Table::new();
            table.set_header(["", "", "inputs leave open", "laws leave open", "made by"].map(strong).to_vec());
            for row in &spread.rows {
                let texts = [&format!("  {}", row.label), &row.unit, &row.inputs, &row.laws, &row.made_by];
                table.add_row(texts.map(|text| cell(text)).to_vec());
            }
            page.table(table);
        }
        for remark in &spread.remarks {
            page.paragraph("  ", "    ", remark);
        }
    }
}

fn verdicts(page: &mut Page, sheet: &Sheet, shown: Shown) {
    page.heading("Verdicts");
    let matters = |line: &&VerdictLine| shown == Shown::All || matches!(line.word, Word::Fails | Word::Watch);
    let mut tags: Vec<&str> = Vec::new();
    let mut said: Vec<(&str, Word)> = Vec::new();
    for line in sheet.verdicts.iter().filter(matters) {
        if shown == Shown::Main && said.contains(&(line.rule.as_str(), line.word)) {
            continue;
        }
        said.push((&line.rule, line.word));
        let likewise = likewise(sheet, line);
        let duties = match (shown, likewise.is_empty()) {
            (Shown::Main, false) => format!(" ({}; with other numbers {})", line.duties.join(", "), likewise.join(", ")),
            _ => of_duties(&line.duties, sheet.columns.len()),
        };
        let hint = if line.word == Word::Holds { String::new() } else { format!(" {}", line.hint) };
        page.verdict(line.word, &format!("{}{duties}: {}.{hint} [{}]", line.rule, line.reason.trim_end_matches('.'), line.source));
        if !tags.contains(&line.source.as_str()) {
            tags.push(&line.source);
        }
    }
    if shown == Shown::Main {
        let count = |word| sheet.verdicts.iter().filter(|line| line.word == word).count();
        let (holds, unknown) = (count(Word::Holds), count(Word::NotComputed));
        let summary = format!("{} ({holds}), {} ({unknown}); all with --verdicts all", words(Word::Holds), words(Word::NotComputed));
        page.paragraph("  ", "    ", &summary);
    }
    if !tags.is_empty() {
        let said: Vec<String> = tags.iter().map(|tag| format!("{tag} = {}", Source::meaning(tag))).collect();
        page.paragraph("  ", "    ", &format!("Limits: {}.", said.join("; ")));
    }
}

/// Other duties with the same word of the same rule, for other numbers.
fn likewise<'a>(sheet: &'a Sheet, line: &VerdictLine) -> Vec<&'a str> {
    let same = sheet.verdicts.iter().filter(|other| other.rule == line.rule && other.word == line.word && other.reason != line.reason);
    same.flat_map(|other| other.duties.iter().map(String::as_str)).collect()
}

/// Which duties a line speaks of; nothing where it is all of them or the whole case.
fn of_duties(duties: &[String], all: usize) -> String {
    if duties.is_empty() || (duties.len() == all && all > 1) { String::new() } else { format!(" ({})", duties.join(", ")) }
}

fn cautions(page: &mut Page, sheet: &Sheet) {
    page.heading("Cautions");
    for line in &sheet.cautions {
        page.paragraph("  ", "    ", line);
    }
}

fn notices(page: &mut Page, all: &[NoticeLine], columns: usize, shown: Shown) {
    if all.is_empty() {
        return;
    }
    let matters = |line: &&NoticeLine| shown == Shown::All || line.severity > Severity::Note;
    let lines: Vec<&NoticeLine> = all.iter().filter(matters).collect();
    let folded = all.len() - lines.len();
    page.heading("Notices");
    for line in lines {
        let duties = of_duties(&line.duties, columns);
        let field = if line.field.is_empty() { String::new() } else { format!("{}: ", line.field) };
        let hint = if line.hint.is_empty() { String::new() } else { format!(" {}.", capitalised(line.hint.trim_end_matches('.'))) };
        let message = line.message.trim_end_matches('.');
        page.paragraph("  ", "    ", &format!("{}{duties}: {field}{message}.{hint} [{}]", severity(line.severity), line.code));
    }
    if folded > 0 {
        page.paragraph("  ", "    ", &format!("{} of defaults and models: --notices all", counted(folded, "note", "notes")));
    }
}

fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Note => "note",
        Severity::Caution => "caution",
        Severity::Serious => "serious",
    }
}

fn models(page: &mut Page, used: &[ModelLine], shown: Shown) {
    if used.is_empty() {
        return;
    }
    page.heading("Models");
    if shown == Shown::All {
        for model in used {
            let known = halfmicron_checks::models::find(&model.id);
            let said =
                known.map_or(String::new(), |known| format!(" {}. Valid when: {}. {}.", known.title, known.valid_when, known.source));
            page.paragraph("  ", "    ", &format!("{} ({}):{said}", model.id, model.proof));
        }
        return;
    }
    let unproven: Vec<&str> = used.iter().filter(|model| model.proof == "unproven").map(|model| model.id.as_str()).collect();
    let said = if unproven.is_empty() { "all with a published check".to_owned() } else { format!("unproven: {}", unproven.join(", ")) };
    page.paragraph("  ", "    ", &format!("{} used; {said}", counted(used.len(), "model", "models")));
}

fn provenance(page: &mut Page, sheet: &Sheet) {
    let said: Vec<String> = sheet.provenance.iter().map(|line| format!("{} {}", line.label, line.text)).collect();
    page.line("");
    page.paragraph("", "  ", &said.join("; "));
}

/// Blocks of rows, duties as columns.
fn part_numbers(columns: &[String], blocks: &[Block]) -> Table {
    let mut table = Table::new();
    let mut header: Vec<Cell> = vec![cell(""), cell("")];
    header.extend(columns.iter().map(|column| strong(column)));
    table.set_header(header);
    for block in blocks {
        table.add_row(vec![strong(&block.title)]);
        for row in &block.rows {
            let mut cells = vec![cell(&format!("  {}", row.label)), cell(&row.unit)];
            cells.extend(row.cells.iter().map(|shown| cell(&shown.text)));
            table.add_row(cells);
        }
    }
    table
}

/// Curves as columns beside their axis, at some of its places.
fn curve_numbers(curves: &DutyCurves, places: &[usize]) -> Table {
    let mut table = Table::new();
    let columns = || std::iter::once(&curves.radius).chain(&curves.curves);
    table.set_header(columns().map(|curve| strong(&format!("{} {}", curve.label, curve.unit))).collect::<Vec<_>>());
    for &index in places {
        let text = |curve: &Curve| curve.values.get(index).copied().flatten().map_or("-".to_owned(), |value| in_column(curve, value));
        table.add_row(columns().map(|curve| cell(&text(curve))).collect::<Vec<_>>());
    }
    table
}

/// Text of the motion of a seal.
pub fn draw_motion(sheet: &MotionSheet, arguments: &SolveArguments, terminal: Terminal) -> String {
    let mut page = Page::new(terminal);
    page.heading(&sheet.title);
    page.line("");
    page.table(part_numbers(&sheet.columns, &sheet.blocks));
    for curves in &sheet.curves {
        page.heading(&format!("Over speed, each with its own operating point: {}", curves.duty));
        page.table(curve_numbers(curves, &(0..curves.radius.values.len()).collect::<Vec<_>>()));
    }
    if !sheet.refusals.is_empty() {
        page.heading("Not computed");
        for line in &sheet.refusals {
            page.paragraph("  ", "    ", line);
        }
    }
    notices(&mut page, &sheet.notices, sheet.columns.len(), arguments.notices);
    models(&mut page, &sheet.models, arguments.notices);
    page.line("");
    page.paragraph("", "", "Local codes and the licensed or competent person of the place come before this result.");
    page.finish()
}

/// Text of a part taken alone.
pub fn draw_part(sheet: &PartSheet, arguments: &SolveArguments, terminal: Terminal) -> String {
    let mut page = Page::new(terminal);
    page.heading(&sheet.title);
    page.line("");
    page.table(part_numbers(&sheet.columns, &sheet.blocks));
    if !sheet.remarks.is_empty() {
        page.heading("Remarks");
        for remark in &sheet.remarks {
            page.paragraph("  ", "    ", remark);
        }
    }
    notices(&mut page, &sheet.notices, sheet.columns.len(), arguments.notices);
    for curves in &sheet.curves {
        page.heading(&format!("Over the band: {}", curves.duty));
        page.table(curve_numbers(curves, &sampled(curves.radius.values.len())));
    }
    page.line("");
    page.paragraph("", "", "Local codes and the licensed or competent person of the place come before this result.");
    page.finish()
}

/// Text of a sweep.
pub fn draw_sweep(sheet: &SweepSheet, terminal: Terminal) -> String {
    let mut page = Page::new(terminal);
    page.heading(&sheet.title);
    page.line("");
    let mut rows = sheet.rows.as_slice();
    while !rows.is_empty() {
        let until = rows.iter().position(|row| row.fold.is_some()).unwrap_or(rows.len());
        if until > 0 {
            page.table(swept_numbers(sheet, &rows[..until]));
        }
        if let Some(fold) = rows.get(until).and_then(|row| row.fold.as_ref()) {
            page.paragraph("", "    ", fold);
        }
        rows = &rows[rows.len().min(until + 1)..];
    }
    if !sheet.remarks.is_empty() {
        page.heading("Remarks");
        for remark in &sheet.remarks {
            page.paragraph("  ", "    ", remark);
        }
    }
    page.line("");
    page.paragraph("", "", "Local codes and the licensed or competent person of the place come before this result.");
    page.finish()
}

/// Values between two folds, with the columns of the whole.
fn swept_numbers(sheet: &SweepSheet, rows: &[SweepLine]) -> Table {
    let mut table = Table::new();
    table.set_header(sheet.columns.iter().map(|[label, unit]| strong(format!("{label} {unit}").trim_end())).collect::<Vec<_>>());
    for row in rows {
        table.add_row(row.cells.iter().map(|text| cell(text)).collect::<Vec<_>>());
    }
    table
}

/// A value of a curve with the decimals of the whole column: five digits of its greatest, no finer than a tenth of a nanometre.
fn in_column(curve: &Curve, value: f64) -> String {
    let greatest = curve.values.iter().flatten().fold(0.0, |greatest: f64, value| greatest.max(value.abs()));
    let finest = match curve.unit.as_str() {
        "um" => 4,
        "uin" => 2,
        _ => 8,
    };
    if greatest >= 1e5 || greatest == 0.0 {
        return significant(value, 5);
    }
    let decimals = (4 - greatest.log10().floor() as i32).clamp(0, finest) as usize;
    let text = format!("{value:.decimals$}");
    if text.trim_start_matches('-').chars().all(|c| matches!(c, '0' | '.')) { "0".to_owned() } else { text }
}

/// At most eleven places of a curve, both ends among them.
fn sampled(count: usize) -> Vec<usize> {
    let wanted = count.min(11);
    (0..wanted).map(|place| if wanted < 2 { 0 } else { place * (count - 1) / (wanted - 1) }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_hold_both_ends() {
        assert_eq!(sampled(33), [0, 3, 6, 9, 12, 16, 19, 22, 25, 28, 32]);
        assert_eq!(sampled(3), [0, 1, 2]);
        assert_eq!(sampled(1), [0]);
        assert!(sampled(0).is_empty());
    }

    #[test]
    fn duties_are_named_where_they_differ() {
        let names = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
        assert_eq!(of_duties(&names(&["normal"]), 2), " (normal)");
        assert_eq!(of_duties(&names(&["normal", "start"]), 2), "");
        assert_eq!(of_duties(&[], 2), "");
    }
}
