//! A batch record, entry by entry: opened from a batch file, fed with files and notes, judged, signed, verified.

mod amend;
mod entries;
mod from_record;
mod judge;
mod list;
mod verify;

use fallrate_series::Instant;
use fallrate_store::{Chain, Draft, RecordView};

pub use fallrate_store::{
    ActionPart, ActionTaken, Body, Chain as RecordChain, Disposition, FileUse, Noted, ReadingsEntered,
    SignatureMeaning, Signed, Withdrawn,
};
pub use list::{added_line, entries_document, opened_line, restated_lines};

pub use amend::{Amend, amended_body};
pub use entries::{Restated, file_entry, opening_entries, restating_entries};
pub use from_record::batch_of;
pub(crate) use from_record::readings_of;
pub(crate) use judge::questions;
pub use judge::{JudgedRecord, criteria_sha256, judge_record};
pub use verify::{PrintedHead, Verified, verified_document, verify_record};

use super::batch_file::Batch;
use super::readings::{Gathered, ReadingsFile, gather};
use crate::AppError;

/// Who makes an entry, when, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// Now.
    pub at: Instant,
    /// Zone of the plant.
    pub zone: String,
    /// The person.
    pub by: String,
    /// The reason, where one is due; else empty.
    pub reason: String,
}

impl Stamp {
    /// An entry of this person at this moment.
    #[must_use]
    pub fn draft(&self, body: Body) -> Draft {
        Draft { at: self.at, zone: self.zone.clone(), by: self.by.clone(), reason: self.reason.clone(), body }
    }
}

/// A record with the bytes of its kept files.
#[derive(Clone, Debug)]
pub struct Record {
    /// The entries.
    pub chain: Chain,
    /// Kept files by name, as they are found beside the record.
    pub files: Vec<(String, Vec<u8>)>,
}

/// Opens a record from a batch file, which is kept as well.
///
/// # Errors
/// [`AppError::NoQuantity`], [`AppError::Store`].
pub fn open_record(batch: &Batch, name: &str, bytes: &[u8], stamp: &Stamp) -> Result<Record, AppError> {
    let mut bodies = opening_entries(batch)?.into_iter();
    let first = bodies.next().ok_or(AppError::RecordIncomplete { what: "identity" })?;
    let mut record = Record { chain: Chain::open(stamp.draft(first))?, files: Vec::new() };
    record.keep(stamp, name, bytes, FileUse::BatchFile, None)?;
    record.add(stamp, bodies.collect())?;
    Ok(record)
}

/// A name for another version of a kept file: "batch (2).toml".
#[must_use]
pub fn next_name(record: &Record, path: &std::path::Path) -> String {
    let part = |p: Option<&std::ffi::OsStr>| p.map_or_else(String::new, |p| p.to_string_lossy().into_owned());
    let (stem, dot) = (part(path.file_stem()), part(path.extension()));
    let name = |n: u32| if n == 1 { format!("{stem}.{dot}") } else { format!("{stem} ({n}).{dot}") };
    (1..).map(name).find(|n| record.file(n).is_none()).unwrap_or_default()
}

/// Whether lines typed by hand can be read; they are kept as typed.
///
/// # Errors
/// [`AppError::Ingest`], [`AppError::Questions`].
pub fn check_hand_entry(text: &str) -> Result<(), AppError> {
    let file = ReadingsFile { name: "entry".to_owned(), bytes: text.as_bytes().to_vec(), mapping: None };
    match gather(&[file], "UTC", "")? {
        Gathered::Ready(_) => Ok(()),
        Gathered::Open(open) => Err(questions(&open)),
    }
}

impl Record {
    /// What stands after corrections.
    #[must_use]
    pub fn view(&self) -> RecordView {
        self.chain.view()
    }
    /// The zone of the plant, as the record was opened with.
    #[must_use]
    pub fn zone(&self) -> String {
        self.chain.entries().first().map_or_else(|| "UTC".to_owned(), |e| e.zone.clone())
    }
    /// Adds entries; none where one of them is refused.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub fn add(&mut self, stamp: &Stamp, bodies: Vec<Body>) -> Result<(), AppError> {
        let mut chain = self.chain.clone();
        for body in bodies {
            chain.append(stamp.draft(body))?;
        }
        self.chain = chain;
        Ok(())
    }
    /// Keeps a file and enters it.
    ///
    /// # Errors
    /// As [`Record::add`].
    pub fn keep(
        &mut self,
        stamp: &Stamp,
        name: &str,
        bytes: &[u8],
        used_as: FileUse,
        mapping: Option<String>,
    ) -> Result<(), AppError> {
        let body = file_entry(name, bytes, used_as, mapping)?;
        self.add(stamp, vec![body])?;
        self.files.push((name.to_owned(), bytes.to_vec()));
        Ok(())
    }
    /// Bytes of a kept file.
    #[must_use]
    pub fn file(&self, name: &str) -> Option<&[u8]> {
        self.files.iter().find(|(n, _)| n == name).map(|(_, b)| b.as_slice())
    }
}
