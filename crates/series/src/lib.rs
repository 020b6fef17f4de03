//! Time-stamped measured channels: instants, readings with a quality, gaps, clocks, instruments, provenance and the
//! list of everything that was wrong with a log.
//!
//! Nothing here bridges a gap, smooths a reading or guesses a value. What is missing stays missing.
//!
//! # Provenance is part of the type
//! A [`Log`] belongs to a [`Realm`]. A `Log<Proof>` holds [`ProofProvenance::Measured`] and
//! [`ProofProvenance::Entered`] channels; a `Log<Rehearsal>` holds [`RehearsalProvenance::Simulated`] and
//! [`RehearsalProvenance::Demo`] channels. There is no way from rehearsal to proof, and a judge takes `&Log<Proof>`:
//!
//! ```compile_fail
//! use fallrate_series::{Log, Proof, Rehearsal};
//! fn judge(_: &Log<Proof>) {}
//! let simulated: Log<Rehearsal> = Log::new("Europe/Dublin");
//! judge(&simulated); // does not compile
//! ```
//!
//! # Base units
//! A value is held in the base unit of its channel's [`Role`]: degC for temperatures, fraction for relative humidity
//! and openings, kg for weights, W for power, Pa for pressure, 0 or 1 for states. [`Role::base_unit`] names it.

mod builder;
mod channel;
mod diagnostic;
mod error;
mod event;
mod instant;
mod instrument;
mod log;
mod provenance;
mod reading;
mod role;

pub use builder::ChannelBuilder;
pub use channel::{Answer, Channel, Gap, GapReason, Interval};
pub use diagnostic::{Diagnostic, DiagnosticKind, Severity};
pub use error::SeriesError;
pub use event::{Event, EventKind};
pub use instant::{CalendarDate, Instant, Span};
pub use instrument::{CalibrationState, Instrument};
pub use log::{Clock, ClockEvidence, Log, Source};
pub use provenance::{Proof, ProofProvenance, Provenance, Realm, Rehearsal, RehearsalProvenance};
pub use reading::{ExcludedReason, Quality, Reading, SuspectReason};
pub use role::{BaseUnit, Role};
