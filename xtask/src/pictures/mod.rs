//! The pictures of the README, made by one command from the shipped cases and compared in CI.

mod compare;
mod terminal;

use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, bail, ensure};

use crate::{cargo, page, tree};

/// Folder of the committed pictures.
const FOLDER: &str = "docs/pictures";
/// The case that the tour shows.
const CASE: &str = "cases/brine-booster.toml";
/// Lines of the terminal that are shown: down to the leakage.
const TERMINAL_LINES: usize = 36;

/// A picture and who makes it.
struct Picture {
    name: &'static str,
    make: fn(&Path, &Path) -> Result<()>,
}

const ALL: &[Picture] = &[
    Picture { name: "terminal.svg", make: terminal_picture },
    Picture { name: "section.svg", make: section },
    Picture { name: "page.png", make: sheet_place },
    Picture { name: "report.png", make: report_page },
];

/// Makes every picture and writes those that show something else than the committed ones.
pub fn write_all() -> Result<()> {
    let committed = tree::root().join(FOLDER);
    std::fs::create_dir_all(&committed)?;
    for (name, made) in made()? {
        if let Err(difference) = compare::same(&committed.join(name), &made) {
            std::fs::copy(&made, committed.join(name))?;
            println!("wrote {FOLDER}/{name}: {difference:#}");
        }
    }
    Ok(())
}

/// Makes every picture and compares it with the committed one.
pub fn check() -> Result<()> {
    if !tools_are_there()? {
        return Ok(());
    }
    let mut wrong = Vec::new();
    for (name, made) in made()? {
        if let Err(difference) = compare::same(&tree::root().join(FOLDER).join(name), &made) {
            wrong.push(format!("{difference:#}; now in {}", made.display()));
        }
    }
    if !wrong.is_empty() {
        bail!("{}", wrong.join("\n"));
    }
    println!("{} pictures show what the program shows now", ALL.len());
    Ok(())
}

fn tools_are_there() -> Result<bool> {
    let missing: Vec<&str> = [page::browser(), page::node(), "pdftoppm".to_owned()]
        .iter()
        .zip(["Chromium", "Node.js", "pdftoppm"])
        .filter(|(program, _)| !page::starts(program))
        .map(|(_, name)| name)
        .collect();
    if missing.is_empty() {
        return Ok(true);
    }
    if std::env::var_os("CI").is_some() {
        bail!("{} missing: .ci/run installs what the pictures need", missing.join(", "));
    }
    println!("not compared: {} missing here; CI has all", missing.join(", "));
    Ok(false)
}

fn made() -> Result<Vec<(&'static str, PathBuf)>> {
    let program = cargo::halfmicron()?;
    let folder = program.with_file_name("pictures");
    std::fs::create_dir_all(&folder)?;
    let make = |picture: &Picture| {
        let path = folder.join(picture.name);
        (picture.make)(&program, &path).with_context(|| picture.name.to_owned())?;
        ensure!(path.exists(), "{} was not made", picture.name);
        Ok((picture.name, path))
    };
    ALL.iter().map(make).collect()
}

fn terminal_picture(program: &Path, path: &Path) -> Result<()> {
    let arguments = ["solve", CASE, "--duty", "normal", "--duty", "maximum"];
    let output = run(Command::new(program).args(arguments).env("CLICOLOR_FORCE", "1").env("COLUMNS", "110"))?;
    Ok(std::fs::write(path, terminal::svg(&format!("halfmicron {}", arguments.join(" ")), &output, TERMINAL_LINES))?)
}

fn section(program: &Path, path: &Path) -> Result<()> {
    let options = ["--duty", "normal", "--temperature", "--deformed", "auto"];
    run(Command::new(program).args(["draw", CASE, "-o"]).arg(path).args(options))?;
    Ok(())
}

fn sheet_place(program: &Path, path: &Path) -> Result<()> {
    page::install()?;
    let script = tree::root().join("web/walk/picture.mjs");
    run(Command::new(page::node()).arg(script).arg(program).arg(path).env("CHROMIUM", page::browser()))?;
    Ok(())
}

fn report_page(program: &Path, path: &Path) -> Result<()> {
    let report = path.with_extension("pdf");
    run(Command::new(program).args(["report", CASE, "-o"]).arg(&report).args(["--project", "Saltmere works", "--revision", "A"]))?;
    run(Command::new("pdftoppm")
        .args(["-png", "-r", "80", "-f", "1", "-l", "1", "-singlefile"])
        .arg(&report)
        .arg(path.with_extension("")))?;
    Ok(())
}

/// What a command says, run from the root; exit code 1, a rule that fails, is an answer.
fn run(command: &mut Command) -> Result<String> {
    let output = command.current_dir(tree::root()).output().with_context(|| format!("{command:?} does not start"))?;
    ensure!(
        matches!(output.status.code(), Some(0 | 1)),
        "{command:?}: {}\n{}{}",
        output.status,
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).context("the output is not UTF-8")
}
