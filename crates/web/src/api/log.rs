//! The calibration log, own versions of products and cabinets, mappings that are kept.

use axum::Json;
use axum::Router;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::routing::{get, post};
use fallrate_app::instruments::{self, Kept, typed_calibration, typed_description};
use fallrate_app::own::{self, Edited, OwnItem, Sort};
use fallrate_app::proof::desk;
use serde::{Deserialize, Serialize};
use utoipa::{OpenApi, ToSchema};

use super::plans::body;
use super::sender::{plant, stamped};
use crate::fault::Problem;
use crate::keep::now;
use crate::look::Visit;
use crate::state::Site;

#[derive(OpenApi)]
#[openapi(paths(list, describe, calibrate, due, own_list, own_save, mappings))]
pub(super) struct Described;

pub(super) fn routes() -> Router<Site> {
    Router::new()
        .route("/instruments", get(list))
        .route("/instruments/{id}", post(describe))
        .route("/instruments/{id}/calibrations", post(calibrate))
        .route("/calibrations-due", get(due))
        .route("/own/{sort}", get(own_list).post(own_save))
        .route("/mappings", get(mappings))
}

/// An instrument as it stands. Figures are in its base unit: degC, fraction, kg, Pa, s.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct InstrumentJson {
    /// The plant's name of it.
    id: String,
    /// What it is.
    description: String,
    /// Unit of its figures.
    unit: &'static str,
    /// Tolerance.
    tolerance: Option<f64>,
    /// Day of the last calibration that was passed.
    calibrated_on: Option<String>,
    /// Last day on which it holds.
    due: Option<String>,
    /// Whether its readings can prove anything.
    usable: bool,
    /// Whether it is out of use.
    retired: bool,
    /// Number of entries of its log.
    entries: usize,
}

fn item(i: Kept) -> InstrumentJson {
    InstrumentJson {
        unit: instruments::unit_word(i.unit),
        tolerance: i.tolerance,
        calibrated_on: i.calibrated_on.map(|d| d.to_string()),
        due: i.due.map(|d| d.to_string()),
        usable: i.usable,
        retired: i.retired,
        entries: i.log.len(),
        id: i.id,
        description: i.description,
    }
}

/// The instruments.
#[utoipa::path(get, path = "/instruments", operation_id = "instruments",
    responses((status = 200, description = "Instruments by name", body = Vec<InstrumentJson>)))]
async fn list(State(site): State<Site>) -> Result<Json<Vec<InstrumentJson>>, Problem> {
    let all = site.desk().read(|r| instruments::instruments(r)).await?;
    Ok(Json(all.into_iter().map(item).collect()))
}

/// Fields of a form by their names, each with its unit where it has one.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FieldsQuestion {
    /// Id of the sender's own.
    #[schema(min_length = 8, max_length = 80)]
    entry_id: String,
    /// Description: description, unit, tolerance, low, high, every_days, interval_reason. Calibration: against,
    /// reference.1 to .3, shown.1, after.1, passed ("yes" or "no"), tolerance, due, record, on.
    fields: std::collections::BTreeMap<String, String>,
}

/// Describes an instrument, a new one or one that is there.
#[utoipa::path(post, path = "/instruments/{id}", operation_id = "describe_instrument", request_body = FieldsQuestion,
    params(("id" = String, Path, description = "The plant's name of it")),
    responses(
        (status = 200, description = "As it stands", body = InstrumentJson),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "A name that cannot be one", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A field that cannot be read", body = Problem, content_type = "application/problem+json")
    ))]
async fn describe(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<FieldsQuestion>, JsonRejection>,
) -> Result<Json<InstrumentJson>, Problem> {
    let q = body(sent)?;
    let stamp = stamped(&v, &plant(&site).await?, &q.entry_id)?;
    let typed = typed_description(&|n| q.fields.get(n).cloned().unwrap_or_default(), v.units)?;
    let key = id.clone();
    let id = site.desk().write(move |r| instruments::describe(r, &key, &stamp, typed)).await?;
    shown(&site, &id).await
}

async fn shown(site: &Site, id: &str) -> Result<Json<InstrumentJson>, Problem> {
    let key = id.to_owned();
    let found = site.desk().read(move |r| instruments::instrument(r, &key)).await?;
    found.map(|i| Json(item(i))).ok_or_else(|| missing(id))
}

fn missing(name: &str) -> Problem {
    let shown: String = name.chars().take(60).collect();
    Problem::new(
        StatusCode::NOT_FOUND,
        format!("'{shown}' is not known; allowed: a name of the list above it"),
    )
}

/// Enters a calibration or check.
#[utoipa::path(post, path = "/instruments/{id}/calibrations", operation_id = "calibrate", request_body = FieldsQuestion,
    params(("id" = String, Path, description = "The plant's name of the instrument")),
    responses(
        (status = 200, description = "As it stands", body = InstrumentJson),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such instrument", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A field that cannot be read", body = Problem, content_type = "application/problem+json")
    ))]
async fn calibrate(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<FieldsQuestion>, JsonRejection>,
) -> Result<Json<InstrumentJson>, Problem> {
    let q = body(sent)?;
    let stamp = stamped(&v, &plant(&site).await?, &q.entry_id)?;
    let key = id.clone();
    let found = site.desk().read(move |r| instruments::instrument(r, &key)).await?;
    let unit = found.ok_or_else(|| missing(&id))?.unit;
    let typed = typed_calibration(&|n| q.fields.get(n).cloned().unwrap_or_default(), unit, &stamp)?;
    let key = id.clone();
    site.desk().write(move |r| instruments::calibrate(r, &key, &stamp, typed)).await?;
    shown(&site, &id).await
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Ahead {
    days: Option<u32>,
}

/// A calibration that needs somebody.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct DueJson {
    /// Instrument.
    id: String,
    /// Last day.
    due: Option<String>,
    /// Days left.
    days_left: Option<i64>,
    /// "not_usable", "overdue" or "soon".
    #[schema(value_type = String)]
    urgency: instruments::Urgency,
}

