//! The description of the interface.

use std::sync::LazyLock;

use axum::Json;
use serde_json::{Value, json};
use utoipa::OpenApi;

use super::{
    air, batches, cabinet_tests, happened, learn, log, plans, proof, rehearsals, settings, shelf, underway,
    upkeep,
};
use crate::fault::{EntryProblem, Problem};

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Fallrate",
        description = "Plans batches in cabinet dryers. A plan is a forecast and never evidence. Errors are problem+json (RFC 9457).",
        license(name = "MIT OR Apache-2.0")
    ),
    servers((url = "/api/v1")),
    paths(
        shelf::products,
        shelf::product,
        shelf::cabinets,
        shelf::cabinet,
        air::state,
        cabinet_tests::advice,
        cabinet_tests::evaluate,
        batches::batches,
        batches::batch,
        batches::entries,
        underway::forecast,
        underway::what_if,
        underway::interruptions,
        happened::happened,
        settings::plant,
        settings::set_plant,
        settings::saved_plans,
        settings::saved_plan,
        settings::start,
        upkeep::ran_on,
        upkeep::state,
        upkeep::folder,
        upkeep::back_up,
        upkeep::export,
        upkeep::import,
        plans::plan,
        plans::compare,
        rehearsals::list,
        rehearsals::begin,
        rehearsals::one,
        rehearsals::advance,
        rehearsals::act,
        rehearsals::enter,
        rehearsals::debrief,
        rehearsals::file,
        learn::pairs,
        learn::curves,
        learn::trials,
        learn::moves,
        learn::lessons,
        learn::decide
    ),
    components(schemas(Problem, EntryProblem))
)]
struct Description;

static DOCUMENT: LazyLock<Value> = LazyLock::new(|| {
    let mut described = Description::openapi();
    described.merge(proof::Described::openapi());
    described.merge(log::Described::openapi());
    let mut document = serde_json::to_value(described).unwrap_or(Value::Null);
    add_plan_schema(&mut document);
    add_refusals(&mut document);
    document
});

/// The plan's own published schema becomes the component `Plan`, its parts components beside it.
fn add_plan_schema(document: &mut Value) {
    let text = fallrate_app::plan_schema().replace("#/$defs/", "#/components/schemas/");
    let Ok(Value::Object(mut schema)) = serde_json::from_str::<Value>(&text) else { return };
    let parts = schema.remove("$defs");
    schema.remove("$schema");
    let Some(Value::Object(schemas)) = document.pointer_mut("/components/schemas") else { return };
    if let Some(Value::Object(parts)) = parts {
        schemas.extend(parts);
    }
    schemas.insert("Plan".to_owned(), Value::Object(schema));
    let wanted = "/paths/~1plans/post/responses/200/content/application~1json/schema";
    if let Some(place) = document.pointer_mut(wanted) {
        *place = json!({ "$ref": "#/components/schemas/Plan" });
    }
}

/// What every operation may answer: nobody is signed in, or the one who is may not, or another site's page asked.
fn add_refusals(document: &mut Value) {
    let Some(Value::Object(paths)) = document.pointer_mut("/paths") else { return };
    let operations =
        paths.values_mut().filter_map(Value::as_object_mut).flat_map(|methods| methods.values_mut());
    for responses in operations.filter_map(|o| o.pointer_mut("/responses")?.as_object_mut()) {
        for (status, words) in [
            ("401", "Nobody is signed in, where everybody signs in"),
            ("403", "The role may not, or the request came from a page of another site"),
        ] {
            responses.entry(status).or_insert_with(|| {
                let schema = json!({ "$ref": "#/components/schemas/Problem" });
                json!({ "description": words, "content": { "application/problem+json": { "schema": schema } } })
            });
        }
    }
}

pub(super) async fn document() -> Json<&'static Value> {
    Json(&DOCUMENT)
}
