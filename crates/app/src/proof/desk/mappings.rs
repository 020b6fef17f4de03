//! What was confirmed about loggers' files, kept for the next one: each a stream of versions.

use fallrate_ingest::Mapping;
use fallrate_series::Instant;
use fallrate_store::{Draft, ItemSaved, LibraryBody, Records, StoreError, StreamName, append_to, chain_of};

use crate::AppError;
use crate::batches::{Stamp, slug};

const SORT: &str = "mapping";

/// A mapping that is kept.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptMapping {
    /// Its name in addresses.
    pub name: String,
    /// Its name for people.
    pub title: String,
    /// The mapping file.
    pub toml: String,
    /// Version: number of the entry.
    pub version: u64,
    /// When it was kept.
    pub at: Instant,
    /// By whom.
    pub by: String,
}

/// The mappings that are kept, the latest first.
///
/// # Errors
/// What the place of the records says.
pub fn mappings(records: &mut dyn Records) -> Result<Vec<KeptMapping>, AppError> {
    let mut list = Vec::new();
    for head in records.heads("library").map_err(StoreError::from)? {
        let Some(name) = head.stream.as_str().strip_prefix("library/mapping/") else { continue };
        let Some(chain) = chain_of::<LibraryBody>(records, &head.stream)? else { continue };
        list.extend(chain.current().map(|(entry, saved)| KeptMapping {
            name: name.to_owned(),
            title: saved.title.clone(),
            toml: saved.toml.clone(),
            version: entry.n,
            at: entry.at,
            by: entry.by.clone(),
        }));
    }
    list.sort_by_key(|m| std::cmp::Reverse(m.at.unix_nanoseconds()));
    Ok(list)
}

/// The latest kept mapping whose columns are all among the headings of a file.
pub(super) fn fitting(
    records: &mut dyn Records,
    headings: &[String],
) -> Result<Option<KeptMapping>, AppError> {
    let fits = |m: &KeptMapping| Mapping::parse(&m.title, &m.toml).is_ok_and(|p| p.fits(headings));
    Ok(mappings(records)?.into_iter().find(fits))
}

/// Keeps a mapping under its name; the same text again makes no new version.
pub(super) fn remember(
    records: &mut dyn Records,
    stamp: &Stamp,
    title: &str,
    toml: &str,
) -> Result<(), AppError> {
    let name = slug(title);
    let stream = StreamName::library(SORT, &name).map_err(StoreError::from)?;
    let known = chain_of::<LibraryBody>(records, &stream)?;
    if known.as_ref().and_then(|c| c.current()).is_some_and(|(_, saved)| saved.toml == toml) {
        return Ok(());
    }
    let saved = ItemSaved {
        title: title.trim().to_owned(),
        toml: toml.to_owned(),
        note: String::new(),
        copied_from: None,
    };
    let draft = Draft {
        at: stamp.at,
        zone: stamp.zone.clone(),
        by: stamp.by.clone(),
        reason: String::new(),
        body: LibraryBody::Saved(saved),
    };
    append_to(records, &stream, None, None, draft)?;
    Ok(())
}
