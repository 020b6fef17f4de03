//! Own versions of products and cabinets: edited copies with their history, never in place of what the program carries.

use fallrate_equipment::Cabinet;
use fallrate_foods::Product;
use fallrate_series::Instant;
use fallrate_store::{
    Draft, ItemRetired, ItemSaved, LibraryBody, Records, StoreError, StreamName, append_to, chain_of,
};

use crate::batches::{Stamp, slug};
use crate::{AppError, Library, Page, Reader, cabinet_page, product_page};

/// Products or cabinets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sort {
    /// Products.
    Product,
    /// Cabinets.
    Cabinet,
}

impl Sort {
    /// Its word in streams and addresses.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Product => "product",
            Self::Cabinet => "cabinet",
        }
    }
    /// From its word.
    #[must_use]
    pub fn of(word: &str) -> Option<Self> {
        match word {
            "product" | "products" => Some(Self::Product),
            "cabinet" | "cabinets" => Some(Self::Cabinet),
            _ => None,
        }
    }
}

/// A version of an own item.
#[derive(Clone, Debug, PartialEq)]
pub struct Version {
    /// Its number: that of the entry.
    pub number: u64,
    /// When it was saved.
    pub at: Instant,
    /// By whom.
    pub by: String,
    /// What was changed and why.
    pub note: String,
    /// What it was copied from: name and version, 0 for what the program carries.
    pub copied_from: Option<(String, u64)>,
    /// Title.
    pub title: String,
    /// The file.
    pub toml: String,
}

/// An own item with its versions, the latest first.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnItem {
    /// Name in addresses.
    pub name: String,
    /// Versions, the latest first; never empty.
    pub versions: Vec<Version>,
    /// Whether it is out of use.
    pub retired: bool,
}

/// The file of an item that the program carries, to be copied and changed.
#[must_use]
pub fn carried_file(library: &Library, sort: Sort, key: &str) -> Option<&'static str> {
    library.file(sort == Sort::Product, key)
}

/// Own items of a sort, by their names.
///
/// # Errors
/// What the place of the records says.
pub fn own_items(records: &mut dyn Records, sort: Sort) -> Result<Vec<OwnItem>, StoreError> {
    let start = format!("library/{}/", sort.word());
    let mut out = Vec::new();
    for head in records.heads("library")? {
        if let Some(name) = head.stream.as_str().strip_prefix(&start) {
            out.extend(own_item(records, sort, name)?);
        }
    }
    Ok(out)
}

/// One of them; `None` where there is none of that name.
///
/// # Errors
/// What the place of the records says.
pub fn own_item(records: &mut dyn Records, sort: Sort, name: &str) -> Result<Option<OwnItem>, StoreError> {
    let Ok(stream) = StreamName::library(sort.word(), name) else { return Ok(None) };
    let Some(chain) = chain_of::<LibraryBody>(records, &stream)? else { return Ok(None) };
    let versions: Vec<Version> = chain
        .versions()
        .rev()
        .map(|(e, s)| Version {
            number: e.n,
            at: e.at,
            by: e.by.clone(),
            note: s.note.clone(),
            copied_from: s.copied_from.clone(),
            title: s.title.clone(),
            toml: s.toml.clone(),
        })
        .collect();
    let retired = chain.current().is_none();
    Ok((!versions.is_empty()).then(|| OwnItem { name: name.to_owned(), versions, retired }))
}

/// An edited copy to be saved.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Edited {
    /// Title: names the item; the same title again makes a new version.
    pub title: String,
    /// The file.
    pub toml: String,
    /// What was changed and why.
    pub note: String,
    /// What it was copied from: name ("library/product/…" or a key of the program's) and version, 0 for the program's.
    pub copied_from: Option<(String, u64)>,
}

/// Files of products and cabinets are named by their key.
fn file_name(toml: &str) -> String {
    let doc = toml.parse::<toml_edit::DocumentMut>().ok();
    let key = doc.as_ref().and_then(|d| d.get("key")).and_then(toml_edit::Item::as_str);
    format!("{}.toml", key.unwrap_or("own"))
}

/// Reads the file as the program reads its own: every problem with its place.
///
/// # Errors
/// [`AppError::Problems`].
pub fn check_own(sort: Sort, toml: &str) -> Result<(), AppError> {
    match sort {
        Sort::Product => Product::parse(&file_name(toml), toml).map(|_| ())?,
        Sort::Cabinet => Cabinet::parse(&file_name(toml), toml).map(|_| ())?,
    }
    Ok(())
}

/// Saves an edited copy as an own version; hands back its name.
///
/// # Errors
/// [`AppError::Problems`] where the file is no product or cabinet; a rule that is broken; what the place of the records
/// says.
pub fn save_own(
    records: &mut dyn Records,
    stamp: &Stamp,
    sort: Sort,
    edited: &Edited,
) -> Result<String, AppError> {
    check_own(sort, &edited.toml)?;
    let name = slug(&edited.title);
    let body = LibraryBody::Saved(ItemSaved {
        title: edited.title.trim().to_owned(),
        toml: edited.toml.clone(),
        note: edited.note.trim().to_owned(),
        copied_from: edited.copied_from.clone(),
    });
    add(records, stamp, sort, &name, body)?;
    Ok(name)
}

/// Takes an own item out of use; its versions stay.
///
/// # Errors
/// What the place of the records says.
pub fn retire_own(
    records: &mut dyn Records,
    stamp: &Stamp,
    sort: Sort,
    name: &str,
    note: &str,
) -> Result<(), AppError> {
    let body = LibraryBody::Retired(ItemRetired { note: note.trim().to_owned() });
    add(records, stamp, sort, name, body)
}

fn add(
    records: &mut dyn Records,
    stamp: &Stamp,
    sort: Sort,
    name: &str,
    body: LibraryBody,
) -> Result<(), AppError> {
    let stream = StreamName::library(sort.word(), name).map_err(StoreError::from)?;
    let draft =
        Draft { at: stamp.at, zone: stamp.zone.clone(), by: stamp.by.clone(), reason: String::new(), body };
    append_to(records, &stream, stamp.client_id.as_deref(), None, draft)?;
    Ok(())
}

/// The page of a version, as those of the program's own items.
///
/// # Errors
/// [`AppError::Problems`] where this version of the program cannot read it.
pub fn own_page(sort: Sort, toml: &str, library: &Library, r: &Reader) -> Result<Page, AppError> {
    Ok(match sort {
        Sort::Product => product_page(&Product::parse(&file_name(toml), toml)?, library, r),
        Sort::Cabinet => cabinet_page(&Cabinet::parse(&file_name(toml), toml)?, library, r),
    })
}
