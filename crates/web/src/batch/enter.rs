//! What is sent from the page of a batch.

use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::Asked;
use fallrate_app::batches::{
    self, Instant, PlantSettings, ReadingKind, Run, Setting, Stamp, Start, StoreError,
};
use fallrate_app::quantities::{Quantity, Temperature, duration_s};
use fallrate_app::underway::{Beside, ReadBack, TimeRead, doubt, read_time};
use maud::html;
use serde::Deserialize;

use super::back::AskBack;
use super::forms::READINGS;
use super::page::{Said, Wrong, shown};
use super::sight::NO_WAIT;
use crate::fault::said;
use crate::keep::{fault, stamp};
use crate::look::{Visit, random_hex};
use crate::operate::{Made, Queued, note_clock, stands};
use crate::plan::{DRAWS, Entries, pairs_of, write};
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// What the forms of a batch send; each uses what it needs.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Sent {
    entry_id: String,
    number: Option<usize>,
    text: String,
    at: String,
    kind: String,
    place: String,
    value: String,
    entry: Option<u64>,
    plan: String,
    lot: String,
    sure: String,
    #[serde(flatten)]
    queued: Queued,
}

impl Sent {
    /// What was sent, to be sent again.
    pub(super) fn fields(&self) -> Vec<(&'static str, String)> {
        let number = |n: Option<u64>| n.map_or_else(String::new, |n| n.to_string());
        let all = [
            ("entry_id", self.entry_id.clone()),
            ("number", number(self.number.map(|n| n as u64))),
            ("text", self.text.clone()),
            ("at", self.at.clone()),
            ("kind", self.kind.clone()),
            ("place", self.place.clone()),
            ("value", self.value.clone()),
            ("entry", number(self.entry)),
            ("sure", self.sure.clone()),
        ];
        all.into_iter().filter(|(_, value)| !value.is_empty()).collect()
    }
}

/// The plant, or the way to say what it is.
pub(super) async fn plant(v: &Visit, site: &Site) -> Result<PlantSettings, Response> {
    match site.desk().plant().await {
        Ok(Some(plant)) => Ok(plant),
        Ok(None) => Err(Redirect::to("/setup").into_response()),
        Err(e) => Err(fault(v, &e)),
    }
}

fn done_page(id: &str, result: Result<u64, StoreError>, v: &Visit) -> Response {
    match result {
        Ok(_) => Redirect::to(&format!("/batches/{id}")).into_response(),
        Err(e) => fault(v, &e),
    }
}

/// The batch; only those that were started here take entries.
pub(super) async fn known(v: &Visit, site: &Site, id: &str) -> Result<Run, Response> {
    let key = id.to_owned();
    match site.desk().read(move |r| batches::run(r, &key)).await {
        Ok(Some(run)) => Ok(run),
        Ok(None) => Err(StatusCode::NOT_FOUND.into_response()),
        Err(e) => Err(fault(v, &e)),
    }
}

/// When an entry was made that waited in a device for the server; `None` for one that did not wait. One that stands
/// already is answered as if it had just been entered.
async fn delivered(
    v: &Visit,
    site: &Site,
    id: &str,
    s: &Sent,
    stamp: &Stamp,
) -> Result<Option<Made>, Response> {
    if !s.queued.is_queued() {
        return Ok(None);
    }
    if !s.queued.is_of(v) {
        return Err(StatusCode::FORBIDDEN.into_response());
    }
    match stands(site, id, &s.entry_id).await {
        Ok(true) => return Err(Redirect::to(&format!("/batches/{id}")).into_response()),
        Ok(false) => {}
        Err(e) => return Err(fault(v, &e)),
    }
    let Some(made) = s.queued.made(stamp.at) else {
        return Err(StatusCode::UNPROCESSABLE_ENTITY.into_response());
    };
    if let Some(moved_s) = made.clock_moved_s {
        note_clock(site, id, stamp, moved_s).await.map_err(|e| fault(v, &e))?;
    }
    Ok(Some(made))
}

