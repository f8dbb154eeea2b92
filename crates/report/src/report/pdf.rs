//! The report as tagged PDF.

use serde::Serialize;
use typst::foundations::Smart;
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use super::content::Content;
use super::world::{Desk, unknown_letters};
use super::{Paper, ReportError};

const TEMPLATE: &str = include_str!("../../pages/report.typ");

/// Documents after which the typesetter forgets what it kept of an earlier one.
const KEPT: usize = 4;

/// What the template reads.
#[derive(Serialize)]
struct Data<'a> {
    #[serde(flatten)]
    content: &'a Content,
    paper: &'static str,
    /// Height of a picture on a landscape page, mm.
    tall: f64,
}

/// The report as PDF: fonts embedded, text selectable, tagged, without a date.
///
/// # Errors
/// Letters that the typeface lacks, and what the typesetter refuses.
pub fn pdf(content: &Content, paper: Paper) -> Result<Vec<u8>, ReportError> {
    let document = document(content, paper)?;
    let options = PdfOptions {
        ident: Smart::Custom(format!("halfmicron report, {}", content.identity)),
        creator: Smart::Custom(Some("halfmicron".to_owned())),
        standards: PdfStandards::new(&[PdfStandard::Ua_1]).map_err(|error| refused([error.message().as_str()].into_iter()))?,
        ..PdfOptions::default()
    };
    let bytes = typst_pdf::pdf(&document, &options).map_err(|errors| refused(errors.iter().map(|error| error.message.as_str())));
    typst::comemo::evict(KEPT);
    bytes
}

/// The pages of the report.
fn document(content: &Content, paper: Paper) -> Result<PagedDocument, ReportError> {
    let unknown = unknown_letters(&content.texts().concat());
    if !unknown.is_empty() {
        return Err(ReportError::Letters(unknown));
    }
    let (paper, tall) = match paper {
        Paper::A4 => ("a4", 152.0),
        Paper::Letter => ("us-letter", 157.0),
    };
    let data = serde_json::to_vec(&Data { content, paper, tall }).map_err(|error| ReportError::Typesetting(error.to_string()))?;
    let figures = content.figures().map(|figure| (figure.name.clone(), figure.svg.clone().into_bytes()));
    let desk = Desk::new(TEMPLATE, figures.chain([("report.json".to_owned(), data)]))
        .ok_or_else(|| ReportError::Typesetting("a figure has no file name".to_owned()))?;
    let compiled = typst::compile::<PagedDocument>(&desk);
    compiled.output.map_err(|errors| refused(errors.iter().map(|error| error.message.as_str())))
}

fn refused<'a>(messages: impl Iterator<Item = &'a str>) -> ReportError {
    ReportError::Typesetting(messages.collect::<Vec<_>>().join("; "))
}
