//! Own versions of products and cabinets, with their history.

use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Form, Router};
use fallrate_app::own::{
    Edited, OwnItem, Sort, Version, carried_file, own_item, own_items, own_page, retire_own, save_own,
};
use fallrate_app::proof::LocalClock;
use maud::{Markup, html};
use serde::Deserialize;

use crate::fault::said;
use crate::keep::{fault, stamp};
use crate::look::{Visit, random_hex};
use crate::page_parts::{ending, figures, opening, tables};
use crate::proof::{Sent, app_fault, refusal};
use crate::shell::{Shell, Tab};
use crate::state::Site;

type Fields = Form<Vec<(String, String)>>;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/library/own/{sort}", get(edit).post(save))
        .route("/library/own/{sort}/{name}", get(latest))
        .route("/library/own/{sort}/{name}/{version}", get(one))
        .route("/library/own/{sort}/{name}/retire", post(retire))
}

/// Own items on the page of the library.
pub(crate) async fn shelf(v: &Visit, site: &Site) -> Markup {
    let work = |r: &mut dyn fallrate_app::batches::Records| {
        Ok([(Sort::Product, own_items(r, Sort::Product)?), (Sort::Cabinet, own_items(r, Sort::Cabinet)?)])
    };
    let Ok(all) = site.desk().read(work).await else { return html! {} };
    let any = all.iter().any(|(_, list)| !list.is_empty());
    html! {
        section {
            h2 { (v.text("own-title")) }
            @if !any { p { (v.text("own-none")) } }
            ul.shelf {
                @for (sort, list) in &all {
                    @for i in list { li { (card(v, *sort, i)) } }
                }
            }
            p.onward { a.button href="/instruments" { (v.text("inst-title")) } }
        }
    }
}

