//! Judging a record, and entering the verdict.

use fallrate_lethality::criteria_texts;
use fallrate_series::CalendarDate;
use fallrate_store::{Body, Digest, JsonText, Judged as JudgedEntry, JudgedWith};
use serde_json::json;

use super::super::batch_file::Batch;
use super::super::judged::{Judged, JudgedBy, Verdict, judge_batch};
use super::super::readings::{Gathered, OpenFile, gather};
use super::Record;
use super::from_record::{batch_of, readings_of};
use crate::AppError;

/// A record, judged anew from its kept bytes.
#[derive(Clone, Debug)]
pub struct JudgedRecord {
    /// What it claims and states.
    pub batch: Batch,
    /// What came of it.
    pub judged: Judged,
    /// The entry that keeps the verdict.
    pub entry: Body,
}

/// Judges a record from the bytes that were kept.
///
/// # Errors
/// [`AppError::Questions`] where a file is still open to two readings; everything that [`judge_batch`] refuses.
pub fn judge_record(record: &Record) -> Result<JudgedRecord, AppError> {
    let mut batch = batch_of(record)?;
    let files = readings_of(record)?;
    crate::practice::refuse_simulated(&files, batch.identity.invented)?;
    let log = match gather(&files, batch.clock.name(), "")? {
        Gathered::Ready(log) => *log,
        Gathered::Open(open) => return Err(questions(&open)),
    };
    let judged = judge_batch(&batch, log)?;
    let day = judged.case.facts.product_met_heat.map(|at| batch.clock.day(at));
    batch.date = day.and_then(|d| CalendarDate::parse(&d).ok()).unwrap_or(batch.date);
    let shas: Vec<String> = files.iter().map(|f| format!("{} {}", Digest::of(&f.bytes), f.name)).collect();
    let entry = entry(&batch, &judged, &shas)?;
    Ok(JudgedRecord { batch, judged, entry })
}

/// Open questions as an error: each with its readings.
pub(crate) fn questions(open: &[OpenFile]) -> AppError {
    let all = open.iter().flat_map(|f| f.asked.questions.iter().map(ToString::to_string));
    AppError::Questions { list: all.collect() }
}

/// SHA-256 of the criteria compiled in: names and texts one after the other.
#[must_use]
pub fn criteria_sha256() -> Digest {
    let mut all = String::new();
    for (name, text) in criteria_texts() {
        all.push_str(name);
        all.push('\n');
        all.push_str(text);
    }
    Digest::of(all.as_bytes())
}

fn entry(batch: &Batch, judged: &Judged, files: &[String]) -> Result<Body, AppError> {
    let data = json!({ "files": files, "case": judged.case, "limits": batch.limits,
        "growth_limits": batch.growth_limits, "lot": judged.lot_claims });
    let lot = judged.lot_answer(&[]);
    let details = json!({
        "limits": judged.limits,
        "growth_limits": judged.growth,
        "lot": lot,
        "practices": judged.practices,
        "authority": judged.authority,
        "schedule": judged.schedule,
        "interruptions": judged.interruptions,
    });
    let with = JudgedWith {
        lot_answer: lot.beside_missed_limits(),
        waiting: lot.waiting(),
        other_claim: judged.by() != JudgedBy::Guidance,
        deviations: lot.missed_limits(),
        details: Some(JsonText::of(&details)?),
        program_version: crate::VERSION.to_owned(),
        criteria_sha256: criteria_sha256(),
        data_sha256: Digest::of(data.to_string().as_bytes()),
    };
    let entry = match &judged.verdict {
        Verdict::Measured(v) => JudgedEntry::measured(v, with)?,
        Verdict::Practice(p) => JudgedEntry::practised(p, with)?,
    };
    Ok(Body::Judged(Box::new(entry)))
}
