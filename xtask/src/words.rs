//! What no committed file may contain, and how long a source file may grow.

use std::path::Path;

use anyhow::{Result, bail};

use crate::tree;

/// Texts that betray a machine, an unfinished thought or an unfinished merge. Written in halves, so that this file passes.
const FORBIDDEN: &[(&str, &str)] = &[
    (concat!("/ro", "ot/"), "path of a machine"),
    (concat!("/ho", "me/"), "path of a machine"),
    (concat!("/tm", "p/"), "path of a machine"),
    (concat!("/wo", "rk/"), "path of a machine"),
    (concat!("/Us", "ers/"), "path of a machine"),
    (concat!(":\\Us", "ers"), "path of a machine"),
    (concat!("crates", ".io"), "registry host"),
    (concat!("pypi", ".org"), "registry host"),
    (concat!("python", "hosted"), "registry host"),
    (concat!("npmjs", ".org"), "registry host"),
    (concat!("deb.", "debian"), "registry host"),
    (concat!("TO", "DO"), "unfinished work"),
    (concat!("FIX", "ME"), "unfinished work"),
    (concat!("todo", "!("), "unfinished work"),
    (concat!("unimplemented", "!("), "unfinished work"),
    (concat!("dbg", "!("), "left from debugging"),
    (concat!("#[ign", "ore]"), "test switched off without a reason"),
    (concat!("<<<<", "<<< "), "unfinished merge"),
    (concat!(">>>>", ">>> "), "unfinished merge"),
];

/// Lines a Rust file may have: the rule is 'about 600', this is where 'about' ends.
const LONGEST_RUST_FILE: usize = 700;

/// Words ARCHITECTURE.md may have: it must stay a read of ten minutes.
const LONGEST_ARCHITECTURE: usize = 1500;

/// Checks every file.
pub fn check() -> Result<()> {
    let files = tree::files()?;
    let mut wrong = Vec::new();
    for path in &files {
        if let Some(text) = tree::text(path)? {
            wrong.extend(faults(path, &text));
        }
    }
    if files.is_empty() || !wrong.is_empty() {
        bail!("{} files read\n{}", files.len(), wrong.join("\n"));
    }
    println!("{} files", files.len());
    Ok(())
}

fn faults(path: &Path, text: &str) -> Vec<String> {
    let mut wrong = Vec::new();
    if !is_lock_file(path) {
        for (index, line) in text.lines().enumerate() {
            wrong.extend(
                FORBIDDEN
                    .iter()
                    .filter(|(word, _)| line.contains(word))
                    .map(|(word, why)| format!("{}:{}: {why}: {word}", path.display(), index + 1)),
            );
        }
    }
    let lines = text.lines().count();
    if tree::has_extension(path, "rs") && lines > LONGEST_RUST_FILE {
        wrong.push(format!("{}: {lines} lines, at most {LONGEST_RUST_FILE}", path.display()));
    }
    let words = text.split_whitespace().count();
    if path == Path::new("ARCHITECTURE.md") && words > LONGEST_ARCHITECTURE {
        wrong.push(format!("{}: {words} words, at most {LONGEST_ARCHITECTURE}", path.display()));
    }
    wrong
}

/// Cargo writes the registry's address into its lock file.
fn is_lock_file(path: &Path) -> bool {
    path == Path::new("Cargo.lock")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_forbidden_word_is_found_with_its_line() {
        for (word, why) in FORBIDDEN {
            let found = faults(Path::new("a.toml"), &format!("fine\nsee {word} there\n"));
            assert_eq!(found, [format!("a.toml:2: {why}: {word}")]);
        }
        assert!(faults(Path::new("a.toml"), "src/main.rs and docs/cli.md\n").is_empty());
    }

    #[test]
    fn only_the_lock_file_may_name_the_registry() {
        let line = format!("source = \"{}\"", concat!("crates", ".io"));
        assert!(faults(Path::new("Cargo.lock"), &line).is_empty());
        assert!(!faults(Path::new("docs/Cargo.lock"), &line).is_empty());
    }

    #[test]
    fn length_has_a_limit() {
        assert!(faults(Path::new("a.rs"), &"x\n".repeat(LONGEST_RUST_FILE)).is_empty());
        assert!(!faults(Path::new("a.rs"), &"x\n".repeat(LONGEST_RUST_FILE + 1)).is_empty());
        assert!(!faults(Path::new("ARCHITECTURE.md"), &"x ".repeat(LONGEST_ARCHITECTURE + 1)).is_empty());
    }
}
