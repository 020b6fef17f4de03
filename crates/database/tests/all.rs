//! Tests of the databases. Names say what truth is held.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "all/support.rs"]
mod support;

#[path = "all/backup.rs"]
mod backup;
#[path = "all/export.rs"]
mod export;
#[path = "all/faults.rs"]
mod faults;
#[path = "all/killed.rs"]
mod killed;
#[path = "all/opening.rs"]
mod opening;
#[cfg(feature = "postgres")]
#[path = "all/postgres.rs"]
mod postgres;
#[path = "all/sqlite.rs"]
mod sqlite;
#[path = "all/suite.rs"]
mod suite;
