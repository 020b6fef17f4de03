//! The proof: records opened, fed with files and facts, judged, signed, printed, verified.

use axum::Json;
use axum::Router;
use axum::body::Bytes;
use axum::extract::rejection::JsonRejection;
use axum::extract::{DefaultBodyLimit, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use fallrate_app::AppError;
use fallrate_app::batches::{Records, Stamp};
use fallrate_app::proof::desk::{
    self, ActionEntry, Edit, InterruptionEntry, Kept, Look, LookAt, Paper, SuspectEntry, TestEntry,
    channels_seen, questions_seen, reading_lines,
};
use fallrate_app::proof::record::Amend;
use fallrate_app::proof::{NumberedAnswer, judged_json};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::{OpenApi, ToSchema};

use super::plans::body;
use super::sender::{plant, stamped};
use crate::fault::Problem;
use crate::look::Visit;
use crate::proof::{SignOutcome, SignatureAsked, download, pdf_bytes, sign, written};
use crate::state::Site;

#[derive(OpenApi)]
#[openapi(
    paths(
        open,
        standing,
        verdict,
        facts,
        state,
        send_file,
        read_file,
        judge,
        enter,
        signature,
        verification
    ),
    components(schemas(Standing, Opened, Question, Channel, Seen, EntryOf))
)]
pub(super) struct Described;

pub(super) fn routes() -> Router<Site> {
    let largest = DefaultBodyLimit::max(crate::proof::LARGEST_FILE);
    Router::new()
        .route("/proof", post(open))
        .route("/proof/{id}", get(standing))
        .route("/proof/{id}/verdict", get(verdict).post(judge))
        .route("/proof/{id}/facts", get(facts).post(state))
        .route("/proof/{id}/files", post(send_file).layer(largest))
        .route("/proof/{id}/files/{sha256}", post(read_file))
        .route("/proof/{id}/entries", post(enter))
        .route("/proof/{id}/signatures", post(signature))
        .route("/proof/{id}/verification", get(verification))
        .route("/proof/{id}/record.pdf", get(pdf))
        .route("/proof/{id}/record.html", get(html))
        .route("/proof/{id}/record.zip", get(zip))
}

fn nowhere(id: &str) -> Problem {
    let shown: String = id.chars().take(60).collect();
    Problem::new(
        StatusCode::NOT_FOUND,
        format!("record: '{shown}' is not known; allowed: those of /api/v1/batches"),
    )
}

async fn change<T: Send + 'static>(
    site: &Site,
    id: &str,
    work: impl FnOnce(&mut dyn Records, &str) -> Result<Option<T>, AppError> + Send + 'static,
) -> Result<T, Problem> {
    let key = id.to_owned();
    site.desk().write_app(move |r| work(r, &key)).await?.ok_or_else(|| nowhere(id))
}

/// Opens a record.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct OpenQuestion {
    /// Id of the sender's own: sent again with the same id it is opened once.
    #[schema(min_length = 8, max_length = 80)]
    entry_id: String,
    /// The batch file, TOML.
    batch_file: String,
}

/// A record that was opened.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Opened {
    /// Id of the batch.
    id: String,
}

/// Opens a record from a batch file, which is kept.
#[utoipa::path(post, path = "/proof", operation_id = "open_record", request_body = OpenQuestion,
    responses(
        (status = 200, description = "Opened, or opened before with the same id", body = Opened),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A batch file that is wrong somewhere", body = Problem, content_type = "application/problem+json")
    ))]
async fn open(
    v: Visit,
    State(site): State<Site>,
    sent: Result<Json<OpenQuestion>, JsonRejection>,
) -> Result<Json<Opened>, Problem> {
    let q = body(sent)?;
    let stamp = stamped(&v, &plant(&site).await?, &q.entry_id)?;
    let work =
        move |r: &mut dyn Records| desk::open_from_text(r, &stamp, "batch.toml", q.batch_file.as_bytes());
    Ok(Json(Opened { id: site.desk().write_app(work).await?.id }))
}

