//! Tests of a cabinet: which to do, and what came of their files.

use std::sync::Arc;

use axum::Router;
use axum::extract::{DefaultBodyLimit, Multipart, Path, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use fallrate_app::cabinet_tests::{
    Sent, advice_document, commission_document, drift_document, evaluate_sent,
};
use fallrate_app::parts::{Document, FontSource, HtmlOptions, document_html};
use fallrate_app::ports::MemoryFiles;
use fallrate_app::{AppError, document_pdf};
use maud::{Markup, html};

use crate::assets::address;
use crate::fault::said;
use crate::look::Visit;
use crate::plan::document_response;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// Largest set of files, bytes.
pub(crate) const LARGEST_FILES: usize = 16 << 20;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/cabinet-tests", get(page).post(sent).layer(DefaultBodyLimit::max(LARGEST_FILES)))
        .route("/cabinet-tests/{cabinet}", get(advice))
}

async fn page(v: Visit, State(site): State<Site>) -> Markup {
    shown(&v, &site, &[])
}

fn shown(v: &Visit, site: &Site, faults: &[String]) -> Markup {
    let words = &v.reader.words;
    let body = html! {
        h1 { (v.text("cabtest-title")) }
        p.subline { (v.text("cabtest-subline")) }
        @if !faults.is_empty() {
            section.cabtest-faults role="alert" {
                h2 { (v.text("cabtest-none")) }
                ul.faults { @for f in faults { li { (f) } } }
            }
        }
        section {
            h2 { (v.text("cabtest-which")) }
            p { (v.text("cabtest-which-text")) }
            ul.shelf {
                @for c in site.library().cabinets() {
                    li {
                        a href={ "/cabinet-tests/" (c.key) } {
                            b { (words.pick(&c.name.en, &c.name.es)) }
                            span { (words.pick(&c.description.en, &c.description.es)) }
                        }
                    }
                }
            }
        }
        section {
            h2 { (v.text("cabtest-send")) }
            p { (v.text("cabtest-send-text")) }
            form.sheet method="post" action="/cabinet-tests" enctype="multipart/form-data" {
                input type="hidden" name="form_token" value=(v.token);
                div.field {
                    label for="f-files" { (v.text("cabtest-files")) }
                    input #f-files name="files" type="file" multiple required aria-describedby="n-files";
                    p.note #n-files { (v.text("cabtest-files-more")) }
                }
                div.cabtest-buttons {
                    button.go name="show" value="report" { (v.text("cabtest-report")) }
                    button name="show" value="next" { (v.text("cabtest-next")) }
                    button name="show" value="cabinet" { (v.text("cabtest-cabinet")) }
                    button name="show" value="pdf" { (v.text("cabtest-pdf")) }
                }
            }
        }
    };
    Shell { title: v.text("cabtest-title"), tab: Tab::Library }.around(v, &body)
}

fn document(d: &Document) -> Response {
    let font = FontSource::Address { regular: address("regular.ttf"), bold: address("bold.ttf") };
    document_response(document_html(d, &HtmlOptions { font, day_only: false }))
}

async fn advice(v: Visit, State(site): State<Site>, Path(cabinet): Path<String>) -> Response {
    if !site.library().cabinets().iter().any(|c| c.key == cabinet) {
        return StatusCode::NOT_FOUND.into_response();
    }
    let (library, reader) = (Arc::clone(site.library()), site.reader(v.language, v.units));
    let made = site
        .planner()
        .run(move |_| advice_document(&library, &MemoryFiles::default(), &cabinet, None, &reader));
    match made.await {
        Ok(d) => document(&d),
        Err(e) => fault(&v, &site, &e),
    }
}

fn fault(v: &Visit, site: &Site, e: &AppError) -> Response {
    let faults: Vec<String> = e.to_string().lines().map(str::to_owned).collect();
    said((StatusCode::UNPROCESSABLE_ENTITY, shown(v, site, &faults)).into_response())
}

/// What is to be shown of files that were sent.
enum Show {
    Page(Box<Document>),
    Cabinet(String),
    Pdf(Vec<u8>),
}

async fn sent(v: Visit, State(site): State<Site>, mut parts: Multipart) -> Response {
    let (mut files, mut show) = (Vec::new(), String::new());
    loop {
        let part = match parts.next_field().await {
            Ok(Some(part)) => part,
            Ok(None) => break,
            Err(e) => return e.status().into_response(),
        };
        let (field, name) = (part.name().unwrap_or("").to_owned(), part.file_name().map(str::to_owned));
        let bytes = match part.bytes().await {
            Ok(bytes) => bytes,
            Err(e) => return e.status().into_response(),
        };
        match name {
            Some(name) if field == "files" && !name.is_empty() => {
                let last = name.rsplit(['/', '\\']).next().unwrap_or("file").to_owned();
                files.push((last, bytes.to_vec()));
            }
            _ if field == "show" => show = String::from_utf8_lossy(&bytes).into_owned(),
            _ => {}
        }
    }
    let (library, reader) = (Arc::clone(site.library()), site.reader(v.language, v.units));
    let made = site.planner().run(move |_| {
        let sent = evaluate_sent(&MemoryFiles(files), &library, &reader)?;
        let report = |s: &Sent| match &s.drifted {
            Some(d) => drift_document(d, &reader),
            None => commission_document(&s.evaluated, &reader),
        };
        Ok(match show.as_str() {
            "next" => Show::Page(Box::new(advice_document(
                &library,
                &MemoryFiles::default(),
                "",
                Some(&sent.evaluated),
                &reader,
            )?)),
            "cabinet" => Show::Cabinet(sent.evaluated.cabinet_toml),
            "pdf" => Show::Pdf(document_pdf(&report(&sent))?),
            _ => Show::Page(Box::new(report(&sent))),
        })
    });
    match made.await {
        Ok(Show::Page(d)) => document(&d),
        Ok(Show::Cabinet(text)) => download("text/plain; charset=utf-8", "cabinet.toml", text.into_bytes()),
        Ok(Show::Pdf(bytes)) => download("application/pdf", "cabinet-tests.pdf", bytes),
        Err(e) => fault(&v, &site, &e),
    }
}

fn download(kind: &'static str, name: &'static str, bytes: Vec<u8>) -> Response {
    let disposition = format!("attachment; filename=\"{name}\"");
    ([(CONTENT_TYPE, kind.to_owned()), (CONTENT_DISPOSITION, disposition)], bytes).into_response()
}
