//! Generated files and generated passages of Markdown files: written by `generate`, compared by the step `generated`.

mod ordered;
pub mod program;
mod proofs;
mod reference;

use std::path::Path;

use anyhow::{Context, Result, bail};

use crate::{arrows, headers, steps, tree};

/// Text that the program or this tool makes.
struct Generated {
    /// File, relative to the root.
    path: &'static str,
    /// Passage between `<!-- generated: NAME -->` and `<!-- end of generated -->`; `None` for the whole file.
    passage: Option<&'static str>,
    /// Makes the text.
    make: fn() -> Result<String>,
    /// What of the text must agree.
    compare: fn(&str) -> String,
}

const ALL: &[Generated] = &[
    Generated { path: "docs/cli.md", passage: None, make: reference::command_line, compare: whole },
    Generated { path: "docs/case-file.md", passage: None, make: reference::case_file, compare: whole },
    Generated { path: "docs/case-schema.json", passage: None, make: reference::schema, compare: whole },
    Generated { path: "docs/openapi.json", passage: None, make: || program::says(&["api"]), compare: whole },
    Generated { path: "docs/rules.md", passage: None, make: reference::rules, compare: whole },
    Generated { path: "docs/checks.md", passage: None, make: proofs::page, compare: whole },
    Generated { path: "docs/models.md", passage: None, make: headers::page, compare: whole },
    Generated { path: "crates/seal/src/why/headers.rs", passage: None, make: headers::table, compare: whole },
    Generated { path: "README.md", passage: Some("result"), make: first_result, compare: without_noise },
    Generated { path: "README.md", passage: Some("proofs"), make: proofs::summary, compare: whole },
    Generated { path: "ARCHITECTURE.md", passage: Some("arrows"), make: || Ok(arrows::table()), compare: whole },
    Generated { path: "CONTRIBUTING.md", passage: Some("steps"), make: || Ok(steps::table()), compare: whole },
];

/// What the first command of the README prints, at three of the six duties: all of them are wider than a page.
fn first_result() -> Result<String> {
    let duties = ["--duty", "normal", "--duty", "maximum", "--duty", "suction lost"];
    program::says(&[&["solve", "cases/brine-booster.toml"], &duties[..]].concat()).map(|text| reference::fenced(&text))
}

fn whole(text: &str) -> String {
    text.to_string()
}

/// The text without what depends on the last bits of a processor: residuals near rounding and counts of iterations.
fn without_noise(text: &str) -> String {
    let is_residual = |word: &str| word.contains("e-") && word.parse::<f64>().is_ok();
    let line = |line: &str| {
        let counted = line.split_once("; work ").map_or(line, |(before, _)| before);
        counted.split(' ').map(|word| if is_residual(word) { "~" } else { word }).collect::<Vec<_>>().join(" ")
    };
    text.lines().map(line).collect::<Vec<_>>().join("\n")
}

/// Writes everything that differs; what cannot be made is named at the end.
pub fn write_all() -> Result<()> {
    let mut failed = Vec::new();
    for generated in ALL {
        match generated.write() {
            Ok(true) => println!("wrote {}", generated.name()),
            Ok(false) => {}
            Err(error) => failed.push(format!("{error:#}")),
        }
    }
    if failed.is_empty() { Ok(()) } else { bail!("{}", failed.join("\n")) }
}

/// Compares everything and names all that differ.
pub fn check_all() -> Result<()> {
    let mut stale = Vec::new();
    for generated in ALL {
        match generated.now_and_wanted() {
            Ok((now, wanted)) if generated.agree(&now, &wanted) => {}
            Ok((now, wanted)) => stale.push(format!(
                "{} is not up to date: {}",
                generated.name(),
                first_difference(&(generated.compare)(&now), &(generated.compare)(&wanted))
            )),
            Err(error) => stale.push(format!("{error:#}")),
        }
    }
    if !stale.is_empty() {
        bail!("{}", stale.join("\n"));
    }
    println!("{} texts up to date", ALL.len());
    Ok(())
}

impl Generated {
    fn name(&self) -> String {
        self.passage.map_or(self.path.to_string(), |passage| format!("{} (passage {passage})", self.path))
    }

    fn agree(&self, now: &str, wanted: &str) -> bool {
        (self.compare)(now) == (self.compare)(wanted)
    }

    /// Writes the file if it differs and says whether it did.
    fn write(&self) -> Result<bool> {
        let (now, wanted) = self.now_and_wanted()?;
        if self.agree(&now, &wanted) {
            return Ok(false);
        }
        let path = tree::root().join(self.path);
        std::fs::create_dir_all(path.parent().unwrap_or(Path::new(".")))?;
        std::fs::write(&path, wanted).with_context(|| format!("{} cannot be written", self.path))?;
        Ok(true)
    }

    /// The file as it stands and as it should be.
    fn now_and_wanted(&self) -> Result<(String, String)> {
        let now = std::fs::read_to_string(tree::root().join(self.path)).unwrap_or_default().replace("\r\n", "\n");
        let made = (self.make)().with_context(|| format!("{} cannot be made", self.name()))?;
        let wanted = match self.passage {
            None => made,
            Some(passage) => {
                with_passage(&now, passage, &made).with_context(|| format!("{} has no place for the passage {passage}", self.path))?
            }
        };
        Ok((now, wanted))
    }
}

/// The text with one passage replaced, or `None` if it has no such passage.
fn with_passage(text: &str, passage: &str, made: &str) -> Option<String> {
    let (before, rest) = text.split_once(&format!("<!-- generated: {passage} -->\n"))?;
    let (_, after) = rest.split_once("<!-- end of generated -->")?;
    Some(format!("{before}<!-- generated: {passage} -->\n{}\n<!-- end of generated -->{after}", made.trim_end()))
}

fn first_difference(now: &str, wanted: &str) -> String {
    let (mut now, mut wanted) = (now.lines(), wanted.lines());
    for number in 1.. {
        match (now.next(), wanted.next()) {
            (None, None) => break,
            (left, right) if left != right => {
                return format!("line {number}\n  has  {}\n  want {}", left.unwrap_or("(end of file)"), right.unwrap_or("(end of file)"));
            }
            _ => {}
        }
    }
    "the end of the last line".to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn replaces_one_passage_and_nothing_else() {
        let text = "a\n<!-- generated: x -->\nold\n<!-- end of generated -->\nb\n<!-- generated: y -->\nkept\n<!-- end of generated -->\n";
        let wanted = text.replace("old", "new\nlines");
        assert_eq!(with_passage(text, "x", "new\nlines\n").as_deref(), Some(wanted.as_str()));
        assert_eq!(with_passage(text, "z", "new"), None);
    }

    #[test]
    fn noise_is_not_compared_but_results_are() {
        let text = "film  0.44\nmass  4e-15  -6e-12\nhalfmicron; case ab12; work 901 film solutions";
        assert_eq!(without_noise(text), without_noise(&text.replace("4e-15", "5e-14").replace("901", "899")));
        assert_ne!(without_noise(text), without_noise(&text.replace("0.44", "0.45")));
        assert_ne!(without_noise(text), without_noise(&text.replace("ab12", "ab13")));
    }

    #[test]
    fn names_the_line_that_differs() {
        assert_eq!(first_difference("a\nb\n", "a\nc\n"), "line 2\n  has  b\n  want c");
        assert_eq!(first_difference("a\n", "a\nc\n"), "line 2\n  has  (end of file)\n  want c");
    }
}
