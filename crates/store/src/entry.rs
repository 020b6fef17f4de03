//! One entry of a chain and its line.

use fallrate_lethality::is_late_entry;
use fallrate_series::Instant;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use serde_json::value::RawValue;

use crate::{BatchRow, Chain, Digest, RecordRealm, Rule, StoreError, StreamName, iso_from_instant};

/// What an entry of some kind of stream says. Implementors are enums tagged `kind` with their content under `body`.
pub trait EntryBody: Clone + std::fmt::Debug + PartialEq + Serialize + DeserializeOwned {
    /// What stands for a kind or a body that this version cannot read.
    fn unknown(found: UnknownBody) -> Self;
    /// The unreadable body, where this is one.
    fn as_unknown(&self) -> Option<&UnknownBody>;
    /// When what is entered happened, where the entry says so.
    fn happened(&self) -> Option<Instant>;
    /// Whether the entry may stand after those before it.
    ///
    /// # Errors
    /// The rule that is broken.
    fn check(&self, this: &Entry<Self>, before: &[Entry<Self>]) -> Result<(), Rule>;
    /// The world the entry fixes for its stream.
    fn realm(&self) -> Option<RecordRealm> {
        None
    }
    /// Kept files that it names.
    fn files(&self) -> Vec<Digest> {
        Vec::new()
    }
    /// Whether the rules of its stream look at nothing but the entry itself and its number, and no row is computed from
    /// the whole: then the end of the stream is enough to add to it.
    #[must_use]
    fn stands_alone() -> bool {
        false
    }
    /// The row in the list of batches after the last entry of a chain; only batch records have one.
    fn row(_stream: &StreamName, _chain: &Chain<Self>) -> Option<BatchRow> {
        None
    }
}

/// An entry's kind and body as they stand in the line, where this version cannot read them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownBody {
    /// Kind.
    pub kind: String,
    /// Body, as JSON.
    pub json: String,
    /// Why it could not be read.
    pub why: String,
}

/// What a person wants to enter; the chain adds number and hashes.
#[derive(Clone, Debug, PartialEq)]
pub struct Draft<B = crate::Body> {
    /// Now.
    pub at: Instant,
    /// Time zone of the plant ("America/Chicago").
    pub zone: String,
    /// Who.
    pub by: String,
    /// Why; needed for corrections and withdrawals.
    pub reason: String,
    /// What.
    pub body: B,
}

/// One entry of a chain.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry<B = crate::Body> {
    /// Number, from 1.
    pub n: u64,
    /// When it was made.
    pub at: Instant,
    /// Time zone of the plant, for printing.
    pub zone: String,
    /// Who made it.
    pub by: String,
    /// Why, where a reason is due; else empty.
    pub reason: String,
    /// What it says.
    pub body: B,
    /// Hash of the entry before; zeros for the first.
    pub previous: Digest,
    /// Its own hash.
    pub hash: Digest,
}

impl<B: EntryBody> Entry<B> {
    /// Whether it was made later than what it tells of (RECORD-H11). Both times are kept.
    #[must_use]
    pub fn is_late(&self) -> bool {
        self.body.happened().is_some_and(|h| is_late_entry(h, self.at))
    }
}

/// What stands between the end of what is hashed and the hash.
pub(crate) const HASH_KEY: &str = ",\"hash\":\"";
/// Bytes from there to the end of a line, without the line feed.
pub(crate) const HASH_TAIL: usize = HASH_KEY.len() + 64 + 2;

/// The digest a line is sealed with: that of its bytes up to the key of the hash, closed with a brace.
pub(crate) fn seal(before_hash: &[u8]) -> Digest {
    let mut bytes = Vec::with_capacity(before_hash.len() + 1);
    bytes.extend_from_slice(before_hash);
    bytes.push(b'}');
    Digest::of(&bytes)
}

fn json_text(text: &str) -> Result<String, StoreError> {
    serde_json::to_string(text).map_err(|e| unwritable("text", &e))
}

