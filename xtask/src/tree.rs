//! The files of the repository.

use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result};

/// Top folder of the repository.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap_or(Path::new("."))
}

/// Paths of all files under version control or about to be, relative to the root, in order.
///
/// Without git (an unpacked archive) it walks the tree and leaves out `target`.
pub fn files() -> Result<Vec<PathBuf>> {
    let listing = Command::new("git").args(["ls-files", "-z", "--cached", "--others", "--exclude-standard"]).current_dir(root()).output();
    let mut files = match listing {
        Ok(output) if output.status.success() => {
            String::from_utf8_lossy(&output.stdout).split('\0').filter(|path| !path.is_empty()).map(PathBuf::from).collect()
        }
        _ => {
            let mut found = Vec::new();
            walk(root(), &mut found)?;
            found
        }
    };
    files.retain(|path| root().join(path).is_file());
    files.sort();
    Ok(files)
}

/// Text of a file, or `None` if it is not UTF-8.
pub fn text(path: &Path) -> Result<Option<String>> {
    let bytes = std::fs::read(root().join(path)).with_context(|| format!("{} cannot be read", path.display()))?;
    Ok(String::from_utf8(bytes).ok())
}

/// Whether the file has that extension.
pub fn has_extension(path: &Path, extension: &str) -> bool {
    path.extension().is_some_and(|found| found == extension)
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>) -> Result<()> {
    for entry in std::fs::read_dir(folder).with_context(|| format!("{} cannot be listed", folder.display()))? {
        let path = entry?.path();
        let name = path.file_name().unwrap_or_default();
        if path.is_dir() && name != "target" && name != ".git" {
            walk(&path, found)?;
        } else if path.is_file() {
            found.push(path.strip_prefix(root())?.to_path_buf());
        }
    }
    Ok(())
}
