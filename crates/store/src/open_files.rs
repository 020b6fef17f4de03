//! Everything as open files: what they are called and what they hold, wherever they are written.
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

use fallrate_lethality::Answer;

use crate::{
    AnyBody, BatchRow, Body, Chain, Digest, Head, LibraryBody, RECORD_FILE, Records, RecordsError,
    StoreError, StreamName, iso_from_instant,
};

/// Name of the file that says which world it is.
pub const REALM_FILE: &str = "realm.txt";
/// Name of the list of heads.
pub const HEADS_FILE: &str = "heads.csv";
/// Name of the list of the ids entries were sent with.
pub const IDS_FILE: &str = "client_ids.csv";
/// Name of the list of batches.
pub const BATCHES_FILE: &str = "batches.csv";

/// What was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OpenFiles {
    /// Streams.
    pub streams: u64,
    /// Entries.
    pub entries: u64,
    /// Kept files.
    pub files: u64,
    /// SHA-256 of `heads.csv`.
    pub heads_sha256: Digest,
}

/// Takes a file: its path with '/' between the parts, and its bytes.
pub type Put<'a> = dyn FnMut(&str, &[u8]) -> Result<(), RecordsError> + 'a;

fn damaged(detail: impl Into<String>) -> RecordsError {
    RecordsError::Damaged { detail: detail.into() }
}

/// Hands out everything as open files; each stream is verified first. Entries made meanwhile are left out.
///
/// # Errors
/// [`RecordsError::Damaged`] where a stream does not verify or a kept file is missing; those of the database and of
/// whoever takes the files.
pub fn open_files(records: &mut dyn Records, put: &mut Put<'_>) -> Result<OpenFiles, StoreError> {
    let heads = records.heads("")?;
    let mut done =
        OpenFiles { streams: heads.len() as u64, entries: 0, files: 0, heads_sha256: Digest::ZERO };
    let mut rows = Vec::new();
    for head in &heads {
        done.entries += head.n;
        done.files += stream(records, put, head, &mut rows)?;
    }
    let list = heads_csv(&heads)?;
    done.heads_sha256 = Digest::of(list.as_bytes());
    put(HEADS_FILE, list.as_bytes())?;
    put(REALM_FILE, format!("{}\n", records.realm()).as_bytes())?;
    put(IDS_FILE, ids_csv(records, &heads)?.as_bytes())?;
    put(BATCHES_FILE, batches_csv(&rows)?.as_bytes())?;
    Ok(done)
}

fn stream(
    records: &mut dyn Records,
    put: &mut Put<'_>,
    head: &Head,
    rows: &mut Vec<BatchRow>,
) -> Result<u64, StoreError> {
    let lines = records.lines(&head.stream)?;
    let count = usize::try_from(head.n).unwrap_or(usize::MAX);
    let text: String = lines.iter().take(count).flat_map(|l| [l.as_str(), "\n"]).collect();
    verify_stream(head, text.as_bytes()).map_err(|e| damaged(format!("stream '{}': {e}", head.stream)))?;
    put(&format!("{}/{RECORD_FILE}", head.stream), text.as_bytes())?;
    match head.stream.first_part() {
        "batch" => {
            let chain = Chain::<Body>::parse(text.as_bytes())?;
            rows.extend(head.stream.batch_id().and_then(|id| BatchRow::of(id, &chain)));
            kept_files(records, put, &head.stream, &chain)
        }
        "library" => {
            let chain = Chain::<LibraryBody>::parse(text.as_bytes())?;
            if let Some((_, item)) = chain.current() {
                put(&format!("{}/current.toml", head.stream), item.toml.as_bytes())?;
            }
            Ok(0)
        }
        _ => Ok(0),
    }
}

/// The files a record names, by name; each once.
#[must_use]
pub fn names_of(chain: &Chain) -> BTreeMap<String, (Digest, u64)> {
    let mut names = BTreeMap::new();
    for e in chain.entries() {
        if let Body::FileKept(f) = &e.body {
            names.insert(f.name.clone(), (f.sha256, f.bytes));
        }
    }
    names
}

fn kept_files(
    records: &mut dyn Records,
    put: &mut Put<'_>,
    stream: &StreamName,
    chain: &Chain,
) -> Result<u64, StoreError> {
    let names = names_of(chain);
    for (name, (sha256, _)) in &names {
        let bytes = records.file(*sha256)?.ok_or(RecordsError::FileNotKept { sha256: *sha256 })?;
        put(&format!("{stream}/{name}"), &bytes)?;
    }
    Ok(names.len() as u64)
}

/// Whether a stream's bytes verify and end at its head. Batch records are read as such, with their rules; of the others
/// the chain.
///
/// # Errors
/// [`StoreError::Damaged`] with the first thing that is wrong.
pub fn verify_stream(head: &Head, bytes: &[u8]) -> Result<(), StoreError> {
    let found = match head.stream.first_part() {
        "batch" => Chain::<Body>::parse(bytes)?.head(),
        _ => Chain::<AnyBody>::parse(bytes)?.head(),
    };
    if found == head.hash {
        Ok(())
    } else {
        Err(damaged(format!("head {found}; expected {}", head.hash)).into())
    }
}

/// The list of heads: `stream,n,sha256`, one line a stream.
///
/// # Errors
/// [`RecordsError::Damaged`] where it cannot be written.
pub fn heads_csv(heads: &[Head]) -> Result<String, RecordsError> {
    let row = |h: &Head| vec![h.stream.to_string(), h.n.to_string(), h.hash.to_string()];
    csv_text(std::iter::once(words(&["stream", "n", "sha256"])).chain(heads.iter().map(row)))
}

fn words(list: &[&str]) -> Vec<String> {
    list.iter().map(|w| (*w).to_owned()).collect()
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
    let ends: BTreeMap<&StreamName, u64> = heads.iter().map(|h| (&h.stream, h.n)).collect();
    let ids = records.client_ids()?;
    let rows = ids
        .into_iter()
        .filter(|(_, place)| ends.get(&place.stream).is_some_and(|n| place.n <= *n))
        .map(|(id, place)| vec![id, place.stream.to_string(), place.n.to_string()]);
    csv_text(std::iter::once(words(&["id", "stream", "n"])).chain(rows))
}

const fn answer_word(answer: Option<Answer>) -> &'static str {
    match answer {
        Some(Answer::Met) => "met",
        Some(Answer::NotMet) => "not_met",
        Some(Answer::CannotBeJudged) => "cannot_be_judged",
        None => "none",
    }
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
    csv_text(std::iter::once(words(&COLUMNS)).chain(rows.iter().map(line)))
}
