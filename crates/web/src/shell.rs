//! The frame around every page: head, ways to go, switches, main part, foot.

use maud::{DOCTYPE, Markup, html};

use fallrate_app::batches::AccountRole;
use fallrate_app::{Language, Units, VERSION};

use crate::assets::address;
use crate::look::{Theme, Visit};
use crate::operate::queue;

/// Where a page belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tab {
    Start,
    Plan,
    Rehearse,
    Batches,
    Library,
    Learn,
    Air,
    None,
}

/// What the frame says of its page.
#[derive(Clone, Debug)]
pub(crate) struct Shell {
    pub title: String,
    pub tab: Tab,
}

const TABS: [(Tab, &str, &str); 7] = [
    (Tab::Start, "/", "web-tab-start"),
    (Tab::Plan, "/plan", "web-tab-plan"),
    (Tab::Rehearse, "/rehearse", "rehearse-tab"),
    (Tab::Batches, "/batches", "web-tab-batches"),
    (Tab::Library, "/library", "web-tab-library"),
    (Tab::Learn, "/learn", "web-tab-learn"),
    (Tab::Air, "/air", "web-tab-air"),
];

impl Shell {
    /// The whole page.
    pub(crate) fn around(&self, v: &Visit, body: &Markup) -> Markup {
        let scheme = match v.theme {
            Theme::System => "light dark",
            Theme::Day => "light",
            Theme::Dark => "dark",
        };
        html! {
            (DOCTYPE)
            html lang=(v.language.tag()) data-theme=(v.theme.word()) {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content=(scheme);
                    title { (self.title) " – Fallrate" }
                    link rel="stylesheet" href=(address("style.css"));
                    link rel="icon" type="image/svg+xml" href=(address("mark.svg"));
                    script src=(address("live.js")) defer {}
                }
                body {
                    a.skip href="#main" { (v.text("web-skip")) }
                    (crate::demo::mark(v))
                    (self.head(v))
                    (queue(v))
                    main #main tabindex="-1" { (body) }
                    footer.foot { p { (v.with("footer-version", &[("version", VERSION)])) " " a href="/upkeep" { (v.text("ops-title")) } } }
                }
            }
        }
    }

    fn head(&self, v: &Visit) -> Markup {
        html! {
            header.top {
                nav.ways aria-label=(v.text("web-ways")) {
                    @for (tab, path, key) in TABS {
                        a href=(path) aria-current=[(tab == self.tab).then_some("page")] { (v.text(key)) }
                    }
                }
                (person(v))
                (switches(v))
            }
        }
    }
}

/// Who is signed in, and the way out.
fn person(v: &Visit) -> Markup {
    html! {
        @if let Some(p) = &v.person {
            form.switches method="post" action="/sign-out" {
                input type="hidden" name="form_token" value=(v.token);
                @if p.role == AccountRole::Supervisor { a.button href="/people" { (v.text("web-people-title")) } }
                button { (v.with("web-sign-out", &[("name", &p.full_name)])) }
            }
        }
    }
}

/// One button each for language, units and theme; it says what it changes to.
fn switches(v: &Visit) -> Markup {
    let language = if v.language == Language::English {
        ("es", "web-switch-spanish")
    } else {
        ("en", "web-switch-english")
    };
    let units = if v.units == Units::Si { ("us", "web-switch-us") } else { ("si", "web-switch-si") };
    let theme = if v.theme == Theme::Dark { ("day", "web-switch-day") } else { ("dark", "web-switch-dark") };
    // The language's own name is in that language.
    let name_in = if v.language == Language::English { "es" } else { "en" };
    html! {
        form.switches method="post" action="/look" aria-label=(v.text("web-switches")) {
            input type="hidden" name="form_token" value=(v.token);
            input type="hidden" name="back" value=(v.here);
            button name="language" value=(language.0) lang=(name_in) { (v.text(language.1)) }
            button name="units" value=(units.0) { (v.text(units.1)) }
            button name="theme" value=(theme.0) { (v.text(theme.1)) }
        }
    }
}
