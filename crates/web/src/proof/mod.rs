//! The proof: files in, facts stated, verdict, signatures, corrections, papers.

mod acts;
mod blocks;
mod entries;
mod facts;
mod facts_form;
mod files;
mod import;
mod import_form;
mod new;
mod page;
mod page_forms;
mod papers;
mod sent;
mod sign;
mod strip;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};

pub(crate) use papers::{download, pdf_bytes, written};
pub(crate) use sent::{Sent, app_fault, refusal};
pub(crate) use sign::{SignOutcome, SignatureAsked, sign};

use crate::state::Site;

/// Largest file of readings, bytes.
pub(crate) const LARGEST_FILE: usize = 16 * 1024 * 1024;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/proof/new", get(new::page).post(new::open))
        .route("/proof/{id}", get(page::page))
        .route("/proof/{id}/file", post(files::upload).layer(DefaultBodyLimit::max(LARGEST_FILE + 64 * 1024)))
        .route("/proof/{id}/file/{sha}", get(import::page).post(import::post))
        .route("/proof/{id}/facts", get(facts::page).post(facts::save))
        .route("/proof/{id}/facts/text", post(facts::save_text))
        .route("/proof/{id}/judge", post(acts::judge))
        .route("/proof/{id}/test", post(acts::test))
        .route("/proof/{id}/interruption", post(acts::interruption))
        .route("/proof/{id}/suspect", post(acts::suspect))
        .route("/proof/{id}/action", post(acts::action))
        .route("/proof/{id}/sign", post(sign::post))
        .route("/proof/{id}/entries", get(entries::list))
        .route("/proof/{id}/entries/{n}", get(entries::one).post(entries::correct))
        .route("/proof/{id}/entries/{n}/withdraw", post(entries::withdraw))
        .route("/proof/{id}/record.pdf", get(papers::pdf))
        .route("/proof/{id}/record.html", get(papers::html))
        .route("/proof/{id}/record.zip", get(papers::zip))
        .route("/proof/{id}/kept/{name}", get(papers::kept))
        .route("/proof/{id}/verify", get(papers::verify))
        .route("/export.zip", get(papers::everything))
}
