//! The data of the blocks, each with the sizes and widths it is set in.

use crate::PrintError;
use crate::columns::{self, GAP, Need};
use crate::head::{array, headline_size};
use crate::sheet::Sheet;
use crate::words::{Style, printable};
use fallrate_report::{
    Act, Align, Block, Choices, Comparison, Document, Fact, Field, Layout, Level, Picture, Sign, SignLine,
    Table, sentence,
};
use typst::foundations::{Bytes, Dict, IntoValue, Str, Value, dict};

/// Share of a fact that its label takes.
const LABEL: f64 = 0.36;
/// Room between the two columns of facts, pt.
const FACT_GAP: f64 = 18.0;
/// Height of a picture's text area that is never exceeded, as a share of the page.
const PICTURE_HEIGHT: f64 = 0.8;
/// Blank lines in a field, at the most.
const MOST_LINES: u8 = 40;

/// Walks through the blocks of a document.
pub(crate) struct Blocks<'d> {
    document: &'d Document,
    sheet: &'d Sheet,
    /// Level of the last heading.
    level: u8,
    answered: bool,
    pictures: usize,
}

impl<'d> Blocks<'d> {
    pub fn new(document: &'d Document, sheet: &'d Sheet) -> Self {
        Self { document, sheet, level: 1, answered: false, pictures: 0 }
    }

    pub fn list(&mut self, blocks: &[Block]) -> Result<Value, PrintError> {
        let values = blocks.iter().map(|b| self.block(b)).collect::<Result<Vec<_>, _>>()?;
        Ok(array(values))
    }

    /// Blocks that stay together: a page break among them says nothing.
    fn kept(&mut self, blocks: &[Block]) -> Result<Dict, PrintError> {
        let headed = matches!(blocks.first(), Some(Block::Heading { .. }));
        let inner = blocks.iter().filter(|b| !matches!(b, Block::PageBreak));
        let values = inner.map(|b| self.block(b)).collect::<Result<Vec<_>, _>>()?;
        Ok(dict! { "headed" => headed, "blocks" => array(values) })
    }

    fn body(&self) -> Style {
        Style::regular(self.sheet.body)
    }
    fn bold(&self) -> Style {
        Style::bold(self.sheet.body)
    }
    fn small(&self) -> Style {
        Style::regular(self.sheet.small)
    }

    fn block(&mut self, block: &Block) -> Result<Value, PrintError> {
        let room = self.sheet.room();
        let (kind, data) = match block {
            Block::Answer { sign, headline, subline } => ("answer", self.answer(*sign, headline, subline)),
            Block::Heading { level, text } => ("heading", self.heading(*level, text)),
            Block::Text(text) => ("text", dict! { "text" => self.body().lines(text, room) }),
            Block::Small(text) => ("small", dict! { "text" => self.small().lines(text, room) }),
            Block::List(points) => ("list", self.points(points)),
            Block::Steps(acts) => ("steps", self.steps(acts)),
            Block::Notice { level, word, text } => ("notice", self.notice(*level, word, text)),
            Block::Facts(facts) => ("facts", self.facts(facts)),
            Block::Compare(comparison) => ("compare", self.compare(comparison)),
            Block::Table(table) => ("table", self.table(table)),
            Block::Picture(picture) => ("picture", self.picture(picture)?),
            Block::Lines(lines) => ("lines", self.sign_lines(lines)),
            Block::Choices(choices) => ("choices", self.choices(choices)),
            Block::Fields(fields) => ("fields", self.fields(fields)),
            Block::Keep(inner) => ("keep", self.kept(inner)?),
            Block::PageBreak => ("break", Dict::new()),
        };
        let mut data = data;
        data.insert("kind".into(), kind.into_value());
        Ok(Value::Dict(data))
    }

