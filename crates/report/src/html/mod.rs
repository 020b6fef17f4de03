//! A plan as one self-contained HTML page: no script, charts inline, for screens and for paper.

use crate::font::{FAMILY, Weight, bytes};
use crate::page::{Act, Caution, FigureGroup, Level, Picture, PlanPage, Source, Timer, Words};
use crate::theme::{DAY, NIGHT, Theme, chart_css};
use crate::{Layout, Table, escape};

/// Where the page gets its typeface from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum FontSource {
    /// Inside the page (0.5 MB): looks the same everywhere, without a network.
    #[default]
    Embedded,
    /// From two addresses, regular and bold.
    Address {
        /// Of the regular weight.
        regular: String,
        /// Of the bold weight.
        bold: String,
    },
    /// Whatever the reader's machine has.
    System,
}

/// How a page is written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct HtmlOptions {
    /// Where the typeface comes from.
    pub font: FontSource,
    /// Keep the day theme in dark surroundings.
    pub day_only: bool,
}

const PAGE_CSS: &str = include_str!("page.css");

/// Writes the page.
#[must_use]
pub fn html(page: &PlanPage, words: &Words, options: &HtmlOptions) -> String {
    let title = [page.headline.as_str(), page.subject.as_str()].map(str::trim);
    let title = title.into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(" – ");
    let mut out = open(&page.language, &title, options, "");
    if let Some(flag) = &page.flag {
        out.push_str(&format!("<div class=\"ghost\" aria-hidden=\"true\">{}</div>\n", escape(&flag.word)));
    }
    out.push_str("<main>\n");
    out.push_str(&header(page, words));
    out.push_str("<div class=\"first\">\n");
    out.push_str(&acts(&page.acts, words));
    out.push_str(&page.timer.as_ref().map_or(String::new(), |t| timer(t, words)));
    out.push_str("</div>\n");
    for group in &page.figures {
        out.push_str(&figures(group));
    }
    out.push_str(&pictures(&page.pictures, words));
    let quiet: Vec<&Caution> = page.cautions.iter().filter(|c| c.level != Level::Act).collect();
    if !quiet.is_empty() {
        out.push_str(&section(&words.cautions, &cautions(&quiet, words)));
    }
    out.push_str(&tables(&page.tables));
    out.push_str(&sources(&page.sources, words));
    if !page.footer.is_empty() {
        let lines: String = page.footer.iter().map(|l| format!("<p>{}</p>\n", escape(l))).collect();
        out.push_str(&format!("<footer>\n{lines}</footer>\n"));
    }
    out.push_str("</main>\n</body>\n</html>\n");
    out
}

/// The file down to the start of its body; `css` is added to the style sheet of every page.
pub(crate) fn open(language: &str, title: &str, options: &HtmlOptions, css: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"{}\">\n<title>{}</title>\n<style>\n{}{css}</style>\n</head>\n<body>\n",
        escape(if language.is_empty() { "en" } else { language }),
        if options.day_only { "light" } else { "light dark" },
        escape(title),
        style(options),
    )
}

fn style(options: &HtmlOptions) -> String {
    let names = |t: &Theme| {
        format!("--paper:{};--ink:{};--muted:{};--line:{};--act:{}", t.paper, t.ink, t.muted, t.line, t.act)
    };
    let mut css = match &options.font {
        FontSource::System => String::new(),
        FontSource::Address { regular, bold } => face(400, &css_url(regular)) + &face(700, &css_url(bold)),
        FontSource::Embedded => {
            face(400, &data_url(bytes(Weight::Regular))) + &face(700, &data_url(bytes(Weight::Bold)))
        }
    };
    css.push_str(&format!(":root{{--face:\"{FAMILY}\",system-ui,sans-serif;{}}}\n{PAGE_CSS}", names(&DAY)));
    if !options.day_only {
        css.push_str(&format!(
            "@media screen and (prefers-color-scheme:dark){{:root{{{}}}{}}}\n",
            names(&NIGHT),
            chart_css(&NIGHT)
        ));
    }
    // Paper is white: the warm ground of the charts goes with that of the page.
    css.push_str("@media print{.fr-paper{fill:#fff}.fr-halo{stroke:#fff}}\n");
    css
}

