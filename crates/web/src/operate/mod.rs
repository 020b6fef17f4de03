//! Looking after the tool itself: was it off, is there a copy, is there room.

mod keeper;
mod notices;
mod offline;
mod page;

use axum::Router;
use axum::routing::{get, post};

pub(crate) use keeper::{Copies, Keeper, back_up, begin, copies, export, import, life, off_times};
pub(crate) use notices::{about_batch, of_the_day};
pub(crate) use offline::{Made, Queued, note_clock, queue, stands};
pub(crate) use page::{ran_on_span, set_folder};

use crate::state::Site;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/clock", get(offline::clock))
        .route("/sw.js", get(offline::worker))
        .route("/upkeep", get(page::page))
        .route("/upkeep/folder", post(page::folder))
        .route("/upkeep/backup", post(page::backup))
        .route("/upkeep/export", post(page::export_to))
        .route("/upkeep/import", post(page::import_from))
        .route("/batches/{id}/ran-on", post(page::ran_on))
}