/// Where a record stands.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Standing {
    /// Id of the batch.
    id: String,
    /// Lot.
    lot: String,
    /// Product.
    product: String,
    /// What the floor does now: "go_on", "wait", "hold" or "call". Not a verdict.
    #[schema(value_type = String)]
    floor: desk::Floor,
    /// Why, in the reader's language.
    why: String,
    /// The latest recorded verdict in words; empty where there is none.
    verdict: String,
    /// Whether something was entered since that it may not fit.
    outdated: bool,
    /// Readings are invented or simulated: practice, never proof.
    practice: bool,
    /// What must be supplied, in the reader's language.
    missing: Vec<String>,
    /// Number of entries.
    entries: u64,
    /// Head of the chain.
    head: String,
    /// Names of the kept files.
    files: Vec<String>,
    /// Signatures: meaning and name.
    signatures: Vec<String>,
}

/// Where a record stands: floor word, verdict, what is missing.
#[utoipa::path(get, path = "/proof/{id}", operation_id = "record",
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "The record", body = Standing),
        (status = 404, description = "No such record", body = Problem, content_type = "application/problem+json")
    ))]
async fn standing(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
) -> Result<Json<Standing>, Problem> {
    let key = id.clone();
    let found = site.desk().read_app(move |r| desk::sheets(r, &key)).await?;
    let s = found.ok_or_else(|| nowhere(&id))?;
    let outlook = desk::outlook(&s.view, &v.reader);
    let identity = s.view.identity.as_ref().map(|i| &i.value);
    Ok(Json(Standing {
        lot: identity.map_or_else(String::new, |i| i.lot.clone()),
        product: identity.map_or_else(String::new, |i| i.product.clone()),
        practice: identity.is_none_or(|i| i.realm != fallrate_app::batches::RecordRealm::Proof),
        floor: outlook.floor,
        why: outlook.why,
        verdict: outlook.verdict,
        outdated: outlook.outdated,
        missing: s.to_supply(&v.reader),
        entries: s.view.last_n,
        head: s.view.head.to_string(),
        files: s.view.files.iter().map(|f| f.value.name.clone()).collect(),
        signatures: s
            .view
            .signatures
            .iter()
            .map(|x| format!("{:?}: {}", x.kept.value.meaning, x.kept.value.name).to_lowercase())
            .collect(),
        id,
    }))
}

/// Everything that judging the kept bytes finds now. The recorded verdict stays what it is.
#[utoipa::path(get, path = "/proof/{id}/verdict", operation_id = "verdict",
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "What was found, position by position, minute by minute", body = Object, content_type = "application/json"),
        (status = 404, description = "No such record", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "Not judged for want of a claim, facts or an answer", body = Problem, content_type = "application/problem+json")
    ))]
async fn verdict(State(site): State<Site>, Path(id): Path<String>) -> Result<Json<Value>, Problem> {
    let key = id.clone();
    let found = site.desk().read_app(move |r| desk::sheets(r, &key)).await?;
    let judged = found.ok_or_else(|| nowhere(&id))?.judged?;
    let text = judged_json(&judged.judged)?;
    let value = serde_json::from_str(&text)
        .map_err(|e| Problem::new(StatusCode::INTERNAL_SERVER_ERROR, e.to_string()))?;
    Ok(Json(value))
}

/// An act without more to say than its id.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ActQuestion {
    /// Id of the sender's own.
    #[schema(min_length = 8, max_length = 80)]
    entry_id: String,
}

/// Judges the record from its kept bytes and adds the verdict after those that are there.
#[utoipa::path(post, path = "/proof/{id}/verdict", operation_id = "judge", request_body = ActQuestion,
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "Where the record stands now", body = Standing),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such record", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "It cannot be judged yet", body = Problem, content_type = "application/problem+json")
    ))]
async fn judge(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<ActQuestion>, JsonRejection>,
) -> Result<Json<Standing>, Problem> {
    let q = body(sent)?;
    let stamp = stamped(&v, &plant(&site).await?, &q.entry_id)?;
    change(&site, &id, move |r, id| desk::judge_and_enter(r, id, &stamp)).await?;
    standing(v, State(site), Path(id)).await
}

/// What is claimed and stated.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct FactsJson {
    /// The batch file as it stands, TOML.
    batch_file: String,
    /// Number of the last entry.
    entries: u64,
}

