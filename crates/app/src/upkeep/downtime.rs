//! The cut that stops the dryer stops the machine too: a sign of life tells afterwards how long that was.

use fallrate_series::{EventKind, Instant};
use fallrate_store::{
    AuditBody, Body, Downtime, Draft, Heartbeat, Noted, RecordView, Records, StoreError, StreamName,
    append_to, chain_of,
};

use crate::batches::{Run, Stamp, runs};

/// Between two signs of life, s.
pub const BEAT_S: f64 = 20.0;
/// Longest time without one that is not asked about, s.
pub const SILENCE_S: f64 = 75.0;
/// How far a clock may stand before the last sign of life, s.
const CLOCK_S: f64 = 5.0;
/// How the note begins that says that a dryer went on without the program.
const RAN_ON: &str = "dryer ran on while the program was off, ";

/// What a sign of life found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Beat {
    /// Nothing to ask about.
    Steady,
    /// Nothing was heard of the program in between.
    Off(Downtime),
    /// The clock of this machine stands before the last sign of life.
    ClockBack {
        /// By how much, s.
        by_s: f64,
    },
}

/// Leaves a sign of life and tells what happened since the last one. `awake_s` is how long this program has been running
/// since then by a clock that nobody sets: 0 at its start, and short after the machine slept.
///
/// A time without a sign is kept in the audit stream. One after which the program was stopped on purpose is kept only
/// where a batch is under way: the dryer may have been stopped with it.
///
/// # Errors
/// What the place of the records says.
pub fn beat(records: &mut dyn Records, stamp: &Stamp, awake_s: f64) -> Result<Beat, StoreError> {
    let found = match records.heartbeat()? {
        Some(last) => since(records, last, stamp.at, awake_s)?,
        None => Beat::Steady,
    };
    if let Beat::Off(off) = found {
        let draft = Draft {
            at: stamp.at,
            zone: stamp.zone.clone(),
            by: stamp.by.clone(),
            reason: String::new(),
            body: AuditBody::Downtime(off),
        };
        append_to(records, &StreamName::audit(), None, None, draft)?;
    }
    records.set_heartbeat(Heartbeat { at: stamp.at, stopped: false })?;
    Ok(found)
}

fn since(records: &mut dyn Records, last: Heartbeat, now: Instant, awake_s: f64) -> Result<Beat, StoreError> {
    let passed_s = now.seconds_since(last.at);
    if passed_s < -CLOCK_S {
        return Ok(Beat::ClockBack { by_s: -passed_s });
    }
    let silent = passed_s - awake_s > SILENCE_S;
    let asked = silent && (!last.stopped || runs(records, now)?.iter().any(|r| r.started_at().is_some()));
    Ok(if asked { Beat::Off(Downtime { from: last.at, until: Some(now) }) } else { Beat::Steady })
}

/// The last sign of life of a program that is stopped on purpose.
///
/// # Errors
/// What the place of the records says.
pub fn stopped_on_purpose(records: &mut dyn Records, at: Instant) -> Result<(), StoreError> {
    Ok(records.set_heartbeat(Heartbeat { at, stopped: true })?)
}

/// Every time without a sign of life that began after an instant, in order.
///
/// # Errors
/// What the place of the records says.
pub fn downtimes(records: &mut dyn Records, after: Instant) -> Result<Vec<Downtime>, StoreError> {
    let Some(chain) = chain_of::<AuditBody>(records, &StreamName::audit())? else { return Ok(Vec::new()) };
    let later = |d: &Downtime| d.from.unix_nanoseconds() > after.unix_nanoseconds();
    let off = chain.entries().iter().filter_map(|e| match &e.body {
        AuditBody::Downtime(d) => Some(*d),
        _ => None,
    });
    Ok(off.filter(later).collect())
}

/// The program was off while a batch was under way, and nobody has said yet whether the dryer was off too.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OffQuestion {
    /// Batch.
    pub id: String,
    /// Lot.
    pub lot: String,
    /// Product.
    pub product: String,
    /// Cabinet.
    pub cabinet: String,
    /// Zone of the plant.
    pub zone: String,
    /// Last sign of life.
    pub from: Instant,
    /// Start after it.
    pub until: Instant,
}

/// What is to be asked about batches, the earliest first. An interruption of the power over that time in the record
/// answers it, and so does the note of [`ran_on`].
///
/// # Errors
/// What the place of the records says.
pub fn off_questions(
    records: &mut dyn Records,
    off: &[Downtime],
    runs: &[Run],
) -> Result<Vec<OffQuestion>, StoreError> {
    let mut list = Vec::new();
    for run in runs {
        let open: Vec<(Instant, Instant)> =
            off.iter().filter_map(|d| Some((d.from, d.until?))).filter(|s| under_way(run, *s)).collect();
        if open.is_empty() {
            continue;
        }
        let Some(chain) = chain_of::<Body>(records, &StreamName::batch(&run.id)?)? else { continue };
        let view = chain.view();
        for (from, until) in open.into_iter().filter(|s| !answered(&view, *s)) {
            list.push(OffQuestion {
                id: run.id.clone(),
                lot: run.lot.clone(),
                product: run.product.clone(),
                cabinet: run.cabinet.clone(),
                zone: run.zone.clone(),
                from,
                until,
            });
        }
    }
    list.sort_by_key(|q| (q.from.unix_nanoseconds(), q.id.clone()));
    Ok(list)
}

fn before(a: Instant, b: Instant) -> bool {
    a.unix_nanoseconds() < b.unix_nanoseconds()
}

fn under_way(run: &Run, (from, until): (Instant, Instant)) -> bool {
    run.started_at().is_some_and(|s| before(s, until))
        && run.ended.as_ref().is_none_or(|e| before(from, e.at))
}

fn answered(view: &RecordView, (from, until): (Instant, Instant)) -> bool {
    let cut = view.interruptions.iter().any(|i| {
        i.value.kind == EventKind::PowerCut
            && before(i.value.from, until)
            && i.value.until.is_none_or(|end| before(from, end))
    });
    let words = ran_on_note(from, until);
    cut || view.notes.iter().any(|n| n.value.text == words)
}

fn ran_on_note(from: Instant, until: Instant) -> String {
    format!("{RAN_ON}{} to {}", from.iso_utc(), until.iso_utc())
}

/// Enters that the dryer went on while the program was off; hands back the entry's number. Both instants are those of the
/// question.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn ran_on(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    (from, until): (Instant, Instant),
) -> Result<u64, StoreError> {
    let body = Body::Noted(Noted { text: ran_on_note(from, until), happened: None });
    let draft =
        Draft { at: stamp.at, zone: stamp.zone.clone(), by: stamp.by.clone(), reason: String::new(), body };
    let appended = append_to(records, &StreamName::batch(id)?, stamp.client_id.as_deref(), None, draft)?;
    Ok(appended.entry.n)
}
