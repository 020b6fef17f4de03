//! Records in a SQLite file.

use std::path::{Path, PathBuf};

use fallrate_lethality::Answer;
use fallrate_series::Instant;
use fallrate_store::{
    AnswerSought, BatchQuery, BatchRow, Digest, Head, Heartbeat, NewEntry, Place, RecordRealm, Records,
    RecordsError, StreamName,
};
use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::fault::{damaged, fault};
use crate::sql;

/// Records of one world in a SQLite file. Several of these, in one program or in several, may be open on one file:
/// they wait for each other.
#[derive(Debug)]
pub struct SqliteRecords {
    pub(crate) connection: Connection,
    pub(crate) realm: RecordRealm,
    pub(crate) path: PathBuf,
    pub(crate) wait_ms: u64,
}

impl SqliteRecords {
    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }
    /// How commits are kept: mode of the journal ("wal") and level of synchronising (2 is full).
    ///
    /// # Errors
    /// Those of the database.
    pub fn durability(&self) -> Result<(String, i64), RecordsError> {
        let failed = self.failed("ask how commits are kept");
        let mode =
            self.connection.pragma_query_value(None, "journal_mode", |row| row.get(0)).map_err(&failed)?;
        let level =
            self.connection.pragma_query_value(None, "synchronous", |row| row.get(0)).map_err(&failed)?;
        Ok((mode, level))
    }
    pub(crate) fn failed(&self, what: &'static str) -> impl Fn(rusqlite::Error) -> RecordsError + use<> {
        fault(what, self.wait_ms)
    }
}

/// The word an answer is looked for by.
pub(crate) fn answer_word(answer: Option<Answer>) -> &'static str {
    match answer {
        Some(Answer::Met) => "met",
        Some(Answer::NotMet) => "not_met",
        Some(Answer::CannotBeJudged) => "cannot_be_judged",
        None => "none",
    }
}

pub(crate) fn sought_word(sought: AnswerSought) -> &'static str {
    match sought {
        AnswerSought::Is(answer) => answer_word(Some(answer)),
        AnswerSought::NotJudged => answer_word(None),
    }
}

pub(crate) fn stream(text: String) -> Result<StreamName, RecordsError> {
    StreamName::parse(&text).map_err(|e| damaged(e.to_string()))
}

pub(crate) fn digest(text: &str) -> Result<Digest, RecordsError> {
    Digest::parse(text).map_err(|e| damaged(e.to_string()))
}

pub(crate) fn number(n: i64) -> Result<u64, RecordsError> {
    u64::try_from(n).map_err(|_| damaged(format!("number {n}")))
}

pub(crate) fn signed(n: u64) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX)
}

pub(crate) fn row_text(row: &BatchRow) -> Result<String, RecordsError> {
    serde_json::to_string(row).map_err(|e| damaged(e.to_string()))
}

pub(crate) fn row_from(text: &str) -> Result<BatchRow, RecordsError> {
    serde_json::from_str(text).map_err(|e| damaged(format!("row of a batch: {e}")))
}

