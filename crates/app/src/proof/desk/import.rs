//! A logger's file into a record: what was understood, what must be asked, and keeping it with its original bytes.

use fallrate_ingest::{Mapping, is_hand_entry};
use fallrate_store::{Body, Corrected, Digest, FileUse, Records, StoreError};

use super::change::{change, digest, of_record, record};
use super::import_edit::{Edit, apply};
use super::mappings::{KeptMapping, fitting, remember};
use crate::AppError;
use crate::batches::Stamp;
use crate::proof::questions::{NumberedAnswer, answer_questions};
use crate::proof::readings::{Gathered, OpenFile, ReadingsFile, gather, look_at};
use crate::proof::record::{file_entry, next_name, questions};

/// Keeps bytes as they are, before anything is known of them.
///
/// # Errors
/// What the place of the records says.
pub fn put(records: &mut dyn Records, bytes: &[u8]) -> Result<Digest, AppError> {
    Ok(records.put_file(bytes).map_err(StoreError::from)?)
}

/// Which kept bytes are looked at, for which record.
#[derive(Clone, Debug, PartialEq)]
pub struct LookAt {
    /// The record.
    pub id: String,
    /// SHA-256 of the bytes.
    pub sha256: String,
    /// The file's name.
    pub name: String,
    /// The mapping as it stands; `None` at the first look.
    pub mapping: Option<String>,
    /// What was answered and confirmed since.
    pub edit: Edit,
}

/// A file as it is understood.
#[derive(Clone, Debug)]
pub struct Look {
    /// Name.
    pub name: String,
    /// SHA-256 of the bytes.
    pub sha256: String,
    /// How many bytes.
    pub bytes: usize,
    /// Whether it is the hand-entry form, which needs no mapping.
    pub hand_entry: bool,
    /// What was seen and what is asked.
    pub open: Option<OpenFile>,
    /// The mapping as it stands now.
    pub mapping: Mapping,
    /// The mapping kept from an earlier file that was taken up.
    pub remembered: Option<KeptMapping>,
    /// The entry of the record that holds the same bytes already.
    pub entry: Option<u64>,
    /// The trial reading, where nothing is open.
    pub reading: Option<Reading>,
    /// What the file or the mapping was refused for.
    pub refused: Option<String>,
    /// Time zone of the plant, offered and never taken unasked.
    pub zone: String,
}

impl Look {
    /// The mapping as TOML text.
    ///
    /// # Errors
    /// [`AppError::Ingest`] where a value cannot be written.
    pub fn mapping_toml(&self) -> Result<String, AppError> {
        Ok(self.mapping.to_toml()?)
    }
    /// Whether everything is answered, so that it may be kept.
    #[must_use]
    pub fn is_ready(&self) -> bool {
        self.reading.is_some()
    }
}

/// A trial reading of a file.
#[derive(Clone, Debug)]
pub struct Reading {
    /// What was read.
    pub log: fallrate_series::Log<fallrate_series::Proof>,
}

/// Looks at kept bytes; `None` where there is no such record or no such file.
///
/// # Errors
/// What the place of the records says; a mapping that is none. A file that cannot be read is told in
/// [`Look::refused`].
pub fn look(records: &mut dyn Records, at: &LookAt) -> Result<Option<Look>, AppError> {
    let Some(record) = record(records, &at.id)? else { return Ok(None) };
    let sha256 = digest(&at.sha256)?;
    let Some(bytes) = records.file(sha256).map_err(StoreError::from)? else { return Ok(None) };
    let zone = record.zone();
    let view = record.view();
    let is_evidence = |u: FileUse| matches!(u, FileUse::Readings | FileUse::HandEntry);
    let there = view.files.iter().find(|k| k.value.sha256 == sha256 && is_evidence(k.value.used_as));
    let (entry, kept) = (there.map(|k| k.entry), there.and_then(|k| k.value.mapping.clone()));
    let hand_entry = is_hand_entry(&bytes);
    let mut file = ReadingsFile { name: at.name.clone(), bytes, mapping: None };
    let mut out = Look {
        name: at.name.clone(),
        sha256: at.sha256.clone(),
        bytes: file.bytes.len(),
        hand_entry,
        open: None,
        mapping: Mapping::new(),
        remembered: None,
        entry,
        reading: None,
        refused: None,
        zone: zone.clone(),
    };
    let given = at.mapping.clone().or(kept);
    if let Err(e) = understood(records, &mut out, &mut file, given, &at.edit, &zone) {
        match e {
            AppError::Store(e) => return Err(AppError::Store(e)),
            e => out.refused = Some(e.to_string()),
        }
    }
    Ok(Some(out))
}

