//! Cabinets: what a tray dryer is made of, read from a data file and checked for consistency.
//!
//! A [`Cabinet`] is plain data. Every physical figure carries its range, its source and how far it is known
//! ([`fallrate_datafile::Cited`]); the names of vent marks and fan steps are the cabinet's own. [`Cabinet::parse`]
//! refuses a file whose figures contradict one another ([`Inconsistency`]).

mod cabinet;
mod checks;
mod derived;
mod error;
mod parse;
mod still_air;

pub use cabinet::*;
pub use checks::{
    AIR_SPEED_RANGE_M_PER_S, CHECK_ROOM_C, Inconsistency, MEASURED_POWER_SHARE_RANGE,
    STILL_AIR_LARGEST_RISE_K, STILL_AIR_SET_POINT_C,
};
pub use error::EquipmentError;
