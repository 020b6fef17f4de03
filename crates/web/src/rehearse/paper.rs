//! What a rehearsal leaves on paper: the debrief, and its files.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::parts::{Document, FontSource, HtmlOptions, document_html};
use fallrate_app::practice::PracticeFile;
use fallrate_app::{AppError, document_pdf};

use super::fault;
use super::page::noted;
use super::stage::{NoStage, find, lock};
use crate::assets::address;
use crate::look::Visit;
use crate::plan::document_response;
use crate::state::Site;

/// Files that every run leaves.
pub(super) const NAMES: [&str; 5] =
    ["logger.csv", "logger.mapping.toml", "by_hand.txt", "batch.toml", "plan.toml"];

/// The debrief; runs the other ways again, which takes a moment.
pub(crate) async fn debrief_of(v: &Visit, site: &Site, id: &str) -> Result<Document, NoStage> {
    let shared = find(site, id).await?;
    let noted = noted(site, id).await?;
    let (own, known) = {
        let paced = lock(&shared);
        (paced.run.clone(), paced.debrief.clone())
    };
    let debrief = match known {
        Some(known) => known,
        None => {
            let run = own.clone();
            let made = site.planner().run(move |_| run.look_back()).await.map_err(NoStage::App)?;
            let made = Arc::new(made);
            lock(&shared).debrief = Some(Arc::clone(&made));
            made
        }
    };
    Ok(own.debrief_document(&debrief, site.library(), &v.reader, &noted))
}

/// The files of a run so far, as a logger and a hand would leave them.
pub(crate) async fn files_of(site: &Site, id: &str) -> Result<Vec<PracticeFile>, NoStage> {
    let shared = find(site, id).await?;
    let own = lock(&shared).run.clone();
    site.planner().run(move |_| own.files()).await.map_err(NoStage::App)
}

pub(super) async fn debrief(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Response {
    match debrief_of(&v, &site, &id).await {
        Ok(document) => {
            let font = FontSource::Address { regular: address("regular.ttf"), bold: address("bold.ttf") };
            let html = document_html(&document, &HtmlOptions { font, day_only: false });
            document_response(html)
        }
        Err(NoStage::App(AppError::Rehearse(_))) => Redirect::to(&format!("/rehearse/{id}")).into_response(),
        Err(e) => fault(&v, &e),
    }
}

pub(super) async fn debrief_pdf(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Response {
    let document = match debrief_of(&v, &site, &id).await {
        Ok(document) => document,
        Err(e) => return fault(&v, &e),
    };
    match site.planner().run(move |_| document_pdf(&document)).await {
        Ok(bytes) => {
            let name = HeaderValue::from_static("inline; filename=\"debrief.pdf\"");
            let kind = HeaderValue::from_static("application/pdf");
            ([(CONTENT_TYPE, kind), (CONTENT_DISPOSITION, name)], bytes).into_response()
        }
        Err(_) => Redirect::to(&format!("/rehearse/{id}/debrief")).into_response(),
    }
}

pub(super) async fn file(
    v: Visit,
    State(site): State<Site>,
    Path((id, name)): Path<(String, String)>,
) -> Response {
    if !NAMES.contains(&name.as_str()) {
        return StatusCode::NOT_FOUND.into_response();
    }
    match files_of(&site, &id).await {
        Ok(files) => match files.into_iter().find(|f| f.name == name) {
            Some(f) => {
                let kind = "text/plain; charset=utf-8".to_owned();
                let attached = format!("attachment; filename=\"{name}\"");
                ([(CONTENT_TYPE, kind), (CONTENT_DISPOSITION, attached)], f.bytes).into_response()
            }
            None => StatusCode::NOT_FOUND.into_response(),
        },
        Err(e) => fault(&v, &e),
    }
}