fn understood(
    records: &mut dyn Records,
    out: &mut Look,
    file: &mut ReadingsFile,
    given: Option<String>,
    edit: &Edit,
    zone: &str,
) -> Result<(), AppError> {
    if out.hand_entry {
        return trial(out, file, zone);
    }
    let named = |text: String| Some(("mapping".to_owned(), text));
    file.mapping = match given {
        Some(text) => named(text),
        None => {
            let seen = look_at(file, None)?;
            out.remembered = fitting(records, &seen.asked.seen.layout.headings)?;
            out.remembered.as_ref().and_then(|m| named(m.toml.clone()))
        }
    };
    out.mapping = crate::proof::readings::mapping_of(file)?;
    let answers: Vec<NumberedAnswer> = edit.answers.clone();
    let open = answer_questions(file, None, &answers)?;
    out.mapping = open.mapping.clone();
    apply(&mut out.mapping, edit)?;
    file.mapping = named(out.mapping.to_toml()?);
    // A wrong tolerance or unit is refused here, with what is allowed.
    crate::proof::readings::mapping_of(file)?;
    out.open = Some(look_at(file, None)?);
    trial(out, file, zone)
}

fn trial(out: &mut Look, file: &ReadingsFile, zone: &str) -> Result<(), AppError> {
    if out.open.as_ref().is_some_and(|o| !o.asked.questions.is_empty()) {
        return Ok(());
    }
    match gather(std::slice::from_ref(file), zone, "")? {
        Gathered::Ready(log) => out.reading = Some(Reading { log: *log }),
        Gathered::Open(open) => out.open = open.into_iter().next().or(out.open.take()),
    }
    Ok(())
}

/// What became of a file that was to be kept.
#[derive(Clone, Debug)]
pub enum Kept {
    /// It stands in the record; the number of its entry.
    Entry(u64),
    /// The same bytes stood there already.
    WasThere(u64),
    /// Something is open, or it was refused.
    Open(Box<Look>),
}

/// Keeps a file of readings with the mapping it is read by, and the mapping for the next file of the kind. Where the
/// record holds the bytes already, `reason` makes it a correction of how they are read.
///
/// # Errors
/// As [`look`]; a rule that is broken.
pub fn keep_readings(
    records: &mut dyn Records,
    stamp: &Stamp,
    at: &LookAt,
    reason: &str,
) -> Result<Option<Kept>, AppError> {
    let Some(seen) = look(records, at)? else { return Ok(None) };
    if !seen.is_ready() {
        return Ok(Some(Kept::Open(Box::new(seen))));
    }
    // What is kept says how every column was read, also where the file itself said it.
    let mapping = match &seen.open {
        Some(open) => Some(open.asked.seen.proposed_mapping(&seen.mapping).to_toml()?),
        None => None,
    };
    let (own, used) = (of_record(stamp, reason), uses(seen.hand_entry));
    if let (Some(entry), true) = (seen.entry, reason.trim().is_empty()) {
        return Ok(Some(Kept::WasThere(entry)));
    }
    let bytes = records.file(digest(&at.sha256)?).map_err(StoreError::from)?.unwrap_or_default();
    let changed = change(records, &at.id, stamp, |r| match seen.entry {
        Some(entry) => {
            let new = file_entry(&name_of(r, entry), &bytes, used, mapping.clone())?;
            r.add(&own, vec![Body::Corrected(Corrected { entry, new: Box::new(new) })])
        }
        None => {
            let name = next_name(r, std::path::Path::new(&at.name));
            r.keep(&own, &name, &bytes, used, mapping.clone())
        }
    })?;
    let Some((_, record)) = changed else { return Ok(None) };
    let title = at.edit.title.trim();
    if let (Some(text), false) = (&mapping, title.is_empty()) {
        remember(records, stamp, title, text)?;
    }
    Ok(Some(Kept::Entry(record.chain.last_n())))
}

const fn uses(hand_entry: bool) -> FileUse {
    if hand_entry { FileUse::HandEntry } else { FileUse::Readings }
}

fn name_of(r: &crate::proof::record::Record, entry: u64) -> String {
    let kept = r.view().files.into_iter().find(|k| k.entry == entry);
    kept.map_or_else(String::new, |k| k.value.name)
}

/// Keeps a file that holds no readings: a certificate, a letter, a photo.
///
/// # Errors
/// As [`change`].
pub fn keep_support(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    (name, bytes): (&str, &[u8]),
    photo: bool,
) -> Result<Option<u64>, AppError> {
    let own = of_record(stamp, "");
    let used = if photo { FileUse::Photo } else { FileUse::Support };
    let changed = change(records, id, stamp, |r| {
        let name = next_name(r, std::path::Path::new(name));
        r.keep(&own, &name, bytes, used, None)
    })?;
    Ok(changed.map(|(_, r)| r.chain.last_n()))
}

impl Look {
    /// The open questions as an error, for callers that cannot show a form.
    #[must_use]
    pub fn as_error(&self) -> AppError {
        match (&self.refused, &self.open) {
            (Some(why), _) => AppError::NotAValue { field: "file".to_owned(), why: why.clone() },
            (None, Some(open)) => questions(std::slice::from_ref(open)),
            (None, None) => AppError::RecordIncomplete { what: "readings in the file" },
        }
    }
}
