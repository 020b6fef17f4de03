//! Interruptions: entered, judged on the spot by the record, the rest planned anew.

use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::batches::{self, Instant, Run, Stopped, StoppedKind};
use fallrate_app::proof::LocalClock;
use fallrate_app::underway::{
    ReadBack, StopJudged, TimeRead, read_time, stop_name, stop_reasons, stop_sources,
};
use maud::{Markup, html};
use serde::Deserialize;

use super::enter::{known, plant};
use super::floor::{floor_line, floor_mark};
use super::page::{clock, hidden, outlook, subject, undo};
use super::sight::{Sight, WAIT};
use crate::keep::{fault, stamp};
use crate::look::Visit;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// An interruption as its form sends it; a link may fill it in beforehand.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Sent {
    entry_id: String,
    /// "power_cut", "door_open", "fan_stopped", "tray_out".
    kind: String,
    from: String,
    until: String,
    /// "1": it still goes on.
    still: String,
    trays: String,
    note: String,
    entry: Option<u64>,
}

/// What is wrong with a field, or the ways it may be meant.
struct Wrong {
    field: &'static str,
    why: String,
    back: Option<ReadBack>,
}

/// One line for the list of what was entered.
pub(super) fn stop_line(v: &Visit, run: &Run, s: &Stopped) -> String {
    let (what, from) = (stop_name(s.kind, &v.reader), clock(run, s.from));
    let line = match s.until {
        Some(until) => {
            v.with("stop-line", &[("what", &what), ("from", &from), ("until", &clock(run, until))])
        }
        None => v.with("stop-line-open", &[("what", &what), ("from", &from)]),
    };
    if s.note.is_empty() { line } else { format!("{line}: {}", s.note) }
}

/// The interruptions of a run in a line each, with the word for the floor.
pub(super) fn stops_short(v: &Visit, s: &Sight) -> Markup {
    html! {
        @if !s.stops.is_empty() {
            ul.stops {
                @for j in &s.stops {
                    li {
                        (floor_mark(v, j.word)) " "
                        a href={ "/batches/" (s.run.id) "/interruption" } { (stop_line(v, &s.run, &j.stopped)) }
                    }
                }
            }
        }
    }
}

pub(super) async fn page(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Query(q): Query<Sent>,
) -> Response {
    shown(&v, &site, &id, &q, None).await
}

/// Times that the program asks about come as instants: they are shown by the clock of the place.
fn on_the_clock(sent: &Sent, zone: &str) -> Sent {
    let local = |text: &str| {
        let at = batches::instant_from_iso(text).ok().zip(LocalClock::named(zone));
        at.map_or_else(|| text.to_owned(), |(at, clock)| clock.day_and_minute(at))
    };
    Sent { from: local(&sent.from), until: local(&sent.until), ..sent.clone() }
}

async fn shown(v: &Visit, site: &Site, id: &str, sent: &Sent, wrong: Option<Wrong>) -> Response {
    let run = match known(v, site, id).await {
        Ok(run) => run,
        Err(answer) => return answer,
    };
    let s = match Sight::of(v, site, run, WAIT).await {
        Ok(sight) => sight,
        Err(e) => return fault(v, &e),
    };
    let sent = &on_the_clock(sent, &s.run.zone);
    let body = html! {
        div data-watch="/live" {
            p.subject { (subject(v, &s.run)) }
            h1.heard { (v.text("run-stop-link")) }
            @if s.stops.is_empty() { p.subline { (v.text("stop-none")) } } @else {
                (floor_line(v, &s.floor))
                @for j in s.stops.iter().rev() { (judged(v, &s, j)) }
                section { h2 { (v.text("stop-rest")) } (outlook(v, &s)) }
            }
            (form(v, &s.run, sent, wrong.as_ref()))
            (sources(v))
            p.back { a href={ "/batches/" (id) } { (v.text("run-back")) } }
        }
    };
    let status = if wrong.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    let page = Shell { title: v.text("run-stop-link"), tab: Tab::Start }.around(v, &body);
    crate::fault::said((status, page).into_response())
}

