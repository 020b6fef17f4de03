//! Single entries from forms: tests, interruptions, suspect readings, corrective actions, corrections, verdicts.

use fallrate_series::{CalendarDate, Instant, Span};
use fallrate_store::{
    ActionPart, ActionTaken, Body, Disposition, Interrupted, Records, SuspectAnswered, TestOf, Tested,
    Withdrawn,
};
use fallrate_units::{Mass, Quantity};

use super::change::{change, enter, of_record, sent_before};
use super::suspects::suspects;
use crate::AppError;
use crate::batches::{Stamp, by_now};
use crate::proof::LocalClock;
use crate::proof::batch_file::deviation_kind;
use crate::proof::record::{Amend, JudgedRecord, amended_body, judge_record};
use crate::typed::Asked;
use crate::words::Units;

/// A result of a laboratory or a bench meter, as typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TestEntry {
    /// Word of [`TESTS`].
    pub what: String,
    /// Result.
    pub value: String,
    /// Tolerance; empty where unknown.
    pub tolerance: String,
    /// Which pieces, from where.
    pub sample: String,
    /// The meter or the laboratory.
    pub instrument: String,
    /// Day of the meter's last calibration.
    pub calibrated_on: String,
    /// When; empty is now.
    pub at: String,
}

/// An interruption, as typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct InterruptionEntry {
    /// Word of the kind.
    pub kind: String,
    /// When it began.
    pub from: String,
    /// When it ended; empty where it is not over or not known.
    pub until: String,
    /// In a person's words.
    pub note: String,
}

/// An answer to suspect readings.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SuspectEntry {
    /// Channel.
    pub channel: String,
    /// First instant of the stretch, ns since 1970.
    pub from_ns: i64,
    /// Last instant.
    pub to_ns: i64,
    /// Whether the readings count.
    pub counts: bool,
    /// Why.
    pub reason: String,
}

/// One part of a corrective action, as typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ActionEntry {
    /// Name of the deviation.
    pub deviation: String,
    /// "cause", "control", "prevention" or "disposition".
    pub part: String,
    /// What was found or done.
    pub text: String,
    /// Quantity held, with the disposition.
    pub held: String,
    /// "release", "rework", "divert" or "destroy", with the disposition.
    pub decision: String,
}

/// What can be tested: word, key of its words, unit.
pub const TESTS: [(&str, &str, &str); 7] = [
    ("water_activity", "desk-test-aw", ""),
    ("moisture_wet_basis_percent", "desk-test-moisture", "% wb"),
    ("protein_percent", "desk-test-protein", "%"),
    ("fat_percent", "desk-test-fat", "%"),
    ("salt_percent", "desk-test-salt", "%"),
    ("ph", "desk-test-ph", ""),
    ("nitrite_ppm", "desk-test-nitrite", "ppm"),
];

fn wrong(field: &str, found: &str, allowed: &str) -> AppError {
    AppError::NotAValue { field: field.to_owned(), why: format!("'{found}'; allowed: {allowed}") }
}

fn number(field: &str, text: &str) -> Result<Option<f64>, AppError> {
    let text = text.trim().replace(',', ".");
    if text.is_empty() {
        return Ok(None);
    }
    let value = text.parse::<f64>().ok().filter(|v| v.is_finite());
    value.map(Some).ok_or_else(|| wrong(field, &text, "a number"))
}

fn moment(stamp: &Stamp, field: &str, text: &str) -> Result<Option<Instant>, AppError> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let Some(clock) = LocalClock::named(&stamp.zone) else { return Ok(None) };
    clock.read(text, stamp.at).map(Some).map_err(|e| match e {
        AppError::NoInstant { text, allowed } => wrong(field, &text, &allowed),
        e => e,
    })
}

/// Enters a result.
///
/// # Errors
/// What cannot be read; a rule that is broken; what the place of the records says.
pub fn enter_test(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    e: &TestEntry,
) -> Result<Option<u64>, AppError> {
    let words = TESTS.map(|(w, ..)| w).join(", ");
    let what: Option<TestOf> = TESTS
        .iter()
        .find(|(w, ..)| *w == e.what)
        .and_then(|(w, ..)| serde_json::from_value(serde_json::Value::String((*w).to_owned())).ok());
    let day = e.calibrated_on.trim();
    let calibrated_on = match day {
        "" => None,
        d => Some(CalendarDate::parse(d).map_err(|_| wrong("calibrated on", d, "a day as '2026-03-13'"))?),
    };
    let body = Body::Tested(Box::new(Tested {
        what: what.ok_or_else(|| wrong("test", &e.what, &words))?,
        value: number("value", &e.value)?.ok_or_else(|| wrong("value", "", "a number"))?,
        tolerance: number("tolerance", &e.tolerance)?,
        sample: e.sample.trim().to_owned(),
        instrument: e.instrument.trim().to_owned(),
        calibrated_on,
        happened: by_now(moment(stamp, "at", &e.at)?, stamp.at),
    }));
    enter(records, id, stamp, "", &body)
}

