//! `cargo xtask stress`: random cases over the whole box of what the program covers, each held to what it may never do.
//!
//! Cases are drawn valid: lengths that fit, temperatures at which fluid and materials serve. Nothing is drawn again because it fails; a
//! case that the program refuses counts with its reason.

mod case;
mod draw;
mod duties;
mod judge;
mod media;
mod report;
mod section;
mod textures;

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

use anyhow::{Context, Result, bail};
use halfmicron_properties::FluidEntry;

use judge::{Finding, Kind};

/// Cases between two signs of life.
const PROGRESS: u64 = 100;

/// What a study is asked for.
struct Study {
    cases: u64,
    first: u64,
    seed: u64,
    jobs: usize,
    keep: Option<PathBuf>,
    rows: Option<PathBuf>,
    only: Option<u64>,
    textured: bool,
}

impl Study {
    fn text(&self, index: u64, library: &[FluidEntry]) -> Option<String> {
        if self.textured { textures::text(self.seed, index, library) } else { case::text(self.seed, index, library) }
    }

    fn findings(&self, index: u64, text: &str) -> Vec<Finding> {
        if self.textured && !textures::is_whole(index) { judge::film(index, text) } else { judge::case(index, text) }
    }
}

/// Runs a study: `--cases N --seed S [--textured] [--from FIRST] [--jobs J] [--keep FOLDER] [--rows FILE]`, or `--seed S --case K` for a look at one case.
pub fn run(arguments: &[String]) -> Result<()> {
    let study = read(arguments)?;
    let library = media::library();
    if let Some(index) = study.only {
        return show(&study, index, &library);
    }
    if let Some(folder) = &study.keep {
        std::fs::create_dir_all(folder).with_context(|| format!("{} could not be made", folder.display()))?;
    }
    judge::collect_panics();
    let start = Instant::now();
    let mut findings = solve(&study, &library);
    let _ = std::panic::take_hook();
    findings.sort_by_key(|finding| finding.case);
    if let Some(folder) = &study.keep {
        keep(folder, &study, &findings, &library)?;
    }
    if let Some(file) = &study.rows {
        std::fs::write(file, report::rows(&findings)).with_context(|| format!("{} could not be written", file.display()))?;
    }
    let missed = report::print(&findings, study.cases, if study.textured { &report::TEXTURED } else { &report::PLAIN });
    println!("\n{:.0} s on {} threads", start.elapsed().as_secs_f64(), study.jobs);
    if missed.is_empty() { Ok(()) } else { bail!("not met: {}", missed.join("; ")) }
}

fn read(arguments: &[String]) -> Result<Study> {
    let mut study = Study { cases: 1000, first: 0, seed: 1, jobs: 2, keep: None, rows: None, only: None, textured: false };
    let mut rest = arguments.iter();
    while let Some(name) = rest.next() {
        if name == "--textured" {
            study.textured = true;
            continue;
        }
        let value = rest.next().with_context(|| format!("{name} needs a value"))?;
        match name.as_str() {
            "--cases" => study.cases = value.parse()?,
            "--from" => study.first = value.parse()?,
            "--seed" => study.seed = value.parse()?,
            "--jobs" => study.jobs = value.parse::<usize>()?.max(1),
            "--keep" => study.keep = Some(PathBuf::from(value)),
            "--rows" => study.rows = Some(PathBuf::from(value)),
            "--case" => study.only = Some(value.parse()?),
            _ => bail!("{name} is not known; there are --textured, --cases, --from, --seed, --jobs, --keep, --rows and --case"),
        }
    }
    Ok(study)
}

/// All cases, shared between threads one by one; what comes out does not depend on who took which.
fn solve(study: &Study, library: &[FluidEntry]) -> Vec<Finding> {
    let next = AtomicU64::new(0);
    let take = || {
        let mut findings = Vec::new();
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            if index >= study.cases {
                return findings;
            }
            if index > 0 && index.is_multiple_of(PROGRESS) {
                eprintln!("{index} of {}", study.cases);
            }
            let index = study.first + index;
            if let Some(text) = study.text(index, library) {
                findings.extend(study.findings(index, &text));
            }
        }
    };
    std::thread::scope(|scope| {
        let threads: Vec<_> = (0..study.jobs).map(|_| scope.spawn(take)).collect();
        threads.into_iter().flat_map(|thread| thread.join().unwrap_or_default()).collect()
    })
}

/// Case files of everything that may not be.
fn keep(folder: &Path, study: &Study, findings: &[Finding], library: &[FluidEntry]) -> Result<()> {
    let bad = |finding: &&Finding| matches!(finding.kind, Kind::NotConverged | Kind::Refused | Kind::Panic) || !finding.broken.is_empty();
    for finding in findings.iter().filter(bad) {
        let Some(text) = study.text(finding.case, library) else { continue };
        let words = if finding.broken.is_empty() { finding.kind.words() } else { "claims" };
        let kind = if study.textured { "textured-" } else { "" };
        let name = format!("{kind}{}-{}-{}.toml", words.replace([' ', ':'], "-"), study.seed, finding.case);
        std::fs::write(folder.join(name), text)?;
    }
    Ok(())
}

fn show(study: &Study, index: u64, library: &[FluidEntry]) -> Result<()> {
    let text = study.text(index, library).context("the library is empty")?;
    println!("{text}");
    for finding in study.findings(index, &text) {
        println!("{:?}", finding);
    }
    if study.textured && !textures::is_whole(index) {
        return Ok(());
    }
    match judge::outcomes(&text) {
        Ok(outcomes) => {
            for outcome in outcomes {
                println!(
                    "\n{}: {:?}, {} equilibria, {} points traced",
                    outcome.name,
                    outcome.status,
                    outcome.equilibria.len(),
                    outcome.trace.len()
                );
                println!("  {}", outcome.reason);
                outcome.notices.iter().for_each(|notice| println!("  {}: {}", notice.code, notice.message));
                outcome.trace.iter().for_each(|p| {
                    println!("    {:>10.4} um  {:>14.3} N of {:.3}", 1e6 * p.minimum_gap_m, p.opening_force_n, p.closing_force_n);
                });
            }
        }
        Err(error) => println!("{error}"),
    }
    Ok(())
}
