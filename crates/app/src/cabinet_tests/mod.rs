//! Commissioning of a cabinet: a short file names the tests and their logger files; out come figures with their
//! uncertainty, a cabinet file, a report, advice which test to do next, and later what has changed.

mod advice;
mod charts;
mod drifted;
mod file;
mod json;
mod report;
mod sent;
mod tell;
mod tests;

pub use advice::advice_document;
pub use drifted::{Change, Drifted, drift_document, weigh_drift};
pub use file::{Commissioning, TestEntry};
pub use json::{advice_json, commission_json, drift_json};
pub use report::{Evaluated, commission_document, evaluate};
pub use sent::{Sent, evaluate_sent};
pub use tests::{TestFiles, TestFolder};
