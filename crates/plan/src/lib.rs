//! The plan: what to do when, what to dial, what will come of it, what it costs, and how sure that is.

pub mod acts;
pub mod arithmetic;
mod assemble;
pub mod band;
pub mod compare;
mod curve;
mod error;
pub mod feasible;
pub mod kill;
mod lift;
pub mod money;
mod plan;
pub mod propose;
pub mod request;
mod setup;
pub mod spread;
pub mod sweep;
pub mod timer;

pub use assemble::{Assembled, assemble, interruption_kind, stage_input};
pub use curve::{Curve, quantile};
pub use error::PlanError;
pub use lift::lift_off_moisture;
pub use plan::*;
pub use setup::*;
