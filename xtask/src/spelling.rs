//! Spelling, by the outside tool `typos`.

use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::tree;

/// Runs `typos` over the repository. On a developer's machine without it the step says so and passes; in CI it must be there.
pub fn check() -> Result<()> {
    let installed = Command::new("typos").arg("--version").output().is_ok_and(|output| output.status.success());
    if !installed {
        if std::env::var_os("CI").is_some() {
            bail!("typos is not installed: .ci/run installs it");
        }
        println!("not checked: typos is not installed here (`pip install typos`); CI has it");
        return Ok(());
    }
    let status = Command::new("typos").current_dir(tree::root()).status().context("typos does not start")?;
    if !status.success() {
        bail!("typos found misspelt words");
    }
    Ok(())
}
