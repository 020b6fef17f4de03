//! The day: every cabinet on a time axis, what is in it, its next act, its forecast end, what needs a person; and where to
//! begin.

use std::collections::BTreeSet;

use axum::extract::State;
use axum::response::{IntoResponse, Response};
use fallrate_app::batches::{BatchQuery, Instant, PlantSettings, Records, StoreError, runs};
use fallrate_app::proof::LocalClock;
use fallrate_app::underway::{FloorWord, end_words};
use maud::{Markup, html};

use crate::batch::{NO_WAIT, SHOWN_AFTER_END_S, Sight, floor_line, floor_mark, forecast_lines};
use crate::follower::age_s;
use crate::keep::{fault, now};
use crate::look::Visit;
use crate::operate::of_the_day;
use crate::shell::{Shell, Tab};
use crate::state::Site;

const DOORS: [(&str, &str, &str); 3] = [
    ("/plan", "web-door-plan", "web-door-plan-more"),
    ("/library", "web-door-library", "web-door-library-more"),
    ("/air", "web-door-air", "web-door-air-more"),
];

/// Batches that are looked through for the cabinets of the plant.
const LOOKED_THROUGH: u64 = 300;

/// The day of a plant.
struct Day {
    plant: Option<PlantSettings>,
    rows: Vec<Sight>,
    /// Cabinets that were used before and hold nothing now.
    empty: Vec<String>,
    at: Instant,
}

pub(crate) async fn page(v: Visit, State(site): State<Site>) -> Response {
    let d = match day(&v, &site).await {
        Ok(day) => day,
        Err(e) => return fault(&v, &e),
    };
    let due = crate::instruments::due_panel(&v, &site).await;
    let runs = d.rows.iter().map(|row| row.run.clone()).collect();
    let (notices, standing) = match of_the_day(&v, &site, d.plant.as_ref(), runs).await {
        Ok(parts) => parts,
        Err(e) => return fault(&v, &e),
    };
    let body = html! {
        (notices)
        @if d.plant.is_none() { (welcome(&v)) }
        @else if d.rows.is_empty() {
            h1 { (v.text("web-start-title")) }
            p.subline { (v.text("web-day-nothing")) }
            (doors(&v))
        } @else { (today(&v, &d)) }
        (due)
        (standing)
        p.note { (v.text("web-start-safety")) }
    };
    let title = v.text(if d.rows.is_empty() { "web-start-title" } else { "web-tab-start" });
    Shell { title, tab: Tab::Start }.around(&v, &body).into_response()
}

fn cabinets(r: &mut dyn Records) -> Result<BTreeSet<String>, StoreError> {
    let query = BatchQuery { limit: LOOKED_THROUGH, ..BatchQuery::default() };
    Ok(r.batches(&query)?.into_iter().map(|b| b.cabinet).collect())
}

async fn day(v: &Visit, site: &Site) -> Result<Day, StoreError> {
    let at = now();
    let plant = site.desk().plant().await?;
    let read = move |r: &mut dyn Records| Ok((runs(r, at.plus_seconds(-SHOWN_AFTER_END_S))?, cabinets(r)?));
    let (list, mut empty) = site.desk().read(read).await?;
    let mut rows = Vec::new();
    for run in list {
        if run.ended.is_none() {
            empty.remove(&run.cabinet);
        }
        rows.push(Sight::of(v, site, run, NO_WAIT).await?);
    }
    // What runs stands before what has ended; of those the one whose act comes first.
    rows.sort_by_key(|s| {
        let next = s.next().filter(|_| s.run.started_at().is_some()).map(|a| a.at.unix_nanoseconds());
        (s.run.ended.is_some(), next.unwrap_or(i64::MIN))
    });
    Ok(Day { plant, rows, empty: empty.into_iter().collect(), at })
}

fn welcome(v: &Visit) -> Markup {
    html! {
        h1 { (v.text("web-start-title")) }
        p.subline { (v.text("web-start-more")) }
        h2.heard { (v.text("demo-first")) }
        ul.doors {
            li { a href="/plan" { b { (v.text("demo-door-plan")) } span { (v.text("demo-door-plan-more")) } } }
            li { a href="/rehearse" { b { (v.text("demo-door-rehearse")) } span { (v.text("demo-door-rehearse-more")) } } }
            li { (crate::demo::door(v)) }
        }
        p { (v.text("web-start-setup")) }
        p { a.button href="/setup" { (v.text("web-setup-title")) } }
    }
}

