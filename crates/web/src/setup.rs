//! What the program must know of the plant before it keeps anything.

use std::collections::BTreeMap;

use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use axum::{Form, Router};
use fallrate_app::batches::{PlantSettings, PlantUnits, Retention, save_plant};
use fallrate_app::proof::LocalClock;
use fallrate_app::quantities::{Altitude, Quantity};
use fallrate_app::{Asked, Units};
use maud::{Markup, html};
use serde::Deserialize;

use crate::fault::said;
use crate::keep::{PERSON, fault, stamp};
use crate::look::{Visit, random_hex};
use crate::shell::{Shell, Tab};
use crate::state::Site;

pub(crate) fn routes() -> Router<Site> {
    Router::new().route("/setup", get(page).post(save))
}

/// The form.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Entered {
    #[serde(default)]
    establishment: String,
    #[serde(default)]
    place: String,
    #[serde(default)]
    person: String,
    #[serde(default)]
    zone: String,
    #[serde(default)]
    altitude: String,
    #[serde(default)]
    meat: Option<String>,
    #[serde(default)]
    entry_id: String,
}

async fn page(v: Visit, State(site): State<Site>) -> Response {
    match site.desk().plant().await {
        Err(e) => fault(&v, &e),
        Ok(plant) => {
            let entered = plant.map_or_else(Entered::default, |p| Entered {
                person: p.more.get(PERSON).cloned().unwrap_or_default(),
                altitude: v.reader.shown(Altitude::from_metres(p.altitude_m), 0),
                meat: (p.retention == Retention::MeatShelfStable).then(|| "yes".to_owned()),
                establishment: p.establishment,
                place: p.place,
                zone: p.zone,
                entry_id: String::new(),
            });
            shown(&v, &entered, None).into_response()
        }
    }
}

async fn save(v: Visit, State(site): State<Site>, Form(entered): Form<Entered>) -> Response {
    // What other pages keep among the settings stays.
    let before = match site.desk().plant().await {
        Ok(plant) => plant.map_or_else(BTreeMap::new, |p| p.more),
        Err(e) => return fault(&v, &e),
    };
    let settings = match settings(&v, &entered, before) {
        Ok(settings) => settings,
        Err(why) => {
            let page = shown(&v, &entered, Some(&why));
            return said((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
        }
    };
    let stamp = stamp(&settings, &v, &entered.entry_id);
    match site.desk().write(move |r| save_plant(r, &stamp, settings)).await {
        Ok(()) => Redirect::to("/").into_response(),
        Err(e) => fault(&v, &e),
    }
}

fn settings(v: &Visit, e: &Entered, mut more: BTreeMap<String, String>) -> Result<PlantSettings, String> {
    for (value, label) in [
        (&e.establishment, "web-setup-establishment"),
        (&e.place, "web-setup-place"),
        (&e.person, "web-setup-person"),
    ] {
        if value.trim().is_empty() || value.chars().count() > 120 {
            return Err(v.with("web-setup-missing", &[("what", &v.text(label))]));
        }
    }
    if LocalClock::named(&e.zone).is_none() {
        return Err(v.text("web-setup-zone-wrong"));
    }
    let altitude_m = match Asked::Altitude.read(&e.altitude, v.units) {
        Ok(None) => 0.0,
        Ok(Some(typed)) => Altitude::parse(&typed.value).map_or(0.0, Altitude::metres),
        Err(why) => return Err(why.words(&v.reader)),
    };
    more.insert(PERSON.to_owned(), e.person.trim().to_owned());
    Ok(PlantSettings {
        establishment: e.establishment.trim().to_owned(),
        place: e.place.trim().to_owned(),
        establishment_number: None,
        zone: e.zone.trim().to_owned(),
        altitude_m,
        units: if v.units == Units::Us { PlantUnits::Us } else { PlantUnits::Si },
        language: v.language.tag().to_owned(),
        monitoring_interval_min: 15.0,
        retention: if e.meat.is_some() { Retention::MeatShelfStable } else { Retention::PreventiveControls },
        plan_name: String::new(),
        plan_version: String::new(),
        more,
    })
}

/// Zones to pick from; any other of the zone database may be typed.
const ZONES: [&str; 12] = [
    "America/New_York",
    "America/Chicago",
    "America/Denver",
    "America/Phoenix",
    "America/Los_Angeles",
    "America/Mexico_City",
    "America/Bogota",
    "America/Lima",
    "America/Santiago",
    "America/Argentina/Buenos_Aires",
    "Europe/London",
    "Europe/Madrid",
];

fn shown(v: &Visit, e: &Entered, why: Option<&str>) -> Markup {
    let text = |name: &str, label: &str, value: &str, hint: Option<&str>| {
        html! {
            div.field {
                label for={ "f-" (name) } { (v.text(label)) }
                input id={ "f-" (name) } name=(name) value=(value) type="text" autocomplete="off" maxlength="120"
                    list=[(name == "zone").then_some("zones")] data-zone[name == "zone"];
                @if let Some(hint) = hint { p.note { (v.text(hint)) } }
            }
        }
    };
    let body = html! {
        h1 { (v.text("web-setup-title")) }
        p.subline { (v.text("web-setup-more")) }
        @if let Some(why) = why { ul.faults { li role="alert" { (why) } } }
        form.sheet method="post" action="/setup" {
            input type="hidden" name="form_token" value=(v.token);
            input type="hidden" name="entry_id" value=(random_hex().unwrap_or_default());
            (text("person", "web-setup-person", &e.person, Some("web-setup-person-more")))
            (text("establishment", "web-setup-establishment", &e.establishment, None))
            (text("place", "web-setup-place", &e.place, None))
            (text("zone", "web-setup-zone", &e.zone, Some("web-setup-zone-more")))
            datalist #zones { @for z in ZONES { option value=(z) {} } }
            (text("altitude", "web-field-altitude", &e.altitude, None))
            label.tick { input type="checkbox" name="meat" value="yes" checked[e.meat.is_some()]; " " (v.text("web-setup-meat")) }
            button.go { (v.text("web-setup-save")) }
        }
    };
    Shell { title: v.text("web-setup-title"), tab: Tab::None }.around(v, &body)
}
