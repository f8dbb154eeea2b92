//! Cargo as a program to run and as a source of facts on the workspace.

use std::path::PathBuf;
use std::process::Command;

use anyhow::{Context, Result, bail};
use serde_json::Value;

use crate::tree;

/// Runs `cargo` with its output shown as it comes.
pub fn run(arguments: &[&str], environment: &[(&str, &str)]) -> Result<()> {
    println!("$ cargo {}", arguments.join(" "));
    let status = command(arguments).envs(environment.iter().copied()).status().context("cargo does not start")?;
    if !status.success() {
        bail!("cargo {} failed ({status})", arguments[0]);
    }
    Ok(())
}

/// What `cargo metadata` knows; with `dependencies`, of every package of the lock file.
pub fn metadata(dependencies: bool) -> Result<Value> {
    let mut arguments = vec!["metadata", "--locked", "--format-version", "1"];
    if !dependencies {
        arguments.push("--no-deps");
    }
    let output = command(&arguments).output().context("cargo does not start")?;
    if !output.status.success() {
        bail!("cargo metadata failed:\n{}", String::from_utf8_lossy(&output.stderr));
    }
    serde_json::from_slice(&output.stdout).context("cargo metadata is no JSON")
}

/// Builds the `halfmicron` binary and says where it is.
///
/// It is the one that the tests use: building it alone would compile most dependencies once more, with fewer of their features.
pub fn halfmicron() -> Result<PathBuf> {
    run(&["test", "--quiet", "--locked", "--workspace", "--lib", "--bins", "--tests", "--no-run"], &[])?;
    let metadata = metadata(false)?;
    let target = metadata["target_directory"].as_str().context("cargo metadata names no target directory")?;
    Ok(PathBuf::from(target).join("debug").join(format!("halfmicron{}", std::env::consts::EXE_SUFFIX)))
}

fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.args(arguments).current_dir(tree::root());
    command
}
