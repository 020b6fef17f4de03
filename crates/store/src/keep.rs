//! Adding to streams and reading them, over any place where records are kept.

use crate::entry::kind_and_json;
use crate::{
    BatchRow, Body, Chain, Draft, Entry, EntryBody, NewEntry, Records, RecordsError, StoreError, StreamName,
};

/// An entry that stands in a stream.
#[derive(Clone, Debug, PartialEq)]
pub struct Appended<B = Body> {
    /// The entry.
    pub entry: Entry<B>,
    /// Whether it was there already, sent before with the same id.
    pub was_there: bool,
}

/// How often an entry is sealed anew because somebody else was quicker.
const ATTEMPTS: u32 = 200;

/// Adds an entry to a stream, or hands back the one that was sent before with the same id.
///
/// `client_id`: an id the sender gave the entry. `expected_n`: how many entries the sender has seen; where somebody
/// else has added one since, nothing is added. Without it the entry goes to the end, wherever that is.
///
/// # Errors
/// [`StoreError::Rule`] where the stream's rules do not allow the entry; [`StoreError::Records`] with
/// [`RecordsError::Moved`], [`RecordsError::IdReused`] (the id was used for something else),
/// [`RecordsError::AnotherRealm`], or what the database says.
pub fn append_to<B: EntryBody>(
    records: &mut dyn Records,
    stream: &StreamName,
    client_id: Option<&str>,
    expected_n: Option<u64>,
    draft: Draft<B>,
) -> Result<Appended<B>, StoreError> {
    if let Some(found) = draft.body.realm().filter(|r| *r != records.realm()) {
        return Err(RecordsError::AnotherRealm { found, allowed: records.realm() }.into());
    }
    let mut last = None;
    for _ in 0..ATTEMPTS {
        if let Some(id) = client_id
            && let Some(entry) = sent_before(records, stream, id, &draft)?
        {
            return Ok(Appended { entry, was_there: true });
        }
        let (new, entry) = next(records, stream, client_id, expected_n, draft.clone())?;
        match records.append(std::slice::from_ref(&new)) {
            Ok(()) => return Ok(Appended { entry, was_there: false }),
            // Somebody else was quicker, perhaps with the same entry: look again.
            Err(e @ (RecordsError::Moved { .. } | RecordsError::IdReused { .. })) => last = Some(e),
            Err(e) => return Err(e.into()),
        }
    }
    Err(last.unwrap_or(RecordsError::Locked { waited_ms: 0 }).into())
}

/// The entry sealed for the end of its stream. Of a stream whose entries stand alone only the end is read: the whole is
/// verified by [`crate::verify_stream`] and when it is read, not with every entry.
fn next<B: EntryBody>(
    records: &mut dyn Records,
    stream: &StreamName,
    client_id: Option<&str>,
    expected_n: Option<u64>,
    draft: Draft<B>,
) -> Result<(NewEntry, Entry<B>), StoreError> {
    let moved = |found: u64| match expected_n.filter(|n| *n != found) {
        Some(expected) => Err(RecordsError::Moved { stream: stream.to_string(), expected, found }),
        None => Ok(()),
    };
    if !B::stands_alone() {
        let chain = chain_of::<B>(records, stream)?;
        moved(chain.as_ref().map_or(0, Chain::last_n))?;
        return sealed(chain, stream, client_id, draft);
    }
    let (last_n, head) = records.head(stream)?.map_or((0, crate::Digest::ZERO), |h| (h.n, h.hash));
    moved(last_n)?;
    let files = draft.body.files();
    let (line, entry) = Chain::seal_after(last_n, head, draft)?;
    let new = NewEntry {
        stream: stream.clone(),
        n: entry.n,
        previous: entry.previous,
        hash: entry.hash,
        line,
        client_id: client_id.map(str::to_owned),
        files,
        row: None,
    };
    Ok((new, entry))
}

