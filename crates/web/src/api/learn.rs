//! Learning from measurements.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::extract::rejection::JsonRejection;
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use fallrate_app::learning::{
    IsothermAsked, MoveAsked, ProductText, ThinAsked, fit_trial_file, isotherm, isotherm_json, learned_json,
    move_json, move_text, thin_json, thin_layer, trial_json,
};
use fallrate_app::ports::MemoryFiles;
use fallrate_app::quantities::{RelativeHumidity, Temperature};
use fallrate_app::{AppError, Change, Library};
use serde::Deserialize;
use utoipa::ToSchema;

use super::plans::body;
use crate::fault::Problem;
use crate::keep::stamp;
use crate::learn::{WorkFault, decision, make, trial_of, work_out};
use crate::look::Visit;
use crate::state::Site;

/// Pairs of moisture and water activity.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PairsQuestion {
    /// Table: headings with units, then a line for each sample.
    #[schema(max_length = 100_000)]
    table: String,
    /// Key of a product.
    product: Option<String>,
    /// Target water activity, above 0 and below 1; the product's where none is given.
    target: Option<f64>,
    /// Temperature of all pairs where the table has none, degC.
    temperature_c: Option<f64>,
}

/// Drying curves.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CurvesQuestion {
    /// Table: headings with units, then a line for each reading.
    #[schema(max_length = 100_000)]
    table: String,
    /// Key of a product, whose isotherm says what the air would leave.
    product: Option<String>,
    /// Air, degC, where the table has none.
    air_c: Option<f64>,
    /// Relative humidity, fraction, where the table has none.
    relative_humidity: Option<f64>,
}

/// Product trials.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct TrialsQuestion {
    /// Text of the trial file.
    #[schema(max_length = 100_000)]
    trial: String,
    /// Texts of the files it names: plans, weighings, air.
    files: BTreeMap<String, String>,
}

/// A recipe to move.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct MoveQuestion {
    /// Text of a plan file.
    #[schema(max_length = 100_000)]
    plan: String,
    /// Key of the cabinet to go to; none stays.
    cabinet: Option<String>,
    /// What is different there, as `room.altitude=1600 m`.
    #[serde(default)]
    changes: Vec<String>,
}

/// A decision on a lesson.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct DecisionSent {
    /// "approve", "turn_down" or "take_back".
    what: String,
    /// Number of the lesson; of the ledger's entry to take back.
    number: usize,
    /// Why; needed but for approving.
    #[serde(default)]
    reason: String,
    /// The sender's id of the decision, 8 to 80 letters, digits and hyphens: sent twice, it is made once.
    #[serde(default)]
    id: String,
}

fn json(text: String) -> Response {
    ([(CONTENT_TYPE, "application/json")], text).into_response()
}

fn wrong(e: &AppError) -> Problem {
    Problem::new(StatusCode::UNPROCESSABLE_ENTITY, e.to_string())
}

async fn worked(
    work: impl FnOnce() -> Result<String, AppError> + Send + 'static,
) -> Result<Response, Problem> {
    let given_up = |_| Problem::new(StatusCode::SERVICE_UNAVAILABLE, "given up".to_owned());
    let found = tokio::task::spawn_blocking(work).await.map_err(given_up)?;
    found.map(json).map_err(|e| wrong(&e))
}

fn product(library: &Library, key: Option<&String>) -> Result<Option<ProductText>, AppError> {
    key.map(|k| ProductText::read(library, &MemoryFiles::default(), k)).transpose()
}

/// Fits isotherms and translates a target.
#[utoipa::path(
    post, path = "/isotherms", operation_id = "isotherm", request_body = PairsQuestion,
    responses(
        (status = 200, description = "Forms, ranked, and the target with its interval", body = Object, content_type = "application/json"),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A table that cannot be used, with the reason", body = Problem, content_type = "application/problem+json"),
        (status = 503, description = "Given up", body = Problem, content_type = "application/problem+json")
    )
)]
pub(super) async fn pairs(
    State(site): State<Site>,
    sent: Result<Json<PairsQuestion>, JsonRejection>,
) -> Result<Response, Problem> {
    let q = body(sent)?;
    let library = Arc::clone(site.library());
    worked(move || {
        let asked = IsothermAsked {
            product: product(&library, q.product.as_ref())?,
            target: q.target.filter(|a| *a > 0.0 && *a < 1.0),
            temperature: q.temperature_c.map(Temperature::from_celsius),
            ..IsothermAsked::default()
        };
        Ok(isotherm_json(&isotherm("table", q.table.as_bytes(), asked)?))
    })
    .await
}

