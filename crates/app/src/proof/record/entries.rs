//! Entries out of a batch file and out of files.

use fallrate_ingest::Mapping;
use fallrate_lethality::{BatchFacts, StudyQuery};
use fallrate_store::{
    Body, Claimed, Digest, FileKept, FileUse, Identity, Interrupted, RecordRealm, RecordView,
    SuspectAnswered, TestOf, Tested,
};

use super::super::batch_file::{Batch, Deviation, LabResult, MoistureResult, SuspectAnswer};
use crate::AppError;

/// What a batch file would change in a record, and what it would not.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Restated {
    /// Entries to add.
    pub bodies: Vec<Body>,
    /// Whether product, lot or establishment differ: those are corrected by entry 1, not restated.
    pub identity_differs: bool,
}

/// The entries that open a record: identity, claim, facts, and what the batch file already holds.
///
/// # Errors
/// [`AppError::NoQuantity`] where the raw mass is not stated.
pub fn opening_entries(batch: &Batch) -> Result<Vec<Body>, AppError> {
    let mut bodies = vec![Body::Opened(Box::new(identity(batch)?)), Body::Claimed(Box::new(claimed(batch)))];
    bodies.push(Body::Stated(Box::new(facts(batch))));
    bodies.extend(batch.tests.iter().map(|t| Body::Tested(Box::new(tested(t)))));
    bodies.extend(batch.moisture_tests.iter().map(|t| Body::Tested(Box::new(moisture_tested(t)))));
    bodies.extend(batch.deviations.iter().map(|d| Body::Interrupted(interrupted(d))));
    bodies.extend(batch.answers.iter().map(|a| Body::SuspectAnswered(answered(a))));
    Ok(bodies)
}

/// The entries that a changed batch file adds to a record.
///
/// # Errors
/// As [`opening_entries`].
pub fn restating_entries(batch: &Batch, view: &RecordView) -> Result<Restated, AppError> {
    let mut out = Restated::default();
    let identity = identity(batch)?;
    out.identity_differs = view.identity.as_ref().is_none_or(|i| {
        let old = &i.value;
        (&old.lot, &old.product, &old.establishment, old.realm)
            != (&identity.lot, &identity.product, &identity.establishment, identity.realm)
    });
    let claimed = claimed(batch);
    if view.claim.as_ref().is_none_or(|c| c.kept.value != claimed) {
        out.bodies.push(Body::Claimed(Box::new(claimed)));
    }
    let facts = facts(batch);
    if view.facts.as_ref().is_none_or(|f| f.value != facts) {
        out.bodies.push(Body::Stated(Box::new(facts)));
    }
    for t in batch.tests.iter().map(tested).chain(batch.moisture_tests.iter().map(moisture_tested)) {
        if !view.tests.iter().any(|k| k.value == t) {
            out.bodies.push(Body::Tested(Box::new(t)));
        }
    }
    for d in batch.deviations.iter().map(interrupted) {
        if !view.interruptions.iter().any(|k| k.value == d) {
            out.bodies.push(Body::Interrupted(d));
        }
    }
    for a in batch.answers.iter().map(answered) {
        if !view.suspect_answers.iter().any(|k| k.value == a) {
            out.bodies.push(Body::SuspectAnswered(a));
        }
    }
    Ok(out)
}

/// The entry that keeps a file.
///
/// # Errors
/// [`AppError::Ingest`] where the mapping cannot be read.
pub fn file_entry(
    name: &str,
    bytes: &[u8],
    used_as: FileUse,
    mapping: Option<String>,
) -> Result<Body, AppError> {
    let parsed =
        mapping.as_deref().map(|text| Mapping::parse(&format!("mapping of {name}"), text)).transpose()?;
    Ok(Body::FileKept(Box::new(FileKept {
        name: name.to_owned(),
        sha256: Digest::of(bytes),
        bytes: bytes.len() as u64,
        used_as,
        offset_s: parsed.as_ref().map_or(0.0, |m| m.clock.offset_seconds),
        offset_uncertainty_s: parsed.as_ref().and_then(|m| m.clock.uncertainty_seconds),
        offset_evidence: None,
        mapping,
    })))
}

fn identity(batch: &Batch) -> Result<Identity, AppError> {
    let id = &batch.identity;
    let quantity = id.quantity.ok_or_else(|| AppError::NoQuantity { file: batch.file_name.clone() })?;
    Ok(Identity {
        realm: if id.invented { RecordRealm::Demo } else { RecordRealm::Proof },
        establishment: id.establishment.clone(),
        place: id.place.clone(),
        establishment_number: (!id.number.is_empty()).then(|| id.number.clone()),
        product: id.product.clone(),
        product_code: id.code.clone(),
        lot: id.lot.clone(),
        raw_lots: id.raw_lots.clone(),
        quantity_kg: quantity.kilograms(),
        cabinet: id.cabinet.clone(),
        plan_name: id.plan.clone(),
        plan_version: id.plan_version.clone(),
        control_point: id.control_point.clone(),
        drying_plan: None,
        retention: id.retention,
        program_version: crate::VERSION.to_owned(),
    })
}

fn claimed(batch: &Batch) -> Claimed {
    // The entry's own time is when the claim was fixed; a time written on paper stays in the kept batch file.
    let claim = fallrate_lethality::Claim { claimed_at: None, ..batch.claim.clone() };
    Claimed {
        claim,
        limits: batch.limits.clone(),
        growth_limits: batch.growth_limits.clone(),
        lot: batch.lot_claims,
        trials_like: Some(batch.trials_like.clone()).filter(|q| *q != StudyQuery::default()),
        end_point: batch.end_point,
        moisture_standard: batch.moisture_standard.clone(),
        authority: batch.authority.clone(),
        schedule: batch.schedule.clone(),
        practices: batch.practices.clone(),
        no_criterion: batch.no_criterion.clone(),
    }
}

/// The facts without the water activity, which has entries of its own.
fn facts(batch: &Batch) -> BatchFacts {
    let mut facts = batch.facts.clone();
    facts.lot.water_activity = None;
    facts.lot.water_activity_tolerance = None;
    facts
}

fn tested(t: &LabResult) -> Tested {
    Tested {
        what: TestOf::WaterActivity,
        value: t.water_activity,
        tolerance: t.tolerance,
        sample: t.sample.clone(),
        instrument: t.meter.clone(),
        calibrated_on: t.calibrated_on,
        happened: t.at,
    }
}

fn moisture_tested(t: &MoistureResult) -> Tested {
    Tested {
        what: TestOf::MoistureWetBasisPercent,
        value: t.percent_wet_basis,
        tolerance: t.tolerance,
        sample: t.sample.clone(),
        instrument: t.meter.clone(),
        calibrated_on: t.calibrated_on,
        happened: t.at,
    }
}

fn interrupted(d: &Deviation) -> Interrupted {
    Interrupted { kind: d.kind.clone(), from: d.span.from(), until: Some(d.span.to()), note: d.note.clone() }
}

fn answered(a: &SuspectAnswer) -> SuspectAnswered {
    SuspectAnswered {
        channel: a.channel.clone(),
        span: a.span,
        about: a.about,
        counts: a.accepted,
        reason: a.reason.clone(),
    }
}
