//! Writes the coefficient files and stored check values of the properties crate from the outside library.
//!
//! A Python script does it, since the library is a Python package; the program and its tests need neither.

use std::path::Path;
use std::process::Command;

use anyhow::{Context, Result, bail};

/// Runs `xtask/fluids.py`; `--python PATH` names an interpreter that has the packages, all else is passed on.
pub fn run(root: &Path, arguments: &[String]) -> Result<()> {
    let (python, rest) = match arguments {
        [flag, path, rest @ ..] if flag == "--python" => (path.as_str(), rest),
        rest => ("python3", rest),
    };
    let status = Command::new(python)
        .arg(root.join("xtask/fluids.py"))
        .arg(root.join("crates/properties"))
        .args(rest)
        .status()
        .with_context(|| format!("{python} could not be started; name another with --python PATH"))?;
    if !status.success() {
        bail!("the script failed; it needs the packages CoolProp 8.0.0 and numpy, and the two oil entries that its heading describes");
    }
    Ok(())
}
