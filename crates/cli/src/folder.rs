//! A record's folder on disk: `record.jsonl` and `files/`.

use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};

use fallrate_app::ports::{FileFault, Files};
use fallrate_app::proof::record::{Record, RecordChain};

use crate::disk::{Disk, Pending};
use crate::work::Fault;

const RECORD: &str = "record.jsonl";
const FILES: &str = "files";
/// Most bytes of a kept file or a record.
const MOST_BYTES: usize = 1 << 30;

/// Name and bytes of a kept file.
pub type NamedFile = (String, Vec<u8>);

/// A record's folder, held by this process alone until it is dropped.
#[derive(Debug)]
pub struct RecordFolder {
    path: PathBuf,
    /// Released by the system as the file closes.
    _lock: File,
}

fn fault(path: &Path, what: &'static str, e: &io::Error) -> FileFault {
    FileFault { path: path.display().to_string(), what, reason: e.to_string() }
}

impl RecordFolder {
    /// Makes the folder of a new record.
    ///
    /// # Errors
    /// [`Fault`] where a record is there already.
    pub fn make(path: &Path) -> Result<Self, Fault> {
        if path.join(RECORD).exists() {
            let text = format!("record: '{}' holds one already; allowed: a new folder", path.display());
            return Err(Fault::App(text));
        }
        fs::create_dir_all(path.join(FILES)).map_err(|e| fault(path, "cannot be written", &e))?;
        Self::held(path)
    }
    /// Takes the folder of a record, waiting for nobody.
    ///
    /// # Errors
    /// [`Fault`] where it is not there, or another process works on it.
    pub fn take(path: &Path) -> Result<Self, Fault> {
        if !path.join(RECORD).exists() {
            let text = format!(
                "record: '{}' holds none; allowed: a folder made by 'fallrate record open'",
                path.display()
            );
            return Err(Fault::App(text));
        }
        Self::held(path)
    }
    fn held(path: &Path) -> Result<Self, Fault> {
        let name = path.join(".lock");
        let lock = OpenOptions::new().create(true).truncate(false).write(true).open(&name);
        let lock = lock.map_err(|e| fault(&name, "cannot be written", &e))?;
        match lock.try_lock() {
            Ok(()) => Ok(Self { path: path.to_owned(), _lock: lock }),
            Err(fs::TryLockError::WouldBlock) => {
                let text = format!("record: '{}' is in use; allowed: one program at a time", path.display());
                Err(Fault::App(text))
            }
            Err(fs::TryLockError::Error(e)) => Err(fault(&name, "cannot be locked", &e).into()),
        }
    }

    /// Bytes of the record, and of every kept file by name.
    ///
    /// # Errors
    /// [`Fault`].
    pub fn bytes(&self) -> Result<(Vec<u8>, Vec<NamedFile>), Fault> {
        let record = Disk.read(&self.path.join(RECORD), MOST_BYTES)?;
        let folder = self.path.join(FILES);
        let mut names = Vec::new();
        if folder.is_dir() {
            for entry in fs::read_dir(&folder).map_err(|e| fault(&folder, "cannot be read", &e))? {
                let entry = entry.map_err(|e| fault(&folder, "cannot be read", &e))?;
                names.push(entry.file_name().to_string_lossy().into_owned());
            }
        }
        names.sort();
        let mut files = Vec::new();
        for name in names.into_iter().filter(|n| !n.starts_with('.')) {
            let bytes = Disk.read(&folder.join(&name), MOST_BYTES)?;
            files.push((name, bytes));
        }
        Ok((record, files))
    }
    /// The record, read and checked.
    ///
    /// # Errors
    /// [`Fault`] where the chain is broken: nothing is added to a damaged record.
    pub fn record(&self) -> Result<Record, Fault> {
        let (bytes, files) = self.bytes()?;
        let chain = RecordChain::parse(&bytes).map_err(|e| {
            Fault::App(format!("{}: {e}; see 'fallrate record verify'", self.path.join(RECORD).display()))
        })?;
        Ok(Record { chain, files })
    }
    /// Writes kept files that are not there yet, then the record: whole or not at all, and on the disk before this
    /// returns.
    ///
    /// # Errors
    /// [`Fault`].
    pub fn write(&self, record: &Record) -> Result<(), Fault> {
        let folder = self.path.join(FILES);
        let mut pending = Pending::default();
        for (name, bytes) in record.files.iter().filter(|(n, _)| !folder.join(n).exists()) {
            pending.add(&folder.join(name), bytes)?;
        }
        pending.commit()?;
        let mut pending = Pending::default();
        pending.add(&self.path.join(RECORD), record.chain.to_jsonl().as_bytes())?;
        pending.commit()?;
        // The names are on the disk only once their folders are.
        for folder in [&self.path, &folder] {
            let synced = File::open(folder).and_then(|f| f.sync_all());
            synced.map_err(|e| fault(folder, "cannot be written", &e))?;
        }
        Ok(())
    }
}
