//! Minutes in the growth band of 50 to 130 degF.

use crate::table::celsius_from_fahrenheit;
use crate::track::{Line, Shown, Track};

/// Lower end of the come-up band, degF (RULE-C14).
pub const COME_UP_LOW_F: f64 = 50.0;
/// Upper end of the come-up band, degF (RULE-C14).
pub const COME_UP_HIGH_F: f64 = 130.0;
/// Longest total in the band, min (RULE-C14).
pub const COME_UP_LIMIT_MIN: f64 = 360.0;

/// Running seconds in the band: at the least (as shown on the line), at the most (whole intervals that touch the band,
/// and unknown time).
#[derive(Clone, Debug, PartialEq, Default)]
pub(crate) struct ComeUp {
    /// (instant, at the least, at the most), at every end of a piece.
    points: Vec<(f64, f64, f64)>,
    /// From which instant on time is counted: at the latest, at the earliest.
    from: (f64, f64),
    earlier_s: f64,
}

impl ComeUp {
    /// Sums a track, the band widened by the tolerance on both sides. The start of the cook may be shifted by `slack_s`
    /// against the track.
    pub fn from_track(track: &Track, earlier_minutes: f64, slack_s: f64) -> Self {
        let (low, high) = (celsius_from_fahrenheit(COME_UP_LOW_F), celsius_from_fahrenheit(COME_UP_HIGH_F));
        let mut sums = (0.0, 0.0);
        let mut points = vec![(track.begin, 0.0, 0.0)];
        for p in &track.pieces {
            let length = p.to - p.from;
            match p.shown {
                Shown::Unknown(_) => sums.1 += length,
                Shown::Known(line) => {
                    let share = share_in_band(&line, low - line.tolerance_k, high + line.tolerance_k);
                    sums.0 += share * length;
                    sums.1 += if touches(&line, low, high) { length } else { 0.0 };
                }
            }
            points.push((p.to, sums.0, sums.1));
        }
        Self { points, from: (slack_s, -slack_s), earlier_s: earlier_minutes * 60.0 }
    }
    /// Seconds in the band from the start of the cook to t: at the least, at the most.
    pub fn at(&self, t: f64) -> (f64, f64) {
        let least = (self.running(t).0 - self.running(self.from.0).0).max(0.0);
        let most = self.running(t).1 - self.running(self.from.1).1;
        (least + self.earlier_s, most + self.earlier_s)
    }
    /// Running seconds of the track.
    pub fn running(&self, t: f64) -> (f64, f64) {
        let i = self.points.partition_point(|p| p.0 < t);
        match (i.checked_sub(1).and_then(|j| self.points.get(j)), self.points.get(i)) {
            (Some(a), Some(b)) => {
                let share = (t - a.0) / (b.0 - a.0);
                (a.1 + (b.1 - a.1) * share, a.2 + (b.2 - a.2) * share)
            }
            (Some(end), None) => (end.1, end.2),
            (None, _) => (0.0, 0.0),
        }
    }
}

/// Share of a straight line inside [low, high].
pub(crate) fn share_in_band(line: &Line, low: f64, high: f64) -> f64 {
    let (a, b) = (line.from_c.min(line.to_c), line.from_c.max(line.to_c));
    if b <= low || a >= high {
        return 0.0;
    }
    if b - a < 1e-12 {
        return 1.0;
    }
    ((b.min(high) - a.max(low)) / (b - a)).clamp(0.0, 1.0)
}

/// Whether a whole interval may have been in the widened band, judged at its colder end.
pub(crate) fn touches(line: &Line, low: f64, high: f64) -> bool {
    let hottest = line.from_c.max(line.to_c) + line.tolerance_k;
    line.cold_c < high && hottest > low
}
