//! Writes the second solutions of two films, which the checks compare with, by an outside finite-element library.
//!
//! A Python script does it, since the library is a Python package; the program and its tests need neither.

use std::path::Path;
use std::process::Command;

use anyhow::{Context, Result, bail};

/// Runs `xtask/films.py`; `--python PATH` names an interpreter that has the packages, all else is passed on.
pub fn run(root: &Path, arguments: &[String]) -> Result<()> {
    let (python, rest) = match arguments {
        [flag, path, rest @ ..] if flag == "--python" => (path.as_str(), rest),
        rest => ("python3", rest),
    };
    let status = Command::new(python)
        .arg(root.join("xtask/films.py"))
        .args(rest)
        .status()
        .with_context(|| format!("{python} could not be started; name another with --python PATH"))?;
    if !status.success() {
        bail!("the script failed; it needs the packages scikit-fem 12.0.2, scipy and numpy");
    }
    Ok(())
}
