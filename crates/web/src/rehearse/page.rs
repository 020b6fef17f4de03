//! The page of a rehearsal: the front of the cabinet, what comes next, what can be done, what was written down.

use std::convert::Infallible;
use std::time::Duration;

use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::sse::{Event, KeepAlive};
use axum::response::{IntoResponse, Redirect, Response, Sse};
use fallrate_app::Asked as Field;
use fallrate_app::batches::{self, HandReading, ReadingKind, Stamp};
use fallrate_app::practice::Front;
use futures_util::Stream;
use futures_util::stream::unfold;
use maud::{Markup, html};
use serde::Deserialize;

use super::act::{Ordered, line_of, order, why};
use super::begin::hidden;
use super::stage::{NoStage, PACES, Shared, find, lock};
use super::{fault, mark};
use crate::assets::address;
use crate::fault::said;
use crate::look::Visit;
use crate::page_parts::pictures;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// The front is sent this often while somebody looks.
const EVERY: Duration = Duration::from_millis(800);
/// One in so many times the charts are sent in its place.
const CHARTS_EVERY: u32 = 5;
/// Longest step of "go on", s.
const LONGEST_STEP_S: f64 = 86_400.0;

pub(super) async fn page(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Response {
    shown(&v, &site, &id, None).await
}

/// The page, with what was wrong with what was sent.
async fn shown(v: &Visit, site: &Site, id: &str, wrong: Option<String>) -> Response {
    let shared = match find(site, id).await {
        Ok(shared) => shared,
        Err(e) => return fault(v, &e),
    };
    let (front, pace) = match look(v, site, &shared) {
        Ok(looked) => looked,
        Err(e) => return fault(v, &NoStage::App(e)),
    };
    let noted = noted(site, id).await.unwrap_or_default();
    let cabinet = lock(&shared).run.planned.case.cabinet.clone();
    let (subject, seed) = {
        let own = lock(&shared);
        let case = &own.run.planned.case;
        let words = &v.reader.words;
        let product = words.pick(&case.product.name.en, &case.product.name.es);
        (
            format!("{product}, {}", words.pick(&case.cabinet.name.en, &case.cabinet.name.es)),
            own.run.asked.seed,
        )
    };
    let trays = lock(&shared).run.planned.loaded_trays();
    let follow = (!front.over).then(|| format!("/rehearse/{id}/live"));
    let body = html! {
        (mark(v))
        p.subject { (subject) ", " (v.with("rehearse-seed-is", &[("seed", &seed.to_string())])) }
        @if let Some(why) = &wrong { ul.faults { li role="alert" { (why) } } }
        @if front.over { (over(v, id)) }
        @if !front.over { (pace_buttons(v, id, pace)) }
        div #front data-follow=[follow] { (front_part(v, &front, pace)) }
        @if !front.over {
            div.two.rehearse-hands {
                (acts(v, id, &cabinet, trays))
                (entry(v, id, &noted))
            }
            p.note { (v.text("rehearse-hands")) }
            div #charts { (pictures(v, &front.pictures, "r")) }
            script src=(address("rehearse.js")) defer {}
        } @else {
            section { h2 { (v.text("rehearse-noted-so-far")) } (noted_list(v, &noted)) }
            (pictures(v, &front.pictures, "r"))
        }
    };
    let title = v.text("rehearse-tab");
    let page = Shell { title, tab: Tab::Rehearse }.around(v, &body);
    let status = if wrong.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    said((status, page).into_response())
}

fn look(v: &Visit, site: &Site, shared: &Shared) -> Result<(Front, u32), fallrate_app::AppError> {
    let mut own = lock(shared);
    own.catch_up()?;
    Ok((own.run.front(site.library(), &v.reader)?, own.pace))
}

/// What follows the clock.
fn front_part(v: &Visit, f: &Front, pace: u32) -> Markup {
    let mut acts = f.acts.iter();
    let (now, next) = (acts.next(), acts.next());
    let lines = |list: &[(String, String)]| {
        html! { dl.front { @for (label, value) in list { div { dt { (label) } dd { (value) } } } } }
    };
    html! {
        div.practice-clock role="timer" aria-label=(v.text("rehearse-clock")) {
            p.when { (f.clock) }
            p.note {
                (v.with("rehearse-since", &[("time", &f.elapsed)])) ", "
                @if pace == 0 { (v.text("rehearse-paused")) } @else { (v.with("rehearse-times", &[("n", &pace.to_string())])) }
            }
        }
        @if !f.over {
            div.now {
                p.subject { (v.text("rehearse-coming")) }
                @if let Some(a) = now { p.past { (a.clock) " " (a.text) } }
                @match next {
                    Some(a) => {
                        h1 { (a.clock) " " (a.text) }
                        @if let Some(w) = &a.watch { p.subline { (v.text("web-part-watch")) " " (w) } }
                    }
                    None => { h1 { (v.text("rehearse-act-unload")) } }
                }
                @if !f.waiting.is_empty() {
                    p.waiting-hands role="status" {
                        b { (v.text("rehearse-waiting")) ": " }
                        @for (n, (clock, what)) in f.waiting.iter().enumerate() { @if n > 0 { "; " } (clock) " " (what) }
                    }
                }
            }
        }
        div.fronts {
            section { h2 { (v.text("rehearse-front")) } (lines(&f.knobs)) }
            section { h2 { (v.text("rehearse-instruments")) } (lines(&f.displays)) }
            section {
                h2 { (v.text("rehearse-hand-shows")) }
                @if f.by_hand.is_empty() { p.note { (v.text("rehearse-hand-none")) } }
                @else { dl.front { @for (clock, what, value) in &f.by_hand { div { dt { (clock) " " (what) } dd { (value) } } } } }
            }
        }
    }
}

fn pace_buttons(v: &Visit, id: &str, pace: u32) -> Markup {
    html! {
        div.paces {
            form method="post" action={ "/rehearse/" (id) "/pace" } aria-label=(v.text("rehearse-pace")) {
                (hidden(v))
                @for p in PACES {
                    button name="pace" value=(p) aria-pressed=(if p == pace { "true" } else { "false" }) {
                        @if p == 0 { (v.text("rehearse-pause")) } @else { (p) " ×" }
                    }
                }
            }
            form method="post" action={ "/rehearse/" (id) "/go" } {
                (hidden(v))
                button name="to" value="600" { (v.text("rehearse-go-ten")) }
                button name="to" value="3600" { (v.text("rehearse-go-hour")) }
                button name="to" value="next" { (v.text("rehearse-go-next")) }
            }
        }
    }
}

fn acts(v: &Visit, id: &str, cabinet: &fallrate_app::library_items::Cabinet, trays: u32) -> Markup {
    let form = |body: Markup| {
        html! { form.act-form method="post" action={ "/rehearse/" (id) "/act" } { (hidden(v)) (body) } }
    };
    let typed = |what: &str, label: &str, field: Field| {
        form(html! {
            input type="hidden" name="what" value=(what);
            label for={ "a-" (what) } { (v.text(label)) }
            div.typed {
                input id={ "a-" (what) } name="value" type="text" autocomplete="off" maxlength="20";
                span.unit { (field.unit(v.units)) }
                button { (v.text("rehearse-set")) }
            }
        })
    };
    let line = |line: &str, key: &str| html! { button name="line" value=(line) { (v.text(key)) } };
    let tray = |n: &str| {
        html! {
            label for={ "a-tray-" (n) } { (v.text("rehearse-tray-number")) }
            select id={ "a-tray-" (n) } name="tray" { @for t in 1..=trays { option value=(t) { (t) } } }
        }
    };
    html! {
        section {
            h2 { (v.text("rehearse-do")) }
            (form(html! {
                input type="hidden" name="what" value="vent";
                p.label { (v.text("rehearse-vent")) }
                div.marks { @for m in &cabinet.vent.marks { button name="value" value=(m.name) { (m.name) } } }
            }))
            (typed("set-point", "rehearse-set-point", Field::Temperature))
            (typed("timer", "rehearse-dial", Field::Duration))
            div.pair {
                (form(html! {
                    input type="hidden" name="what" value="weigh"; (tray("w"))
                    button { (v.text("rehearse-weigh")) }
                }))
                (form(html! {
                    input type="hidden" name="what" value="core"; (tray("c"))
                    label for="a-along" { (v.text("rehearse-where")) }
                    select #a-along name="along" {
                        option value="leaving" { (v.text("rehearse-leaving")) }
                        option value="middle" { (v.text("rehearse-middle")) }
                        option value="entering" { (v.text("rehearse-entering")) }
                    }
                    button { (v.text("rehearse-read-core")) }
                }))
            }
            (form(html! {
                div.marks {
                    (line("door shut", "rehearse-act-door-shut")) (line("door open", "rehearse-act-door-open"))
                    (line("power off", "rehearse-act-power-off")) (line("power on", "rehearse-act-power-on"))
                }
            }))
            details {
                summary { (v.text("rehearse-more-acts")) }
                (form(html! {
                    input type="hidden" name="what" value="fan";
                    p.label { (v.text("rehearse-fan")) }
                    div.marks { @for f in &cabinet.fan_steps { button name="value" value=(f.name) { (f.name) } } }
                }))
                (form(html! {
                    div.marks {
                        (line("wet-sock", "rehearse-act-wet-sock"))
                        @for n in 1..=cabinet.ports.core_probes {
                            button name="line" value={ "reseat " (n + 2) } { (v.with("rehearse-act-reseat", &[("number", &n.to_string())])) }
                        }
                        (line("turn-trays", "rehearse-act-turn-trays")) (line("turn-pieces", "rehearse-act-turn-pieces"))
                    }
                }))
                (form(html! {
                    input type="hidden" name="what" value="take-out";
                    label for="a-out" { (v.text("rehearse-trays")) }
                    div.typed {
                        input #a-out name="value" type="text" autocomplete="off" maxlength="60" placeholder="3, 8";
                        button { (v.with("rehearse-act-take-out", &[("trays", "")])) }
                    }
                }))
            }
            (form(html! { button.go name="line" value="unload" { (v.text("rehearse-act-unload")) } }))
        }
    }
}

