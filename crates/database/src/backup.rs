//! Backups of a SQLite database while it is in use, and putting one in place.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant as Moment};

use fallrate_store::{Digest, Head, RecordRealm, Records, RecordsError, heads_csv};
use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags};

use crate::fault::{damaged, fault, file_fault};
use crate::open::{OpenOptions, bring_up_to_date, known_form, whose, written_realm};
use crate::{SqliteRecords, verify_all};

/// What a backup holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BackupReport {
    /// The file.
    pub path: PathBuf,
    /// Its length in bytes.
    pub bytes: u64,
    /// The end of every stream in it; they stand in the file `heads.csv` beside it too.
    pub heads: Vec<Head>,
    /// SHA-256 of that file: print or keep it elsewhere.
    pub heads_sha256: Digest,
}

/// What putting a backup in place did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RestoreReport {
    /// What was there before, kept in this file.
    pub before: PathBuf,
    /// Streams that have fewer entries now than before: name, entries now, entries before.
    pub shorter: Vec<(String, u64, u64)>,
}

/// Name of the list of heads that goes with a backup.
#[must_use]
pub fn heads_path(backup: &Path) -> PathBuf {
    let mut name = backup.as_os_str().to_owned();
    name.push(".heads.csv");
    PathBuf::from(name)
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// Copies one database over another, as it is at one moment. Writers of the source go on meanwhile.
fn copy(
    from: &Connection,
    to: &mut Connection,
    what: &'static str,
    wait_ms: u64,
) -> Result<(), RecordsError> {
    let failed = fault(what, wait_ms);
    let backup = Backup::new(from, to).map_err(&failed)?;
    let begin = Moment::now();
    // All pages in one step: the copy is of one moment, and a writer cannot make it begin anew for ever.
    loop {
        match backup.step(-1).map_err(&failed)? {
            StepResult::Done => return Ok(()),
            _ if begin.elapsed() > Duration::from_millis(wait_ms) => {
                return Err(RecordsError::Locked { waited_ms: wait_ms });
            }
            _ => std::thread::sleep(Duration::from_millis(10)),
        }
    }
}

/// Asks SQLite whether a file holds together.
fn sound(connection: &Connection, wait_ms: u64) -> Result<(), RecordsError> {
    let said: String = connection
        .pragma_query_value(None, "integrity_check", |row| row.get(0))
        .map_err(fault("check a database", wait_ms))?;
    if said == "ok" { Ok(()) } else { Err(damaged(said)) }
}

impl SqliteRecords {
    /// Writes everything as it is now into a second file, checks it, and puts the list of heads beside it. Writers may
    /// go on meanwhile. An older file of that name is replaced only when the new one is whole.
    ///
    /// # Errors
    /// [`RecordsError::Full`] and others of the database; [`RecordsError::Damaged`] where a stream does not verify.
    pub fn back_up(&mut self, to: &Path) -> Result<BackupReport, RecordsError> {
        let part = beside(to, ".part");
        remove(&part)?;
        let copied = self.copy_to(&part);
        let (heads, bytes) = copied.inspect_err(|_| {
            // What is left of a failed copy must not be taken for a backup.
            let _ = fs::remove_file(&part);
        })?;
        let list = heads_csv(&heads)?;
        let heads_file = heads_path(to);
        fs::rename(&part, to).map_err(file_fault("name a backup", to))?;
        fs::write(&heads_file, &list).map_err(file_fault("write the heads of a backup", &heads_file))?;
        for path in [to, heads_file.as_path()] {
            fs::File::open(path).and_then(|f| f.sync_all()).map_err(file_fault("write a backup", path))?;
        }
        Ok(BackupReport { path: to.to_path_buf(), bytes, heads, heads_sha256: Digest::of(list.as_bytes()) })
    }

    fn copy_to(&mut self, part: &Path) -> Result<(Vec<Head>, u64), RecordsError> {
        let failed = self.failed("write a backup");
        {
            let mut target = Connection::open(part).map_err(&failed)?;
            copy(&self.connection, &mut target, "write a backup", self.wait_ms)?;
            // One file, without a log beside it.
            target
                .pragma_update_and_check(None, "journal_mode", "DELETE", |row| row.get::<_, String>(0))
                .map_err(&failed)?;
            sound(&target, self.wait_ms)?;
            target.close().map_err(|(_, e)| failed(e))?;
        }
        let file = fs::File::open(part).map_err(file_fault("write a backup", part))?;
        file.sync_all().map_err(file_fault("write a backup", part))?;
        let bytes = file.metadata().map_err(file_fault("write a backup", part))?.len();
        let mut copied = read_only(part, self.realm, self.wait_ms)?;
        verify_all(&mut copied)?;
        Ok((copied.heads("")?, bytes))
    }

    /// Puts a backup in the place of what is here, while other handles may be open; `before` is a new file in which
    /// what was here is kept. Everything about the backup is checked first.
    ///
    /// # Errors
    /// [`RecordsError::AnotherRealm`], [`RecordsError::NotOurs`], [`RecordsError::Newer`], [`RecordsError::Damaged`]
    /// for the backup; those of the database. What is here is then as it was.
    pub fn restore(&mut self, backup: &Path, before: &Path) -> Result<RestoreReport, RecordsError> {
        if !backup.is_file() {
            let detail = format!("{}: no such file", backup.display());
            return Err(RecordsError::Unavailable { what: "read a backup", detail });
        }
        if before.exists() {
            let detail = format!("{}: exists already", before.display());
            return Err(RecordsError::Unavailable { what: "keep what is here", detail });
        }
        let mut source = read_only(backup, self.realm, self.wait_ms)?;
        sound(&source.connection, self.wait_ms)?;
        verify_all(&mut source)?;
        let now = source.heads("")?;
        let was = self.back_up(before)?.heads;
        copy(&source.connection, &mut self.connection, "put a backup in place", self.wait_ms)?;
        self.take_up()?;
        let length =
            |stream: &fallrate_store::StreamName| now.iter().find(|h| h.stream == *stream).map_or(0, |h| h.n);
        let shorter = was
            .iter()
            .map(|h| (h.stream.to_string(), length(&h.stream), h.n))
            .filter(|(_, now, before)| now < before)
            .collect();
        Ok(RestoreReport { before: before.to_path_buf(), shorter })
    }

    /// A backup may be of an older form; its file may say another way of keeping the log.
    fn take_up(&mut self) -> Result<(), RecordsError> {
        let failed = self.failed("put a backup in place");
        self.connection.flush_prepared_statement_cache();
        self.connection
            .pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get::<_, String>(0))
            .map_err(&failed)?;
        bring_up_to_date(&mut self.connection, OpenOptions { wait_ms: self.wait_ms, most_pages: 0 })
    }
}

fn remove(path: &Path) -> Result<(), RecordsError> {
    match fs::remove_file(path) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(file_fault("write a backup", path)(e)),
        _ => Ok(()),
    }
}

/// Opens a file to read, and refuses it where it is not of this program, this world or a known form.
fn read_only(path: &Path, realm: RecordRealm, wait_ms: u64) -> Result<SqliteRecords, RecordsError> {
    let failed = fault("read a backup", wait_ms);
    let options = OpenOptions { wait_ms, most_pages: 0 };
    let connection = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(&failed)?;
    connection.busy_timeout(Duration::from_millis(wait_ms)).map_err(&failed)?;
    whose(&connection, options)?;
    if known_form(&connection, options)? == 0 {
        return Err(RecordsError::NotOurs { detail: "an empty database".to_owned() });
    }
    match written_realm(&connection, options)? {
        Some(found) if found == realm => {
            Ok(SqliteRecords { connection, realm, path: path.to_path_buf(), wait_ms })
        }
        Some(found) => Err(RecordsError::AnotherRealm { found, allowed: realm }),
        None => Err(damaged("no realm")),
    }
}
