//! Motion of the floating ring.

use std::path::Path;

use halfmicron::motion::{Request, motion as moved};
use halfmicron::sheet::motion_sheet;

use super::cases::{self, Opened};
use super::{Format, SolveArguments, charts, table};
use crate::{Answer, Terminal};

/// Coefficients, following and stability of every duty asked for.
pub fn motion(arguments: &SolveArguments, request: Request, chart: Option<&Path>, terminal: Terminal) -> Answer {
    if chart.is_some() && arguments.cases.len() > 1 {
        return Answer::error(charts::ONE_CASE.to_owned());
    }
    cases::for_each(arguments, terminal, |opened| one(opened, arguments, request, chart, terminal))
}

fn one(opened: &Opened, arguments: &SolveArguments, request: Request, chart: Option<&Path>, terminal: Terminal) -> Answer {
    let shown = opened.path.display();
    if let Err(message) = cases::duties(&opened.model, &arguments.duties) {
        return Answer::error(format!("error: {message}\n"));
    }
    let found = match moved(&opened.model, &arguments.duties, request) {
        Ok(found) => found,
        Err(error) => return Answer::error(format!("error: {shown}: {error}\n")),
    };
    let sheet = motion_sheet(&found, arguments.units.set());
    // A standing shaft has coefficients and no motion: that is an answer.
    let code = if found.duties.iter().all(|duty| duty.film.is_some()) { 0 } else { 2 };
    let out = match arguments.format {
        Format::Json => match serde_json::to_string_pretty(&found) {
            Ok(text) => text + "\n",
            Err(error) => return Answer::error(format!("error: the result cannot be written as JSON: {error}\n")),
        },
        Format::Table => table::draw_motion(&sheet, arguments, terminal),
    };
    match chart.map(|file| charts::write(file, &sheet.title, &sheet.charts)) {
        Some(Err(message)) => Answer::error(message),
        _ => Answer { out, code, ..Answer::default() },
    }
}
