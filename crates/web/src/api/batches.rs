//! Batches: list, one of them, entries.

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use fallrate_app::Asked;
use fallrate_app::batches::{
    self, BatchQuery, HandReading, ReadingKind, Records, RecordsError, Role, Run, Stamp, StoreError,
    instant_from_iso,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::sender::{plant, refuse, stamped};
use crate::fault::Problem;
use crate::look::Visit;
use crate::state::Site;

/// A batch in a list.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct BatchItem {
    /// Id.
    id: String,
    /// Lot.
    lot: String,
    /// Product.
    product: String,
    /// Cabinet.
    cabinet: String,
    /// When its record was opened, ISO 8601 in UTC.
    opened_at: String,
    /// Number of entries of its record.
    entries: u64,
}

/// A batch that was started from a plan.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct BatchJson {
    /// Id.
    id: String,
    /// Lot.
    lot: String,
    /// Product.
    product: String,
    /// Cabinet.
    cabinet: String,
    /// Time zone of the plant.
    zone: String,
    /// The plan file it was started from.
    plan: String,
    /// When its first act was done, ISO 8601 in UTC.
    started_at: Option<String>,
    /// When its run ended.
    ended_at: Option<String>,
    /// Acts done.
    acts: Vec<ActJson>,
    /// Readings by hand: measured, never forecast.
    readings: Vec<ReadingJson>,
    /// Notes.
    notes: Vec<NoteJson>,
}

/// An act that was done.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct ActJson {
    /// Number in the plan's list, from 1.
    number: usize,
    /// When.
    at: String,
    /// By whom.
    by: String,
    /// Number of the entry.
    entry: u64,
}

/// A reading by hand.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct ReadingJson {
    /// "core", "air", "wet_bulb", "rh", "tray" or "other".
    kind: &'static str,
    /// Where the probe is, or the tray's number.
    place: String,
    /// Value: degC, fraction, kg.
    value: f64,
    /// When.
    at: String,
    /// By whom.
    by: String,
    /// Number of the entry.
    entry: u64,
}

/// A note.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct NoteJson {
    /// Words.
    text: String,
    /// When.
    at: String,
    /// By whom.
    by: String,
    /// Number of the entry.
    entry: u64,
}

/// What is entered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub(super) enum EntryKind {
    /// Core temperature; `place` says where the probe is.
    Core,
    /// Dry bulb.
    Air,
    /// Wet bulb.
    WetBulb,
    /// Relative humidity.
    Rh,
    /// Gross weight of a tray; `place` is its number.
    Tray,
    /// A note; `value` is its text.
    Note,
}

/// An entry.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct EntryQuestion {
    /// Id of the sender's own: sent again with the same id it is entered once. 8 to 80 letters, digits, hyphens.
    #[schema(min_length = 8, max_length = 80)]
    pub(super) entry_id: String,
    /// What.
    kind: EntryKind,
    /// Value with its unit, as "65.6 degC", "42 %", "2.95 kg"; or the text of a note.
    #[schema(max_length = 2000)]
    value: String,
    /// Where; see `kind`.
    #[serde(default)]
    #[schema(max_length = 60)]
    place: String,
    /// When it was, ISO 8601 in UTC; left out: now.
    at: Option<String>,
}

/// What was entered.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Entered {
    /// Number of the entry in the record of the batch.
    pub entry: u64,
}

impl Entered {
    pub(super) const fn of(entry: u64) -> Self {
        Self { entry }
    }
}

impl From<StoreError> for Problem {
    fn from(e: StoreError) -> Self {
        let status = match &e {
            StoreError::Records(RecordsError::Locked { .. }) => StatusCode::SERVICE_UNAVAILABLE,
            StoreError::Records(RecordsError::Full { .. }) => StatusCode::INSUFFICIENT_STORAGE,
            StoreError::Records(RecordsError::IdReused { .. } | RecordsError::Moved { .. }) => {
                StatusCode::CONFLICT
            }
            StoreError::Records(RecordsError::StreamName { .. } | RecordsError::NoStream { .. }) => {
                StatusCode::NOT_FOUND
            }
            StoreError::Rule { .. } | StoreError::NoInstant { .. } => StatusCode::UNPROCESSABLE_ENTITY,
            _ => StatusCode::INTERNAL_SERVER_ERROR,
        };
        Self::new(status, e.to_string())
    }
}

