//! The plant, saved plans, and the start of a batch.

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use fallrate_app::Units;
use fallrate_app::batches::{self, PlantSettings, PlantUnits, RecordRealm, Retention, Start};
use fallrate_app::proof::LocalClock;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::sender::{self, refuse, stamped};
use crate::fault::Problem;
use crate::keep::{PERSON, stamp};
use crate::look::Visit;
use crate::plan::DRAWS;
use crate::state::Site;

/// What the program knows of the plant.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PlantJson {
    /// Name of the establishment.
    #[schema(min_length = 1, max_length = 120)]
    establishment: String,
    /// Where it is.
    #[schema(min_length = 1, max_length = 120)]
    place: String,
    /// Who enters where nobody signs in.
    #[schema(min_length = 1, max_length = 120)]
    person: String,
    /// Time zone ("America/Denver").
    #[schema(max_length = 60)]
    zone: String,
    /// Height above sea level, m; -430 to 6000.
    #[schema(maximum = 6000)]
    altitude_m: f64,
    /// Meat or poultry is made: its records are kept by the rules for shelf-stable product.
    meat: bool,
}

/// A batch to be started.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct StartQuestion {
    /// Id of the sender's own: sent again with the same id one batch is started. 8 to 80 letters, digits, hyphens.
    #[schema(min_length = 8, max_length = 80)]
    entry_id: String,
    /// Text of the plan file.
    #[schema(max_length = 100_000)]
    plan: String,
    /// Lot; left out: the id of the batch.
    #[serde(default)]
    #[schema(max_length = 60)]
    lot: String,
}

/// A batch that was started.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Started {
    /// Its id.
    id: String,
}

/// A plan that is kept.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct SavedJson {
    /// Name in addresses.
    name: String,
    /// Title.
    title: String,
    /// Version, from 1.
    version: u64,
    /// Who kept it.
    by: String,
}

/// A plan that is kept, with its text.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct SavedPlanJson {
    /// Title.
    title: String,
    /// Text of the plan file.
    plan: String,
}

fn named(what: &str, text: &str) -> Result<String, Problem> {
    let text = text.trim();
    if (1..=120).contains(&text.chars().count()) {
        Ok(text.to_owned())
    } else {
        Err(refuse(format!("{what}: allowed: 1 to 120 letters")))
    }
}

/// The settings of the plant.
#[utoipa::path(get, path = "/plant", operation_id = "plant", responses(
    (status = 200, description = "The plant", body = PlantJson),
    (status = 404, description = "Nobody has entered it yet", body = Problem, content_type = "application/problem+json")
))]
pub(super) async fn plant(State(site): State<Site>) -> Result<Json<PlantJson>, Problem> {
    let missing = || Problem::new(StatusCode::NOT_FOUND, "plant: nobody has entered it yet".to_owned());
    let p = site.desk().plant().await?.ok_or_else(missing)?;
    Ok(Json(PlantJson {
        person: p.more.get(PERSON).cloned().unwrap_or_default(),
        meat: p.retention == Retention::MeatShelfStable,
        establishment: p.establishment,
        place: p.place,
        zone: p.zone,
        altitude_m: p.altitude_m,
    }))
}

/// Enters the settings of the plant; what stood before stays in the record.
#[utoipa::path(put, path = "/plant", operation_id = "set_plant", request_body = PlantJson, responses(
    (status = 204, description = "Entered"),
    (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
    (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
    (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "A name is missing, or the zone or the height is none", body = Problem, content_type = "application/problem+json"),
    (status = 503, description = "The records are busy; nothing was written", body = Problem, content_type = "application/problem+json")
))]
pub(super) async fn set_plant(
    v: Visit,
    State(site): State<Site>,
    sent: Result<Json<PlantJson>, JsonRejection>,
) -> Result<StatusCode, Problem> {
    let q = super::plans::body(sent)?;
    if LocalClock::named(&q.zone).is_none() {
        return Err(refuse(format!("zone: '{}'; allowed: a name of the zone database", q.zone)));
    }
    let before = site.desk().plant().await?;
    let mut more = before.map_or_else(Default::default, |p| p.more);
    more.insert(PERSON.to_owned(), named("person", &q.person)?);
    let settings = PlantSettings {
        establishment: named("establishment", &q.establishment)?,
        place: named("place", &q.place)?,
        establishment_number: None,
        zone: q.zone.trim().to_owned(),
        altitude_m: q.altitude_m,
        units: if v.units == Units::Us { PlantUnits::Us } else { PlantUnits::Si },
        language: v.language.tag().to_owned(),
        monitoring_interval_min: 15.0,
        retention: if q.meat { Retention::MeatShelfStable } else { Retention::PreventiveControls },
        plan_name: String::new(),
        plan_version: String::new(),
        more,
    };
    let stamp = stamp(&settings, &v, "");
    site.desk().write(move |r| batches::save_plant(r, &stamp, settings)).await?;
    Ok(StatusCode::NO_CONTENT)
}

