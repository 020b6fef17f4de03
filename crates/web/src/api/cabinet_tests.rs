//! Tests of a cabinet: advice, and what came of their files.

use std::sync::Arc;

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use fallrate_app::cabinet_tests::{advice_json, commission_json, drift_json, evaluate_sent};
use fallrate_app::ports::MemoryFiles;
use fallrate_app::{Language, Units};
use serde::Deserialize;
use utoipa::ToSchema;

use super::plans::body;
use crate::fault::Problem;
use crate::state::Site;

/// One file as text.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct TextFile {
    /// Its name, as the file of tests calls it.
    name: String,
    /// What it holds.
    text: String,
}

/// Files of tests: one that names tests (TOML), the logger files it names, their mappings; with a second file of tests, of a
/// later day, what has changed is answered.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct TestFiles {
    /// The files.
    files: Vec<TextFile>,
}

fn json(text: String) -> Response {
    ([(CONTENT_TYPE, "application/json")], text).into_response()
}

/// Which tests are worth doing on a cabinet of which nothing is measured, the best for its cost first.
#[utoipa::path(get, path = "/cabinet-tests/{key}", operation_id = "cabinetTestAdvice",
    params(("key" = String, Path, description = "Key of a cabinet of the library")),
    responses(
        (status = 200, description = "The tests", content_type = "application/json"),
        (status = 404, description = "No such cabinet", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn advice(State(site): State<Site>, Path(key): Path<String>) -> Result<Response, Problem> {
    if !site.library().cabinets().iter().any(|c| c.key == key) {
        return Err(Problem::new(
            StatusCode::NOT_FOUND,
            format!("cabinet '{key}'; allowed: a key of /cabinets"),
        ));
    }
    let library = Arc::clone(site.library());
    Ok(json(site.planner().run(move |_| advice_json(&library, &key)).await?))
}

/// Figures of a cabinet out of its tests, or what has changed since.
#[utoipa::path(post, path = "/cabinet-tests", operation_id = "cabinetTests", request_body = TestFiles,
    responses(
        (status = 200, description = "Figures with their errors, or probabilities of what has changed", content_type = "application/json"),
        (status = 400, description = "A body that cannot be read", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A file that is refused", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn evaluate(
    State(site): State<Site>,
    sent: Result<Json<TestFiles>, JsonRejection>,
) -> Result<Response, Problem> {
    let sent = body(sent)?;
    let files = MemoryFiles(sent.files.into_iter().map(|f| (f.name, f.text.into_bytes())).collect());
    let library = Arc::clone(site.library());
    let reader = site.reader(Language::English, Units::Si);
    let made = site.planner().run(move |_| {
        let found = evaluate_sent(&files, &library, &reader)?;
        match &found.drifted {
            Some(d) => drift_json(d),
            None => commission_json(&found.evaluated),
        }
    });
    Ok(json(made.await?))
}
