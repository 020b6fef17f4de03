//! Every entry of a record; correcting and withdrawing one.

use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use fallrate_app::proof::desk::{self, EntryLine, entry_lines};
use fallrate_app::proof::record::Amend;
use maud::{Markup, html};

use super::sent::{Sent, app_fault, back_to, hidden, ready};
use crate::look::Visit;
use crate::shell::{Shell, Tab};
use crate::state::Site;

async fn lines(v: &Visit, site: &Site, id: &str) -> Result<Vec<EntryLine>, Response> {
    let key = id.to_owned();
    match site.desk().read_app(move |r| desk::record(r, &key)).await {
        Ok(Some(record)) => Ok(entry_lines(&record)),
        Ok(None) => Err(StatusCode::NOT_FOUND.into_response()),
        Err(e) => Err(app_fault(v, &format!("/proof/{id}"), &e)),
    }
}

pub(super) async fn list(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Response {
    let lines = match lines(&v, &site, &id).await {
        Ok(lines) => lines,
        Err(answer) => return answer,
    };
    let body = html! {
        p.back { a href={ "/proof/" (id) } { (v.text("desk-back")) } }
        h1 { (v.text("desk-entries")) }
        p.subline { (v.text("desk-entries-more")) }
        ol.entries {
            @for e in lines.iter().rev() {
                li {
                    p { b { (e.n) ". " (e.kind) } " " (e.at) ", " (e.by) @if e.gone { " " strong { (v.text("amended-withdrawn")) } } }
                    @if !e.reason.is_empty() { p { (v.text("proof-why")) ": " (e.reason) } }
                    dl.fields { @for (name, value) in &e.fields { div { dt { (name) } dd { (value) } } } }
                    @if e.may_change { a.button href={ "/proof/" (id) "/entries/" (e.n) } { (v.text("desk-correct")) } }
                }
            }
        }
    };
    Shell { title: v.text("desk-entries"), tab: Tab::Batches }.around(&v, &body).into_response()
}

pub(super) async fn one(v: Visit, State(site): State<Site>, Path((id, n)): Path<(String, u64)>) -> Response {
    let lines = match lines(&v, &site, &id).await {
        Ok(lines) => lines,
        Err(answer) => return answer,
    };
    match lines.iter().find(|e| e.n == n && e.may_change) {
        Some(e) => shown(&v, &id, e).into_response(),
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

fn shown(v: &Visit, id: &str, e: &EntryLine) -> Markup {
    let path = format!("/proof/{id}/entries/{}", e.n);
    let body = html! {
        p.back { a href={ "/proof/" (id) "/entries" } { (v.text("desk-entries")) } }
        h1 { (v.with("desk-correct-title", &[("entry", &e.n.to_string())])) }
        p.subline { (v.text("desk-correct-more")) }
        form.sheet method="post" action=(path) {
            (hidden(v))
            @for (name, value) in &e.fields {
                @let key = format!("f-{}", name.replace('.', "-"));
                div.field {
                    label for=(key) { (name) }
                    input type="hidden" name={ "old." (name) } value=(value);
                    input id=(key) name={ "new." (name) } type="text" autocomplete="off" value=(value);
                }
            }
            div.field {
                label for="f-reason" { (v.text("proof-why")) }
                input #f-reason name="reason" type="text" autocomplete="off" maxlength="400" required;
            }
            button.go { (v.text("desk-correct-go")) }
        }
        details {
            summary { (v.text("desk-withdraw")) }
            form.sheet method="post" action={ (path) "/withdraw" } {
                (hidden(v))
                p { (v.text("desk-withdraw-more")) }
                div.field {
                    label for="f-gone" { (v.text("proof-why")) }
                    input #f-gone name="reason" type="text" autocomplete="off" maxlength="400" required;
                }
                button { (v.text("desk-withdraw")) }
            }
        }
    };
    Shell { title: v.text("desk-correct"), tab: Tab::Batches }.around(v, &body)
}

pub(super) async fn correct(
    v: Visit,
    State(site): State<Site>,
    Path((id, n)): Path<(String, u64)>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Response {
    let sent = Sent(sent);
    let (_, stamp) = match ready(&v, &site, &sent).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let changed = sent.0.iter().filter_map(|(name, value)| {
        let path = name.strip_prefix("new.")?;
        (sent.get(&format!("old.{path}")) != value)
            .then(|| Amend { path: path.to_owned(), value: value.clone() })
    });
    let (sets, reason): (Vec<Amend>, _) = (changed.collect(), sent.get("reason").to_owned());
    let key = id.clone();
    back_to(
        &v,
        &id,
        site.desk().write_app(move |r| desk::correct(r, &key, &stamp, (n, &sets, &reason))).await,
    )
}

pub(super) async fn withdraw(
    v: Visit,
    State(site): State<Site>,
    Path((id, n)): Path<(String, u64)>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Response {
    let sent = Sent(sent);
    let (_, stamp) = match ready(&v, &site, &sent).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let (key, reason) = (id.clone(), sent.get("reason").to_owned());
    back_to(&v, &id, site.desk().write_app(move |r| desk::withdraw(r, &key, &stamp, (n, &reason))).await)
}
