//! A record out of the place that keeps it, and changes of it, whole or not at all.

use fallrate_series::Instant;
use fallrate_store::{
    Body, Chain, Digest, Records, RecordsError, StoreError, StreamName, chain_of, entries_after,
};

use super::super::record::{self, Record};
use crate::AppError;
use crate::batches::Stamp;

/// How often a change is made anew because somebody else was quicker.
const ATTEMPTS: u32 = 50;

fn chain(records: &mut dyn Records, id: &str) -> Result<Option<Chain>, AppError> {
    let Ok(stream) = StreamName::batch(id) else { return Ok(None) };
    Ok(chain_of::<Body>(records, &stream)?)
}

/// What stands in a record after corrections; `None` where there is no such record.
///
/// # Errors
/// What the place of the records says.
pub fn view(records: &mut dyn Records, id: &str) -> Result<Option<fallrate_store::RecordView>, AppError> {
    Ok(chain(records, id)?.map(|c| c.view()))
}

/// A record with the bytes of its files; `None` where there is none.
///
/// # Errors
/// What the place of the records says; a kept file that is not there.
pub fn record(records: &mut dyn Records, id: &str) -> Result<Option<Record>, AppError> {
    let Some(chain) = chain(records, id)? else { return Ok(None) };
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    for e in chain.entries() {
        let Body::FileKept(f) = &e.body else { continue };
        if files.iter().any(|(name, _)| *name == f.name) {
            continue;
        }
        let bytes = records.file(f.sha256).map_err(StoreError::from)?;
        let bytes = bytes.ok_or(StoreError::from(RecordsError::FileNotKept { sha256: f.sha256 }))?;
        files.push((f.name.clone(), bytes));
    }
    Ok(Some(Record { chain, files }))
}

/// A stamp of a record's own kind.
pub(super) fn of_record(stamp: &Stamp, reason: &str) -> record::Stamp {
    record::Stamp {
        at: Instant::from_unix_nanoseconds(stamp.at.unix_nanoseconds()),
        zone: stamp.zone.clone(),
        by: stamp.by.clone(),
        reason: reason.trim().to_owned(),
    }
}

/// Changes a record: `work` adds to a copy, and what it added is kept at once or not at all. Sent again under the same
/// id, nothing is added. `None` where there is no such record.
///
/// # Errors
/// What `work` refuses; what the place of the records says.
pub fn change<T>(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    mut work: impl FnMut(&mut Record) -> Result<T, AppError>,
) -> Result<Option<(Option<T>, Record)>, AppError> {
    let Ok(stream) = StreamName::batch(id) else { return Ok(None) };
    let mut last = StoreError::from(RecordsError::Locked { waited_ms: 0 });
    for _ in 0..ATTEMPTS {
        let Some(mut now) = record(records, id)? else { return Ok(None) };
        if sent_before(records, &stream, stamp)? {
            return Ok(Some((None, now)));
        }
        let (before, files) = (now.chain.last_n(), now.files.len());
        let done = work(&mut now)?;
        for (_, bytes) in now.files.iter().skip(files) {
            records.put_file(bytes).map_err(StoreError::from)?;
        }
        let client = |n: u64| stamp.client_id.clone().filter(|_| n == before + 1);
        match records.append(&entries_after(&stream, &now.chain, before, &client)) {
            Ok(()) => return Ok(Some((Some(done), now))),
            Err(e @ (RecordsError::Moved { .. } | RecordsError::IdReused { .. })) => last = e.into(),
            Err(e) => return Err(StoreError::from(e).into()),
        }
    }
    Err(last.into())
}

/// Whether the sender's id stands in this record already.
pub(super) fn sent_before(
    records: &mut dyn Records,
    stream: &StreamName,
    stamp: &Stamp,
) -> Result<bool, AppError> {
    let Some(id) = &stamp.client_id else { return Ok(false) };
    match records.place_of(id).map_err(StoreError::from)? {
        None => Ok(false),
        Some(place) if place.stream == *stream => Ok(true),
        Some(place) => {
            let (id, stream) = (id.clone(), place.stream.to_string());
            Err(StoreError::from(RecordsError::IdReused { id, stream, n: place.n }).into())
        }
    }
}

/// Adds one entry; hands back the number of the last entry.
///
/// # Errors
/// As [`change`].
pub fn enter(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    reason: &str,
    body: &Body,
) -> Result<Option<u64>, AppError> {
    let own = of_record(stamp, reason);
    let done = change(records, id, stamp, |r| r.add(&own, vec![body.clone()]))?;
    Ok(done.map(|(_, r)| r.chain.last_n()))
}

/// The SHA-256 a text names.
pub(super) fn digest(text: &str) -> Result<Digest, AppError> {
    Ok(Digest::parse(text)?)
}