    fn answer(&mut self, sign: Sign, headline: &str, subline: &str) -> Dict {
        let s = self.sheet;
        let first = !self.answered;
        self.answered = true;
        self.level = if first { 1 } else { 2 };
        let room = if sign == Sign::Plain { s.room() } else { s.room() * 0.87 };
        let smallest = s.headlines.iter().copied().fold(f64::INFINITY, f64::min);
        let size = if first { headline_size(headline, s, room) } else { smallest };
        dict! {
            "level" => i64::from(self.level),
            "sign" => sign_bytes(sign),
            "size" => size,
            "headline" => Style::bold(size).lines(headline, room),
            "subline" => Style::regular(s.body * 1.25).lines(subline, room),
        }
    }

    fn heading(&mut self, level: u8, text: &str) -> Dict {
        self.level = level.saturating_add(1).clamp(2, (self.level + 1).min(6));
        let size = self.sheet.body
            * match self.level {
                2 => 1.35,
                3 => 1.15,
                _ => 1.0,
            };
        dict! {
            "level" => i64::from(self.level),
            "size" => size,
            "text" => Style::bold(size).lines(text, self.sheet.room()),
        }
    }

    fn points(&self, points: &[String]) -> Dict {
        let room = self.sheet.room() - self.sheet.body * 1.5;
        dict! { "points" => array(points.iter().map(|p| self.body().lines(p, room))) }
    }

    fn steps(&self, acts: &[Act]) -> Dict {
        let s = self.sheet;
        let style = Style::bold(s.step);
        let need = acts.iter().map(|a| Need::of(style, &a.clock)).fold(Need::default(), Need::and);
        let clock = need.line.min(s.room() * 0.3);
        let room = s.room() - clock - s.step * 3.0;
        let watch = |w: &String| {
            let word = self.document.words.watch.trim();
            let lead = if word.is_empty() { String::new() } else { format!("{word}: ") };
            self.body().lines(&(lead + w), room)
        };
        let act = |a: &Act| {
            Value::Dict(dict! {
                "clock" => style.lines(&a.clock, clock),
                "text" => Style::regular(s.step).lines(&a.text, room),
                "watch" => a.watch.as_ref().map_or(Value::None, watch),
            })
        };
        dict! { "clock" => clock, "acts" => array(acts.iter().map(act)) }
    }

    fn notice(&self, level: Level, word: &str, text: &str) -> Dict {
        let room = self.sheet.room() - 30.0;
        let name = match level {
            Level::Note => "note",
            Level::Caution => "caution",
            Level::Act => "act",
        };
        dict! {
            "level" => name,
            "word" => self.bold().lines(word, room),
            "text" => self.body().lines(text, room),
        }
    }

    fn facts(&self, facts: &[Fact]) -> Dict {
        let s = self.sheet;
        // Two columns where values are short enough on average to stay on a line or two.
        let half = (s.room() - FACT_GAP) / 2.0;
        let value_room = half * (1.0 - LABEL) - 8.0;
        let long = |f: &&Fact| self.bold().widest_line(&f.value) > value_room * 1.9;
        let two = facts.len() > 1 && facts.iter().filter(long).count() * 4 <= facts.len();
        let (columns, width) = if two { (2, half) } else { (1, s.room()) };
        let label = width * if two { LABEL } else { 0.26 };
        let value = width - label - 8.0;
        let fact = |f: &Fact| {
            Value::Dict(dict! {
                "label" => self.body().lines(&f.label, label),
                "value" => self.bold().lines(&f.value, value),
                "note" => optional(f.note.as_deref(), |n| self.small().lines(n, value)),
            })
        };
        dict! {
            "columns" => columns, "label" => label, "value" => value, "gap" => FACT_GAP,
            "facts" => array(facts.iter().map(fact)),
        }
    }

