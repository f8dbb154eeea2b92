//! The report that an engineer signs: one file, PDF or HTML, from an outcome and its sheet.
//!
//! [`content`] decides what is said, as plain data; [`html`] and [`pdf`] write it. Every number comes from the sheet, the case text or a
//! fixed text of the program. The same input gives the same bytes: no clock, no random numbers, no file, no network.

mod compose;
mod content;
mod html;
mod pdf;
mod world;

use halfmicron::model::Model;
use halfmicron::outcome::Outcome;
use halfmicron::sheet::Sheet;

pub use compose::content;
pub use content::{Cell, Column, Content, Entry, Field, Figure, Group, Part, Section, Table, Tone};
pub use html::html;
pub use pdf::pdf;

/// What is reported.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// The case.
    pub model: &'a Model,
    /// What came out.
    pub outcome: &'a Outcome,
    /// The same in the reader's units.
    pub sheet: &'a Sheet,
    /// Text of the case as it was solved.
    pub case_text: &'a str,
}

/// What the user types into the title block; what is empty is left as a line to be written on.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TitleBlock {
    /// Project.
    pub project: String,
    /// Revision of this report.
    pub revision: String,
    /// Author.
    pub author: String,
    /// Name of the case file.
    pub file: String,
    /// Command that makes this report.
    pub command: String,
}

/// Kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// One HTML file without script and without anything from outside.
    Html,
    /// Tagged PDF with embedded fonts.
    Pdf,
}

/// Paper.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 mm by 297 mm.
    #[default]
    A4,
    /// 8.5 in by 11 in.
    Letter,
}

/// Why there is no report.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReportError {
    /// Letters that the embedded typeface does not have.
    #[error("the typeface of the PDF has no sign for {}: write HTML instead, which uses the reader's typefaces, or change the text", quoted(.0))]
    Letters(Vec<char>),
    /// The typesetter refused: an error of this program.
    #[error("the report could not be typeset: {0}. This is an error of halfmicron; write HTML meanwhile")]
    Typesetting(String),
}

fn quoted(letters: &[char]) -> String {
    letters.iter().map(|letter| format!("\"{letter}\" (U+{:04X})", *letter as u32)).collect::<Vec<_>>().join(", ")
}

/// The report as a file.
///
/// # Errors
/// [`ReportError`] says what cannot be written and what to do.
pub fn report(subject: &Subject, title: &TitleBlock, kind: Kind, paper: Paper) -> Result<Vec<u8>, ReportError> {
    let content = content(subject, title);
    match kind {
        Kind::Html => Ok(html(&content, paper).into_bytes()),
        Kind::Pdf => pdf(&content, paper),
    }
}
