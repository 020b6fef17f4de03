//! What can be wrong with a schedule.

/// A fault of a schedule. Stages and interruptions are counted from 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[allow(missing_docs)] // `stage` is the number, `name` the name; the message says the rest
pub enum ScheduleError {
    #[error("schedule: no stage; allowed: 1 to 60 stages")]
    NoStage,
    #[error("schedule: {count} stages; allowed: 1 to 60 stages")]
    TooManyStages { count: usize },
    #[error("schedule: the stages last {hours:.1} h together; allowed: at most 168 h (7 d)")]
    TooLong { hours: f64 },
    #[error("stage {stage}: no name; allowed: a name of its own")]
    NoName { stage: usize },
    #[error("stage {stage} '{name}': named like stage {other}; allowed: a name of its own")]
    DuplicateName { stage: usize, name: String, other: usize },
    #[error("stage {stage} '{name}': {what} is {value}; allowed: {low} to {high} {unit}")]
    OutOfRange {
        stage: usize,
        name: String,
        what: &'static str,
        value: f64,
        low: f64,
        high: f64,
        unit: &'static str,
    },
    #[error("stage {stage} '{name}': has no end; allowed: an end condition, or 'at most' a duration")]
    NeverEnds { stage: usize, name: String },
    #[error(
        "stage {stage} '{name}': the end after {first_s} s comes before the one after {second_s} s, which can never come; allowed: one duration"
    )]
    EndAfterEnd { stage: usize, name: String, first_s: f64, second_s: f64 },
    #[error(
        "stage {stage} '{name}': a core of {core_c} degC can never come, no set point so far is above {set_point_c} degC; allowed: a core below the set point"
    )]
    CoreAboveSetPoint { stage: usize, name: String, core_c: f64, set_point_c: f64 },
    #[error(
        "stage {stage} '{name}': its core temperature can never come, no stage so far has a set point; allowed: a set point above it"
    )]
    CoreWithoutHeat { stage: usize, name: String },
    #[error(
        "stage {stage} '{name}': a hold of {hold_s} s within at most {at_most_s} s can never end it; allowed: a hold shorter than the stage"
    )]
    HoldTooLong { stage: usize, name: String, hold_s: f64, at_most_s: f64 },
    #[error(
        "stage {stage} '{name}': {what} {value} is met already, stage {earlier} ends at {before}; allowed: targets that fall from stage to stage"
    )]
    TargetNotFalling {
        stage: usize,
        name: String,
        what: &'static str,
        value: f64,
        earlier: usize,
        before: f64,
    },
    #[error(
        "stage {stage} '{name}': ends when the chamber is above {above} or below {below} relative humidity, which is always so; allowed: a gap between them"
    )]
    HumidityEndsOverlap { stage: usize, name: String, above: f64, below: f64 },
    #[error("stage {stage} '{name}': heater on with the fan off; allowed: a fan step, or no set point")]
    HeaterWithoutFan { stage: usize, name: String },
    #[error("stage {stage} '{name}': swaps group '{group}' with itself; allowed: two groups")]
    SwapWithItself { stage: usize, name: String, group: String },
    #[error("stage {stage} '{name}': pulls no tray from '{group}'; allowed: 1 or more")]
    PullsNothing { stage: usize, name: String, group: String },
    #[error("interruption {number} ({kind}): {what} is {value} s; allowed: {low} to {high} s")]
    InterruptionOutOfRange {
        number: usize,
        kind: &'static str,
        what: &'static str,
        value: f64,
        low: f64,
        high: f64,
    },
    #[error(
        "interruption {number} ({kind}): overlaps interruption {other} of the same kind; allowed: one after the other"
    )]
    InterruptionsOverlap { number: usize, kind: &'static str, other: usize },
    #[error("interruption {number} ({kind}): vent at {value}; allowed: 0 to 1")]
    InterruptionVent { number: usize, kind: &'static str, value: f64 },
    #[error("interruption {number} ({kind}): no tray; allowed: 1 or more")]
    InterruptionPullsNothing { number: usize, kind: &'static str },
}

impl ScheduleError {
    /// The stage it is about, from 1.
    #[must_use]
    pub const fn stage(&self) -> Option<usize> {
        match self {
            Self::NoName { stage }
            | Self::DuplicateName { stage, .. }
            | Self::OutOfRange { stage, .. }
            | Self::NeverEnds { stage, .. }
            | Self::EndAfterEnd { stage, .. }
            | Self::CoreAboveSetPoint { stage, .. }
            | Self::CoreWithoutHeat { stage, .. }
            | Self::HoldTooLong { stage, .. }
            | Self::TargetNotFalling { stage, .. }
            | Self::HumidityEndsOverlap { stage, .. }
            | Self::HeaterWithoutFan { stage, .. }
            | Self::SwapWithItself { stage, .. }
            | Self::PullsNothing { stage, .. } => Some(*stage),
            _ => None,
        }
    }
    /// The interruption it is about, from 1.
    #[must_use]
    pub const fn interruption(&self) -> Option<usize> {
        match self {
            Self::InterruptionOutOfRange { number, .. }
            | Self::InterruptionsOverlap { number, .. }
            | Self::InterruptionVent { number, .. }
            | Self::InterruptionPullsNothing { number, .. } => Some(*number),
            _ => None,
        }
    }
}
