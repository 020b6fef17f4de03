//! A document in a terminal.

use super::{Block, Comparison, Document, Fact, Field, Sign, SignLine, legible};
use crate::table::{Align, Column, Table, pad, wrap_columns};
use crate::terminal::{Screen, TerminalOptions, level_mark};
use crate::{Act, Picture};
use unicode_width::UnicodeWidthStr;

/// Writes the document as text, each line ended, none longer than the columns given (tables of very many columns
/// apart).
#[must_use]
pub fn document_terminal(document: &Document, options: &TerminalOptions) -> String {
    let d = document;
    let mut s = Screen::new(options);
    if let Some(flag) = &d.flag {
        s.hanging(&format!("[ {} ]  ", one_line(&flag.word)), &legible(&flag.meaning));
    }
    hanging(&mut s, "", &d.running_head);
    hanging(&mut s, "", &d.title);
    hanging(&mut s, "", &d.subject);
    let mut out = Out { s, document, full: options.full };
    out.blocks(&d.blocks);
    out.s.blank();
    hanging(&mut out.s, "", &d.running_foot);
    out.s.finish()
}

fn one_line(text: &str) -> String {
    legible(text).replace('\n', " ")
}

/// A text with its own lines behind a lead; nothing for an empty one.
fn hanging(s: &mut Screen, lead: &str, text: &str) {
    let text = legible(text);
    let mut lead = lead.to_owned();
    for line in text.trim().lines() {
        s.hanging(&lead, line);
        lead = " ".repeat(lead.width());
    }
}

struct Out<'d> {
    s: Screen,
    document: &'d Document,
    full: bool,
}

