//! Licences of all dependencies against the list this project may ship.

use anyhow::{Result, bail};
use serde_json::Value;
use spdx::{Expression, ParseMode};

use crate::cargo;

/// Permissive licences without duties beyond notice.
const ALLOWED: &[&str] = &[
    "0BSD",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// Checks every package of the lock file, of every platform, ours included.
pub fn check() -> Result<()> {
    let metadata = cargo::metadata(true)?;
    let packages: Vec<&Value> = metadata["packages"].as_array().into_iter().flatten().collect();
    let refused: Vec<String> = packages.iter().filter_map(|package| refusal(package)).collect();
    if packages.is_empty() || !refused.is_empty() {
        bail!("{} packages read\n{}", packages.len(), refused.join("\n"));
    }
    println!("{} packages, all under {}", packages.len(), ALLOWED.join(", "));
    Ok(())
}

fn refusal(package: &Value) -> Option<String> {
    let name = format!("{} {}", package["name"].as_str().unwrap_or("?"), package["version"].as_str().unwrap_or("?"));
    let Some(licence) = package["license"].as_str() else {
        return Some(format!("{name} states no licence"));
    };
    match Expression::parse_mode(licence, ParseMode::LAX) {
        Ok(expression) if expression.evaluate(|requirement| requirement.license.id().is_some_and(|id| ALLOWED.contains(&id.name))) => None,
        Ok(_) => Some(format!("{name} is under {licence}")),
        Err(error) => Some(format!("{name}: licence {licence:?} cannot be read: {}", error.reason)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn refused(licence: Value) -> bool {
        refusal(&json!({ "name": "a", "version": "1", "license": licence })).is_some()
    }

    #[test]
    fn reads_licence_expressions() {
        for allowed in [
            "MIT",
            "MIT OR Apache-2.0",
            "MIT/Apache-2.0",
            "GPL-3.0-only OR MIT",
            "Apache-2.0 WITH LLVM-exception",
            "(MIT OR Apache-2.0) AND Unicode-3.0",
        ] {
            assert!(!refused(json!(allowed)), "{allowed}");
        }
        for wrong in ["GPL-3.0-only", "MIT AND AGPL-3.0-only", "MPL-2.0", "my own", ""] {
            assert!(refused(json!(wrong)), "{wrong}");
        }
        assert!(refused(Value::Null));
    }
}
