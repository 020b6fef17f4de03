//! Streams, files and rows in PostgreSQL.

use fallrate_series::Instant;
use fallrate_store::{
    BatchQuery, BatchRow, Digest, Head, Heartbeat, NewEntry, Place, RecordRealm, Records, RecordsError,
    StreamName,
};
use postgres::{Row, Transaction};

use super::{PostgresRecords, fault, sql};
use crate::fault::damaged;
use crate::sqlite::{answer_word, digest, number, row_from, row_text, signed, sought_word, stream};

fn put_row(transaction: &mut Transaction<'_>, row: &BatchRow, wait_ms: u64) -> Result<(), RecordsError> {
    let (answer, keep) = (row.answer.map(|a| answer_word(Some(a))), row.keep_until.map(|d| d.to_string()));
    let (at, on) = (row.opened_at.unix_nanoseconds(), row.opened_on.to_string());
    let (released, words, text) = (row.is_released(), row.search_text(), row_text(row)?);
    transaction
        .execute(sql::PUT_ROW, &[&row.id, &row.cabinet, &at, &on, &answer, &released, &keep, &words, &text])
        .map(|_| ())
        .map_err(fault("replace a row", wait_ms))
}

fn place(row: &Row) -> (String, i64) {
    (row.get(0), row.get(1))
}

/// One entry inside a transaction that holds the writers' lock.
fn add(
    transaction: &mut Transaction<'_>,
    new: &NewEntry,
    realm: RecordRealm,
    wait_ms: u64,
) -> Result<(), RecordsError> {
    let failed = fault("add an entry", wait_ms);
    if let Some(found) = new.row.as_ref().map(|r| r.realm).filter(|r| *r != realm) {
        return Err(RecordsError::AnotherRealm { found, allowed: realm });
    }
    if let Some(id) = &new.client_id
        && let Some(row) = transaction.query_opt(sql::PLACE, &[id]).map_err(&failed)?
    {
        let (stream, n) = place(&row);
        return Err(RecordsError::IdReused { id: id.clone(), stream, n: number(n)? });
    }
    let last = transaction.query_opt(sql::LAST, &[&new.stream.as_str()]).map_err(&failed)?;
    let (n, hash): (i64, String) =
        last.map_or_else(|| (0, Digest::ZERO.to_string()), |row| (row.get(0), row.get(1)));
    let found = number(n)?;
    if found + 1 != new.n || digest(&hash)? != new.previous {
        let expected = new.n.saturating_sub(1);
        return Err(RecordsError::Moved { stream: new.stream.to_string(), expected, found });
    }
    for sha256 in &new.files {
        if transaction.query_opt(sql::HAS_FILE, &[&sha256.to_string()]).map_err(&failed)?.is_none() {
            return Err(RecordsError::FileNotKept { sha256: *sha256 });
        }
    }
    let (n, hash) = (signed(new.n), new.hash.to_string());
    transaction
        .execute(sql::ADD_ENTRY, &[&new.stream.as_str(), &n, &hash, &new.line, &new.client_id])
        .map_err(&failed)?;
    match &new.row {
        Some(row) => put_row(transaction, row, wait_ms),
        None => Ok(()),
    }
}

impl Records for PostgresRecords {
    fn realm(&self) -> RecordRealm {
        self.realm
    }

    fn append(&mut self, entries: &[NewEntry]) -> Result<(), RecordsError> {
        let (realm, wait_ms) = (self.realm, self.wait_ms);
        let failed = fault("add an entry", wait_ms);
        let mut transaction = self.client()?.transaction().map_err(&failed)?;
        transaction.batch_execute(sql::LOCK_ENTRIES).map_err(&failed)?;
        for new in entries {
            add(&mut transaction, new, realm, wait_ms)?;
        }
        transaction.commit().map_err(&failed)
    }

    fn lines(&mut self, stream: &StreamName) -> Result<Vec<String>, RecordsError> {
        let failed = fault("read a stream", self.wait_ms);
        let rows = self.client()?.query(sql::LINES, &[&stream.as_str()]).map_err(failed)?;
        Ok(rows.iter().map(|row| row.get(0)).collect())
    }

    fn place_of(&mut self, client_id: &str) -> Result<Option<Place>, RecordsError> {
        let failed = fault("look for an entry", self.wait_ms);
        let row = self.client()?.query_opt(sql::PLACE, &[&client_id]).map_err(failed)?;
        let read = |row: &Row| {
            let (s, n) = place(row);
            Ok(Place { stream: stream(s)?, n: number(n)? })
        };
        row.as_ref().map(read).transpose()
    }

