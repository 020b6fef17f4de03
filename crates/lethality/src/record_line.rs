//! A line of the record with its clock and what is missing behind it.

use crate::Answer;
use crate::clocks::{Clocks, Reader};
use crate::reason::{Counted, Missing, StripReason};
use crate::search::Slack;
use crate::timeline::{Range, Timeline};

/// What a record shows of one thing, and what is missing behind it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Evidence {
    pub line: Timeline,
    /// Whose clock the line's instants stand on; `None` for what holds at any time.
    pub clock: Option<Reader>,
    pub missing: Vec<Missing>,
}

impl Evidence {
    /// A line on a clock, with nothing missing.
    pub fn on(clock: Reader, line: Timeline) -> Self {
        Self { line, clock: Some(clock), missing: Vec::new() }
    }
    /// The same all the time.
    pub fn constant(range: Range, counted: Counted, reason: StripReason) -> Self {
        Self { line: Timeline::constant(range, counted, reason), clock: None, missing: Vec::new() }
    }
    /// Nothing recorded.
    pub fn none(range: Range, missing: Missing) -> Self {
        let reason = match missing {
            Missing::AirPressure => StripReason::PressureUnknown,
            _ => StripReason::NothingRecorded,
        };
        Self { missing: vec![missing], ..Self::constant(range, Counted::Unknown, reason) }
    }
    /// A channel that cannot be relied on.
    pub fn unreliable(range: Range, missing: Vec<Missing>) -> Self {
        let reason = match missing.first() {
            Some(Missing::Calibration { .. }) => StripReason::CalibrationNotInDate,
            _ => StripReason::ToleranceUnknown,
        };
        Self { missing, ..Self::constant(range, Counted::Unknown, reason) }
    }

    /// Both together. Of two clocks that may be shifted against each other, the line that changes less often is taken
    /// as it holds for every shift; the other keeps its clock.
    pub fn and(self, other: Self, clocks: &Clocks) -> Self {
        self.joined(other, clocks, Timeline::and)
    }
    /// Either of the two, as [`Evidence::and`].
    pub fn or(self, other: Self, clocks: &Clocks) -> Self {
        self.joined(other, clocks, Timeline::or)
    }

    fn joined(self, other: Self, clocks: &Clocks, join: impl Fn(&Timeline, &Timeline) -> Timeline) -> Self {
        let apart_s = match (self.clock, other.clock) {
            (Some(a), Some(b)) => clocks.apart_s(a, b),
            _ => 0.0,
        };
        let other_gives_way = other.line.changes() <= self.line.changes();
        let (line, clock) = if other_gives_way {
            (join(&self.line, &other.line.eroded(apart_s)), self.clock.or(other.clock))
        } else {
            (join(&self.line.eroded(apart_s), &other.line), other.clock.or(self.clock))
        };
        let mut missing = self.missing;
        missing.extend(other.missing);
        Self { line, clock, missing }
    }

    /// How far the line may be shifted against the stated times and against a core probe on another clock. What holds
    /// at any time goes with the probe.
    pub fn slack(&self, clocks: &Clocks, core: Reader) -> Slack {
        let line = self.clock.unwrap_or(core);
        Slack {
            core_s: clocks.apart_s(Reader::Stated, core),
            humid_s: clocks.apart_s(Reader::Stated, line),
            humid_core_s: clocks.apart_s(line, core),
        }
    }
}

/// Seconds of a line in the stretch that is judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ShownSeconds {
    /// Shown, whatever the shift of the clocks.
    pub yes_s: f64,
    /// So many more are possible.
    pub unknown_s: f64,
    /// Whether every second is shown.
    pub throughout: Answer,
}

impl ShownSeconds {
    /// Nothing known of so many seconds.
    pub const fn unknown(seconds: f64) -> Self {
        Self { yes_s: 0.0, unknown_s: seconds, throughout: Answer::CannotBeJudged }
    }
    /// Whether so many minutes are shown.
    pub fn minutes_at_least(&self, minutes: f64) -> Answer {
        let enough = |s: f64| s / 60.0 >= minutes - 1e-7;
        Answer::from_bounds(enough(self.yes_s), enough(self.yes_s + self.unknown_s))
    }
}
