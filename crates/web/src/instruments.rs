//! The calibration log: thermometers, scales and other instruments, what is due.

use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Form, Router};
use fallrate_app::instruments::{
    Due, Kept, LogEntry, Unit, Urgency, calibrate, calibrations_due, describe, instrument, instruments,
    retire, typed_calibration, typed_description, unit_word,
};
use maud::{Markup, html};

use crate::keep::{fault, now, stamp};
use crate::look::{Visit, random_hex};
use crate::proof::{Sent, app_fault};
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// Days ahead that the day page and the list warn.
pub(crate) const AHEAD_DAYS: u32 = 30;

type Fields = Form<Vec<(String, String)>>;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/instruments", get(list).post(add))
        .route("/instruments/{id}", get(one).post(described))
        .route("/instruments/{id}/calibration", post(calibrated))
        .route("/instruments/{id}/retire", post(retired))
}

/// The small panel of the day page; nothing where nothing is due.
pub(crate) async fn due_panel(v: &Visit, site: &Site) -> Markup {
    let due = site.desk().read(|r| calibrations_due(r, now(), AHEAD_DAYS)).await.unwrap_or_default();
    html! {
        @if !due.is_empty() {
            section.due {
                h2 { a href="/instruments" { (v.reader.words.counted("inst-due-title", due.len())) } }
                (due_list(v, &due))
            }
        }
    }
}

fn due_list(v: &Visit, due: &[Due]) -> Markup {
    html! {
        ul.supply {
            @for d in due {
                li {
                    a href={ "/instruments/" (d.id) } { b { (d.id) } } " " (d.description) ": "
                    @match d.urgency {
                        Urgency::NotUsable => strong.person { (v.text("inst-not-usable")) },
                        Urgency::Overdue => strong.person { (v.with("inst-overdue", &[("day", &day(d.due))])) },
                        Urgency::Soon => { (v.with("inst-soon", &[("day", &day(d.due)), ("days", &d.days_left.unwrap_or(0).to_string())])) }
                    }
                }
            }
        }
    }
}

fn day(d: Option<fallrate_app::proof::CalendarDate>) -> String {
    d.map_or_else(|| "–".to_owned(), |d| d.to_string())
}

const UNITS: [(Unit, &str, &str); 5] = [
    (Unit::Celsius, "celsius", "inst-u-temperature"),
    (Unit::Fraction, "fraction", "inst-u-share"),
    (Unit::Kilograms, "kilograms", "inst-u-mass"),
    (Unit::Pascals, "pascals", "inst-u-pressure"),
    (Unit::Seconds, "seconds", "inst-u-clock"),
];

fn hidden(v: &Visit) -> Markup {
    html! {
        input type="hidden" name="form_token" value=(v.token);
        input type="hidden" name="entry_id" value=(random_hex().unwrap_or_default());
    }
}

fn field(v: &Visit, name: &str, label: &str, note: Option<&str>, value: &str) -> Markup {
    html! {
        div.field {
            label for={ "f-" (name) } { (v.text(label)) }
            input id={ "f-" (name) } name=(name) type="text" autocomplete="off" maxlength="200" value=(value);
            @if let Some(note) = note { p.note { (v.text(note)) } }
        }
    }
}

async fn list(v: Visit, State(site): State<Site>) -> Response {
    let all = match site.desk().read(|r| Ok((instruments(r)?, calibrations_due(r, now(), AHEAD_DAYS)?))).await
    {
        Ok(all) => all,
        Err(e) => return fault(&v, &e),
    };
    let (list, due) = all;
    let body = html! {
        h1 { (v.text("inst-title")) }
        p.subline { (v.text("inst-more")) }
        @if !due.is_empty() {
            section { h2 { (v.reader.words.counted("inst-due-title", due.len())) } (due_list(&v, &due)) }
        }
        section {
            h2 { (v.reader.words.counted("inst-count", list.len())) }
            ul.shelf {
                @for i in &list {
                    li { a href={ "/instruments/" (i.id) } { b { (i.id) } span { (i.description) } span { (state(&v, i)) } } }
                }
            }
        }
        section {
            h2 { (v.text("inst-add")) }
            form.sheet method="post" action="/instruments" {
                (hidden(&v))
                (field(&v, "id", "inst-id", Some("inst-id-more"), ""))
                (describe_fields(&v, None))
                button.go { (v.text("inst-add")) }
            }
        }
    };
    Shell { title: v.text("inst-title"), tab: Tab::Library }.around(&v, &body).into_response()
}

