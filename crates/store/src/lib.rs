//! The form of records: entries that are only ever added, each sealed with the hash of the one before, exported as
//! one text file that anybody can verify.
//!
//! Nothing here reads a file or knows what time it is. [`Chain`] makes and reads a record, [`verify`] tells what is
//! wrong with one, [`RecordView`] says what stands after corrections. Where records are kept is behind the trait
//! [`Records`]. `docs/records.md` describes the form for readers without this program.

mod body;
mod chain;
mod change;
mod digest;
mod entry;
mod error;
mod judged;
mod keep;
mod line;
mod open_files;
mod parts;
mod realm;
mod records;
mod release;
mod resolve;
mod rows;
mod rule;
mod rules;
mod streams;
mod time;
mod upkeep;
mod verify;
mod view;
mod view_build;

pub use body::{Body, Corrected, Withdrawn};
pub use chain::Chain;
pub use change::{Change, changes};
pub use digest::Digest;
pub use entry::{Draft, Entry, EntryBody, UnknownBody};
pub use error::StoreError;
pub use judged::{CRITERION, JsonText, Judged, JudgedFrom, JudgedWith};
pub use keep::{Appended, append_to, chain_of, entries_after, rows_of};
pub use open_files::*;
pub use parts::*;
pub use realm::RecordRealm;
pub use records::*;
pub use rows::*;
pub use rule::Rule;
pub use rules::is_file_name;
pub use streams::*;
pub use time::{day_in_zone, instant_from_iso, is_zone, iso_from_instant};
pub use upkeep::{BackupSeen, CopyDone, Room, Upkeep};
pub use verify::{Note, NoteKind, Problem, ProblemKind, Verification, verify};
pub use view::*;

/// Name of a record's file in an export.
pub const RECORD_FILE: &str = "record.jsonl";
