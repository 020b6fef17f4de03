//! Choosing what to rehearse, and beginning: one tap takes good defaults.

use axum::Form;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::Asked as Field;
use fallrate_app::batches::{PlantSettings, PlantUnits, Retention};
use fallrate_app::practice::{
    FaultChoice, KeptRehearsal, RehearsalAsked, Rehearsing, begin_record, fault_words, kept_rehearsals,
};
use fallrate_app::proof::LocalClock;
use maud::{Markup, html};

use super::stage::NoStage;
use super::{fault, mark};
use crate::fault::said;
use crate::keep::{now, stamp};
use crate::look::{Visit, random_hex};
use crate::plan::{DRAWS, Entries, write};
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// The run is put on a day this long ago: nothing of it lies ahead of the clock on the wall, however fast it goes.
const DAYS_AGO: f64 = 8.0;
/// Earlier rehearsals shown.
const MOST: usize = 12;

/// What is to be rehearsed, as forms and programs say it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Asked {
    pub entry_id: String,
    pub product: String,
    pub cabinet: String,
    /// As typed, with its unit; empty takes the usual.
    pub load: String,
    pub faults: Vec<FaultChoice>,
    pub surprise: bool,
    pub seed: Option<u64>,
    pub cabinet_seed: Option<u64>,
}

/// The plant's settings, or a stand-in before anybody entered them: practice needs none.
pub(crate) async fn place(site: &Site, v: &Visit) -> PlantSettings {
    let known = site.desk().plant().await.ok().flatten();
    known.unwrap_or_else(|| PlantSettings {
        establishment: v.text("rehearse-flag"),
        place: "–".to_owned(),
        establishment_number: None,
        zone: "UTC".to_owned(),
        altitude_m: 0.0,
        units: if v.units == fallrate_app::Units::Us { PlantUnits::Us } else { PlantUnits::Si },
        language: v.language.tag().to_owned(),
        monitoring_interval_min: 15.0,
        retention: Retention::PreventiveControls,
        plan_name: String::new(),
        plan_version: String::new(),
        more: std::collections::BTreeMap::new(),
    })
}

/// Pairs of the form; repeated keys are the faults.
fn asked_of(pairs: &[(String, String)]) -> Result<Asked, &'static str> {
    let value = |key: &str| pairs.iter().find(|(k, _)| k == key).map_or("", |(_, v)| v.trim());
    let seed = match value("seed") {
        "" => None,
        text => Some(text.parse::<u64>().map_err(|_| "rehearse-seed-wrong")?),
    };
    let faults = pairs.iter().filter(|(k, _)| k == "fault").filter_map(|(_, v)| FaultChoice::from_word(v));
    Ok(Asked {
        entry_id: value("entry_id").to_owned(),
        product: value("product").to_owned(),
        cabinet: value("cabinet").to_owned(),
        load: value("load").to_owned(),
        faults: faults.collect(),
        surprise: !value("surprise").is_empty(),
        seed,
        cabinet_seed: None,
    })
}

/// The plan that is rehearsed: the product's usual load in that cabinet, stages proposed, unloaded at the end.
fn plan_text(v: &Visit, site: &Site, a: &Asked) -> Result<String, &'static str> {
    let mut pairs = vec![("timer.unload".to_owned(), "at end".to_owned())];
    for (key, value) in [("product", &a.product), ("cabinet", &a.cabinet), ("load.amount", &a.load)] {
        if !value.is_empty() {
            pairs.push((key.to_owned(), value.clone()));
        }
    }
    if !a.load.is_empty() && Field::Mass.read(&a.load, v.units).is_err() {
        return Err("rehearse-load-wrong");
    }
    let written = write(&Entries::new(pairs, v.units), site.library(), &v.reader);
    Ok(written.text)
}

