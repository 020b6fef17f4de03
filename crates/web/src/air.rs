//! Moist air at hand: two things known, the rest follows.

use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use fallrate_app::quantities::{
    Altitude, HumidityRatio, Pressure, Quantity, RelativeHumidity, Temperature, Volume,
};
use fallrate_app::{AirQuestion, Asked, Page, Units, air_page};
use maud::{Markup, html};

use crate::fault::said;
use crate::look::Visit;
use crate::page_parts::{figures, opening};
use crate::shell::{Shell, Tab};

/// Entries: name, label, what it asks for, whether it is one of the known things.
const FIELDS: [(&str, &str, Asked, bool); 9] = [
    ("dry_bulb", "web-air-dry-bulb", Asked::RoomTemperature, true),
    ("wet_bulb", "web-air-wet-bulb", Asked::RoomTemperature, true),
    ("rh", "web-air-rh", Asked::Humidity, true),
    ("dew_point", "web-air-dew-point", Asked::RoomTemperature, true),
    ("humidity_ratio", "web-air-ratio", Asked::HumidityRatio, true),
    ("altitude", "web-field-altitude", Asked::Altitude, false),
    ("want_wet_bulb", "web-air-want-wet-bulb", Asked::RoomTemperature, false),
    ("want_rh", "web-air-want-rh", Asked::Humidity, false),
    ("volume", "web-air-volume", Asked::Volume, false),
];

/// An entry with how it was understood or what is wrong with it.
pub(crate) struct Read {
    pub name: &'static str,
    pub text: String,
    pub value: Option<String>,
    pub note: Option<(bool, String)>,
}

/// Reads every entry in the units they were typed in. Dry bulbs may be those of a cabinet: no temperature is doubtful here.
pub(crate) fn read(pairs: &[(String, String)], v: &Visit) -> Vec<Read> {
    let get = |name: &str| pairs.iter().find(|(k, _)| k == name).map_or("", |(_, t)| t.as_str());
    let typed_in = match get("units") {
        "us" => Units::Us,
        "si" => Units::Si,
        _ => v.units,
    };
    FIELDS
        .into_iter()
        .map(|(name, _, asked, _)| {
            let mut text = get(name).trim().to_owned();
            let asked = temperature_at_face_value(asked, &text);
            let result = asked.read(&text, typed_in);
            let (value, note) = match result {
                Ok(None) => (None, None),
                Ok(Some(t)) => {
                    let note = t.read_back.map(|r| (false, v.with("web-read-as", &[("value", &r)])));
                    (Some(t.value), note)
                }
                Err(e) => (None, Some((true, e.words(&v.reader)))),
            };
            if typed_in != v.units
                && let Some(value) = &value
            {
                text.clone_from(value);
            }
            Read { name, text, value, note }
        })
        .collect()
}

/// A room's temperature or a cabinet's, whichever the number makes sense for.
fn temperature_at_face_value(asked: Asked, text: &str) -> Asked {
    let bare = text.replace(',', ".").parse::<f64>();
    match asked {
        Asked::RoomTemperature if bare.is_ok_and(|t| t > 48.0) => Asked::Temperature,
        other => other,
    }
}

fn quantity<Q: Quantity>(list: &[Read], name: &str) -> Option<Q> {
    Q::parse(list.iter().find(|r| r.name == name)?.value.as_ref()?).ok()
}

/// The question that the entries ask.
pub(crate) fn question(list: &[Read]) -> AirQuestion {
    AirQuestion {
        dry_bulb: quantity::<Temperature>(list, "dry_bulb"),
        wet_bulb: quantity::<Temperature>(list, "wet_bulb"),
        dew_point: quantity::<Temperature>(list, "dew_point"),
        relative_humidity: quantity::<RelativeHumidity>(list, "rh"),
        humidity_ratio: quantity::<HumidityRatio>(list, "humidity_ratio"),
        altitude: quantity::<Altitude>(list, "altitude"),
        pressure: quantity::<Pressure>(list, "pressure"),
        want_wet_bulb: quantity::<Temperature>(list, "want_wet_bulb"),
        want_relative_humidity: quantity::<RelativeHumidity>(list, "want_rh"),
        volume: quantity::<Volume>(list, "volume"),
    }
}

