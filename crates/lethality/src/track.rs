//! The temperature record of one position, as pieces between neighbouring readings.

use fallrate_series::{Channel, Instant, Quality, Realm, Span};

use crate::reason::{Counted, StripEntry, StripReason, span_at};
use crate::table::{ROW_COMPARISON_GUARD_F, celsius_from_fahrenheit};

/// What a piece between two instants shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Shown {
    /// Both ends count and the wait is within the monitoring interval.
    Known(Line),
    /// Nothing that counts.
    Unknown(StripReason),
}

/// A straight line between two readings that count, degC.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Line {
    /// Colder of the two readings, less tolerance. Governs the credit.
    pub cold_c: f64,
    /// At the beginning of the piece, as read.
    pub from_c: f64,
    /// At its end, as read.
    pub to_c: f64,
    /// Tolerance, K.
    pub tolerance_k: f64,
}

/// One piece, in seconds since the product met heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Piece {
    pub from: f64,
    pub to: f64,
    pub shown: Shown,
    /// Two consecutive readings that count stand at its ends, both within the record; colder one less tolerance.
    pub pair_cold_c: Option<f64>,
}

/// The record of one position over [0, end], without holes.
#[derive(Clone, Debug, PartialEq, Default)]
pub(crate) struct Track {
    pub pieces: Vec<Piece>,
    pub end: f64,
    pub tolerance_k: f64,
}

/// What a track is built for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Window {
    pub t0: Instant,
    pub end: f64,
    pub longest_s: f64,
}

impl Track {
    /// From one probe. `doubtful` are spans whose valid readings do not count (perhaps not in the product); `by_hand`
    /// says that two readings in a row count as a pair whatever the wait between them.
    pub fn from_channel<R: Realm>(
        channel: &Channel<R>,
        w: Window,
        tolerance_k: f64,
        doubtful: &[(Span, StripReason)],
        by_hand: bool,
    ) -> Self {
        let mut track = Self { pieces: Vec::new(), end: w.end, tolerance_k };
        let mut doubts = doubtful.iter().peekable();
        let state =
            |q: Quality,
             at: Instant,
             doubts: &mut std::iter::Peekable<std::slice::Iter<'_, (Span, StripReason)>>| {
                while doubts.peek().is_some_and(|(s, _)| s.to() < at) {
                    doubts.next();
                }
                match (q, doubts.peek()) {
                    (Quality::Valid, Some((s, r))) if s.contains(at) => Some(*r),
                    _ => StripReason::from_quality(q),
                }
            };
        let mut before: Option<(f64, f64, Option<StripReason>)> = None;
        for r in channel.readings() {
            let t = r.at.seconds_since(w.t0);
            let now = (t, r.value, state(r.quality, r.at, &mut doubts));
            if let Some(first) = before.replace(now)
                && t > 0.0
                && first.0 < w.end
            {
                track.between(first, now, w, by_hand);
            }
            if t >= w.end {
                break;
            }
        }
        track.fill_until(w.end, StripReason::NothingRecorded);
        track
    }

    fn between(
        &mut self,
        a: (f64, f64, Option<StripReason>),
        b: (f64, f64, Option<StripReason>),
        w: Window,
        by_hand: bool,
    ) {
        self.fill_until(a.0, StripReason::NothingRecorded);
        let (from, to) = (a.0.max(0.0), b.0.min(self.end));
        let cold_c = a.1.min(b.1) - self.tolerance_k;
        let inside = a.0 >= 0.0 && b.0 <= self.end;
        let long = b.0 - a.0 > w.longest_s + 1e-6;
        let shown = match a.2.or(b.2) {
            Some(reason) => Shown::Unknown(reason),
            None if long => Shown::Unknown(StripReason::LongerThanMonitoringInterval),
            None => {
                let at = |t: f64| a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0);
                Shown::Known(Line { cold_c, from_c: at(from), to_c: at(to), tolerance_k: self.tolerance_k })
            }
        };
        let pair = inside && a.2.or(b.2).is_none() && (!long || by_hand);
        self.pieces.push(Piece { from, to, shown, pair_cold_c: pair.then_some(cold_c) });
    }

    fn fill_until(&mut self, t: f64, reason: StripReason) {
        let from = self.pieces.last().map_or(0.0, |p| p.to);
        if t > from {
            let shown = Shown::Unknown(reason);
            self.pieces.push(Piece { from, to: t, shown, pair_cold_c: None });
        }
    }

    /// Two sensors at one position: the colder of both where both count; unknown where one does not count or where
    /// they differ by more than their tolerances.
    pub fn merge(&self, other: &Self) -> Self {
        let mut out =
            Self { pieces: Vec::new(), end: self.end, tolerance_k: self.tolerance_k.max(other.tolerance_k) };
        let (mut i, mut j) = (self.pieces.iter().peekable(), other.pieces.iter().peekable());
        while let (Some(a), Some(b)) = (i.peek(), j.peek()) {
            let (from, to) = (a.from.max(b.from), a.to.min(b.to));
            if to > from {
                out.pieces.push(merged_piece(a, b, from, to));
            }
            let (a_to, b_to) = (a.to, b.to);
            if a_to <= b_to {
                i.next();
            }
            if b_to <= a_to {
                j.next();
            }
        }
        out
    }

    /// As a strip to print: what counted towards the lowest row and why not.
    pub fn strip(
        &self,
        t0: Instant,
        lowest_row_f: Option<f64>,
        drying_began: Option<f64>,
    ) -> Vec<StripEntry> {
        let lowest_c =
            lowest_row_f.map_or(f64::INFINITY, |f| celsius_from_fahrenheit(f - ROW_COMPARISON_GUARD_F));
        let mut out: Vec<StripEntry> = Vec::new();
        for p in &self.pieces {
            let (counted, reason) = match p.shown {
                Shown::Unknown(r) => (Counted::Unknown, r),
                Shown::Known(_) if drying_began.is_some_and(|d| p.from >= d) => {
                    (Counted::No, StripReason::AfterDryingBegan)
                }
                Shown::Known(l) if l.cold_c >= lowest_c => (Counted::Yes, StripReason::AtOrAboveLowestRow),
                Shown::Known(_) => (Counted::No, StripReason::BelowLowestRow),
            };
            let Some(span) = span_at(t0, p.from, p.to) else { continue };
            match out.last_mut() {
                Some(last) if last.counted == counted && last.reason == reason => {
                    last.span = Span::new(last.span.from(), span.to()).unwrap_or(span);
                }
                _ => out.push(StripEntry { span, counted, reason }),
            }
        }
        out
    }

    /// Seconds of which nothing is known.
    pub fn unknown_s(&self) -> f64 {
        let unknown = self.pieces.iter().filter(|p| matches!(p.shown, Shown::Unknown(_)));
        unknown.fold(0.0, |sum, p| sum + p.to - p.from)
    }
}