/// What is claimed and stated, as a batch file.
#[utoipa::path(get, path = "/proof/{id}/facts", operation_id = "facts",
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "The batch file", body = FactsJson),
        (status = 404, description = "No such record", body = Problem, content_type = "application/problem+json")
    ))]
async fn facts(State(site): State<Site>, Path(id): Path<String>) -> Result<Json<FactsJson>, Problem> {
    let key = id.clone();
    let found = site.desk().read_app(move |r| desk::statement(r, &key)).await?;
    let s = found.ok_or_else(|| nowhere(&id))?;
    Ok(Json(FactsJson { batch_file: s.toml, entries: s.last_n }))
}

/// A batch file that is to stand.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FactsQuestion {
    /// Id of the sender's own.
    #[schema(min_length = 8, max_length = 80)]
    entry_id: String,
    /// The batch file, TOML.
    batch_file: String,
    /// Why facts are stated anew.
    #[serde(default)]
    reason: String,
}

/// States facts anew: only what differs is entered.
#[utoipa::path(post, path = "/proof/{id}/facts", operation_id = "state_facts", request_body = FactsQuestion,
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "Where the record stands now", body = Standing),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such record", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A batch file that is wrong somewhere, each place named", body = Problem, content_type = "application/problem+json")
    ))]
async fn state(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<FactsQuestion>, JsonRejection>,
) -> Result<Json<Standing>, Problem> {
    let q = body(sent)?;
    let stamp = stamped(&v, &plant(&site).await?, &q.entry_id)?;
    change(&site, &id, move |r, id| desk::save_statement(r, id, &stamp, &q.reason, &q.batch_file)).await?;
    standing(v, State(site), Path(id)).await
}

/// A question about a file.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Question {
    /// Number, from 1.
    number: usize,
    /// The question, in the reader's language.
    words: String,
    /// What a value becomes under each reading, in order; empty where the answer is free.
    readings: Vec<String>,
}

/// A column of a file.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Channel {
    /// Column, from 1.
    column: u32,
    /// Heading.
    heading: String,
    /// Word of what it is taken for.
    role: String,
    /// Unit.
    unit: String,
    /// How sure, 0 to 1; none where it was confirmed.
    confidence: Option<f64>,
}

/// A file as it is understood.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Seen {
    /// SHA-256 of its bytes, which are kept.
    sha256: String,
    /// What must be answered first.
    questions: Vec<Question>,
    /// Columns.
    channels: Vec<Channel>,
    /// The mapping as it stands, TOML; send it back with the answers.
    mapping: String,
    /// Name of the kept mapping that was taken up.
    remembered: Option<String>,
    /// What was read, line by line, where nothing is open.
    read: Vec<String>,
    /// Everything that was wrong with it.
    diagnostics: Vec<String>,
    /// Why it was refused.
    refused: Option<String>,
    /// The entry that keeps it.
    entry: Option<u64>,
}

fn seen(v: &Visit, look: &Look, entry: Option<u64>) -> Seen {
    let (read, diagnostics) =
        look.reading.as_ref().map(|x| reading_lines(&x.log, &v.reader)).unwrap_or_default();
    Seen {
        sha256: look.sha256.clone(),
        questions: questions_seen(look, &v.reader)
            .into_iter()
            .map(|q| Question {
                number: q.number,
                words: q.words,
                readings: q.choices.into_iter().map(|(shown, _)| shown).collect(),
            })
            .collect(),
        channels: channels_seen(look, &v.reader)
            .into_iter()
            .map(|c| Channel {
                column: c.edit.column,
                heading: c.edit.heading,
                role: c.edit.role,
                unit: c.edit.unit,
                confidence: c.confidence,
            })
            .collect(),
        mapping: look.mapping_toml().unwrap_or_default(),
        remembered: look.remembered.as_ref().map(|m| m.title.clone()),
        read,
        diagnostics,
        refused: look.refused.clone(),
        entry: entry.or(look.entry),
    }
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct FileName {
    name: String,
}

/// Sends the bytes of a file; they are kept as they are. It counts once it is read with a mapping.
#[utoipa::path(post, path = "/proof/{id}/files", operation_id = "send_file",
    request_body(content = Vec<u8>, content_type = "application/octet-stream"),
    params(
        ("id" = String, Path, description = "Id of the batch"),
        ("name" = String, Query, description = "Name of the file, without folders")
    ),
    responses(
        (status = 200, description = "What was understood and what is asked", body = Seen),
        (status = 404, description = "No such record", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Larger than 16 MB", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "No bytes", body = Problem, content_type = "application/problem+json")
    ))]
