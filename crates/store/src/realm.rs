//! The three worlds a record can belong to.

use serde::{Deserialize, Serialize};

/// The world a record belongs to. Fixed by its first entry; each is kept in a database of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RecordRealm {
    /// Measured and entered on a real dryer.
    Proof,
    /// Simulated for practice.
    Rehearsal,
    /// Invented for the demonstration.
    Demo,
}

impl RecordRealm {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Proof, Self::Rehearsal, Self::Demo];

    /// Its word in records, file names and databases.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Proof => "proof",
            Self::Rehearsal => "rehearsal",
            Self::Demo => "demo",
        }
    }
    /// From its word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|r| r.word() == word)
    }
}

impl std::fmt::Display for RecordRealm {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.word())
    }
}