fn sealed<B: EntryBody>(
    chain: Option<Chain<B>>,
    stream: &StreamName,
    client_id: Option<&str>,
    draft: Draft<B>,
) -> Result<(NewEntry, Entry<B>), StoreError> {
    let files = draft.body.files();
    let chain = match chain {
        Some(mut chain) => {
            chain.append(draft)?;
            chain
        }
        None => Chain::open(draft)?,
    };
    let (Some(entry), Some(line)) = (chain.entries().last(), chain.lines().last()) else {
        return Err(RecordsError::NoStream { stream: stream.to_string() }.into());
    };
    let new = NewEntry {
        stream: stream.clone(),
        n: entry.n,
        previous: entry.previous,
        hash: entry.hash,
        line: line.clone(),
        client_id: client_id.map(str::to_owned),
        files,
        row: B::row(stream, &chain),
    };
    Ok((new, entry.clone()))
}

/// The entry that was sent before with this id, if it says the same.
fn sent_before<B: EntryBody>(
    records: &mut dyn Records,
    stream: &StreamName,
    id: &str,
    draft: &Draft<B>,
) -> Result<Option<Entry<B>>, StoreError> {
    let Some(place) = records.place_of(id)? else { return Ok(None) };
    let reused =
        || RecordsError::IdReused { id: id.to_owned(), stream: place.stream.to_string(), n: place.n };
    if place.stream != *stream {
        return Err(reused().into());
    }
    let chain = chain_of::<B>(records, stream)?;
    let found = chain.as_ref().and_then(|c| c.entries().iter().find(|e| e.n == place.n));
    let same = |e: &&Entry<B>| {
        e.by == draft.by && e.reason == draft.reason && kind_and_json(&e.body) == kind_and_json(&draft.body)
    };
    found.filter(same).cloned().map(Some).ok_or_else(|| reused().into())
}

/// The chain of a stream; `None` where there is no such stream.
///
/// # Errors
/// [`StoreError::Damaged`] where it does not verify; what the database says.
pub fn chain_of<B: EntryBody>(
    records: &mut dyn Records,
    stream: &StreamName,
) -> Result<Option<Chain<B>>, StoreError> {
    let lines = records.lines(stream)?;
    if lines.is_empty() {
        return Ok(None);
    }
    let bytes: String = lines.iter().flat_map(|l| [l.as_str(), "\n"]).collect();
    Chain::parse(bytes.as_bytes()).map(Some)
}

/// The entries of a chain after number `after`, ready to be added elsewhere. `client_id` gives the id an entry was sent
/// with, by its number.
#[must_use]
pub fn entries_after<B: EntryBody>(
    stream: &StreamName,
    chain: &Chain<B>,
    after: u64,
    client_id: &dyn Fn(u64) -> Option<String>,
) -> Vec<NewEntry> {
    let new = |(entry, line): (&Entry<B>, &String)| NewEntry {
        stream: stream.clone(),
        n: entry.n,
        previous: entry.previous,
        hash: entry.hash,
        line: line.clone(),
        client_id: client_id(entry.n),
        files: entry.body.files(),
        row: None,
    };
    let mut out: Vec<NewEntry> =
        chain.entries().iter().zip(chain.lines()).filter(|(e, _)| e.n > after).map(new).collect();
    if let Some(last) = out.last_mut() {
        last.row = B::row(stream, chain);
    }
    out
}

/// The rows of all batches, computed anew from their records. Pass them to [`Records::replace_rows`].
///
/// # Errors
/// As [`chain_of`].
pub fn rows_of(records: &mut dyn Records) -> Result<Vec<BatchRow>, StoreError> {
    let mut rows = Vec::new();
    for head in records.heads("batch")? {
        let (Some(id), Some(chain)) = (head.stream.batch_id(), chain_of::<Body>(records, &head.stream)?)
        else {
            continue;
        };
        rows.extend(BatchRow::of(id, &chain));
    }
    Ok(rows)
}
