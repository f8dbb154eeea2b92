//! Generated files and generated passages of Markdown files: written by `generate`, compared by the step `generated`.

use std::path::Path;

use anyhow::{Context, Result, bail};

use crate::{arrows, steps, tree};

/// Text that the program or this tool makes.
struct Generated {
    /// File, relative to the root.
    path: &'static str,
    /// Passage between `<!-- generated: NAME -->` and `<!-- end of generated -->`; `None` for the whole file.
    passage: Option<&'static str>,
    /// Makes the text.
    make: fn() -> Result<String>,
}

const ALL: &[Generated] = &[
    Generated { path: "ARCHITECTURE.md", passage: Some("arrows"), make: || Ok(arrows::table()) },
    Generated { path: "CONTRIBUTING.md", passage: Some("steps"), make: || Ok(steps::table()) },
];

/// Writes everything that differs.
pub fn write_all() -> Result<()> {
    for generated in ALL {
        let (now, wanted) = generated.now_and_wanted()?;
        if now != wanted {
            let path = tree::root().join(generated.path);
            std::fs::create_dir_all(path.parent().unwrap_or(Path::new(".")))?;
            std::fs::write(&path, wanted).with_context(|| format!("{} cannot be written", generated.path))?;
            println!("wrote {}", generated.name());
        }
    }
    Ok(())
}

/// Compares everything and names all that differ.
pub fn check_all() -> Result<()> {
    let mut stale = Vec::new();
    for generated in ALL {
        let (now, wanted) = generated.now_and_wanted()?;
        if now != wanted {
            stale.push(format!("{} is not up to date: {}", generated.name(), first_difference(&now, &wanted)));
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
    fn names_the_line_that_differs() {
        assert_eq!(first_difference("a\nb\n", "a\nc\n"), "line 2\n  has  b\n  want c");
        assert_eq!(first_difference("a\n", "a\nc\n"), "line 2\n  has  (end of file)\n  want c");
    }
}
