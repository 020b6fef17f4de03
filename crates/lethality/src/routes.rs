//! Routes for a plant without steam, shown beside the options.

use serde::Serialize;

/// A route for a plant that cannot hold humidity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RouteWithoutSteam {
    /// Heat in marinade or water before the dryer.
    KillInLiquidBefore,
    /// The printed poultry endpoints (a humidity option is still asked).
    PrintedPoultryEndpoint,
    /// A process authority's own schedule.
    AuthoritySchedule,
    /// A published study, adopted as a schedule and signed.
    AdoptedStudy,
    /// An oven step after drying: an addition, never summed with the kill step.
    OvenAfterDrying,
}

impl RouteWithoutSteam {
    /// All, in the order shown.
    pub const ALL: [Self; 5] = [
        Self::KillInLiquidBefore,
        Self::PrintedPoultryEndpoint,
        Self::AuthoritySchedule,
        Self::AdoptedStudy,
        Self::OvenAfterDrying,
    ];
    /// The requirements behind it.
    #[must_use]
    pub const fn requirements(self) -> &'static [&'static str] {
        match self {
            Self::KillInLiquidBefore => &["JERKY-J03", "OPTION-N1"],
            Self::PrintedPoultryEndpoint => &["JERKY-J13"],
            Self::AuthoritySchedule => &["TOOL-11", "RULE-C27"],
            Self::AdoptedStudy => &["TOOL-10", "JERKY-J35"],
            Self::OvenAfterDrying => &["JERKY-J33", "DRIED-D03", "TOOL-13"],
        }
    }
    /// Whether its log reductions may stand for the kill step. The oven step after drying never does.
    #[must_use]
    pub const fn may_stand_for_the_kill_step(self) -> bool {
        !matches!(self, Self::OvenAfterDrying)
    }
}
