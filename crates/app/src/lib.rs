//! The command line as a function: arguments and terminal in, text and exit code out.
//!
//! Exit codes: 0 acceptable, 1 computed but a rule fails, 2 not computed.

#![allow(clippy::disallowed_methods, reason = "the application is the one place that touches files")]

mod cli;
mod figures;
pub mod http;

use std::ffi::OsString;

/// What the answer is written to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Terminal {
    /// Columns of a terminal; none in a pipe.
    pub width: Option<usize>,
    /// Whether words may be coloured.
    pub colour: bool,
}

impl Terminal {
    /// Plain text of any width.
    pub fn pipe() -> Self {
        Self { width: None, colour: false }
    }
}

/// What a command answers.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Answer {
    /// For standard output.
    pub out: String,
    /// For standard error.
    pub err: String,
    /// Exit code.
    pub code: u8,
}

impl Answer {
    /// A result.
    pub(crate) fn result(out: String) -> Self {
        Self { out, ..Self::default() }
    }
    /// An error: nothing was computed.
    pub(crate) fn error(err: String) -> Self {
        Self { err, code: 2, ..Self::default() }
    }
}

/// Run the command. The first argument is the program's name.
pub fn run(arguments: impl IntoIterator<Item = OsString>, terminal: Terminal) -> Answer {
    cli::run(arguments, terminal)
}
