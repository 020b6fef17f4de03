//! The entries of a record as a list, and lines that say what was added.

use fallrate_report::{Block, Column, Document, Table};
use fallrate_store::{Body, Entry};
use serde_json::Value;

use super::super::clock::LocalClock;
use super::super::page::{document_words, short};
use super::{Record, Restated};
use crate::words::{Reader, say};

/// "Record opened: 6 entries, head 3f9a 02c1 …".
#[must_use]
pub fn opened_line(record: &Record, r: &Reader) -> String {
    let head = short(&record.chain.head().to_string());
    say!(r, "record-opened", entries = record.chain.last_n().to_string(), head = head)
}

/// "Entry 7 added, head 3f9a 02c1 …".
#[must_use]
pub fn added_line(record: &Record, r: &Reader) -> String {
    let head = short(&record.chain.head().to_string());
    say!(r, "record-added", entry = record.chain.last_n().to_string(), head = head)
}

/// What a batch file did not change in a record.
#[must_use]
pub fn restated_lines(restated: &Restated, r: &Reader) -> Vec<String> {
    let mut lines = Vec::new();
    if restated.identity_differs {
        lines.push(r.text("record-identity-differs"));
    }
    if restated.bodies.is_empty() {
        lines.push(r.text("record-nothing"));
    }
    lines
}

/// Every entry with its number, time, person and a line of what it says.
#[must_use]
pub fn entries_document(record: &Record, r: &Reader) -> Document {
    let clock = LocalClock::named(&record.zone());
    let when = |e: &Entry| clock.as_ref().map_or_else(|| e.at.iso_utc(), |c| c.full(e.at));
    let rows = record.chain.entries().iter().map(|e| {
        let (kind, body) = kind_and_body(&e.body);
        vec![e.n.to_string(), when(e), e.by.clone(), kind, body, e.reason.clone()]
    });
    let col = |key: &str| Column::left(&r.text(key));
    Document {
        language: r.words.language().tag().to_owned(),
        title: r.text("entries-title"),
        words: document_words(r),
        blocks: vec![Block::Table(Table {
            title: String::new(),
            header: vec![
                Column::right(&r.text("proof-entry")),
                col("proof-when"),
                col("proof-by"),
                col("entries-kind"),
                col("entries-says"),
                col("proof-why"),
            ],
            rows: rows.collect(),
            note: Some(r.text("entries-note")),
        })],
        ..Document::default()
    }
}

/// The kind as it stands in the record, and its fields by name (those a correction can set).
fn kind_and_body(body: &Body) -> (String, String) {
    if let Body::Unknown(u) = body {
        return (u.kind.clone(), u.json.clone());
    }
    let Ok(json) = serde_json::to_value(body) else { return (String::new(), String::new()) };
    let kind = json.get("kind").and_then(Value::as_str).unwrap_or_default().to_owned();
    let fields = json.get("body").and_then(Value::as_object);
    let told = fields.map_or_else(String::new, |f| {
        f.iter().map(|(k, v)| format!("{k}={}", shortened(v))).collect::<Vec<_>>().join(" ")
    });
    (kind, told)
}

const MOST: usize = 60;

fn shortened(v: &Value) -> String {
    let text = match v {
        Value::String(s) => s.replace('\n', " ⏎ "),
        Value::Array(_) | Value::Object(_) => "…".to_owned(),
        v => v.to_string(),
    };
    if text.chars().count() <= MOST { text } else { text.chars().take(MOST).chain(['…']).collect() }
}
