//! A plan in a terminal: the same page, about one screen, calm and aligned.

use crate::page::{Caution, FigureGroup, Level, PlanPage, Timer, Words};
use crate::table::{Align, pad, plain, wrap_columns};
use unicode_width::UnicodeWidthStr;

/// How a terminal is written to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TerminalOptions {
    /// Columns, 40 or more.
    pub columns: usize,
    /// Bold and dim by ANSI codes; nothing is said by them alone.
    pub styled: bool,
    /// Tables and sources too.
    pub full: bool,
}

impl Default for TerminalOptions {
    fn default() -> Self {
        Self { columns: 100, styled: false, full: true }
    }
}

/// The text under way.
pub(crate) struct Screen {
    pub lines: Vec<String>,
    pub columns: usize,
    styled: bool,
}

impl Screen {
    pub fn new(options: &TerminalOptions) -> Self {
        Self { lines: vec![], columns: options.columns.max(40), styled: options.styled }
    }
    pub fn bold(&self, text: &str) -> String {
        if self.styled { format!("\u{1b}[1m{text}\u{1b}[0m") } else { text.to_owned() }
    }
    pub fn blank(&mut self) {
        if self.lines.last().is_some_and(|l| !l.is_empty()) {
            self.lines.push(String::new());
        }
    }
    /// A heading followed by a rule to the right edge.
    pub fn heading(&mut self, text: &str) {
        self.blank();
        let text = wrap_columns(text, self.columns).swap_remove(0);
        let rule = "─".repeat(self.columns.saturating_sub(text.width() + 1));
        self.lines.push(format!("{} {rule}", self.bold(&text)).trim_end().to_owned());
    }
    /// Everything, each line ended.
    pub fn finish(self) -> String {
        self.lines.into_iter().map(|l| l + "\n").collect()
    }
    /// A text behind a lead; later lines stand under the first.
    pub fn hanging(&mut self, lead: &str, text: &str) {
        let indent = lead.width();
        for (n, line) in wrap_columns(text, self.columns.saturating_sub(indent)).into_iter().enumerate() {
            let lead = if n == 0 { lead.to_owned() } else { " ".repeat(indent) };
            self.lines.push(format!("{lead}{line}").trim_end().to_owned());
        }
    }
}

/// Writes the page as text, each line ended, none longer than the columns given.
#[must_use]
pub fn terminal(page: &PlanPage, words: &Words, options: &TerminalOptions) -> String {
    let mut s = Screen::new(options);
    header(&mut s, page, words);
    if let Some(t) = &page.timer {
        timer(&mut s, t, words);
    }
    acts(&mut s, page, words);
    for group in &page.figures {
        figures(&mut s, group);
    }
    let quiet: Vec<&Caution> = page.cautions.iter().filter(|c| c.level != Level::Act).collect();
    if !quiet.is_empty() {
        s.heading(&words.cautions);
        cautions(&mut s, &quiet, words);
    }
    if options.full {
        rest(&mut s, page, words);
    }
    for (n, line) in page.footer.iter().enumerate() {
        if n == 0 {
            s.blank();
        }
        s.hanging("", line);
    }
    s.finish()
}

fn header(s: &mut Screen, page: &PlanPage, words: &Words) {
    if let Some(flag) = &page.flag {
        s.hanging(&format!("[ {} ]  ", plain(&flag.word)), &flag.meaning);
    }
    if !page.subject.trim().is_empty() {
        s.hanging("", &page.subject);
    }
    s.blank();
    for line in wrap_columns(&page.headline, s.columns - 2) {
        let line = s.bold(&line);
        s.lines.push(format!("  {line}"));
    }
    if !page.subline.trim().is_empty() {
        s.hanging("  ", &page.subline);
    }
    let urgent: Vec<&Caution> = page.cautions.iter().filter(|c| c.level == Level::Act).collect();
    if !urgent.is_empty() {
        s.blank();
        cautions(s, &urgent, words);
    }
}

/// Two columns before a caution.
pub(crate) const fn level_mark(level: Level) -> &'static str {
    match level {
        Level::Note => "  ",
        Level::Caution => "! ",
        Level::Act => "!!",
    }
}

