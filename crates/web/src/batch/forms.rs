//! The forms of a batch's page: what can be read, a note, a setting changed.

use std::sync::Arc;

use fallrate_app::batches::Run;
use fallrate_app::{Asked, Planned};
use maud::{Markup, html};

use super::page::{Wrong, hidden, when};
use crate::look::Visit;

/// What can be read: field, label, what it asks for.
pub(super) const READINGS: [(&str, &str, Asked); 5] = [
    ("tray", "web-reading-tray", Asked::Mass),
    ("core", "web-reading-core", Asked::Reading),
    ("wet_bulb", "web-reading-wet-bulb", Asked::Reading),
    ("rh", "web-reading-rh", Asked::Humidity),
    ("air", "web-reading-air", Asked::Reading),
];

pub(super) fn entries(v: &Visit, run: &Run, planned: Option<&Arc<Planned>>, wrong: Option<&Wrong>) -> Markup {
    html! {
        section {
            h2 { (v.text("web-batch-enter")) }
            @for (name, label, asked) in READINGS {
                (reading_form(v, run, (name, label, asked), wrong.filter(|w| w.field == name)))
            }
            @if let Some(planned) = planned { (setting_form(v, run, planned, wrong.filter(|w| w.field == "setting"))) }
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

/// Something set otherwise than the plan says: the forecast takes it from then on.
fn setting_form(v: &Visit, run: &Run, planned: &Planned, wrong: Option<&Wrong>) -> Markup {
    let marks: Vec<&str> = planned.case.cabinet.vent.marks.iter().map(|m| m.name.as_str()).collect();
    let typed = wrong.map_or("", |w| w.typed.as_str());
    let form = |kind: &str, label: &str, field: &dyn Fn(&str) -> Markup| {
        let id = format!("f-set-{kind}");
        html! {
            form.sheet method="post" action={ "/batches/" (run.id) "/setting" } {
                (hidden(v))
                input type="hidden" name="kind" value=(kind);
                div.field { label for=(id) { (v.text(label)) } (field(&id)) }
                button { (v.text("web-batch-keep")) }
            }
        }
    };
    let text = |asked: Asked| {
        move |id: &str| {
            html! {
                div.typed {
                    input id=(id) name="value" type="text" autocomplete="off" maxlength="40" value=(typed);
                    span.unit { (asked.unit(v.units)) }
                }
            }
        }
    };
    html! {
        details open[wrong.is_some()] {
            summary { (v.text("run-set")) }
            p.note { (v.text("run-set-more")) }
            @if let Some(w) = wrong { p.note data-kind="fault" { (w.why) } }
            (form("vent", "run-set-vent", &|id| html! {
                select id=(id) name="value" { @for m in &marks { option value=(m) { (m) } } }
            }))
            (form("set_point", "run-set-point", &text(Asked::Temperature)))
            (form("timer", "run-set-timer", &text(Asked::Duration)))
        }
    }
}

fn name_of(name: &str) -> &'static str {
    READINGS.iter().find(|(n, ..)| *n == name).map_or("reading", |(n, ..)| n)
}
