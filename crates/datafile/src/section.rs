//! A section (table) of a file: plain texts, choices, flags, numbers, and the sections inside it.

use std::ops::RangeInclusive;

use crate::document::{Document, join};
use crate::problem::{ProblemKind, excerpt};
use crate::tree::{Entry, Node, Table, Value};

/// A section of a [`Document`]. Every getter returns `None` for a missing or a bad value; a bad one, and a missing one
/// that is required, is reported to the document.
#[derive(Clone, Debug)]
pub struct Section<'a> {
    pub(crate) doc: &'a Document,
    pub(crate) table: &'a Table,
    path: String,
    at: usize,
}

impl<'a> Section<'a> {
    pub(crate) fn new(doc: &'a Document, table: &'a Table, path: String, at: usize) -> Self {
        Self { doc, table, path, at }
    }
    /// Path from the root: `trays`, `stage[2]`; empty at the root.
    #[must_use]
    pub fn path(&self) -> &str {
        &self.path
    }
    /// Keys present, in file order.
    #[must_use]
    pub fn keys(&self) -> Vec<&'a str> {
        self.table.entries.iter().map(|e| e.key.as_str()).collect()
    }
    /// Whether the key is present; counts as asking for it.
    #[must_use]
    pub fn has(&self, key: &str) -> bool {
        self.table.ask(key).is_some()
    }
    /// Whether the key holds a text (and not a number, list or section); counts as asking for it.
    #[must_use]
    pub fn is_text(&self, key: &str) -> bool {
        self.table.ask(key).is_some_and(|e| matches!(e.node.value, Value::Text(_)))
    }
    /// Whether the key holds a section; counts as asking for it.
    #[must_use]
    pub fn is_section(&self, key: &str) -> bool {
        self.table.ask(key).is_some_and(|e| matches!(e.node.value, Value::Table(_)))
    }

    /// Adds a problem of the caller's own at the key's value (at the section where the key is missing).
    pub fn report(&self, key: &str, what: &str, allowed: &str) {
        let at = self.table.find(key).map_or(self.at, |e| e.node.at);
        self.doc.add(ProblemKind::Contradiction, at, &join(&self.path, key), what, allowed, None);
    }
    /// Adds a problem of the caller's own at the section itself.
    pub fn report_here(&self, what: &str, allowed: &str) {
        let path = if self.path.is_empty() { "file" } else { &self.path };
        self.doc.add(ProblemKind::Contradiction, self.at, path, what, allowed, None);
    }

    /// A text, not blank.
    #[must_use]
    pub fn text(&self, key: &str) -> Option<String> {
        let entry = self.table.ask(key)?;
        let text = self.text_of(&self.what(key), &entry.node)?;
        Some(text.to_owned())
    }
    /// A text that must be there.
    #[must_use]
    pub fn required_text(&self, key: &str) -> Option<String> {
        self.must(key, "a text").and_then(|()| self.text(key))
    }
    /// One of several names; gives its place in the list.
    #[must_use]
    pub fn choice(&self, key: &str, names: &[&str]) -> Option<usize> {
        let entry = self.table.ask(key)?;
        let what = self.what(key);
        let text = self.text_of(&what, &entry.node)?;
        let found = names.iter().position(|n| *n == text);
        if found.is_none() {
            let near = crate::near::nearest(text, names.iter().copied());
            let allowed = names.join(", ");
            self.doc.add(ProblemKind::UnknownName, entry.node.at, &what, &excerpt(text), &allowed, near);
        }
        found
    }
    /// One of several names that must be there.
    #[must_use]
    pub fn required_choice(&self, key: &str, names: &[&str]) -> Option<usize> {
        self.must(key, &names.join(", ")).and_then(|()| self.choice(key, names))
    }
    /// `true` or `false`.
    #[must_use]
    pub fn flag(&self, key: &str) -> Option<bool> {
        let entry = self.table.ask(key)?;
        if let Value::Flag(flag) = entry.node.value {
            return Some(flag);
        }
        self.wrong(&self.what(key), &entry.node, "true or false");
        None
    }
    /// `true` or `false` that must be there.
    #[must_use]
    pub fn required_flag(&self, key: &str) -> Option<bool> {
        self.must(key, "true or false").and_then(|()| self.flag(key))
    }
    /// A whole number within the range.
    #[must_use]
    pub fn integer(&self, key: &str, range: RangeInclusive<i64>) -> Option<i64> {
        let entry = self.table.ask(key)?;
        let what = self.what(key);
        let allowed = format!("a whole number from {} to {}", range.start(), range.end());
        match &entry.node.value {
            Value::Integer(Some(n), _) if range.contains(n) => Some(*n),
            Value::Integer(..) => {
                let value = entry.node.value.describe();
                self.doc.add(ProblemKind::OutOfRange, entry.node.at, &what, &value, &allowed, None);
                None
            }
            _ => {
                self.wrong(&what, &entry.node, &allowed);
                None
            }
        }
    }
    /// A whole number that must be there.
    #[must_use]
    pub fn required_integer(&self, key: &str, range: RangeInclusive<i64>) -> Option<i64> {
        let allowed = format!("a whole number from {} to {}", range.start(), range.end());
        self.must(key, &allowed).and_then(|()| self.integer(key, range))
    }

    /// The section under the key.
    #[must_use]
    pub fn section(&self, key: &str) -> Option<Section<'a>> {
        let entry = self.table.ask(key)?;
        self.section_of(entry)
    }
    /// The section under the key, which must be there.
    #[must_use]
    pub fn required_section(&self, key: &str) -> Option<Section<'a>> {
        self.must(key, &format!("a section [{}]", self.what(key))).and_then(|()| self.section(key))
    }
    /// The sections of a list of sections (`[[stage]]`); empty where the key is missing.
    #[must_use]
    pub fn sections(&self, key: &str) -> Vec<Section<'a>> {
        let Some(entry) = self.table.ask(key) else { return Vec::new() };
        let Value::List(items) = &entry.node.value else {
            self.wrong(&self.what(key), &entry.node, &format!("a list of sections [[{key}]]"));
            return Vec::new();
        };
        let mut out = Vec::with_capacity(items.len());
        for (i, item) in items.iter().enumerate() {
            let path = format!("{}[{}]", self.what(key), i + 1);
            match &item.value {
                Value::Table(table) => out.push(Section::new(self.doc, table, path, item.at)),
                _ => self.wrong(&path, item, "a section"),
            }
        }
        out
    }
    /// All sections inside this one under names of the file's own, in file order. Keys already asked for are left out.
    #[must_use]
    pub fn named_sections(&self) -> Vec<(&'a str, Section<'a>)> {
        let mut out = Vec::new();
        for entry in self.table.entries.iter().filter(|e| !e.used.get()) {
            entry.used.set(true);
            out.extend(self.section_of(entry).map(|s| (entry.key.as_str(), s)));
        }
        out
    }

    fn section_of(&self, entry: &'a Entry) -> Option<Section<'a>> {
        let path = self.what(&entry.key);
        if let Value::Table(table) = &entry.node.value {
            return Some(Section::new(self.doc, table, path, entry.key_at));
        }
        self.wrong(&path, &entry.node, &format!("a section [{path}]"));
        None
    }

    pub(crate) fn what(&self, key: &str) -> String {
        join(&self.path, key)
    }
    /// `Some` where the key is present; else reports it missing.
    pub(crate) fn must(&self, key: &str, allowed: &str) -> Option<()> {
        if self.table.ask(key).is_some() {
            return Some(());
        }
        self.doc.add(ProblemKind::Missing, self.at, &self.what(key), "missing", allowed, None);
        None
    }
    pub(crate) fn wrong(&self, what: &str, node: &Node, allowed: &str) {
        self.doc.add(ProblemKind::WrongType, node.at, what, &node.value.describe(), allowed, None);
    }
    pub(crate) fn text_of(&self, what: &str, node: &'a Node) -> Option<&'a str> {
        match &node.value {
            Value::Text(text) if !text.trim().is_empty() => Some(text.trim()),
            Value::Text(_) => {
                self.doc.add(ProblemKind::Missing, node.at, what, "an empty text", "a text", None);
                None
            }
            _ => {
                self.wrong(what, node, "a text in quotes");
                None
            }
        }
    }
}
