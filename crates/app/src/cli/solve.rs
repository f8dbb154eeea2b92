//! Every duty of a case.

use std::path::Path;

use halfmicron::rules::exit_code;
use halfmicron::sheet::sheet;

use super::cases::{self, Opened};
use super::{Format, SolveArguments, charts, table};
use crate::{Answer, Terminal};

/// Solve the cases asked for, with a file of charts if one is named.
pub fn solve(arguments: &SolveArguments, spread: bool, chart: Option<&Path>, terminal: Terminal) -> Answer {
    cases::for_each(arguments, terminal, |opened| one(opened, arguments, spread, chart, terminal))
}

fn one(opened: &Opened, arguments: &SolveArguments, spread: bool, chart: Option<&Path>, terminal: Terminal) -> Answer {
    let solve = if spread { halfmicron::solve_with_spread } else { halfmicron::solve };
    let outcome = match solve(&opened.model, &arguments.duties) {
        Ok(outcome) => outcome,
        Err(error) => return Answer::error(format!("error: {}: {error}\n", opened.path.display())),
    };
    let sheet = sheet(&opened.model, &outcome, arguments.units.set());
    let out = match arguments.format {
        Format::Json => match serde_json::to_string_pretty(&outcome) {
            Ok(text) => text + "\n",
            Err(error) => return Answer::error(format!("error: the result cannot be written as JSON: {error}\n")),
        },
        Format::Table => table::draw(&sheet, arguments, terminal),
    };
    match chart.map(|file| charts::write(file, &sheet.title, &sheet.charts)) {
        Some(Err(message)) => Answer::error(message),
        _ => Answer { out, code: exit_code(&outcome), ..Answer::default() },
    }
}