impl Out<'_> {
    fn blocks(&mut self, blocks: &[Block]) {
        for block in blocks {
            self.block(block);
        }
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Answer { sign, headline, subline } => self.answer(*sign, headline, subline),
            Block::Heading { level: 0..=1, text } => self.s.heading(&one_line(text)),
            Block::Heading { text, .. } => {
                self.s.blank();
                let line = self.s.bold(&wrap_columns(&one_line(text), self.s.columns).join(" "));
                self.s.lines.push(line);
            }
            Block::Text(text) | Block::Small(text) => hanging(&mut self.s, "  ", text),
            Block::List(points) => points.iter().for_each(|p| hanging(&mut self.s, "  - ", p)),
            Block::Steps(acts) => self.steps(acts),
            Block::Notice { level, word, text } => {
                hanging(&mut self.s, &format!("{} {}  ", level_mark(*level), one_line(word)), text);
            }
            Block::Facts(facts) => self.facts(facts),
            Block::Compare(comparison) => self.compare(comparison),
            Block::Table(table) => self.table(table),
            Block::Picture(picture) => self.picture(picture),
            Block::Lines(lines) => self.sign_lines(lines),
            Block::Choices(choices) => {
                hanging(&mut self.s, "  ", &choices.label);
                for option in &choices.options {
                    hanging(&mut self.s, if option.chosen { "  [x] " } else { "  [ ] " }, &option.text);
                }
            }
            Block::Fields(fields) => fields.iter().for_each(|f| self.field(f)),
            Block::Keep(inner) => self.blocks(inner),
            Block::PageBreak => self.s.blank(),
        }
    }

    fn answer(&mut self, sign: Sign, headline: &str, subline: &str) {
        self.s.blank();
        let lead = if sign == Sign::Plain { "  ".to_owned() } else { format!("  {} ", sign.mark()) };
        let room = self.s.columns.saturating_sub(lead.width());
        for (n, line) in wrap_columns(&one_line(headline), room).into_iter().enumerate() {
            let line = self.s.bold(&line);
            let lead = if n == 0 { lead.clone() } else { " ".repeat(lead.width()) };
            self.s.lines.push(format!("{lead}{line}"));
        }
        hanging(&mut self.s, &" ".repeat(lead.width()), subline);
        self.s.blank();
    }

    fn steps(&mut self, acts: &[Act]) {
        let width =
            acts.iter().map(|a| one_line(&a.clock).width()).max().unwrap_or(0).min(self.s.columns / 3);
        for act in acts {
            let clock = wrap_columns(&one_line(&act.clock), width.max(2)).join(" ");
            let lead = format!("  {}  ", pad(&clock, width, Align::Right));
            self.s.hanging(&lead, &one_line(&act.text));
            if let Some(watch) = &act.watch {
                let word = one_line(&self.document.words.watch);
                self.s.hanging(&format!("{}{word}: ", " ".repeat(width + 4)), &one_line(watch));
            }
        }
    }

    fn facts(&mut self, facts: &[Fact]) {
        let most = self.s.columns / 3;
        let width = facts.iter().map(|f| one_line(&f.label).width()).max().unwrap_or(0).min(most);
        for f in facts {
            let labels = wrap_columns(&one_line(&f.label), width.max(2));
            let (last, first) = labels.split_last().map_or(("", &[][..]), |(l, f)| (l.as_str(), f));
            self.s.lines.extend(first.iter().map(|l| format!("  {l}")));
            let value = if f.value.trim().is_empty() { "________".to_owned() } else { one_line(&f.value) };
            let note = f.note.as_deref().map_or(String::new(), |n| format!("  ({})", one_line(n)));
            self.s.hanging(&format!("  {}  ", pad(last, width, Align::Left)), &(value + &note));
        }
    }

    fn compare(&mut self, c: &Comparison) {
        let rows = c.rows.iter().map(|m| {
            let answer = format!("{} {}", m.answer.mark(), m.word);
            let label = m.note.as_ref().map_or(m.label.clone(), |n| format!("{} ({n})", m.label));
            vec![label, m.shown.clone(), m.required.clone(), answer.trim().to_owned()]
        });
        let heads = [&c.label_word, &c.shown_word, &c.required_word, &c.answer_word];
        self.table(&Table {
            title: c.title.clone(),
            header: heads.into_iter().map(|w| Column::left(w)).collect(),
            rows: rows.collect(),
            note: None,
        });
    }

    fn table(&mut self, table: &Table) {
        self.s.blank();
        let room = self.s.columns - 2;
        let lines = super::text::legible_table(table).text_lines(room);
        self.s.lines.extend(lines.into_iter().map(|l| format!("  {l}").trim_end().to_owned()));
        self.s.blank();
    }

    /// What a picture shows, in words, and the table behind a chart where everything is asked for.
    fn picture(&mut self, picture: &Picture) {
        let (title, description) = picture.title_and_description();
        match picture {
            Picture::Chart(c) if self.full => self.table(&c.data_table()),
            _ => hanging(&mut self.s, "  ", title),
        }
        hanging(&mut self.s, "  ", description);
        for line in picture.lines_below() {
            hanging(&mut self.s, "    ", &line);
        }
    }

    fn sign_lines(&mut self, list: &[SignLine]) {
        let w = &self.document.words;
        let blank =
            |text: &str, line: &str| if text.trim().is_empty() { line.to_owned() } else { text.to_owned() };
        let rows = list.iter().map(|l| {
            let note = l.note.clone().unwrap_or_default();
            vec![
                l.meaning.clone(),
                blank(&l.name, "____________________"),
                blank(&l.at, "____________"),
                note,
            ]
        });
        let mut table = Table {
            title: String::new(),
            header: [&w.meaning, &w.name, &w.at, &w.note].map(|t| Column::left(t)).to_vec(),
            rows: rows.collect(),
            note: None,
        };
        if list.iter().all(|l| l.note.is_none()) {
            table.header.truncate(3);
            table.rows.iter_mut().for_each(|r| r.truncate(3));
        }
        self.table(&table);
    }

    fn field(&mut self, f: &Field) {
        hanging(&mut self.s, "  ", &f.label);
        hanging(&mut self.s, "    ", &f.text);
        let rule = format!("    {}", "_".repeat(self.s.columns.saturating_sub(4).min(60)));
        self.s.lines.extend(std::iter::repeat_n(rule, usize::from(f.blank_lines.min(40))));
    }
}
