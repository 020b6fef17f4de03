//! The list of heads: the end of every stream.

use fallrate_store::{Digest, Head, Records, RecordsError, StreamName, verify_stream};

use crate::fault::damaged;

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
