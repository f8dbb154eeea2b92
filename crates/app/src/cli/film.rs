//! The film alone.

use clap::ValueEnum;
use halfmicron::film::{FilmAlone, Fineness, film_alone_on};
use halfmicron::sheet::film_sheet;

use super::cases::{self, Opened};
use super::{Format, SolveArguments, table};
use crate::{Answer, Terminal};

/// How fine a textured film is resolved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Grid {
    /// Half the lines of `normal`
    Coarse,
    /// Some sixty columns over one period
    Normal,
    /// Twice the lines of `normal`
    Fine,
}

/// Film of every duty asked for, at the gap that the case prescribes.
pub fn film(arguments: &SolveArguments, grid: Grid, terminal: Terminal) -> Answer {
    cases::for_each(arguments, terminal, |opened| one(opened, arguments, grid, terminal))
}

fn one(opened: &Opened, arguments: &SolveArguments, grid: Grid, terminal: Terminal) -> Answer {
    let fineness = match grid {
        Grid::Coarse => Fineness::Coarse,
        Grid::Normal => Fineness::Normal,
        Grid::Fine => Fineness::Fine,
    };
    let duties = match cases::duties(&opened.model, &arguments.duties) {
        Ok(duties) => duties,
        Err(message) => return Answer::error(format!("error: {message}\n")),
    };
    if opened.model.gap.is_none() {
        let shown = opened.path.display();
        return Answer::error(format!(
            "error: {shown} prescribes no gap: add [gap] with thickness = \"0.7 um\" (and coning), or --set gap.thickness=\"0.7 um\"\n"
        ));
    }
    let mut films: Vec<FilmAlone> = Vec::new();
    let mut problems = String::new();
    for duty in duties {
        match film_alone_on(&opened.model, duty, fineness) {
            Ok(film) => films.push(film),
            Err(error) => problems.push_str(&format!("error: {}: duty {}: {error}\n", opened.path.display(), duty.name)),
        }
    }
    let code = if problems.is_empty() { 0 } else { 2 };
    let out = match arguments.format {
        _ if films.is_empty() => String::new(),
        Format::Json => match serde_json::to_string_pretty(&films) {
            Ok(text) => text + "\n",
            Err(error) => return Answer::error(format!("error: the result cannot be written as JSON: {error}\n")),
        },
        Format::Table => table::draw_part(&film_sheet(&opened.model.title, &films, arguments.units.set()), arguments, terminal),
    };
    Answer { out, err: problems, code }
}
