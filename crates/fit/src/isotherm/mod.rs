//! Sorption isotherms fitted to a handful of pairs of moisture and water activity, and a target water activity translated to
//! moisture with its uncertainty.
//!
//! Parameters that depend on temperature are fitted as their value at the mean temperature of the pairs and their change
//! with it: the published parameters, which stand for 0 degC or 0 K, are far outside the data and correlated beyond use.
//! [`IsothermFit::isotherm`] gives the published form.

mod bootstrap;
mod fault;
mod fitted;
mod form;
mod pairs;
mod study;

pub use bootstrap::MoistureBootstrap;
pub use fault::IsothermFault;
pub use fitted::{IsothermFit, IsothermPoint, IsothermWarning};
pub use form::IsothermForm;
pub use pairs::{SorptionErrors, SorptionPair, check_pairs};
pub use study::{IsothermStudy, UnfittedIsotherm, fit_isotherms};
