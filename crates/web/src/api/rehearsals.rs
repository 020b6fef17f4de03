//! Rehearsals on a virtual cabinet. Everything here is simulated.

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use fallrate_app::practice::{Act, FaultChoice, Front, KeptRehearsal, kept_rehearsals};
use fallrate_app::{AppError, document_page};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::batches::{Entered, EntryQuestion, Job, ReadingJson, job, reading};
use super::sender::refuse;
use crate::fault::Problem;
use crate::look::Visit;
use crate::rehearse::{self, NoStage, Shared, find, lock};
use crate::state::Site;

/// What is to be rehearsed. Everything may be left out.
#[derive(Clone, Debug, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RehearsalQuestion {
    /// Key of the product; apple where left out.
    #[schema(max_length = 60)]
    product: String,
    /// Key of the cabinet; north where left out.
    #[schema(max_length = 60)]
    cabinet: String,
    /// Load with its unit, as "30 kg"; the usual where left out.
    #[schema(max_length = 20)]
    load: String,
    /// Faults to seed: blocked-vent, weak-fan, failed-element, open-door, drifting-probe, power-cut, dry-sock, probe-out.
    #[schema(max_items = 8)]
    faults: Vec<String>,
    /// One or two faults that the seed chooses.
    surprise: bool,
    /// Seed of what is hidden; a new one where left out.
    seed: Option<u64>,
    /// Seed of the cabinet alone: two rehearsals with one of these are two loads in one cabinet.
    cabinet_seed: Option<u64>,
}

/// A rehearsal in a list.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct RehearsalItem {
    /// Id.
    id: String,
    /// Product.
    product: String,
    /// Cabinet.
    cabinet: String,
    /// Seed.
    seed: u64,
    /// Whether the batch is out.
    over: bool,
}

/// A name with a value, as the page shows them.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct ShownJson {
    /// Name.
    name: String,
    /// Value with its unit.
    value: String,
}

/// A rehearsal: simulated, never proof.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct RehearsalJson {
    /// Id.
    id: String,
    /// Always true: nothing here was measured.
    simulated: bool,
    /// Seed.
    seed: u64,
    /// s from the start on the practice clock.
    elapsed_s: f64,
    /// Clock time.
    clock: String,
    /// Whether the batch is out.
    over: bool,
    /// Knobs, door, power, timer.
    front: Vec<ShownJson>,
    /// What loggers show now.
    instruments: Vec<ShownJson>,
    /// What scale and hand probe last showed, the latest first.
    by_hand: Vec<ShownJson>,
    /// Acts ordered and not yet carried out.
    waiting: Vec<ShownJson>,
    /// The plan's acts that are still to come, by its forecast.
    coming: Vec<ShownJson>,
    /// Readings that were written down.
    noted: Vec<ReadingJson>,
}

/// Running on.
#[derive(Clone, Debug, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct AdvanceQuestion {
    /// By so many seconds, at most a day; left out: to the plan's next act.
    #[schema(minimum = 1, maximum = 86400)]
    seconds: Option<f64>,
}

/// An act.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ActQuestion {
    /// Id of the sender's own, 8 to 80 letters, digits, hyphens.
    #[schema(min_length = 8, max_length = 80)]
    entry_id: String,
    /// "set-point 60 degC", "vent quarter", "fan low", "door shut", "timer 20400 s", "power off", "water 0.5 kg", "wet-sock",
    /// "reseat 3", "take-out 2 5", "weigh 8", "core 14 leaving", "turn-trays", "turn-pieces", "swap 0 2", "unload".
    #[schema(max_length = 80)]
    act: String,
}

/// When an act is carried out.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Ordered {
    /// s from the start: a moment later, when the hand is there.
    at_s: f64,
}

impl From<NoStage> for Problem {
    fn from(e: NoStage) -> Self {
        match e {
            NoStage::NoRoom(why) => Self::new(
                StatusCode::SERVICE_UNAVAILABLE,
                format!("rehearsals: no place to keep them; allowed: a program with a data folder; {why}"),
            ),
            NoStage::Unknown => Self::new(
                StatusCode::NOT_FOUND,
                "rehearsal: not known; allowed: those of /api/v1/rehearsals".to_owned(),
            ),
            NoStage::App(AppError::Store(e)) => Self::from(e),
            NoStage::App(e) => Self::from(e),
        }
    }
}

/// The rehearsals, the latest first.
#[utoipa::path(get, path = "/rehearsals", operation_id = "rehearsals",
    responses((status = 200, description = "Rehearsals", body = Vec<RehearsalItem>)))]
