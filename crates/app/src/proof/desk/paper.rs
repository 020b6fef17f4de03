//! A record on paper and on the page: the document of the batch, its entries, its verification.

use fallrate_report::Document;
use fallrate_store::{RecordView, Records};

use super::change::record;
use crate::AppError;
use crate::proof::BatchDocument;
use crate::proof::record::{
    JudgedRecord, Record, entries_document, judge_record, verified_document, verify_record,
};
use crate::words::Reader;

/// Which paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper<'a> {
    /// The record of the batch: page one, evidence, sources, history.
    Batch,
    /// Every entry.
    Entries,
    /// What verifying found, against a printed head where one is given.
    Verified(Option<&'a str>),
}

/// A record with everything that is shown of it.
#[derive(Debug)]
pub struct Sheets {
    /// The record.
    pub record: Record,
    /// What stands.
    pub view: RecordView,
    /// Judged anew from the kept bytes; or why it cannot be.
    pub judged: Result<JudgedRecord, AppError>,
}

/// Reads a record and judges it from its kept bytes; nothing is entered. `None` where there is no such record.
///
/// # Errors
/// What the place of the records says.
pub fn sheets(records: &mut dyn Records, id: &str) -> Result<Option<Sheets>, AppError> {
    let Some(record) = record(records, id)? else { return Ok(None) };
    Ok(Some(Sheets { view: record.view(), judged: judge_record(&record), record }))
}

impl Sheets {
    /// The document of the batch; `None` where it cannot be judged for want of a claim, facts or an answer.
    #[must_use]
    pub fn document(&self, r: &Reader) -> Option<Document> {
        let judged = self.judged.as_ref().ok()?;
        let document =
            BatchDocument { file: &judged.batch, judged: &judged.judged, record: Some(&self.view) };
        Some(document.document(r))
    }
}

/// A document of a record.
#[derive(Clone, Debug)]
pub struct Written {
    /// The document.
    pub document: Document,
    /// For [`Paper::Verified`]: whether nothing is wrong.
    pub intact: bool,
    /// A name for the file, without ending.
    pub name: String,
}

/// A record as a document; `None` where there is no such record.
///
/// # Errors
/// What the place of the records says; what keeps the record from being judged.
pub fn paper(
    records: &mut dyn Records,
    id: &str,
    paper: Paper<'_>,
    r: &Reader,
) -> Result<Option<Written>, AppError> {
    let Some(found) = record(records, id)? else { return Ok(None) };
    let view = found.view();
    let lot = view.identity.as_ref().map_or(id, |i| i.value.lot.as_str());
    let name = format!("record-{}", crate::batches::slug(lot));
    let mut intact = true;
    let document = match paper {
        Paper::Batch => {
            let judged = judge_record(&found)?;
            BatchDocument { file: &judged.batch, judged: &judged.judged, record: Some(&view) }.document(r)
        }
        Paper::Entries => entries_document(&found, r),
        Paper::Verified(head) => {
            let bytes = found.chain.to_jsonl();
            let verified = verify_record(bytes.as_bytes(), &found.files, head)?;
            intact = verified.is_intact();
            verified_document(&verified, lot, r)
        }
    };
    Ok(Some(Written { document, intact, name }))
}
