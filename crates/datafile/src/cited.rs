//! A value with its range, its source and how far it is known.

use std::fmt;
use std::ops::RangeInclusive;

use fallrate_units::Quantity;

use crate::range::{brief, number_range, show};
use crate::section::Section;
use crate::tree::Node;
use crate::values::allowed_quantity;

/// How far a value is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// Read in the source named.
    Read,
    /// Computed from values read.
    Computed,
    /// From memory; to be checked.
    Memory,
    /// Assumed: no source; the range says how wide it may be.
    Assumed,
}

impl Mark {
    /// The words used in files and on pages, in order.
    pub const WORDS: [&'static str; 4] = ["read", "computed", "memory", "assumed"];
    const ALL: [Self; 4] = [Self::Read, Self::Computed, Self::Memory, Self::Assumed];

    /// The word used in files and on pages.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Computed => "computed",
            Self::Memory => "memory",
            Self::Assumed => "assumed",
        }
    }
}

impl fmt::Display for Mark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A value with its range, source and mark; `low <= value <= high`.
#[derive(Clone, Debug, PartialEq)]
pub struct Cited<T> {
    /// The value used.
    pub value: T,
    /// Low end of what it may be.
    pub low: T,
    /// High end of what it may be.
    pub high: T,
    /// Where it comes from.
    pub source: String,
    /// How far it is known.
    pub mark: Mark,
    /// Anything the reader should know.
    pub note: Option<String>,
}

impl<T> Cited<T> {
    /// The same citation with another form of its three values. `f` should not fall, or low and high change places.
    #[must_use]
    pub fn map<U>(&self, f: impl Fn(&T) -> U) -> Cited<U> {
        Cited {
            value: f(&self.value),
            low: f(&self.low),
            high: f(&self.high),
            source: self.source.clone(),
            mark: self.mark,
            note: self.note.clone(),
        }
    }
}

impl Section<'_> {
    /// A quantity with citation, which must be there:
    /// `key = { value = "6 mm", low = "5 mm", high = "7 mm", source = "...", mark = "assumed" }`.
    /// `low` and `high` may be left out unless the mark is `assumed`.
    #[must_use]
    pub fn cited<Q: Quantity>(&self, key: &str, range: RangeInclusive<Q>) -> Option<Cited<Q>> {
        self.must(key, &format!("a section with value, source, mark; value {}", allowed_quantity(&range)))
            .and_then(|()| self.optional_cited(key, range))
    }
    /// A quantity with citation, where present.
    #[must_use]
    pub fn optional_cited<Q: Quantity>(&self, key: &str, range: RangeInclusive<Q>) -> Option<Cited<Q>> {
        self.citation(key, &allowed_quantity(&range), |q| show(*q), |s, w, n| s.quantity_of(w, n, &range))
    }
    /// A plain number with citation, which must be there.
    #[must_use]
    pub fn cited_number(&self, key: &str, range: RangeInclusive<f64>) -> Option<Cited<f64>> {
        self.must(key, &format!("a section with value, source, mark; value {}", number_range(&range)))
            .and_then(|()| self.optional_cited_number(key, range))
    }
    /// A plain number with citation, where present.
    #[must_use]
    pub fn optional_cited_number(&self, key: &str, range: RangeInclusive<f64>) -> Option<Cited<f64>> {
        self.citation(key, &number_range(&range), |x| brief(*x), |s, w, n| s.number_of(w, n, &range))
    }

    fn citation<T: Copy + PartialOrd>(
        &self,
        key: &str,
        allowed: &str,
        print: impl Fn(&T) -> String,
        read: impl Fn(&Self, &str, &Node) -> Option<T>,
    ) -> Option<Cited<T>> {
        let entry = self.table.ask(key)?;
        if !self.is_section(key) {
            let wanted = format!("a section {{ value, low, high, source, mark }}; value {allowed}");
            self.wrong(&self.what(key), &entry.node, &wanted);
            return None;
        }
        let inner = self.section(key)?;
        let part = |name: &str| {
            let entry = inner.table.ask(name)?;
            Some(read(&inner, &inner.what(name), &entry.node))
        };
        let value = inner.must("value", allowed).and_then(|()| part("value"));
        let (low, high) = (part("low"), part("high"));
        let source = inner.required_text("source");
        let mark = inner.required_choice("mark", &Mark::WORDS).and_then(|i| Mark::ALL.get(i).copied());
        let note = inner.text("note");
        if mark == Some(Mark::Assumed) && (low.is_none() || high.is_none()) {
            let missing = if low.is_none() { "low" } else { "high" };
            inner.report(missing, "missing", "an assumed value states its low and its high");
            return None;
        }
        // An outer `None` is a missing part, an inner one a bad part already reported.
        let value = value??;
        let (low, high) = (low.unwrap_or(Some(value))?, high.unwrap_or(Some(value))?);
        if !(low <= value && value <= high) {
            let found = format!("low {}, value {}, high {}", print(&low), print(&value), print(&high));
            inner.report("value", &found, "low <= value <= high");
            return None;
        }
        Some(Cited { value, low, high, source: source?, mark: mark?, note })
    }
}
