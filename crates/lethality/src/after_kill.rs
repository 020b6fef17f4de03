//! Warm wet product after the kill: spore formers may grow between 50 and 130 degF, and the kill step does not stop them.

use serde::Serialize;

use crate::Answer;
use crate::come_up::ComeUp;
use crate::facts::Case;
use crate::track::{Track, Window};
use crate::verdict::{OptionResult, PositionResult};

/// Minutes in the growth band after the kill, until the product was dry. An answer of its own.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AfterKill {
    /// Minutes shown in 50 to 130 degF between the end of the kill and the product being dry (or the end of the record).
    pub shown_min: f64,
    /// At the most, unknown time in full.
    pub at_most_min: f64,
    /// Met: never in the band. Cannot be judged: in the band, and the plan has no limit for it. `None`: the plan's limit,
    /// named below, is judged apart.
    pub answer: Option<Answer>,
    /// The plan's limit, by its name.
    pub plan_limit: Option<String>,
}

/// For one position; `None` where no claimed option was met.
pub(crate) fn after_kill(
    case: &Case,
    window: Option<Window>,
    track: &Track,
    come_up: &ComeUp,
    options: &[OptionResult],
) -> Option<AfterKill> {
    let w = window?;
    let met = options.iter().filter(|o| o.answer == Answer::Met).filter_map(|o| o.end);
    let from = met.min()?.seconds_since(w.t0);
    let to =
        case.facts.product_dry.map_or(track.end, |d| d.seconds_since(w.t0)).clamp(from, track.end.max(from));
    let (a, b) = (come_up.at(from), come_up.at(to));
    let at_most_min = (b.1 - a.1) / 60.0;
    let plan_limit = case.facts.plan_limit_after_kill.clone().filter(|n| !n.trim().is_empty());
    let answer = match (at_most_min > 0.0, &plan_limit) {
        (false, _) => Some(Answer::Met),
        (true, Some(_)) => None,
        (true, None) => Some(Answer::CannotBeJudged),
    };
    Some(AfterKill { shown_min: (b.0 - a.0) / 60.0, at_most_min, answer, plan_limit })
}

/// The position with the most minutes.
pub(crate) fn worst(positions: &[PositionResult]) -> Option<AfterKill> {
    let all = positions.iter().filter_map(|p| p.after_kill.clone());
    all.reduce(|a, b| if b.at_most_min > a.at_most_min { b } else { a })
}
