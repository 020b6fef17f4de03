//! Finished documents as PDF: PDF/A-2a and PDF/UA-1 together, tagged, with the one typeface inside, the same bytes for
//! the same document.
//!
//! [`pdf`] hands a [`Document`] as data to a template of this crate. No text of a document is ever read as
//! typesetting code. Characters that the typeface lacks, or that cannot be seen, are printed as `[U+4E2D]`.

// Layout arithmetic turns small counts into lengths.
#![allow(clippy::cast_precision_loss)]

mod blocks;
mod columns;
mod error;
mod head;
mod sheet;
mod words;
mod world;

pub use error::PrintError;

use fallrate_report::Document;
use sheet::Sheet;
use typst::comemo;
use typst::diag::SourceDiagnostic;
use typst::foundations::Smart;
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

/// Sizes of type that a card grows or shrinks to, as a share of its own, from the smallest.
const CARD_FACTORS: [f64; 7] = [0.7, 0.77, 0.84, 0.92, 1.0, 1.15, 1.3];
/// Uses after which results kept by the typesetter are dropped.
const KEPT_USES: usize = 8;

/// The document as the bytes of a PDF file.
///
/// # Errors
/// [`PrintError`]: a tag, date or text of the document cannot be used; a picture has no alternative text; a card takes
/// more than one page; the typesetter refuses.
pub fn pdf(document: &Document) -> Result<Vec<u8>, PrintError> {
    let pages = if document.paper.is_card() { card(document) } else { lay_out(document, 1.0) };
    let written = pages.and_then(|p| write(&p));
    comemo::evict(KEPT_USES);
    written
}

/// The one page of a card in the largest type that fits, found by halving.
fn card(document: &Document) -> Result<PagedDocument, PrintError> {
    let (mut from, mut to) = (0, CARD_FACTORS.len());
    let (mut best, mut least) = (None, None);
    while from < to {
        let middle = usize::midpoint(from, to);
        let pages = lay_out(document, CARD_FACTORS[middle])?;
        if pages.pages().len() > 1 {
            to = middle;
            least = Some(pages.pages().len());
        } else {
            from = middle + 1;
            best = Some(pages);
        }
    }
    best.ok_or_else(|| PrintError::CardTooLong {
        pages: least.unwrap_or(0),
        type_size_pt: Sheet::new(document.paper, CARD_FACTORS[0]).body,
    })
}

fn lay_out(document: &Document, factor: f64) -> Result<PagedDocument, PrintError> {
    let data = head::data(document, &Sheet::new(document.paper, factor))?;
    let Some(desk) = world::Desk::new(data) else {
        return Err(PrintError::Layout { reason: "the template has no name".to_owned() });
    };
    let result = typst::compile::<PagedDocument>(&desk);
    // A warning here means that the page is not what it should be: a font is missing, page numbers do not settle.
    match result.output {
        Ok(pages) if result.warnings.is_empty() => Ok(pages),
        Ok(_) => Err(PrintError::Layout { reason: words_of(&result.warnings) }),
        Err(errors) => Err(PrintError::Layout { reason: words_of(&errors) }),
    }
}

fn write(pages: &PagedDocument) -> Result<Vec<u8>, PrintError> {
    let standards = PdfStandards::new(&[PdfStandard::A_2a, PdfStandard::Ua_1])
        .map_err(|e| PrintError::Export { reason: e.message().to_string() })?;
    let options = PdfOptions {
        creator: Smart::Custom(Some("Fallrate".to_owned())),
        standards,
        ..PdfOptions::default()
    };
    typst_pdf::pdf(pages, &options).map_err(|errors| PrintError::Export { reason: words_of(&errors) })
}

fn words_of(diagnostics: &[SourceDiagnostic]) -> String {
    let one = |d: &SourceDiagnostic| {
        let hints = d.hints.iter().map(|h| format!("; {}", h.v)).collect::<String>();
        format!("{}{hints}", d.message)
    };
    diagnostics.iter().map(one).collect::<Vec<_>>().join(" | ")
}
