//! A stream of which only the chain matters.

use fallrate_series::Instant;
use serde::{Deserialize, Serialize};

use crate::{Entry, EntryBody, JsonText, Rule, UnknownBody};

/// What an entry of any stream says, not looked into: for copying and verifying streams of every kind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AnyBody {
    /// Kind.
    pub kind: String,
    /// Body.
    pub body: JsonText,
}

impl EntryBody for AnyBody {
    fn unknown(found: UnknownBody) -> Self {
        Self { body: JsonText::from_text(&found.json), kind: found.kind }
    }
    fn as_unknown(&self) -> Option<&UnknownBody> {
        None
    }
    fn happened(&self) -> Option<Instant> {
        None
    }
    fn check(&self, _this: &Entry<Self>, _before: &[Entry<Self>]) -> Result<(), Rule> {
        Ok(())
    }
}
