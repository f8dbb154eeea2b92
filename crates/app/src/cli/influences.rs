//! What moves the results of a duty: the influence of every input.

use std::ops::ControlFlow;

use comfy_table::Table;
use halfmicron::sheet::{InfluenceCell, InfluenceSheet, influence_sheet};
use halfmicron::study::{self, MAIN, Source};

use super::cases::{self, Opened};
use super::write::{Page, cell, strong};
use super::{Format, SolveArguments};
use crate::{Answer, Terminal};

/// Short words for the results of the table, beside their keys.
const WORDS: [&str; 5] = ["film", "leakage", "power", "face", "boiling"];

/// The result by which the table is ranked.
pub fn ranked(text: &str) -> Result<String, String> {
    if let Some(place) = WORDS.iter().position(|word| *word == text) {
        return Ok(MAIN[place].to_owned());
    }
    match MAIN.iter().find(|key| **key == text) {
        Some(key) => Ok((*key).to_owned()),
        None => Err(format!("rank by one of {}", WORDS.join(", "))),
    }
}

/// Influences at one duty of every case, ranked by a result.
pub fn influences(by: &str, arguments: &SolveArguments, terminal: Terminal) -> Answer {
    cases::for_each(arguments, terminal, |opened| one(by, opened, arguments, terminal))
}

fn one(by: &str, opened: &Opened, arguments: &SolveArguments, terminal: Terminal) -> Answer {
    let duty = match cases::one_duty(&opened.model, &arguments.duties, "influences are") {
        Ok(duty) => duty,
        Err(message) => return Answer::error(message),
    };
    let found = match study::influences(&opened.model, &duty, &[], &mut |_, _| ControlFlow::Continue(())) {
        Ok(found) => found,
        Err(error) => return Answer::error(format!("error: {}: {error}\n", opened.path.display())),
    };
    let out = match arguments.format {
        Format::Json => match serde_json::to_string_pretty(&found) {
            Ok(text) => text + "\n",
            Err(error) => return Answer::error(format!("error: the result cannot be written as JSON: {error}\n")),
        },
        Format::Table => draw(&influence_sheet(&found, by, arguments.units.set()), terminal),
    };
    Answer::result(out)
}

fn draw(sheet: &InfluenceSheet, terminal: Terminal) -> String {
    let mut page = Page::new(terminal);
    page.heading(&sheet.title);
    page.line("");
    let mut table = Table::new();
    let mut header = vec![strong("input"), strong("value"), strong("step")];
    header.extend(sheet.columns.iter().map(|column| strong(&format!("{} {}", column.label, column.unit))));
    table.set_header(header);
    let mut now = vec![cell("as it is"), cell(""), cell("")];
    now.extend(sheet.columns.iter().map(|column| cell(&column.nominal)));
    table.add_row(now);
    for row in &sheet.rows {
        let from = if row.from == Source::Default { " (default)" } else { "" };
        let mut cells = vec![cell(&row.label), cell(&format!("{}{from}", row.value)), cell(&row.step)];
        cells.extend(row.cells.iter().map(|shown| cell(&text(shown))));
        table.add_row(cells);
    }
    page.table(table);
    let said = sheet.rows.iter().filter(|row| !row.remark.is_empty());
    let mut remarks: Vec<String> = said.map(|row| format!("{}: {}", row.label, row.remark)).collect();
    remarks.extend(sheet.remarks.iter().cloned());
    page.heading("Remarks");
    for remark in remarks {
        page.paragraph("  ", "    ", &remark);
    }
    page.line("");
    page.paragraph("", "", "Local codes and the licensed or competent person of the place come before this result.");
    page.finish()
}

fn text(shown: &InfluenceCell) -> String {
    if shown.bent { format!("~{}", shown.text) } else { shown.text.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_is_ranked_by_a_word_or_a_key() {
        assert_eq!(ranked("film").as_deref(), Ok("minimum_film_m"));
        assert_eq!(ranked("power_w").as_deref(), Ok("power_w"));
        assert!(ranked("colour").is_err_and(|error| error.contains("boiling")));
    }
}
