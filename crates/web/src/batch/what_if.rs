//! "What if I ...": the vent, the set point, stop now, the power off for a while; beside the forecast as it is.

use std::time::Duration;

use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use fallrate_app::batches::{Instant, Run};
use fallrate_app::quantities::{Quantity, Temperature};
use fallrate_app::underway::{Compared, Followed, Otherwise, TimeRead, ask, asked_table, asked_words};
use fallrate_app::{AppError, Asked, Planned};
use maud::{Markup, html};
use serde::Deserialize;

use super::enter::known;
use super::page::{outlook, subject};
use super::sight::Sight;
use crate::keep::{fault, now};
use crate::look::Visit;
use crate::page_parts::table;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// Longest wait for the batch as followed, where it is just being worked out.
const WAIT: Duration = Duration::from_secs(20);

/// What is asked.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Question {
    /// "vent", "set_point", "stop", "next" or "power"; empty: nothing yet.
    what: String,
    mark: String,
    value: String,
    from: String,
    until: String,
}

/// Why a question cannot be asked: the field and the words.
type Wrong = (&'static str, String);

/// Reads the question; none where nothing is asked yet.
fn read(v: &Visit, q: &Question, run: &Run, at: Instant) -> Result<Option<Otherwise>, Wrong> {
    Ok(Some(match q.what.as_str() {
        "" => return Ok(None),
        "vent" => Otherwise::Vent(q.mark.clone()),
        "stop" => Otherwise::StopNow,
        "next" => Otherwise::NextStageNow,
        "set_point" => match Asked::Temperature.read(&q.value, v.units) {
            Ok(Some(t)) => Temperature::parse(&t.value)
                .map(|t| Otherwise::SetPoint(t.celsius()))
                .map_err(|e| ("value", e.to_string()))?,
            Ok(None) => return Err(("value", v.text("web-reading-empty"))),
            Err(e) => return Err(("value", e.words(&v.reader))),
        },
        "power" => {
            let from = time(v, &q.from, run, at).ok_or_else(|| ("from", v.text("run-time-wrong")))?;
            let until =
                time(v, &q.until, run, from.max(at)).ok_or_else(|| ("until", v.text("run-time-wrong")))?;
            if until.seconds_since(from) <= 0.0 {
                return Err(("until", v.text("run-time-order")));
            }
            Otherwise::PowerOff { from, until }
        }
        _ => return Err(("what", v.text("run-time-wrong"))),
    }))
}

/// A clock time in the past of the run, or within the day to come.
fn time(v: &Visit, text: &str, run: &Run, at: Instant) -> Option<Instant> {
    let latest = at.plus_seconds(18.0 * 3600.0);
    let read = |now: Instant| match fallrate_app::underway::read_time(
        text,
        &run.zone,
        now,
        run.started_at(),
        &v.reader,
    ) {
        TimeRead::Now => Some(at),
        TimeRead::At(i) => Some(i),
        TimeRead::Doubtful(back) => {
            // The first way is as typed.
            let full = &back.ways.first()?.value;
            match fallrate_app::underway::read_time(full, &run.zone, now, None, &v.reader) {
                TimeRead::At(i) => Some(i),
                _ => None,
            }
        }
        TimeRead::Unread => None,
    };
    let past = read(at).filter(|i| run.started_at().is_none_or(|s| i.seconds_since(s) >= 0.0));
    past.or_else(|| read(latest).filter(|i| i.seconds_since(at) >= 0.0))
}

pub(super) async fn page(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Query(q): Query<Question>,
) -> Response {
    let run = match known(&v, &site, &id).await {
        Ok(run) => run,
        Err(answer) => return answer,
    };
    let sight = match Sight::of(&v, &site, run, WAIT).await {
        Ok(sight) => sight,
        Err(e) => return fault(&v, &e),
    };
    let asked = read(&v, &q, &sight.run, now());
    let (status, answer) = match &asked {
        Ok(None) => (StatusCode::OK, None),
        Ok(Some(otherwise)) => match answered(&site, &sight, otherwise.clone()).await {
            Ok(found) => (StatusCode::OK, Some(found)),
            Err(e) => (StatusCode::UNPROCESSABLE_ENTITY, Some(Err(e.to_string()))),
        },
        Err(_) => (StatusCode::UNPROCESSABLE_ENTITY, None),
    };
    let wrong = asked.err();
    let body = html! {
        p.subject { (subject(&v, &sight.run)) }
        (result(&v, &sight, answer.as_ref()))
        @if let Ok(planned) = &sight.planned { (forms(&v, &sight.run, planned, &q, wrong.as_ref())) }
        p.back { a href={ "/batches/" (id) } { (v.text("run-back")) } }
    };
    let page = Shell { title: v.text("run-if-link"), tab: Tab::Start }.around(&v, &body);
    crate::fault::said((status, page).into_response())
}

/// The answer, or none where the batch is not followed (yet).
type Answer = Result<Option<Compared>, String>;

async fn answered(site: &Site, s: &Sight, otherwise: Otherwise) -> Result<Answer, AppError> {
    let (Some(f), Ok(planned)) = (&s.seen.followed, &s.planned) else { return Ok(Ok(None)) };
    let (f, planned) = (std::sync::Arc::clone(f), std::sync::Arc::clone(planned));
    let work = move |stop: &std::sync::atomic::AtomicBool| {
        ask(&planned, &f, otherwise, &|_| !stop.load(std::sync::atomic::Ordering::Relaxed))
    };
    site.planner().run(work).await.map(|c| Ok(Some(c)))
}

fn result(v: &Visit, s: &Sight, answer: Option<&Answer>) -> Markup {
    let followed: Option<&Followed> = s.seen.followed.as_deref();
    html! {
        @match (answer, followed) {
            (Some(Ok(Some(c))), Some(f)) => {
                p.flag { b { (v.text("flag-word")) } " " span { (v.text("run-flag-now")) } }
                h1 { (asked_words(c, f, &s.run, &v.reader)) }
                (table(&asked_table(c, f, &s.run, &v.reader), ""))
                h2 { (v.text("run-if-again")) }
            }
            (Some(Err(why)), _) => {
                h1 { (v.text("run-if-link")) }
                p.note data-kind="fault" lang="en" { (why) }
                (outlook(v, s))
            }
            (Some(Ok(None)), _) | (_, None) => {
                h1 { (v.text("run-if-link")) }
                p.subline { (v.text("run-if-not-yet")) }
            }
            _ => {
                h1 { (v.text("run-if-link")) }
                p.subline { (v.text("run-if-more")) }
                (outlook(v, s))
            }
        }
    }
}

fn forms(v: &Visit, run: &Run, planned: &Planned, q: &Question, wrong: Option<&Wrong>) -> Markup {
    let marks: Vec<&str> = planned.case.cabinet.vent.marks.iter().map(|m| m.name.as_str()).collect();
    let typed = |field: &str, value: &str, what: &str, label: &str, unit: &str| {
        let fault = wrong.filter(|w| w.0 == field && q.what == what);
        let id = format!("f-{what}-{field}");
        html! {
            div.field {
                label for=(id) { (v.text(label)) }
                div.typed {
                    input id=(id) name=(field) type="text" autocomplete="off" maxlength="40" value=(value)
                        aria-invalid=[fault.map(|_| "true")] aria-describedby={ "n-" (id) };
                    span.unit { (unit) }
                }
                p.note id={ "n-" (id) } data-kind=[fault.map(|_| "fault")] { @if let Some(w) = fault { (w.1) } }
            }
        }
    };
    let form = |what: &str, title: &str, inner: Markup| {
        html! {
            form.sheet.card method="get" action={ "/batches/" (run.id) "/what-if" } {
                input type="hidden" name="what" value=(what);
                h2 { (v.text(title)) }
                (inner)
                button { (v.text("run-if-ask")) }
            }
        }
    };
    html! {
        div.cards {
            (form("vent", "run-if-vent", html! {
                div.field {
                    label for="f-vent-mark" { (v.text("run-set-vent")) }
                    select #f-vent-mark name="mark" {
                        @for m in &marks { option value=(m) selected[*m == q.mark] { (m) } }
                    }
                }
            }))
            (form("set_point", "run-if-set-point", typed("value", &q.value, "set_point", "run-set-point", Asked::Temperature.unit(v.units))))
            (form("stop", "run-if-stop-now", html! {}))
            (form("next", "run-if-next", html! {}))
            (form("power", "run-if-power", html! {
                (typed("from", &q.from, "power", "run-from", ""))
                (typed("until", &q.until, "power", "run-until", ""))
            }))
        }
    }
}
