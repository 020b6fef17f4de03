//! Seconds that a line shows, between instants that a clock's shift may move.

use crate::reason::Counted;
use crate::timeline::Timeline;

/// A stretch whose ends may be shifted, s: each end by its slack either way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stretch {
    pub from: f64,
    pub from_slack: f64,
    pub to: f64,
    pub to_slack: f64,
}

impl Stretch {
    /// What lies in it whatever the shift.
    const fn inner(self) -> (f64, f64) {
        (self.from + self.from_slack, self.to - self.to_slack)
    }
    /// What may lie in it.
    const fn outer(self) -> (f64, f64) {
        (self.from - self.from_slack, self.to + self.to_slack)
    }
}

/// A share that must be exceeded is looked at this long after it is reached, s.
const JUST_AFTER_S: f64 = 1e-3;

/// Which running seconds are meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Running {
    /// Shown to be "yes".
    Yes,
    /// Not shown to be "no".
    NotNo,
    /// Not shown to be "yes".
    NotYes,
    /// Shown to be "no".
    No,
}

impl Running {
    fn of(self, p: (f64, f64, f64)) -> f64 {
        match self {
            Self::Yes => p.1,
            Self::NotNo => p.2,
            Self::NotYes => p.0 - p.1,
            Self::No => p.0 - p.2,
        }
    }
}

/// A straight line that running seconds are compared with.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Straight {
    /// The seconds are looked at so long after the instant, s.
    pub ahead: f64,
    /// Slope.
    pub slope: f64,
    /// The line is zero so long before instant 0, s.
    pub later: f64,
    /// Added, s.
    pub above: f64,
}

/// Running seconds of a line. Outside its range nothing is known.
#[derive(Clone, Debug, Default)]
pub(crate) struct Curve {
    /// (instant, seconds of yes, seconds not of no), at every end of a stretch.
    points: Vec<(f64, f64, f64)>,
}

/// Seconds of a line in a stretch, for every shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Seconds {
    /// Shown to be "yes" at the least.
    pub yes_least: f64,
    /// Perhaps "yes" at the most.
    pub yes_most: f64,
    /// Not shown to be "yes" at the most.
    pub other_most: f64,
    /// Shown to be "no" at the least.
    pub no_least: f64,
}

impl Curve {
    pub fn new(line: &Timeline) -> Self {
        let from = line.segments().first().map_or(0.0, |s| s.from);
        let mut points = vec![(from, 0.0, 0.0)];
        let (mut yes, mut possible) = (0.0, 0.0);
        for s in line.segments() {
            let length = s.to - s.from;
            yes += if s.counted == Counted::Yes { length } else { 0.0 };
            possible += if s.counted == Counted::No { 0.0 } else { length };
            points.push((s.to, yes, possible));
        }
        Self { points }
    }

    /// Running seconds at an instant: of yes, and not of no.
    fn at(&self, t: f64) -> (f64, f64) {
        let i = self.points.partition_point(|p| p.0 < t);
        match (i.checked_sub(1).and_then(|j| self.points.get(j)), self.points.get(i)) {
            (Some(a), Some(b)) => {
                let share = (t - a.0) / (b.0 - a.0);
                (a.1 + (b.1 - a.1) * share, a.2 + (b.2 - a.2) * share)
            }
            (a, b) => {
                let p = a.or(b).copied().unwrap_or_default();
                (p.1, p.2 + t - p.0)
            }
        }
    }

    /// The bounds of a stretch.
    pub fn seconds(&self, s: Stretch) -> Seconds {
        let (inner, outer) = (s.inner(), s.outer());
        let inner = (inner.0, inner.1.max(inner.0));
        let (a, b) = (self.at(inner.0), self.at(inner.1));
        let (c, d) = (self.at(outer.0), self.at(outer.1));
        Seconds {
            yes_least: b.0 - a.0,
            yes_most: d.1 - c.1,
            other_most: (outer.1 - outer.0) - (d.0 - c.0),
            no_least: (inner.1 - inner.0) - (b.1 - a.1),
        }
    }

    /// Instants at which the seconds since `since` meet a straight line, and the ends of the stretches.
    ///
    /// The seconds are looked at `ahead` after the instant; the line is `slope * (instant + later) + above`.
    pub fn meets(&self, seconds: Running, since: f64, line: Straight, out: &mut Vec<f64>) {
        let pick = |p: &(f64, f64, f64)| seconds.of(*p);
        let begin = self.at(since);
        let begin = seconds.of((since, begin.0, begin.1));
        for (a, b) in self.points.iter().zip(self.points.iter().skip(1)) {
            out.push(b.0 - line.ahead);
            let (va, rise) = (pick(a) - begin, (pick(b) - pick(a)) / (b.0 - a.0));
            let steeper = rise - line.slope;
            if steeper.abs() > 1e-12 {
                let at = (line.slope * (line.later - line.ahead) + line.above - va + rise * a.0) / steeper;
                if at >= a.0 - JUST_AFTER_S && at <= b.0 + JUST_AFTER_S {
                    out.extend([at - line.ahead, at - line.ahead + JUST_AFTER_S]);
                }
            }
        }
    }
}