fn card(v: &Visit, sort: Sort, i: &OwnItem) -> Markup {
    let title = i.versions.first().map_or("", |x| x.title.as_str());
    html! {
        a href={ "/library/own/" (sort.word()) "/" (i.name) } {
            b { (title) }
            span {
                b.mark { (v.text("own-mark")) } " "
                (v.reader.words.counted("own-versions", i.versions.len()))
                @if i.retired { ", " (v.text("inst-retired")) }
            }
        }
    }
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
struct From {
    from: String,
    own: String,
    version: u64,
}

/// A copy to be edited: of an item of the program, or of an own version.
async fn edit(
    v: Visit,
    State(site): State<Site>,
    Path(sort): Path<String>,
    Query(q): Query<From>,
) -> Response {
    let Some(sort) = Sort::of(&sort) else { return StatusCode::NOT_FOUND.into_response() };
    if q.own.is_empty() {
        let Some(text) = carried_file(site.library(), sort, &q.from) else {
            return StatusCode::NOT_FOUND.into_response();
        };
        let e = Edited { toml: text.to_owned(), copied_from: Some((q.from, 0)), ..Edited::default() };
        return form(&v, sort, &e, &[]).into_response();
    }
    let name = q.own.clone();
    match site.desk().read(move |r| own_item(r, sort, &name)).await {
        Ok(Some(i)) => match i.versions.iter().find(|x| x.number == q.version || q.version == 0) {
            Some(x) => {
                let from = format!("library/{}/{}", sort.word(), i.name);
                let e = Edited {
                    title: x.title.clone(),
                    toml: x.toml.clone(),
                    note: String::new(),
                    copied_from: Some((from, x.number)),
                };
                form(&v, sort, &e, &[]).into_response()
            }
            None => StatusCode::NOT_FOUND.into_response(),
        },
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => fault(&v, &e),
    }
}

fn form(v: &Visit, sort: Sort, e: &Edited, faults: &[String]) -> Markup {
    let (from, version) = e.copied_from.clone().unwrap_or_default();
    let body = html! {
        p.back { a href="/library" { (v.text("web-library-back")) } }
        h1 { (v.text("own-edit")) }
        p.subline { (v.text("own-edit-more")) }
        @if !faults.is_empty() { ul.faults { @for f in faults { li role="alert" { (f) } } } }
        form method="post" action={ "/library/own/" (sort.word()) } {
            input type="hidden" name="form_token" value=(v.token);
            input type="hidden" name="entry_id" value=(random_hex().unwrap_or_default());
            input type="hidden" name="from" value=(from);
            input type="hidden" name="from_version" value=(version);
            div.sheet {
                div.field {
                    label for="f-title" { (v.text("own-name")) }
                    input #f-title name="title" type="text" autocomplete="off" maxlength="80" required value=(e.title);
                    p.note { (v.text("own-name-more")) }
                }
                div.field {
                    label for="f-note" { (v.text("own-note")) }
                    input #f-note name="note" type="text" autocomplete="off" maxlength="400" required value=(e.note);
                }
            }
            label for="f-toml" { (v.text("own-file")) }
            p.note { (v.text("own-file-more")) }
            textarea #f-toml.code name="toml" rows="30" spellcheck="false" { (e.toml) }
            button.go { (v.text("own-save")) }
        }
    };
    Shell { title: v.text("own-edit"), tab: Tab::Library }.around(v, &body)
}

async fn save(v: Visit, State(site): State<Site>, Path(sort): Path<String>, Form(sent): Fields) -> Response {
    let Some(sort) = Sort::of(&sort) else { return StatusCode::NOT_FOUND.into_response() };
    let sent = Sent(sent);
    let plant = match site.desk().plant().await {
        Ok(Some(plant)) => plant,
        Ok(None) => return Redirect::to("/setup").into_response(),
        Err(e) => return fault(&v, &e),
    };
    let stamp = stamp(&plant, &v, sent.get("entry_id"));
    let version = sent.get("from_version").parse().unwrap_or(0);
    let edited = Edited {
        title: sent.get("title").chars().take(80).collect(),
        toml: sent.get("toml").replace("\r\n", "\n"),
        note: sent.get("note").to_owned(),
        copied_from: sent.filled("from").map(|f| (f, version)),
    };
    let copy = edited.clone();
    match site.desk().write_app(move |r| save_own(r, &stamp, sort, &copy)).await {
        Ok(name) => Redirect::to(&format!("/library/own/{}/{name}", sort.word())).into_response(),
        Err(e) => {
            let page = form(&v, sort, &edited, &refusal(&v, &e));
            said((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
    }
}

async fn latest(v: Visit, state: State<Site>, Path((sort, name)): Path<(String, String)>) -> Response {
    shown(v, state, &sort, name, None).await
}

async fn one(
    v: Visit,
    state: State<Site>,
    Path((sort, name, version)): Path<(String, String, u64)>,
) -> Response {
    shown(v, state, &sort, name, Some(version)).await
}

async fn shown(
    v: Visit,
    State(site): State<Site>,
    sort: &str,
    name: String,
    version: Option<u64>,
) -> Response {
    let Some(sort) = Sort::of(sort) else { return StatusCode::NOT_FOUND.into_response() };
    let item = match site.desk().read(move |r| own_item(r, sort, &name)).await {
        Ok(Some(item)) => item,
        Ok(None) => return StatusCode::NOT_FOUND.into_response(),
        Err(e) => return fault(&v, &e),
    };
    let found = item.versions.iter().find(|x| version.is_none_or(|n| n == x.number));
    let Some(found) = found else { return StatusCode::NOT_FOUND.into_response() };
    match own_page(sort, &found.toml, site.library(), &v.reader) {
        Ok(page) => whole(&v, sort, &item, found, &page).into_response(),
        Err(e) => app_fault(&v, "/library", &e),
    }
}

fn whole(v: &Visit, sort: Sort, i: &OwnItem, x: &Version, page: &fallrate_app::Page) -> Markup {
    let path = format!("/library/own/{}/{}", sort.word(), i.name);
    let newest = i.versions.first().map_or(0, |l| l.number);
    let day = |x: &Version| LocalClock::named("UTC").map_or_else(String::new, |c| c.day(x.at));
    let body = html! {
        p.back { a href="/library" { (v.text("web-library-back")) } }
        p.flag { b { (v.text("own-mark")) } span { (v.with("own-flag", &[("title", &x.title), ("version", &x.number.to_string()), ("by", &x.by)])) } }
        @if x.number != newest { p.flag { b { (v.text("own-old")) } a href=(path) { (v.text("own-newest")) } } }
        article { (opening(v, page, 1)) }
        section {
            h2 { (v.text("own-history")) }
            ol.entries {
                @for y in &i.versions {
                    li {
                        p {
                            a href={ (path) "/" (y.number) } aria-current=[(y.number == x.number).then_some("true")] {
                                b { (v.with("own-version", &[("version", &y.number.to_string())])) }
                            }
                            " " (day(y)) ", " (y.by)
                        }
                        @if !y.note.is_empty() { p { (y.note) } }
                        @if let Some((from, n)) = &y.copied_from {
                            p.note { (v.with("own-from", &[("from", from), ("version", &n.to_string())])) }
                        }
                    }
                }
            }
            p.onward {
                a.button href={ "/library/own/" (sort.word()) "?own=" (i.name) "&version=" (x.number) } { (v.text("own-edit")) }
            }
        }
        (figures(&page.figures))
        (tables(&page.tables, false))
        (ending(v, page))
        @if !i.retired {
            details { summary { (v.text("inst-retire")) }
                form.sheet method="post" action={ (path) "/retire" } {
                    input type="hidden" name="form_token" value=(v.token);
                    input type="hidden" name="entry_id" value=(random_hex().unwrap_or_default());
                    div.field { label for="f-why" { (v.text("proof-why")) } input #f-why name="note" type="text" autocomplete="off" maxlength="200"; }
                    button { (v.text("inst-retire")) }
                }
            }
        }
    };
    Shell { title: x.title.clone(), tab: Tab::Library }.around(v, &body)
}

async fn retire(
    v: Visit,
    State(site): State<Site>,
    Path((sort, name)): Path<(String, String)>,
    Form(sent): Fields,
) -> Response {
    let Some(sort) = Sort::of(&sort) else { return StatusCode::NOT_FOUND.into_response() };
    let sent = Sent(sent);
    let plant = match site.desk().plant().await {
        Ok(Some(plant)) => plant,
        Ok(None) => return Redirect::to("/setup").into_response(),
        Err(e) => return fault(&v, &e),
    };
    let stamp = stamp(&plant, &v, sent.get("entry_id"));
    let note = sent.get("note").to_owned();
    let back = format!("/library/own/{}/{name}", sort.word());
    match site.desk().write_app(move |r| retire_own(r, &stamp, sort, &name, &note)).await {
        Ok(()) => Redirect::to("/library").into_response(),
        Err(e) => app_fault(&v, &back, &e),
    }
}
