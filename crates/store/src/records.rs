//! Where records are kept: the traits every database stands behind, and what they hand over.

use fallrate_series::Instant;

use crate::{Account, BatchQuery, BatchRow, Digest, Downtime, RecordRealm, Session, StreamName};

/// What a place where records are kept can fail with. Whatever fails, nothing acknowledged is lost and nothing is
/// half written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RecordsError {
    /// Another program or thread held it for too long. The same request may be sent again.
    #[error("database: locked for more than {waited_ms} ms; nothing was written, send it again")]
    Locked {
        /// How long was waited, ms.
        waited_ms: u64,
    },
    /// No room is left.
    #[error("database: no room left; nothing was written: {detail}")]
    Full {
        /// What the database says.
        detail: String,
    },
    /// It may be read but not written.
    #[error("database: read only; nothing was written: {detail}")]
    ReadOnly {
        /// What the database says.
        detail: String,
    },
    /// It could not be reached, read or written for another reason.
    #[error("database: {what}: {detail}")]
    Unavailable {
        /// What was tried.
        what: &'static str,
        /// What the system says.
        detail: String,
    },
    /// It belongs to another world.
    #[error("realm: '{found}'; allowed here: '{allowed}'")]
    AnotherRealm {
        /// Realm found.
        found: RecordRealm,
        /// Realm allowed.
        allowed: RecordRealm,
    },
    /// Something that is no database of this program.
    #[error("database: not one of this program ({detail})")]
    NotOurs {
        /// What was found.
        detail: String,
    },
    /// Written by a later version of this program.
    #[error("database: form {found}; allowed: up to {allowed}; a later version of the program wrote it")]
    Newer {
        /// Version of the form found.
        found: u64,
        /// Highest version this program knows.
        allowed: u64,
    },
    /// The stream does not end where the writer thought.
    #[error("stream '{stream}': it has {found} entries; expected: {expected}")]
    Moved {
        /// Stream.
        stream: String,
        /// Entries expected.
        expected: u64,
        /// Entries found.
        found: u64,
    },
    /// One id for two different entries.
    #[error("entry id '{id}': used already for another entry, number {n} of '{stream}'; allowed: a new id")]
    IdReused {
        /// Id.
        id: String,
        /// Stream that has it.
        stream: String,
        /// Number of the entry that has it.
        n: u64,
    },
    /// A stream that does not exist.
    #[error("stream '{stream}': there is none")]
    NoStream {
        /// Stream.
        stream: String,
    },
    /// Two copies of a stream have gone different ways.
    #[error(
        "stream '{stream}': its entry {n} is another one here; allowed: a stream that goes on where the other ends"
    )]
    Parted {
        /// Stream.
        stream: String,
        /// First entry that differs.
        n: u64,
    },
    /// A file that an entry names is not kept.
    #[error("file {sha256}: not kept; allowed: keep the file before the entry that names it")]
    FileNotKept {
        /// Its digest.
        sha256: Digest,
    },
    /// A name that is none.
    #[error(
        "stream name '{found}'; allowed: two or three parts of letters, digits, '-', '_', '.' with '/' between"
    )]
    StreamName {
        /// Name found, shortened.
        found: String,
    },
    /// What is kept does not hold together.
    #[error("database: damaged: {detail}")]
    Damaged {
        /// What was found.
        detail: String,
    },
}

/// A sealed entry to be added.
#[derive(Clone, Debug, PartialEq)]
pub struct NewEntry {
    /// Stream.
    pub stream: StreamName,
    /// Its number; the stream must have one entry less.
    pub n: u64,
    /// Hash of the entry before; must be the stream's head.
    pub previous: Digest,
    /// Its hash.
    pub hash: Digest,
    /// Its line, without the line feed.
    pub line: String,
    /// Id the sender gave it. Sent again, it is not added again.
    pub client_id: Option<String>,
    /// Files that it names; each must be kept already.
    pub files: Vec<Digest>,
    /// The batch's row after it, for a batch stream.
    pub row: Option<BatchRow>,
}

/// Where an entry stands.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// Stream.
    pub stream: StreamName,
    /// Number in the stream, from 1.
    pub n: u64,
}

/// The end of a stream.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Head {
    /// Stream.
    pub stream: StreamName,
    /// Number of its last entry.
    pub n: u64,
    /// Hash of its last entry.
    pub hash: Digest,
}

/// The last sign of life of the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Heartbeat {
    /// When.
    pub at: Instant,
    /// Whether the program was then stopped on purpose.
    pub stopped: bool,
}

impl Heartbeat {
    /// The time without a sign of life before now, where it was longer than `longest_s` seconds and nobody had stopped
    /// the program: a power cut, or a machine that failed.
    #[must_use]
    pub fn downtime(self, now: Instant, longest_s: f64) -> Option<Downtime> {
        let silent = !self.stopped && now.seconds_since(self.at) > longest_s;
        silent.then_some(Downtime { from: self.at, until: Some(now) })
    }
}