    fn compare(&self, c: &Comparison) -> Dict {
        let s = self.sheet;
        let sign_room = s.figure + 6.0;
        let head = Style::bold(s.small);
        let shown = [s.figure, s.figure * 0.85, s.body].map(Style::bold);
        let needs = |shown: Style| {
            let start =
                [&c.label_word, &c.shown_word, &c.required_word, &c.answer_word].map(|w| Need::of(head, w));
            c.rows.iter().fold(start, |n, m| {
                let label = Need::of(self.bold(), &m.label);
                let note = Need::of(self.small(), m.note.as_deref().unwrap_or(""));
                let answer = Need::of(self.bold(), &m.word);
                let sign = if m.answer == Sign::Plain { 0.0 } else { sign_room };
                [
                    n[0].and(label).and(Need { line: note.line.min(s.room() * 0.4), word: note.word }),
                    n[1].and(Need::of(shown, &m.shown)),
                    n[2].and(Need::of(self.body(), &m.required)),
                    n[3].and(Need { line: answer.line + sign, word: answer.word + sign }),
                ]
            })
        };
        let room = s.room() - 3.0 * GAP;
        let found = shown.iter().find_map(|style| Some((*style, compared(&needs(*style), room)?)));
        let (style, widths) =
            found.unwrap_or_else(|| (shown[2], vec![room * 0.34, room * 0.22, room * 0.24, room * 0.2]));
        let w = |i: usize| widths.get(i).copied().unwrap_or(room / 4.0);
        let row = |m: &fallrate_report::Measure| {
            Value::Dict(dict! {
                "label" => self.bold().lines(&m.label, w(0)),
                "note" => optional(m.note.as_deref(), |n| self.small().lines(n, w(0))),
                "shown" => style.lines(&m.shown, w(1)),
                "required" => self.body().lines(&m.required, w(2)),
                "sign" => sign_bytes(m.answer),
                "word" => self.bold().lines(&m.word, w(3) - sign_room),
            })
        };
        let heads = [&c.label_word, &c.shown_word, &c.required_word, &c.answer_word];
        dict! {
            "title" => self.bold().lines(&c.title, s.room()),
            "heads" => array(heads.iter().enumerate().map(|(i, t)| head.lines(t, w(i)))),
            "widths" => array(widths.iter().map(|w| w.into_value())),
            "shown_size" => style.size,
            "sign_size" => s.figure,
            "rows" => array(c.rows.iter().map(row)),
        }
    }

    fn table(&self, table: &Table) -> Dict {
        let s = self.sheet;
        let (size, widths) = columns::fit(table, s.body, s.room());
        let width = |i: usize| widths.get(i).copied().unwrap_or(1.0);
        let right = |i: usize| table.header.get(i).is_some_and(|c| c.align == Align::Right);
        let heads = (0..widths.len())
            .map(|i| Style::bold(size).lines(table.header.get(i).map_or("", |c| c.text.as_str()), width(i)));
        let headed = table.header.iter().any(|c| !c.text.trim().is_empty());
        let row = |row: &Vec<String>| {
            array(
                (0..widths.len())
                    .map(|i| Style::regular(size).lines(row.get(i).map_or("", String::as_str), width(i))),
            )
        };
        dict! {
            "title" => self.bold().lines(&table.title, s.room()),
            "size" => size,
            "widths" => array(widths.iter().map(|w| w.into_value())),
            "right" => array((0..widths.len()).map(|i| right(i).into_value())),
            "heads" => if headed { array(heads) } else { Value::None },
            "rows" => array(table.rows.iter().map(row)),
            "note" => optional(table.note.as_deref(), |n| self.small().lines(n, s.room())),
        }
    }

    fn picture(&mut self, picture: &Picture) -> Result<Dict, PrintError> {
        let s = self.sheet;
        self.pictures += 1;
        let (title, description) = picture.title_and_description();
        let words = printable(format!("{} {}", sentence(title), sentence(description)).trim());
        if words.chars().all(|c| !c.is_alphanumeric()) {
            return Err(PrintError::NoAlternative { number: self.pictures });
        }
        // A drawing is made in px at 15 px a letter, and set so that its letters have the size of the sheet's.
        let scale = s.picture / Layout::wide().font_size;
        let layout = Layout { width: s.room() / scale, ..Layout::wide() };
        let svg = picture.svg_for_paper(&layout, &format!("picture{}", self.pictures));
        let (width, height) = size_of(&svg).unwrap_or((layout.width, layout.width));
        let most = (s.height - s.top - s.bottom) * PICTURE_HEIGHT;
        let shown = s.room().min(most * width / height.max(1.0));
        let below = picture.lines_below();
        Ok(dict! {
            "alt" => Str::from(words.replace('\n', " ")),
            "svg" => Value::Bytes(Bytes::from_string(svg)),
            "width" => shown,
            "lines" => array(below.iter().map(|l| self.small().lines(l, s.room()))),
        })
    }

