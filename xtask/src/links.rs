//! Relative links of Markdown files.

use std::path::Path;

use anyhow::{Result, bail};

use crate::tree;

/// Checks every Markdown file.
pub fn check() -> Result<()> {
    let mut wrong = Vec::new();
    let mut count = 0;
    for path in tree::files()?.iter().filter(|path| tree::has_extension(path, "md")) {
        let folder = tree::root().join(path.parent().unwrap_or(Path::new("")));
        for target in relative_links(&tree::text(path)?.unwrap_or_default()) {
            count += 1;
            if !folder.join(&target).exists() {
                wrong.push(format!("{}: {target} does not exist", path.display()));
            }
        }
    }
    if !wrong.is_empty() {
        bail!("{}", wrong.join("\n"));
    }
    println!("{count} links");
    Ok(())
}

/// Targets of `[text](target)` outside code, without web addresses and without anchors.
fn relative_links(text: &str) -> Vec<String> {
    let mut links = Vec::new();
    let mut in_code = false;
    for line in text.lines() {
        if line.trim_start().starts_with("```") {
            in_code = !in_code;
        }
        if in_code {
            continue;
        }
        for after in line.split("](").skip(1) {
            let target = after.split([')', '#', ' ']).next().unwrap_or_default();
            if !target.is_empty() && !target.contains("://") {
                links.push(target.to_string());
            }
        }
    }
    links
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_files_and_leaves_addresses_anchors_and_code() {
        let text = "[a](docs/a.md#top) and [b](b.toml), [c](#here), [d](https://example.org/x)\n```\n[e](e)\n```\n[f](../f)";
        assert_eq!(relative_links(text), ["docs/a.md", "b.toml", "../f"]);
    }
}