fn last(transaction: &Connection, stream: &StreamName) -> rusqlite::Result<(i64, String)> {
    let row = transaction
        .prepare_cached(sql::LAST)?
        .query_row([stream.as_str()], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    Ok(row.unwrap_or((0, Digest::ZERO.to_string())))
}

fn put_row(transaction: &Transaction<'_>, row: &BatchRow, text: &str) -> rusqlite::Result<()> {
    transaction.prepare_cached(sql::PUT_ROW)?.execute(params![
        row.id,
        row.cabinet,
        row.opened_at.unix_nanoseconds(),
        row.opened_on.to_string(),
        row.answer.map(|a| answer_word(Some(a))),
        row.is_released(),
        row.keep_until.map(|d| d.to_string()),
        row.search_text(),
        text,
    ])?;
    Ok(())
}

fn place(transaction: &Connection, id: &str) -> rusqlite::Result<Option<(String, i64)>> {
    let read = |row: &rusqlite::Row<'_>| Ok((row.get(0)?, row.get(1)?));
    transaction.prepare_cached(sql::PLACE)?.query_row([id], read).optional()
}

/// One entry inside a transaction.
fn add(
    transaction: &Transaction<'_>,
    new: &NewEntry,
    realm: RecordRealm,
    failed: &dyn Fn(rusqlite::Error) -> RecordsError,
) -> Result<(), RecordsError> {
    if let Some(found) = new.row.as_ref().map(|r| r.realm).filter(|r| *r != realm) {
        return Err(RecordsError::AnotherRealm { found, allowed: realm });
    }
    if let Some(id) = &new.client_id
        && let Some((stream, n)) = place(transaction, id).map_err(failed)?
    {
        return Err(RecordsError::IdReused { id: id.clone(), stream, n: number(n)? });
    }
    let (n, hash) = last(transaction, &new.stream).map_err(failed)?;
    let found = number(n)?;
    if found + 1 != new.n || digest(&hash)? != new.previous {
        let expected = new.n.saturating_sub(1);
        return Err(RecordsError::Moved { stream: new.stream.to_string(), expected, found });
    }
    for sha256 in &new.files {
        let there = transaction
            .prepare_cached(sql::HAS_FILE)
            .and_then(|mut s| s.exists([sha256.to_string()]))
            .map_err(failed)?;
        if !there {
            return Err(RecordsError::FileNotKept { sha256: *sha256 });
        }
    }
    let entry =
        params![new.stream.as_str(), signed(new.n), new.hash.to_string(), new.line, new.client_id.as_deref()];
    transaction.prepare_cached(sql::ADD_ENTRY).and_then(|mut s| s.execute(entry)).map_err(failed)?;
    match &new.row {
        Some(row) => put_row(transaction, row, &row_text(row)?).map_err(failed),
        None => Ok(()),
    }
}

impl Records for SqliteRecords {
    fn realm(&self) -> RecordRealm {
        self.realm
    }

    fn append(&mut self, entries: &[NewEntry]) -> Result<(), RecordsError> {
        let failed = self.failed("add an entry");
        let transaction = self.connection.transaction().map_err(&failed)?;
        for new in entries {
            add(&transaction, new, self.realm, &failed)?;
        }
        transaction.commit().map_err(&failed)
    }

    fn lines(&mut self, stream: &StreamName) -> Result<Vec<String>, RecordsError> {
        let failed = self.failed("read a stream");
        let mut statement = self.connection.prepare_cached(sql::LINES).map_err(&failed)?;
        let lines = statement.query_map([stream.as_str()], |row| row.get(0)).map_err(&failed)?;
        lines.collect::<rusqlite::Result<_>>().map_err(&failed)
    }

    fn place_of(&mut self, client_id: &str) -> Result<Option<Place>, RecordsError> {
        let found = place(&self.connection, client_id).map_err(self.failed("look for an entry"))?;
        found.map(|(s, n)| Ok(Place { stream: stream(s)?, n: number(n)? })).transpose()
    }

    fn client_ids(&mut self) -> Result<Vec<(String, Place)>, RecordsError> {
        let failed = self.failed("read the entries' ids");
        let mut statement = self.connection.prepare_cached(sql::CLIENT_IDS).map_err(&failed)?;
        let read = |row: &rusqlite::Row<'_>| Ok((row.get(0)?, row.get(1)?, row.get(2)?));
        let rows: Vec<(String, String, i64)> =
            statement.query_map([], read).and_then(Iterator::collect).map_err(&failed)?;
        rows.into_iter().map(|(id, s, n)| Ok((id, Place { stream: stream(s)?, n: number(n)? }))).collect()
    }

    fn heads(&mut self, first_part: &str) -> Result<Vec<Head>, RecordsError> {
        let failed = self.failed("read the heads");
        let mut statement = self.connection.prepare_cached(sql::HEADS).map_err(&failed)?;
        let read = |row: &rusqlite::Row<'_>| Ok((row.get(0)?, row.get(1)?, row.get(2)?));
        let rows: Vec<(String, i64, String)> =
            statement.query_map([first_part], read).and_then(Iterator::collect).map_err(&failed)?;
        let head = |(s, n, hash): (String, i64, String)| {
            Ok(Head { stream: stream(s)?, n: number(n)?, hash: digest(&hash)? })
        };
        rows.into_iter().map(head).collect()
    }

    fn head(&mut self, name: &StreamName) -> Result<Option<Head>, RecordsError> {
        let (n, hash) = last(&self.connection, name).map_err(self.failed("read the end of a stream"))?;
        let head = || Ok(Head { stream: name.clone(), n: number(n)?, hash: digest(&hash)? });
        (n > 0).then(head).transpose()
    }

    fn put_file(&mut self, bytes: &[u8]) -> Result<Digest, RecordsError> {
        let failed = self.failed("keep a file");
        let sha256 = Digest::of(bytes);
        let transaction = self.connection.transaction().map_err(&failed)?;
        transaction
            .prepare_cached(sql::ADD_FILE)
            .and_then(|mut s| s.execute(params![sha256.to_string(), bytes]))
            .map_err(&failed)?;
        transaction.commit().map_err(&failed)?;
        Ok(sha256)
    }

    fn file(&mut self, sha256: Digest) -> Result<Option<Vec<u8>>, RecordsError> {
        let failed = self.failed("read a file");
        let mut statement = self.connection.prepare_cached(sql::FILE).map_err(&failed)?;
        let bytes: Option<Vec<u8>> =
            statement.query_row([sha256.to_string()], |row| row.get(0)).optional().map_err(&failed)?;
        match bytes {
            Some(b) if Digest::of(&b) != sha256 => {
                Err(damaged(format!("file {sha256}: its bytes are not those that were kept")))
            }
            other => Ok(other),
        }
    }

    fn batches(&mut self, query: &BatchQuery) -> Result<Vec<BatchRow>, RecordsError> {
        let failed = self.failed("look for batches");
        let words = serde_json::to_string(&query.folded_words()).map_err(|e| damaged(e.to_string()))?;
        let limit = if query.limit == 0 { -1 } else { signed(query.limit) };
        let mut statement = self.connection.prepare_cached(sql::BATCHES).map_err(&failed)?;
        let sought = params![
            query.cabinet,
            query.from.map(|d| d.to_string()),
            query.to.map(|d| d.to_string()),
            query.answer.map(sought_word),
            query.open.map(|open| !open),
            query.kept_before.map(|d| d.to_string()),
            words,
            limit,
            signed(query.skip),
        ];
        let rows: Vec<String> =
            statement.query_map(sought, |row| row.get(0)).and_then(Iterator::collect).map_err(&failed)?;
        rows.iter().map(|text| row_from(text)).collect()
    }

    fn replace_rows(&mut self, rows: &[BatchRow]) -> Result<(), RecordsError> {
        let failed = self.failed("replace the rows");
        let transaction = self.connection.transaction().map_err(&failed)?;
        transaction.execute(sql::DROP_ROWS, []).map_err(&failed)?;
        for row in rows {
            put_row(&transaction, row, &row_text(row)?).map_err(&failed)?;
        }
        transaction.commit().map_err(&failed)
    }

    fn heartbeat(&mut self) -> Result<Option<Heartbeat>, RecordsError> {
        let read = |row: &rusqlite::Row<'_>| {
            Ok(Heartbeat { at: Instant::from_unix_nanoseconds(row.get(0)?), stopped: row.get(1)? })
        };
        self.connection
            .query_row(sql::HEARTBEAT, [], read)
            .optional()
            .map_err(self.failed("read the sign of life"))
    }

    fn set_heartbeat(&mut self, beat: Heartbeat) -> Result<(), RecordsError> {
        let failed = self.failed("leave a sign of life");
        let transaction = self.connection.transaction().map_err(&failed)?;
        transaction
            .execute(sql::SET_HEARTBEAT, params![beat.at.unix_nanoseconds(), beat.stopped])
            .map_err(&failed)?;
        transaction.commit().map_err(&failed)
    }
}
