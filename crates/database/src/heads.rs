//! The list of heads: the end of every stream.

use fallrate_store::{AnyBody, Body, Chain, Digest, Head, Records, RecordsError, StoreError, StreamName};

use crate::fault::damaged;

/// `stream,n,sha256`, one line a stream.
pub(crate) fn heads_csv(heads: &[Head]) -> Result<String, RecordsError> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failed = |e: csv::Error| damaged(e.to_string());
    writer.write_record(["stream", "n", "sha256"]).map_err(failed)?;
    for h in heads {
        writer.write_record([h.stream.as_str(), &h.n.to_string(), &h.hash.to_string()]).map_err(failed)?;
    }
    let bytes = writer.into_inner().map_err(|e| damaged(e.to_string()))?;
    String::from_utf8(bytes).map_err(|e| damaged(e.to_string()))
}

/// Reads a list of heads as it is written beside a backup and in an export.
///
/// # Errors
/// [`RecordsError::Damaged`] where it is none.
pub fn read_heads(text: &str) -> Result<Vec<Head>, RecordsError> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let mut heads = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|e| damaged(format!("list of heads: {e}")))?;
        let field = |i: usize| record.get(i).ok_or_else(|| damaged("list of heads: a field is missing"));
        heads.push(Head {
            stream: StreamName::parse(field(0)?)?,
            n: field(1)?.parse().map_err(|_| damaged("list of heads: a number that is none"))?,
            hash: Digest::parse(field(2)?).map_err(|e| damaged(e.to_string()))?,
        });
    }
    Ok(heads)
}

/// Verifies every stream. Batch records are read as such, with their rules; of the others the chain.
///
/// # Errors
/// [`RecordsError::Damaged`] with the first stream that does not verify; those of the database.
pub fn verify_all(records: &mut dyn Records) -> Result<(), RecordsError> {
    for head in records.heads("")? {
        let lines = records.lines(&head.stream)?;
        let bytes: String = lines.iter().flat_map(|l| [l.as_str(), "\n"]).collect();
        verify_stream(&head, bytes.as_bytes())
            .map_err(|e| damaged(format!("stream '{}': {e}", head.stream)))?;
    }
    Ok(())
}

pub(crate) fn verify_stream(head: &Head, bytes: &[u8]) -> Result<(), StoreError> {
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
