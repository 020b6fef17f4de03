//! Lists of texts, numbers, quantities.

use std::ops::RangeInclusive;

use fallrate_units::Quantity;

use crate::section::Section;
use crate::tree::{Node, Value};

impl<'a> Section<'a> {
    /// A list of texts. `None` where missing or where any item is bad.
    #[must_use]
    pub fn texts(&self, key: &str) -> Option<Vec<String>> {
        self.list(key, "a list of texts", |s, what, node| s.text_of(what, node).map(ToOwned::to_owned))
    }
    /// A list of plain numbers, each within the range.
    #[must_use]
    pub fn numbers(&self, key: &str, range: RangeInclusive<f64>) -> Option<Vec<f64>> {
        self.list(key, "a list of numbers", |s, what, node| s.number_of(what, node, &range))
    }
    /// A list of quantities, each within the range.
    #[must_use]
    pub fn quantities<Q: Quantity>(&self, key: &str, range: RangeInclusive<Q>) -> Option<Vec<Q>> {
        self.list(key, "a list of texts with units", |s, what, node| s.quantity_of(what, node, &range))
    }
    /// A list of plain numbers that must be there.
    #[must_use]
    pub fn required_numbers(&self, key: &str, range: RangeInclusive<f64>) -> Option<Vec<f64>> {
        self.must(key, "a list of numbers").and_then(|()| self.numbers(key, range))
    }
    /// A list of texts that must be there.
    #[must_use]
    pub fn required_texts(&self, key: &str) -> Option<Vec<String>> {
        self.must(key, "a list of texts").and_then(|()| self.texts(key))
    }

    fn list<T>(
        &self,
        key: &str,
        allowed: &str,
        read: impl Fn(&Self, &str, &'a Node) -> Option<T>,
    ) -> Option<Vec<T>> {
        let entry = self.table.ask(key)?;
        let Value::List(items) = &entry.node.value else {
            self.wrong(&self.what(key), &entry.node, allowed);
            return None;
        };
        let read_all: Vec<Option<T>> = items
            .iter()
            .enumerate()
            .map(|(i, item)| read(self, &format!("{}[{}]", self.what(key), i + 1), item))
            .collect();
        read_all.into_iter().collect()
    }
}