fn state(v: &Visit, i: &Kept) -> String {
    match (i.retired, i.usable) {
        (true, _) => v.text("inst-retired"),
        (_, false) => v.text("inst-not-usable"),
        _ => v.with("inst-holds", &[("on", &day(i.calibrated_on)), ("due", &day(i.due))]),
    }
}

fn describe_fields(v: &Visit, i: Option<&Kept>) -> Markup {
    let factor = |i: &Kept| if i.unit == Unit::Fraction { 100.0 } else { 1.0 };
    let shown = |i: &Kept, x: f64| format!("{} {}", (x * factor(i) * 1e9).round() / 1e9, unit_word(i.unit));
    let tolerance = i.and_then(|i| i.tolerance.map(|t| shown(i, t))).unwrap_or_default();
    let (low, high) = i.and_then(|i| i.range.map(|(a, b)| (shown(i, a), shown(i, b)))).unwrap_or_default();
    html! {
        (field(v, "description", "inst-description", Some("inst-description-more"), i.map_or("", |i| i.description.as_str())))
        div.field {
            label for="f-unit" { (v.text("inst-unit")) }
            select #f-unit name="unit" {
                @for (unit, word, key) in UNITS { option value=(word) selected[i.is_some_and(|i| i.unit == unit)] { (v.text(key)) } }
            }
        }
        (field(v, "tolerance", "proof-tolerance", Some("desk-c-tolerance-more"), &tolerance))
        (field(v, "low", "desk-c-low", None, &low))
        (field(v, "high", "desk-c-high", None, &high))
        (field(v, "every_days", "inst-every", None, &i.and_then(|i| i.every_days).map_or_else(String::new, |d| d.to_string())))
        (field(v, "interval_reason", "inst-every-why", None, i.map_or("", |i| i.interval_reason.as_str())))
    }
}

async fn one(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Response {
    match site.desk().read(move |r| instrument(r, &id)).await {
        Ok(Some(i)) => shown(&v, &i).into_response(),
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => fault(&v, &e),
    }
}

fn shown(v: &Visit, i: &Kept) -> Markup {
    let path = format!("/instruments/{}", i.id);
    let points = |n: usize| {
        let name = |key: &str| format!("{key}.{n}");
        html! {
            div.triple {
                (field(v, &name("reference"), "inst-reference", None, ""))
                (field(v, &name("shown"), "inst-shown", None, ""))
                (field(v, &name("after"), "inst-after", None, ""))
            }
        }
    };
    let body = html! {
        p.back { a href="/instruments" { (v.text("inst-title")) } }
        p.subject { (i.description) }
        h1 { (i.id) }
        p.subline { (state(v, i)) }
        section {
            h2 { (v.text("inst-calibrate")) }
            form.sheet method="post" action={ (path) "/calibration" } {
                (hidden(v))
                (field(v, "against", "inst-against", Some("inst-against-more"), ""))
                @for n in 1..=3 { (points(n)) }
                div.field {
                    label for="f-passed" { (v.text("inst-passed")) }
                    select #f-passed name="passed" {
                        option value="" { (v.text("desk-not-stated")) }
                        option value="yes" { (v.text("desk-yes")) }
                        option value="no" { (v.text("inst-failed")) }
                    }
                }
                (field(v, "tolerance", "inst-tolerance-new", Some("desk-c-tolerance-more"), ""))
                (field(v, "due", "proof-due", Some("inst-due-more"), ""))
                (field(v, "record", "desk-c-certificate", None, ""))
                (field(v, "on", "inst-on", Some("inst-on-more"), ""))
                button.go { (v.text("inst-calibrate-go")) }
            }
        }
        section {
            h2 { (v.text("inst-log")) }
            ol.entries {
                @for line in &i.log {
                    li {
                        p { b { (line.on.to_string()) " " (kind(v, &line.body)) } " " (line.by) }
                        @if let LogEntry::Calibrated(c) = &line.body {
                            p { (c.against) @if !c.record.is_empty() { ", " (c.record) } @if let Some(d) = c.due { ", " (v.text("proof-due")) " " (d.to_string()) } }
                            @for p in &c.points {
                                p.note { (v.with("inst-point", &[("reference", &number(i.unit, p.reference)), ("shown", &number(i.unit, p.shown))])) @if let Some(a) = p.after { " " (v.with("inst-point-after", &[("after", &number(i.unit, a))])) } }
                            }
                        }
                        @if let LogEntry::Retired(r) = &line.body { p { (r.note) } }
                    }
                }
            }
        }
        section {
            details { summary { (v.text("inst-describe")) }
                form.sheet method="post" action=(path) { (hidden(v)) (describe_fields(v, Some(i))) button { (v.text("web-batch-keep")) } }
            }
            @if !i.retired {
                details { summary { (v.text("inst-retire")) }
                    form.sheet method="post" action={ (path) "/retire" } { (hidden(v)) (field(v, "note", "proof-why", None, "")) button { (v.text("inst-retire")) } }
                }
            }
        }
    };
    Shell { title: i.id.clone(), tab: Tab::Library }.around(v, &body)
}

