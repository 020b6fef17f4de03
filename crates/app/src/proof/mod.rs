//! From logger files to a verdict and a record.

mod batch_file;
mod clock;
pub mod desk;
mod guidance;
mod judged;
mod page;
mod questions;
mod readings;
pub mod record;
mod words;

pub(crate) use batch_file::when;
pub use batch_file::{Batch, BatchIdentity, Deviation, LabResult, MoistureResult, SuspectAnswer};
pub use clock::LocalClock;
pub use guidance::{Guidance, guidance_document, species_from_word, species_words};
pub use judged::{Judged, JudgedBy, Verdict, WET_SHARE, WaterActivityFinding, judge_batch};
pub use page::BatchDocument;
pub(crate) use page::document_words;
pub use questions::{NumberedAnswer, answer_questions, mapping_to_keep, question_lines, readings_document};
pub use readings::{Gathered, OpenFile, ReadingsFile, gather, look_at, mapping_of};

pub use fallrate_ingest::is_hand_entry;
pub use fallrate_lethality::{Answer, ClaimedDocument, LogTarget, OptionId, StudyQuery};
pub use fallrate_series::{CalendarDate, Instant, Span};
pub use fallrate_store::{RecordView, SuspectAnswered, TestOf, Tested};

/// The document an option stands in.
#[must_use]
pub fn document_of(option: OptionId) -> Option<ClaimedDocument> {
    fallrate_lethality::humidity_option(option).ok().map(fallrate_lethality::HumidityOption::document)
}

/// Everything that was found, as JSON.
///
/// # Errors
/// [`AppError::Store`](crate::AppError::Store) where a value cannot be written.
pub fn judged_json(judged: &Judged) -> Result<String, crate::AppError> {
    judged::json(judged)
}
