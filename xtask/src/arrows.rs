//! One direction of dependence between our crates, over `cargo metadata`.

use anyhow::{Result, bail};
use serde_json::Value;

use crate::cargo;

/// Our crates and which of ours each may use, development dependencies included.
const ARROWS: &[(&str, &[&str])] = &[
    ("halfmicron-numerics", &[]),
    ("halfmicron-properties", &["halfmicron-numerics"]),
    ("halfmicron", &["halfmicron-numerics", "halfmicron-properties"]),
    ("halfmicron-checks", &["halfmicron", "halfmicron-numerics", "halfmicron-properties"]),
    ("halfmicron-report", &["halfmicron", "halfmicron-checks", "halfmicron-numerics", "halfmicron-properties"]),
    ("halfmicron-app", &["halfmicron", "halfmicron-checks", "halfmicron-numerics", "halfmicron-properties", "halfmicron-report"]),
    ("xtask", &["halfmicron", "halfmicron-app", "halfmicron-checks", "halfmicron-numerics", "halfmicron-properties", "halfmicron-report"]),
];

/// Outside crates that one crate of ours exists to contain.
const CONTAINED: &[(&str, &[&str])] = &[
    ("anyhow", &["xtask", "halfmicron-app"]),
    ("axum", &["halfmicron-app"]),
    ("clap", &["halfmicron-app"]),
    ("clap_complete", &["halfmicron-app"]),
    ("clap_mangen", &["halfmicron-app"]),
    ("comfy-table", &["halfmicron-app"]),
    ("miette", &["halfmicron-app"]),
    ("rust-embed", &["halfmicron-app"]),
    ("tokio", &["halfmicron-app"]),
    ("typst", &["halfmicron-report"]),
    ("typst-pdf", &["halfmicron-report"]),
    // Description of data alone: the types of a sheet carry their own schema, so that the document of the API has no second copy of them.
    ("utoipa", &["halfmicron-app", "halfmicron"]),
    ("utoipa-axum", &["halfmicron-app"]),
];

/// Checks the workspace.
pub fn check() -> Result<()> {
    let wrong = wrong_arrows(&cargo::metadata(false)?);
    if wrong.is_empty() {
        println!("{} crates, all arrows point down", ARROWS.len());
        return Ok(());
    }
    bail!("{}", wrong.join("\n"))
}

/// The table for ARCHITECTURE.md.
pub fn table() -> String {
    let mut table = String::from("| Crate | May use, of ours | Alone holds |\n|---|---|---|\n");
    for (name, allowed) in ARROWS {
        let holds: Vec<&str> = CONTAINED.iter().filter(|(_, holders)| holders[0] == *name).map(|(contained, _)| *contained).collect();
        let words = |names: &[&str]| {
            if names.is_empty() { "-".to_string() } else { names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ") }
        };
        table += &format!("| `{name}` | {} | {} |\n", words(allowed), words(&holds));
    }
    table
}

fn wrong_arrows(metadata: &Value) -> Vec<String> {
    let packages: Vec<&Value> = metadata["packages"].as_array().into_iter().flatten().collect();
    let ours: Vec<&str> = packages.iter().filter_map(|package| package["name"].as_str()).collect();
    let mut wrong = Vec::new();
    if ours.is_empty() {
        wrong.push("cargo metadata lists no crate".to_string());
    }
    for package in packages {
        let name = package["name"].as_str().unwrap_or_default();
        let Some((_, allowed)) = ARROWS.iter().find(|(known, _)| *known == name) else {
            wrong.push(format!("{name} is not in the table of crates"));
            continue;
        };
        for dependency in package["dependencies"].as_array().into_iter().flatten().filter_map(|dependency| dependency["name"].as_str()) {
            if ours.contains(&dependency) && !allowed.contains(&dependency) {
                wrong.push(format!("{name} may not use {dependency}"));
            }
            if let Some((_, holders)) = CONTAINED.iter().find(|(contained, _)| *contained == dependency)
                && !holders.contains(&name)
            {
                wrong.push(format!("{name} may not use {dependency}: only {} may", holders.join(" and ")));
            }
        }
    }
    wrong
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn workspace(numerics: &[&str], seal: &[&str], other: &str) -> Value {
        let dependencies = |names: &[&str]| names.iter().map(|name| json!({ "name": name })).collect::<Vec<_>>();
        json!({ "packages": [
            { "name": "halfmicron-numerics", "dependencies": dependencies(numerics) },
            { "name": "halfmicron", "dependencies": dependencies(seal) },
            { "name": other, "dependencies": [] },
        ]})
    }

    #[test]
    fn finds_what_points_up_and_what_is_not_contained() {
        assert!(wrong_arrows(&workspace(&["faer"], &["halfmicron-numerics"], "xtask")).is_empty());
        assert_eq!(wrong_arrows(&workspace(&["halfmicron"], &[], "xtask")), ["halfmicron-numerics may not use halfmicron"]);
        assert_eq!(wrong_arrows(&workspace(&[], &["clap"], "xtask")), ["halfmicron may not use clap: only halfmicron-app may"]);
        assert_eq!(wrong_arrows(&workspace(&[], &[], "halfmicron-extra")), ["halfmicron-extra is not in the table of crates"]);
        assert!(!wrong_arrows(&json!({})).is_empty());
    }
}
