//! Numbers, quantities with units, moistures and clock times of a section.

use std::ops::RangeInclusive;

use fallrate_units::{Moisture, Quantity, TimeOfDay, UnitError};

use crate::problem::{ProblemKind, excerpt};
use crate::range::{number_range, quantity_range};
use crate::section::Section;
use crate::tree::{Node, Value};

impl Section<'_> {
    /// A dimensionless number within the range, written without quotes.
    #[must_use]
    pub fn number(&self, key: &str, range: RangeInclusive<f64>) -> Option<f64> {
        let entry = self.table.ask(key)?;
        self.number_of(&self.what(key), &entry.node, &range)
    }
    /// A dimensionless number that must be there.
    #[must_use]
    pub fn required_number(&self, key: &str, range: RangeInclusive<f64>) -> Option<f64> {
        self.must(key, &number_range(&range)).and_then(|()| self.number(key, range))
    }
    /// A quantity within the range, written as text with its unit (`"71 degC"`).
    #[must_use]
    pub fn quantity<Q: Quantity>(&self, key: &str, range: RangeInclusive<Q>) -> Option<Q> {
        let entry = self.table.ask(key)?;
        self.quantity_of(&self.what(key), &entry.node, &range)
    }
    /// A quantity that must be there.
    #[must_use]
    pub fn required<Q: Quantity>(&self, key: &str, range: RangeInclusive<Q>) -> Option<Q> {
        self.must(key, &allowed_quantity(&range)).and_then(|()| self.quantity(key, range))
    }
    /// A moisture with its basis (`"25 % wb"`, `"0.33 kg/kg db"`).
    #[must_use]
    pub fn moisture(&self, key: &str) -> Option<Moisture> {
        let entry = self.table.ask(key)?;
        let what = self.what(key);
        let Value::Text(text) = &entry.node.value else {
            self.wrong(&what, &entry.node, MOISTURE);
            return None;
        };
        let fault = match Moisture::parse(text) {
            Ok(m) if m.dry_basis().kg_per_kg().is_finite() => return Some(m),
            Ok(_) => format!("{} is out of range", excerpt(text)),
            Err(e) => unit_fault(&e, text),
        };
        let (kind, allowed) = match Moisture::parse(text) {
            Ok(_) | Err(UnitError::OutOfRange { .. }) => (ProblemKind::OutOfRange, MOISTURE_RANGE),
            Err(_) => (ProblemKind::Unit, MOISTURE),
        };
        self.doc.add(kind, entry.node.at, &what, &fault, allowed, None);
        None
    }
    /// A moisture that must be there.
    #[must_use]
    pub fn required_moisture(&self, key: &str) -> Option<Moisture> {
        self.must(key, MOISTURE).and_then(|()| self.moisture(key))
    }
    /// A clock time (`"06:40"`, `"6:40 pm"`).
    #[must_use]
    pub fn clock(&self, key: &str) -> Option<TimeOfDay> {
        self.parsed(key, CLOCK, |text| TimeOfDay::parse(text).ok())
    }
    /// A clock time that must be there.
    #[must_use]
    pub fn required_clock(&self, key: &str) -> Option<TimeOfDay> {
        self.must(key, CLOCK).and_then(|()| self.clock(key))
    }
    /// A text read by the caller's own function; `allowed` says what it accepts.
    #[must_use]
    pub fn parsed<T>(&self, key: &str, allowed: &str, read: impl FnOnce(&str) -> Option<T>) -> Option<T> {
        let entry = self.table.ask(key)?;
        let what = self.what(key);
        let Value::Text(text) = &entry.node.value else {
            self.wrong(&what, &entry.node, &format!("{allowed}, in quotes"));
            return None;
        };
        let value = read(text);
        if value.is_none() {
            self.doc.add(ProblemKind::Unit, entry.node.at, &what, &excerpt(text), allowed, None);
        }
        value
    }

    pub(crate) fn number_of(&self, what: &str, node: &Node, range: &RangeInclusive<f64>) -> Option<f64> {
        #[allow(clippy::cast_precision_loss)]
        let x = match &node.value {
            Value::Integer(Some(n), _) => *n as f64,
            Value::Integer(None, _) => f64::INFINITY,
            Value::Number(x, _) => *x,
            _ => {
                self.wrong(what, node, &format!("a plain number without quotes, {}", number_range(range)));
                return None;
            }
        };
        if x.is_finite() && range.contains(&x) {
            return Some(x);
        }
        let (value, allowed) = (node.value.describe(), number_range(range));
        self.doc.add(ProblemKind::OutOfRange, node.at, what, &value, &allowed, None);
        None
    }

    pub(crate) fn quantity_of<Q: Quantity>(
        &self,
        what: &str,
        node: &Node,
        range: &RangeInclusive<Q>,
    ) -> Option<Q> {
        let allowed = allowed_quantity(range);
        let text = match &node.value {
            Value::Text(text) => text,
            Value::Integer(..) | Value::Number(..) => {
                let value = format!("{} has no unit", node.value.describe());
                self.doc.add(ProblemKind::Unit, node.at, what, &value, &allowed, None);
                return None;
            }
            _ => {
                self.wrong(what, node, &allowed);
                return None;
            }
        };
        match Q::parse(text) {
            Ok(q) if q.base().is_finite() && range.contains(&q) => return Some(q),
            Ok(_) => self.doc.add(ProblemKind::OutOfRange, node.at, what, &excerpt(text), &allowed, None),
            Err(e) => self.doc.add(ProblemKind::Unit, node.at, what, &unit_fault(&e, text), &allowed, None),
        }
        None
    }
}

const MOISTURE: &str =
    "a moisture with its basis: '25 % wb' (of the wet weight) or '0.33 kg/kg db', '33 % db' (per dry solids)";
const MOISTURE_RANGE: &str = "0 to below 100 % wb, or 0 or more % db";
const CLOCK: &str = "a clock time from '00:00' to '23:59', or with am / pm";

/// "2 mm to 50 mm, with a unit (m, mm, cm, in, ft)".
pub(crate) fn allowed_quantity<Q: Quantity>(range: &RangeInclusive<Q>) -> String {
    let units: Vec<&str> = Q::unit_table().iter().filter_map(|u| u.symbols.first().copied()).collect();
    format!("{}, with a unit ({})", quantity_range(range), units.join(", "))
}

fn unit_fault(error: &UnitError, text: &str) -> String {
    match error {
        UnitError::NoUnit { .. } => format!("{} has no unit", excerpt(text)),
        UnitError::UnknownUnit { unit, quantity, .. } => {
            format!("{} in {} is not a unit of {quantity}", excerpt(unit), excerpt(text))
        }
        UnitError::NoBasis { .. } => format!("{} does not say its basis", excerpt(text)),
        UnitError::NotANumber { .. } => format!("{} is not a number with a unit", excerpt(text)),
        UnitError::OutOfRange { .. } => format!("{} is out of range", excerpt(text)),
    }
}