/// Fits thin-layer equations.
#[utoipa::path(
    post, path = "/drying-curves", operation_id = "drying_curves", request_body = CurvesQuestion,
    responses(
        (status = 200, description = "Equations, ranked, each with its warnings", body = Object, content_type = "application/json"),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A table that cannot be used, with the reason", body = Problem, content_type = "application/problem+json"),
        (status = 503, description = "Given up", body = Problem, content_type = "application/problem+json")
    )
)]
pub(super) async fn curves(
    State(site): State<Site>,
    sent: Result<Json<CurvesQuestion>, JsonRejection>,
) -> Result<Response, Problem> {
    let q = body(sent)?;
    let library = Arc::clone(site.library());
    worked(move || {
        let asked = ThinAsked {
            product: product(&library, q.product.as_ref())?.map(|p| p.product),
            air: q.air_c.map(Temperature::from_celsius),
            humidity: q.relative_humidity.map(RelativeHumidity::from_fraction),
            ..ThinAsked::default()
        };
        Ok(thin_json(&thin_layer("table", q.table.as_bytes(), &asked)?))
    })
    .await
}

/// Fits the full model to product trials.
#[utoipa::path(
    post, path = "/trials", operation_id = "trials", request_body = TrialsQuestion,
    responses(
        (status = 200, description = "Figures, findings, and what the data cannot tell", body = Object, content_type = "application/json"),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "Trials that cannot be used, with the reason", body = Problem, content_type = "application/problem+json"),
        (status = 503, description = "Given up", body = Problem, content_type = "application/problem+json")
    )
)]
pub(super) async fn trials(
    State(site): State<Site>,
    sent: Result<Json<TrialsQuestion>, JsonRejection>,
) -> Result<Response, Problem> {
    let q = body(sent)?;
    let library = Arc::clone(site.library());
    worked(move || {
        let named = q.files.into_iter().chain([("trial.toml".to_owned(), q.trial)]);
        Ok(trial_json(&fit_trial_file(trial_of(&library, named)?, &|_| true)?))
    })
    .await
}

/// Moves a recipe.
#[utoipa::path(
    post, path = "/moves", operation_id = "move", request_body = MoveQuestion,
    responses(
        (status = 200, description = "What differs there, and the plan for there: a forecast", body = Object, content_type = "application/json"),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A plan file that is wrong, or no plan there", body = Problem, content_type = "application/problem+json"),
        (status = 503, description = "Given up", body = Problem, content_type = "application/problem+json")
    )
)]
pub(super) async fn moves(
    State(site): State<Site>,
    sent: Result<Json<MoveQuestion>, JsonRejection>,
) -> Result<Response, Problem> {
    let q = body(sent)?;
    let library = Arc::clone(site.library());
    worked(move || {
        let changes = q.changes.iter().map(|c| Change::parse(c)).collect::<Result<_, _>>()?;
        let asked = MoveAsked { cabinet: q.cabinet, changes, draws: 0 };
        Ok(move_json(&move_text(&library, ("plan", &q.plan), &asked, &|_| true)?))
    })
    .await
}

fn problem(e: &WorkFault) -> Problem {
    match e {
        WorkFault::App(e) => wrong(e),
        WorkFault::Store(e) => Problem::new(StatusCode::SERVICE_UNAVAILABLE, e.to_string()),
        WorkFault::GivenUp => Problem::new(StatusCode::SERVICE_UNAVAILABLE, "given up".to_owned()),
    }
}

/// What closed batches taught.
#[utoipa::path(
    get, path = "/lessons", operation_id = "lessons",
    responses(
        (status = 200, description = "Proposals, the ledger, and how often bands held", body = Object, content_type = "application/json"),
        (status = 503, description = "The records cannot be read now", body = Problem, content_type = "application/problem+json")
    )
)]
pub(super) async fn lessons(State(site): State<Site>) -> Result<Response, Problem> {
    work_out(&site).await.map(|l| json(learned_json(&l))).map_err(|e| problem(&e))
}

/// Approves, turns down or takes back.
#[utoipa::path(
    post, path = "/lessons", operation_id = "decide", request_body = DecisionSent,
    responses(
        (status = 200, description = "What stands now", body = Object, content_type = "application/json"),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 409, description = "The plant is not set up", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A decision that cannot be made, with the reason", body = Problem, content_type = "application/problem+json"),
        (status = 503, description = "The records cannot be written now", body = Problem, content_type = "application/problem+json")
    )
)]
pub(super) async fn decide(
    v: Visit,
    State(site): State<Site>,
    sent: Result<Json<DecisionSent>, JsonRejection>,
) -> Result<Response, Problem> {
    let sent = body(sent)?;
    let unread =
        |e: fallrate_app::batches::StoreError| Problem::new(StatusCode::SERVICE_UNAVAILABLE, e.to_string());
    let plant = site.desk().plant().await.map_err(unread)?.ok_or_else(|| {
        Problem::new(StatusCode::CONFLICT, "plant: not set up; allowed: after /setup".to_owned())
    })?;
    let made = decision(&sent.what, sent.number, &sent.reason).ok_or_else(|| {
        let detail = format!(
            "decision '{}' with reason '{}'; allowed: approve, turn_down or take_back, the last two with a reason",
            sent.what, sent.reason
        );
        Problem::new(StatusCode::UNPROCESSABLE_ENTITY, detail)
    })?;
    make(&site, stamp(&plant, &v, &sent.id), made).await.map_err(|e| problem(&e))?;
    lessons(State(site)).await
}
