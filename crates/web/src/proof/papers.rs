//! Papers of a record: PDF, HTML, everything as open files, verifying.

use axum::extract::{Path, Query, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use fallrate_app::AppError;
use fallrate_app::batches::AccountRole;
use fallrate_app::proof::desk::{self, Paper, Written};
use fallrate_app::{document_page, document_pdf};
use maud::{Markup, html};
use serde::Deserialize;

use super::blocks::blocks;
use super::sent::app_fault;
use crate::look::Visit;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// A file to be kept by the browser.
pub(crate) fn download(kind: &'static str, name: &str, bytes: Vec<u8>) -> Response {
    let clean: String = name.chars().filter(|c| c.is_ascii_alphanumeric() || "-_. ()".contains(*c)).collect();
    let mut response = ([(CONTENT_TYPE, kind)], bytes).into_response();
    if let Ok(value) = HeaderValue::from_str(&format!("attachment; filename=\"{clean}\"")) {
        response.headers_mut().insert(CONTENT_DISPOSITION, value);
    }
    response
}

/// The record as a document.
pub(crate) async fn written(v: &Visit, site: &Site, id: &str) -> Result<Option<Written>, AppError> {
    let (key, reader) = (id.to_owned(), std::sync::Arc::clone(&v.reader));
    site.desk().read_app(move |r| desk::paper(r, &key, Paper::Batch, &reader)).await
}

/// The record as PDF, made off the threads that answer.
pub(crate) async fn pdf_bytes(written: Written) -> Result<Vec<u8>, AppError> {
    let job = tokio::task::spawn_blocking(move || document_pdf(&written.document));
    job.await.unwrap_or_else(|e| Err(AppError::Pdf { reason: e.to_string() }))
}

pub(super) async fn pdf(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Response {
    let back = format!("/proof/{id}");
    let written = match written(&v, &site, &id).await {
        Ok(Some(written)) => written,
        Ok(None) => return StatusCode::NOT_FOUND.into_response(),
        Err(e) => return app_fault(&v, &back, &e),
    };
    let name = format!("{}.pdf", written.name);
    match pdf_bytes(written).await {
        Ok(bytes) => download("application/pdf", &name, bytes),
        Err(e) => app_fault(&v, &back, &e),
    }
}

pub(super) async fn html(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Response {
    match written(&v, &site, &id).await {
        Ok(Some(w)) => document(&document_page(&w.document), &format!("{}.html", w.name)),
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => app_fault(&v, &format!("/proof/{id}"), &e),
    }
}

/// A self-contained page to keep: its style stands inside, nothing is fetched.
fn document(page: &str, name: &str) -> Response {
    let mut response = download("text/html; charset=utf-8", name, page.as_bytes().to_vec());
    let policy = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:; sandbox";
    response.headers_mut().insert(CONTENT_SECURITY_POLICY, HeaderValue::from_static(policy));
    response
}

pub(super) async fn zip(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Response {
    let key = id.clone();
    match site.desk().read_app(move |r| desk::record_zip(r, &key)).await {
        Ok(Some(bytes)) => download("application/zip", &format!("record-{id}.zip"), bytes),
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => app_fault(&v, &format!("/proof/{id}"), &e),
    }
}

/// The original bytes of a kept file.
pub(super) async fn kept(
    v: Visit,
    State(site): State<Site>,
    Path((id, name)): Path<(String, String)>,
) -> Response {
    let key = id.clone();
    match site.desk().read_app(move |r| desk::record(r, &key)).await {
        Ok(Some(record)) => match record.file(&name) {
            Some(bytes) => download("application/octet-stream", &name, bytes.to_vec()),
            None => StatusCode::NOT_FOUND.into_response(),
        },
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => app_fault(&v, &format!("/proof/{id}"), &e),
    }
}

/// Everything that is kept. It holds who signed in when: for supervisors.
pub(super) async fn everything(v: Visit, State(site): State<Site>) -> Response {
    if v.person.as_ref().is_some_and(|p| p.role != AccountRole::Supervisor) {
        return StatusCode::FORBIDDEN.into_response();
    }
    match site.desk().read_app(|r| desk::everything_zip(r)).await {
        Ok(bytes) => download("application/zip", "export.zip", bytes),
        Err(e) => app_fault(&v, "/batches", &e),
    }
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Head {
    head: String,
}

/// Verifies the chain, the files, and a head as it stands on a printed page.
pub(super) async fn verify(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Query(q): Query<Head>,
) -> Response {
    let (key, head, reader) = (id.clone(), q.head.clone(), std::sync::Arc::clone(&v.reader));
    let found = site.desk().read_app(move |r| {
        let head = Some(head.trim()).filter(|h| !h.is_empty());
        desk::paper(r, &key, Paper::Verified(head), &reader)
    });
    match found.await {
        Ok(Some(w)) => verified(&v, &id, &q.head, &w).into_response(),
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => app_fault(&v, &format!("/proof/{id}/verify"), &e),
    }
}

fn verified(v: &Visit, id: &str, head: &str, w: &Written) -> Markup {
    let body = html! {
        p.back { a href={ "/proof/" (id) } { (v.text("desk-back")) } }
        h1 { (v.text(if w.intact { "desk-intact" } else { "desk-broken" })) }
        (blocks(&w.document, &w.document.blocks, 0))
        form.search method="get" action={ "/proof/" (id) "/verify" } {
            label for="f-head" { (v.text("desk-head")) }
            div.typed {
                input #f-head name="head" type="text" value=(head) autocomplete="off" maxlength="120";
                button { (v.text("desk-verify")) }
            }
            p.note { (v.text("desk-head-more")) }
        }
    };
    Shell { title: v.text("desk-verify"), tab: Tab::Batches }.around(v, &body)
}
