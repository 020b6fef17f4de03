//! The entries of a record with the fields that a correction can set.

use fallrate_series::EventKind;
use fallrate_store::Body;
use serde_json::Value;

use crate::proof::LocalClock;
use crate::proof::record::Record;
use crate::proof::words;
use crate::words::Reader;

/// An entry as it is listed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EntryLine {
    /// Number.
    pub n: u64,
    /// When, at the plant.
    pub at: String,
    /// By whom.
    pub by: String,
    /// Why, where a reason was due.
    pub reason: String,
    /// Kind, as it stands in the record.
    pub kind: String,
    /// Fields by their names in the record, with their values.
    pub fields: Vec<(String, String)>,
    /// Whether it can be corrected or withdrawn.
    pub may_change: bool,
    /// Whether it was withdrawn.
    pub gone: bool,
}

/// The entries of a record in order.
#[must_use]
pub fn entry_lines(record: &Record) -> Vec<EntryLine> {
    let clock = LocalClock::named(&record.zone());
    let view = record.view();
    let line = |e: &fallrate_store::Entry| {
        let json = serde_json::to_value(&e.body).unwrap_or(Value::Null);
        let kind = json.get("kind").and_then(Value::as_str).unwrap_or_default().to_owned();
        let mut fields = Vec::new();
        let words = match &e.body {
            Body::Corrected(_) => json.pointer("/body/new/body"),
            _ => json.get("body"),
        };
        if let Some(body) = words {
            flatten("", body, &mut fields);
        }
        let stays = matches!(
            e.body,
            Body::Judged(_) | Body::Signed(_) | Body::Printed(_) | Body::Withdrawn(_) | Body::Unknown(_)
        );
        let gone = view
            .history
            .iter()
            .any(|h| h.entry == e.n && h.how == fallrate_store::Amendment::Withdrawn && !h.undone);
        EntryLine {
            n: e.n,
            at: clock.as_ref().map_or_else(|| e.at.iso_utc(), |c| c.day_and_minute(e.at)),
            by: e.by.clone(),
            reason: e.reason.clone(),
            kind,
            fields,
            may_change: !stays && !gone,
            gone,
        }
    };
    record.chain.entries().iter().map(line).collect()
}

/// Most fields of an entry that are shown.
const MOST: usize = 60;

fn flatten(path: &str, value: &Value, out: &mut Vec<(String, String)>) {
    let below = |key: &str| if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
    if out.len() >= MOST {
        return;
    }
    match value {
        Value::Object(o) => o.iter().for_each(|(k, v)| flatten(&below(k), v, out)),
        Value::Array(a) => a.iter().enumerate().for_each(|(n, v)| flatten(&below(&n.to_string()), v, out)),
        Value::String(s) => out.push((path.to_owned(), s.clone())),
        Value::Null => out.push((path.to_owned(), "null".to_owned())),
        other => out.push((path.to_owned(), other.to_string())),
    }
}

/// What an event is called.
#[must_use]
pub fn event_words(r: &Reader, kind: &EventKind) -> String {
    words::event(r, kind)
}

/// What a suspicion is called.
#[must_use]
pub fn suspicion_words(r: &Reader, about: fallrate_series::SuspectReason) -> String {
    words::suspicion(r, about)
}

pub use fallrate_store::CRITERION;
