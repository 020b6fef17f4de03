//! A document as one self-contained HTML page: no script, for screens and for printers without colour.

use super::text::{is_hidden, legible_table};
use super::{Block, Choices, Comparison, Document, Fact, Field, Paper, Sign, SignLine, legible, units_kept};
use crate::html::{HtmlOptions, figure, open, wide_and_narrow};
use crate::{Act, Layout, Level, Picture, escape};
use std::fmt::Write as _;

const DOCUMENT_CSS: &str = include_str!("document.css");

/// Writes the document as a page.
#[must_use]
pub fn document_html(document: &Document, options: &HtmlOptions) -> String {
    let d = document;
    let mut out = open(&legible(&d.language), &legible(&d.title), options, &css(d));
    if let Some(flag) = &d.flag {
        // The letters of the mark share the width of the page.
        let letters = legible(&flag.word).chars().count().max(5);
        let ghost = "<div class=\"ghost\" aria-hidden=\"true\" style=\"--letters:";
        let _ = writeln!(out, "{ghost}{letters}\">{}</div>", e(&flag.word));
    }
    let class = if d.paper.is_card() { "document card" } else { "document" };
    let _ = writeln!(out, "<main class=\"{class}\">");
    let mut page = Page { document, out, level: 1, pictures: 0, answered: false, kept: false };
    page.header();
    page.blocks(&d.blocks);
    page.footer();
    page.out
}

/// Writes some blocks of a document as a piece of a page that has a headline already. `first_picture` keeps the
/// identifiers of pictures apart.
#[must_use]
pub fn blocks_html(document: &Document, blocks: &[Block], first_picture: usize) -> String {
    let mut page =
        Page { document, out: String::new(), level: 1, pictures: first_picture, answered: true, kept: false };
    page.blocks(blocks);
    page.out
}

/// Text of an element: legible and escaped.
fn e(text: &str) -> String {
    escape(&legible(text))
}

/// Whether a character of a drawing may stay: its line ends do.
fn is_shown(c: char) -> bool {
    c == '\n' || !is_hidden(c)
}

/// As [`e`], with its lines.
fn lines(text: &str) -> String {
    e(&units_kept(text)).replace('\n', "<br/>")
}

/// A string of a style sheet: every character that is not plain is written by its number,
/// which a space ends.
fn css_text(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || c == ' ';
    let one = |c: char| if plain(c) { c.to_string() } else { format!("\\{:x} ", u32::from(c)) };
    format!("\"{}\"", legible(text).replace('\n', " ").chars().map(one).collect::<String>())
}

fn css(d: &Document) -> String {
    let size = match d.paper {
        Paper::A4 | Paper::CardA4 => "A4",
        Paper::Letter | Paper::CardLetter => "letter",
        Paper::CardA5 => "A5",
    };
    let number = |word: &str| match word.split_once("{page}") {
        Some((before, rest)) => {
            let (between, after) = rest.split_once("{pages}").unwrap_or((rest, ""));
            let total = if rest.contains("{pages}") { "counter(pages)" } else { "" };
            format!("{} counter(page) {} {total} {}", css_text(before), css_text(between), css_text(after))
        }
        None => css_text(word),
    };
    let margin = if d.paper.is_card() { "16mm 10mm" } else { "20mm 16mm" };
    format!(
        "{DOCUMENT_CSS}@page{{size:{size};margin:{margin};@top-left{{content:{}}}@bottom-left{{content:{}}}@bottom-right{{content:{}}}}}\n",
        css_text(&d.running_head),
        css_text(&d.running_foot),
        number(&d.page_word)
    )
}

struct Page<'d> {
    document: &'d Document,
    out: String,
    /// Level of the last heading.
    level: u8,
    pictures: usize,
    answered: bool,
    /// Inside blocks that stay together.
    kept: bool,
}

