//! The batch under way: the uncertain figures of its plan estimated from what was read, the end forecast anew with its band,
//! and what would come of doing otherwise.
//!
//! [`update`] takes the plan's numbers, what was done with its true times and all readings so far, and knows nothing else: a
//! corrected or withdrawn reading is simply not there the next time. The model is walked along what was done; the inputs
//! that the plan's draws vary are estimated so that it meets the readings within what instruments, single trays and the
//! model's own shortcomings explain; draws about that are followed to the end.
//!
//! All of it is forecast. Nothing here is evidence, and no type of this crate goes into a verdict.
//!
//! Times are s from the start of the run. This crate does no input or output and asks no clock.

mod course;
mod curve;
mod dial;
mod ensemble;
mod error;
mod estimate;
mod finding;
mod forecast;
mod kill;
mod mistake;
mod noise;
mod predict;
mod reading;
mod state;
mod update;
mod what_if;

pub use course::{Case, Course, Deed, Done, Interrupted, Unconfirmed};
pub use curve::Moment;
pub use error::FollowError;
pub use finding::{InputEstimate, Misfit, ReadingFit, Suspect};
pub use reading::{Along, Measured, Place, Reading, readings_of_log};
pub use state::group_of_tray;
pub use update::*;
pub use what_if::{Difference, Way, WhatIf, what_if};
