//! The plan's own limits, kept or missed, apart from the published criterion; common practice under its own name; and
//! the corrective action a missed limit opens.

use fallrate_series::{Instant, Log, Proof, Realm, Role, Span};
use serde::{Deserialize, Serialize};

use crate::citation::LimitClass;
use crate::clocks::{Clocks, judge_reads};
use crate::facts::Case;
use crate::humid::HumidRecord;
use crate::reason::{Missing, StripEntry};
use crate::record_line::{Evidence, ShownSeconds};
use crate::track::Window;
use crate::{Answer, LethalityError};

/// Which side a limit holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LimitSide {
    /// At or above; the tolerance is subtracted.
    AtLeast,
    /// At or below; the tolerance is added.
    AtMost,
}

/// A limit of the plan on one kind of channel, held for some minutes in total.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PlanLimit {
    /// Name of the critical control point and limit as the plan writes it.
    pub name: String,
    /// Class.
    pub class: LimitClass,
    /// What is measured. Every channel of the role must keep the limit.
    pub role: Role,
    /// Side.
    pub side: LimitSide,
    /// Value in the base unit of the role.
    pub value: f64,
    /// Minutes in total; `None` for every minute of the span.
    pub minutes: Option<f64>,
    /// When it applies; the whole record where not stated.
    pub span: Option<Span>,
}

/// How a limit of the plan came out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlanLimitResult {
    /// The limit.
    pub limit: PlanLimit,
    /// Met: kept. Not met: missed.
    pub answer: Answer,
    /// Minutes shown to keep it.
    pub shown_min: f64,
    /// Unknown minutes.
    pub unknown_min: f64,
    /// Minutes asked.
    pub required_min: f64,
    /// Minutes with reasons.
    pub strip: Vec<StripEntry>,
    /// What to supply.
    pub missing: Vec<Missing>,
    /// Opened where a critical limit was missed.
    pub corrective_action: Option<CorrectiveAction>,
}

/// The four parts of a corrective action (RECORD-H04), each `None` until someone fills it in.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct CorrectiveAction {
    /// The cause, found and removed.
    pub cause: Option<ActionEntry>,
    /// The control point, back under control.
    pub control: Option<ActionEntry>,
    /// Measures against recurrence.
    pub prevention: Option<ActionEntry>,
    /// What happened to the product: quantity held, disposition.
    pub disposition: Option<ActionEntry>,
}

/// One part of a corrective action.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ActionEntry {
    /// What was found or done.
    pub text: String,
    /// Who.
    pub by: String,
    /// When.
    pub at: Instant,
}

impl CorrectiveAction {
    /// Whether all four parts are filled in.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        [&self.cause, &self.control, &self.prevention, &self.disposition]
            .into_iter()
            .all(|e| e.as_ref().is_some_and(|e| !e.text.trim().is_empty() && !e.by.trim().is_empty()))
    }
}

/// Judges one limit of the plan.
///
/// # Errors
/// [`LethalityError::OutOfRange`] for values that are not finite, [`LethalityError::Empty`] for a limit without a name.
pub fn judge_plan_limit(
    log: &Log<Proof>,
    case: &Case,
    limit: &PlanLimit,
) -> Result<PlanLimitResult, LethalityError> {
    limit_of(log, case, limit)
}

pub(crate) fn limit_of<R: Realm>(
    log: &Log<R>,
    case: &Case,
    limit: &PlanLimit,
) -> Result<PlanLimitResult, LethalityError> {
    if limit.name.trim().is_empty() {
        return Err(LethalityError::Empty { what: "name of the limit", allowed: "as the plan writes it" });
    }
    LethalityError::within("value of the limit", limit.value, "", -1e9..=1e9, "a finite number")?;
    let asked = limit.minutes.unwrap_or(0.0);
    LethalityError::within("minutes of the limit", asked, "min", 0.0..=100_000.0, "0 or more")?;
    let look = |r: &HumidRecord<'_, R>| match (limit.side, &limit.role) {
        (LimitSide::AtLeast, Role::RelativeHumidity) => r.relative_humidity(limit.value),
        (LimitSide::AtLeast, role) => r.at_least(role, limit.value),
        (LimitSide::AtMost, role) => r.at_most(role, limit.value),
    };
    let clocks = Clocks::new(log, &case.facts);
    let Some((e, shown, w)) = within(log, case, &clocks, limit.span, look) else {
        return Ok(unjudged(limit));
    };
    let required_min = limit.minutes.unwrap_or(w.end / 60.0);
    let mut answer = limit.minutes.map_or(shown.throughout, |m| shown.minutes_at_least(m));
    let clocks = clocks.missing(log, |role| judge_reads(role) || *role == limit.role);
    if !clocks.is_empty() {
        answer = Answer::CannotBeJudged;
    }
    let missed = answer == Answer::NotMet && limit.class == LimitClass::Critical;
    Ok(PlanLimitResult {
        limit: limit.clone(),
        answer,
        shown_min: shown.yes_s / 60.0,
        unknown_min: shown.unknown_s / 60.0,
        required_min,
        strip: e.line.strip(w.t0, w.end),
        missing: e.missing.into_iter().chain(clocks).collect(),
        corrective_action: missed.then(CorrectiveAction::default),
    })
}

