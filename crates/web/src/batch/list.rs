//! Everything entered so far, each with an undo; readings with a correction.

use fallrate_app::batches::{HandReading, Instant, Role, Run, Setting};
use fallrate_app::quantities::{Mass, Quantity, RelativeHumidity, Temperature};
use maud::{Markup, html};

use super::page::{Wrong, clock, hidden, undo};
use super::stop::stop_line;
use crate::look::Visit;

/// A line of what was entered: when, what, by whom, its entry, and whether it can be corrected.
struct Line {
    at: Instant,
    text: String,
    by: String,
    entry: u64,
    reading: Option<Role>,
}

fn lines(v: &Visit, run: &Run) -> Vec<Line> {
    let reading = |r: &HandReading| Line {
        at: r.at,
        text: format!("{} {}", role_words(v, &r.role), value_words(v, &r.role, r.value)),
        by: r.by.clone(),
        entry: r.entry,
        reading: Some(r.role.clone()),
    };
    let plain =
        |at, text: String, by: &String, entry| Line { at, text, by: by.clone(), entry, reading: None };
    let set = run.settings.iter().map(|s| plain(s.at, set_words(v, &s.setting), &s.by, s.entry));
    let stops = run.stopped.iter().map(|s| plain(s.from, stop_line(v, run, s), &s.by, s.entry));
    let remarks = run.remarks.iter().map(|r| plain(r.at, r.text.clone(), &r.by, r.entry));
    let mut lines: Vec<Line> =
        run.readings.iter().map(reading).chain(set).chain(stops).chain(remarks).collect();
    lines.sort_by_key(|l| std::cmp::Reverse(l.at.unix_nanoseconds()));
    lines
}

/// Everything entered, the latest first, each with an undo; readings with a correction.
pub(super) fn so_far(v: &Visit, run: &Run, wrong: Option<&Wrong>) -> Markup {
    let lines = lines(v, run);
    html! {
        section {
            h2 { (v.text("web-batch-so-far")) }
            @if lines.is_empty() { p { (v.text("web-batch-nothing")) } }
            @if let Some(w) = wrong.filter(|w| w.field == "correct") {
                p.note data-kind="fault" { (w.typed) ": " (w.why) }
            }
            ol.acts {
                @for l in &lines {
                    li {
                        time { (clock(run, l.at)) }
                        div {
                            div.what { (l.text) }
                            div.watch { (l.by) " " (undo(v, run, l.entry)) }
                            @if let Some(role) = &l.reading { (correction(v, run, l, role)) }
                        }
                    }
                }
            }
        }
    }
}

/// A reading with its value, in a line.
pub(crate) fn reading_line(v: &Visit, r: &HandReading) -> String {
    format!("{} {}", role_words(v, &r.role), value_words(v, &r.role, r.value))
}

fn correction(v: &Visit, run: &Run, l: &Line, role: &Role) -> Markup {
    let id = format!("f-correct-{}", l.entry);
    html! {
        details.correct {
            summary { (v.text("web-batch-correct")) span.heard { " – " (role_words(v, role)) ", " (clock(run, l.at)) } }
            form.sheet method="post" action={ "/batches/" (run.id) "/correct" } {
                (hidden(v))
                input type="hidden" name="entry" value=(l.entry);
                div.field {
                    label for=(id) { (v.text("web-batch-correct-to")) }
                    input id=(id) name="value" type="text" autocomplete="off" maxlength="40";
                }
                button { (v.text("web-batch-keep")) }
            }
        }
    }
}

fn set_words(v: &Visit, setting: &Setting) -> String {
    let r = &v.reader;
    match setting {
        Setting::Vent(mark) => v.with("run-set-vent-to", &[("mark", mark)]),
        Setting::SetPoint(c) => {
            v.with("run-set-point-to", &[("temperature", &r.shown(Temperature::from_base(*c), 0))])
        }
        Setting::Dialled(s) => v.with("run-set-timer-to", &[("dial", &r.duration(*s))]),
    }
}

pub(super) fn role_words(v: &Visit, role: &Role) -> String {
    match role {
        Role::TrayWeight { tray } => v.with("measured-tray", &[("number", &tray.to_string())]),
        Role::CoreProbe { position, .. } => {
            format!("{} {position}", v.text("measured-core")).trim_end().to_owned()
        }
        Role::AirDryBulb => v.text("measured-air"),
        Role::AirWetBulb => v.text("measured-wet-bulb"),
        Role::RelativeHumidity => v.text("web-reading-rh"),
        _ => v.text("web-batch-other"),
    }
}

pub(super) fn value_words(v: &Visit, role: &Role, value: f64) -> String {
    let r = &v.reader;
    match role {
        Role::TrayWeight { .. } => r.shown(Mass::from_base(value), 3),
        Role::RelativeHumidity => r.shown(RelativeHumidity::from_base(value), 1),
        Role::CoreProbe { .. } | Role::AirDryBulb | Role::AirWetBulb => {
            r.shown(Temperature::from_base(value), 1)
        }
        _ => value.to_string(),
    }
}