async fn send_file(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Query(q): Query<FileName>,
    bytes: Bytes,
) -> Result<Json<Seen>, Problem> {
    if bytes.is_empty() {
        return Err(Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "file: no bytes; allowed: 1 or more".to_owned(),
        ));
    }
    let look = change(&site, &id, move |r, id| {
        if desk::view(r, id)?.is_none() {
            return Ok(None);
        }
        let sha256 = desk::put(r, &bytes)?.to_string();
        desk::look(
            r,
            &LookAt { id: id.to_owned(), sha256, name: q.name, mapping: None, edit: Edit::default() },
        )
    })
    .await?;
    Ok(Json(seen(&v, &look, None)))
}

/// An answer to a question about a file.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct AnswerJson {
    /// Number of the question.
    question: usize,
    /// Number of the reading, from 1, or the answer in words.
    answer: String,
}

/// How a file is to be read.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ReadQuestion {
    /// Id of the sender's own.
    #[schema(min_length = 8, max_length = 80)]
    entry_id: String,
    /// Name of the file.
    name: String,
    /// The mapping, TOML; left out: one that is kept, or none.
    mapping: Option<String>,
    /// Answers to the questions.
    #[serde(default)]
    answers: Vec<AnswerJson>,
    /// Name under which the mapping is kept for the next file; empty keeps none.
    #[serde(default)]
    keep_mapping_as: String,
    /// Keep the file in the record; else it is only looked at.
    #[serde(default)]
    keep: bool,
    /// Why the way it is read is corrected, where the record holds it already.
    #[serde(default)]
    reason: String,
}

/// Reads a file that was sent, with a mapping and answers, and keeps it in the record where asked to.
#[utoipa::path(post, path = "/proof/{id}/files/{sha256}", operation_id = "read_file", request_body = ReadQuestion,
    params(
        ("id" = String, Path, description = "Id of the batch"),
        ("sha256" = String, Path, description = "SHA-256 of the file's bytes")
    ),
    responses(
        (status = 200, description = "What was read; `entry` where it is kept", body = Seen),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such record or file", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "Questions are open, or the file is refused", body = Problem, content_type = "application/problem+json")
    ))]
async fn read_file(
    v: Visit,
    State(site): State<Site>,
    Path((id, sha256)): Path<(String, String)>,
    sent: Result<Json<ReadQuestion>, JsonRejection>,
) -> Result<Json<Seen>, Problem> {
    let q = body(sent)?;
    let answers = q.answers.into_iter().filter(|a| a.question > 0);
    let answers = answers.map(|a| NumberedAnswer { question: a.question, answer: a.answer }).collect();
    let edit = Edit { answers, title: q.keep_mapping_as, ..Edit::default() };
    let at = LookAt { id: id.clone(), sha256, name: q.name, mapping: q.mapping, edit };
    if !q.keep {
        let look = change(&site, &id, move |r, _| desk::look(r, &at)).await?;
        return Ok(Json(seen(&v, &look, None)));
    }
    let stamp = stamped(&v, &plant(&site).await?, &q.entry_id)?;
    let (again, reason) = (at.clone(), q.reason);
    match change(&site, &id, move |r, _| desk::keep_readings(r, &stamp, &at, &reason)).await? {
        Kept::Open(look) => Err(look.as_error().into()),
        Kept::Entry(n) | Kept::WasThere(n) => {
            let look = change(&site, &id, move |r, _| desk::look(r, &again)).await?;
            Ok(Json(seen(&v, &look, Some(n))))
        }
    }
}

