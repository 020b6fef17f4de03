//! From the bytes of a file to lines and entries, with everything that is wrong.

use std::collections::BTreeMap;

use serde::Deserialize;
use serde::de::IgnoredAny;
use serde_json::value::RawValue;

use crate::entry::{HASH_KEY, HASH_TAIL, decode, seal};
use crate::{Digest, Entry, EntryBody, Note, NoteKind, Problem, ProblemKind, instant_from_iso};

/// Fields of a line, in their order.
const FIELDS: [&str; 9] = ["n", "at", "zone", "by", "reason", "kind", "body", "previous", "hash"];

#[derive(Deserialize)]
struct Envelope<'a> {
    n: u64,
    at: String,
    zone: String,
    by: String,
    reason: String,
    kind: String,
    #[serde(borrow)]
    body: &'a RawValue,
    previous: String,
    hash: String,
}

/// What was read.
pub(crate) struct Read<B> {
    pub(crate) entries: Vec<Entry<B>>,
    pub(crate) lines: Vec<String>,
    pub(crate) problems: Vec<Problem>,
    pub(crate) notes: Vec<Note>,
}

/// Reads all lines, going on after a damaged one as far as the chain can be followed.
pub(crate) fn read_lines<B: EntryBody>(bytes: &[u8]) -> Read<B> {
    let mut read = Read { entries: Vec::new(), lines: Vec::new(), problems: Vec::new(), notes: Vec::new() };
    if bytes.is_empty() {
        read.problems.push(Problem::new(1, ProblemKind::Empty, "no bytes", "at least one line"));
        return read;
    }
    let mut previous = Digest::ZERO;
    for (at, line) in bytes.split_inclusive(|b| *b == b'\n').enumerate() {
        let number = at as u64 + 1;
        let text = match line.strip_suffix(b"\n") {
            Some(text) => text,
            None => {
                read.problems.push(Problem::new(
                    number,
                    ProblemKind::NoLineFeed,
                    "the file ends here",
                    "a line feed after every line",
                ));
                line
            }
        };
        // The digest of what stands here is what the next line must name, whatever this line says of itself.
        let sealed = text.len().checked_sub(HASH_TAIL).map(|end| seal(text.get(..end).unwrap_or(text)));
        one_line(number, text, previous, sealed, &mut read);
        previous = sealed.unwrap_or(Digest::ZERO);
    }
    read
}

fn one_line<B: EntryBody>(
    number: u64,
    bytes: &[u8],
    previous: Digest,
    sealed: Option<Digest>,
    read: &mut Read<B>,
) {
    let mut problem = |kind, found: &str, expected: &str| {
        read.problems.push(Problem::new(number, kind, found, expected));
    };
    let Ok(text) = std::str::from_utf8(bytes) else {
        return problem(ProblemKind::NotAnEntry, "bytes that are not UTF-8", "one JSON object");
    };
    let envelope: Envelope<'_> = match serde_json::from_str(text) {
        Ok(envelope) => envelope,
        Err(e) => return problem(ProblemKind::NotAnEntry, &e.to_string(), "one JSON object with all fields"),
    };
    let tail = text.len().checked_sub(HASH_TAIL).and_then(|end| text.get(end..));
    let Some((sealed, written)) =
        sealed.zip(tail.and_then(|t| t.strip_prefix(HASH_KEY)?.strip_suffix("\"}")))
    else {
        return problem(
            ProblemKind::NoHash,
            "another end of the line",
            ",\"hash\":\"64 digits\"} at its end",
        );
    };
    if envelope.n != number {
        problem(ProblemKind::Number, &envelope.n.to_string(), &number.to_string());
    }
    if written != sealed.to_string() || envelope.hash != written {
        problem(ProblemKind::Hash, written, &sealed.to_string());
    }
    if envelope.previous != previous.to_string() {
        problem(ProblemKind::Previous, &envelope.previous, &previous.to_string());
    }
    let Ok(at) = instant_from_iso(&envelope.at) else {
        return problem(ProblemKind::NotAnEntry, &envelope.at, "an instant like 2024-03-01T06:40:00Z");
    };
    let entry = Entry {
        n: envelope.n,
        at,
        zone: envelope.zone,
        by: envelope.by,
        reason: envelope.reason,
        body: decode::<B>(&envelope.kind, envelope.body.get()),
        previous,
        hash: sealed,
    };
    notes(number, text, &entry, read.entries.last(), &mut read.notes);
    for rule in [crate::rules::check_envelope(&entry).err(), entry.body.check(&entry, &read.entries).err()]
        .into_iter()
        .flatten()
    {
        read.problems.push(Problem::broken_rule(number, rule));
    }
    read.lines.push(text.to_owned());
    read.entries.push(entry);
}

fn notes<B: EntryBody>(
    line: u64,
    text: &str,
    entry: &Entry<B>,
    before: Option<&Entry<B>>,
    notes: &mut Vec<Note>,
) {
    if let Some(back) = before.map(|b| b.at.seconds_since(entry.at)).filter(|s| *s > 0.0) {
        notes.push(Note { line, kind: NoteKind::ClockWentBack { by_s: back } });
    }
    if let Some(u) = entry.body.as_unknown() {
        notes.push(Note { line, kind: NoteKind::Unknown { kind: u.kind.clone(), why: u.why.clone() } });
    }
    let fields: BTreeMap<String, IgnoredAny> = serde_json::from_str(text).unwrap_or_default();
    for name in fields.keys().filter(|k| !FIELDS.contains(&k.as_str())) {
        notes.push(Note { line, kind: NoteKind::UnknownField { name: name.clone() } });
    }
}
