//! Everything out as open files.
//!
//! ```text
//! realm.txt                       proof, rehearsal or demo
//! heads.csv                       every stream with the number and hash of its last entry
//! client_ids.csv                  the ids entries were sent with
//! batches.csv                     one line a batch
//! batch/ID/record.jsonl           a record, and its files beside it
//! library/product/NAME/record.jsonl, current.toml
//! instrument/ID/record.jsonl, plant/settings/record.jsonl, people/audit/record.jsonl
//! ```

use std::collections::BTreeMap;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use fallrate_store::{
    BatchRow, Body, Chain, Digest, Head, LibraryBody, RECORD_FILE, Records, RecordsError, StoreError,
    StreamName, iso_from_instant,
};

use crate::fault::{damaged, file_fault};
use crate::heads::{heads_csv, verify_stream};
use crate::sqlite::answer_word;

/// Names of the files of an export beside the streams.
pub(crate) const REALM_FILE: &str = "realm.txt";
pub(crate) const HEADS_FILE: &str = "heads.csv";
pub(crate) const IDS_FILE: &str = "client_ids.csv";
const BATCHES_FILE: &str = "batches.csv";

/// What was exported.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExportReport {
    /// The folder.
    pub folder: PathBuf,
    /// Streams.
    pub streams: u64,
    /// Entries.
    pub entries: u64,
    /// Kept files.
    pub files: u64,
    /// SHA-256 of `heads.csv`.
    pub heads_sha256: Digest,
}

/// Writes everything into a new folder: first under another name, so that a folder of the right name is whole.
/// Entries made meanwhile are left out.
///
/// # Errors
/// [`StoreError::Records`] with [`RecordsError::Damaged`] where a stream does not verify or a kept file is missing,
/// [`RecordsError::Unavailable`] where the folder exists already; those of the database and of the disk.
pub fn export_to(records: &mut dyn Records, folder: &Path) -> Result<ExportReport, StoreError> {
    if folder.exists() {
        let detail = format!("{}: exists already", folder.display());
        return Err(RecordsError::Unavailable { what: "export", detail }.into());
    }
    let mut part = folder.as_os_str().to_owned();
    part.push(".part");
    let part = PathBuf::from(part);
    if part.exists() {
        fs::remove_dir_all(&part).map_err(file_fault("export", &part))?;
    }
    let mut report = written(records, &part)?;
    fs::rename(&part, folder).map_err(file_fault("export", folder))?;
    report.folder = folder.to_path_buf();
    Ok(report)
}

fn written(records: &mut dyn Records, part: &Path) -> Result<ExportReport, StoreError> {
    fs::create_dir_all(part).map_err(file_fault("export", part))?;
    let heads = records.heads("")?;
    let mut report = ExportReport {
        folder: part.to_path_buf(),
        streams: heads.len() as u64,
        entries: 0,
        files: 0,
        heads_sha256: Digest::ZERO,
    };
    let mut rows = Vec::new();
    for head in &heads {
        report.entries += head.n;
        report.files += stream(records, part, head, &mut rows)?;
    }
    let list = heads_csv(&heads)?;
    report.heads_sha256 = Digest::of(list.as_bytes());
    new_file(&part.join(HEADS_FILE), list.as_bytes())?;
    new_file(&part.join(REALM_FILE), format!("{}\n", records.realm()).as_bytes())?;
    new_file(&part.join(IDS_FILE), ids_csv(records, &heads)?.as_bytes())?;
    new_file(&part.join(BATCHES_FILE), batches_csv(&rows)?.as_bytes())?;
    Ok(report)
}

/// The folder of a stream.
pub(crate) fn folder_of(root: &Path, stream: &StreamName) -> PathBuf {
    stream.as_str().split('/').fold(root.to_path_buf(), |path, part| path.join(part))
}

