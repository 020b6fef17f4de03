//! The data of a document: its description, its sheet, what stands on every page.

use crate::PrintError;
use crate::blocks::Blocks;
use crate::columns::GAP;
use crate::sheet::Sheet;
use crate::words::{Style, printable};
use fallrate_report::Document;
use typst::foundations::{Array, Datetime, Dict, IntoValue, Str, Value, dict};

/// Share of a line that the running head and foot take.
const RUNNING: f64 = 0.7;

/// Everything the template is given.
pub(crate) fn data(document: &Document, sheet: &Sheet) -> Result<Dict, PrintError> {
    let d = document;
    if d.title.trim().is_empty() {
        return Err(PrintError::EmptyText { what: "title" });
    }
    if !(d.page_word.contains("{page}") && d.page_word.contains("{pages}")) {
        return Err(PrintError::PageWord { value: d.page_word.clone() });
    }
    // Beside the running foot there is room for so much.
    if Style::regular(sheet.small).widest_word(&d.page_word) > sheet.room() * (1.0 - RUNNING) - 20.0 {
        return Err(PrintError::PageWord { value: d.page_word.clone() });
    }
    let (language, region) = language(&d.language)?;
    let room = sheet.room();
    let small = Style::regular(sheet.small);
    let body = Style::regular(sheet.body);
    let flag = d.flag.as_ref().map_or(Value::None, |f| {
        let (bold, small) = (Style::bold(sheet.body), Style::bold(sheet.small));
        // The word is drawn a little spaced, in a frame.
        let width = (bold.widest_line(&f.word) * 1.1 + 4.0).min(room / 3.0);
        Value::Dict(dict! {
            "word" => bold.lines(&f.word, width / 1.1),
            "width" => width + 12.0,
            "meaning" => body.lines(&f.meaning, room - width - 30.0),
            "again" => small.three_lines(&f.word, room * 0.2),
            "mark" => watermark(&f.word, sheet),
        })
    });
    let headed = d.headline().is_none();
    let size = headline_size(&d.title, sheet, room);
    Ok(dict! {
        "title" => one_line(&d.title),
        "author" => one_line(&d.author),
        "date" => date(d.date.as_deref())?,
        "language" => language,
        "region" => region,
        "sheet" => Value::Dict(lengths(sheet)),
        "flag" => flag,
        "head" => small.three_lines(&d.running_head, room * RUNNING),
        "foot" => small.three_lines(&d.running_foot, room * RUNNING),
        "page" => one_line(&d.page_word),
        "headed" => headed,
        "kind" => Style::bold(if headed { size } else { sheet.body }).lines(&d.title, room),
        "kind_size" => size,
        "subject" => body.lines(&d.subject, room),
        "blocks" => Blocks::new(document, sheet).list(&d.blocks)?,
    })
}

/// A text of the file's own description: one line, nothing hidden.
fn one_line(text: &str) -> Value {
    Str::from(printable(text.trim()).replace('\n', " ")).into_value()
}

fn lengths(sheet: &Sheet) -> Dict {
    dict! {
        "width" => sheet.width, "running" => sheet.room() * RUNNING, "height" => sheet.height, "left" => sheet.left, "right" => sheet.right,
        "top" => sheet.top, "bottom" => sheet.bottom, "body" => sheet.body, "small" => sheet.small,
        "figure" => sheet.figure, "step" => sheet.step, "gap" => GAP,
    }
}

/// The largest size in which a headline takes two lines at the most, else the smallest.
pub(crate) fn headline_size(text: &str, sheet: &Sheet, room: f64) -> f64 {
    let fits = |size: &&f64| {
        let style = Style::bold(**size);
        style.widest_word(text) <= room && style.width(&printable(text)) <= room * 1.85
    };
    let least = sheet.headlines.iter().copied().fold(f64::INFINITY, f64::min);
    sheet.headlines.iter().find(fits).copied().unwrap_or(least)
}

/// The word across the page, and a size in which it fits.
fn watermark(word: &str, sheet: &Sheet) -> Value {
    let word = printable(word.trim()).replace('\n', " ");
    let width = Style::bold(1.0).width(&word).max(1.0);
    let size = (sheet.width * 0.92 / width).clamp(10.0, sheet.width * 0.2);
    Value::Dict(dict! { "word" => Str::from(word), "size" => size })
}

fn language(tag: &str) -> Result<(Value, Value), PrintError> {
    let refused = || PrintError::Language { value: tag.to_owned() };
    let mut parts = tag.split('-');
    let language = parts.next().unwrap_or("").to_ascii_lowercase();
    if !(matches!(language.len(), 2 | 3) && language.chars().all(|c| c.is_ascii_lowercase())) {
        return Err(refused());
    }
    let region = parts.next().map(str::to_ascii_uppercase);
    if parts.next().is_some()
        || region.as_ref().is_some_and(|r| r.len() != 2 || !r.chars().all(|c| c.is_ascii_uppercase()))
    {
        return Err(refused());
    }
    Ok((Str::from(language).into_value(), region.map_or(Value::None, |r| Str::from(r).into_value())))
}

fn date(text: Option<&str>) -> Result<Value, PrintError> {
    // An archival file has a date, and there is no clock here to take one from.
    let Some(text) = text else { return Err(PrintError::EmptyText { what: "date" }) };
    let digits = |part: &str, count: usize| part.len() == count && part.chars().all(|c| c.is_ascii_digit());
    let parts: Vec<&str> = text.split('-').collect();
    let read = || {
        let [year, month, day] = parts[..] else { return None };
        if !(digits(year, 4) && digits(month, 2) && digits(day, 2)) {
            return None;
        }
        Datetime::from_ymd(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?)
    };
    read().map(IntoValue::into_value).ok_or_else(|| PrintError::Date { value: text.to_owned() })
}

/// Values as an array.
pub(crate) fn array(values: impl IntoIterator<Item = Value>) -> Value {
    Value::Array(values.into_iter().collect::<Array>())
}
