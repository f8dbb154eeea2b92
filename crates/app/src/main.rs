//! The `halfmicron` command.

#![allow(clippy::disallowed_methods, reason = "the application is the one place that reads the environment")]

use std::io::{IsTerminal, Write};
use std::process::ExitCode;

use halfmicron_app::{Answer, Terminal};

fn main() -> ExitCode {
    let answer = halfmicron_app::run(std::env::args_os(), terminal());
    deliver(&answer);
    ExitCode::from(answer.code)
}

/// Colour and width follow the terminal; in a pipe `CLICOLOR_FORCE` asks for colour and `COLUMNS` then states the width.
fn terminal() -> Terminal {
    let is_set = |name| std::env::var(name).is_ok_and(|value| !value.is_empty() && value != "0");
    let is_terminal = std::io::stdout().is_terminal();
    let forced = is_set("CLICOLOR_FORCE");
    let stated = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok()).filter(|columns| *columns >= 40);
    let width = comfy_table::Table::new().width().filter(|_| is_terminal).map(usize::from);
    Terminal {
        width: if is_terminal || forced { Some(width.or(stated).unwrap_or(80)) } else { None },
        colour: forced || (is_terminal && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty())),
    }
}

/// A closed pipe (`halfmicron solve ... | head`) is the reader's choice, not an error.
fn deliver(answer: &Answer) {
    let _ = std::io::stdout().write_all(answer.out.as_bytes()).and_then(|()| std::io::stdout().flush());
    let _ = std::io::stderr().write_all(answer.err.as_bytes());
}
