//! Opening a SQLite database: whose it is, of which form and world.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use fallrate_store::{RecordRealm, RecordsError};
use rusqlite::{Connection, OpenFlags, OptionalExtension, TransactionBehavior};
use rusqlite_migration::{M, Migrations};

use crate::fault::{damaged, fault};
use crate::schema::{APPLICATION_ID, FORMS};
use crate::{SqliteRecords, sql};

/// How a database is opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OpenOptions {
    /// How long another writer is waited for, ms.
    pub wait_ms: u64,
    /// Largest size of the file in pages of 4096 bytes; 0 for no limit of its own.
    pub most_pages: u32,
}

impl Default for OpenOptions {
    fn default() -> Self {
        Self { wait_ms: 5000, most_pages: 0 }
    }
}

/// How long a file that another program of ours may be making is looked at again, ms.
const MAKING_MS: u64 = 1000;

pub(crate) fn migrations() -> Migrations<'static> {
    Migrations::new(FORMS.iter().map(|sql| M::up(sql)).collect())
}

impl SqliteRecords {
    /// Opens the database of a world, or makes it where there is no file.
    ///
    /// # Errors
    /// [`RecordsError::AnotherRealm`] for a file of another world, [`RecordsError::NotOurs`] for a file of something
    /// else, [`RecordsError::Newer`] for one of a later version of the program; those of the database.
    pub fn open(path: &Path, realm: RecordRealm, options: OpenOptions) -> Result<Self, RecordsError> {
        let begin = Instant::now();
        loop {
            // Another program of ours may be making the file at this moment: the switch to the write-ahead log does not
            // wait for it, and its mark may not stand yet.
            match Self::open_once(path, realm, options) {
                Err(RecordsError::Locked { .. } | RecordsError::NotOurs { .. })
                    if begin.elapsed() < Duration::from_millis(MAKING_MS.min(options.wait_ms)) =>
                {
                    std::thread::sleep(Duration::from_millis(20));
                }
                result => return result,
            }
        }
    }

    fn open_once(path: &Path, realm: RecordRealm, options: OpenOptions) -> Result<Self, RecordsError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
            | OpenFlags::SQLITE_OPEN_CREATE
            | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut connection =
            Connection::open_with_flags(path, flags).map_err(fault("open", options.wait_ms))?;
        prepare(&mut connection, options)?;
        bring_up_to_date(&mut connection, options)?;
        let found = realm_of(&mut connection, realm, options)?;
        if found != realm {
            return Err(RecordsError::AnotherRealm { found, allowed: realm });
        }
        Ok(Self { connection, realm, path: PathBuf::from(path), wait_ms: options.wait_ms })
    }
}

/// Every acknowledged entry is on the disk before it is acknowledged: write-ahead log, synchronised at each commit.
fn prepare(connection: &mut Connection, options: OpenOptions) -> Result<(), RecordsError> {
    let failed = fault("open", options.wait_ms);
    connection.busy_timeout(Duration::from_millis(options.wait_ms)).map_err(&failed)?;
    connection.set_transaction_behavior(TransactionBehavior::Immediate);
    whose(connection, options)?;
    let mode: String =
        connection.pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0)).map_err(&failed)?;
    if !mode.eq_ignore_ascii_case("wal") {
        let detail = format!("journal mode '{mode}' where WAL is needed (a network drive?)");
        return Err(RecordsError::Unavailable { what: "open", detail });
    }
    connection.pragma_update(None, "synchronous", "FULL").map_err(&failed)?;
    connection.pragma_update(None, "foreign_keys", "ON").map_err(&failed)?;
    connection.pragma_update(None, "trusted_schema", "OFF").map_err(&failed)?;
    if options.most_pages > 0 {
        let set = |row: &rusqlite::Row<'_>| row.get::<_, i64>(0);
        let pages = i64::from(options.most_pages);
        connection.pragma_update_and_check(None, "max_page_count", pages, set).map_err(&failed)?;
    }
    Ok(())
}

fn pragma(connection: &Connection, name: &str, options: OpenOptions) -> Result<i64, RecordsError> {
    connection.pragma_query_value(None, name, |row| row.get(0)).map_err(fault("open", options.wait_ms))
}

/// Refuses a file of another program. An empty file is nobody's yet.
pub(crate) fn whose(connection: &Connection, options: OpenOptions) -> Result<(), RecordsError> {
    let tables: i64 =
        connection.query_row(sql::TABLES, [], |row| row.get(0)).map_err(fault("open", options.wait_ms))?;
    let id = pragma(connection, "application_id", options)?;
    if id == i64::from(APPLICATION_ID) || (id == 0 && tables == 0) {
        Ok(())
    } else {
        Err(RecordsError::NotOurs { detail: format!("application id {id}") })
    }
}

/// The version of the form; refuses one that is not known yet.
pub(crate) fn known_form(connection: &Connection, options: OpenOptions) -> Result<u64, RecordsError> {
    let found = u64::try_from(pragma(connection, "user_version", options)?)
        .map_err(|_| damaged("version of the form below 0"))?;
    let allowed = FORMS.len() as u64;
    if found > allowed { Err(RecordsError::Newer { found, allowed }) } else { Ok(found) }
}

/// Several programs may start at once: whoever comes second finds the work done, and looks again.
pub(crate) fn bring_up_to_date(
    connection: &mut Connection,
    options: OpenOptions,
) -> Result<(), RecordsError> {
    let begin = Instant::now();
    loop {
        if known_form(connection, options)? == FORMS.len() as u64 {
            return Ok(());
        }
        let Err(error) = migrations().to_latest(connection) else { return Ok(()) };
        if begin.elapsed() > Duration::from_millis(options.wait_ms) {
            return Err(match error {
                rusqlite_migration::Error::RusqliteError { err, .. } => {
                    fault("bring up to date", options.wait_ms)(err)
                }
                other => RecordsError::Unavailable { what: "bring up to date", detail: other.to_string() },
            });
        }
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// The world of a database; a new one takes the world asked for.
fn realm_of(
    connection: &mut Connection,
    asked: RecordRealm,
    options: OpenOptions,
) -> Result<RecordRealm, RecordsError> {
    let failed = fault("open", options.wait_ms);
    if let Some(found) = written_realm(connection, options)? {
        return Ok(found);
    }
    let transaction = connection.transaction().map_err(&failed)?;
    let found = written_realm(&transaction, options)?;
    if found.is_none() {
        transaction.execute(sql::SET_REALM, [asked.word()]).map_err(&failed)?;
    }
    transaction.commit().map_err(&failed)?;
    Ok(found.unwrap_or(asked))
}

pub(crate) fn written_realm(
    connection: &Connection,
    options: OpenOptions,
) -> Result<Option<RecordRealm>, RecordsError> {
    let word: Option<String> = connection
        .query_row(sql::REALM, [], |row| row.get(0))
        .optional()
        .map_err(fault("open", options.wait_ms))?;
    let realm =
        |word: String| RecordRealm::from_word(&word).ok_or_else(|| damaged(format!("realm '{word}'")));
    word.map(realm).transpose()
}
