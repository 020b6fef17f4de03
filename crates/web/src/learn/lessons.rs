//! What batches taught, with the buttons to approve, turn down and take back.

use axum::Form;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::AppError;
use fallrate_app::batches::Stamp;
use fallrate_app::learning::{Decision, Learned, decide as enter, kept, learned_document, learned_of};
use maud::{Markup, html};
use serde::Deserialize;

use super::{forms, page as shown, show, today};
use crate::fault::said;
use crate::keep::{fault, stamp};
use crate::look::{Visit, random_hex};
use crate::state::Site;

/// Reads what is kept, then works it out without holding the records.
pub(crate) async fn work_out(site: &Site) -> Result<Learned, WorkFault> {
    let kept = site.desk().read(|r| Ok(kept(r))).await.map_err(WorkFault::Store)?.map_err(WorkFault::App)?;
    let library = std::sync::Arc::clone(site.library());
    let job = tokio::task::spawn_blocking(move || learned_of(&library, kept, &|| true));
    job.await.map_err(|_| WorkFault::GivenUp)?.map_err(WorkFault::App)
}

/// Why there is no answer.
pub(crate) enum WorkFault {
    /// The records.
    Store(fallrate_app::batches::StoreError),
    /// What is in them.
    App(AppError),
    /// The work was given up.
    GivenUp,
}

impl WorkFault {
    fn page(&self, v: &Visit) -> Response {
        match self {
            Self::Store(e) => fault(v, e),
            Self::App(e) => {
                let body = forms::refused(v, &e.to_string(), &html! {});
                said((StatusCode::UNPROCESSABLE_ENTITY, shown(v, &body)).into_response())
            }
            Self::GivenUp => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
        }
    }
}

pub(crate) async fn page(v: Visit, State(site): State<Site>) -> Response {
    match work_out(&site).await {
        Err(e) => e.page(&v),
        Ok(l) => {
            let document = learned_document(&l, site.library(), &v.reader, &today());
            shown(&v, &html! { (show::document(&v, &document)) (decisions(&v, &l)) })
        }
    }
}

/// One form for each decision that can be made.
fn decisions(v: &Visit, l: &Learned) -> Markup {
    let id = random_hex().unwrap_or_default();
    let hidden = |what: &str, number: usize| {
        html! {
            input type="hidden" name="form_token" value=(v.token);
            input type="hidden" name="entry_id" value=(format!("{id}-{what}-{number}"));
            input type="hidden" name="number" value=(number);
        }
    };
    let why = |what: &str, number: usize| {
        let field = format!("why-{what}-{number}");
        html! {
            div.field {
                label for=(field) { (v.text("web-learn-why")) }
                input id=(field) name="reason" required maxlength="300" autocomplete="off";
            }
        }
    };
    html! {
        @for (n, lesson) in l.lessons.iter().enumerate().filter(|(_, x)| x.is_new) {
            section.decide {
                h2 { (v.with("web-learn-decide", &[("number", &(n + 1).to_string())])) }
                form method="post" action="/learn/decide" {
                    (hidden("approve", n + 1))
                    button.main name="what" value="approve" { (v.text("web-learn-approve")) }
                }
                form method="post" action="/learn/decide" {
                    (hidden("turn-down", n + 1)) (why("turn-down", n + 1))
                    button name="what" value="turn_down" { (v.text("web-learn-turn-down")) }
                }
                @if lesson.proposal.as_ref().is_some_and(|p| !p.warnings.is_empty()) {
                    p.hint { (v.text("web-learn-look-first")) }
                }
            }
        }
        @for entry in l.can_be_taken_back() {
            section.decide {
                h2 { (v.with("web-learn-back", &[("entry", &entry.to_string())])) }
                form method="post" action="/learn/decide" {
                    (hidden("take-back", entry)) (why("take-back", entry))
                    button name="what" value="take_back" { (v.text("web-learn-take-back")) }
                }
            }
        }
    }
}

/// A decision as a form sends it.
#[derive(Clone, Debug, Deserialize)]
pub(crate) struct Entered {
    what: String,
    number: usize,
    #[serde(default)]
    reason: String,
    #[serde(default)]
    entry_id: String,
}

/// The decision in a form's words.
pub(crate) fn decision(what: &str, number: usize, reason: &str) -> Option<Decision> {
    let reason = reason.trim().to_owned();
    match what {
        "approve" => Some(Decision::Approve { lesson: number }),
        "turn_down" if !reason.is_empty() => Some(Decision::TurnDown { lesson: number, reason }),
        "take_back" if !reason.is_empty() => Some(Decision::TakeBack { entry: number, reason }),
        _ => None,
    }
}

/// Makes a decision on what is kept now.
pub(crate) async fn make(site: &Site, stamp: Stamp, decision: Decision) -> Result<(), WorkFault> {
    let l = work_out(site).await?;
    let done = site.desk().write(move |r| Ok(enter(&l, r, &stamp, &decision).map(|_| ()))).await;
    done.map_err(WorkFault::Store)?.map_err(WorkFault::App)
}

pub(crate) async fn decide(v: Visit, State(site): State<Site>, Form(e): Form<Entered>) -> Response {
    let plant = match site.desk().plant().await {
        Err(e) => return fault(&v, &e),
        Ok(None) => return Redirect::to("/setup").into_response(),
        Ok(Some(plant)) => plant,
    };
    let Some(decision) = decision(&e.what, e.number, &e.reason) else {
        let body = forms::refused(&v, &v.text("web-learn-why-missing"), &html! {});
        return said((StatusCode::UNPROCESSABLE_ENTITY, shown(&v, &body)).into_response());
    };
    match make(&site, stamp(&plant, &v, &e.entry_id), decision).await {
        Ok(()) => Redirect::to("/learn/batches").into_response(),
        Err(e) => e.page(&v),
    }
}