fn unwritable(kind: &str, why: &dyn std::fmt::Display) -> StoreError {
    StoreError::Unwritable { kind: kind.to_owned(), detail: why.to_string() }
}

/// Kind word and body text of a body, as they stand in a line.
pub(crate) fn kind_and_json<B: EntryBody>(body: &B) -> Result<(String, String), StoreError> {
    if let Some(u) = body.as_unknown() {
        return Err(unwritable(&u.kind, &"an entry of a kind that this version does not know"));
    }
    let text = serde_json::to_string(body).map_err(|e| unwritable("entry", &e))?;
    #[derive(serde::Deserialize)]
    struct Tagged<'a> {
        kind: String,
        #[serde(borrow)]
        body: &'a RawValue,
    }
    let tagged: Tagged<'_> = serde_json::from_str(&text).map_err(|e| unwritable("entry", &e))?;
    Ok((tagged.kind, tagged.body.get().to_owned()))
}

/// Reads a body; what cannot be read, or not as a whole, is kept as it is.
pub(crate) fn decode<B: EntryBody>(kind: &str, json: &str) -> B {
    whole::<B>(kind, json)
        .unwrap_or_else(|why| B::unknown(UnknownBody { kind: kind.to_owned(), json: json.to_owned(), why }))
}

fn whole<B: EntryBody>(kind: &str, json: &str) -> Result<B, String> {
    let said = |e: serde_json::Error| e.to_string();
    let kind = serde_json::to_string(kind).map_err(said)?;
    let text = format!("{{\"kind\":{kind},\"body\":{json}}}");
    let body: B = serde_json::from_str(&text).map_err(said)?;
    // A later version may have added a field deep inside: better not read than read without it.
    let written: Value = serde_json::from_str(&text).map_err(said)?;
    let read = serde_json::to_value(&body).map_err(said)?;
    match lost("", &written, &read) {
        Some(path) => Err(format!("field '{path}' is not known here")),
        None => Ok(body),
    }
}

/// The first field that was written and is not there after reading. One that says nothing (null) is no loss.
fn lost(path: &str, written: &Value, read: &Value) -> Option<String> {
    match (written, read) {
        (Value::Object(a), Value::Object(b)) => {
            a.iter().filter(|(_, v)| !v.is_null()).find_map(|(name, v)| {
                let path = format!("{path}.{name}");
                match b.get(name) {
                    Some(kept) => lost(&path, v, kept),
                    None => Some(path),
                }
            })
        }
        (Value::Array(a), Value::Array(b)) => a
            .iter()
            .enumerate()
            .find_map(|(i, v)| lost(&format!("{path}[{i}]"), v, b.get(i).unwrap_or(&Value::Null))),
        (Value::Object(_) | Value::Array(_), _) => Some(path.to_owned()),
        _ => None,
    }
}

/// The line of an entry, without its line feed, and the entry.
pub(crate) fn write<B: EntryBody>(
    n: u64,
    previous: Digest,
    draft: Draft<B>,
) -> Result<(String, Entry<B>), StoreError> {
    let (kind, json) = kind_and_json(&draft.body)?;
    // What is read back must be what was meant: a number that is not finite would come back as nothing.
    if decode::<B>(&kind, &json) != draft.body {
        return Err(unwritable(&kind, &"it would not read back as it is (a number that is not finite?)"));
    }
    let line = format!(
        "{{\"n\":{n},\"at\":\"{}\",\"zone\":{},\"by\":{},\"reason\":{},\"kind\":{},\"body\":{json},\"previous\":\"{previous}\"",
        iso_from_instant(draft.at),
        json_text(&draft.zone)?,
        json_text(&draft.by)?,
        json_text(&draft.reason)?,
        json_text(&kind)?,
    );
    let hash = seal(line.as_bytes());
    let Draft { at, zone, by, reason, body } = draft;
    Ok((format!("{line}{HASH_KEY}{hash}\"}}"), Entry { n, at, zone, by, reason, body, previous, hash }))
}
