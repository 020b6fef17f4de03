//! The interface for programs, under `/api/v1`: everything the pages do, described at `/api/v1/openapi.json`.

mod air;
mod batches;
mod cabinet_tests;
mod happened;
mod learn;
mod log;
mod openapi;
mod plans;
mod proof;
mod rehearsals;
mod sender;
mod settings;
mod shelf;
mod underway;
mod upkeep;

use axum::Router;
use axum::http::StatusCode;
use axum::routing::{get, post, put};

use crate::fault::Problem;
use crate::state::Site;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/openapi.json", get(openapi::document))
        .route("/products", get(shelf::products))
        .route("/products/{key}", get(shelf::product))
        .route("/cabinets", get(shelf::cabinets))
        .route("/cabinets/{key}", get(shelf::cabinet))
        .route("/air", get(air::state))
        .route(
            "/cabinet-tests",
            post(cabinet_tests::evaluate)
                .layer(axum::extract::DefaultBodyLimit::max(crate::cabinet_tests::LARGEST_FILES)),
        )
        .route("/cabinet-tests/{key}", get(cabinet_tests::advice))
        .route("/batches", get(batches::batches).post(settings::start))
        .route("/batches/{id}", get(batches::batch))
        .route("/batches/{id}/entries", post(batches::entries))
        .route("/batches/{id}/forecast", get(underway::forecast))
        .route("/batches/{id}/what-if", post(underway::what_if))
        .route("/batches/{id}/interruptions", get(underway::interruptions))
        .route("/batches/{id}/events", post(happened::happened))
        .route("/batches/{id}/ran_on", post(upkeep::ran_on))
        .route("/plant", get(settings::plant).put(settings::set_plant))
        .route("/saved_plans", get(settings::saved_plans))
        .route("/saved_plans/{name}", get(settings::saved_plan))
        .route("/upkeep", get(upkeep::state))
        .route("/upkeep/folder", put(upkeep::folder))
        .route("/upkeep/backups", post(upkeep::back_up))
        .route("/upkeep/exports", post(upkeep::export))
        .route("/upkeep/imports", post(upkeep::import))
        .route("/plans", post(plans::plan))
        .route("/comparisons", post(plans::compare))
        .merge(proof::routes())
        .merge(log::routes())
        .route("/rehearsals", get(rehearsals::list).post(rehearsals::begin))
        .route("/rehearsals/{id}", get(rehearsals::one))
        .route("/rehearsals/{id}/advance", post(rehearsals::advance))
        .route("/rehearsals/{id}/acts", post(rehearsals::act))
        .route("/rehearsals/{id}/entries", post(rehearsals::enter))
        .route("/rehearsals/{id}/debrief", get(rehearsals::debrief))
        .route("/rehearsals/{id}/files/{name}", get(rehearsals::file))
        .route("/isotherms", post(learn::pairs))
        .route("/drying-curves", post(learn::curves))
        .route("/trials", post(learn::trials))
        .route("/moves", post(learn::moves))
        .route("/lessons", get(learn::lessons).post(learn::decide))
        .fallback(nowhere)
        .method_not_allowed_fallback(wrong_method)
}

async fn nowhere() -> Problem {
    Problem::new(StatusCode::NOT_FOUND, "no such address; allowed: those of /api/v1/openapi.json".to_owned())
}

async fn wrong_method() -> Problem {
    Problem::new(
        StatusCode::METHOD_NOT_ALLOWED,
        "this address has no such method; allowed: those of /api/v1/openapi.json".to_owned(),
    )
}
