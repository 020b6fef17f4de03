//! The page of a batch: the act now, large; what comes; entries; measured beside forecast.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use fallrate_app::batches::{ActLine, Board, Instant, Role, Run, board, run};
use fallrate_app::proof::LocalClock;
use fallrate_app::quantities::{Mass, Quantity, RelativeHumidity, Temperature};
use fallrate_app::{Asked, Planned};
use maud::{Markup, html};

use crate::keep::{fault, now};
use crate::look::{Visit, random_hex};
use crate::page_parts::pictures;
use crate::plan::DRAWS;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// How long an ended run stays on the day page, s.
pub(crate) const SHOWN_AFTER_END_S: f64 = 12.0 * 3600.0;

pub(super) async fn page(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Response {
    shown(&v, &site, id, None).await
}

/// The page, with what was wrong with an entry just sent.
pub(super) async fn shown(v: &Visit, site: &Site, id: String, wrong: Option<Wrong>) -> Response {
    let key = id.clone();
    let run = match site.desk().read(move |r| run(r, &key)).await {
        Ok(Some(run)) => run,
        Ok(None) => return StatusCode::NOT_FOUND.into_response(),
        Err(e) => return fault(v, &e),
    };
    let planned = site.planner().plan(&run.plan_toml, DRAWS).await;
    let body = match &planned {
        Ok(planned) => {
            let board = board(&run, planned, site.library(), &v.reader, now());
            html! { (whole(v, &run, &board, planned, wrong.as_ref())) }
        }
        // The record does not depend on the plan: entries go on without it.
        Err(e) => html! {
            h1 { (run.product) }
            p.subline { (v.text("web-batch-no-plan")) }
            ul.faults { @for f in e.faults(&v.reader) { li { (f.text) } } }
            (entries(v, &run, wrong.as_ref()))
        },
    };
    let page = Shell { title: run.product.clone(), tab: Tab::Start }.around(v, &body);
    let status = if wrong.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    crate::fault::said((status, page).into_response())
}

/// An entry that could not be taken: which, as typed, and why.
#[derive(Clone, Debug)]
pub(super) struct Wrong {
    pub field: &'static str,
    pub typed: String,
    pub why: String,
}

fn whole(v: &Visit, run: &Run, b: &Board, _planned: &Arc<Planned>, wrong: Option<&Wrong>) -> Markup {
    html! {
        div data-watch="/live" {
            p.subject { (run.product) ", " (run.cabinet) ", " (v.with("web-batch-lot", &[("lot", &run.lot)])) }
            (now_part(v, run, b, wrong))
            (forecast_lines(v, run, b))
            div.two {
                section {
                    h2 { (v.text("web-batch-acts")) }
                    (acts(v, run, b))
                }
                (entries(v, run, wrong))
            }
            p.flag { b { (v.text("flag-word")) } " " span { (v.text("web-batch-forecast")) } }
            (pictures(v, &b.pictures, "r"))
            (so_far(v, run))
            (ending(v, run))
        }
    }
}

/// The act now: what, when, and "done" with the time it was done.
fn now_part(v: &Visit, run: &Run, b: &Board, wrong: Option<&Wrong>) -> Markup {
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
    let late = run.started_at().is_some() && act.at.seconds_since(now()) < -300.0;
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

fn hidden(v: &Visit) -> Markup {
    html! {
        input type="hidden" name="form_token" value=(v.token);
        input type="hidden" name="entry_id" value=(random_hex().unwrap_or_default());
    }
}

/// When it was: empty is now.
fn when(v: &Visit, form: &'static str, wrong: Option<&Wrong>) -> Markup {
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

fn clock(run: &Run, at: Instant) -> String {
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

fn undo(v: &Visit, run: &Run, entry: u64) -> Markup {
    html! {
        form.inline method="post" action={ "/batches/" (run.id) "/undo" } {
            (hidden(v))
            input type="hidden" name="entry" value=(entry);
            button { (v.text("web-batch-undo")) }
        }
    }
}

/// What can be read: field, label, what it asks for.
pub(super) const READINGS: [(&str, &str, Asked); 5] = [
    ("tray", "web-reading-tray", Asked::Mass),
    ("core", "web-reading-core", Asked::Reading),
    ("wet_bulb", "web-reading-wet-bulb", Asked::Reading),
    ("rh", "web-reading-rh", Asked::Humidity),
    ("air", "web-reading-air", Asked::Reading),
];

fn entries(v: &Visit, run: &Run, wrong: Option<&Wrong>) -> Markup {
    html! {
        section {
            h2 { (v.text("web-batch-enter")) }
            @for (name, label, asked) in READINGS {
                (reading_form(v, run, (name, label, asked), wrong.filter(|w| w.field == name)))
            }
            details open[wrong.is_some_and(|w| w.field == "note")] {
                summary { (v.text("web-batch-note")) }
                form.sheet method="post" action={ "/batches/" (run.id) "/note" } {
                    (hidden(v))
                    div.field {
                        label for="f-note" { (v.text("web-batch-note-text")) }
                        textarea #f-note name="text" maxlength="2000" {}
                    }
                    (when(v, "note", None))
                    button { (v.text("web-batch-keep")) }
                }
            }
        }
    }
}

fn reading_form(v: &Visit, run: &Run, field: (&str, &str, Asked), wrong: Option<&Wrong>) -> Markup {
    let (name, label, asked) = field;
    let id = format!("f-{name}");
    let place = match name {
        "tray" => Some("web-reading-which-tray"),
        "core" => Some("web-reading-which-place"),
        _ => None,
    };
    html! {
        details open[wrong.is_some()] {
            summary { (v.text(label)) }
            form.sheet method="post" action={ "/batches/" (run.id) "/reading" } {
                (hidden(v))
                input type="hidden" name="kind" value=(name);
                @if let Some(place) = place {
                    div.field {
                        label for={ (id) "-place" } { (v.text(place)) }
                        input id={ (id) "-place" } name="place" type="text" autocomplete="off" maxlength="40";
                    }
                }
                div.field {
                    label for=(id) { (v.text(label)) }
                    div.typed {
                        input id=(id) name="value" type="text" autocomplete="off" maxlength="40"
                            value=(wrong.map_or("", |w| w.typed.as_str())) aria-invalid=[wrong.map(|_| "true")]
                            aria-describedby={ "n-" (id) };
                        span.unit { (asked.unit(v.units)) }
                    }
                    p.note id={ "n-" (id) } data-kind=[wrong.map(|_| "fault")] { @if let Some(w) = wrong { (w.why) } }
                }
                (when(v, name_of(name), None))
                button { (v.text("web-batch-keep")) }
            }
        }
    }
}

fn name_of(name: &str) -> &'static str {
    READINGS.iter().find(|(n, ..)| *n == name).map_or("reading", |(n, ..)| n)
}

/// Everything entered, the latest first, each with an undo.
fn so_far(v: &Visit, run: &Run) -> Markup {
    let mut lines: Vec<(Instant, String, String, u64)> = run
        .readings
        .iter()
        .map(|r| {
            (
                r.at,
                format!("{} {}", role_words(v, &r.role), value_words(v, &r.role, r.value)),
                r.by.clone(),
                r.entry,
            )
        })
        .chain(run.remarks.iter().map(|r| (r.at, r.text.clone(), r.by.clone(), r.entry)))
        .collect();
    lines.sort_by_key(|l| std::cmp::Reverse(l.0.unix_nanoseconds()));
    html! {
        section {
            h2 { (v.text("web-batch-so-far")) }
            @if lines.is_empty() { p { (v.text("web-batch-nothing")) } }
            ol.acts {
                @for (at, text, by, entry) in &lines {
                    li { time { (clock(run, *at)) } div { div.what { (text) } div.watch { (by) " " (undo(v, run, *entry)) } } }
                }
            }
        }
    }
}

fn role_words(v: &Visit, role: &Role) -> String {
    match role {
        Role::TrayWeight { tray } => v.with("measured-tray", &[("number", &tray.to_string())]),
        Role::CoreProbe { position, .. } => {
            format!("{} {position}", v.text("measured-core")).trim_end().to_owned()
        }
        Role::AirDryBulb => v.text("measured-air"),
        Role::AirWetBulb => v.text("measured-wet-bulb"),
        Role::RelativeHumidity => v.text("web-reading-rh"),
        _ => v.text("web-batch-other"),
    }
}

fn value_words(v: &Visit, role: &Role, value: f64) -> String {
    let r = &v.reader;
    match role {
        Role::TrayWeight { .. } => r.shown(Mass::from_base(value), 3),
        Role::RelativeHumidity => r.shown(RelativeHumidity::from_base(value), 1),
        Role::CoreProbe { .. } | Role::AirDryBulb | Role::AirWetBulb => {
            r.shown(Temperature::from_base(value), 1)
        }
        _ => value.to_string(),
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
