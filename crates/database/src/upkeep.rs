//! Looking after a SQLite database, each time with a handle of its own: entries go on meanwhile.

use std::fs;
use std::path::{Path, PathBuf};

use fallrate_series::Instant;
use fallrate_store::{
    BackupSeen, CopyDone, RecordRealm, Records, RecordsError, Room, StoreError, Upkeep, instant_from_iso,
};

use crate::fault::file_fault;
use crate::{OpenOptions, SqliteRecords, export_to, heads_path, import_from};

/// Looks after the database in a file.
#[derive(Clone, Debug)]
pub struct SqliteUpkeep {
    path: PathBuf,
    realm: RecordRealm,
    options: OpenOptions,
}

impl SqliteUpkeep {
    /// For the database in a file, which is opened when something is to be done.
    #[must_use]
    pub fn new(path: &Path, realm: RecordRealm, options: OpenOptions) -> Self {
        Self { path: path.to_path_buf(), realm, options }
    }

    fn open(&self) -> Result<SqliteRecords, RecordsError> {
        SqliteRecords::open(&self.path, self.realm, self.options)
    }

    /// "fallrate-proof-": how the name of a backup of this world begins.
    fn beginning(&self) -> String {
        format!("fallrate-{}-", self.realm)
    }

    fn named(&self, at: Instant) -> String {
        // 2026-03-13T16:00:00.000Z, without what a file name should not have.
        let stamp: String =
            at.iso_utc().split('.').next().unwrap_or("").chars().filter(|c| !":-Z".contains(*c)).collect();
        format!("{}{stamp}Z.sqlite", self.beginning())
    }

    /// When a backup was made, by its name; `None` for any other file.
    fn made_at(&self, name: &str) -> Option<Instant> {
        let stamp = name.strip_prefix(&self.beginning())?.strip_suffix("Z.sqlite")?;
        let (day, clock) = stamp.split_once('T')?;
        let part = |text: &str, from: usize, to: usize| text.get(from..to).map(str::to_owned);
        if day.len() != 8 || clock.len() != 6 {
            return None;
        }
        let day = [part(day, 0, 4)?, part(day, 4, 6)?, part(day, 6, 8)?].join("-");
        let clock = [part(clock, 0, 2)?, part(clock, 2, 4)?, part(clock, 4, 6)?].join(":");
        instant_from_iso(&format!("{day}T{clock}Z")).ok()
    }

    fn thin_out(&self, folder: &Path, most: usize) -> Result<(), RecordsError> {
        let all = self.backups(folder)?;
        for old in all.iter().take(all.len().saturating_sub(most.max(1))) {
            for path in [heads_path(&old.path), old.path.clone()] {
                match fs::remove_file(&path) {
                    Err(e) if e.kind() != std::io::ErrorKind::NotFound => {
                        return Err(file_fault("take an old backup away", &path)(e));
                    }
                    _ => {}
                }
            }
        }
        Ok(())
    }
}

impl Upkeep for SqliteUpkeep {
    fn place(&self) -> String {
        self.path.display().to_string()
    }

    fn back_up(&self, folder: &Path, at: Instant, most: usize) -> Result<CopyDone, RecordsError> {
        if !folder.is_dir() {
            // A folder that is not there may be a disk that is not plugged in: it is never made here.
            let detail = format!("{}: no such folder", folder.display());
            return Err(RecordsError::Unavailable { what: "write a backup", detail });
        }
        let report = self.open()?.back_up(&folder.join(self.named(at)))?;
        self.thin_out(folder, most)?;
        Ok(CopyDone {
            path: report.path,
            streams: report.heads.len() as u64,
            entries: report.heads.iter().map(|h| h.n).sum(),
            heads_sha256: Some(report.heads_sha256),
        })
    }

    fn backups(&self, folder: &Path) -> Result<Vec<BackupSeen>, RecordsError> {
        let mut found = Vec::new();
        for entry in fs::read_dir(folder).map_err(file_fault("look for backups", folder))? {
            let entry = entry.map_err(file_fault("look for backups", folder))?;
            let Some(at) = self.made_at(&entry.file_name().to_string_lossy()) else { continue };
            let path = entry.path();
            let bytes = entry.metadata().map_err(file_fault("look for backups", &path))?.len();
            found.push(BackupSeen { path, at, bytes });
        }
        found.sort_by_key(|b| b.at.unix_nanoseconds());
        Ok(found)
    }

    fn room(&self, folder: Option<&Path>) -> Result<Room, RecordsError> {
        let path = folder.unwrap_or(&self.path);
        let stats = fs4::statvfs(path).map_err(file_fault("ask for the room left", path))?;
        Ok(Room { free_bytes: stats.available_space(), total_bytes: stats.total_space() })
    }

    fn export(&self, folder: &Path) -> Result<CopyDone, StoreError> {
        let report = export_to(&mut self.open()?, folder)?;
        Ok(CopyDone {
            path: report.folder,
            streams: report.streams,
            entries: report.entries,
            heads_sha256: Some(report.heads_sha256),
        })
    }

    fn import(&self, folder: &Path) -> Result<CopyDone, StoreError> {
        let mut records = self.open()?;
        let report = import_from(&mut records, folder)?;
        // Rows of batches that were here already may have become longer.
        let rows = fallrate_store::rows_of(&mut records)?;
        records.replace_rows(&rows)?;
        Ok(CopyDone {
            path: folder.to_path_buf(),
            streams: report.streams,
            entries: report.added,
            heads_sha256: None,
        })
    }
}
