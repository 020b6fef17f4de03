//! The parts of a finished page model, each as a piece of HTML of our own frame.

use fallrate_app::Page;
use fallrate_app::parts::{
    Act, Caution, FigureGroup, KeyFigure, Layout, Level, Picture, Source, Table, Timer,
};
use maud::{Markup, PreEscaped, html};

use crate::look::Visit;

/// The first lines: flag, subject, the one thing, a sentence, what a person must act on.
pub(crate) fn opening(v: &Visit, page: &Page, level: u8) -> Markup {
    let urgent: Vec<&Caution> = page.cautions.iter().filter(|c| c.level == Level::Act).collect();
    html! {
        @if let Some(flag) = &page.flag {
            p.flag { b { (flag.word) } " " span { (flag.meaning) } }
        }
        @if !page.subject.trim().is_empty() { p.subject { (page.subject) } }
        @if level == 1 { h1 { (page.headline) } } @else { h2.headline { (page.headline) } }
        @if !page.subline.trim().is_empty() { p.subline { (page.subline) } }
        (cautions(v, &urgent))
    }
}

/// What to do, in order, and what to dial.
pub(crate) fn run_sheet(v: &Visit, page: &Page) -> Markup {
    html! {
        div.first {
            @if !page.acts.is_empty() {
                section { h2 { (v.text("web-part-acts")) } (acts(v, &page.acts)) }
            }
            @if let Some(t) = &page.timer { (timer(v, t)) }
        }
    }
}

fn acts(v: &Visit, acts: &[Act]) -> Markup {
    html! {
        ol.acts {
            @for a in acts {
                li {
                    time { (a.clock) }
                    div {
                        div.what { (a.text) }
                        @if let Some(w) = &a.watch { div.watch { (v.text("web-part-watch")) " " (w) } }
                    }
                }
            }
        }
    }
}

fn timer(v: &Visit, t: &Timer) -> Markup {
    let ends = [("web-part-early", &t.early), ("web-part-expected", &t.expected), ("web-part-late", &t.late)];
    html! {
        section {
            h2 { (v.text("web-part-timer")) }
            p.dial { (t.dial) }
            dl.ends {
                @for (key, value) in ends {
                    @if !value.trim().is_empty() { dt { (v.text(key)) } dd { (value) } }
                }
            }
            @if !t.reasons.is_empty() {
                details {
                    summary { (v.text("web-part-why")) }
                    ul.reasons { @for r in &t.reasons { li { (r) } } }
                }
            }
        }
    }
}

/// Cautions of any level.
pub(crate) fn cautions(v: &Visit, list: &[&Caution]) -> Markup {
    let of = |level: Level| match level {
        Level::Note => ("plain", "web-level-note"),
        Level::Caution => ("caution", "web-level-caution"),
        Level::Act => ("act", "level-before-start"),
    };
    html! {
        @if !list.is_empty() {
            ul.cautions {
                @for c in list {
                    @let (class, key) = of(c.level);
                    li class=(class) { b { (v.text(key)) } " " (c.text) }
                }
            }
        }
    }
}

/// Groups of figures.
pub(crate) fn figures(groups: &[FigureGroup]) -> Markup {
    html! {
        @for g in groups {
            section {
                h2 { (g.title) }
                @if let Some(s) = &g.summary { p { (s) } }
                @if !g.figures.is_empty() {
                    dl.figures { @for f in &g.figures { (figure_of(f)) } }
                }
            }
        }
    }
}

fn figure_of(f: &KeyFigure) -> Markup {
    let value = f.value.trim();
    // Words need room to break; a figure without a value is a sentence of its own.
    let wordy = value.chars().filter(|c| c.is_alphabetic()).count() > 6;
    html! {
        div class=[value.is_empty().then_some("told")] {
            dt { (f.label) }
            @if !value.is_empty() {
                dd.value.words[wordy] { (value) " " span.unit { (f.unit) } }
            }
            @if let Some(n) = &f.note { dd.sure { (n) } }
        }
    }
}

/// Pictures, each for wide and narrow screens, with the table behind it. `prefix` keeps identifiers apart.
pub(crate) fn pictures(v: &Visit, list: &[Picture], prefix: &str) -> Markup {
    html! {
        @if !list.is_empty() {
            section {
                h2 { (v.text("web-part-pictures")) }
                @for (n, p) in list.iter().enumerate() {
                    figure {
                        div.wide { (PreEscaped(p.svg(&Layout::wide(), &format!("{prefix}{n}w")))) }
                        div.narrow { (PreEscaped(p.svg(&Layout::narrow(), &format!("{prefix}{n}n")))) }
                        @if let Picture::Chart(c) = p {
                            details {
                                summary { (v.text("web-part-table-behind")) span.heard { " – " (c.title) } }
                                (table(&c.data_table(), &c.title))
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A table that a keyboard can move sideways as well; `name` is what it is called where it has no title.
pub(crate) fn table(t: &Table, name: &str) -> Markup {
    let title = if t.title.trim().is_empty() { name } else { &t.title };
    let open = format!(
        "<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"{}\">",
        fallrate_app::parts::escape(title)
    );
    let plain = Table { title: String::new(), ..t.clone() }.html();
    PreEscaped(plain.replacen("<div class=\"scroll\">", &open, 1))
}

/// Tables, open or each in a fold.
pub(crate) fn tables(list: &[Table], folded: bool) -> Markup {
    html! {
        @for t in list {
            @let body = table(t, "");
            section {
                @if folded {
                    details { summary { h2 { (t.title) } } (body) }
                } @else {
                    h2 { (t.title) } (body)
                }
            }
        }
    }
}

/// Quiet cautions, sources and last lines.
pub(crate) fn ending(v: &Visit, page: &Page) -> Markup {
    let of = |level: Level| page.cautions.iter().filter(|c| c.level == level).collect::<Vec<_>>();
    let (grave, quiet) = (of(Level::Caution), of(Level::Note));
    html! {
        @if !grave.is_empty() || !quiet.is_empty() {
            section {
                h2 { (v.text("web-part-cautions")) }
                (cautions(v, &grave))
                @if !quiet.is_empty() {
                    details open[quiet.len() < 3] {
                        summary { (v.reader.words.counted("web-part-notes", quiet.len())) }
                        (cautions(v, &quiet))
                    }
                }
            }
        }
        @if !page.sources.is_empty() {
            section { details { summary { h2 { (v.text("web-part-sources")) } } (sources(&page.sources)) } }
        }
    }
}

fn sources(list: &[Source]) -> Markup {
    html! {
        ul.sources {
            @for s in list {
                li {
                    @if !s.used_for.trim().is_empty() { span.for { (s.used_for) ":" } " " }
                    (s.text)
                    @if !s.basis.trim().is_empty() { " (" (s.basis) ")" }
                }
            }
        }
    }
}