/// A place where records are kept: streams of sealed lines, files, and rows that are computed from the lines.
///
/// What is handed back without an error is durable. Use [`crate::append_to`] rather than [`Records::append`]: it
/// applies the rules of the stream.
pub trait Records: Send {
    /// The world whose records are kept here.
    fn realm(&self) -> RecordRealm;
    /// Adds sealed entries and replaces the rows of their batches, all or nothing.
    ///
    /// # Errors
    /// [`RecordsError::Moved`] where a stream does not end right before an entry, [`RecordsError::IdReused`] where a
    /// client's id is used, [`RecordsError::FileNotKept`], [`RecordsError::AnotherRealm`], and those of the database.
    fn append(&mut self, entries: &[NewEntry]) -> Result<(), RecordsError>;
    /// The lines of a stream in order; empty where there is no such stream.
    ///
    /// # Errors
    /// Those of the database.
    fn lines(&mut self, stream: &StreamName) -> Result<Vec<String>, RecordsError>;
    /// Where the entry with a client's id stands.
    ///
    /// # Errors
    /// Those of the database.
    fn place_of(&mut self, client_id: &str) -> Result<Option<Place>, RecordsError>;
    /// All clients' ids with their places, in the order of the places.
    ///
    /// # Errors
    /// Those of the database.
    fn client_ids(&mut self) -> Result<Vec<(String, Place)>, RecordsError>;
    /// The ends of all streams whose first part this is ("batch"), or of all for an empty text; sorted by name.
    ///
    /// # Errors
    /// Those of the database.
    fn heads(&mut self, first_part: &str) -> Result<Vec<Head>, RecordsError>;
    /// The end of one stream; `None` where there is no such stream.
    ///
    /// # Errors
    /// Those of the database.
    fn head(&mut self, stream: &StreamName) -> Result<Option<Head>, RecordsError> {
        Ok(self.heads(stream.first_part())?.into_iter().find(|h| h.stream == *stream))
    }
    /// Keeps the bytes of a file; once, however often they are handed in.
    ///
    /// # Errors
    /// Those of the database.
    fn put_file(&mut self, bytes: &[u8]) -> Result<Digest, RecordsError>;
    /// The bytes of a kept file.
    ///
    /// # Errors
    /// [`RecordsError::Damaged`] where they are no longer those of the digest; those of the database.
    fn file(&mut self, sha256: Digest) -> Result<Option<Vec<u8>>, RecordsError>;
    /// Batches that fit, the latest first.
    ///
    /// # Errors
    /// Those of the database.
    fn batches(&mut self, query: &BatchQuery) -> Result<Vec<BatchRow>, RecordsError>;
    /// Puts new rows in place of all there are, all or none.
    ///
    /// # Errors
    /// Those of the database.
    fn replace_rows(&mut self, rows: &[BatchRow]) -> Result<(), RecordsError>;
    /// The last sign of life before now.
    ///
    /// # Errors
    /// Those of the database.
    fn heartbeat(&mut self) -> Result<Option<Heartbeat>, RecordsError>;
    /// Leaves a sign of life.
    ///
    /// # Errors
    /// Those of the database.
    fn set_heartbeat(&mut self, beat: Heartbeat) -> Result<(), RecordsError>;
}

/// A place where accounts and sessions are kept. What must be remembered of them (who did what) goes into the stream
/// [`StreamName::audit`]; these rows may change.
pub trait Accounts: Send {
    /// All accounts, by name.
    ///
    /// # Errors
    /// Those of the database.
    fn accounts(&mut self) -> Result<Vec<Account>, RecordsError>;
    /// Adds an account or puts it in place of the one of the same name.
    ///
    /// # Errors
    /// Those of the database.
    fn put_account(&mut self, account: &Account) -> Result<(), RecordsError>;
    /// Adds a session or puts it in place of the one with the same token.
    ///
    /// # Errors
    /// Those of the database.
    fn put_session(&mut self, session: &Session) -> Result<(), RecordsError>;
    /// The session of a token.
    ///
    /// # Errors
    /// Those of the database.
    fn session(&mut self, token_sha256: Digest) -> Result<Option<Session>, RecordsError>;
    /// Ends the session of a token; whether there was one.
    ///
    /// # Errors
    /// Those of the database.
    fn end_session(&mut self, token_sha256: Digest) -> Result<bool, RecordsError>;
    /// Ends all sessions of an account; how many there were.
    ///
    /// # Errors
    /// Those of the database.
    fn end_sessions_of(&mut self, account: &str) -> Result<u64, RecordsError>;
    /// Ends the sessions that expired before an instant; how many there were.
    ///
    /// # Errors
    /// Those of the database.
    fn end_expired_sessions(&mut self, now: Instant) -> Result<u64, RecordsError>;
}
