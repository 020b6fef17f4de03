//! A virtual cabinet to rehearse on: the model of a batch with hidden true figures, trays that differ, sensors that lag,
//! err and round, faults, and a hand that takes a moment.
//!
//! A [`VirtualCabinet`] is run on in steps of any length and takes acts at any moment. Its readings are a
//! `Log<Rehearsal>`: simulated by type, so that no record and no verdict can be made of them.
//!
//! ```compile_fail,E0308
//! use fallrate_rehearse::VirtualCabinet;
//! fn cheat(cabinet: &VirtualCabinet, case: &fallrate_lethality::Case) {
//!     // A verdict is made of a log of proof; this is a log of a rehearsal.
//!     let _ = fallrate_lethality::judge(&cabinet.log().unwrap(), case);
//! }
//! ```
//!
//! Times are s from the start of the run. This crate does no input or output and asks no clock: whoever uses it decides how
//! fast the rehearsal goes. The same scenario and the same acts give the same bytes.

mod act;
mod act_line;
mod autopilot;
mod cabinet;
mod cabinet_test;
mod channels;
mod choice;
mod debrief;
mod engine;
mod error;
mod history;
mod outcome;
mod replay;
mod scenario;
mod sensor;
mod truth;
mod wet_cloth;

use fallrate_plan::sweep::Fineness;

pub use act::{Act, DoneAct};
pub use act_line::ACT_LINES;
pub use autopilot::Hand;
pub use cabinet::{Panel, VirtualCabinet, usual_sensors};
pub use cabinet_test::{CabinetTest, TestRun, cabinet_test};
pub use choice::FaultChoice;
pub use debrief::{ActCompared, Better, Change, Debrief, FaultSeen};
pub use error::RehearseError;
pub use history::State;
pub use outcome::{Outcome, WET_LOSS};
pub use scenario::{Fault, FaultKind, LONGEST_S, Scenario, TimerInACut, TraySpread};
pub use sensor::{Along, Scale, Sensed, Sensor, position_name};
pub use truth::{TrayTruth, Truth};

/// Step of the grid on which sensors feel the state, s.
pub const GRID_S: f64 = 10.0;

/// Every tray has its own pieces along its air: fewer than a plan's run follows on each of its groups, more in all.
const GRID: Fineness =
    Fineness { positions: 4, nodes: 11, relative_tolerance: 1e-5, samples: 0.0, stands: 0 };
