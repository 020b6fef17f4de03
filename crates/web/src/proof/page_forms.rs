//! The forms of a record's page.

use fallrate_app::batches::AccountRole;
use fallrate_app::proof::LocalClock;
use fallrate_app::proof::desk::{
    MEANINGS, Sheets, SuspectStretch, TESTS, deviation_kind, deviation_words, event_words, suspicion_words,
};
use maud::{Markup, html};

use super::files::form as file_form;
use super::sent::hidden;
use crate::look::Visit;

/// A text field.
pub(super) fn field(v: &Visit, name: &str, label: &str, note: Option<&str>, value: &str) -> Markup {
    let id = format!("f-{}", name.replace('.', "-"));
    html! {
        div.field {
            label for=(id) { (v.text(label)) }
            input id=(id) name=(name) type="text" autocomplete="off" maxlength="400" value=(value)
                aria-describedby=[note.map(|_| format!("n-{id}"))];
            @if let Some(note) = note { p.note id={ "n-" (id) } { (v.text(note)) } }
        }
    }
}

fn clock(s: &Sheets) -> Option<LocalClock> {
    LocalClock::named(&s.record.zone())
}

/// Who signed, and signing.
pub(super) fn signing(v: &Visit, id: &str, s: &Sheets) -> Markup {
    let clock = clock(s);
    let at = |i| clock.as_ref().map_or_else(String::new, |c| c.day_and_minute(i));
    let role = v.person.as_ref().map(|p| p.role);
    let offered = MEANINGS.iter().filter(|(word, ..)| match role {
        Some(AccountRole::Reader) => false,
        Some(AccountRole::Operator) => *word == "monitored",
        _ => true,
    });
    html! {
        section #sign {
            h2 { (v.text("desk-sign")) }
            @if s.view.signatures.is_empty() { p { (v.text("desk-sign-none")) } }
            ul.signed {
                @for x in &s.view.signatures {
                    li {
                        b { (v.text(meaning_key(x.kept.value.meaning))) } " " (x.kept.value.name) ", " (at(x.kept.at)) ". "
                        (v.with("sign-covers", &[("entries", &x.covers.to_string())]))
                        @if let Some(t) = &x.kept.value.training { " " (v.with("sign-training", &[("training", t)])) }
                        @if let Some(t) = &x.kept.value.same_person_reason { " " (v.with("sign-same-person", &[("reason", t)])) }
                        @if !x.nothing_after() { " " strong.person { (v.text("desk-sign-changed")) } }
                    }
                }
            }
            @if role != Some(AccountRole::Reader) {
                details {
                    summary { (v.text("desk-sign-go")) }
                    form.sheet method="post" action={ "/proof/" (id) "/sign" } {
                        (hidden(v))
                        input type="hidden" name="head" value=(s.view.head.to_string());
                        div.field {
                            label for="f-meaning" { (v.text("desk-sign-meaning")) }
                            select #f-meaning name="meaning" {
                                @for (word, _, key) in offered { option value=(word) { (v.text(key)) } }
                            }
                        }
                        (field(v, "training", "desk-sign-training", Some("desk-sign-training-more"), ""))
                        (field(v, "same_person_reason", "desk-sign-same", Some("desk-sign-same-more"), ""))
                        @if let Some(p) = &v.person {
                            div.field {
                                label for="f-secret" {
                                    (v.text(if p.role == AccountRole::Operator { "web-sign-in-pin" } else { "web-sign-in-password" }))
                                }
                                input #f-secret name="secret" type="password" autocomplete="current-password" maxlength="200";
                                p.note { (v.with("desk-sign-as", &[("name", &p.full_name)])) }
                            }
                        }
                        button.go { (v.text("desk-sign-go")) }
                    }
                }
            }
        }
    }
}

fn meaning_key(m: fallrate_app::proof::record::SignatureMeaning) -> &'static str {
    MEANINGS.iter().find(|(_, x, _)| *x == m).map_or("sign-approved", |(.., key)| key)
}

const PARTS: [(&str, &str); 4] = [
    ("cause", "action-cause"),
    ("control", "action-control"),
    ("prevention", "action-prevention"),
    ("disposition", "action-disposition"),
];
const DECISIONS: [(&str, &str); 4] = [
    ("release", "disposition-release"),
    ("rework", "disposition-rework"),
    ("divert", "disposition-divert"),
    ("destroy", "disposition-destroy"),
];

