//! What an entry of a batch record can say.

use fallrate_lethality::BatchFacts;
use fallrate_series::Instant;
use serde::{Deserialize, Serialize};

use crate::{
    ActionTaken, BatchRow, Chain, Claimed, Digest, Entry, EntryBody, FileKept, Identity, Interrupted, Judged,
    Noted, Printed, ReadingsEntered, RecordRealm, Rule, Signed, StreamName, SuspectAnswered, Tested,
    UnknownBody,
};

/// What an entry of a batch record says. The variant's name in small letters is the entry's `kind`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "body", rename_all = "snake_case")]
pub enum Body {
    /// The record begins: whose batch of what. Always the first entry, and only that.
    Opened(Box<Identity>),
    /// What is claimed for the batch and will be judged. The entry's time is when it was fixed.
    Claimed(Box<Claimed>),
    /// What a person states, as a whole; a later one takes the place of an earlier one.
    Stated(Box<BatchFacts>),
    /// A file was kept.
    FileKept(Box<FileKept>),
    /// Readings by hand, in the hand-entry form.
    ReadingsEntered(ReadingsEntered),
    /// A note.
    Noted(Noted),
    /// Something interrupted the run.
    Interrupted(Interrupted),
    /// A named person looked at suspect readings.
    SuspectAnswered(SuspectAnswered),
    /// A sample was tested.
    Tested(Box<Tested>),
    /// One part of a corrective action.
    ActionTaken(Box<ActionTaken>),
    /// The record was judged. Judging again adds a further entry.
    Judged(Box<Judged>),
    /// A person signed what stood before.
    Signed(Box<Signed>),
    /// An earlier entry is corrected; it stays where it is.
    Corrected(Corrected),
    /// An earlier entry is withdrawn; it stays where it is.
    Withdrawn(Withdrawn),
    /// The record was printed or exported as a page.
    Printed(Printed),
    /// A kind this version does not know, or a body it cannot read: kept, shown and verified as it is.
    #[serde(skip)]
    Unknown(UnknownBody),
}

/// A correction: what an earlier entry should have said.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Corrected {
    /// Number of the entry that is corrected; may itself be a correction.
    pub entry: u64,
    /// What it should have said, of the same kind.
    pub new: Box<Body>,
}

/// An undo of an earlier entry.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Withdrawn {
    /// Number of the entry that is withdrawn; may itself be a correction or a withdrawal.
    pub entry: u64,
}

impl Body {
    /// Whether the entry says something about the batch, as against signing or printing what is there.
    #[must_use]
    pub const fn is_content(&self) -> bool {
        !matches!(self, Self::Signed(_) | Self::Printed(_))
    }
    /// Whether a verdict made before this entry may no longer fit what is recorded. A correction counts as what it
    /// corrects; a withdrawal is looked at by its target (see [`crate::RecordView`]).
    #[must_use]
    pub fn is_evidence(&self) -> bool {
        match self {
            Self::Claimed(_)
            | Self::Stated(_)
            | Self::ReadingsEntered(_)
            | Self::Interrupted(_)
            | Self::SuspectAnswered(_)
            | Self::Tested(_)
            | Self::Unknown(_) => true,
            Self::FileKept(f) => f.used_as.is_evidence(),
            Self::Corrected(c) => c.new.is_evidence(),
            _ => false,
        }
    }
}

impl EntryBody for Body {
    fn unknown(found: UnknownBody) -> Self {
        Self::Unknown(found)
    }
    fn as_unknown(&self) -> Option<&UnknownBody> {
        match self {
            Self::Unknown(u) => Some(u),
            _ => None,
        }
    }
    fn happened(&self) -> Option<Instant> {
        match self {
            Self::ReadingsEntered(r) => r.happened,
            Self::Noted(n) => n.happened,
            Self::Interrupted(i) => Some(i.until.unwrap_or(i.from)),
            Self::Tested(t) => t.happened,
            Self::ActionTaken(a) => a.happened,
            _ => None,
        }
    }
    fn check(&self, this: &Entry<Self>, before: &[Entry<Self>]) -> Result<(), Rule> {
        crate::rules::check(self, this, before)
    }
    fn realm(&self) -> Option<RecordRealm> {
        match self {
            Self::Opened(i) => Some(i.realm),
            _ => None,
        }
    }
    fn files(&self) -> Vec<Digest> {
        match self {
            Self::FileKept(f) => vec![f.sha256],
            Self::Corrected(c) => c.new.files(),
            _ => Vec::new(),
        }
    }
    fn row(stream: &StreamName, chain: &Chain) -> Option<BatchRow> {
        BatchRow::of(stream.batch_id()?, chain)
    }
}
