//! Connecting to a PostgreSQL database: whose it is, of which form and world.

use fallrate_store::{RecordRealm, RecordsError};
use postgres::{Client, NoTls, Transaction};

use super::{PostgresRecords, fault, sql};
use crate::fault::damaged;

impl PostgresRecords {
    /// Connects to the database of a world, and makes its tables where it is empty.
    ///
    /// # Errors
    /// [`RecordsError::AnotherRealm`], [`RecordsError::NotOurs`] for a database with other tables or another encoding
    /// than UTF-8, [`RecordsError::Newer`]; those of the database.
    pub fn connect(url: &str, realm: RecordRealm, wait_ms: u64) -> Result<Self, RecordsError> {
        let client = connected(url, realm, wait_ms)?;
        Ok(Self { client, url: url.to_owned(), realm, wait_ms })
    }

    /// The connection, made again where it was lost.
    pub(crate) fn client(&mut self) -> Result<&mut Client, RecordsError> {
        if self.client.is_closed() {
            self.client = connected(&self.url, self.realm, self.wait_ms)?;
        }
        Ok(&mut self.client)
    }
}

fn connected(url: &str, realm: RecordRealm, wait_ms: u64) -> Result<Client, RecordsError> {
    let failed = fault("connect", wait_ms);
    let mut client = Client::connect(url, NoTls).map_err(&failed)?;
    // Acknowledged is durable, whatever the server's own setting; a lock is waited for, not for ever.
    let settings = format!("SET synchronous_commit = on; SET lock_timeout = {wait_ms}");
    client.batch_execute(&settings).map_err(&failed)?;
    let encoding: String = client.query_one(sql::ENCODING, &[]).map_err(&failed)?.get(0);
    if encoding != "UTF8" {
        return Err(RecordsError::NotOurs { detail: format!("encoding {encoding} where UTF-8 is needed") });
    }
    let mut transaction = client.transaction().map_err(&failed)?;
    transaction.execute(sql::LOCK_FORM, &[]).map_err(&failed)?;
    bring_up_to_date(&mut transaction, wait_ms)?;
    let found = realm_of(&mut transaction, realm, wait_ms)?;
    transaction.commit().map_err(&failed)?;
    if found == realm { Ok(client) } else { Err(RecordsError::AnotherRealm { found, allowed: realm }) }
}

fn meta(transaction: &mut Transaction<'_>, name: &str, wait_ms: u64) -> Result<Option<String>, RecordsError> {
    let row = transaction.query_opt(sql::META, &[&name]).map_err(fault("connect", wait_ms))?;
    Ok(row.map(|row| row.get(0)))
}

fn set_meta(
    transaction: &mut Transaction<'_>,
    name: &str,
    value: &str,
    wait_ms: u64,
) -> Result<(), RecordsError> {
    transaction.execute(sql::SET_META, &[&name, &value]).map(|_| ()).map_err(fault("connect", wait_ms))
}

fn form(transaction: &mut Transaction<'_>, wait_ms: u64) -> Result<usize, RecordsError> {
    let failed = fault("connect", wait_ms);
    let ours: bool = transaction.query_one(sql::HAS_META, &[]).map_err(&failed)?.get(0);
    if !ours {
        let tables: i64 = transaction.query_one(sql::TABLES, &[]).map_err(&failed)?.get(0);
        let detail = || format!("{tables} tables of something else");
        return if tables == 0 { Ok(0) } else { Err(RecordsError::NotOurs { detail: detail() }) };
    }
    let text = meta(transaction, "form", wait_ms)?.ok_or_else(|| damaged("no version of the form"))?;
    text.parse().map_err(|_| damaged(format!("version of the form '{text}'")))
}

fn bring_up_to_date(transaction: &mut Transaction<'_>, wait_ms: u64) -> Result<(), RecordsError> {
    let found = form(transaction, wait_ms)?;
    if found > sql::FORMS.len() {
        return Err(RecordsError::Newer { found: found as u64, allowed: sql::FORMS.len() as u64 });
    }
    for step in sql::FORMS.iter().skip(found) {
        transaction.batch_execute(step).map_err(fault("bring up to date", wait_ms))?;
    }
    set_meta(transaction, "form", &sql::FORMS.len().to_string(), wait_ms)
}

/// The world of a database; a new one takes the world asked for.
fn realm_of(
    transaction: &mut Transaction<'_>,
    asked: RecordRealm,
    wait_ms: u64,
) -> Result<RecordRealm, RecordsError> {
    match meta(transaction, "realm", wait_ms)? {
        Some(word) => RecordRealm::from_word(&word).ok_or_else(|| damaged(format!("realm '{word}'"))),
        None => {
            set_meta(transaction, "realm", asked.word(), wait_ms)?;
            Ok(asked)
        }
    }
}
