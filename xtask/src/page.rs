//! The page: its checks, its build against the committed one, and the walk through it in a real browser.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, bail, ensure};

use crate::{cargo, tree};

/// Folder of the page's sources.
const WEB: &str = "web";
/// The built page, which the program embeds.
const BUILT: &str = "web/dist";

/// Types, tests, size and build; the committed build must be what the sources give.
pub fn check() -> Result<()> {
    if !tool_is_there(&node(), "Node.js")? {
        return Ok(());
    }
    install()?;
    for script in ["check", "test"] {
        npm(&["run", "--silent", script])?;
    }
    let fresh = built_folder()?;
    npm(&["run", "--silent", "build", "--", "--outDir", &fresh.to_string_lossy(), "--emptyOutDir", "--logLevel", "warn"])?;
    let (committed, made) = (files(&tree::root().join(BUILT))?, files(&fresh)?);
    let differing: Vec<&str> = committed
        .keys()
        .chain(made.keys())
        .filter(|name| committed.get(*name) != made.get(*name))
        .map(String::as_str)
        .collect::<std::collections::BTreeSet<_>>()
        .into_iter()
        .collect();
    ensure!(differing.is_empty(), "{BUILT} is not what the sources give: {}", differing.join(", "));
    npm(&["run", "--silent", "size"])?;
    println!("{} files of {BUILT} are what the sources give", committed.len());
    Ok(())
}

/// Every place of the page in a real browser, against the built program.
pub fn walk() -> Result<()> {
    if !tool_is_there(&node(), "Node.js")? || !tool_is_there(&browser(), "Chromium")? || !tool_is_there("pdftotext", "pdftotext")? {
        return Ok(());
    }
    install()?;
    let program = cargo::halfmicron()?;
    let status = Command::new(node())
        .arg("walk/walk.mjs")
        .arg(&program)
        .env("CHROMIUM", browser())
        .current_dir(tree::root().join(WEB))
        .status()
        .context("Node.js does not start")?;
    ensure!(status.success(), "the walk through the page failed");
    Ok(())
}

/// Installs the page's tools as the lock file names them, once for each lock file.
pub fn install() -> Result<()> {
    let web = tree::root().join(WEB);
    let lock = std::fs::read(web.join("package-lock.json")).context("web/package-lock.json cannot be read")?;
    let stamp = web.join("node_modules/.installed-lock.json");
    if std::fs::read(&stamp).is_ok_and(|installed| installed == lock) {
        return Ok(());
    }
    npm(&["ci", "--no-audit", "--no-fund", "--loglevel", "error"])?;
    Ok(std::fs::write(stamp, lock)?)
}

/// Node.js: as `$NODE` names it, or from the path.
pub fn node() -> String {
    std::env::var("NODE").unwrap_or_else(|_| "node".to_owned())
}

/// The browser: as `$CHROMIUM` names it, or where Debian's package puts it.
pub fn browser() -> String {
    std::env::var("CHROMIUM").unwrap_or_else(|_| "/usr/bin/chromium".to_owned())
}

/// Whether a program can be started.
pub fn starts(program: &str) -> bool {
    let version = if program.starts_with("pdfto") { "-v" } else { "--version" };
    Command::new(program).arg(version).output().is_ok()
}

/// Whether a tool is there; on a developer's machine without it the step says so and passes, in CI it must be.
fn tool_is_there(program: &str, name: &str) -> Result<bool> {
    if starts(program) {
        return Ok(true);
    }
    if std::env::var_os("CI").is_some() {
        bail!("{name} is not installed: .ci/run installs it");
    }
    println!("not checked: {name} is not installed here; CI has it");
    Ok(false)
}

fn npm(arguments: &[&str]) -> Result<()> {
    println!("$ npm {}", arguments.join(" "));
    let npm = if cfg!(windows) { "npm.cmd" } else { "npm" };
    let status = Command::new(npm).args(arguments).current_dir(tree::root().join(WEB)).status().context("npm does not start")?;
    ensure!(status.success(), "npm {} failed ({status})", arguments.join(" "));
    Ok(())
}

fn built_folder() -> Result<PathBuf> {
    let metadata = cargo::metadata(false)?;
    let target = metadata["target_directory"].as_str().context("cargo metadata names no target directory")?;
    Ok(PathBuf::from(target).join("page"))
}

/// Contents of every file below a folder by its path there.
fn files(folder: &Path) -> Result<BTreeMap<String, Vec<u8>>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(next) = folders.pop() {
        for entry in std::fs::read_dir(&next).with_context(|| format!("{} cannot be listed", next.display()))? {
            let path = entry?.path();
            if path.is_dir() {
                folders.push(path);
            } else {
                found.insert(path.strip_prefix(folder)?.to_string_lossy().replace('\\', "/"), std::fs::read(&path)?);
            }
        }
    }
    Ok(found)
}
