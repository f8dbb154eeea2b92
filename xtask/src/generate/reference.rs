//! Command line, case file and rules, as documents.

use anyhow::{Context, Result};

use super::ordered::Json;
use super::program::says;

const GENERATED: &str = "<!-- Written by `cargo xtask generate`; do not edit. -->\n";

/// Help of every command.
pub fn command_line() -> Result<String> {
    let top = says(&["--help"])?;
    let mut page = format!("# Command line\n\n{GENERATED}\n{}", fenced(&top));
    let commands = command_names(&top);
    anyhow::ensure!(!commands.is_empty(), "no commands in the help");
    for command in commands {
        page += &format!("\n## halfmicron {command}\n\n{}", fenced(&says(&[&command, "--help"])?));
    }
    Ok(page)
}

/// Every rule with its limit and source.
pub fn rules() -> Result<String> {
    Ok(format!(
        "# Rules\n\n{GENERATED}\nEvery rule that a result is judged by. The limits of a case (`[limits]`) replace defaults of practice.\n\n{}",
        fenced(&says(&["rules"])?)
    ))
}

/// JSON Schema of the case file.
pub fn schema() -> Result<String> {
    says(&["schema"])
}

/// The schema for reading: one table of keys for each table of the file.
pub fn case_file() -> Result<String> {
    let schema: Json = serde_json::from_str(&schema()?).context("the schema is no JSON")?;
    let mut page = format!(
        "# Case file\n\n{GENERATED}\nA case is TOML. Every quantity is text with a unit, SI or customary; pressures say `(g)` gauge or `(a)` absolute. Required keys are \
         **bold**. Editors read [case-schema.json](case-schema.json). `halfmicron new NAME` writes a commented file that solves.\n"
    );
    table_of_keys(&schema, "", &mut page);
    Ok(page)
}

fn table_of_keys(table: &Json, name: &str, page: &mut String) {
    let required: Vec<&str> = table.get("required").map(|names| names.items().iter().filter_map(Json::text).collect()).unwrap_or_default();
    let keys = table.get("properties").map(Json::entries).unwrap_or_default();
    let title = if name.is_empty() { "Top of the file".to_string() } else { format!("`{name}`") };
    page.push_str(&format!("\n## {title}\n\n| Key | Meaning |\n|---|---|\n"));
    let mut inner = Vec::new();
    for (key, value) in keys {
        let mark = if required.contains(&key.as_str()) { "**" } else { "" };
        let meaning = value.get("description").and_then(Json::text).unwrap_or_default();
        page.push_str(&format!("| {mark}`{key}`{mark} | {} |\n", cell(meaning)));
        let path = if name.is_empty() { key.clone() } else { format!("{name}.{key}") };
        if value.get("properties").is_some() {
            inner.push((path, value));
        } else if let Some(items) = value.get("items").filter(|items| items.get("properties").is_some()) {
            inner.push((format!("{path}[]"), items));
        }
    }
    for (path, value) in inner {
        table_of_keys(value, &path, page);
    }
}

/// Text fit for a cell of a Markdown table.
pub fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('\n', " ").replace('<', "&lt;")
}

/// Text as a block of code.
pub fn fenced(text: &str) -> String {
    format!("```text\n{}\n```\n", text.trim_end())
}

/// Names in the list of commands of a help text.
fn command_names(help: &str) -> Vec<String> {
    let lines = help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    let names = lines.filter(|line| line.starts_with("  ") && !line.starts_with("   ")).filter_map(|line| line.split_whitespace().next());
    names.filter(|name| *name != "help").map(str::to_string).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commands_are_read_from_the_help() {
        let help =
            "About\n\nUsage: x\n\nCommands:\n  new    Write\n  solve  Solve every\n         duty\n  help   Print\n\nOptions:\n  -h\n";
        assert_eq!(command_names(help), ["new", "solve"]);
    }

    #[test]
    fn keys_become_tables_in_their_order() {
        let schema = r#"{ "required": ["b"], "properties": { "b": { "description": "x | y" }, "a": { "type": "array", "items": { "properties": { "c": { "description": "z" } } } } } }"#;
        let mut page = String::new();
        table_of_keys(&serde_json::from_str(schema).unwrap(), "", &mut page);
        assert!(page.contains("| **`b`** | x \\| y |\n| `a` |  |\n"));
        assert!(page.contains("## `a[]`\n\n| Key | Meaning |\n|---|---|\n| `c` | z |\n"));
    }
}
