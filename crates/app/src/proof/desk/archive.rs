//! Records as one file of open files.

use std::io::{Cursor, Write as _};

use fallrate_store::{RECORD_FILE, Records, RecordsError, open_files};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use super::change::record;
use crate::AppError;

struct Archive(ZipWriter<Cursor<Vec<u8>>>);

impl Archive {
    fn new() -> Self {
        Self(ZipWriter::new(Cursor::new(Vec::new())))
    }
    /// The same files give the same bytes: no time is written.
    fn put(&mut self, name: &str, bytes: &[u8]) -> Result<(), RecordsError> {
        let failed = |detail: String| RecordsError::Unavailable { what: "write an archive", detail };
        let options = SimpleFileOptions::default().last_modified_time(zip::DateTime::default());
        self.0.start_file(name, options).map_err(|e| failed(e.to_string()))?;
        self.0.write_all(bytes).map_err(|e| failed(e.to_string()))
    }
    fn done(self) -> Result<Vec<u8>, AppError> {
        let bytes = self
            .0
            .finish()
            .map_err(|e| AppError::NotAValue { field: "archive".to_owned(), why: e.to_string() })?;
        Ok(bytes.into_inner())
    }
}

/// One record with its files; `None` where there is none.
///
/// # Errors
/// What the place of the records says.
pub fn record_zip(records: &mut dyn Records, id: &str) -> Result<Option<Vec<u8>>, AppError> {
    let Some(found) = record(records, id)? else { return Ok(None) };
    let mut archive = Archive::new();
    let put = |a: &mut Archive, name: &str, bytes: &[u8]| {
        a.put(name, bytes).map_err(fallrate_store::StoreError::from)
    };
    put(&mut archive, &format!("{id}/{RECORD_FILE}"), found.chain.to_jsonl().as_bytes())?;
    for (name, bytes) in &found.files {
        put(&mut archive, &format!("{id}/{name}"), bytes)?;
    }
    archive.done().map(Some)
}

/// Everything: records, files, library, instruments, settings, audit. Each stream is verified first.
///
/// # Errors
/// What the place of the records says; the first stream that does not verify.
pub fn everything_zip(records: &mut dyn Records) -> Result<Vec<u8>, AppError> {
    let mut archive = Archive::new();
    open_files(records, &mut |name, bytes| archive.put(&format!("export/{name}"), bytes))?;
    archive.done()
}
