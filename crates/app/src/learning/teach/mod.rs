//! What ordinary batches teach: after a batch is closed its weighings say something of the product's drying rate and of the
//! cabinet's exchange. Proposals are made of all closed batches together; a person approves each, and can take it back.
//!
//! Both quantities are fitted together in every batch, without what the library says of them: what one batch cannot tell apart
//! widens the errors of both, and batches stay independent of each other. Batches are then joined quantity by quantity.

mod batch;
mod decide;
mod json;
mod page;
mod product;

pub use batch::BatchNote;
pub use decide::{Decision, decide};
pub use json::learned_json;
pub use page::learned_document;
pub use product::{learned_cabinet, learned_product};

use std::collections::BTreeMap;

use fallrate_fit::Scale;
use fallrate_fit::learn::{
    BatchEstimate, Coverage, HierarchyOptions, Ledger, LibraryValue, Proposal, QuantityKey, coverage_report,
    propose,
};
use fallrate_fit::trial::{Unknown, product_beliefs};
use fallrate_store::Records;

use crate::error::AppError;
use crate::library::Library;

/// Names of the two quantities in the ledger.
pub(super) const DRYING_RATE: &str = "diffusivity at 60 degC";
pub(super) const EXCHANGE: &str = "exchange factor";
/// Spread between batches that is taken for granted at first: of a food's diffusivity between lots, of a cabinet's exchange
/// between batches (shares, own judgement).
const RATE_SPREAD: f64 = 0.15;
const EXCHANGE_SPREAD: f64 = 0.06;

/// One quantity with what batches say of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Lesson {
    /// Whose, and what.
    pub key: QuantityKey,
    /// First belief.
    pub belief: LibraryValue,
    /// What stands now: the last approved value, else the belief.
    pub now: LibraryValue,
    /// What all closed batches together would make of it; none where no batch tells anything.
    pub proposal: Option<Proposal>,
    /// Whether the proposal says anything new: it has batches that no standing approval has.
    pub is_new: bool,
}

/// What was learned so far.
#[derive(Clone, Debug, PartialEq)]
pub struct Learned {
    /// Closed batches and what each says.
    pub batches: Vec<BatchNote>,
    /// Quantities.
    pub lessons: Vec<Lesson>,
    /// How often the forecast bands held.
    pub coverage: Vec<Coverage>,
    /// What was decided so far.
    pub ledger: Ledger,
}

/// What is kept: the ledger and the batches. Reading it is quick; working it out is not.
#[derive(Clone, Debug)]
pub struct Kept {
    ledger: Ledger,
    runs: Vec<crate::batches::Run>,
}

/// Reads what is kept.
///
/// # Errors
/// What the place of the records says.
pub fn kept(records: &mut dyn Records) -> Result<Kept, AppError> {
    let runs = crate::batches::runs(records, fallrate_series::Instant::from_unix_seconds(0.0))?;
    Ok(Kept { ledger: decide::load(records)?, runs })
}

/// Looks through all closed batches. `tell` returning false cancels.
///
/// # Errors
/// What the place of the records says; [`AppError::Cancelled`].
pub fn learned(
    library: &Library,
    records: &mut dyn Records,
    tell: &(dyn Fn() -> bool + Sync),
) -> Result<Learned, AppError> {
    learned_of(library, kept(records)?, tell)
}

/// The same of what was read before.
///
/// # Errors
/// [`AppError::Cancelled`].
pub fn learned_of(
    library: &Library,
    kept: Kept,
    tell: &(dyn Fn() -> bool + Sync),
) -> Result<Learned, AppError> {
    let ledger = kept.ledger;
    let batches = batch::closed(library, &kept.runs, tell)?;
    let mut found: BTreeMap<QuantityKey, Vec<BatchEstimate>> = BTreeMap::new();
    for note in &batches {
        for (key, estimate) in &note.estimates {
            found.entry(key.clone()).or_default().push(estimate.clone());
        }
    }
    // What was decided stays visible when its batches are gone.
    for entry in ledger.entries() {
        found.entry(entry.key.clone()).or_default();
    }
    let mut lessons = Vec::new();
    for (key, estimates) in &found {
        let Some(belief) = belief(library, key) else { continue };
        lessons.push(lesson(key, belief, estimates, &ledger)?);
    }
    let forecasts: Vec<_> = batches.iter().filter_map(|b| b.forecast.clone()).collect();
    let coverage = if forecasts.is_empty() { Vec::new() } else { coverage_report(&forecasts)? };
    Ok(Learned { batches, lessons, coverage, ledger })
}

fn lesson(
    key: &QuantityKey,
    belief: LibraryValue,
    estimates: &[BatchEstimate],
    ledger: &Ledger,
) -> Result<Lesson, AppError> {
    let now = ledger.current(key).cloned().unwrap_or_else(|| belief.clone());
    let proposal = match estimates.is_empty() {
        true => None,
        false => Some(propose(key, &belief, &now, estimates, &HierarchyOptions::default())?),
    };
    let is_new = proposal.as_ref().is_some_and(|p| {
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-6 * a.abs().max(b.abs());
        !(near(p.new.value, now.value) && near(p.new.deviation, now.deviation))
    });
    Ok(Lesson { key: key.clone(), belief, now, proposal, is_new })
}

/// What product and cabinet files say of a quantity.
fn belief(library: &Library, key: &QuantityKey) -> Option<LibraryValue> {
    match (&key.product, &key.cabinet) {
        (Some(product), None) => {
            let product = library.products().iter().find(|p| p.key == *product)?;
            let all = product_beliefs(product);
            let own = all.iter().find(|b| b.unknown == Unknown::Diffusivity)?;
            Some(LibraryValue::belief(own.value, own.deviation, RATE_SPREAD, Scale::Logarithm))
        }
        (None, Some(cabinet)) => {
            let cabinet = library.cabinets().iter().find(|c| c.key == *cabinet)?;
            let h = &cabinet.heat_transfer.coefficient;
            // The range of a file is the middle 90 %.
            let deviation = (h.high.w_per_m2_k() / h.low.w_per_m2_k()).ln() / (2.0 * 1.645);
            Some(LibraryValue::belief(1.0, deviation.clamp(0.05, 0.5), EXCHANGE_SPREAD, Scale::Logarithm))
        }
        _ => None,
    }
}

impl Learned {
    /// Entries of the ledger that can be taken back now: the last standing approval of each quantity.
    #[must_use]
    pub fn can_be_taken_back(&self) -> Vec<usize> {
        decide::reversible(&self.ledger)
    }
}
