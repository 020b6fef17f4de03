//! Power cut, door, fan, tray out: what an interruption means for the kill step and for growth.

use fallrate_series::{EventKind, Log, Proof, Realm, Span};
use serde::Serialize;

use crate::clocks::Clocks;
use crate::come_up::{COME_UP_LIMIT_MIN, ComeUp};
use crate::facts::Case;
use crate::position::PositionRecord;
use crate::{Answer, LethalityError};

/// What to do with the product. A person decides; this is what the record supports.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Advised {
    /// The kill step was complete before, and the growth limit is kept whatever was not recorded.
    Continue,
    /// The kill step was not complete: judge the whole run anew when it is.
    JudgeAnew,
    /// Hold the product: a limit is passed or cannot be shown to be kept.
    Hold,
}

/// One interruption seen against the record.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct InterruptionFinding {
    /// What it was.
    pub kind: EventKind,
    /// From and to.
    pub span: Span,
    /// Whether the criterion was met by the record up to its beginning.
    pub kill_before: Answer,
    /// Minutes of the interruption shown in the growth band, the worst position.
    pub band_shown_min: f64,
    /// Minutes of it that may have been in the band: unrecorded time counts in full.
    pub band_at_most_min: f64,
    /// Minutes in the band from the start of the cook to the end of the interruption, at the most, worst position.
    pub total_at_most_min: f64,
    /// Whether the 6 h limit is kept to the end of the interruption.
    pub come_up: Answer,
    /// What the record supports.
    pub advised: Advised,
}

/// Looks at one interruption. An interruption without an end is taken to last to the end of the record.
///
/// # Errors
/// [`LethalityError`] as for [`crate::judge`].
pub fn assess_interruption(
    log: &Log<Proof>,
    case: &Case,
    kind: &EventKind,
    span: Span,
) -> Result<InterruptionFinding, LethalityError> {
    interruption_of(log, case, kind, span)
}

pub(crate) fn interruption_of<R: Realm>(
    log: &Log<R>,
    case: &Case,
    kind: &EventKind,
    span: Span,
) -> Result<InterruptionFinding, LethalityError> {
    // The interruption may stand on any of the clocks.
    let clocks = Clocks::new(log, &case.facts);
    let edge_s = clocks.widest_s();
    let ended = |shift_s: f64| {
        let mut before = case.clone();
        before.facts.record_ends = Some(span.from().plus_seconds(shift_s));
        crate::judge::run(log, &before).map(|j| j.answer)
    };
    let early = ended(-edge_s)?;
    let late = ended(edge_s).unwrap_or(Answer::CannotBeJudged);
    let kill_before = match (early, late) {
        (Answer::Met, _) => Answer::Met,
        (_, Answer::NotMet) => Answer::NotMet,
        _ => Answer::CannotBeJudged,
    };
    let mut until = case.clone();
    until.facts.record_ends = Some(span.to());
    let window = crate::judge::window(log, &until, &clocks);
    let (mut shown, mut most, mut total) = (0.0, 0.0, (0.0_f64, 0.0_f64));
    for name in &case.facts.required_positions {
        let record = PositionRecord::new(log, name, window, &until, &clocks);
        let (from, to) = window.map_or((0.0, span.seconds()), |w| {
            (span.from().seconds_since(w.t0).max(0.0), span.to().seconds_since(w.t0).max(0.0))
        });
        let usable = record.usable() && window.is_some();
        let earlier = case.facts.earlier_minutes_in_band;
        let (b, in_span) = if usable {
            let c = ComeUp::from_track(record.possible(), earlier, record.slack_s);
            let inner = c.running(to - edge_s).0 - c.running(from + edge_s).0;
            let outer = c.running(to + edge_s).1 - c.running(from - edge_s).1;
            ((c.at(to - edge_s).0, c.at(to + edge_s).1), (inner.max(0.0), outer))
        } else {
            ((earlier * 60.0, earlier * 60.0 + to), (0.0, to - from))
        };
        shown = f64::max(shown, in_span.0 / 60.0);
        most = f64::max(most, in_span.1 / 60.0);
        total = (total.0.max(b.0 / 60.0), total.1.max(b.1 / 60.0));
    }
    let known = window.is_some() && !case.facts.required_positions.is_empty();
    let within = |m: f64| m <= COME_UP_LIMIT_MIN + 1e-7;
    let come_up =
        if known { Answer::from_bounds(within(total.1), within(total.0)) } else { Answer::CannotBeJudged };
    let advised = match (kill_before, come_up) {
        (Answer::Met, Answer::Met) => Advised::Continue,
        (_, Answer::Met) => Advised::JudgeAnew,
        _ => Advised::Hold,
    };
    Ok(InterruptionFinding {
        kind: kind.clone(),
        span,
        kill_before,
        band_shown_min: shown,
        band_at_most_min: most,
        total_at_most_min: total.1,
        come_up,
        advised,
    })
}