/// Readings that can be written down: kind, label, what is typed, whether a place belongs to it.
const READINGS: [(&str, &str, Field); 5] = [
    ("tray", "web-reading-tray", Field::Mass),
    ("core", "web-reading-core", Field::Reading),
    ("wet_bulb", "web-reading-wet-bulb", Field::Reading),
    ("rh", "web-reading-rh", Field::Humidity),
    ("air", "web-reading-air", Field::Reading),
];

fn entry(v: &Visit, id: &str, noted: &[HandReading]) -> Markup {
    html! {
        section {
            h2 { (v.text("rehearse-note-down")) }
            p.note { (v.text("rehearse-noted-at")) }
            form.act-form method="post" action={ "/rehearse/" (id) "/note" } {
                (hidden(v))
                label for="n-kind" { (v.text("rehearse-col-what")) }
                select #n-kind name="kind" {
                    @for (kind, label, field) in READINGS { option value=(kind) { (v.text(label)) " (" (field.unit(v.units)) ")" } }
                }
                div.pair {
                    div { label for="n-place" { (v.text("rehearse-tray-number")) } input #n-place name="place" type="text" autocomplete="off" maxlength="40"; }
                    div { label for="n-value" { (v.text("rehearse-value")) } input #n-value name="value" type="text" autocomplete="off" maxlength="20"; }
                }
                button { (v.text("rehearse-note-go")) }
            }
            (noted_list(v, noted))
        }
    }
}

fn noted_list(v: &Visit, noted: &[HandReading]) -> Markup {
    html! {
        @if !noted.is_empty() {
            ul.noted { @for n in noted.iter().rev().take(12) { li { (crate::batch::reading_line(v, n)) } } }
        }
    }
}

/// The readings that were written down.
pub(crate) async fn noted(site: &Site, id: &str) -> Result<Vec<HandReading>, NoStage> {
    let key = id.to_owned();
    let run = site.stage().desk()?.read(move |r| batches::run(r, &key)).await;
    Ok(run.map_err(|e| NoStage::App(e.into()))?.map_or_else(Vec::new, |r| r.readings))
}

fn over(v: &Visit, id: &str) -> Markup {
    html! {
        div.now {
            h1 { (v.text("rehearse-over-title")) }
            p.onward {
                a.button.main href={ "/rehearse/" (id) "/debrief" } { (v.text("rehearse-see-debrief")) }
                a.button href={ "/rehearse/" (id) "/debrief.pdf" } { (v.text("rehearse-pdf")) }
                a.button href="/rehearse" { (v.text("rehearse-again")) }
            }
            details {
                summary { (v.text("rehearse-files")) }
                ul.noted { @for name in super::paper::NAMES { li { a href={ "/rehearse/" (id) "/files/" (name) } { (name) } } } }
            }
        }
    }
}

/// Sends the front while somebody looks, and says when it is over.
pub(super) async fn live(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Response> {
    let shared = find(&site, &id).await.map_err(|e| fault(&v, &e))?;
    let stream = unfold((v, site, shared, Some(0_u32)), |(v, site, shared, tick)| async move {
        let tick = tick?;
        tokio::time::sleep(EVERY).await;
        let (own, seen, at) = (v.clone(), site.clone(), shared.clone());
        let looked = tokio::task::spawn_blocking(move || {
            look(&own, &seen, &at).map(|(front, pace)| match tick % CHARTS_EVERY {
                0 => ("charts", pictures(&own, &front.pictures, "r"), front.over),
                _ => ("front", front_part(&own, &front, pace), front.over),
            })
        });
        let (event, next) = match looked.await {
            Ok(Ok((name, part, false))) => {
                (Event::default().event(name).data(part.into_string()), Some(tick.wrapping_add(1)))
            }
            _ => (Event::default().event("over").data("over"), None),
        };
        Some((Ok(event), (v, site, shared, next)))
    });
    Ok(Sse::new(stream).keep_alive(KeepAlive::new().interval(Duration::from_secs(15))))
}

fn back(id: &str) -> Response {
    Redirect::to(&format!("/rehearse/{id}")).into_response()
}

pub(super) async fn act(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(o): Form<Ordered>,
) -> Response {
    let shared = match find(&site, &id).await {
        Ok(shared) => shared,
        Err(e) => return fault(&v, &e),
    };
    let Some(act) = line_of(&o, v.units) else {
        return shown(&v, &site, &id, Some(v.text("rehearse-refused-unread"))).await;
    };
    match order(&v, &site, &id, &shared, (act, &o.entry_id)).await {
        Ok(_) => back(&id),
        Err(NoStage::App(fallrate_app::AppError::Store(e))) => crate::keep::fault(&v, &e),
        Err(NoStage::App(e)) => {
            let text = format!("{} {}", v.text("rehearse-refused"), v.text(why(&e)));
            let text = if why(&e) == "rehearse-refused" { v.text("rehearse-refused") } else { text };
            shown(&v, &site, &id, Some(text)).await
        }
        Err(e) => fault(&v, &e),
    }
}

/// What "go on" sends.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Step {
    to: String,
    pace: String,
}

/// Runs on by so many seconds, or to the plan's next act.
pub(crate) async fn advance(site: &Site, shared: &Shared, to: &str) -> Result<f64, NoStage> {
    let own = shared.clone();
    let to = to.to_owned();
    let run = site.planner().run(move |_| {
        let mut own = lock(&own);
        own.catch_up()?;
        let now = own.run.now_s();
        let by = to.parse::<f64>().ok().filter(|s| s.is_finite() && *s > 0.0);
        let target = match (to.as_str(), by) {
            ("next", _) => own.run.next_act_s().unwrap_or(now + 600.0),
            (_, Some(by)) => now + by.min(LONGEST_STEP_S),
            _ => now,
        };
        own.run.go_to(target)?;
        Ok(own.run.now_s())
    });
    run.await.map_err(NoStage::App)
}

pub(super) async fn go(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Step>,
) -> Response {
    match find(&site, &id).await {
        Ok(shared) => match advance(&site, &shared, &s.to).await {
            Ok(_) => back(&id),
            Err(e) => fault(&v, &e),
        },
        Err(e) => fault(&v, &e),
    }
}

pub(super) async fn pace(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Step>,
) -> Response {
    let Some(pace) = s.pace.parse::<u32>().ok().filter(|p| PACES.contains(p)) else {
        return StatusCode::BAD_REQUEST.into_response();
    };
    match find(&site, &id).await {
        Ok(shared) => {
            let mut own = lock(&shared);
            // What cannot be run on is told by the page.
            let _ = own.catch_up();
            own.set_pace(pace);
            back(&id)
        }
        Err(e) => fault(&v, &e),
    }
}

/// What is written down.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Note {
    entry_id: String,
    kind: String,
    place: String,
    value: String,
}

