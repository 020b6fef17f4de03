//! Why a rehearsal cannot go on.

use fallrate_lethality::LethalityError;
use fallrate_plan::PlanError;
use fallrate_simulate::SimulateError;

/// Errors of a rehearsal. Order of the message: what, value, what is allowed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RehearseError {
    /// The model has no result.
    #[error(transparent)]
    Simulate(#[from] SimulateError),
    /// The plan does not fit the cabinet, or a setting asks for what the cabinet does not have.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// A log could not be built.
    #[error(transparent)]
    Series(#[from] fallrate_series::SeriesError),
    /// A fact stated for the practice judgement is outside its range.
    #[error(transparent)]
    Lethality(#[from] LethalityError),
    /// Something asked for a moment that has passed.
    #[error("{what} at {asked_s:.0} s: the rehearsal stands at {now_s:.0} s; allowed: that or later")]
    InThePast {
        /// What was asked for.
        what: &'static str,
        /// s from the start.
        asked_s: f64,
        /// s from the start.
        now_s: f64,
    },
    /// A countdown that runs cannot be dialled.
    #[error(
        "dial of the timer: it runs, {left_s:.0} s are left; allowed: after it has ended or the power was switched off"
    )]
    TimerRuns {
        /// s
        left_s: f64,
    },
    /// A tray that is not in the cabinet.
    #[error(
        "tray {tray}: not in the cabinet; allowed: a loaded tray of 1 to {loaded} that was not taken out"
    )]
    NoSuchTray {
        /// Number asked for.
        tray: u32,
        /// Trays loaded.
        loaded: u32,
    },
    /// A sensor that the scenario does not have.
    #[error("sensor {index}: not in the scenario; allowed: 0 to below {sensors}")]
    NoSuchSensor {
        /// Index asked for.
        index: usize,
        /// Sensors there are.
        sensors: usize,
    },
    /// A number outside its range.
    #[error("{what}: {value}; allowed: {low} to {high}")]
    OutOfRange {
        /// Field with unit.
        what: &'static str,
        /// Value.
        value: f64,
        /// Least.
        low: f64,
        /// Greatest.
        high: f64,
    },
    /// Something asked of a batch that is out of the cabinet.
    #[error("{what}: the batch was unloaded at {unloaded_s:.0} s; allowed: before that")]
    Unloaded {
        /// What was asked for.
        what: &'static str,
        /// s from the start.
        unloaded_s: f64,
    },
    /// Something asked of a batch that is still in the cabinet.
    #[error("{what}: the batch is still in the cabinet at {now_s:.0} s; allowed: once it is unloaded")]
    NotUnloaded {
        /// What was asked for.
        what: &'static str,
        /// s from the start.
        now_s: f64,
    },
    /// A line that is no act.
    #[error("act: '{line}'; allowed: {}", crate::ACT_LINES)]
    NoAct {
        /// As given.
        line: String,
    },
    /// The caller cancelled.
    #[error("cancelled")]
    Cancelled,
}

impl RehearseError {
    /// Refuses a value outside a range.
    pub(crate) fn within(what: &'static str, value: f64, low: f64, high: f64) -> Result<(), Self> {
        if value >= low && value <= high { Ok(()) } else { Err(Self::OutOfRange { what, value, low, high }) }
    }
}