/// One entry.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum EntryOf {
    /// A test result.
    Tested {
        /// "water_activity", "moisture_wet_basis_percent", "ph" and so on.
        what: String,
        /// Result, in the unit of the test.
        value: String,
        /// Tolerance; empty where unknown.
        #[serde(default)]
        tolerance: String,
        /// Which pieces.
        sample: String,
        /// Meter or laboratory.
        instrument: String,
        /// Day of its last calibration.
        #[serde(default)]
        calibrated_on: String,
        /// When; empty is now.
        #[serde(default)]
        at: String,
    },
    /// An interruption.
    Interrupted {
        /// "power cut", "door open", "fan stopped", "heater failed", "tray out".
        what: String,
        /// When it began, at the plant's clock.
        from: String,
        /// When it ended; empty where it did not or is not known.
        #[serde(default)]
        until: String,
        /// Words.
        #[serde(default)]
        note: String,
    },
    /// An answer to suspect readings.
    SuspectAnswered {
        /// Channel.
        channel: String,
        /// First instant, ns since 1970.
        from_ns: i64,
        /// Last instant.
        to_ns: i64,
        /// Whether they count.
        counts: bool,
        /// Why.
        reason: String,
    },
    /// A part of a corrective action.
    ActionTaken {
        /// The limit missed, or "criterion".
        deviation: String,
        /// "cause", "control", "prevention" or "disposition".
        part: String,
        /// What was found or done.
        text: String,
        /// Quantity held with its unit, with the disposition.
        #[serde(default)]
        held: String,
        /// "release", "rework", "divert" or "destroy", with the disposition.
        #[serde(default)]
        decision: String,
    },
    /// A correction of an entry.
    Corrected {
        /// Number of the entry.
        entry: u64,
        /// Fields by their names with their new values.
        fields: std::collections::BTreeMap<String, String>,
        /// Why.
        reason: String,
    },
    /// A withdrawal of an entry.
    Withdrawn {
        /// Number of the entry.
        entry: u64,
        /// Why.
        reason: String,
    },
}

/// An entry with the sender's id.
#[derive(Debug, Deserialize, ToSchema)]
pub(super) struct EnterQuestion {
    /// Id of the sender's own.
    #[schema(min_length = 8, max_length = 80)]
    entry_id: String,
    /// What is entered.
    entry: EntryOf,
}

fn added(r: &mut dyn Records, id: &str, s: &Stamp, e: EntryOf) -> Result<Option<u64>, AppError> {
    match e {
        EntryOf::Tested { what, value, tolerance, sample, instrument, calibrated_on, at } => {
            desk::enter_test(
                r,
                id,
                s,
                &TestEntry { what, value, tolerance, sample, instrument, calibrated_on, at },
            )
        }
        EntryOf::Interrupted { what, from, until, note } => {
            desk::enter_interruption(r, id, s, &InterruptionEntry { kind: what, from, until, note })
        }
        EntryOf::SuspectAnswered { channel, from_ns, to_ns, counts, reason } => {
            desk::enter_suspect(r, id, s, &SuspectEntry { channel, from_ns, to_ns, counts, reason })
        }
        EntryOf::ActionTaken { deviation, part, text, held, decision } => desk::enter_action(
            r,
            id,
            s,
            &ActionEntry { deviation, part, text, held, decision },
            fallrate_app::Units::Si,
        ),
        EntryOf::Corrected { entry, fields, reason } => {
            let sets: Vec<Amend> = fields.into_iter().map(|(path, value)| Amend { path, value }).collect();
            desk::correct(r, id, s, (entry, &sets, &reason))
        }
        EntryOf::Withdrawn { entry, reason } => desk::withdraw(r, id, s, (entry, &reason)),
    }
}

/// Adds an entry: a test, an interruption, an answer, a corrective action, a correction, a withdrawal.
#[utoipa::path(post, path = "/proof/{id}/entries", operation_id = "enter_proof", request_body = EnterQuestion,
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "Where the record stands now", body = Standing),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such record", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "An entry that cannot be taken", body = Problem, content_type = "application/problem+json")
    ))]
async fn enter(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<EnterQuestion>, JsonRejection>,
) -> Result<Json<Standing>, Problem> {
    let q = body(sent)?;
    let stamp = stamped(&v, &plant(&site).await?, &q.entry_id)?;
    change(&site, &id, move |r, id| added(r, id, &stamp, q.entry)).await?;
    standing(v, State(site), Path(id)).await
}

