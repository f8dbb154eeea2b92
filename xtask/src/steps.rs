//! The steps of CI, cheapest first, and their runner.

use std::time::Instant;

use anyhow::{Result, bail};

use crate::{arrows, cargo, fuzz, generate, headers, licences, links, page, pictures, purity, spelling, tour, words};

/// One step of CI.
pub struct Step {
    /// Command name.
    pub name: &'static str,
    /// What it checks, one line.
    pub what: &'static str,
    /// How to mend a failure.
    pub mend: &'static str,
    /// Does it; an error says what is wrong.
    pub run: fn() -> Result<()>,
}

/// Every step, in the order CI runs them.
pub const ALL: &[Step] = &[
    Step {
        name: "words",
        what: "no machine paths, registry hosts, merge marks or unfinished work in any file; no Rust file grown too long",
        mend: "reword the lines named above; a long file is split by subject",
        run: words::check,
    },
    Step {
        name: "links",
        what: "every relative link of every Markdown file leads somewhere",
        mend: "correct the link, or the file it names",
        run: links::check,
    },
    Step {
        name: "arrows",
        what: "crates depend on each other in one direction only, and contained dependencies stay where they belong",
        mend: "move the code to the crate that may use it; a new crate or arrow is a decision: the table in xtask/src/arrows.rs and ARCHITECTURE.md change together",
        run: arrows::check,
    },
    Step {
        name: "purity",
        what: "no files, environment, clock, network or printing below the application",
        mend: "hand the text or value in as an argument; the application reads and prints",
        run: purity::check,
    },
    Step {
        name: "headers",
        what: "every model header has its five headings and names checks that exist",
        mend: "complete the header (What, Equation, Valid when, Source, Checked by); a model without a check says `unproven`",
        run: headers::check,
    },
    Step {
        name: "licences",
        what: "every dependency's licence is one that this project may ship",
        mend: "take another crate, or argue for the licence and add it to the list in xtask/src/licences.rs",
        run: licences::check,
    },
    Step {
        name: "spelling",
        what: "no misspelt words (typos)",
        mend: "run `typos --write-changes`; a true word goes to typos.toml",
        run: spelling::check,
    },
    Step { name: "format", what: "cargo fmt", mend: "run `cargo fmt --all`", run: || cargo::run(&["fmt", "--all", "--check"], &[]) },
    Step {
        name: "lints",
        what: "clippy with warnings denied, tests and benches included",
        mend: "follow the lint; an exception carries its reason in the attribute",
        run: || cargo::run(&["clippy", "--locked", "--workspace", "--all-targets", "--", "-D", "warnings"], &[]),
    },
    Step {
        name: "rustdoc",
        what: "documentation builds with warnings denied",
        mend: "mend the broken link or the missing documentation",
        run: || cargo::run(&["doc", "--locked", "--workspace", "--lib", "--no-deps"], &[("RUSTDOCFLAGS", "-D warnings")]),
    },
    Step {
        name: "slow",
        what: "tests that take minutes and are left out of a plain `cargo test`",
        mend: "as for `test`; a test belongs here only if it says so in its `#[ignore = ...]`",
        run: || cargo::run(&["test", "--locked", "--workspace", "--lib", "--bins", "--tests", "--no-fail-fast", "--", "--ignored"], &[]),
    },
    Step {
        name: "doctest",
        what: "examples in the documentation compile and hold",
        mend: "mend the example",
        run: || cargo::run(&["test", "--locked", "--workspace", "--doc", "--no-fail-fast"], &[]),
    },
    Step {
        name: "test",
        what: "unit, numerical, published, case and surface tests",
        mend: "mend the code; a snapshot that rightly changed is reviewed with `cargo insta review` (or INSTA_UPDATE=always) and named in CHANGELOG.md under Numbers changed",
        run: || cargo::run(&["test", "--locked", "--workspace", "--lib", "--bins", "--tests", "--no-fail-fast"], &[]),
    },
    Step {
        name: "generated",
        what: "schema, command-line reference, proof tables and the README's result are what the program says now",
        mend: "run `cargo xtask generate` and look at the difference before committing it",
        run: generate::check_all,
    },
    Step {
        name: "fuzz",
        what: "an outside fuzzer asks the HTTP interface what its description allows and what it does not (schemathesis)",
        mend: "send the request that ends the finding to `halfmicron serve cases`, mend the handler or the description, and keep the request as a test",
        run: fuzz::check,
    },
    Step {
        name: "page",
        what: "types, tests and size of the page; the embedded build is what its sources give",
        mend: "mend the page; then `npm ci && npm run build` in web/ and commit web/dist",
        run: page::check,
    },
    Step {
        name: "walk",
        what: "every place of the page in a real browser: edit, save, compare, report, accessibility",
        mend: "mend the page or the server; `node web/walk/walk.mjs PROGRAM` repeats it",
        run: page::walk,
    },
    Step {
        name: "pictures",
        what: "the pictures of the README show what the program shows now",
        mend: "run `cargo xtask picture` and look at what it wrote before committing it",
        run: pictures::check,
    },
    Step { name: "tour", what: "the commands of the README run", mend: "correct the README, or the program", run: tour::check },
];

/// The step of that name.
pub fn named(name: &str) -> Option<&'static Step> {
    ALL.iter().find(|step| step.name == name)
}

/// The table for CONTRIBUTING.md.
pub fn table() -> String {
    let mut table = String::from("| Command | Checks | When it fails |\n|---|---|---|\n");
    for step in ALL {
        table += &format!("| `cargo xtask {}` | {} | {} |\n", step.name, step.what, step.mend);
    }
    table
}

/// Runs the steps, all of them even after a failure, and closes with a table of verdicts and times.
pub fn run(steps: &[Step]) -> Result<()> {
    let mut closing = Vec::new();
    let mut failed = Vec::new();
    for step in steps {
        println!("\n=== {}: {}", step.name, step.what);
        let start = Instant::now();
        let outcome = (step.run)();
        let seconds = start.elapsed().as_secs_f64();
        let verdict = if outcome.is_ok() { "ok" } else { "FAILED" };
        closing.push(format!("{:<10} {seconds:>7.1} s  {verdict}", step.name));
        if let Err(error) = outcome {
            println!("{error:#}\n--> to mend: {}\n--> alone:   cargo xtask {}", step.mend, step.name);
            failed.push(step.name);
        }
    }
    println!("\n{}", closing.join("\n"));
    if failed.is_empty() { Ok(()) } else { bail!("failed: {}", failed.join(", ")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failing_step_fails_the_run_and_later_steps_still_run() {
        let good = Step { name: "good", what: "", mend: "", run: || Ok(()) };
        let bad = Step { name: "bad", what: "", mend: "", run: || bail!("wrong") };
        let also_bad = Step { name: "also bad", what: "", mend: "", run: || bail!("wrong too") };
        assert!(run(std::slice::from_ref(&good)).is_ok());
        let error = run(&[bad, good, also_bad]).unwrap_err().to_string();
        assert_eq!(error, "failed: bad, also bad");
    }

    #[test]
    fn names_are_unique() {
        for (index, step) in ALL.iter().enumerate() {
            assert!(ALL[..index].iter().all(|other| other.name != step.name), "{}", step.name);
        }
    }
}
