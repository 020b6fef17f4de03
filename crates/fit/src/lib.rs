//! Estimation from measurements: parameters of the full drying model (or of any other model) by nonlinear least squares,
//! with standard errors, correlations and hints about what the data cannot tell.
//!
//! - [`thin_layer`], [`isotherm`]: closed forms fitted to drying curves and to pairs of moisture and water activity, ranked.
//! - [`trial`]: product trials on the full model: what is wrong with the data, estimates, profiles, what is not told and what
//!   would tell it, which weighings and which further trial, posteriors.
//! - [`commission`]: cabinets out of short tests: what they tell, what they cannot, which test next, what has drifted.
//! - [`learn`]: what closed batches teach, as proposals that a person approves and can take back; whether bands were honest.
//! - [`design`], [`posterior`], [`stats`]: the tools under them, for any model.
//!
//! Parameters are fitted as logarithms where their scale says so; bounds are kept by a smooth map. Slopes are central
//! differences computed in parallel; sums have a fixed order, so the same input gives the same estimate.
//! This crate does no input or output and asks no clock.

pub mod commission;
mod curve;
pub mod design;
mod differences;
mod error;
mod estimate;
pub mod isotherm;
pub mod learn;
mod least_squares;
mod left_out;
mod linear;
mod parameter;
pub mod posterior;
mod solve;
pub mod stats;
pub mod thin_layer;
pub mod trial;
mod tunnel;

pub use curve::{DryingCurve, Reading};
pub use differences::Differences;
pub use error::FitError;
pub use estimate::{Estimate, Estimated, Hint};
pub use least_squares::{FitOptions, Model, StartReport, fit};
pub use left_out::jackknife_standard_errors;
pub use parameter::{Parameter, Scale, spread_starts};
pub use tunnel::{Tunnel, TunnelAir};