/// Writes a reading down at the time of the practice clock; hands back the number of the entry.
pub(crate) async fn note_down(
    v: &Visit,
    site: &Site,
    id: &str,
    (kind, value): (ReadingKind, String),
    entry_id: &str,
) -> Result<u64, NoStage> {
    let shared = find(site, id).await?;
    let (at, zone) = {
        let own = lock(&shared);
        (own.run.now(), own.run.asked.zone.clone())
    };
    let stamp = crate::keep::stamp(&super::begin::place(site, v).await, v, entry_id);
    let stamp = Stamp { zone, ..stamp };
    let key = id.to_owned();
    let desk = site.stage().desk()?;
    let entered =
        desk.write(move |r| batches::enter_reading(r, &key, &stamp, (&kind, &value), Some(at))).await;
    entered.map_err(|e| NoStage::App(e.into()))
}

pub(super) async fn note(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(n): Form<Note>,
) -> Response {
    let Some((kind, _, field)) = READINGS.into_iter().find(|(k, ..)| *k == n.kind) else {
        return StatusCode::BAD_REQUEST.into_response();
    };
    let value = match field.read(&n.value, v.units) {
        Ok(Some(typed)) => typed.value,
        Ok(None) => return shown(&v, &site, &id, Some(v.text("web-reading-empty"))).await,
        Err(e) => return shown(&v, &site, &id, Some(e.words(&v.reader))).await,
    };
    let kind = match kind {
        "tray" => match n.place.trim().parse::<u16>().ok().filter(|n| (1..=500).contains(n)) {
            Some(n) => ReadingKind::Tray(n),
            None => return shown(&v, &site, &id, Some(v.text("web-reading-tray-number"))).await,
        },
        "core" if n.place.trim().parse::<u32>().is_ok() => {
            ReadingKind::Core(format!("tray {}", n.place.trim()))
        }
        "core" => ReadingKind::Core(n.place.clone()),
        "wet_bulb" => ReadingKind::WetBulb,
        "rh" => ReadingKind::Humidity,
        _ => ReadingKind::Air,
    };
    match note_down(&v, &site, &id, (kind, value), &n.entry_id).await {
        Ok(_) => back(&id),
        Err(e) => fault(&v, &e),
    }
}