    fn client_ids(&mut self) -> Result<Vec<(String, Place)>, RecordsError> {
        let failed = fault("read the entries' ids", self.wait_ms);
        let rows = self.client()?.query(sql::CLIENT_IDS, &[]).map_err(failed)?;
        let read =
            |row: &Row| Ok((row.get(0), Place { stream: stream(row.get(1))?, n: number(row.get(2))? }));
        rows.iter().map(read).collect()
    }

    fn heads(&mut self, first_part: &str) -> Result<Vec<Head>, RecordsError> {
        let failed = fault("read the heads", self.wait_ms);
        let rows = self.client()?.query(sql::HEADS, &[&first_part]).map_err(failed)?;
        let read = |row: &Row| {
            let hash: String = row.get(2);
            Ok(Head { stream: stream(row.get(0))?, n: number(row.get(1))?, hash: digest(&hash)? })
        };
        rows.iter().map(read).collect()
    }

    fn head(&mut self, name: &StreamName) -> Result<Option<Head>, RecordsError> {
        let failed = fault("read the end of a stream", self.wait_ms);
        let row = self.client()?.query_opt(sql::LAST, &[&name.as_str()]).map_err(failed)?;
        let head = |row: Row| {
            let hash: String = row.get(1);
            Ok(Head { stream: name.clone(), n: number(row.get(0))?, hash: digest(&hash)? })
        };
        row.map(head).transpose()
    }

    fn put_file(&mut self, bytes: &[u8]) -> Result<Digest, RecordsError> {
        let failed = fault("keep a file", self.wait_ms);
        let sha256 = Digest::of(bytes);
        self.client()?.execute(sql::ADD_FILE, &[&sha256.to_string(), &bytes]).map_err(failed)?;
        Ok(sha256)
    }

    fn file(&mut self, sha256: Digest) -> Result<Option<Vec<u8>>, RecordsError> {
        let failed = fault("read a file", self.wait_ms);
        let row = self.client()?.query_opt(sql::FILE, &[&sha256.to_string()]).map_err(failed)?;
        match row.map(|row| row.get::<_, Vec<u8>>(0)) {
            Some(b) if Digest::of(&b) != sha256 => {
                Err(damaged(format!("file {sha256}: its bytes are not those that were kept")))
            }
            other => Ok(other),
        }
    }

    fn batches(&mut self, query: &BatchQuery) -> Result<Vec<BatchRow>, RecordsError> {
        let failed = fault("look for batches", self.wait_ms);
        let day = |d: Option<fallrate_series::CalendarDate>| d.map(|d| d.to_string());
        let (from, to, kept) = (day(query.from), day(query.to), day(query.kept_before));
        let (answer, released) = (query.answer.map(sought_word), query.open.map(|open| !open));
        let (words, limit) = (query.folded_words(), (query.limit > 0).then(|| signed(query.limit)));
        let skip = signed(query.skip);
        let rows = self
            .client()?
            .query(
                sql::BATCHES,
                &[&query.cabinet, &from, &to, &answer, &released, &kept, &words, &limit, &skip],
            )
            .map_err(failed)?;
        rows.iter().map(|row| row_from(row.get(0))).collect()
    }

    fn replace_rows(&mut self, rows: &[BatchRow]) -> Result<(), RecordsError> {
        let wait_ms = self.wait_ms;
        let failed = fault("replace the rows", wait_ms);
        let mut transaction = self.client()?.transaction().map_err(&failed)?;
        transaction.batch_execute(sql::LOCK_ENTRIES).map_err(&failed)?;
        transaction.execute(sql::DROP_ROWS, &[]).map_err(&failed)?;
        for row in rows {
            put_row(&mut transaction, row, wait_ms)?;
        }
        transaction.commit().map_err(&failed)
    }

    fn heartbeat(&mut self) -> Result<Option<Heartbeat>, RecordsError> {
        let failed = fault("read the sign of life", self.wait_ms);
        let row = self.client()?.query_opt(sql::HEARTBEAT, &[]).map_err(failed)?;
        Ok(row.map(|r| Heartbeat { at: Instant::from_unix_nanoseconds(r.get(0)), stopped: r.get(1) }))
    }

    fn set_heartbeat(&mut self, beat: Heartbeat) -> Result<(), RecordsError> {
        let failed = fault("leave a sign of life", self.wait_ms);
        let at = beat.at.unix_nanoseconds();
        self.client()?.execute(sql::SET_HEARTBEAT, &[&at, &beat.stopped]).map(|_| ()).map_err(failed)
    }
}
