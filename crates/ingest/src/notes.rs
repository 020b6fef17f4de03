//! Collecting diagnostics: what repeats row after row becomes one entry with a count.

use std::collections::BTreeMap;

use fallrate_series::{Diagnostic, DiagnosticKind, Instant, Span};

/// Where something was noticed.
#[derive(Clone, Copy, Debug, Default)]
pub struct Where {
    /// Row counted from the first of the table.
    pub row: u64,
    /// Line of the file, from 1.
    pub line: u64,
    /// Column, from 1; 0 for none.
    pub column: u32,
    /// When.
    pub at: Option<Instant>,
}

/// The collection.
#[derive(Clone, Debug)]
pub struct Notes {
    list: Vec<Diagnostic>,
    open: BTreeMap<(u8, u32), Open>,
    most: usize,
}

#[derive(Clone, Copy, Debug)]
struct Open {
    index: usize,
    last_row: Option<u64>,
    entries: usize,
}

fn tag(kind: &DiagnosticKind) -> u8 {
    use DiagnosticKind as K;
    match kind {
        K::Gap { .. } => 0,
        K::Duplicate { same_value: true } => 1,
        K::Duplicate { same_value: false } => 2,
        K::OutOfOrder { .. } => 3,
        K::ClockJump { .. } => 4,
        K::AmbiguousLocalTime { .. } => 5,
        K::NonexistentLocalTime { .. } => 6,
        K::Stuck { .. } => 7,
        K::Spike { .. } => 8,
        K::OutOfInstrumentRange { .. } => 9,
        K::FaultCode { .. } => 10,
        K::RelativeHumidityAbove100 { .. } => 11,
        K::WetBulbAboveDryBulb { .. } => 12,
        K::SockPerhapsDry => 13,
        K::SensorCondensing => 14,
        K::PerhapsNotInProduct => 15,
        K::UnreadableCell { .. } => 16,
        K::RaggedRow { .. } => 17,
        K::NotATableLine { .. } => 18,
        K::EncodingRepaired { .. } => 19,
        K::ChoiceMade { .. } => 20,
        K::ClockOffsetApplied { .. } => 21,
        K::Truncated => 22,
        _ => 255,
    }
}

/// Keeps the greater extent of two entries of one kind.
fn widen(into: &mut DiagnosticKind, new: &DiagnosticKind) {
    use DiagnosticKind as K;
    let further = |a: f64, b: f64| if b.abs() > a.abs() { b } else { a };
    match (into, new) {
        (K::RelativeHumidityAbove100 { value: a }, K::RelativeHumidityAbove100 { value: b }) => {
            *a = a.max(*b)
        }
        (K::WetBulbAboveDryBulb { by_k: a }, K::WetBulbAboveDryBulb { by_k: b }) => *a = a.max(*b),
        (K::OutOfInstrumentRange { value: a, .. }, K::OutOfInstrumentRange { value: b, .. }) => {
            *a = further(*a, *b)
        }
        (K::OutOfOrder { back_s: a }, K::OutOfOrder { back_s: b }) => *a = a.max(*b),
        _ => {}
    }
}

impl Notes {
    /// An empty collection keeping at most `most` entries of one kind and column.
    #[must_use]
    pub fn new(most: usize) -> Self {
        Self { list: Vec::new(), open: BTreeMap::new(), most: most.max(1) }
    }

    /// Adds something noticed at a row; joins it to the same thing noticed at the row before.
    pub fn note(&mut self, kind: DiagnosticKind, channel: Option<&str>, place: Where) {
        let key = (tag(&kind), place.column);
        let open = self.open.get(&key).copied();
        if let Some(o) = open
            && (o.last_row.is_some_and(|r| place.row <= r + 1) || o.entries >= self.most)
            && let Some(entry) = self.list.get_mut(o.index)
        {
            entry.count += 1;
            widen(&mut entry.kind, &kind);
            entry.span = joined(entry.span, place.at);
            self.open.insert(key, Open { last_row: Some(place.row), ..o });
            return;
        }
        let mut entry = Diagnostic::new(kind);
        entry.channel = channel.map(str::to_owned);
        entry.span = joined(None, place.at);
        entry.line = (place.line > 0).then_some(place.line);
        entry.column = (place.column > 0).then_some(place.column);
        let entries = open.map_or(0, |o| o.entries) + 1;
        self.open.insert(key, Open { index: self.list.len(), last_row: Some(place.row), entries });
        self.list.push(entry);
    }

    /// Adds a finished entry that has its own span. Past the limit it is counted into the last one of its kind.
    pub fn push(&mut self, entry: Diagnostic) {
        let key = (tag(&entry.kind), entry.column.unwrap_or(0));
        let open = self.open.get(&key).copied();
        if let Some(o) = open
            && o.entries >= self.most
            && let Some(last) = self.list.get_mut(o.index)
        {
            last.count += entry.count;
            let to = entry.span.map(Span::to);
            last.span = joined(last.span, to);
            return;
        }
        let entries = open.map_or(0, |o| o.entries) + 1;
        self.open.insert(key, Open { index: self.list.len(), last_row: None, entries });
        self.list.push(entry);
    }

    /// The entries in the order noticed.
    #[must_use]
    pub fn finish(self) -> Vec<Diagnostic> {
        self.list
    }
}

fn joined(span: Option<Span>, at: Option<Instant>) -> Option<Span> {
    let at = match at {
        None => return span,
        Some(at) => at,
    };
    let (from, to) = span.map_or((at, at), |s| (s.from().min(at), s.to().max(at)));
    Span::new(from, to).ok()
}
