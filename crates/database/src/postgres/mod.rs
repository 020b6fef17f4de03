//! Records in PostgreSQL, for many sites. The same streams, rules and errors as in a SQLite file.

mod accounts;
mod connect;
mod records;
mod sql;

use fallrate_store::{RecordRealm, RecordsError};
use postgres::Client;
use postgres::error::SqlState;

/// Records of one world in a PostgreSQL database (PostgreSQL 14 or later).
///
/// The connection is not encrypted: it is meant for a server on the same machine, or behind a tunnel or proxy that
/// encrypts. A connection that was lost is made again with the next call.
pub struct PostgresRecords {
    pub(crate) client: Client,
    pub(crate) url: String,
    pub(crate) realm: RecordRealm,
    pub(crate) wait_ms: u64,
}

impl std::fmt::Debug for PostgresRecords {
    // The URL may hold a password.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("PostgresRecords").field("realm", &self.realm).finish_non_exhaustive()
    }
}

/// An error met while something was tried.
pub(crate) fn fault(what: &'static str, waited_ms: u64) -> impl Fn(postgres::Error) -> RecordsError {
    move |error| {
        let detail = error.as_db_error().map_or_else(|| error.to_string(), |e| e.message().to_owned());
        match error.code() {
            Some(&SqlState::LOCK_NOT_AVAILABLE | &SqlState::T_R_DEADLOCK_DETECTED) => {
                RecordsError::Locked { waited_ms }
            }
            Some(&SqlState::DISK_FULL | &SqlState::INSUFFICIENT_RESOURCES) => RecordsError::Full { detail },
            Some(&SqlState::READ_ONLY_SQL_TRANSACTION) => RecordsError::ReadOnly { detail },
            Some(&SqlState::DATA_CORRUPTED | &SqlState::INDEX_CORRUPTED) => RecordsError::Damaged { detail },
            _ => RecordsError::Unavailable { what, detail },
        }
    }
}
