//! The published checks, rerun.

use comfy_table::Table;
use halfmicron_checks::{CheckResult, CheckVerdict, Kind};

use super::Format;
use super::write::{Page, cell, counted, strong};
use crate::figures::{difference, figure};
use crate::{Answer, Terminal};

/// Rerun the checks and show them.
pub fn prove(ids: &[String], format: Format, terminal: Terminal) -> Answer {
    let checks = halfmicron_checks::all();
    if let Some(unknown) = ids.iter().find(|id| !checks.iter().any(|check| check.id.eq_ignore_ascii_case(id))) {
        let mut known: Vec<&str> = checks.iter().map(|check| check.id).collect();
        known.dedup();
        return Answer::error(format!("error: no check is named {unknown}; there are {}\n", known.join(", ")));
    }
    let asked = |id: &str| ids.is_empty() || ids.iter().any(|asked| asked.eq_ignore_ascii_case(id));
    let results: Vec<CheckResult> = checks.iter().filter(|check| asked(check.id)).flat_map(halfmicron_checks::Check::results).collect();
    let out = match format {
        Format::Json => match serde_json::to_string_pretty(&results) {
            Ok(text) => text + "\n",
            Err(error) => return Answer::error(format!("error: the results cannot be written as JSON: {error}\n")),
        },
        Format::Table => draw(&results, terminal),
    };
    // A coarser theory that differs does not contradict the program: its note says why, and it fails nothing.
    let contradicted = disagreeing(&results, |kind| kind != Kind::Comparison) > 0;
    Answer { out, code: u8::from(contradicted), ..Answer::default() }
}

/// How many numbers of some kinds of check disagree.
fn disagreeing(results: &[CheckResult], of: impl Fn(Kind) -> bool) -> usize {
    results.iter().filter(|result| result.verdict == CheckVerdict::Disagrees && of(result.kind)).count()
}

fn draw(results: &[CheckResult], terminal: Terminal) -> String {
    let mut page = Page::new(terminal);
    let mut table = Table::new();
    table.set_header(["check", "quantity", "unit", "expected", "computed", "difference", "tolerance", "verdict"].map(strong));
    for result in results {
        let verdict = match result.verdict {
            CheckVerdict::Agrees => "agrees",
            CheckVerdict::Disagrees => "DISAGREES",
        };
        table.add_row(vec![
            cell(result.id),
            cell(&result.quantity),
            cell(result.unit),
            cell(&figure(result.expected)),
            cell(&figure(result.computed)),
            cell(&difference(result.difference)),
            cell(&difference(result.tolerance)),
            cell(verdict),
        ]);
    }
    page.table(table);
    page.heading("Sources and tolerances");
    let mut said: Vec<(&str, &str)> = Vec::new();
    for result in results {
        if said.contains(&(result.id, result.title)) {
            continue;
        }
        said.push((result.id, result.title));
        let memory = if result.from_memory { ", expected values from memory" } else { "" };
        page.paragraph("  ", "    ", &format!("{} ({}{memory}): {}.", result.id, kind(result.kind), result.title.trim_end_matches('.')));
        page.paragraph("    ", "    ", &format!("{}. Tolerance: {}.", result.source.trim_end_matches('.'), result.tolerance_reason));
    }
    notes(&mut page, results);
    let proofs = results.iter().filter(|result| result.kind == Kind::Proof).count();
    let [against, coarser] = [false, true].map(|comparison| disagreeing(results, |kind| (kind == Kind::Comparison) == comparison));
    let outcome = match (against, coarser) {
        (0, 0) => "all agree".to_owned(),
        (0, _) => format!("{coarser} disagree, in comparisons alone: the notes say why"),
        _ => format!("{against} disagree and contradict the program, {coarser} in comparisons"),
    };
    let count = counted(results.len(), "number", "numbers");
    page.line("");
    page.paragraph("", "", &format!("{count}, {proofs} of them proofs of a model (arithmetic and comparisons prove none); {outcome}."));
    page.finish()
}

fn notes(page: &mut Page, results: &[CheckResult]) {
    let noted: Vec<&CheckResult> = results.iter().filter(|result| !result.note.is_empty()).collect();
    if noted.is_empty() {
        return;
    }
    page.heading("Notes");
    for result in noted {
        page.paragraph("  ", "    ", &format!("{} {}: {}", result.id, result.quantity, result.note));
    }
}

fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Proof => "proof",
        Kind::Arithmetic => "arithmetic",
        Kind::Comparison => "comparison",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_unknown_check_is_refused_with_the_list() {
        let answer = prove(&["F99".to_owned()], Format::Table, Terminal::pipe());
        assert_eq!(answer.code, 2);
        assert!(answer.err.contains("F1"));
    }
}
