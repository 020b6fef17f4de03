//! Commissioning of a cabinet: what short tests with a logger, a meter and a scale tell of it, with what they cannot tell.
//!
//! - [`commission`] evaluates tests together: a network of heated bodies for heat-up, cool-down and hold, the water of the
//!   chamber's air for humidity that dies away and for pans and wet cloths, the cycles of an on/off controller.
//! - [`advise`] says which test to do next by what each would take off the uncertainty for its cost.
//! - [`drift`] holds one test repeated later against what was known, and weighs what may have changed.
//! - [`measured_cabinet`] writes what was told into the draft's file.
//!
//! The draft file says what cannot be separated by these tests, within its own ranges; everything a test is to find starts
//! within a factor of ten, so that no absolute figure comes out of the draft.

mod advise;
mod cabinet_file;
mod check;
#[allow(clippy::module_inception)]
mod commission;
mod control;
mod drift;
mod fault;
mod figures;
mod humidity;
mod outcome;
mod predict;
mod record;
mod rehearsed;
mod solve;
mod thermal;
mod unknown;

pub use advise::{Advice, Narrowed, advise, would_tell};
pub use cabinet_file::{Identity, measured_cabinet};
pub use commission::{Commissioned, Fitted, commission};
pub use drift::{Cause, Drift, Weighed, drift};
pub use fault::{CommissionFault, Done, Finding, Problem};
pub use figures::Figures;
pub use outcome::{Outcome, Quantity, Told};
pub use predict::{Channel, Row};
pub use record::{AirReading, CabinetTest, MeterReading, RoomAir, TestKind, Wetted};
pub use rehearsed::{Ask, Planned};
pub use unknown::{Known, KnownFigures};
