//! Estimates from batches, and what the library says.

use serde::{Deserialize, Serialize};

use crate::Scale;
use crate::learn::LearnFault;
use crate::trial::{TrialFit, Unknown};

/// What is learned: an owner and a quantity.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct QuantityKey {
    /// Key of the product, where it belongs to one.
    pub product: Option<String>,
    /// Key of the cabinet, where it belongs to one.
    pub cabinet: Option<String>,
    /// Name of the quantity.
    pub quantity: String,
}

impl QuantityKey {
    pub(crate) fn text(&self) -> String {
        let part = |p: &Option<String>| p.as_ref().map_or(String::new(), |p| format!("{p} "));
        format!("{}{}{}", part(&self.product), part(&self.cabinet), self.quantity)
    }
}

/// What batches may have in common.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum GroupKind {
    /// Time of year.
    Season,
    /// Lot or supplier of the raw material.
    Lot,
    /// Place in the cabinet.
    Position,
}

impl GroupKind {
    /// All, in order.
    pub const ALL: [Self; 3] = [Self::Season, Self::Lot, Self::Position];
}

/// What one closed batch (or one position of it) says of a quantity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BatchEstimate {
    /// Batch.
    pub batch: String,
    /// Estimate, in the quantity's unit.
    pub value: f64,
    /// Its standard error in the fitted coordinate (of the natural logarithm where the library's value says so), above 0. It
    /// must come from the batch alone, without the library's belief.
    pub deviation: f64,
    /// Season, lot, position, where known.
    pub groups: Vec<(GroupKind, String)>,
}

impl BatchEstimate {
    /// What a fit of a batch's weighings says of an unknown; none where it has no standard error.
    #[must_use]
    pub fn of_fit(
        batch: &str,
        fit: &TrialFit,
        unknown: Unknown,
        groups: Vec<(GroupKind, String)>,
    ) -> Option<Self> {
        let fitted = fit.of(unknown)?;
        let (value, deviation) = (fitted.value, fitted.coordinate_error?);
        Some(Self { batch: batch.to_owned(), value, deviation, groups })
    }
    /// Its label of a kind.
    #[must_use]
    pub fn group(&self, kind: GroupKind) -> Option<&str> {
        self.groups.iter().find(|g| g.0 == kind).map(|g| g.1.as_str())
    }
}

/// What the library says of a quantity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LibraryValue {
    /// Mean over batches, in the quantity's unit.
    pub value: f64,
    /// Standard deviation of that mean in the fitted coordinate, above 0.
    pub deviation: f64,
    /// Spread between batches in the fitted coordinate, 0 or more: the scale of Student's t by which they lie about the mean.
    pub spread: f64,
    /// Whether the fitted coordinate is the natural logarithm (factors) or the value itself.
    pub logarithm: bool,
    /// Batches behind it.
    pub batches: usize,
}

impl LibraryValue {
    /// A first belief, from a product or cabinet file: mean and its standard deviation, with the spread between batches that
    /// is taken for granted.
    #[must_use]
    pub const fn belief(value: f64, deviation: f64, spread: f64, scale: Scale) -> Self {
        let logarithm = matches!(scale, Scale::Logarithm);
        Self { value, deviation, spread, logarithm, batches: 0 }
    }
    /// The fitted coordinate of a value.
    #[must_use]
    pub fn coordinate(&self, value: f64) -> f64 {
        if self.logarithm { value.ln() } else { value }
    }
    /// The value of a fitted coordinate.
    #[must_use]
    pub fn value_of(&self, coordinate: f64) -> f64 {
        if self.logarithm { coordinate.exp() } else { coordinate }
    }
    /// Scale, in the fitted coordinate, with which the next batch is expected about the mean.
    #[must_use]
    pub fn next_batch_deviation(&self) -> f64 {
        self.deviation.hypot(self.spread)
    }
    /// Equal but for the last digits, which a file may change.
    pub(crate) fn is_same(&self, other: &Self) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(b.abs());
        near(self.value, other.value)
            && near(self.deviation, other.deviation)
            && near(self.spread, other.spread)
            && (self.logarithm, self.batches) == (other.logarithm, other.batches)
    }
    pub(crate) fn check(&self, of: &str) -> Result<(), LearnFault> {
        let bad =
            |what, value, allowed| Err(LearnFault::BadNumber { what, value, allowed, of: of.to_owned() });
        if !(self.coordinate(self.value).is_finite() && self.value.is_finite()) {
            return bad("value of the library", self.value, "finite, above 0 where its logarithm is fitted");
        }
        if !(self.deviation > 0.0 && self.deviation.is_finite()) {
            return bad("standard deviation of the library", self.deviation, "above 0 and finite");
        }
        if !(self.spread >= 0.0 && self.spread.is_finite()) {
            return bad("spread between batches", self.spread, "0 or more and finite");
        }
        Ok(())
    }
}

pub(crate) fn check_batches(library: &LibraryValue, batches: &[BatchEstimate]) -> Result<(), LearnFault> {
    if batches.is_empty() {
        return Err(LearnFault::NoBatch);
    }
    for (i, b) in batches.iter().enumerate() {
        let bad =
            |what, value, allowed| Err(LearnFault::BadNumber { what, value, allowed, of: b.batch.clone() });
        if !(b.value.is_finite() && library.coordinate(b.value).is_finite()) {
            return bad("estimate", b.value, "finite, above 0 where its logarithm is fitted");
        }
        if !(b.deviation > 0.0 && b.deviation.is_finite()) {
            return bad("standard error", b.deviation, "above 0 and finite");
        }
        let same = |o: &&BatchEstimate| {
            o.batch == b.batch && o.group(GroupKind::Position) == b.group(GroupKind::Position)
        };
        if batches[..i].iter().find(same).is_some() {
            return Err(LearnFault::Twice { batch: b.batch.clone() });
        }
    }
    Ok(())
}