fn face(weight: u16, url: &str) -> String {
    format!("@font-face{{font-family:\"{FAMILY}\";font-weight:{weight};src:url({url})}}\n")
}

/// An address that cannot leave its place in the style sheet.
fn css_url(address: &str) -> String {
    let safe = |c: &char| {
        !c.is_whitespace() && !c.is_control() && !matches!(c, '"' | '\'' | '(' | ')' | '<' | '>' | '\\')
    };
    address.chars().filter(safe).collect()
}

fn data_url(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len() * 4 / 3 + 40);
    out.push_str("data:font/ttf;base64,");
    for chunk in bytes.chunks(3) {
        let at = |i: usize| u32::from(chunk.get(i).copied().unwrap_or(0));
        let word = at(0) << 16 | at(1) << 8 | at(2);
        for i in 0..4u32 {
            let digit = DIGITS.get((word >> (18 - 6 * i) & 63) as usize).copied().unwrap_or(b'=');
            out.push(if i as usize > chunk.len() { '=' } else { char::from(digit) });
        }
    }
    out
}

fn section(title: &str, body: &str) -> String {
    format!("<section>\n<h2>{}</h2>\n{body}</section>\n", escape(title))
}

fn header(page: &PlanPage, words: &Words) -> String {
    let mut out = String::from("<header>\n");
    if let Some(flag) = &page.flag {
        out.push_str(&format!(
            "<p class=\"flag\"><b>{}</b> <span>{}</span></p>\n",
            escape(&flag.word),
            escape(&flag.meaning)
        ));
    }
    if !page.subject.trim().is_empty() {
        out.push_str(&format!("<p class=\"subject\">{}</p>\n", escape(&page.subject)));
    }
    out.push_str(&format!("<h1>{}</h1>\n", escape(&page.headline)));
    if !page.subline.trim().is_empty() {
        out.push_str(&format!("<p class=\"subline\">{}</p>\n", escape(&page.subline)));
    }
    let urgent: Vec<&Caution> = page.cautions.iter().filter(|c| c.level == Level::Act).collect();
    out.push_str(&cautions(&urgent, words));
    out.push_str("</header>\n");
    out
}

fn cautions(list: &[&Caution], words: &Words) -> String {
    if list.is_empty() {
        return String::new();
    }
    let class = |level: Level| match level {
        Level::Note => "plain",
        Level::Caution => "caution",
        Level::Act => "act",
    };
    let items: String = list
        .iter()
        .map(|c| {
            let (class, word) = (class(c.level), escape(words.level(c.level)));
            format!("<li class=\"{class}\"><b>{word}</b> {}</li>\n", escape(&c.text))
        })
        .collect();
    format!("<ul class=\"cautions\">\n{items}</ul>\n")
}

fn acts(acts: &[Act], words: &Words) -> String {
    if acts.is_empty() {
        return String::new();
    }
    let items: String = acts
        .iter()
        .map(|a| {
            let watch = a.watch.as_ref().map_or(String::new(), |w| {
                format!("<div class=\"watch\">{}: {}</div>", escape(&words.watch), escape(w))
            });
            format!(
                "<li><time>{}</time><div><div class=\"what\">{}</div>{watch}</div></li>\n",
                escape(&a.clock),
                escape(&a.text)
            )
        })
        .collect();
    section(&words.acts, &format!("<ol class=\"acts\">\n{items}</ol>\n"))
}

fn timer(timer: &Timer, words: &Words) -> String {
    let mut body = format!("<p class=\"dial\">{}</p>\n<dl class=\"ends\">\n", escape(&timer.dial));
    for (name, value) in
        [(&words.early, &timer.early), (&words.expected, &timer.expected), (&words.late, &timer.late)]
    {
        if !value.trim().is_empty() {
            body.push_str(&format!("<dt>{}</dt><dd>{}</dd>\n", escape(name), escape(value)));
        }
    }
    body.push_str("</dl>\n");
    if !timer.reasons.is_empty() {
        let items: String = timer.reasons.iter().map(|r| format!("<li>{}</li>\n", escape(r))).collect();
        body.push_str(&format!("<h3>{}</h3>\n<ul class=\"reasons\">\n{items}</ul>\n", escape(&words.why)));
    }
    section(&words.timer, &body)
}