/// Corrective actions: four parts each.
pub(super) fn actions(v: &Visit, id: &str, s: &Sheets) -> Markup {
    let list: Vec<_> =
        s.view.deviations.iter().filter(|d| d.in_latest_verdict || !d.entries.is_empty()).collect();
    html! {
        @if !list.is_empty() {
            section #action {
                h2 { (v.text("desk-actions")) }
                p { (v.text("action-rule")) }
                @for (n, d) in list.iter().enumerate() {
                    @let name = if d.name == fallrate_app::proof::desk::CRITERION { v.text("proof-criterion") } else { d.name.clone() };
                    @let filled = [&d.action.cause, &d.action.control, &d.action.prevention, &d.action.disposition];
                    h3 { (name) }
                    dl.parts {
                        @for ((word, key), entry) in PARTS.iter().zip(filled) {
                            div {
                                dt { (v.text(key)) }
                                @if let Some(e) = entry { dd { (e.text) " " span.sure { (e.by) } } }
                                @else { dd.open { (v.text("desk-action-open")) } }
                                dd { (part_form(v, id, &d.name, word, n, entry.is_some())) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn part_form(v: &Visit, id: &str, deviation: &str, part: &str, n: usize, filled: bool) -> Markup {
    let field_id = format!("f-{n}-{part}");
    html! {
        details {
            summary { (v.text(if filled { "desk-action-again" } else { "desk-action-fill" })) }
            form.sheet method="post" action={ "/proof/" (id) "/action" } {
                (hidden(v))
                input type="hidden" name="deviation" value=(deviation);
                input type="hidden" name="part" value=(part);
                div.field {
                    label for=(field_id) { (v.text("desk-action-text")) }
                    textarea id=(field_id) name="text" maxlength="4000" required {}
                }
                @if part == "disposition" {
                    div.field {
                        label for={ (field_id) "-held" } { (v.text("action-held")) }
                        input id={ (field_id) "-held" } name="held" type="text" autocomplete="off" maxlength="40";
                    }
                    div.field {
                        label for={ (field_id) "-decision" } { (v.text("action-decision")) }
                        select id={ (field_id) "-decision" } name="decision" {
                            @for (word, key) in DECISIONS { option value=(word) { (v.text(key)) } }
                        }
                    }
                }
                button { (v.text("web-batch-keep")) }
            }
        }
    }
}

/// Files that are kept, and sending one.
pub(super) fn files(v: &Visit, id: &str, s: &Sheets) -> Markup {
    html! {
        section #files {
            h2 { (v.text("desk-files")) }
            @if s.view.files.is_empty() { p { (v.text("desk-files-none")) } }
            ul.kept {
                @for f in &s.view.files {
                    @let k = &f.value;
                    @let readings = matches!(k.used_as, fallrate_app::proof::record::FileUse::Readings | fallrate_app::proof::record::FileUse::HandEntry);
                    li {
                        b { a href={ "/proof/" (id) "/kept/" (crate::plan::encode(&k.name)) } download { (k.name) } } " "
                        (v.with("desk-file-line", &[("bytes", &k.bytes.to_string()), ("by", &f.by), ("entry", &f.entry.to_string())]))
                        span.hash { "SHA-256 " (k.sha256.to_string()) }
                        @if readings {
                            a.button href={ "/proof/" (id) "/file/" (k.sha256.to_string()) "?name=" (crate::plan::encode(&k.name)) } { (v.text("desk-file-how")) }
                        }
                    }
                }
            }
            (file_form(v, id))
        }
    }
}

/// Facts, tests, interruptions, suspect readings.
pub(super) fn evidence_forms(v: &Visit, id: &str, s: &Sheets) -> Markup {
    let waiting = s.suspects();
    html! {
        section #facts {
            h2 { (v.text("desk-facts")) }
            p { (v.text("desk-facts-more")) }
            p.onward { a.button href={ "/proof/" (id) "/facts" } { (v.text("desk-facts-go")) } }
            details {
                summary { (v.text("desk-test")) }
                form.sheet method="post" action={ "/proof/" (id) "/test" } {
                    (hidden(v))
                    div.field {
                        label for="f-what" { (v.text("desk-test-what")) }
                        select #f-what name="what" {
                            @for (word, key, unit) in TESTS { option value=(word) { (v.text(key)) " " (unit) } }
                        }
                    }
                    (field(v, "value", "desk-test-value", None, ""))
                    (field(v, "tolerance", "proof-tolerance", Some("desk-test-tolerance-more"), ""))
                    (field(v, "sample", "proof-sample", Some("desk-test-sample-more"), ""))
                    (field(v, "instrument", "proof-meter", None, ""))
                    (field(v, "calibrated_on", "proof-calibrated", Some("desk-day-more"), ""))
                    (field(v, "at", "desk-when", Some("desk-when-more"), ""))
                    button { (v.text("web-batch-keep")) }
                }
            }
            details {
                summary { (v.text("desk-interruption")) }
                form.sheet method="post" action={ "/proof/" (id) "/interruption" } {
                    (hidden(v))
                    div.field {
                        label for="f-kind" { (v.text("proof-what")) }
                        select #f-kind name="kind" {
                            @for word in deviation_words() {
                                option value=(word) { (deviation_kind(word).map_or_else(String::new, |k| event_words(&v.reader, &k))) }
                            }
                        }
                    }
                    (field(v, "from", "desk-from", Some("desk-when-more"), ""))
                    (field(v, "until", "desk-until", Some("desk-until-more"), ""))
                    (field(v, "note", "web-batch-note-text", None, ""))
                    button { (v.text("web-batch-keep")) }
                }
            }
            @if !waiting.is_empty() {
                h3 #suspect { (v.reader.words.counted("desk-suspects", waiting.len())) }
                p { (v.text("desk-suspects-more")) }
                @for (n, w) in waiting.iter().enumerate() { (suspect_form(v, id, s, w, n)) }
            }
        }
    }
}

fn suspect_form(v: &Visit, id: &str, s: &Sheets, w: &SuspectStretch, n: usize) -> Markup {
    let clock = clock(s);
    let at = |i| clock.as_ref().map_or_else(String::new, |c| c.day_and_minute(i));
    html! {
        details {
            summary { (w.channel) ", " (at(w.span.from())) "–" (at(w.span.to())) ": " (suspicion_words(&v.reader, w.about)) }
            form.sheet method="post" action={ "/proof/" (id) "/suspect" } {
                (hidden(v))
                input type="hidden" name="channel" value=(w.channel);
                input type="hidden" name="from_ns" value=(w.span.from().unix_nanoseconds());
                input type="hidden" name="to_ns" value=(w.span.to().unix_nanoseconds());
                p { (v.reader.words.counted("desk-suspect-count", w.readings)) }
                div.field {
                    label for={ "f-counts-" (n) } { (v.text("desk-suspect-counts")) }
                    select id={ "f-counts-" (n) } name="counts" {
                        option value="no" { (v.text("desk-no")) }
                        option value="yes" { (v.text("desk-yes")) }
                    }
                }
                div.field {
                    label for={ "f-why-" (n) } { (v.text("proof-why")) }
                    input id={ "f-why-" (n) } name="reason" type="text" autocomplete="off" maxlength="400" required;
                }
                button { (v.text("web-batch-keep")) }
            }
        }
    }
}

/// Papers, entries, verifying, and the run page.
pub(super) fn papers(v: &Visit, id: &str, s: &Sheets, from_plan: bool) -> Markup {
    html! {
        section #papers {
            h2 { (v.text("desk-papers")) }
            p.onward {
                @if s.judged.is_ok() {
                    a.button href={ "/proof/" (id) "/record.pdf" } { (v.text("desk-pdf")) }
                    a.button href={ "/proof/" (id) "/record.html" } { (v.text("desk-html")) }
                }
                a.button href={ "/proof/" (id) "/record.zip" } { (v.text("desk-zip")) }
                a.button href={ "/proof/" (id) "/entries" } { (v.text("desk-entries")) }
                a.button href={ "/proof/" (id) "/verify" } { (v.text("desk-verify")) }
                @if from_plan { a.button href={ "/batches/" (id) } { (v.text("desk-run")) } }
            }
            p.note { (v.with("proof-chain-head", &[("head", &grouped(&s.view.head.to_string()))])) }
        }
    }
}

fn grouped(hash: &str) -> String {
    hash.as_bytes().chunks(8).map(|c| String::from_utf8_lossy(c).into_owned()).collect::<Vec<_>>().join(" ")
}