/// One interruption, judged, with what can be said of it next.
fn judged(v: &Visit, s: &Sight, j: &StopJudged) -> Markup {
    let run = &s.run;
    html! {
        section.stop {
            h2 { (stop_line(v, run, &j.stopped)) }
            p { (floor_mark(v, j.word)) }
            ul.reasons { @for line in stop_reasons(j, run, &v.reader) { li { (line) } } }
            div.onward {
                @if j.stopped.until.is_none() { (over_form(v, run, &j.stopped)) }
                a.button href={ "/batches/" (run.id) "/action?entry=" (j.stopped.entry) } { (v.text("stop-action")) }
                (undo(v, run, j.stopped.entry))
            }
        }
    }
}

fn over_form(v: &Visit, run: &Run, s: &Stopped) -> Markup {
    let id = format!("f-over-{}", s.entry);
    html! {
        form.done method="post" action={ "/batches/" (run.id) "/interruption/over" } {
            (hidden(v))
            input type="hidden" name="entry" value=(s.entry);
            button.go { (v.text("stop-over")) }
            div.field.small {
                label for=(id) { (v.text("web-batch-at")) }
                input id=(id) name="until" type="text" autocomplete="off" maxlength="40";
                p.note { (v.text("web-batch-at-now")) }
            }
        }
    }
}

fn form(v: &Visit, run: &Run, sent: &Sent, wrong: Option<&Wrong>) -> Markup {
    let field = |name: &'static str, label: &str, value: &str, note: &str| {
        let fault = wrong.filter(|w| w.field == name);
        let id = format!("f-stop-{name}");
        html! {
            div.field {
                label for=(id) { (v.text(label)) }
                input id=(id) name=(name) type="text" autocomplete="off" maxlength="200" value=(value)
                    aria-invalid=[fault.map(|_| "true")] aria-describedby={ "n-" (id) };
                p.note id={ "n-" (id) } data-kind=[fault.map(|_| "fault")] {
                    @match fault { Some(w) => (w.why), None => (v.text(note)) }
                }
                @if let Some(back) = fault.and_then(|w| w.back.as_ref()) {
                    ul.ways { @for way in &back.ways { li { (way.label) } } }
                }
            }
        }
    };
    html! {
        section {
            h2 { (v.text("stop-enter")) }
            form.sheet method="post" action={ "/batches/" (run.id) "/interruption" } {
                (hidden(v))
                fieldset.kinds {
                    legend { (v.text("stop-what")) }
                    @for (n, (word, kind)) in StoppedKind::ALL.into_iter().enumerate() {
                        label.tick {
                            input type="radio" name="kind" value=(word) checked[sent.kind == word || sent.kind.is_empty() && n == 0];
                            (stop_name(kind, &v.reader))
                        }
                    }
                }
                div.pair {
                    (field("from", "run-from", &sent.from, "stop-from-note"))
                    (field("until", "run-until", &sent.until, "stop-until-note"))
                }
                label.tick {
                    input type="checkbox" name="still" value="1" checked[sent.still == "1"];
                    (v.text("stop-still"))
                }
                (field("trays", "stop-which-trays", &sent.trays, "stop-trays-note"))
                (field("note", "stop-words", &sent.note, "stop-note-note"))
                button.go { (v.text("web-batch-keep")) }
            }
        }
    }
}

/// The documents the judgement rests on.
fn sources(v: &Visit) -> Markup {
    html! {
        section {
            details {
                summary { h2 { (v.text("web-part-sources")) } }
                ul.sources lang="en" {
                    @for c in stop_sources() {
                        li { span.for { (c.statement) } " " (c.issuer) ", " (c.document) ", " (c.number) ", " (c.section) ", " (c.date) }
                    }
                }
                p { (v.text("stop-authority")) }
            }
        }
    }
}