fn doors(v: &Visit) -> Markup {
    html! {
        ul.doors {
            @for (path, title, more) in DOORS {
                li { a href=(path) { b { (v.text(title)) } span { (v.text(more)) } } }
            }
        }
    }
}

fn today(v: &Visit, d: &Day) -> Markup {
    html! {
        div.day data-watch="/live" {
            (first_thing(v, d))
            (cabinet_lanes(v, d))
            p.onward {
                a.button href="/plan" { (v.text("web-door-plan")) }
                a.button href="/batches" { (v.text("web-batches-title")) }
            }
        }
    }
}

/// The one thing: what a person must decide, else the act that comes first.
fn first_thing(v: &Visit, d: &Day) -> Markup {
    let running = || d.rows.iter().filter(|s| s.run.ended.is_none());
    let grave = running().filter(|s| s.floor.word > FloorWord::GoOn).max_by_key(|s| s.floor.word);
    let next = running()
        .filter(|s| s.next().is_some())
        .min_by_key(|s| (s.run.started_at().is_some(), s.next().map(|a| a.at.unix_nanoseconds())));
    html! {
        @match (grave, next) {
            (Some(s), _) => {
                h1.heard { (s.floor.word.words(&v.reader)) ", " (s.run.cabinet) }
                p.subject { (s.run.cabinet) }
                (floor_line(v, &s.floor))
            }
            (None, Some(s)) => {
                @if let Some(act) = s.next() {
                    p.when {
                        @if s.run.started_at().is_none() { (v.text("web-batch-now")) } @else { (act.clock) }
                        " " span.subject { (s.run.cabinet) }
                    }
                    h1 { (act.act.text) }
                }
            }
            (None, None) => { h1 { (v.text("web-day-quiet")) } (doors(v)) }
        }
    }
}

/// Hours shown, and the clock's words below them.
struct Axis {
    from: f64,
    to: f64,
    ticks: Vec<(f64, String)>,
}

/// A run along the hours from now: begin, end, and early and late end by the forecast.
struct Bar {
    begin: f64,
    end: f64,
    band: Option<(f64, f64)>,
}

fn bar(s: &Sight, at: Instant) -> Option<Bar> {
    let b = s.board.as_ref()?;
    let begin = s.run.started_at()?;
    let end = s.run.ended.as_ref().map_or(b.end, |e| e.at);
    let hours = |i: Instant| i.seconds_since(at) / 3600.0;
    let band = b.band.filter(|_| s.run.ended.is_none()).map(|(e, l)| (hours(e), hours(l)));
    Some(Bar { begin: hours(begin), end: hours(end), band })
}

fn axis(d: &Day) -> Axis {
    let bars: Vec<Bar> = d.rows.iter().filter_map(|s| bar(s, d.at)).collect();
    let from = bars.iter().map(|b| b.begin).fold(-1.0, f64::min).floor();
    let late = |b: &Bar| b.band.map_or(b.end, |(_, late)| late.max(b.end));
    let to = bars.iter().map(late).fold(1.0, f64::max).ceil() + 0.5;
    let zone = d.rows.first().and_then(|s| LocalClock::named(&s.run.zone));
    // Round clock hours.
    let past_hour = zone.as_ref().map_or(0.0, |z| minutes_past(&z.minute(d.at))) / 60.0;
    let ticks = tick_hours(from, to)
        .into_iter()
        .map(|h| h - past_hour)
        .filter(|h| *h >= from && *h < to)
        .filter_map(|h| Some((h, zone.as_ref()?.minute(d.at.plus_seconds(h * 3600.0 + 1.0)))))
        .collect();
    Axis { from, to, ticks }
}

fn cabinet_lanes(v: &Visit, d: &Day) -> Markup {
    let axis = axis(d);
    html! {
        ul.lanes {
            @for (n, s) in d.rows.iter().enumerate() { li { (lane(v, s, &axis, (n, d.at))) } }
            @for name in &d.empty {
                li.empty { span.cabinet { (name) } " " span { (v.text("day-empty")) } }
            }
        }
    }
}

