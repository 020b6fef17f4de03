//! The page of a record: the floor word, the verdict, what to supply, and everything that can be done with it.

use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use fallrate_app::parts::Block;
use fallrate_app::proof::desk::{Floor, Outlook, Sheets, outlook, sheets};
use maud::{Markup, PreEscaped, html};

use super::blocks::{blocks, halves, strips};
use super::page_forms::{actions, evidence_forms, files, papers, signing};
use super::sent::{app_fault, hidden};
use crate::look::Visit;
use crate::shell::{Shell, Tab};
use crate::state::Site;

pub(super) async fn page(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Response {
    let key = id.clone();
    let found = match site.desk().read_app(move |r| sheets(r, &key)).await {
        Ok(Some(found)) => found,
        Ok(None) => return StatusCode::NOT_FOUND.into_response(),
        Err(e) => return app_fault(&v, "/batches", &e),
    };
    let body = whole(&v, &id, &found);
    let lot = found.view.identity.as_ref().map_or_else(|| id.clone(), |i| i.value.lot.clone());
    let title = v.with("desk-title", &[("lot", &lot)]);
    Shell { title, tab: Tab::Batches }.around(&v, &body).into_response()
}

fn whole(v: &Visit, id: &str, s: &Sheets) -> Markup {
    let document = s.document(&v.reader);
    let identity = s.view.identity.as_ref().map(|i| &i.value);
    let outlook = outlook(&s.view, &v.reader);
    let (first, rest) = document.as_ref().map(halves).unwrap_or_default();
    html! {
        @if let Some(flag) = document.as_ref().and_then(|d| d.flag.as_ref()) {
            p.flag { b { (flag.word) } " " span { (flag.meaning) } }
        }
        @if let Some(i) = identity {
            p.subject { (i.product) ", " (v.with("web-batch-lot", &[("lot", &i.lot)])) ", " (i.cabinet) }
        }
        (floor(&outlook))
        (headline(v, s, &outlook, document.as_ref().map(|d| d.blocks.as_slice())))
        (next(v, id, s))
        @if !outlook.verdict.is_empty() {
            @if let Some(d) = &document {
                section { h2 { (v.text("desk-page-one")) } (blocks(d, &first, 0)) }
                (minutes(v, &rest))
            }
        }
        (signing(v, id, s))
        (actions(v, id, s))
        (files(v, id, s))
        (evidence_forms(v, id, s))
        @if !outlook.verdict.is_empty() {
            @if let Some(d) = &document {
                section { details { summary { h2 { (v.text("desk-evidence")) } } (blocks(d, &rest, 1)) } }
            }
        }
        (papers(v, id, s, identity.is_some_and(|i| i.drying_plan.is_some())))
    }
}

/// Every minute strip: what counted, and why the rest did not.
fn minutes(v: &Visit, rest: &[Block]) -> Markup {
    let list = strips(v, rest);
    html! {
        @if !list.is_empty() {
            section #minutes {
                h2 { (v.text("desk-minutes")) }
                p { (v.text("desk-minutes-more")) }
                @for strip in list { (strip) }
            }
        }
    }
}

/// Floor word with its pictogram: not a verdict.
fn floor(o: &Outlook) -> Markup {
    let (class, path) = match o.floor {
        Floor::GoOn => ("go-on", "M10 30h34m-14-14 14 14-14 14"),
        Floor::Wait => {
            ("wait", "M16 8h28M16 52h28M20 8c0 14 8 14 8 22s-8 8-8 22M40 8c0 14-8 14-8 22s8 8 8 22")
        }
        Floor::Hold => ("hold", "M20 10v40M40 10v40"),
        Floor::Call => ("call", "M30 8v28M30 46v6"),
    };
    html! {
        div class={ "floor " (class) } {
            svg viewBox="0 0 60 60" aria-hidden="true" {
                circle cx="30" cy="30" r="28" fill="none" stroke-width="3" {}
                g transform="translate(9 9) scale(.7)" { path d=(path) fill="none" stroke-width="7" stroke-linecap="round" stroke-linejoin="round" {} }
            }
            div { p.word { (o.word) } p { (o.why) } }
        }
    }
}

/// The verdict in words. The recorded one decides; what is told beside it comes from the kept bytes.
fn headline(v: &Visit, s: &Sheets, o: &Outlook, blocks: Option<&[Block]>) -> Markup {
    if o.verdict.is_empty() {
        return html! { h1 { (v.text("desk-not-judged")) } p.subline { (v.text("desk-not-judged-more")) } };
    }
    let answer = blocks.unwrap_or_default().iter().find_map(|b| match b {
        Block::Answer { sign, headline, subline } => Some((sign, headline, subline)),
        _ => None,
    });
    html! {
        @match answer {
            Some((sign, headline, subline)) if s.verdict_stands() => {
                div.answer {
                    (PreEscaped(sign.svg().unwrap_or_default()))
                    div { h1 { (headline) } p.subline { (subline) } }
                }
            }
            _ => { h1 { (v.with("desk-verdict", &[("word", &o.verdict)])) } }
        }
        @if o.outdated { p.flag { b { (v.text("desk-outdated")) } span { (v.text("desk-outdated-more")) } } }
        @if !s.verdict_stands() { p.flag { b { (v.text("desk-differs")) } span { (v.text("desk-differs-more")) } } }
    }
}

/// What to supply, and judging.
fn next(v: &Visit, id: &str, s: &Sheets) -> Markup {
    let supply = s.to_supply(&v.reader);
    let judged = !s.view.verdicts.is_empty();
    html! {
        @if !supply.is_empty() {
            section {
                h2 { (v.text("desk-supply")) }
                ul.supply { @for line in &supply { li { (line) } } }
                p.onward {
                    a.button href={ "/proof/" (id) "/facts" } { (v.text("desk-facts-go")) }
                    a.button href="#files" { (v.text("desk-file-go")) }
                }
            }
        }
        @if s.judged.is_ok() {
            form.sheet method="post" action={ "/proof/" (id) "/judge" } {
                (hidden(v))
                @if judged {
                    button { (v.text("desk-judge-again")) }
                    p.note { (v.text("desk-judge-again-more")) }
                } @else {
                    button.go { (v.text("desk-judge")) }
                }
            }
        }
    }
}
