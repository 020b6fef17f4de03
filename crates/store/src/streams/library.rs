//! The stream of an item of the library: its versions.

use fallrate_series::Instant;
use serde::{Deserialize, Serialize};

use super::unknown_variant;
use crate::rules::text;
use crate::{Chain, Entry, EntryBody, Rule, UnknownBody};

/// What an entry about an item of the library (a product, a cabinet, a plan) says.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "body", rename_all = "snake_case")]
pub enum LibraryBody {
    /// A version was saved; the latest one counts.
    Saved(ItemSaved),
    /// The item is not to be used any more. Saving it again brings it back.
    Retired(ItemRetired),
    /// A kind this version does not know.
    #[serde(skip)]
    Unknown(UnknownBody),
}

/// A version of an item.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ItemSaved {
    /// Title people know it by.
    pub title: String,
    /// The file, as TOML text.
    pub toml: String,
    /// What was changed and why, in the person's words.
    pub note: String,
    /// What it was copied from ("library/product/beef_strips" with its version), where it was.
    pub copied_from: Option<(String, u64)>,
}

/// An item is retired.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ItemRetired {
    /// Why.
    pub note: String,
}

impl EntryBody for LibraryBody {
    unknown_variant!();
    fn happened(&self) -> Option<Instant> {
        None
    }
    fn check(&self, this: &Entry<Self>, _before: &[Entry<Self>]) -> Result<(), Rule> {
        match self {
            Self::Saved(s) => {
                text(&s.title, "title", "a name for the item")?;
                text(&s.toml, "content", "the file's text")
            }
            Self::Retired(_) if this.n == 1 => Err(Rule::NotOpened),
            Self::Retired(_) | Self::Unknown(_) => Ok(()),
        }
    }
}

impl Chain<LibraryBody> {
    /// The versions in order: number of the entry and what was saved. The number is the version's name.
    pub fn versions(&self) -> impl DoubleEndedIterator<Item = (&Entry<LibraryBody>, &ItemSaved)> {
        self.entries().iter().filter_map(|e| match &e.body {
            LibraryBody::Saved(s) => Some((e, s)),
            _ => None,
        })
    }
    /// The version that counts; `None` where the item is retired.
    #[must_use]
    pub fn current(&self) -> Option<(&Entry<LibraryBody>, &ItemSaved)> {
        let retired = matches!(self.entries().last()?.body, LibraryBody::Retired(_));
        if retired { None } else { self.versions().next_back() }
    }
}