/// Begins a rehearsal and opens its record; hands back its id.
pub(crate) async fn begin(v: &Visit, site: &Site, a: Asked) -> Result<String, NoStage> {
    let desk = site.stage().desk()?;
    let text = plan_text(v, site, &a)
        .map_err(|_| NoStage::App(fallrate_app::AppError::RecordIncomplete { what: "load with its unit" }))?;
    let planned = site.planner().plan(&text, DRAWS).await.map_err(NoStage::App)?;
    let plant = place(site, v).await;
    let stamp = stamp(&plant, v, &a.entry_id);
    let asked = RehearsalAsked {
        seed: a.seed.unwrap_or_else(fresh_seed),
        cabinet_seed: a.cabinet_seed,
        faults: a.faults,
        surprise: a.surprise,
        start: start_of(&plant.zone, &planned.start_clock()),
        zone: plant.zone.clone(),
        trainee: stamp.by.clone(),
    };
    let run = site.planner().run(move |_| Rehearsing::begin(&planned, asked)).await.map_err(NoStage::App)?;
    let words = &v.reader.words;
    let case = &run.planned.case;
    let product = words.pick(&case.product.name.en, &case.product.name.es).to_owned();
    let cabinet = words.pick(&case.cabinet.name.en, &case.cabinet.name.es).to_owned();
    let own = run.clone();
    let begun = desk.write(move |r| begin_record(r, &stamp, &plant, &own, &text, (&product, &cabinet)));
    let id = begun.await.map_err(|e| NoStage::App(e.into()))?;
    site.stage().hold(&id, run);
    Ok(id)
}

/// A seed that can be read aloud.
fn fresh_seed() -> u64 {
    let hex = random_hex().unwrap_or_default();
    hex.get(..8).and_then(|h| u64::from_str_radix(h, 16).ok()).unwrap_or(1) % 100_000
}

/// The plan's clock time on a day that is over.
fn start_of(zone: &str, clock_time: &str) -> fallrate_app::batches::Instant {
    let day = now().plus_seconds(-DAYS_AGO * 86_400.0);
    let at = LocalClock::named(zone).and_then(|c| c.read(clock_time, day).ok());
    at.unwrap_or(day)
}

