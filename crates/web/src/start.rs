//! The day: every batch under way on a time axis, its next act, its forecast end; and where to begin.

use axum::extract::State;
use axum::response::{IntoResponse, Response};
use fallrate_app::batches::{Board, Instant, PlantSettings, Run, StoreError, board, runs};
use fallrate_app::proof::LocalClock;
use maud::{Markup, html};

use crate::batch::{SHOWN_AFTER_END_S, forecast_lines};
use crate::keep::{fault, now};
use crate::look::Visit;
use crate::plan::DRAWS;
use crate::shell::{Shell, Tab};
use crate::state::Site;

const DOORS: [(&str, &str, &str); 3] = [
    ("/plan", "web-door-plan", "web-door-plan-more"),
    ("/library", "web-door-library", "web-door-library-more"),
    ("/air", "web-door-air", "web-door-air-more"),
];

/// A run with its board, where its plan could be computed.
type Row = (Run, Option<Board>);

pub(crate) async fn page(v: Visit, State(site): State<Site>) -> Response {
    let at = now();
    let (plant, rows) = match day(&v, &site, at).await {
        Ok(day) => day,
        Err(e) => return fault(&v, &e),
    };
    let body = html! {
        @if plant.is_none() { (welcome(&v)) }
        @else if rows.is_empty() {
            h1 { (v.text("web-start-title")) }
            p.subline { (v.text("web-day-nothing")) }
            (doors(&v))
        } @else { (today(&v, &rows, at)) }
        p.note { (v.text("web-start-safety")) }
    };
    let title = v.text(if rows.is_empty() { "web-start-title" } else { "web-tab-start" });
    Shell { title, tab: Tab::Start }.around(&v, &body).into_response()
}

async fn day(v: &Visit, site: &Site, at: Instant) -> Result<(Option<PlantSettings>, Vec<Row>), StoreError> {
    let plant = site.desk().plant().await?;
    let list = site.desk().read(move |r| runs(r, at.plus_seconds(-SHOWN_AFTER_END_S))).await?;
    let mut rows = Vec::new();
    for run in list {
        let planned = site.planner().plan(&run.plan_toml, DRAWS).await.ok();
        let board = planned.map(|p| board(&run, &p, site.library(), &v.reader, at));
        rows.push((run, board));
    }
    Ok((plant, rows))
}

