//! Estimation from measurements: parameters of the full drying model (or of any other model) by nonlinear least squares,
//! with standard errors, correlations and hints about what the data cannot tell.
//!
//! Parameters are fitted as logarithms where their scale says so; bounds are kept by a smooth map. Slopes are central
//! differences computed in parallel; sums have a fixed order, so the same input gives the same estimate.
//! This crate does no input or output and asks no clock.

mod curve;
mod differences;
mod error;
mod estimate;
mod least_squares;
mod left_out;
mod parameter;
mod solve;
mod tunnel;

pub use curve::{DryingCurve, Reading};
pub use differences::Differences;
pub use error::FitError;
pub use estimate::{Estimate, Estimated, Hint};
pub use least_squares::{FitOptions, Model, StartReport, fit};
pub use left_out::jackknife_standard_errors;
pub use parameter::{Parameter, Scale, spread_starts};
pub use tunnel::{Tunnel, TunnelAir};
