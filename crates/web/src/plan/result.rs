//! The result of a plan: the one thing first, then the acts, the figures, the pictures.

use axum::http::StatusCode;
use fallrate_app::{AppError, Detail, KeyFault, compare_page, plan_page};
use maud::{Markup, html};

use super::entries::Entries;
use super::fields::FIELDS;
use super::text::{NoteKind, Written, write};
use super::{Asked, DRAWS, encode};
use crate::look::{Visit, random_hex};
use crate::page_parts::{ending, figures, opening, pictures, run_sheet, tables};
use crate::state::Site;

/// Where the card is: one sheet of PDF, or a page in a build without it.
const CARD: &str = if cfg!(feature = "pdf") { "/plan/card.pdf" } else { "/plan/card" };

/// Before anything was asked for.
pub(crate) fn waiting(v: &Visit) -> Markup {
    html! {
        div.waiting {
            h1 { (v.text("web-plan-title")) }
            p.subline { (v.text("web-plan-waiting")) }
            p { (v.text("web-plan-waiting-more")) }
        }
    }
}

/// The result, or what keeps it from being there.
pub(crate) async fn show(v: &Visit, site: &Site, asked: &Asked, written: &Written) -> (StatusCode, Markup) {
    if written.has_faults() {
        return (StatusCode::UNPROCESSABLE_ENTITY, entry_faults(v, written));
    }
    if let Some(beside) = &asked.beside {
        return side_by_side(v, site, asked, beside, written).await;
    }
    let known = site.planner().known(&written.text, DRAWS);
    let draws = if asked.band || known.is_some() { DRAWS } else { 0 };
    match site.planner().plan(&written.text, draws).await {
        Ok(planned) => {
            let page = plan_page(&planned, site.library(), &v.reader, Detail::Full);
            let body = html! {
                article data-band=[(draws == 0).then_some("missing")] {
                    (opening(v, &page, 1))
                    (ways_on(v, &asked.entries))
                    (run_sheet(v, &page))
                    @if draws == 0 { p.note.later { (v.text("web-plan-band-later")) } }
                    (pictures(v, &page.pictures, "p"))
                    (figures(&page.figures))
                    (tables(&page.tables, true))
                    (ending(v, &page))
                }
            };
            (StatusCode::OK, body)
        }
        Err(e) => failed(v, &e),
    }
}

/// What can be done with a plan.
fn ways_on(v: &Visit, entries: &Entries) -> Markup {
    let query = entries.query();
    html! {
        p.onward {
            a.button.main href={ "/batches/start?" (query) } { (v.text("web-batch-start-title")) }
            a.button href={ (CARD) "?" (query) } { (v.text("web-plan-card")) }
            a.button href={ "/plan?" (query) "&go=1&beside=" (encode(&query)) } { (v.text("web-plan-beside")) }
            a.button href={ "/plan/file?" (query) } { (v.text("web-plan-file")) }
        }
        details.keep {
            summary { (v.text("web-plan-keep")) }
            form.search method="post" action="/plans" {
                input type="hidden" name="form_token" value=(v.token);
                input type="hidden" name="entry_id" value=(random_hex().unwrap_or_default());
                input type="hidden" name="plan" value=(query);
                label for="f-keep-title" { (v.text("web-plan-keep-title")) }
                div.typed {
                    input #f-keep-title name="title" type="text" value=(entries.get("title")) autocomplete="off" maxlength="80" required;
                    button { (v.text("web-batch-keep")) }
                }
                p { a href="/plans" { (v.text("web-plans-title")) } }
            }
        }
    }
}

async fn side_by_side(
    v: &Visit,
    site: &Site,
    asked: &Asked,
    beside: &Entries,
    written: &Written,
) -> (StatusCode, Markup) {
    let first = write(&beside.clone().seen_in(v.units), site.library(), &v.reader);
    if first.text == written.text {
        let same = html! {
            h1 { (v.text("web-beside-same")) }
            p.subline { (v.text("web-beside-same-next")) }
            p.onward { a.button href={ "/plan?" (asked.entries.query()) "&go=1" } { (v.text("web-beside-end")) } }
        };
        return (StatusCode::OK, same);
    }
    match site.planner().compare(&first.text, &written.text, 0).await {
        Ok(compared) => {
            let page = compare_page(&compared, site.library(), &v.reader);
            let body = html! {
                article {
                    (opening(v, &page, 1))
                    p.onward {
                        a.button href={ "/plan?" (asked.entries.query()) "&go=1" } { (v.text("web-beside-keep-b")) }
                        a.button href={ "/plan?" (beside.query()) "&go=1" } { (v.text("web-beside-keep-a")) }
                    }
                    (tables(&page.tables, false))
                    (figures(&page.figures))
                    (pictures(v, &page.pictures, "c"))
                    (ending(v, &page))
                }
            };
            (StatusCode::OK, body)
        }
        Err(e) => failed(v, &e),
    }
}

/// The name of an entry by its key; the key itself where it has none.
fn label(v: &Visit, key: &str) -> String {
    let form_key = match key {
        "load.total" | "load.per_tray" | "load.per_area" => "load.amount",
        other => other,
    };
    match FIELDS.iter().find(|f| f.key == form_key) {
        Some(f) => v.text(f.label),
        None if key.starts_with("stage") => v.text("web-part-stages"),
        None => key.to_owned(),
    }
}

fn faults_list(v: &Visit, list: &[KeyFault]) -> Markup {
    html! {
        h1 { (v.text("web-plan-none")) }
        p.subline { (v.text("web-plan-none-next")) }
        ul.faults {
            @for f in list {
                li { @if !f.key.is_empty() { b { (label(v, &f.key)) } " " } (f.text) }
            }
        }
    }
}

fn entry_faults(v: &Visit, written: &Written) -> Markup {
    let faults = written.notes.iter().filter(|n| n.kind == NoteKind::Fault);
    let list: Vec<KeyFault> = faults.map(|n| KeyFault { key: n.key.clone(), text: n.text.clone() }).collect();
    faults_list(v, &list)
}

fn failed(v: &Visit, e: &AppError) -> (StatusCode, Markup) {
    let status = match e {
        AppError::Cancelled => StatusCode::SERVICE_UNAVAILABLE,
        _ => StatusCode::UNPROCESSABLE_ENTITY,
    };
    (status, faults_list(v, &e.faults(&v.reader)))
}
