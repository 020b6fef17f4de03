//! The forms of this part. They work without any script.

use fallrate_app::Library;
use fallrate_app::batches::SavedPlan;
use maud::{Markup, html};

use super::{CurvesAsked, PairsAsked, TrialEntered};
use crate::look::Visit;

/// Everything that can be learned, each with what it takes.
pub(crate) fn overview(v: &Visit, library: &Library, plans: &[SavedPlan]) -> Markup {
    html! {
        h1 { (v.text("web-tab-learn")) }
        p.subline { (v.text("web-learn-subline")) }
        nav.ways-in aria-label=(v.text("web-tab-learn")) {
            a.button href="/learn/batches" { (v.text("teach-title")) }
            a.button href="/learn/trial" { (v.text("trial-title")) }
        }
        (pairs(v, library, &PairsAsked::default()))
        (curves(v, library, &CurvesAsked::default()))
        (moving(v, library, plans, ("", "")))
    }
}

/// What is wrong, above the form it came from.
pub(crate) fn refused(v: &Visit, why: &str, form: &Markup) -> Markup {
    html! {
        section.refused role="alert" {
            h1 { (v.text("web-learn-refused")) }
            @for line in why.lines() { p { (line) } }
        }
        (form)
    }
}

fn area(v: &Visit, (name, label, hint): (&str, &str, &str), text: &str, rows: u8) -> Markup {
    let (id, hint_id) = (format!("f-{name}"), format!("h-{name}"));
    html! {
        div.field {
            label for=(id) { (v.text(label)) }
            p.hint id=(hint_id) { (v.text(hint)) }
            textarea id=(id) name=(name) rows=(rows) spellcheck="false" autocomplete="off" aria-describedby=(hint_id) { (text) }
        }
    }
}

fn line(v: &Visit, name: &str, label: &str, text: &str) -> Markup {
    let id = format!("f-{name}");
    html! {
        div.field {
            label for=(id) { (v.text(label)) }
            input id=(id) name=(name) value=(text) autocomplete="off";
        }
    }
}

fn choice(v: &Visit, name: &str, label: &str, items: &[(String, String)], chosen: &str) -> Markup {
    let id = format!("f-{name}");
    html! {
        div.field {
            label for=(id) { (v.text(label)) }
            select id=(id) name=(name) {
                @for (key, shown) in items {
                    option value=(key) selected[key == chosen] { (shown) }
                }
            }
        }
    }
}

fn products(v: &Visit, library: &Library) -> Vec<(String, String)> {
    let name =
        |p: &fallrate_app::library_items::Product| v.reader.words.pick(&p.name.en, &p.name.es).to_owned();
    let mut list = vec![(String::new(), v.text("web-learn-no-product"))];
    list.extend(library.products().iter().map(|p| (p.key.clone(), name(p))));
    list
}

pub(crate) fn pairs(v: &Visit, library: &Library, q: &PairsAsked) -> Markup {
    html! {
        form.learn method="get" action="/learn/isotherm" {
            h2 { (v.text("iso-title")) }
            (area(v, ("table", "web-learn-pairs", "web-learn-pairs-hint"), &q.table, 8))
            (choice(v, "product", "web-learn-product", &products(v, library), &q.product))
            (line(v, "target", "web-learn-target", &q.target))
            button.main { (v.text("web-learn-fit")) }
        }
    }
}

pub(crate) fn curves(v: &Visit, library: &Library, q: &CurvesAsked) -> Markup {
    html! {
        form.learn method="get" action="/learn/curves" {
            h2 { (v.text("thin-title")) }
            (area(v, ("table", "web-learn-curves", "web-learn-curves-hint"), &q.table, 8))
            (choice(v, "product", "web-learn-product", &products(v, library), &q.product))
            (line(v, "air", "web-learn-air", &q.air))
            (line(v, "rh", "web-learn-rh", &q.rh))
            button.main { (v.text("web-learn-fit")) }
        }
    }
}

pub(crate) fn moving(
    v: &Visit,
    library: &Library,
    plans: &[SavedPlan],
    (plan, cabinet): (&str, &str),
) -> Markup {
    let name =
        |c: &fallrate_app::library_items::Cabinet| v.reader.words.pick(&c.name.en, &c.name.es).to_owned();
    let cabinets: Vec<_> = library.cabinets().iter().map(|c| (c.key.clone(), name(c))).collect();
    let kept: Vec<_> = plans.iter().map(|p| (p.name.clone(), p.title.clone())).collect();
    html! {
        form.learn method="get" action="/learn/move" {
            h2 { (v.text("move-title")) }
            @if kept.is_empty() {
                p { (v.text("web-learn-no-plan")) }
            } @else {
                (choice(v, "plan", "web-learn-plan", &kept, plan))
                (choice(v, "cabinet", "web-learn-to", &cabinets, cabinet))
                button.main { (v.text("web-learn-move")) }
            }
        }
    }
}

pub(crate) fn trial(v: &Visit, e: &TrialEntered) -> Markup {
    let files = [(1, &e.name_1, &e.file_1), (2, &e.name_2, &e.file_2), (3, &e.name_3, &e.file_3)];
    html! {
        form.learn method="post" action="/learn/trial" {
            input type="hidden" name="form_token" value=(v.token);
            h1 { (v.text("trial-title")) }
            p { (v.text("web-learn-trial-how")) }
            (area(v, ("trial", "web-learn-trial-file", "web-learn-trial-hint"), &e.trial, 14))
            @for (n, name, text) in files {
                fieldset {
                    legend { (v.with("web-learn-file", &[("number", &n.to_string())])) }
                    (line(v, &format!("name_{n}"), "web-learn-file-name", name))
                    (area(v, (&format!("file_{n}"), "web-learn-file-text", "web-learn-file-hint"), text, 8))
                }
            }
            button.main { (v.text("web-learn-fit")) }
        }
    }
}
