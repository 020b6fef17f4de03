//! Plans that are kept, each a stream of versions.

use fallrate_series::Instant;
use fallrate_store::{Draft, ItemSaved, LibraryBody, Records, StoreError, StreamName, append_to, chain_of};

use super::Stamp;

/// A plan that is kept.
#[derive(Clone, Debug, PartialEq)]
pub struct SavedPlan {
    /// Name in addresses.
    pub name: String,
    /// Title.
    pub title: String,
    /// The plan file.
    pub toml: String,
    /// Version: number of the entry.
    pub version: u64,
    /// When it was saved.
    pub at: Instant,
    /// By whom.
    pub by: String,
}

/// The plans that are kept, the latest first.
///
/// # Errors
/// What the place of the records says.
pub fn plans(records: &mut dyn Records) -> Result<Vec<SavedPlan>, StoreError> {
    let mut list = Vec::new();
    for head in records.heads("library")? {
        if let Some(name) = head.stream.as_str().strip_prefix("library/plan/") {
            list.extend(plan(records, name)?);
        }
    }
    list.sort_by_key(|p| std::cmp::Reverse(p.at.unix_nanoseconds()));
    Ok(list)
}

/// One of them; `None` where there is none of that name.
///
/// # Errors
/// What the place of the records says.
pub fn plan(records: &mut dyn Records, name: &str) -> Result<Option<SavedPlan>, StoreError> {
    let Some(chain) = chain_of::<LibraryBody>(records, &StreamName::library("plan", name)?)? else {
        return Ok(None);
    };
    Ok(chain.current().map(|(entry, saved)| SavedPlan {
        name: name.to_owned(),
        title: saved.title.clone(),
        toml: saved.toml.clone(),
        version: entry.n,
        at: entry.at,
        by: entry.by.clone(),
    }))
}

/// Keeps a plan under its title; the same title again makes a new version. Hands back its name.
///
/// # Errors
/// What the place of the records says.
pub fn save_plan(
    records: &mut dyn Records,
    stamp: &Stamp,
    title: &str,
    toml: &str,
) -> Result<String, StoreError> {
    let name = slug(title);
    let stream = StreamName::library("plan", &name)?;
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
    append_to(records, &stream, stamp.client_id.as_deref(), None, draft)?;
    Ok(name)
}

/// Letters and digits of a title with hyphens between; "plan" where none are left.
pub(crate) fn slug(title: &str) -> String {
    let folded = fallrate_store::folded(title);
    let mut out = String::new();
    for c in folded.chars() {
        if c.is_ascii_alphanumeric() {
            out.push(c);
        } else if !out.ends_with('-') && !out.is_empty() {
            out.push('-');
        }
        if out.len() >= 60 {
            break;
        }
    }
    let out = out.trim_end_matches('-');
    if out.is_empty() { "plan".to_owned() } else { out.to_owned() }
}