fn number(unit: Unit, value: f64) -> String {
    let factor = if unit == Unit::Fraction { 100.0 } else { 1.0 };
    format!("{} {}", (value * factor * 1e6).round() / 1e6, unit_word(unit))
}

fn kind(v: &Visit, body: &LogEntry) -> String {
    v.text(match body {
        LogEntry::Described(_) => "inst-k-described",
        LogEntry::Calibrated(c) if c.passed => "inst-k-passed",
        LogEntry::Calibrated(_) => "inst-k-failed",
        LogEntry::Retired(_) => "inst-retired",
        LogEntry::Unknown(_) => "read-other",
    })
}

async fn entered(
    v: &Visit,
    site: &Site,
    sent: &Sent,
    back: &str,
    work: impl FnOnce(
        &mut dyn fallrate_app::batches::Records,
        &fallrate_app::batches::Stamp,
    ) -> Result<String, fallrate_app::AppError>
    + Send
    + 'static,
) -> Response {
    let plant = match site.desk().plant().await {
        Ok(Some(plant)) => plant,
        Ok(None) => return Redirect::to("/setup").into_response(),
        Err(e) => return fault(v, &e),
    };
    let stamp = stamp(&plant, v, sent.get("entry_id"));
    match site.desk().write_app(move |r| work(r, &stamp)).await {
        Ok(id) => Redirect::to(&format!("/instruments/{id}")).into_response(),
        Err(e) => app_fault(v, back, &e),
    }
}

async fn add(v: Visit, State(site): State<Site>, Form(sent): Fields) -> Response {
    let sent = Sent(sent);
    let id = sent.get("id").to_owned();
    let described = typed_description(&|n| sent.get(n).to_owned(), v.units);
    entered(&v, &site, &sent, "/instruments", move |r, s| {
        if id.trim().is_empty() {
            return Err(fallrate_app::AppError::NotAValue {
                field: "id".to_owned(),
                why: "empty; allowed: the plant's name or number of the instrument".to_owned(),
            });
        }
        Ok(describe(r, &id, s, described?)?)
    })
    .await
}

async fn described(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(sent): Fields,
) -> Response {
    let sent = Sent(sent);
    let described = typed_description(&|n| sent.get(n).to_owned(), v.units);
    let back = format!("/instruments/{id}");
    entered(&v, &site, &sent, &back, move |r, s| Ok(describe(r, &id, s, described?)?)).await
}

async fn calibrated(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(sent): Fields,
) -> Response {
    let sent = Sent(sent);
    let back = format!("/instruments/{id}");
    let unit = match site
        .desk()
        .read({
            let id = id.clone();
            move |r| instrument(r, &id)
        })
        .await
    {
        Ok(Some(i)) => i.unit,
        Ok(None) => return StatusCode::NOT_FOUND.into_response(),
        Err(e) => return fault(&v, &e),
    };
    let fields = sent.clone();
    entered(&v, &site, &sent, &back, move |r, s| {
        let typed = typed_calibration(&|n| fields.get(n).to_owned(), unit, s)?;
        calibrate(r, &id, s, typed)?;
        Ok(id)
    })
    .await
}

async fn retired(v: Visit, State(site): State<Site>, Path(id): Path<String>, Form(sent): Fields) -> Response {
    let sent = Sent(sent);
    let (back, note) = (format!("/instruments/{id}"), sent.get("note").to_owned());
    entered(&v, &site, &sent, &back, move |r, s| {
        retire(r, &id, s, &note)?;
        Ok(id)
    })
    .await
}
