//! The coupled model of a batch in a recirculating tray cabinet, and its solution.
//!
//! Heat and moisture move through the thickness of every piece; air crosses the trays and is cooled and wetted by
//! each piece for those behind; the chamber, its walls, the heater, the controller, the vent and the room close the
//! loop. All of it is one stiff system of ordinary differential equations, solved with error control, stage ends
//! located as roots, and balances of water and energy computed beside the solution.
//!
//! This crate does no input or output and asks no clock. Temperatures are in degC, moisture is kg water per kg dry
//! solids, time is s from the start of the run; every field carries its unit in its name.

mod action;
mod balance;
mod batch;
mod ends;
mod error;
mod physics;
pub mod reference_case;
mod run;
mod solve;
mod sorption;
mod view;

pub use action::Action;
pub use balance::Balance;
pub use batch::*;
pub use error::SimulateError;
pub use fallrate_schedule::{EndCondition, Piece};
pub use run::{Options, Run, Snapshot, StageEnd, StopReason, run, run_from, start};
pub use solve::Counts;
pub use sorption::{Activity, GabSorption, LinearSorption, Sorption};
pub use view::{PieceSample, Sample};