/// One cabinet: what is in it, what comes next, when it ends, and the same along the hours.
fn lane(v: &Visit, s: &Sight, axis: &Axis, (n, at): (usize, Instant)) -> Markup {
    let run = &s.run;
    let next = s.next();
    let late = next.filter(|a| run.started_at().is_some() && a.at.seconds_since(at) < -300.0);
    html! {
        a.run href={ "/batches/" (run.id) } {
            span.cabinet { (run.cabinet) }
            span.subject { (run.product) ", " (v.with("web-batch-lot", &[("lot", &run.lot)])) }
            @if let Some(a) = next {
                span.next {
                    b.clock { @if run.started_at().is_none() { (v.text("web-batch-now")) } @else { (a.clock) } }
                    " " b { (a.act.text) }
                }
            } @else {
                span.next { b { (v.text(if run.ended.is_some() { "web-batch-ended" } else { "web-batch-all-done" })) } }
            }
        }
        @if run.ended.is_none() {
            p.state {
                (floor_mark(v, s.floor.word))
                @if late.is_some() { " " strong.person { (v.text("web-batch-late")) } }
            }
            (end_line(v, s))
        }
        @if let Some(b) = bar(s, at) {
            div.wide { (picture(v, s, &b, axis, 760.0, n)) }
            div.narrow { (picture(v, s, &b, axis, 350.0, n)) }
        }
    }
}

/// When it ends, by the latest forecast.
fn end_line(v: &Visit, s: &Sight) -> Markup {
    html! {
        @match s.seen.followed.as_deref() {
            Some(f) => { p.end { (end_words(f, &s.run, &v.reader)) } }
            None => { @if let Some(b) = &s.board { (forecast_lines(v, &s.run, b)) } }
        }
        @if s.seen.behind || s.seen.followed.as_deref().is_some_and(|f| age_s(f.at) > 1800.0) {
            p.note { (v.text("run-behind")) }
        }
    }
}

/// A run along the hours: solid as far as it went, outlined to the expected end, hatched where the forecast leaves it open.
fn picture(v: &Visit, s: &Sight, b: &Bar, axis: &Axis, wide: f64, n: usize) -> Markup {
    let x = |h: f64| (h - axis.from) / (axis.to - axis.from) * wide;
    let px = |value: f64| format!("{value:.1}");
    let hatch = format!("hatch-{n}-{}", wide.round());
    let step = if wide < 500.0 { 2 } else { 1 };
    let words = v.with("day-lane", &[("cabinet", &s.run.cabinet), ("now", &s.floor.word.words(&v.reader))]);
    html! {
        svg.axis viewBox={ "0 0 " (px(wide)) " 66" } role="img" aria-label=(words) {
            defs {
                pattern id=(hatch) width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
                    path.fr-inkline d="M0 0V8" stroke-width="3" {}
                }
            }
            @for (h, word) in axis.ticks.iter().step_by(step) {
                path.fr-grid d={ "M" (px(x(*h))) " 0V42" } stroke-width="1" {}
                @if x(*h) > 24.0 && x(*h) < wide - 24.0 {
                    text.fr-muted x=(px(x(*h))) y="61" text-anchor="middle" font-size="18" { (word) }
                }
            }
            rect.fr-ink x=(px(x(b.begin))) y="8" width=(px((x(b.end.min(0.0)) - x(b.begin)).max(3.0))) height="28" {}
            @if b.end > 0.0 {
                rect.fr-outline x=(px(x(b.begin.max(0.0)))) y="8" width=(px((x(b.end) - x(b.begin.max(0.0))).max(1.0))) height="28" fill="none" stroke-width="2" stroke-dasharray="6 5" {}
            }
            @if let Some((early, late)) = b.band {
                rect x=(px(x(early))) y="15" width=(px((x(late) - x(early)).max(2.0))) height="14" fill={ "url(#" (hatch) ")" } {}
            }
            path.fr-actline d={ "M" (px(x(0.0))) " 0V42" } stroke-width="4" {}
        }
    }
}

/// Minutes past the hour of "08:13".
fn minutes_past(clock: &str) -> f64 {
    clock.split_once(':').and_then(|(_, m)| m.parse().ok()).unwrap_or(0.0)
}

/// Hours from now that are shown, at most nine.
fn tick_hours(from: f64, to: f64) -> Vec<f64> {
    let step = [1.0, 2.0, 3.0, 6.0, 12.0, 24.0].into_iter().find(|s| (to - from) / s <= 8.0).unwrap_or(48.0);
    let mut h = from;
    let mut list = Vec::new();
    while h <= to {
        list.push(h);
        h += step;
    }
    list
}