    fn sign_lines(&self, list: &[SignLine]) -> Dict {
        let s = self.sheet;
        let w = &self.document.words;
        let notes = list.iter().any(|l| l.note.is_some());
        let shares: &[f64] = if notes { &[0.23, 0.33, 0.2, 0.24] } else { &[0.27, 0.47, 0.26] };
        let room = s.room() - GAP * (shares.len() - 1) as f64;
        let width = |i: usize| shares.get(i).copied().unwrap_or(0.2) * room;
        let heads = [&w.meaning, &w.name, &w.at, &w.note];
        let line = |l: &SignLine| {
            let texts = [&l.meaning, &l.name, &l.at].into_iter().enumerate();
            let style = |i| if i == 0 { self.bold() } else { self.body() };
            let mut cells: Vec<Value> = texts.map(|(i, t)| style(i).lines(t, width(i))).collect();
            if notes {
                cells.push(self.body().lines(l.note.as_deref().unwrap_or(""), width(3)));
            }
            array(cells)
        };
        let head = Style::bold(s.small);
        dict! {
            "widths" => array((0..shares.len()).map(|i| width(i).into_value())),
            "heads" => array((0..shares.len()).map(|i| head.lines(heads.get(i).map_or("", |h| h.as_str()), width(i)))),
            "lines" => array(list.iter().map(line)),
        }
    }

    fn choices(&self, c: &Choices) -> Dict {
        let room = self.sheet.room() - self.sheet.body * 2.0;
        let words = &self.document.words;
        let option = |o: &fallrate_report::Choice| {
            let (word, style) =
                if o.chosen { (&words.chosen, self.bold()) } else { (&words.not_chosen, self.body()) };
            Value::Dict(dict! {
                "chosen" => o.chosen,
                "alt" => if word.trim().is_empty() { Str::from(if o.chosen { "x" } else { "-" }) } else { Str::from(printable(word)) },
                "text" => style.lines(&o.text, room),
            })
        };
        dict! {
            "label" => self.bold().lines(&c.label, self.sheet.room()),
            "options" => array(c.options.iter().map(option)),
        }
    }

    fn fields(&self, fields: &[Field]) -> Dict {
        let field = |f: &Field| {
            Value::Dict(dict! {
                "label" => self.bold().lines(&f.label, self.sheet.room()),
                "text" => self.body().lines(&f.text, self.sheet.room()),
                "lines" => i64::from(f.blank_lines.min(MOST_LINES)),
            })
        };
        dict! { "fields" => array(fields.iter().map(field)) }
    }
}

fn optional(text: Option<&str>, value: impl FnOnce(&str) -> Value) -> Value {
    text.filter(|t| !t.trim().is_empty()).map_or(Value::None, value)
}

/// Widths of a comparison: its figures and answers stay on one line where the labels can do with what is left.
fn compared(needs: &[Need; 4], room: f64) -> Option<Vec<f64>> {
    let [label, rest @ ..] = needs;
    let lines: f64 = rest.iter().map(|n| n.line).sum();
    let left = room - lines;
    if left >= label.word.max(room * 0.3) {
        return Some(std::iter::once(left).chain(rest.iter().map(|n| n.line)).collect());
    }
    columns::unbroken(needs, room)
}

fn sign_bytes(sign: Sign) -> Value {
    sign.svg_for_paper().map_or(Value::None, |svg| Value::Bytes(Bytes::from_string(svg)))
}

/// Width and height of a drawing of the crate `report`, px.
fn size_of(svg: &str) -> Option<(f64, f64)> {
    let attribute = |name: &str| {
        let (_, rest) = svg.split_once(&format!(" {name}=\""))?;
        rest.split_once('"')?.0.parse::<f64>().ok()
    };
    Some((attribute("width")?, attribute("height")?))
}
