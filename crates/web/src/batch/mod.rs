//! Batches: saved plans, start, the act now, entries by hand, undo.

mod enter;
mod page;
mod shelf;

use axum::Router;
use axum::routing::{get, post};

pub(crate) use page::{SHOWN_AFTER_END_S, forecast_lines};

use crate::state::Site;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/plans", get(shelf::plans).post(shelf::save))
        .route("/plans/{name}", get(shelf::open))
        .route("/batches", get(shelf::batches))
        .route("/batches/start", get(enter::start_form).post(enter::start))
        .route("/batches/{id}", get(page::page))
        .route("/batches/{id}/done", post(enter::done))
        .route("/batches/{id}/reading", post(enter::reading))
        .route("/batches/{id}/note", post(enter::note))
        .route("/batches/{id}/undo", post(enter::undo))
        .route("/batches/{id}/end", post(enter::end))
}