pub(super) async fn form(
    v: Visit,
    State(site): State<Site>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Response {
    shown(&v, &site, &pairs, None).await
}

pub(super) async fn start(
    v: Visit,
    State(site): State<Site>,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Response {
    let asked = match asked_of(&pairs) {
        Ok(asked) => asked,
        Err(why) => return shown(&v, &site, &pairs, Some(v.text(why))).await,
    };
    if let Err(why) = plan_text(&v, &site, &asked) {
        return shown(&v, &site, &pairs, Some(v.text(why))).await;
    }
    match begin(&v, &site, asked).await {
        Ok(id) => Redirect::to(&format!("/rehearse/{id}")).into_response(),
        Err(NoStage::App(e)) => {
            let why = e.faults(&v.reader).into_iter().map(|f| f.text).collect::<Vec<_>>().join(" ");
            shown(&v, &site, &pairs, Some(why)).await
        }
        Err(e) => fault(&v, &e),
    }
}

/// The page, with what was wrong with what was sent.
async fn shown(v: &Visit, site: &Site, pairs: &[(String, String)], wrong: Option<String>) -> Response {
    let desk = match site.stage().desk() {
        Ok(desk) => desk,
        Err(e) => return fault(v, &e),
    };
    let earlier = match desk.read(|r| kept_rehearsals(r, MOST)).await {
        Ok(list) => list,
        Err(e) => return crate::keep::fault(v, &e),
    };
    let body = html! {
        (mark(v))
        h1 { (v.text("rehearse-title")) }
        p.subline { (v.text("rehearse-more")) }
        @if let Some(why) = &wrong { ul.faults { li role="alert" { (why) } } }
        (one_tap(v))
        section { details open[wrong.is_some()] {
            summary { h2 { (v.text("rehearse-choose")) } }
            (choices(v, site, pairs))
        } }
        (list(v, &earlier))
    };
    let status = if wrong.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    let page = Shell { title: v.text("rehearse-title"), tab: Tab::Rehearse }.around(v, &body);
    said((status, page).into_response())
}

fn one_tap(v: &Visit) -> Markup {
    html! {
        form.sheet method="post" action="/rehearse" {
            (hidden(v))
            input type="hidden" name="product" value="apple";
            input type="hidden" name="cabinet" value="north";
            button.go { (v.text("rehearse-begin-now")) }
        }
    }
}

/// What every form carries.
pub(super) fn hidden(v: &Visit) -> Markup {
    html! {
        input type="hidden" name="form_token" value=(v.token);
        input type="hidden" name="entry_id" value=(random_hex().unwrap_or_default());
    }
}

fn choices(v: &Visit, site: &Site, pairs: &[(String, String)]) -> Markup {
    let words = &v.reader.words;
    let value = |key: &str, or: &str| {
        pairs.iter().find(|(k, _)| k == key).map_or_else(|| or.to_owned(), |(_, v)| v.clone())
    };
    let ticked = |fault: FaultChoice| pairs.iter().any(|(k, v)| k == "fault" && v == fault.word());
    let (product, cabinet) = (value("product", "apple"), value("cabinet", "north"));
    html! {
        form.sheet method="post" action="/rehearse" {
            (hidden(v))
            div.field {
                label for="f-product" { (v.text("rehearse-product")) }
                select #f-product name="product" {
                    @for p in site.library().products() {
                        option value=(p.key) selected[p.key == product] { (words.pick(&p.name.en, &p.name.es)) }
                    }
                }
            }
            div.field {
                label for="f-cabinet" { (v.text("rehearse-cabinet")) }
                select #f-cabinet name="cabinet" {
                    @for c in site.library().cabinets() {
                        option value=(c.key) selected[c.key == cabinet] { (words.pick(&c.name.en, &c.name.es)) }
                    }
                }
            }
            div.field {
                label for="f-load" { (v.text("rehearse-load")) }
                div.typed {
                    input #f-load name="load" type="text" autocomplete="off" maxlength="20" value=(value("load", "")) aria-describedby="n-load";
                    span.unit { (Field::Mass.unit(v.units)) }
                }
                p.note #n-load { (v.text("rehearse-load-usual")) }
            }
            fieldset {
                legend { (v.text("rehearse-faults")) }
                p.note { (v.text("rehearse-faults-more")) }
                @for f in FaultChoice::ALL {
                    label.tick { input type="checkbox" name="fault" value=(f.word()) checked[ticked(f)]; " " (fault_words(&v.reader, f)) }
                }
                label.tick { input type="checkbox" name="surprise" value="yes" checked[!value("surprise", "").is_empty()]; " " (v.text("rehearse-surprise")) }
            }
            div.field {
                label for="f-seed" { (v.text("rehearse-seed")) }
                input #f-seed name="seed" type="text" inputmode="numeric" autocomplete="off" maxlength="20" value=(value("seed", "")) aria-describedby="n-seed";
                p.note #n-seed { (v.text("rehearse-seed-more")) }
            }
            button.go { (v.text("rehearse-begin")) }
        }
    }
}

fn list(v: &Visit, earlier: &[KeptRehearsal]) -> Markup {
    html! {
        @if !earlier.is_empty() {
            section {
                h2 { (v.text("rehearse-earlier")) }
                ul.shelf {
                    @for k in earlier {
                        li { a href={ "/rehearse/" (k.id) } {
                            b { (k.subject.0) }
                            span {
                                (k.subject.1) ", " (v.with("rehearse-seed-is", &[("seed", &k.asked.seed.to_string())])) ", "
                                (v.text(if k.ended { "rehearse-ended" } else { "rehearse-running" }))
                            }
                        } }
                    }
                }
            }
        }
    }
}
