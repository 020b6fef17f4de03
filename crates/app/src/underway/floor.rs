//! What the floor is told: one of four words, and why. Words for hands, not verdicts.

use fallrate_foods::KillStep;
use fallrate_lethality::{Advised, Answer, InterruptionFinding};
use fallrate_series::Instant;

use super::Followed;
use super::reason::clock_words;
use super::stops::{GROWTH_LIMIT_MIN, StopJudged};
use crate::batches::{Run, StoppedKind};
use crate::words::{Reader, fixed, say};

/// What to do with the batch, in one word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FloorWord {
    /// Go on by the plan.
    GoOn,
    /// Wait: something is not over.
    Wait,
    /// Hold the product: do not pack it.
    Hold,
    /// Call the person who decides.
    Call,
}

impl FloorWord {
    /// Its name for programs.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::GoOn => "go_on",
            Self::Wait => "wait",
            Self::Hold => "hold",
            Self::Call => "call",
        }
    }
    /// The word.
    #[must_use]
    pub fn words(self, r: &Reader) -> String {
        r.text(match self {
            Self::GoOn => "floor-go-on",
            Self::Wait => "floor-wait",
            Self::Hold => "floor-hold",
            Self::Call => "floor-call",
        })
    }
}

/// The word for a batch, with its reason in a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Floor {
    /// The word.
    pub word: FloorWord,
    /// Why.
    pub why: String,
}

/// An act is overdue after this, s, and somebody is called after that.
const OVERDUE_S: f64 = 300.0;
const CALL_S: f64 = 3600.0;

/// The countdown is too short where more than this share of the cases would still be too wet at its end.
const TOO_WET: f64 = 0.75;

/// The word for a batch: the gravest of what its record, its interruptions and its forecast say; what holds the product
/// stands before what a forecast asks for.
#[must_use]
pub fn floor(
    run: &Run,
    f: Option<&Followed>,
    stops: &[StopJudged],
    next_act: Option<Instant>,
    (r, now): (&Reader, Instant),
) -> Floor {
    let say = |word, key: &str| Floor { word, why: r.text(key) };
    let stop = stops.iter().max_by_key(|s| s.word);
    let verdict = match run.verdict {
        Some(Answer::NotMet) => Some(say(FloorWord::Hold, "floor-why-not-met")),
        Some(Answer::CannotBeJudged) => Some(say(FloorWord::Hold, "floor-why-not-judged")),
        _ => None,
    };
    let stop = stop
        .filter(|s| s.word > FloorWord::GoOn)
        .map(|s| Floor { word: s.word, why: stop_why(s, run, r, now) });
    let never = f.filter(|f| run.ended.is_none() && f.end().unreached > 0.5);
    let never = never.map(|_| say(FloorWord::Call, "floor-why-never"));
    let wet = f.and_then(Followed::as_dialled).filter(|d| run.ended.is_none() && d.too_wet > TOO_WET);
    let wet = wet.map(|_| say(FloorWord::Call, "floor-why-dialled"));
    let late = next_act.filter(|_| run.ended.is_none() && run.started_at().is_some());
    let late = late.map(|at| now.seconds_since(at)).filter(|s| *s > OVERDUE_S).map(|s| {
        if s > CALL_S {
            say(FloorWord::Call, "floor-why-very-late")
        } else {
            say(FloorWord::GoOn, "floor-why-late")
        }
    });
    // What the record says of safety stands before anything a forecast says.
    let safety = gravest([verdict, stop]);
    let held = safety.as_ref().is_some_and(|s| s.word >= FloorWord::Hold);
    let found = if held { safety } else { gravest([late, wet, never, safety]) };
    found.unwrap_or_else(|| match (run.ended.is_some(), run.started_at().is_some()) {
        (true, _) => say(FloorWord::Wait, "floor-why-ended"),
        (false, true) => say(FloorWord::GoOn, "floor-why-plan"),
        (false, false) => say(FloorWord::GoOn, "floor-why-begin"),
    })
}

