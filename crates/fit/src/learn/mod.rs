//! Learning from closed batches: what the library says of a product or a cabinet, moved by what batches showed, as a proposal
//! that a person approves and can take back.
//!
//! Every batch gives an estimate with its error. Batches differ (lots, seasons, positions in the cabinet) by more than their
//! errors say, and now and then one is plain wrong; so their scatter is taken as Student's t with 4 degrees of freedom about the
//! library's mean, and what a season, a lot or a position adds is told apart. A batch far off is discounted, not averaged in.
//!
//! The new value is always made of the first belief and all batches, never of the last value and the newest batch: nothing
//! counts twice, the order does not matter, and a batch can be left out again.

mod batch;
mod coverage;
mod fault;
mod hierarchy;
mod ledger;
mod proposal;

pub use batch::{BatchEstimate, GroupKind, LibraryValue, QuantityKey};
pub use coverage::{Coverage, CoverageVerdict, PastForecast, coverage_report};
pub use fault::LearnFault;
pub use hierarchy::HierarchyOptions;
pub use ledger::{Ledger, LedgerAct, LedgerEntry};
pub use proposal::{BatchEvidence, GroupEffect, Proposal, ProposalWarning, Standing, propose};
