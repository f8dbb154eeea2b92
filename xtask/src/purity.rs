//! Nothing below the application touches files, environment, clock, network or terminal.
//!
//! Clippy's `disallowed-methods` refuses the common calls by type; this looks at the text and so refuses the whole module, also where a
//! call hides behind a name clippy's list does not hold.

use std::path::Path;

use anyhow::{Result, bail};

use crate::tree;

const PURE: &[&str] = &["crates/numerics/src", "crates/properties/src", "crates/seal/src", "crates/checks/src", "crates/report/src"];

const IMPURE: &[&str] = &[
    "std::fs",
    "std::env",
    "std::net",
    "std::process",
    "std::io::stdin",
    "std::io::stdout",
    "Instant::now",
    "SystemTime",
    "println!",
    "print!",
    "eprintln!",
    "eprint!",
];

/// Checks the sources of the pure crates, their tests left out.
pub fn check() -> Result<()> {
    let mut wrong = Vec::new();
    let mut count = 0;
    for path in tree::files()? {
        if tree::has_extension(&path, "rs") && PURE.iter().any(|folder| path.starts_with(folder)) && !is_test_file(&path) {
            count += 1;
            wrong.extend(
                impure_lines(&tree::text(&path)?.unwrap_or_default())
                    .into_iter()
                    .map(|(line, what)| format!("{}:{line}: {what}", path.display())),
            );
        }
    }
    if count == 0 || !wrong.is_empty() {
        bail!("{count} files read\n{}", wrong.join("\n"));
    }
    println!("{count} files");
    Ok(())
}

fn is_test_file(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    name == "tests.rs" || name.ends_with("_tests.rs") || path.components().any(|part| part.as_os_str() == "tests")
}

/// Line numbers with what is impure there; comments and the test module at the end do not count.
fn impure_lines(text: &str) -> Vec<(usize, &'static str)> {
    let lines: Vec<&str> = text.lines().map(str::trim_start).collect();
    let end = lines
        .windows(2)
        .position(|pair| pair[0] == "#[cfg(test)]" && pair[1].starts_with("mod ") && pair[1].ends_with('{'))
        .unwrap_or(lines.len());
    let code = lines[..end].iter().enumerate().filter(|(_, line)| !line.starts_with("//"));
    code.filter_map(|(index, line)| IMPURE.iter().find(|word| line.contains(**word)).map(|word| (index + 1, *word))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_impure_code_but_not_comments_or_tests() {
        let text = "//! println! is for the application\nfn a() {\n    let t = std::time::Instant::now();\n}\n#[cfg(test)]\nmod tests {\n    use std::fs;\n}\n";
        assert_eq!(impure_lines(text), [(3, "Instant::now")]);
        for word in IMPURE {
            assert_eq!(impure_lines(word).len(), 1, "{word}");
        }
        for test in ["crates/seal/src/film/tests.rs", "crates/seal/src/point/random_tests.rs", "crates/seal/tests/a.rs"] {
            assert!(is_test_file(Path::new(test)), "{test}");
        }
        assert!(!is_test_file(Path::new("crates/seal/src/rules/testing.rs")));
    }
}
