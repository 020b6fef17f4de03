//! Warm wet product after the kill: spore formers may grow between 50 and 130 degF, and the kill step does not stop them.

use serde::Serialize;

use crate::Answer;
use crate::come_up::ComeUp;
use crate::facts::Case;
use crate::position::PositionRecord;
use crate::track::Window;
use crate::verdict::{OptionResult, PositionResult};

/// Minutes in the growth band after the kill, until the product was dry. An answer of its own.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AfterKill {
    /// Minutes shown in 50 to 130 degF between the end of the kill and the product being dry (or the end of the record).
    pub shown_min: f64,
    /// At the most, unknown time in full.
    pub at_most_min: f64,
    /// Met: never in the band, or within the plan's minutes whatever the missing ones held. Cannot be judged: in the
    /// band, and the plan has no limit for it, or unknown minutes decide. `None`: the plan's limit, named below, is judged
    /// apart.
    pub answer: Option<Answer>,
    /// The plan's limit, by its name.
    pub plan_limit: Option<String>,
    /// The plan's limit, min, where it is one of minutes in the band.
    pub limit_min: Option<f64>,
}

/// For one position; `None` where no claimed option was met.
pub(crate) fn after_kill(
    case: &Case,
    window: Option<Window>,
    record: &PositionRecord,
    come_up: &ComeUp,
    options: &[OptionResult],
) -> Option<AfterKill> {
    let w = window?;
    let met = || options.iter().filter(|o| o.answer == Answer::Met);
    let from = met().filter_map(|o| o.end).min()?.seconds_since(w.t0);
    let earliest = met().filter_map(|o| o.earliest_s).fold(from, f64::min);
    // The product was dry at a stated time, which the probes' clock may place earlier or later; else it is taken to be
    // wet to the end of the record.
    let dry = case.facts.product_dry.map(|d| d.seconds_since(w.t0));
    let slack = record.slack_s;
    let (first, last) = (
        dry.map_or(record.end.0, |d| (d - slack).min(record.end.0)).max(from),
        dry.map_or(record.end.1, |d| (d + slack).min(record.end.1)).max(from),
    );
    let (at_least, at_most) = (come_up.running(first), come_up.running(last));
    let at_most_min = (at_most.1 - come_up.running(earliest).1) / 60.0;
    let plan_limit = case.facts.plan_limit_after_kill.clone().filter(|n| !n.trim().is_empty());
    let shown_min = (at_least.0 - come_up.running(from).0) / 60.0;
    // A number without the plan's name for it is no limit of the plan.
    let limit_min = plan_limit.as_ref().and(case.facts.after_kill_at_most_min);
    let answer = match (at_most_min > 0.0, &plan_limit, limit_min) {
        (false, _, _) => Some(Answer::Met),
        (true, Some(_), Some(most)) => Some(Answer::from_bounds(at_most_min <= most, shown_min <= most)),
        (true, Some(_), None) => None,
        (true, None, _) => Some(Answer::CannotBeJudged),
    };
    Some(AfterKill { shown_min, at_most_min, answer, plan_limit, limit_min })
}

/// The position that does worst; of equals the one with the most minutes.
pub(crate) fn worst(positions: &[PositionResult]) -> Option<AfterKill> {
    let all = positions.iter().filter_map(|p| p.after_kill.clone());
    let missed = |a: &AfterKill| a.answer == Some(Answer::NotMet);
    let worse = |b: &AfterKill, a: &AfterKill| (missed(b), b.at_most_min) > (missed(a), a.at_most_min);
    all.reduce(|a, b| if worse(&b, &a) { b } else { a })
}
