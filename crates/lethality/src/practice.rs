//! The other judgements on simulated or invented readings: practice only, each wrapped so that none can pass for one on a
//! measured record.

use fallrate_series::{EventKind, Log, Rehearsal, Span};
use serde::Serialize;

use crate::facts::Case;
use crate::{
    AdoptedSchedule, AuthorityCriterion, AuthorityVerdict, CommonPractice, InterruptionFinding,
    LethalityError, LotAnswer, LotInputs, PlanGrowthLimit, PlanGrowthResult, PlanLimit, PlanLimitResult,
    PracticeFinding, RehearsalResult, ScheduleVerdict,
};

/// A finding on simulated or invented readings. There is no conversion to the finding itself.
///
/// ```compile_fail,E0308
/// use fallrate_lethality::{PlanLimitResult, Practised};
/// fn cheat(p: Practised<PlanLimitResult>) -> PlanLimitResult { p } // another type
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename = "practice")]
pub struct Practised<T> {
    #[serde(flatten)]
    finding: T,
}

impl<T> Practised<T> {
    /// What a measured record like this would have shown.
    #[must_use]
    pub const fn finding(&self) -> &T {
        &self.finding
    }
}

const fn practised<T>(finding: T) -> Practised<T> {
    Practised { finding }
}

/// Practises [`crate::judge_plan_limit`].
///
/// # Errors
/// As there.
pub fn rehearse_plan_limit(
    log: &Log<Rehearsal>,
    case: &Case,
    limit: &PlanLimit,
) -> Result<Practised<PlanLimitResult>, LethalityError> {
    crate::plan_limit::limit_of(log, case, limit).map(practised)
}

/// Practises [`crate::judge_plan_growth`].
///
/// # Errors
/// As there.
pub fn rehearse_plan_growth(
    log: &Log<Rehearsal>,
    case: &Case,
    limit: &PlanGrowthLimit,
) -> Result<Practised<PlanGrowthResult>, LethalityError> {
    crate::plan_growth::growth_of(log, case, limit).map(practised)
}

/// Practises [`crate::evaluate_practice`].
#[must_use]
pub fn rehearse_practice(
    log: &Log<Rehearsal>,
    case: &Case,
    practice: CommonPractice,
) -> Practised<PracticeFinding> {
    practised(crate::plan_limit::practice_of(log, case, practice))
}

/// Practises [`crate::judge_by_authority`].
///
/// # Errors
/// As there.
pub fn rehearse_by_authority(
    log: &Log<Rehearsal>,
    case: &Case,
    criterion: &AuthorityCriterion,
) -> Result<Practised<AuthorityVerdict>, LethalityError> {
    crate::authority::by_authority(log, case, criterion).map(practised)
}

/// Practises [`crate::judge_by_schedule`].
///
/// # Errors
/// As there.
pub fn rehearse_by_schedule(
    log: &Log<Rehearsal>,
    case: &Case,
    schedule: &AdoptedSchedule,
) -> Result<Practised<ScheduleVerdict>, LethalityError> {
    crate::study::by_schedule(log, case, schedule).map(practised)
}

/// Practises [`crate::assess_interruption`].
///
/// # Errors
/// As there.
pub fn rehearse_interruption(
    log: &Log<Rehearsal>,
    case: &Case,
    kind: &EventKind,
    span: Span,
) -> Result<Practised<InterruptionFinding>, LethalityError> {
    crate::interruption::interruption_of(log, case, kind, span).map(practised)
}

/// Practises [`crate::lot_answer`].
///
/// ```compile_fail,E0308
/// use fallrate_lethality::{LotInputs, RehearsalResult, lot_answer};
/// fn cheat(r: &RehearsalResult, i: &LotInputs<'_>) { lot_answer(r, i); } // another type
/// ```
#[must_use]
pub fn rehearse_lot(result: &RehearsalResult, inputs: &LotInputs<'_>) -> Practised<LotAnswer> {
    practised(crate::lot::lot_of(result.judgement(), inputs))
}
