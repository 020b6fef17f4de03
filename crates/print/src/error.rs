//! What can go wrong between a document and its PDF.

/// Errors of this crate.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PrintError {
    /// The language is no tag that a PDF can carry.
    #[error("language \"{value}\", allowed a BCP 47 tag such as en or es-MX, in the document")]
    Language {
        /// What was given.
        value: String,
    },
    /// The date is none.
    #[error("date \"{value}\", allowed YYYY-MM-DD of an existing day, in the document")]
    Date {
        /// What was given.
        value: String,
    },
    /// A text that the file must have is empty.
    #[error("{what} is empty, allowed any text, in the document")]
    EmptyText {
        /// Which text.
        what: &'static str,
    },
    /// A picture has no words for readers who cannot see it.
    #[error(
        "alternative text of picture {number} is empty, allowed a title or a description, in the document"
    )]
    NoAlternative {
        /// Place among the pictures of the document, from 1.
        number: usize,
    },
    /// The page word does not name the page, or is too long for the foot of a page.
    #[error("page word \"{value}\", allowed a short text with {{page}} and {{pages}}, in the document")]
    PageWord {
        /// What was given.
        value: String,
    },
    /// A card does not fit on its one page.
    #[error("{pages} pages, allowed 1 for a card, in the smallest type of {type_size_pt:.1} pt")]
    CardTooLong {
        /// Pages it would take.
        pages: usize,
        /// Size of its running text, pt.
        type_size_pt: f64,
    },
    /// The document could not be laid out as it must be.
    #[error("document could not be laid out: {reason}")]
    Layout {
        /// What the typesetter said.
        reason: String,
    },
    /// The pages could not be written as an archival and accessible file.
    #[error("pages are no valid PDF/A-2a and PDF/UA-1: {reason}")]
    Export {
        /// What the writer said.
        reason: String,
    },
}
