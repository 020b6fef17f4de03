//! Plain tables: for a terminal as text, for a page as HTML.

use crate::escape;
use unicode_width::UnicodeWidthStr;

/// A table of finished texts.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    /// What it shows.
    pub title: String,
    /// The columns.
    pub header: Vec<Column>,
    /// The rows; short rows are filled with empty cells, cells beyond the header are shown without a heading.
    pub rows: Vec<Vec<String>>,
    /// A note below.
    pub note: Option<String>,
}

/// A column's heading (with its unit) and side.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Column {
    /// Heading, unit included.
    pub text: String,
    /// Words left, numbers right.
    pub align: Align,
}

impl Column {
    /// A column of words.
    #[must_use]
    pub fn left(text: &str) -> Self {
        Self { text: text.to_owned(), align: Align::Left }
    }
    /// A column of numbers.
    #[must_use]
    pub fn right(text: &str) -> Self {
        Self { text: text.to_owned(), align: Align::Right }
    }
}

/// The side on which a column's texts stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Align {
    /// Words.
    #[default]
    Left,
    /// Numbers.
    Right,
}

/// Makes text fit for one line of a terminal: control characters (colour codes among them) become spaces.
pub(crate) fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// Breaks text into lines of at most `width` terminal columns; longer words are broken inside.
#[must_use]
pub(crate) fn wrap_columns(text: &str, width: usize) -> Vec<String> {
    let width = width.max(2);
    let mut lines = vec![String::new()];
    let mut used = 0;
    for word in plain(text).split_whitespace() {
        let long = word.width();
        if used > 0 && used + 1 + long > width {
            lines.push(String::new());
            used = 0;
        }
        let Some(mut line) = lines.pop() else { continue };
        if used > 0 {
            line.push(' ');
            used += 1;
        }
        for c in word.chars() {
            let w = c.to_string().width();
            if used + w > width {
                lines.push(std::mem::take(&mut line));
                used = 0;
            }
            line.push(c);
            used += w;
        }
        lines.push(line);
    }
    lines
}

/// Fills text with spaces to `width` terminal columns.
pub(crate) fn pad(text: &str, width: usize, align: Align) -> String {
    let space = " ".repeat(width.saturating_sub(text.width()));
    match align {
        Align::Left => format!("{text}{space}"),
        Align::Right => format!("{space}{text}"),
    }
}

impl Table {
    fn columns(&self) -> usize {
        self.rows.iter().map(Vec::len).max().unwrap_or(0).max(self.header.len())
    }

    fn align(&self, column: usize) -> Align {
        self.header.get(column).map_or(Align::Left, |c| c.align)
    }

    /// Column widths that fit `width`: natural where possible, else the widest columns give way first.
    fn widths(&self, width: usize) -> Vec<usize> {
        let cell = |row: &Vec<String>, i: usize| row.get(i).map_or(0, |t| plain(t).width());
        let heading = |i: usize| self.header.get(i).map_or(0, |c| plain(&c.text).width());
        let mut widths: Vec<usize> = (0..self.columns())
            .map(|i| self.rows.iter().map(|r| cell(r, i)).max().unwrap_or(0).max(heading(i)).max(1))
            .collect();
        let word = |text: &str| plain(text).split_whitespace().map(UnicodeWidthStr::width).max().unwrap_or(0);
        let longest: Vec<usize> = (0..self.columns())
            .map(|i| {
                let cells = self.rows.iter().filter_map(|r| r.get(i)).map(|t| word(t)).max().unwrap_or(0);
                cells.max(self.header.get(i).map_or(0, |c| word(&c.text))).max(1)
            })
            .collect();
        let gaps = 2 * widths.len().saturating_sub(1);
        let room = width.saturating_sub(gaps).max(widths.len() * 2);
        while widths.iter().sum::<usize>() > room {
            // Words are broken only where nothing else helps.
            let roomy = (0..widths.len()).filter(|&i| widths[i] > longest[i]).max_by_key(|&i| widths[i]);
            let Some(widest) = roomy.or_else(|| (0..widths.len()).max_by_key(|&i| widths[i])) else { break };
            if widths[widest] <= 2 {
                break;
            }
            widths[widest] -= 1;
        }
        widths
    }

    fn line(&self, cells: &[String], widths: &[usize], out: &mut Vec<String>) {
        let empty = String::new();
        let wrapped: Vec<Vec<String>> = widths
            .iter()
            .enumerate()
            .map(|(i, w)| wrap_columns(cells.get(i).unwrap_or(&empty), *w))
            .collect();
        for n in 0..wrapped.iter().map(Vec::len).max().unwrap_or(0) {
            let parts: Vec<String> = wrapped
                .iter()
                .zip(widths)
                .enumerate()
                .map(|(i, (lines, w))| pad(lines.get(n).unwrap_or(&empty), *w, self.align(i)))
                .collect();
            out.push(parts.join("  ").trim_end().to_owned());
        }
    }

    /// The lines for a terminal of `width` columns: title, headings, a rule, rows, note. Rows whose columns are more
    /// than half as many as `width` may be longer.
    #[must_use]
    pub fn text_lines(&self, width: usize) -> Vec<String> {
        let mut out = vec![];
        if !self.title.trim().is_empty() {
            out.extend(wrap_columns(&self.title, width));
        }
        let widths = self.widths(width);
        if self.header.iter().any(|c| !c.text.is_empty()) {
            self.line(&self.header.iter().map(|c| c.text.clone()).collect::<Vec<_>>(), &widths, &mut out);
            out.push(widths.iter().map(|w| "─".repeat(*w)).collect::<Vec<_>>().join("  "));
        }
        for row in &self.rows {
            self.line(row, &widths, &mut out);
        }
        if let Some(note) = &self.note {
            out.extend(wrap_columns(note, width));
        }
        out
    }

    /// The table as text, each line ended.
    #[must_use]
    pub fn text(&self, width: usize) -> String {
        self.text_lines(width).into_iter().map(|l| l + "\n").collect()
    }

    /// The table as an HTML element.
    #[must_use]
    pub fn html(&self) -> String {
        let side = |i: usize| if self.align(i) == Align::Right { " class=\"num\"" } else { "" };
        let mut out = String::from("<div class=\"scroll\"><table>\n");
        if !self.title.trim().is_empty() {
            out.push_str(&format!("<caption>{}</caption>\n", escape(&self.title)));
        }
        if self.header.iter().any(|c| !c.text.is_empty()) {
            out.push_str("<thead><tr>");
            for i in 0..self.columns() {
                let text = self.header.get(i).map_or("", |c| c.text.as_str());
                out.push_str(&format!("<th scope=\"col\"{}>{}</th>", side(i), escape(text)));
            }
            out.push_str("</tr></thead>\n");
        }
        out.push_str("<tbody>\n");
        for row in &self.rows {
            out.push_str("<tr>");
            for i in 0..self.columns() {
                let text = escape(row.get(i).map_or("", String::as_str));
                out.push_str(&format!("<td{}>{text}</td>", side(i)));
            }
            out.push_str("</tr>\n");
        }
        out.push_str("</tbody></table></div>\n");
        if let Some(note) = &self.note {
            out.push_str(&format!("<p class=\"note\">{}</p>\n", escape(note)));
        }
        out
    }
}
