//! Is there an end instant at which row, humid time, total cook and come-up all hold together?

use crate::come_up::{COME_UP_LIMIT_MIN, ComeUp};
use crate::dwell::Dwell;
use crate::option::HumidityOption;
use crate::reason::Counted;
use crate::timeline::Timeline;

/// Guard against rounding of minutes.
const MINUTES_GUARD: f64 = 1e-7;
/// A strict share is looked at this long after it is reached, s.
const JUST_AFTER_S: f64 = 1e-3;

/// Which side is looked at: what is shown, or what is possible if the missing minutes held the best.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Bound {
    Shown,
    Possible,
}

/// Running seconds of a line.
#[derive(Clone, Debug, Default)]
pub(crate) struct Curve {
    points: Vec<(f64, f64, f64)>,
    slopes: Vec<(bool, bool)>,
}

impl Curve {
    pub fn new(line: &Timeline) -> Self {
        let mut c = Self { points: vec![(0.0, 0.0, 0.0)], slopes: Vec::new() };
        let (mut yes, mut possible) = (0.0, 0.0);
        for s in line.segments() {
            let length = s.to - s.from;
            let (y, p) = (s.counted == Counted::Yes, s.counted != Counted::No);
            yes += if y { length } else { 0.0 };
            possible += if p { length } else { 0.0 };
            c.points.push((s.to, yes, possible));
            c.slopes.push((y, p));
        }
        c
    }
    /// Humid seconds in [0, t].
    pub fn at(&self, t: f64, bound: Bound) -> f64 {
        let pick = |p: &(f64, f64, f64)| if bound == Bound::Shown { p.1 } else { p.2 };
        let i = self.points.partition_point(|p| p.0 < t);
        match (i.checked_sub(1).and_then(|j| self.points.get(j)), self.points.get(i)) {
            (Some(a), Some(b)) => pick(a) + (pick(b) - pick(a)) * (t - a.0) / (b.0 - a.0),
            (None, Some(b)) => pick(b),
            (Some(a), None) => pick(a),
            (None, None) => 0.0,
        }
    }
    /// Instants at which H(t) = share * t or H(t) = floor may be crossed, and the ends of the stretches.
    fn crossings(&self, shares: &[f64], floor_s: f64, bound: Bound, out: &mut Vec<f64>) {
        for ((a, b), slope) in self.points.iter().zip(self.points.iter().skip(1)).zip(&self.slopes) {
            out.push(b.0);
            let (h, humid) = if bound == Bound::Shown { (a.1, slope.0) } else { (a.2, slope.1) };
            let s = if humid { 1.0 } else { 0.0 };
            for f in shares.iter().filter(|f| (s - **f).abs() > 1e-12) {
                out.push((s * a.0 - h) / (s - f));
                out.push((s * a.0 - h) / (s - f) + JUST_AFTER_S);
            }
            if humid {
                out.push(a.0 + floor_s - h);
            }
        }
    }
}

/// What one position offers to the search.
pub(crate) struct Search<'a> {
    pub option: &'a HumidityOption,
    pub dwell: &'a Dwell,
    pub come_up: &'a ComeUp,
    /// `None` where the option asks no humid minutes.
    pub humid: Option<&'a Curve>,
    /// Least total cook, min.
    pub least_cook_min: f64,
    /// End of the record, s.
    pub end: f64,
    /// The dwell must end before, s.
    pub dry_began: f64,
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

impl Search<'_> {
    pub fn run(&self) -> Found {
        let shown_anywhere = self.earliest(Bound::Shown, self.end);
        let shown = shown_anywhere.filter(|t| *t <= self.dry_began + 1e-6);
        let possible = shown_anywhere.or_else(|| self.earliest(Bound::Possible, self.end));
        let print_at = shown_anywhere.or(possible).unwrap_or_else(|| self.nearest());
        Found { shown, shown_anywhere, possible, print_at }
    }

    /// Humid minutes asked for a total cook.
    pub fn humid_required_min(&self, cook_min: f64, bound: Bound) -> f64 {
        let share = match (self.option.second_share, self.option.second_share_above_cook_min) {
            (Some(second), Some(above)) if bound == Bound::Shown && cook_min > above => second,
            _ => self.option.share.unwrap_or(0.0),
        };
        (share * cook_min).max(self.option.floor_min.unwrap_or(0.0))
    }

    /// Whether the humid minutes suffice at an end instant.
    pub fn humid_holds(&self, t: f64, bound: Bound) -> bool {
        let Some(curve) = self.humid else { return true };
        let (cook_min, humid_min) = (t / 60.0, curve.at(t, bound) / 60.0);
        if self.option.throughout {
            return humid_min >= cook_min - MINUTES_GUARD;
        }
        let enough = humid_min >= self.humid_required_min(cook_min, bound) - MINUTES_GUARD;
        let share = self.option.share.unwrap_or(0.0);
        enough && (!self.option.share_must_be_exceeded || humid_min > share * cook_min + MINUTES_GUARD)
    }

    /// Whether the total cook is long and short enough.
    pub fn cook_holds(&self, t: f64) -> bool {
        let cook_min = t / 60.0;
        cook_min >= self.least_cook_min - MINUTES_GUARD
            && self.option.cook_below_min.is_none_or(|below| cook_min < below)
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
        self.cook_holds(t) && self.humid_holds(t, bound) && self.come_up_holds(t, bound)
    }

    fn earliest(&self, bound: Bound, last: f64) -> Option<f64> {
        let row_from = self.row_from(bound)?;
        let mut candidates = self.candidates(bound);
        candidates.push(row_from);
        let from = row_from.max(self.least_cook_min * 60.0);
        candidates.retain(|t| *t >= from - 1e-9 && *t <= last + 1e-9);
        candidates.sort_by(f64::total_cmp);
        candidates.into_iter().find(|t| self.holds(*t, bound))
    }

    fn candidates(&self, bound: Bound) -> Vec<f64> {
        let mut out = vec![self.least_cook_min * 60.0, self.end];
        let o = self.option;
        if let Some(above) = o.second_share_above_cook_min {
            out.push(above * 60.0);
        }
        if let Some(curve) = self.humid {
            let shares: Vec<f64> = [o.share, o.second_share].into_iter().flatten().collect();
            curve.crossings(&shares, o.floor_min.unwrap_or(0.0) * 60.0, bound, &mut out);
        }
        out
    }

    /// Where nothing holds: the end instant whose humid minutes come nearest, once a row is satisfied.
    fn nearest(&self) -> f64 {
        let Some(row_from) = self.row_from(Bound::Shown).or_else(|| self.row_from(Bound::Possible)) else {
            return self.end;
        };
        let from = row_from.max(self.least_cook_min * 60.0).min(self.end);
        let Some(curve) = self.humid else { return from };
        let short = |t: f64| {
            let need = if self.option.throughout {
                t / 60.0
            } else {
                self.humid_required_min(t / 60.0, Bound::Shown)
            };
            need - curve.at(t, Bound::Shown) / 60.0
        };
        let mut best = (from, short(from));
        for t in self.candidates(Bound::Shown).into_iter().filter(|t| *t >= from && *t <= self.end) {
            if short(t) < best.1 - 1e-9 {
                best = (t, short(t));
            }
        }
        best.0
    }
}
