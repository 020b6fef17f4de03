//! Looking after what is kept: copies of everything, and the room that is left. A database stands behind it.

use std::path::{Path, PathBuf};

use fallrate_series::Instant;

use crate::{Digest, RecordsError, StoreError};

/// A backup in a folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BackupSeen {
    /// The file.
    pub path: PathBuf,
    /// When it was made, by its name.
    pub at: Instant,
    /// Its length in bytes.
    pub bytes: u64,
}

/// A copy that was made or read in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CopyDone {
    /// The file or folder.
    pub path: PathBuf,
    /// Streams in it.
    pub streams: u64,
    /// Entries copied; for a backup all that there are, for an import those that were new.
    pub entries: u64,
    /// SHA-256 of the list of heads that goes with it, where there is one.
    pub heads_sha256: Option<Digest>,
}

/// Room on the volume of a folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Room {
    /// Bytes that may still be written.
    pub free_bytes: u64,
    /// Size of the volume.
    pub total_bytes: u64,
}

/// Looks after what is kept, beside whoever reads and writes it: nothing here makes an entry wait for longer than the
/// database takes to copy a page.
pub trait Upkeep: Send + Sync + std::fmt::Debug {
    /// Where the records are, in words for a person.
    fn place(&self) -> String;
    /// Writes a checked copy of everything into a folder, named by its time, and takes away the oldest ones beyond `most`.
    ///
    /// # Errors
    /// Those of the database and of the disk. An older copy is then still there.
    fn back_up(&self, folder: &Path, at: Instant, most: usize) -> Result<CopyDone, RecordsError>;
    /// The copies in a folder, the latest last.
    ///
    /// # Errors
    /// Where the folder cannot be read.
    fn backups(&self, folder: &Path) -> Result<Vec<BackupSeen>, RecordsError>;
    /// Room on the volume of a folder; without one, of the records.
    ///
    /// # Errors
    /// Where the system does not tell.
    fn room(&self, folder: Option<&Path>) -> Result<Room, RecordsError>;
    /// Writes everything as open files into a new folder.
    ///
    /// # Errors
    /// Where the folder exists or something does not verify; those of the database and of the disk.
    fn export(&self, folder: &Path) -> Result<CopyDone, StoreError>;
    /// Reads an export in.
    ///
    /// # Errors
    /// Where something does not verify or parts from what is here; nothing was added then.
    fn import(&self, folder: &Path) -> Result<CopyDone, StoreError>;
}