/// A signature.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SignQuestion {
    /// Id of the sender's own.
    #[schema(min_length = 8, max_length = 80)]
    entry_id: String,
    /// "monitored", "verified", "reviewed", "released" or "approved".
    meaning: String,
    /// Head of the chain as it was seen.
    head: String,
    /// Training relied on.
    training: Option<String>,
    /// Why the person who reviews made entries as well.
    same_person_reason: Option<String>,
    /// The password again, where people sign in.
    #[serde(default)]
    secret: String,
}

/// Signs what was seen.
#[utoipa::path(post, path = "/proof/{id}/signatures", operation_id = "sign", request_body = SignQuestion,
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "Where the record stands now", body = Standing),
        (status = 400, description = "Not JSON, or no meaning of that name", body = Problem, content_type = "application/problem+json"),
        (status = 401, description = "The password is not right", body = Problem, content_type = "application/problem+json"),
        (status = 403, description = "The role may not sign this", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such record", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A rule stands against it", body = Problem, content_type = "application/problem+json"),
        (status = 429, description = "Too many attempts", body = Problem, content_type = "application/problem+json")
    ))]
async fn signature(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<SignQuestion>, JsonRejection>,
) -> Result<Json<Standing>, Problem> {
    let q = body(sent)?;
    stamped(&v, &plant(&site).await?, &q.entry_id)?;
    let asked = SignatureAsked {
        id: id.clone(),
        meaning: q.meaning,
        head: q.head,
        training: q.training,
        same_person_reason: q.same_person_reason,
        secret: q.secret,
        entry_id: q.entry_id,
    };
    match sign(&v, &site, asked).await {
        SignOutcome::Entry(_) => standing(v, State(site), Path(id)).await,
        SignOutcome::Nowhere => Err(nowhere(&id)),
        SignOutcome::Rule(e) => Err(e.into()),
        SignOutcome::Refused(status) => Err(Problem::new(
            status,
            "signature: refused; allowed: as the role and the password allow".to_owned(),
        )),
        SignOutcome::Answer(answer) => Err(Problem::new(
            answer.status(),
            "signature: the records or the plant's settings are missing".to_owned(),
        )),
    }
}

/// What verifying found.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Verification {
    /// Whether nothing is wrong.
    intact: bool,
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Head {
    head: String,
}

/// Verifies the chain, the kept files, and a printed head where one is given.
#[utoipa::path(get, path = "/proof/{id}/verification", operation_id = "verify",
    params(
        ("id" = String, Path, description = "Id of the batch"),
        ("head" = Option<String>, Query, description = "Head as printed, 16 digits or more")
    ),
    responses(
        (status = 200, description = "What was found", body = Verification),
        (status = 404, description = "No such record", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A head that is none", body = Problem, content_type = "application/problem+json")
    ))]
async fn verification(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Query(q): Query<Head>,
) -> Result<Json<Verification>, Problem> {
    let (key, reader) = (id.clone(), std::sync::Arc::clone(&v.reader));
    let work = move |r: &mut dyn Records| {
        let head = Some(q.head.trim()).filter(|h| !h.is_empty());
        desk::paper(r, &key, Paper::Verified(head), &reader)
    };
    let found = site.desk().read_app(work).await?.ok_or_else(|| nowhere(&id))?;
    Ok(Json(Verification { intact: found.intact }))
}

async fn pdf(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Result<Response, Problem> {
    let w = written(&v, &site, &id).await?.ok_or_else(|| nowhere(&id))?;
    let name = format!("{}.pdf", w.name);
    Ok(download("application/pdf", &name, pdf_bytes(w).await?))
}

async fn html(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Result<Response, Problem> {
    let w = written(&v, &site, &id).await?.ok_or_else(|| nowhere(&id))?;
    let page = fallrate_app::document_page(&w.document);
    Ok(download("text/html; charset=utf-8", &format!("{}.html", w.name), page.into_bytes()))
}

async fn zip(State(site): State<Site>, Path(id): Path<String>) -> Result<Response, Problem> {
    let key = id.clone();
    let bytes =
        site.desk().read_app(move |r| desk::record_zip(r, &key)).await?.ok_or_else(|| nowhere(&id))?;
    Ok(download("application/zip", &format!("record-{id}.zip"), bytes).into_response())
}
