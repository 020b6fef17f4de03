//! Records in a database: SQLite in a file, or PostgreSQL on a server (feature `postgres`); backups; everything out
//! and in as open files.
//!
//! This is the one crate below `app` that reads and writes. What it keeps is formed and ruled by `fallrate-store`; the
//! traits are [`fallrate_store::Records`] and [`fallrate_store::Accounts`].
//!
//! ```
//! use fallrate_database::{OpenOptions, SqliteRecords};
//! use fallrate_store::{RecordRealm, Records};
//! let folder = tempfile::tempdir()?;
//! let file = folder.path().join("proof.sqlite");
//! let mut records = SqliteRecords::open(&file, RecordRealm::Proof, OpenOptions::default())?;
//! assert!(records.heads("")?.is_empty());
//! // The world of a file is fixed when it is made.
//! assert!(SqliteRecords::open(&file, RecordRealm::Demo, OpenOptions::default()).is_err());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod backup;
mod export;
mod fault;
mod heads;
mod import;
mod open;
#[cfg(feature = "postgres")]
mod postgres;
mod schema;
mod sql;
mod sqlite;
mod sqlite_accounts;
mod upkeep;

pub use backup::{BackupReport, RestoreReport, heads_path};
pub use export::{ExportReport, export_to};
pub use heads::{read_heads, verify_all};
pub use import::{ImportReport, import_from};
pub use open::OpenOptions;
#[cfg(feature = "postgres")]
pub use postgres::PostgresRecords;
pub use sqlite::SqliteRecords;
pub use upkeep::SqliteUpkeep;
