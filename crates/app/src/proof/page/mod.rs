//! A judged batch as a document: page one for an inspector, then evidence, method, sources and history.

mod evidence;
mod front;
mod history;
mod lot;
mod pictures;
mod readings;
mod sources;

use fallrate_lethality::{Answer, Judgement, LotAnswer, RecordedAction};
use fallrate_report::{Document, DocumentWords, Flag, Level, Paper};
use fallrate_store::RecordView;

use super::batch_file::Batch;
use super::judged::Judged;
use super::words;
use crate::words::{Reader, Units, say, trimmed};

/// What a document of a batch is made of.
#[derive(Clone, Copy, Debug)]
pub struct BatchDocument<'a> {
    /// What was claimed and stated.
    pub file: &'a Batch,
    /// What was judged.
    pub judged: &'a Judged,
    /// The record it stands in; `None` for a judgement outside a record.
    pub record: Option<&'a RecordView>,
}

/// The pieces every part of the document needs.
pub(super) struct Sheet<'a> {
    pub r: &'a Reader,
    pub file: &'a Batch,
    pub j: &'a Judged,
    pub record: Option<&'a RecordView>,
    pub lot: LotAnswer,
}

impl BatchDocument<'_> {
    /// Page one alone.
    #[must_use]
    pub fn first_page(&self, reader: &Reader) -> Document {
        let whole = self.document(reader);
        let end = whole.blocks.iter().position(|b| matches!(b, fallrate_report::Block::PageBreak));
        let blocks = whole.blocks.into_iter().take(end.unwrap_or(usize::MAX)).collect();
        Document { blocks, ..whole }
    }
    /// The document in the reader's language and units.
    #[must_use]
    pub fn document(&self, reader: &Reader) -> Document {
        let lot = self.judged.lot_answer(&recorded(self.record));
        let s = Sheet { r: reader, file: self.file, j: self.judged, record: self.record, lot };
        let mut blocks = front::page_one(&s);
        blocks.extend(evidence::blocks(&s));
        blocks.extend(sources::blocks(&s));
        blocks.extend(history::blocks(&s));
        let id = &self.file.identity;
        Document {
            language: reader.words.language().tag().to_owned(),
            title: say!(reader, "proof-title", lot = id.lot.clone()),
            subject: s.subject(),
            author: id.establishment.clone(),
            date: Some(self.file.date.to_string()),
            paper: s.paper(),
            flag: s.flag(),
            running_head: say!(reader, "proof-head", who = id.establishment.clone(), lot = id.lot.clone()),
            running_foot: s.foot(),
            page_word: reader.text("proof-page"),
            words: document_words(reader),
            blocks,
        }
    }
}

/// Corrective actions as the record holds them.
fn recorded(record: Option<&RecordView>) -> Vec<RecordedAction> {
    let all = record.into_iter().flat_map(|v| &v.deviations);
    all.map(|d| RecordedAction { name: d.name.clone(), action: d.action.clone() }).collect()
}

/// The small words of every document.
pub(crate) fn document_words(r: &Reader) -> DocumentWords {
    DocumentWords {
        table_behind: r.text("doc-table-behind"),
        watch: r.text("doc-watch"),
        meaning: r.text("doc-meaning"),
        name: r.text("doc-name"),
        at: r.text("doc-at"),
        note: r.text("doc-note"),
        chosen: r.text("doc-chosen"),
        not_chosen: r.text("doc-not-chosen"),
    }
}

impl Sheet<'_> {
    pub fn judgement(&self) -> &Judgement {
        self.j.verdict.judgement()
    }
    pub fn answer_word(&self, a: Answer) -> String {
        words::answer(self.r, a)
    }
    fn subject(&self) -> String {
        let id = &self.file.identity;
        let code = if id.code.is_empty() { String::new() } else { format!(" ({})", id.code) };
        let mut parts = vec![format!("{}{code}", id.product)];
        parts.extend(id.quantity.map(|m| self.r.mass(m.kilograms(), 1)));
        parts.push(say!(self.r, "proof-lot", lot = id.lot.clone()));
        parts.join(" · ")
    }
    fn paper(&self) -> Paper {
        match self.r.units {
            Units::Si => Paper::A4,
            Units::Us => Paper::Letter,
        }
    }
    fn flag(&self) -> Option<Flag> {
        self.file.identity.invented.then(|| Flag {
            word: self.r.text("proof-flag-demo"),
            meaning: self.r.text("proof-flag-demo-meaning"),
        })
    }
    fn foot(&self) -> String {
        let version = say!(self.r, "proof-foot", version = crate::VERSION);
        match self.record {
            Some(v) => say!(self.r, "proof-foot-head", head = short(&v.head.to_string()), version = version),
            None => version,
        }
    }
    /// "145 °F (62.8 °C)": a row is printed as its table prints it.
    pub fn row(&self, row_f: f64) -> String {
        words::row(self.r, row_f)
    }
    /// "146 min", "4.5 min".
    pub fn minutes(&self, minutes: f64) -> String {
        if !minutes.is_finite() {
            return self.r.text("proof-not-known");
        }
        let digits = usize::from(minutes < 9.95);
        // Shown time is never rounded up to a limit.
        let scale = if digits == 1 { 10.0 } else { 1.0 };
        format!("{} min", trimmed((minutes * scale + 1e-6).floor() / scale, digits))
    }
    /// Seconds as seconds below two minutes, else minutes.
    pub fn seconds(&self, s: f64) -> String {
        if !s.is_finite() {
            return self.r.text("proof-not-known");
        }
        if s < 120.0 { format!("{} s", trimmed((s + 1e-6).floor(), 0)) } else { self.minutes(s / 60.0) }
    }
    /// A tolerance or margin: "0.9 °F", "0.5 K".
    pub fn difference(&self, kelvin: f64) -> String {
        match self.r.units {
            Units::Us => format!("{} °F", trimmed(kelvin * 1.8, 1)),
            Units::Si => format!("{} K", trimmed(kelvin, 2)),
        }
    }
    /// "08:05", with the date where it is another day.
    pub fn clock(&self, at: fallrate_series::Instant) -> String {
        let day = self.file.clock.day(at);
        if day == self.file.date.to_string() {
            self.file.clock.minute(at)
        } else {
            self.file.clock.day_and_minute(at)
        }
    }
    /// "08:05 to 10:31".
    pub fn span(&self, s: fallrate_series::Span) -> String {
        say!(self.r, "proof-span", from = self.clock(s.from()), to = self.clock(s.to()))
    }
    pub fn notice(&self, level: Level, text: String) -> fallrate_report::Block {
        let word = self.r.text(match level {
            Level::Note => "level-note",
            Level::Caution => "level-caution",
            Level::Act => "level-act",
        });
        fallrate_report::Block::Notice { level, word, text }
    }
}

/// The first digits of a hash, in groups, for reading aloud.
pub(crate) fn short(hash: &str) -> String {
    let head: Vec<char> = hash.chars().take(16).collect();
    head.chunks(4).map(|c| c.iter().collect::<String>()).collect::<Vec<_>>().join(" ")
}

/// A whole hash in groups.
pub(crate) fn grouped(hash: &str) -> String {
    let all: Vec<char> = hash.chars().collect();
    all.chunks(8).map(|c| c.iter().collect::<String>()).collect::<Vec<_>>().join(" ")
}