/// The gravest; of equals the later.
fn gravest<const N: usize>(all: [Option<Floor>; N]) -> Option<Floor> {
    all.into_iter().flatten().fold(None, |a, b| match a {
        Some(a) if a.word > b.word => Some(a),
        _ => Some(b),
    })
}

/// One interruption in one sentence.
fn stop_why(s: &StopJudged, run: &Run, r: &Reader, now: Instant) -> String {
    let what = stop_name(s.stopped.kind, r);
    let from = clock_words(r, &run.zone, s.stopped.from, now);
    match (s.word, s.stopped.until) {
        (FloorWord::Wait, _) => say!(r, "floor-why-stopped", what = what, from = from),
        (FloorWord::Call, _) => {
            say!(r, "floor-why-growth", what = what, from = from, hours = fixed(GROWTH_LIMIT_MIN / 60.0, 0))
        }
        _ => say!(r, "floor-why-held", what = what, from = from),
    }
}

/// Name of a kind of interruption.
#[must_use]
pub fn stop_name(kind: StoppedKind, r: &Reader) -> String {
    r.text(match kind {
        StoppedKind::Power => "stop-power",
        StoppedKind::Door => "stop-door",
        StoppedKind::Fan => "stop-fan",
        StoppedKind::Trays => "stop-trays",
    })
}

/// What the record says of an interruption, point by point: the time in the growth band, the kill step, what to do.
#[must_use]
pub fn stop_reasons(s: &StopJudged, run: &Run, r: &Reader) -> Vec<String> {
    let mut list = Vec::new();
    let clock = |at: Instant| clock_words(r, &run.zone, at, s.stopped.from);
    match (&s.core_before, &s.core_after) {
        (None, None) => list.push(r.text("stop-core-none")),
        (before, after) => {
            if let Some((at, c)) = before {
                list.push(say!(r, "stop-core-before", core = r.temperature(*c), clock = clock(*at)));
            }
            match after {
                Some((at, c)) => {
                    list.push(say!(r, "stop-core-after", core = r.temperature(*c), clock = clock(*at)))
                }
                None => list.push(r.text("stop-core-not-after")),
            }
        }
    }
    if s.kill_step == Some(KillStep::None) {
        list.push(r.text("stop-no-kill-step"));
        return list;
    }
    match &s.finding {
        None => list.push(r.text("stop-unreadable")),
        Some(f) => list.extend(finding_lines(f, s, r)),
    }
    list
}

fn finding_lines(f: &InterruptionFinding, s: &StopJudged, r: &Reader) -> Vec<String> {
    let minutes = |m: f64| fixed(m.ceil(), 0);
    let mut list = vec![say!(
        r,
        "stop-band",
        shown = minutes(f.band_shown_min),
        most = minutes(f.band_at_most_min),
        low = r.temperature(10.0),
        high = r.temperature((130.0 - 32.0) / 1.8)
    )];
    let come_up = match f.come_up {
        Answer::Met => "stop-come-up-kept",
        Answer::NotMet => "stop-come-up-missed",
        Answer::CannotBeJudged => "stop-come-up-open",
    };
    list.push(say!(r, come_up, total = minutes(f.total_at_most_min), limit = fixed(GROWTH_LIMIT_MIN, 0)));
    let kill = match (f.kill_before, s.stated) {
        (Answer::Met, _) => "stop-kill-met",
        (Answer::NotMet, _) => "stop-kill-not",
        (Answer::CannotBeJudged, true) => "stop-kill-open",
        (Answer::CannotBeJudged, false) => "stop-kill-unclaimed",
    };
    list.push(r.text(kill));
    list.push(r.text(match f.advised {
        Advised::Continue => "stop-advice-continue",
        Advised::JudgeAnew => "stop-advice-anew",
        Advised::Hold => "stop-advice-hold",
    }));
    list
}