fn figures(group: &FigureGroup) -> String {
    let summary = group.summary.as_ref().map_or(String::new(), |s| format!("<p>{}</p>\n", escape(s)));
    let items: String = group
        .figures
        .iter()
        .map(|f| {
            let note =
                f.note.as_ref().map_or(String::new(), |n| format!("<dd class=\"sure\">{}</dd>", escape(n)));
            let (value, unit) = (f.value.trim(), escape(&f.unit));
            // Words need room to break; a figure without a value is a sentence of its own.
            let class = match value.chars().filter(|c| c.is_alphabetic()).count() {
                0..=6 => "value",
                _ => "value words",
            };
            if value.is_empty() {
                return format!("<div class=\"told\"><dt>{}</dt>{note}</div>\n", escape(&f.label));
            }
            format!(
                "<div><dt>{}</dt><dd class=\"{class}\">{} <span class=\"unit\">{unit}</span></dd>{note}</div>\n",
                escape(&f.label),
                escape(value),
            )
        })
        .collect();
    let list =
        if items.is_empty() { String::new() } else { format!("<dl class=\"figures\">\n{items}</dl>\n") };
    section(&group.title, &(summary + &list)).replacen("<section>", "<section class=\"keep\">", 1)
}

fn pictures(pictures: &[Picture], words: &Words) -> String {
    if pictures.is_empty() {
        return String::new();
    }
    let body: String = pictures.iter().enumerate().map(|(i, p)| figure(p, i, &words.table_behind)).collect();
    section(&words.pictures, &body)
}

/// A picture for wide and for narrow screens, with the table behind it. `index` is its place among the page's pictures.
pub(crate) fn figure(picture: &Picture, index: usize, table_behind: &str) -> String {
    let table = match picture {
        Picture::Chart(c) => {
            let table = c.data_table().html();
            format!("<details><summary>{}</summary>\n{table}</details>\n", escape(table_behind))
        }
        Picture::Bars(_) | Picture::Strip(_) => String::new(),
    };
    let drawn = wide_and_narrow(|layout, size| picture.svg(layout, &format!("picture{index}-{size}")));
    drawn.replacen("</figure>", &format!("{table}</figure>"), 1)
}

/// A figure with a drawing for wide and one for narrow screens; the drawing is told the size's name.
pub(crate) fn wide_and_narrow(draw: impl Fn(&Layout, &str) -> String) -> String {
    format!(
        "<figure>\n<div class=\"wide\">{}</div>\n<div class=\"narrow\">{}</div>\n</figure>\n",
        draw(&Layout::wide(), "wide"),
        draw(&Layout::narrow(), "narrow")
    )
}

fn tables(tables: &[Table]) -> String {
    tables
        .iter()
        .map(|t| {
            let plain = Table { title: String::new(), ..t.clone() };
            section(&t.title, &plain.html())
        })
        .collect()
}

fn sources(sources: &[Source], words: &Words) -> String {
    if sources.is_empty() {
        return String::new();
    }
    let items: String = sources
        .iter()
        .map(|s| {
            let basis =
                if s.basis.trim().is_empty() { String::new() } else { format!(" ({})", escape(&s.basis)) };
            let used = if s.used_for.trim().is_empty() {
                String::new()
            } else {
                format!("<span class=\"for\">{}:</span> ", escape(&s.used_for))
            };
            format!("<li>{used}{}{basis}</li>\n", escape(&s.text))
        })
        .collect();
    section(&words.sources, &format!("<ul class=\"sources\">\n{items}</ul>\n"))
}

#[cfg(test)]
mod tests {
    use super::data_url;

    /// RFC 4648, section 10 (from memory).
    #[test]
    fn table_base64_of_rfc_4648() {
        let of = |s: &str| data_url(s.as_bytes()).trim_start_matches("data:font/ttf;base64,").to_owned();
        let found = ["f", "fo", "foo", "foob", "fooba", "foobar"].map(of);
        assert_eq!(found, ["Zg==", "Zm8=", "Zm9v", "Zm9vYg==", "Zm9vYmE=", "Zm9vYmFy"]);
    }
}