pub(super) async fn list(State(site): State<Site>) -> Result<Json<Vec<RehearsalItem>>, Problem> {
    let kept = site.stage().desk()?.read(|r| kept_rehearsals(r, 100)).await?;
    let item = |k: KeptRehearsal| RehearsalItem {
        id: k.id,
        product: k.subject.0,
        cabinet: k.subject.1,
        seed: k.asked.seed,
        over: k.ended,
    };
    Ok(Json(kept.into_iter().map(item).collect()))
}

/// Begins a rehearsal: loaded, set and dialled as the plan says, its clock standing still until it is run on.
#[utoipa::path(post, path = "/rehearsals", operation_id = "begin_rehearsal", request_body = RehearsalQuestion,
    responses(
        (status = 200, description = "Begun", body = RehearsalJson),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A rehearsal that cannot be", body = Problem, content_type = "application/problem+json"),
        (status = 503, description = "Busy, or no place to keep rehearsals", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn begin(
    v: Visit,
    State(site): State<Site>,
    sent: Result<Json<RehearsalQuestion>, JsonRejection>,
) -> Result<Json<RehearsalJson>, Problem> {
    let q = super::plans::body(sent)?;
    let fault = |word: &String| {
        FaultChoice::from_word(word).ok_or_else(|| {
            let all = FaultChoice::ALL.map(FaultChoice::word).join(", ");
            let shown: String = word.chars().take(40).collect();
            Problem::new(StatusCode::UNPROCESSABLE_ENTITY, format!("fault: '{shown}'; allowed: {all}"))
        })
    };
    let faults = q.faults.iter().map(fault).collect::<Result<Vec<_>, _>>()?;
    let known = |key: &str, all: &[&str], what: &str| {
        if key.is_empty() || all.contains(&key) {
            return Ok(());
        }
        let shown: String = key.chars().take(40).collect();
        let detail = format!("{what}: '{shown}' is not known; allowed: a key of the library");
        Err(Problem::new(StatusCode::UNPROCESSABLE_ENTITY, detail))
    };
    let library = site.library();
    let products: Vec<&str> = library.products().iter().map(|p| p.key.as_str()).collect();
    let cabinets: Vec<&str> = library.cabinets().iter().map(|c| c.key.as_str()).collect();
    known(&q.product, &products, "product")?;
    known(&q.cabinet, &cabinets, "cabinet")?;
    let asked = rehearse::Asked {
        entry_id: String::new(),
        product: q.product,
        cabinet: q.cabinet,
        load: q.load,
        faults,
        surprise: q.surprise,
        seed: q.seed,
        cabinet_seed: q.cabinet_seed,
    };
    let id = rehearse::begin(&v, &site, asked).await?;
    let shared = find(&site, &id).await?;
    shown(&v, &site, &id, &shared).await
}

async fn shown(v: &Visit, site: &Site, id: &str, shared: &Shared) -> Result<Json<RehearsalJson>, Problem> {
    let noted = rehearse::noted(site, id).await?;
    let (front, seed): (Front, u64) = {
        let mut own = lock(shared);
        own.catch_up()?;
        (own.run.front(site.library(), &v.reader)?, own.run.asked.seed)
    };
    let pairs = |list: Vec<(String, String)>| {
        list.into_iter().map(|(name, value)| ShownJson { name, value }).collect::<Vec<_>>()
    };
    let by_hand = front.by_hand.into_iter().map(|(clock, what, value)| (format!("{clock} {what}"), value));
    Ok(Json(RehearsalJson {
        id: id.to_owned(),
        simulated: true,
        seed,
        elapsed_s: front.at_s,
        clock: front.clock,
        over: front.over,
        front: pairs(front.knobs),
        instruments: pairs(front.displays),
        by_hand: pairs(by_hand.collect()),
        waiting: pairs(front.waiting),
        coming: pairs(front.acts.into_iter().map(|a| (a.clock, a.text)).collect()),
        noted: noted.iter().map(reading).collect(),
    }))
}

/// A rehearsal as it stands.
#[utoipa::path(get, path = "/rehearsals/{id}", operation_id = "rehearsal",
    params(("id" = String, Path, description = "Id of the rehearsal")),
    responses(
        (status = 200, description = "The rehearsal", body = RehearsalJson),
        (status = 404, description = "No such rehearsal", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn one(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
) -> Result<Json<RehearsalJson>, Problem> {
    let shared = find(&site, &id).await?;
    shown(&v, &site, &id, &shared).await
}

/// Runs a rehearsal on.
#[utoipa::path(post, path = "/rehearsals/{id}/advance", operation_id = "advance_rehearsal", request_body = AdvanceQuestion,
    params(("id" = String, Path, description = "Id of the rehearsal")),
    responses(
        (status = 200, description = "The rehearsal at its new time", body = RehearsalJson),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such rehearsal", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "It cannot be run on", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn advance(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<AdvanceQuestion>, JsonRejection>,
) -> Result<Json<RehearsalJson>, Problem> {
    let q = super::plans::body(sent)?;
    if q.seconds.is_some_and(|s| !(1.0..=86_400.0).contains(&s)) {
        let detail = "seconds: out of range; allowed: 1 to 86400, or left out".to_owned();
        return Err(Problem::new(StatusCode::UNPROCESSABLE_ENTITY, detail));
    }
    let shared = find(&site, &id).await?;
    let to = q.seconds.map_or_else(|| "next".to_owned(), |s| s.to_string());
    rehearse::advance(&site, &shared, &to).await?;
    shown(&v, &site, &id, &shared).await
}

/// Orders an act; the hand is there a moment later.
#[utoipa::path(post, path = "/rehearsals/{id}/acts", operation_id = "act_in_rehearsal", request_body = ActQuestion,
    params(("id" = String, Path, description = "Id of the rehearsal")),
    responses(
        (status = 200, description = "Ordered", body = Ordered),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such rehearsal", body = Problem, content_type = "application/problem+json"),
        (status = 409, description = "The id was used for something else", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "An act that cannot be done", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn act(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<ActQuestion>, JsonRejection>,
) -> Result<Json<Ordered>, Problem> {
    let q = super::plans::body(sent)?;
    let act: Act = q.act.parse().map_err(|e| Problem::from(AppError::from(e)))?;
    let shared = find(&site, &id).await?;
    let at_s = rehearse::order(&v, &site, &id, &shared, (act, &q.entry_id)).await?;
    Ok(Json(Ordered { at_s }))
}

/// Writes a reading down at the time of the practice clock.
#[utoipa::path(post, path = "/rehearsals/{id}/entries", operation_id = "note_in_rehearsal", request_body = EntryQuestion,
    params(("id" = String, Path, description = "Id of the rehearsal")),
    responses(
        (status = 200, description = "Written down", body = Entered),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such rehearsal", body = Problem, content_type = "application/problem+json"),
        (status = 409, description = "The id was used for something else", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "An entry that cannot be taken", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn enter(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<EntryQuestion>, JsonRejection>,
) -> Result<Json<Entered>, Problem> {
    let q = super::plans::body(sent)?;
    let reading = match job(&q).map_err(refuse)? {
        Job::Reading(kind, value) => (kind, value),
        Job::Note(_) => return Err(refuse("kind: 'note'; allowed: a reading")),
    };
    let entry = rehearse::note_down(&v, &site, &id, reading, &q.entry_id).await?;
    Ok(Json(Entered { entry }))
}

/// The debrief, as a page of its own.
#[utoipa::path(get, path = "/rehearsals/{id}/debrief", operation_id = "debrief",
    params(("id" = String, Path, description = "Id of the rehearsal")),
    responses(
        (status = 200, description = "The debrief", content_type = "text/html"),
        (status = 404, description = "No such rehearsal", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "The batch is still in the cabinet", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn debrief(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
) -> Result<Response, Problem> {
    let document = rehearse::debrief_of(&v, &site, &id).await?;
    Ok(([(CONTENT_TYPE, "text/html; charset=utf-8")], document_page(&document)).into_response())
}

/// A file of the run so far, as a logger or a hand would leave it.
#[utoipa::path(get, path = "/rehearsals/{id}/files/{name}", operation_id = "rehearsal_file",
    params(
        ("id" = String, Path, description = "Id of the rehearsal"),
        ("name" = String, Path, description = "logger.csv, logger.mapping.toml, by_hand.txt, batch.toml or plan.toml")
    ),
    responses(
        (status = 200, description = "The file", content_type = "text/plain"),
        (status = 404, description = "No such rehearsal or file", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn file(
    State(site): State<Site>,
    Path((id, name)): Path<(String, String)>,
) -> Result<Response, Problem> {
    let files = rehearse::files_of(&site, &id).await?;
    let found = files.into_iter().find(|f| f.name == name);
    let missing = || {
        Problem::new(
            StatusCode::NOT_FOUND,
            "file: not known; allowed: logger.csv, by_hand.txt, batch.toml, logger.mapping.toml, plan.toml"
                .to_owned(),
        )
    };
    let found = found.ok_or_else(missing)?;
    Ok(([(CONTENT_TYPE, "text/plain; charset=utf-8")], found.bytes).into_response())
}