/// Enters an interruption.
///
/// # Errors
/// As [`enter_test`].
pub fn enter_interruption(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    e: &InterruptionEntry,
) -> Result<Option<u64>, AppError> {
    let kind = deviation_kind(&e.kind).ok_or_else(|| {
        let known: Vec<&str> = super::deviation_words().collect();
        wrong("kind", &e.kind, &known.join(", "))
    })?;
    let from = moment(stamp, "from", &e.from)?.ok_or_else(|| wrong("from", "", "when it began"))?;
    let body = Body::Interrupted(Interrupted {
        kind,
        from,
        until: moment(stamp, "to", &e.until)?,
        note: e.note.trim().to_owned(),
    });
    enter(records, id, stamp, "", &body)
}

/// Enters what a named person says about suspect readings; the stretch must be one that waits for an answer.
///
/// # Errors
/// As [`enter_test`].
pub fn enter_suspect(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    e: &SuspectEntry,
) -> Result<Option<u64>, AppError> {
    let own = of_record(stamp, "");
    let at = Instant::from_unix_nanoseconds;
    let span = Span::new(at(e.from_ns), at(e.to_ns))?;
    let done = change(records, id, stamp, |r| {
        let waiting = suspects(&judge_record(r)?.judged.log);
        let found = waiting.iter().find(|s| s.channel == e.channel && s.span == span);
        let found =
            found.ok_or_else(|| wrong("readings", &e.channel, "a stretch that waits for an answer"))?;
        let body = Body::SuspectAnswered(SuspectAnswered {
            channel: e.channel.clone(),
            span,
            about: found.about,
            counts: e.counts,
            reason: e.reason.trim().to_owned(),
        });
        r.add(&own, vec![body])
    })?;
    Ok(done.map(|(_, r)| r.chain.last_n()))
}

/// Enters one part of a corrective action.
///
/// # Errors
/// As [`enter_test`].
pub fn enter_action(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    e: &ActionEntry,
    units: Units,
) -> Result<Option<u64>, AppError> {
    let word = |t: &str| serde_json::Value::String(t.to_owned());
    let part: ActionPart = serde_json::from_value(word(&e.part))
        .map_err(|_| wrong("part", &e.part, "cause, control, prevention, disposition"))?;
    let last = part == ActionPart::Disposition;
    let decision: Option<Disposition> = match e.decision.trim() {
        t if last && !t.is_empty() => Some(
            serde_json::from_value(word(t))
                .map_err(|_| wrong("decision", t, "release, rework, divert, destroy"))?,
        ),
        _ => None,
    };
    let held = match Asked::Mass.read(&e.held, units) {
        Ok(Some(typed)) if last => Mass::parse(&typed.value).ok().map(Mass::base),
        Ok(_) => None,
        Err(fault) => return Err(wrong("quantity held", &e.held, &fault.to_string())),
    };
    let body = Body::ActionTaken(Box::new(ActionTaken {
        deviation: e.deviation.trim().to_owned(),
        part,
        text: e.text.trim().to_owned(),
        quantity_held_kg: held,
        disposition: decision,
        happened: None,
    }));
    enter(records, id, stamp, "", &body)
}

/// Corrects an entry: what it should have said, field by field. It stays where it is.
///
/// # Errors
/// A field that the entry does not have; a rule that is broken; what the place of the records says.
pub fn correct(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    (entry, sets, reason): (u64, &[Amend], &str),
) -> Result<Option<u64>, AppError> {
    let own = of_record(stamp, reason);
    let done = change(records, id, stamp, |r| {
        let body = amended_body(r, entry, sets)?;
        r.add(&own, vec![body])
    })?;
    Ok(done.map(|(_, r)| r.chain.last_n()))
}

/// Withdraws an entry; it stays where it is.
///
/// # Errors
/// As [`correct`].
pub fn withdraw(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    (entry, reason): (u64, &str),
) -> Result<Option<u64>, AppError> {
    enter(records, id, stamp, reason, &Body::Withdrawn(Withdrawn { entry }))
}

/// Judges a record from its kept bytes and enters the verdict, after those that are there. `None` where there is no
/// such record.
///
/// # Errors
/// As [`judge_record`]; what the place of the records says.
pub fn judge_and_enter(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
) -> Result<Option<Option<JudgedRecord>>, AppError> {
    if let Ok(stream) = fallrate_store::StreamName::batch(id)
        && sent_before(records, &stream, stamp)?
    {
        return Ok(Some(None));
    }
    let own = of_record(stamp, "");
    let done = change(records, id, stamp, |r| {
        let judged = judge_record(r)?;
        r.add(&own, vec![judged.entry.clone()])?;
        Ok(judged)
    })?;
    Ok(done.map(|(judged, _)| judged))
}
