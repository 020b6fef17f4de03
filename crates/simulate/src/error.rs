//! Why a run has no result.

use fallrate_schedule::EndCondition;

/// Errors of a run. Order of the message: what, value, what is allowed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SimulateError {
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
    /// A stage has no end.
    #[error("stage '{stage}': no end condition; allowed: at least one end, or a longest duration")]
    NoEnd {
        /// Stage.
        stage: String,
    },
    /// A stage asks for an action that the load cannot follow.
    #[error("stage '{stage}': {what}; allowed: {allowed}")]
    ImpossibleAction {
        /// Stage.
        stage: String,
        /// Action.
        what: String,
        /// Allowed.
        allowed: String,
    },
    /// The condition is not reached within the longest run.
    #[error(
        "stage '{stage}': its end {condition:?} is not reached within {limit_h} h; the closest value was {closest}"
    )]
    NeverEnds {
        /// Stage.
        stage: String,
        /// Condition.
        condition: EndCondition,
        /// Closest value seen, in the condition's unit.
        closest: f64,
        /// Longest run, h.
        limit_h: f64,
    },
    /// The solver's step became too small.
    #[error(
        "the solver stopped at {elapsed_s} s: step below {step_s} s; the inputs may contradict each other"
    )]
    StepTooSmall {
        /// s
        elapsed_s: f64,
        /// s
        step_s: f64,
    },
    /// Water does not close.
    #[error("water balance of the run: residual {residual} of the water exchanged; allowed: {allowed}")]
    WaterBalance {
        /// Relative residual.
        residual: f64,
        /// Allowed.
        allowed: f64,
    },
    /// Energy does not close.
    #[error("energy balance of the run: residual {residual} of the energy exchanged; allowed: {allowed}")]
    EnergyBalance {
        /// Relative residual.
        residual: f64,
        /// Allowed.
        allowed: f64,
    },
    /// The caller cancelled.
    #[error("the run was cancelled at {elapsed_s} s")]
    Cancelled {
        /// s
        elapsed_s: f64,
    },
}
