//! Why a minute did or did not count, and what is missing.

use fallrate_series::{ExcludedReason, Instant, Quality, Role, Span, SuspectReason};
use serde::Serialize;

/// What a stretch of the record showed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StripReason {
    /// At or above the lowest row after the tolerance.
    AtOrAboveLowestRow,
    /// Below the lowest row after the tolerance: no credit.
    BelowLowestRow,
    /// Humid.
    Humid,
    /// Shown to be not humid.
    NotHumid,
    /// At this dry bulb and pressure the humidity asked cannot exist.
    HumidityImpossible,
    /// Shut.
    Shut,
    /// Open.
    Open,
    /// Within the limit looked at.
    WithinLimit,
    /// Outside the limit looked at.
    OutsideLimit,
    /// Declared dry step.
    DrySurfaceStep,
    /// After the drying stage began.
    AfterDryingBegan,
    /// Nothing recorded.
    NothingRecorded,
    /// Longer between two readings than the plan's monitoring interval.
    LongerThanMonitoringInterval,
    /// Suspect, not answered.
    Suspect(SuspectReason),
    /// Excluded.
    Excluded(ExcludedReason),
    /// Two sensors at one position differ by more than their tolerances.
    SensorsDisagree,
    /// One of several sensors at the position recorded nothing that counts.
    OneSensorMissing,
    /// The tolerance of the instrument is not known.
    ToleranceUnknown,
    /// Calibration not in date.
    CalibrationNotInDate,
    /// The air pressure is not known.
    PressureUnknown,
    /// Two clocks may stand so far apart that it cannot be said.
    ClocksApart,
}

impl StripReason {
    pub(crate) fn from_quality(q: Quality) -> Option<Self> {
        match q {
            Quality::Valid | Quality::Answered(_) => None,
            Quality::Suspect(r) => Some(Self::Suspect(r)),
            Quality::Excluded(r) => Some(Self::Excluded(r)),
        }
    }
}

/// Whether a stretch counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Counted {
    /// Counted.
    Yes,
    /// Shown, and does not count.
    No,
    /// Not shown: unknown.
    Unknown,
}

/// One stretch of a strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct StripEntry {
    /// From and to.
    pub span: Span,
    /// Whether it counted.
    pub counted: Counted,
    /// Why.
    pub reason: StripReason,
}

/// Something a person must supply before the batch can be judged.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Missing {
    /// Which document is claimed.
    ClaimedDocument,
    /// Which humidity option is claimed (advice is not an option).
    ClaimedOption,
    /// The animal.
    Species,
    /// When the product met heat.
    ProductMetHeat,
    /// A clock somebody vouches for, of this source.
    Clock {
        /// File.
        file_name: String,
    },
    /// On which clock the stated times stand, and how right it was.
    StatedClock,
    /// How far the clock of this source may be from that of the stated times.
    ClockUncertainty {
        /// File.
        file_name: String,
    },
    /// A closer comparison of the clocks: as they are stated, their shift decides.
    CloserClocks,
    /// How it is known that the positions are the coldest.
    ColdSpotEvidence,
    /// Commercial or home-style dryer.
    CabinetKind,
    /// The positions that must meet the criterion.
    RequiredPositions,
    /// A probe at this position.
    ProbeAt {
        /// Position.
        position: String,
    },
    /// The instrument of a channel.
    Instrument {
        /// Channel.
        channel: String,
    },
    /// The tolerance of a channel's instrument.
    Tolerance {
        /// Channel.
        channel: String,
    },
    /// A calibration in date for a channel's instrument.
    Calibration {
        /// Channel.
        channel: String,
    },
    /// Record of steam on and off.
    SteamRecord,
    /// How steam was made.
    SteamSource,
    /// Continuous steam: a pan of water is not.
    ContinuousSteam,
    /// Record of the vent.
    VentRecord,
    /// Record of the door, or a person who vouches.
    DoorRecord,
    /// Whether every opening can be shut.
    OpeningsCanShut,
    /// One of the four papers of the sealed option.
    SealedPaper {
        /// Which.
        paper: SealedPaper,
    },
    /// The wet-bulb sign: shut, but humidity did not build.
    WetBulbSign,
    /// Record of relative humidity, or of wet and dry bulb.
    HumidityRecord,
    /// Record of the dry bulb.
    DryBulbRecord,
    /// A record of this kind.
    Record {
        /// What it would measure.
        role: Role,
    },
    /// Altitude or air pressure.
    AirPressure,
    /// Evidence for an option without humidity.
    NoHumidityEvidence,
    /// Cured and smoked or not.
    CureAndSmoke,
    /// Water activity of the lot.
    WaterActivity,
    /// Tolerance of the water-activity meter.
    WaterActivityTolerance,
    /// The pack of the lot.
    Pack,
    /// Ratio of water to protein of the lot.
    MoistureToProtein,
    /// Whether the surface of the dried product was wetted again.
    SurfaceWetted,
    /// The plan's limit for warm wet product after the kill.
    PlanLimitAfterKill,
    /// Second person's approval.
    SecondPersonApproval,
    /// The minutes that are missing from the record.
    Minutes,
}

/// A paper of the sealed option.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SealedPaper {
    /// Temperature record.
    Temperature,
    /// Minutes the damper was shut.
    DamperShut,
    /// Humidity held.
    HumidityHeld,
    /// Upkeep of dampers and seals.
    SealUpkeep,
}

impl Missing {
    /// Whether the fact can still come (a laboratory result), as against a minute that is gone.
    #[must_use]
    pub const fn may_still_come(&self) -> bool {
        !matches!(self, Self::Minutes | Self::WetBulbSign | Self::ContinuousSteam)
    }
}

/// Seconds since the product met heat, as an instant.
pub(crate) fn instant_at(t0: Instant, s: f64) -> Instant {
    t0.plus_seconds(s)
}

/// A span from seconds since the product met heat.
pub(crate) fn span_at(t0: Instant, from_s: f64, to_s: f64) -> Span {
    Span::lasting(instant_at(t0, from_s), to_s - from_s)
}
