//! One ring alone.

use halfmicron::model::RingRole;
use halfmicron::ring::{RingAlone, ring_alone};
use halfmicron::sheet::ring_sheet;

use super::cases::{self, Opened};
use super::{Format, SolveArguments, table};
use crate::{Answer, Terminal};

/// One ring at every duty asked for, under its stated loads.
pub fn ring(role: RingRole, arguments: &SolveArguments, terminal: Terminal) -> Answer {
    cases::for_each(arguments, terminal, |opened| one(opened, role, arguments, terminal))
}

fn one(opened: &Opened, role: RingRole, arguments: &SolveArguments, terminal: Terminal) -> Answer {
    let duties = match cases::duties(&opened.model, &arguments.duties) {
        Ok(duties) => duties,
        Err(message) => return Answer::error(format!("error: {message}\n")),
    };
    let mut rings: Vec<RingAlone> = Vec::new();
    let mut problems = String::new();
    for duty in duties {
        match ring_alone(&opened.model, role, duty) {
            Ok(ring) => rings.push(ring),
            Err(error) => problems.push_str(&format!("error: {}: duty {}: {error}\n", opened.path.display(), duty.name)),
        }
    }
    let code = if problems.is_empty() { 0 } else { 2 };
    let out = match arguments.format {
        _ if rings.is_empty() => String::new(),
        Format::Json => match serde_json::to_string_pretty(&rings) {
            Ok(text) => text + "\n",
            Err(error) => return Answer::error(format!("error: the result cannot be written as JSON: {error}\n")),
        },
        Format::Table => table::draw_part(&ring_sheet(&opened.model.title, &rings, arguments.units.set()), arguments, terminal),
    };
    Answer { out, err: problems, code }
}
