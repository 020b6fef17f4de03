//! The page of a file of readings.

use fallrate_app::instruments::Kept;
use fallrate_app::proof::desk::{
    ChannelSeen, ColumnEdit, Look, QuestionSeen, channels_seen, questions_seen, reading_lines, role_name,
};
use maud::{Markup, html};

use super::sent::hidden;
use crate::look::Visit;
use crate::shell::{Shell, Tab};

pub(super) fn shown(v: &Visit, id: &str, look: &Look, known: &[Kept]) -> Markup {
    let channels = channels_seen(look, &v.reader);
    let questions = questions_seen(look, &v.reader);
    let ready = look.is_ready();
    let there = look.entry.is_some();
    let body = html! {
        p.back { a href={ "/proof/" (id) } { (v.text("desk-back")) } }
        p.subject { (look.name) ", " (v.with("desk-bytes", &[("bytes", &look.bytes.to_string())])) }
        h1 { (v.text(headline(look, questions.len()))) }
        p.note.hash { "SHA-256 " (look.sha256) }
        @if let Some(m) = &look.remembered {
            p.subline { (v.with("desk-remembered", &[("name", &m.title), ("version", &m.version.to_string()), ("by", &m.by)])) }
        }
        @if there { p.flag { b { (v.text("desk-there")) } span { (v.text("desk-there-more")) } } }
        @if let Some(why) = &look.refused {
            ul.faults { li role="alert" { b { (v.text("desk-file-refused")) } span lang="en" { (why) } } }
        }
        form method="post" action={ "/proof/" (id) "/file/" (look.sha256) } {
            (hidden(v))
            input type="hidden" name="name" value=(look.name);
            @if !look.hand_entry {
                input type="hidden" name="mapping" value=(look.mapping_toml().unwrap_or_default());
            }
            @if !questions.is_empty() {
                section {
                    h2 { (v.text("desk-questions")) }
                    p { (v.text("desk-questions-more")) }
                    @for q in &questions { (question(v, look, q)) }
                    button.go name="act" value="look" { (v.text("desk-answer")) }
                }
            }
            (understood(v, &channels))
            @if questions.is_empty() && !look.hand_entry && look.open.is_some() { (confirm(v, look, &channels, known)) }
            @if let Some(reading) = &look.reading { (told(v, &reading_lines(&reading.log, &v.reader))) }
            @if ready {
                @if there {
                    div.field {
                        label for="f-reason" { (v.text("proof-why")) }
                        input #f-reason name="reason" type="text" autocomplete="off" maxlength="400";
                        p.note { (v.text("desk-there-why")) }
                    }
                }
                p.onward {
                    @if !look.hand_entry { button name="act" value="look" { (v.text("desk-look-again")) } }
                    button.go name="act" value="keep" { (v.text(if there { "desk-keep-again" } else { "desk-keep" })) }
                }
            } @else if questions.is_empty() && !look.hand_entry {
                button name="act" value="look" { (v.text("desk-look-again")) }
            }
        }
    };
    Shell { title: v.text("desk-file-title"), tab: Tab::Batches }.around(v, &body)
}

fn headline(look: &Look, questions: usize) -> &'static str {
    match () {
        () if look.refused.is_some() => "desk-file-refused-title",
        () if questions > 0 => "desk-file-asks",
        () if look.is_ready() => "desk-file-ready",
        () => "desk-file-title",
    }
}

/// A question with its readings; nothing is taken without an answer, the likelier one only stands first.
fn question(v: &Visit, look: &Look, q: &QuestionSeen) -> Markup {
    let name = format!("a.{}", q.number);
    html! {
        fieldset.question {
            legend { (q.words) }
            @for (n, (shown, likelier)) in q.choices.iter().enumerate() {
                label.tick {
                    input type="radio" name=(name) value=(n + 1);
                    span { (shown) @if *likelier { " " em { (v.text("desk-likelier")) } } }
                }
            }
            @if q.choices.is_empty() {
                @let id = format!("f-a-{}", q.number);
                label.heard for=(id) { (q.words) }
                input id=(id) name=(name) type="text" autocomplete="off" maxlength="80" value=(if q.zone { look.zone.as_str() } else { "" });
                @if q.zone { p.note { (v.text("desk-zone-offered")) } }
            }
        }
    }
}

