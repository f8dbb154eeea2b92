//! Charts as a file.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use halfmicron::sheet::Chart;
use halfmicron_report::chart;

/// Said where several cases would share one file.
pub const ONE_CASE: &str = "error: --chart writes one file: name one case\n";

/// A file for charts: its ending says that they are SVG.
pub fn file(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    match path.extension() {
        Some(ending) if ending.eq_ignore_ascii_case("svg") => Ok(path),
        _ => Err(format!("charts are written as SVG: name the file so, e.g. {}", path.with_extension("svg").display())),
    }
}

/// Write charts into a file.
///
/// # Errors
/// What the reader must know where there is nothing to draw or the file cannot be written.
pub fn write(path: &Path, title: &str, charts: &[Chart]) -> Result<(), String> {
    let shown = path.display();
    if charts.is_empty() {
        return Err("error: --chart: no duty has a film whose curves could be drawn\n".to_owned());
    }
    std::fs::write(path, chart::sheet(title, charts)).map_err(|error| match error.kind() {
        ErrorKind::NotFound => format!("error: there is no folder for {shown}: make it first\n"),
        _ => format!("error: {shown} cannot be written: {error}\n"),
    })
}