/// Search.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Search {
    words: String,
    from: String,
    to: String,
    verdict: String,
    release: String,
    limit: Option<u64>,
    skip: u64,
}

/// The batches, the latest first.
#[utoipa::path(get, path = "/batches", operation_id = "batches",
    params(
        ("words" = Option<String>, Query, description = "Words of lot, product, cabinet or id"),
        ("from" = Option<String>, Query, description = "Opened on this day or later, as 2026-03-13"),
        ("to" = Option<String>, Query, description = "Opened on this day or earlier"),
        ("verdict" = Option<String>, Query, description = "met, not_met, cannot_be_judged or none"),
        ("release" = Option<String>, Query, description = "open or released"),
        ("limit" = Option<u64>, Query, minimum = 1, maximum = 1000, description = "How many at the most, 1 to 1000; 100 where left out"),
        ("skip" = Option<u64>, Query, description = "How many of the first to leave out")
    ),
    responses(
        (status = 200, description = "Batches", body = Vec<BatchItem>),
        (status = 400, description = "A query that cannot be read", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A day or a word that is none, a limit out of its range", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn batches(
    State(site): State<Site>,
    Query(s): Query<Search>,
) -> Result<Json<Vec<BatchItem>>, Problem> {
    let limit = s.limit.unwrap_or(100);
    if !(1..=1000).contains(&limit) {
        let detail = format!("limit: {limit}; allowed: 1 to 1000");
        return Err(Problem::new(StatusCode::UNPROCESSABLE_ENTITY, detail));
    }
    let typed = crate::batch::Search {
        words: s.words,
        from: s.from,
        to: s.to,
        verdict: s.verdict,
        release: s.release,
        page: 0,
    };
    let query = crate::batch::sought(&typed).map_err(|field| {
        let allowed =
            "a day as 2026-03-13; verdict: met, not_met, cannot_be_judged, none; release: open, released";
        Problem::new(StatusCode::UNPROCESSABLE_ENTITY, format!("{field}: cannot be read; allowed: {allowed}"))
    })?;
    let query = BatchQuery { limit, skip: s.skip, ..query };
    let rows = site.desk().read(move |r| Ok(r.batches(&query)?)).await?;
    let item = |r: batches::BatchRow| BatchItem {
        opened_at: r.opened_at.iso_utc(),
        id: r.id,
        lot: r.lot,
        product: r.product,
        cabinet: r.cabinet,
        entries: r.entries,
    };
    Ok(Json(rows.into_iter().map(item).collect()))
}

pub(super) fn found(id: &str, run: Option<Run>) -> Result<Run, Problem> {
    let shown: String = id.chars().take(60).collect();
    let missing = || {
        let detail =
            format!("batch: '{shown}' is not known; allowed: those of /api/v1/batches started from a plan");
        Problem::new(StatusCode::NOT_FOUND, detail)
    };
    run.ok_or_else(missing)
}

/// One batch: acts done, readings, notes.
#[utoipa::path(get, path = "/batches/{id}", operation_id = "batch",
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "The batch", body = BatchJson),
        (status = 404, description = "No such batch", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn batch(
    State(site): State<Site>,
    Path(id): Path<String>,
) -> Result<Json<BatchJson>, Problem> {
    let key = id.clone();
    let run = found(&id, site.desk().read(move |r| batches::run(r, &key)).await?)?;
    Ok(Json(BatchJson {
        started_at: run.started_at().map(|i| i.iso_utc()),
        ended_at: run.ended.as_ref().map(|e| e.at.iso_utc()),
        acts: run
            .done
            .iter()
            .map(|d| ActJson { number: d.number, at: d.at.iso_utc(), by: d.by.clone(), entry: d.entry })
            .collect(),
        readings: run.readings.iter().map(reading).collect(),
        notes: run
            .remarks
            .iter()
            .map(|n| NoteJson { text: n.text.clone(), at: n.at.iso_utc(), by: n.by.clone(), entry: n.entry })
            .collect(),
        id: run.id,
        lot: run.lot,
        product: run.product,
        cabinet: run.cabinet,
        zone: run.zone,
        plan: run.plan_toml,
    }))
}

pub(super) fn reading(r: &HandReading) -> ReadingJson {
    let (kind, place) = match &r.role {
        Role::CoreProbe { position, .. } => ("core", position.clone()),
        Role::AirDryBulb => ("air", String::new()),
        Role::AirWetBulb => ("wet_bulb", String::new()),
        Role::RelativeHumidity => ("rh", String::new()),
        Role::TrayWeight { tray } => ("tray", tray.to_string()),
        _ => ("other", String::new()),
    };
    ReadingJson { kind, place, value: r.value, at: r.at.iso_utc(), by: r.by.clone(), entry: r.entry }
}

/// What an entry asks to be written.
pub(super) enum Job {
    Reading(ReadingKind, String),
    Note(String),
}

pub(super) fn job(q: &EntryQuestion) -> Result<Job, String> {
    let (asked, kind) = match q.kind {
        EntryKind::Core => (Asked::Reading, ReadingKind::Core(q.place.clone())),
        EntryKind::Air => (Asked::Reading, ReadingKind::Air),
        EntryKind::WetBulb => (Asked::Reading, ReadingKind::WetBulb),
        EntryKind::Rh => (Asked::Humidity, ReadingKind::Humidity),
        EntryKind::Tray => match q.place.trim().parse::<u16>().ok().filter(|n| (1..=500).contains(n)) {
            Some(n) => (Asked::Mass, ReadingKind::Tray(n)),
            None => return Err(format!("place: '{}'; allowed: the tray's number, 1 to 500", q.place)),
        },
        EntryKind::Note => {
            return Ok(Job::Note(batches::plain_note(&q.value)));
        }
    };
    // A program writes its unit: nothing is guessed.
    match asked.read(&q.value, fallrate_app::Units::Si) {
        Ok(Some(typed)) if typed.read_back.is_none() => Ok(Job::Reading(kind, typed.value)),
        Ok(_) => Err(format!("value: '{}' has no unit; allowed: with its unit", q.value)),
        Err(e) => Err(format!("value: {e}")),
    }
}

fn enter(
    r: &mut dyn Records,
    id: &str,
    s: &Stamp,
    job: &Job,
    at: Option<batches::Instant>,
) -> Result<u64, StoreError> {
    match job {
        Job::Reading(kind, value) => batches::enter_reading(r, id, s, (kind, value), at),
        Job::Note(text) => batches::note(r, id, s, text, at),
    }
}

/// Enters a reading or a note. What is answered with 200 is on the disk.
#[utoipa::path(post, path = "/batches/{id}/entries", operation_id = "enter", request_body = EntryQuestion,
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "Entered, or entered before with the same id", body = Entered),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such batch", body = Problem, content_type = "application/problem+json"),
        (status = 409, description = "The id was used for something else", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "An entry that cannot be taken", body = Problem, content_type = "application/problem+json"),
        (status = 503, description = "The records are busy; nothing was written", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn entries(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<EntryQuestion>, JsonRejection>,
) -> Result<Json<Entered>, Problem> {
    let q = super::plans::body(sent)?;
    let key = id.clone();
    found(&id, site.desk().read(move |r| batches::run(r, &key)).await?)?;
    let stamp = stamped(&v, &plant(&site).await?, &q.entry_id)?;
    let at = q.at.as_deref().map(instant_from_iso).transpose()?;
    if at.is_some_and(|at| at.seconds_since(stamp.at) > 0.0) {
        return Err(refuse("at: later than now; allowed: up to now"));
    }
    let job = job(&q).map_err(refuse)?;
    let entry = site.desk().write(move |r| enter(r, &id, &stamp, &job, at)).await?;
    Ok(Json(Entered { entry }))
}