/// Reads one of the two times.
fn time(
    v: &Visit,
    zone: &str,
    text: &str,
    (field, now, run): (&'static str, Instant, &Run),
) -> Result<Option<Instant>, Wrong> {
    match read_time(text, zone, now, run.started_at(), &v.reader) {
        TimeRead::Now => Ok(None),
        TimeRead::At(at) => Ok(Some(at)),
        TimeRead::Doubtful(back) => Err(Wrong { field, why: back.text.clone(), back: Some(back) }),
        TimeRead::Unread => Err(Wrong { field, why: v.text("web-batch-at-wrong"), back: None }),
    }
}

pub(super) async fn enter(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let (plant, run) = match (plant(&v, &site).await, known(&v, &site, &id).await) {
        (Ok(plant), Ok(run)) => (plant, run),
        (Err(answer), _) | (_, Err(answer)) => return answer,
    };
    let stamp = stamp(&plant, &v, &s.entry_id);
    let Some(kind) = StoppedKind::named(&s.kind) else { return StatusCode::BAD_REQUEST.into_response() };
    let span = match span(&v, &s, &run, stamp.at) {
        Ok(span) => span,
        Err(wrong) => return shown(&v, &site, &id, &s, Some(wrong)).await,
    };
    let trays: Vec<u32> = s.trays.split([',', ' ', ';']).filter_map(|n| n.trim().parse().ok()).collect();
    if kind == StoppedKind::Trays && trays.is_empty() {
        let wrong = Wrong { field: "trays", why: v.text("web-reading-tray-number"), back: None };
        return shown(&v, &site, &id, &s, Some(wrong)).await;
    }
    let note: String = s.note.chars().take(500).collect();
    let key = id.clone();
    let written =
        site.desk().write(move |r| batches::enter_stop(r, &key, &stamp, kind, span, (&trays, &note))).await;
    answer(&v, &id, written.map(|_| ()))
}

/// From and to: an empty end is now, unless it still goes on.
fn span(v: &Visit, s: &Sent, run: &Run, now: Instant) -> Result<(Instant, Option<Instant>), Wrong> {
    let from = time(v, &run.zone, &s.from, ("from", now, run))?;
    let still = s.still == "1";
    let Some(from) = from.or(still.then_some(now)) else {
        return Err(Wrong { field: "from", why: v.text("run-time-wrong"), back: None });
    };
    if still {
        return Ok((from, None));
    }
    let until = time(v, &run.zone, &s.until, ("until", now, run))?.unwrap_or(now);
    if until.seconds_since(from) < 0.0 {
        return Err(Wrong { field: "until", why: v.text("run-time-order"), back: None });
    }
    Ok((from, Some(until)))
}

/// Says that one that was entered as lasting is over.
pub(super) async fn over(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let (plant, run) = match (plant(&v, &site).await, known(&v, &site, &id).await) {
        (Ok(plant), Ok(run)) => (plant, run),
        (Err(answer), _) | (_, Err(answer)) => return answer,
    };
    let stamp = stamp(&plant, &v, &s.entry_id);
    let Some(entry) = s.entry else { return StatusCode::BAD_REQUEST.into_response() };
    let until = match time(&v, &run.zone, &s.until, ("until", stamp.at, &run)) {
        Ok(until) => until.unwrap_or(stamp.at),
        Err(wrong) => return shown(&v, &site, &id, &s, Some(wrong)).await,
    };
    let (key, why) = (id.clone(), v.text("stop-over-reason"));
    let written = site.desk().write(move |r| batches::stop_over(r, &key, &stamp, (entry, until), &why)).await;
    answer(&v, &id, written)
}

fn answer(v: &Visit, id: &str, written: Result<(), batches::StoreError>) -> Response {
    match written {
        Ok(()) => Redirect::to(&format!("/batches/{id}/interruption")).into_response(),
        Err(e) => fault(v, &e),
    }
}
