//! The page of a batch: the act now, large; what comes; entries; measured beside forecast.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use fallrate_app::Planned;
use fallrate_app::batches::{ActLine, Board, Instant, Run};
use fallrate_app::proof::LocalClock;
use fallrate_app::underway::{doubted, end_words, moved_words, timer_words};
use maud::{Markup, html};

use super::back::{AskBack, asked_back};
use super::enter::known;
use super::floor::floor_line;
use super::forms::entries;
use super::list::{role_words, so_far, value_words};
use super::sight::{Sight, WAIT};
use super::stop::stops_short;
use crate::keep::fault;
use crate::look::{Visit, random_hex};
use crate::operate::about_batch;
use crate::page_parts::pictures;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// How long an ended run stays on the day page, s.
pub(crate) const SHOWN_AFTER_END_S: f64 = 12.0 * 3600.0;

pub(super) async fn page(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Response {
    shown(&v, &site, id, Said::Nothing).await
}

/// An entry that could not be taken: which, as typed, and why.
#[derive(Clone, Debug)]
pub(super) struct Wrong {
    pub field: &'static str,
    pub typed: String,
    pub why: String,
}

/// What there is to say of an entry just sent.
#[derive(Clone, Debug)]
pub(super) enum Said {
    Nothing,
    Wrong(Wrong),
    /// It is read back and did not stand yet.
    Back(Box<AskBack>),
}

/// The page, with what there is to say of an entry just sent.
pub(super) async fn shown(v: &Visit, site: &Site, id: String, said: Said) -> Response {
    let run = match known(v, site, &id).await {
        Ok(run) => run,
        Err(answer) => return answer,
    };
    let title = run.product.clone();
    if let Said::Back(ask) = &said {
        let body = html! { p.subject { (subject(v, &run)) } (asked_back(v, &id, ask)) };
        let page = Shell { title, tab: Tab::Start }.around(v, &body);
        return crate::fault::said((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let wrong = match &said {
        Said::Wrong(wrong) => Some(wrong),
        _ => None,
    };
    let sight = match Sight::of(v, site, run, WAIT).await {
        Ok(sight) => sight,
        Err(e) => return fault(v, &e),
    };
    let notices = match about_batch(v, site, &sight.run).await {
        Ok(notices) => notices,
        Err(e) => return fault(v, &e),
    };
    let body = html! { (notices) (whole(v, &sight, wrong)) };
    let page = Shell { title, tab: Tab::Start }.around(v, &body);
    let status = if wrong.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    crate::fault::said((status, page).into_response())
}

/// Product, cabinet, lot.
pub(super) fn subject(v: &Visit, run: &Run) -> Markup {
    html! { (run.product) ", " (run.cabinet) ", " (v.with("web-batch-lot", &[("lot", &run.lot)])) }
}

fn whole(v: &Visit, s: &Sight, wrong: Option<&Wrong>) -> Markup {
    let run = &s.run;
    html! {
        div data-watch="/live" {
            p.subject { (subject(v, run)) }
            (floor_line(v, &s.floor))
            (stops_short(v, s))
            @match (&s.board, &s.planned) {
                (Some(b), Ok(planned)) => { (with_plan(v, s, (b, planned), wrong)) }
                // The record does not depend on the plan: entries go on without it.
                (_, Err(e)) => {
                    p.subline { (v.text("web-batch-no-plan")) }
                    ul.faults { @for f in e.faults(&v.reader) { li { (f.text) } } }
                    (entries(v, run, None, wrong))
                }
                _ => {}
            }
            (so_far(v, run, wrong))
            p.onward { a.button href={ "/proof/" (run.id) } { (v.text("desk-proof-go")) } }
            (ending(v, run))
        }
    }
}

fn with_plan(v: &Visit, s: &Sight, (b, planned): (&Board, &Arc<Planned>), wrong: Option<&Wrong>) -> Markup {
    let run = &s.run;
    html! {
        (now_part(v, s, b, wrong))
        (outlook(v, s))
        (in_doubt(v, s))
        (beside(v, run))
        div.two {
            section {
                h2 { (v.text("web-batch-acts")) }
                (acts(v, run, b))
            }
            (entries(v, run, Some(planned), wrong))
        }
        p.flag {
            b { (v.text("flag-word")) } " "
            span { (v.text(if s.seen.followed.is_some() { "run-flag-now" } else { "run-flag-before" })) }
        }
        (pictures(v, &b.pictures, "r"))
    }
}

/// The end with its band, what moved it, and whether it knows everything that was entered.
pub(crate) fn outlook(v: &Visit, s: &Sight) -> Markup {
    let run = &s.run;
    let followed = s.seen.followed.as_deref().filter(|_| run.ended.is_none());
    html! {
        @match followed {
            Some(f) => {
                div.outlook-now {
                    p.end { (end_words(f, run, &v.reader)) }
                    @if let Some(moved) = moved_words(f, run, &v.reader) { p.moved { (moved) } }
                    @for line in timer_words(f, run, &v.reader) { p.timer-line { (line) } }
                }
            }
            None => { @if let Some(b) = &s.board { (forecast_lines(v, run, b)) } }
        }
        @if s.seen.behind {
            p.behind role="status" {
                b { (v.text("run-behind")) } " "
                a.button href={ "/batches/" (run.id) } { (v.text("run-behind-look")) }
            }
        }
        @if let Some(why) = &s.seen.failed {
            p.behind role="status" { b { (v.text("run-failed")) } " " span lang="en" { (why) } }
        }
    }
}

/// Readings that did not count, each with what may be wrong and a way to put it right.
fn in_doubt(v: &Visit, s: &Sight) -> Markup {
    let Some(f) = s.seen.followed.as_deref() else { return html! {} };
    let list = doubted(f, &s.run, &v.reader);
    html! {
        @if !list.is_empty() {
            section {
                h2 { (v.text("run-doubts")) }
                ul.faults.doubts {
                    @for d in &list {
                        li {
                            b { (clock(&s.run, d.reading.at)) " " (role_words(v, &d.reading.role)) " " (value_words(v, &d.reading.role, d.reading.value)) }
                            (d.text)
                            div.onward {
                                @if let Some(value) = d.proposed {
                                    @let words = value_words(v, &d.reading.role, value);
                                    form method="post" action={ "/batches/" (s.run.id) "/correct" } {
                                        (hidden(v))
                                        input type="hidden" name="entry" value=(d.entry);
                                        input type="hidden" name="value" value=(words.replace('°', "deg"));
                                        button { (v.with("run-doubt-correct", &[("value", &words)])) }
                                    }
                                }
                                (undo(v, &s.run, d.entry))
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What else can be said or asked of a run: an interruption, what if, something set otherwise.
fn beside(v: &Visit, run: &Run) -> Markup {
    html! {
        @if run.started_at().is_some() && run.ended.is_none() {
            p.onward {
                a.button href={ "/batches/" (run.id) "/interruption" } { (v.text("run-stop-link")) }
                a.button href={ "/batches/" (run.id) "/what-if" } { (v.text("run-if-link")) }
            }
        }
    }
}

/// The act now: what, when, and "done" with the time it was done.
fn now_part(v: &Visit, s: &Sight, b: &Board, wrong: Option<&Wrong>) -> Markup {
    let run = &s.run;
    if let Some(ended) = &run.ended {
        return html! {
            h1 { (v.text("web-batch-ended")) }
            p.subline { (clock(run, ended.at)) " " (ended.text) }
        };
    }
    let Some(act) = b.next() else {
        return html! {
            h1 { (v.text("web-batch-all-done")) }
            p.subline { (v.text("web-batch-all-done-next")) }
        };
    };
    let late = run.started_at().is_some() && act.at.seconds_since(s.at) < -300.0;
    html! {
        div.now {
            p.when {
                @if run.started_at().is_none() { (v.text("web-batch-now")) } @else { (act.clock) }
                @if late { " " strong.person { (v.text("web-batch-late")) } }
            }
            h1 { (act.act.text) }
            @if let Some(w) = &act.act.watch { p.subline { (v.text("web-part-watch")) " " (w) } }
            form.done method="post" action={ "/batches/" (run.id) "/done" } {
                (hidden(v))
                input type="hidden" name="number" value=(act.number);
                input type="hidden" name="text" value=(act.act.text);
                button.go { (v.text("web-batch-done")) }
                (when(v, "done", wrong))
            }
        }
    }
}

pub(super) fn hidden(v: &Visit) -> Markup {
    html! {
        input type="hidden" name="form_token" value=(v.token);
        input type="hidden" name="entry_id" value=(random_hex().unwrap_or_default());
    }
}

/// When it was: empty is now.
pub(super) fn when(v: &Visit, form: &'static str, wrong: Option<&Wrong>) -> Markup {
    let id = format!("f-{form}-at");
    let fault = wrong.filter(|w| w.field == "at");
    html! {
        div.field.small {
            label for=(id) { (v.text("web-batch-at")) }
            input id=(id) name="at" type="text" autocomplete="off" maxlength="40"
                value=(fault.map_or("", |w| w.typed.as_str())) aria-invalid=[fault.map(|_| "true")]
                aria-describedby={ "n-" (id) };
            p.note id={ "n-" (id) } data-kind=[fault.map(|_| "fault")] {
                @match fault { Some(w) => (w.why), None => (v.text("web-batch-at-now")) }
            }
        }
    }
}

/// The end by the forecast made before the run, with its band.
pub(crate) fn forecast_lines(v: &Visit, run: &Run, b: &Board) -> Markup {
    if run.ended.is_some() {
        return html! {};
    }
    let band = b.band.map(|(early, late)| (clock(run, early), clock(run, late)));
    html! {
        dl.outlook {
            div { dt { (v.text("web-batch-off")) } dd { (clock(run, b.end)) } }
            @if let Some((early, late)) = band {
                div { dt { (v.text("web-batch-ready")) } dd { (early) "–" (late) } }
            }
        }
    }
}

pub(super) fn clock(run: &Run, at: Instant) -> String {
    LocalClock::named(&run.zone).map_or_else(String::new, |c| c.minute(at))
}

fn acts(v: &Visit, run: &Run, b: &Board) -> Markup {
    let next = b.next().map(|a| a.number);
    html! {
        ol.acts.ticked {
            @for a in &b.acts {
                li.past[a.done.is_some()] aria-current=[(Some(a.number) == next).then_some("step")] {
                    time { (a.clock) }
                    div {
                        div.what { (a.act.text) }
                        (done_line(v, run, a))
                    }
                }
            }
        }
    }
}

fn done_line(v: &Visit, run: &Run, a: &ActLine) -> Markup {
    html! {
        @if let Some(d) = &a.done {
            div.watch {
                b { (v.with("web-batch-done-at", &[("clock", &clock(run, d.at))])) } " " (d.by) " "
                (undo(v, run, d.entry))
            }
        }
    }
}

pub(super) fn undo(v: &Visit, run: &Run, entry: u64) -> Markup {
    html! {
        form.inline method="post" action={ "/batches/" (run.id) "/undo" } {
            (hidden(v))
            input type="hidden" name="entry" value=(entry);
            button { (v.text("web-batch-undo")) }
        }
    }
}

fn ending(v: &Visit, run: &Run) -> Markup {
    html! {
        @if run.ended.is_none() {
            section {
                details {
                    summary { (v.text("web-batch-end")) }
                    form.sheet method="post" action={ "/batches/" (run.id) "/end" } {
                        (hidden(v))
                        div.field {
                            label for="f-why" { (v.text("web-batch-end-why")) }
                            input #f-why name="text" type="text" autocomplete="off" maxlength="200";
                        }
                        button { (v.text("web-batch-end")) }
                    }
                }
            }
        }
    }
}
