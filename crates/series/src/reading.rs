//! One reading and its quality.

use serde::{Deserialize, Serialize};

use crate::Instant;

/// One value at one instant, in the base unit of its channel's role.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// When.
    pub at: Instant,
    /// Value in the base unit, always finite.
    pub value: f64,
    /// Whether it may count.
    pub quality: Quality,
}

impl Reading {
    /// A valid reading.
    #[must_use]
    pub const fn valid(at: Instant, value: f64) -> Self {
        Self { at, value, quality: Quality::Valid }
    }
}

/// Whether a reading may count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Quality {
    /// Counts.
    Valid,
    /// Was suspect; a named person looked and let it count (see [`crate::Channel::answers`]).
    Answered(SuspectReason),
    /// Does not count until a named person answers with a reason.
    Suspect(SuspectReason),
    /// Impossible or rejected; never counts.
    Excluded(ExcludedReason),
}

impl Quality {
    /// Whether the reading counts.
    #[must_use]
    pub const fn counts(self) -> bool {
        matches!(self, Self::Valid | Self::Answered(_))
    }
}

/// Why a reading is suspect.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SuspectReason {
    /// A jump up and back within a reading or two.
    Spike,
    /// The same value for too long (also seen in a good steady hold).
    Stuck,
    /// Near a change of the logger's clock.
    ClockJump,
    /// The wet-bulb sock may have run dry.
    SockPerhapsDry,
    /// The humidity sensor may be condensing.
    SensorCondensing,
    /// The probe may be in hot air, not in the product.
    PerhapsNotInProduct,
    /// Wet bulb above dry bulb by less than the instruments can tell apart.
    WetBulbNearAboveDryBulb,
    /// Two sensors at one position differ by more than their tolerances.
    SensorsDisagree,
    /// Two readings for one instant, of different value.
    ConflictingDuplicate,
    /// A local clock reading that exists twice (clock set back).
    AmbiguousLocalTime,
    /// A fixed value that some loggers write for a fault, but that is also possible.
    PerhapsFaultCode,
}

/// Why a reading is excluded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ExcludedReason {
    /// Outside the range of the instrument.
    OutOfInstrumentRange,
    /// The value a logger writes for an unplugged or broken sensor.
    FaultCode,
    /// Relative humidity above 100 % by more than the sensor's tolerance.
    RelativeHumidityAbove100,
    /// Wet bulb above dry bulb by more than the tolerances.
    WetBulbAboveDryBulb,
    /// Below absolute zero, negative weight or the like.
    PhysicallyImpossible,
    /// A named person looked at a suspect reading and rejected it.
    RejectedByPerson,
}
