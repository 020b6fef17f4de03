//! What is sent from the page of a batch.

use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::Asked;
use fallrate_app::batches::{
    self, Instant, PlantSettings, ReadingKind, RecordRealm, Stamp, Start, StoreError,
};
use fallrate_app::proof::LocalClock;
use maud::html;
use serde::Deserialize;

use super::page::{READINGS, Wrong, shown};
use crate::fault::said;
use crate::keep::{fault, stamp};
use crate::look::{Visit, random_hex};
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
}

/// The plant, or the way to say what it is.
async fn plant(v: &Visit, site: &Site) -> Result<PlantSettings, Response> {
    match site.desk().plant().await {
        Ok(Some(plant)) => Ok(plant),
        Ok(None) => Err(Redirect::to("/setup").into_response()),
        Err(e) => Err(fault(v, &e)),
    }
}

/// When something was: `None` is now. A clock time later than now is of the day before.
fn happened(stamp: &Stamp, text: &str) -> Result<Option<Instant>, String> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let Some(clock) = LocalClock::named(&stamp.zone) else { return Ok(None) };
    let plain = match Asked::Clock.read(text, fallrate_app::Units::Si) {
        Ok(Some(typed)) => typed.value,
        _ => text.trim().to_owned(),
    };
    let at = clock.read(&plain, stamp.at).map_err(|_| plain.clone())?;
    let ahead = at.seconds_since(stamp.at);
    if ahead <= 0.0 {
        return Ok(Some(at));
    }
    // 23:50 entered at 00:05 was before midnight.
    let before = clock.read(&plain, stamp.at.plus_seconds(-86_400.0)).map_err(|_| plain.clone())?;
    let back = stamp.at.seconds_since(before);
    if (0.0..=12.0 * 3600.0).contains(&back) { Ok(Some(before)) } else { Err(plain) }
}

fn done_page(id: &str, result: Result<u64, StoreError>, v: &Visit) -> Response {
    match result {
        Ok(_) => Redirect::to(&format!("/batches/{id}")).into_response(),
        Err(e) => fault(v, &e),
    }
}

/// Whether there is such a batch; only those that were started here take entries.
async fn known(v: &Visit, site: &Site, id: &str) -> Result<(), Response> {
    let key = id.to_owned();
    match site.desk().read(move |r| batches::run(r, &key)).await {
        Ok(Some(_)) => Ok(()),
        Ok(None) => Err(StatusCode::NOT_FOUND.into_response()),
        Err(e) => Err(fault(v, &e)),
    }
}

/// Plant, stamp and time of an entry for a batch that exists.
async fn ready(v: &Visit, site: &Site, id: &str, s: &Sent) -> Result<(Stamp, Option<Instant>), Response> {
    let plant = plant(v, site).await?;
    known(v, site, id).await?;
    let stamp = stamp(&plant, v, &s.entry_id);
    match happened(&stamp, &s.at) {
        Ok(at) => Ok((stamp, at)),
        Err(_) => {
            let why = v.text("web-batch-at-wrong");
            Err(shown(v, site, id.to_owned(), Some(Wrong { field: "at", typed: s.at.clone(), why })).await)
        }
    }
}

pub(super) async fn done(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let (stamp, at) = match ready(&v, &site, &id, &s).await {
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

pub(super) async fn reading(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let (stamp, at) = match ready(&v, &site, &id, &s).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let Some((field, _, asked)) = READINGS.into_iter().find(|(n, ..)| *n == s.kind) else {
        return StatusCode::BAD_REQUEST.into_response();
    };
    let wrong = |why: String| Wrong { field, typed: s.value.clone(), why };
    let value = match asked.read(&s.value, v.units) {
        Ok(Some(typed)) => typed.value,
        Ok(None) => return shown(&v, &site, id, Some(wrong(v.text("web-reading-empty")))).await,
        Err(e) => return shown(&v, &site, id, Some(wrong(e.words(&v.reader)))).await,
    };
    let kind = match field {
        "tray" => match s.place.trim().parse::<u16>().ok().filter(|n| (1..=500).contains(n)) {
            Some(n) => ReadingKind::Tray(n),
            None => return shown(&v, &site, id, Some(wrong(v.text("web-reading-tray-number")))).await,
        },
        "core" => ReadingKind::Core(s.place.clone()),
        "wet_bulb" => ReadingKind::WetBulb,
        "rh" => ReadingKind::Humidity,
        _ => ReadingKind::Air,
    };
    let key = id.clone();
    let result =
        site.desk().write(move |r| batches::enter_reading(r, &key, &stamp, (&kind, &value), at)).await;
    done_page(&id, result, &v)
}

pub(super) async fn note(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let (stamp, at) = match ready(&v, &site, &id, &s).await {
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
    let (stamp, _) = match ready(&v, &site, &id, &s).await {
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
    let (stamp, _) = match ready(&v, &site, &id, &s).await {
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
        realm: RecordRealm::Proof,
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
