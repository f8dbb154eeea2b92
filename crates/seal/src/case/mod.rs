//! The case file: what the engineer wrote, checked, and lowered to the [`Model`].
//!
//! A case is TOML. Every quantity is text with a unit ([`crate::units`]). [`parse`] reads it and reports **every** error it finds,
//! each with its place in the file, the allowed range and the fix; [`Case::model`] puts it into SI units and absolute pressure,
//! and records every default that it takes as a notice. [`keys`] is the one table of keys from which reading, messages,
//! [`schema`] and [`with_settings`] come.
//!
//! Signs and senses that a file relies on:
//! - each ring has its own `z`: the running face is `z = 0`, the body lies in `z > 0`; `r` are radii, `inner` and `outer` diameters;
//! - coning, lapped or prescribed, is positive where the gap opens toward the sealed side (`pressure_side`);
//! - `lapped_form = "0.3 um convex"`: the face stands highest at the inner edge of the band and falls by 0.3 um to the outer
//!   edge, as a domed disc does; convex is therefore positive coning under outside pressure and negative under inside pressure;
//! - `flatness` is a tolerance: it widens results and never enters the nominal gap;
//! - `[gap] thickness` is the gap at the inner edge of the band.

mod edit;
mod error;
mod geometry;
pub mod keys;
mod lower;
mod read;
mod schema;
mod settings;
mod starter;
mod tree;
mod values;

pub use edit::{Edit, as_written, edit};
pub use error::{CaseError, CaseErrors, Cause, Diagnostic};
pub use geometry::outlines;
pub use schema::schema;
pub use settings::with_settings;
pub use starter::starter;
pub use values::PathError;

use crate::model::Model;

/// Greatest size of a case file, bytes. A case is a few kilobytes; what is larger is another file.
pub const MOST_BYTES: usize = 1 << 20;

/// A case whose every value has the type, unit and range of its key.
#[derive(Debug, Clone)]
pub struct Case {
    text: String,
    tree: tree::Table,
}

/// Read a case.
///
/// # Errors
/// Every error found, in file order: of syntax, keys, types, units and ranges, and as far as the readable part allows those of
/// meaning that [`Case::model`] finds.
pub fn parse(text: &str) -> Result<Case, CaseErrors> {
    if let Some(error) = not_a_case(text) {
        return Err(CaseErrors::new(vec![error]));
    }
    let (tree, mut errors) = read::read(text);
    if errors.is_empty() {
        return Ok(Case { text: text.to_owned(), tree });
    }
    if errors.iter().all(|error| !matches!(error.cause, Cause::Syntax(_))) {
        errors.extend(lower::lower(&tree, text).err().unwrap_or_default());
    }
    Err(CaseErrors::new(errors))
}

/// Read a case from bytes, as they come from a file.
///
/// # Errors
/// Bytes that are not UTF-8, and all that [`parse`] reports.
pub fn parse_bytes(bytes: &[u8]) -> Result<Case, CaseErrors> {
    if bytes.len() > MOST_BYTES {
        return Err(CaseErrors::new(vec![too_large(bytes.len())]));
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => parse(text),
        Err(error) => {
            let at = error.valid_up_to();
            let help = "save the file as UTF-8 text; a case is written in a text editor, not exported from another program";
            Err(CaseErrors::new(vec![CaseError::at(at..at + 1, "", Cause::NotText { at }, help)]))
        }
    }
}

fn not_a_case(text: &str) -> Option<CaseError> {
    if text.len() > MOST_BYTES {
        return Some(too_large(text.len()));
    }
    let blank = text.lines().all(|line| line.trim().is_empty() || line.trim_start().starts_with('#'));
    blank.then(|| CaseError::at(0..text.len().min(1), "", Cause::Empty, "write a starter with `halfmicron new NAME` and change it"))
}

fn too_large(bytes: usize) -> CaseError {
    CaseError::at(0..1, "", Cause::TooLarge { bytes, limit: MOST_BYTES }, "a case file is a few kilobytes of text: is this the right file?")
}

impl Case {
    /// The text from which it was read.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Title, when the case gives one.
    pub fn title(&self) -> Option<&str> {
        self.tree.text("title")
    }

    /// Names of the duties, in the order of the file.
    pub fn duty_names(&self) -> Vec<&str> {
        self.tree.list("duty").iter().filter_map(|duty| duty.text("name")).collect()
    }

    /// The case in SI units and absolute pressure, every default a notice.
    ///
    /// # Errors
    /// What contradicts itself or cannot be: geometry, balance, supports, fluids and materials outside their range.
    pub fn model(&self) -> Result<Model, CaseErrors> {
        lower::lower(&self.tree, &self.text).map_err(CaseErrors::new)
    }
}

/// Paths of every value that a case states, in the form that [`with_settings`] takes: `duty.normal.pressure`,
/// `rotating_ring.section.0.z`.
pub fn paths(case: &Case) -> Vec<String> {
    let mut out = Vec::new();
    collect_paths(&case.tree, &mut out);
    out
}

fn collect_paths(table: &tree::Table, out: &mut Vec<String>) {
    for (name, node) in &table.entries {
        match &node.value {
            tree::Value::Table(below) => collect_paths(below, out),
            tree::Value::List(tables) => tables.iter().for_each(|below| collect_paths(below, out)),
            _ => out.push(table.path_of(name)),
        }
    }
}
