//! Pages as text, HTML and pictures.

use fallrate_report::{
    Document, HtmlOptions, Layout, Picture, PlanPage, TerminalOptions, Words as PageWords, document_html,
    document_terminal, html, png, terminal,
};

use crate::error::AppError;
use crate::words::{Language, Words};

/// A picture ready to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChartFile {
    /// Name without a folder.
    pub name: String,
    /// Bytes.
    pub bytes: Vec<u8>,
}

fn page_words(language: Language) -> PageWords {
    let words = match language {
        Language::English => PageWords::english(),
        Language::Spanish => PageWords::spanish(),
    };
    // A plan is read before the run: what a person must act on comes before the start.
    PageWords { level_act: Words::new(language).text("level-before-start"), ..words }
}

/// A page for a terminal of so many columns, bold and dim where `styled`.
#[must_use]
pub fn terminal_page(page: &PlanPage, language: Language, columns: usize, styled: bool) -> String {
    terminal(page, &page_words(language), &TerminalOptions { columns, styled, full: true })
}

/// A page as one self-contained HTML file.
#[must_use]
pub fn html_page(page: &PlanPage, language: Language) -> String {
    html(page, &page_words(language), &HtmlOptions::default())
}

/// A document for a terminal of so many columns, bold and dim where `styled`.
#[must_use]
pub fn document_text(document: &Document, columns: usize, styled: bool) -> String {
    document_terminal(document, &TerminalOptions { columns, styled, full: true })
}

/// A document as one self-contained HTML file.
#[must_use]
pub fn document_page(document: &Document) -> String {
    document_html(document, &HtmlOptions::default())
}

/// A document as PDF (PDF/A-2a, tagged).
///
/// # Errors
/// [`AppError::Pdf`] where it cannot be written, or where the program was built without PDF.
#[cfg(feature = "pdf")]
pub fn document_pdf(document: &Document) -> Result<Vec<u8>, AppError> {
    fallrate_print::pdf(document).map_err(|e| AppError::Pdf { reason: e.to_string() })
}

/// A document as PDF.
///
/// # Errors
/// [`AppError::Pdf`]: the program was built without PDF.
#[cfg(not(feature = "pdf"))]
pub fn document_pdf(_: &Document) -> Result<Vec<u8>, AppError> {
    Err(AppError::Pdf {
        reason: "not in this build; allowed: a build with the feature 'pdf', or HTML".to_owned(),
    })
}

/// Width of the PNG pictures, px.
const PNG_WIDTH_PX: u32 = 1680;

/// The pictures of a page, each as SVG and PNG.
///
/// # Errors
/// [`AppError::Report`].
pub fn chart_files(page: &PlanPage) -> Result<Vec<ChartFile>, AppError> {
    let mut files = Vec::new();
    for (n, picture) in page.pictures.iter().enumerate() {
        let stem = format!("{:02}-{}", n + 1, slug(title(picture)));
        let svg = match picture {
            Picture::Chart(c) => c.svg(&Layout::wide(), &stem),
            Picture::Bars(b) => b.svg(&Layout::wide(), &stem),
            Picture::Strip(s) => s.svg(&Layout::wide(), &stem),
        };
        let pixels = png(&svg, PNG_WIDTH_PX)?;
        files.push(ChartFile { name: format!("{stem}.svg"), bytes: svg.into_bytes() });
        files.push(ChartFile { name: format!("{stem}.png"), bytes: pixels.bytes });
    }
    Ok(files)
}

fn title(picture: &Picture) -> &str {
    match picture {
        Picture::Chart(c) => &c.title,
        Picture::Bars(b) => &b.title,
        Picture::Strip(s) => &s.title,
    }
}

/// Letters and digits with hyphens between.
fn slug(text: &str) -> String {
    let mut out = String::new();
    for c in text.to_lowercase().chars() {
        let plain = match c {
            'á' => 'a',
            'é' => 'e',
            'í' => 'i',
            'ó' => 'o',
            'ú' | 'ü' => 'u',
            'ñ' => 'n',
            c => c,
        };
        if plain.is_ascii_alphanumeric() {
            out.push(plain);
        } else if !out.ends_with('-') && !out.is_empty() {
            out.push('-');
        }
        if out.len() >= 40 {
            break;
        }
    }
    out.trim_end_matches('-').to_owned()
}
