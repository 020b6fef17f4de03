//! Is there an end instant at which row, humid time, total cook and come-up all hold together?
//!
//! The end instant stands on the core probe's clock. Where clocks may be shifted against each other (TOOL-20), what is
//! shown holds for every shift and what is possible for some.

use crate::come_up::{COME_UP_LIMIT_MIN, ComeUp};
use crate::count::{Curve, Running, Seconds, Straight, Stretch};
use crate::dwell::Dwell;
use crate::option::{DocumentReading, HumidityOption};

/// Guard against rounding of minutes.
const MINUTES_GUARD: f64 = 1e-7;
/// The same in seconds.
const GUARD_S: f64 = MINUTES_GUARD * 60.0;

/// Which side is looked at: what is shown, or what is possible if the missing minutes held the best.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Bound {
    Shown,
    Possible,
}

/// How far clocks may be shifted, s either way.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Slack {
    /// The core probe's clock against the stated one.
    pub core_s: f64,
    /// The clock of the humid minutes against the stated one.
    pub humid_s: f64,
    /// The clock of the humid minutes against the core probe's.
    pub humid_core_s: f64,
}

/// What one position offers to the search.
pub(crate) struct Search<'a> {
    pub option: &'a HumidityOption,
    /// Where the document contradicts itself: one reading alone. Without it the stricter share is asked of what is
    /// shown and the other of what is possible.
    pub reading: Option<DocumentReading>,
    pub dwell: &'a Dwell,
    pub come_up: &'a ComeUp,
    /// `None` where the option asks no humid minutes.
    pub humid: Option<&'a Curve>,
    /// Least total cook, min.
    pub least_cook_min: f64,
    /// End of the record on the core probe's clock, s: at the earliest, at the latest.
    pub end: (f64, f64),
    /// The dwell must end before, s on the stated clock.
    pub dry_began: f64,
    pub slack: Slack,
}

/// What the search found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Found {
    /// Earliest end instant by what is shown, before the drying stage.
    pub shown: Option<f64>,
    /// As `shown`, but wherever in the record.
    pub shown_anywhere: Option<f64>,
    /// Earliest end instant by what is possible, wherever in the record.
    pub possible: Option<f64>,
    /// The instant to print figures at.
    pub print_at: f64,
}

/// Humid minutes to print.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct HumidFigures {
    pub least_min: f64,
    pub most_min: f64,
    pub required_min: f64,
}

