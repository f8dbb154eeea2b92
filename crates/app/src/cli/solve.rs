//! Every duty of a case.

use halfmicron::rules::exit_code;
use halfmicron::sheet::sheet;

use super::cases::{self, Opened};
use super::{Format, SolveArguments, table};
use crate::{Answer, Terminal};

/// Solve the cases asked for.
pub fn solve(arguments: &SolveArguments, terminal: Terminal) -> Answer {
    cases::for_each(arguments, terminal, |opened| one(opened, arguments, terminal))
}

fn one(opened: &Opened, arguments: &SolveArguments, terminal: Terminal) -> Answer {
    let outcome = match halfmicron::solve(&opened.model, &arguments.duties) {
        Ok(outcome) => outcome,
        Err(error) => return Answer::error(format!("error: {}: {error}\n", opened.path.display())),
    };
    let out = match arguments.format {
        Format::Json => match serde_json::to_string_pretty(&outcome) {
            Ok(text) => text + "\n",
            Err(error) => return Answer::error(format!("error: the result cannot be written as JSON: {error}\n")),
        },
        Format::Table => table::draw(&sheet(&opened.model, &outcome, arguments.units.set()), arguments, terminal),
    };
    Answer { out, code: exit_code(&outcome), ..Answer::default() }
}
