//! Plans and comparisons.

use axum::Json;
use axum::extract::State;
use axum::extract::rejection::JsonRejection;
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use fallrate_app::{Language, Units, compare_page, plan_report};
use serde::Deserialize;
use utoipa::ToSchema;

use super::shelf::PageJson;
use crate::fault::Problem;
use crate::look::Visit;
use crate::state::Site;

/// Most draws of one request.
const MOST_DRAWS: u16 = 2000;

/// Language of the texts.
#[derive(Clone, Copy, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub(crate) enum LanguageCode {
    /// English.
    En,
    /// Spanish.
    Es,
}

/// Units of the texts; numbers are always SI.
#[derive(Clone, Copy, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub(crate) enum UnitsCode {
    /// °C, kg, mm.
    Si,
    /// °F, lb, in.
    Us,
}

/// What to plan.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PlanQuestion {
    /// Text of a plan file (TOML); product and cabinet are keys of the library.
    #[schema(max_length = 100_000)]
    plan: String,
    /// Draws behind early, late and the band; 0 leaves them out.
    #[serde(default)]
    #[schema(maximum = 2000)]
    draws: u16,
    /// Language of the texts.
    language: Option<LanguageCode>,
    /// Units of the texts.
    units: Option<UnitsCode>,
}

/// Two plans.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CompareQuestion {
    /// Text of the first plan file, A.
    #[schema(max_length = 100_000)]
    first: String,
    /// Text of the second, B.
    #[schema(max_length = 100_000)]
    second: String,
    /// Draws for the dials; 0 takes the nominal run.
    #[serde(default)]
    #[schema(maximum = 2000)]
    draws: u16,
    /// Language of the texts.
    language: Option<LanguageCode>,
    /// Units of the texts.
    units: Option<UnitsCode>,
}

fn wanted(v: &Visit, language: Option<LanguageCode>, units: Option<UnitsCode>) -> (Language, Units) {
    let language = match language {
        Some(LanguageCode::En) => Language::English,
        Some(LanguageCode::Es) => Language::Spanish,
        None => v.language,
    };
    let units = match units {
        Some(UnitsCode::Si) => Units::Si,
        Some(UnitsCode::Us) => Units::Us,
        None => v.units,
    };
    (language, units)
}

fn few_enough(draws: u16) -> Result<usize, Problem> {
    if draws > MOST_DRAWS {
        let detail = format!("draws: {draws}; allowed: 0 to {MOST_DRAWS}");
        return Err(Problem::new(StatusCode::UNPROCESSABLE_ENTITY, detail));
    }
    Ok(usize::from(draws))
}

/// What was sent, or a problem that says what is wrong with it.
pub(super) fn body<T>(sent: Result<Json<T>, JsonRejection>) -> Result<T, Problem> {
    sent.map(|Json(t)| t).map_err(|e| Problem::new(e.status(), e.body_text()))
}

/// Plans a batch.
#[utoipa::path(
    post,
    path = "/plans",
    operation_id = "plan",
    request_body = PlanQuestion,
    responses(
        (status = 200, description = "The plan: a forecast, no evidence", body = Object, content_type = "application/json"),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such product or cabinet", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A plan file that is wrong somewhere, or a batch that has no plan", body = Problem, content_type = "application/problem+json"),
        (status = 503, description = "Given up", body = Problem, content_type = "application/problem+json")
    )
)]
pub(super) async fn plan(
    v: Visit,
    State(site): State<Site>,
    sent: Result<Json<PlanQuestion>, JsonRejection>,
) -> Result<Response, Problem> {
    let q = body(sent)?;
    let (language, units) = wanted(&v, q.language, q.units);
    let planned = site.planner().plan(&q.plan, few_enough(q.draws)?).await?;
    let text = plan_report(&planned, site.library(), &site.reader(language, units));
    Ok(([(CONTENT_TYPE, "application/json")], text).into_response())
}

/// Puts two plans side by side.
#[utoipa::path(
    post,
    path = "/comparisons",
    operation_id = "compare",
    request_body = CompareQuestion,
    responses(
        (status = 200, description = "Both plans in figures, with the main reason for the difference", body = PageJson),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such product or cabinet", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A plan file that is wrong somewhere, or a batch that has no plan", body = Problem, content_type = "application/problem+json"),
        (status = 503, description = "Given up", body = Problem, content_type = "application/problem+json")
    )
)]
pub(super) async fn compare(
    v: Visit,
    State(site): State<Site>,
    sent: Result<Json<CompareQuestion>, JsonRejection>,
) -> Result<Json<PageJson>, Problem> {
    let q = body(sent)?;
    let (language, units) = wanted(&v, q.language, q.units);
    let compared = site.planner().compare(&q.first, &q.second, few_enough(q.draws)?).await?;
    Ok(Json(PageJson::of(&compare_page(&compared, site.library(), &site.reader(language, units)))))
}