fn unjudged(limit: &PlanLimit) -> PlanLimitResult {
    PlanLimitResult {
        limit: limit.clone(),
        answer: Answer::CannotBeJudged,
        shown_min: 0.0,
        unknown_min: 0.0,
        required_min: limit.minutes.unwrap_or(0.0),
        strip: Vec::new(),
        missing: vec![Missing::ProductMetHeat],
        corrective_action: None,
    }
}

/// Looks at a record within a span, or from the product meeting heat to the end.
fn within<R: Realm>(
    log: &Log<R>,
    case: &Case,
    clocks: &Clocks,
    span: Option<Span>,
    look: impl Fn(&HumidRecord<'_, R>) -> Evidence,
) -> Option<(Evidence, ShownSeconds, Window)> {
    let stated = span.map(|s| Window::new(s.from(), s.seconds(), case, clocks));
    let w = stated.or_else(|| crate::judge::window(log, case, clocks))?;
    let record = HumidRecord { log, facts: &case.facts, clocks, w, span: w.span() };
    let e = look(&record);
    let shown = record.seconds(&e);
    Some((e, shown, w))
}

/// A practice that people rely on and that guidance does not accept.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CommonPractice {
    /// A humidity floor below 90 % held for some minutes.
    HumidityFloor {
        /// Least relative humidity, fraction.
        least: f64,
        /// Minutes.
        minutes: f64,
    },
    /// The air at a temperature for some minutes, taken for the product's.
    AirTemperature {
        /// Least dry bulb, degC.
        least_c: f64,
        /// Minutes.
        minutes: f64,
    },
}

/// What became of a common practice. Not a verdict: it is always labelled as below.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PracticeFinding {
    /// The practice.
    pub practice: CommonPractice,
    /// Always [`PRACTICE_LABEL`].
    pub label: &'static str,
    /// Minutes shown.
    pub shown_min: f64,
    /// Unknown minutes.
    pub unknown_min: f64,
    /// Whether the practice as such was kept. `None` where it cannot be said.
    pub kept: Option<bool>,
}

/// The label of every common practice.
pub const PRACTICE_LABEL: &str = "common practice, not accepted by guidance; no source";

/// Looks whether a common practice was kept. It never enters a verdict.
#[must_use]
pub fn evaluate_practice(log: &Log<Proof>, case: &Case, practice: CommonPractice) -> PracticeFinding {
    practice_of(log, case, practice)
}

pub(crate) fn practice_of<R: Realm>(log: &Log<R>, case: &Case, practice: CommonPractice) -> PracticeFinding {
    let minutes = match practice {
        CommonPractice::HumidityFloor { minutes, .. } | CommonPractice::AirTemperature { minutes, .. } => {
            minutes
        }
    };
    let clocks = Clocks::new(log, &case.facts);
    let known = clocks.missing(log, judge_reads).is_empty();
    let looked = within(log, case, &clocks, None, |r| match practice {
        CommonPractice::HumidityFloor { least, .. } => r.relative_humidity(least),
        CommonPractice::AirTemperature { least_c, .. } => r.at_least(&Role::AirDryBulb, least_c),
    });
    let nothing = ShownSeconds::unknown(f64::INFINITY);
    let shown = looked.filter(|_| known).map_or(nothing, |(_, shown, _)| shown);
    let kept = match shown.minutes_at_least(minutes) {
        Answer::Met => Some(true),
        Answer::NotMet => Some(false),
        Answer::CannotBeJudged => None,
    };
    PracticeFinding {
        practice,
        label: PRACTICE_LABEL,
        shown_min: shown.yes_s / 60.0,
        unknown_min: shown.unknown_s / 60.0,
        kept,
    }
}
