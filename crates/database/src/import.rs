//! An export read in again, after everything in it was verified.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use fallrate_store::{
    AnyBody, Body, Chain, Digest, EntryBody, HEADS_FILE, Head, IDS_FILE, NewEntry, Place, REALM_FILE,
    RECORD_FILE, RecordRealm, Records, RecordsError, StoreError, StreamName, entries_after, names_of, verify,
};

use crate::export::folder_of;
use crate::fault::{damaged, file_fault};
use crate::heads::read_heads;

/// What was read in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ImportReport {
    /// Streams of the export.
    pub streams: u64,
    /// Entries added.
    pub added: u64,
    /// Entries that were there already.
    pub there: u64,
    /// Files of records looked at.
    pub files: u64,
}

/// What an export brings for one stream.
struct Coming {
    new: Vec<NewEntry>,
    files: Vec<Vec<u8>>,
    there: u64,
}

/// Reads an export in. First everything is verified (chains, rules, kept files, the list of heads) and held against what
/// is here; a stream that is here already may go on where it ends. Then it is added, stream by stream; broken off, it
/// may be repeated.
///
/// # Errors
/// [`RecordsError::AnotherRealm`], [`RecordsError::Damaged`] for what does not verify, [`RecordsError::Parted`] where
/// a stream has gone another way here; those of the database and of the disk. Unless the database fails meanwhile,
/// nothing was added then.
pub fn import_from(records: &mut dyn Records, folder: &Path) -> Result<ImportReport, StoreError> {
    let word = text(&folder.join(REALM_FILE))?;
    let found =
        RecordRealm::from_word(word.trim()).ok_or_else(|| damaged(format!("realm '{}'", word.trim())))?;
    if found != records.realm() {
        return Err(RecordsError::AnotherRealm { found, allowed: records.realm() }.into());
    }
    let heads = read_heads(&text(&folder.join(HEADS_FILE))?)?;
    let ids = client_ids(&text(&folder.join(IDS_FILE))?)?;
    for stream in streams_in(folder)? {
        if !heads.iter().any(|h| h.stream == stream) {
            return Err(damaged(format!("stream '{stream}': not in the list of heads")).into());
        }
    }
    let mut report = ImportReport { streams: heads.len() as u64, ..ImportReport::default() };
    let mut coming = Vec::new();
    for head in &heads {
        let one = stream(records, folder, head, &ids)?;
        report.there += one.there;
        report.added += one.new.len() as u64;
        report.files += one.files.len() as u64;
        coming.push(one);
    }
    for one in coming {
        for bytes in &one.files {
            records.put_file(bytes)?;
        }
        records.append(&one.new)?;
    }
    Ok(report)
}

fn text(path: &Path) -> Result<String, RecordsError> {
    fs::read_to_string(path).map_err(file_fault("import", path))
}

fn client_ids(text: &str) -> Result<BTreeMap<Place, String>, RecordsError> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let mut ids = BTreeMap::new();
    for record in reader.records() {
        let bad = || damaged("list of entries' ids: a line that is none");
        let record = record.map_err(|_| bad())?;
        let (Some(id), Some(stream), Some(n)) = (record.get(0), record.get(1), record.get(2)) else {
            return Err(bad());
        };
        let place = Place { stream: StreamName::parse(stream)?, n: n.parse().map_err(|_| bad())? };
        ids.insert(place, id.to_owned());
    }
    Ok(ids)
}

/// The streams whose record stands in the folder.
fn streams_in(folder: &Path) -> Result<Vec<StreamName>, RecordsError> {
    let mut found = Vec::new();
    let mut open = vec![(folder.to_path_buf(), String::new())];
    while let Some((path, name)) = open.pop() {
        if path.join(RECORD_FILE).is_file() {
            found.push(StreamName::parse(&name)?);
        }
        for entry in fs::read_dir(&path).map_err(file_fault("import", &path))? {
            let entry = entry.map_err(file_fault("import", &path))?;
            if entry.path().is_dir() {
                let part = entry.file_name().to_string_lossy().into_owned();
                let name = if name.is_empty() { part } else { format!("{name}/{part}") };
                open.push((entry.path(), name));
            }
        }
    }
    found.sort();
    Ok(found)
}

fn stream(
    records: &mut dyn Records,
    root: &Path,
    head: &Head,
    ids: &BTreeMap<Place, String>,
) -> Result<Coming, StoreError> {
    let folder = folder_of(root, &head.stream);
    let path = folder.join(RECORD_FILE);
    let bytes = fs::read(&path).map_err(file_fault("import", &path))?;
    let here = records.lines(&head.stream)?;
    if head.stream.first_part() != "batch" {
        let chain = Chain::<AnyBody>::parse(&bytes)?;
        return coming(&chain, &here, head, ids, Vec::new());
    }
    let chain = Chain::<Body>::parse(&bytes)?;
    let mut files = BTreeMap::new();
    for name in names_of(&chain).into_keys() {
        let path = folder.join(&name);
        files.insert(name, fs::read(&path).map_err(file_fault("import", &path))?);
    }
    let digest = |name: &str| files.get(name).map(|b| (Digest::of(b), b.len() as u64));
    let verified = verify(RECORD_FILE, &bytes, &digest, Some(head.hash));
    if let Some(problem) = verified.problems.into_iter().next() {
        return Err(damaged(format!("stream '{}': {problem}", head.stream)).into());
    }
    if let Some(Body::Opened(i)) = chain.entries().first().map(|e| &e.body)
        && i.realm != records.realm()
    {
        return Err(RecordsError::AnotherRealm { found: i.realm, allowed: records.realm() }.into());
    }
    coming(&chain, &here, head, ids, files.into_values().collect())
}

fn coming<B: EntryBody>(
    chain: &Chain<B>,
    here: &[String],
    head: &Head,
    ids: &BTreeMap<Place, String>,
    files: Vec<Vec<u8>>,
) -> Result<Coming, StoreError> {
    let stream = head.stream.clone();
    if (chain.head(), chain.last_n()) != (head.hash, head.n) {
        return Err(damaged(format!("stream '{stream}': it does not end as the list of heads says")).into());
    }
    let differs = here.iter().zip(chain.lines()).position(|(a, b)| a != b);
    if let Some(at) = differs {
        return Err(RecordsError::Parted { stream: stream.to_string(), n: at as u64 + 1 }.into());
    }
    let there = here.len().min(chain.lines().len()) as u64;
    let id = |n: u64| ids.get(&Place { stream: stream.clone(), n }).cloned();
    Ok(Coming { new: entries_after(&stream, chain, there, &id), files, there })
}