/// Calibrations that are over, were not passed, or are due within so many days.
#[utoipa::path(get, path = "/calibrations-due", operation_id = "calibrations_due",
    params(("days" = Option<u32>, Query, description = "Days ahead; 30 where left out")),
    responses(
        (status = 200, description = "The most urgent first", body = Vec<DueJson>),
        (status = 400, description = "A query that cannot be read", body = Problem, content_type = "application/problem+json")
    ))]
async fn due(State(site): State<Site>, Query(q): Query<Ahead>) -> Result<Json<Vec<DueJson>>, Problem> {
    let days = q.days.unwrap_or(crate::instruments::AHEAD_DAYS);
    let all = site.desk().read(move |r| instruments::calibrations_due(r, now(), days)).await?;
    let item = |d: instruments::Due| DueJson {
        due: d.due.map(|d| d.to_string()),
        days_left: d.days_left,
        urgency: d.urgency,
        id: d.id,
    };
    Ok(Json(all.into_iter().map(item).collect()))
}

/// A version of an own item.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct VersionJson {
    /// Its number.
    version: u64,
    /// Title.
    title: String,
    /// When, ISO 8601 in UTC.
    at: String,
    /// By whom.
    by: String,
    /// What was changed and why.
    note: String,
    /// The file, TOML.
    file: String,
}

/// An own item: never one of the program's.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct OwnJson {
    /// Name in addresses.
    name: String,
    /// Whether it is out of use.
    retired: bool,
    /// Versions, the latest first.
    versions: Vec<VersionJson>,
}

fn own_json(i: OwnItem) -> OwnJson {
    let version = |x: own::Version| VersionJson {
        version: x.number,
        at: x.at.iso_utc(),
        title: x.title,
        by: x.by,
        note: x.note,
        file: x.toml,
    };
    OwnJson { name: i.name, retired: i.retired, versions: i.versions.into_iter().map(version).collect() }
}

fn sort_of(sort: &str) -> Result<Sort, Problem> {
    let problem = || Problem::new(StatusCode::NOT_FOUND, format!("'{sort}'; allowed: product, cabinet"));
    Sort::of(sort).ok_or_else(problem)
}

/// Own products or cabinets with all their versions.
#[utoipa::path(get, path = "/own/{sort}", operation_id = "own_items",
    params(("sort" = String, Path, description = "product or cabinet")),
    responses(
        (status = 200, description = "Own items", body = Vec<OwnJson>),
        (status = 404, description = "No such sort", body = Problem, content_type = "application/problem+json")
    ))]
async fn own_list(State(site): State<Site>, Path(sort): Path<String>) -> Result<Json<Vec<OwnJson>>, Problem> {
    let sort = sort_of(&sort)?;
    let all = site.desk().read(move |r| own::own_items(r, sort)).await?;
    Ok(Json(all.into_iter().map(own_json).collect()))
}

/// An edited copy.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct OwnQuestion {
    /// Id of the sender's own.
    #[schema(min_length = 8, max_length = 80)]
    entry_id: String,
    /// Title; the same again makes a new version.
    title: String,
    /// The file, TOML.
    file: String,
    /// What was changed and why.
    #[serde(default)]
    note: String,
}

/// Saves an edited copy as an own version.
#[utoipa::path(post, path = "/own/{sort}", operation_id = "save_own", request_body = OwnQuestion,
    params(("sort" = String, Path, description = "product or cabinet")),
    responses(
        (status = 200, description = "The item with its versions", body = OwnJson),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such sort", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "A file that is no such item, each place named", body = Problem, content_type = "application/problem+json")
    ))]
async fn own_save(
    v: Visit,
    State(site): State<Site>,
    Path(sort): Path<String>,
    sent: Result<Json<OwnQuestion>, JsonRejection>,
) -> Result<Json<OwnJson>, Problem> {
    let sort = sort_of(&sort)?;
    let q = body(sent)?;
    let stamp = stamped(&v, &plant(&site).await?, &q.entry_id)?;
    let edited = Edited { title: q.title, toml: q.file, note: q.note, copied_from: None };
    let work = move |r: &mut dyn fallrate_app::batches::Records| {
        let name = own::save_own(r, &stamp, sort, &edited)?;
        Ok(own::own_item(r, sort, &name)?.map(own_json))
    };
    site.desk().write_app(work).await?.map(Json).ok_or_else(|| missing("item"))
}

/// A mapping that is kept.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct MappingJson {
    /// Its name for people.
    title: String,
    /// Version.
    version: u64,
    /// By whom.
    by: String,
    /// The mapping file, TOML.
    mapping: String,
}

/// What was confirmed about loggers' files, the latest first.
#[utoipa::path(get, path = "/mappings", operation_id = "mappings",
    responses((status = 200, description = "Mappings", body = Vec<MappingJson>)))]
async fn mappings(State(site): State<Site>) -> Result<Json<Vec<MappingJson>>, Problem> {
    let all = site.desk().read_app(|r| desk::mappings(r)).await?;
    let item =
        |m: desk::KeptMapping| MappingJson { title: m.title, version: m.version, by: m.by, mapping: m.toml };
    Ok(Json(all.into_iter().map(item).collect()))
}
