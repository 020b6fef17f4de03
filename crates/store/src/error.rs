//! The crate's errors.

use crate::{Problem, Rule};

/// What can go wrong with records.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum StoreError {
    /// Text that is no digest.
    #[error("SHA-256: '{found}' is none; allowed: 64 hexadecimal digits in small letters")]
    NoDigest {
        /// Text found, shortened.
        found: String,
    },
    /// Text that is no instant in UTC.
    #[error("instant: '{found}' is none; allowed: like 2024-03-01T06:40:00Z")]
    NoInstant {
        /// Text found, shortened.
        found: String,
    },
    /// An entry that the record's rules do not allow.
    #[error("entry {n}: {rule}")]
    Rule {
        /// Number the entry would have had, from 1.
        n: u64,
        /// The rule.
        rule: Rule,
    },
    /// A value that cannot be written so that the same value is read back (not a finite number).
    #[error("entry '{kind}': {detail}; allowed: finite numbers and text")]
    Unwritable {
        /// Kind of entry.
        kind: String,
        /// What was found.
        detail: String,
    },
    /// Bytes that are no intact record; [`crate::verify`] lists everything.
    #[error("record: {0}")]
    Damaged(Box<Problem>),
    /// The place where records are kept did not do what was asked.
    #[error(transparent)]
    Records(#[from] crate::RecordsError),
}