/// An entry for a batch that exists: who, when it was, and the batch as it stands.
pub(super) struct Ready {
    pub stamp: Stamp,
    pub at: Option<Instant>,
    pub run: Run,
}

/// Plant, stamp and time of an entry; a time that may be meant in several ways is read back. `to` is where the form went.
async fn ready(v: &Visit, site: &Site, id: &str, (s, to): (&Sent, &'static str)) -> Result<Ready, Response> {
    let plant = plant(v, site).await?;
    let run = known(v, site, id).await?;
    let stamp = stamp(&plant, v, &s.entry_id);
    let made = delivered(v, site, id, s, &stamp).await?;
    let base = made.map_or(stamp.at, |m| m.at);
    // What begins a run may have been before its record was opened.
    let at = match read_time(&s.at, &stamp.zone, base, run.started_at(), &v.reader) {
        TimeRead::Now => made.map(|m| m.at),
        TimeRead::At(at) => Some(at),
        TimeRead::Doubtful(back) => {
            let ask = AskBack { to, field: "at", sent: s.clone(), back };
            return Err(shown(v, site, id.to_owned(), Said::Back(Box::new(ask))).await);
        }
        TimeRead::Unread => {
            let why = v.text("web-batch-at-wrong");
            let wrong = Wrong { field: "at", typed: s.at.clone(), why };
            return Err(shown(v, site, id.to_owned(), Said::Wrong(wrong)).await);
        }
    };
    Ok(Ready { stamp, at, run })
}

pub(super) async fn done(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let Ready { stamp, at, .. } = match ready(&v, &site, &id, (&s, "done")).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let Some(number) = s.number.filter(|n| (1..=200).contains(n)) else {
        return StatusCode::BAD_REQUEST.into_response();
    };
    let key = id.clone();
    let result = site.desk().write(move |r| batches::act_done(r, &key, &stamp, (number, &s.text), at)).await;
    done_page(&id, result, &v)
}

/// What was read and how it was typed, or what is wrong with it.
fn read(v: &Visit, s: &Sent) -> Result<(ReadingKind, String), Said> {
    let Some((field, _, asked)) = READINGS.into_iter().find(|(n, ..)| *n == s.kind) else {
        return Err(Said::Nothing);
    };
    let wrong = |why: String| Said::Wrong(Wrong { field, typed: s.value.clone(), why });
    let value = match asked.read(&s.value, v.units) {
        Ok(Some(typed)) => typed.value,
        Ok(None) => return Err(wrong(v.text("web-reading-empty"))),
        Err(e) => {
            let Some(back) = ReadBack::of_fault(&e, &v.reader) else { return Err(wrong(e.words(&v.reader))) };
            let ask = AskBack { to: "reading", field: "value", sent: s.clone(), back };
            return Err(Said::Back(Box::new(ask)));
        }
    };
    let kind = match field {
        "tray" => match s.place.trim().parse::<u16>().ok().filter(|n| (1..=500).contains(n)) {
            Some(n) => ReadingKind::Tray(n),
            None => return Err(wrong(v.text("web-reading-tray-number"))),
        },
        "core" => ReadingKind::Core(s.place.clone()),
        "wet_bulb" => ReadingKind::WetBulb,
        "rh" => ReadingKind::Humidity,
        _ => ReadingKind::Air,
    };
    Ok((kind, value))
}

/// What is odd about a reading, beside what is expected of the batch.
async fn odd(v: &Visit, site: &Site, ready: &Ready, (kind, value): (&ReadingKind, &str)) -> Option<ReadBack> {
    let run = &ready.run;
    let planned = site.planner().plan(&run.plan_toml, DRAWS).await.ok()?;
    let seen = site.follower().seen(run, &planned, &v.reader, NO_WAIT).await;
    let at = ready.at.unwrap_or(ready.stamp.at);
    let beside = Beside { run, planned: &planned, followed: seen.followed.as_deref(), at };
    doubt(kind, value, &beside, &v.reader)
}

pub(super) async fn reading(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let ready = match ready(&v, &site, &id, (&s, "reading")).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let (kind, value) = match read(&v, &s) {
        Ok(read) => read,
        Err(Said::Nothing) => return StatusCode::BAD_REQUEST.into_response(),
        Err(said) => return shown(&v, &site, id, said).await,
    };
    if s.sure != "1"
        && let Some(back) = odd(&v, &site, &ready, (&kind, &value)).await
    {
        let ask = AskBack { to: "reading", field: "value", sent: s, back };
        return shown(&v, &site, id, Said::Back(Box::new(ask))).await;
    }
    let (key, Ready { stamp, at, .. }) = (id.clone(), ready);
    let result =
        site.desk().write(move |r| batches::enter_reading(r, &key, &stamp, (&kind, &value), at)).await;
    done_page(&id, result, &v)
}

/// Corrects a reading: what it should have said stands beside it.
pub(super) async fn correct(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let ready = match ready(&v, &site, &id, (&s, "correct")).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let found = ready.run.readings.iter().find(|r| Some(r.entry) == s.entry);
    let Some((found, kind)) = found.and_then(|r| Some((r.clone(), ReadingKind::of(&r.role)?))) else {
        return StatusCode::BAD_REQUEST.into_response();
    };
    let asked = match kind {
        ReadingKind::Tray(_) => Asked::Mass,
        ReadingKind::Humidity => Asked::Humidity,
        _ => Asked::Reading,
    };
    let value = match asked.read(&s.value, v.units) {
        Ok(Some(typed)) => typed.value,
        Ok(None) => return Redirect::to(&format!("/batches/{id}")).into_response(),
        Err(e) => {
            let wrong = Wrong { field: "correct", typed: s.value.clone(), why: e.words(&v.reader) };
            return shown(&v, &site, id, Said::Wrong(wrong)).await;
        }
    };
    let (key, why, stamp) = (id.clone(), v.text("web-batch-correct-reason"), ready.stamp);
    let result = site
        .desk()
        .write(move |r| {
            let of = (found.entry, found.at);
            batches::correct_reading(r, &key, &stamp, of, (&kind, &value), &why)
        })
        .await;
    done_page(&id, result.map(|()| 0), &v)
}

/// Something was set otherwise than the plan says.
pub(super) async fn setting(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let Ready { stamp, at, .. } = match ready(&v, &site, &id, (&s, "setting")).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let wrong = |why: String| Said::Wrong(Wrong { field: "setting", typed: s.value.clone(), why });
    let asked = match s.kind.as_str() {
        "vent" => Asked::Words,
        "set_point" => Asked::Temperature,
        "timer" => Asked::Duration,
        _ => return StatusCode::BAD_REQUEST.into_response(),
    };
    let value = match asked.read(&s.value, v.units) {
        Ok(Some(typed)) => typed.value,
        Ok(None) => return shown(&v, &site, id, wrong(v.text("web-reading-empty"))).await,
        Err(e) => return shown(&v, &site, id, wrong(e.words(&v.reader))).await,
    };
    let setting = match s.kind.as_str() {
        "vent" => Some(Setting::Vent(value)),
        "set_point" => Temperature::parse(&value).ok().map(|t| Setting::SetPoint(t.celsius())),
        _ => duration_s(&value).map(Setting::Dialled),
    };
    let Some(setting) = setting else { return StatusCode::BAD_REQUEST.into_response() };
    let key = id.clone();
    let result = site.desk().write(move |r| batches::change_setting(r, &key, &stamp, &setting, at)).await;
    done_page(&id, result, &v)
}

pub(super) async fn note(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let Ready { stamp, at, .. } = match ready(&v, &site, &id, (&s, "note")).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let text: String = s.text.chars().take(2000).collect();
    let text = batches::plain_note(&text);
    let key = id.clone();
    let result = site.desk().write(move |r| batches::note(r, &key, &stamp, &text, at)).await;
    done_page(&id, result, &v)
}

pub(super) async fn undo(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let Ready { stamp, .. } = match ready(&v, &site, &id, (&s, "undo")).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let Some(entry) = s.entry else { return StatusCode::BAD_REQUEST.into_response() };
    let (key, why) = (id.clone(), v.text("web-batch-undo-reason"));
    let result = site.desk().write(move |r| batches::withdraw(r, &key, &stamp, entry, &why)).await;
    done_page(&id, result.map(|()| entry), &v)
}

pub(super) async fn end(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let Ready { stamp, .. } = match ready(&v, &site, &id, (&s, "end")).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let key = id.clone();
    let result = site.desk().write(move |r| batches::end_run(r, &key, &stamp, &s.text)).await;
    done_page(&id, result, &v)
}

/// Before a batch is started: which plan, which lot.
pub(super) async fn start_form(
    v: Visit,
    State(site): State<Site>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Response {
    if let Err(answer) = plant(&v, &site).await {
        return answer;
    }
    let entries = Entries::new(pairs, v.units).seen_in(v.units);
    let library = site.library();
    let words = &v.reader.words;
    let product = library.products().iter().find(|p| p.key == entries.get("product"));
    let cabinet = library.cabinets().iter().find(|c| c.key == entries.get("cabinet"));
    let (Some(product), Some(cabinet)) = (product, cabinet) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let body = html! {
        p.subject { (words.pick(&product.name.en, &product.name.es)) ", " (words.pick(&cabinet.name.en, &cabinet.name.es)) }
        h1 { (v.text("web-batch-start-title")) }
        p.subline { (v.text("web-batch-start-more")) }
        form.sheet method="post" action="/batches/start" {
            input type="hidden" name="form_token" value=(v.token);
            input type="hidden" name="entry_id" value=(random_hex().unwrap_or_default());
            input type="hidden" name="plan" value=(entries.query());
            div.field {
                label for="f-lot" { (v.text("web-batch-lot-code")) }
                input #f-lot name="lot" type="text" autocomplete="off" maxlength="60";
                p.note { (v.text("web-batch-lot-empty")) }
            }
            button.go { (v.text("web-batch-start")) }
        }
    };
    Shell { title: v.text("web-batch-start-title"), tab: Tab::Plan }.around(&v, &body).into_response()
}

/// Opens the record of a batch with its plan.
pub(super) async fn start(v: Visit, State(site): State<Site>, Form(s): Form<Sent>) -> Response {
    let plant = match plant(&v, &site).await {
        Ok(plant) => plant,
        Err(answer) => return answer,
    };
    let entries = Entries::new(pairs_of(&s.plan), v.units);
    let written = write(&entries, site.library(), &v.reader);
    let planned = match site.planner().plan(&written.text, DRAWS).await {
        Ok(planned) if !written.has_faults() => planned,
        _ => return said(Redirect::to(&format!("/plan?{}&go=1", entries.query())).into_response()),
    };
    let words = &v.reader.words;
    let case = &planned.case;
    let start = Start {
        realm: site.realm(),
        lot: s.lot.chars().take(60).collect(),
        product: words.pick(&case.product.name.en, &case.product.name.es).to_owned(),
        product_code: case.product.key.clone(),
        cabinet: words.pick(&case.cabinet.name.en, &case.cabinet.name.es).to_owned(),
        quantity_kg: planned.plan.assembled.setup.batch.fresh_kg(),
        plan_title: case.request.title.clone().unwrap_or_default(),
        plan_toml: written.text.clone(),
    };
    let stamp = stamp(&plant, &v, &s.entry_id);
    match site.desk().write(move |r| batches::start_batch(r, &stamp, &plant, &start)).await {
        Ok(id) => Redirect::to(&format!("/batches/{id}")).into_response(),
        Err(e) => fault(&v, &e),
    }
}
