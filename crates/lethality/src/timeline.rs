//! A yes / no / unknown line, from 0 to the end of the record, in seconds since the product met heat.

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

/// A line that covers [0, end] without holes.
#[derive(Clone, Debug, PartialEq, Default)]
pub(crate) struct Timeline(Vec<Segment>);

/// A reading already turned into yes or no, or the reason why it does not count.
pub(crate) type Sample = (f64, Result<(Counted, StripReason), StripReason>);

impl Timeline {
    /// One value all along.
    pub fn constant(end: f64, counted: Counted, reason: StripReason) -> Self {
        let mut line = Self::default();
        line.push(0.0, end, counted, reason);
        line
    }
    /// From readings: a stretch is "yes" only where both ends are, "no" where one end is, unknown where an end does
    /// not count or the wait is longer than the monitoring interval.
    pub fn from_samples(end: f64, longest_s: f64, samples: &[Sample]) -> Self {
        let mut line = Self::default();
        for (a, b) in samples.iter().zip(samples.iter().skip(1)) {
            if b.0 <= 0.0 || a.0 >= end {
                continue;
            }
            line.fill_until(a.0);
            let (counted, reason) = match (a.1, b.1) {
                (Err(r), _) | (_, Err(r)) => (Counted::Unknown, r),
                _ if b.0 - a.0 > longest_s + 1e-6 => {
                    (Counted::Unknown, StripReason::LongerThanMonitoringInterval)
                }
                (Ok((Counted::Yes, _)), Ok(second)) => second,
                (Ok(first), Ok(_)) => first,
            };
            line.push(a.0.max(0.0), b.0.min(end), counted, reason);
        }
        line.fill_until(end);
        line
    }
    /// From stretches that are known to be one thing; the rest is another.
    pub fn from_spans(
        end: f64,
        rest: (Counted, StripReason),
        spans: &[(f64, f64, Counted, StripReason)],
    ) -> Self {
        let base = Self::constant(end, rest.0, rest.1);
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
    /// "And" of two lines over the same time: "no" decides, else unknown.
    pub fn and(&self, other: &Self) -> Self {
        let mut out = Self::default();
        let (mut i, mut j) = (self.0.iter().peekable(), other.0.iter().peekable());
        while let (Some(a), Some(b)) = (i.peek(), j.peek()) {
            let (from, to) = (a.from.max(b.from), a.to.min(b.to));
            let rank = |c: Counted| match c {
                Counted::No => 0,
                Counted::Unknown => 1,
                Counted::Yes => 2,
            };
            let s = if rank(b.counted) < rank(a.counted) { b } else { a };
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
    /// The stretches in order.
    pub fn segments(&self) -> &[Segment] {
        &self.0
    }
    /// Seconds of "yes" and of unknown in [0, t].
    pub fn yes_and_unknown_s(&self, t: f64) -> (f64, f64) {
        let mut sums = (0.0, 0.0);
        for s in self.0.iter().take_while(|s| s.from < t) {
            let length = s.to.min(t) - s.from;
            match s.counted {
                Counted::Yes => sums.0 += length,
                Counted::Unknown => sums.1 += length,
                Counted::No => {}
            }
        }
        sums
    }
    /// As a strip to print.
    pub fn strip(&self, t0: Instant) -> Vec<StripEntry> {
        self.0
            .iter()
            .filter_map(|s| {
                let span = span_at(t0, s.from, s.to)?;
                Some(StripEntry { span, counted: s.counted, reason: s.reason })
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
    fn fill_until(&mut self, t: f64) {
        let from = self.0.last().map_or(0.0, |s| s.to);
        self.push(from, t, Counted::Unknown, StripReason::NothingRecorded);
    }
}
