//! Plans that are kept, and batches that were.

use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::batches;
use maud::html;
use serde::Deserialize;

use crate::keep::{fault, stamp};
use crate::look::Visit;
use crate::plan::{Entries, pairs_of, write};
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// First line of a kept plan file: the entries of the form it came from.
const FORM_LINE: &str = "# form: ";

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Save {
    entry_id: String,
    plan: String,
    title: String,
}

/// Keeps the plan of a form under a title.
pub(super) async fn save(v: Visit, State(site): State<Site>, Form(s): Form<Save>) -> Response {
    let plant = match site.desk().plant().await {
        Ok(Some(plant)) => plant,
        Ok(None) => return Redirect::to("/setup").into_response(),
        Err(e) => return fault(&v, &e),
    };
    let entries = Entries::new(pairs_of(&s.plan), v.units);
    let text = format!("{FORM_LINE}{}\n{}", entries.query(), write(&entries, site.library(), &v.reader).text);
    let title: String = s.title.chars().take(80).collect();
    let stamp = stamp(&plant, &v, &s.entry_id);
    match site.desk().write(move |r| batches::save_plan(r, &stamp, &title, &text)).await {
        Ok(_) => Redirect::to("/plans").into_response(),
        Err(e) => fault(&v, &e),
    }
}

pub(super) async fn plans(v: Visit, State(site): State<Site>) -> Response {
    let list = match site.desk().read(|r| batches::plans(r)).await {
        Ok(list) => list,
        Err(e) => return fault(&v, &e),
    };
    let body = html! {
        h1 { (v.text("web-plans-title")) }
        p.subline { (v.text(if list.is_empty() { "web-plans-none" } else { "web-plans-more" })) }
        ul.shelf {
            @for p in &list {
                li {
                    a href={ "/plans/" (p.name) } {
                        b { (p.title) }
                        span { (v.with("web-plans-version", &[("version", &p.version.to_string()), ("by", &p.by)])) }
                    }
                }
            }
        }
        p.onward { a.button href="/plan" { (v.text("web-door-plan")) } }
    };
    Shell { title: v.text("web-plans-title"), tab: Tab::Plan }.around(&v, &body).into_response()
}

/// Opens a kept plan in the form.
pub(super) async fn open(v: Visit, State(site): State<Site>, Path(name): Path<String>) -> Response {
    match site.desk().read(move |r| batches::plan(r, &name)).await {
        Ok(Some(plan)) => {
            let query = plan.toml.lines().next().and_then(|l| l.strip_prefix(FORM_LINE)).unwrap_or("");
            let entries = Entries::new(pairs_of(query), v.units);
            Redirect::to(&format!("/plan?{}&go=1", entries.query())).into_response()
        }
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => fault(&v, &e),
    }
}
