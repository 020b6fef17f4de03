//! The corrective action of a deviation: the four parts that the regulation asks for, each an entry of the record.

use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::Asked;
use fallrate_app::batches::{self, Disposition, FourParts, Run};
use fallrate_app::quantities::{Mass, Quantity};
use maud::{Markup, html};
use serde::Deserialize;

use super::enter::{known, plant};
use super::page::{hidden, subject};
use super::stop::stop_line;
use crate::keep::{fault, stamp};
use crate::look::Visit;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// The form as it is sent; `entry` is the interruption it began with.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Sent {
    entry_id: String,
    entry: Option<u64>,
    deviation: String,
    cause: String,
    control: String,
    prevention: String,
    disposition: String,
    decided: String,
    held: String,
}

/// What can become of held product, with its word in the form.
const DECIDED: [(&str, &str, Disposition); 4] = [
    ("release", "run-action-release", Disposition::Release),
    ("rework", "run-action-rework", Disposition::Rework),
    ("divert", "run-action-divert", Disposition::Divert),
    ("destroy", "run-action-destroy", Disposition::Destroy),
];

pub(super) async fn page(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Query(q): Query<Sent>,
) -> Response {
    shown(&v, &site, &id, q, None).await
}

async fn shown(
    v: &Visit,
    site: &Site,
    id: &str,
    mut sent: Sent,
    wrong: Option<(&'static str, String)>,
) -> Response {
    let run = match known(v, site, id).await {
        Ok(run) => run,
        Err(answer) => return answer,
    };
    if sent.deviation.is_empty() {
        let stop = run.stopped.iter().find(|s| Some(s.entry) == sent.entry);
        sent.deviation = stop.map_or_else(String::new, |s| stop_line(v, &run, s));
    }
    let body = html! {
        p.subject { (subject(v, &run)) }
        h1 { (v.text("run-action-title")) }
        p.subline { (v.text("run-action-more")) }
        (open_ones(v, &run))
        (form(v, &run, &sent, wrong.as_ref()))
        p.back { a href={ "/batches/" (id) } { (v.text("run-back")) } }
    };
    let status = if wrong.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    let page = Shell { title: v.text("run-action-title"), tab: Tab::Start }.around(v, &body);
    crate::fault::said((status, page).into_response())
}

/// Deviations that are known, and what their corrective action still lacks.
fn open_ones(v: &Visit, run: &Run) -> Markup {
    html! {
        @if !run.deviations.is_empty() {
            ul.reasons {
                @for (name, missing) in &run.deviations {
                    @let state = v.text(if missing.is_some() { "run-action-open" } else { "run-action-whole" });
                    li { b { (name) } " – " (state) }
                }
            }
        }
    }
}

fn form(v: &Visit, run: &Run, s: &Sent, wrong: Option<&(&'static str, String)>) -> Markup {
    let part = |name: &'static str, label: &str, note: &str, value: &str| {
        let id = format!("f-{name}");
        html! {
            div.field {
                label for=(id) { (v.text(label)) }
                textarea id=(id) name=(name) maxlength="2000" aria-describedby={ "n-" (id) } { (value) }
                p.note id={ "n-" (id) } { (v.text(note)) }
            }
        }
    };
    let fault = |name: &str| wrong.filter(|w| w.0 == name).map(|w| w.1.as_str());
    html! {
        form.sheet method="post" action={ "/batches/" (run.id) "/action" } {
            (hidden(v))
            div.field {
                label for="f-deviation" { (v.text("run-action-deviation")) }
                input #f-deviation name="deviation" type="text" maxlength="200" value=(s.deviation)
                    aria-invalid=[fault("deviation").map(|_| "true")];
                @if let Some(why) = fault("deviation") { p.note data-kind="fault" { (why) } }
            }
            (part("cause", "run-action-cause", "run-action-cause-note", &s.cause))
            (part("control", "run-action-control", "run-action-control-note", &s.control))
            (part("prevention", "run-action-prevention", "run-action-prevention-note", &s.prevention))
            (part("disposition", "run-action-disposition", "run-action-disposition-note", &s.disposition))
            div.pair {
                div.field {
                    label for="f-decided" { (v.text("run-action-decided")) }
                    select #f-decided name="decided" {
                        option value="" {}
                        @for (word, key, _) in DECIDED {
                            option value=(word) selected[s.decided == word] { (v.text(key)) }
                        }
                    }
                }
                div.field {
                    label for="f-held" { (v.text("run-action-held")) }
                    div.typed {
                        input #f-held name="held" type="text" autocomplete="off" maxlength="40" value=(s.held)
                            aria-invalid=[fault("held").map(|_| "true")];
                        span.unit { (Asked::Mass.unit(v.units)) }
                    }
                    @if let Some(why) = fault("held") { p.note data-kind="fault" { (why) } }
                }
            }
            button.go { (v.text("web-batch-keep")) }
        }
    }
}

/// Reads the decision that the fourth part needs.
fn decided(v: &Visit, s: &Sent) -> Result<Option<(Disposition, f64)>, (&'static str, String)> {
    if s.disposition.trim().is_empty() {
        return Ok(None);
    }
    let missing = || ("held", v.text("run-action-needs-both"));
    let which = DECIDED.into_iter().find(|(w, ..)| *w == s.decided).ok_or_else(missing)?.2;
    let held = Asked::Mass.read(&s.held, v.units).map_err(|e| ("held", e.words(&v.reader)))?;
    let held = Mass::parse(&held.ok_or_else(missing)?.value).map_err(|e| ("held", e.to_string()))?;
    Ok(Some((which, held.kilograms())))
}

pub(super) async fn enter(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let plant = match (plant(&v, &site).await, known(&v, &site, &id).await) {
        (Ok(plant), Ok(_)) => plant,
        (Err(answer), _) | (_, Err(answer)) => return answer,
    };
    let stamp = stamp(&plant, &v, &s.entry_id);
    let texts = [&s.cause, &s.control, &s.prevention, &s.disposition];
    if s.deviation.trim().is_empty() || texts.iter().all(|t| t.trim().is_empty()) {
        let why = v.text("run-action-nothing");
        return shown(&v, &site, &id, s, Some(("deviation", why))).await;
    }
    let decided = match decided(&v, &s) {
        Ok(decided) => decided,
        Err(wrong) => return shown(&v, &site, &id, s, Some(wrong)).await,
    };
    let parts = FourParts {
        deviation: s.deviation,
        cause: s.cause,
        control: s.control,
        prevention: s.prevention,
        disposition: s.disposition,
        decided,
    };
    let key = id.clone();
    match site.desk().write(move |r| batches::action_taken(r, &key, &stamp, &parts)).await {
        Ok(_) => Redirect::to(&format!("/batches/{id}/action")).into_response(),
        Err(e) => fault(&v, &e),
    }
}