fn welcome(v: &Visit) -> Markup {
    html! {
        h1 { (v.text("web-start-title")) }
        p.subline { (v.text("web-start-more")) }
        (doors(v))
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

fn today(v: &Visit, rows: &[Row], at: Instant) -> Markup {
    let acting = rows.iter().filter(|(r, _)| r.ended.is_none());
    let next = acting
        .filter_map(|(r, b)| b.as_ref().and_then(Board::next).map(|a| (r, a)))
        .min_by_key(|(r, a)| (r.started_at().is_some(), a.at.unix_nanoseconds()));
    html! {
        div.day data-watch="/live" {
            @match next {
                Some((run, act)) => {
                    p.when {
                        @if run.started_at().is_none() { (v.text("web-batch-now")) } @else { (act.clock) }
                        " " span.subject { (run.cabinet) }
                    }
                    h1 { (act.act.text) }
                }
                None => { h1 { (v.text("web-day-quiet")) } (doors(v)) }
            }
            (axis(v, rows, at))
            ul.runs { @for (run, board) in rows { li { (card(v, run, board.as_ref(), at)) } } }
            p.onward {
                a.button href="/plan" { (v.text("web-door-plan")) }
                a.button href="/batches" { (v.text("web-batches-title")) }
            }
        }
    }
}

fn card(v: &Visit, run: &Run, board: Option<&Board>, at: Instant) -> Markup {
    let next = board.and_then(Board::next).filter(|_| run.ended.is_none());
    html! {
        a.run href={ "/batches/" (run.id) } {
            span.subject { (run.cabinet) ", " (run.product) ", " (run.lot) }
            @if let Some(a) = next {
                b {
                    @if run.started_at().is_none() { (v.text("web-batch-now")) } @else { (a.clock) }
                    " " (a.act.text)
                }
                @if run.started_at().is_some() && a.at.seconds_since(at) < -300.0 {
                    strong.person { (v.text("web-batch-late")) }
                }
            } @else {
                b { (v.text(if run.ended.is_some() { "web-batch-ended" } else { "web-batch-all-done" })) }
            }
        }
        @if let Some(b) = board { (forecast_lines(v, run, b)) }
    }
}

/// Height of a row of the axis, and room for its words, in units of the picture.
const ROW: f64 = 56.0;
const LEFT: f64 = 190.0;
const WIDE: f64 = 1000.0;

/// A run on the axis: start, end and the forecast's early and late end, hours from now.
type Bar<'a> = (&'a Run, f64, f64, Option<(f64, f64)>);

/// Every batch on one axis of time: solid as far as it went, hatched where the forecast leaves the end open.
fn axis(v: &Visit, rows: &[Row], at: Instant) -> Markup {
    let bars: Vec<Bar<'_>> = rows
        .iter()
        .filter_map(|(run, board)| {
            let b = board.as_ref()?;
            let start = run.started_at()?;
            let end = run.ended.as_ref().map_or(b.end, |e| e.at);
            let hours = |i: Instant| i.seconds_since(at) / 3600.0;
            let band = b.band.filter(|_| run.ended.is_none()).map(|(e, l)| (hours(e), hours(l)));
            Some((run, hours(start), hours(end), band))
        })
        .collect();
    if bars.is_empty() {
        return html! {};
    }
    let from = bars.iter().map(|b| b.1).fold(-1.0, f64::min).floor();
    let to = bars.iter().map(|b| b.3.map_or(b.2, |(_, late)| late.max(b.2))).fold(1.0, f64::max).ceil();
    let x = |h: f64| LEFT + (h - from) / (to - from) * (WIDE - LEFT - 20.0);
    #[allow(clippy::cast_precision_loss)]
    let height = bars.len() as f64 * ROW + 44.0;
    let zone = rows.first().and_then(|(r, _)| LocalClock::named(&r.zone));
    // Round clock hours; the last words must not stick out.
    let past_hour = zone.as_ref().map_or(0.0, |z| minutes_past(&z.minute(at))) / 60.0;
    let ticks: Vec<(f64, String)> = tick_hours(from, to)
        .into_iter()
        .map(|h| h - past_hour)
        .filter(|h| *h >= from && x(*h) < WIDE - 30.0)
        .filter_map(|h| Some((h, zone.as_ref()?.minute(at.plus_seconds(h * 3600.0 + 1.0)))))
        .collect();
    let n = |value: f64| format!("{value:.1}");
    html! {
        svg.axis viewBox={ "0 0 " (n(WIDE)) " " (n(height)) } role="img" aria-label=(v.text("web-day-axis")) {
            defs {
                pattern #hatch width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
                    path.fr-inkline d="M0 0V8" stroke-width="3" {}
                }
            }
            @for (h, word) in &ticks {
                path.fr-grid d={ "M" (n(x(*h))) " 0V" (n(height - 34.0)) } stroke-width="1" {}
                text.fr-muted x=(n(x(*h))) y=(n(height - 12.0)) text-anchor="middle" font-size="18" { (word) }
            }
            @for (i, (run, start, end, band)) in bars.iter().enumerate() {
                @let y = f64::from(u32::try_from(i).unwrap_or(0)) * ROW + 14.0;
                text.fr-ink x="0" y=(n(y + 22.0)) font-size="20" font-weight="700" { (run.cabinet) }
                rect.fr-ink x=(n(x(*start))) y=(n(y)) width=(n((x(end.min(0.0)) - x(*start)).max(3.0))) height="28" {}
                @if *end > 0.0 {
                    rect.fr-outline x=(n(x(start.max(0.0)))) y=(n(y)) width=(n((x(*end) - x(start.max(0.0))).max(1.0))) height="28" fill="none" stroke-width="2" stroke-dasharray="6 5" {}
                }
                @if let Some((early, late)) = band {
                    rect x=(n(x(*early))) y=(n(y + 8.0)) width=(n((x(*late) - x(*early)).max(2.0))) height="12" fill="url(#hatch)" {}
                }
            }
            path.fr-actline d={ "M" (n(x(0.0))) " 0V" (n(height - 34.0)) } stroke-width="3" {}
            text.fr-ink x=(n(x(0.0) + 6.0)) y="12" font-size="17" font-weight="700" { (v.text("mark-now")) }
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