fn merged_piece(a: &Piece, b: &Piece, from: f64, to: f64) -> Piece {
    let unknown = |reason| Piece { from, to, shown: Shown::Unknown(reason), pair_cold_c: None };
    let (la, lb) = match (a.shown, b.shown) {
        (Shown::Known(la), Shown::Known(lb)) => (la, lb),
        (Shown::Unknown(r), Shown::Unknown(_)) => return unknown(r),
        _ => return unknown(StripReason::OneSensorMissing),
    };
    let at = |p: &Piece, l: &Line, t: f64| l.from_c + (l.to_c - l.from_c) * (t - p.from) / (p.to - p.from);
    let (a0, a1, b0, b1) = (at(a, &la, from), at(a, &la, to), at(b, &lb, from), at(b, &lb, to));
    let allowed = la.tolerance_k + lb.tolerance_k + ROW_COMPARISON_GUARD_F;
    if (a0 - b0).abs() > allowed || (a1 - b1).abs() > allowed {
        return unknown(StripReason::SensorsDisagree);
    }
    let tolerance_k = la.tolerance_k.max(lb.tolerance_k);
    let line = Line { cold_c: la.cold_c.min(lb.cold_c), from_c: a0.min(b0), to_c: a1.min(b1), tolerance_k };
    let whole = (a.pair_cold_c, b.pair_cold_c);
    let pair = match whole {
        (Some(x), Some(y)) if (to - from) >= (a.to - a.from).min(b.to - b.from) - 1e-9 => Some(x.min(y)),
        _ => None,
    };
    Piece { from, to, shown: Shown::Known(line), pair_cold_c: pair }
}