impl Search<'_> {
    pub fn run(&self) -> Found {
        let shown_anywhere = self.earliest(Bound::Shown, self.end.0);
        let shown = shown_anywhere.filter(|t| *t + self.slack.core_s <= self.dry_began + 1e-6);
        let possible = shown_anywhere.or_else(|| self.earliest_possible());
        let print_at = shown_anywhere.or(possible).unwrap_or_else(|| self.nearest());
        Found { shown, shown_anywhere, possible, print_at }
    }

    /// Earliest end instant by what is possible, whatever is shown.
    pub fn earliest_possible(&self) -> Option<f64> {
        self.earliest(Bound::Possible, self.end.1)
    }

    /// Total cook at an end instant, s: at the least, at the most.
    pub fn cook_s(&self, t: f64) -> (f64, f64) {
        ((t - self.slack.core_s).max(0.0), t + self.slack.core_s)
    }

    /// Humid share asked of a total cook.
    fn share(&self, cook_s: f64, bound: Bound) -> f64 {
        let o = self.option;
        let by_flow_chart = match self.reading {
            Some(reading) => reading == DocumentReading::FlowChart,
            None => bound == Bound::Shown,
        };
        match (o.second_share, o.second_share_above_cook_min) {
            _ if o.throughout => 1.0,
            (Some(second), Some(above)) if by_flow_chart && cook_s / 60.0 > above => second,
            _ => o.share.unwrap_or(0.0),
        }
    }

    /// Humid share asked at an end instant.
    pub fn share_asked(&self, t: f64) -> f64 {
        self.share(self.cook_s(t).1, Bound::Shown)
    }

    fn floor_s(&self) -> f64 {
        self.option.floor_min.map_or(0.0, |m| m * 60.0)
    }

    fn seconds(&self, curve: &Curve, t: f64) -> Seconds {
        let (from_slack, to_slack) = (self.slack.humid_s, self.slack.humid_core_s);
        curve.seconds(Stretch { from: 0.0, from_slack, to: t, to_slack })
    }

    /// Whether the humid minutes suffice at an end instant.
    pub fn humid_holds(&self, t: f64, bound: Bound) -> bool {
        let Some(curve) = self.humid else { return true };
        let (n, (least, most), floor) = (self.seconds(curve, t), self.cook_s(t), self.floor_s());
        let reaches = |have: f64, need: f64| {
            if self.option.share_must_be_exceeded { have > need + GUARD_S } else { have >= need - GUARD_S }
        };
        match bound {
            Bound::Shown => {
                let share = self.share(most, bound);
                let by_humid = reaches(n.yes_least, share * most);
                let by_rest = reaches((1.0 - share) * least, n.other_most);
                (by_humid || by_rest) && n.yes_least.max(least - n.other_most) >= floor - GUARD_S
            }
            Bound::Possible => {
                let share = self.share(least, bound);
                reaches(n.yes_most, share * least)
                    && reaches((1.0 - share) * most, n.no_least)
                    && n.yes_most.min(most - n.no_least) >= floor - GUARD_S
            }
        }
    }

    /// Humid minutes shown, possible and asked at an end instant.
    pub fn humid_figures(&self, t: f64) -> HumidFigures {
        self.humid.map_or_else(HumidFigures::default, |curve| self.figures(curve, t))
    }

    fn figures(&self, curve: &Curve, t: f64) -> HumidFigures {
        let (n, (least, most)) = (self.seconds(curve, t), self.cook_s(t));
        let share = self.share_asked(t);
        // Of the two ways to bound the humid seconds, the one that comes nearer to what it asks.
        let (by_humid, by_rest) = ((n.yes_least, share * most), (least - n.other_most, share * least));
        let (shown, asked) =
            if by_humid.0 - by_humid.1 >= by_rest.0 - by_rest.1 { by_humid } else { by_rest };
        let (shown, possible) = (shown.max(0.0), n.yes_most.min(most - n.no_least));
        HumidFigures {
            least_min: shown / 60.0,
            most_min: possible.max(shown) / 60.0,
            required_min: asked.max(self.floor_s()) / 60.0,
        }
    }

    /// Whether the total cook is long and short enough.
    pub fn cook_holds(&self, t: f64, bound: Bound) -> bool {
        let (least, most) = self.cook_s(t);
        let (for_least, for_most) = if bound == Bound::Shown { (least, most) } else { (most, least) };
        for_least / 60.0 >= self.least_cook_min - MINUTES_GUARD
            && self.option.cook_below_min.is_none_or(|below| for_most / 60.0 < below)
    }

    /// Whether the come-up is short enough.
    pub fn come_up_holds(&self, t: f64, bound: Bound) -> bool {
        let (least, most) = self.come_up.at(t);
        let s = if bound == Bound::Shown { most } else { least };
        s / 60.0 <= COME_UP_LIMIT_MIN + MINUTES_GUARD
    }

    fn row_from(&self, bound: Bound) -> Option<f64> {
        match bound {
            Bound::Shown => self.dwell.shown_at.map(|(t, _)| t),
            Bound::Possible => self.dwell.possible_at,
        }
    }

    fn holds(&self, t: f64, bound: Bound) -> bool {
        self.cook_holds(t, bound) && self.humid_holds(t, bound) && self.come_up_holds(t, bound)
    }

    /// First instant at which the cook is long enough.
    fn cooked_from(&self, bound: Bound) -> f64 {
        let slack = if bound == Bound::Shown { self.slack.core_s } else { -self.slack.core_s };
        self.least_cook_min * 60.0 + slack
    }

    fn earliest(&self, bound: Bound, last: f64) -> Option<f64> {
        let from = self.row_from(bound)?.max(self.cooked_from(bound));
        // Most often it holds at once, or the come-up rules out every later instant.
        if from > last + 1e-9 || !self.come_up_holds(from, bound) {
            return None;
        }
        if self.holds(from, bound) {
            return Some(from);
        }
        let mut candidates = self.candidates(bound);
        candidates.push(last);
        candidates.retain(|t| *t >= from && *t <= last + 1e-9);
        candidates.sort_by(f64::total_cmp);
        candidates.into_iter().find(|t| self.holds(*t, bound))
    }

    fn candidates(&self, bound: Bound) -> Vec<f64> {
        let (o, Slack { core_s, humid_s, humid_core_s }) = (self.option, self.slack);
        let mut out = vec![self.cooked_from(bound)];
        if let Some(above) = o.second_share_above_cook_min {
            out.push(above * 60.0 - core_s);
        }
        let shares: Vec<f64> =
            if o.throughout { vec![1.0] } else { [o.share, o.second_share].into_iter().flatten().collect() };
        let floor = self.floor_s();
        // The two bounds of the humid seconds: by what is humid, and by what is not.
        let (humid, rest, ahead, later) = match bound {
            Bound::Shown => ((Running::Yes, humid_s), (Running::NotYes, -humid_s), -humid_core_s, core_s),
            Bound::Possible => ((Running::NotNo, -humid_s), (Running::No, humid_s), humid_core_s, -core_s),
        };
        let mut meets = |(running, since): (Running, f64), line: Straight| {
            self.humid.into_iter().for_each(|curve| curve.meets(running, since, line, &mut out));
        };
        for share in shares {
            meets(humid, Straight { ahead, slope: share, later, above: 0.0 });
            meets(rest, Straight { ahead: -ahead, slope: 1.0 - share, later: -later, above: 0.0 });
        }
        meets(humid, Straight { ahead, slope: 0.0, later, above: floor });
        meets(rest, Straight { ahead: -ahead, slope: 1.0, later: -later, above: -floor });
        out
    }

    /// Where nothing holds: the end instant whose humid minutes come nearest, once a row is satisfied.
    fn nearest(&self) -> f64 {
        let end = self.end.1;
        let Some(row_from) = self.row_from(Bound::Shown).or_else(|| self.row_from(Bound::Possible)) else {
            return end;
        };
        let from = row_from.max(self.cooked_from(Bound::Shown)).min(end);
        let Some(curve) = self.humid else { return from };
        let short = |t: f64| {
            let f = self.figures(curve, t);
            f.required_min - f.least_min
        };
        let mut best = (from, short(from));
        for t in self.candidates(Bound::Shown).into_iter().filter(|t| *t >= from && *t <= end) {
            if short(t) < best.1 - 1e-9 {
                best = (t, short(t));
            }
        }
        best.0
    }
}
