//! The temperature record of one position, as pieces between neighbouring readings.

use fallrate_series::{Channel, Instant, Log, Quality, Realm, Span};

use crate::clocks::{Clocks, Reader};
use crate::facts::Case;
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

/// The record of one position over [begin, end], without holes.
#[derive(Clone, Debug, PartialEq, Default)]
pub(crate) struct Track {
    pub pieces: Vec<Piece>,
    pub begin: f64,
    pub end: f64,
    pub tolerance_k: f64,
}

/// What a track is built for, in seconds since the product met heat.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Window {
    pub t0: Instant,
    /// End of the record, s.
    pub end: f64,
    /// Whether the end is a stated time; else it is the last reading of any channel.
    pub end_is_stated: bool,
    /// So much of the record is looked at before and after, s: shifted clocks may bring it in.
    pub margin_s: f64,
    /// Longest interval between two readings that counts, s.
    pub longest_s: f64,
}

impl Window {
    /// From an instant on for so many seconds, both stated.
    pub fn new(t0: Instant, end: f64, case: &Case, clocks: &Clocks) -> Self {
        let longest_s = case.facts.monitoring_interval.seconds();
        Self { t0, end, end_is_stated: true, margin_s: 2.0 * clocks.widest_s(), longest_s }
    }
    /// The end of the record on a clock, s: at the earliest and at the latest that a shift of the clocks allows.
    pub fn ends<R: Realm>(&self, log: &Log<R>, clocks: &Clocks, clock: Reader) -> (f64, f64) {
        if self.end_is_stated {
            let slack = clocks.apart_s(Reader::Stated, clock);
            return (self.end - slack, self.end + slack);
        }
        let last = log.channels.iter().filter_map(|c| {
            let at = c.span()?.to().seconds_since(self.t0);
            // A channel that the judge does not read may have a clock of which nothing is known: it stands as it is.
            let slack = clocks.apart_s(clock, Reader::of(c.source));
            let slack = if slack.is_finite() { slack } else { 0.0 };
            Some((at - slack, at + slack))
        });
        last.reduce(|a, b| (a.0.max(b.0), a.1.max(b.1))).unwrap_or((self.end, self.end))
    }
    /// The stretch that is judged.
    pub fn span(&self) -> Span {
        Span::lasting(self.t0, self.end)
    }
    /// The stretch that is looked at.
    pub fn range(&self) -> (f64, f64) {
        (-self.margin_s, self.end + self.margin_s)
    }
}

impl Piece {
    /// The temperature on the piece's line, as read.
    pub fn at(&self, line: &Line, t: f64) -> f64 {
        line.from_c + (line.to_c - line.from_c) * (t - self.from) / (self.to - self.from)
    }
}

impl Track {
    /// From one probe, over `range`. `doubtful` are spans whose valid readings do not count (perhaps not in the product); `by_hand`
    /// says that two readings in a row count as a pair whatever the wait between them.
    pub fn from_channel<R: Realm>(
        channel: &Channel<R>,
        w: Window,
        range: (f64, f64),
        doubtful: &[(Span, StripReason)],
        by_hand: bool,
    ) -> Self {
        let tolerance_k = channel.tolerance().unwrap_or(f64::INFINITY);
        let mut track = Self { pieces: Vec::new(), begin: range.0, end: range.1, tolerance_k };
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
                && t > range.0
                && first.0 < range.1
            {
                track.between(first, now, w.longest_s, by_hand);
            }
            if t >= range.1 {
                break;
            }
        }
        track.fill_until(range.1, StripReason::NothingRecorded);
        track
    }

    /// The part within [from, to]. A pair of readings that is cut is none.
    pub fn cut(&self, from: f64, to: f64) -> Self {
        let mut out = Self { pieces: Vec::new(), begin: from, end: to, ..*self };
        for p in self.pieces.iter().filter(|p| p.to > from && p.from < to) {
            let (a, b) = (p.from.max(from), p.to.min(to));
            let whole = p.from >= from && p.to <= to;
            let shown = match p.shown {
                Shown::Known(l) => Shown::Known(Line { from_c: p.at(&l, a), to_c: p.at(&l, b), ..l }),
                unknown @ Shown::Unknown(_) => unknown,
            };
            out.pieces.push(Piece { from: a, to: b, shown, pair_cold_c: p.pair_cold_c.filter(|_| whole) });
        }
        out
    }

    /// The whole stretch as unknown.
    pub fn unknown(range: (f64, f64), tolerance_k: f64, reason: StripReason) -> Self {
        let mut out = Self { pieces: Vec::new(), begin: range.0, end: range.1, tolerance_k };
        out.fill_until(range.1, reason);
        out
    }

    fn between(
        &mut self,
        a: (f64, f64, Option<StripReason>),
        b: (f64, f64, Option<StripReason>),
        longest_s: f64,
        by_hand: bool,
    ) {
        self.fill_until(a.0, StripReason::NothingRecorded);
        let (from, to) = (a.0.max(self.begin), b.0.min(self.end));
        let cold_c = a.1.min(b.1) - self.tolerance_k;
        let inside = a.0 >= self.begin && b.0 <= self.end;
        let long = b.0 - a.0 > longest_s + 1e-6;
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
        let from = self.pieces.last().map_or(self.begin, |p| p.to);
        if t > from {
            let shown = Shown::Unknown(reason);
            self.pieces.push(Piece { from, to: t, shown, pair_cold_c: None });
        }
    }

    /// Two sensors at one position: the colder of both where both count; unknown where one does not count or where
    /// they differ by more than their tolerances.
    pub fn merge(&self, other: &Self) -> Self {
        let tolerance_k = self.tolerance_k.max(other.tolerance_k);
        let mut out = Self { pieces: Vec::new(), tolerance_k, ..*self };
        let (mut i, mut j) = (self.pieces.iter().peekable(), other.pieces.iter().peekable());
        while let (Some(a), Some(b)) = (i.peek(), j.peek()) {
            let (from, to) = (a.from.max(b.from), a.to.min(b.to));
            out.pieces.push(merged_piece(a, b, from, to));
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
            let span = span_at(t0, p.from, p.to);
            match out.last_mut() {
                Some(last) if last.counted == counted && last.reason == reason => {
                    last.span = Span::lasting(last.span.from(), span.to().seconds_since(last.span.from()));
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
    let (a0, a1, b0, b1) = (a.at(&la, from), a.at(&la, to), b.at(&lb, from), b.at(&lb, to));
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