/// The plans that are kept.
#[utoipa::path(get, path = "/saved_plans", operation_id = "saved_plans", responses(
    (status = 200, description = "Plans", body = Vec<SavedJson>)
))]
pub(super) async fn saved_plans(State(site): State<Site>) -> Result<Json<Vec<SavedJson>>, Problem> {
    let list = site.desk().read(|r| batches::plans(r)).await?;
    let item =
        |p: batches::SavedPlan| SavedJson { name: p.name, title: p.title, version: p.version, by: p.by };
    Ok(Json(list.into_iter().map(item).collect()))
}

/// One plan that is kept.
#[utoipa::path(get, path = "/saved_plans/{name}", operation_id = "saved_plan",
    params(("name" = String, Path, description = "Its name")),
    responses(
        (status = 200, description = "The plan", body = SavedPlanJson),
        (status = 404, description = "No such plan", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn saved_plan(
    State(site): State<Site>,
    Path(name): Path<String>,
) -> Result<Json<SavedPlanJson>, Problem> {
    let found = site.desk().read(move |r| batches::plan(r, &name)).await?;
    let missing = || {
        Problem::new(
            StatusCode::NOT_FOUND,
            "saved plan: not known; allowed: those of /saved_plans".to_owned(),
        )
    };
    let found = found.ok_or_else(missing)?;
    Ok(Json(SavedPlanJson { title: found.title, plan: found.toml }))
}

/// Starts a batch from a plan: opens its record.
#[utoipa::path(post, path = "/batches", operation_id = "start", request_body = StartQuestion, responses(
    (status = 200, description = "Started, or started before with the same id", body = Started),
    (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
    (status = 404, description = "No such product or cabinet", body = Problem, content_type = "application/problem+json"),
    (status = 409, description = "The id was used for something else", body = Problem, content_type = "application/problem+json"),
    (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
    (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "A plan that cannot be, or no plant yet", body = Problem, content_type = "application/problem+json"),
    (status = 503, description = "Busy; nothing was written", body = Problem, content_type = "application/problem+json")
))]
pub(super) async fn start(
    v: Visit,
    State(site): State<Site>,
    sent: Result<Json<StartQuestion>, JsonRejection>,
) -> Result<Json<Started>, Problem> {
    let q = super::plans::body(sent)?;
    let plant = sender::plant(&site).await?;
    let stamp = stamped(&v, &plant, &q.entry_id)?;
    if q.lot.chars().count() > 60 {
        return Err(refuse("lot: allowed: up to 60 letters"));
    }
    let planned = site.planner().plan(&q.plan, DRAWS).await?;
    let words = &v.reader.words;
    let case = &planned.case;
    let start = Start {
        realm: RecordRealm::Proof,
        lot: q.lot,
        product: words.pick(&case.product.name.en, &case.product.name.es).to_owned(),
        product_code: case.product.key.clone(),
        cabinet: words.pick(&case.cabinet.name.en, &case.cabinet.name.es).to_owned(),
        quantity_kg: planned.plan.assembled.setup.batch.fresh_kg(),
        plan_title: case.request.title.clone().unwrap_or_default(),
        plan_toml: q.plan,
    };
    let id = site.desk().write(move |r| batches::start_batch(r, &stamp, &plant, &start)).await?;
    Ok(Json(Started { id }))
}