pub(crate) async fn page(v: Visit, Query(pairs): Query<Vec<(String, String)>>) -> Response {
    let list = read(&pairs, &v);
    let faulty = list.iter().any(|r| matches!(r.note, Some((true, _))));
    let asked = list.iter().any(|r| !r.text.is_empty());
    let (status, result) = if faulty {
        (
            StatusCode::UNPROCESSABLE_ENTITY,
            html! { h1 { (v.text("web-air-none")) } p.subline { (v.text("web-air-none-next")) } },
        )
    } else if !asked {
        (StatusCode::OK, html! { h1 { (v.text("web-tab-air")) } p.subline { (v.text("web-air-waiting")) } })
    } else {
        answer(&v, &list)
    };
    let body = html! {
        div.planner {
            (form(&v, &list))
            div.result #result aria-busy="false" { (result) (notes(&list)) }
            p.heard #status role="status" {}
            p.lost #lost role="alert" hidden { (v.text("web-lost")) }
        }
    };
    let page = Shell { title: v.text("web-tab-air"), tab: Tab::Air }.around(&v, &body);
    if status.is_success() { page.into_response() } else { said((status, page).into_response()) }
}

fn answer(v: &Visit, list: &[Read]) -> (StatusCode, Markup) {
    let known =
        FIELDS.iter().filter(|f| f.3).filter(|f| list.iter().any(|r| r.name == f.0 && r.value.is_some()));
    if known.count() != 2 {
        return (
            StatusCode::OK,
            html! { h1 { (v.text("web-tab-air")) } p.subline { (v.text("web-air-two")) } },
        );
    }
    match air_page(&question(list), &v.reader) {
        Ok(page) => (StatusCode::OK, shown(v, &page)),
        Err(e) => {
            let faults = e.faults(&v.reader);
            let body = html! {
                h1 { (v.text("web-air-none")) }
                ul.faults { @for f in &faults { li { (f.text) } } }
            };
            (StatusCode::UNPROCESSABLE_ENTITY, body)
        }
    }
}

fn shown(v: &Visit, page: &Page) -> Markup {
    html! {
        article {
            (opening(v, page, 1))
            (figures(&page.figures))
            @for line in page.footer.iter() { p.note { (line) } }
        }
    }
}

fn form(v: &Visit, list: &[Read]) -> Markup {
    let units = if v.units == Units::Us { "us" } else { "si" };
    html! {
        form.entry method="get" action="/air" data-live="/air" {
            h2 { (v.text("web-air-form")) }
            input type="hidden" name="units" value=(units);
            @for (name, label, asked, known) in FIELDS.iter().filter(|f| f.3) {
                (field(v, list, name, label, *asked, *known))
            }
            details open[list.iter().any(|r| !r.text.is_empty() && FIELDS.iter().any(|f| f.0 == r.name && !f.3))] {
                summary { (v.text("web-air-more")) }
                @for (name, label, asked, known) in FIELDS.iter().filter(|f| !f.3) {
                    (field(v, list, name, label, *asked, *known))
                }
            }
            button.go { (v.text("web-air-go")) }
        }
    }
}

fn field(v: &Visit, list: &[Read], name: &str, label: &str, asked: Asked, _known: bool) -> Markup {
    let read = list.iter().find(|r| r.name == name);
    let note = read.and_then(|r| r.note.as_ref());
    let id = format!("f-{name}");
    html! {
        div.field {
            label for=(id) { (v.text(label)) }
            div.typed {
                input id=(id) name=(name) value=(read.map_or("", |r| r.text.as_str())) type="text" autocomplete="off"
                    spellcheck="false" maxlength="80" aria-describedby={ "n-" (id) }
                    aria-invalid=[note.is_some_and(|n| n.0).then_some("true")];
                span.unit { (asked.unit(v.units)) }
            }
            p.note id={ "n-" (id) } data-note=(name) data-kind=[note.map(|n| if n.0 { "fault" } else { "read" })] {
                @if let Some((_, text)) = note { (text) }
            }
        }
    }
}

fn notes(list: &[Read]) -> Markup {
    html! {
        ul #notes hidden {
            @for r in list {
                @if let Some((fault, text)) = &r.note {
                    li data-key=(r.name) data-kind=(if *fault { "fault" } else { "read" }) { (text) }
                }
            }
        }
    }
}
