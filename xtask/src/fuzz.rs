//! The HTTP interface under the outside fuzzer `schemathesis`: a server over a copy of the cases, asked what its description allows and
//! what it does not.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};

use anyhow::{Context, Result, bail};

use crate::{cargo, tree};

/// Time for the whole run, s; a fixed seed makes it the same run up to where the time ends it.
const SECONDS: &str = "75";
/// Requests to each operation in a phase.
const EXAMPLES: &str = "20";
/// Name of the fuzzer's program.
const FUZZER: &str = "schemathesis";

/// Runs the fuzzer. On a developer's machine without it the step says so and passes; in CI it must be there.
pub fn check() -> Result<()> {
    let installed = Command::new(FUZZER).arg("--version").output().is_ok_and(|output| output.status.success());
    if !installed {
        if std::env::var_os("CI").is_some() {
            bail!("{FUZZER} is not installed: .ci/run installs it");
        }
        println!("not checked: {FUZZER} is not installed here (`pip install {FUZZER}`); CI has it");
        return Ok(());
    }
    let folder = tempfile::tempdir().context("no temporary folder")?;
    copy_cases(folder.path())?;
    let server = Server::start(&cargo::halfmicron()?, folder.path())?;
    let status = Command::new(FUZZER)
        .arg("--config-file")
        .arg(tree::root().join("xtask/schemathesis.toml"))
        .args(["run", &format!("{}api/openapi.json", server.address)])
        .args(["--max-time", SECONDS, "--max-examples", EXAMPLES, "--no-color"])
        .current_dir(folder.path())
        .status()
        .with_context(|| format!("{FUZZER} does not start"))?;
    if !status.success() {
        bail!("{FUZZER} found what the interface should not do: each finding above ends with the request that shows it");
    }
    Ok(())
}

fn copy_cases(folder: &Path) -> Result<()> {
    for case in std::fs::read_dir(tree::root().join("cases"))? {
        let case = case?;
        std::fs::copy(case.path(), folder.join(case.file_name()))?;
    }
    Ok(())
}

/// A running server; ended when it is dropped.
struct Server {
    process: Child,
    address: String,
}

impl Server {
    fn start(program: &Path, folder: &Path) -> Result<Self> {
        let mut process = Command::new(program)
            .args(["serve", "--listen", "127.0.0.1:0"])
            .arg(folder)
            .stdout(Stdio::piped())
            .spawn()
            .context("the server does not start")?;
        let mut line = String::new();
        let read = process.stdout.take().map(|out| BufReader::new(out).read_line(&mut line));
        let address = address_in(&line).map(str::to_owned);
        let server = Self { process, address: address.clone().unwrap_or_default() };
        match (read, address) {
            (Some(Ok(_)), Some(_)) => Ok(server),
            _ => bail!("the server says no address but: {line}"),
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// `http://127.0.0.1:1234/` of the line that names it.
fn address_in(line: &str) -> Option<&str> {
    let start = line.rfind("http://")?;
    Some(line[start..].trim_end()).filter(|address| address.ends_with('/'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_address_is_read_from_what_the_server_says() {
        assert_eq!(address_in("cases at http://127.0.0.1:4096/\n"), Some("http://127.0.0.1:4096/"));
        assert_eq!(address_in("error: no folder\n"), None);
    }

    #[test]
    fn the_fuzzer_has_its_settings() {
        let settings = std::fs::read_to_string(tree::root().join("xtask/schemathesis.toml")).unwrap();
        assert!(settings.contains("/api/watch") && settings.contains("seed = "));
    }
}
