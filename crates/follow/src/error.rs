//! Why a batch cannot be followed.

use fallrate_plan::PlanError;
use fallrate_simulate::SimulateError;

/// Errors of following a batch. Order of the message: what, value, what is allowed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FollowError {
    /// The plan has no result, or a deed asks for what the cabinet does not have.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The model has no result.
    #[error(transparent)]
    Simulate(#[from] SimulateError),
    /// A reading that is no number or lies outside any range.
    #[error("reading {id}, {what}: {value}; allowed: {low} to {high}")]
    ReadingOutOfRange {
        /// The reading's own number.
        id: u64,
        /// What, with its unit.
        what: &'static str,
        /// Value.
        value: f64,
        /// Least.
        low: f64,
        /// Greatest.
        high: f64,
    },
    /// A tray that is not loaded.
    #[error("tray {tray}: not loaded; allowed: 1 to {loaded}")]
    NoSuchTray {
        /// Number.
        tray: u32,
        /// Trays loaded.
        loaded: u32,
    },
    /// A time that cannot be.
    #[error("{what} at {at_s:.0} s from the start; allowed: {low_s:.0} s to {high_s:.0} s")]
    Time {
        /// What.
        what: &'static str,
        /// s
        at_s: f64,
        /// s
        low_s: f64,
        /// s
        high_s: f64,
    },
    /// A stage that the plan does not have.
    #[error("stage {stage}: not in the plan; allowed: 1 to {stages}")]
    NoSuchStage {
        /// Number, from 1.
        stage: usize,
        /// Stages there are.
        stages: usize,
    },
    /// No run of the draws reached its end: the figures contradict each other.
    #[error("forecast: no run of {draws} came to an end; allowed: at least {needed}")]
    NoRuns {
        /// Draws.
        draws: usize,
        /// Needed.
        needed: usize,
    },
    /// The estimate's arithmetic broke down: a value of the model was no number.
    #[error("estimate: a covariance of {size} values is not positive definite; allowed: finite predictions")]
    NotDefinite {
        /// Rows of the matrix.
        size: usize,
    },
    /// The caller cancelled.
    #[error("cancelled")]
    Cancelled,
}

impl FollowError {
    /// What an interrupted or failed run of the model means here.
    pub(crate) fn of(e: SimulateError) -> Self {
        match e {
            SimulateError::Cancelled { .. } => Self::Cancelled,
            other => Self::Simulate(other),
        }
    }
}
