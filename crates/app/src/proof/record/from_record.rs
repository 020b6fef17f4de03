//! What a record claims and states, as the judge takes it.

use fallrate_series::{CalendarDate, EventKind, Span};
use fallrate_store::{FileUse, Interrupted, Kept, RecordRealm, TestOf};
use fallrate_units::Mass;

use super::super::batch_file::{Batch, BatchIdentity, Deviation, LabResult, MoistureResult, SuspectAnswer};
use super::super::clock::LocalClock;
use super::super::readings::ReadingsFile;
use super::Record;
use crate::AppError;

/// The batch of a record: what stands after corrections.
///
/// # Errors
/// [`AppError::RecordIncomplete`] before identity, claim and facts are entered.
pub fn batch_of(record: &Record) -> Result<Batch, AppError> {
    let view = record.view();
    let lacks = |what| AppError::RecordIncomplete { what };
    let identity = view.identity.as_ref().ok_or_else(|| lacks("identity"))?;
    let claimed = view.claim.as_ref().ok_or_else(|| lacks("claim"))?;
    let case = view.case().ok_or_else(|| lacks("facts"))?;
    let clock = LocalClock::named(&identity.zone).ok_or_else(|| lacks("time zone"))?;
    let id = &identity.value;
    let first = case.facts.product_met_heat.unwrap_or(identity.at);
    let date = CalendarDate::parse(&clock.day(first)).unwrap_or_else(|_| first.utc_date());
    let value = &claimed.kept.value;
    let tests = view.tests.iter().filter(|t| t.value.what == TestOf::WaterActivity).map(|t| LabResult {
        water_activity: t.value.value,
        tolerance: t.value.tolerance,
        sample: t.value.sample.clone(),
        meter: t.value.instrument.clone(),
        calibrated_on: t.value.calibrated_on,
        at: Some(t.value.happened.unwrap_or(t.at)),
    });
    let moisture = view.tests.iter().filter(|t| t.value.what == TestOf::MoistureWetBasisPercent);
    let moisture = moisture.map(|t| MoistureResult {
        percent_wet_basis: t.value.value,
        tolerance: t.value.tolerance,
        sample: t.value.sample.clone(),
        meter: t.value.instrument.clone(),
        calibrated_on: t.value.calibrated_on,
        at: Some(t.value.happened.unwrap_or(t.at)),
    });
    let answers = view.suspect_answers.iter().map(|a| SuspectAnswer {
        channel: a.value.channel.clone(),
        span: a.value.span,
        about: a.value.about,
        accepted: a.value.counts,
        by: a.by.clone(),
        reason: a.value.reason.clone(),
        answered_at: a.at,
    });
    Ok(Batch {
        file_name: fallrate_store::RECORD_FILE.to_owned(),
        identity: BatchIdentity {
            establishment: id.establishment.clone(),
            place: id.place.clone(),
            number: id.establishment_number.clone().unwrap_or_default(),
            product: id.product.clone(),
            code: id.product_code.clone(),
            lot: id.lot.clone(),
            raw_lots: id.raw_lots.clone(),
            quantity: Some(Mass::from_kilograms(id.quantity_kg)),
            cabinet: id.cabinet.clone(),
            plan: id.plan_name.clone(),
            plan_version: id.plan_version.clone(),
            control_point: id.control_point.clone(),
            invented: id.realm != RecordRealm::Proof,
            retention: id.retention,
        },
        clock,
        date,
        limits: value.limits.clone(),
        growth_limits: value.growth_limits.clone(),
        lot_claims: value.lot,
        trials_like: value.trials_like.clone().unwrap_or_default(),
        end_point: value.end_point,
        moisture_standard: value.moisture_standard.clone(),
        practices: value.practices.clone(),
        authority: value.authority.clone(),
        schedule: value.schedule.clone(),
        no_criterion: value.no_criterion.clone(),
        claim: case.claim,
        facts: case.facts,
        deviations: view.interruptions.iter().filter_map(deviation).collect(),
        tests: tests.collect(),
        moisture_tests: moisture.collect(),
        answers: answers.collect(),
    })
}

/// An interruption without an end stays open until the end of the record; the judge takes it so from its event.
fn deviation(k: &Kept<Interrupted>) -> Option<Deviation> {
    let i = &k.value;
    let span = Span::new(i.from, i.until.unwrap_or(i.from)).ok()?;
    let kind: EventKind = i.kind.clone();
    Some(Deviation { kind, span, open: i.until.is_none(), note: i.note.clone(), by: k.by.clone() })
}

/// The files and entries that hold readings, with the bytes that were kept.
///
/// # Errors
/// [`AppError::KeptFile`] where a file is not there or is another one.
pub(crate) fn readings_of(record: &Record) -> Result<Vec<ReadingsFile>, AppError> {
    let view = record.view();
    let mut out = Vec::new();
    let is_readings = |u: FileUse| matches!(u, FileUse::Readings | FileUse::HandEntry);
    for k in view.files.iter().filter(|k| is_readings(k.value.used_as)) {
        let kept = &k.value;
        let fault = |found: String| AppError::KeptFile { name: kept.name.clone(), found, entry: k.entry };
        let bytes = record.file(&kept.name).ok_or_else(|| fault("is not there".to_owned()))?;
        let found = fallrate_store::Digest::of(bytes);
        if found != kept.sha256 {
            return Err(fault(format!("has SHA-256 {found}")));
        }
        let mapping = kept.mapping.clone().map(|text| (format!("mapping of {}", kept.name), text));
        out.push(ReadingsFile { name: kept.name.clone(), bytes: bytes.to_vec(), mapping });
    }
    for k in &view.readings {
        let name = format!("entry {}", k.entry);
        out.push(ReadingsFile { name, bytes: k.value.text.clone().into_bytes(), mapping: None });
    }
    Ok(out)
}
