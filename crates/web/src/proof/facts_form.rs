//! The form of facts: groups that open, limits that can be added, the file behind it.

use fallrate_app::proof::desk::{
    Asks, FIELDS, Sheets, StatedField, Statement, WORDS_OF_MEASURED, option_choices, role_name,
};
use maud::{Markup, html};

use super::sent::hidden;
use crate::look::Visit;
use crate::shell::{Shell, Tab};

const GROUPS: [(&str, &str); 9] = [
    ("claim", "desk-g-claim"),
    ("product", "desk-g-product"),
    ("process", "desk-g-process"),
    ("positions", "desk-g-positions"),
    ("cabinet", "desk-g-cabinet"),
    ("monitoring", "desk-g-monitoring"),
    ("sealed", "desk-g-sealed"),
    ("lot", "desk-g-lot"),
    ("batch", "desk-g-batch"),
];

pub(super) fn shown(v: &Visit, id: &str, s: &Statement, sheets: &Sheets, faults: &[String]) -> Markup {
    let supply = sheets.to_supply(&v.reader);
    let body = html! {
        p.back { a href={ "/proof/" (id) } { (v.text("desk-back")) } }
        h1 { (v.text("desk-facts-title")) }
        p.subline { (v.text("desk-facts-sub")) }
        @if !faults.is_empty() { ul.faults { @for f in faults { li role="alert" { (f) } } } }
        @if s.differs { p.flag { b { (v.text("desk-facts-differ")) } span { (v.text("desk-facts-differ-more")) } } }
        @if !supply.is_empty() {
            details open { summary { (v.text("desk-supply")) } ul.supply { @for line in &supply { li { (line) } } } }
        }
        form.facts-form method="post" action={ "/proof/" (id) "/facts" } {
            (hidden(v))
            @for (n, (section, title)) in GROUPS.iter().enumerate() {
                details open[n < 2 || !faults.is_empty()] {
                    summary { h2 { (v.text(title)) } span.count { (count(v, s, section)) } }
                    div.grid { @for f in FIELDS.iter().filter(|f| f.section == *section) { (field(v, f, s)) } }
                }
            }
            details open[!faults.is_empty()] {
                summary { h2 { (v.text("desk-g-plan")) } span.count { (count(v, s, "plan")) } }
                div.grid { @for f in FIELDS.iter().filter(|f| f.section == "plan") { (field(v, f, s)) } }
                h3 { (v.text("desk-limits")) }
                p.note { (v.text("desk-limits-more")) }
                @for n in 0..=s.limits { (limit(v, s, n)) }
            }
            div.field {
                label for="f-reason" { (v.text("proof-why")) }
                input #f-reason name="reason" type="text" autocomplete="off" maxlength="400";
                p.note { (v.text("desk-facts-why")) }
            }
            button.go { (v.text("desk-facts-save")) }
        }
        details {
            summary { (v.text("desk-file-behind")) }
            form method="post" action={ "/proof/" (id) "/facts/text" } {
                (hidden(v))
                p { (v.text("desk-file-behind-more")) }
                label.heard for="f-toml" { (v.text("desk-file-behind")) }
                textarea #f-toml.code name="toml" rows="24" spellcheck="false" { (s.toml) }
                button { (v.text("desk-facts-save")) }
            }
        }
    };
    Shell { title: v.text("desk-facts-title"), tab: Tab::Batches }.around(v, &body)
}

/// "3 of 7 filled in".
fn count(v: &Visit, s: &Statement, section: &str) -> String {
    let all: Vec<&StatedField> = FIELDS.iter().filter(|f| f.section == section).collect();
    let filled = all.iter().filter(|f| s.values.get(&f.path()).is_some_and(|t| !t.is_empty())).count();
    v.with("desk-filled", &[("filled", &filled.to_string()), ("all", &all.len().to_string())])
}

fn field(v: &Visit, f: &StatedField, s: &Statement) -> Markup {
    let path = f.path();
    let id = format!("f-{}", path.replace(['.', '_'], "-"));
    let value = s.values.get(&path).map_or("", String::as_str);
    match f.asks {
        Asks::Choice(list) => choice(v, &id, &path, f.label, list, value),
        Asks::Flag => choice(v, &id, &path, f.label, &[("yes", "desk-yes"), ("no", "desk-no")], value),
        Asks::Options => options(v, &path, f.label, value),
        Asks::Words | Asks::List | Asks::Quantity(_) | Asks::Clock | Asks::Day => {
            let note = match f.asks {
                Asks::List => Some(v.text("desk-list-more")),
                Asks::Quantity(example) => Some(v.with("desk-example", &[("example", example)])),
                Asks::Clock => Some(v.text("desk-clock-more")),
                Asks::Day => Some(v.text("desk-day-more")),
                _ => None,
            };
            html! {
                div.field {
                    label for=(id) { (v.text(f.label)) }
                    input id=(id) name=(path) type="text" autocomplete="off" maxlength="400" value=(value)
                        aria-describedby=[note.as_ref().map(|_| format!("n-{id}"))];
                    @if let Some(note) = note { p.note id={ "n-" (id) } { (note) } }
                }
            }
        }
    }
}

fn choice(v: &Visit, id: &str, name: &str, label: &str, list: &[(&str, &str)], value: &str) -> Markup {
    html! {
        div.field {
            label for=(id) { (v.text(label)) }
            select id=(id) name=(name) {
                option value="" selected[value.is_empty()] { (v.text("desk-not-stated")) }
                @for (word, key) in list { option value=(word) selected[*word == value] { (v.text(key)) } }
            }
        }
    }
}

fn options(v: &Visit, path: &str, label: &str, value: &str) -> Markup {
    let chosen: Vec<&str> = value.split(',').map(str::trim).collect();
    html! {
        fieldset.options {
            legend { (v.text(label)) }
            // Sent also where nothing is ticked, so that the last tick can be taken away.
            input type="hidden" name=(path) value="";
            @for (id, words) in option_choices(&v.reader) {
                label.tick { input type="checkbox" name=(path) value=(id) checked[chosen.contains(&id)]; " " (words) }
            }
        }
    }
}

/// A limit of the plan; the last row is empty.
fn limit(v: &Visit, s: &Statement, n: usize) -> Markup {
    let get = |key: &str| s.values.get(&format!("limit.{n}.{key}")).cloned().unwrap_or_default();
    let text = |key: &str, label: &str| {
        let (id, name) = (format!("f-limit-{n}-{}", key.replace('_', "-")), format!("limit.{n}.{key}"));
        html! {
            div.field {
                label for=(id) { (v.text(label)) }
                input id=(id) name=(name) type="text" autocomplete="off" maxlength="200" value=(get(key));
            }
        }
    };
    let id = format!("f-limit-{n}-measured");
    let measured = get("measured");
    html! {
        fieldset {
            legend { @if n < s.limits { (v.with("desk-limit", &[("number", &(n + 1).to_string())])) } @else { (v.text("desk-limit-new")) } }
            div.grid {
                (text("name", "desk-limit-name"))
                div.field {
                    label for=(id) { (v.text("proof-measured")) }
                    select id=(id) name={ "limit." (n) ".measured" } {
                        @for word in WORDS_OF_MEASURED {
                            option value=(word) selected[*word == measured] { (role_name(&v.reader, word)) }
                        }
                    }
                }
                (text("number", "desk-limit-number"))
                (text("position", "proof-position-word"))
                (text("at_least", "desk-limit-at-least"))
                (text("at_most", "desk-limit-at-most"))
                (text("for", "desk-limit-for"))
            }
        }
    }
}
