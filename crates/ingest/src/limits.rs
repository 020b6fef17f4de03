//! What a reader accepts and when it warns.

/// Sizes beyond which a file is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Most bytes of a file.
    pub bytes: u64,
    /// Most bytes of a line, after decoding.
    pub line_bytes: usize,
    /// Most columns of a table.
    pub columns: usize,
    /// Most rows of a table.
    pub rows: u64,
    /// Most diagnostics of one kind for one channel; further ones are counted into the last.
    pub diagnostics: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self { bytes: 2 << 30, line_bytes: 64 << 10, columns: 512, rows: 50_000_000, diagnostics: 200 }
    }
}

/// Thresholds of the checks: our own judgement, without a source. A check never removes a reading silently.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CheckLimits {
    /// A wait longer than this many usual steps (and at least a second more than one step) is a gap.
    pub gap_steps: f64,
    /// Least time with the very same value before a temperature or humidity is called stuck, s.
    pub stuck_s: f64,
    /// Least number of equal readings for that.
    pub stuck_readings: u32,
    /// A temperature this far from both neighbours, K, is a spike.
    pub spike_k: f64,
    /// A relative humidity this far from both neighbours (fraction) is a spike.
    pub spike_rh: f64,
    /// Neighbours further apart than this, s, say nothing about spikes.
    pub spike_within_s: f64,
    /// Relative humidity at or above this (fraction) may be condensing.
    pub condensing_rh: f64,
    /// Least time at that humidity, s.
    pub condensing_s: f64,
    /// Wet bulb within this of the dry bulb, K, tracks it.
    pub sock_k: f64,
    /// Least time for that, s.
    pub sock_s: f64,
    /// A humidity sensor at or above this (fraction) vouches for a wet bulb near the dry bulb.
    pub sock_vouched_rh: f64,
    /// Wet bulb above dry bulb by more than this, K, is excluded, by less is suspect; used where tolerances are unknown.
    pub wet_above_dry_k: f64,
    /// Relative humidity above 100 % by more than this (fraction) is excluded; used where the tolerance is unknown.
    pub rh_above_100: f64,
}

impl Default for CheckLimits {
    fn default() -> Self {
        Self {
            gap_steps: 1.5,
            stuck_s: 1800.0,
            stuck_readings: 10,
            spike_k: 15.0,
            spike_rh: 0.20,
            spike_within_s: 600.0,
            condensing_rh: 0.995,
            condensing_s: 600.0,
            sock_k: 1.0,
            sock_s: 900.0,
            sock_vouched_rh: 0.93,
            wet_above_dry_k: 1.0,
            rh_above_100: 0.03,
        }
    }
}

/// How a file is read.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Zone of the place, used where neither mapping nor file names one ("Europe/Dublin", "+01:00").
    pub default_zone: Option<String>,
    /// Who vouches for that zone.
    pub declared_by: String,
    /// Sizes.
    pub limits: Limits,
    /// Thresholds.
    pub checks: CheckLimits,
    /// Roles proposed with at least this confidence are taken with a note; others are asked.
    pub accept_confidence: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            default_zone: None,
            declared_by: String::new(),
            limits: Limits::default(),
            checks: CheckLimits::default(),
            accept_confidence: 0.8,
        }
    }
}