fn stream(
    records: &mut dyn Records,
    root: &Path,
    head: &Head,
    rows: &mut Vec<BatchRow>,
) -> Result<u64, StoreError> {
    let lines = records.lines(&head.stream)?;
    let count = usize::try_from(head.n).unwrap_or(usize::MAX);
    let text: String = lines.iter().take(count).flat_map(|l| [l.as_str(), "\n"]).collect();
    verify_stream(head, text.as_bytes()).map_err(|e| damaged(format!("stream '{}': {e}", head.stream)))?;
    let folder = folder_of(root, &head.stream);
    fs::create_dir_all(&folder).map_err(file_fault("export", &folder))?;
    new_file(&folder.join(RECORD_FILE), text.as_bytes())?;
    match head.stream.first_part() {
        "batch" => {
            let chain = Chain::<Body>::parse(text.as_bytes())?;
            rows.extend(head.stream.batch_id().and_then(|id| BatchRow::of(id, &chain)));
            kept_files(records, &folder, &chain)
        }
        "library" => {
            let chain = Chain::<LibraryBody>::parse(text.as_bytes())?;
            if let Some((_, item)) = chain.current() {
                new_file(&folder.join("current.toml"), item.toml.as_bytes())?;
            }
            Ok(0)
        }
        _ => Ok(0),
    }
}

/// The files a record names, by name; each once.
pub(crate) fn names_of(chain: &Chain) -> BTreeMap<String, (Digest, u64)> {
    let mut names = BTreeMap::new();
    for e in chain.entries() {
        if let Body::FileKept(f) = &e.body {
            names.insert(f.name.clone(), (f.sha256, f.bytes));
        }
    }
    names
}

fn kept_files(records: &mut dyn Records, folder: &Path, chain: &Chain) -> Result<u64, StoreError> {
    let names = names_of(chain);
    for (name, (sha256, _)) in &names {
        let bytes = records.file(*sha256)?.ok_or(RecordsError::FileNotKept { sha256: *sha256 })?;
        new_file(&folder.join(name), &bytes)?;
    }
    Ok(names.len() as u64)
}

/// Writes a file that must not be there yet: on some disks two names that differ in capitals are one.
fn new_file(path: &Path, bytes: &[u8]) -> Result<(), RecordsError> {
    let mut file = fs::File::create_new(path).map_err(file_fault("export", path))?;
    file.write_all(bytes).map_err(file_fault("export", path))
}

fn csv_text(rows: impl Iterator<Item = Vec<String>>) -> Result<String, RecordsError> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        writer.write_record(row).map_err(|e| damaged(e.to_string()))?;
    }
    let bytes = writer.into_inner().map_err(|e| damaged(e.to_string()))?;
    String::from_utf8(bytes).map_err(|e| damaged(e.to_string()))
}

fn ids_csv(records: &mut dyn Records, heads: &[Head]) -> Result<String, RecordsError> {
    let exported = |stream: &StreamName, n: u64| heads.iter().any(|h| h.stream == *stream && n <= h.n);
    let head = vec!["id".to_owned(), "stream".to_owned(), "n".to_owned()];
    let ids = records.client_ids()?;
    let rows = ids
        .into_iter()
        .filter(|(_, place)| exported(&place.stream, place.n))
        .map(|(id, place)| vec![id, place.stream.to_string(), place.n.to_string()]);
    csv_text(std::iter::once(head).chain(rows))
}

fn batches_csv(rows: &[BatchRow]) -> Result<String, RecordsError> {
    const COLUMNS: [&str; 18] = [
        "id",
        "lot",
        "product",
        "product_code",
        "raw_lots",
        "cabinet",
        "opened_on",
        "opened_at",
        "last_at",
        "entries",
        "head",
        "answer",
        "waiting",
        "verdict_outdated",
        "open_deviations",
        "signed",
        "changed_after_signing",
        "keep_until",
    ];
    let line = |r: &BatchRow| {
        let signed: Vec<String> = r
            .signed
            .iter()
            .filter_map(|m| serde_json::to_value(m).ok()?.as_str().map(str::to_owned))
            .collect();
        vec![
            r.id.clone(),
            r.lot.clone(),
            r.product.clone(),
            r.product_code.clone(),
            r.raw_lots.join(" "),
            r.cabinet.clone(),
            r.opened_on.to_string(),
            iso_from_instant(r.opened_at),
            iso_from_instant(r.last_at),
            r.entries.to_string(),
            r.head.to_string(),
            answer_word(r.answer).to_owned(),
            r.waiting.to_string(),
            r.verdict_outdated.to_string(),
            r.open_deviations.to_string(),
            signed.join(" "),
            r.changed_after_signing.to_string(),
            r.keep_until.map_or_else(String::new, |d| d.to_string()),
        ]
    };
    let head = COLUMNS.iter().map(|c| (*c).to_owned()).collect();
    csv_text(std::iter::once(head).chain(rows.iter().map(line)))
}