fn cautions(s: &mut Screen, list: &[&Caution], words: &Words) {
    let word = |c: &Caution| plain(words.level(c.level));
    let width = list.iter().map(|c| word(c).width()).max().unwrap_or(0);
    for c in list {
        let sign = level_mark(c.level);
        s.hanging(&format!("{sign} {}  ", pad(&word(c), width, Align::Left)), &c.text);
    }
}

fn timer(s: &mut Screen, t: &Timer, words: &Words) {
    s.heading(&words.timer);
    let ends: Vec<String> =
        [(&words.early, &t.early), (&words.expected, &t.expected), (&words.late, &t.late)]
            .into_iter()
            .filter(|(_, v)| !v.trim().is_empty())
            .map(|(name, v)| format!("{} {}", plain(name), plain(v)))
            .collect();
    let dial = s.bold(&plain(&t.dial));
    let ends = ends.join("   ");
    if plain(&t.dial).width() + ends.width() + 8 <= s.columns {
        s.lines.push(format!("  {dial}      {ends}").trim_end().to_owned());
    } else {
        s.lines.push(format!("  {dial}"));
        s.hanging("  ", &ends);
    }
    for reason in &t.reasons {
        s.hanging("  - ", reason);
    }
}

fn acts(s: &mut Screen, page: &PlanPage, words: &Words) {
    if page.acts.is_empty() {
        return;
    }
    s.heading(&words.acts);
    let width = page.acts.iter().map(|a| plain(&a.clock).width()).max().unwrap_or(0).min(s.columns / 3);
    for act in &page.acts {
        let clock = wrap_columns(&act.clock, width.max(2)).join(" ");
        s.hanging(&format!("  {}  ", pad(&clock, width, Align::Right)), &act.text);
        if let Some(watch) = &act.watch {
            let lead = format!("{}{}: ", " ".repeat(width + 4), plain(&words.watch));
            s.hanging(&lead, watch);
        }
    }
}

fn figures(s: &mut Screen, group: &FigureGroup) {
    s.heading(&group.title);
    if let Some(summary) = &group.summary {
        s.hanging("  ", summary);
    }
    let label = group.figures.iter().map(|f| plain(&f.label).width()).max().unwrap_or(0).min(s.columns / 3);
    let number = group.figures.iter().map(|f| plain(&f.value).width()).max().unwrap_or(0).min(s.columns / 4);
    let unit = group.figures.iter().map(|f| plain(&f.unit).width()).max().unwrap_or(0).min(s.columns / 6);
    for f in &group.figures {
        let names = wrap_columns(&f.label, label);
        let first = names.first().map_or("", String::as_str);
        let lead = format!(
            "  {}  {} {}  ",
            pad(first, label, Align::Left),
            pad(&plain(&f.value), number, Align::Right),
            pad(&plain(&f.unit), unit, Align::Left)
        );
        let indent = lead.width();
        let notes = wrap_columns(f.note.as_deref().unwrap_or(""), s.columns.saturating_sub(indent));
        s.lines.push(format!("{lead}{}", notes.first().map_or("", String::as_str)).trim_end().to_owned());
        // The name and the note go on side by side.
        for n in 1..names.len().max(notes.len()) {
            let at = |list: &[String]| list.get(n).cloned().unwrap_or_default();
            let name = pad(&format!("  {}", at(&names)), indent, Align::Left);
            s.lines.push(format!("{name}{}", at(&notes)).trim_end().to_owned());
        }
    }
}

fn rest(s: &mut Screen, page: &PlanPage, words: &Words) {
    for table in &page.tables {
        s.heading(&table.title);
        let untitled = crate::Table { title: String::new(), ..table.clone() };
        let lines =
            untitled.text_lines(s.columns - 2).into_iter().map(|l| format!("  {l}").trim_end().to_owned());
        s.lines.extend(lines);
    }
    if page.sources.is_empty() {
        return;
    }
    s.heading(&words.sources);
    for source in &page.sources {
        let basis = if source.basis.is_empty() { String::new() } else { format!(" ({})", source.basis) };
        let used = if source.used_for.is_empty() { String::new() } else { format!("{}: ", source.used_for) };
        s.hanging("  ", &format!("{used}{}{basis}", source.text));
    }
}
