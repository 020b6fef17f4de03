//! Batches: saved plans, start, the act now, entries by hand, undo; what if, interruptions, corrective actions.

mod action;
mod back;
mod enter;
mod floor;
mod forms;
mod list;
mod page;
mod search;
mod shelf;
mod sight;
mod stop;
mod what_if;

use axum::Router;
use axum::routing::{get, post};

pub(crate) use floor::{floor_line, floor_mark};
pub(crate) use list::reading_line;
pub(crate) use page::{SHOWN_AFTER_END_S, forecast_lines};
pub(crate) use sight::{NO_WAIT, Sight};

pub(crate) use search::{Search, sought};

use crate::state::Site;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/plans", get(shelf::plans).post(shelf::save))
        .route("/plans/{name}", get(shelf::open))
        .route("/batches", get(search::page))
        .route("/batches/start", get(enter::start_form).post(enter::start))
        .route("/batches/{id}", get(page::page))
        .route("/batches/{id}/done", post(enter::done))
        .route("/batches/{id}/reading", post(enter::reading))
        .route("/batches/{id}/correct", post(enter::correct))
        .route("/batches/{id}/setting", post(enter::setting))
        .route("/batches/{id}/note", post(enter::note))
        .route("/batches/{id}/undo", post(enter::undo))
        .route("/batches/{id}/end", post(enter::end))
        .route("/batches/{id}/what-if", get(what_if::page))
        .route("/batches/{id}/interruption", get(stop::page).post(stop::enter))
        .route("/batches/{id}/interruption/over", post(stop::over))
        .route("/batches/{id}/action", get(action::page).post(action::enter))
}
