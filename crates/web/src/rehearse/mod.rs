//! Rehearsals: a virtual cabinet that a trainee runs at any pace, and the debrief.

mod act;
mod begin;
mod page;
mod paper;
mod stage;

use axum::Router;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use fallrate_app::AppError;
use maud::html;

pub(crate) use act::order;
pub(crate) use begin::{Asked, begin};
pub(crate) use page::{advance, note_down, noted};
pub(crate) use paper::{debrief_of, files_of};
pub(crate) use stage::{NoStage, Shared, Stage, find, lock};

use crate::fault::said;
use crate::look::Visit;
use crate::shell::{Shell, Tab};
use crate::state::Site;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/rehearse", get(begin::form).post(begin::start))
        .route("/rehearse/{id}", get(page::page))
        .route("/rehearse/{id}/live", get(page::live))
        .route("/rehearse/{id}/act", post(page::act))
        .route("/rehearse/{id}/go", post(page::go))
        .route("/rehearse/{id}/pace", post(page::pace))
        .route("/rehearse/{id}/note", post(page::note))
        .route("/rehearse/{id}/debrief", get(paper::debrief))
        .route("/rehearse/{id}/debrief.pdf", get(paper::debrief_pdf))
        .route("/rehearse/{id}/files/{name}", get(paper::file))
}

/// Why a rehearsal cannot be shown or go on, as a page.
fn fault(v: &Visit, why: &NoStage) -> Response {
    let (status, what, then) = match why {
        NoStage::NoRoom(_) => (StatusCode::SERVICE_UNAVAILABLE, "rehearse-no-room", "rehearse-no-room-next"),
        NoStage::Unknown => (StatusCode::NOT_FOUND, "rehearse-lost", "web-fault-nowhere-next"),
        NoStage::App(AppError::Store(e)) => return crate::keep::fault(v, e),
        NoStage::App(_) => (StatusCode::UNPROCESSABLE_ENTITY, "rehearse-refused", "web-fault-own-next"),
    };
    let detail = match why {
        NoStage::NoRoom(d) => d.clone(),
        NoStage::Unknown => String::new(),
        NoStage::App(e) => e.to_string(),
    };
    let body = html! {
        h1 { (v.text(what)) }
        p.subline { (v.text(then)) }
        @if !detail.is_empty() { p.note lang="en" { (detail) } }
        p { a.button href="/rehearse" { (v.text("rehearse-again")) } }
    };
    let page = Shell { title: v.text(what), tab: Tab::Rehearse }.around(v, &body);
    said((status, page).into_response())
}

/// The mark on every page of a rehearsal.
fn mark(v: &Visit) -> maud::Markup {
    html! {
        p.flag.practice { b { (v.text("rehearse-flag")) } " " span { (v.text("rehearse-flag-meaning")) } }
    }
}