/// What every column is taken for, and how sure that is.
fn understood(v: &Visit, channels: &[ChannelSeen]) -> Markup {
    html! {
        @if !channels.is_empty() {
            section {
                h2 { (v.text("desk-understood")) }
                div.scroll tabindex="0" role="group" aria-label=(v.text("desk-understood")) {
                    table {
                        thead { tr {
                            th { (v.text("columns-heading")) } th { (v.text("columns-first")) } th { (v.text("columns-unit")) }
                            th { (v.text("proof-measured")) } th { (v.text("desk-sure")) }
                        } }
                        tbody {
                            @for c in channels {
                                tr {
                                    td { b { (c.edit.heading) } }
                                    td { (c.samples.first().map_or("", String::as_str)) }
                                    td { (c.edit.unit) }
                                    td { (c.what) }
                                    td { (sure(v, c)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn sure(v: &Visit, c: &ChannelSeen) -> String {
    match c.confidence {
        _ if c.is_clock => "–".to_owned(),
        None => v.text("desk-sure-said"),
        Some(share) => {
            let percent = format!("{:.0} %", share * 100.0);
            if c.because.is_empty() {
                percent
            } else {
                v.with("desk-sure-because", &[("percent", &percent), ("because", &c.because)])
            }
        }
    }
}

/// Role, position, unit and instrument of every column, and the clock, for a person to confirm.
fn confirm(v: &Visit, look: &Look, channels: &[ChannelSeen], known: &[Kept]) -> Markup {
    let clock = &look.mapping_clock();
    html! {
        section {
            h2 { (v.text("desk-confirm")) }
            p { (v.text("desk-confirm-more")) }
            datalist #instruments { @for i in known.iter().filter(|i| !i.retired) { option value=(i.id) { (i.description) } } }
            @for c in channels.iter().filter(|c| !c.is_clock) { (column(v, &c.edit)) }
            fieldset {
                legend { (v.text("desk-clock")) }
                p.note { (v.text("desk-clock-why")) }
                div.grid {
                    (typed(v, "k.zone", "web-setup-zone", None, &clock.zone))
                    (typed(v, "k.offset", "desk-clock-offset", Some("desk-clock-offset-more"), &clock.offset_s))
                    (typed(v, "k.within", "desk-clock-within", Some("desk-clock-within-more"), &clock.within_s))
                    (typed(v, "k.by", "desk-clock-by", None, &clock.by))
                    (typed(v, "k.with", "desk-clock-with", Some("desk-clock-with-more"), &clock.with))
                }
            }
            (typed(v, "title", "desk-mapping-name", Some("desk-mapping-name-more"), &look.mapping_title()))
        }
    }
}

fn typed(v: &Visit, name: &str, label: &str, note: Option<&str>, value: &str) -> Markup {
    super::page_forms::field(v, name, label, note, value)
}

fn column(v: &Visit, c: &ColumnEdit) -> Markup {
    let name = |key: &str| format!("c.{}.{key}", c.column);
    let used = c.role != "ignore";
    let id = format!("f-c-{}-role", c.column);
    html! {
        details.column open[used && (c.tolerance.is_empty() || c.calibrated_on.is_empty())] {
            summary { b { (c.heading) } span.count { (role_name(&v.reader, &c.role)) @if !c.position.is_empty() { ", " (c.position) } } }
            input type="hidden" name=(name("heading")) value=(c.heading);
            div.grid {
                div.field {
                    label for=(id) { (v.text("proof-measured")) }
                    select id=(id) name=(name("role")) {
                        @for word in ColumnEdit::ROLES { option value=(word) selected[*word == c.role] { (role_name(&v.reader, word)) } }
                    }
                }
                (typed(v, &name("number"), "desk-c-number", Some("desk-c-number-more"), &c.number))
                (typed(v, &name("position"), "desk-c-position", Some("desk-c-position-more"), &c.position))
                (typed(v, &name("unit"), "columns-unit", None, &c.unit))
                div.field {
                    label for={ "f-c-" (c.column) "-instrument" } { (v.text("proof-instrument")) }
                    input id={ "f-c-" (c.column) "-instrument" } name=(name("instrument")) type="text" autocomplete="off"
                        maxlength="80" list="instruments" value=(c.instrument);
                    p.note { (v.text("desk-c-instrument-more")) }
                }
                (typed(v, &name("tolerance"), "proof-tolerance", Some("desk-c-tolerance-more"), &c.tolerance))
                (typed(v, &name("low"), "desk-c-low", None, &c.low))
                (typed(v, &name("high"), "desk-c-high", None, &c.high))
                (typed(v, &name("calibrated_on"), "proof-calibrated", Some("desk-day-more"), &c.calibrated_on))
                (typed(v, &name("due"), "proof-due", Some("desk-day-more"), &c.due))
                (typed(v, &name("certificate"), "desk-c-certificate", None, &c.certificate))
            }
        }
    }
}

/// What the trial reading found, line by line.
fn told(v: &Visit, lines: &(Vec<String>, Vec<String>)) -> Markup {
    let (channels, diagnostics) = lines;
    html! {
        section {
            h2 { (v.text("desk-read")) }
            ul.points { @for line in channels { li { (line) } } }
            h3 { (v.reader.words.counted("desk-diagnostics", diagnostics.len())) }
            @if !diagnostics.is_empty() {
                details open[diagnostics.len() <= 6] {
                    summary { (v.text("desk-diagnostics-show")) }
                    ul.points lang="en" { @for line in diagnostics { li { (line) } } }
                }
            }
        }
    }
}
