//! A yes / no / unknown line over a stretch of time, in seconds since the product met heat.

use fallrate_series::Instant;

use crate::reason::{Counted, StripEntry, StripReason, span_at};

/// A stretch of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Segment {
    pub from: f64,
    pub to: f64,
    pub counted: Counted,
    pub reason: StripReason,
}

/// A line that covers its range without holes.
#[derive(Clone, Debug, PartialEq, Default)]
pub(crate) struct Timeline(Vec<Segment>);

/// A reading already turned into yes or no, or the reason why it does not count.
pub(crate) type Sample = (f64, Result<(Counted, StripReason), StripReason>);

/// From and to, s.
pub(crate) type Range = (f64, f64);

impl Timeline {
    /// One value all along.
    pub fn constant(range: Range, counted: Counted, reason: StripReason) -> Self {
        let mut line = Self::default();
        line.push(range.0, range.1, counted, reason);
        line
    }
    /// From readings: a stretch is "yes" only where both ends are, "no" where one end is, unknown where an end does
    /// not count or the wait is longer than the monitoring interval.
    pub fn from_samples(range: Range, longest_s: f64, samples: &[Sample]) -> Self {
        let mut line = Self::default();
        for (a, b) in samples.iter().zip(samples.iter().skip(1)) {
            if b.0 <= range.0 || a.0 >= range.1 {
                continue;
            }
            line.fill_until(range.0, a.0);
            let (counted, reason) = match (a.1, b.1) {
                (Err(r), _) | (_, Err(r)) => (Counted::Unknown, r),
                _ if b.0 - a.0 > longest_s + 1e-6 => {
                    (Counted::Unknown, StripReason::LongerThanMonitoringInterval)
                }
                (Ok((Counted::Yes, _)), Ok(second)) => second,
                (Ok(first), Ok(_)) => first,
            };
            line.push(a.0.max(range.0), b.0.min(range.1), counted, reason);
        }
        line.fill_until(range.0, range.1);
        line
    }
    /// From stretches that are known to be one thing; the rest is another.
    pub fn from_spans(
        range: Range,
        rest: (Counted, StripReason),
        spans: &[(f64, f64, Counted, StripReason)],
    ) -> Self {
        let base = Self::constant(range, rest.0, rest.1);
        spans.iter().fold(base, |line, (from, to, c, r)| line.overlay(*from, *to, *c, *r))
    }
    /// This line with one stretch replaced.
    pub fn overlay(&self, from: f64, to: f64, counted: Counted, reason: StripReason) -> Self {
        let mut out = Self::default();
        for s in &self.0 {
            let (a, b) = (s.from.max(from), s.to.min(to));
            if a >= b {
                out.push(s.from, s.to, s.counted, s.reason);
                continue;
            }
            out.push(s.from, a, s.counted, s.reason);
            out.push(a, b, counted, reason);
            out.push(b, s.to, s.counted, s.reason);
        }
        out
    }
    /// "And" of two lines over the same range: "no" decides, else unknown.
    pub fn and(&self, other: &Self) -> Self {
        self.joined(other, |a, b| b < a)
    }
    /// "Or" of two lines over the same range: "yes" decides, else unknown.
    pub fn or(&self, other: &Self) -> Self {
        self.joined(other, |a, b| b > a)
    }
    /// Walks two lines; `other_decides` gets the ranks of both: 0 no, 1 unknown, 2 yes.
    fn joined(&self, other: &Self, other_decides: impl Fn(u8, u8) -> bool) -> Self {
        let rank = |c: Counted| match c {
            Counted::No => 0,
            Counted::Unknown => 1,
            Counted::Yes => 2,
        };
        let mut out = Self::default();
        let (mut i, mut j) = (self.0.iter().peekable(), other.0.iter().peekable());
        while let (Some(a), Some(b)) = (i.peek(), j.peek()) {
            let (from, to) = (a.from.max(b.from), a.to.min(b.to));
            let s = if other_decides(rank(a.counted), rank(b.counted)) { b } else { a };
            out.push(from, to, s.counted, s.reason);
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
    /// The line as it holds for every shift of its clock by at most so many seconds either way: around each change, and
    /// at the ends of the range, it is unknown.
    pub fn eroded(&self, by_s: f64) -> Self {
        if by_s <= 0.0 {
            return self.clone();
        }
        let mut out = Self::default();
        for run in self.0.chunk_by(|a, b| a.counted == b.counted) {
            let settled = run.first().map_or(0.0, |s| s.from) + by_s;
            let until = run.last().map_or(0.0, |s| s.to) - by_s;
            for s in run {
                let (a, b) = (settled.clamp(s.from, s.to), until.clamp(s.from, s.to));
                out.push(s.from, a, Counted::Unknown, StripReason::ClocksApart);
                out.push(a, b, s.counted, s.reason);
                out.push(a.max(b), s.to, Counted::Unknown, StripReason::ClocksApart);
            }
        }
        out
    }
    /// How often it changes.
    pub fn changes(&self) -> usize {
        self.0.iter().zip(self.0.iter().skip(1)).filter(|(a, b)| a.counted != b.counted).count()
    }
    /// The stretches in order.
    pub fn segments(&self) -> &[Segment] {
        &self.0
    }
    /// The part in [0, end] as a strip to print.
    pub fn strip(&self, t0: Instant, end: f64) -> Vec<StripEntry> {
        let inside = self.0.iter().filter(|s| s.to > 0.0 && s.from < end);
        inside
            .map(|s| StripEntry {
                span: span_at(t0, s.from.max(0.0), s.to.min(end)),
                counted: s.counted,
                reason: s.reason,
            })
            .collect()
    }
    fn push(&mut self, from: f64, to: f64, counted: Counted, reason: StripReason) {
        if to <= from {
            return;
        }
        if let Some(last) = self.0.last_mut()
            && last.counted == counted
            && last.reason == reason
            && last.to >= from
        {
            last.to = to;
            return;
        }
        self.0.push(Segment { from, to, counted, reason });
    }
    fn fill_until(&mut self, begin: f64, t: f64) {
        let from = self.0.last().map_or(begin, |s| s.to);
        self.push(from, t, Counted::Unknown, StripReason::NothingRecorded);
    }
}
