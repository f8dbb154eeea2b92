//! The `halfmicron` command.

use std::io::{IsTerminal, Write};
use std::process::ExitCode;

use halfmicron_app::{Answer, Terminal};

fn main() -> ExitCode {
    let answer = halfmicron_app::run(std::env::args_os(), terminal());
    deliver(&answer);
    ExitCode::from(answer.code)
}

fn terminal() -> Terminal {
    let is_terminal = std::io::stdout().is_terminal();
    let colour = is_terminal && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
    let width = is_terminal.then(|| comfy_table::Table::new().width()).flatten().map(usize::from);
    Terminal { width: if is_terminal { Some(width.unwrap_or(80)) } else { None }, colour }
}

/// A closed pipe (`halfmicron solve ... | head`) is the reader's choice, not an error.
fn deliver(answer: &Answer) {
    let _ = std::io::stdout().write_all(answer.out.as_bytes()).and_then(|()| std::io::stdout().flush());
    let _ = std::io::stderr().write_all(answer.err.as_bytes());
}
