//! Time integration and the structured linear algebra under it.

pub(crate) mod chain;
#[cfg(test)]
mod check;
pub(crate) mod ndf;

pub use ndf::Counts;
