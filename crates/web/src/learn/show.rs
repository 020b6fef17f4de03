//! A finished document in the frame of the site.

use fallrate_app::Document;
use fallrate_app::parts::{Block, Caution};
use maud::{Markup, html};

use crate::look::Visit;
use crate::page_parts::{cautions, pictures, table};

/// A document with the form it came from below it.
pub(crate) fn with_form(v: &Visit, d: &Document, form: &Markup) -> Markup {
    html! {
        (document(v, d))
        details.again { summary { (v.text("web-learn-again")) } (form) }
    }
}

/// A document.
pub(crate) fn document(v: &Visit, d: &Document) -> Markup {
    html! {
        article.learned {
            @if let Some(flag) = &d.flag { p.flag { b { (flag.word) } " " span { (flag.meaning) } } }
            @if !d.subject.trim().is_empty() { p.subject { (d.subject) } }
            @for (n, b) in d.blocks.iter().enumerate() { (block(v, b, n)) }
        }
    }
}

fn block(v: &Visit, b: &Block, n: usize) -> Markup {
    html! {
        @match b {
            Block::Answer { headline, subline, .. } => {
                h1 { (headline) }
                @if !subline.is_empty() { p.subline { (subline) } }
            }
            Block::Heading { text, .. } => h2 { (text) },
            Block::Text(text) => p { (text) },
            Block::Small(text) => p.hint { (text) },
            Block::List(list) => ul { @for line in list { li { (line) } } },
            Block::Notice { level, text, .. } => {
                (cautions(v, &[&Caution { level: *level, text: text.clone() }]))
            }
            Block::Table(t) => {
                @if !t.title.is_empty() { h3 { (t.title) } }
                (table(t, &t.title))
            }
            Block::Picture(p) => (pictures(v, std::slice::from_ref(p), &format!("l{n}-"))),
            Block::Keep(inner) => {
                @for (k, b) in inner.iter().enumerate() { (block(v, b, 1000 * (n + 1) + k)) }
            }
            _ => {}
        }
    }
}
