//! Everything out as open files in a folder; `fallrate_store::open_files` says which.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use fallrate_store::{Digest, Records, RecordsError, StoreError, StreamName, open_files};

use crate::fault::file_fault;

/// What was exported.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExportReport {
    /// The folder.
    pub folder: PathBuf,
    /// Streams.
    pub streams: u64,
    /// Entries.
    pub entries: u64,
    /// Kept files.
    pub files: u64,
    /// SHA-256 of `heads.csv`.
    pub heads_sha256: Digest,
}

/// Writes everything into a new folder: first under another name, so that a folder of the right name is whole.
/// Entries made meanwhile are left out.
///
/// # Errors
/// [`StoreError::Records`] with [`RecordsError::Damaged`] where a stream does not verify or a kept file is missing,
/// [`RecordsError::Unavailable`] where the folder exists already; those of the database and of the disk.
pub fn export_to(records: &mut dyn Records, folder: &Path) -> Result<ExportReport, StoreError> {
    if folder.exists() {
        let detail = format!("{}: exists already", folder.display());
        return Err(RecordsError::Unavailable { what: "export", detail }.into());
    }
    let mut part = folder.as_os_str().to_owned();
    part.push(".part");
    let part = PathBuf::from(part);
    if part.exists() {
        fs::remove_dir_all(&part).map_err(file_fault("export", &part))?;
    }
    let mut report = written(records, &part)?;
    fs::rename(&part, folder).map_err(file_fault("export", folder))?;
    report.folder = folder.to_path_buf();
    Ok(report)
}

fn written(records: &mut dyn Records, part: &Path) -> Result<ExportReport, StoreError> {
    fs::create_dir_all(part).map_err(file_fault("export", part))?;
    let done = open_files(records, &mut |name, bytes| {
        let path = name.split('/').fold(part.to_path_buf(), |path, p| path.join(p));
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(file_fault("export", folder))?;
        }
        new_file(&path, bytes)
    })?;
    Ok(ExportReport {
        folder: part.to_path_buf(),
        streams: done.streams,
        entries: done.entries,
        files: done.files,
        heads_sha256: done.heads_sha256,
    })
}

/// The folder of a stream.
pub(crate) fn folder_of(root: &Path, stream: &StreamName) -> PathBuf {
    stream.as_str().split('/').fold(root.to_path_buf(), |path, part| path.join(part))
}

/// Writes a file that must not be there yet: on some disks two names that differ in capitals are one.
fn new_file(path: &Path, bytes: &[u8]) -> Result<(), RecordsError> {
    let mut file = fs::File::create_new(path).map_err(file_fault("export", path))?;
    file.write_all(bytes).map_err(file_fault("export", path))
}
