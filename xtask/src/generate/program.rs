//! What the program says when it is asked.

use std::path::PathBuf;
use std::process::Command;
use std::sync::OnceLock;

use anyhow::{Context, Result, bail};

use crate::{cargo, tree};

/// Standard output of `halfmicron` with these arguments, run from the root without a terminal. Exit code 1, a rule or check that fails,
/// is an answer like another; 2 is not.
pub fn says(arguments: &[&str]) -> Result<String> {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    let program = match PROGRAM.get() {
        Some(program) => program,
        None => {
            let built = cargo::halfmicron()?;
            PROGRAM.get_or_init(|| built)
        }
    };
    let output = Command::new(program).args(arguments).current_dir(tree::root()).output().context("halfmicron does not start")?;
    if !matches!(output.status.code(), Some(0 | 1)) {
        bail!("halfmicron {} ended with {}:\n{}", arguments.join(" "), output.status, String::from_utf8_lossy(&output.stderr));
    }
    let text = String::from_utf8(output.stdout).context("the output is not UTF-8")?.replace("\r\n", "\n");
    if text.trim().is_empty() {
        bail!("halfmicron {} says nothing", arguments.join(" "));
    }
    Ok(text)
}
