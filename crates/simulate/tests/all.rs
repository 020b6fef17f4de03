//! Checks of the coupled model from outside: analytic solutions, independent programs, hand-made balances.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "all/analytic.rs"]
mod analytic;
#[path = "all/balances.rs"]
mod balances;
#[path = "all/cabinet.rs"]
mod cabinet;
#[path = "all/independent.rs"]
mod independent;
#[path = "all/random.rs"]
mod random;
#[path = "all/standard.rs"]
mod standard;
#[path = "all/support.rs"]
mod support;
#[path = "all/wet_surface.rs"]
mod wet_surface;