impl Page<'_> {
    fn put(&mut self, line: &str) {
        self.out.push_str(line);
        self.out.push('\n');
    }

    fn element(&mut self, open: &str, tag: &str, text: &str) {
        if !text.trim().is_empty() {
            self.put(&format!("<{open}>{}</{tag}>", lines(text)));
        }
    }

    fn header(&mut self) {
        let d = self.document;
        self.put("<header>");
        if let Some(flag) = &d.flag {
            self.put(&format!(
                "<p class=\"flag\"><b>{}</b> <span>{}</span></p>",
                e(&flag.word),
                e(&flag.meaning)
            ));
        }
        self.element("p class=\"running\"", "p", &d.running_head);
        if d.headline().is_some() {
            self.element("p class=\"kind\"", "p", &d.title);
            self.element("p class=\"subject\"", "p", &d.subject);
        } else {
            self.element("p class=\"subject\"", "p", &d.subject);
            self.element("h1", "h1", &d.title);
        }
        self.put("</header>");
    }

    fn footer(&mut self) {
        if !self.document.running_foot.trim().is_empty() {
            self.put(&format!("<footer>\n<p>{}</p>\n</footer>", lines(&self.document.running_foot)));
        }
        self.put("</main>\n</body>\n</html>");
    }

    fn blocks(&mut self, blocks: &[Block]) {
        for block in blocks {
            self.block(block);
        }
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Answer { sign, headline, subline } => self.answer(*sign, headline, subline),
            Block::Heading { level, text } => self.heading(*level, text),
            Block::Text(text) => self.element("p", "p", text),
            Block::Small(text) => self.element("p class=\"small\"", "p", text),
            Block::List(points) => self.list("points", points),
            Block::Steps(acts) => self.steps(acts),
            Block::Notice { level, word, text } => self.notice(*level, word, text),
            Block::Facts(facts) => self.facts(facts),
            Block::Compare(comparison) => self.compare(comparison),
            Block::Table(table) => self.out.push_str(&legible_table(table).html()),
            Block::Picture(picture) => self.picture(picture),
            Block::Lines(lines) => self.sign_lines(lines),
            Block::Choices(choices) => self.choices(choices),
            Block::Fields(fields) => self.fields(fields),
            Block::Keep(inner) => {
                self.put("<div class=\"keep\">");
                let outer = std::mem::replace(&mut self.kept, true);
                self.blocks(inner);
                self.kept = outer;
                self.put("</div>");
            }
            Block::PageBreak if self.kept => {}
            Block::PageBreak => self.put("<hr class=\"break\"/>"),
        }
    }

    /// A strip's reasons are written below it, for every reader.
    fn picture(&mut self, picture: &Picture) {
        let drawn = match picture {
            Picture::Strip(s) => {
                let draw = |layout: &Layout, size: &str| {
                    s.svg_without_reasons(layout, &format!("picture{}-{size}", self.pictures))
                };
                wide_and_narrow(draw)
            }
            _ => figure(picture, self.pictures, &self.document.words.table_behind),
        };
        self.pictures += 1;
        self.out.push_str(
            &drawn
                .chars()
                .map(|c| if is_shown(c) { c } else { char::REPLACEMENT_CHARACTER })
                .collect::<String>(),
        );
        self.list("below", &picture.lines_below());
    }

    fn answer(&mut self, sign: Sign, headline: &str, subline: &str) {
        let tag = if self.answered { "h2" } else { "h1" };
        self.level = if self.answered { 2 } else { 1 };
        self.answered = true;
        let picture = sign.svg().unwrap_or_default();
        self.put(&format!("<div class=\"answer\">{picture}<div>\n<{tag}>{}</{tag}>", lines(headline)));
        self.element("p class=\"subline\"", "p", subline);
        self.put("</div></div>");
    }

    fn heading(&mut self, level: u8, text: &str) {
        self.level = level.saturating_add(1).clamp(2, (self.level + 1).min(6));
        let tag = format!("h{}", self.level);
        self.element(&tag, &tag, text);
    }

    fn list(&mut self, class: &str, points: &[String]) {
        if points.is_empty() {
            return;
        }
        self.put(&format!("<ul class=\"{class}\">"));
        for point in points {
            self.put(&format!("<li>{}</li>", lines(point)));
        }
        self.put("</ul>");
    }

    fn steps(&mut self, acts: &[Act]) {
        if acts.is_empty() {
            return;
        }
        self.put("<ol class=\"acts\">");
        for act in acts {
            let watch = act.watch.as_deref().map_or(String::new(), |w| {
                format!("<div class=\"watch\">{}: {}</div>", e(&self.document.words.watch), lines(w))
            });
            self.put(&format!(
                "<li><time>{}</time><div><div class=\"what\">{}</div>{watch}</div></li>",
                e(&act.clock),
                lines(&act.text)
            ));
        }
        self.put("</ol>");
    }

    fn notice(&mut self, level: Level, word: &str, text: &str) {
        let class = match level {
            Level::Note => "plain",
            Level::Caution => "caution",
            Level::Act => "act",
        };
        self.put(&format!(
            "<div class=\"cautions\"><div class=\"notice {class}\"><b>{}</b> {}</div></div>",
            e(word),
            lines(text)
        ));
    }

    fn facts(&mut self, facts: &[Fact]) {
        if facts.is_empty() {
            return;
        }
        self.put("<dl class=\"facts\">");
        for f in facts {
            let note =
                f.note.as_deref().map_or(String::new(), |n| format!("<dd class=\"sure\">{}</dd>", lines(n)));
            let value = if f.value.trim().is_empty() {
                "<dd class=\"blank\">&#160;</dd>".to_owned()
            } else {
                format!("<dd>{}</dd>", lines(&f.value))
            };
            self.put(&format!("<div><dt>{}</dt>{value}{note}</div>", e(&f.label)));
        }
        self.put("</dl>");
    }

    fn compare(&mut self, c: &Comparison) {
        if c.rows.is_empty() {
            return;
        }
        self.put("<table class=\"stack compare\" role=\"table\">");
        self.element("caption", "caption", &c.title);
        self.table_head(&[&c.label_word, &c.shown_word, &c.required_word, &c.answer_word]);
        for m in &c.rows {
            let note = m
                .note
                .as_deref()
                .map_or(String::new(), |n| format!("<span class=\"sure\">{}</span>", lines(n)));
            self.put(&format!(
                "<tr role=\"row\"><th scope=\"row\" role=\"rowheader\">{}{note}</th>\
                 <td role=\"cell\" data-head=\"{}\" class=\"shown\">{}</td>\
                 <td role=\"cell\" data-head=\"{}\">{}</td>\
                 <td role=\"cell\" class=\"met\">{}<span>{}</span></td></tr>",
                lines(&m.label),
                e(&c.shown_word),
                lines(&m.shown),
                e(&c.required_word),
                lines(&m.required),
                m.answer.svg().unwrap_or_default(),
                e(&m.word)
            ));
        }
        self.put("</tbody></table>");
    }

    fn table_head(&mut self, words: &[&str]) {
        let cell = |w: &&str| format!("<th scope=\"col\" role=\"columnheader\">{}</th>", e(w));
        let cells: String = words.iter().map(cell).collect();
        self.put(&format!(
            "<thead role=\"rowgroup\"><tr role=\"row\">{cells}</tr></thead>\n<tbody role=\"rowgroup\">"
        ));
    }

    fn sign_lines(&mut self, list: &[SignLine]) {
        if list.is_empty() {
            return;
        }
        let w = &self.document.words;
        let notes = list.iter().any(|l| l.note.is_some());
        self.put("<table class=\"stack signed\" role=\"table\">");
        let heads = [w.meaning.as_str(), &w.name, &w.at, &w.note];
        self.table_head(heads.get(..if notes { 4 } else { 3 }).unwrap_or(&heads));
        for l in list {
            let cell = |head: &str, text: &str, fill: bool| {
                let blank = if fill && text.trim().is_empty() { " class=\"blank\"" } else { "" };
                format!("<td role=\"cell\" data-head=\"{}\"{blank}>{}</td>", e(head), lines(text))
            };
            let note = l.note.as_deref().unwrap_or("");
            let note = if notes { cell(&w.note, note, false) } else { String::new() };
            self.put(&format!(
                "<tr role=\"row\"><th scope=\"row\" role=\"rowheader\">{}</th>{}{}{note}</tr>",
                lines(&l.meaning),
                cell(&w.name, &l.name, true),
                cell(&w.at, &l.at, true)
            ));
        }
        self.put("</tbody></table>");
    }

    fn choices(&mut self, c: &Choices) {
        self.element("p class=\"label\"", "p", &c.label);
        self.put("<ul class=\"choices\">");
        for option in &c.options {
            let (class, word) = if option.chosen {
                (" class=\"chosen\"", &self.document.words.chosen)
            } else {
                ("", &self.document.words.not_chosen)
            };
            self.put(&format!(
                "<li{class}><span class=\"box\" aria-hidden=\"true\"></span><span>{}</span> <span class=\"heard\">{}</span></li>",
                lines(&option.text),
                e(word)
            ));
        }
        self.put("</ul>");
    }

    fn fields(&mut self, fields: &[Field]) {
        for f in fields {
            self.put("<div class=\"field\">");
            self.element("p class=\"label\"", "p", &f.label);
            self.element("p", "p", &f.text);
            self.put(&"<div class=\"rule\"></div>".repeat(usize::from(f.blank_lines.min(40))));
            self.put("</div>");
        }
    }
}
